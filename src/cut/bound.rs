//! Bounds that hold: prices turned into a proven least total, in whole numbers throughout.
//!
//! Any prices give a bound if the greatest worth of a bar at them is known. Nothing depends on how
//! well the linear program was solved: floating point proposes prices, integers prove the bound.

use super::master::{Prices, Rest};
use super::problem::Problem;

/// Prices are whole multiples of a longest bar divided by this.
const FINENESS: i64 = 1 << 30;
/// Prices are scaled down by whole multiples of one divided by two to this power.
const RATIO_BITS: u32 = 40;

/// A piece's worth as a whole number, rounded down.
pub(super) fn whole_worth(prices: &Prices) -> Vec<i64> {
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "clamped")]
    let whole = |price: f64| (price.clamp(0.0, 2048.0) * FINENESS as f64).floor() as i64;
    prices.pieces.iter().map(|&price| whole(price)).collect()
}

/// A whole worth in longest bars.
#[allow(clippy::cast_precision_loss, reason = "for comparisons with a tolerance")]
pub(super) fn in_longest_bars(worth: i64) -> f64 {
    worth as f64 / FINENESS as f64
}

/// The least total length of bars that the prices prove, in exact units, rounded up.
///
/// `tops` holds for each stock length the greatest worth of a bar, or more. Prices are scaled down
/// until no bar of unlimited length is worth more than it is long; what a limited bar is worth
/// beyond its length is taken off for each bar there is.
pub(super) fn proven_total(problem: &Problem, rest: &Rest, worth: &[i64], tops: &[i64]) -> i64 {
    let longest = i128::from(problem.longest_bar());
    let lengths = problem.stocks.iter().map(|bar| i128::from(bar.length) * i128::from(FINENESS));
    let bars: Vec<(i128, i128, Option<u32>)> = lengths
        .zip(tops)
        .zip(&rest.limits)
        .map(|((length, &top), &limit)| (length, i128::from(top), limit))
        .collect();
    let ratio = bars
        .iter()
        .filter(|(_, top, limit)| limit.is_none() && *top > 0)
        .map(|(length, top, _)| (length << RATIO_BITS) / (top * longest))
        .fold(1 << RATIO_BITS, i128::min);
    let scaled = |worth: i128| (worth * ratio) >> RATIO_BITS;
    let pieces: i128 = worth
        .iter()
        .zip(&rest.counts)
        .map(|(&worth, &count)| scaled(i128::from(worth)) * i128::from(count))
        .sum();
    let beyond: i128 = bars
        .iter()
        .filter_map(|(length, top, limit)| Some((length, top, (*limit)?)))
        .map(|(length, top, limit)| (scaled(*top) * longest - length).max(0) * i128::from(limit))
        .sum();
    let total = (pieces * longest - beyond).max(0);
    let fineness = i128::from(FINENESS);
    i64::try_from((total + fineness - 1) / fineness).unwrap_or(i64::MAX)
}

/// The totals that bars of the stock lengths can add up to.
pub(super) struct Totals {
    /// All totals are multiples of this.
    step: i64,
    /// For each remainder by the shortest bar, in steps, the least total that leaves it.
    least: Vec<Option<i64>>,
}

/// The longest table of remainders; beyond it only the common divisor is used.
const MOST_REMAINDERS: i64 = 1 << 17;

impl Totals {
    /// Over the bars that hold a piece at all.
    pub fn of(problem: &Problem) -> Totals {
        let holds =
            |stock| (0..problem.lengths.len()).any(|i| problem.fits(problem.taken(i), stock));
        let mut lengths: Vec<i64> = problem
            .stocks
            .iter()
            .enumerate()
            .filter(|(stock, bar)| bar.limit != Some(0) && holds(*stock))
            .map(|(_, bar)| bar.length)
            .collect();
        lengths.reverse();
        let step = lengths.iter().fold(0, |a, &b| super::scale::greatest_common_divisor(a, b));
        let Some(&shortest) = lengths.first() else { return Totals { step: 1, least: Vec::new() } };
        for length in &mut lengths {
            *length /= step;
        }
        let remainders = shortest / step;
        if remainders > MOST_REMAINDERS {
            return Totals { step, least: Vec::new() };
        }
        Totals { step, least: least_by_remainder(&lengths, remainders) }
    }

