//! The places along a bar at which a piece may end, as a short list of whole numbers.
//!
//! Exact units are far too fine to tabulate. But all ends of pieces are multiples of the greatest
//! common divisor, and with few lengths there are few sums of lengths at all; where either list is
//! short enough it is exact. Otherwise the bar is divided into a fixed number of equal steps and
//! lengths are rounded: up for patterns that do fit, down for bounds that do hold.

use super::problem::Problem;

/// The longest list of places.
const MOST_PLACES: usize = 1 << 16;
/// The most cells of a table: places times the groups in which pieces are offered.
const MOST_CELLS: usize = 1 << 25;

/// Which way lengths go that are no whole number of steps.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Rounding {
    Up,
    Down,
}

/// Places from 0 on, with the pieces' lengths (kerf included) and the bars' in the same unit.
pub(super) struct Scale {
    pub places: Places,
    /// What a piece of each length takes.
    pub taken: Vec<i64>,
    /// For each bar: the last place within it, and the place a kerf beyond its end if there is one.
    pub ends: Vec<(usize, Option<usize>)>,
}

pub(super) enum Places {
    /// Every whole number below the count.
    All(usize),
    /// These, in ascending order.
    Sums(Vec<i64>),
}

impl Places {
    pub fn len(&self) -> usize {
        match self {
            Places::All(count) => *count,
            Places::Sums(sums) => sums.len(),
        }
    }

    fn find(&self, place: i64) -> Option<usize> {
        match self {
            Places::All(count) => usize::try_from(place).ok().filter(|index| index < count),
            Places::Sums(sums) => sums.binary_search(&place).ok(),
        }
    }

    /// The place `step` before another, which is in the list.
    pub fn before(&self, index: usize, step: i64) -> usize {
        match self {
            Places::All(_) => index.saturating_sub(usize::try_from(step).unwrap_or(usize::MAX)),
            Places::Sums(sums) => sums.binary_search(&(sums[index] - step)).unwrap_or(0),
        }
    }

    /// The last place that is not beyond `place`.
    fn last_within(&self, place: i64) -> usize {
        match self {
            Places::All(count) => usize::try_from(place).unwrap_or(0).min(count.saturating_sub(1)),
            Places::Sums(sums) => sums.partition_point(|&sum| sum <= place).saturating_sub(1),
        }
    }
}

impl Scale {
    /// The exact list, if it is short enough.
    pub fn exact(problem: &Problem) -> Option<Scale> {
        let taken: Vec<i64> = (0..problem.lengths.len()).map(|i| problem.taken(i)).collect();
        let farthest = problem.longest_bar() + problem.kerf;
        let most = most_places(problem);
        let step =
            taken.iter().fold(0, |divisor, &length| greatest_common_divisor(divisor, length));
        let count = usize::try_from(farthest / step).ok()?.saturating_add(1);
        let (places, step) = if count <= most {
            (Places::All(count), step)
        } else {
            (Places::Sums(sums(&taken, &problem.counts, farthest, most)?), 1)
        };
        let ends = problem.stocks.iter().map(|bar| {
            let beyond = bar.length + problem.kerf;
            let flush = if problem.kerf > 0 && beyond % step == 0 {
                places.find(beyond / step)
            } else {
                None
            };
            (places.last_within(bar.length / step), flush)
        });
        let ends = ends.collect();
        Some(Scale { ends, taken: taken.iter().map(|length| length / step).collect(), places })
    }

    /// Equal steps, with lengths rounded.
    pub fn rounded(problem: &Problem, rounding: Rounding) -> Scale {
        let farthest = problem.longest_bar() + problem.kerf;
        let most = most_places(problem);
        let steps = i64::try_from(most - 1).unwrap_or(i64::MAX);
        let step = farthest / steps + 1;
        let (slack, kerf) = match rounding {
            Rounding::Up => (step - 1, 0),
            Rounding::Down => (0, problem.kerf),
        };
        let taken = (0..problem.lengths.len()).map(|i| (problem.taken(i) + slack) / step).collect();
        let places = Places::All(most);
        let ends =
            problem.stocks.iter().map(|bar| (places.last_within((bar.length + kerf) / step), None));
        Scale { ends: ends.collect(), taken, places }
    }
}

pub(super) fn greatest_common_divisor(mut one: i64, mut other: i64) -> i64 {
    while other != 0 {
        (one, other) = (other, one % other);
    }
    one
}

/// How many places a table may have for the pieces of a problem.
fn most_places(problem: &Problem) -> usize {
    let farthest = problem.longest_bar() + problem.kerf;
    let passes: usize = (0..problem.lengths.len())
        .map(|i| groups(problem.counts[i].min(room(problem.taken(i), farthest))).count())
        .sum();
    MOST_PLACES.min(MOST_CELLS / passes.max(1))
}

/// How many pieces of a length end within `farthest`.
fn room(length: i64, farthest: i64) -> u32 {
    u32::try_from(farthest / length.max(1)).unwrap_or(u32::MAX)
}

/// Every sum of pieces up to `farthest`; `None` where there are too many.
fn sums(taken: &[i64], counts: &[u32], farthest: i64, places: usize) -> Option<Vec<i64>> {
    let mut sums = vec![0];
    for (&length, &count) in taken.iter().zip(counts) {
        for group in groups(count.min(room(length, farthest))) {
            let step = length * i64::from(group);
            let shifted: Vec<i64> =
                sums.iter().map(|sum| sum + step).take_while(|&sum| sum <= farthest).collect();
            sums = union(&sums, &shifted);
            if sums.len() > places {
                return None;
            }
        }
    }
    Some(sums)
}

/// Two ascending lists as one, equal members once.
fn union(one: &[i64], other: &[i64]) -> Vec<i64> {
    let mut union = Vec::with_capacity(one.len() + other.len());
    let (mut left, mut right) = (one.iter().peekable(), other.iter().peekable());
    while let (Some(&&a), Some(&&b)) = (left.peek(), right.peek()) {
        union.push(a.min(b));
        if a <= b {
            left.next();
        }
        if b <= a {
            right.next();
        }
    }
    union.extend(left);
    union.extend(right);
    union
}

/// Group sizes of which every number up to `count` is a sum, and no greater one: 1, 2, 4 … rest.
pub(super) fn groups(count: u32) -> impl Iterator<Item = u32> {
    let (mut left, mut size) = (count, 1);
    std::iter::from_fn(move || {
        let group = left.min(size);
        left -= group;
        size = size.saturating_mul(2);
        (group > 0).then_some(group)
    })
}
