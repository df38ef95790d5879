//! Values on the way through functions that are computed without the engine, and what is done with
//! them. Whatever is not known for certain gives up, and the engine computes the cell.

use std::rc::Rc;
use std::sync::Arc;

use rhai::Dynamic;

use super::bridge::{from_script, item_to_script, to_script};
use super::direct::Given;
use super::engine::JobHandle;
use super::item::{Base, Item};
use super::made::Fields;
use super::row::{Row, Rows};
use super::rowset::{self, Amiss};
use super::world::Bounds;
use crate::value::Value;

/// A value on the way.
#[derive(Clone)]
pub enum Thing {
    Value(Value),
    /// A list made by the script: it may be added to, and hold what is no plain value.
    List(Rc<Vec<Thing>>),
    /// A map made by the script: unlike a record it may be added to. Its keys are sorted.
    Map(Arc<Fields>),
    Row(Row),
    Rows(Rows),
    Job,
    /// A function with what it captured.
    Function(Rc<Given>),
}

/// Why a node has no value: it gave up, the function has returned one, or a loop ends or goes on.
pub enum Left {
    GivenUp,
    Returned(Box<Thing>),
    Broken,
    Continued,
}

pub type Outcome = Result<Thing, Left>;

/// How much lists, maps and texts hold in all, those in them counted, as the engine counts it.
#[derive(Default)]
pub struct Size {
    items: usize,
    fields: usize,
    text: usize,
    levels: usize,
}

impl Size {
    /// Counts a value in; false where it is too large or too deep.
    pub fn adds(&mut self, thing: &Thing, bounds: &Bounds) -> bool {
        match thing {
            Thing::Value(value) => self.adds_value(value, bounds),
            Thing::List(items) => self.deeper(items.len(), 0, bounds, |size| {
                items.iter().all(|item| size.adds(item, bounds))
            }),
            Thing::Map(fields) => self.deeper(0, fields.values().len(), bounds, |size| {
                fields.values().all(|item| match item {
                    Item::Value(value) => size.adds_value(value, bounds),
                    Item::Row(_) | Item::Rows(_) => true,
                })
            }),
            Thing::Row(_) | Thing::Rows(_) | Thing::Job | Thing::Function(_) => true,
        }
    }

    fn adds_value(&mut self, value: &Value, bounds: &Bounds) -> bool {
        match value {
            Value::Text(text) => {
                self.text += text.len();
                self.text <= bounds.text
            }
            Value::List(items) => self.deeper(items.len(), 0, bounds, |size| {
                items.iter().all(|item| size.adds_value(item, bounds))
            }),
            Value::Record(record) => self.deeper(0, record.len(), bounds, |size| {
                record.values().all(|item| size.adds_value(item, bounds))
            }),
            _ => true,
        }
    }

    fn deeper(
        &mut self,
        items: usize,
        fields: usize,
        bounds: &Bounds,
        within: impl FnOnce(&mut Size) -> bool,
    ) -> bool {
        /// Deeper ones would take the stack to be dropped.
        const DEEPEST: usize = 64;
        self.items += items;
        self.fields += fields;
        self.levels += 1;
        let is_small =
            self.levels <= DEEPEST && self.items <= bounds.list && self.fields <= bounds.map;
        let fits = is_small && within(self);
        self.levels -= 1;
        fits
    }
}

impl From<Amiss> for Left {
    fn from(_: Amiss) -> Left {
        Left::GivenUp
    }
}

#[derive(Clone, Copy)]
pub enum Arithmetic {
    Add,
    Subtract,
    Multiply,
    Divide,
}

#[derive(Clone, Copy)]
pub enum Compared {
    Less,
    AtMost,
    More,
    AtLeast,
}

impl Thing {
    /// What a captured value is; `None` where it is nothing plain.
    pub fn of(value: &Dynamic) -> Option<Thing> {
        if let Some(row) = value.read_lock::<Row>() {
            return Some(Thing::Row(row.clone()));
        }
        if let Some(rows) = value.read_lock::<Rows>() {
            return Some(Thing::Rows(rows.clone()));
        }
        if value.is::<JobHandle>() {
            return Some(Thing::Job);
        }
        if value.is_map() || value.is_array() {
            return None;
        }
        from_script(value).ok().map(Thing::Value)
    }

