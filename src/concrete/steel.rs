//! Reinforcement against temperature and shrinkage: least area, mesh styles that meet it, rolls or
//! sheets to order, and the fibre alternative.
//!
//! In: concrete over the deck, areas, a style, roll sizes and laps. Out: areas, styles, counts and
//! weights. Mesh chosen here is no steel for negative moments; what the slab takes is for the
//! engineer of record to say.

use std::sync::Arc;

use crate::arguments::{Fields, nearest, within};
use crate::builtin::Builtin;
use crate::value::{IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[
    builtin!(least_steel_in2_ft(topping_in)),
    builtin!(mesh_styles()),
    builtin!(mesh(style)),
    builtin!(mesh_named(text)),
    builtin!(meshes_for(steel_in2_ft)),
    builtin!(mesh_area_in2_ft(wire, spacing_in)),
    builtin!(mesh_lap_in(spacing_in)),
    builtin!(mesh_cover_factor(width_ft, length_ft, side_lap_in, end_lap_in)),
    builtin!(mesh_order(need)),
    builtin!(least_fibre_lb_yd3(kind)),
    builtin!(fibre_lb(yd3, dosage_lb_yd3)),
];

/// A style of welded wire reinforcement, the same each way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mesh {
    pub style: &'static str,
    pub spacing_in: f64,
    /// Size of the plain wire, hundredths of a square inch.
    pub wire: f64,
    /// Weight as published: above that of the wires each way by the side overhangs of a 5 ft roll.
    pub lb_per_square: f64,
    pub source: &'static str,
}

const COURSE: &str = "published table of a course on slabs on grade";
const MEMORY: &str = "from memory";

/// Lightest first.
const STYLES: [Mesh; 10] = [
    style("6x6-W1.4xW1.4", 6.0, 1.4, 21.0, COURSE),
    style("6x6-W2.0xW2.0", 6.0, 2.0, 29.0, COURSE),
    style("6x6-W2.1xW2.1", 6.0, 2.1, 30.0, MEMORY),
    style("4x4-W1.4xW1.4", 4.0, 1.4, 31.0, COURSE),
    style("6x6-W2.9xW2.9", 6.0, 2.9, 42.0, COURSE),
    style("4x4-W2.0xW2.0", 4.0, 2.0, 43.0, COURSE),
    style("6x6-W4.0xW4.0", 6.0, 4.0, 58.0, COURSE),
    style("4x4-W2.9xW2.9", 4.0, 2.9, 62.0, COURSE),
    style("6x6-W5.5xW5.5", 6.0, 5.5, 80.0, COURSE),
    style("4x4-W4.0xW4.0", 4.0, 4.0, 85.0, COURSE),
];

const fn style(
    style: &'static str,
    spacing_in: f64,
    wire: f64,
    lb_per_square: f64,
    source: &'static str,
) -> Mesh {
    Mesh { style, spacing_in, wire, lb_per_square, source }
}

const SPACING: &str = "a wire spacing from 1 to 24 in";

/// Least area of temperature and shrinkage steel in a composite slab: 0.00075 of the concrete over
/// the deck, at least 0.028 in2/ft.
///
/// - topping_in: concrete over the deck, in, 0 to 60
///
/// Gives: area each way, in2 per ft of width.
/// Source: ANSI/SDI C-2017, temperature and shrinkage reinforcement (0.028 in2/ft from memory).
/// Example: `concrete::least_steel_in2_ft(3.25)` = 0.02925
pub fn least_steel_in2_ft(topping_in: f64) -> Result<f64, Refusal> {
    let wanted = "concrete over the deck from 0 to 60 in";
    within("topping_in", topping_in, wanted, |topping| (0.0..=60.0).contains(&topping))?;
    Ok((0.000_75 * 12.0 * topping_in).max(0.028))
}

/// The styles of welded wire reinforcement that are known, lightest first.
///
/// Gives: list of records with style, spacing_in, wire (W size), area_in2_ft (each way), wire_in
/// (diameter), lb_per_square and source (of the weight).
/// Source: geometry for areas and diameters; weights as each record says.
/// Example: `concrete::mesh_styles()[0].lb_per_square` = 21
#[must_use]
pub fn mesh_styles() -> Vec<Mesh> {
    STYLES.to_vec()
}

