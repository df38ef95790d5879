//! Steel sheet: its weight flat and profiled, its coating, its least thickness as delivered.
//!
//! In: thickness, coating and profile geometry. Out: psf of flat sheet, or of covered area.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(flat_psf(thickness_in)),
    builtin!(coating_psf(coating_oz_ft2)),
    builtin!(coating_mil(coating_oz_ft2)),
    builtin!(coating_um(coating_oz_ft2)),
    builtin!(least_thickness_in(thickness_in)),
    builtin!(developed_ratio(depth_in, pitch_in, top_flat_in, bottom_flat_in)),
    builtin!(deck_psf(deck)),
];

const STEEL_PCF: f64 = 490.0;
const COATING_MIL_PER_OZ_FT2: f64 = 1.68;
const UM_PER_MIL: f64 = 25.4;
const LEAST_DELIVERED: f64 = 0.95;

const THICKNESS: Range = Range::above("a steel thickness", 0.0, 1.0, "in");
const COATING: Range = Range::from("a coating, both sides together,", 0.0, 5.0, "oz/ft2");
const DEPTH: Range = Range::from("a depth", 0.0, 24.0, "in");
const PITCH: Range = Range::above("a pitch", 0.0, 48.0, "in");
const FLAT: Range = Range::from("a flat width", 0.0, 48.0, "in");
const PUBLISHED: Range = Range::above("a published weight", 0.0, 50.0, "psf");

/// The fields of a deck record that its weight depends on.
const DECK_FIELDS: &[&str] = &[
    "published_psf",
    "thickness_in",
    "liner_thickness_in",
    "coating_oz_ft2",
    "depth_in",
    "pitch_in",
    "top_flat_in",
    "bottom_flat_in",
];

/// The weight of flat uncoated steel sheet.
///
/// - thickness_in: base-metal thickness, in, above 0 up to 1
///
/// Gives: weight of one square foot of sheet, psf (40.833 an inch).
/// Source: steel at 490 lb/ft3, common practice, no source.
/// Example: `weight::flat_psf(0.0295)` = 1.205
pub fn flat_psf(thickness_in: f64) -> Result<f64, Refusal> {
    Ok(THICKNESS.check("thickness_in", thickness_in)? * STEEL_PCF / 12.0)
}

/// The weight of a metallic coating.
///
/// - coating_oz_ft2: coating on both sides together, oz/ft2 of sheet, 0 to 5 (0.6 for G60)
///
/// Gives: weight of the coating on one square foot of sheet, psf.
/// Source: 16 oz in a pound; designations by ASTM A653 Table 1, triple-spot test.
/// Example: `weight::coating_psf(0.6)` = 0.0375
pub fn coating_psf(coating_oz_ft2: f64) -> Result<f64, Refusal> {
    Ok(COATING.check("coating_oz_ft2", coating_oz_ft2)? / 16.0)
}

/// The thickness of a zinc coating in thousandths of an inch, both sides together.
///
/// - coating_oz_ft2: coating on both sides together, oz/ft2 of sheet, 0 to 5
///
/// Gives: thickness on both sides together (a side has half), mil.
/// Source: ASTM A653: 1.00 oz/ft2 is 1.68 mil.
/// Example: `weight::coating_mil(0.6)` = 1.008
pub fn coating_mil(coating_oz_ft2: f64) -> Result<f64, Refusal> {
    Ok(COATING.check("coating_oz_ft2", coating_oz_ft2)? * COATING_MIL_PER_OZ_FT2)
}

/// The thickness of a zinc coating in micrometres, both sides together.
///
/// - coating_oz_ft2: coating on both sides together, oz/ft2 of sheet, 0 to 5
///
/// Gives: thickness on both sides together (a side has half), um.
/// Source: ASTM A653: 1.00 oz/ft2 is 1.68 mil; 25.4 um in a mil.
/// Example: `weight::coating_um(0.6)` = 25.6
pub fn coating_um(coating_oz_ft2: f64) -> Result<f64, Refusal> {
    Ok(coating_mil(coating_oz_ft2)? * UM_PER_MIL)
}

