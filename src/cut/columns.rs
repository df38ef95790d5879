//! Column generation: patterns worth having, and the bound that their prices prove.
//!
//! In: what is still to be cut. Out: the patterns known grown until no further pattern would
//! make the fractional plan cheaper (or the effort is spent), and the best proven bound.

use super::bound::{in_longest_bars, proven_total, whole_worth};
use super::knapsack::Table;
use super::master::{Column, Dual, Prices, Rest};
use super::problem::Problem;
use super::scale::{Rounding, Scale};

/// A pattern worth this little more than its bar, in longest bars, is not sought.
const TOLERANCE: f64 = 1e-7;

/// Work left, counted in steps that do not depend on the machine's speed: cells of tables, and
/// steps of the linear solver over all patterns, weighted by what each was seen to cost.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effort(pub i64);

/// What one step of the linear solver costs for each pattern, in cells.
const CELLS_A_STEP: u64 = 100;
/// What setting up or changing a linear program costs, in steps.
const STEPS_A_CHANGE: u64 = 3;

impl Effort {
    pub fn spent(self) -> bool {
        self.0 <= 0
    }

    pub fn spend_cells(&mut self, cells: i64) {
        self.0 = self.0.saturating_sub(cells);
    }

    /// Spends what the linear solver took over so many patterns.
    pub fn spend_steps(&mut self, steps: u64, patterns: usize) {
        let patterns = u64::try_from(patterns).unwrap_or(u64::MAX);
        let cells = steps.saturating_add(STEPS_A_CHANGE).saturating_mul(patterns);
        self.spend_cells(i64::try_from(cells.saturating_mul(CELLS_A_STEP)).unwrap_or(i64::MAX));
    }
}

/// Seeks patterns by price.
pub(super) struct Pricer<'a> {
    problem: &'a Problem,
    /// Patterns found on this scale do fit.
    inner: Scale,
    /// Bounds found on this scale do hold; `None` where the inner scale is exact.
    outer: Option<Scale>,
}

/// What one look at the prices gave.
struct Priced {
    /// For each stock length a pattern of greatest worth.
    columns: Vec<Column>,
    total: i64,
}

impl<'a> Pricer<'a> {
    pub fn new(problem: &'a Problem) -> Pricer<'a> {
        match Scale::exact(problem) {
            Some(inner) => Pricer { problem, inner, outer: None },
            None => Pricer {
                problem,
                inner: Scale::rounded(problem, Rounding::Up),
                outer: Some(Scale::rounded(problem, Rounding::Down)),
            },
        }
    }

    /// Whether patterns and bounds come from different scales.
    pub fn is_rounded(&self) -> bool {
        self.outer.is_some()
    }

    /// Looks for patterns that do fit, or for ones that only the bounding scale allows.
    fn price(&self, rest: &Rest, prices: &Prices, purpose: Purpose, effort: &mut Effort) -> Priced {
        let worth = whole_worth(prices);
        let outer = self.outer.as_ref().unwrap_or(&self.inner);
        let scale = if purpose == Purpose::Patterns { &self.inner } else { outer };
        let table = Table::fill(scale, &worth, &rest.counts);
        effort.spend_cells(table.work());
        let stocks = 0..self.problem.stocks.len();
        let bests: Vec<(i64, usize)> = stocks.map(|stock| table.best(stock)).collect();
        let total = if purpose == Purpose::Patterns && self.is_rounded() {
            0
        } else {
            let tops: Vec<i64> = bests.iter().map(|best| best.0).collect();
            proven_total(self.problem, rest, &worth, &tops)
        };
        let columns = bests.iter().enumerate().filter_map(|(stock, &(best, place))| {
            let over = in_longest_bars(best)
                - prices.bars[stock]
                - super::master::cost(self.problem, stock);
            (over > TOLERANCE).then(|| Column { stock, pieces: table.pattern(place) })
        });
        Priced { columns: columns.collect(), total }
    }
}

/// What patterns are sought for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    Patterns,
    Bound,
}

/// What generation ended with.
pub(super) struct Generated {
    /// The best proven least total for the rest, in exact units; 0 where none was sought.
    pub total: i64,
    /// The last prices; `None` where the solver failed.
    pub prices: Option<Prices>,
}

/// Adds patterns to those that can be cut from the rest until no further one makes the fractional
/// plan cheaper, or the effort is spent.
pub(super) fn generate(
    pricer: &Pricer,
    rest: &Rest,
    purpose: Purpose,
    columns: &mut Vec<Column>,
    effort: &mut Effort,
) -> Generated {
    let mut generated = Generated { total: 0, prices: None };
    let Some(mut dual) = Dual::solve(pricer.problem, rest, columns) else { return generated };
    effort.spend_steps(dual.steps(), columns.len());
    loop {
        let prices = dual.prices();
        let priced = pricer.price(rest, &prices, purpose, effort);
        generated.total = generated.total.max(priced.total);
        generated.prices = Some(prices);
        if priced.columns.is_empty() || effort.spent() {
            return generated;
        }
        for column in priced.columns {
            let before = dual.steps();
            let added = dual.add(pricer.problem, &column);
            columns.push(column);
            let Some(added) = added.or_else(|| Dual::solve(pricer.problem, rest, columns)) else {
                return generated;
            };
            dual = added;
            effort.spend_steps(dual.steps().saturating_sub(before), columns.len());
        }
    }
}

/// The bound that the pieces' own lengths prove, whatever the solver does.
pub(super) fn bound_by_length(pricer: &Pricer, rest: &Rest, effort: &mut Effort) -> i64 {
    let longest = pricer.problem.longest_bar().max(1);
    #[allow(clippy::cast_precision_loss, reason = "lengths are below 2^53 exact units")]
    let pieces =
        pricer.problem.lengths.iter().map(|&length| length as f64 / longest as f64).collect();
    let prices = Prices { pieces, bars: vec![0.0; pricer.problem.stocks.len()] };
    pricer.price(rest, &prices, Purpose::Bound, effort).total
}
