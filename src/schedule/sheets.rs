//! Which sheet is what, and reading each in turn.

use std::ops::ControlFlow;
use std::rc::Rc;
use std::sync::Arc;

use indexmap::IndexMap;

use super::ReadOptions;
use super::bays::BaySink;
use super::facts::Facts;
use super::grid::READ_COLUMNS;
use super::head::Head;
use super::headings::{Dictionary, SEARCHED_ROWS, heading_of, squeeze};
use super::log::{Log, speaks_of};
use super::one_sheet::{OneSheet, Open, Rows};
use super::rows::{DeckAsk, RawEntry};
use super::workbook::{SheetName, Stop, Workbook};
use crate::finding::{Finding, Place, column_letters};
use crate::job::schema::{READ_ME, SHEETS};
use crate::job::{Bay, Reading};

/// Everything read, nothing resolved.
#[derive(Default)]
pub struct Raw {
    pub readings: Vec<Reading>,
    pub head: Head,
    /// The rows of the sheets other than Job and Bays.
    pub sheets: IndexMap<&'static str, Vec<RawEntry>>,
    /// Bays whose `deck` is a position in `asks`.
    pub bays: Vec<Bay>,
    pub asks: Vec<DeckAsk>,
    /// Sheets that are none of the schedule's.
    pub unread: Vec<Arc<str>>,
}

/// What a sheet of the workbook is taken for.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Taken {
    /// Position in the schema; `None`: to be known by its headings, or not at all.
    schema: Option<usize>,
    found_by: &'static str,
}

/// Reads every sheet; the error lists why there are no bays to read, beside what was understood.
pub fn read(
    book: &mut Workbook,
    options: &ReadOptions,
    log: &mut Log,
) -> (Raw, Result<(), Vec<Finding>>) {
    let dictionaries: Vec<Dictionary> =
        SHEETS.iter().map(|schema| Dictionary::new(schema, &options.aliases)).collect();
    let names = book.sheets.clone();
    let taken = assign(book, &names);
    let mut reader = Reader {
        book,
        dictionaries: &dictionaries,
        log,
        raw: Raw::default(),
        head: Rc::default(),
        fatal: Vec::new(),
    };
    let order = |index: &usize| match taken[*index].schema {
        Some(schema) if SHEETS[schema].key == "head" => 0,
        Some(_) => 1,
        None => 2,
    };
    let mut sheets: Vec<usize> = (0..names.len()).collect();
    sheets.sort_by_key(order);
    let mut over = None;
    for index in sheets {
        let sheet = &names[index];
        let done = match taken[index].schema {
            Some(schema) if SHEETS[schema].key == "head" => reader.head(sheet),
            Some(schema) => {
                // Its table may stand there twice.
                let others: Vec<usize> =
                    std::iter::once(schema).chain(reader.free(&taken)).collect();
                reader.table(sheet, &[schema], &others, taken[index].found_by)
            }
            None if sheet.is_hidden => reader.hidden(sheet),
            None => {
                let free = reader.free(&taken);
                reader.table(sheet, &free, &free, BY_HEADINGS)
            }
        };
        if let Err(finding) = done {
            over = Some(finding);
            break;
        }
    }
    let Reader { mut raw, head, fatal, log, .. } = reader;
    raw.head = Rc::try_unwrap(head).unwrap_or_default();
    if let Some(over) = over {
        return (raw, Err(vec![over]));
    }
    let is_new = |name: &&Arc<str>| {
        let of_it = |finding: &Finding| speaks_of(finding, name);
        !log.speaks_of(name) && !fatal.iter().any(of_it)
    };
    let unread: Vec<Arc<str>> = raw.unread.iter().filter(is_new).cloned().collect();
    say_unread(&unread, log);
    if !fatal.is_empty() && raw.bays.is_empty() {
        return (raw, Err(fatal));
    }
    for finding in fatal {
        log.push(finding);
    }
    let has_bays = raw.readings.iter().any(|reading| reading.key == "bays");
    let done = if has_bays { Ok(()) } else { Err(vec![no_bays_sheet(&names)]) };
    (raw, done)
}

