//! What scripts pass around beyond plain values: rows of the job and of finished tables, in a form
//! that may be sent between threads. The engine's own values are made from these when read.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use super::laid::Laid;
use super::made::Fields;
use crate::cells::Stretch;
use crate::job::name::Name;
use crate::job::schema::Sheet;
use crate::job::{Job, fields};
use crate::record::number;
use crate::table::Table;
use crate::value::{Hashing, Record, Value};

/// A plain value, a row or rows.
#[derive(Clone, Debug)]
pub enum Item {
    Value(Value),
    Row(Base),
    Rows(Arc<[Base]>),
}

impl Item {
    pub fn as_text(&self) -> Option<&str> {
        match self {
            Item::Value(value) => value.as_text(),
            Item::Row(_) | Item::Rows(_) => None,
        }
    }
}

/// A row before any column stands on it.
#[derive(Clone, Debug)]
pub enum Base {
    /// Position in the job's bays.
    Bay(u32),
    /// Position in the job's decks.
    Deck(u32),
    /// A row of another sheet of the schedule, and its position.
    Entry(&'static Sheet, u32),
    /// A row that a script made; what it lacks is read off the row in its field `row`.
    Made(Arc<Fields>),
    /// One of many such rows, and its position among them.
    Laid(Arc<Laid>, u32),
    /// A row of a finished table.
    Frozen(Arc<Frozen>, u32),
}

/// A finished table with the rows it stands on.
#[derive(Debug)]
pub struct Frozen {
    pub table: Arc<Table>,
    pub bases: Arc<[Base]>,
    positions: HashMap<Arc<str>, usize, Hashing>,
    /// No two have the same.
    number: u64,
}

impl Frozen {
    pub fn new(table: Table, bases: Arc<[Base]>) -> Frozen {
        let columns = table.columns.iter().enumerate();
        let positions = columns.map(|(at, column)| (column.key.clone(), at)).collect();
        Frozen { table: Arc::new(table), bases, positions, number: number() }
    }

    /// The position of a column.
    pub fn column<T: AsRef<str>>(&self, name: &Name<T>) -> Option<usize> {
        name.place(self.number, |text| self.positions.get(text).copied())
    }
}

impl Base {
    /// A field of the row; `None` where it has no such field.
    pub fn get(&self, job: &Job, name: &str) -> Option<Item> {
        self.field(job, &Name::new(name))
    }

    /// The same by a name that is read off many rows.
    pub fn field<T: AsRef<str>>(&self, job: &Job, name: &Name<T>) -> Option<Item> {
        match self {
            Base::Bay(at) => {
                fields::read_by(job.bays.get(*at as usize)?, job, name).map(Item::Value)
            }
            Base::Deck(at) => {
                let deck = job.decks.get(*at as usize)?;
                match name.text() {
                    "bays" => {
                        Some(Item::Rows(deck.bays.iter().map(|&bay| Base::Bay(bay)).collect()))
                    }
                    _ => name.in_map(&deck.fields).cloned().map(Item::Value),
                }
            }
            Base::Entry(sheet, at) => {
                let entry = job.sheet(sheet.key).get(*at as usize)?;
                fields::read_entry(entry, sheet.key, job, name).map(Item::Value)
            }
            Base::Made(_) | Base::Laid(..) | Base::Frozen(..) => match self.place(name) {
                Some(place) => self.at(place),
                None => self.below()?.field(job, name),
            },
        }
    }

    /// Whether another is a row of the same table, or made like this: their fields have the same places.
    pub fn is_beside(&self, other: &Base) -> bool {
        match (self, other) {
            (Base::Made(a), Base::Made(b)) => a.is_like(b),
            (Base::Laid(a, _), Base::Laid(b, _)) => Arc::ptr_eq(a, b),
            (Base::Frozen(a, _), Base::Frozen(b, _)) => Arc::ptr_eq(a, b),
            _ => false,
        }
    }

    /// The place of a field that is not one of the row below; none in rows of the job.
    pub fn place<T: AsRef<str>>(&self, name: &Name<T>) -> Option<usize> {
        match self {
            Base::Made(fields) => fields.place(name),
            Base::Laid(laid, _) => laid.place(name),
            Base::Frozen(frozen, _) => frozen.column(name),
            Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => None,
        }
    }

    fn at(&self, place: usize) -> Option<Item> {
        match self {
            Base::Made(fields) => fields.values().nth(place).cloned(),
            Base::Laid(laid, row) => laid.item(*row as usize, place),
            Base::Frozen(frozen, row) => {
                let cell = frozen.table.cells.get(*row as usize, place)?;
                Some(Item::Value(cell.into_owned()))
            }
            Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => None,
        }
    }

    /// What rows beside this one have at a place, where they are kept in columns there.
    pub fn stretch(&self, bases: &[&Base], place: usize) -> Option<Stretch> {
        let rows = || bases.iter().filter_map(|base| base.row()).collect::<Vec<usize>>();
        match self {
            Base::Laid(laid, _) => laid.stretch(&rows(), place),
            Base::Frozen(frozen, _) => Some(frozen.table.cells.at(&rows(), place)),
            Base::Made(_) | Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => None,
        }
    }

