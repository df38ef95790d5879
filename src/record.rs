//! Named values in a fixed order. Records made in one place have the same names, which they share;
//! each holds its values alone.

use std::cell::RefCell;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use indexmap::IndexSet;
use serde::{Serialize, Serializer};

use crate::value::{Hashing, Value};

/// Names in order, shared by what has a value for each.
#[derive(Debug)]
pub struct Shape {
    names: IndexSet<Arc<str>, Hashing>,
    number: u64,
    /// The shapes with one name more at some place, each made once.
    more: Mutex<Vec<More>>,
}

#[derive(Debug)]
struct More {
    name: Arc<str>,
    at: usize,
    shape: Arc<Shape>,
}

/// Shapes of more names are not kept for others, nor more of them than that.
const MOST_SHARED: usize = 64;

/// The text by which a record knows a field that scripts name: `use` is a reserved word of theirs.
#[must_use]
pub fn known_as(name: &str) -> &str {
    if name == "deck_use" { "use" } else { name }
}

/// A number that nothing else has: tables and kinds of rows are told apart by it.
#[must_use]
pub fn number() -> u64 {
    static GIVEN: AtomicU64 = AtomicU64::new(1);
    GIVEN.fetch_add(1, Ordering::Relaxed)
}

thread_local! {
    /// The shapes made last, the latest first: most are made many times in turn.
    static LAST: RefCell<Vec<Arc<Shape>>> = const { RefCell::new(Vec::new()) };
}

impl Shape {
    /// Names that are given twice stand where they stood first.
    #[must_use]
    pub fn of(names: &[Arc<str>]) -> Arc<Shape> {
        const KEPT: usize = 8;
        LAST.with_borrow_mut(|last| {
            if let Some(at) = last.iter().position(|shape| shape.names.iter().eq(names)) {
                last[..=at].rotate_right(1);
                return last[0].clone();
            }
            let shape = Shape::new(names.iter().cloned().collect());
            last.truncate(KEPT - 1);
            last.insert(0, shape.clone());
            shape
        })
    }

    fn new(names: IndexSet<Arc<str>, Hashing>) -> Arc<Shape> {
        Arc::new(Shape { names, number: number(), more: Mutex::default() })
    }

    #[must_use]
    pub fn len(&self) -> usize {
        self.names.len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// What nothing but this shape has.
    #[must_use]
    pub fn number(&self) -> u64 {
        self.number
    }

    #[must_use]
    pub fn names(&self) -> impl ExactSizeIterator<Item = &Arc<str>> + DoubleEndedIterator + Clone {
        self.names.iter()
    }

    #[must_use]
    pub fn place(&self, name: &str) -> Option<usize> {
        self.names.get_index_of(name)
    }

    #[must_use]
    pub fn name(&self, at: usize) -> Option<&Arc<str>> {
        self.names.get_index(at)
    }

    /// The same with a name more at a place.
    pub fn with(shape: &mut Arc<Shape>, name: &Arc<str>, at: usize) {
        if shape.len() >= MOST_SHARED {
            let mut own = match Arc::get_mut(shape) {
                Some(own) => std::mem::take(&mut own.names),
                None => shape.names.clone(),
            };
            own.shift_insert(at, name.clone());
            *shape = Shape::new(own);
            return;
        }
        let mut more = shape.more.lock().unwrap_or_else(PoisonError::into_inner);
        let known = more.iter().find(|more| more.at == at && more.name == *name);
        let next = if let Some(known) = known {
            known.shape.clone()
        } else {
            let mut names = shape.names.clone();
            names.shift_insert(at, name.clone());
            let next = Shape::new(names);
            if more.len() < MOST_SHARED {
                more.push(More { name: name.clone(), at, shape: next.clone() });
            }
            next
        };
        drop(more);
        *shape = next;
    }
}

/// Named values.
#[derive(Clone, Debug)]
pub struct Record {
    shape: Arc<Shape>,
    values: Vec<Value>,
}

impl Record {
    /// A value for each name of the shape.
    #[must_use]
    pub fn new(shape: Arc<Shape>, values: Vec<Value>) -> Record {
        debug_assert_eq!(shape.len(), values.len());
        Record { shape, values }
    }

    #[must_use]
    pub fn shape(&self) -> &Arc<Shape> {
        &self.shape
    }

    #[must_use]
    pub fn len(&self) -> usize {
        self.values.len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Value> {
        self.values.get(self.shape.place(name)?)
    }

    pub fn get_mut(&mut self, name: &str) -> Option<&mut Value> {
        self.values.get_mut(self.shape.place(name)?)
    }

    /// The name and value at a place.
    #[must_use]
    pub fn get_index(&self, at: usize) -> Option<(&Arc<str>, &Value)> {
        Some((self.shape.name(at)?, self.values.get(at)?))
    }

    #[must_use]
    pub fn contains_key(&self, name: &str) -> bool {
        self.shape.place(name).is_some()
    }

    /// Puts a value under a name: where it stands, else behind all others. Gives what stood there.
    pub fn insert(&mut self, name: Arc<str>, value: Value) -> Option<Value> {
        if let Some(at) = self.shape.place(&name) {
            return Some(std::mem::replace(&mut self.values[at], value));
        }
        Shape::with(&mut self.shape, &name, self.values.len());
        self.values.push(value);
        None
    }

    #[must_use]
    pub fn keys(&self) -> impl ExactSizeIterator<Item = &Arc<str>> + DoubleEndedIterator + Clone {
        self.shape.names()
    }

    #[must_use]
    pub fn values(&self) -> impl ExactSizeIterator<Item = &Value> + DoubleEndedIterator + Clone {
        self.values.iter()
    }

    #[must_use]
    pub fn iter(
        &self,
    ) -> impl ExactSizeIterator<Item = (&Arc<str>, &Value)> + DoubleEndedIterator + Clone {
        self.keys().zip(&self.values)
    }

    /// Those whose name and value are wanted.
    #[must_use]
    pub fn only(&self, wanted: impl Fn(&str, &Value) -> bool) -> Record {
        let kept = self.iter().filter(|(name, value)| wanted(name, value));
        kept.map(|(name, value)| (name.clone(), value.clone())).collect()
    }
}

impl Serialize for Record {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.iter().map(|(name, value)| (&**name, value)))
    }
}

