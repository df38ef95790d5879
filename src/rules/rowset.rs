//! What scripts do with rows as a whole: look some up, group, sort, number and add up.
//!
//! In: rows and names of fields. Out: rows and plain values, or which field of which row is amiss.
//! Both the engine's methods and the functions computed without it stand on this.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::collections::HashMap;
use std::sync::Arc;

use indexmap::IndexMap;

use super::item::{Base, Item, group_key};
use super::row::Rows;
use super::together::plain_field;
use super::world::World;
use crate::cells::{BLOCK, Stretch};
use crate::job::name::Name;
use crate::value::{Hashing, Value};

/// Why rows have no such answer.
pub enum Amiss {
    /// A row's field that is not there, or no plain value.
    Unread(Base, Arc<str>),
    /// A field that is no number, by its name and what it is.
    NoNumber(Arc<str>, &'static str),
}

/// A field of a row.
fn field(world: &World, base: &Base, name: &Name<&str>) -> Result<Value, Amiss> {
    match base.field(&world.job, name) {
        Some(Item::Value(value)) if !matches!(value, Value::Error(_)) => Ok(value),
        _ => Err(Amiss::Unread(base.clone(), Arc::from(*name.written()))),
    }
}

fn known(names: &[Arc<str>]) -> Vec<Name<&str>> {
    names.iter().map(|name| Name::new(&**name)).collect()
}

/// The fields of these names of a block of rows, where all rows have them and they are plain.
fn plain_fields(world: &World, bases: &[Base], names: &[Name<&str>]) -> Option<Vec<Stretch>> {
    names.iter().map(|name| plain_field(&world.job, bases, name)).collect()
}

/// Hands over each row with its fields of these names, in order.
fn with_fields(
    world: &World,
    rows: &Rows,
    names: &[Name<&str>],
    mut take: impl FnMut(&Base, &[Cow<'_, Value>]) -> Result<(), Amiss>,
) -> Result<(), Amiss> {
    for bases in rows.0.chunks(BLOCK) {
        let together = plain_fields(world, bases, names);
        let mut values = Vec::with_capacity(names.len());
        for (at, base) in bases.iter().enumerate() {
            match &together {
                Some(fields) => values.extend(fields.iter().filter_map(|field| field.get(at))),
                // One that is amiss is found where it comes first.
                None => {
                    for name in names {
                        values.push(Cow::Owned(field(world, base, name)?));
                    }
                }
            }
            take(base, &values)?;
            values.clear();
        }
    }
    Ok(())
}

/// The key by which rows equal in some fields are known.
fn key_of(values: &[Cow<'_, Value>], key: &mut Vec<u8>) {
    key.clear();
    for value in values {
        group_key(value, key);
    }
}

/// A field of rows added up; blank counts nothing, whole numbers stay whole.
pub fn sum(world: &World, rows: &Rows, name: &str) -> Result<Value, Amiss> {
    let known = Name::new(name);
    let mut whole: Option<i64> = Some(0);
    let mut sum = 0.0;
    with_fields(world, rows, &[known], |_, values| {
        for value in values {
            whole = match (&**value, whole) {
                (Value::Count(count), Some(so_far)) => so_far.checked_add(*count),
                (Value::Blank, so_far) => so_far,
                _ => None,
            };
            sum += match &**value {
                Value::Blank => 0.0,
                other => other
                    .as_number()
                    .ok_or_else(|| Amiss::NoNumber(Arc::from(name), other.kind()))?,
            };
        }
        Ok(())
    })?;
    Ok(whole.map_or(Value::Number(sum), Value::Count))
}

/// The greatest or least number or date in a field of rows.
pub fn extreme(world: &World, rows: &Rows, name: &str, greatest: bool) -> Result<Value, Amiss> {
    let name = Name::new(name);
    let mut best: Option<Value> = None;
    with_fields(world, rows, &[name], |_, values| {
        let [value] = values else { return Ok(()) };
        let order = match (&best, &**value) {
            (_, Value::Blank) => None,
            (None, value) => {
                best = Some(value.clone());
                return Ok(());
            }
            (Some(Value::Date(a)), Value::Date(b)) => Some(b.cmp(a)),
            (Some(a), b) => match (a.as_number(), b.as_number()) {
                (Some(a), Some(b)) => b.partial_cmp(&a),
                _ => None,
            },
        };
        let better = if greatest { Ordering::Greater } else { Ordering::Less };
        if order == Some(better) {
            best = Some(Value::clone(value));
        }
        Ok(())
    })?;
    Ok(best.unwrap_or_default())
}

/// The different values of a field, in the order in which they first come.
pub fn unique(world: &World, rows: &Rows, name: &str) -> Result<Vec<Value>, Amiss> {
    let name = Name::new(name);
    let mut seen = IndexMap::new();
    let mut key = Vec::new();
    with_fields(world, rows, &[name], |_, values| {
        key_of(values, &mut key);
        if let ([value], false) = (values, seen.contains_key(&key)) {
            seen.insert(key.clone(), Value::clone(value));
        }
        Ok(())
    })?;
    Ok(seen.into_values().collect())
}

/// The rows whose field has that value.
pub fn having(world: &World, rows: &Rows, name: &str, wanted: &Value) -> Result<Rows, Amiss> {
    let mut key = Vec::new();
    group_key(wanted, &mut key);
    let all =
        |found: &[u32]| found.iter().filter_map(|&at| rows.0.get(at as usize)).cloned().collect();
    if let Some(found) = world.find_kept(rows, name, &key, all) {
        return Ok(Rows(found));
    }
    let name = Name::new(name);
    let mut kept = Vec::new();
    let mut other = Vec::new();
    with_fields(world, rows, &[name], |base, values| {
        key_of(values, &mut other);
        if other == key {
            kept.push(base.clone());
        }
        Ok(())
    })?;
    Ok(Rows(kept.into()))
}

/// The first of the rows whose field has that value.
pub fn first_having(
    world: &World,
    rows: &Rows,
    name: &str,
    wanted: &Value,
) -> Result<Option<Base>, Amiss> {
    let mut key = Vec::new();
    group_key(wanted, &mut key);
    let first = |found: &[u32]| found.first().and_then(|&at| rows.0.get(at as usize)).cloned();
    if let Some(found) = world.find_kept(rows, name, &key, first) {
        return Ok(found);
    }
    let name = Name::new(name);
    let mut other = Vec::new();
    for base in rows.0.iter() {
        other.clear();
        group_key(&field(world, base, &name)?, &mut other);
        if other == key {
            return Ok(Some(base.clone()));
        }
    }
    Ok(None)
}

/// By key: the values that rows are equal in, and those rows.
type Groups = IndexMap<Vec<u8>, (Vec<Value>, Vec<Base>), Hashing>;

/// The place of the group that values belong to.
fn place_of(groups: &mut Groups, values: Vec<Cow<'_, Value>>) -> usize {
    let mut key = Vec::new();
    key_of(&values, &mut key);
    let known = groups.get_index_of(&key);
    known.unwrap_or_else(|| {
        let values = values.into_iter().map(Cow::into_owned).collect();
        groups.insert_full(key, (values, Vec::new())).0
    })
}

/// Puts rows of one block into their groups; the values of fields that have few are looked at once.
fn group_block(groups: &mut Groups, bases: &[Base], fields: &[Stretch]) {
    let mut places: HashMap<Vec<u8>, usize, Hashing> = HashMap::default();
    let mut short = Vec::new();
    for (at, base) in bases.iter().enumerate() {
        short.clear();
        for field in fields {
            match field {
                Stretch::Same(..) => {}
                Stretch::Few(_, which) => short.extend(which.get(at)),
                Stretch::Numbers(numbers) => {
                    short.extend(numbers.get(at).map_or(0, |it| it.to_bits()).to_le_bytes());
                }
                Stretch::Counts(_) | Stretch::Truths(_) | Stretch::Values(_) => {
                    if let Some(value) = field.get(at) {
                        group_key(&value, &mut short);
                    }
                }
            }
        }
        let known = places.get(&short).copied();
        let place = known.unwrap_or_else(|| {
            let place = place_of(groups, fields.iter().filter_map(|field| field.get(at)).collect());
            places.insert(short.clone(), place);
            place
        });
        groups[place].1.push(base.clone());
    }
}

/// Rows that are equal in the fields named, as one row each: those fields and `rows`, in the order
/// in which they first come.
pub fn group(world: &World, rows: &Rows, names: &[Arc<str>]) -> Result<Rows, Amiss> {
    let mut groups: Groups = IndexMap::default();
    let known = known(names);
    for bases in rows.0.chunks(BLOCK) {
        if let Some(fields) = plain_fields(world, bases, &known) {
            group_block(&mut groups, bases, &fields);
            continue;
        }
        for base in bases {
            let values = known.iter().map(|name| field(world, base, name).map(Cow::Owned));
            let place = place_of(&mut groups, values.collect::<Result<_, _>>()?);
            groups[place].1.push(base.clone());
        }
    }
    let rows_of = Arc::from("rows");
    let made = groups.into_values().map(|(values, members)| {
        let named = names.iter().cloned().zip(values.into_iter().map(Item::Value));
        let rows = (Arc::clone(&rows_of), Item::Rows(members.into()));
        Base::Made(Arc::new(named.chain([rows]).collect()))
    });
    Ok(Rows(made.collect()))
}

/// Each row with a number in a field of its own: rows equal in the fields `by` have the same one,
/// counted from 1 within those equal in `within`, in the order in which they first come.
pub fn numbered(
    world: &World,
    rows: &Rows,
    name: &Arc<str>,
    (within, by): (&[Arc<str>], &[Arc<str>]),
) -> Result<Rows, Amiss> {
    let names: Vec<Name<&str>> = known(within).into_iter().chain(known(by)).collect();
    let mut groups: HashMap<Vec<u8>, HashMap<Vec<u8>, i64, Hashing>, Hashing> = HashMap::default();
    let mut made = Vec::with_capacity(rows.0.len());
    let row_of: Arc<str> = Arc::from("row");
    let (mut within_key, mut by_key) = (Vec::new(), Vec::new());
    with_fields(world, rows, &names, |base, values| {
        let (outer, inner) = values.split_at(within.len().min(values.len()));
        key_of(outer, &mut within_key);
        key_of(inner, &mut by_key);
        let group = groups.entry(within_key.clone()).or_default();
        let next = count(group.len()) + 1;
        let number = *group.entry(by_key.clone()).or_insert(next);
        let fields = [
            (row_of.clone(), Item::Row(base.clone())),
            (name.clone(), Item::Value(Value::Count(number))),
        ];
        made.push(Base::Made(Arc::new(fields.into_iter().collect())));
        Ok(())
    })?;
    Ok(Rows(made.into()))
}

/// Rows in the order of the fields named; a name with `-` in front sorts the other way; equal rows
/// keep their order.
pub fn sort(world: &World, rows: &Rows, names: &[Arc<str>]) -> Result<Rows, Amiss> {
    let known: Vec<Name<&str>> =
        names.iter().map(|name| Name::new(name.strip_prefix('-').unwrap_or(name))).collect();
    let mut keys = Vec::with_capacity(rows.0.len() * known.len());
    with_fields(world, rows, &known, |_, values| {
        keys.extend(values.iter().map(|value| Value::clone(value)));
        Ok(())
    })?;
    let key = |row: usize| keys.get(row * known.len()..(row + 1) * known.len()).unwrap_or_default();
    let mut order: Vec<usize> = (0..rows.0.len()).collect();
    order.sort_by(|&a, &b| {
        for ((a, b), name) in key(a).iter().zip(key(b)).zip(names) {
            let order = compare(a, b);
            let order = if name.starts_with('-') { order.reverse() } else { order };
            if order.is_ne() {
                return order;
            }
        }
        Ordering::Equal
    });
    Ok(Rows(order.into_iter().filter_map(|at| rows.0.get(at)).cloned().collect()))
}

/// Numbers before dates before texts before the rest; blank last.
fn compare(a: &Value, b: &Value) -> Ordering {
    let rank = |value: &Value| match value {
        Value::Count(_) | Value::Number(_) => 0,
        Value::Date(_) => 1,
        Value::Text(_) => 2,
        Value::Blank => 4,
        _ => 3,
    };
    match (a, b) {
        (Value::Text(a), Value::Text(b)) => a.cmp(b),
        (Value::Date(a), Value::Date(b)) => a.cmp(b),
        _ => match (a.as_number(), b.as_number()) {
            (Some(a), Some(b)) => a.total_cmp(&b),
            _ => rank(a).cmp(&rank(b)),
        },
    }
}

/// The rows whose cell of that name is no error.
pub fn without_errors(world: &World, rows: &Rows, name: &str) -> Rows {
    let name = Name::new(name);
    let mut kept = Vec::with_capacity(rows.0.len());
    for bases in rows.0.chunks(BLOCK) {
        if plain_field(&world.job, bases, &name).is_some() {
            kept.extend_from_slice(bases);
        } else {
            kept.extend(bases.iter().filter(|base| !has_error(world, base, &name)).cloned());
        }
    }
    Rows(kept.into())
}

/// Whether a cell of a finished table's row is an error.
pub fn has_error<T: AsRef<str>>(world: &World, base: &Base, name: &Name<T>) -> bool {
    matches!(base.field(&world.job, name), Some(Item::Value(Value::Error(_))))
}

/// Whether such a cell of any of the rows is an error.
pub fn any_error<T: AsRef<str>>(world: &World, rows: &Rows, name: &Name<T>) -> bool {
    let any = |bases: &[Base]| {
        plain_field(&world.job, bases, name).is_none()
            && bases.iter().any(|base| has_error(world, base, name))
    };
    rows.0.chunks(BLOCK).any(any)
}

/// One list of rows behind the other.
pub fn both(a: &Rows, b: &Rows) -> Rows {
    Rows(a.0.iter().chain(b.0.iter()).cloned().collect())
}

#[allow(clippy::cast_possible_wrap, reason = "rows are fewer than 2^63")]
pub const fn count(rows: usize) -> i64 {
    rows as i64
}
