//! Which sheet is what, and reading each in turn.

use std::ops::ControlFlow;
use std::sync::Arc;

use indexmap::IndexMap;

use super::ReadOptions;
use super::bays::BaySink;
use super::grid::Cell;
use super::head::Head;
use super::headings::{Dictionary, HeadingRow, SEARCHED_ROWS, squeeze};
use super::log::Log;
use super::rows::{DeckAsk, RawEntry, RawSheet, Sink, Table};
use super::workbook::{Damage, SheetName, Workbook};
use crate::finding::{Finding, Place};
use crate::job::schema::SHEETS;
use crate::job::{Bay, Reading};

/// Everything read, nothing resolved.
#[derive(Default)]
pub struct Raw {
    pub readings: Vec<Reading>,
    pub head: Head,
    /// The rows of the sheets other than Job and Bays, with the dictionary's field keys.
    pub sheets: IndexMap<&'static str, Vec<RawEntry>>,
    /// Bays whose `deck` is a position in `asks`.
    pub bays: Vec<Bay>,
    pub asks: Vec<DeckAsk>,
}

/// What a sheet of the workbook is taken for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Taken {
    Named(usize),
    /// To be known by its headings, or not at all.
    Unknown,
}

/// Reads every sheet; the error lists why there are no bays to read.
pub fn read(
    book: &mut Workbook,
    options: &ReadOptions,
    log: &mut Log,
) -> Result<Raw, Vec<Finding>> {
    let dictionaries: Vec<Dictionary> =
        SHEETS.iter().map(|schema| Dictionary::new(schema, &options.aliases)).collect();
    let names = book.sheets.clone();
    let taken: Vec<Taken> = names
        .iter()
        .map(|sheet| by_name(&sheet.name).map_or(Taken::Unknown, Taken::Named))
        .collect();
    let mut raw = Raw::default();
    let mut fatal = Vec::new();
    let order = |index: &usize| match taken[*index] {
        Taken::Named(schema) if SHEETS[schema].key == "head" => 0,
        Taken::Named(_) => 1,
        Taken::Unknown => 2,
    };
    let mut sheets: Vec<usize> = (0..names.len()).collect();
    sheets.sort_by_key(order);
    for index in sheets {
        let sheet = &names[index];
        let mut one = OneSheet { book, sheet, dictionaries: &dictionaries, log, raw: &mut raw };
        match taken[index] {
            Taken::Named(schema) if SHEETS[schema].key == "head" => one.read_head(),
            Taken::Named(schema) => one.read_table(&[schema], true, &mut fatal),
            Taken::Unknown => {
                let named = |schema: usize| taken.contains(&Taken::Named(schema));
                let read = |key: &str| one.raw.sheets.contains_key(key);
                let open: Vec<usize> = (0..SHEETS.len())
                    .filter(|s| !named(*s) && SHEETS[*s].key != "head" && !read(SHEETS[*s].key))
                    .collect();
                one.read_table(&open, false, &mut fatal);
            }
        }
    }
    if !fatal.is_empty() && raw.bays.is_empty() {
        return Err(fatal);
    }
    for finding in fatal {
        log.push(finding);
    }
    if !raw.readings.iter().any(|reading| reading.key == "bays") {
        let listed: Vec<String> = names.iter().map(|sheet| format!("`{}`", sheet.name)).collect();
        return Err(vec![
            Finding::error(
                "no-bays-sheet",
                format!("no sheet `Bays` in the workbook; its sheets are {}", listed.join(", ")),
            )
            .hint(
                "name the sheet with the bays `Bays`, or give it the headings Level, Bay, Spans \
                 and Width",
            ),
        ]);
    }
    Ok(raw)
}

/// The schema sheet of a sheet's name.
fn by_name(name: &str) -> Option<usize> {
    let name = squeeze(name);
    SHEETS.iter().position(|schema| {
        let names = std::iter::once(&schema.name).chain(schema.synonyms);
        names.chain(std::iter::once(&schema.key)).any(|known| squeeze(known) == name)
    })
}

/// A sheet being read.
struct OneSheet<'a> {
    book: &'a mut Workbook,
    sheet: &'a SheetName,
    dictionaries: &'a [Dictionary],
    log: &'a mut Log,
    raw: &'a mut Raw,
}

