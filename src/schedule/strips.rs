//! Strips: whether their rows agree and fill every place, so that one layout serves them all.

use std::collections::{BTreeSet, HashMap};

use super::log::Log;
use super::marks::Mark;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Job, Status};

/// The fields of a deck that panels of one layout share, and what is wanted of them.
const PANEL: [(&str, &str); 6] = [
    ("type", "one type"),
    ("profile", "one profile"),
    ("cover_in", "one cover"),
    ("gauge", "one gauge"),
    ("grade", "one steel grade"),
    ("finish", "one finish"),
];

/// The levels on which a strip of a name stands.
type Levels<'a> = HashMap<&'a str, Vec<&'a str>>;

pub fn check(job: &Job, log: &mut Log) {
    let mut strips: Vec<Vec<&Bay>> = Vec::new();
    let mut by_key: HashMap<(Mark<'_>, Mark<'_>), usize> = HashMap::new();
    for bay in &job.bays {
        let Some((strip, _, _)) = &bay.strip else { continue };
        let at = *by_key.entry((Mark(&bay.level), Mark(strip))).or_insert_with(|| {
            strips.push(Vec::new());
            strips.len() - 1
        });
        if let Some(strip) = strips.get_mut(at) {
            strip.push(bay);
        }
    }
    let mut levels: Levels<'_> = HashMap::new();
    for bay in strips.iter().filter_map(|strip| strip.first()) {
        if let Some((name, ..)) = &bay.strip {
            levels.entry(name).or_default().push(&bay.level);
        }
    }
    for strip in &strips {
        if strip.iter().all(|bay| bay.status == Status::Void) {
            continue;
        }
        agree(job, log, strip);
        if !shares_places(job, log, strip) {
            fills(job, log, strip, &levels);
        }
    }
}

/// One deck, direction, sequence, status, alternate and count of copies: a row that is not ordered
/// with the others would take panels out of their layout.
fn agree(job: &Job, log: &mut Log, strip: &[&Bay]) {
    let Some((first, others)) = strip.split_first() else { return };
    let of_deck = |bay: &Bay, key: &str| job.decks.get(bay.deck as usize)?.fields.get(key).cloned();
    for bay in others {
        let differs =
            |key: &str| first.deck != bay.deck && of_deck(first, key) != of_deck(bay, key);
        if let Some((key, wanted)) = PANEL.iter().find(|(key, _)| differs(key)) {
            disagree(job, log, first, bay, key, wanted, None);
        }
        if first.runs != bay.runs {
            disagree(job, log, first, bay, "runs", "one direction", None);
        }
        if first.sequence != bay.sequence {
            disagree(job, log, first, bay, "sequence", "one sequence", None);
        }
        if first.status != bay.status {
            let hint = "panels run from row to row and are counted over the whole strip: give the \
                        rows of another status a strip of their own, and number the places anew";
            disagree(job, log, first, bay, "status", "one status", Some(hint));
        }
        if first.alternate != bay.alternate {
            let hint = "give the rows of an alternate a strip of their own";
            disagree(job, log, first, bay, "alternate", "one alternate", Some(hint));
        }
        if first.copies != bay.copies {
            disagree(job, log, first, bay, "copies", "equal Copies in all its rows", None);
        }
    }
}