/// A style of welded wire reinforcement.
///
/// - style: its designation, as `6x6-W2.9xW2.9`
///
/// Gives: record as in `mesh_styles`.
/// Source: geometry for area and diameter; weight as the record says.
/// Example: `concrete::mesh("6x6-W2.9xW2.9").area_in2_ft` = 0.058
pub fn mesh(style: Arc<str>) -> Result<Mesh, Refusal> {
    style_named("style", &style)
}

/// The style of mesh that a text names as drawings and suppliers write it: letters of any case, with
/// `WWF` or `WWR` before it or not, wires by W size or by gauge.
///
/// - text: a designation, as `6X6 W2.9xW2.9`, `WWF 6x6-W1.4/W1.4` or `6x6-10/10`
///
/// Gives: record as in `mesh_styles`; blank where it names none of them.
/// Source: definition; gauges 10, 8, 6 and 4 are W1.4, W2.1, W2.9 and W4.0 (steel wire gauge, from
/// memory).
/// Example: `concrete::mesh_named("6x6-10/10").style` = "6x6-W1.4xW1.4"
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
#[must_use]
pub fn mesh_named(text: Arc<str>) -> Option<Mesh> {
    named(&text)
}

fn named(text: &str) -> Option<Mesh> {
    const GAUGES: [(f64, f64); 4] = [(10.0, 1.4), (8.0, 2.1), (6.0, 2.9), (4.0, 4.0)];
    let text = text.trim().to_ascii_uppercase().replace('×', "X");
    let text =
        ["WWF", "WWR", "WWM"].iter().find_map(|word| text.strip_prefix(word)).unwrap_or(&text);
    let mut sizes: Vec<(bool, f64)> = Vec::new();
    for part in text.split(['X', '-', '/', ' ']).filter(|part| !part.is_empty()) {
        let (is_wire, size) = match part.strip_prefix('W') {
            Some(size) => (true, size),
            None => (false, part.trim_end_matches('"')),
        };
        sizes.push((is_wire, size.parse().ok()?));
    }
    let [(false, spacing), (false, other_spacing), wire, other_wire] = sizes[..] else {
        return None;
    };
    let wire_size = match wire {
        (true, size) => size,
        (false, gauge) => GAUGES.iter().find(|(known, _)| *known == gauge)?.1,
    };
    STYLES.into_iter().find(|mesh| {
        mesh.spacing_in == spacing
            && spacing == other_spacing
            && mesh.wire == wire_size
            && wire == other_wire
    })
}

fn style_named(argument: &str, style: &str) -> Result<Mesh, Refusal> {
    named(style).ok_or_else(|| {
        let near = nearest(style, STYLES.iter().map(|mesh| mesh.style));
        let near = near.map(|near| format!(" (perhaps {near:?})")).unwrap_or_default();
        let wanted = format!("a style of mesh_styles, as \"6x6-W1.4xW1.4\"{near}");
        Refusal::new(argument, format!("{style:?}"), wanted)
    })
}

/// The styles whose area each way is at least so much, lightest first.
///
/// - steel_in2_ft: area wanted each way, in2/ft, 0 to 10
///
/// Gives: list of records as in `mesh_styles`, empty where none is heavy enough.
/// Source: geometry.
/// Example: `concrete::meshes_for(concrete::least_steel_in2_ft(3.25))[0].style` = "6x6-W2.0xW2.0"
pub fn meshes_for(steel_in2_ft: f64) -> Result<Vec<Mesh>, Refusal> {
    let wanted = "an area from 0 to 10 in2/ft";
    within("steel_in2_ft", steel_in2_ft, wanted, |area| (0.0..=10.0).contains(&area))?;
    Ok(STYLES.into_iter().filter(|mesh| mesh.area_in2_ft() >= steel_in2_ft - 1e-9).collect())
}

/// Area of one way of welded wire reinforcement.
///
/// - wire: W or D size of the wire, hundredths of a square inch, 0.1 to 100
/// - spacing_in: spacing of the wires, in, 1 to 24
///
/// Gives: area, in2/ft.
/// Source: definition of the W and D sizes, ASTM A1064.
/// Example: `concrete::mesh_area_in2_ft(1.4, 6)` = 0.028
pub fn mesh_area_in2_ft(wire: f64, spacing_in: f64) -> Result<f64, Refusal> {
    within("wire", wire, "a W or D size from 0.1 to 100", |wire| (0.1..=100.0).contains(&wire))?;
    within("spacing_in", spacing_in, SPACING, |spacing| (1.0..=24.0).contains(&spacing))?;
    Ok(wire / 100.0 * 12.0 / spacing_in)
}