    fn row(&self) -> Option<usize> {
        match self {
            Base::Laid(_, row) | Base::Frozen(_, row) => Some(*row as usize),
            Base::Made(_) | Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => None,
        }
    }

    /// The row that it stands on.
    pub fn below(&self) -> Option<&Base> {
        match self {
            Base::Made(fields) => match fields.row()? {
                Item::Row(below) => Some(below),
                Item::Value(_) | Item::Rows(_) => None,
            },
            Base::Laid(laid, row) => laid.below(*row as usize),
            Base::Frozen(frozen, row) => frozen.bases.get(*row as usize),
            Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => None,
        }
    }

    /// The row as a script made it, where one did.
    pub fn made(&self) -> Option<Cow<'_, Fields>> {
        match self {
            Base::Made(fields) => Some(Cow::Borrowed(fields)),
            Base::Laid(laid, row) => Some(Cow::Owned(laid.fields(*row as usize))),
            Base::Bay(_) | Base::Deck(_) | Base::Entry(..) | Base::Frozen(..) => None,
        }
    }

    /// The names of its fields, for near misses.
    pub fn names(&self, job: &Job) -> Vec<String> {
        let keys = |record: &Record| record.keys().map(ToString::to_string).collect::<Vec<_>>();
        match self {
            Base::Bay(at) => {
                let mut names: Vec<String> =
                    fields::BAY.iter().map(|field| field.name.to_owned()).collect();
                if let Some(bay) = job.bays.get(*at as usize) {
                    names.extend(keys(&bay.rest));
                    names.extend(
                        job.decks
                            .get(bay.deck as usize)
                            .map(|d| keys(&d.fields))
                            .unwrap_or_default(),
                    );
                }
                names
            }
            Base::Deck(at) => {
                let mut names = vec!["bays".to_owned()];
                names.extend(
                    job.decks.get(*at as usize).map(|d| keys(&d.fields)).unwrap_or_default(),
                );
                names
            }
            Base::Entry(sheet, at) => {
                let entry = job.sheet(sheet.key).get(*at as usize);
                let mut names = entry.map(|entry| keys(&entry.fields)).unwrap_or_default();
                names.extend(sheet.all_fields().map(|field| field.key.to_owned()));
                names
            }
            Base::Made(fields) => fields.names(job),
            Base::Laid(laid, row) => laid.fields(*row as usize).names(job),
            Base::Frozen(frozen, row) => {
                let mut names: Vec<String> =
                    frozen.table.columns.iter().map(|c| c.key.to_string()).collect();
                names.extend(
                    frozen.bases.get(*row as usize).map(|b| b.names(job)).unwrap_or_default(),
                );
                names
            }
        }
    }

    /// How messages name what the row is about: `bay 4/B2`, `type D1`.
    pub fn label(&self, job: &Job) -> Option<String> {
        match self {
            Base::Bay(at) => {
                job.bays.get(*at as usize).map(|bay| format!("bay {}/{}", bay.level, bay.mark))
            }
            Base::Deck(at) => {
                let deck = job.decks.get(*at as usize)?;
                Some(format!("type {}", deck.fields.get("type")?.as_text()?))
            }
            Base::Entry(sheet, at) => {
                let entry = job.sheet(sheet.key).get(*at as usize)?;
                let first = entry.fields.values().find_map(Value::as_text)?;
                Some(format!("{} {first}", sheet.key))
            }
            Base::Made(fields) => fields.label(job),
            Base::Laid(laid, row) => laid.fields(*row as usize).label(job),
            Base::Frozen(frozen, row) => {
                frozen.bases.get(*row as usize).and_then(|base| base.label(job))
            }
        }
    }
}

/// A key by which equal rows are grouped: the value's kind and text, lengths and numbers by their
/// bits.
pub fn group_key(value: &Value, key: &mut Vec<u8>) {
    match value {
        Value::Count(count) => {
            #[allow(clippy::cast_precision_loss, reason = "only equality of keys matters")]
            let bits = (*count as f64).to_bits();
            key.push(b'n');
            key.extend(bits.to_le_bytes());
        }
        Value::Number(number) => {
            key.push(b'n');
            key.extend((number + 0.0).to_bits().to_le_bytes());
        }
        Value::Text(text) => {
            key.push(b't');
            key.extend(text.len().to_le_bytes());
            key.extend(text.as_bytes());
        }
        Value::Blank => key.push(b'-'),
        Value::List(items) => {
            key.push(b'l');
            key.extend(items.len().to_le_bytes());
            items.iter().for_each(|item| group_key(item, key));
        }
        other => {
            let text = other.to_string();
            key.push(b'o');
            key.extend(text.len().to_le_bytes());
            key.extend(text.as_bytes());
        }
    }
}