/// Whether a sheet's name says that it is an old one or a copy of another: `Level 2 OLD`, `Level 2 (2)`.
fn looks_superseded(name: &str, sheets: &[SheetName]) -> bool {
    const WORDS: [&str; 5] = ["old", "copy", "superseded", "void", "backup"];
    let Some((base, last)) = name.trim().rsplit_once([' ', '_', '-']) else { return false };
    let last = last.trim_matches(|sign: char| !sign.is_alphanumeric());
    let is_number = last.len() == 1 && last.bytes().all(|sign| sign.is_ascii_digit());
    let is_of = |sheet: &SheetName| sheet.name.trim().eq_ignore_ascii_case(base.trim());
    WORDS.iter().any(|word| last.eq_ignore_ascii_case(word))
        || name.trim().ends_with(')') && is_number && sheets.iter().any(is_of)
}

/// Sheets that nothing is read from: asked about where their names say something of the schedule's.
fn say_unread(unread: &[Arc<str>], log: &mut Log) {
    const MORE: [&str; 3] = ["holiday", "holidays", "shutdown"];
    // `Slab openings`, `Deck edges`: the last word says what is on it.
    let is_like = |name: &str| {
        let words: Vec<&str> = name.split_whitespace().collect();
        let is = |word: &str, known: &str| word.eq_ignore_ascii_case(known);
        words.iter().any(|word| MORE.iter().any(|known| is(word, known)))
            || words.len() == 2 && SHEETS.iter().any(|sheet| is(words[1], sheet.name))
    };
    for name in unread.iter().filter(|name| &***name != READ_ME) {
        let message = format!("nothing is read from the sheet `{name}`");
        let place = Place::Sheet(name.clone());
        log.push(if is_like(name) {
            Finding::warning("sheet-not-read", message).at(place).hint(
                "`new` writes a schedule with all sheets and headings that are read; closed days \
                 stand in the rule `pour_calendar`",
            )
        } else {
            Finding::note("sheet-not-read", message).at(place)
        });
    }
}

fn beyond(sheet: &SheetName) -> Finding {
    Finding::warning(
        "far-columns",
        format!("cells beyond column {} are not read", column_letters(READ_COLUMNS - 1)),
    )
    .at(Place::Sheet(sheet.name.clone()))
    .hint("move what belongs to the schedule to the left")
}

pub const BY_HEADINGS: &str = "its headings";

/// What each sheet is by its name, else by the names of its tables and ranges.
fn assign(book: &mut Workbook, names: &[SheetName]) -> Vec<Taken> {
    let mut taken: Vec<Taken> = names
        .iter()
        .map(|sheet| Taken { schema: by_name(&sheet.name), found_by: "its name" })
        .collect();
    let mut named = book.table_names();
    named.extend(book.defined_names());
    for (name, sheet) in named {
        let Some(schema) = by_name(&name) else { continue };
        let is_named = taken.iter().any(|taken| taken.schema == Some(schema));
        let at = names.iter().position(|known| *known.name == *sheet);
        if let (false, Some(at)) = (is_named, at)
            && taken[at].schema.is_none()
        {
            taken[at] = Taken { schema: Some(schema), found_by: "the name of its table or range" };
        }
    }
    taken
}

/// The schema sheet of a name.
fn by_name(name: &str) -> Option<usize> {
    let name = squeeze(name);
    SHEETS.iter().position(|schema| {
        let names = std::iter::once(&schema.name).chain(schema.synonyms);
        names.chain(std::iter::once(&schema.key)).any(|known| squeeze(known) == name)
    })
}

fn no_bays_sheet(names: &[SheetName]) -> Finding {
    let listed: Vec<String> = names.iter().map(|sheet| format!("`{}`", sheet.name)).collect();
    let sheets = match listed.as_slice() {
        [] => "it has no worksheet".to_owned(),
        listed => format!("its sheets are {}", listed.join(", ")),
    };
    Finding::error("no-bays-sheet", format!("no sheet `Bays` in the workbook; {sheets}")).hint(
        "name the sheet with the bays `Bays`, or give it the headings Level, Bay, Spans and Width",
    )
}

struct Reader<'a> {
    book: &'a mut Workbook,
    dictionaries: &'a [Dictionary],
    log: &'a mut Log,
    raw: Raw,
    head: Rc<Head>,
    /// Why there may be no bays.
    fatal: Vec<Finding>,
}

