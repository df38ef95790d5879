//! Deck: beams, sections, spans, accessories.

mod beams;
mod given;
mod reference;
mod sections;
