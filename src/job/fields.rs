//! What scripts read of a bay: each name with its meaning, once.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::sync::{Arc, LazyLock};

use super::name::Name;
use super::{Bay, Entry, Job, Runs, schema};
use crate::length::{Length, Typed};
use crate::value::{Hashing, Value};

/// A field of a bay.
#[derive(Debug)]
pub struct BayField {
    /// The name, with its unit.
    pub name: &'static str,
    pub about: &'static str,
    pub get: fn(&Bay, &Job) -> Value,
    /// The schedule column it is read from, where it is one.
    pub column: Option<&'static str>,
}

/// The fields of a bay; the rest of its row follows, then the fields of its deck.
pub const BAY: &[BayField] = &[
    field("level", "Level.", |bay, _| Value::Text(bay.level.clone())),
    field("bay", "Mark.", |bay, _| Value::Text(bay.mark.clone())),
    field("sequence", "Erection sequence.", |bay, _| Value::Text(bay.sequence.clone())),
    field("runs", "E-W or N-S, blank where not said.", |bay, _| match bay.runs {
        Some(Runs::EastWest) => word("E-W"),
        Some(Runs::NorthSouth) => word("N-S"),
        None => Value::Blank,
    }),
    field("spans_ft", "Spans along the flutes, a list, ft.", |bay, _| feet_list(&bay.spans)),
    from("length_ft", "Sum of the spans, ft.", "spans_ft", |bay, _| feet(bay.length())),
    from("longest_span_ft", "The longest span, ft.", "spans_ft", |bay, _| {
        feet(bay.spans.iter().map(|span| span.length).max().unwrap_or_default())
    }),
    from("width_ft", "Sum of the widths, ft.", "widths_ft", |bay, _| feet(bay.width())),
    field("widths_ft", "Widths across, a list of lists (groups between breaks), ft.", |bay, _| {
        Value::List(bay.widths.iter().map(|group| feet_list(group)).collect())
    }),
    from(
        "width_slack_ft",
        "How far the true width may lie from a width typed as a decimal, ft.",
        "widths_ft",
        |bay, _| feet(bay.widths.iter().flatten().map(|width| width.half_digit).sum()),
    ),
    field("copies", "Identical twins.", |bay, _| Value::Count(bay.copies)),
    field("strip", "The strip it belongs to, blank where it is one of its own.", |bay, _| {
        bay.strip.as_ref().map_or(Value::Blank, |(strip, _, _)| Value::Text(strip.clone()))
    }),
    field("along", "Its place along the strip.", |bay, _| {
        bay.strip.as_ref().map_or(Value::Count(1), |(_, along, _)| Value::Count(*along))
    }),
    field("across", "Its place across the strip.", |bay, _| {
        bay.strip.as_ref().map_or(Value::Count(1), |(_, _, across)| Value::Count(*across))
    }),
    field("pour", "The pour as typed.", |bay, _| text(bay.pour.as_ref())),
    from("level_order", "Place of its level, from 0.", "level", |bay, job| {
        count(job.level_order(&bay.level))
    }),
    from("sequence_order", "Place of its sequence, from 0.", "sequence", |bay, job| {
        count(job.sequence_order(&bay.sequence))
    }),
    from(
        "strip_spans_ft",
        "Spans of the whole strip, a list a row along, ft.",
        "spans_ft",
        |bay, job| {
            let rows = rows_of(job, bay, |(_, along, _)| *along);
            Value::List(rows.iter().map(|bay| feet_list(&bay.spans)).collect())
        },
    ),
    from(
        "strip_widths_ft",
        "Widths of the whole strip, a list of groups a row across, ft.",
        "widths_ft",
        |bay, job| {
            let rows = rows_of(job, bay, |(_, _, across)| *across);
            let groups = |bay: &&Bay| bay.widths.iter().map(|group| feet_list(group)).collect();
            Value::List(rows.iter().map(|bay| Value::List(groups(bay))).collect())
        },
    ),
    from(
        "strip_slack_ft",
        "How far the strip's true width may lie from widths typed as decimals, ft.",
        "widths_ft",
        |bay, job| {
            let rows = rows_of(job, bay, |(_, _, across)| *across);
            feet(
                rows.iter().flat_map(|bay| bay.widths.iter().flatten()).map(|w| w.half_digit).sum(),
            )
        },
    ),
    BayField {
        name: "outline_ft",
        about: "Corners of a bay that is no plain rectangle or has openings, [along, across], ft.",
        get: |bay, job| job.outline(bay),
        column: None,
    },
    BayField {
        name: "openings",
        about: "Openings: records of corners_ft, framed, area_ft2.",
        get: |bay, job| job.openings(bay),
        column: None,
    },
    field("cut", "The estimator's own cutting.", |bay, _| text(bay.cut.as_ref())),
    field("start_end", "Condition of the start end.", |bay, _| text(bay.start_end.as_ref())),
    field("far_end", "Condition of the far end.", |bay, _| text(bay.far_end.as_ref())),
    field("status", "take-off, hold, released, shipped or void.", |bay, _| word(bay.status.word())),
    field("alternate", "Blank is the base bid.", |bay, _| text(bay.alternate.as_ref())),
];