impl Reader<'_> {
    fn head(&mut self, sheet: &SheetName) -> Result<(), Finding> {
        let mut reading = Reading {
            sheet: sheet.name.clone(),
            key: "head",
            found_by: "its name",
            ..Reading::default()
        };
        let number = u16::try_from(self.raw.readings.len()).unwrap_or(u16::MAX);
        let of = |key: &str| self.dictionaries.iter().find(|d| d.schema.key == key);
        let known: Vec<&Dictionary> = ["head", "bays"].iter().filter_map(|key| of(key)).collect();
        let mut head = Rc::try_unwrap(std::mem::take(&mut self.head)).unwrap_or_default();
        let log = &mut *self.log;
        let result = self.book.read(&sheet.name, &mut |row, cells| {
            head.take(number, row, cells, &known, &mut reading, log);
            ControlFlow::Continue(())
        });
        self.head = Rc::new(head);
        self.raw.readings.push(reading);
        result.map(|_| ()).or_else(|stop| self.stopped(sheet, stop))
    }

    /// The schemas that no sheet has the name of and that were not read yet; bays may stand on
    /// several sheets.
    fn free(&self, taken: &[Taken]) -> Vec<usize> {
        let is_free = |schema: &usize| {
            let key = SHEETS[*schema].key;
            let is_named = taken.iter().any(|taken| taken.schema == Some(*schema));
            let is_read = key != "bays" && self.raw.sheets.contains_key(key);
            key != "head" && !is_named && !is_read
        };
        (0..SHEETS.len()).filter(is_free).collect()
    }

    /// Leaves out a hidden sheet that has no name of the schedule's; where bays stand on it, that is
    /// asked about.
    fn hidden(&mut self, sheet: &SheetName) -> Result<(), Finding> {
        let dictionaries: Vec<&Dictionary> = self.dictionaries.iter().collect();
        let (mut has_headings, mut has_bays) = (false, false);
        let used = self.book.used();
        let read = self.book.read(&sheet.name, &mut |row, cells| {
            const LEAST: usize = 3;
            if has_headings {
                has_bays = cells.iter().filter(|cell| !cell.is_blank()).count() >= LEAST;
            } else {
                let found = heading_of(cells, &dictionaries);
                has_headings = found.is_some_and(|(dictionary, _)| dictionary.schema.key == "bays");
            }
            if has_bays || row >= SEARCHED_ROWS {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        self.book.set_used(used);
        self.raw.unread.push(sheet.name.clone());
        if has_bays {
            let message = format!(
                "the hidden sheet `{}` has the headings of bays and is not read",
                sheet.name
            );
            self.log.push(
                Finding::warning("hidden-bays", message)
                    .at(Place::Sheet(sheet.name.clone()))
                    .hint("unhide it where its bays are to be counted, else remove it"),
            );
        }
        match read {
            Err(stop @ Stop::Over(_)) => self.stopped(sheet, stop),
            Ok(_) | Err(Stop::Damaged { .. }) => Ok(()),
        }
    }

    /// Reads a sheet as the one of these schemas that its headings fit, and what else stands on it
    /// above or below.
    fn table(
        &mut self,
        sheet: &SheetName,
        schemas: &[usize],
        others: &[usize],
        found_by: &'static str,
    ) -> Result<(), Finding> {
        let of = |schema: &usize| &self.dictionaries[*schema];
        let candidates: Vec<&Dictionary> = schemas.iter().map(of).collect();
        let others: Vec<&Dictionary> = others.iter().map(of).collect();
        let bays = self.dictionaries.iter().find(|dictionary| dictionary.schema.key == "bays");
        let number = u16::try_from(self.raw.readings.len()).unwrap_or(u16::MAX);
        let mut merges = Vec::new();
        let head = Rc::clone(&self.head);
        loop {
            let is_first = merges.is_empty();
            let used_before = self.book.used();
            let mut log = Log::default();
            let mut fatal = Vec::new();
            let mut one = OneSheet::new(
                &sheet.name,
                &candidates,
                &others,
                found_by,
                number,
                &head,
                bays,
                &mut log,
                &mut fatal,
                std::mem::take(&mut merges),
            );
            let result = self.book.read(&sheet.name, &mut |row, cells| one.row(row, cells));
            one.end();
            let tables = one.into_tables();
            // Merged cells are told behind the rows: where they matter the rows are read again.
            if let (true, Ok(facts)) = (is_first, &result) {
                let of_concern = |open: &Open<'_>| open.table.merges_of_concern(&facts.merges);
                merges = tables.iter().flat_map(of_concern).collect();
                if !merges.is_empty() {
                    self.book.set_used(used_before);
                    continue;
                }
            }
            self.fatal.append(&mut fatal);
            self.log.append(log);
            let facts = match result {
                Ok(facts) => facts,
                Err(stop) => {
                    self.stopped(sheet, stop)?;
                    Facts::default()
                }
            };
            if tables.is_empty() {
                self.raw.unread.push(sheet.name.clone());
            } else if facts.beyond {
                self.log.push(beyond(sheet));
            }
            for open in tables {
                let reading = open.table.finish(&facts, self.log);
                self.keep(sheet, open.number, reading, open.rows);
            }
            return Ok(());
        }
    }

    fn keep(&mut self, sheet: &SheetName, number: u16, mut reading: Reading, rows: Rows<'_>) {
        if sheet.is_hidden {
            reading.remarks.push("the sheet is hidden".to_owned());
            self.log.push(
                Finding::note("hidden-sheet", "the sheet is hidden and is read")
                    .at(Place::Sheet(sheet.name.clone())),
            );
        }
        let key = reading.key;
        // What adds to the counts is asked about where only its headings say what it is.
        if reading.found_by == BY_HEADINGS
            && ["pieces", "stock", "edges", "releases"].contains(&key)
        {
            let called =
                SHEETS.iter().find(|known| known.key == key).map_or(key, |known| known.name);
            let message = format!("`{}` is read as {called}, by its headings", sheet.name);
            self.log.push(
                Finding::warning("read-by-headings", message)
                    .at(Place::Sheet(sheet.name.clone()))
                    .hint(format!("call it `{called}` where it is; move it to a workbook of its own where it is a list of something else")),
            );
        }
        if key == "bays" && looks_superseded(&sheet.name, &self.book.sheets) {
            let message =
                format!("the bays of `{}` are counted: is it not superseded?", sheet.name);
            self.log.push(
                Finding::warning("superseded-sheet", message)
                    .at(Place::Sheet(sheet.name.clone()))
                    .hint("delete the sheet, or void its rows by Status"),
            );
        }
        match rows {
            Rows::Bays(sink) => {
                let BaySink { mut bays, mut asks, sheet_level, .. } = *sink;
                if let Some(level) = sheet_level {
                    reading.remarks.push(format!("its level is `{level}`, by the sheet's name"));
                    self.log.push(
                        Finding::note(
                            "level-from-sheet",
                            format!("no heading `Level`: the sheet's name says it is `{level}`"),
                        )
                        .at(Place::Sheet(sheet.name.clone())),
                    );
                }
                let offset = u32::try_from(self.raw.asks.len()).unwrap_or(0);
                for bay in &mut bays {
                    bay.deck = bay.deck.saturating_add(offset);
                }
                self.raw.asks.append(&mut asks);
                self.raw.bays.append(&mut bays);
            }
            Rows::Others(mut rows) => {
                for entry in &mut rows.entries {
                    entry.reading = number;
                }
                self.raw.sheets.entry(key).or_default().append(&mut rows.entries);
            }
        }
        self.raw.readings.push(reading);
    }

    /// Says why a sheet was not read to its end; an error where the workbook is refused for it.
    fn stopped(&mut self, sheet: &SheetName, stop: Stop) -> Result<(), Finding> {
        let sheet = &sheet.name;
        match stop {
            Stop::Over(refused) => {
                let (_, hint) = refused.code_and_hint(self.book.limits());
                let message = format!("the workbook {}", refused.why);
                let finding = Finding::error("over-limit", message);
                Err(finding.at(Place::Sheet(sheet.clone())).hint(hint))
            }
            Stop::Damaged { after, message } => {
                let (place, from) = match after {
                    Some((row, column)) => {
                        (Place::Cell { sheet: sheet.clone(), row, column }, "behind this cell")
                    }
                    None => (Place::Sheet(sheet.clone()), "at its start"),
                };
                self.log.push(
                    Finding::error(
                        "damaged-sheet",
                        format!(
                            "`{sheet}` is damaged {from} and the rest of it is not read: {message}"
                        ),
                    )
                    .at(place)
                    .hint("open the workbook in a spreadsheet program, repair and save it"),
                );
                Ok(())
            }
        }
    }
}
