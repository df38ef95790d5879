//! Named fields of a record that a script hands to a built-in.
//!
//! Unknown names are refused with the nearest known ones; a field's refusal names it as
//! `record.field`. In: a record and the names it may have. Out: typed values.

use std::sync::Arc;

use crate::length::Length;
use crate::value::{Feet, FromValue, Inches, Record, Refusal, Value};

/// The fields of one record.
pub(super) struct Fields<'a> {
    argument: String,
    record: &'a Record,
}

impl<'a> Fields<'a> {
    /// Refuses a field whose name is not among the known ones.
    pub(super) fn new(
        argument: impl Into<String>,
        record: &'a Record,
        known: &[&str],
    ) -> Result<Fields<'a>, Refusal> {
        let argument = argument.into();
        for name in record.keys() {
            if !known.contains(&&**name) {
                return Err(Refusal::new(
                    format!("{argument}.{name}"),
                    "an unknown field",
                    match nearest(name, known) {
                        Some(near) => format!("a known field; `{near}` is the nearest"),
                        None => format!("one of {}", known.join(", ")),
                    },
                ));
            }
        }
        Ok(Fields { argument, record })
    }

    /// Takes a record that may have other fields.
    pub(super) fn lenient(argument: impl Into<String>, record: &'a Record) -> Fields<'a> {
        Fields { argument: argument.into(), record }
    }

    /// A field's full name.
    pub(super) fn path(&self, name: &str) -> String {
        format!("{}.{name}", self.argument)
    }

    /// A field's value, blank where it is not given.
    pub(super) fn value(&self, name: &str) -> &Value {
        self.record.get(name).unwrap_or(&Value::Blank)
    }

    /// A field that must be given.
    pub(super) fn get<T: FromValue>(&self, name: &str) -> Result<T, Refusal> {
        T::from_value(&self.path(name), self.value(name))
    }

    /// A field that may be left out.
    pub(super) fn or<T: FromValue>(&self, name: &str, otherwise: T) -> Result<T, Refusal> {
        Ok(self.get::<Option<T>>(name)?.unwrap_or(otherwise))
    }

    /// A field of few words, blank where it is not given.
    pub(super) fn text(&self, name: &str) -> Result<Arc<str>, Refusal> {
        self.or(name, Arc::from(""))
    }

    pub(super) fn feet(&self, name: &str) -> Result<Length, Refusal> {
        self.get::<Feet>(name).map(|feet| feet.0)
    }

    pub(super) fn inches_or_none(&self, name: &str) -> Result<Length, Refusal> {
        self.or(name, Inches(Length::ZERO)).map(|inches| inches.0)
    }

    /// A count of at least so many.
    pub(super) fn count(&self, name: &str, least: i64) -> Result<usize, Refusal> {
        let count: i64 = self.get(name)?;
        usize::try_from(count).ok().filter(|_| count >= least).ok_or_else(|| {
            Refusal::new(self.path(name), count, format!("a count of {least} or more"))
        })
    }

    /// A number above zero.
    pub(super) fn above_zero(&self, name: &str, what: &str) -> Result<f64, Refusal> {
        let number: f64 = self.get(name)?;
        if number > 0.0 {
            Ok(number)
        } else {
            Err(Refusal::new(self.path(name), number, format!("a {what} above 0")))
        }
    }

    /// A refusal of one of the words a field may be.
    pub(super) fn no_such_word(&self, name: &str, words: &[&str]) -> Refusal {
        Refusal::new(self.path(name), self.value(name), format!("one of {}", words.join(", ")))
    }
}

fn nearest<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
    known
        .iter()
        .map(|known| (strsim::damerau_levenshtein(name, known), *known))
        .filter(|(distance, known)| *distance <= 1 + known.len() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}
