//! Named fields of a record, and the ranges numbers are held to.
//!
//! Built-ins with many parameters take one record and read it here. In: the record, its argument
//! name, the names it may hold. Out: checked plain values, or a refusal that names field, value and
//! range, with near misses for a misspelt name.

use std::sync::Arc;

use crate::value::{FromValue, Record, Refusal, Value};

/// What a number may be.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    noun: &'static str,
    least: f64,
    least_included: bool,
    most: f64,
    unit: &'static str,
}

impl Range {
    /// Above `least`, up to and with `most`: `Range::above("a thickness", 0.0, 1.0, "in")`.
    #[must_use]
    pub const fn above(noun: &'static str, least: f64, most: f64, unit: &'static str) -> Range {
        Range { noun, least, least_included: false, most, unit }
    }

    /// From `least` up to and with `most`.
    #[must_use]
    pub const fn from(noun: &'static str, least: f64, most: f64, unit: &'static str) -> Range {
        Range { noun, least, least_included: true, most, unit }
    }

    /// The value, or a refusal in the argument's name.
    pub fn check(&self, argument: &str, value: f64) -> Result<f64, Refusal> {
        let above = if self.least_included { value >= self.least } else { value > self.least };
        if above && value <= self.most {
            Ok(value)
        } else {
            Err(Refusal::new(argument, value, self.wanted()))
        }
    }

    /// `a thickness above 0 and up to 1 in`.
    #[must_use]
    pub fn wanted(&self) -> String {
        let Range { noun, least, most, unit, .. } = self;
        let (word, to) = if self.least_included { ("from", "to") } else { ("above", "and up to") };
        format!("{noun} {word} {least} {to} {most} {unit}").trim_end().to_string()
    }
}

/// The fields of a record argument.
#[derive(Clone, Copy, Debug)]
pub struct Fields<'a> {
    argument: &'a str,
    record: &'a Record,
}

impl<'a> Fields<'a> {
    /// The fields of an option record: a name that is not in `known` is refused.
    pub fn exactly(
        argument: &'a str,
        record: &'a Record,
        known: &[&str],
    ) -> Result<Fields<'a>, Refusal> {
        match record.keys().find(|name| !known.contains(&&***name)) {
            Some(name) => Err(unknown(argument, name, &record[name], known)),
            None => Ok(Fields { argument, record }),
        }
    }

    /// The fields of a record that may carry others (a catalogue row): only a name within two
    /// letters of a known one is refused.
    pub fn among(
        argument: &'a str,
        record: &'a Record,
        known: &[&str],
    ) -> Result<Fields<'a>, Refusal> {
        // Most names are told apart by their lengths and letters.
        let letters =
            |name: &str| name.bytes().fold(0_u64, |letters, letter| letters | 1 << (letter & 63));
        let may_be = |name: &str, right: &str| {
            name.len().abs_diff(right.len()) <= 2
                && (letters(name) ^ letters(right)).count_ones() <= 4
        };
        let misspelt = |name: &str| {
            name.len() >= 6
                && !known.contains(&name)
                && known.iter().any(|right| {
                    may_be(name, right) && strsim::damerau_levenshtein(name, right) <= 2
                })
        };
        match record.keys().find(|name| misspelt(name)) {
            Some(name) => Err(unknown(argument, name, &record[name], known)),
            None => Ok(Fields { argument, record }),
        }
    }

    /// The field's full name in refusals: `deck.thickness_in`.
    #[must_use]
    pub fn path(&self, name: &str) -> String {
        format!("{}.{name}", self.argument)
    }

    /// Whether the field is there and not blank.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.record.get(name).is_some_and(|value| !value.is_blank())
    }

    /// A field of any plain kind, `None` where absent or blank.
    pub fn optional<T: FromValue>(&self, name: &str) -> Result<Option<T>, Refusal> {
        let value = self.record.get(name).unwrap_or(&Value::Blank);
        <Option<T>>::from_value(name, value).map_err(|refusal| refusal.inside(self.argument))
    }

    /// A field of any plain kind, refused where absent or blank.
    pub fn required<T: FromValue>(&self, name: &str, wanted: &str) -> Result<T, Refusal> {
        self.optional(name)?.ok_or_else(|| Refusal::missing(self.path(name), wanted))
    }

    /// A number in range, `None` where absent or blank.
    pub fn optional_number(&self, name: &str, range: Range) -> Result<Option<f64>, Refusal> {
        let number: Option<f64> = self.optional(name)?;
        let checked = number.map(|number| range.check(name, number)).transpose();
        checked.map_err(|refusal| refusal.inside(self.argument))
    }

    /// A number in range.
    pub fn number(&self, name: &str, range: Range) -> Result<f64, Refusal> {
        self.optional_number(name, range)?
            .ok_or_else(|| Refusal::missing(self.path(name), range.wanted()))
    }

    /// A number in range, or a default.
    pub fn number_or(&self, name: &str, default: f64, range: Range) -> Result<f64, Refusal> {
        Ok(self.optional_number(name, range)?.unwrap_or(default))
    }

    /// True or false, or a default.
    pub fn flag_or(&self, name: &str, default: bool) -> Result<bool, Refusal> {
        Ok(self.optional(name)?.unwrap_or(default))
    }

    /// One of several words, or the default; given as its position in `words`.
    pub fn word_or(&self, name: &str, default: usize, words: &[&str]) -> Result<usize, Refusal> {
        let Some(found) = self.optional::<Arc<str>>(name)? else { return Ok(default) };
        words
            .iter()
            .position(|word| word.eq_ignore_ascii_case(found.trim()))
            .ok_or_else(|| Refusal::new(self.path(name), quoted(&found), one_of(words)))
    }
}

fn quoted(text: &str) -> String {
    format!("{text:?}")
}

/// `one of "a", "b"`.
#[must_use]
pub fn one_of(words: &[&str]) -> String {
    let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
    format!("one of {}", words.join(", "))
}

fn unknown(argument: &str, name: &str, value: &Value, known: &[&str]) -> Refusal {
    let mut near: Vec<(usize, &str)> = known
        .iter()
        .map(|right| (strsim::damerau_levenshtein(name, right), *right))
        .filter(|(distance, _)| *distance <= (name.len() / 3).max(2))
        .collect();
    near.sort_unstable();
    let wanted = match near.first() {
        Some((_, right)) => format!("no such field (did you mean `{right}`?)"),
        None => format!("no such field (there are {})", known.join(", ")),
    };
    Refusal::new(format!("{argument}.{name}"), value, wanted)
}

/// Gives a struct of figures as a [`Record`] of its fields in the order listed:
/// `into_record!(Shear { shear_lb, limit_lb });`.
#[macro_export]
macro_rules! into_record {
    ($name:ident { $($field:ident),* $(,)? }) => {
        impl $crate::value::IntoValue for $name {
            fn into_value(self) -> Result<$crate::value::Value, $crate::value::Refusal> {
                let $name { $($field),* } = self;
                $crate::value::IntoValue::into_value($crate::record! {
                    $($field: $crate::value::IntoValue::into_value($field)?),*
                })
            }
        }
    };
}
