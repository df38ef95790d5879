//! Continuous beams as scripts call them: feet and pounds in, inches for deflections out.

use std::sync::Arc;

use super::envelope::{Influence, Loading, Pattern, Standing};
use super::line::Line;
use super::member::{Load, Member, Run};
use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(beam(line)),
    builtin!(beam_worst(line)),
    builtin!(beam_deflection_in(coefficient, load_plf, span_ft, e_ksi, i_in4)),
];

/// More spans than any panel has; keeps the worst-pattern search short.
const MOST_SPANS: usize = 50;

pub(crate) const SPAN: Range = Range::above("a span", 0.0, 1000.0, "ft");
const OVERHANG: Range = Range::above("an overhang", 0.0, 1000.0, "ft");
const PLF: Range = Range::from("a load", -1e6, 1e6, "plf");
const DOWN_PLF: Range = Range::from("a load", 0.0, 1e6, "plf");
const POUNDS: Range = Range::from("a load", -1e6, 1e6, "lb");
const DOWN_POUNDS: Range = Range::from("a load", 0.0, 1e6, "lb");
const MODULUS: Range = Range::above("a modulus of elasticity", 0.0, 1e6, "ksi");
const INERTIA: Range = Range::above("a moment of inertia", 0.0, 1e6, "in4");

/// Steel, AISI S100.
pub(crate) const E_KSI: f64 = 29_500.0;

const LINE_FIELDS: &[&str] = &[
    "spans_ft",
    "start_overhang_ft",
    "end_overhang_ft",
    "uniform_plf",
    "start_overhang_plf",
    "end_overhang_plf",
    "start_tip_lb",
    "end_tip_lb",
    "points",
    "partials",
    "e_ksi",
    "i_in4",
];

const WORST_FIELDS: &[&str] = &[
    "spans_ft",
    "start_overhang_ft",
    "end_overhang_ft",
    "always_plf",
    "patterned_plf",
    "pattern",
    "point_lb",
    "point_stands",
];

/// Stiffness in lb-ft2 from ksi and in4.
pub(crate) fn stiffness_lb_ft2(e_ksi: f64, i_in4: f64) -> f64 {
    e_ksi * 1000.0 * i_in4 / 144.0
}

/// Spans in feet, held to their range, at most fifty.
pub(crate) fn checked_spans(argument: &str, spans_ft: &[f64]) -> Result<(), Refusal> {
    if spans_ft.is_empty() || spans_ft.len() > MOST_SPANS {
        let found = if spans_ft.is_empty() {
            "[]".to_string()
        } else {
            format!("a list of {}", spans_ft.len())
        };
        let wanted = format!("a list of 1 to {MOST_SPANS} spans in ft");
        return Err(Refusal::new(argument, found, wanted));
    }
    for (index, span_ft) in spans_ft.iter().enumerate() {
        SPAN.check(&format!("{argument}[{index}]"), *span_ft)?;
    }
    Ok(())
}

/// What a beam does under its loads.
#[derive(Clone, Debug, PartialEq)]
pub struct BeamFigures {
    pub support_moments_ft_lb: Vec<f64>,
    pub reactions_lb: Vec<f64>,
    pub span_moments_ft_lb: Vec<f64>,
    pub span_moments_at_ft: Vec<f64>,
    pub left_shears_lb: Vec<f64>,
    pub right_shears_lb: Vec<f64>,
    /// Blank without a moment of inertia, as are all deflections.
    pub deflections_in: Option<Vec<f64>>,
    pub mean_deflections_in: Option<Vec<f64>>,
    pub start_tip_in: Option<f64>,
    pub end_tip_in: Option<f64>,
}

into_record!(BeamFigures {
    support_moments_ft_lb,
    reactions_lb,
    span_moments_ft_lb,
    span_moments_at_ft,
    left_shears_lb,
    right_shears_lb,
    deflections_in,
    mean_deflections_in,
    start_tip_in,
    end_tip_in,
});

