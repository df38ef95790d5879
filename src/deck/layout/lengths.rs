//! Fewest different lengths: among plans that are alike in every earlier wish, the one that needs
//! the fewest different order lengths.
//!
//! Sets of lengths are grown by one length at a time, each by a length of a panel that begins
//! where the set's own panels get to; the first size at which some set gets to the far end is the
//! fewest, and all sets of that size are compared. Work is bounded; where the bound is hit, a plan
//! made by repeated reweighting stands in and is reported as not proved.
//!
//! In: the panels of all plans that are left. Out: one plan.

use std::collections::BTreeSet;

use super::along::PanelAlong;
use crate::length::Length;

/// Panels looked at before the search for the fewest lengths stops.
const MOST_LOOKS: usize = 4_000_000;

/// Sets of lengths kept at one size.
const MOST_SETS: usize = 50_000;

/// The cost of a panel on so many spans by the wishes that come after.
type Cost<'a> = dyn Fn(usize) -> u128 + 'a;

/// The plan of the fewest different lengths, and whether that is proved. The panels are sorted by
/// where they begin, every one of them lies on some plan, and any way through them is a plan.
pub(super) fn fewest(
    panels: &[PanelAlong],
    far: usize,
    cost: &Cost<'_>,
) -> (Vec<PanelAlong>, bool) {
    let mut lengths: Vec<Length> = panels.iter().map(|panel| panel.order).collect();
    lengths.sort_unstable();
    lengths.dedup();
    let any = longest_first(panels, far, &|_| true, cost);
    if lengths.len() < 2 || any.len() == panels.len() {
        return (any, true);
    }
    let mut looks = 0;
    let mut sets: BTreeSet<Vec<Length>> = BTreeSet::from([Vec::new()]);
    let mut reached = vec![false; far + 1];
    loop {
        let mut complete: Option<(u128, Vec<PanelAlong>)> = None;
        let mut grown = BTreeSet::new();
        for set in &sets {
            looks += panels.len();
            if looks > MOST_LOOKS || grown.len() > MOST_SETS {
                return (reweighted(panels, far, any), false);
            }
            let further = walk(panels, set, &mut reached);
            if reached[far] {
                let within = |length: Length| set.binary_search(&length).is_ok();
                let plan = longest_first(panels, far, &within, cost);
                let total = plan.iter().map(|panel| cost(panel.spans())).sum();
                if complete.as_ref().is_none_or(|(known, best)| {
                    total < *known || (total == *known && longer_first(&plan, best))
                }) {
                    complete = Some((total, plan));
                }
            } else if complete.is_none() {
                for length in further {
                    let mut larger = set.clone();
                    larger.insert(larger.partition_point(|known| *known < length), length);
                    grown.insert(larger);
                }
            }
        }
        if let Some((_, plan)) = complete {
            return (plan, true);
        }
        if grown.is_empty() {
            return (any, false);
        }
        sets = grown;
    }
}

/// Marks the supports that panels of these lengths get to from the start, and gives the lengths of
/// the other panels that begin at them.
fn walk(panels: &[PanelAlong], set: &[Length], reached: &mut [bool]) -> BTreeSet<Length> {
    reached.fill(false);
    reached[0] = true;
    let mut further = BTreeSet::new();
    for panel in panels {
        if !reached[panel.from] {
            continue;
        }
        if set.binary_search(&panel.order).is_ok() {
            reached[panel.to] = true;
        } else {
            further.insert(panel.order);
        }
    }
    further
}

fn longer_first(plan: &[PanelAlong], than: &[PanelAlong]) -> bool {
    plan.iter().map(|panel| panel.order).gt(than.iter().map(|panel| panel.order))
}

/// Of the plans of least cost that use only the lengths wanted, the one with the longest panels
/// first; empty where there is none.
pub(super) fn longest_first(
    panels: &[PanelAlong],
    far: usize,
    wanted: &dyn Fn(Length) -> bool,
    cost: &Cost<'_>,
) -> Vec<PanelAlong> {
    cheapest(panels, far, &|panel| wanted(panel.order).then(|| cost(panel.spans())))
}

/// The plan of least total cost, the longest panels first among equals.
fn cheapest(
    panels: &[PanelAlong],
    far: usize,
    cost: &dyn Fn(&PanelAlong) -> Option<u128>,
) -> Vec<PanelAlong> {
    let mut rest: Vec<Option<(u128, usize)>> = vec![None; far + 1];
    rest[far] = Some((0, usize::MAX));
    for (index, panel) in panels.iter().enumerate().rev() {
        let Some(((further, _), own)) = rest[panel.to].zip(cost(panel)) else { continue };
        let total = further + own;
        let better = match rest[panel.from] {
            None => true,
            Some((known, by)) => {
                total < known || (total == known && panel.order > panels[by].order)
            }
        };
        if better {
            rest[panel.from] = Some((total, index));
        }
    }
    let mut plan = Vec::new();
    let mut at = 0;
    while at != far {
        let Some((_, index)) = rest[at] else { return Vec::new() };
        plan.push(panels[index]);
        at = panels[index].to;
    }
    plan
}

/// A plan of few lengths, by making lengths dear that the last plan seldom used.
fn reweighted(panels: &[PanelAlong], far: usize, first: Vec<PanelAlong>) -> Vec<PanelAlong> {
    const ROUNDS: usize = 12;
    const DEAR: u128 = 1 << 40;
    let different =
        |plan: &[PanelAlong]| plan.iter().map(|panel| panel.order).collect::<BTreeSet<_>>().len();
    let mut best = first;
    let mut uses: Vec<Length> = panels.iter().map(|panel| panel.order).collect();
    for _ in 0..ROUNDS {
        uses.sort_unstable();
        let plan = cheapest(panels, far, &|panel| {
            let from = uses.partition_point(|length| *length < panel.order);
            let to = uses.partition_point(|length| *length <= panel.order);
            Some(u128::try_from(to - from).map_or(DEAR, |count| DEAR / (count * count + 1)))
        });
        uses = plan.iter().map(|panel| panel.order).collect();
        if different(&plan) < different(&best) {
            best = plan;
        }
    }
    best
}
