//! Every check of a run of deck under the loads of the construction stage.
//!
//! In: steel, stage, spans and overhangs. Out: each check with its demand, its limit and their ratio,
//! in a fixed order.

use super::loads::{Combination, Stage};
use crate::deck::beam::{
    Envelope, Influence, Line, Load, Loading, Member, Pattern, stiffness_lb_ft2,
};
use crate::deck::section::{Bearing, Steel, crippling};
use crate::value::Refusal;

/// Webs no farther apart than this need no check of bending with bearing over inner supports;
/// AISI S100-16 H3 (S100-12 C3.5), from memory.
const EXEMPT_WEB_SPACING_IN: f64 = 10.0;

/// What is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Sagging,
    Hogging,
    Shear,
    HoggingWithShear,
    Bearing,
    HoggingWithBearing,
    Deflection,
    TipDeflection,
}

impl What {
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            What::Sagging => "sagging moment",
            What::Hogging => "hogging moment",
            What::Shear => "shear",
            What::HoggingWithShear => "hogging moment with shear",
            What::Bearing => "bearing",
            What::HoggingWithBearing => "hogging moment with bearing",
            What::Deflection => "deflection",
            What::TipDeflection => "tip deflection",
        }
    }

    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            What::Sagging | What::Hogging => "ft-lb/ft",
            What::Shear | What::Bearing => "lb/ft",
            What::HoggingWithShear | What::HoggingWithBearing => "",
            What::Deflection | What::TipDeflection => "in",
        }
    }
}

/// Where on the run; counts from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    Span(usize),
    Support(usize),
    StartOverhang,
    EndOverhang,
}

impl Where {
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Where::Span(span) => format!("span {}", span + 1),
            Where::Support(support) => format!("support {}", support + 1),
            Where::StartOverhang => "start overhang".to_string(),
            Where::EndOverhang => "end overhang".to_string(),
        }
    }
}

/// One check; a utilisation above 1 is over the limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    pub what: What,
    /// The combination, or none for deflections under concrete and deck alone.
    pub combination: Option<usize>,
    pub place: Where,
    pub demand: f64,
    pub limit: f64,
    pub utilisation: f64,
}

/// A run of deck: spans end to end with an overhang at either end, ft.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub spans_ft: Vec<f64>,
    pub start_overhang_ft: Option<f64>,
    pub end_overhang_ft: Option<f64>,
    /// Supports that are shores, with their bearing length.
    pub shores: Vec<usize>,
    pub shore_bearing_in: f64,
}

/// What a run's steel can take, factored, per foot of width.
struct Resistances {
    sagging: f64,
    hogging: f64,
    shear: Option<f64>,
    stiffness: f64,
    hogging_stiffness: f64,
}

/// Every check of a run.
pub(crate) fn checks(steel: &Steel, stage: &Stage, run: &Run) -> Result<Vec<Check>, Refusal> {
    let resistances = Resistances::of(steel, stage)?;
    let line = run.line(resistances.stiffness);
    let influence = Influence::new(&line)?;
    let mut checks = Vec::new();
    for (index, combination) in stage.combinations().iter().enumerate() {
        let loading = loading(stage, combination);
        let envelope = influence.envelope(&loading);
        let first = checks.len();
        strength(&resistances, run, &envelope, &mut checks);
        overhangs(&resistances, run, combination, &mut checks);
        if combination.bearing {
            bearings(steel, stage, run, &resistances, &envelope, &mut checks);
        }
        for check in &mut checks[first..] {
            check.combination = Some(index);
        }
    }
    deflections(stage, run, &line, &mut checks)?;
    tips(stage, run, &resistances, &line, &mut checks)?;
    Ok(checks)
}

fn loading(stage: &Stage, combination: &Combination) -> Loading {
    let Combination { deck_psf, patterned_psf, point_lb, .. } = *combination;
    let (always, patterned) = if stage.deck_everywhere {
        (deck_psf, patterned_psf)
    } else {
        (0.0, deck_psf + patterned_psf)
    };
    Loading { always, patterned, pattern: stage.pattern, point: point_lb, standing: stage.standing }
}

fn check(what: What, place: Where, demand: f64, limit: f64) -> Check {
    let utilisation = if limit > 0.0 { demand / limit } else { f64::MAX };
    Check { what, combination: None, place, demand, limit, utilisation }
}

