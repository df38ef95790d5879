//! Edge form: gauge by slab depth and overhang, strip it is bent from, pieces of stock length.
//!
//! In: slab, overhang, sides. Out: gauge by the selection table and by the criterion behind it, girth,
//! piece counts.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::length::Length;
use crate::value::{Feet, Inches, Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(edge_form_gauge(slab_in, overhang_in)),
    builtin!(edge_form_criterion(edge)),
    builtin!(edge_form_girth_in(slab_in, overhang_in, bearing_in, lip_in)),
    builtin!(stock_pieces(sides_ft, stock)),
];

const SLAB: Range = Range::above("a slab depth", 0.0, 60.0, "in");
const OVERHANG: Range = Range::from("an overhang", 0.0, 60.0, "in");
const LEG: Range = Range::from("a length", 0.0, 24.0, "in");
const THICKNESS: Range = Range::above("a steel thickness", 0.0, 1.0, "in");
const STRESS: Range = Range::above("a stress", 0.0, 150.0, "ksi");
const DEFLECTION: Range = Range::above("a deflection", 0.0, 12.0, "in");
const LIVE: Range = Range::from("a load", 0.0, 10_000.0, "psf");
const UNIT_WEIGHT: Range = Range::above("a unit weight", 0.0, 500.0, "pcf");

/// Slab depths of the table's first and last row, and its step, in quarters of an inch.
const FIRST_ROW: u32 = 16;
const LAST_ROW: u32 = 48;

/// Gauges by overhang from 0 in, a row each quarter inch of slab from 4 in; a column that is missing
/// is bent plate. Selection table of the deck institute, from memory.
const GAUGES: [&[u8]; 33] = [
    &[20, 20, 20, 20, 18, 18, 16, 14, 12, 12, 12, 10, 10],
    &[20, 20, 20, 18, 18, 16, 16, 14, 12, 12, 12, 10, 10],
    &[20, 20, 20, 18, 18, 16, 16, 14, 12, 12, 12, 10, 10],
    &[20, 20, 18, 18, 16, 16, 14, 14, 12, 12, 10, 10, 10],
    &[20, 20, 18, 18, 16, 16, 14, 14, 12, 12, 10, 10],
    &[20, 18, 18, 16, 16, 14, 14, 12, 12, 12, 10, 10],
    &[20, 18, 18, 16, 16, 14, 14, 12, 12, 12, 10, 10],
    &[20, 18, 16, 16, 14, 14, 12, 12, 12, 12, 10, 10],
    &[18, 18, 16, 16, 14, 14, 12, 12, 12, 10, 10, 10],
    &[18, 18, 16, 14, 14, 12, 12, 12, 12, 10, 10],
    &[18, 16, 16, 14, 14, 12, 12, 12, 12, 10, 10],
    &[18, 16, 14, 14, 14, 12, 12, 12, 10, 10, 10],
    &[18, 16, 14, 14, 12, 12, 12, 12, 10, 10, 10],
    &[16, 16, 14, 14, 12, 12, 12, 10, 10, 10],
    &[16, 14, 14, 12, 12, 12, 12, 10, 10, 10],
    &[16, 14, 14, 12, 12, 12, 10, 10, 10, 10],
    &[14, 14, 12, 12, 12, 12, 10, 10, 10],
    &[14, 14, 12, 12, 12, 10, 10, 10, 10],
    &[14, 12, 12, 12, 12, 10, 10, 10],
    &[14, 12, 12, 12, 12, 10, 10, 10],
    &[14, 12, 12, 12, 10, 10, 10],
    &[12, 12, 12, 12, 10, 10, 10],
    &[12, 12, 12, 10, 10, 10],
    &[12, 12, 12, 10, 10, 10],
    &[12, 12, 10, 10, 10, 10],
    &[12, 12, 10, 10, 10],
    &[12, 12, 10, 10, 10],
    &[12, 10, 10, 10],
    &[12, 10, 10, 10],
    &[12, 10, 10],
    &[10, 10, 10],
    &[10, 10],
    &[10, 10],
];

