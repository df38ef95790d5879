//! One sheet while its rows pass: the first rows wait until the headings are found among them, then
//! each row is read.

use std::collections::{BTreeMap, HashMap};
use std::ops::ControlFlow;
use std::sync::Arc;

use super::bays::BaySink;
use super::facts::Merge;
use super::grid::Cell;
use super::head::Head;
use super::headings::{Dictionary, HeadingRow, SEARCHED_ROWS};
use super::log::Log;
use super::rows::{RawSheet, Sink, Table};
use super::sheets::BY_HEADINGS;
use crate::finding::{Finding, Place};
use crate::job::Reading;

/// Headings are looked for among so many bytes of text.
const MOST_WAITING_BYTES: usize = 4 << 20;

pub enum Stage<'a> {
    /// The first rows, until the headings are found among them.
    Seeking(Vec<(u32, Vec<Cell<'static>>)>),
    Reading(Box<Open<'a>>),
    Skipped,
}

/// A sheet whose headings are found.
pub struct Open<'a> {
    pub table: Table<'a>,
    pub rows: Rows<'a>,
}

/// What becomes of its rows.
pub enum Rows<'a> {
    Bays(Box<BaySink<'a>>),
    Others(RawSheet),
}

impl<'a> Rows<'a> {
    fn sink(&mut self) -> &mut (dyn Sink + 'a) {
        match self {
            Rows::Bays(sink) => &mut **sink,
            Rows::Others(sink) => sink,
        }
    }
}

pub struct OneSheet<'a, 'l> {
    sheet: &'a Arc<str>,
    candidates: &'l [&'a Dictionary],
    found_by: &'static str,
    number: u16,
    head: &'a Head,
    bays: Option<&'a Dictionary>,
    log: &'l mut Log,
    fatal: &'l mut Vec<Finding>,
    fill: Fill,
    /// Bytes of text in the rows that wait.
    waiting_bytes: usize,
    stage: Stage<'a>,
}

