//! A column of a sheet being read: equal cells are read once.

use std::borrow::Cow;
use std::sync::Arc;

use super::cells::{self, Problem, Read, Wanted};
use super::grid::Cell;
use super::headings::Heading;
use super::quick::QuickMap;
use super::said::{self, Said};
use crate::job::schema::{DECK, Field, Kind};
use crate::length::Unit;
use crate::value::Value;

/// Columns of text that may hold a date without harm.
const FREE_TEXT: &[&str] =
    &["note", "drawing", "title", "drop_point", "place", "job", "item", "support", "addendum"];

/// A column with what its cells were read as.
pub struct Column {
    pub index: u32,
    pub heading: Arc<str>,
    /// Position in the sheet's fields; `None` for a heading of the estimator's own.
    pub field: Option<usize>,
    kind: Kind,
    unit: Option<Unit>,
    takes_none: bool,
    is_free_text: bool,
    /// Its cells name pours with their shares.
    pub takes_shares: bool,
    /// The field's key; blank for a heading of the estimator's own.
    key: &'static str,
    texts: QuickMap<Arc<str>, u32>,
    numbers: QuickMap<(u64, Option<Unit>), u32>,
    reads: Vec<Read>,
    /// Problems by the id of their reading, few and in order.
    problems: Vec<(u32, Problem)>,
    /// What short words in it say of their rows, by the id of their reading, few and in order.
    said: Vec<(u32, Said)>,
    /// Shared texts seen lately: where they stand, how long they are, their id.
    lately: [(usize, usize, u32); LATELY],
    /// Lengths listed in all different cells.
    lengths: usize,
}

/// So many lengths may be listed in the different cells of a column.
const MOST_LENGTHS: usize = 4_000_000;

/// A power of two.
const LATELY: usize = 32;

/// The id of a blank cell's reading.
pub const BLANK: u32 = 0;

impl Column {
    pub fn new(heading: &Heading, field: Option<&'static Field>) -> Column {
        let key = field.map_or("", |field| field.key);
        let is_deck_text =
            field.is_some_and(|f| f.kind == Kind::Text && DECK.iter().any(|d| d.key == f.key));
        Column {
            index: heading.column,
            heading: Arc::from(&*heading.typed),
            field: heading.field,
            kind: field.map_or(Kind::Any, |field| field.kind),
            unit: heading.unit,
            takes_none: is_deck_text
                || key == "pour"
                || field.is_some_and(|f| matches!(f.kind, Kind::LengthOrNone { .. })),
            is_free_text: FREE_TEXT.contains(&key),
            takes_shares: false,
            key,
            texts: QuickMap::default(),
            numbers: QuickMap::default(),
            reads: vec![Read::Blank],
            problems: Vec::new(),
            said: Vec::new(),
            lately: [(0, 0, BLANK); LATELY],
            lengths: 0,
        }
    }

    /// Reads a cell; the id stands for the same reading of the same content.
    pub fn read(&mut self, cell: &Cell<'_>) -> u32 {
        match cell {
            Cell::Blank => BLANK,
            // A borrowed text stands in the workbook's own memory and does not move while a sheet
            // is read: the same place is the same text.
            Cell::Text(Cow::Borrowed(text)) => {
                let place = (text.as_ptr() as usize, text.len());
                let slot = (place.0 >> 3) & (LATELY - 1);
                let (at, length, id) = self.lately[slot];
                if (at, length) == place {
                    return id;
                }
                let id = self.text(text, cell);
                self.lately[slot] = (place.0, place.1, id);
                id
            }
            Cell::Text(text) => self.text(text, cell),
            Cell::Number(number) => self.number((number.to_bits(), None), cell),
            Cell::InUnit(number, unit) => self.number((number.to_bits(), Some(*unit)), cell),
            _ => self.take(cell),
        }
    }

    fn number(&mut self, key: (u64, Option<Unit>), cell: &Cell<'_>) -> u32 {
        if let Some(id) = self.numbers.get(&key) {
            return *id;
        }
        let id = self.take(cell);
        self.numbers.insert(key, id);
        id
    }

