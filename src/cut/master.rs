//! The linear programs behind a plan, solved by microlp.
//!
//! The solver gives no dual values, and column generation lives on them. So the dual program is
//! solved in its own right: greatest total worth of the pieces such that no known pattern is worth
//! more than its bar. Its variables are the prices that patterns are sought by, and a new pattern
//! is one more constraint. How often each pattern is cut then comes from the primal program over
//! the patterns that the prices leave tight. Lengths are in longest bars, which keeps the
//! coefficients within the few orders of magnitude that the solver likes.

use microlp::{ComparisonOp, OptimizationDirection, Solution, Variable};

use super::problem::Problem;

/// What a bar beyond the limited quantity costs, in bars of that length: out of all proportion, so
/// that a plan takes one only where nothing else is left.
pub(super) const SHORTAGE: i64 = 1000;

/// A pattern: pieces of each length out of one bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Column {
    pub stock: usize,
    pub pieces: Vec<u32>,
}

/// What is still to be cut and what there is for it.
#[derive(Clone, Debug)]
pub(super) struct Rest {
    pub counts: Vec<u32>,
    pub limits: Vec<Option<u32>>,
}

/// The worth of a piece of each length, and what a bar of each limited length is worth above its
/// own length; all in longest bars.
pub(super) struct Prices {
    pub pieces: Vec<f64>,
    pub bars: Vec<f64>,
}

impl Prices {
    /// By how much a pattern is worth more than its bar.
    pub fn excess(&self, problem: &Problem, column: &Column) -> f64 {
        let worth: f64 =
            self.pieces.iter().zip(&column.pieces).map(|(p, &n)| p * f64::from(n)).sum();
        worth - self.bars[column.stock] - cost(problem, column.stock)
    }
}

/// A bar's length in longest bars.
#[allow(clippy::cast_precision_loss, reason = "lengths are below 2^53 exact units")]
pub(super) fn cost(problem: &Problem, stock: usize) -> f64 {
    problem.stocks[stock].length as f64 / problem.longest_bar().max(1) as f64
}

#[allow(clippy::cast_precision_loss, reason = "a small constant")]
fn shortage_cost(problem: &Problem, stock: usize) -> f64 {
    cost(problem, stock) * (SHORTAGE - 1) as f64
}

/// The dual program with the patterns known so far.
pub(super) struct Dual {
    solution: Solution,
    pieces: Vec<Variable>,
    bars: Vec<Variable>,
}

impl Dual {
    /// Solves for the given patterns; every length still to be cut should be in one of them.
    /// `None` where the solver fails.
    pub fn solve(problem: &Problem, rest: &Rest, columns: &[Column]) -> Option<Dual> {
        let mut program = microlp::Problem::new(OptimizationDirection::Maximize);
        #[allow(clippy::cast_precision_loss, reason = "a small constant")]
        let most = (2 * SHORTAGE) as f64;
        let pieces: Vec<Variable> = rest
            .counts
            .iter()
            .map(|&count| {
                program.add_var(f64::from(count), (0.0, if count > 0 { most } else { 0.0 }))
            })
            .collect();
        let bars: Vec<Variable> = (0..problem.stocks.len())
            .map(|stock| match rest.limits[stock] {
                Some(limit) => {
                    program.add_var(-f64::from(limit), (0.0, shortage_cost(problem, stock)))
                }
                None => program.add_var(0.0, (0.0, 0.0)),
            })
            .collect();
        for column in columns {
            let terms = terms(&pieces, &bars, column);
            program.add_constraint(terms, ComparisonOp::Le, cost(problem, column.stock));
        }
        let solution = program.solve().ok()?.into_solution().ok()?;
        Some(Dual { solution, pieces, bars })
    }

    /// Solves again with one more pattern.
    pub fn add(self, problem: &Problem, column: &Column) -> Option<Dual> {
        let Dual { solution, pieces, bars } = self;
        let terms = terms(&pieces, &bars, column);
        let cost = cost(problem, column.stock);
        let outcome = solution.add_constraint(terms, ComparisonOp::Le, cost).ok()?;
        Some(Dual { solution: outcome.into_solution().ok()?, pieces, bars })
    }

    /// The solver's steps so far.
    pub fn steps(&self) -> u64 {
        self.solution.stats().lp_iterations
    }

    pub fn prices(&self) -> Prices {
        let values = |variables: &[Variable]| {
            variables.iter().map(|&variable| self.solution.var_value(variable).max(0.0)).collect()
        };
        Prices { pieces: values(&self.pieces), bars: values(&self.bars) }
    }
}

fn terms(pieces: &[Variable], bars: &[Variable], column: &Column) -> Vec<(Variable, f64)> {
    let mut terms: Vec<(Variable, f64)> = pieces
        .iter()
        .zip(&column.pieces)
        .filter(|(_, count)| **count > 0)
        .map(|(&variable, &count)| (variable, f64::from(count)))
        .collect();
    terms.push((bars[column.stock], -1.0));
    terms
}

/// How often each pattern is cut in the cheapest fractional plan, and the solver's steps; `None`
/// where the solver fails.
pub(super) fn fractional_plan(
    problem: &Problem,
    rest: &Rest,
    columns: &[Column],
) -> Option<(Vec<f64>, u64)> {
    let mut program = microlp::Problem::new(OptimizationDirection::Minimize);
    let times: Vec<Variable> = columns
        .iter()
        .map(|column| program.add_var(cost(problem, column.stock), (0.0, f64::INFINITY)))
        .collect();
    for (length, &count) in rest.counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        let terms: Vec<(Variable, f64)> = times
            .iter()
            .zip(columns)
            .filter(|(_, column)| column.pieces[length] > 0)
            .map(|(&variable, column)| (variable, f64::from(column.pieces[length])))
            .collect();
        program.add_constraint(terms, ComparisonOp::Ge, f64::from(count));
    }
    for (stock, limit) in rest.limits.iter().enumerate() {
        if let Some(limit) = limit {
            let mut terms: Vec<(Variable, f64)> = times
                .iter()
                .zip(columns)
                .filter(|(_, column)| column.stock == stock)
                .map(|(&variable, _)| (variable, 1.0))
                .collect();
            if !terms.is_empty() {
                let beyond = program.add_var(shortage_cost(problem, stock), (0.0, f64::INFINITY));
                terms.push((beyond, -1.0));
                program.add_constraint(terms, ComparisonOp::Le, f64::from(*limit));
            }
        }
    }
    let solution = program.solve().ok()?.into_solution().ok()?;
    let steps = solution.stats().lp_iterations;
    Some((times.iter().map(|&variable| solution.var_value(variable)).collect(), steps))
}