impl Resistances {
    fn of(steel: &Steel, stage: &Stage) -> Result<Resistances, Refusal> {
        let figures = &steel.figures;
        let known = |value: Option<f64>, name: &str| {
            value.ok_or_else(|| {
                Refusal::new(format!("deck.{name}"), "missing", "a property or the geometry")
            })
        };
        let moment = |s_in3: f64| {
            stage.method.resistance(s_in3 * steel.fy_ksi * 1000.0 / 12.0, stage.flexure)
        };
        Ok(Resistances {
            sagging: moment(known(figures.sp_in3, "sp_in3")?),
            hogging: moment(known(figures.sn_in3, "sn_in3")?),
            shear: steel.shear_lb_ft().map(|nominal| stage.method.resistance(nominal, stage.shear)),
            stiffness: stiffness_lb_ft2(steel.e_ksi, known(figures.ip_in4, "ip_in4")?),
            hogging_stiffness: stiffness_lb_ft2(steel.e_ksi, known(figures.in_in4, "in_in4")?),
        })
    }

    fn together(&self, place: Where, moment: f64, shear: f64) -> Option<Check> {
        let demand = (moment / self.hogging).hypot(shear / self.shear?);
        Some(check(What::HoggingWithShear, place, demand, 1.0))
    }
}

impl Run {
    pub(super) fn line(&self, ei: f64) -> Line {
        let mut line = Line::new(&self.spans_ft, ei);
        line.start_arm = self.start_overhang_ft.map(|length| Member::new(length, ei));
        line.end_arm = self.end_overhang_ft.map(|length| Member::new(length, ei));
        line
    }

    /// The overhangs there are: place, length, support they hang from.
    fn overhangs(&self) -> impl Iterator<Item = (Where, f64, usize)> {
        let start = self.start_overhang_ft.map(|length| (Where::StartOverhang, length, 0));
        let last = self.spans_ft.len();
        let end = self.end_overhang_ft.map(|length| (Where::EndOverhang, length, last));
        start.into_iter().chain(end)
    }
}

fn strength(resistances: &Resistances, run: &Run, envelope: &Envelope, checks: &mut Vec<Check>) {
    for (span, sagging) in envelope.sagging.iter().enumerate() {
        checks.push(check(What::Sagging, Where::Span(span), sagging.value, resistances.sagging));
    }
    for (support, moment) in envelope.hogging.iter().enumerate() {
        if *moment < 0.0 {
            let place = Where::Support(support);
            checks.push(check(What::Hogging, place, -moment, resistances.hogging));
        }
    }
    for (span, (left, right)) in envelope.end_shears.iter().enumerate() {
        if let Some(limit) = resistances.shear {
            checks.push(check(What::Shear, Where::Span(span), left.max(*right), limit));
        }
    }
    for (support, moment) in envelope.hogging.iter().enumerate() {
        let before = support.checked_sub(1).and_then(|span| envelope.end_shears.get(span));
        let after = envelope.end_shears.get(support);
        let shear = before.map_or(0.0, |ends| ends.1).max(after.map_or(0.0, |ends| ends.0));
        if *moment < 0.0 && support <= run.spans_ft.len() {
            checks.extend(resistances.together(Where::Support(support), *moment, shear));
        }
    }
}

/// An overhang with its point load at the tip.
fn overhangs(
    resistances: &Resistances,
    run: &Run,
    combination: &Combination,
    checks: &mut Vec<Check>,
) {
    let w = combination.deck_psf + combination.patterned_psf;
    let p = combination.point_lb;
    for (place, length_ft, _) in run.overhangs() {
        let moment = w * length_ft * length_ft / 2.0 + p * length_ft;
        let shear = w * length_ft + p;
        checks.push(check(What::Hogging, place, moment, resistances.hogging));
        if let Some(limit) = resistances.shear {
            checks.push(check(What::Shear, place, shear, limit));
        }
        checks.extend(resistances.together(place, moment, shear));
    }
}