/// Lap of plain welded wire by the estimator's rule, one mesh and 2 in, at least 6 in; where the
/// wires are counted on for strength, the engineer states the lap.
///
/// - spacing_in: spacing of the cross wires, in, 1 to 24
///
/// Gives: lap, in.
/// Source: common practice, no source; ACI 318-19 25.5.4 asks for no less with ld left out.
/// Example: `concrete::mesh_lap_in(6)` = 8
pub fn mesh_lap_in(spacing_in: f64) -> Result<f64, Refusal> {
    within("spacing_in", spacing_in, SPACING, |spacing| (1.0..=24.0).contains(&spacing))?;
    Ok((spacing_in + 2.0).max(6.0))
}

/// Part of a roll's or sheet's area that is left as cover once it laps its neighbours on one side
/// and one end.
///
/// - width_ft: width of the roll or sheet, ft, above 0 to 100
/// - length_ft: its length, ft, above 0 to 10,000
/// - side_lap_in: lap at the side, in, 0 to below the width
/// - end_lap_in: lap at the end, in, 0 to below the length
///
/// Gives: a fraction above 0, up to 1; its inverse is the order factor.
/// Source: geometry.
/// Example: `concrete::mesh_cover_factor(5, 150, 8, 8)` = 0.8628
pub fn mesh_cover_factor(
    width_ft: f64,
    length_ft: f64,
    side_lap_in: f64,
    end_lap_in: f64,
) -> Result<f64, Refusal> {
    let width = "a width above 0, up to 100 ft";
    within("width_ft", width_ft, width, |width| (0.01..=100.0).contains(&width))?;
    let length = "a length above 0, up to 10,000 ft";
    within("length_ft", length_ft, length, |length| (0.01..=1e4).contains(&length))?;
    let left = |argument: &str, lap_in: f64, size_ft: f64| {
        let wanted = format!("a lap from 0 in to below {size_ft} ft");
        within(argument, lap_in, &wanted, |lap| lap >= 0.0 && lap < size_ft * 12.0)
            .map(|lap| (size_ft * 12.0 - lap) / (size_ft * 12.0))
    };
    Ok(left("side_lap_in", side_lap_in, width_ft)? * left("end_lap_in", end_lap_in, length_ft)?)
}

/// Rolls or sheets of welded wire reinforcement for an area, laps included, no layout.
///
/// - need: record with area_ft2 (area to cover, ft2, 0 to 100,000,000), style (as in `mesh`),
///   width_ft and length_ft (of a roll or sheet, ft), side_lap_in and end_lap_in (in; by default
///   `mesh_lap_in`), waste (a fraction of area_ft2, 0 by default)
///
/// Gives: record with pieces (count of rolls or sheets), ordered_ft2, weight_lb, cover_factor,
/// side_lap_in and end_lap_in.
/// Source: geometry; weight as published for the style.
/// Example: `concrete::mesh_order(#{area_ft2: 10000, style: "6x6-W1.4xW1.4", width_ft: 5, length_ft: 150}).pieces` = 16
pub fn mesh_order(need: Arc<Record>) -> Result<MeshOrder, Refusal> {
    let mut fields = Fields::new("need", &need);
    let style: Arc<str> = fields.required("style", "a style of mesh_styles")?;
    let mesh = style_named(&fields.path("style"), &style)?;
    let area = "an area from 0 to 100,000,000 ft2";
    let area_ft2 = fields.number("area_ft2", None, area, |area| (0.0..=1e8).contains(&area))?;
    let size = |size: f64| (0.5..=1e4).contains(&size);
    let width_ft = fields.number("width_ft", None, "a width from 0.5 to 100 ft", size)?;
    let length_ft = fields.number("length_ft", None, "a length from 0.5 to 10,000 ft", size)?;
    let lap_in = Some(mesh_lap_in(mesh.spacing_in)?);
    let side_lap_in = fields.number("side_lap_in", lap_in, "a lap from 0 in", |lap| lap >= 0.0)?;
    let end_lap_in = fields.number("end_lap_in", lap_in, "a lap from 0 in", |lap| lap >= 0.0)?;
    let fraction = "a fraction from 0 to 1 (0.05 is 5 %)";
    let waste =
        fields.number("waste", Some(0.0), fraction, |waste| (0.0..=1.0).contains(&waste))?;
    fields.finish()?;
    let cover_factor = mesh_cover_factor(width_ft, length_ft, side_lap_in, end_lap_in)?;
    let piece_ft2 = width_ft * length_ft;
    let exact = area_ft2 * (1.0 + waste) / (piece_ft2 * cover_factor);
    // What floating point adds to a whole number orders no extra roll.
    let pieces = (exact - 1e-9 * exact.max(1.0)).ceil().max(0.0);
    let wanted = "an area that takes at most 1,000,000,000 pieces";
    within("need.area_ft2", area_ft2, wanted, |_| pieces <= 1e9)?;
    let ordered_ft2 = pieces * piece_ft2;
    #[allow(clippy::cast_possible_truncation, reason = "whole, at most 1e9")]
    let pieces = pieces as i64;
    let weight_lb = ordered_ft2 / 100.0 * mesh.lb_per_square;
    Ok(MeshOrder { pieces, ordered_ft2, weight_lb, cover_factor, side_lap_in, end_lap_in })
}

