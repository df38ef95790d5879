//! Volume and wet weight of a slab on deck or a flat slab.
//!
//! In: slab thickness from the bottom of the flutes, deck depth, average rib width and pitch, all
//! in inches. Out: average thickness, volumes and weights. Sheet thickness and embossments are
//! neglected; the deck's own weight is no part of it.

use std::sync::Arc;

use crate::arguments::{Fields, nearest, within};
use crate::builtin::Builtin;
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(average_in(slab_in, depth_in, rib_in, pitch_in)),
    builtin!(thickness_in(deck)),
    builtin!(ft3_per_ft2(thickness_in)),
    builtin!(ft3(area_ft2, thickness_in)),
    builtin!(yd3(ft3)),
    builtin!(yd3_per_square(thickness_in)),
    builtin!(cover_ft2(thickness_in)),
    builtin!(psf(thickness_in, unit_weight_pcf)),
    builtin!(wet_psf(deck)),
];

/// Cubic feet in a cubic yard.
pub const FT3_PER_YD3: f64 = 27.0;
const IN_PER_FT: f64 = 12.0;
const FT2_PER_SQUARE: f64 = 100.0;

const SLAB: &str = "a slab thickness from the deck depth to 120 in, total from the bottom of the \
                    flutes";
const DEPTH: &str = "a deck depth from 0 to 24 in";
const PITCH: &str = "a pitch above 0, up to 120 in";
const RIB: &str = "an average rib width from 0 in to the pitch";
const THICKNESS: &str = "a thickness from 0 to 120 in";
const UNIT_WEIGHT: &str = "a unit weight from 20 to 400 pcf";
const USES: [&str; 3] = ["composite", "form", "roof"];

/// Average thickness of the concrete of a slab on deck.
///
/// - slab_in: slab thickness, total from the bottom of the flutes, in, from depth_in to 120
/// - depth_in: deck depth, in, 0 (a flat slab) to 24
/// - rib_in: average width of a rib that fills with concrete, in, 0 to pitch_in
/// - pitch_in: distance from rib to rib, in, above 0 to 120
///
/// Gives: average thickness, in.
/// Source: geometry; the same closed form in Peterson, Estimating Concrete Volumes for Composite
/// Decks, 2005.
/// Example: `concrete::average_in(5.25, 2, 6, 12)` = 4.25
pub fn average_in(slab_in: f64, depth_in: f64, rib_in: f64, pitch_in: f64) -> Result<f64, Refusal> {
    within("depth_in", depth_in, DEPTH, |depth| (0.0..=24.0).contains(&depth))?;
    within("slab_in", slab_in, SLAB, |slab| slab > 0.0 && slab >= depth_in && slab <= 120.0)?;
    within("pitch_in", pitch_in, PITCH, |pitch| pitch > 0.0 && pitch <= 120.0)?;
    within("rib_in", rib_in, RIB, |rib| (0.0..=pitch_in).contains(&rib))?;
    Ok(slab_in - depth_in + depth_in * rib_in / pitch_in)
}

/// Average thickness of the concrete on a deck given as a record; 0 for roof deck, which takes no
/// slab.
///
/// - deck: record with use ("composite", "form" or "roof"), slab_in, depth_in, rib_in and pitch_in
///   as in `average_in`; a depth_in of 0 or none is a flat slab; other fields are not read
///
/// Gives: average thickness, in.
/// Source: geometry.
/// Example: `concrete::thickness_in(#{"use": "form", slab_in: 6.25, depth_in: 3, rib_in: 6, pitch_in: 12})` = 4.75
pub fn thickness_in(deck: Arc<Record>) -> Result<f64, Refusal> {
    thickness_of("deck", &deck)
}

/// [`thickness_in`] of the record that refusals call `argument`.
pub(crate) fn thickness_of(argument: &str, deck: &Record) -> Result<f64, Refusal> {
    let mut fields = Fields::new(argument, deck);
    let wanted = "\"composite\", \"form\" or \"roof\"";
    let deck_use: Arc<str> = fields.required("use", wanted)?;
    if !USES.contains(&&*deck_use) {
        let near = nearest(&deck_use, USES).map(|near| format!(" (perhaps {near:?})"));
        let found = format!("{deck_use:?}");
        let wanted = format!("{wanted}{}", near.unwrap_or_default());
        return Err(Refusal::new(fields.path("use"), found, wanted));
    }
    if &*deck_use == "roof" {
        return Ok(0.0);
    }
    let depth_in =
        fields.number("depth_in", Some(0.0), DEPTH, |depth| (0.0..=24.0).contains(&depth))?;
    let slab_in = fields
        .number("slab_in", None, SLAB, |slab| slab > 0.0 && slab >= depth_in && slab <= 120.0)?;
    if depth_in == 0.0 {
        return Ok(slab_in);
    }
    let pitch_in = fields.number("pitch_in", None, PITCH, |pitch| pitch > 0.0 && pitch <= 120.0)?;
    let rib_in = fields.number("rib_in", None, RIB, |rib| (0.0..=pitch_in).contains(&rib))?;
    average_in(slab_in, depth_in, rib_in, pitch_in)
}

