//! A plan at once: bars filled one after the other, the longest piece left first.
//!
//! In: what is still to be cut. Out: patterns with the times each is cut. Each bar is the one,
//! among those that hold the longest piece left, that is filled best; bars beyond the limited
//! quantity are taken only where nothing else holds the piece.

use super::master::{Column, Rest};
use super::problem::Problem;

/// Patterns that cut everything, with the times each is cut.
pub(super) fn fill(problem: &Problem, rest: &Rest) -> Vec<(Column, u32)> {
    let mut rest = rest.clone();
    let mut bars = Vec::new();
    while let Some(longest) = rest.counts.iter().position(|&count| count > 0) {
        let holds = |stock: &usize| problem.fits(problem.taken(longest), *stock);
        let stocks: Vec<usize> = (0..problem.stocks.len()).filter(holds).collect();
        let at_hand: Vec<usize> =
            stocks.iter().copied().filter(|&stock| rest.limits[stock] != Some(0)).collect();
        let within = !at_hand.is_empty();
        let best = if within { at_hand } else { stocks }
            .into_iter()
            .map(|stock| best_filled(problem, &rest, stock))
            .reduce(|best, other| if fuller(problem, &other, &best) { other } else { best });
        let Some((column, _)) = best else { return bars };
        let mut times = times_possible(&rest.counts, &column);
        if within {
            times = times.min(rest.limits[column.stock].unwrap_or(u32::MAX));
        }
        rest.take(&column, times);
        bars.push((column, times));
    }
    bars
}

impl Rest {
    /// Takes out what is cut.
    pub fn take(&mut self, column: &Column, times: u32) {
        for (count, &pieces) in self.counts.iter_mut().zip(&column.pieces) {
            *count = count.saturating_sub(pieces.saturating_mul(times));
        }
        if let Some(limit) = &mut self.limits[column.stock] {
            *limit = limit.saturating_sub(times);
        }
    }

    pub fn is_done(&self) -> bool {
        self.counts.iter().all(|&count| count == 0)
    }
}

/// How often a pattern can be cut without a piece too many.
pub(super) fn times_possible(counts: &[u32], column: &Column) -> u32 {
    let times = counts.iter().zip(&column.pieces).filter(|(_, pieces)| **pieces > 0);
    times.map(|(&count, &pieces)| count / pieces).min().unwrap_or(0)
}

/// A bar filled with the longest piece left that still fits, again and again, and the length so
/// filled.
fn best_filled(problem: &Problem, rest: &Rest, stock: usize) -> (Column, i64) {
    let mut pieces = vec![0; rest.counts.len()];
    let (mut taken, mut length) = (0, 0);
    for (index, &count) in rest.counts.iter().enumerate() {
        let one = problem.taken(index);
        while pieces[index] < count && problem.fits(taken + one, stock) {
            pieces[index] += 1;
            taken += one;
            length += problem.lengths[index];
        }
    }
    (Column { stock, pieces }, length)
}

/// Whether one bar is filled to a greater part than another.
fn fuller(problem: &Problem, one: &(Column, i64), other: &(Column, i64)) -> bool {
    let bar = |filled: &(Column, i64)| i128::from(problem.stocks[filled.0.stock].length);
    i128::from(one.1) * bar(other) > i128::from(other.1) * bar(one)
}
