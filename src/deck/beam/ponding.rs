//! Deflection of a line on which concrete is struck level: every inch of deflection takes an inch
//! more concrete, which deflects the line further.
//!
//! In: lengths, one stiffness, uniform load, unit weight of what fills the deflection, all in one set
//! of units. Out: mean deflection of each span where the filling has come to rest, the limit of the
//! round after round of filling (EI y'''' = w + gamma y, solved exactly).

use crate::value::Refusal;

/// A line under a uniform load, filled level with a material of unit weight `gamma` per width.
#[derive(Clone, Debug, PartialEq)]
pub struct Filled {
    pub lengths: Vec<f64>,
    pub ei: f64,
    pub w: f64,
    pub gamma: f64,
    /// Moments that overhangs put on the first and last support, hogging negative.
    pub end_moments: (f64, f64),
}

/// A span's flexibilities at `u = beta L`: rotation near and far from an end moment, rotation and
/// mean deflection from the load; each over its value without filling.
#[derive(Clone, Copy, Debug)]
struct Softening {
    near: f64,
    far: f64,
    turn: f64,
    mean: f64,
}

/// Below this, series stand in for differences of nearly equal numbers.
const SMALL: f64 = 0.2;

impl Softening {
    fn at(u: f64) -> Softening {
        let u_4 = u.powi(4);
        if u < SMALL {
            return Softening {
                near: 1.0 + 2.0 * u_4 / 315.0,
                far: 1.0 + 31.0 * u_4 / 2520.0,
                turn: 1.0 + 17.0 * u_4 / 1680.0,
                mean: 1.0 + 31.0 * u_4 / 3024.0,
            };
        }
        let v = u / 2.0;
        Softening {
            near: 1.5 / u * (1.0 / u.tanh() - 1.0 / u.tan()),
            far: 3.0 / u * (1.0 / u.sin() - 1.0 / u.sinh()),
            turn: 12.0 / u.powi(3) * (v.tan() - v.tanh()),
            mean: 120.0 / u_4 * ((v.tan() + v.tanh()) / u - 1.0),
        }
    }
}

impl Filled {
    /// Mean deflection of each span; refuses lines so soft that filling them never ends.
    pub fn mean_deflections(&self) -> Result<Vec<f64>, Refusal> {
        let Filled { ei, w, .. } = *self;
        let beta = (self.gamma.max(0.0) / ei).sqrt().sqrt();
        let endless = || {
            Refusal::new(
                "spans",
                format!("{:?}", self.lengths),
                "spans stiff enough that filling the deflection with concrete comes to an end",
            )
        };
        let mut soft = Vec::with_capacity(self.lengths.len());
        for length in &self.lengths {
            let u = beta * length;
            if u.is_nan() || u >= std::f64::consts::PI {
                return Err(endless());
            }
            soft.push(Softening::at(u));
        }
        let moments = self.support_moments(&soft).ok_or_else(endless)?;
        Ok(self
            .lengths
            .iter()
            .zip(&soft)
            .zip(moments.windows(2))
            .map(|((length, soft), ends)| {
                let by_load = w * length.powi(4) / (120.0 * ei) * soft.mean;
                by_load + (ends[0] + ends[1]) * length.powi(2) / (24.0 * ei) * soft.turn
            })
            .collect())
    }

    /// Three-moment equation with softened flexibilities; `None` where it has no stable answer.
    fn support_moments(&self, soft: &[Softening]) -> Option<Vec<f64>> {
        let near = |i: usize| self.lengths[i] / (3.0 * self.ei) * soft[i].near;
        let far = |i: usize| self.lengths[i] / (6.0 * self.ei) * soft[i].far;
        let turn = |i: usize| self.w * self.lengths[i].powi(3) / (24.0 * self.ei) * soft[i].turn;
        let joints = self.lengths.len().checked_sub(1)?;
        let mut moments = vec![0.0; joints + 2];
        let mut pivots = vec![1.0; joints + 1];
        moments[0] = self.end_moments.0;
        moments[joints + 1] = self.end_moments.1;
        for joint in 1..=joints {
            let mut pivot = near(joint - 1) + near(joint);
            let mut known = -(turn(joint - 1) + turn(joint));
            if joint == 1 {
                known -= far(0) * self.end_moments.0;
            } else {
                let factor = far(joint - 1) / pivots[joint - 1];
                pivot -= factor * far(joint - 1);
                known -= factor * moments[joint - 1];
            }
            if joint == joints {
                known -= far(joint) * self.end_moments.1;
            }
            if pivot <= 0.0 {
                return None;
            }
            pivots[joint] = pivot;
            moments[joint] = known;
        }
        for joint in (1..=joints).rev() {
            if joint < joints {
                moments[joint] -= far(joint) * moments[joint + 1];
            }
            moments[joint] /= pivots[joint];
        }
        Some(moments)
    }
}
