//! Bays that are placed on plan: whether two of them lie over each other, or meet end to end where
//! their deck laps.

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use super::log::Log;
use super::marks;
use crate::deck::layout::openings::{extent, overlap};
use crate::deck::layout::outline::Corner;
use crate::finding::Finding;
use crate::job::{Bay, Job, Runs, Status};
use crate::length::{Length, Unit};
use crate::value::Value;

/// Bays may lie over each other by so much before it is said: places are often rounded.
const SLACK: Length = Length::inches(1);

/// So many pairs are compared; more are said not to be.
const MOST_PAIRS: usize = 2_000_000;

/// A bay on plan.
struct Placed<'a> {
    bay: &'a Bay,
    corners: Vec<Corner>,
    east: (Length, Length),
    north: (Length, Length),
}

pub fn check(job: &Job, log: &mut Log) {
    let mut levels: BTreeMap<(String, Option<String>), Vec<Placed<'_>>> = BTreeMap::new();
    for bay in job.bays.iter().filter(|bay| bay.status != Status::Void) {
        let is_placed = ["x_ft", "y_ft"]
            .iter()
            .all(|key| bay.rest.get(key).and_then(Value::as_number).is_some());
        if !is_placed {
            continue;
        }
        let feet = |number: f64| Length::from_number(number, Unit::Foot).unwrap_or(Length::LONGEST);
        let plan = match job.outline_rows(bay)[..] {
            [] => bay.rectangle(),
            _ => job.plan_corners(bay),
        };
        let corners: Vec<Corner> =
            plan.iter().map(|&(x, y)| Corner::on_plan(feet(x), feet(y), false)).collect();
        let (east, north) = (extent(&corners, |at| at.along), extent(&corners, |at| at.across));
        let alternate = bay.alternate.as_deref().map(|name| marks::key(name).into_owned());
        let key = (marks::key(&bay.level).into_owned(), alternate);
        levels.entry(key).or_default().push(Placed { bay, corners, east, north });
    }
    let mut pairs = 0;
    let mut asked = HashSet::new();
    for bays in levels.values_mut() {
        unlapped(job, bays, &mut asked, log);
        bays.sort_by_key(|placed| placed.east.0);
        for (at, one) in bays.iter().enumerate() {
            let beside = bays.iter().skip(at + 1);
            for other in beside.take_while(|other| other.east.0 + SLACK < one.east.1) {
                pairs += 1;
                if pairs > MOST_PAIRS {
                    log.push(
                        Finding::warning(
                            "overlaps-not-sought",
                            format!(
                                "after {MOST_PAIRS} pairs of bays it is not sought further which \
                                 lie over each other"
                            ),
                        )
                        .hint("leave X and Y blank where they are not known"),
                    );
                    return;
                }
                if lie_over(one, other) {
                    say(job, log, one.bay, other.bay);
                }
            }
        }
    }
}

/// Bays of deck that laps at its ends and that meet end to end in rows of their own: panels of one row
/// know nothing of the other's, and no lap is ordered.
fn unlapped(job: &Job, bays: &[Placed<'_>], asked: &mut HashSet<[(u16, u32); 2]>, log: &mut Log) {
    const MOST_BESIDE: usize = 64;
    let laps = |placed: &&Placed<'_>| {
        let deck = job.decks.get(placed.bay.deck as usize);
        let word = deck.and_then(|deck| deck.fields.get("use")).and_then(Value::as_text);
        matches!(word, Some("roof" | "form")) && placed.corners.len() == 4
    };
    for way in [Runs::EastWest, Runs::NorthSouth] {
        let runs = |placed: &&Placed<'_>| placed.bay.runs.unwrap_or(Runs::EastWest) == way;
        let along = |placed: &Placed<'_>| match way {
            Runs::EastWest => (placed.east, placed.north),
            Runs::NorthSouth => (placed.north, placed.east),
        };
        let of_way: Vec<&Placed<'_>> = bays.iter().filter(laps).filter(runs).collect();
        let mut starts: BTreeMap<Length, Vec<&Placed<'_>>> = BTreeMap::new();
        for placed in &of_way {
            starts.entry(along(placed).0.0).or_default().push(placed);
        }
        for one in &of_way {
            let (ends, width) = along(one);
            let row = |placed: &Placed<'_>| (placed.bay.reading, placed.bay.row);
            let meets = |other: &&Placed<'_>| {
                let its = along(other).1;
                let called = |strip: &Option<(Arc<str>, i64, i64)>| {
                    strip.as_ref().map(|(name, ..)| marks::key(name).into_owned())
                };
                let strips = (called(&one.bay.strip), called(&other.bay.strip));
                width.1.min(its.1) - width.0.max(its.0) > SLACK
                    && one.bay.deck == other.bay.deck
                    && one.bay.sequence == other.bay.sequence
                    && one.bay.far_end.is_none()
                    && other.bay.start_end.is_none()
                    && (strips.0.is_none() || strips.0 != strips.1)
            };
            let near = starts.range(ends.1 - SLACK..=ends.1 + SLACK).flat_map(|(_, near)| near);
            let Some(other) = near.copied().take(MOST_BESIDE).find(meets) else { continue };
            // Levels that are like another say no more.
            if !asked.insert([row(one), row(other)]) {
                continue;
            }
            let mut finding = Finding::warning(
                "no-lap-between",
                format!(
                    "bays of level `{}` meet end to end where deck laps and are no strip: no end lap \
                     is ordered between them",
                    one.bay.level
                ),
            )
            .hint(
                "give them one Strip with Along; or say at Far end and Start end how they end there",
            );
            let places = [one.bay, other.bay].map(|bay| job.cell(bay.reading, bay.row, "bay"));
            finding.places = places.into_iter().flatten().collect();
            log.push(finding);
        }
    }
}

fn lie_over(one: &Placed<'_>, other: &Placed<'_>) -> bool {
    let by = |a: (Length, Length), b: (Length, Length)| a.1.min(b.1) - a.0.max(b.0);
    by(one.east, other.east) > SLACK
        && by(one.north, other.north) > SLACK
        && overlap(&one.corners, &other.corners)
}

fn say(job: &Job, log: &mut Log, one: &Bay, other: &Bay) {
    let mut finding = Finding::warning(
        "bays-overlap",
        format!(
            "bays `{}` and `{}` of level `{}` lie over each other on plan; both are counted",
            one.mark, other.mark, one.level
        ),
    )
    .hint("check X, Y, Spans, Width and Runs: X is east and Y north of the south-west corner");
    finding.places =
        [one, other].iter().filter_map(|bay| job.cell(bay.reading, bay.row, "x_ft")).collect();
    log.push(finding);
}
