//! Deck: beams, sections, spans, accessories.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests stop where they fail")]
#![allow(clippy::approx_constant, reason = "table values")]
#![allow(clippy::unreadable_literal, reason = "values stand as printed")]
#![allow(clippy::needless_range_loop, reason = "spans are numbered")]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small counts")]

mod accessories;
mod any;
mod beams;
mod given;
mod reference;
mod sections;
mod slab;
mod stage;
