//! Named items of rows that scripts make. Rows made in one place have the same names, which they
//! share; each holds its items alone.

use std::sync::Arc;

use indexmap::IndexMap;

use super::item::Item;
use super::world::argument_key;
use crate::job::Job;
use crate::job::name::Name;
use crate::record::{Record, Shape};
use crate::value::Hashing;

/// Named items.
#[derive(Clone, Debug)]
pub struct Fields {
    shape: Arc<Shape>,
    items: Vec<Item>,
}

impl Fields {
    /// An item for each name of the shape.
    pub fn new(shape: Arc<Shape>, items: Vec<Item>) -> Fields {
        debug_assert_eq!(shape.len(), items.len());
        Fields { shape, items }
    }

    pub fn get(&self, name: &str) -> Option<&Item> {
        self.items.get(self.shape.place(name)?)
    }

    /// The item as a row's field.
    pub fn field<T: AsRef<str>>(&self, name: &Name<T>) -> Option<&Item> {
        self.items.get(self.place(name)?)
    }

    /// Its place.
    pub fn place<T: AsRef<str>>(&self, name: &Name<T>) -> Option<usize> {
        place_of(&self.shape, name)
    }

    pub fn shape(&self) -> &Arc<Shape> {
        &self.shape
    }

    /// The item as a map's: as written alone.
    pub fn as_written<T: AsRef<str>>(&self, name: &Name<T>) -> Option<&Item> {
        let written = name.written().as_ref();
        if written == name.text() { self.field(name) } else { self.get(written) }
    }

    /// The same as a record; none where an item is no plain value.
    pub fn record(&self) -> Option<Record> {
        let values = self.items.iter().map(|item| match item {
            Item::Value(value) => Some(value.clone()),
            Item::Row(_) | Item::Rows(_) => None,
        });
        Some(Record::new(self.shape.clone(), values.collect::<Option<_>>()?))
    }

    /// The bytes by which equal items of one shape are known again; none where an item is no plain
    /// value.
    pub fn key(&self, key: &mut Vec<u8>) -> Option<()> {
        key.push(b'm');
        key.extend(self.shape.number().to_le_bytes());
        self.items.iter().try_for_each(|item| match item {
            Item::Value(value) => {
                argument_key(value, key);
                Some(())
            }
            Item::Row(_) | Item::Rows(_) => None,
        })
    }

    /// Whether another has the same shape.
    pub fn is_like(&self, other: &Fields) -> bool {
        Arc::ptr_eq(&self.shape, &other.shape)
    }

    /// The row below.
    pub fn row(&self) -> Option<&Item> {
        self.get("row")
    }

    /// The names of its fields and those of the row below, for near misses.
    pub fn names(&self, job: &Job) -> Vec<String> {
        let mut names: Vec<String> = self.keys().map(ToString::to_string).collect();
        if let Some(Item::Row(below)) = self.row() {
            names.extend(below.names(job));
        }
        names
    }

    /// How messages name what the row is about.
    pub fn label(&self, job: &Job) -> Option<String> {
        self.items.iter().find_map(|item| match item {
            Item::Row(base) => base.label(job),
            Item::Rows(_) | Item::Value(_) => None,
        })
    }

    pub fn keys(&self) -> impl Iterator<Item = &Arc<str>> {
        self.shape.names()
    }

    pub fn values(&self) -> impl ExactSizeIterator<Item = &Item> {
        self.items.iter()
    }

    pub fn iter(&self) -> impl Iterator<Item = (&Arc<str>, &Item)> {
        self.keys().zip(&self.items)
    }

    /// Puts an item where its name belongs: the engine's maps are sorted.
    pub fn put(&mut self, name: &Arc<str>, item: Item) {
        if let Some(at) = self.shape.place(name) {
            self.items[at] = item;
            return;
        }
        let at = self.keys().position(|known| known > name).unwrap_or(self.items.len());
        Shape::with(&mut self.shape, name, at);
        self.items.insert(at, item);
    }
}

/// The place of a row's field: as written, else as the schedule has it.
pub fn place_of<T: AsRef<str>>(shape: &Shape, name: &Name<T>) -> Option<usize> {
    let look = |text: &str| shape.place(name.written().as_ref()).or_else(|| shape.place(text));
    name.place(shape.number(), look)
}

/// Of items of the same name the last counts.
impl FromIterator<(Arc<str>, Item)> for Fields {
    fn from_iter<I: IntoIterator<Item = (Arc<str>, Item)>>(items: I) -> Fields {
        let (names, mut items): (Vec<Arc<str>>, Vec<Item>) = items.into_iter().unzip();
        let shape = Shape::of(&names);
        if shape.len() < items.len() {
            let last: IndexMap<Arc<str>, Item, Hashing> = names.into_iter().zip(items).collect();
            items = last.into_values().collect();
        }
        items.shrink_to_fit();
        Fields::new(shape, items)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::value::Value;

    fn fields(names: &[&str]) -> Fields {
        let item = |(at, name): (i64, &&str)| (Arc::from(*name), Item::Value(Value::Count(at)));
        (0..).zip(names).map(item).collect()
    }

    fn count(item: Option<&Item>) -> Option<i64> {
        match item {
            Some(Item::Value(Value::Count(count))) => Some(*count),
            _ => None,
        }
    }

    #[test]
    fn rows_alike_share_their_names() {
        let (a, mut b) = (fields(&["level", "row"]), fields(&["level", "row"]));
        assert!(Arc::ptr_eq(&a.shape, &b.shape));
        b.put(&Arc::from("mark"), Item::Value(Value::Count(7)));
        let mut c = a.clone();
        c.put(&Arc::from("mark"), Item::Value(Value::Count(8)));
        assert!(Arc::ptr_eq(&b.shape, &c.shape) && !Arc::ptr_eq(&a.shape, &c.shape));
        assert_eq!(b.keys().map(|name| &**name).collect::<Vec<_>>(), ["level", "mark", "row"]);
        assert_eq!(count(c.get("mark")), Some(8));
        assert_eq!(count(c.row()), Some(1));
        c.put(&Arc::from("level"), Item::Value(Value::Count(9)));
        assert_eq!(count(c.get("level")), Some(9));
        assert_eq!(count(a.get("level")), Some(0));
    }

    #[test]
    fn of_items_of_one_name_the_last_counts() {
        let doubled = fields(&["a", "b", "a"]);
        assert_eq!(doubled.keys().map(|name| &**name).collect::<Vec<_>>(), ["a", "b"]);
        assert_eq!((count(doubled.get("a")), count(doubled.get("b"))), (Some(2), Some(1)));
    }

    /// One name is asked of rows of many shapes in turn.
    #[test]
    fn a_name_is_found_in_every_shape() {
        let shapes: Vec<Fields> = (0..9)
            .map(|before| {
                let mut names = vec!["level"; 1];
                names.splice(
                    0..0,
                    ["a", "b", "c", "d", "e", "f", "g", "h"].into_iter().take(before),
                );
                fields(&names)
            })
            .collect();
        let (level, absent) = (Name::new("level"), Name::new("x"));
        for _ in 0..3 {
            for (at, fields) in (0..).zip(&shapes) {
                assert_eq!(count(fields.field(&level)), Some(at));
                assert!(fields.field(&absent).is_none());
            }
        }
        let (used, written) = (fields(&["use"]), fields(&["deck_use", "use"]));
        let name = Name::new("deck_use");
        assert_eq!((count(used.field(&name)), count(written.field(&name))), (Some(0), Some(0)));
    }
}
