//! Checks across the sheets: doubles, marks that do not exist, strips whose rows do not agree.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use indexmap::IndexMap;

use super::alike;
use super::log::Log;
use super::marks::{self, Mark};
use super::placed;
use super::quick::QuickMap;
use super::resolve::text_of;
use super::strips;
use crate::concrete::truck::clock_min;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Entry, Job, Status};
use crate::value::Value;

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
    strips::check(job, log);
    placed::check(job, log);
    extras_without_depth(job, log);
    double_pours(job, log);
    start_times(job, log);
    alike::check(job, log);
}

/// A pour stands on Pours once, or once a level.
fn double_pours(job: &Job, log: &mut Log) {
    let mut seen: HashMap<(String, String), Option<Place>> = HashMap::new();
    for entry in job.sheet("pours") {
        let Some(pour) = text_of(&entry.fields, "pour") else { continue };
        let level = text_of(&entry.fields, "level").unwrap_or_default();
        let place = job.cell(entry.reading, entry.row, "pour");
        let key = (marks::key(&pour).into_owned(), marks::key(&level).into_owned());
        let Some(first) = seen.get(&key) else {
            seen.insert(key, place);
            continue;
        };
        let of = if level.is_empty() { String::new() } else { format!(" of level `{level}`") };
        let mut finding =
            Finding::error("double-pour", format!("pour `{pour}`{of} stands more than once"));
        finding.places = first.clone().into_iter().chain(place).collect();
        log.push(finding.hint("one row a pour and level: what the rows say is not added up"));
    }
}

fn start_times(job: &Job, log: &mut Log) {
    for entry in job.sheet("pours") {
        let Some(time) = text_of(&entry.fields, "start_time") else { continue };
        if let Err(refusal) = clock_min("Start time", &time) {
            let mut finding = Finding::error("bad-time", refusal.to_string());
            finding.places = job.cell(entry.reading, entry.row, "start_time").into_iter().collect();
            log.push(finding);
        }
    }
}

/// A depth may be above zero or, for a depression, below.
fn extras_without_depth(job: &Job, log: &mut Log) {
    for entry in job.sheet("extra_concrete") {
        if entry.fields.get("depth_in").and_then(Value::as_number) == Some(0.0) {
            let message = "`Depth` is 0, wanted a thickness, or a depression as a negative one";
            let mut finding = Finding::error("extra-without-depth", message);
            finding.places = job.cell(entry.reading, entry.row, "depth_in").into_iter().collect();
            log.push(finding);
        }
    }
}

