//! The pattern of greatest value for every stock length at once: an exact bounded knapsack.
//!
//! In: a value for a piece of each length and how many pieces are left. Out: for each stock length
//! the greatest value that one bar can hold and a pattern that has it. One table serves all stock
//! lengths, since a shorter bar is the first part of a longer one.

use super::scale::{Places, Scale, groups};

/// A table of the greatest value that ends at each place.
pub(super) struct Table<'a> {
    scale: &'a Scale,
    best: Vec<i64>,
    passes: Vec<Pass>,
}

/// One step of the table: `size` pieces of a length were offered, once or any number of times.
struct Pass {
    length: usize,
    size: u32,
    repeat: bool,
    taken: Vec<bool>,
}

const NOTHING: i64 = i64::MIN / 4;

impl<'a> Table<'a> {
    /// Fills the table. Values are zero or more; lengths without value or count are left out.
    pub fn fill(scale: &'a Scale, values: &[i64], counts: &[u32]) -> Table<'a> {
        let mut best = vec![NOTHING; scale.places.len()];
        if let Some(start) = best.first_mut() {
            *start = 0;
        }
        let mut table = Table { scale, best, passes: Vec::new() };
        for (length, (&value, &count)) in values.iter().zip(counts).enumerate() {
            if value > 0 && count > 0 {
                table.offer(length, value, count);
            }
        }
        table
    }

    /// How many cells the table has looked at.
    pub fn work(&self) -> i64 {
        i64::try_from(self.scale.places.len() * (self.passes.len() + 1)).unwrap_or(i64::MAX)
    }

    fn offer(&mut self, length: usize, value: i64, count: u32) {
        let taken = self.scale.taken[length];
        let farthest = self.scale.ends.iter().map(|end| end.1.unwrap_or(end.0)).max().unwrap_or(0);
        let farthest = match &self.scale.places {
            Places::All(_) => i64::try_from(farthest).unwrap_or(i64::MAX),
            Places::Sums(sums) => sums.get(farthest).copied().unwrap_or(0),
        };
        let room = if taken > 0 { farthest / taken } else { i64::MAX };
        if room <= i64::from(count) {
            // More pieces than one bar holds: any number may be taken.
            self.pass(length, 1, value, true);
            return;
        }
        for size in groups(count) {
            self.pass(length, size, value * i64::from(size), false);
        }
    }

    fn pass(&mut self, length: usize, size: u32, value: i64, repeat: bool) {
        let step = self.scale.taken[length].saturating_mul(i64::from(size));
        let mut taken = vec![false; self.best.len()];
        match &self.scale.places {
            Places::All(count) => {
                let Some(step) = usize::try_from(step).ok().filter(|step| step < count) else {
                    return;
                };
                if repeat {
                    for place in step..*count {
                        improve(&mut self.best, &mut taken, place, place - step, value);
                    }
                } else {
                    for place in (step..*count).rev() {
                        improve(&mut self.best, &mut taken, place, place - step, value);
                    }
                }
            }
            Places::Sums(sums) if repeat => {
                let mut before = 0;
                for (place, &sum) in sums.iter().enumerate() {
                    while sums[before] < sum - step {
                        before += 1;
                    }
                    if sums[before] == sum - step {
                        improve(&mut self.best, &mut taken, place, before, value);
                    }
                }
            }
            Places::Sums(sums) => {
                let mut before = sums.len();
                for (place, &sum) in sums.iter().enumerate().rev() {
                    while before > 0 && sums[before - 1] > sum - step {
                        before -= 1;
                    }
                    if before > 0 && sums[before - 1] == sum - step {
                        improve(&mut self.best, &mut taken, place, before - 1, value);
                    }
                }
            }
        }
        self.passes.push(Pass { length, size, repeat, taken });
    }

    /// The greatest value in a bar of a stock length, and the place at which it ends.
    pub fn best(&self, stock: usize) -> (i64, usize) {
        let (within, flush) = self.scale.ends[stock];
        let places = (0..=within).chain(flush);
        places
            .map(|place| (self.best[place], place))
            .fold((0, 0), |best, candidate| if candidate.0 > best.0 { candidate } else { best })
    }

    /// The pieces of each length that end at a place with the greatest value.
    pub fn pattern(&self, mut place: usize) -> Vec<u32> {
        let mut pieces = vec![0; self.scale.taken.len()];
        for pass in self.passes.iter().rev() {
            let step = self.scale.taken[pass.length].saturating_mul(i64::from(pass.size));
            while pass.taken[place] {
                pieces[pass.length] += pass.size;
                place = self.scale.places.before(place, step);
                if !pass.repeat {
                    break;
                }
            }
        }
        pieces
    }
}

fn improve(best: &mut [i64], taken: &mut [bool], place: usize, before: usize, value: i64) {
    let with = best[before] + value;
    if with > best[place] {
        best[place] = with;
        taken[place] = true;
    }
}

#[cfg(test)]
mod tests {
    use super::super::problem::Problem;
    use super::super::scale::Rounding;
    use super::*;
    use crate::cut::{Piece, Stock};
    use crate::length::Length;
    use proptest::prelude::*;

