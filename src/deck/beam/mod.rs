//! Continuous beams: any number of unequal spans with overhangs, any loads, exact.

mod call;
mod envelope;
mod line;
mod member;
mod polynomial;
mod ponding;

pub use call::*;
pub use envelope::{Envelope, Influence, Loading, Pattern, Standing};
pub use line::{Line, Solved};
pub use member::{Load, Member, Run};
pub use polynomial::{At, Polynomial};
pub use ponding::Filled;