/// Welded wire reinforcement to order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeshOrder {
    /// Rolls or sheets.
    pub pieces: i64,
    pub ordered_ft2: f64,
    pub weight_lb: f64,
    pub cover_factor: f64,
    pub side_lap_in: f64,
    pub end_lap_in: f64,
}

/// Least dosage of fibres in place of mesh against temperature and shrinkage.
///
/// - kind: "steel" (ASTM A820 in ASTM C1116 Type I) or "macro" (macro-synthetic, ASTM D7508 in
///   ASTM C1116 Type III)
///
/// Gives: dosage, lb/yd3.
/// Source: ANSI/SDI C-2017, alternatives to mesh (from memory).
/// Example: `concrete::least_fibre_lb_yd3("macro")` = 4
pub fn least_fibre_lb_yd3(kind: Arc<str>) -> Result<f64, Refusal> {
    match &*kind {
        "steel" => Ok(25.0),
        "macro" => Ok(4.0),
        other => Err(Refusal::new("kind", format!("{other:?}"), "\"steel\" or \"macro\"")),
    }
}

/// Weight of fibres in a volume of concrete.
///
/// - yd3: volume ordered, yd3, 0 to 1,000,000
/// - dosage_lb_yd3: fibres in each yd3, lb, 0 to 500
///
/// Gives: weight, lb.
/// Source: definition.
/// Example: `concrete::fibre_lb(15.75, 25)` = 393.75
pub fn fibre_lb(yd3: f64, dosage_lb_yd3: f64) -> Result<f64, Refusal> {
    within("yd3", yd3, "a volume from 0 to 1,000,000 yd3", |yd3| (0.0..=1e6).contains(&yd3))?;
    let dosage = "a dosage from 0 to 500 lb/yd3";
    within("dosage_lb_yd3", dosage_lb_yd3, dosage, |lb| (0.0..=500.0).contains(&lb))?;
    Ok(yd3 * dosage_lb_yd3)
}

impl Mesh {
    /// Area each way.
    #[must_use]
    pub fn area_in2_ft(&self) -> f64 {
        self.wire / 100.0 * 12.0 / self.spacing_in
    }

    /// Diameter of the wire.
    #[must_use]
    pub fn wire_in(&self) -> f64 {
        (4.0 * self.wire / 100.0 / std::f64::consts::PI).sqrt()
    }
}

impl IntoValue for Mesh {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            style: Value::text(self.style),
            spacing_in: Value::Number(self.spacing_in),
            wire: Value::Number(self.wire),
            area_in2_ft: Value::Number(self.area_in2_ft()),
            wire_in: Value::Number(self.wire_in()),
            lb_per_square: Value::Number(self.lb_per_square),
            source: Value::text(self.source),
        }
        .into_value()
    }
}

impl IntoValue for MeshOrder {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            pieces: Value::Count(self.pieces),
            ordered_ft2: Value::Number(self.ordered_ft2),
            weight_lb: Value::Number(self.weight_lb),
            cover_factor: Value::Number(self.cover_factor),
            side_lap_in: Value::Number(self.side_lap_in),
            end_lap_in: Value::Number(self.end_lap_in),
        }
        .into_value()
    }
}
