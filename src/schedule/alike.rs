//! Names that differ only in how they are spelled out: `2`, `Level 2` and `L2` are three levels, which is
//! asked about where no sheet lists them.

use std::collections::HashSet;
use std::sync::Arc;

use indexmap::IndexMap;

use super::log::Log;
use super::marks;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Job, Status};
use crate::text;
use crate::value::Value;

/// What is named: the word for it, the sheet that lists it, and words that say nothing but that.
struct Kind {
    what: &'static str,
    sheet: &'static str,
    words: &'static [&'static str],
}

const KINDS: [Kind; 3] = [
    Kind {
        what: "level",
        sheet: "levels",
        words: &["level", "lvl", "lev", "l", "floor", "flr", "fl", "story", "storey"],
    },
    Kind { what: "pour", sheet: "pours", words: &["pour", "p", "placement", "no"] },
    Kind { what: "alternate", sheet: "", words: &["alternate", "alternates", "alt", "bid", "no"] },
];
const ENDS: [&str; 4] = ["st", "nd", "rd", "th"];

/// Asks about the names that are alike.
pub fn check(job: &Job, log: &mut Log) {
    for kind in &KINDS {
        if job.readings.iter().any(|reading| reading.key == kind.sheet) {
            continue;
        }
        for names in alike(job, kind).into_values().filter(|names| names.len() > 1) {
            let listed: Vec<Value> =
                names.keys().map(|name| Value::text(format!("`{name}`"))).collect();
            let listed = text::list(listed).unwrap_or_default();
            let (what, count) = (kind.what, names.len());
            let message = format!("{listed} are taken as {count} {what}s: are they one?");
            let mut finding = Finding::warning("alike-names", message);
            finding.places = names.into_values().flatten().collect();
            log.push(finding.hint(format!("write one {what} the same in all rows")));
        }
    }
}

/// The names of a kind by what they share, each with the first cell where it stands.
fn alike(job: &Job, kind: &Kind) -> IndexMap<String, IndexMap<String, Option<Place>>> {
    let mut found: IndexMap<String, IndexMap<String, Option<Place>>> = IndexMap::new();
    // Equal texts of one column share their memory.
    let mut seen: HashSet<*const u8> = HashSet::new();
    for bay in job.bays.iter().filter(|bay| bay.status != Status::Void) {
        let Some(name) = name_of(bay, kind).filter(|name| seen.insert(name.as_ptr())) else {
            continue;
        };
        for name in if kind.what == "pour" { marks::pours(name) } else { vec![name.to_string()] } {
            if let Some(key) = key(&name, kind.words) {
                let place = || job.cell(bay.reading, bay.row, kind.what);
                found.entry(key).or_default().entry(name).or_insert_with(place);
            }
        }
    }
    found
}

fn name_of<'a>(bay: &'a Bay, kind: &Kind) -> Option<&'a Arc<str>> {
    match kind.what {
        "level" => Some(&bay.level),
        "pour" => bay.pour.as_ref(),
        _ => bay.alternate.as_ref(),
    }
}

/// What is left of a name without the words that say what it is: `2` of `Level 02` and `2nd`. `None` of a
/// name without a number.
fn key(name: &str, words: &[&str]) -> Option<String> {
    const NUMBERS: [&str; 12] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth", "eleventh", "twelfth",
    ];
    let mut kept: Vec<String> = Vec::new();
    for run in runs(&name.to_lowercase()) {
        let is_number = |kept: &String| kept.bytes().all(|sign| sign.is_ascii_digit());
        if let Some(at) = NUMBERS.iter().position(|word| *word == run) {
            kept.push((at + 1).to_string());
        } else if run.starts_with(|sign: char| sign.is_ascii_digit()) {
            kept.push(run.trim_start_matches('0').to_owned());
        } else {
            let is_end = ENDS.contains(&&*run) && kept.last().is_some_and(is_number);
            if !is_end && !words.contains(&&*run) {
                kept.push(run);
            }
        }
    }
    let has_number = kept.iter().any(|run| run.starts_with(|sign: char| sign.is_ascii_digit()));
    has_number.then(|| kept.join(" "))
}

/// The runs of digits and of letters.
fn runs(name: &str) -> Vec<String> {
    let mut runs: Vec<String> = Vec::new();
    let mut last = None;
    for sign in name.chars() {
        let kind = sign.is_alphanumeric().then(|| sign.is_ascii_digit());
        match runs.last_mut() {
            Some(run) if kind.is_some() && kind == last => run.push(sign),
            _ if kind.is_some() => runs.push(sign.to_string()),
            _ => {}
        }
        last = kind;
    }
    runs
}