    /// As the rows of a table that is made; `None` where it is something else.
    pub fn into_rows(self) -> Option<Arc<[Base]>> {
        match self {
            Thing::Rows(rows) => Some(rows.0),
            Thing::List(items) => items.iter().map(|item| item.clone().into_base()).collect(),
            Thing::Value(Value::List(items)) => {
                items.iter().map(|item| Thing::Value(item.clone()).into_base()).collect()
            }
            _ => None,
        }
    }

    /// As a row that is made.
    pub fn into_base(self) -> Option<Base> {
        match self {
            Thing::Row(row) if !row.is_live() => Some(row.base().clone()),
            Thing::Map(fields) => Some(Base::Made(fields)),
            Thing::Value(Value::Record(record)) => {
                let fields =
                    record.iter().map(|(key, value)| (key.clone(), Item::Value(value.clone())));
                Some(Base::Made(Arc::new(fields.collect())))
            }
            _ => None,
        }
    }

    /// As scripts see it; `None` where that is not known: a record in a map may have been a map, and
    /// rows a list.
    pub fn into_script(self) -> Option<Dynamic> {
        fn has_records(value: &Value) -> bool {
            match value {
                Value::Record(_) => true,
                Value::List(items) => items.iter().any(has_records),
                _ => false,
            }
        }
        Some(match self {
            Thing::Value(value) => to_script(&value),
            Thing::List(items) => {
                let items = items.iter().map(|item| item.clone().into_script());
                Dynamic::from_array(items.collect::<Option<_>>()?)
            }
            Thing::Map(fields) => {
                let fields = fields.iter().map(|(key, item)| match item {
                    Item::Value(value) if !has_records(value) => {
                        Some(((&**key).into(), to_script(value)))
                    }
                    Item::Row(_) => Some(((&**key).into(), item_to_script(item))),
                    Item::Value(_) | Item::Rows(_) => None,
                });
                Dynamic::from_map(fields.collect::<Option<_>>()?)
            }
            Thing::Row(row) => Dynamic::from(row),
            Thing::Rows(rows) => Dynamic::from(rows),
            Thing::Job => Dynamic::from(JobHandle),
            Thing::Function(_) => return None,
        })
    }

    /// As a plain value; `None` where it is none.
    pub fn plain(self) -> Option<Value> {
        self.into_value().ok()
    }

    pub fn is_blank(&self) -> bool {
        matches!(self, Thing::Value(Value::Blank))
    }

    pub fn into_value(self) -> Result<Value, Left> {
        match self {
            Thing::Value(value) => Ok(value),
            Thing::List(items) => items
                .iter()
                .map(|item| item.clone().into_value())
                .collect::<Result<Arc<[Value]>, _>>()
                .map(Value::List),
            Thing::Map(fields) => {
                fields.record().map(|record| Value::Record(Arc::new(record))).ok_or(Left::GivenUp)
            }
            Thing::Row(_) | Thing::Rows(_) | Thing::Job | Thing::Function(_) => Err(Left::GivenUp),
        }
    }

    pub fn into_item(self) -> Result<Item, Left> {
        match self {
            // The columns of a row that is being computed would be lost.
            Thing::Row(row) if row.is_live() => Err(Left::GivenUp),
            Thing::Row(row) => Ok(Item::Row(row.base().clone())),
            Thing::Rows(rows) => Ok(Item::Rows(rows.0)),
            other => other.into_value().map(Item::Value),
        }
    }

    /// The rows that a list or rows are.
    pub fn rows(&self) -> Result<Rows, Left> {
        match self {
            Thing::Rows(rows) => Ok(rows.clone()),
            _ => Err(Left::GivenUp),
        }
    }

    pub fn text(&self) -> Result<&Arc<str>, Left> {
        match self {
            Thing::Value(Value::Text(text)) => Ok(text),
            _ => Err(Left::GivenUp),
        }
    }