    fn text(&mut self, text: &str, cell: &Cell<'_>) -> u32 {
        if let Some(id) = self.texts.get(text) {
            return *id;
        }
        let id = self.take(cell);
        let key = match self.of(id) {
            Read::Value(Value::Text(known)) if **known == *text => known.clone(),
            _ => Arc::from(text),
        };
        self.texts.insert(key, id);
        id
    }

    fn take(&mut self, cell: &Cell<'_>) -> u32 {
        let wanted = Wanted {
            is_of_job: false,
            heading: &self.heading,
            kind: self.kind,
            unit: self.unit,
            takes_none: self.takes_none,
            is_free_text: self.is_free_text,
        };
        let mut read = cells::read(cell, wanted);
        if let (true, Read::Value(Value::Text(text))) = (self.takes_shares, &read.0) {
            read = match cells::pour(&self.heading, text) {
                Ok(pour) => (Read::Value(Value::Text(pour)), read.1),
                Err(problem) => (Read::Blank, Some(problem)),
            };
        }
        self.lengths += match &read.0 {
            Read::Lengths(lengths) => lengths.len(),
            Read::Widths(groups) => groups.iter().map(Vec::len).sum(),
            _ => 0,
        };
        if self.lengths > MOST_LENGTHS {
            read = (Read::Blank, Some(cells::too_many_lengths(&self.heading, MOST_LENGTHS)));
        }
        if matches!(read, (Read::Blank, None)) {
            return BLANK;
        }
        let id = u32::try_from(self.reads.len()).unwrap_or(u32::MAX);
        let (read, problem) = read;
        self.reads.push(read);
        self.problems.extend(problem.map(|problem| (id, problem)));
        self.said.extend(self.says(cell).map(|said| (id, said)));
        id
    }

    /// What a cell says of its row besides what is read.
    fn says(&self, cell: &Cell<'_>) -> Option<Said> {
        match (self.key, cell.text()) {
            ("note", Some(text)) => said::note(text),
            ("bay", Some(text)) => said::mark(text),
            ("", text) => text
                .and_then(|text| said::own(&self.heading, text))
                .or_else(|| said::heading(&self.heading, &cell.shown())),
            _ => None,
        }
    }

    /// Whether a cell of it says such a thing.
    pub fn said(&self, id: u32) -> Option<Said> {
        let at = self.said.binary_search_by_key(&id, |(of, _)| *of).ok()?;
        self.said.get(at).map(|(_, said)| *said)
    }

    /// Adds a reading that no cell of its own gave.
    pub fn add(&mut self, read: Read) -> u32 {
        self.reads.push(read);
        u32::try_from(self.reads.len() - 1).unwrap_or(u32::MAX)
    }

    /// The reading of an id.
    pub fn of(&self, id: u32) -> &Read {
        self.reads.get(id as usize).unwrap_or(&Read::Blank)
    }

    /// Whether a cell of it holds something.
    pub fn is_used(&self) -> bool {
        self.reads.len() > 1
    }

    /// The different whole numbers among its cells: `4`, `x4`.
    pub fn whole_numbers(&self) -> Vec<i64> {
        let whole = |read: &Read| match read {
            Read::Value(Value::Text(text)) => cells::count_of(text),
            read => read.whole(),
        };
        self.reads.iter().filter_map(whole).collect()
    }

    /// The most lengths that one cell lists.
    pub fn longest_list(&self) -> usize {
        let lengths = self.reads.iter().map(|read| match read {
            Read::Lengths(lengths) => lengths.len(),
            _ => 0,
        });
        lengths.max().unwrap_or(0)
    }

    pub fn problem(&self, id: u32) -> Option<&Problem> {
        let at = self.problems.binary_search_by_key(&id, |(of, _)| *of).ok()?;
        self.problems.get(at).map(|(_, problem)| problem)
    }
}
