//! Figures of a composite slab, for information: the engineer of record has chosen the deck.
//!
//! In: the slab's and deck's dimensions, moduli ratio, strengths. Out: inertias, moments and shear of a
//! strip 12 in wide.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[builtin!(composite_slab(slab)), builtin!(composite_beam(beam))];

/// The yield stress at which deck of a composite slab is taken at most; ANSI/SDI C-2017, from memory.
const MOST_YIELD_KSI: f64 = 60.0;
/// The strip that figures are for.
const STRIP_IN: f64 = 12.0;

const SLAB: Range = Range::above("a slab thickness", 0.0, 60.0, "in");
const DEPTH: Range = Range::from("a deck depth", 0.0, 24.0, "in");
const PITCH: Range = Range::above("a pitch", 0.0, 48.0, "in");
const RIB: Range = Range::above("an average rib width", 0.0, 48.0, "in");
const BOTTOM: Range = Range::above("a flat width", 0.0, 48.0, "in");
const RATIO: Range = Range::from("a ratio of moduli", 3.0, 50.0, "");
const YIELD: Range = Range::above("a yield stress", 0.0, 150.0, "ksi");
const STRENGTH: Range = Range::from("a concrete strength", 1000.0, 15_000.0, "psi");
const AREA: Range = Range::above("a steel area", 0.0, 20.0, "in2/ft");
const CENTROID: Range = Range::from("a centroid height", 0.0, 24.0, "in");
const INERTIA: Range = Range::from("a moment of inertia", 0.0, 1000.0, "in4/ft");
const PART: Range = Range::above("a factor", 0.0, 1.0, "");
const OMEGA: Range = Range::from("a factor omega", 1.0, 10.0, "");
const SHEAR: Range = Range::from("a shear strength", 0.0, 1e6, "lb/ft");
const WIDTH: Range = Range::above("a width", 0.0, 2400.0, "in");
const BEAM_AREA: Range = Range::above("a steel area", 0.0, 1000.0, "in2");
const BEAM_INERTIA: Range = Range::above("a moment of inertia", 0.0, 1e7, "in4");
const BEAM_DEPTH: Range = Range::above("a beam depth", 0.0, 240.0, "in");

/// Figures of a composite slab, per 12 in.
#[derive(Clone, Debug, PartialEq)]
pub struct SlabFigures {
    pub steel_ratio: f64,
    /// Depth of the cracked neutral axis from the top.
    pub cracked_axis_in: f64,
    pub cracked_i_in4: f64,
    pub uncracked_axis_in: f64,
    pub uncracked_i_in4: f64,
    pub average_i_in4: f64,
    /// First yield of the deck, before K and resistance factors.
    pub yield_moment_in_kip: f64,
    pub yield_design_lrfd_in_kip: f64,
    pub yield_design_asd_in_kip: f64,
    /// K was not given: the two figures above are upper bounds.
    pub k_is_upper_bound: bool,
    pub full_block_in: f64,
    /// With studs that develop the deck.
    pub full_moment_in_kip: f64,
    pub shear_area_in2: f64,
    pub shear_lrfd_lb: f64,
    pub shear_asd_lb: f64,
}

into_record!(SlabFigures {
    steel_ratio,
    cracked_axis_in,
    cracked_i_in4,
    uncracked_axis_in,
    uncracked_i_in4,
    average_i_in4,
    yield_moment_in_kip,
    yield_design_lrfd_in_kip,
    yield_design_asd_in_kip,
    k_is_upper_bound,
    full_block_in,
    full_moment_in_kip,
    shear_area_in2,
    shear_lrfd_lb,
    shear_asd_lb,
});