/// The gauge of edge form for a slab depth and an overhang.
///
/// - slab_in: slab depth, in, above 0; the next row of the table above it counts, 4 in at least
/// - overhang_in: overhang beyond the support, in, from 0; the next whole inch counts
///
/// Gives: gauge, or blank where the table calls for bent plate.
/// Source: selection table of the deck institute (quoted in AISC Design Guide 22), from memory; shops
/// replace it by their own.
/// Example: `deck::edge_form_gauge(6, 6)` = 12
pub fn edge_form_gauge(slab_in: Inches, overhang_in: Inches) -> Result<Option<i64>, Refusal> {
    SLAB.check("slab_in", slab_in.0.in_inches())?;
    OVERHANG.check("overhang_in", overhang_in.0.in_inches())?;
    let quarter = Length::sixty_fourths(16);
    let quarters = slab_in.0.count_to_cover(quarter).and_then(|count| u32::try_from(count).ok());
    let column =
        overhang_in.0.count_to_cover(Length::inches(1)).and_then(|c| usize::try_from(c).ok());
    let (Some(quarters), Some(column)) = (quarters, column) else { return Ok(None) };
    if quarters > LAST_ROW {
        return Ok(None);
    }
    let row = quarters.saturating_sub(FIRST_ROW) as usize;
    Ok(GAUGES.get(row).and_then(|row| row.get(column)).map(|gauge| i64::from(*gauge)))
}

/// What edge form does under wet concrete, per inch of length.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeFigures {
    /// Bending stress under wet concrete, and with the live load on it.
    pub wet_ksi: f64,
    pub live_ksi: f64,
    /// Drop of the tip and lean of the top of the vertical leg.
    pub drop_in: f64,
    pub lean_in: f64,
    /// The greatest of stresses and deflections over their limits.
    pub utilisation: f64,
}

into_record!(EdgeFigures { wet_ksi, live_ksi, drop_in, lean_in, utilisation });

/// The stresses and deflections of edge form under wet concrete, against the criterion behind its
/// selection table.
///
/// - edge: record with slab_in, overhang_in, thickness_in; as wanted unit_weight_pcf (150), live_psf
///   (20), stress_ksi (20 under wet concrete, a third more with live load), deflection_in (0.25, drop
///   and lean each)
///
/// Gives: record wet_ksi, live_ksi, drop_in, lean_in, utilisation (greatest over its limit).
/// Source: criterion of the deck institute as quoted in Modern Steel Construction, August 2012;
/// cantilever plate with fluid pressure on its vertical leg, E 29,500 ksi.
/// Example: `deck::edge_form_criterion(#{slab_in: 6, overhang_in: 6, thickness_in: 0.0747}).utilisation` = 0.966
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn edge_form_criterion(edge: Arc<Record>) -> Result<EdgeFigures, Refusal> {
    const E_KSI: f64 = 29_500.0;
    let known = [
        "slab_in",
        "overhang_in",
        "thickness_in",
        "unit_weight_pcf",
        "live_psf",
        "stress_ksi",
        "deflection_in",
    ];
    let fields = Fields::exactly("edge", &edge, &known)?;
    let h = fields.number("slab_in", SLAB)?;
    let overhang = fields.number("overhang_in", OVERHANG)?;
    let t = fields.number("thickness_in", THICKNESS)?;
    let gamma = fields.number_or("unit_weight_pcf", 150.0, UNIT_WEIGHT)? / 1728.0;
    let live = fields.number_or("live_psf", 20.0, LIVE)? / 144.0;
    let stress_ksi = fields.number_or("stress_ksi", 20.0, STRESS)?;
    let deflection_in = fields.number_or("deflection_in", 0.25, DEFLECTION)?;
    let fluid = gamma * h.powi(3) / 6.0;
    let w = gamma * h;
    let modulus = t * t / 6.0;
    let ei = 1000.0 * E_KSI * t.powi(3) / 12.0;
    let wet = fluid + w * overhang * overhang / 2.0;
    let with_live = wet + live * overhang * overhang / 2.0;
    let turn = (w * overhang.powi(3) / 6.0 + fluid * overhang) / ei;
    let wet_ksi = wet / modulus / 1000.0;
    let live_ksi = with_live / modulus / 1000.0;
    let drop_in = (w * overhang.powi(4) / 8.0 + fluid * overhang * overhang / 2.0) / ei;
    let lean_in = gamma * h.powi(5) / (30.0 * ei) + turn * h;
    let utilisation = (wet_ksi / stress_ksi)
        .max(live_ksi / (stress_ksi * 4.0 / 3.0))
        .max(drop_in / deflection_in)
        .max(lean_in / deflection_in);
    Ok(EdgeFigures { wet_ksi, live_ksi, drop_in, lean_in, utilisation })
}

