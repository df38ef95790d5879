//! Texts for messages: numbers with so many decimals, lists in words.

use std::borrow::Cow;
use std::sync::Arc;

use unicode_normalization::UnicodeNormalization;

use crate::builtin::{Builtin, Room};
use crate::record::known_as;
use crate::value::{FromValue, Record, Refusal, Value};

/// The built-ins `text::`.
pub const ROOM: Room =
    Room { name: "text", about: "Numbers and lists as text.", lists: &[BUILTINS] };

const BUILTINS: &[Builtin] = &[
    builtin!(fixed(number, decimals)),
    builtin!(list(items)),
    builtin!(same(one, other)),
    builtin!(key(mark)),
    builtin!(joined(record, names)),
];

const MOST_DECIMALS: i64 = 12;

/// Writes a number with so many decimals and commas between thousands.
///
/// - number: a number.
/// - decimals: how many decimals, 0 to 12.
///
/// Gives: text.
/// Source: definition.
/// Example: `text::fixed(7556.9, 0)` = "7,557"
pub fn fixed(number: f64, decimals: i64) -> Result<String, Refusal> {
    let places = usize::try_from(decimals).ok().filter(|_| decimals <= MOST_DECIMALS);
    let places = places.ok_or_else(|| Refusal::new("decimals", decimals, "0 to 12"))?;
    let plain = format!("{:.*}", places, number.abs());
    let (whole, rest) = plain.split_at(plain.find('.').unwrap_or(plain.len()));
    let mut text = String::with_capacity(plain.len() + 8);
    let is_zero = plain.bytes().all(|sign| matches!(sign, b'0' | b'.'));
    if number < 0.0 && !is_zero {
        text.push('-');
    }
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    text.push_str(rest);
    Ok(text)
}

/// Writes a list in words.
///
/// - items: a list of texts or numbers.
///
/// Gives: text.
/// Source: definition.
/// Example: `text::list(["gauge", "finish", "grade"])` = "gauge, finish and grade"
pub fn list(items: Vec<Value>) -> Result<String, Refusal> {
    let words = items
        .iter()
        .map(|item| match item {
            Value::Text(text) => Ok(text.to_string()),
            Value::Count(_) | Value::Number(_) | Value::Date(_) => Ok(item.to_string()),
            other => String::from_value("items", other),
        })
        .collect::<Result<Vec<String>, Refusal>>()?;
    Ok(match words.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    })
}

/// Joins the values of some fields of a record, to tell records apart; a field that it lacks counts
/// as blank.
///
/// - record: a record or map.
/// - names: a list of field names.
///
/// Gives: text.
/// Source: definition.
/// Example: `text::joined(#{ type: "D1", gauge: "20", slab_in: 5 }, ["type", "gauge", "mark"])` = "D1|20|"
#[must_use]
#[allow(clippy::needless_pass_by_value, reason = "built-ins own their arguments")]
pub fn joined(record: Arc<Record>, names: Vec<String>) -> String {
    let values = names.iter().map(|name| match record.get(known_as(name)) {
        None | Some(Value::Blank) => String::new(),
        Some(Value::Text(text)) => text.to_string(),
        Some(value) => value.to_string(),
    });
    values.collect::<Vec<String>>().join("|")
}

/// Whether two marks are the same: case and repeated spaces make no difference; blank is the same as blank.
///
/// - one: a mark: text, a number or blank.
/// - other: a mark: text, a number or blank.
///
/// Gives: true or false.
/// Source: definition.
/// Example: `text::same("D1 ", "d1")` = true
#[must_use]
#[allow(clippy::needless_pass_by_value, reason = "built-ins own their arguments")]
pub fn same(one: Value, other: Value) -> bool {
    key_of(&one) == key_of(&other)
}

/// What all spellings of a mark share: to look marks up by it; blank gives "".
///
/// - mark: a mark: text, a number or blank.
///
/// Gives: text.
/// Source: definition.
/// Example: `text::key(" D1")` = "d1"
#[must_use]
#[allow(clippy::needless_pass_by_value, reason = "built-ins own their arguments")]
pub fn key(mark: Value) -> String {
    key_of(&mark).into_owned()
}

fn key_of(mark: &Value) -> Cow<'_, str> {
    match mark {
        Value::Text(text) => mark_key(text),
        Value::Blank => Cow::Borrowed(""),
        other => Cow::Owned(mark_key(&other.to_string()).into_owned()),
    }
}

/// What two equal marks share: `D1` is `d1` and ` D1 `, composed or decomposed accents alike.
#[must_use]
pub fn mark_key(mark: &str) -> Cow<'_, str> {
    if mark.bytes().all(|byte| byte.is_ascii_graphic()) {
        let has_capitals = mark.bytes().any(|byte| byte.is_ascii_uppercase());
        return if has_capitals { mark.to_ascii_lowercase().into() } else { mark.into() };
    }
    let mut key = String::with_capacity(mark.len());
    for word in mark.split_whitespace() {
        if !key.is_empty() {
            key.push(' ');
        }
        key.extend(word.nfc().flat_map(char::to_lowercase));
    }
    Cow::Owned(key)
}