/// The least base-metal thickness that may be delivered for a design thickness.
///
/// - thickness_in: design base-metal thickness, in, above 0 up to 1
///
/// Gives: 95 % of the design thickness, in (published minima are rounded to 0.001 in).
/// Source: ANSI/SDI C-2017 Table UN-1.1.
/// Example: `weight::least_thickness_in(0.0295)` = 0.028025
pub fn least_thickness_in(thickness_in: f64) -> Result<f64, Refusal> {
    Ok(THICKNESS.check("thickness_in", thickness_in)? * LEAST_DELIVERED)
}

/// The flat width of strip a profile takes, per unit of width it covers.
///
/// - depth_in: overall depth, in, 0 to 24
/// - pitch_in: distance between ribs, in, above 0 up to 48
/// - top_flat_in: width of the top flange between sharp corners, in, below the pitch
/// - bottom_flat_in: width of the bottom flange between sharp corners, in, below the pitch
///
/// Gives: developed width over covered width, a ratio from 1.
/// Source: geometry, sharp corners (corner radii take off 2 to 3 %).
/// Example: `weight::developed_ratio(1.5, 6, 3.5, 1.75)` = 1.390
pub fn developed_ratio(
    depth_in: f64,
    pitch_in: f64,
    top_flat_in: f64,
    bottom_flat_in: f64,
) -> Result<f64, Refusal> {
    DEPTH.check("depth_in", depth_in)?;
    PITCH.check("pitch_in", pitch_in)?;
    for (argument, flat_in) in [("top_flat_in", top_flat_in), ("bottom_flat_in", bottom_flat_in)] {
        FLAT.check(argument, flat_in)?;
        if flat_in >= pitch_in {
            let wanted = format!("a flat width below the pitch of {pitch_in} in");
            return Err(Refusal::new(argument, flat_in, wanted));
        }
    }
    let run_in = (pitch_in - top_flat_in - bottom_flat_in) / 2.0;
    Ok((top_flat_in + bottom_flat_in + 2.0 * run_in.hypot(depth_in)) / pitch_in)
}

/// The weight of deck per square foot it covers, side laps inside the cover.
///
/// - deck: record with published_psf (taken as it is) or with thickness_in, coating_oz_ft2
///   (0 where absent), depth_in, pitch_in, top_flat_in, bottom_flat_in (flats between sharp
///   corners) and, for cellular deck, liner_thickness_in of the flat liner; other fields are
///   left alone
///
/// Gives: weight on one square foot of cover, psf.
/// Source: geometry and steel at 490 lb/ft3; a published weight takes precedence.
/// Example: `weight::deck_psf(#{thickness_in: 0.0358, coating_oz_ft2: 0.6, depth_in: 2, pitch_in: 12, top_flat_in: 5, bottom_flat_in: 5})` = 1.808
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn deck_psf(deck: Arc<Record>) -> Result<f64, Refusal> {
    let deck = Fields::among("deck", &deck, DECK_FIELDS)?;
    if let Some(published_psf) = deck.optional_number("published_psf", PUBLISHED)? {
        return Ok(published_psf);
    }
    let coating = coating_psf(deck.number_or("coating_oz_ft2", 0.0, COATING)?)?;
    let flat = flat_psf(deck.number("thickness_in", THICKNESS)?)?;
    let ratio = developed_ratio(
        deck.number("depth_in", DEPTH)?,
        deck.number("pitch_in", PITCH)?,
        deck.number("top_flat_in", FLAT)?,
        deck.number("bottom_flat_in", FLAT)?,
    )?;
    let liner = match deck.optional_number("liner_thickness_in", THICKNESS)? {
        Some(thickness_in) => flat_psf(thickness_in)? + coating,
        None => 0.0,
    };
    Ok((flat + coating) * ratio + liner)
}
