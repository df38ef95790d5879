//! Section properties and web strengths of deck.

mod effective;
mod properties;
mod shape;
mod web;

pub use effective::{Buckling, Effective, Web, buckling, effective, round_of};
pub use properties::*;
pub use shape::{Outline, Part, Shape, Stiffeners, sum};
pub use web::{Bearing, Crippling, FLEXURE, Factors, SHEAR, crippling, shear_kip};
