//! From what the sheets state to what each bay has: types, overrides, defaults, mixes and the
//! catalogue in one; levels, sequences and pours that only the bays name are added.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use indexmap::{IndexMap, IndexSet};

use super::bays::runs_of;
use super::cells::Read;
use super::deck::{DeckMaker, Typed};
use super::like;
use super::log::Log;
use super::marks;
use super::names;
use super::rows::RawEntry;
use super::shapes;
use super::sheets::Raw;
use crate::catalogue::Catalogue;
use crate::finding::{Finding, Place};
use crate::job::schema::{Sheet, sheet};
use crate::job::{Bay, Entry, Job, Origin};
use crate::value::{Record, Value};

/// The job that the sheets describe.
pub fn resolve(raw: Raw, catalogue: &Catalogue, log: &mut Log) -> Job {
    let Raw { readings, head, sheets: raw_sheets, bays, asks, unread } = raw;
    let mut sheets: IndexMap<&'static str, Vec<Entry>> = IndexMap::new();
    for (key, rows) in &raw_sheets {
        if let Some(schema) = sheet(key) {
            sheets.insert(key, rows.iter().map(|row| entry(row, schema)).collect());
        }
    }
    let types = raw_sheets.get("types").map(Vec::as_slice).unwrap_or_default();
    let mut maker = DeckMaker::new(&readings, types, &sheets, &head, catalogue, log);
    let typed: Vec<Typed> = asks.iter().map(|ask| maker.make(ask)).collect();
    let ordering = ["pieces", "releases"].map(|key| {
        let rows = raw_sheets.get(key).map(Vec::as_slice).unwrap_or_default();
        let decks: Vec<Option<u32>> = rows.iter().map(|row| maker.of_row(key, row)).collect();
        (key, decks)
    });
    let decks = maker.finish();
    for (key, found) in ordering {
        for (entry, deck) in sheets.get_mut(key).into_iter().flatten().zip(found) {
            entry.deck = deck;
            let Some(deck) = deck.and_then(|deck| decks.get(deck as usize)) else { continue };
            as_in_deck(entry, &deck.fields);
        }
    }
    let mut job = Job { readings, unread, decks, sheets, ..Job::default() };
    let default_runs = head.text("runs").and_then(|word| runs_of(&word));
    let default_sequence = head.text("sequence");
    let (values, origins) = head.into_records();
    job.head = Arc::new(values);
    job.head_origins = origins;

    let levels = by_mark(&job, "levels", "level");
    job.bays.reserve(bays.len());
    for mut bay in bays {
        match typed.get(bay.deck as usize) {
            Some(Typed::Deck { deck, is_roof }) => {
                bay.deck = *deck;
                if *is_roof {
                    bay.pour = None;
                }
                if !levels.is_empty() && (bay.sequence.is_empty() || bay.runs.is_none()) {
                    let level = levels.get(&*marks::key(&bay.level));
                    let of_level = |key: &str| level.and_then(|fields| text_of(fields, key));
                    if bay.sequence.is_empty() {
                        bay.sequence = of_level("sequence").unwrap_or_default();
                    }
                    bay.runs = bay.runs.or_else(|| runs_of(&of_level("runs")?));
                }
                if bay.sequence.is_empty() {
                    bay.sequence = default_sequence.clone().unwrap_or_else(|| bay.level.clone());
                }
                bay.runs = bay.runs.or(default_runs);
                job.bays.push(bay);
            }
            _ => leave_out(&mut job, &bay),
        }
    }
    names::spell(&mut job, log);
    for bay in shapes::take_out(&mut job, log) {
        leave_out(&mut job, &bay);
    }
    say_left_out(&job, log);
    like::expand(&mut job, log);
    add_named_by_bays(&mut job);
    number_deck_bays(&mut job);
    job
}

/// What a row states of its deck in the catalogue's words: `20` for `20GA`.
fn as_in_deck(entry: &mut Entry, deck: &Record) {
    for key in ["profile", "gauge", "finish", "use", "grade", "side_lap", "options"] {
        let (Some(stated), Some(known)) = (text_of(&entry.fields, key), text_of(deck, key)) else {
            continue;
        };
        if stated != known {
            let mut fields = (*entry.fields).clone();
            fields.insert(Arc::from(key), Value::Text(known));
            entry.fields = Arc::new(fields);
        }
    }
}

/// A row as scripts read it: every field of its schema, then its own columns.
fn entry(raw: &RawEntry, schema: &'static Sheet) -> Entry {
    let mut fields = Record::default();
    for (index, field) in schema.all_fields().enumerate() {
        let value = raw.reads.get(index).map(Read::value).unwrap_or_default();
        fields.insert(Arc::from(field.key), value);
    }
    for (heading, value) in &raw.own {
        fields.insert(heading.clone(), value.clone());
    }
    Entry { reading: raw.reading, row: raw.row, fields: Arc::new(fields), deck: None }
}

/// The text of a field.
pub fn text_of(fields: &Record, key: &str) -> Option<Arc<str>> {
    match fields.get(key) {
        Some(Value::Text(text)) => Some(text.clone()),
        _ => None,
    }
}