impl OneSheet<'_> {
    fn read_head(&mut self) {
        let mut reading = Reading {
            sheet: self.sheet.name.clone(),
            key: "head",
            found_by: "its name",
            ..Reading::default()
        };
        let of = |key: &str| self.dictionaries.iter().find(|d| d.schema.key == key);
        let known: Vec<&Dictionary> = ["head", "bays"].iter().filter_map(|key| of(key)).collect();
        let mut head = std::mem::take(&mut self.raw.head);
        let log = &mut *self.log;
        let result = self.book.read(&self.sheet.name, &mut |row, cells| {
            head.take(row, cells, &known, &mut reading, log);
            ControlFlow::Continue(())
        });
        self.raw.head = head;
        self.raw.readings.push(reading);
        self.damage(result);
    }

    fn damage(&mut self, result: Result<(), Damage>) {
        if let Err(damage) = result {
            let sheet = &self.sheet.name;
            let place = match damage.after {
                Some((row, column)) => Place::Cell { sheet: sheet.clone(), row, column },
                None => Place::Sheet(sheet.clone()),
            };
            let from = if damage.after.is_some() { "behind this cell" } else { "at its start" };
            self.log.push(
                Finding::error(
                    "damaged-sheet",
                    format!(
                        "`{sheet}` is damaged {from} and the rest of it is not read: {}",
                        damage.message
                    ),
                )
                .at(place)
                .hint("open the workbook in a spreadsheet program, repair and save it"),
            );
        }
    }

    /// Reads the sheet as one of these schemas.
    fn read_table(&mut self, schemas: &[usize], is_named: bool, fatal: &mut Vec<Finding>) {
        if self.sheet.is_hidden && !is_named {
            return;
        }
        let number = u16::try_from(self.raw.readings.len()).unwrap_or(u16::MAX);
        let mut state = State {
            sheet: &self.sheet.name,
            candidates: schemas.iter().map(|schema| &self.dictionaries[*schema]).collect(),
            is_named,
            number,
            head: &self.raw.head,
            log: self.log,
            fatal,
            stage: Stage::Seeking(Vec::new()),
        };
        let result = self.book.read(&self.sheet.name, &mut |row, cells| state.row(row, cells));
        state.end();
        let done = state.stage;
        if let Stage::Reading(open) = done {
            let mut reading = open.table.finish(self.log);
            reading.found_by = if is_named { "its name" } else { "its headings" };
            if self.sheet.is_hidden {
                reading.remarks.push("the sheet is hidden".to_owned());
                self.log.push(
                    Finding::note(
                        "hidden-sheet",
                        format!("sheet `{}` is hidden and is read", self.sheet.name),
                    )
                    .at(Place::Sheet(self.sheet.name.clone())),
                );
            }
            let key = reading.key;
            self.raw.readings.push(reading);
            match open.rows {
                Rows::Bays(mut sink) => {
                    let offset = u32::try_from(self.raw.asks.len()).unwrap_or(0);
                    for bay in &mut sink.bays {
                        bay.deck += offset;
                    }
                    self.raw.asks.append(&mut sink.asks);
                    self.raw.bays.append(&mut sink.bays);
                }
                Rows::Others(mut rows) => {
                    for entry in &mut rows.entries {
                        entry.reading = number;
                    }
                    self.raw.sheets.entry(key).or_default().append(&mut rows.entries);
                }
            }
        }
        self.damage(result);
    }
}

