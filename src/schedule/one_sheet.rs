//! One sheet while its rows pass: the first rows wait until the headings are found among them, then
//! each row is read.

use std::collections::{BTreeMap, HashMap};
use std::ops::ControlFlow;
use std::sync::Arc;

use super::bays::BaySink;
use super::facts::Merge;
use super::grid::Cell;
use super::head::Head;
use super::headings::{Dictionary, HeadingRow, SEARCHED_ROWS, heading_of, is_enough};
use super::levels::{self, Line, level_name, level_of};
use super::log::Log;
use super::rows::{RawSheet, Sink, Table};
use super::sheets::BY_HEADINGS;
use crate::finding::{Finding, Place};
use crate::job::Reading;

/// Headings are looked for among so many bytes of text.
const MOST_WAITING_BYTES: usize = 4 << 20;

enum Stage {
    /// The first rows, until the headings are found among them.
    Seeking(Vec<(u32, Vec<Cell<'static>>)>),
    Reading,
    Skipped,
}

/// A sheet whose headings are found.
pub struct Open<'a> {
    pub table: Table<'a>,
    pub rows: Rows<'a>,
    pub number: u16,
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
    /// What else may stand on the sheet, above or below.
    others: &'l [&'a Dictionary],
    found_by: &'static str,
    number: u16,
    head: &'a Head,
    bays: Option<&'a Dictionary>,
    log: &'l mut Log,
    fatal: &'l mut Vec<Finding>,
    fill: Fill,
    /// Bytes of text in the rows that wait.
    waiting_bytes: usize,
    stage: Stage,
    /// Tables found so far, one below the other; the last one is being read.
    open: Vec<Open<'a>>,
    /// Rows that were looked at for being another table's headings.
    looked_at: usize,
    /// The row before, where it holds nothing but one text.
    line: Option<(u32, String)>,
}

impl<'a, 'l> OneSheet<'a, 'l> {
    #[allow(clippy::too_many_arguments, reason = "made in one place")]
    pub fn new(
        sheet: &'a Arc<str>,
        candidates: &'l [&'a Dictionary],
        others: &'l [&'a Dictionary],
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
            others,
            found_by,
            number,
            head,
            bays,
            log,
            fatal,
            fill: Fill::new(merges),
            waiting_bytes: 0,
            stage: Stage::Seeking(Vec::new()),
            open: Vec::new(),
            looked_at: 0,
            line: None,
        }
    }

    /// The tables that were found.
    pub fn into_tables(self) -> Vec<Open<'a>> {
        self.open
    }

    /// Takes the next row.
    pub fn row(&mut self, row: u32, cells: &mut Vec<Cell<'_>>) -> ControlFlow<()> {
        self.fill.row(row, cells);
        if matches!(self.stage, Stage::Reading) {
            self.read_row(row, cells);
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
        if !matches!(self.stage, Stage::Reading) {
            return ControlFlow::Break(());
        }
        self.read_row(row, cells);
        ControlFlow::Continue(())
    }

    /// Reads a row of the table at hand, or begins another with it.
    fn read_row(&mut self, row: u32, cells: &[Cell<'_>]) {
        const MOST_LOOKED_AT: usize = 1_000;
        let Some(open) = self.open.last_mut() else { return };
        let (looked_at, others) = (&mut self.looked_at, self.others);
        let mut other = None;
        open.table.row(
            row,
            cells,
            open.rows.sink(),
            &mut |cells| {
                *looked_at += 1;
                if *looked_at <= MOST_LOOKED_AT {
                    other = heading_of(cells, others);
                }
                other.is_some()
            },
            self.log,
        );
        let Some((dictionary, found)) = other else {
            if !cells.iter().all(Cell::is_blank) {
                self.look_at(row, cells);
            }
            return;
        };
        self.begin(dictionary, &found, &[(row, cells.iter().map(Cell::to_own).collect())]);
    }

    /// Keeps a row that holds one text alone; a height goes with the level named above it.
    fn look_at(&mut self, row: u32, cells: &[Cell<'_>]) {
        let line = text_alone(row, cells);
        let is_height = line.as_ref().is_some_and(|(_, text)| levels::line(text) == Line::Height);
        if !(is_height && self.line.is_some()) {
            self.line = line;
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
        // What stands above the headings may be a table too, such as the types.
        let above: Vec<&(u32, Vec<Cell<'static>>)> = rows.iter().take(found.first).collect();
        for (row, cells) in above {
            if self.open.is_empty() {
                match heading_of(cells, self.others) {
                    Some((other, headings)) => {
                        self.begin(other, &headings, &[(*row, cells.clone())]);
                    }
                    None => self.look_at(*row, cells),
                }
            } else {
                self.read_row(*row, cells);
            }
        }
        if !self.begin(dictionary, &found, &rows) {
            return;
        }
        self.stage = Stage::Reading;
        for (row, cells) in rows.iter().skip(found.first + found.rows) {
            self.read_row(*row, cells);
        }
    }

    /// Begins a table under these headings; false where it lacks some.
    fn begin(
        &mut self,
        dictionary: &'a Dictionary,
        found: &HeadingRow,
        rows: &[(u32, Vec<Cell<'static>>)],
    ) -> bool {
        let mut table = Table::new(self.sheet, dictionary, found, rows, self.log);
        let is_bays = dictionary.schema.key == "bays";
        let mut missing = table.missing();
        // A sheet a level: the sheet's name says which.
        let line = self.line.take();
        let below = rows.get(found.first + found.rows);
        let below = below.and_then(|(row, cells)| text_alone(*row, cells));
        let is_level = |line: &Option<(u32, String)>| {
            line.as_ref().is_some_and(|(_, text)| level_of(text).is_some())
        };
        let takes_name =
            is_bays && (self.found_by == BY_HEADINGS || is_level(&line) || is_level(&below));
        let level_field = dictionary.field("level");
        let mut level = None;
        if takes_name && missing.iter().any(|field| Some(*field) == level_field) {
            missing.retain(|field| Some(*field) != level_field);
            level = Some(Arc::from(level_name(self.sheet)));
        }
        if !missing.is_empty() {
            let finding = missing_headings(self.sheet, dictionary, &table.reading, &missing);
            self.say(dictionary, finding);
            return false;
        }
        let number = self.number.saturating_add(u16::try_from(self.open.len()).unwrap_or(0));
        let rows = if is_bays {
            let columns = &table.columns;
            let mut sink = BaySink::new(number, self.sheet, columns, dictionary, self.head, level);
            // A line right above the headings says which level they are of.
            if let Some((row, text)) = line {
                table.line_above(row, &text, self.open.is_empty(), &mut sink);
            }
            Rows::Bays(Box::new(sink))
        } else {
            Rows::Others(RawSheet::default())
        };
        table.reading.found_by =
            if self.open.is_empty() { self.found_by } else { "its headings on the same sheet" };
        self.open.push(Open { table, rows, number });
        true
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
        if field.key == "level" && dictionary.schema.key == "bays" {
            finding = finding.hint("a line of its own above the rows may name it: `LEVEL 2`");
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

/// The text of a row that holds nothing else.
fn text_alone(row: u32, cells: &[Cell<'_>]) -> Option<(u32, String)> {
    let mut filled = cells.iter().filter(|cell| !cell.is_blank());
    let text = filled.next()?.shown();
    filled.next().is_none().then_some((row, text))
}