impl Default for Record {
    fn default() -> Record {
        thread_local! {
            static EMPTY: Arc<Shape> = Shape::new(IndexSet::default());
        }
        Record { shape: EMPTY.with(Arc::clone), values: Vec::new() }
    }
}

/// Equal names have equal values, whatever their order.
impl PartialEq for Record {
    fn eq(&self, other: &Record) -> bool {
        if Arc::ptr_eq(&self.shape, &other.shape) {
            return self.values == other.values;
        }
        self.len() == other.len() && self.iter().all(|(name, value)| other.get(name) == Some(value))
    }
}

impl std::ops::Index<&str> for Record {
    type Output = Value;

    fn index(&self, name: &str) -> &Value {
        static BLANK: Value = Value::Blank;
        self.get(name).unwrap_or(&BLANK)
    }
}

/// Of values of the same name the last counts.
impl FromIterator<(Arc<str>, Value)> for Record {
    fn from_iter<I: IntoIterator<Item = (Arc<str>, Value)>>(items: I) -> Record {
        let (names, mut values): (Vec<Arc<str>>, Vec<Value>) = items.into_iter().unzip();
        let shape = Shape::of(&names);
        if shape.len() < values.len() {
            let mut record =
                Record { shape: shape.clone(), values: vec![Value::Blank; shape.len()] };
            for (name, value) in names.into_iter().zip(values) {
                record.insert(name, value);
            }
            return record;
        }
        values.shrink_to_fit();
        Record { shape, values }
    }
}

impl Extend<(Arc<str>, Value)> for Record {
    fn extend<I: IntoIterator<Item = (Arc<str>, Value)>>(&mut self, items: I) {
        for (name, value) in items {
            self.insert(name, value);
        }
    }
}

impl<const N: usize> From<[(Arc<str>, Value); N]> for Record {
    fn from(items: [(Arc<str>, Value); N]) -> Record {
        items.into_iter().collect()
    }
}

impl IntoIterator for Record {
    type Item = (Arc<str>, Value);
    type IntoIter = std::vec::IntoIter<(Arc<str>, Value)>;

    fn into_iter(self) -> Self::IntoIter {
        let names: Vec<Arc<str>> = self.keys().cloned().collect();
        names.into_iter().zip(self.values).collect::<Vec<_>>().into_iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(names: &[&str]) -> Record {
        (0..).zip(names).map(|(at, name)| (Arc::from(*name), Value::Count(at))).collect()
    }

    #[test]
    fn records_alike_share_their_names() {
        let (mut a, mut b) = (record(&["level", "bay"]), record(&["level", "bay"]));
        assert!(Arc::ptr_eq(a.shape(), b.shape()));
        a.insert(Arc::from("mark"), Value::Count(7));
        b.insert(Arc::from("mark"), Value::Count(8));
        assert!(Arc::ptr_eq(a.shape(), b.shape()));
        assert_eq!(a.keys().map(|name| &**name).collect::<Vec<_>>(), ["level", "bay", "mark"]);
        assert_eq!(
            (&a["mark"], &b["mark"], &a["none"]),
            (&Value::Count(7), &Value::Count(8), &Value::Blank)
        );
        assert_eq!(a.insert(Arc::from("bay"), Value::Blank), Some(Value::Count(1)));
        assert_eq!(a["bay"], Value::Blank);
        assert_eq!(b["bay"], Value::Count(1));
    }

    #[test]
    fn of_values_of_one_name_the_last_counts() {
        let doubled = record(&["a", "b", "a"]);
        assert_eq!(
            (doubled.len(), &doubled["a"], &doubled["b"]),
            (2, &Value::Count(2), &Value::Count(1))
        );
    }

    #[test]
    fn order_makes_no_difference() {
        let (one, mut other) = (record(&["a", "b"]), Record::default());
        other.insert(Arc::from("b"), Value::Count(1));
        assert_ne!(one, other);
        other.insert(Arc::from("a"), Value::Count(0));
        assert_eq!(one, other);
    }

    /// Many names are held by one record alone, one after the other.
    #[test]
    fn records_of_many_names() {
        let mut record = Record::default();
        for at in 0..5_000 {
            record.insert(Arc::from(format!("k{at}")), Value::Count(at));
        }
        let copy = record.clone();
        record.insert(Arc::from("more"), Value::Blank);
        assert_eq!((copy.len(), record.len()), (5_000, 5_001));
        assert_eq!(record["k4999"], Value::Count(4_999));
    }
}