/// The first row of each mark.
fn by_mark(job: &Job, sheet: &str, key: &str) -> HashMap<String, Arc<Record>> {
    let mut rows = HashMap::new();
    for entry in job.sheet(sheet) {
        if let Some(mark) = text_of(&entry.fields, key) {
            rows.entry(marks::key(&mark).into_owned()).or_insert_with(|| entry.fields.clone());
        }
    }
    rows
}

/// A bay without a deck stays out of the job.
fn leave_out(job: &mut Job, bay: &Bay) {
    if let Some(reading) = job.readings.get_mut(usize::from(bay.reading)) {
        reading.left_out.push(bay.row);
        reading.taken = reading.taken.saturating_sub(1);
    }
}

/// Says which rows were left out for want of a deck (those left out before are said already).
fn say_left_out(job: &Job, log: &mut Log) {
    for reading in &job.readings {
        if reading.key != "bays" || reading.left_out.is_empty() {
            continue;
        }
        let mut rows = reading.left_out.clone();
        rows.sort_unstable();
        let mut finding = Finding::error(
            "row-left-out",
            format!(
                "rows of {} are left out until what is wrong in them is put right",
                reading.sheet
            ),
        );
        finding.places =
            rows.into_iter().map(|row| Place::Row { sheet: reading.sheet.clone(), row }).collect();
        log.push(finding);
    }
}

/// Levels, sequences and pours that only the bays name, in the order of the bays; sequences in that
/// of their lowest levels before.
fn add_named_by_bays(job: &mut Job) {
    const LATELY: usize = 16;
    let keys = |sheet, key: &'static str| {
        let marks = job.sheet(sheet).iter().filter_map(move |entry| text_of(&entry.fields, key));
        marks.map(|mark| marks::key(&mark).into_owned())
    };
    let mut levels: IndexSet<String> = keys("levels", "level").collect();
    let known: HashSet<String> = keys("sequences", "sequence").collect();
    // By sequence: its lowest level's place, and its row.
    let mut sequences: IndexMap<String, (usize, Entry)> = IndexMap::new();
    let mut pours: HashSet<String> = HashSet::new();
    for entry in job.sheet("pours") {
        if let Some(pour) = text_of(&entry.fields, "pour") {
            let level = text_of(&entry.fields, "level").unwrap_or_default();
            pours.insert(pour_key(&pour, &level));
        }
    }
    let mut added: Vec<(&'static str, Entry)> = Vec::new();
    // Equal texts of one column share their memory: rows like one just seen are soon passed over.
    let mut lately: Vec<[*const u8; 3]> = Vec::new();
    for bay in &job.bays {
        let pour = bay.pour.as_ref().map_or(std::ptr::null(), |pour| pour.as_ptr());
        let now = [bay.level.as_ptr(), bay.sequence.as_ptr(), pour];
        if lately.contains(&now) {
            continue;
        }
        if lately.len() == LATELY {
            lately.remove(0);
        }
        lately.push(now);
        let (level, is_new) = levels.insert_full(marks::key(&bay.level).into_owned());
        if is_new {
            added.push(("levels", named_entry(bay, "levels", &[("level", &bay.level)])));
        }
        let sequence = marks::key(&bay.sequence);
        if !known.contains(&*sequence) {
            let entry = || named_entry(bay, "sequences", &[("sequence", &bay.sequence)]);
            let (lowest, _) =
                sequences.entry(sequence.into_owned()).or_insert_with(|| (level, entry()));
            *lowest = level.min(*lowest);
        }
        for pour in bay.pour.iter().flat_map(|pour| marks::pours(pour)) {
            let anywhere = pour_key(&pour, "");
            let here = pour_key(&pour, &bay.level);
            if !pours.contains(&anywhere) && pours.insert(here) {
                let fields = [("pour", &Arc::from(&*pour)), ("level", &bay.level)];
                added.push(("pours", named_entry(bay, "pours", &fields)));
            }
        }
    }
    sequences.sort_by(|_, (one, _), _, (other, _)| one.cmp(other));
    added.extend(sequences.into_values().map(|(_, entry)| ("sequences", entry)));
    for (sheet, entry) in added {
        job.sheets.entry(sheet).or_default().push(entry);
    }
}

fn pour_key(pour: &str, level: &str) -> String {
    format!("{}\u{0}{}", marks::key(pour), marks::key(level))
}

/// A row that only a bay names.
fn named_entry(bay: &Bay, key: &str, stated: &[(&str, &Arc<str>)]) -> Entry {
    let mut fields = Record::default();
    for field in sheet(key).into_iter().flat_map(Sheet::all_fields) {
        fields.insert(Arc::from(field.key), Value::Blank);
    }
    for (key, mark) in stated {
        fields.insert(Arc::from(*key), Value::Text((*mark).clone()));
    }
    Entry { reading: bay.reading, row: bay.row, fields: Arc::new(fields), deck: None }
}

/// Tells each deck its bays.
fn number_deck_bays(job: &mut Job) {
    for deck in &mut job.decks {
        deck.bays.clear();
    }
    for (index, bay) in job.bays.iter().enumerate() {
        if let (Some(deck), Ok(index)) =
            (job.decks.get_mut(bay.deck as usize), u32::try_from(index))
        {
            deck.bays.push(index);
        }
    }
}

/// The origin of a cell.
pub fn cell_origin(reading: u16, row: u32, column: u32) -> Origin {
    Origin::Cell { reading, row, column }
}