/// Inertias, moments and shear of a composite slab on a strip 12 in wide, for information.
///
/// - slab: record with slab_in (total), depth_in, pitch_in, rib_in (average concrete rib width),
///   bottom_flat_in, n (steel over concrete modulus, 3 to 50), fy_ksi (60 at most counts), fc_psi, as_in2 (deck steel per
///   ft), ysb_in (its centroid above the bottom), isf_in4 (its inertia per ft); as wanted k (of the
///   deck's embossment; 1 where absent, an upper bound), phi (0.85) and omega (1.75) of flexure,
///   lambda (concrete, 1), phi_v (0.75; 0.85 in older editions), omega_v (2.00), deck_shear_lb (as
///   `web_shear_lb_ft` gives it, 0), deck_phi_v (0.95), deck_omega_v (1.60)
///
/// Gives: record of figures per 12 in: steel_ratio, cracked_axis_in (from the top), cracked_i_in4,
/// uncracked_axis_in, uncracked_i_in4, average_i_in4 (steel units), yield_moment_in_kip, with K and
/// factors yield_design_lrfd_in_kip and yield_design_asd_in_kip, k_is_upper_bound, full_block_in,
/// full_moment_in_kip (studs), shear_area_in2, shear_lrfd_lb, shear_asd_lb.
/// Source: ANSI/SDI C-2017, appendix on composite section properties, from memory.
/// Example: `deck::composite_slab(#{slab_in: 6.25, depth_in: 3, pitch_in: 12, rib_in: 6, bottom_flat_in: 4.75, n: 14, fy_ksi: 50, fc_psi: 3000, as_in2: 0.8, ysb_in: 1.5, isf_in4: 0.92}).average_i_in4` = 12.5739
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn composite_slab(slab: Arc<Record>) -> Result<SlabFigures, Refusal> {
    let known = [
        "slab_in",
        "depth_in",
        "pitch_in",
        "rib_in",
        "bottom_flat_in",
        "n",
        "fy_ksi",
        "fc_psi",
        "as_in2",
        "ysb_in",
        "isf_in4",
        "k",
        "phi",
        "omega",
        "lambda",
        "phi_v",
        "omega_v",
        "deck_shear_lb",
        "deck_phi_v",
        "deck_omega_v",
    ];
    let fields = Fields::exactly("slab", &slab, &known)?;
    let h = fields.number("slab_in", SLAB)?;
    let hd = fields.number("depth_in", DEPTH)?;
    if h <= hd {
        let wanted = format!("a slab thicker than the deck's {hd} in");
        return Err(Refusal::new("slab.slab_in", h, wanted));
    }
    let pitch = fields.number("pitch_in", PITCH)?;
    let rib = fields.number("rib_in", RIB)?;
    let n = fields.number("n", RATIO)?;
    let fy = fields.number("fy_ksi", YIELD)?.min(MOST_YIELD_KSI);
    let fc_psi = fields.number("fc_psi", STRENGTH)?;
    let area = fields.number("as_in2", AREA)?;
    let ysb = fields.number("ysb_in", CENTROID)?;
    let isf = fields.number("isf_in4", INERTIA)?;
    let (b, hc, d) = (STRIP_IN, h - hd, h - ysb);
    if d <= 0.0 {
        let wanted = format!("a height below the slab's {h} in");
        return Err(Refusal::new("slab.ysb_in", ysb, wanted));
    }

    let ratio = area / (b * d);
    let rho_n = ratio * n;
    let cracked_axis_in = (d * ((2.0 * rho_n + rho_n * rho_n).sqrt() - rho_n)).min(hc);
    let cracked_i_in4 =
        b * cracked_axis_in.powi(3) / (3.0 * n) + area * (d - cracked_axis_in).powi(2) + isf;

    let ribs = rib * hd * b / pitch;
    let uncracked_axis_in =
        (0.5 * b * hc * hc + n * area * d + ribs * (h - 0.5 * hd)) / (b * hc + n * area + ribs);
    let y = uncracked_axis_in;
    let uncracked_i_in4 = b * hc.powi(3) / (12.0 * n)
        + b * hc / n * (y - 0.5 * hc).powi(2)
        + isf
        + area * (d - y).powi(2)
        + ribs / n * (hd * hd / 12.0 + (h - y - 0.5 * hd).powi(2));

    let yield_moment_in_kip = fy * cracked_i_in4 / (h - cracked_axis_in);
    let k = fields.optional_number("k", PART)?;
    let with_k = k.unwrap_or(1.0) * yield_moment_in_kip;
    let full_block_in = area * fy / (0.85 * fc_psi / 1000.0 * b);

    let shear_area_in2 =
        b / pitch * shear_area(h, hd, pitch, fields.number("bottom_flat_in", BOTTOM)?, rib);
    let root = fc_psi.sqrt() * shear_area_in2;
    let concrete = 2.0 * fields.number_or("lambda", 1.0, PART)? * root;
    let deck = fields.number_or("deck_shear_lb", 0.0, SHEAR)?;
    let phi_v = fields.number_or("phi_v", 0.75, PART)?;
    let omega_v = fields.number_or("omega_v", 2.0, OMEGA)?;
    let deck_phi_v = fields.number_or("deck_phi_v", 0.95, PART)?;
    let deck_omega_v = fields.number_or("deck_omega_v", 1.60, OMEGA)?;
    Ok(SlabFigures {
        steel_ratio: ratio,
        cracked_axis_in,
        cracked_i_in4,
        uncracked_axis_in,
        uncracked_i_in4,
        average_i_in4: f64::midpoint(cracked_i_in4, uncracked_i_in4),
        yield_moment_in_kip,
        yield_design_lrfd_in_kip: fields.number_or("phi", 0.85, PART)? * with_k,
        yield_design_asd_in_kip: with_k / fields.number_or("omega", 1.75, OMEGA)?,
        k_is_upper_bound: k.is_none(),
        full_block_in,
        full_moment_in_kip: area * fy * (d - full_block_in / 2.0),
        shear_area_in2,
        shear_lrfd_lb: (phi_v * concrete + deck_phi_v * deck).min(phi_v * 4.0 * root),
        shear_asd_lb: (concrete / omega_v + deck / deck_omega_v).min(4.0 * root / omega_v),
    })
}