/// A mark once a level and alternate; void rows do not count.
fn double_bays(job: &Job, log: &mut Log) {
    let mut seen: QuickMap<(u32, u32, Mark<'_>), u32> = QuickMap::default();
    seen.reserve(job.bays.len());
    let (mut levels, mut alternates) = (Numbers::default(), Numbers::default());
    for (index, bay) in job.bays.iter().enumerate() {
        if bay.status == Status::Void {
            continue;
        }
        let level = levels.of(Some(&bay.level));
        let key = (level, alternates.of(bay.alternate.as_ref()), Mark(&bay.mark));
        match seen.get(&key) {
            None => {
                seen.insert(key, u32::try_from(index).unwrap_or(u32::MAX));
            }
            Some(first) => {
                let mut finding = Finding::error(
                    "double-bay",
                    format!("bay `{}` stands on level `{}` more than once", bay.mark, bay.level),
                );
                finding.places = job
                    .bays
                    .get(*first as usize)
                    .into_iter()
                    .chain([bay])
                    .filter_map(|bay| job.cell(bay.reading, bay.row, "bay"))
                    .collect();
                log.push(
                    finding.hint("both are counted; if they are twins, write one row with Copies"),
                );
            }
        }
    }
}

/// Numbers for marks; the mark seen last is known again by its place.
#[derive(Default)]
struct Numbers<'a> {
    known: HashMap<Mark<'a>, u32>,
    last: Option<(&'a Arc<str>, u32)>,
}

impl<'a> Numbers<'a> {
    fn of(&mut self, mark: Option<&'a Arc<str>>) -> u32 {
        let Some(mark) = mark else { return 0 };
        match self.last {
            Some((last, number)) if Arc::ptr_eq(last, mark) => number,
            _ => {
                let next = u32::try_from(self.known.len() + 1).unwrap_or(u32::MAX);
                let number = *self.known.entry(Mark(mark)).or_insert(next);
                self.last = Some((mark, number));
                number
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
    unknown_bays(job, log);
    let of = |sheet: &str, key: &str| -> Vec<Arc<str>> {
        job.sheet(sheet).iter().filter_map(|entry| text_of(&entry.fields, key)).collect()
    };
    // Levels, sequences and pours that only bays name were added to their sheets.
    let levels = Known::new(of("levels", "level"));
    named(job, log, &["edges", "extra_concrete", "pieces", "pours"], "level", &levels);
    let mut types = of("types", "type");
    types.extend(job.decks.iter().filter_map(|deck| text_of(&deck.fields, "type")));
    named(job, log, &["pieces", "stock", "releases"], "type", &Known::new(types));
    let sequences = Known::new(of("sequences", "sequence"));
    named(job, log, &["edges", "pieces", "releases"], "sequence", &sequences);
    named(job, log, &["edges", "extra_concrete"], "pour", &Known::new(of("pours", "pour")));
    unlisted_pours(job, log);
    unlisted_levels(job, log);
    several_bays(job, log);
    several_pours(job, log);
    copies_of_the_job(job, log);
    no_bays(job, log);
    ditto_marks(job, log);
}

/// Levels of bays that the Levels sheet, where there is one, does not list; without one, marks that
/// look like several levels.
fn unlisted_levels(job: &Job, log: &mut Log) {
    // A row left out may have listed them.
    if job.readings.iter().any(|it| it.key == "levels" && !it.left_out.is_empty()) {
        return;
    }
    let is_listed = |entry: &&Entry| {
        job.readings.get(usize::from(entry.reading)).is_some_and(|it| it.key == "levels")
    };
    let listed: Vec<Arc<str>> = job
        .sheet("levels")
        .iter()
        .filter(is_listed)
        .filter_map(|entry| text_of(&entry.fields, "level"))
        .collect();
    let has_sheet = !listed.is_empty();
    let known = Known::new(listed);
    let mut unlisted: IndexMap<Arc<str>, Vec<Place>> = IndexMap::new();
    let mut last: Option<(&Arc<str>, bool)> = None;
    for bay in &job.bays {
        let is_unlisted = match last {
            Some((level, is)) if Arc::ptr_eq(level, &bay.level) => is,
            // Levels by building and number, `1-2`, are listed.
            _ if known.has(&bay.level) => is_several(&bay.level) && !is_plain_pair(&bay.level),
            _ => has_sheet || is_several(&bay.level) || is_typical(&bay.level),
        };
        last = Some((&bay.level, is_unlisted));
        let is_several_times = bay.copies > 1 && (is_several(&bay.level) || is_typical(&bay.level));
        if is_unlisted && !is_several_times && bay.status != Status::Void {
            let places = unlisted.entry(bay.level.clone()).or_default();
            places.extend(job.cell(bay.reading, bay.row, "level"));
        }
    }
    for entry in job.sheet("levels").iter().filter(is_listed) {
        let level = text_of(&entry.fields, "level")
            .filter(|level| is_several(level) && !is_plain_pair(level));
        if let Some(level) = level {
            let places = unlisted.entry(level).or_default();
            places.extend(job.cell(entry.reading, entry.row, "level"));
        }
    }
    for (index, (level, places)) in unlisted.into_iter().enumerate() {
        let is_several = is_several(&level) || !has_sheet;
        let message = if is_several {
            format!("`{level}` is taken as one level; it is counted once")
        } else {
            format!("level `{level}` is not on the Levels sheet")
        };
        let mut finding = Finding::warning("unlisted-level", message);
        finding.places = places;
        if is_several {
            finding = finding.hint(
                "give each level a row of Levels, those that are alike with the first under Like",
            );
        } else if index < SUGGESTIONS
            && let Some(hint) = known.suggestion(&level)
        {
            finding = finding.hint(hint);
        }
        log.push(finding);
    }
}

/// Whether a level's mark looks like several: `2-4`, `2 & 3`, `L2-L5`, `Floors 2 to 5`, `2nd-5th typ.`
fn is_several(mark: &str) -> bool {
    const SAID_BESIDE: [&str; 14] = [
        "level", "levels", "lvl", "lvls", "lev", "floor", "floors", "fl", "flr", "flrs", "story",
        "stories", "typ", "typical",
    ];
    const ENDS: [&str; 4] = ["st", "nd", "rd", "th"];
    let lower = mark.to_lowercase();
    let spaced = lower.replace(['-', '–', '—', '&', ',', '/', '+'], " to ").replace('.', " ");
    let words: Vec<&str> =
        spaced.split_whitespace().filter(|word| !SAID_BESIDE.contains(word)).collect();
    let is_number = |word: &&str| {
        let word = SAID_BESIDE.iter().find_map(|said| word.strip_prefix(said)).unwrap_or(word);
        let word = word.strip_prefix('l').unwrap_or(word);
        let word = ENDS.iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
        !word.is_empty() && word.chars().all(|sign| sign.is_ascii_digit())
    };
    let is_between = |word: &&str| ["to", "thru", "through", "and"].contains(word);
    words.len() >= 3
        && words.iter().step_by(2).all(is_number)
        && words.len() % 2 == 1
        && words.iter().skip(1).step_by(2).all(is_between)
}

/// Whether a level's mark says that it stands for others too: `2 (typ)`, `Typ. (3 floors)`.
fn is_typical(mark: &str) -> bool {
    let mut words = mark.split(|sign: char| !sign.is_alphanumeric());
    words.any(|word| ["typ", "typical"].iter().any(|typical| word.eq_ignore_ascii_case(typical)))
}

/// A schedule that has no bays, none left out for what is wrong with it.
fn no_bays(job: &Job, log: &mut Log) {
    let mut sheets = job.readings.iter().filter(|reading| reading.key == "bays");
    let is_empty = job.bays.is_empty() && job.sheet("pieces").is_empty();
    if is_empty && sheets.clone().all(|sheet| sheet.left_out.is_empty()) {
        let finding = Finding::warning("no-bays", "the schedule has no bays: nothing is taken off");
        let finding = finding.hint("list them, a row each");
        log.push(match sheets.next() {
            Some(sheet) => finding.at(Place::Sheet(sheet.sheet.clone())),
            None => finding,
        });
    }
}

/// Whether two numbers with a dash between may be a building's and its level's: `2-1`, `1-2`.
fn is_plain_pair(mark: &str) -> bool {
    let numbers =
        mark.split_once('-').map(|(a, b)| (a.trim().parse::<u32>(), b.trim().parse::<u32>()));
    matches!(numbers, Some((Ok(first), Ok(last))) if first >= last || first == 1)
}

/// Copies on Job would multiply every row: what stands there counts something else.
fn copies_of_the_job(job: &Job, log: &mut Log) {
    let reading = job.readings.iter().enumerate().find(|(_, reading)| reading.key == "head");
    let Some((at, reading)) = reading else { return };
    if job.head.get("copies").is_some_and(|value| !value.is_blank()) {
        let message = "Job states a number of copies, which no row takes";
        let number = u16::try_from(at).unwrap_or(u16::MAX);
        let row = reading.own.get("copies").or_else(|| reading.columns.get("copies"));
        let mut finding = Finding::warning("copies-on-job", message);
        finding.places.extend(row.and_then(|row| job.cell(number, *row, "copies")));
        log.push(finding.hint("state Copies in the rows of Bays that stand for several"));
    }
}

/// Bays whose mark names several, and that are counted once.
fn several_bays(job: &Job, log: &mut Log) {
    let is_one = |bay: &&Bay| {
        let widths = bay.widths.iter().map(Vec::len).sum::<usize>();
        bay.copies == 1 && widths <= 1 && bay.status != Status::Void
    };
    for bay in job.bays.iter().filter(is_one).filter(|bay| names_several_bays(&bay.mark)) {
        let message = format!("bay `{}` is taken as one bay; it is counted once", bay.mark);
        let mut finding = Finding::warning("several-bays", message);
        finding.places.extend(job.cell(bay.reading, bay.row, "bay"));
        log.push(finding.hint("give each a row, or state how many there are under Copies"));
    }
}

/// Pours whose mark names several, `P1/P2`, without a share of each.
fn several_pours(job: &Job, log: &mut Log) {
    let mut found: IndexMap<&Arc<str>, Vec<Place>> = IndexMap::new();
    for bay in &job.bays {
        let Some(pour) = bay.pour.as_ref().filter(|pour| names_several_pours(pour)) else {
            continue;
        };
        found.entry(pour).or_default().extend(job.cell(bay.reading, bay.row, "pour"));
    }
    for (pour, places) in found {
        let message = format!("`{pour}` is taken as one pour");
        let mut finding = Finding::warning("several-pours", message);
        finding.places = places;
        log.push(finding.hint("state the share of each: `P1 60%, P2 40%`"));
    }
}

fn names_several_pours(mark: &str) -> bool {
    if !mark.contains(['/', '&', '+']) || mark.contains('%') {
        return false;
    }
    // `2/1` may be level and pour, or a day.
    let letters = |part: &str| {
        let number = part.trim_end_matches(|sign: char| sign.is_ascii_digit());
        (number.len() < part.len()).then(|| number.trim().to_lowercase())
    };
    let mut parts = mark.split(['/', '&', '+']).map(|part| letters(part.trim()));
    let Some(Some(first)) = parts.next() else { return false };
    !first.is_empty() && parts.all(|part| part.as_ref() == Some(&first))
}

/// Whether a bay's mark names several: `C1, C2, C3`, `B1 thru B4`, `D1 (x4)`. Lines of a grid (`A-B, 1-2`)
/// do not.
fn names_several_bays(mark: &str) -> bool {
    if !mark.contains([' ', ',', '&', '(']) {
        return false;
    }
    let lower = mark.to_lowercase();
    let times = lower.trim_end_matches(')').rsplit_once([' ', '(']).map_or("", |(_, times)| times);
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|sign| sign.is_ascii_digit());
    if is_number(times.strip_prefix('x').unwrap_or("")) {
        return true;
    }
    let between = [" thru ", " through ", " to ", ",", "&"];
    let parts = between.iter().fold(vec![lower.as_str()], |parts, sign| {
        parts.into_iter().flat_map(|part| part.split(sign)).collect()
    });
    let split = |part: &str| {
        let part = part.trim().to_owned();
        let at = part.find(|sign: char| sign.is_ascii_digit())?;
        let (letters, digits) = part.split_at(at);
        is_number(digits).then(|| (letters.to_owned(), digits.to_owned()))
    };
    let Some(parts) = parts.into_iter().map(split).collect::<Option<Vec<_>>>() else {
        return false;
    };
    let first = parts.first().cloned();
    let letters = first.map(|first| first.0).unwrap_or_default();
    parts.len() > 1 && !letters.is_empty() && parts.iter().all(|part| part.0 == letters)
}

/// Marks that stand for what is above: a blank cell does.
fn ditto_marks(job: &Job, log: &mut Log) {
    const DITTO: [&str; 14] = [
        "\"",
        "”",
        "“",
        "″",
        "''",
        "〃",
        "do",
        "do.",
        "ditto",
        "same",
        "as above",
        "same as above",
        "↓",
        "|",
    ];
    let mut found: IndexMap<(&str, Arc<str>), Vec<Place>> = IndexMap::new();
    for bay in &job.bays {
        let marks = [("level", Some(&bay.level)), ("pour", bay.pour.as_ref())];
        let sequence = (bay.sequence != bay.level).then_some(("sequence", Some(&bay.sequence)));
        for (key, mark) in marks.into_iter().chain(sequence) {
            let Some(mark) = mark else { continue };
            if DITTO.iter().any(|ditto| mark.trim().eq_ignore_ascii_case(ditto)) {
                let places = found.entry((key, mark.clone())).or_default();
                places.extend(job.cell(bay.reading, bay.row, key));
            }
        }
    }
    for ((key, mark), places) in found {
        let message = format!("`{mark}` is taken as a {key} of its own, no ditto mark");
        let mut finding = Finding::error("ditto-mark", message);
        finding.places = places;
        log.push(finding.hint(
            "leave the cell blank: a blank Level is that of the row above; write the others out",
        ));
    }
}

/// Marks that exist, and some of them to suggest.
struct Known {
    keys: HashSet<String>,
    some: Vec<Arc<str>>,
}

impl Known {
    const SUGGESTED: usize = 200;

    fn new(marks: Vec<Arc<str>>) -> Known {
        let mut known = Known { keys: HashSet::new(), some: Vec::new() };
        for mark in marks {
            if known.keys.insert(marks::key(&mark).into_owned())
                && known.some.len() < Known::SUGGESTED
            {
                known.some.push(mark);
            }
        }
        known
    }

    fn has(&self, mark: &str) -> bool {
        self.keys.contains(&*marks::key(mark))
    }

    fn suggestion(&self, mark: &str) -> Option<String> {
        marks::suggestion(mark, self.some.iter().map(|mark| &**mark))
    }
}

/// Suggestions are made for so many unknown marks of a kind; more are said without.
const SUGGESTIONS: usize = 100;

fn unknown_bays(job: &Job, log: &mut Log) {
    const SHEETS: [&str; 2] = ["outlines", "openings"];
    if SHEETS.iter().all(|sheet| job.sheet(sheet).is_empty()) {
        return;
    }
    let bays: HashSet<(Mark<'_>, Mark<'_>)> =
        job.bays.iter().map(|bay| (Mark(&bay.level), Mark(&bay.mark))).collect();
    let mut said = 0;
    for entry in SHEETS.iter().flat_map(|sheet| job.sheet(sheet)) {
        let (Some(level), Some(bay)) =
            (text_of(&entry.fields, "level"), text_of(&entry.fields, "bay"))
        else {
            continue;
        };
        if bays.contains(&(Mark(&level), Mark(&bay))) {
            continue;
        }
        let mut finding =
            Finding::error("unknown-bay", format!("no bay `{bay}` on level `{level}`"));
        finding.places = job.cell(entry.reading, entry.row, "bay").into_iter().collect();
        said += 1;
        if said <= SUGGESTIONS {
            let here = job.bays.iter().filter(|known| Mark(&known.level) == Mark(&level));
            let here = here.take(Known::SUGGESTED).map(|known| &*known.mark);
            if let Some(hint) = marks::suggestion(&bay, here) {
                finding = finding.hint(hint);
            }
        }
        log.push(finding);
    }
}

fn named(job: &Job, log: &mut Log, sheets: &[&str], key: &str, known: &Known) {
    let mut said = 0;
    for entry in sheets.iter().flat_map(|sheet| job.sheet(sheet)) {
        let Some(mark) = text_of(&entry.fields, key).filter(|mark| !known.has(mark)) else {
            continue;
        };
        let mut finding =
            Finding::error(format!("unknown-{key}"), format!("no {key} `{mark}` in the job"));
        finding.places = job.cell(entry.reading, entry.row, key).into_iter().collect();
        said += 1;
        if said <= SUGGESTIONS
            && let Some(hint) = known.suggestion(&mark)
        {
            finding = finding.hint(hint);
        }
        log.push(finding);
    }
}

/// Where the schedule has a Pours sheet, each pour of a bay is expected on it.
fn unlisted_pours(job: &Job, log: &mut Log) {
    let is_listed = |entry: &&Entry| {
        job.readings.get(usize::from(entry.reading)).is_some_and(|reading| reading.key == "pours")
    };
    let mut known: HashSet<(String, String)> = HashSet::new();
    let mut names: Vec<Arc<str>> = Vec::new();
    for entry in job.sheet("pours").iter().filter(is_listed) {
        let Some(pour) = text_of(&entry.fields, "pour") else { continue };
        let level = text_of(&entry.fields, "level").unwrap_or_default();
        known.insert((marks::key(&pour).into_owned(), marks::key(&level).into_owned()));
        names.push(pour);
    }
    if known.is_empty() {
        return;
    }
    let names = Known::new(names);
    let mut unlisted: IndexMap<(String, Arc<str>), Vec<Place>> = IndexMap::new();
    for bay in &job.bays {
        for pour in bay.pour.iter().flat_map(|pour| marks::pours(pour)) {
            let key = marks::key(&pour).into_owned();
            let here = (key, marks::key(&bay.level).into_owned());
            if known.contains(&here) || known.contains(&(here.0, String::new())) {
                continue;
            }
            let places = unlisted.entry((pour, bay.level.clone())).or_default();
            places.extend(job.cell(bay.reading, bay.row, "pour"));
        }
    }
    for (index, ((pour, level), places)) in unlisted.into_iter().enumerate() {
        let mut finding = Finding::warning(
            "unlisted-pour",
            format!("pour `{pour}` of level `{level}` is not on the Pours sheet"),
        );
        finding.places = places;
        if names.has(&pour) {
            finding = finding.hint("it is listed for other levels: give it a row for this one too");
        } else if index < SUGGESTIONS
            && let Some(hint) = names.suggestion(&pour)
        {
            finding = finding.hint(hint);
        }
        log.push(finding);
    }
}
