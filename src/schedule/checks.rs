//! Checks across the sheets: doubles, marks that do not exist, strips whose rows do not agree.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::log::Log;
use super::marks::{self, Mark};
use super::resolve::text_of;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Job, Status};

pub fn check(job: &Job, log: &mut Log) {
    double_bays(job, log);
    for (sheet, key) in [
        ("types", "type"),
        ("levels", "level"),
        ("sequences", "sequence"),
        ("mixes", "mix"),
        ("drawings", "drawing"),
    ] {
        double_rows(job, sheet, key, log);
    }
    unknown_marks(job, log);
    strips(job, log);
}

/// A mark once a level and alternate; void rows do not count.
fn double_bays(job: &Job, log: &mut Log) {
    let mut seen: HashMap<(u32, Mark<'_>, Mark<'_>), usize> =
        HashMap::with_capacity(job.bays.len());
    let mut levels: HashMap<Mark<'_>, u32> = HashMap::new();
    let mut last: Option<(&Arc<str>, u32)> = None;
    for (index, bay) in job.bays.iter().enumerate() {
        if bay.status == Status::Void {
            continue;
        }
        let alternate = bay.alternate.as_deref().unwrap_or_default();
        let level = match last {
            Some((level, number)) if Arc::ptr_eq(level, &bay.level) => number,
            _ => {
                let next = u32::try_from(levels.len()).unwrap_or(u32::MAX);
                *levels.entry(Mark(&bay.level)).or_insert(next)
            }
        };
        last = Some((&bay.level, level));
        let key = (level, Mark(&bay.mark), Mark(alternate));
        match seen.get(&key) {
            None => {
                seen.insert(key, index);
            }
            Some(first) => {
                let mut finding = Finding::error(
                    "double-bay",
                    format!("bay `{}` stands on level `{}` more than once", bay.mark, bay.level),
                );
                finding.places = [&job.bays[*first], bay]
                    .iter()
                    .filter_map(|bay| job.cell(bay.reading, bay.row, "bay"))
                    .collect();
                log.push(
                    finding.hint("both are counted; if they are twins, write one row with Copies"),
                );
            }
        }
    }
}

fn double_rows(job: &Job, sheet: &str, key: &str, log: &mut Log) {
    let mut seen: HashMap<String, Option<Place>> = HashMap::new();
    for entry in job.sheet(sheet) {
        let Some(mark) = text_of(&entry.fields, key) else { continue };
        let place = job.cell(entry.reading, entry.row, key);
        match seen.get(&*marks::key(&mark)) {
            None => {
                seen.insert(marks::key(&mark).into_owned(), place);
            }
            Some(first) => {
                let mut finding = Finding::error(
                    format!("double-{key}"),
                    format!("{key} `{mark}` stands more than once"),
                );
                finding.places = first.clone().into_iter().chain(place).collect();
                log.push(finding.hint("the first row counts"));
            }
        }
    }
}

/// Rows that name a bay, level, type, sequence or pour that does not exist.
fn unknown_marks(job: &Job, log: &mut Log) {
    let has_places = ["outlines", "openings"].iter().any(|sheet| !job.sheet(sheet).is_empty());
    let placed: &[Bay] = if has_places { &job.bays } else { &[] };
    let bays: HashSet<(Mark<'_>, Mark<'_>)> =
        placed.iter().map(|bay| (Mark(&bay.level), Mark(&bay.mark))).collect();
    // Every level of a bay is on the Levels sheet, or was added to it.
    let levels: Vec<Arc<str>> =
        job.sheet("levels").iter().filter_map(|e| text_of(&e.fields, "level")).collect();
    for sheet in ["outlines", "openings"] {
        for entry in job.sheet(sheet) {
            let (Some(level), Some(bay)) =
                (text_of(&entry.fields, "level"), text_of(&entry.fields, "bay"))
            else {
                continue;
            };
            if !bays.contains(&(Mark(&level), Mark(&bay))) {
                let there: Vec<&str> = job
                    .bays
                    .iter()
                    .filter(|known| Mark(&known.level) == Mark(&level))
                    .map(|known| &*known.mark)
                    .collect();
                unknown(
                    job,
                    log,
                    entry,
                    "bay",
                    &format!("no bay `{bay}` on level `{level}`"),
                    &bay,
                    &there,
                );
            }
        }
    }
    let level_names: Vec<&str> = levels.iter().map(|level| &**level).collect();
    named(job, log, &["edges", "extra_concrete", "pieces", "pours"], "level", &level_names);
    let types: Vec<Arc<str>> = job
        .sheet("types")
        .iter()
        .filter_map(|entry| text_of(&entry.fields, "type"))
        .chain(job.decks.iter().filter_map(|deck| text_of(&deck.fields, "type")))
        .collect();
    let types: Vec<&str> = types.iter().map(|mark| &**mark).collect();
    named(job, log, &["pieces", "stock", "releases"], "type", &types);
    let sequences: Vec<Arc<str>> =
        job.sheet("sequences").iter().filter_map(|e| text_of(&e.fields, "sequence")).collect();
    let sequences: Vec<&str> = sequences.iter().map(|mark| &**mark).collect();
    named(job, log, &["edges", "pieces", "releases"], "sequence", &sequences);
    let pours: Vec<Arc<str>> =
        job.sheet("pours").iter().filter_map(|e| text_of(&e.fields, "pour")).collect();
    let pours: Vec<&str> = pours.iter().map(|mark| &**mark).collect();
    named(job, log, &["edges", "extra_concrete"], "pour", &pours);
    unlisted_pours(job, log);
}

