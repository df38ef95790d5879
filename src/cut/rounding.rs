//! From a fractional plan to whole bars.
//!
//! In: a problem and the effort to spend. Out: whole bars that cut every piece exactly once, and
//! the proven bounds. A dive cuts every pattern as often as the fractional plan says in whole
//! numbers, then one pattern more, and works the fractional plan out anew for what is left, with
//! patterns made for it. Further dives depart from the first choice at a step or two, until the
//! bound is met or the effort is spent. What is small enough is solved exactly.

use super::bars::{Bars, cost, shorten, whole};
use super::bound::Totals;
use super::columns::{Effort, Pricer, Purpose, bound_by_length, generate};
use super::exact::exact;
use super::fill::{fill, times_possible};
use super::master::{Column, Prices, Rest, fractional_plan};
use super::problem::Problem;

/// Patterns worth as much as their bar to within this, in longest bars, may be in the fractional
/// plan.
const TIGHT: f64 = 1e-6;
/// A fraction this close below a whole number counts as the whole.
const NEARLY: f64 = 1e-6;
/// No more dives than this depart from the first.
const MOST_DIVES: usize = 100;

/// A search for the cheapest whole plan.
pub(super) struct Search<'a> {
    problem: &'a Problem,
    pricer: Pricer<'a>,
    totals: Totals,
    effort: Effort,
    /// Patterns of the first fractional plan.
    pool: Vec<Column>,
    best: Option<(i128, Bars)>,
    lp_total: i64,
    least_total: i64,
}

/// What a search ended with; totals in exact units.
pub(super) struct Found {
    pub bars: Bars,
    /// The bound that the linear program proves.
    pub lp_total: i64,
    /// The least total that bars can add up to and that is not below that bound.
    pub least_total: i64,
    /// Whether the bars are known to be the best there are.
    pub exact: bool,
}

/// How a dive ended.
#[derive(PartialEq, Eq)]
enum Step {
    Further,
    Ended,
}

/// A dive under way.
struct Dive {
    rest: Rest,
    bars: Bars,
    /// The patterns known that can still be cut.
    columns: Vec<Column>,
}

