//! Worst values along a line: which spans are loaded, where a point load stands.
//!
//! In: a line's lengths and stiffnesses, a load always there, a load set on whole spans by a
//! pattern, and a point load on one span. Out: greatest sagging moment of each span, greatest
//! hogging moment and reaction of each support, greatest shear at each span end.
//!
//! The moment under a moving load is a quartic of its place, and the worst pattern changes along a
//! span only where another span's load changes from sagging to hogging: the extremes are exact.

use super::line::Line;
use super::polynomial::{At, Polynomial};
use crate::value::Refusal;

/// Which spans carry the load that comes and goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// All of them at once.
    Together,
    /// The span looked at alone; over a support, the two spans that meet there.
    OneSpan,
    /// Whichever set is worst for the place looked at.
    Worst,
}

/// Where the point load stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// In mid span; its greatest moment is added to the greatest moment of the other loads.
    MidSpan,
    /// Wherever it is worst.
    Anywhere,
}

/// Loads on a line, force per length and force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loading {
    pub always: f64,
    pub patterned: f64,
    pub pattern: Pattern,
    pub point: f64,
    pub standing: Standing,
}

/// The worst values along a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Envelope {
    /// Greatest sagging moment of each span.
    pub sagging: Vec<At>,
    /// Greatest hogging moment over each support, negative or 0.
    pub hogging: Vec<f64>,
    /// Greatest shear at the left and right end of each span, without sign.
    pub end_shears: Vec<(f64, f64)>,
    /// Greatest reaction of each support, the point load counted over it.
    pub reactions: Vec<f64>,
    /// Least reaction of each support under the worst pattern without the point load, negative
    /// where the line lifts off it.
    pub least_reactions: Vec<f64>,
}

/// How a line answers a load on each member.
#[derive(Clone, Debug)]
pub struct Influence {
    lengths: Vec<f64>,
    members: Vec<Loaded>,
    points: Vec<PointResponse>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    Span(usize),
    Arm { support: usize, length: f64 },
}

/// A member under a uniform load of 1: the support moments it gives.
#[derive(Clone, Debug)]
struct Loaded {
    place: Place,
    moments: Vec<f64>,
}

/// A span under a point load of 1: each support moment as a cubic of the load's place.
#[derive(Clone, Debug)]
struct PointResponse {
    moments: Vec<Polynomial>,
}

impl Loaded {
    fn meets(&self, support: usize) -> bool {
        match self.place {
            Place::Span(span) => span == support || span + 1 == support,
            Place::Arm { support: own, .. } => own == support,
        }
    }
}

impl Influence {
    /// Refuses what [`Line::solve`] refuses; the line's own loads are left alone.
    pub fn new(line: &Line) -> Result<Influence, Refusal> {
        line.solve()?;
        let count = line.spans.len();
        let still = vec![(0.0, 0.0); count];
        let mut influence = Influence {
            lengths: line.spans.iter().map(|span| span.length).collect(),
            members: Vec::with_capacity(count + 2),
            points: Vec::with_capacity(count),
        };
        for (index, span) in line.spans.iter().enumerate() {
            let turned = |ends: (f64, f64)| {
                let mut rotations = still.clone();
                rotations[index] = ends;
                line.support_moments(&rotations, 0.0, 0.0)
            };
            let (left, right) = (turned((1.0, 0.0)), turned((0.0, 1.0)));
            let length = span.length;
            let turn = length.powi(3) / (24.0 * span.ei);
            let moments = left.iter().zip(&right).map(|(l, r)| turn * (l + r)).collect();
            influence.members.push(Loaded { place: Place::Span(index), moments });
            let square = length * length;
            let scale = 1.0 / (6.0 * length * span.ei);
            let at_left = Polynomial([0.0, 2.0 * square, -3.0 * length, 1.0, 0.0]).times(scale);
            let at_right = Polynomial([0.0, square, 0.0, -1.0, 0.0]).times(scale);
            let moments = left
                .iter()
                .zip(&right)
                .map(|(l, r)| at_left.times(*l).plus(&at_right.times(*r)))
                .collect();
            influence.points.push(PointResponse { moments });
        }
        for (arm, support, ends) in
            [(&line.start_arm, 0, (1.0, 0.0)), (&line.end_arm, count, (0.0, 1.0))]
        {
            if let Some(arm) = arm {
                let length = arm.length;
                let factor = -length * length / 2.0;
                let moments = line.support_moments(&still, factor * ends.0, factor * ends.1);
                influence.members.push(Loaded { place: Place::Arm { support, length }, moments });
            }
        }
        Ok(influence)
    }

