//! Small problems solved exactly, by trying every way to cut them.
//!
//! In: what is still to be cut. Out: the cheapest bars there are, or nothing where there are too
//! many ways. The pieces and limited bars left make one whole number; for each such number the
//! cheapest plan is worked out once.

use super::bars::Bars;
use super::columns::Effort;
use super::master::{Column, Rest, SHORTAGE};
use super::problem::Problem;

/// The most pieces that are tried out.
const MOST_PIECES: u64 = 24;
/// The most different numbers of pieces and bars left.
const MOST_STATES: u64 = 1 << 12;
/// What looking at one pattern costs, in cells of a table.
const CELLS_A_PATTERN: i64 = 20;

/// The cheapest bars for the rest, bars beyond the limited quantity counted many times over;
/// `None` where there are too many ways or the effort is spent.
pub(super) fn exact(problem: &Problem, rest: &Rest, effort: &mut Effort) -> Option<Bars> {
    let pieces: u64 = rest.counts.iter().map(|&count| u64::from(count)).sum();
    let most = u32::try_from(pieces).ok()?;
    let mut rest = rest.clone();
    for limit in rest.limits.iter_mut().flatten() {
        *limit = most.min(*limit);
    }
    let left = rest.counts.iter().chain(rest.limits.iter().flatten());
    let states = left.fold(1u64, |states, &left| states.saturating_mul(u64::from(left) + 1));
    if pieces > MOST_PIECES || states > MOST_STATES {
        return None;
    }
    let known = vec![None; usize::try_from(states).ok()?];
    let mut trial = Trial { problem, whole: rest.clone(), known, effort };
    trial.least(&rest)?;
    trial.bars(rest)
}

struct Trial<'a> {
    problem: &'a Problem,
    whole: Rest,
    /// For each state the least cost and the bar to begin with, once known.
    known: Vec<Option<(i64, Option<Column>)>>,
    effort: &'a mut Effort,
}

impl Trial<'_> {
    fn state(&self, rest: &Rest) -> usize {
        let left = rest.counts.iter().chain(rest.limits.iter().flatten());
        let whole = self.whole.counts.iter().chain(self.whole.limits.iter().flatten());
        left.zip(whole).fold(0, |state, (&left, &whole)| {
            state * (whole as usize + 1) + left.min(whole) as usize
        })
    }

    /// The least cost of the rest; `None` where the effort is spent.
    fn least(&mut self, rest: &Rest) -> Option<i64> {
        let state = self.state(rest);
        if let Some((cost, _)) = &self.known[state] {
            return Some(*cost);
        }
        let mut best: (i64, Option<Column>) = (i64::MAX, None);
        match rest.counts.iter().position(|&count| count > 0) {
            None => best.0 = 0,
            Some(longest) => {
                let mut pieces = vec![0; rest.counts.len()];
                pieces[longest] = 1;
                let taken = self.problem.taken(longest);
                self.extend(rest, longest, &mut pieces, taken, &mut best)?;
            }
        }
        let cost = best.0;
        self.known[state] = Some(best);
        Some(cost)
    }

    /// Tries every pattern that adds pieces of a length, or shorter, to those given.
    fn extend(
        &mut self,
        rest: &Rest,
        length: usize,
        pieces: &mut Vec<u32>,
        taken: i64,
        best: &mut (i64, Option<Column>),
    ) -> Option<()> {
        self.effort.spend_cells(CELLS_A_PATTERN);
        if self.effort.spent() {
            return None;
        }
        let stocks = self.problem.stocks.len();
        if length == pieces.len() {
            for stock in 0..stocks {
                self.try_bar(rest, &Column { stock, pieces: pieces.clone() }, taken, best)?;
            }
            return Some(());
        }
        self.extend(rest, length + 1, pieces, taken, best)?;
        let more = taken + self.problem.taken(length);
        if pieces[length] < rest.counts[length] && (0..stocks).any(|s| self.problem.fits(more, s)) {
            pieces[length] += 1;
            self.extend(rest, length, pieces, more, best)?;
            pieces[length] -= 1;
        }
        Some(())
    }

    /// Tries a pattern on a bar, unless the bar has room for a further piece.
    fn try_bar(
        &mut self,
        rest: &Rest,
        column: &Column,
        taken: i64,
        best: &mut (i64, Option<Column>),
    ) -> Option<()> {
        let room_for = |length: usize| {
            column.pieces[length] < rest.counts[length]
                && self.problem.fits(taken + self.problem.taken(length), column.stock)
        };
        if !self.problem.fits(taken, column.stock) || (0..column.pieces.len()).any(room_for) {
            return Some(());
        }
        let beyond = rest.limits[column.stock] == Some(0);
        let bar = self.problem.stocks[column.stock].length * if beyond { SHORTAGE } else { 1 };
        if bar < best.0 {
            let mut next = rest.clone();
            next.take(column, 1);
            let cost = bar.saturating_add(self.least(&next)?);
            if cost < best.0 {
                *best = (cost, Some(column.clone()));
            }
        }
        Some(())
    }

    fn bars(&self, mut rest: Rest) -> Option<Bars> {
        let mut bars = Bars::new();
        while !rest.is_done() {
            let (_, column) = self.known[self.state(&rest)].as_ref()?;
            let column = column.clone()?;
            rest.take(&column, 1);
            bars.push((column, 1));
        }
        Some(bars)
    }
}
