//! Fasteners: counts at supports and side laps, strength of arc spot welds.
//!
//! In: patterns, panels, spans, weld and sheet. Out: counts, and nominal strengths with factors.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::length::Length;
use crate::value::{Feet, Inches, Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(support_fasteners(pattern, panels, edges_shared)),
    builtin!(side_lap_fasteners(span_ft, spacing_in, none_up_to_ft)),
    builtin!(cantilever_side_lap_fasteners(reach_ft, spacing_in)),
    builtin!(arc_spot_weld(weld)),
];

const VISIBLE: Range = Range::above("a visible diameter", 0.0, 2.0, "in");
const THICKNESS: Range = Range::above("a steel thickness", 0.0, 0.5, "in");
const TENSILE: Range = Range::above("a tensile strength", 0.0, 200.0, "ksi");
const MODULUS: Range = Range::above("a modulus of elasticity", 0.0, 1e6, "ksi");

/// Least effective diameter of an arc spot weld; AISI S100-16 J2.2.
const LEAST_EFFECTIVE_IN: f64 = 0.375;

/// The fasteners that panels side by side take along one line of support.
///
/// - pattern: text of cover and count, `"36/4"`: fasteners across one panel, both edges counted; words
///   after it (`"36/4 weld"`) say what fastens
/// - panels: panels side by side, a count from 0
/// - edges_shared: true where the fastener at a side lap holds both panels
///
/// Gives: count of fasteners on one line of support.
/// Source: common practice, no source.
/// Example: `deck::support_fasteners("36/4", 10, true)` = 31
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn support_fasteners(
    pattern: Arc<str>,
    panels: i64,
    edges_shared: bool,
) -> Result<i64, Refusal> {
    let wanted = "a cover in inches and a count from 2 to 99, as in \"36/4\"";
    let refused = || Refusal::new("pattern", format!("{pattern:?}"), wanted);
    let (cover, count) = pattern.split_once('/').ok_or_else(refused)?;
    let cover: f64 = cover.trim().parse().map_err(|_| refused())?;
    let count = count.split_whitespace().next().unwrap_or_default();
    let count: i64 = count.parse().map_err(|_| refused())?;
    if !(cover > 0.0 && cover <= 100.0 && (2..=99).contains(&count)) {
        return Err(refused());
    }
    if !(0..=1_000_000_000).contains(&panels) {
        return Err(Refusal::new("panels", panels, "a count of panels from 0 to 1,000,000,000"));
    }
    if panels == 0 {
        return Ok(0);
    }
    Ok(if edges_shared { count + (panels - 1) * (count - 1) } else { panels * count })
}

/// The fasteners of one side lap within one span, those over supports not counted.
///
/// - span_ft: span, ft, above 0
/// - spacing_in: greatest spacing, in, above 0 (commonly 36)
/// - none_up_to_ft: spans up to this need none, ft, from 0 (commonly 5)
///
/// Gives: count of fasteners in the span.
/// Source: ANSI/SDI C-2017, NC-2017, RD-2017 section 3, from memory.
/// Example: `deck::side_lap_fasteners(10, 36, 5)` = 3
pub fn side_lap_fasteners(
    span_ft: Feet,
    spacing_in: Inches,
    none_up_to_ft: Feet,
) -> Result<i64, Refusal> {
    if !span_ft.0.is_positive() {
        return Err(Refusal::new("span_ft", span_ft.0.in_feet(), "a span above 0 ft"));
    }
    if none_up_to_ft.0 < Length::ZERO {
        let found = none_up_to_ft.0.in_feet();
        return Err(Refusal::new("none_up_to_ft", found, "a span from 0 ft"));
    }
    let spaces = span_ft.0.count_to_cover(spacing_in.0).ok_or_else(|| {
        Refusal::new("spacing_in", spacing_in.0.in_inches(), "a spacing above 0 in")
    })?;
    Ok(if span_ft.0 <= none_up_to_ft.0 { 0 } else { spaces - 1 })
}