/// Concrete between the two web lines of a rib extended to the top, no wider than the pitch.
fn shear_area(h: f64, hd: f64, pitch: f64, bottom: f64, rib: f64) -> f64 {
    // Each web runs out by rib - bottom over the deck's depth, the width by twice that.
    let slope = if hd > 0.0 { 2.0 * (rib - bottom).max(0.0) / hd } else { 0.0 };
    let full_at = if slope > 0.0 { ((pitch - bottom) / slope).max(0.0) } else { f64::INFINITY };
    let tapered = h.min(full_at);
    tapered * (bottom + slope * tapered / 2.0) + (h - tapered) * pitch
}

/// Inertia of a steel beam with the slab it carries.
#[derive(Clone, Debug, PartialEq)]
pub struct BeamSection {
    /// From the top of the slab.
    pub axis_in: f64,
    pub i_in4: f64,
}

into_record!(BeamSection { axis_in, i_in4 });

/// The transformed inertia of a steel beam acting with its slab, for information.
///
/// - beam: record with slab_in (total), concrete_in (depth of a flat slab of the same weight), width_in
///   (effective), n (steel over concrete modulus), steel_area_in2, steel_i_in4, steel_depth_in
///
/// Gives: record axis_in (from the top of the slab) and i_in4 (steel units).
/// Source: geometry of the transformed section, all concrete acting.
/// Example: `deck::composite_beam(#{slab_in: 5.25, concrete_in: 4.3, width_in: 120, n: 13.6, steel_area_in2: 13, steel_i_in4: 843, steel_depth_in: 20.66}).i_in4` = 2648
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn composite_beam(beam: Arc<Record>) -> Result<BeamSection, Refusal> {
    let known = [
        "slab_in",
        "concrete_in",
        "width_in",
        "n",
        "steel_area_in2",
        "steel_i_in4",
        "steel_depth_in",
    ];
    let fields = Fields::exactly("beam", &beam, &known)?;
    let slab = fields.number("slab_in", SLAB)?;
    let concrete = fields.number("concrete_in", Range::above("a depth", 0.0, slab, "in"))?;
    let width = fields.number("width_in", WIDTH)? / fields.number("n", RATIO)?;
    let area = fields.number("steel_area_in2", BEAM_AREA)?;
    let steel_i = fields.number("steel_i_in4", BEAM_INERTIA)?;
    let steel = slab + fields.number("steel_depth_in", BEAM_DEPTH)? / 2.0;
    let axis_in = (0.5 * width * concrete * concrete + area * steel) / (width * concrete + area);
    let i_in4 = width * concrete.powi(3) / 12.0
        + width * concrete * (axis_in - concrete / 2.0).powi(2)
        + steel_i
        + area * (steel - axis_in).powi(2);
    Ok(BeamSection { axis_in, i_in4 })
}
