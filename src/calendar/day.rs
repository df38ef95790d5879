//! Dates: reading and writing them, weekdays, distances.
//!
//! In: text, dates, counts of days. Out: dates from 2000 to 2100; a spreadsheet's zero, which shows
//! as 1900, is refused as what it is.

use std::sync::Arc;

use jiff::ToSpan;
use jiff::civil::{Date, Weekday, date as day_of};

use crate::arguments::nearest;
use crate::builtin::Builtin;
use crate::value::Refusal;

pub const BUILTINS: &[Builtin] = &[
    builtin!(date(text)),
    builtin!(iso(date)),
    builtin!(weekday(date)),
    builtin!(week_start(date)),
    builtin!(add_days(date, days)),
    builtin!(days_between(from, to)),
];

/// The first day that a job may have.
pub const FIRST: Date = day_of(2000, 1, 1);
/// The last day that a job may have.
pub const LAST: Date = day_of(2100, 12, 31);

/// The names of the days of a week, from Monday.
pub const WEEKDAYS: [(&str, Weekday); 7] = [
    ("Monday", Weekday::Monday),
    ("Tuesday", Weekday::Tuesday),
    ("Wednesday", Weekday::Wednesday),
    ("Thursday", Weekday::Thursday),
    ("Friday", Weekday::Friday),
    ("Saturday", Weekday::Saturday),
    ("Sunday", Weekday::Sunday),
];

/// A date from text, year first or in the usual American order.
///
/// - text: a date from 2000 to 2100, as `2026-03-02`, `3/2/2026` or `3/2/26`
///
/// Gives: date.
/// Source: definition (ISO 8601 extended format; month/day/year).
/// Example: `calendar::weekday(calendar::date("2026-03-02"))` = "Monday"
pub fn date(text: Arc<str>) -> Result<Date, Refusal> {
    let refusal = || {
        let wanted = "a date from 2000 to 2100, as \"2026-03-02\" or \"3/2/2026\"";
        Refusal::new("text", format!("{text:?}"), wanted)
    };
    let trimmed = text.trim();
    let (parts, american): (Vec<&str>, bool) = if trimmed.contains('/') {
        (trimmed.split('/').collect(), true)
    } else {
        (trimmed.split('-').collect(), false)
    };
    let &[first, second, third] = parts.as_slice() else { return Err(refusal()) };
    let (year, month, day) = if american { (third, first, second) } else { (first, second, third) };
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let long_year = year.len() == 4 || (american && year.len() == 2);
    if !long_year || ![year, month, day].into_iter().all(digits) {
        return Err(refusal());
    }
    let century = if year.len() == 2 { 2000 } else { 0 };
    let number = |part: &str| part.parse::<i16>().map_err(|_| refusal());
    let small = |part: &str| part.parse::<i8>().map_err(|_| refusal());
    let found =
        Date::new(number(year)? + century, small(month)?, small(day)?).map_err(|_| refusal())?;
    if (FIRST..=LAST).contains(&found) { Ok(found) } else { Err(refusal()) }
}

/// A date as text, year first.
///
/// - date: a date
///
/// Gives: text such as `2026-03-02`.
/// Source: definition (ISO 8601 extended format).
/// Example: `calendar::iso(calendar::date("3/2/2026"))` = "2026-03-02"
#[must_use]
pub fn iso(date: Date) -> String {
    date.to_string()
}

/// The name of the day of the week.
///
/// - date: a date
///
/// Gives: text, `Monday` to `Sunday`.
/// Source: definition.
/// Example: `calendar::weekday(calendar::date("2026-07-04"))` = "Saturday"
#[must_use]
pub fn weekday(date: Date) -> String {
    weekday_name(date.weekday()).to_owned()
}

/// The Monday of the week in which a date lies.
///
/// - date: a date from 2000 to 2100
///
/// Gives: date.
/// Source: definition.
/// Example: `calendar::iso(calendar::week_start(calendar::date("2026-03-08")))` = "2026-03-02"
pub fn week_start(date: Date) -> Result<Date, Refusal> {
    checked("date", date)?;
    let since_monday = i64::from(date.weekday().to_monday_zero_offset());
    Ok(date.saturating_sub(since_monday.days()))
}

/// The date so many calendar days later.
///
/// - date: a date from 2000 to 2100
/// - days: count of days, negative for earlier
///
/// Gives: date.
/// Source: definition.
/// Example: `calendar::iso(calendar::add_days(calendar::date("2026-02-27"), 3))` = "2026-03-02"
pub fn add_days(date: Date, days: i64) -> Result<Date, Refusal> {
    checked("date", date)?;
    let refusal =
        || Refusal::new("days", days, format!("a count that stays from {FIRST} to {LAST}"));
    if days.unsigned_abs() > 40_000 {
        return Err(refusal());
    }
    let later = date.checked_add(days.days()).map_err(|_| refusal())?;
    if (FIRST..=LAST).contains(&later) { Ok(later) } else { Err(refusal()) }
}

/// Calendar days from one date to another.
///
/// - from: a date
/// - to: a date; earlier than from gives a negative count
///
/// Gives: count of days.
/// Source: definition.
/// Example: `calendar::days_between(calendar::date("2026-02-27"), calendar::date("2026-03-02"))` = 3
#[must_use]
pub fn days_between(from: Date, to: Date) -> i64 {
    from.until(to).map_or(0, |span| i64::from(span.get_days()))
}

/// The date, refused where it lies outside 2000 to 2100.
pub fn checked(argument: &str, date: Date) -> Result<Date, Refusal> {
    if (FIRST..=LAST).contains(&date) {
        Ok(date)
    } else {
        let wanted = format!("a date from {FIRST} to {LAST}");
        Err(Refusal::new(argument, date, wanted))
    }
}

/// `Monday` to `Sunday`.
#[must_use]
pub fn weekday_name(weekday: Weekday) -> &'static str {
    WEEKDAYS[usize::from(weekday.to_monday_zero_offset().unsigned_abs()) % 7].0
}

/// The day of the week of that name.
pub fn weekday_named(argument: &str, name: &str) -> Result<Weekday, Refusal> {
    WEEKDAYS.iter().find(|(known, _)| *known == name).map(|(_, weekday)| *weekday).ok_or_else(
        || {
            let near = nearest(name, WEEKDAYS.iter().map(|(known, _)| *known));
            let near = near.map(|near| format!(" (perhaps {near:?})")).unwrap_or_default();
            let wanted = format!("a weekday, \"Monday\" to \"Sunday\"{near}");
            Refusal::new(argument, format!("{name:?}"), wanted)
        },
    )
}
