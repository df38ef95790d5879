//! Arguments with ranges, and records as arguments: named fields read once each.
//!
//! In: a number or a record and the words that say what it may be. Out: the checked value, or a
//! refusal that names argument, value and range; a field name that nothing reads is refused with
//! the nearest name that would be.

use crate::value::{FromValue, Record, Refusal, Value};

/// The number itself where `holds` is true of it, else a refusal in the words of `wanted`.
pub fn within(
    argument: &str,
    number: f64,
    wanted: &str,
    holds: impl Fn(f64) -> bool,
) -> Result<f64, Refusal> {
    if number.is_finite() && holds(number) {
        Ok(number)
    } else {
        Err(Refusal::new(argument, number, wanted))
    }
}

/// The name out of `names` that lies nearest to `name`, where one is near.
#[must_use]
pub fn nearest<'a>(name: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const NEAR: f64 = 0.8;
    let mut best: Option<(f64, &str)> = None;
    for other in names {
        let likeness = strsim::jaro_winkler(name, other);
        if likeness >= NEAR && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, other));
        }
    }
    best.map(|(_, other)| other)
}

/// A record argument while its fields are read.
pub struct Fields<'a> {
    argument: &'a str,
    record: &'a Record,
    read: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    #[must_use]
    pub fn new(argument: &'a str, record: &'a Record) -> Fields<'a> {
        Fields { argument, record, read: Vec::new() }
    }

    /// The field's name as refusals print it: `settings.truck_yd3`.
    #[must_use]
    pub fn path(&self, name: &str) -> String {
        format!("{}.{name}", self.argument)
    }

    /// The field, `None` where it is absent or blank.
    pub fn optional<T: FromValue>(&mut self, name: &'static str) -> Result<Option<T>, Refusal> {
        self.read.push(name);
        match self.record.get(name) {
            None | Some(Value::Blank) => Ok(None),
            Some(value) => T::from_value(name, value)
                .map(Some)
                .map_err(|refusal| refusal.inside(self.argument)),
        }
    }

    /// The field, refused in the words of `wanted` where it is absent or blank.
    pub fn required<T: FromValue>(
        &mut self,
        name: &'static str,
        wanted: &str,
    ) -> Result<T, Refusal> {
        self.optional(name)?.ok_or_else(|| {
            let names = self.record.keys().map(|key| &**key).filter(|key| !self.read.contains(key));
            let wanted = match nearest(name, names) {
                Some(near) => format!("{wanted} (the record has `{near}`)"),
                None => wanted.to_owned(),
            };
            Refusal::missing(self.path(name), wanted)
        })
    }

    /// A number in a range; where it is absent or blank the default, or a refusal without one.
    pub fn number(
        &mut self,
        name: &'static str,
        default: Option<f64>,
        wanted: &str,
        holds: impl Fn(f64) -> bool,
    ) -> Result<f64, Refusal> {
        let number = match (self.optional(name)?, default) {
            (Some(number), _) | (None, Some(number)) => number,
            (None, None) => self.required(name, wanted)?,
        };
        within(name, number, wanted, holds).map_err(|refusal| refusal.inside(self.argument))
    }

    /// A count from `least` to `most`; where it is absent or blank the default.
    pub fn count(
        &mut self,
        name: &'static str,
        default: i64,
        least: i64,
        most: i64,
    ) -> Result<i64, Refusal> {
        let count = self.optional(name)?.unwrap_or(default);
        self.counted(name, count, least, most)
    }

    /// A count from `least` to `most`, `None` where it is absent or blank.
    pub fn optional_count(
        &mut self,
        name: &'static str,
        least: i64,
        most: i64,
    ) -> Result<Option<i64>, Refusal> {
        self.optional(name)?.map(|count| self.counted(name, count, least, most)).transpose()
    }

    fn counted(&self, name: &str, count: i64, least: i64, most: i64) -> Result<i64, Refusal> {
        if (least..=most).contains(&count) {
            Ok(count)
        } else {
            let wanted = format!("a whole number from {least} to {most}");
            Err(Refusal::new(self.path(name), count, wanted))
        }
    }

    /// Refuses a field that was not asked for; records that carry more than is read skip this.
    pub fn finish(self) -> Result<(), Refusal> {
        for (name, value) in self.record.iter() {
            if !self.read.contains(&&**name) {
                let near = nearest(name, self.read.iter().copied());
                let near = near.map(|near| format!(" (perhaps `{near}`)")).unwrap_or_default();
                let wanted = format!("one of the fields {}{near}", self.read.join(", "));
                return Err(Refusal::new(self.path(name), value, wanted));
            }
        }
        Ok(())
    }
}
