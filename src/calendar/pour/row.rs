//! One row a day of a pour schedule.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::arguments::Fields;
use crate::calendar::day::{checked, weekday};
use crate::calendar::shop::Calendar;
use crate::value::{Record, Refusal, Value};

/// What one day places.
#[derive(Default)]
struct Day {
    pours: Vec<Arc<str>>,
    yd3: f64,
    trucks: i64,
}

pub(super) fn days(
    pours: &[Arc<Record>],
    calendar: Option<&Record>,
) -> Result<Vec<Record>, Refusal> {
    let calendar = Calendar::from_record("calendar", calendar)?;
    let mut days: BTreeMap<Date, Day> = BTreeMap::new();
    for (at, record) in pours.iter().enumerate() {
        let argument = format!("pours[{at}]");
        let mut fields = Fields::new(&argument, record);
        let date = fields.required("date", "the date of a pour")?;
        let day = days.entry(checked(&fields.path("date"), date)?).or_default();
        day.pours.push(fields.required("pour", "the mark of a pour")?);
        let volume = "a volume of 0 yd3 or more";
        day.yd3 += fields.number("yd3", Some(0.0), volume, |yd3| (0.0..=1e8).contains(&yd3))?;
        day.trucks += fields.count("trucks", 0, 0, 1_000_000)?;
    }
    let (Some(first), Some(last)) = (days.keys().next(), days.keys().next_back()) else {
        return Ok(Vec::new());
    };
    let rows = first.series(1.day()).take_while(|date| date <= last).map(|date| {
        let none = Day::default();
        let day = days.get(&date).unwrap_or(&none);
        record! {
            date: Value::Date(date),
            weekday: Value::text(weekday(date)),
            closed: calendar.why_closed(date).map_or(Value::Blank, Value::text),
            pours: Value::text(day.pours.join(", ")),
            crews: Value::Count(i64::try_from(day.pours.len()).unwrap_or(i64::MAX)),
            yd3: Value::Number(day.yd3),
            trucks: Value::Count(day.trucks),
        }
    });
    Ok(rows.collect())
}