    /// The worst values under a loading whose loads act down.
    #[must_use]
    pub fn envelope(&self, loading: &Loading) -> Envelope {
        let count = self.lengths.len();
        let mut envelope = Envelope {
            sagging: (0..count).map(|span| self.sagging(span, loading)).collect(),
            hogging: (0..=count).map(|support| self.hogging(support, loading)).collect(),
            end_shears: (0..count).map(|span| self.end_shears(span, loading)).collect(),
            reactions: Vec::with_capacity(count + 1),
            least_reactions: Vec::with_capacity(count + 1),
        };
        for support in 0..=count {
            let (greatest, least) = self.reaction(support, loading);
            envelope.reactions.push(greatest);
            envelope.least_reactions.push(least);
        }
        envelope
    }

    /// A member's moment along a span under a uniform load of 1, as a polynomial of the place.
    fn along(&self, member: &Loaded, span: usize) -> Polynomial {
        let length = self.lengths[span];
        let (left, right) = (member.moments[span], member.moments[span + 1]);
        let line = Polynomial([left, (right - left) / length, 0.0, 0.0, 0.0]);
        if member.place == Place::Span(span) {
            line.plus(&Polynomial([0.0, length / 2.0, -0.5, 0.0, 0.0]))
        } else {
            line
        }
    }

    /// The moment under a point load of 1 on a span, as a polynomial of its place.
    fn under_point(&self, span: usize) -> Polynomial {
        let length = self.lengths[span];
        let moments = &self.points[span].moments;
        let (left, right) = (&moments[span], &moments[span + 1]);
        let difference = right.plus(&left.times(-1.0)).times(1.0 / length).0;
        let [a, b, c, d, _] = difference;
        Polynomial([0.0, a, b, c, d]).plus(left).plus(&Polynomial([
            0.0,
            1.0,
            -1.0 / length,
            0.0,
            0.0,
        ]))
    }

    fn sagging(&self, span: usize, loading: &Loading) -> At {
        let length = self.lengths[span];
        let curves: Vec<(bool, Polynomial)> = self
            .members
            .iter()
            .map(|member| (member.place == Place::Span(span), self.along(member, span)))
            .collect();
        let mut always = Polynomial::default();
        for (_, curve) in &curves {
            always = always.plus(&curve.times(loading.always));
        }
        let point = self.under_point(span).times(loading.point);
        if loading.standing == Standing::Anywhere {
            always = always.plus(&point);
        }
        let mut breaks = vec![0.0, length];
        if loading.pattern == Pattern::Worst {
            for (_, curve) in &curves {
                breaks.extend(curve.roots(0.0, length).into_iter().flatten());
            }
            breaks.sort_unstable_by(f64::total_cmp);
        }
        let mut best: Option<At> = None;
        for pair in breaks.windows(2) {
            let (low, high) = (pair[0], pair[1]);
            let mut sum = always;
            for (own, curve) in &curves {
                let counted = match loading.pattern {
                    Pattern::Together => true,
                    Pattern::OneSpan => *own,
                    Pattern::Worst => curve.at(0.5 * (low + high)) > 0.0,
                };
                if counted {
                    sum = sum.plus(&curve.times(loading.patterned));
                }
            }
            let found = sum.greatest(low, high);
            if best.is_none_or(|best| found.value > best.value) {
                best = Some(found);
            }
        }
        let mut best = best.unwrap_or_default();
        if loading.standing == Standing::MidSpan && loading.point != 0.0 {
            best.value += point.at(length / 2.0);
        }
        best
    }