/// The fasteners of one side lap of a cantilever: one at its end and others from there back, those
/// over the support not counted.
///
/// - reach_ft: how far it goes past its support, ft, from 0
/// - spacing_in: greatest spacing, in, above 0 (commonly 12)
///
/// Gives: count of fasteners on the cantilever.
/// Source: ANSI/SDI C-2017, NC-2017, RD-2017 section 3, from memory.
/// Example: `deck::cantilever_side_lap_fasteners(4, 12)` = 4
pub fn cantilever_side_lap_fasteners(reach_ft: Feet, spacing_in: Inches) -> Result<i64, Refusal> {
    if reach_ft.0 < Length::ZERO {
        return Err(Refusal::new("reach_ft", reach_ft.0.in_feet(), "a length from 0 ft"));
    }
    reach_ft
        .0
        .count_to_cover(spacing_in.0)
        .ok_or_else(|| Refusal::new("spacing_in", spacing_in.0.in_inches(), "a spacing above 0 in"))
}

/// An arc spot weld in shear.
#[derive(Clone, Debug, PartialEq)]
pub struct WeldFigures {
    /// Average diameter at mid thickness, and effective diameter of the fused area.
    pub average_in: f64,
    pub effective_in: f64,
    pub sheet_kip: f64,
    pub weld_kip: f64,
    /// Design strength by load and resistance factors, and allowable strength.
    pub lrfd_kip: f64,
    pub asd_kip: f64,
    /// What the standard wants otherwise; empty where nothing.
    pub note: String,
}

into_record!(WeldFigures {
    average_in,
    effective_in,
    sheet_kip,
    weld_kip,
    lrfd_kip,
    asd_kip,
    note,
});

/// The shear strength of an arc spot weld through deck.
///
/// - weld: record with visible_in (visible diameter), thickness_in (base metal of all sheets together),
///   fu_ksi; as wanted sheets (1 or 2, 1), fxx_ksi (electrode, 60), e_ksi (29,500)
///
/// Gives: record average_in, effective_in, sheet_kip and weld_kip (nominal), lrfd_kip and asd_kip (the
/// lesser with its factor), note (says where the effective diameter is under 3/8 in).
/// Source: AISI S100-16 J2.2 (S100-12 E2.2), from memory.
/// Example: `deck::arc_spot_weld(#{visible_in: 0.75, thickness_in: 0.0358, fu_ksi: 45}).sheet_kip` = 2.531
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn arc_spot_weld(weld: Arc<Record>) -> Result<WeldFigures, Refusal> {
    let known = ["visible_in", "thickness_in", "fu_ksi", "sheets", "fxx_ksi", "e_ksi"];
    let fields = Fields::exactly("weld", &weld, &known)?;
    let d = fields.number("visible_in", VISIBLE)?;
    let t = fields.number("thickness_in", THICKNESS)?;
    let fu = fields.number("fu_ksi", TENSILE)?;
    let fxx = fields.number_or("fxx_ksi", 60.0, TENSILE)?;
    let e = fields.number_or("e_ksi", crate::deck::beam::E_KSI, MODULUS)?;
    let sheets = fields.optional::<i64>("sheets")?.unwrap_or(1);
    let average_in = match sheets {
        1 => d - t,
        2 => d - 2.0 * t,
        _ => return Err(Refusal::new(fields.path("sheets"), sheets, "1 or 2 sheets")),
    };
    let effective_in = (0.7 * d - 1.5 * t).min(0.55 * d);
    if average_in <= 0.0 || effective_in <= 0.0 {
        let wanted = format!("a visible diameter that melts through {t} in of steel");
        return Err(Refusal::new(fields.path("visible_in"), d, wanted));
    }
    let weld_kip = PI * effective_in * effective_in / 4.0 * 0.75 * fxx;
    let slender = average_in / t;
    let root = (e / fu).sqrt();
    let (sheet_kip, phi, omega) = if slender <= 0.815 * root {
        (2.20 * t * average_in * fu, 0.70, 2.20)
    } else if slender < 1.397 * root {
        (0.280 * (1.0 + 5.59 * root / slender) * t * average_in * fu, 0.55, 2.80)
    } else {
        (1.40 * t * average_in * fu, 0.50, 3.05)
    };
    let note = if effective_in < LEAST_EFFECTIVE_IN {
        format!(
            "effective diameter {effective_in:.3} in is under the least of {LEAST_EFFECTIVE_IN} in"
        )
    } else {
        String::new()
    };
    Ok(WeldFigures {
        average_in,
        effective_in,
        sheet_kip,
        weld_kip,
        lrfd_kip: (phi * sheet_kip).min(0.60 * weld_kip),
        asd_kip: (sheet_kip / omega).min(weld_kip / 2.55),
        note,
    })
}