    /// The greatest value of pieces that fit a bar, by trying every choice.
    fn greatest(problem: &Problem, values: &[i64], stock: usize, length: usize, taken: i64) -> i64 {
        if length == values.len() {
            return if problem.fits(taken, stock) || taken == 0 { 0 } else { i64::MIN / 2 };
        }
        let counts = 0..=i64::from(problem.counts[length]);
        let with = |count: i64| {
            let taken = taken + count * problem.taken(length);
            count * values[length] + greatest(problem, values, stock, length + 1, taken)
        };
        counts.map(with).max().unwrap()
    }

    fn problem(unit: i64) -> impl Strategy<Value = (Vec<(i64, i64, i64)>, Vec<i64>, i64)> {
        let piece = (1i64..90, 1i64..5, 0i64..50);
        let pieces = proptest::collection::vec(piece, 1..5);
        let stock = proptest::collection::vec(95i64..200, 1..3);
        (pieces, stock, 0i64..4).prop_map(move |(pieces, stock, kerf)| {
            let pieces = pieces.into_iter();
            let pieces = pieces.map(|(length, count, value)| (length * unit, count, value));
            let stock = stock.into_iter().map(|length| length * unit);
            (pieces.collect(), stock.collect(), kerf * unit)
        })
    }

    fn build(pieces: &[(i64, i64, i64)], stock: &[i64], kerf: i64) -> (Problem, Vec<i64>) {
        let length = Length::from_exact;
        let listed: Vec<Piece> =
            pieces.iter().map(|&(l, count, _)| Piece { length: length(l), count }).collect();
        let stock: Vec<Stock> =
            stock.iter().map(|&l| Stock { length: length(l), available: None }).collect();
        let problem = Problem::new(&listed, &stock, length(kerf)).unwrap();
        let value = |l: &i64| pieces.iter().find(|piece| piece.0 == *l).unwrap().2;
        let values = problem.lengths.iter().map(value).collect();
        (problem, values)
    }

    proptest! {
        /// Small units give a list of all places, great odd ones a list of sums; with the bar cut
        /// into steps the patterns still fit and the values still bound.
        #[test]
        fn the_table_has_the_greatest_value(
            (pieces, stock, kerf) in prop_oneof![problem(1), problem(1_000_003)],
        ) {
            let (problem, values) = build(&pieces, &stock, kerf);
            let exact = Scale::exact(&problem).unwrap();
            let up = Scale::rounded(&problem, Rounding::Up);
            let down = Scale::rounded(&problem, Rounding::Down);
            for stock in 0..problem.stocks.len() {
                let greatest = greatest(&problem, &values, stock, 0, 0);
                for (scale, is_exact) in [(&exact, true), (&up, false)] {
                    let table = Table::fill(scale, &values, &problem.counts);
                    let (best, place) = table.best(stock);
                    let pattern = table.pattern(place);
                    let each = pattern.iter().enumerate();
                    let value: i64 =
                        each.clone().map(|(i, &count)| values[i] * i64::from(count)).sum();
                    let taken: i64 = each.map(|(i, &n)| problem.taken(i) * i64::from(n)).sum();
                    prop_assert_eq!(value, best);
                    prop_assert!(taken == 0 || problem.fits(taken, stock));
                    prop_assert!(pattern.iter().zip(&problem.counts).all(|(n, count)| n <= count));
                    prop_assert!(best <= greatest);
                    prop_assert!(!is_exact || best == greatest, "{best} against {greatest}");
                }
                let bound = Table::fill(&down, &values, &problem.counts).best(stock).0;
                prop_assert!(bound >= greatest);
            }
        }
    }
}