/// The worst values along a beam.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstFigures {
    pub span_moments_ft_lb: Vec<f64>,
    pub span_moments_at_ft: Vec<f64>,
    pub support_moments_ft_lb: Vec<f64>,
    pub left_shears_lb: Vec<f64>,
    pub right_shears_lb: Vec<f64>,
    pub reactions_lb: Vec<f64>,
    pub least_reactions_lb: Vec<f64>,
}

into_record!(WorstFigures {
    span_moments_ft_lb,
    span_moments_at_ft,
    support_moments_ft_lb,
    left_shears_lb,
    right_shears_lb,
    reactions_lb,
    least_reactions_lb,
});

/// The moments, shears, reactions and deflections of a continuous beam of any spans and loads.
///
/// - line: record with spans_ft (list, each above 0); as wanted start_overhang_ft and
///   end_overhang_ft; loads, down positive: uniform_plf (one for all spans or a list),
///   start_overhang_plf, end_overhang_plf, start_tip_lb, end_tip_lb, points (list of
///   `#{span, at_ft, load_lb}`), partials (list of `#{span, from_ft, to_ft, load_plf}`; spans count
///   from 1, places from the span's left end); e_ksi (29,500 where absent) and i_in4, without
///   which deflections are blank
///
/// Gives: record of lists by support and by span from the left: support_moments_ft_lb (sagging
/// positive), reactions_lb, span_moments_ft_lb with span_moments_at_ft, left_shears_lb,
/// right_shears_lb, deflections_in and mean_deflections_in (down positive), start_tip_in,
/// end_tip_in.
/// Source: three-moment equation and elastic line, exact; AISC Manual Tables 3-22 and 3-23 agree.
/// Example: `deck::beam(#{spans_ft: [10, 10], uniform_plf: 100}).support_moments_ft_lb[1]` = -1250
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn beam(line: Arc<Record>) -> Result<BeamFigures, Refusal> {
    let fields = Fields::exactly("line", &line, LINE_FIELDS)?;
    let inertia = fields.optional_number("i_in4", INERTIA)?;
    let modulus = fields.number_or("e_ksi", E_KSI, MODULUS)?;
    let ei = inertia.map_or(1.0, |i_in4| stiffness_lb_ft2(modulus, i_in4));
    let mut beam = shape(fields, ei)?;
    uniform_loads(fields, &mut beam)?;
    listed_loads(fields, &mut beam)?;
    let solved = beam.solve()?;
    let each = |of: fn(&Run) -> f64| solved.spans.iter().map(of).collect::<Vec<f64>>();
    let inches = |of: fn(&Run) -> f64| {
        inertia.map(|_| solved.spans.iter().map(|run| 12.0 * of(run)).collect::<Vec<f64>>())
    };
    let tip = |run: &Option<Run>, at_start: bool| match (run, inertia) {
        (Some(run), Some(_)) => {
            Some(12.0 * run.deflection_at(if at_start { 0.0 } else { run.length() }))
        }
        _ => None,
    };
    Ok(BeamFigures {
        span_moments_ft_lb: each(|run| run.greatest_moment().value),
        span_moments_at_ft: each(|run| run.greatest_moment().place),
        left_shears_lb: each(Run::start_shear),
        right_shears_lb: each(Run::end_shear),
        deflections_in: inches(|run| run.greatest_deflection().value),
        mean_deflections_in: inches(Run::mean_deflection),
        start_tip_in: tip(&solved.start_arm, true),
        end_tip_in: tip(&solved.end_arm, false),
        support_moments_ft_lb: solved.support_moments,
        reactions_lb: solved.reactions,
    })
}

