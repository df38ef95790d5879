//! What a change moved.

use std::sync::Arc;

use jiff::civil::Date;

use crate::arguments::Fields;
use crate::calendar::day::{checked, days_between};
use crate::value::{IntoValue, Record, Refusal, Value};

/// A pour's date in one schedule, and what set it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dated {
    pub pour: String,
    pub date: Date,
    pub why: String,
}

/// A pour whose date is not the same in two schedules.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Move {
    pub pour: String,
    pub from: Option<Date>,
    pub to: Option<Date>,
    /// Calendar days later, negative for earlier.
    pub days: i64,
    pub text: String,
}

pub(super) fn dated(argument: &str, records: &[Arc<Record>]) -> Result<Vec<Dated>, Refusal> {
    let read = |(at, record): (usize, &Arc<Record>)| {
        let argument = format!("{argument}[{at}]");
        let mut fields = Fields::new(&argument, record);
        let date = fields.required("date", "the date of a pour")?;
        Ok(Dated {
            pour: fields.required("pour", "the mark of a pour")?,
            date: checked(&fields.path("date"), date)?,
            why: fields.optional("why")?.unwrap_or_default(),
        })
    };
    records.iter().enumerate().map(read).collect()
}

/// What moved, in the order of `after`; then what was dropped.
#[must_use]
pub fn moves(before: &[Dated], after: &[Dated]) -> Vec<Move> {
    let mut list = Vec::new();
    for now in after {
        let why = if now.why.is_empty() { String::new() } else { format!(": {}", now.why) };
        let (pour, to) = (&now.pour, now.date);
        let (from, days, text) = match before.iter().find(|was| was.pour == now.pour) {
            Some(was) if was.date == now.date => continue,
            Some(was) => {
                let days = days_between(was.date, now.date);
                let count = days.unsigned_abs();
                let unit = if count == 1 { "day" } else { "days" };
                let way = if days > 0 { "later" } else { "earlier" };
                let from = was.date;
                let text = format!("{pour} moves {count} {unit} {way}, {from} to {to}{why}");
                (Some(from), days, text)
            }
            None => (None, 0, format!("{pour} is new on {to}{why}")),
        };
        list.push(Move { pour: pour.clone(), from, to: Some(to), days, text });
    }
    for was in before.iter().filter(|was| after.iter().all(|now| now.pour != was.pour)) {
        list.push(Move {
            pour: was.pour.clone(),
            from: Some(was.date),
            to: None,
            days: 0,
            text: format!("{} is dropped from {}", was.pour, was.date),
        });
    }
    list
}

impl IntoValue for Move {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            pour: Value::text(self.pour),
            from: self.from.into_value()?,
            to: self.to.into_value()?,
            days: Value::Count(self.days),
            text: Value::text(self.text),
        }
        .into_value()
    }
}