/// Equal places along have equal spans, equal places across equal widths; whether two rows stand in
/// one place.
fn shares_places(job: &Job, log: &mut Log, strip: &[&Bay]) -> bool {
    let mut places: HashMap<(i64, i64), &Bay> = HashMap::new();
    let mut along: HashMap<i64, &Bay> = HashMap::new();
    let mut across: HashMap<i64, &Bay> = HashMap::new();
    let mut is_shared = false;
    for bay in strip.iter().copied() {
        let Some((_, place_along, place_across)) = &bay.strip else { continue };
        if let Some(other) = places.insert((*place_along, *place_across), bay) {
            is_shared = true;
            disagree(job, log, other, bay, "along", "a place of its own for each row", None);
        }
        let spans = |bay: &Bay| bay.spans.iter().map(|s| s.length).collect::<Vec<_>>();
        let other = *along.entry(*place_along).or_insert(bay);
        if spans(other) != spans(bay) {
            let wanted = "equal Spans in rows equal in Along";
            disagree(job, log, other, bay, "spans_ft", wanted, None);
        }
        let other = *across.entry(*place_across).or_insert(bay);
        if other.width() != bay.width() {
            let wanted = "equal Width in rows equal in Across";
            disagree(job, log, other, bay, "widths_ft", wanted, None);
        }
    }
    is_shared
}

/// Every place from 1 on along and across has a row: else panels begin in rows that are not there.
fn fills(job: &Job, log: &mut Log, strip: &[&Bay], levels: &Levels<'_>) {
    let places: BTreeSet<(i64, i64)> =
        strip.iter().filter_map(|bay| bay.strip.as_ref().map(|(_, a, c)| (*a, *c))).collect();
    let numbers = |of: fn(&(i64, i64)) -> i64| places.iter().map(of).collect::<BTreeSet<i64>>();
    let gap = |numbers: &BTreeSet<i64>| {
        (1..).zip(numbers).find(|(wanted, found)| wanted != *found).map(|(wanted, _)| wanted)
    };
    let (along, across) = (numbers(|place| place.0), numbers(|place| place.1));
    let (key, missing) = if let Some(gap) = gap(&along) {
        ("along", format!("at Along {gap}"))
    } else if let Some(gap) = gap(&across) {
        ("across", format!("at Across {gap}"))
    } else {
        let of = |a: &i64| across.iter().map(|c| (*a, *c)).collect::<Vec<_>>();
        let Some((a, c)) = along.iter().flat_map(of).find(|place| !places.contains(place)) else {
            return;
        };
        ("across", format!("at Along {a}, Across {c}"))
    };
    let (Some(first), Some((name, ..))) =
        (strip.first(), strip.first().and_then(|bay| bay.strip.as_ref()))
    else {
        return;
    };
    let mut of_name = levels.get(&**name).into_iter().flatten();
    let elsewhere = of_name.find(|level| **level != &*first.level);
    let left_out =
        job.readings.get(usize::from(first.reading)).filter(|reading| !reading.left_out.is_empty());
    let hint = if let Some(reading) = left_out {
        format!("rows of {} are left out: what is wrong in them comes first", reading.sheet)
    } else if let Some(level) = elsewhere {
        format!(
            "a strip `{name}` stands on level `{level}` too: the rows of one strip stand on one level"
        )
    } else {
        "number Along and Across from 1 on, and give every place a row".to_owned()
    };
    let mut finding = Finding::error(
        "strip-incomplete",
        format!(
            "strip `{name}` on level `{}` has no row {missing}: panels that begin there are not \
             counted",
            first.level
        ),
    )
    .hint(hint);
    finding.places =
        strip.iter().filter_map(|bay| job.cell(bay.reading, bay.row, key)).collect::<Vec<Place>>();
    log.push(finding);
}

fn disagree(
    job: &Job,
    log: &mut Log,
    first: &Bay,
    bay: &Bay,
    key: &str,
    wanted: &str,
    hint: Option<&str>,
) {
    let strip = bay.strip.as_ref().map_or("", |(strip, _, _)| strip);
    let mut finding = Finding::error(
        "strip-disagrees",
        format!(
            "bays `{}` and `{}` of strip `{strip}` on level `{}` do not agree, wanted {wanted}",
            first.mark, bay.mark, bay.level
        ),
    );
    finding.places =
        [bay, first].iter().filter_map(|bay| job.cell(bay.reading, bay.row, key)).collect();
    log.push(match hint {
        Some(hint) => finding.hint(hint.to_owned()),
        None => finding,
    });
}