    /// The names that a list of texts gives.
    pub fn names(&self) -> Result<Vec<Arc<str>>, Left> {
        self.items()?.map(|item| item?.text().cloned()).collect()
    }

    /// The items of a list or rows, one by one.
    pub fn items(&self) -> Result<impl Iterator<Item = Outcome> + '_, Left> {
        let length = self.length()?;
        Ok((0..length).map(|at| self.at(at)))
    }

    pub fn length(&self) -> Result<usize, Left> {
        match self {
            Thing::Value(Value::List(items)) => Ok(items.len()),
            Thing::List(items) => Ok(items.len()),
            Thing::Rows(rows) => Ok(rows.0.len()),
            _ => Err(Left::GivenUp),
        }
    }

    pub fn at(&self, at: usize) -> Outcome {
        let item = match self {
            Thing::Value(Value::List(items)) => items.get(at).cloned().map(checked),
            Thing::List(items) => items.get(at).cloned().map(Ok),
            Thing::Rows(rows) => {
                rows.0.get(at).cloned().map(|base| Ok(Thing::Row(Row::plain(base))))
            }
            _ => None,
        };
        item.unwrap_or(Err(Left::GivenUp))
    }
}

pub const fn truth(truth: bool) -> Thing {
    Thing::Value(Value::Bool(truth))
}

/// Whether the engine would hold a value as it is.
pub fn is_known(value: &Value) -> bool {
    match value {
        Value::Error(_) => false,
        Value::Number(number) => number.is_finite(),
        _ => true,
    }
}

/// A value that the engine would hold as it is.
pub fn checked(value: Value) -> Outcome {
    if is_known(&value) { Ok(Thing::Value(value)) } else { Err(Left::GivenUp) }
}

pub fn thing_of(item: Item) -> Outcome {
    match item {
        Item::Value(value) => checked(value),
        Item::Row(base) => Ok(Thing::Row(Row::plain(base))),
        Item::Rows(rows) => Ok(Thing::Rows(Rows(rows))),
    }
}

#[allow(clippy::cast_precision_loss, reason = "as the engine computes with whole numbers")]
pub fn numbers(a: &Thing, b: &Thing) -> Option<(f64, f64)> {
    let number = |thing: &Thing| match thing {
        Thing::Value(Value::Number(number)) => Some(*number),
        Thing::Value(Value::Count(count)) => Some(*count as f64),
        _ => None,
    };
    Some((number(a)?, number(b)?))
}

pub fn arithmetic(sign: Arithmetic, a: &Thing, b: &Thing) -> Outcome {
    if let (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) = (a, b) {
        let whole = match sign {
            Arithmetic::Add => a.checked_add(*b),
            Arithmetic::Subtract => a.checked_sub(*b),
            Arithmetic::Multiply => a.checked_mul(*b),
            // Whole numbers divide into decimal ones.
            Arithmetic::Divide => {
                let (a, b) =
                    numbers(&Thing::Value(Value::Count(*a)), &Thing::Value(Value::Count(*b)))
                        .ok_or(Left::GivenUp)?;
                return divided(a, b);
            }
        };
        return whole.map(|whole| Thing::Value(Value::Count(whole))).ok_or(Left::GivenUp);
    }
    if matches!(sign, Arithmetic::Add)
        && let Some(both) = joined(a, b)?
    {
        return Ok(both);
    }
    let (a, b) = numbers(a, b).ok_or(Left::GivenUp)?;
    let number = match sign {
        Arithmetic::Add => a + b,
        Arithmetic::Subtract => a - b,
        Arithmetic::Multiply => a * b,
        Arithmetic::Divide => return divided(a, b),
    };
    checked(Value::Number(number))
}

