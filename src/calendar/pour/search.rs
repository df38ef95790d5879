//! The order of placing that ends the job soonest.
//!
//! Level and bay order first; another order is taken only where it ends sooner. Up to six pours
//! every order is tried; beyond that the longest chains first, then single pours drawn forward, a
//! bounded number of times.

use super::place::{Job, Plan};
use crate::value::Refusal;

/// Up to this many pours every order is tried.
const EXACT: usize = 6;
/// Pours placed in all while other orders are tried.
const PLACINGS: usize = 200_000;
const MOST_TRIES: usize = 400;

pub(super) fn best(job: &Job, order: &[usize]) -> Result<Plan, Refusal> {
    let least = job.least_last_day();
    let mut best = job.plan(order)?;
    if best.last_day() <= least {
        return Ok(best);
    }
    if order.len() <= EXACT {
        each_order(order.to_vec(), &mut |ranks| {
            let plan = job.plan(ranks)?;
            if plan.last_day() < best.last_day() {
                best = plan;
            }
            Ok(best.last_day() <= least)
        })?;
        return Ok(best);
    }
    let tails = job.tails();
    let mut ranks = order.to_vec();
    ranks.sort_by_key(|&at| std::cmp::Reverse(tails[at]));
    let plan = job.plan(&ranks)?;
    if plan.last_day() < best.last_day() {
        best = plan;
    } else {
        ranks = order.to_vec();
    }
    let mut tries = (PLACINGS / order.len()).min(MOST_TRIES);
    let mut from = 1;
    while from < ranks.len() && tries > 0 && best.last_day() > least {
        tries -= 1;
        let mut drawn = ranks.clone();
        drawn[..=from].rotate_right(1);
        let plan = job.plan(&drawn)?;
        if plan.last_day() < best.last_day() {
            (best, ranks, from) = (plan, drawn, 0);
        }
        from += 1;
    }
    Ok(best)
}

/// Visits the orders of a list in lexical order of place until `visit` says that it is enough.
fn each_order(
    list: Vec<usize>,
    visit: &mut impl FnMut(&[usize]) -> Result<bool, Refusal>,
) -> Result<(), Refusal> {
    let mut places: Vec<usize> = (0..list.len()).collect();
    loop {
        let ranks: Vec<usize> = places.iter().map(|&place| list[place]).collect();
        if visit(&ranks)? {
            return Ok(());
        }
        let Some(pivot) = places.windows(2).rposition(|pair| pair[0] < pair[1]) else {
            return Ok(());
        };
        let swap = places.iter().rposition(|&place| place > places[pivot]).unwrap_or(pivot);
        places.swap(pivot, swap);
        places[pivot + 1..].reverse();
    }
}
