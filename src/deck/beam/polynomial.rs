//! Polynomials up to the fourth degree and their extremes on an interval.
//!
//! Moments are quadratics of the place, deflections and moving-load moments quartics; their
//! extremes come from closed-form roots of the second derivative and bracketed roots of the first,
//! never from sampling.

/// A value and where it stands.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct At {
    pub place: f64,
    pub value: f64,
}

/// `c[0] + c[1] x + … + c[4] x^4`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Polynomial(pub [f64; 5]);

impl Polynomial {
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.0.iter().rev().fold(0.0, |sum, c| sum * x + c)
    }

    #[must_use]
    pub fn derivative(&self) -> Polynomial {
        let [_, b, c, d, e] = self.0;
        Polynomial([b, 2.0 * c, 3.0 * d, 4.0 * e, 0.0])
    }

    #[must_use]
    pub fn plus(&self, other: &Polynomial) -> Polynomial {
        let mut sum = self.0;
        for (to, from) in sum.iter_mut().zip(other.0) {
            *to += from;
        }
        Polynomial(sum)
    }

    #[must_use]
    pub fn times(&self, factor: f64) -> Polynomial {
        Polynomial(self.0.map(|c| c * factor))
    }

    /// The greatest value on an interval.
    #[must_use]
    pub fn greatest(&self, low: f64, high: f64) -> At {
        let mut best = At { place: low, value: self.at(low) };
        let mut offer = |place: f64| {
            let value = self.at(place);
            if value > best.value {
                best = At { place, value };
            }
        };
        self.derivative().roots(low, high).into_iter().flatten().for_each(&mut offer);
        offer(high);
        best
    }

    /// The least value on an interval.
    #[must_use]
    pub fn least(&self, low: f64, high: f64) -> At {
        let At { place, value } = self.times(-1.0).greatest(low, high);
        At { place, value: -value }
    }

    /// The integral over an interval.
    #[must_use]
    pub fn integral(&self, low: f64, high: f64) -> f64 {
        let [a, b, c, d, e] = self.0;
        let whole = |x: f64| x * (a + x * (b / 2.0 + x * (c / 3.0 + x * (d / 4.0 + x * e / 5.0))));
        whole(high) - whole(low)
    }

    /// The roots of a polynomial of at most the third degree inside an interval.
    pub(super) fn roots(&self, low: f64, high: f64) -> [Option<f64>; 3] {
        let mut roots = [None; 3];
        if self.0[3] == 0.0 {
            let [first, second] = self.quadratic_roots(low, high);
            roots[0] = first;
            roots[1] = second;
            return roots;
        }
        let turns = self.derivative().quadratic_roots(low, high);
        let mut from = low;
        for (root, to) in
            roots.iter_mut().zip(turns.into_iter().flatten().chain(std::iter::once(high)))
        {
            *root = self.root_between(from, to);
            from = to;
        }
        roots
    }

    /// The roots of `c0 + c1 x + c2 x^2` inside an interval, in order.
    fn quadratic_roots(&self, low: f64, high: f64) -> [Option<f64>; 2] {
        let [c, b, a, ..] = self.0;
        let inside = |x: f64| (x > low && x < high).then_some(x);
        if a == 0.0 {
            return [if b == 0.0 { None } else { inside(-c / b) }, None];
        }
        let square = b * b - 4.0 * a * c;
        if square < 0.0 {
            return [None, None];
        }
        let half = -0.5 * (b + square.sqrt().copysign(b));
        let (x, y) = (half / a, if half == 0.0 { 0.0 } else { c / half });
        let (first, second) = (inside(x.min(y)), inside(x.max(y)));
        if first.is_none() { [second, None] } else { [first, second] }
    }

    /// The root of a polynomial that only rises or only falls between two places.
    fn root_between(&self, mut low: f64, mut high: f64) -> Option<f64> {
        let (mut at_low, at_high) = (self.at(low), self.at(high));
        if at_low == 0.0 {
            return Some(low);
        }
        if at_low.signum() == at_high.signum() {
            return None;
        }
        let slope = self.derivative();
        let mut x = 0.5 * (low + high);
        for _ in 0..80 {
            let value = self.at(x);
            if value == 0.0 {
                return Some(x);
            }
            if value.signum() == at_low.signum() {
                (low, at_low) = (x, value);
            } else {
                high = x;
            }
            let step = x - value / slope.at(x);
            let next = if step > low && step < high { step } else { 0.5 * (low + high) };
            if (next - x).abs() <= 4.0 * f64::EPSILON * x.abs().max(f64::MIN_POSITIVE) {
                return Some(next);
            }
            x = next;
        }
        Some(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quartic_with_two_peaks() {
        // -(x-1)^2 (x-3)^2 + x/100 has its greatest value near 3.
        let quartic = Polynomial([-9.0, 24.01, -22.0, 8.0, -1.0]);
        let top = quartic.greatest(0.0, 4.0);
        assert!((top.place - 3.00125).abs() < 1e-4, "{top:?}");
        let sampled = (0..=400_000)
            .map(|step| quartic.at(f64::from(step) * 1e-5))
            .fold(f64::NEG_INFINITY, f64::max);
        assert!(top.value >= sampled && top.value - sampled < 1e-9);
    }

    #[test]
    fn ends_count() {
        let line = Polynomial([1.0, 2.0, 0.0, 0.0, 0.0]);
        assert_eq!(line.greatest(0.0, 3.0), At { place: 3.0, value: 7.0 });
        assert_eq!(line.least(0.0, 3.0), At { place: 0.0, value: 1.0 });
        assert_eq!(line.integral(0.0, 3.0), 12.0);
    }
}
