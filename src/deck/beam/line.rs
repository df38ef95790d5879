//! A line of continuous spans with cantilevers, solved exactly by the three-moment equation.
//!
//! In: lengths, stiffnesses (EI, each span its own) and loads in one set of units (ft and lb, say).
//! Out: support moments and reactions, and each member's moments, shears and deflections as
//! polynomials. Loads act down; a sagging moment and a downward deflection are positive.

use super::member::{Member, Run};
use crate::value::Refusal;

/// Spans from left to right, with an overhang at either end where there is one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// Its places count from the free tip.
    pub start_arm: Option<Member>,
    pub spans: Vec<Member>,
    /// Its places count from the support.
    pub end_arm: Option<Member>,
}

/// A line under its loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// Moment over each support.
    pub support_moments: Vec<f64>,
    /// Reaction of each support, negative where the line lifts off it.
    pub reactions: Vec<f64>,
    pub start_arm: Option<Run>,
    pub spans: Vec<Run>,
    pub end_arm: Option<Run>,
}

impl Line {
    /// Spans of one stiffness, without loads.
    #[must_use]
    pub fn new(lengths: &[f64], ei: f64) -> Line {
        let spans = lengths.iter().map(|length| Member::new(*length, ei)).collect();
        Line { start_arm: None, spans, end_arm: None }
    }

    /// Refuses an empty line, lengths or stiffnesses not above 0, loads off their member.
    pub fn solve(&self) -> Result<Solved, Refusal> {
        self.check()?;
        let start = self.start_arm.as_ref().map(Member::totals);
        let end = self.end_arm.as_ref().map(Member::totals);
        let start_moment = match (&self.start_arm, start) {
            (Some(arm), Some(total)) => -(total.force * arm.length - total.moment),
            _ => 0.0,
        };
        let end_moment = end.map_or(0.0, |total| -total.moment);
        let rotations: Vec<(f64, f64)> = self.spans.iter().map(Member::end_rotations).collect();
        let support_moments = self.support_moments(&rotations, start_moment, end_moment);
        let mut reactions = vec![0.0; self.spans.len() + 1];
        let mut spans = Vec::with_capacity(self.spans.len());
        for (index, span) in self.spans.iter().enumerate() {
            let (left, right) = (support_moments[index], support_moments[index + 1]);
            let total = span.totals();
            let shear = total.force - (total.moment + left - right) / span.length;
            reactions[index] += shear;
            reactions[index + 1] += total.force - shear;
            spans.push(Run::between_supports(span, left, shear));
        }
        let (first_slope, last_slope) = match (spans.first(), spans.last()) {
            (Some(first), Some(last)) => (first.start_slope(), last.end_slope()),
            _ => (0.0, 0.0),
        };
        if let (Some(total), Some(reaction)) = (start, reactions.first_mut()) {
            *reaction += total.force;
        }
        if let (Some(total), Some(reaction)) = (end, reactions.last_mut()) {
            *reaction += total.force;
        }
        Ok(Solved {
            support_moments,
            reactions,
            start_arm: self.start_arm.as_ref().map(|arm| Run::to_support(arm, first_slope)),
            spans,
            end_arm: self
                .end_arm
                .as_ref()
                .zip(end)
                .map(|(arm, total)| Run::from_support(arm, end_moment, total.force, last_slope)),
        })
    }

    fn check(&self) -> Result<(), Refusal> {
        if self.spans.is_empty() {
            return Err(Refusal::new("spans", "[]", "a list of at least one span"));
        }
        for (index, span) in self.spans.iter().enumerate() {
            span.check(|| format!("spans[{index}]"))?;
        }
        for (name, arm) in [("start_arm", &self.start_arm), ("end_arm", &self.end_arm)] {
            if let Some(arm) = arm {
                arm.check(|| name.to_string())?;
            }
        }
        Ok(())
    }

    /// The moments over all supports from the end rotations that the loads would give each span if
    /// it stood alone: at each inner support the rotations of both sides must agree.
    pub(super) fn support_moments(
        &self,
        rotations: &[(f64, f64)],
        start_moment: f64,
        end_moment: f64,
    ) -> Vec<f64> {
        let joints = self.spans.len() - 1;
        let flexibility = |span: &Member| span.length / (6.0 * span.ei);
        let mut moments = vec![0.0; joints + 2];
        let mut pivots = Vec::with_capacity(joints);
        moments[0] = start_moment;
        moments[joints + 1] = end_moment;
        for joint in 1..=joints {
            let left = flexibility(&self.spans[joint - 1]);
            let right = flexibility(&self.spans[joint]);
            let mut pivot = 2.0 * (left + right);
            let mut known = -(rotations[joint - 1].1 + rotations[joint].0);
            if joint == 1 {
                known -= left * start_moment;
            } else {
                let factor = left / pivots[joint - 2];
                pivot -= factor * left;
                known -= factor * moments[joint - 1];
            }
            if joint == joints {
                known -= right * end_moment;
            }
            pivots.push(pivot);
            moments[joint] = known;
        }
        for joint in (1..=joints).rev() {
            if joint < joints {
                moments[joint] -= flexibility(&self.spans[joint]) * moments[joint + 1];
            }
            moments[joint] /= pivots[joint - 1];
        }
        moments
    }
}
