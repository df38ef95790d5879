//! Plain values: what a cell holds and what a built-in takes and gives.
//!
//! [`Value`] crosses every border of the program: schedule to rules, rules to built-ins, tables to
//! the workbook. It is cheap to clone and may be sent between threads.

use std::fmt;
use std::sync::Arc;

use jiff::civil::Date;
use serde::{Serialize, Serializer};

use crate::length::{Length, Unit};

/// A plain value.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Value {
    #[default]
    Blank,
    Bool(bool),
    /// A whole number, such as a count.
    Count(i64),
    /// A finite decimal number.
    Number(f64),
    Text(Arc<str>),
    Date(Date),
    List(Arc<[Value]>),
    Record(Arc<Record>),
    /// A cell that could not be computed.
    Error(Arc<str>),
}

pub use crate::record::Record;

/// A record of names that are known beforehand, with their values: `record! { panels: value }`. The
/// names are made once a thread.
#[macro_export]
macro_rules! record {
    ($($name:ident: $value:expr),* $(,)?) => {{
        thread_local! {
            static SHAPE: ::std::sync::Arc<$crate::record::Shape> =
                $crate::record::Shape::of(&[$(::std::sync::Arc::from(stringify!($name))),*]);
        }
        let values = ::std::vec![$($value),*];
        $crate::record::Record::new(SHAPE.with(::std::clone::Clone::clone), values)
    }};
}

/// How names are hashed where they are looked up for every cell: fast, and no order depends on it.
pub type Hashing = std::hash::BuildHasherDefault<ahash::AHasher>;

impl Value {
    #[must_use]
    pub fn text(text: impl AsRef<str>) -> Value {
        Value::Text(Arc::from(text.as_ref()))
    }

    /// Whether nothing tells two values apart, at a glance: lists and records that hold the same but are not
    /// one are not looked into.
    #[must_use]
    pub fn is_same(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Record(a), Value::Record(b)) => Arc::ptr_eq(a, b),
            (Value::List(a), Value::List(b)) => Arc::ptr_eq(a, b),
            (Value::Number(a), Value::Number(b)) => a.to_bits() == b.to_bits(),
            (a, b) => a == b,
        }
    }

    #[must_use]
    pub fn is_blank(&self) -> bool {
        matches!(self, Value::Blank)
    }

    /// The number that a count or number holds.
    #[must_use]
    pub fn as_number(&self) -> Option<f64> {
        match self {
            #[allow(clippy::cast_precision_loss, reason = "counts beyond 2^53 are refused earlier")]
            Value::Count(count) => Some(*count as f64),
            Value::Number(number) => Some(*number),
            _ => None,
        }
    }

    #[must_use]
    pub fn as_text(&self) -> Option<&str> {
        match self {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// What kind of value this is, for messages: `a number`, `text`, `blank` …
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Value::Blank => "blank",
            Value::Bool(_) => "true or false",
            Value::Count(_) => "a whole number",
            Value::Number(_) => "a number",
            Value::Text(_) => "text",
            Value::Date(_) => "a date",
            Value::List(_) => "a list",
            Value::Record(_) => "a record",
            Value::Error(_) => "an error",
        }
    }
}

/// As a script author would write it: `36`, `2.5`, `"G60"`, `[1, 2]`, `#{a: 1}`, `()`.
impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Blank => f.write_str("()"),
            Value::Bool(flag) => write!(f, "{flag}"),
            Value::Count(count) => write!(f, "{count}"),
            Value::Number(number) => write!(f, "{number}"),
            Value::Text(text) => write!(f, "{text:?}"),
            Value::Date(date) => write!(f, "{date}"),
            Value::List(items) => {
                f.write_str("[")?;
                for (index, item) in items.iter().enumerate() {
                    write!(f, "{}{item}", if index > 0 { ", " } else { "" })?;
                }
                f.write_str("]")
            }
            Value::Record(record) => {
                f.write_str("#{")?;
                for (index, (name, value)) in record.iter().enumerate() {
                    write!(f, "{}{name}: {value}", if index > 0 { ", " } else { "" })?;
                }
                f.write_str("}")
            }
            Value::Error(message) => write!(f, "error: {message}"),
        }
    }
}

