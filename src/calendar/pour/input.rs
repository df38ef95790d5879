//! Pours and settings out of records.

use std::sync::Arc;

use indexmap::IndexMap;
use jiff::civil::Date;

use super::super::day::checked;
use super::super::shop::Calendar;
use crate::arguments::{Fields, nearest};
use crate::value::{FromValue, Record, Refusal, Value};

/// A pour and what it waits for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pour {
    pub mark: String,
    pub level: String,
    /// Lower levels have lower numbers.
    pub level_order: i64,
    /// Its place among the pours of its level: it is placed no earlier than those before it.
    pub order: Option<i64>,
    /// The marks of its bays; the first breaks ties.
    pub bays: Vec<String>,
    pub yd3: f64,
    pub area_ft2: f64,
    /// Deck to be laid before it.
    pub deck_ft2: f64,
    pub placing_h: Option<f64>,
    pub pumps: i64,
    pub earliest: Option<Date>,
    /// When its deck is on site.
    pub on_site: Option<Date>,
    /// When its deck is released; on site after the lead time.
    pub released: Option<Date>,
    /// Places in the list of the pours that must be placed on an earlier day.
    pub after: Vec<usize>,
    /// Places in the list of the pours beside it.
    pub neighbours: Vec<usize>,
}

/// What holds for all pours of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    pub start: Date,
    pub calendar: Calendar,
    pub crews: i64,
    pub pumps: i64,
    pub yd3_a_day: Option<f64>,
    pub ft2_a_day: Option<f64>,
    pub hours_a_day: Option<f64>,
    pub laying_ft2_a_day: Option<f64>,
    pub after_laying_days: i64,
    pub lead_days: Option<i64>,
    pub neighbour_gap_days: i64,
    pub level_gap_days: Option<i64>,
}

impl Settings {
    /// Settings that ask for nothing but a start.
    #[must_use]
    pub fn starting(start: Date) -> Settings {
        Settings {
            start,
            calendar: Calendar::default(),
            crews: 1,
            pumps: 1,
            yd3_a_day: None,
            ft2_a_day: None,
            hours_a_day: None,
            laying_ft2_a_day: None,
            after_laying_days: 1,
            lead_days: None,
            neighbour_gap_days: 0,
            level_gap_days: None,
        }
    }

    /// Refuses counts that no job has.
    pub(super) fn check(&self) -> Result<(), Refusal> {
        checked("settings.start", self.start)?;
        for (name, count, least, most) in [
            ("crews", Some(self.crews), 1, 1_000),
            ("pumps", Some(self.pumps), 1, 1_000),
            ("after_laying_days", Some(self.after_laying_days), 0, 365),
            ("neighbour_gap_days", Some(self.neighbour_gap_days), 0, 365),
            ("lead_days", self.lead_days, 0, 3_650),
            ("level_gap_days", self.level_gap_days, 0, 3_650),
        ] {
            if let Some(count) = count.filter(|count| !(least..=most).contains(count)) {
                let wanted = format!("a whole number from {least} to {most}");
                return Err(Refusal::new(format!("settings.{name}"), count, wanted));
            }
        }
        Ok(())
    }

    /// The settings that a record describes.
    pub fn from_record(argument: &str, record: &Record) -> Result<Settings, Refusal> {
        let mut fields = Fields::new(argument, record);
        let start: Date = fields.required("start", "the first day for pouring, a date")?;
        let start = checked(&fields.path("start"), start)?;
        let calendar = fields.optional::<Arc<Record>>("calendar")?;
        let mut limit = |name, wanted: &str| match fields.optional::<f64>(name)? {
            Some(_) => fields.number(name, None, wanted, |l| l > 0.0 && l <= 1e8).map(Some),
            None => Ok(None),
        };
        let yd3_a_day = limit("yd3_a_day", "a volume above 0 yd3")?;
        let ft2_a_day = limit("ft2_a_day", "an area above 0 ft2")?;
        let hours_a_day = limit("hours_a_day", "a time above 0 h")?;
        let laying_ft2_a_day = limit("laying_ft2_a_day", "a laying rate above 0 ft2 a day")?;
        let settings = Settings {
            start,
            calendar: Calendar::from_record(&fields.path("calendar"), calendar.as_deref())?,
            crews: fields.optional("crews")?.unwrap_or(1),
            pumps: fields.optional("pumps")?.unwrap_or(1),
            yd3_a_day,
            ft2_a_day,
            hours_a_day,
            laying_ft2_a_day,
            after_laying_days: fields.optional("after_laying_days")?.unwrap_or(1),
            lead_days: fields.optional("lead_days")?,
            neighbour_gap_days: fields.optional("neighbour_gap_days")?.unwrap_or(0),
            level_gap_days: fields.optional("level_gap_days")?,
        };
        fields.finish()?;
        Ok(settings)
    }
}