fn bearings(
    steel: &Steel,
    stage: &Stage,
    run: &Run,
    resistances: &Resistances,
    envelope: &Envelope,
    checks: &mut Vec<Check>,
) {
    let last = run.spans_ft.len();
    for (support, reaction) in envelope.reactions.iter().enumerate() {
        // An overhang counts as more than an end where it reaches 1.5 web depths past the bearing.
        let past = run.overhangs().any(|(_, length_ft, own)| {
            let depth = steel.outline.map_or(0.0, |outline| outline.depth);
            own == support && 12.0 * length_ft >= 1.5 * depth + stage.end_bearing_in / 2.0
        });
        let interior = (support > 0 && support < last) || past;
        let bearing_in = if run.shores.contains(&support) {
            run.shore_bearing_in
        } else if support > 0 && support < last {
            stage.interior_bearing_in
        } else {
            stage.end_bearing_in
        };
        let row = crippling(Bearing { fastened: stage.fastened, interior, two_flange: false });
        let Some(nominal) = steel.crippling_lb_ft(&row, bearing_in) else { continue };
        let place = Where::Support(support);
        let limit = stage.method.resistance(nominal, row.factors);
        checks.push(check(What::Bearing, place, *reaction, limit));
        let moment = envelope.hogging.get(support).map_or(0.0, |moment| -moment);
        if moment > 0.0 && !exempt(steel) {
            let nominal_moment = resistances.hogging / stage.method.resistance(1.0, stage.flexure);
            let demand = 0.91 * reaction / nominal + moment / nominal_moment;
            let limit = stage
                .method
                .resistance(1.33, crate::deck::section::Factors { omega: 1.70, phi: 0.90 });
            checks.push(check(What::HoggingWithBearing, place, demand, limit));
        }
    }
}

/// Whether bending with bearing over inner supports needs no check: webs close together, their
/// compressed edges tied by the flange between them.
pub(crate) fn exempt(steel: &Steel) -> bool {
    steel.pitch_in / 2.0 <= EXEMPT_WEB_SPACING_IN
}

fn deflections(
    stage: &Stage,
    run: &Run,
    line: &Line,
    checks: &mut Vec<Check>,
) -> Result<(), Refusal> {
    let together = stage.deflection_pattern == Pattern::Together;
    let alone = |span: usize, other: usize| together || other == span;
    let mut solved = None;
    for (span, length_ft) in run.spans_ft.iter().enumerate() {
        if solved.is_none() || !together {
            let mut loaded = line.clone();
            for (other, member) in loaded.spans.iter_mut().enumerate() {
                let wet_psf = if alone(span, other) { stage.wet_psf() } else { 0.0 };
                member.loads.push(Load::Uniform(stage.deck_psf + wet_psf));
            }
            for arm in [&mut loaded.start_arm, &mut loaded.end_arm].into_iter().flatten() {
                let wet_psf = if together { stage.wet_psf() } else { 0.0 };
                arm.loads.push(Load::Uniform(stage.deck_psf + wet_psf));
            }
            solved = Some(loaded.solve()?);
        }
        let Some(found) = solved.as_ref().and_then(|solved| solved.spans.get(span)) else {
            continue;
        };
        let demand = 12.0 * found.greatest_deflection().value.max(-found.least_deflection().value);
        let limit = stage.deflection_limit_in(*length_ft);
        checks.push(check(What::Deflection, Where::Span(span), demand, limit));
    }
    Ok(())
}

/// The worse of an overhang held fast at its support and one that turns with the spans behind it.
fn tips(
    stage: &Stage,
    run: &Run,
    resistances: &Resistances,
    line: &Line,
    checks: &mut Vec<Check>,
) -> Result<(), Refusal> {
    if run.overhangs().next().is_none() {
        return Ok(());
    }
    let w = stage.deck_psf + stage.wet_psf();
    let mut loaded = line.clone();
    let members = [&mut loaded.start_arm, &mut loaded.end_arm].into_iter().flatten();
    for member in loaded.spans.iter_mut().chain(members) {
        member.loads.push(Load::Uniform(w));
    }
    let solved = loaded.solve()?;
    for (place, length_ft, _) in run.overhangs() {
        let fast = w * length_ft.powi(4) / (8.0 * resistances.hogging_stiffness);
        let turning = match place {
            Where::StartOverhang => solved.start_arm.as_ref().map(|arm| arm.deflection_at(0.0)),
            _ => solved.end_arm.as_ref().map(|arm| arm.deflection_at(arm.length())),
        };
        let demand = 12.0 * turning.unwrap_or(0.0).max(fast);
        checks.push(check(What::TipDeflection, place, demand, stage.tip_limit_in(length_ft)));
    }
    Ok(())
}