/// Texts, lists and rows one behind the other.
pub fn joined(a: &Thing, b: &Thing) -> Result<Option<Thing>, Left> {
    Ok(match (a, b) {
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => {
            Some(Thing::Value(Value::text(format!("{a}{b}"))))
        }
        (Thing::Rows(a), Thing::Rows(b)) => Some(Thing::Rows(rowset::both(a, b))),
        (
            Thing::List(_) | Thing::Value(Value::List(_)),
            Thing::List(_) | Thing::Value(Value::List(_)),
        ) => {
            let items = a.items()?.chain(b.items()?).collect::<Result<_, _>>()?;
            Some(Thing::List(Rc::new(items)))
        }
        _ => None,
    })
}

pub fn divided(a: f64, b: f64) -> Outcome {
    if b == 0.0 { Err(Left::GivenUp) } else { checked(Value::Number(a / b)) }
}

pub fn equal(a: &Thing, b: &Thing) -> Result<bool, Left> {
    if a.is_blank() || b.is_blank() {
        return Ok(a.is_blank() && b.is_blank());
    }
    match (a, b) {
        (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) => Ok(a == b),
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => Ok(a == b),
        (Thing::Value(Value::Bool(a)), Thing::Value(Value::Bool(b))) => Ok(a == b),
        (Thing::Value(Value::Date(a)), Thing::Value(Value::Date(b))) => Ok(a == b),
        _ => numbers(a, b).map(|(a, b)| !is_apart(a, b)).ok_or(Left::GivenUp),
    }
}

/// Whether decimal numbers are more than the last digit apart.
pub fn is_apart(a: f64, b: f64) -> bool {
    apart(a, b).abs() > f64::EPSILON
}

/// How far decimal numbers are apart as the engine has it, as a share of the larger: they are equal
/// where that is no more than the last digit.
fn apart(a: f64, b: f64) -> f64 {
    let most = if a * b == 0.0 { 1.0 } else { a.abs().max(b.abs()) };
    (a - b) / most
}

pub fn compared(sign: Compared, a: &Thing, b: &Thing) -> Result<bool, Left> {
    let order = match (a, b) {
        (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) => a.cmp(b),
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => a.cmp(b),
        (Thing::Value(Value::Date(a)), Thing::Value(Value::Date(b))) => a.cmp(b),
        _ => {
            let (a, b) = numbers(a, b).ok_or(Left::GivenUp)?;
            return Ok(is_ordered(sign, a, b));
        }
    };
    Ok(match sign {
        Compared::Less => order.is_lt(),
        Compared::AtMost => order.is_le(),
        Compared::More => order.is_gt(),
        Compared::AtLeast => order.is_ge(),
    })
}

/// Decimal numbers compared as the engine does.
pub fn is_ordered(sign: Compared, a: f64, b: f64) -> bool {
    let apart = apart(a, b);
    match sign {
        Compared::Less => -apart > f64::EPSILON,
        Compared::AtMost => -apart > -f64::EPSILON,
        Compared::More => apart > f64::EPSILON,
        Compared::AtLeast => apart > -f64::EPSILON,
    }
}

pub fn negative(of: &Thing) -> Outcome {
    match of {
        Thing::Value(Value::Number(number)) => Ok(Thing::Value(Value::Number(-number))),
        Thing::Value(Value::Count(count)) => {
            count.checked_neg().map(|n| Thing::Value(Value::Count(n))).ok_or(Left::GivenUp)
        }
        _ => Err(Left::GivenUp),
    }
}

/// The number of items in a list or rows.
pub fn length_of(of: &Thing) -> Outcome {
    Ok(Thing::Value(Value::Count(rowset::count(of.length()?))))
}

/// Whether something is in a list, a text or the names of a map.
pub fn is_in(item: &Thing, all: &Thing) -> Result<bool, Left> {
    match all {
        Thing::Value(Value::Text(all)) => Ok(all.contains(&**item.text()?)),
        Thing::Map(fields) => Ok(fields.get(item.text()?).is_some()),
        Thing::Value(Value::Record(record)) => Ok(record.contains_key(item.text()?)),
        // The engine does not look for things among rows.
        Thing::Rows(_) => Err(Left::GivenUp),
        _ => {
            for other in all.items()? {
                if equal(item, &other?)? {
                    return Ok(true);
                }
            }
            Ok(false)
        }
    }
}