/// A list of marks.
type Marks = Vec<Arc<str>>;

impl Pour {
    /// The pours that records describe; marks become places in the list.
    pub fn list(argument: &str, records: &[Arc<Record>]) -> Result<Vec<Pour>, Refusal> {
        let mut levels: IndexMap<String, i64> = IndexMap::new();
        let mut places: IndexMap<String, usize> = IndexMap::new();
        let mut read = Vec::with_capacity(records.len());
        for (at, record) in records.iter().enumerate() {
            let argument = format!("{argument}[{at}]");
            let (mut pour, level_order, marks) = Pour::from_record(&argument, record)?;
            let next = i64::try_from(levels.len()).unwrap_or(i64::MAX);
            let first_mention = *levels.entry(pour.level.clone()).or_insert(next);
            pour.level_order = level_order.unwrap_or(first_mention);
            if places.insert(pour.mark.clone(), at).is_some() {
                let found = format!("{:?} for the second time", pour.mark);
                return Err(Refusal::new(format!("{argument}.pour"), found, "a mark of its own"));
            }
            read.push((argument, pour, marks));
        }
        let mut pours = Vec::with_capacity(read.len());
        for (argument, mut pour, [after, neighbours]) in read {
            let place = |field: &str, mark: &Arc<str>| {
                places.get(&**mark).copied().ok_or_else(|| {
                    let near = nearest(mark, places.keys().map(String::as_str));
                    let near = near.map(|near| format!(" (perhaps {near:?})")).unwrap_or_default();
                    let wanted = format!("the mark of a pour of the list{near}");
                    Refusal::new(format!("{argument}.{field}"), format!("{mark:?}"), wanted)
                })
            };
            pour.after = after.iter().map(|mark| place("after", mark)).collect::<Result<_, _>>()?;
            pour.neighbours = neighbours
                .iter()
                .map(|mark| place("neighbours", mark))
                .collect::<Result<_, _>>()?;
            pours.push(pour);
        }
        Ok(pours)
    }

    /// A pour, its typed level order, and the marks of what it waits for and of its neighbours.
    fn from_record(
        argument: &str,
        record: &Record,
    ) -> Result<(Pour, Option<i64>, [Marks; 2]), Refusal> {
        let mut fields = Fields::new(argument, record);
        let date = |fields: &mut Fields, name| match fields.optional::<Date>(name)? {
            Some(date) => checked(&fields.path(name), date).map(Some),
            None => Ok(None),
        };
        let from_0 = |number: f64| (0.0..=1e8).contains(&number);
        let bays: Vec<Value> = fields.optional("bays")?.unwrap_or_default();
        if bays.is_empty() {
            return Err(Refusal::new(fields.path("bays"), "empty", "at least one bay"));
        }
        let path = fields.path("bays");
        let bays = bays
            .iter()
            .enumerate()
            .map(|(at, bay)| bay_mark(&format!("{path}[{at}]"), bay))
            .collect::<Result<_, _>>()?;
        let area = "an area from 0 to 100,000,000 ft2";
        let area_ft2 = fields.number("area_ft2", Some(0.0), area, from_0)?;
        let hours = "a time from 0 to 1,000 h";
        let placing_h = match fields.optional::<f64>("placing_h")? {
            Some(_) => {
                Some(fields.number("placing_h", None, hours, |h| (0.0..=1_000.0).contains(&h))?)
            }
            None => None,
        };
        let level_order = fields.optional_count("level_order", -1_000_000, 1_000_000)?;
        let order = fields.optional_count("order", 0, 1_000_000)?;
        let pour = Pour {
            mark: fields.required("pour", "the mark of a pour")?,
            level: fields.required("level", "the mark of a level")?,
            level_order: 0,
            order,
            bays,
            yd3: fields.number("yd3", Some(0.0), "a volume of 0 yd3 or more", from_0)?,
            area_ft2,
            deck_ft2: fields.number("deck_ft2", Some(area_ft2), area, from_0)?,
            placing_h,
            pumps: fields.count("pumps", 1, 1, 1_000)?,
            earliest: date(&mut fields, "earliest")?,
            on_site: date(&mut fields, "on_site")?,
            released: date(&mut fields, "released")?,
            after: Vec::new(),
            neighbours: Vec::new(),
        };
        let after: Option<Marks> = fields.optional("after")?;
        let neighbours: Option<Marks> = fields.optional("neighbours")?;
        Ok((pour, level_order, [after.unwrap_or_default(), neighbours.unwrap_or_default()]))
    }
}

/// The mark of a bay given as text or as a record with a field `bay`.
fn bay_mark(argument: &str, bay: &Value) -> Result<String, Refusal> {
    match bay {
        Value::Record(record) => Fields::new(argument, record).required("bay", "the mark of a bay"),
        Value::Count(_) | Value::Number(_) => Ok(bay.to_string()),
        other => String::from_value(argument, other),
    }
}
