//! Values between the engine and the rest: dates, records, rows and lists as scripts see them.

use std::sync::Arc;

use jiff::civil::Date;
use rhai::{Dynamic, Map};

use super::item::{Base, Item};
use super::row::{Row, Rows};
use crate::value::{Record, Value};

/// A record as scripts hold it.
#[derive(Clone, Debug)]
pub struct RecordHandle(pub Arc<Record>);

/// What a cell or an argument may not be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotPlain(pub String);

/// A value as scripts see it.
pub fn to_script(value: &Value) -> Dynamic {
    match value {
        Value::Blank => Dynamic::UNIT,
        Value::Bool(flag) => Dynamic::from_bool(*flag),
        Value::Count(count) => Dynamic::from_int(*count),
        Value::Number(number) => Dynamic::from_float(*number),
        Value::Text(text) => Dynamic::from(rhai::ImmutableString::from(&**text)),
        Value::Date(date) => Dynamic::from(*date),
        Value::List(items) => Dynamic::from_array(items.iter().map(to_script).collect()),
        Value::Record(record) => Dynamic::from(RecordHandle(record.clone())),
        Value::Error(message) => Dynamic::from(rhai::ImmutableString::from(&**message)),
    }
}

/// An item as scripts see it.
pub fn item_to_script(item: &Item) -> Dynamic {
    match item {
        Item::Value(value) => to_script(value),
        Item::Row(base) => Dynamic::from(Row::plain(base.clone())),
        Item::Rows(rows) => Dynamic::from(Rows(rows.clone())),
    }
}

/// A script's value as a plain one. Refused: numbers that are not finite, functions, rows.
pub fn from_script(value: &Dynamic) -> Result<Value, NotPlain> {
    if value.is_float() {
        let number = value.as_float().unwrap_or(f64::NAN);
        return if number.is_finite() {
            Ok(Value::Number(number))
        } else {
            Err(NotPlain(format!("{number}, wanted a finite number")))
        };
    }
    if value.is_int() {
        return Ok(Value::Count(value.as_int().unwrap_or(0)));
    }
    if value.is_unit() {
        return Ok(Value::Blank);
    }
    if value.is_string() {
        return Ok(Value::text(
            value.as_immutable_string_ref().map_or_else(|_| String::new(), |t| t.to_string()),
        ));
    }
    if value.is_bool() {
        return Ok(Value::Bool(value.as_bool().unwrap_or(false)));
    }
    if let Ok(sign) = value.as_char() {
        return Ok(Value::text(sign.to_string()));
    }
    if let Ok(array) = value.as_array_ref() {
        return array.iter().map(from_script).collect::<Result<Arc<[Value]>, _>>().map(Value::List);
    }
    if let Some(record) = value.read_lock::<RecordHandle>() {
        return Ok(Value::Record(record.0.clone()));
    }
    if let Some(date) = value.read_lock::<Date>() {
        return Ok(Value::Date(*date));
    }
    if let Ok(map) = value.as_map_ref() {
        let fields =
            map.iter().map(|(key, item)| Ok((Arc::from(key.as_str()), from_script(item)?)));
        return Ok(Value::Record(Arc::new(fields.collect::<Result<_, _>>()?)));
    }
    Err(NotPlain(
        match value.type_name() {
            "Fn" => "a function",
            name if name.ends_with("Row") => "a row",
            name if name.ends_with("Rows") => "rows",
            _ => "no plain value",
        }
        .to_owned()
            + ", wanted a number, text, date or blank",
    ))
}

/// A script's value as an item, rows included. Maps that hold rows become rows of their own.
pub fn item_from_script(value: &Dynamic) -> Result<Item, NotPlain> {
    if let Some(row) = value.read_lock::<Row>() {
        return Ok(Item::Row(row.base().clone()));
    }
    if let Some(rows) = value.read_lock::<Rows>() {
        return Ok(Item::Rows(rows.0.clone()));
    }
    if let Ok(array) = value.as_array_ref()
        && array.iter().any(rhai::Dynamic::is::<Row>)
    {
        let rows = array.iter().map(row_from_script).collect::<Result<Arc<[Base]>, _>>()?;
        return Ok(Item::Rows(rows));
    }
    from_script(value).map(Item::Value)
}

/// A script's value as a row for a table: a row, a map or a record.
pub fn row_from_script(value: &Dynamic) -> Result<Base, NotPlain> {
    if let Some(row) = value.read_lock::<Row>() {
        return Ok(row.base().clone());
    }
    if let Ok(map) = value.as_map_ref() {
        return made_row(&map);
    }
    if let Some(record) = value.read_lock::<RecordHandle>() {
        let fields = record.0.iter().map(|(key, value)| (key.clone(), Item::Value(value.clone())));
        return Ok(Base::Made(Arc::new(fields.collect())));
    }
    let found = from_script(value).map_or_else(|not| not.0, |value| value.kind().to_owned());
    Err(NotPlain(format!("{found}, wanted a row or a map")))
}

fn made_row(map: &Map) -> Result<Base, NotPlain> {
    let fields = map.iter().map(|(key, value)| {
        let item = item_from_script(value)
            .map_err(|not| NotPlain(format!("in its field `{key}` {}", not.0)))?;
        Ok((Arc::from(key.as_str()), item))
    });
    Ok(Base::Made(Arc::new(fields.collect::<Result<_, _>>()?)))
}

/// A script's value as the rows of a table.
pub fn rows_from_script(value: &Dynamic) -> Result<Arc<[Base]>, NotPlain> {
    if let Some(rows) = value.read_lock::<Rows>() {
        return Ok(rows.0.clone());
    }
    if let Ok(array) = value.as_array_ref() {
        return rows_from_list(&array);
    }
    let found = from_script(value).map_or_else(|not| not.0, |value| value.kind().to_owned());
    Err(NotPlain(format!("{found}, wanted rows or a list of maps")))
}

/// The items of a list as the rows of a table.
pub fn rows_from_list(list: &[Dynamic]) -> Result<Arc<[Base]>, NotPlain> {
    list.iter().map(row_from_script).collect()
}