const fn field(name: &'static str, about: &'static str, get: fn(&Bay, &Job) -> Value) -> BayField {
    BayField { name, about, get, column: Some(name) }
}

const fn from(
    name: &'static str,
    about: &'static str,
    column: &'static str,
    get: fn(&Bay, &Job) -> Value,
) -> BayField {
    BayField { name, about, get, column: Some(column) }
}

/// The rows of a bay's strip in one direction: one bay for each place, in the order of the places.
fn rows_of<'a>(
    job: &'a Job,
    bay: &'a Bay,
    place: fn(&(Arc<str>, i64, i64)) -> i64,
) -> Vec<&'a Bay> {
    if bay.strip.is_none() {
        return vec![bay];
    }
    let mut rows: std::collections::BTreeMap<i64, &Bay> = std::collections::BTreeMap::new();
    for member in job.strip_of(bay) {
        if let Some(strip) = &member.strip {
            rows.entry(place(strip)).or_insert(member);
        }
    }
    rows.into_values().collect()
}

/// A word that many bays have, made once a thread.
fn word(word: &'static str) -> Value {
    thread_local! {
        static WORDS: RefCell<Vec<(&'static str, Arc<str>)>> = const { RefCell::new(Vec::new()) };
    }
    WORDS.with_borrow_mut(|words| {
        if let Some((_, text)) = words.iter().find(|(known, _)| *known == word) {
            return Value::Text(text.clone());
        }
        let text: Arc<str> = Arc::from(word);
        words.push((word, text.clone()));
        Value::Text(text)
    })
}

fn count(place: Option<usize>) -> Value {
    place.and_then(|place| i64::try_from(place).ok()).map_or(Value::Blank, Value::Count)
}

fn feet(length: Length) -> Value {
    Value::Number(length.in_feet())
}

fn feet_list(lengths: &[Typed]) -> Value {
    Value::List(lengths.iter().map(|typed| feet(typed.length)).collect())
}

fn text(text: Option<&Arc<str>>) -> Value {
    text.map_or(Value::Blank, |text| Value::Text(text.clone()))
}

/// The field of that name.
#[must_use]
pub fn bay_field(name: &str) -> Option<&'static BayField> {
    static PLACES: LazyLock<HashMap<&str, &BayField, Hashing>> =
        LazyLock::new(|| BAY.iter().map(|field| (field.name, field)).collect());
    PLACES.get(name).copied()
}

/// Whether the sheet Bays has a field of that name.
fn is_bay_column(name: &str) -> bool {
    static NAMES: LazyLock<HashSet<&str, Hashing>> = LazyLock::new(|| {
        let fields = schema::sheet("bays").into_iter().flat_map(schema::Sheet::all_fields);
        fields.map(|field| field.key).collect()
    });
    NAMES.contains(name)
}

/// A field of a bay by name: its own, the rest of its row, its deck's; `None` where there is none.
/// A bay's `note` is its row's; the type's is `deck.note`.
#[must_use]
pub fn read(bay: &Bay, job: &Job, name: &str) -> Option<Value> {
    read_by(bay, job, &Name::new(name))
}

/// The same by a name that is read off many bays.
pub fn read_by<T: AsRef<str>>(bay: &Bay, job: &Job, name: &Name<T>) -> Option<Value> {
    if let Some(field) = name.of_bay() {
        return Some((field.get)(bay, job));
    }
    let deck = || job.decks.get(bay.deck as usize);
    if name.text() == "deck" {
        return deck().map(|deck| Value::Record(deck.fields.clone()));
    }
    let of_deck = || deck().and_then(|deck| name.in_map(&deck.fields));
    let value = bay.rest.get(name.text()).or_else(of_deck).cloned();
    value.or_else(|| is_bay_column(name.text()).then_some(Value::Blank))
}

/// A field of a row of another sheet by name: its own, else its deck's, blank where it has no deck;
/// `None` where there is none. A row's `note` is its own; the type's is `deck.note`.
#[must_use]
pub fn read_entry<T: AsRef<str>>(
    entry: &Entry,
    sheet: &str,
    job: &Job,
    name: &Name<T>,
) -> Option<Value> {
    let (by, name) = (name, name.text());
    let deck = entry.deck.and_then(|deck| job.decks.get(deck as usize));
    if let (Some(deck), "deck") = (deck, name) {
        return Some(Value::Record(deck.fields.clone()));
    }
    let of_deck = || {
        let value = deck?.fields.get(name).cloned();
        value.or_else(|| is_bay_column(name).then_some(Value::Blank))
    };
    let is_deck_column = || schema::DECK.iter().any(|field| field.key == name);
    match by.in_map(&entry.fields) {
        Some(own) if own.is_blank() && is_deck_column() => of_deck().or(Some(Value::Blank)),
        Some(own) => Some(own.clone()),
        None => {
            let known = || schema::sheet(sheet)?.all_fields().find(|field| field.key == name);
            let blank = || is_deck_column().then_some(Value::Blank);
            known().map(|_| Value::Blank).or_else(of_deck).or_else(blank)
        }
    }
}
