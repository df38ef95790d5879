//! Whole bars: what they cost, and exchanging them for shorter ones.

use super::master::{Column, Rest, SHORTAGE};
use super::problem::Problem;

/// Patterns with the times each is cut.
pub(super) type Bars = Vec<(Column, u32)>;

/// Everything that is to be cut, and all the stock.
pub(super) fn whole(problem: &Problem) -> Rest {
    Rest {
        counts: problem.counts.clone(),
        limits: problem.stocks.iter().map(|bar| bar.limit).collect(),
    }
}

/// Bars of each stock length.
pub(super) fn bars_by_stock(problem: &Problem, bars: &Bars) -> Vec<u32> {
    let mut used = vec![0; problem.stocks.len()];
    for (column, times) in bars {
        used[column.stock] += times;
    }
    used
}

/// Bars of each stock length beyond the limited quantity.
pub(super) fn bars_beyond(problem: &Problem, bars: &Bars) -> Vec<u32> {
    let beyond = |(bar, used): (&super::problem::Bar, u32)| {
        bar.limit.map_or(0, |limit| used.saturating_sub(limit))
    };
    problem.stocks.iter().zip(bars_by_stock(problem, bars)).map(beyond).collect()
}

/// The total length of the bars in exact units, those beyond the limited quantity counted many
/// times over.
pub(super) fn cost(problem: &Problem, bars: &Bars) -> i128 {
    let used = bars_by_stock(problem, bars).into_iter().zip(bars_beyond(problem, bars));
    let each = problem.stocks.iter().zip(used).map(|(bar, (used, beyond))| {
        let weight = i128::from(used - beyond) + i128::from(beyond) * i128::from(SHORTAGE);
        i128::from(bar.length) * weight
    });
    each.sum()
}

/// What the pieces of a pattern take of the bar, kerfs included.
pub(super) fn taken(problem: &Problem, column: &Column) -> i64 {
    let each = column.pieces.iter().enumerate();
    each.map(|(length, &count)| problem.taken(length) * i64::from(count)).sum()
}

/// Each bar exchanged for the shortest one at hand that holds its pieces.
pub(super) fn shorten(problem: &Problem, bars: Bars) -> Bars {
    let mut used = bars_by_stock(problem, &bars);
    let mut shortened: Bars = Vec::new();
    for (column, mut times) in bars {
        let taken = taken(problem, &column);
        for stock in (column.stock + 1..problem.stocks.len()).rev() {
            let at_hand = match problem.stocks[stock].limit {
                Some(limit) => limit.saturating_sub(used[stock]),
                None => u32::MAX,
            };
            let moved = times.min(at_hand);
            if moved > 0 && problem.fits(taken, stock) {
                used[stock] += moved;
                used[column.stock] -= moved;
                times -= moved;
                shortened.push((Column { stock, pieces: column.pieces.clone() }, moved));
            }
        }
        if times > 0 {
            shortened.push((column, times));
        }
    }
    shortened
}