/// Numbers, text and booleans as such, dates as `2026-03-02`, an error as `{"error": message}`.
impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Value::Blank => serializer.serialize_none(),
            Value::Bool(flag) => serializer.serialize_bool(*flag),
            Value::Count(count) => serializer.serialize_i64(*count),
            Value::Number(number) => serializer.serialize_f64(*number),
            Value::Text(text) => serializer.serialize_str(text),
            Value::Date(date) => serializer.collect_str(date),
            Value::List(items) => serializer.collect_seq(items.iter()),
            Value::Record(record) => serializer.collect_map(record.iter().map(|(k, v)| (&**k, v))),
            Value::Error(message) => serializer.collect_map([("error", &**message)]),
        }
    }
}

/// A value refused by a built-in: which argument, what it was, what it may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The argument's name, `spans_ft` or `spans_ft[2]`.
    pub argument: String,
    /// The value as found.
    pub found: String,
    /// What would be right, with its range: `a length above 0 in`.
    pub wanted: String,
}

impl Refusal {
    pub fn new(
        argument: impl Into<String>,
        found: impl fmt::Display,
        wanted: impl Into<String>,
    ) -> Refusal {
        Refusal { argument: argument.into(), found: found.to_string(), wanted: wanted.into() }
    }

    /// An argument or field that is not there.
    pub fn missing(argument: impl Into<String>, wanted: impl Into<String>) -> Refusal {
        Refusal::new(argument, MISSING, wanted)
    }

    #[must_use]
    pub fn is_missing(&self) -> bool {
        self.found == MISSING
    }
}

/// What is found where nothing is given.
const MISSING: &str = "missing";

impl Refusal {
    /// The same of a field: its name with that of the record which it stands in.
    #[must_use]
    pub fn inside(self, record: &str) -> Refusal {
        Refusal { argument: format!("{record}.{}", self.argument), ..self }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is {}, wanted {}", self.argument, self.found, self.wanted)
    }
}

impl std::error::Error for Refusal {}

/// An exact length that scripts write as a plain number of feet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Feet(pub Length);

/// An exact length that scripts write as a plain number of inches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Inches(pub Length);

/// Takes an argument out of a [`Value`]. Whole and decimal numbers are taken alike.
pub trait FromValue: Sized {
    /// # Errors
    /// A refusal that names the argument where the value is of another kind or out of range.
    fn from_value(argument: &str, value: &Value) -> Result<Self, Refusal>;
}

/// Puts a result into a [`Value`].
pub trait IntoValue {
    /// # Errors
    /// A refusal where the result is no plain value (not finite, say).
    fn into_value(self) -> Result<Value, Refusal>;
}

impl FromValue for Value {
    fn from_value(_: &str, value: &Value) -> Result<Value, Refusal> {
        Ok(value.clone())
    }
}

impl FromValue for f64 {
    fn from_value(argument: &str, value: &Value) -> Result<f64, Refusal> {
        value
            .as_number()
            .filter(|number| number.is_finite())
            .ok_or_else(|| Refusal::new(argument, value, "a number"))
    }
}

impl FromValue for i64 {
    fn from_value(argument: &str, value: &Value) -> Result<i64, Refusal> {
        match value {
            Value::Count(count) => Ok(*count),
            #[allow(clippy::cast_possible_truncation, reason = "whole and within 2^53")]
            Value::Number(number) if number.fract() == 0.0 && number.abs() < 9e15 => {
                Ok(*number as i64)
            }
            _ => Err(Refusal::new(argument, value, "a whole number")),
        }
    }
}

impl FromValue for bool {
    fn from_value(argument: &str, value: &Value) -> Result<bool, Refusal> {
        match value {
            Value::Bool(flag) => Ok(*flag),
            _ => Err(Refusal::new(argument, value, "true or false")),
        }
    }
}

