//! The Job sheet: a key and its value a row, and defaults for the columns of the other sheets.

use std::sync::Arc;

use indexmap::IndexMap;

use super::cells::{self, Read, Wanted};
use super::grid::Cell;
use super::headings::{Dictionary, spaced, squeeze};
use super::log::{Log, cell};
use crate::finding::{Finding, Severity};
use crate::job::schema::{DECK, Field, KEY_HEADINGS, Kind, VALUE_HEADINGS};
use crate::job::{Heading, Origin, Reading};
use crate::length::Unit;
use crate::value::{Record, Value};

/// What the Job sheet says.
#[derive(Default)]
pub struct Head {
    entries: IndexMap<Arc<str>, (Read, Origin)>,
}

impl Head {
    pub fn get(&self, key: &str) -> Option<&(Read, Origin)> {
        self.entries.get(key)
    }

    pub fn value(&self, key: &str) -> Value {
        self.entries.get(key).map(|(read, _)| read.value()).unwrap_or_default()
    }

    pub fn text(&self, key: &str) -> Option<Arc<str>> {
        self.entries.get(key).and_then(|(read, _)| read.text())
    }
    /// Values and origins as the job keeps them.
    pub fn into_records(self) -> (Record, IndexMap<Arc<str>, Origin>) {
        let mut values = Record::default();
        let mut origins = IndexMap::new();
        for (key, (read, origin)) in self.entries {
            values.insert(key.clone(), read.value());
            origins.insert(key, origin);
        }
        (values, origins)
    }

    /// Takes a row: its first cell is the key, the next that is not blank the value.
    pub fn take(
        &mut self,
        number: u16,
        row: u32,
        cells: &[Cell<'_>],
        known: &[&Dictionary],
        reading: &mut Reading,
        log: &mut Log,
    ) {
        let mut filled = cells.iter().enumerate().filter(|(_, cell)| !cell.is_blank());
        let Some((key_column, key_cell)) = filled.next() else { return };
        let Some(key) = key_cell.text() else {
            reading.passed.push((row, "no key in its first cell"));
            return;
        };
        let key = spaced(key.trim_end_matches(':'));
        let found = known.iter().find_map(|dictionary| {
            let (field, _, unit) = dictionary.find(&key)?;
            Some((dictionary.fields[field], unit))
        });
        let Some((value_column, value_cell)) = filled.next() else {
            if found.is_none() {
                reading.passed.push((row, "a note or title"));
            }
            return;
        };
        let is_one_of = |text: &str, names: &[&str]| {
            let text = squeeze(text);
            names.iter().any(|name| squeeze(name) == text)
        };
        let is_heading = value_cell.text().is_some_and(|v| is_one_of(v, VALUE_HEADINGS));
        if found.is_none() && is_heading && is_one_of(&key, KEY_HEADINGS) {
            reading.passed.push((row, "its headings"));
            return;
        }
        let at = u32::try_from(value_column).unwrap_or(u32::MAX);
        let is_heading = |cell: &Cell<'_>, word: &str| {
            cell.text().is_some_and(|text| text.trim().eq_ignore_ascii_case(word))
        };
        if is_heading(key_cell, "key") && is_heading(value_cell, "value") {
            reading.passed.push((row, "the headings"));
            return;
        }
        let (read, problem) = match found {
            Some((field, unit)) => cells::read(value_cell, wanted(&key, field, unit)),
            None => (Read::Value(cells::any(value_cell)), None),
        };
        let is_pour = found.is_some_and(|(field, _)| field.key == "pour");
        let (read, problem) = match read.text().filter(|_| is_pour).map(|it| cells::pour(&key, &it))
        {
            Some(Ok(pour)) => (Read::Value(Value::Text(pour)), problem),
            Some(Err(refused)) => (Read::Blank, Some(refused)),
            None => (read, problem),
        };
        if let Some(problem) = problem {
            log.problem(&problem, cell(&reading.sheet, row, at));
            if problem.severity == Severity::Error {
                reading.left_out.push(row);
                return;
            }
        }
        let name: Arc<str> = found.map_or_else(|| Arc::from(&*key), |(field, _)| field.key.into());
        reading.headings.push(Heading {
            column: u32::try_from(key_column).unwrap_or(u32::MAX),
            typed: Arc::from(&*key),
            key: name.clone(),
            is_known: found.is_some(),
            unit: found.and_then(|(field, unit)| match field.kind {
                Kind::Length { bare, .. } | Kind::LengthOrNone { bare, .. } => {
                    Some(unit.unwrap_or(bare).sign())
                }
                _ => None,
            }),
        });
        match found {
            Some(_) => reading.columns.insert(name.clone(), at),
            None => reading.own.insert(name.clone(), at),
        };
        reading.taken += 1;
        let origin = Origin::Cell { reading: number, row, column: at };
        if self.entries.contains_key(&name) {
            log.push(
                Finding::warning("double-key", format!("`{key}` stands on the Job sheet before"))
                    .at(cell(&reading.sheet, row, at))
                    .hint("the first one counts"),
            );
            return;
        }
        self.entries.insert(name, (read, origin));
    }
}

fn wanted<'a>(heading: &'a str, field: &Field, unit: Option<Unit>) -> Wanted<'a> {
    let is_deck = DECK.iter().any(|deck| deck.key == field.key);
    Wanted {
        is_of_job: true,
        heading,
        kind: field.kind,
        unit,
        takes_none: is_deck && matches!(field.kind, Kind::Text | Kind::LengthOrNone { .. }),
        is_free_text: !is_deck,
    }
}
