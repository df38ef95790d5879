//! The legal public holidays of the United States by rule, with the days on which they are
//! observed.
//!
//! In: a year from 2000 to 2100 or a date. Out: names, dates and observed dates. Inauguration Day
//! is a holiday in the Washington area alone and is left out; days closed by a single executive
//! order are no rule, and a shop that keeps them lists them as closed.

use jiff::civil::{Date, Weekday};

use crate::builtin::Builtin;
use crate::value::{IntoValue, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(holidays(year))];

/// A legal public holiday.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Holiday {
    pub name: &'static str,
    /// The day of the holiday itself.
    pub date: Date,
    /// The day on which nobody works: the Friday before a Saturday, the Monday after a Sunday.
    pub observed: Date,
}

/// On which day of a year a holiday falls.
#[derive(Clone, Copy)]
enum Rule {
    Day(i8, i8),
    /// The n-th such weekday of a month; -1 is the last.
    Weekday(i8, i8, Weekday),
}

/// Name, first year, rule: 5 U.S.C. 6103(a). Juneteenth: Pub. L. 117-17 of 2021-06-17.
const RULES: [(&str, i16, Rule); 11] = [
    ("New Year's Day", 2000, Rule::Day(1, 1)),
    ("Birthday of Martin Luther King, Jr.", 2000, Rule::Weekday(1, 3, Weekday::Monday)),
    ("Washington's Birthday", 2000, Rule::Weekday(2, 3, Weekday::Monday)),
    ("Memorial Day", 2000, Rule::Weekday(5, -1, Weekday::Monday)),
    ("Juneteenth National Independence Day", 2021, Rule::Day(6, 19)),
    ("Independence Day", 2000, Rule::Day(7, 4)),
    ("Labor Day", 2000, Rule::Weekday(9, 1, Weekday::Monday)),
    ("Columbus Day", 2000, Rule::Weekday(10, 2, Weekday::Monday)),
    ("Veterans Day", 2000, Rule::Day(11, 11)),
    ("Thanksgiving Day", 2000, Rule::Weekday(11, 4, Weekday::Thursday)),
    ("Christmas Day", 2000, Rule::Day(12, 25)),
];

/// The federal holidays of a year in order of date, without Inauguration Day, which is kept in the
/// Washington area alone.
///
/// - year: a year from 2000 to 2100
///
/// Gives: list of records with name, date and observed, a date; the observed day of a New Year's
/// Day on a Saturday lies in the year before.
/// Source: 5 U.S.C. 6103(a) and (b); Executive Order 11582 for Sundays; Pub. L. 117-17 for
/// Juneteenth, since 2021 (from memory).
/// Example: `calendar::iso(calendar::holidays(2026)[5].observed)` = "2026-07-03"
pub fn holidays(year: i64) -> Result<Vec<Holiday>, Refusal> {
    match i16::try_from(year) {
        Ok(year @ 2000..=2100) => Ok(of_year(year)),
        _ => Err(Refusal::new("year", year, "a year from 2000 to 2100")),
    }
}

/// The holidays of a year in order of date.
fn of_year(year: i16) -> Vec<Holiday> {
    RULES.iter().filter_map(|rule| in_year(rule, year)).collect()
}

fn in_year((name, since, rule): &(&'static str, i16, Rule), year: i16) -> Option<Holiday> {
    if year < *since {
        return None;
    }
    let date = match *rule {
        Rule::Day(month, day) => Date::new(year, month, day),
        Rule::Weekday(month, nth, weekday) => {
            Date::new(year, month, 1).and_then(|first| first.nth_weekday_of_month(nth, weekday))
        }
    };
    let date = date.ok()?;
    let observed = match (rule, date.weekday()) {
        (Rule::Day(..), Weekday::Saturday) => date.yesterday(),
        (Rule::Day(..), Weekday::Sunday) => date.tomorrow(),
        _ => Ok(date),
    };
    Some(Holiday { name, date, observed: observed.ok()? })
}

/// The holiday observed on a date.
#[must_use]
pub fn observed_on(date: Date) -> Option<Holiday> {
    let next_year = date.year().saturating_add(1);
    let own = RULES.iter().filter_map(|rule| in_year(rule, date.year()));
    let next_new_year = RULES.first().and_then(|rule| in_year(rule, next_year));
    own.chain(next_new_year).find(|holiday| holiday.observed == date)
}

impl IntoValue for Holiday {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            name: Value::text(self.name),
            date: Value::Date(self.date),
            observed: Value::Date(self.observed),
        }
        .into_value()
    }
}