impl FromValue for Arc<str> {
    fn from_value(argument: &str, value: &Value) -> Result<Arc<str>, Refusal> {
        match value {
            Value::Text(text) => Ok(text.clone()),
            _ => Err(Refusal::new(argument, value, "text")),
        }
    }
}

impl FromValue for String {
    fn from_value(argument: &str, value: &Value) -> Result<String, Refusal> {
        <Arc<str>>::from_value(argument, value).map(|text| text.to_string())
    }
}

impl FromValue for Date {
    fn from_value(argument: &str, value: &Value) -> Result<Date, Refusal> {
        match value {
            Value::Date(date) => Ok(*date),
            _ => Err(Refusal::new(argument, value, "a date")),
        }
    }
}

impl FromValue for Arc<Record> {
    fn from_value(argument: &str, value: &Value) -> Result<Arc<Record>, Refusal> {
        match value {
            Value::Record(record) => Ok(record.clone()),
            _ => Err(Refusal::new(argument, value, "a record")),
        }
    }
}

impl FromValue for Feet {
    fn from_value(argument: &str, value: &Value) -> Result<Feet, Refusal> {
        let number = f64::from_value(argument, value)?;
        Length::from_number(number, Unit::Foot)
            .map(Feet)
            .ok_or_else(|| Refusal::new(argument, value, "a length in ft up to 100,000"))
    }
}

impl FromValue for Inches {
    fn from_value(argument: &str, value: &Value) -> Result<Inches, Refusal> {
        let number = f64::from_value(argument, value)?;
        Length::from_number(number, Unit::Inch)
            .map(Inches)
            .ok_or_else(|| Refusal::new(argument, value, "a length in in up to 1,200,000"))
    }
}

/// A list, or one value standing for a list of one.
impl<T: FromValue> FromValue for Vec<T> {
    fn from_value(argument: &str, value: &Value) -> Result<Vec<T>, Refusal> {
        match value {
            Value::List(items) => items
                .iter()
                .enumerate()
                .map(|(index, item)| T::from_value(&format!("{argument}[{index}]"), item))
                .collect(),
            Value::Blank => Err(Refusal::new(argument, value, "a list")),
            single => Ok(vec![T::from_value(argument, single)?]),
        }
    }
}

/// Blank is `None`.
impl<T: FromValue> FromValue for Option<T> {
    fn from_value(argument: &str, value: &Value) -> Result<Option<T>, Refusal> {
        match value {
            Value::Blank => Ok(None),
            present => T::from_value(argument, present).map(Some),
        }
    }
}

impl IntoValue for Value {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(self)
    }
}

impl IntoValue for f64 {
    fn into_value(self) -> Result<Value, Refusal> {
        if self.is_finite() {
            Ok(Value::Number(self))
        } else {
            Err(Refusal::new("the result", self, "a finite number"))
        }
    }
}

impl IntoValue for i64 {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Count(self))
    }
}

impl IntoValue for bool {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Bool(self))
    }
}

impl IntoValue for String {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::text(self))
    }
}

impl IntoValue for Date {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Date(self))
    }
}

impl IntoValue for Feet {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Number(self.0.in_feet()))
    }
}

impl IntoValue for Inches {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Number(self.0.in_inches()))
    }
}

impl IntoValue for Record {
    fn into_value(self) -> Result<Value, Refusal> {
        Ok(Value::Record(Arc::new(self)))
    }
}

impl<T: IntoValue> IntoValue for Vec<T> {
    fn into_value(self) -> Result<Value, Refusal> {
        self.into_iter()
            .map(IntoValue::into_value)
            .collect::<Result<Arc<[Value]>, _>>()
            .map(Value::List)
    }
}

impl<T: IntoValue> IntoValue for Option<T> {
    fn into_value(self) -> Result<Value, Refusal> {
        self.map_or(Ok(Value::Blank), IntoValue::into_value)
    }
}

impl<T: IntoValue> IntoValue for Result<T, Refusal> {
    fn into_value(self) -> Result<Value, Refusal> {
        self.and_then(IntoValue::into_value)
    }
}