impl<'a, 'l> OneSheet<'a, 'l> {
    #[allow(clippy::too_many_arguments, reason = "made in one place")]
    pub fn new(
        sheet: &'a Arc<str>,
        candidates: &'l [&'a Dictionary],
        found_by: &'static str,
        number: u16,
        head: &'a Head,
        bays: Option<&'a Dictionary>,
        log: &'l mut Log,
        fatal: &'l mut Vec<Finding>,
        merges: Vec<Merge>,
    ) -> OneSheet<'a, 'l> {
        OneSheet {
            sheet,
            candidates,
            found_by,
            number,
            head,
            bays,
            log,
            fatal,
            fill: Fill::new(merges),
            waiting_bytes: 0,
            stage: Stage::Seeking(Vec::new()),
        }
    }

    pub fn into_stage(self) -> Stage<'a> {
        self.stage
    }

    /// Takes the next row.
    pub fn row(&mut self, row: u32, cells: &mut Vec<Cell<'_>>) -> ControlFlow<()> {
        self.fill.row(row, cells);
        if let Stage::Reading(open) = &mut self.stage {
            open.table.row(row, cells, open.rows.sink(), self.log);
            return ControlFlow::Continue(());
        }
        if let Stage::Seeking(rows) = &mut self.stage {
            let bytes: usize = cells.iter().map(|c| c.text().map_or(0, str::len)).sum();
            self.waiting_bytes += bytes;
            if row < SEARCHED_ROWS && self.waiting_bytes < MOST_WAITING_BYTES {
                rows.push((row, cells.iter().map(Cell::to_own).collect()));
                return ControlFlow::Continue(());
            }
            self.decide();
        }
        match &mut self.stage {
            Stage::Reading(open) => {
                open.table.row(row, cells, open.rows.sink(), self.log);
                ControlFlow::Continue(())
            }
            _ => ControlFlow::Break(()),
        }
    }

    /// No row is left.
    pub fn end(&mut self) {
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
        let is_bays = dictionary.schema.key == "bays";
        let mut missing = table.missing();
        // A sheet a level: the sheet's name says which.
        let takes_name = is_bays && self.found_by == BY_HEADINGS;
        let level_field = dictionary.field("level");
        let mut level = None;
        if takes_name && missing.iter().any(|field| Some(*field) == level_field) {
            missing.retain(|field| Some(*field) != level_field);
            level = Some(Arc::from(level_name(self.sheet)));
        }
        if !missing.is_empty() {
            let finding = missing_headings(self.sheet, dictionary, &table.reading, &missing);
            self.say(dictionary, finding);
            return;
        }
        let mut sink = if is_bays {
            let sink =
                BaySink::new(self.number, self.sheet, &table.columns, dictionary, self.head, level);
            Rows::Bays(Box::new(sink))
        } else {
            Rows::Others(RawSheet::default())
        };
        for (row, cells) in rows.iter().skip(found.first + found.rows) {
            table.row(*row, cells, sink.sink(), self.log);
        }
        self.stage = Stage::Reading(Box::new(Open { table, rows: sink }));
    }

    /// What keeps Bays from being read may be the end of it; other sheets are optional.
    fn say(&mut self, dictionary: &Dictionary, finding: Finding) {
        if dictionary.schema.key == "bays" {
            self.fatal.push(finding);
        } else {
            self.log.push(finding);
        }
    }

    fn choose(
        &mut self,
        rows: &[(u32, Vec<Cell<'static>>)],
    ) -> Option<(&'a Dictionary, HeadingRow)> {
        let by_headings = self.found_by == BY_HEADINGS;
        let mut best: Option<(&'a Dictionary, HeadingRow)> = None;
        for dictionary in self.candidates {
            let Some(found) = dictionary.best(rows) else { continue };
            let has_one = found
                .headings
                .iter()
                .any(|heading| heading.field.is_some_and(|f| dictionary.fields[f].required));
            if !has_one || (by_headings && !is_enough(dictionary, &found)) {
                continue;
            }
            if best.as_ref().is_none_or(|(_, best)| found.known > best.known) {
                best = Some((dictionary, found));
            }
        }
        if by_headings {
            let known = best.as_ref().map_or(0, |(_, found)| found.known);
            if self.looks_like_bays(rows, known) {
                return None;
            }
            return best;
        }
        if best.is_none() {
            self.no_headings(rows);
        }
        best
    }

    /// Where a sheet is named Bays, another that looks like it is not read, and that is said.
    fn looks_like_bays(&mut self, rows: &[(u32, Vec<Cell<'static>>)], known: usize) -> bool {
        let Some(bays) = self.bays else { return false };
        if self.candidates.iter().any(|dictionary| dictionary.schema.key == "bays") {
            return false;
        }
        let looks =
            bays.best(rows).is_some_and(|found| is_enough(bays, &found) && found.known > known);
        if looks {
            self.log.push(
                Finding::warning(
                    "unread-bays",
                    "the sheet looks like a bay schedule and is not read, because another one has \
                     the name",
                )
                .at(Place::Sheet(self.sheet.clone()))
                .hint("put all bays on one sheet, or name none of them `Bays`"),
            );
        }
        looks
    }

    fn no_headings(&mut self, rows: &[(u32, Vec<Cell<'static>>)]) {
        let Some(dictionary) = self.candidates.first().copied() else { return };
        if rows.is_empty() && dictionary.schema.key != "bays" {
            return;
        }
        let required = dictionary.fields.iter().filter(|field| field.required);
        let wanted: Vec<&str> = required.map(|field| field.heading).collect();
        let finding = Finding::error(
            "no-headings",
            format!(
                "no heading row in the first {SEARCHED_ROWS} rows of `{}`, wanted {}",
                self.sheet,
                wanted.join(", ")
            ),
        )
        .at(Place::Sheet(self.sheet.clone()));
        self.say(dictionary, finding);
    }
}

/// Whether headings alone make a sheet: all that are required (a level may be the sheet's name),
/// and at least three.
fn is_enough(dictionary: &Dictionary, found: &HeadingRow) -> bool {
    const LEAST_KNOWN: usize = 3;
    let is_bays = dictionary.schema.key == "bays";
    let has_all = dictionary.fields.iter().enumerate().all(|(index, field)| {
        !field.required || found.has(index) || (is_bays && field.key == "level")
    });
    has_all && found.known >= LEAST_KNOWN
}

/// The level that a sheet's name or a line between the rows says: `Level 2` is `2`.
pub fn level_name(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    match words.as_slice() {
        [first, rest @ ..] if !rest.is_empty() => {
            let word = first.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
            if matches!(word.as_str(), "level" | "lvl" | "floor" | "story" | "storey") {
                return rest.join(" ");
            }
            words.join(" ")
        }
        _ => words.join(" "),
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
            let also = field.synonyms.join(", ");
            finding = finding.hint(format!("`{}` is also read from {also}", field.heading));
        }
    }
    finding
}

/// Gives the cells of a range merged down the value at its top.
#[derive(Default)]
struct Fill {
    /// The ranges by their top row.
    merges: HashMap<u32, Vec<Merge>>,
    /// By column, the range that the present row is in, with its value.
    open: BTreeMap<u32, (Merge, Cell<'static>)>,
}

impl Fill {
    fn new(merges: Vec<Merge>) -> Fill {
        let mut fill = Fill::default();
        for merge in merges {
            fill.merges.entry(merge.top).or_default().push(merge);
        }
        fill
    }

    fn row(&mut self, row: u32, cells: &mut Vec<Cell<'_>>) {
        if self.merges.is_empty() || cells.iter().all(Cell::is_blank) {
            return;
        }
        self.open.retain(|_, (merge, _)| merge.bottom >= row);
        for (column, (_, value)) in &self.open {
            let column = *column as usize;
            if cells.len() <= column {
                cells.resize(column + 1, Cell::Blank);
            }
            if cells[column].is_blank() {
                cells[column] = value.clone();
            }
        }
        for merge in self.merges.get(&row).into_iter().flatten() {
            if let Some(cell) = cells.get(merge.left as usize).filter(|cell| !cell.is_blank()) {
                self.open.insert(merge.left, (*merge, cell.to_own()));
            }
        }
    }
}
