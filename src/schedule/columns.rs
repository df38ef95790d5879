//! A column of a sheet being read: equal cells are read once.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use super::cells::{self, Problem, Read, Wanted};
use super::grid::Cell;
use super::headings::Heading;
use crate::job::schema::{DECK, Field, Kind};
use crate::length::Unit;

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
    texts: HashMap<Box<str>, u32>,
    numbers: HashMap<u64, u32>,
    reads: Vec<(Read, Option<Problem>)>,
    /// Shared texts seen lately: where they stand, how long they are, their id.
    lately: [(usize, usize, u32); LATELY],
}

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
            texts: HashMap::new(),
            numbers: HashMap::new(),
            reads: vec![(Read::Blank, None)],
            lately: [(0, 0, BLANK); LATELY],
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
            Cell::Number(number) => {
                if let Some(id) = self.numbers.get(&number.to_bits()) {
                    *id
                } else {
                    let id = self.take(cell);
                    self.numbers.insert(number.to_bits(), id);
                    id
                }
            }
            _ => self.take(cell),
        }
    }

    fn text(&mut self, text: &str, cell: &Cell<'_>) -> u32 {
        if let Some(id) = self.texts.get(text) {
            return *id;
        }
        let id = self.take(cell);
        self.texts.insert(text.into(), id);
        id
    }

    fn take(&mut self, cell: &Cell<'_>) -> u32 {
        let wanted = Wanted {
            heading: &self.heading,
            kind: self.kind,
            unit: self.unit,
            takes_none: self.takes_none,
            is_free_text: self.is_free_text,
        };
        let read = cells::read(cell, wanted);
        if matches!(read, (Read::Blank, None)) {
            return BLANK;
        }
        self.reads.push(read);
        u32::try_from(self.reads.len() - 1).unwrap_or(u32::MAX)
    }

    /// The reading of an id.
    pub fn of(&self, id: u32) -> &Read {
        self.reads.get(id as usize).map_or(&Read::Blank, |(read, _)| read)
    }

    pub fn problem(&self, id: u32) -> Option<&Problem> {
        self.reads.get(id as usize).and_then(|(_, problem)| problem.as_ref())
    }
}
