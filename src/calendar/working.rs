//! Working days of a shop: weekend, federal holidays, closed days and days lost to weather.
//!
//! In: dates and a calendar, a record of which every field may be left out. Out: working days, or
//! why a day is none.

use std::sync::Arc;

use jiff::civil::Date;

use super::day::{FIRST, LAST, checked};
use super::shop::Calendar;
use crate::builtin::Builtin;
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(is_working_day(date, calendar)),
    builtin!(why_closed(date, calendar)),
    builtin!(next_working_day(date, calendar)),
    builtin!(add_working_days(date, days, calendar)),
    builtin!(working_days(from, to, calendar)),
    builtin!(weather_days(year, month, days, calendar)),
];

fn read(calendar: Option<&Arc<Record>>) -> Result<Calendar, Refusal> {
    Calendar::from_record("calendar", calendar.map(|record| &**record))
}

/// Whether work goes on on a date.
///
/// - date: a date from 2000 to 2100
/// - calendar: record with weekend (list of weekday names, Saturday and Sunday by default),
///   federal_holidays (true by default), closed, weather and worked (lists of dates; what is
///   worked stands above all else); `#{}` or blank for the defaults
///
/// Gives: true or false.
/// Source: 5 U.S.C. 6103 for holidays; else definition.
/// Example: `calendar::is_working_day(calendar::date("2026-07-03"), #{})` = false
pub fn is_working_day(date: Date, calendar: Option<Arc<Record>>) -> Result<bool, Refusal> {
    Ok(read(calendar.as_ref())?.is_working_day(checked("date", date)?))
}

/// Why no work goes on on a date: the weekday, the holiday, `closed` or `weather day`.
///
/// - date: a date from 2000 to 2100
/// - calendar: record as in `is_working_day`
///
/// Gives: text; blank on a working day.
/// Source: 5 U.S.C. 6103 for holidays; else definition.
/// Example: `calendar::why_closed(calendar::date("2026-07-03"), #{})` = "Independence Day (observed)"
pub fn why_closed(date: Date, calendar: Option<Arc<Record>>) -> Result<Option<String>, Refusal> {
    Ok(read(calendar.as_ref())?.why_closed(checked("date", date)?))
}

/// The date itself if work goes on then, else the first working day after it.
///
/// - date: a date from 2000 to 2100
/// - calendar: record as in `is_working_day`
///
/// Gives: date.
/// Source: definition.
/// Example: `calendar::iso(calendar::next_working_day(calendar::date("2026-07-03"), #{}))` = "2026-07-06"
pub fn next_working_day(date: Date, calendar: Option<Arc<Record>>) -> Result<Date, Refusal> {
    let calendar = read(calendar.as_ref())?;
    calendar.on_or_after(checked("date", date)?).ok_or_else(|| {
        Refusal::new("date", date, format!("a date with a working day on or after it up to {LAST}"))
    })
}

/// The date so many working days later; with 0 days the date itself if work goes on then, else the
/// first working day after it.
///
/// - date: a date from 2000 to 2100
/// - days: count of working days, negative for earlier, up to 30,000
/// - calendar: record as in `is_working_day`
///
/// Gives: date.
/// Source: definition.
/// Example: `calendar::iso(calendar::add_working_days(calendar::date("2026-07-02"), 1, #{}))` = "2026-07-06"
pub fn add_working_days(
    date: Date,
    days: i64,
    calendar: Option<Arc<Record>>,
) -> Result<Date, Refusal> {
    let calendar = read(calendar.as_ref())?;
    checked("date", date)?;
    let wanted = || format!("a count up to 30,000 that stays from {FIRST} to {LAST}");
    if days.unsigned_abs() > 30_000 {
        return Err(Refusal::new("days", days, wanted()));
    }
    calendar.add(date, days).ok_or_else(|| Refusal::new("days", days, wanted()))
}

/// Working days from one date to another, both included.
///
/// - from: a date from 2000 to 2100
/// - to: a date from 2000 to 2100; earlier than from gives no days
/// - calendar: record as in `is_working_day`
///
/// Gives: list of dates.
/// Source: definition.
/// Example: `calendar::working_days(calendar::date("2026-07-01"), calendar::date("2026-07-07"), #{}).len()` = 4
pub fn working_days(
    from: Date,
    to: Date,
    calendar: Option<Arc<Record>>,
) -> Result<Vec<Date>, Refusal> {
    let calendar = read(calendar.as_ref())?;
    Ok(calendar.days(checked("from", from)?, checked("to", to)?).collect())
}

/// Working days of a month that are given up to expected bad weather, spread evenly through it.
///
/// - year: a year from 2000 to 2100
/// - month: a month, 1 to 12
/// - days: count of working days expected lost, 0 to the working days of the month
/// - calendar: record as in `is_working_day`, without these days
///
/// Gives: list of dates, to be given to a calendar as weather.
/// Source: common practice, no source; which days will be lost nobody knows, the spread only
/// keeps a schedule honest in length.
/// Example: `calendar::weather_days(2026, 3, 3, #{}).len()` = 3
pub fn weather_days(
    year: i64,
    month: i64,
    days: i64,
    calendar: Option<Arc<Record>>,
) -> Result<Vec<Date>, Refusal> {
    let calendar = read(calendar.as_ref())?;
    let year = i16::try_from(year)
        .ok()
        .filter(|year| (2000..=2100).contains(year))
        .ok_or_else(|| Refusal::new("year", year, "a year from 2000 to 2100"))?;
    let first = i8::try_from(month)
        .ok()
        .and_then(|month| Date::new(year, month, 1).ok())
        .ok_or_else(|| Refusal::new("month", month, "a month from 1 to 12"))?;
    let worked: Vec<Date> = calendar.days(first, first.last_of_month()).collect();
    let count =
        usize::try_from(days).ok().filter(|count| *count <= worked.len()).ok_or_else(|| {
            Refusal::new("days", days, format!("a count from 0 to {} working days", worked.len()))
        })?;
    // The middle of each of `count` equal parts of the month.
    Ok((0..count).map(|part| worked[(2 * part + 1) * worked.len() / (2 * count)]).collect())
}
