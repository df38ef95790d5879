//! Longest spans without shores, and shores where a run needs them.
//!
//! In: steel, stage, run. Out: spans and shore counts that leave every check within its limit, found by
//! checking again what they leave.

use super::checks::{Check, Run, What, Where, checks};
use super::loads::Stage;
use crate::deck::section::Steel;
use crate::value::Refusal;

/// No deck spans farther unshored.
const LONGEST_FT: f64 = 60.0;
const SHORTEST_FT: f64 = 0.25;

/// Utilisations this near to each other, relative, are equal but for rounding.
const EQUAL: f64 = 1e-9;

/// The check that comes nearest to its limit or goes farthest beyond; the first of equals.
#[must_use]
pub fn governing(checks: &[Check]) -> Option<Check> {
    let mut worst: Option<Check> = None;
    for check in checks {
        if worst.is_none_or(|worst| check.utilisation > worst.utilisation * (1.0 + EQUAL)) {
            worst = Some(*check);
        }
    }
    worst
}

/// The longest of `count` equal spans within all limits, and what governs there; a span of 0 where
/// none is.
pub(crate) fn longest_span(
    steel: &Steel,
    stage: &Stage,
    count: usize,
) -> Result<(f64, Option<Check>), Refusal> {
    let worst = |span_ft: f64| -> Result<Option<Check>, Refusal> {
        let run = Run {
            spans_ft: vec![span_ft; count],
            start_overhang_ft: None,
            end_overhang_ft: None,
            shores: Vec::new(),
            shore_bearing_in: stage.interior_bearing_in,
        };
        Ok(governing(&checks(steel, stage, &run)?))
    };
    let within = |check: &Option<Check>| check.is_none_or(|check| check.utilisation <= 1.0);
    let (mut low, mut high) = (SHORTEST_FT, LONGEST_FT);
    let (mut at_low, at_high) = (worst(low)?, worst(high)?);
    if !within(&at_low) {
        return Ok((0.0, at_low));
    }
    if within(&at_high) {
        return Ok((high, at_high));
    }
    while high - low > 1e-7 {
        let middle = f64::midpoint(low, high);
        let found = worst(middle)?;
        if within(&found) {
            (low, at_low) = (middle, found);
        } else {
            high = middle;
        }
    }
    Ok((low, at_low))
}

/// A run with shores: how many stand in each span, and the checks of what they leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Shored {
    pub shores: Vec<usize>,
    pub run: Run,
    pub checks: Vec<Check>,
}

/// Puts shores, evenly in each span, where the worst check asks for one, until all are within their
/// limits or a span has `most` of them.
pub(crate) fn shore(
    steel: &Steel,
    stage: &Stage,
    run: &Run,
    most: usize,
) -> Result<Shored, Refusal> {
    let mut shores = vec![0_usize; run.spans_ft.len()];
    loop {
        let (shored, owners) = divide(run, &shores);
        let found = checks(steel, stage, &shored)?;
        let over = found
            .iter()
            .filter(|check| check.utilisation > 1.0)
            .filter_map(|check| owner(check, &shored, &owners).map(|owner| (check, owner)))
            .filter(|(_, owner)| shores[*owner] < most)
            .fold(None, |worst: Option<(&Check, usize)>, next| match worst {
                Some(worst) if worst.0.utilisation * (1.0 + EQUAL) >= next.0.utilisation => {
                    Some(worst)
                }
                _ => Some(next),
            });
        match over {
            Some((_, owner)) => shores[owner] += 1,
            None => return Ok(Shored { shores, run: shored, checks: found }),
        }
    }
}

/// The run with each span cut by its shores, and the span that each part comes from.
fn divide(run: &Run, shores: &[usize]) -> (Run, Vec<usize>) {
    let mut divided = Run { spans_ft: Vec::new(), shores: Vec::new(), ..run.clone() };
    let mut owners = Vec::new();
    for (span, (length_ft, count)) in run.spans_ft.iter().zip(shores).enumerate() {
        let parts = count + 1;
        #[allow(clippy::cast_precision_loss, reason = "a handful of shores")]
        let part_ft = length_ft / parts as f64;
        for part in 0..parts {
            if part > 0 {
                divided.shores.push(divided.spans_ft.len());
            }
            divided.spans_ft.push(part_ft);
            owners.push(span);
        }
    }
    (divided, owners)
}

/// The span that a shore would have to stand in to help a check; none for what an overhang does.
fn owner(check: &Check, run: &Run, owners: &[usize]) -> Option<usize> {
    let length = |span: usize| run.spans_ft.get(span).copied().unwrap_or(0.0);
    match check.place {
        Where::Span(span) => owners.get(span).copied(),
        Where::Support(support) => {
            let inner = support > 0 && support < run.spans_ft.len();
            let before = support.saturating_sub(1);
            let longer = if length(before) >= length(support) { before } else { support };
            let helped = inner || matches!(check.what, What::Shear | What::Bearing);
            owners.get(longer).copied().filter(|_| helped)
        }
        Where::StartOverhang | Where::EndOverhang => None,
    }
}
