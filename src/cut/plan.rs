//! The cutting plan: which bars to take, what to cut from each, and how near the optimum that is.
//!
//! In: pieces, stock and kerf. Out: bars that cut every piece exactly once with the least total
//! length that was found, beside the least total that is proven. Nothing here depends on a clock:
//! the same input gives the same plan.

use super::bars::{Bars, bars_beyond, bars_by_stock, taken};
use super::columns::Effort;
use super::problem::{Piece, Problem, Stock};
use super::rounding::{Found, Search};
use crate::length::Length;
use crate::value::Refusal;

/// Work that goes into a plan, in cells of tables: about a second and a half on a machine of 2024.
const EFFORT: Effort = Effort(1_500_000_000);

/// Bars of one length that are cut alike.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    pub stock: Length,
    pub times: i64,
    /// Lengths and counts out of one bar, longest first.
    pub pieces: Vec<(Length, i64)>,
    /// What is left of one bar behind the last kerf.
    pub offcut: Length,
}

/// A cutting plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Longest stock first, and within a stock length longest pieces first.
    pub patterns: Vec<Pattern>,
    /// Stock lengths used and the number of bars of each, longest first.
    pub bars: Vec<(Length, i64)>,
    /// All bars end to end; the sum of `used`, `kerf` and `offcut`.
    pub total_stock: Length,
    /// All pieces end to end.
    pub used: Length,
    /// What the saw takes.
    pub kerf: Length,
    pub offcut: Length,
    /// No plan has a lesser total: the bound of the linear program.
    pub lp_bound: Length,
    /// No plan has a lesser total: the least that bars can add up to from `lp_bound` on, or the
    /// optimum where the problem was small enough to try every plan.
    pub bound: Length,
}

impl Plan {
    /// How far the total is above the bound at most.
    #[must_use]
    pub fn gap(&self) -> Length {
        self.total_stock - self.bound
    }

    /// Whether no plan has a lesser total.
    #[must_use]
    pub fn is_proven(&self) -> bool {
        self.total_stock == self.bound
    }

    /// The part of the stock that does not end in pieces.
    #[must_use]
    pub fn waste(&self) -> f64 {
        (self.total_stock - self.used).in_feet() / self.total_stock.in_feet()
    }
}

/// Cuts pieces from bars of several stock lengths, each in limited quantity or not, with the least
/// total length of bars.
///
/// Between neighbouring pieces the saw takes one kerf, and one more behind the last piece unless
/// that piece ends exactly at the end of the bar.
///
/// Refuses lengths and counts that are not above zero, a negative kerf, a piece that no bar
/// yields, stock in which no plan was found for all pieces, and problems beyond
/// [`MOST_PIECES`](super::MOST_PIECES), [`MOST_PIECE_LENGTHS`](super::MOST_PIECE_LENGTHS) or
/// [`MOST_STOCK_LENGTHS`](super::MOST_STOCK_LENGTHS).
pub fn cutting_plan(pieces: &[Piece], stock: &[Stock], kerf: Length) -> Result<Plan, Refusal> {
    let problem = Problem::new(pieces, stock, kerf)?;
    let found = Search::new(&problem, EFFORT).run();
    refuse_shortage(&problem, &found)?;
    Ok(plan(&problem, found))
}

/// Refuses a plan that needs more bars than there are.
fn refuse_shortage(problem: &Problem, found: &Found) -> Result<(), Refusal> {
    let listed = |counts: Vec<Option<u32>>| {
        let bars = problem.stocks.iter().zip(counts);
        let bars = bars.filter_map(|(bar, count)| Some((bar.length, count.filter(|&n| n > 0)?)));
        let bars = bars.map(|(length, count)| format!("{count} of {}", Length::from_exact(length)));
        bars.collect::<Vec<_>>().join(", ")
    };
    let beyond = listed(bars_beyond(problem, &found.bars).into_iter().map(Some).collect());
    if beyond.is_empty() {
        return Ok(());
    }
    let lengths = problem.stocks.iter().map(|bar| Some(bar.length * i64::from(bar.limit?)));
    let at_hand: Option<i64> = lengths.sum();
    let pieces = Length::from_exact(pieces_end_to_end(problem));
    let why = match at_hand.map(Length::from_exact) {
        Some(bars) if pieces > bars => {
            format!("the pieces are {pieces} end to end, the bars {bars}")
        }
        Some(bars) if found.lp_total > bars.exact() => "no plan is possible within it".to_string(),
        _ if found.exact => "no plan is possible within it".to_string(),
        _ => "no plan was found within it; that there is none is not proven".to_string(),
    };
    let count: u32 = problem.counts.iter().sum();
    let limited = listed(problem.stocks.iter().map(|bar| bar.limit).collect());
    let limited = if limited.is_empty() { "0 bars".to_string() } else { limited };
    let wanted = format!("enough for all {count} pieces, such as {beyond} more ({why})");
    Err(Refusal::new("stock", limited, wanted))
}

fn pieces_end_to_end(problem: &Problem) -> i64 {
    problem.lengths.iter().zip(&problem.counts).map(|(&l, &count)| l * i64::from(count)).sum()
}

fn plan(problem: &Problem, found: Found) -> Plan {
    let bars = bars_by_stock(problem, &found.bars).into_iter().zip(&problem.stocks);
    let bars: Vec<(Length, i64)> = bars
        .filter(|(count, _)| *count > 0)
        .map(|(count, bar)| (Length::from_exact(bar.length), i64::from(count)))
        .collect();
    let total_stock = bars.iter().map(|&(length, count)| length * count).sum();
    let used = Length::from_exact(pieces_end_to_end(problem));
    let patterns = patterns(problem, found.bars);
    let offcut = patterns.iter().map(|pattern| pattern.offcut * pattern.times).sum();
    Plan {
        patterns,
        bars,
        total_stock,
        used,
        kerf: total_stock - used - offcut,
        offcut,
        lp_bound: Length::from_exact(found.lp_total),
        bound: Length::from_exact(found.least_total),
    }
}

/// Bars cut alike put together, in order.
fn patterns(problem: &Problem, mut bars: Bars) -> Vec<Pattern> {
    bars.sort_by(|(one, _), (other, _)| {
        one.stock.cmp(&other.stock).then_with(|| other.pieces.cmp(&one.pieces))
    });
    bars.dedup_by(|(next, more), (column, times)| {
        let alike = next == column;
        *times += if alike { *more } else { 0 };
        alike
    });
    let pattern = |(column, times): (super::master::Column, u32)| {
        let bar = problem.stocks[column.stock].length;
        let pieces = problem.lengths.iter().zip(&column.pieces).filter(|(_, count)| **count > 0);
        Pattern {
            stock: Length::from_exact(bar),
            times: i64::from(times),
            offcut: Length::from_exact((bar - taken(problem, &column)).max(0)),
            pieces: pieces
                .map(|(&length, &count)| (Length::from_exact(length), i64::from(count)))
                .collect(),
        }
    };
    bars.into_iter().map(pattern).collect()
}