    fn hogging(&self, support: usize, loading: &Loading) -> f64 {
        let mut sum = 0.0;
        for member in &self.members {
            let moment = member.moments[support];
            sum += moment * loading.always;
            sum -= loading.share(member.meets(support), -moment * loading.patterned);
        }
        let point = self
            .points
            .iter()
            .zip(&self.lengths)
            .map(|(response, length)| {
                let moment = response.moments[support];
                match loading.standing {
                    Standing::MidSpan => moment.at(length / 2.0),
                    Standing::Anywhere => moment.least(0.0, *length).value,
                }
            })
            .fold(0.0, f64::min);
        (sum + point * loading.point).min(0.0)
    }

    /// The shear just inside the left and right end of a span, counted positive where the load on
    /// the span itself makes it so.
    fn end_shears(&self, span: usize, loading: &Loading) -> (f64, f64) {
        let length = self.lengths[span];
        let (mut left, mut right) = (loading.point, loading.point);
        for member in &self.members {
            let lift = (member.moments[span + 1] - member.moments[span]) / length;
            let own = if member.place == Place::Span(span) { length / 2.0 } else { 0.0 };
            for (sum, shear, support) in
                [(&mut left, own + lift, span), (&mut right, own - lift, span + 1)]
            {
                *sum += shear * loading.always;
                *sum += loading.share(member.meets(support), shear * loading.patterned);
            }
        }
        (left.abs(), right.abs())
    }

    fn reaction(&self, support: usize, loading: &Loading) -> (f64, f64) {
        let (mut greatest, mut least) = (0.0, 0.0);
        for member in &self.members {
            let own = match member.place {
                Place::Span(span) if member.meets(support) => self.lengths[span] / 2.0,
                Place::Arm { support: own, length } if own == support => length,
                Place::Span(_) | Place::Arm { .. } => 0.0,
            };
            let reaction = own + self.lift(support, |index| member.moments[index]);
            greatest += reaction * loading.always;
            least += reaction * loading.always;
            let patterned = reaction * loading.patterned;
            greatest += loading.share(member.meets(support), patterned);
            least += patterned.min(0.0);
        }
        (greatest + loading.point * self.point_reaction(support, loading.standing), least)
    }

    /// The greatest reaction of a support under a point load of 1 on any span.
    fn point_reaction(&self, support: usize, standing: Standing) -> f64 {
        let mut greatest = 0.0_f64;
        for (span, (response, length)) in self.points.iter().zip(&self.lengths).enumerate() {
            let [a, b, c, d] = [0, 1, 2, 3]
                .map(|power| self.lift(support, |index| response.moments[index].0[power]));
            let mut reaction = Polynomial([a, b, c, d, 0.0]);
            if span == support {
                reaction = reaction.plus(&Polynomial([1.0, -1.0 / length, 0.0, 0.0, 0.0]));
            } else if span + 1 == support {
                reaction = reaction.plus(&Polynomial([0.0, 1.0 / length, 0.0, 0.0, 0.0]));
            }
            greatest = greatest.max(match standing {
                Standing::MidSpan => reaction.at(length / 2.0),
                Standing::Anywhere => reaction.greatest(0.0, *length).value,
            });
        }
        greatest
    }

    /// What support moments add to the reaction of a support.
    fn lift(&self, support: usize, moment: impl Fn(usize) -> f64) -> f64 {
        let mut lift = 0.0;
        if let Some(length) = self.lengths.get(support) {
            lift += (moment(support + 1) - moment(support)) / length;
        }
        if let Some(before) = support.checked_sub(1) {
            lift += (moment(before) - moment(support)) / self.lengths[before];
        }
        lift
    }
}

impl Loading {
    /// What of a member's patterned effect counts towards the effect sought.
    fn share(&self, near: bool, effect: f64) -> f64 {
        match self.pattern {
            Pattern::Together => effect,
            Pattern::OneSpan => {
                if near {
                    effect
                } else {
                    0.0
                }
            }
            Pattern::Worst => effect.max(0.0),
        }
    }
}
