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