enum Stage<'a> {
    /// The first rows, until the headings are found among them.
    Seeking(Vec<(u32, Vec<Cell<'static>>)>),
    Reading(Box<Open<'a>>),
    Skipped,
}

struct Open<'a> {
    table: Table<'a>,
    rows: Rows<'a>,
}

#[allow(clippy::large_enum_variant, reason = "one a sheet")]
enum Rows<'a> {
    Bays(BaySink<'a>),
    Others(RawSheet),
}

struct State<'a, 'l> {
    sheet: &'a Arc<str>,
    candidates: Vec<&'a Dictionary>,
    is_named: bool,
    number: u16,
    head: &'a Head,
    log: &'l mut Log,
    fatal: &'l mut Vec<Finding>,
    stage: Stage<'a>,
}

impl<'a> State<'a, '_> {
    fn row(&mut self, row: u32, cells: &mut Vec<Cell<'_>>) -> ControlFlow<()> {
        if let Stage::Reading(open) = &mut self.stage {
            return open.row(row, cells, self.log);
        }
        if let Stage::Seeking(rows) = &mut self.stage {
            if row < SEARCHED_ROWS {
                rows.push((row, cells.iter().map(Cell::to_own).collect()));
                return ControlFlow::Continue(());
            }
            self.decide();
        }
        match &mut self.stage {
            Stage::Reading(open) => open.row(row, cells, self.log),
            _ => ControlFlow::Break(()),
        }
    }

    fn end(&mut self) {
        if matches!(self.stage, Stage::Seeking(_)) {
            self.decide();
        }
    }

    /// Finds the headings among the first rows and reads the rows below them.
    fn decide(&mut self) {
        let Stage::Seeking(rows) = std::mem::replace(&mut self.stage, Stage::Skipped) else {
            return;
        };
        let Some((dictionary, found)) = self.choose(&rows) else { return };
        let mut table = Table::new(self.sheet, dictionary, &found, &rows, self.log);
        let missing = table.missing();
        if !missing.is_empty() {
            let finding = missing_headings(self.sheet, dictionary, &table.reading, &missing);
            if dictionary.schema.key == "bays" {
                self.fatal.push(finding);
            } else {
                self.log.push(finding);
            }
            return;
        }
        let mut sink = match dictionary.schema.key {
            "bays" => {
                Rows::Bays(BaySink::new(self.number, &table.columns, dictionary, self.head, None))
            }
            _ => Rows::Others(RawSheet::default()),
        };
        for (row, cells) in rows.iter().skip(found.first + found.rows) {
            let _: ControlFlow<()> = table.row(*row, cells, sink.sink(), self.log);
        }
        self.stage = Stage::Reading(Box::new(Open { table, rows: sink }));
    }

    fn choose(
        &mut self,
        rows: &[(u32, Vec<Cell<'static>>)],
    ) -> Option<(&'a Dictionary, HeadingRow)> {
        const LEAST_KNOWN: usize = 3;
        let mut best: Option<(&'a Dictionary, HeadingRow)> = None;
        for dictionary in &self.candidates {
            let Some(found) = dictionary.best(rows) else { continue };
            let has_all = (0..dictionary.fields.len())
                .all(|field| !dictionary.fields[field].required || found.has(field));
            let has_one = (0..dictionary.fields.len())
                .any(|field| dictionary.fields[field].required && found.has(field));
            if !has_one || (!self.is_named && (!has_all || found.known < LEAST_KNOWN)) {
                continue;
            }
            if best.as_ref().is_none_or(|(_, best)| found.known > best.known) {
                best = Some((dictionary, found));
            }
        }
        if best.is_none() && self.is_named {
            let dictionary = self.candidates.first()?;
            if rows.is_empty() && dictionary.schema.key != "bays" {
                return None;
            }
            let wanted: Vec<&str> = dictionary
                .fields
                .iter()
                .filter(|field| field.required)
                .map(|field| field.heading)
                .collect();
            let finding = Finding::error(
                "no-headings",
                format!(
                    "no heading row in the first {SEARCHED_ROWS} rows of `{}`, wanted {}",
                    self.sheet,
                    wanted.join(", ")
                ),
            )
            .at(Place::Sheet(self.sheet.clone()));
            if dictionary.schema.key == "bays" {
                self.fatal.push(finding);
            } else {
                self.log.push(finding);
            }
        }
        best
    }
}

impl Open<'_> {
    fn row(&mut self, row: u32, cells: &[Cell<'_>], log: &mut Log) -> ControlFlow<()> {
        self.table.row(row, cells, self.rows.sink(), log)
    }
}

impl<'a> Rows<'a> {
    fn sink(&mut self) -> &mut (dyn Sink + 'a) {
        match self {
            Rows::Bays(sink) => sink,
            Rows::Others(sink) => sink,
        }
    }
}

/// What a heading row lacks.
fn missing_headings(
    sheet: &Arc<str>,
    dictionary: &Dictionary,
    reading: &Reading,
    missing: &[usize],
) -> Finding {
    let names: Vec<String> =
        missing.iter().map(|field| format!("`{}`", dictionary.fields[*field].heading)).collect();
    let found: Vec<&str> = reading.headings.iter().map(|heading| &*heading.typed).collect();
    let mut finding = Finding::error(
        "missing-heading",
        format!(
            "no heading {} in row {} of `{sheet}`, which has {}",
            names.join(", "),
            reading.heading_row + 1,
            found.join(", ")
        ),
    )
    .at(Place::Row { sheet: sheet.clone(), row: reading.heading_row });
    for field in missing {
        let field = dictionary.fields[*field];
        if !field.synonyms.is_empty() {
            finding = finding.hint(format!(
                "`{}` is also read from {}",
                field.heading,
                field.synonyms.join(", ")
            ));
        }
    }
    finding
}
