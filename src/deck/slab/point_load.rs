//! How far a concentrated load spreads over a composite slab, for information.
//!
//! In: the load's footprint and place, slab, span. Out: widths and the weak-direction moment.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[builtin!(point_load(load))];

const POUNDS: Range = Range::from("a load", 0.0, 1e6, "lb");
const FOOT: Range = Range::above("a length of the footprint", 0.0, 1200.0, "in");
const SLAB: Range = Range::above("a slab thickness", 0.0, 60.0, "in");
const DEPTH: Range = Range::from("a deck depth", 0.0, 24.0, "in");
const SPAN: Range = Range::above("a span", 0.0, 100.0, "ft");
const TOPPING: Range = Range::from("a durable topping", 0.0, 24.0, "in");

/// Widest spread over the topping ratio: 8.9 ft.
const MOST_IN: f64 = 106.8;

/// Widths over which a concentrated load spreads.
#[derive(Clone, Debug, PartialEq)]
pub struct PointFigures {
    /// Footprint at 45 degrees through the concrete.
    pub footprint_in: f64,
    /// Before and after the cap.
    pub flexure_spread_in: f64,
    pub flexure_width_in: f64,
    pub shear_width_in: f64,
    pub cap_in: f64,
    pub weak_width_in: f64,
    /// Per ft of width, across the ribs.
    pub weak_moment_in_lb_ft: f64,
}

into_record!(PointFigures {
    footprint_in,
    flexure_spread_in,
    flexure_width_in,
    shear_width_in,
    cap_in,
    weak_width_in,
    weak_moment_in_lb_ft,
});

/// The widths over which a concentrated load spreads on a composite slab, and the moment across the
/// ribs it makes.
///
/// - load: record with load_lb, across_in (footprint across the ribs, b2), along_in (footprint along
///   them, b3), slab_in (total), depth_in, span_ft; as wanted topping_in (durable topping over the slab,
///   0), continuous (false), place_in (from the support, mid span), shear_place_in (slab_in)
///
/// Gives: record footprint_in, flexure_spread_in, flexure_width_in (spread within the cap),
/// shear_width_in, cap_in, weak_width_in, weak_moment_in_lb_ft.
/// Source: ANSI/SDI C-2017 2.4.B, from memory.
/// Example: `deck::point_load(#{load_lb: 2000, across_in: 6, along_in: 6, slab_in: 6.25, depth_in: 3, span_ft: 10}).flexure_width_in` = 55.536
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn point_load(load: Arc<Record>) -> Result<PointFigures, Refusal> {
    let known = [
        "load_lb",
        "across_in",
        "along_in",
        "slab_in",
        "depth_in",
        "span_ft",
        "topping_in",
        "continuous",
        "place_in",
        "shear_place_in",
    ];
    let fields = Fields::exactly("load", &load, &known)?;
    let h = fields.number("slab_in", SLAB)?;
    let hd = fields.number("depth_in", DEPTH)?;
    if h <= hd {
        let wanted = format!("a slab thicker than the deck's {hd} in");
        return Err(Refusal::new("load.slab_in", h, wanted));
    }
    let tc = h - hd;
    let span = 12.0 * fields.number("span_ft", SPAN)?;
    let place = Range::from("a place in the span", 0.0, span, "in");
    let x = fields.number_or("place_in", span / 2.0, place)?;
    let shear_x = fields.number_or("shear_place_in", h.min(span / 2.0), place)?;
    let factor = if fields.flag_or("continuous", false)? { 4.0 / 3.0 } else { 2.0 };
    let footprint_in = fields.number("across_in", FOOT)?
        + 2.0 * tc
        + 2.0 * fields.number_or("topping_in", 0.0, TOPPING)?;
    let spread = |factor: f64, x: f64| footprint_in + factor * (1.0 - x / span) * x;
    let cap_in = MOST_IN * tc / h;
    let weak_width_in = (span / 2.0 + fields.number("along_in", FOOT)?).min(span);
    let flexure_spread_in = spread(factor, x);
    let flexure_width_in = flexure_spread_in.min(cap_in);
    Ok(PointFigures {
        footprint_in,
        flexure_spread_in,
        flexure_width_in,
        shear_width_in: spread(1.0, shear_x).min(cap_in),
        cap_in,
        weak_width_in,
        weak_moment_in_lb_ft: 12.0 * fields.number("load_lb", POUNDS)? * flexure_width_in
            / (15.0 * weak_width_in),
    })
}
