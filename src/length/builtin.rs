//! The built-ins of `length::`.

use super::{Length, Unit, parse};
use crate::builtin;
use crate::builtin::Builtin;
use crate::value::{Feet, Inches, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(ft(text)),
    builtin!(inches(text)),
    builtin!(text(length_ft)),
    builtin!(inches_text(length_in)),
    builtin!(round_down(length_ft, step_in)),
    builtin!(round_up(length_ft, step_in)),
];

/// Reads a length as people type it and gives feet.
///
/// - text: a length in any usual notation; a bare number is feet.
///
/// Gives: a length, ft.
/// Source: definition (12 in = 1 ft, 25.4 mm = 1 in).
/// Example: `length::ft("24'-6 1/2\"")` = 24.541667
pub fn ft(text: String) -> Result<Feet, Refusal> {
    read(&text, Unit::Foot).map(Feet)
}

/// Reads a length as people type it and gives inches.
///
/// - text: a length in any usual notation; a bare number is inches.
///
/// Gives: a length, in.
/// Source: definition (12 in = 1 ft, 25.4 mm = 1 in).
/// Example: `length::inches("5-1/2")` = 5.5
pub fn inches(text: String) -> Result<Inches, Refusal> {
    read(&text, Unit::Inch).map(Inches)
}

fn read(text: &str, unit: Unit) -> Result<Length, Refusal> {
    parse(text, unit)
        .map(|typed| typed.length)
        .map_err(|error| Refusal::new("text", format!("{text:?}"), format!("a length ({error})")))
}

/// Writes a length in feet and inches with a reduced fraction.
///
/// - length_ft: a length, ft.
///
/// Gives: text.
/// Source: definition.
/// Example: `length::text(24.5)` = "24'-6\""
#[must_use]
pub fn text(length_ft: Feet) -> String {
    length_ft.0.to_string()
}

/// Writes a short length in inches with a reduced fraction.
///
/// - length_in: a length, in.
///
/// Gives: text.
/// Source: definition.
/// Example: `length::inches_text(6.25)` = "6 1/4\""
#[must_use]
pub fn inches_text(length_in: Inches) -> String {
    length_in.0.as_inches_text()
}

/// Rounds a length down to a whole number of steps, exactly.
///
/// - length_ft: a length, ft.
/// - step_in: the step, in, above 0.
///
/// Gives: a length, ft.
/// Source: definition.
/// Example: `length::round_down(10.02, 0.125)` = 10.010417
pub fn round_down(length_ft: Feet, step_in: Inches) -> Result<Feet, Refusal> {
    step(step_in)?;
    Ok(Feet(length_ft.0.floor_to(step_in.0)))
}

/// Rounds a length up to a whole number of steps, exactly.
///
/// - length_ft: a length, ft.
/// - step_in: the step, in, above 0.
///
/// Gives: a length, ft.
/// Source: definition.
/// Example: `length::round_up(10.02, 0.125)` = 10.020833
pub fn round_up(length_ft: Feet, step_in: Inches) -> Result<Feet, Refusal> {
    step(step_in)?;
    Ok(Feet(length_ft.0.ceil_to(step_in.0)))
}

fn step(step_in: Inches) -> Result<(), Refusal> {
    if step_in.0.is_positive() {
        return Ok(());
    }
    Err(Refusal::new("step_in", step_in.0.in_inches(), "a length above 0 in"))
}