    /// The least total that bars can add up to and that is not below another.
    pub fn at_least(&self, total: i64) -> i64 {
        let steps = total.div_euclid(self.step) + i64::from(total.rem_euclid(self.step) > 0);
        let Ok(count) = i64::try_from(self.least.len()) else { return total };
        if count == 0 {
            return steps.saturating_mul(self.step);
        }
        let reach = |(remainder, least): (i64, &Option<i64>)| {
            let from = (*least)?.max(steps);
            from.checked_add((remainder - from).rem_euclid(count))
        };
        let least = (0..).zip(&self.least).filter_map(reach).min().unwrap_or(steps);
        least.saturating_mul(self.step)
    }
}

/// The least sum of `lengths` for each remainder by the first: goes round each ring of remainders
/// that a length links, twice, carrying the least sum on.
fn least_by_remainder(lengths: &[i64], remainders: i64) -> Vec<Option<i64>> {
    let count = usize::try_from(remainders).unwrap_or(0);
    let mut least: Vec<Option<i64>> = vec![None; count];
    if let Some(zero) = least.first_mut() {
        *zero = Some(0);
    }
    for &length in lengths.iter().skip(1) {
        let rings = super::scale::greatest_common_divisor(length, remainders);
        for start in 0..rings {
            let mut at = start;
            for _ in 0..2 * (remainders / rings) {
                let next = (at + length) % remainders;
                let (from, to) =
                    (usize::try_from(at).unwrap_or(0), usize::try_from(next).unwrap_or(0));
                if let Some(sum) = least[from] {
                    let sum = sum.saturating_add(length);
                    least[to] = Some(least[to].map_or(sum, |known| known.min(sum)));
                }
                at = next;
            }
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::cut::{Piece, Stock};
    use crate::length::Length;
    use proptest::prelude::*;

    fn problem(stock: &[i64]) -> Problem {
        let piece = Piece { length: Length::from_exact(1), count: 9 };
        let stock = stock
            .iter()
            .map(|&length| Stock { length: Length::from_exact(length), available: None });
        Problem::new(&[piece], &stock.collect::<Vec<_>>(), Length::ZERO).unwrap()
    }

    /// 6, 9 and 20 make every whole number above 43 and not 43 itself (the Frobenius number of the
    /// three, a textbook example).
    #[test]
    fn totals_that_bars_make() {
        let totals = Totals::of(&problem(&[6, 9, 20]));
        assert_eq!([43, 44, 45, 46].map(|total| totals.at_least(total)), [44, 44, 45, 46]);
        assert_eq!([0, 1, 7, 10, 16].map(|total| totals.at_least(total)), [0, 6, 9, 12, 18]);
    }

    /// The shortest bar has more remainders than are tabulated: multiples of 5 are left.
    #[test]
    fn totals_by_common_divisor() {
        let totals = Totals::of(&problem(&[5_000_005, 5_000_000]));
        assert_eq!(totals.at_least(5_000_001), 5_000_005);
        assert_eq!(totals.at_least(5_000_006), 5_000_010);
    }

    proptest! {
        #[test]
        fn totals_agree_with_a_table(
            stock in proptest::collection::vec(1i64..60, 1..5),
            total in 0i64..400,
        ) {
            let mut reached: BTreeSet<i64> = BTreeSet::from([0]);
            for sum in 1..600 {
                if stock.iter().any(|length| reached.contains(&(sum - length))) {
                    reached.insert(sum);
                }
            }
            let least = *reached.range(total..).next().unwrap();
            prop_assert_eq!(Totals::of(&problem(&stock)).at_least(total), least);
        }
    }
}
