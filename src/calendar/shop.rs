//! The calendar of a shop: weekend, federal holidays, closed days, days lost to weather.
//!
//! In: a record of which every field may be left out. Out: whether and why a day is not worked, and
//! the working days on from a date.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::{Date, Weekday};

use super::day::{FIRST, LAST, checked, weekday_name, weekday_named};
use super::holiday::observed_on;
use crate::arguments::Fields;
use crate::value::{Record, Refusal};

/// Which days are worked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    weekend: Vec<Weekday>,
    federal_holidays: bool,
    /// Days that are not worked, and why.
    closed: BTreeMap<Date, &'static str>,
    /// Days that are worked whatever else is said.
    worked: BTreeSet<Date>,
}

impl Default for Calendar {
    fn default() -> Calendar {
        Calendar {
            weekend: vec![Weekday::Saturday, Weekday::Sunday],
            federal_holidays: true,
            closed: BTreeMap::new(),
            worked: BTreeSet::new(),
        }
    }
}

impl Calendar {
    /// The calendar that a record describes; without one the default.
    pub fn from_record(argument: &str, record: Option<&Record>) -> Result<Calendar, Refusal> {
        let mut calendar = Calendar::default();
        let Some(record) = record else { return Ok(calendar) };
        let mut fields = Fields::new(argument, record);
        if let Some(names) = fields.optional::<Vec<Arc<str>>>("weekend")? {
            let path = fields.path("weekend");
            calendar.weekend =
                names.iter().map(|name| weekday_named(&path, name)).collect::<Result<_, _>>()?;
            if (0..7).all(|day| {
                let day = Weekday::from_monday_zero_offset(day);
                day.is_ok_and(|day| calendar.weekend.contains(&day))
            }) {
                return Err(Refusal::new(path, "the whole week", "at most six weekdays"));
            }
        }
        if let Some(kept) = fields.optional("federal_holidays")? {
            calendar.federal_holidays = kept;
        }
        for (name, why) in [("weather", "weather day"), ("closed", "closed")] {
            for date in dates(&mut fields, name)? {
                calendar.closed.insert(date, why);
            }
        }
        calendar.worked.extend(dates(&mut fields, "worked")?);
        fields.finish()?;
        Ok(calendar)
    }

    /// Why nobody works on a date; `None` on a working day.
    #[must_use]
    pub fn why_closed(&self, date: Date) -> Option<String> {
        if self.worked.contains(&date) {
            return None;
        }
        if let Some(why) = self.closed.get(&date) {
            return Some((*why).to_owned());
        }
        if self.federal_holidays
            && let Some(holiday) = observed_on(date)
        {
            let moved = if holiday.date == date { "" } else { " (observed)" };
            return Some(format!("{}{moved}", holiday.name));
        }
        self.weekend.contains(&date.weekday()).then(|| weekday_name(date.weekday()).to_owned())
    }

    #[must_use]
    pub fn is_working_day(&self, date: Date) -> bool {
        self.why_closed(date).is_none()
    }

    /// The first working day on or after a date; `None` beyond 2100.
    #[must_use]
    pub fn on_or_after(&self, date: Date) -> Option<Date> {
        self.first(Some(date), |date| date.tomorrow().ok())
    }

    /// The date itself for 0 days if it is worked, else the first working day after it; else so
    /// many working days after the date, or before it. `None` outside 2000 to 2100.
    #[must_use]
    pub fn add(&self, date: Date, days: i64) -> Option<Date> {
        if days == 0 {
            return self.on_or_after(date);
        }
        let step = |date: Date| {
            if days > 0 { date.tomorrow().ok() } else { date.yesterday().ok() }
        };
        let mut found = date;
        for _ in 0..days.unsigned_abs() {
            found = self.first(step(found), step)?;
        }
        Some(found)
    }

    /// The first working day in a direction.
    fn first(&self, start: Option<Date>, step: impl Fn(Date) -> Option<Date>) -> Option<Date> {
        let mut date = start?;
        while (FIRST..=LAST).contains(&date) {
            if self.is_working_day(date) {
                return Some(date);
            }
            date = step(date)?;
        }
        None
    }

    /// The working days from one date to another, both included.
    pub fn days(&self, from: Date, to: Date) -> impl Iterator<Item = Date> {
        std::iter::successors(Some(from), |date| date.tomorrow().ok())
            .take_while(move |date| *date <= to)
            .filter(|date| self.is_working_day(*date))
    }
}

fn dates(fields: &mut Fields, name: &'static str) -> Result<Vec<Date>, Refusal> {
    let dates: Vec<Date> = fields.optional(name)?.unwrap_or_default();
    let path = fields.path(name);
    dates
        .into_iter()
        .enumerate()
        .map(|(index, date)| checked(&format!("{path}[{index}]"), date))
        .collect()
}