/// The width of strip that edge form is bent from.
///
/// - slab_in: height of the vertical leg, in, above 0
/// - overhang_in: overhang beyond the support, in, from 0
/// - bearing_in: lap on the support, in, 0 to 24 (commonly 2)
/// - lip_in: return lip at the top, in, 0 to 24 (commonly 3/4 to 1)
///
/// Gives: width, in; times `weight::flat_psf` over 12 it is lb/ft.
/// Source: geometry.
/// Example: `deck::edge_form_girth_in(6, 4, 2, 0.75)` = 12.75
pub fn edge_form_girth_in(
    slab_in: f64,
    overhang_in: f64,
    bearing_in: f64,
    lip_in: f64,
) -> Result<f64, Refusal> {
    Ok(SLAB.check("slab_in", slab_in)?
        + OVERHANG.check("overhang_in", overhang_in)?
        + LEG.check("bearing_in", bearing_in)?
        + LEG.check("lip_in", lip_in)?)
}

/// Stock pieces of an edge, side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct StockFigures {
    pub pieces: i64,
    /// Length the edge takes, corners in, laps not.
    pub edge_ft: Feet,
    /// Length of the pieces together.
    pub ordered_ft: Feet,
    /// What laps and cuts use up.
    pub excess_ft: Feet,
}

into_record!(StockFigures { pieces, edge_ft, ordered_ft, excess_ft });

/// The stock pieces that the sides of an edge take, each side started with a new piece.
///
/// - sides_ft: lengths of the sides, ft, a list, each above 0
/// - stock: record with stock_ft (length of a piece, above 0); as wanted lap_in (between pieces of a
///   side, 0), corners (count, 0) and corner_in (more length at each corner, 0)
///
/// Gives: record pieces, edge_ft (sides and corners), ordered_ft, excess_ft (laps and cuts).
/// Source: geometry; the corners' lengths are cut from pieces of their own.
/// Example: `deck::stock_pieces([31, 20], #{stock_ft: 10, lap_in: 4}).pieces` = 7
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn stock_pieces(sides_ft: Vec<Feet>, stock: Arc<Record>) -> Result<StockFigures, Refusal> {
    let fields = Fields::exactly("stock", &stock, &["stock_ft", "lap_in", "corners", "corner_in"])?;
    let Feet(piece) = fields.required("stock_ft", "a length above 0 ft")?;
    let lap = fields.optional::<Inches>("lap_in")?.map_or(Length::ZERO, |lap| lap.0);
    if !piece.is_positive() {
        return Err(Refusal::new("stock.stock_ft", piece.in_feet(), "a length above 0 ft"));
    }
    if lap < Length::ZERO || lap >= piece {
        let wanted = "a lap from 0 in, shorter than the piece";
        return Err(Refusal::new("stock.lap_in", lap.in_inches(), wanted));
    }
    let corners = fields.optional::<i64>("corners")?.unwrap_or(0);
    if !(0..=100_000).contains(&corners) {
        return Err(Refusal::new("stock.corners", corners, "a count from 0 to 100,000"));
    }
    let corner = fields.optional::<Inches>("corner_in")?.map_or(Length::ZERO, |length| length.0);
    if corner < Length::ZERO || corner > piece {
        let wanted = "a length from 0 in, no longer than the piece";
        return Err(Refusal::new("stock.corner_in", corner.in_inches(), wanted));
    }
    let too_much = || Refusal::new("sides_ft", "a very long edge", "lengths that can be counted");
    let mut pieces: i64 = 0;
    let mut edge = corner.checked_mul(corners).ok_or_else(too_much)?;
    // Corner pieces are cut from whole pieces.
    if let Some(each) = piece.div_rem(corner).map(|(each, _)| each).filter(|_| corners > 0) {
        pieces += corners.div_euclid(each) + i64::from(corners.rem_euclid(each) > 0);
    }
    for (index, Feet(side)) in sides_ft.into_iter().enumerate() {
        if !side.is_positive() {
            let name = format!("sides_ft[{index}]");
            return Err(Refusal::new(name, side.in_feet(), "a length above 0 ft"));
        }
        edge = edge.checked_add(side).ok_or_else(too_much)?;
        let beyond = (side - piece).max(Length::ZERO);
        let more = beyond.count_to_cover(piece - lap).ok_or_else(too_much)?;
        pieces = pieces.checked_add(more + 1).ok_or_else(too_much)?;
    }
    let ordered = piece.checked_mul(pieces).ok_or_else(too_much)?;
    Ok(StockFigures {
        pieces,
        edge_ft: Feet(edge),
        ordered_ft: Feet(ordered),
        excess_ft: Feet(ordered - edge),
    })
}
