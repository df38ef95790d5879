//! A name read off many rows: where it was found last is looked at first.

use std::cell::{Cell, OnceCell};

use super::fields::{self, BayField};
use crate::record::known_as;
use crate::value::{Record, Value};

/// The name of a field, by an owner of its text: `Arc<str>` where it is kept, `&str` where it is read
/// off some rows and forgotten.
#[derive(Debug)]
pub struct Name<T> {
    text: T,
    own: OnceCell<Option<&'static BayField>>,
    /// Its position in the map in which it was found last.
    position: Cell<usize>,
    /// Tables and kinds of rows that were asked for it, and its place there.
    known: [Cell<(u64, Option<usize>)>; 4],
}

impl<T: AsRef<str>> Name<T> {
    pub fn new(text: T) -> Name<T> {
        Name {
            text,
            own: OnceCell::new(),
            position: Cell::new(usize::MAX),
            known: Default::default(),
        }
    }

    /// The text by which fields are known.
    pub fn text(&self) -> &str {
        known_as(self.text.as_ref())
    }

    /// As scripts write it.
    pub fn written(&self) -> &T {
        &self.text
    }

    /// The field of a bay's own that it names.
    pub fn of_bay(&self) -> Option<&'static BayField> {
        *self.own.get_or_init(|| fields::bay_field(self.text()))
    }

    /// What stands under it in a map of the schedule's.
    pub fn in_map<'a>(&self, map: &'a Record) -> Option<&'a Value> {
        self.find(map, self.text())
    }

    /// What stands under it as written.
    pub fn as_written<'a>(&self, map: &'a Record) -> Option<&'a Value> {
        self.find(map, self.text.as_ref())
    }

    /// Maps of one kind have it at the same position.
    fn find<'a>(&self, map: &'a Record, text: &str) -> Option<&'a Value> {
        if let Some((key, value)) = map.get_index(self.position.get())
            && **key == *text
        {
            return Some(value);
        }
        let position = map.shape().place(text)?;
        self.position.set(position);
        map.get_index(position).map(|(_, value)| value)
    }

    /// Its place in a table or a kind of row, which have a number above 0 of their own; looked for
    /// where it is not known.
    pub fn place(&self, number: u64, look: impl FnOnce(&str) -> Option<usize>) -> Option<usize> {
        #[allow(clippy::cast_possible_truncation, reason = "less than the number of places")]
        let known = &self.known[(number % self.known.len() as u64) as usize];
        let (last, place) = known.get();
        if last == number {
            return place;
        }
        let place = look(self.text());
        known.set((number, place));
        place
    }
}
