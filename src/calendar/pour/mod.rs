//! Dates of pours.
//!
//! In: pours with what each waits for, and the settings of the job: calendar, crews, pumps, the
//! day's limits, laying rate, gaps. Out: a date a pour, what it waited for, and what a change moved.
//!
//! Every pour takes one working day and one crew. A pour is placed on the first day that all it
//! waits for allows; pours are taken in level and bay order, and in another order only where that
//! ends the job sooner. No date is given for stripping shores or loading a slab: that is at the
//! strength the engineer states, on the engineer's release.

mod input;
mod laying;
mod moved;
mod order;
mod place;
mod row;
mod search;

pub use input::{Pour, Settings};
pub use moved::{Dated, Move, moves};

use std::sync::Arc;

use jiff::civil::Date;

use crate::builtin::Builtin;
use crate::value::{Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[
    builtin!(schedule_pours(pours, settings)),
    builtin!(moved_pours(before, after)),
    builtin!(pour_days(pours, calendar)),
];

/// A pour with its date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scheduled {
    pub mark: String,
    pub date: Date,
    /// Which of the day's crews, from 1.
    pub crew: i64,
    /// The day on which the last of its deck is laid, where that is known.
    pub laid: Option<Date>,
    /// The first working day that start, deck and earliest date allow.
    pub ready: Date,
    /// What set the date.
    pub why: String,
    pub notes: Vec<String>,
}

/// Dates of pours such that the job ends as early as a list schedule finds: each pour on the first
/// working day on which its deck is laid, what it waits for is placed, the gaps to its neighbours
/// are kept and a crew, a pump and the day's limits allow it.
///
/// - pours: list of records with pour (mark), level (text), level_order (whole number; blank: by
///   first mention), order (whole number: its place among the pours of its level, kept where after
///   asks for no other; blank: any), bays (list of marks or of records with bay, at least one), yd3,
///   area_ft2 and deck_ft2 (0 or more; deck_ft2 is area_ft2 by default), placing_h, pumps (1 by default),
///   earliest, on_site and released (dates), after and neighbours (lists of marks); other fields
///   are carried along
/// - settings: record with start (date, the first day for pouring), calendar (record as in
///   `is_working_day`), crews (1), pumps (1), yd3_a_day, ft2_a_day, hours_a_day (blank: no limit),
///   laying_ft2_a_day (blank: laid as soon as on site), after_laying_days (working days from laid
///   to poured, 1), lead_days (calendar days from released to on site), neighbour_gap_days
///   (calendar days, 0), level_gap_days (calendar days after the last pour of the level below;
///   blank: levels do not wait)
///
/// Gives: list of the records in order of date, each with date, crew (from 1), laid and ready
/// (dates), why (text) and notes (list of text) added.
/// Source: definition; a list schedule improved by search, exact up to 6 pours.
/// Example: `calendar::iso(calendar::schedule_pours([#{pour: "P1", level: "2", bays: ["1"]}], #{start: calendar::date("2026-07-03")})[0].date)` = "2026-07-06"
pub fn schedule_pours(
    pours: Vec<Arc<Record>>,
    settings: Arc<Record>,
) -> Result<Vec<Record>, Refusal> {
    let settings = Settings::from_record("settings", &settings)?;
    let plain = Pour::list("pours", &pours)?;
    let dates = schedule(&plain, &settings)?;
    let mut rows: Vec<(&Scheduled, &Arc<Record>)> = dates.iter().zip(&pours).collect();
    rows.sort_by_key(|(scheduled, _)| (scheduled.date, scheduled.crew));
    Ok(rows.into_iter().map(|(scheduled, pour)| scheduled.onto(pour)).collect())
}

/// [`schedule_pours`] of plain values: the dates in the order of the pours.
pub fn schedule(pours: &[Pour], settings: &Settings) -> Result<Vec<Scheduled>, Refusal> {
    settings.check()?;
    order::check(pours)?;
    let order = order::in_level_and_bay_order(pours);
    let links = order::links(pours, &order, settings)?;
    let laid = laying::laid(pours, &order, settings)?;
    let job = place::Job::new(pours, settings, links, &laid)?;
    search::best(&job, &order)?.into_scheduled(&job, &order, &laid)
}

/// What moved from one schedule of the same pours to another, and why.
///
/// - before: list of records with pour, date and why, as `schedule_pours` gives it
/// - after: the same after a change
///
/// Gives: list of records with pour, from and to (dates, blank where it is new or dropped), days
/// (calendar days later, negative for earlier) and text, in the order of after.
/// Source: definition.
/// Example: `calendar::moved_pours([#{pour: "P1", date: calendar::date("2026-03-02")}], [#{pour: "P1", date: calendar::date("2026-03-04")}])[0].days` = 2
pub fn moved_pours(
    before: Vec<Arc<Record>>,
    after: Vec<Arc<Record>>,
) -> Result<Vec<Move>, Refusal> {
    Ok(moves(&moved::dated("before", &before)?, &moved::dated("after", &after)?))
}

/// One row a day from the first pour to the last, closed days included.
///
/// - pours: list of records with pour and date, as `schedule_pours` gives it, and yd3 and trucks
///   where they are to be added up
/// - calendar: record as in `is_working_day`
///
/// Gives: list of records with date, weekday, closed (why, blank on a working day), pours (text),
/// crews (count), yd3 and trucks.
/// Source: definition.
/// Example: `calendar::pour_days([#{pour: "P1", date: calendar::date("2026-07-02")}, #{pour: "P2", date: calendar::date("2026-07-06")}], #{}).len()` = 5
pub fn pour_days(
    pours: Vec<Arc<Record>>,
    calendar: Option<Arc<Record>>,
) -> Result<Vec<Record>, Refusal> {
    row::days(&pours, calendar.as_deref())
}

impl Scheduled {
    /// The pour's own record with the schedule's fields added.
    fn onto(&self, pour: &Record) -> Record {
        let mut record = pour.clone();
        let notes = self.notes.iter().map(Value::text);
        let carried = match record.get("notes") {
            Some(Value::List(carried)) => carried.to_vec(),
            _ => Vec::new(),
        };
        for (name, value) in [
            ("date", Value::Date(self.date)),
            ("crew", Value::Count(self.crew)),
            ("laid", self.laid.map_or(Value::Blank, Value::Date)),
            ("ready", Value::Date(self.ready)),
            ("why", Value::text(&self.why)),
            ("notes", Value::List(carried.into_iter().chain(notes).collect())),
        ] {
            record.insert(name.into(), value);
        }
        record
    }
}
