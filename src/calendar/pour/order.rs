//! The order of pours: by level and bay mark, and by what waits for what.

use std::cmp::Ordering;

use super::input::{Pour, Settings};
use crate::value::Refusal;

/// A pour that must be placed before another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Link {
    pub before: usize,
    /// Calendar days from the one to the other, at least.
    pub days: i64,
    pub why: Wait,
}

/// Why a pour waits for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wait {
    /// It names the other.
    After,
    /// The other has an earlier place in the order of their level.
    Order,
    /// It waits for the other's whole level.
    Level,
}

/// Refuses places that are not in the list.
pub(super) fn check(pours: &[Pour]) -> Result<(), Refusal> {
    for (at, pour) in pours.iter().enumerate() {
        let mut places = pour.after.iter().chain(&pour.neighbours);
        if let Some(place) = places.find(|&&place| place >= pours.len()) {
            let wanted = format!("places of the list, below {}", pours.len());
            return Err(Refusal::new(format!("pours[{at}]"), place, wanted));
        }
    }
    Ok(())
}

/// The places of the pours by level order, level, place in the level's order, first bay, mark.
pub(super) fn in_level_and_bay_order(pours: &[Pour]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..pours.len()).collect();
    order.sort_by(|&one, &other| {
        let (a, b) = (&pours[one], &pours[other]);
        a.level_order
            .cmp(&b.level_order)
            .then_with(|| natural(&a.level, &b.level))
            .then_with(|| a.order.unwrap_or(i64::MAX).cmp(&b.order.unwrap_or(i64::MAX)))
            .then_with(|| {
                let first = |pour: &Pour| pour.bays.first().cloned().unwrap_or_default();
                natural(&first(a), &first(b))
            })
            .then_with(|| natural(&a.mark, &b.mark))
            .then(one.cmp(&other))
    });
    order
}

/// What each pour waits for; a ring is refused.
pub(super) fn links(
    pours: &[Pour],
    order: &[usize],
    settings: &Settings,
) -> Result<Vec<Vec<Link>>, Refusal> {
    let mut links: Vec<Vec<Link>> = pours
        .iter()
        .map(|pour| {
            let link = |&before: &usize| Link { before, days: 1, why: Wait::After };
            pour.after.iter().map(link).collect()
        })
        .collect();
    if let Some(days) = settings.level_gap_days {
        let levels: Vec<&[usize]> = order
            .chunk_by(|&one, &other| pours[one].level_order == pours[other].level_order)
            .collect();
        for pair in levels.windows(2) {
            for &above in pair[1] {
                let link = |&before: &usize| Link { before, days, why: Wait::Level };
                links[above].extend(pair[0].iter().map(link));
            }
        }
    }
    match ring(&links) {
        None => Ok(in_their_order(pours, order, links)),
        Some(ring) => {
            let marks: Vec<&str> = ring.iter().map(|&at| pours[at].mark.as_str()).collect();
            let wanted =
                "an order of placing (each of these pours is to be placed before the next)";
            Err(Refusal::new("pours", format!("a ring, {}", marks.join(" -> ")), wanted))
        }
    }
}

/// The links with those of the places in the order of a level, as far as nothing else asks for
/// another order.
fn in_their_order(pours: &[Pour], order: &[usize], mut links: Vec<Vec<Link>>) -> Vec<Vec<Link>> {
    let key = |at: usize| (pours[at].level_order, &pours[at].level);
    let placed: Vec<usize> =
        order.iter().copied().filter(|&at| pours[at].order.is_some()).collect();
    for level in placed.chunk_by(|&one, &other| key(one) == key(other)) {
        let here = |at: usize| key(at) == key(level[0]);
        let free = level.iter().all(|&at| pours[at].after.is_empty());
        for (at, &next) in level.iter().enumerate() {
            // From the nearest place back: what the next waits for by way of others is not said twice.
            let earlier =
                level[..at].iter().rev().filter(|&&it| pours[it].order < pours[next].order);
            let mut nearest = None;
            for &before in earlier {
                if free && *nearest.get_or_insert(pours[before].order) != pours[before].order {
                    break;
                }
                if !waits(&links, next, before, &here) && !waits(&links, before, next, &here) {
                    links[next].push(Link { before, days: 0, why: Wait::Order });
                }
            }
        }
    }
    links
}

/// Whether a pour waits for another, be it by way of others of their level.
fn waits(links: &[Vec<Link>], of: usize, other: usize, here: &dyn Fn(usize) -> bool) -> bool {
    let (mut seen, mut open) = (vec![false; links.len()], vec![of]);
    while let Some(at) = open.pop() {
        if at == other {
            return true;
        }
        if !std::mem::replace(&mut seen[at], true) {
            open.extend(links[at].iter().map(|link| link.before).filter(|&at| here(at)));
        }
    }
    false
}

/// A ring of pours each before the next, from its first in the list back to it.
fn ring(links: &[Vec<Link>]) -> Option<Vec<usize>> {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let mut states = vec![State::New; links.len()];
    for start in 0..links.len() {
        // Each step of the path: a pour and how many of its links have been followed.
        let mut path = vec![(start, 0)];
        if states[start] != State::New {
            continue;
        }
        states[start] = State::Open;
        while let Some((at, followed)) = path.last_mut() {
            let Some(link) = links[*at].get(*followed) else {
                states[*at] = State::Done;
                path.pop();
                continue;
            };
            *followed += 1;
            let before = link.before;
            match states[before] {
                State::New => {
                    states[before] = State::Open;
                    path.push((before, 0));
                }
                State::Open => {
                    let from = path.iter().position(|(at, _)| *at == before).unwrap_or(0);
                    let mut ring: Vec<usize> = path[from..].iter().map(|(at, _)| *at).collect();
                    ring.reverse();
                    let least = (0..ring.len()).min_by_key(|&at| ring[at]).unwrap_or(0);
                    ring.rotate_left(least);
                    ring.extend(ring.first().copied());
                    return Some(ring);
                }
                State::Done => {}
            }
        }
    }
    None
}

/// Compares marks as people number them: `9` before `10`, `B2` before `B10`.
pub(super) fn natural(one: &str, other: &str) -> Ordering {
    let (mut a, mut b) = (one, other);
    while !a.is_empty() && !b.is_empty() {
        let digits =
            |text: &str| text.find(|sign: char| !sign.is_ascii_digit()).unwrap_or(text.len());
        let (in_a, in_b) = (digits(a), digits(b));
        if in_a > 0 && in_b > 0 {
            let (number_a, number_b) =
                (a[..in_a].trim_start_matches('0'), b[..in_b].trim_start_matches('0'));
            let order = number_a.len().cmp(&number_b.len()).then_with(|| number_a.cmp(number_b));
            if order != Ordering::Equal {
                return order;
            }
            (a, b) = (&a[in_a..], &b[in_b..]);
        } else {
            let (sign_a, sign_b) = (a.chars().next(), b.chars().next());
            if sign_a != sign_b {
                return sign_a.cmp(&sign_b);
            }
            let length = sign_a.map_or(1, char::len_utf8);
            (a, b) = (&a[length..], &b[length..]);
        }
    }
    a.len().cmp(&b.len()).then_with(|| one.cmp(other))
}