/// Volume of concrete on a square foot of plan.
///
/// - thickness_in: average thickness, in, 0 to 120
///
/// Gives: volume, ft3/ft2.
/// Source: geometry.
/// Example: `concrete::ft3_per_ft2(4.25)` = 0.3542
pub fn ft3_per_ft2(thickness_in: f64) -> Result<f64, Refusal> {
    checked_thickness(thickness_in).map(|thickness_in| thickness_in / IN_PER_FT)
}

/// Volume of concrete on an area.
///
/// - area_ft2: area on plan, ft2, at least 0 and at most 100,000,000
/// - thickness_in: average thickness, in, 0 to 120
///
/// Gives: volume, ft3.
/// Source: geometry.
/// Example: `concrete::ft3(900, 4.25)` = 318.75
pub fn ft3(area_ft2: f64, thickness_in: f64) -> Result<f64, Refusal> {
    const AREA: &str = "an area from 0 to 100,000,000 ft2";
    within("area_ft2", area_ft2, AREA, |area| (0.0..=1e8).contains(&area))?;
    Ok(area_ft2 * checked_thickness(thickness_in)? / IN_PER_FT)
}

/// Cubic yards of so many cubic feet.
///
/// - ft3: volume, ft3, any number; a negative one is a deduction
///
/// Gives: volume, yd3.
/// Source: definition, 27 ft3 are 1 yd3.
/// Example: `concrete::yd3(318.75)` = 11.806
pub fn yd3(ft3: f64) -> Result<f64, Refusal> {
    within("ft3", ft3, "a volume in ft3", |_| true).map(|ft3| ft3 / FT3_PER_YD3)
}

/// Volume of concrete on a square, 100 ft2 of plan.
///
/// - thickness_in: average thickness, in, 0 to 120
///
/// Gives: volume, yd3 per 100 ft2.
/// Source: geometry.
/// Example: `concrete::yd3_per_square(4.25)` = 1.312
pub fn yd3_per_square(thickness_in: f64) -> Result<f64, Refusal> {
    yd3(ft3(FT2_PER_SQUARE, thickness_in)?)
}

/// Area that one cubic yard of concrete covers.
///
/// - thickness_in: average thickness, in, above 0 to 120
///
/// Gives: area, ft2.
/// Source: geometry, 324 ft2 at 1 in.
/// Example: `concrete::cover_ft2(6)` = 54
pub fn cover_ft2(thickness_in: f64) -> Result<f64, Refusal> {
    let wanted = "a thickness above 0, up to 120 in";
    let thickness_in =
        within("thickness_in", thickness_in, wanted, |t| (1e-6..=120.0).contains(&t))?;
    Ok(FT3_PER_YD3 * IN_PER_FT / thickness_in)
}

/// Weight of concrete on a square foot of plan, without the deck.
///
/// - thickness_in: average thickness, in, 0 to 120
/// - unit_weight_pcf: unit weight of the wet concrete, pcf, 20 to 400
///
/// Gives: weight, psf.
/// Source: geometry.
/// Example: `concrete::psf(4.25, 145)` = 51.4
pub fn psf(thickness_in: f64, unit_weight_pcf: f64) -> Result<f64, Refusal> {
    within("unit_weight_pcf", unit_weight_pcf, UNIT_WEIGHT, |pcf| (20.0..=400.0).contains(&pcf))?;
    Ok(ft3_per_ft2(thickness_in)? * unit_weight_pcf)
}

/// Weight of the wet concrete on a deck given as a record, without the deck.
///
/// - deck: record as in `thickness_in`, with unit_weight_pcf, pcf, 20 to 400; roof deck needs none
///
/// Gives: weight, psf; 0 for roof deck.
/// Source: geometry.
/// Example: `concrete::wet_psf(#{"use": "form", slab_in: 4, unit_weight_pcf: 150})` = 50
pub fn wet_psf(deck: Arc<Record>) -> Result<f64, Refusal> {
    let thickness_in = thickness_of("deck", &deck)?;
    if thickness_in == 0.0 {
        return Ok(0.0);
    }
    let unit_weight_pcf =
        Fields::new("deck", &deck)
            .number("unit_weight_pcf", None, UNIT_WEIGHT, |pcf| (20.0..=400.0).contains(&pcf))?;
    psf(thickness_in, unit_weight_pcf)
}

fn checked_thickness(thickness_in: f64) -> Result<f64, Refusal> {
    within("thickness_in", thickness_in, THICKNESS, |t| (0.0..=120.0).contains(&t))
}