/// The worst moments, shears and reactions along a continuous beam when a load may stand on any
/// set of spans and a point load anywhere.
///
/// - line: record with spans_ft (list, each above 0); as wanted start_overhang_ft,
///   end_overhang_ft, always_plf (on all spans), patterned_plf (comes and goes by whole spans),
///   pattern (`"together"`: all at once; `"one span"`: the span looked at, or the two that meet at
///   the support looked at; `"worst"`, which holds where absent: whichever set is worst), point_lb
///   and point_stands (`"anywhere"`, which holds where absent, or `"mid span"`: the moment of the
///   point load in mid span is added to the greatest of the rest); loads act down, from 0
///
/// Gives: record of lists by span and by support from the left: span_moments_ft_lb with
/// span_moments_at_ft, support_moments_ft_lb (negative), left_shears_lb, right_shears_lb,
/// reactions_lb, least_reactions_lb (worst pattern without the point load; negative: lifts off).
/// Source: influence lines by the three-moment equation, exact.
/// Example: `deck::beam_worst(#{spans_ft: [10, 10], point_lb: 150}).span_moments_ft_lb[0]` = 311.1
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn beam_worst(line: Arc<Record>) -> Result<WorstFigures, Refusal> {
    let fields = Fields::exactly("line", &line, WORST_FIELDS)?;
    let beam = shape(fields, 1.0)?;
    let pattern = fields.word_or("pattern", 2, &["together", "one span", "worst"])?;
    let standing = fields.word_or("point_stands", 0, &["anywhere", "mid span"])?;
    let worst = Influence::new(&beam)?.envelope(&Loading {
        always: fields.number_or("always_plf", 0.0, DOWN_PLF)?,
        patterned: fields.number_or("patterned_plf", 0.0, DOWN_PLF)?,
        pattern: [Pattern::Together, Pattern::OneSpan, Pattern::Worst][pattern],
        point: fields.number_or("point_lb", 0.0, DOWN_POUNDS)?,
        standing: [Standing::Anywhere, Standing::MidSpan][standing],
    });
    Ok(WorstFigures {
        span_moments_ft_lb: worst.sagging.iter().map(|at| at.value).collect(),
        span_moments_at_ft: worst.sagging.iter().map(|at| at.place).collect(),
        support_moments_ft_lb: worst.hogging,
        left_shears_lb: worst.end_shears.iter().map(|ends| ends.0).collect(),
        right_shears_lb: worst.end_shears.iter().map(|ends| ends.1).collect(),
        reactions_lb: worst.reactions,
        least_reactions_lb: worst.least_reactions,
    })
}

/// A deflection from a coefficient C of w L^4 / EI.
///
/// - coefficient: C, above 0 up to 1 (0.013 one span, 0.0054 two, 0.0069 three equal spans)
/// - load_plf: uniform load, plf (psf on a strip 1 ft wide), from 0
/// - span_ft: span, ft, above 0
/// - e_ksi: modulus of elasticity, ksi, above 0 (29,500 for deck)
/// - i_in4: moment of inertia of what carries the load, in4 (of a 1 ft strip for psf), above 0
///
/// Gives: greatest deflection, in.
/// Source: elastic beam; coefficients by AISC Manual Tables 3-22 and 3-23.
/// Example: `deck::beam_deflection_in(0.0069, 45.54, 12, 29500, 0.92)` = 0.415
pub fn beam_deflection_in(
    coefficient: f64,
    load_plf: f64,
    span_ft: f64,
    e_ksi: f64,
    i_in4: f64,
) -> Result<f64, Refusal> {
    Range::above("a coefficient", 0.0, 1.0, "").check("coefficient", coefficient)?;
    DOWN_PLF.check("load_plf", load_plf)?;
    SPAN.check("span_ft", span_ft)?;
    MODULUS.check("e_ksi", e_ksi)?;
    INERTIA.check("i_in4", i_in4)?;
    Ok(12.0 * coefficient * load_plf * span_ft.powi(4) / stiffness_lb_ft2(e_ksi, i_in4))
}