impl<'a> Search<'a> {
    pub fn new(problem: &'a Problem, effort: Effort) -> Search<'a> {
        Search {
            problem,
            pricer: Pricer::new(problem),
            totals: Totals::of(problem),
            effort,
            pool: Vec::new(),
            best: None,
            lp_total: 0,
            least_total: 0,
        }
    }

    /// Searches until the bound is met or the effort is spent.
    pub fn run(mut self) -> Found {
        self.start();
        let exact = exact(self.problem, &whole(self.problem), &mut self.effort);
        if let Some(bars) = exact {
            let least = cost(self.problem, &bars);
            let least_total = i64::try_from(least).unwrap_or(i64::MAX);
            return Found { bars, lp_total: self.lp_total, least_total, exact: true };
        }
        let steps = self.dive(&[]);
        for departures in departures(steps) {
            if self.is_met() || self.effort.spent() {
                break;
            }
            self.dive(&departures);
        }
        let bars = self.best.map(|best| best.1).unwrap_or_default();
        let (lp_total, least_total) = (self.lp_total, self.least_total);
        Found { bars, lp_total, least_total, exact: false }
    }

    /// A first plan, the patterns of the fractional plan, and the bound. Half of the effort may go
    /// into the patterns and, where bounds are sought apart, half of what is left into the bound.
    fn start(&mut self) {
        let whole = whole(self.problem);
        let filled = fill(self.problem, &whole);
        self.pool.extend(filled.iter().map(|(column, _)| column.clone()));
        self.keep(filled);
        let by_length = bound_by_length(&self.pricer, &whole, &mut self.effort);
        let mut share = Effort(self.effort.0 / 2);
        self.effort.spend_cells(share.0);
        let root = generate(&self.pricer, &whole, Purpose::Patterns, &mut self.pool, &mut share);
        self.effort.spend_cells(-share.0);
        self.lp_total = by_length.max(root.total);
        if self.pricer.is_rounded() {
            let mut columns = self.pool.clone();
            let mut share = Effort(self.effort.0 / 2);
            self.effort.spend_cells(share.0);
            let bound = generate(&self.pricer, &whole, Purpose::Bound, &mut columns, &mut share);
            self.effort.spend_cells(-share.0);
            self.lp_total = self.lp_total.max(bound.total);
        }
        self.least_total = self.totals.at_least(self.lp_total);
    }

    fn is_met(&self) -> bool {
        self.best.as_ref().is_some_and(|best| best.0 <= i128::from(self.least_total))
    }

    /// Keeps a plan if it is the cheapest so far.
    fn keep(&mut self, bars: Bars) {
        let bars = shorten(self.problem, bars);
        let cost = cost(self.problem, &bars);
        if self.best.as_ref().is_none_or(|best| cost < best.0) {
            self.best = Some((cost, bars));
        }
    }

    /// One dive; at the given steps, counted from 1, the second choice is taken. A dive without
    /// departures goes to its end even where the effort is spent. Gives the number of steps.
    fn dive(&mut self, departures: &[usize]) -> usize {
        let (rest, columns) = (whole(self.problem), self.pool.clone());
        let mut dive = Dive { rest, bars: Vec::new(), columns };
        let mut step = 0;
        while !dive.rest.is_done() {
            step += 1;
            if self.is_met() || (!departures.is_empty() && self.effort.spent()) {
                return step;
            }
            if self.step(&mut dive, departures.contains(&step)) == Step::Ended {
                return step;
            }
        }
        self.keep(dive.bars);
        step
    }

    fn step(&mut self, dive: &mut Dive, depart: bool) -> Step {
        let filled = fill(self.problem, &dive.rest);
        let rest = &dive.rest;
        dive.columns.retain(|column| times_possible(&rest.counts, column) > 0);
        dive.columns.extend(filled.iter().map(|(column, _)| column.clone()));
        self.keep(dive.bars.iter().cloned().chain(filled).collect());
        if let Some(bars) = exact(self.problem, rest, &mut self.effort) {
            self.keep(dive.bars.iter().cloned().chain(bars).collect());
            return Step::Ended;
        }
        let patterns = Purpose::Patterns;
        let generated = generate(&self.pricer, rest, patterns, &mut dive.columns, &mut self.effort);
        let Some(prices) = generated.prices else { return Step::Ended };
        if self.is_hopeless(&dive.bars, generated.total) {
            return Step::Ended;
        }
        let tight = tight(self.problem, &prices, &dive.columns);
        let Some((times, steps)) = fractional_plan(self.problem, rest, &tight) else {
            return Step::Ended;
        };
        self.effort.spend_steps(steps, tight.len());
        if dive.cut(&tight, &times, depart) { Step::Further } else { Step::Ended }
    }

    /// Whether bars cut so far and the bound on the rest leave nothing to gain.
    fn is_hopeless(&self, bars: &Bars, total: i64) -> bool {
        let least = cost(self.problem, bars) + i128::from(total);
        let least =
            i64::try_from(least).map_or(least, |least| i128::from(self.totals.at_least(least)));
        self.best.as_ref().is_some_and(|best| best.0 <= least)
    }
}

impl Dive {
    /// Cuts whole numbers of patterns and one pattern more, the one with the greatest fraction left
    /// or, to depart, the next. Gives whether anything was cut.
    fn cut(&mut self, tight: &[Column], times: &[f64], depart: bool) -> bool {
        let before = self.bars.len();
        let mut fractions: Vec<(f64, &Column)> = Vec::new();
        for (column, &times) in tight.iter().zip(times) {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates")]
            let whole = (times + NEARLY).floor().max(0.0) as u32;
            let whole = whole.min(times_possible(&self.rest.counts, column));
            fractions.push((times - f64::from(whole), column));
            self.take(column, whole);
        }
        fractions.sort_by(|one, other| other.0.total_cmp(&one.0));
        let possible = |column: &&Column| times_possible(&self.rest.counts, column) > 0;
        let mut choices = fractions.iter().map(|fraction| fraction.1).filter(possible);
        let first = choices.next();
        let choice = if depart { choices.next().or(first) } else { first };
        if let Some(column) = choice {
            self.take(column, 1);
        }
        self.bars.len() > before
    }

    fn take(&mut self, column: &Column, times: u32) {
        if times > 0 {
            self.rest.take(column, times);
            self.bars.push((column.clone(), times));
        }
    }
}

/// The steps at which dives depart: each alone, then each two.
fn departures(steps: usize) -> impl Iterator<Item = Vec<usize>> {
    let alone = (1..=steps).map(|step| vec![step]);
    let twos = (2..=steps).flat_map(|second| (1..second).map(move |first| vec![first, second]));
    alone.chain(twos).take(MOST_DIVES)
}

/// The patterns that may be in the fractional plan at these prices.
fn tight(problem: &Problem, prices: &Prices, columns: &[Column]) -> Vec<Column> {
    let tight = columns.iter().filter(|column| prices.excess(problem, column).abs() < TIGHT);
    tight.cloned().collect()
}
