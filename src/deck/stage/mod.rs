//! The construction stage: deck under wet concrete, crew and equipment.

mod call;
mod checks;
mod loads;
mod shore;

pub use call::*;
pub use checks::{Check, Run, What, Where};
pub use loads::{Combination, Method, Stage};
pub use shore::{Shored, governing};