fn shape(fields: Fields, ei: f64) -> Result<Line, Refusal> {
    let spans_ft: Vec<f64> = fields.required("spans_ft", "a list of spans in ft")?;
    checked_spans(&fields.path("spans_ft"), &spans_ft)?;
    let mut beam = Line::new(&spans_ft, ei);
    let arm = |name: &str| -> Result<Option<Member>, Refusal> {
        Ok(fields.optional_number(name, OVERHANG)?.map(|length_ft| Member::new(length_ft, ei)))
    };
    beam.start_arm = arm("start_overhang_ft")?;
    beam.end_arm = arm("end_overhang_ft")?;
    Ok(beam)
}

fn uniform_loads(fields: Fields, beam: &mut Line) -> Result<(), Refusal> {
    let loads: Option<Vec<f64>> = fields.optional("uniform_plf")?;
    let loads = loads.unwrap_or_else(|| vec![0.0]);
    let path = fields.path("uniform_plf");
    let count = beam.spans.len();
    if loads.len() != 1 && loads.len() != count {
        let found = format!("a list of {}", loads.len());
        return Err(Refusal::new(path, found, format!("one load or a list of {count}")));
    }
    for (index, span) in beam.spans.iter_mut().enumerate() {
        let load = loads[if loads.len() == 1 { 0 } else { index }];
        span.loads.push(Load::Uniform(PLF.check(&path, load)?));
    }
    for (arm, uniform, tip, at_start) in [
        (&mut beam.start_arm, "start_overhang_plf", "start_tip_lb", true),
        (&mut beam.end_arm, "end_overhang_plf", "end_tip_lb", false),
    ] {
        let w = fields.number_or(uniform, 0.0, PLF)?;
        let p = fields.number_or(tip, 0.0, POUNDS)?;
        match arm {
            Some(arm) => {
                let at = if at_start { 0.0 } else { arm.length };
                arm.loads.extend([Load::Uniform(w), Load::Point { at, p }]);
            }
            None if w != 0.0 || p != 0.0 => {
                let name = if w == 0.0 { tip } else { uniform };
                return Err(Refusal::new(fields.path(name), w + p, "an overhang to stand on"));
            }
            None => {}
        }
    }
    Ok(())
}

fn listed_loads(fields: Fields, beam: &mut Line) -> Result<(), Refusal> {
    let points: Option<Vec<Arc<Record>>> = fields.optional("points")?;
    for (index, point) in points.unwrap_or_default().iter().enumerate() {
        let path = fields.path(&format!("points[{index}]"));
        let point = Fields::exactly(&path, point, &["span", "at_ft", "load_lb"])?;
        let span = span_of(point, beam)?;
        let place = Range::from("a place in the span", 0.0, span.length, "ft");
        let load =
            Load::Point { at: point.number("at_ft", place)?, p: point.number("load_lb", POUNDS)? };
        span.loads.push(load);
    }
    let partials: Option<Vec<Arc<Record>>> = fields.optional("partials")?;
    for (index, partial) in partials.unwrap_or_default().iter().enumerate() {
        let path = fields.path(&format!("partials[{index}]"));
        let partial = Fields::exactly(&path, partial, &["span", "from_ft", "to_ft", "load_plf"])?;
        let span = span_of(partial, beam)?;
        let from = partial
            .number("from_ft", Range::from("a place in the span", 0.0, span.length, "ft"))?;
        let to =
            partial.number("to_ft", Range::from("a place in the span", from, span.length, "ft"))?;
        span.loads.push(Load::Partial { from, to, w: partial.number("load_plf", PLF)? });
    }
    Ok(())
}

fn span_of<'a>(load: Fields, beam: &'a mut Line) -> Result<&'a mut Member, Refusal> {
    let wanted = format!("a span from 1 to {}", beam.spans.len());
    let number: i64 = load.required("span", &wanted)?;
    usize::try_from(number)
        .ok()
        .and_then(|number| number.checked_sub(1))
        .and_then(|index| beam.spans.get_mut(index))
        .ok_or_else(|| Refusal::new(load.path("span"), number, wanted))
}