fn named(job: &Job, log: &mut Log, sheets: &[&str], key: &str, known: &[&str]) {
    let keys: HashSet<String> = known.iter().map(|mark| marks::key(mark).into_owned()).collect();
    for sheet in sheets {
        for entry in job.sheet(sheet) {
            let Some(mark) = text_of(&entry.fields, key) else { continue };
            if !keys.contains(&*marks::key(&mark)) {
                unknown(
                    job,
                    log,
                    entry,
                    key,
                    &format!("no {key} `{mark}` in the job"),
                    &mark,
                    known,
                );
            }
        }
    }
}

fn unknown(
    job: &Job,
    log: &mut Log,
    entry: &crate::job::Entry,
    key: &str,
    message: &str,
    mark: &str,
    known: &[&str],
) {
    let mut finding = Finding::error(format!("unknown-{key}"), message);
    finding.places = job.cell(entry.reading, entry.row, key).into_iter().collect();
    let mut once: Vec<&str> = Vec::new();
    for mark in known {
        if !once.contains(mark) && once.len() < 200 {
            once.push(mark);
        }
    }
    if let Some(hint) = marks::suggestion(mark, once.into_iter()) {
        finding = finding.hint(hint);
    }
    log.push(finding);
}

/// Where the schedule has a Pours sheet, each pour of a bay is expected on it.
fn unlisted_pours(job: &Job, log: &mut Log) {
    let listed = |entry: &crate::job::Entry| {
        job.readings.get(usize::from(entry.reading)).is_some_and(|reading| reading.key == "pours")
    };
    let mut known: HashSet<(String, String)> = HashSet::new();
    let mut names: Vec<Arc<str>> = Vec::new();
    for entry in job.sheet("pours").iter().filter(|entry| listed(entry)) {
        let Some(pour) = text_of(&entry.fields, "pour") else { continue };
        let level = text_of(&entry.fields, "level").unwrap_or_default();
        known.insert((marks::key(&pour).into_owned(), marks::key(&level).into_owned()));
        if !names.contains(&pour) {
            names.push(pour);
        }
    }
    if known.is_empty() {
        return;
    }
    for bay in &job.bays {
        for pour in bay.pour.iter().flat_map(|pour| marks::pours(pour)) {
            let key = marks::key(&pour).into_owned();
            let here = (key.clone(), marks::key(&bay.level).into_owned());
            if known.contains(&here) || known.contains(&(key, String::new())) {
                continue;
            }
            let mut finding = Finding::warning(
                "unlisted-pour",
                format!("pour `{pour}` of level `{}` is not on the Pours sheet", bay.level),
            );
            finding.places = job.cell(bay.reading, bay.row, "pour").into_iter().collect();
            if let Some(hint) = marks::suggestion(&pour, names.iter().map(|name| &**name)) {
                finding = finding.hint(hint);
            }
            log.push(finding);
        }
    }
}

/// Rows of one strip agree: one type, direction and sequence; equal places along have equal spans,
/// equal places across equal widths.
fn strips(job: &Job, log: &mut Log) {
    let mut strips: Vec<Vec<&Bay>> = Vec::new();
    let mut by_key: HashMap<(Mark<'_>, Mark<'_>), usize> = HashMap::new();
    for bay in job.bays.iter().filter(|bay| bay.status != Status::Void) {
        let Some((strip, _, _)) = &bay.strip else { continue };
        let key = (Mark(&bay.level), Mark(strip));
        let at = *by_key.entry(key).or_insert_with(|| {
            strips.push(Vec::new());
            strips.len() - 1
        });
        strips[at].push(bay);
    }
    for strip in strips {
        let Some((first, others)) = strip.split_first() else { continue };
        let mut places: HashMap<(i64, i64), &Bay> = HashMap::new();
        let mut along: HashMap<i64, &Bay> = HashMap::new();
        let mut across: HashMap<i64, &Bay> = HashMap::new();
        let type_of = |bay: &Bay| {
            job.decks.get(bay.deck as usize).and_then(|deck| text_of(&deck.fields, "type"))
        };
        for bay in others {
            if type_of(first) != type_of(bay) {
                disagree(job, log, first, bay, "type", "one type");
            }
            if first.runs != bay.runs {
                disagree(job, log, first, bay, "runs", "one direction");
            }
            if first.sequence != bay.sequence {
                disagree(job, log, first, bay, "sequence", "one sequence");
            }
        }
        for bay in &strip {
            let Some((_, place_along, place_across)) = &bay.strip else { continue };
            if let Some(other) = places.insert((*place_along, *place_across), bay) {
                disagree(job, log, other, bay, "along", "a place of its own for each row");
            }
            let spans = |bay: &Bay| bay.spans.iter().map(|s| s.length).collect::<Vec<_>>();
            match along.get(place_along) {
                Some(other) if spans(other) != spans(bay) => {
                    disagree(
                        job,
                        log,
                        other,
                        bay,
                        "spans_ft",
                        "equal Spans in rows equal in Along",
                    );
                }
                Some(_) => {}
                None => {
                    along.insert(*place_along, bay);
                }
            }
            match across.get(place_across) {
                Some(other) if other.width() != bay.width() => disagree(
                    job,
                    log,
                    other,
                    bay,
                    "widths_ft",
                    "equal Width in rows equal in Across",
                ),
                Some(_) => {}
                None => {
                    across.insert(*place_across, bay);
                }
            }
        }
    }
}

fn disagree(job: &Job, log: &mut Log, first: &Bay, bay: &Bay, key: &str, wanted: &str) {
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
    log.push(finding);
}
