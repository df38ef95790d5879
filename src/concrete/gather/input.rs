//! Bays and limits out of records.

use std::sync::Arc;

use crate::arguments::Fields;
use crate::length::Length;
use crate::value::{Feet, Inches, Record, Refusal};

/// A bay and its concrete.
#[derive(Clone, Debug, PartialEq)]
pub struct Bay {
    pub level: Arc<str>,
    pub bay: Arc<str>,
    pub mix: Arc<str>,
    /// The Pour cell: empty, a mark, or marks with their shares.
    pub pour: Arc<str>,
    pub yd3: f64,
    pub area_ft2: f64,
    /// Width across the flutes and cover, both or none; without them a bay is never split.
    pub panels_across: Option<(Length, Length)>,
    pub copies: i64,
}

/// What one day may place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    pub yd3_a_day: Option<f64>,
    pub ft2_a_day: Option<f64>,
    pub hours_a_day: Option<f64>,
    pub placing_yd3_h: Option<f64>,
}

impl Bay {
    /// The bay that a record describes.
    pub fn from_record(argument: &str, record: &Record) -> Result<Bay, Refusal> {
        let mut fields = Fields::new(argument, record);
        let from_0 = |limit: f64| move |number: f64| (0.0..=limit).contains(&number);
        let width = fields.optional::<Feet>("width_ft")?;
        let cover = fields.optional::<Inches>("cover_in")?;
        if let Some(bad) = cover.filter(|cover| !cover.0.is_positive()) {
            let path = fields.path("cover_in");
            return Err(Refusal::new(path, bad.0.in_inches(), "a cover above 0 in"));
        }
        Ok(Bay {
            level: fields.required("level", "the mark of a level")?,
            bay: fields.required("bay", "the mark of a bay")?,
            mix: fields.optional("mix")?.unwrap_or_default(),
            pour: fields.optional("pour")?.unwrap_or_default(),
            yd3: fields.number("yd3", None, "a volume from 0 to 1,000,000 yd3", from_0(1e6))?,
            area_ft2: fields.number(
                "area_ft2",
                None,
                "an area from 0 to 100,000,000 ft2",
                from_0(1e8),
            )?,
            panels_across: width.map(|width| width.0).zip(cover.map(|cover| cover.0)),
            copies: fields.count("copies", 1, 1, 10_000)?,
        })
    }
}

impl Limits {
    /// The limits that a record describes.
    pub fn from_record(argument: &str, record: &Record) -> Result<Limits, Refusal> {
        let mut fields = Fields::new(argument, record);
        let mut limit = |name, wanted: &str| match fields.optional::<f64>(name)? {
            Some(_) => fields.number(name, None, wanted, |l| l > 0.0 && l <= 1e8).map(Some),
            None => Ok(None),
        };
        let limits = Limits {
            yd3_a_day: limit("yd3_a_day", "a volume above 0 yd3")?,
            ft2_a_day: limit("ft2_a_day", "an area above 0 ft2")?,
            hours_a_day: limit("hours_a_day", "a time above 0 h")?,
            placing_yd3_h: limit("placing_yd3_h", "a rate above 0 yd3/h")?,
        };
        if limits.hours_a_day.is_some() && limits.placing_yd3_h.is_none() {
            let wanted = "a rate above 0 yd3/h, as hours_a_day is given";
            return Err(Refusal::new(fields.path("placing_yd3_h"), "missing", wanted));
        }
        fields.finish()?;
        Ok(limits)
    }

    /// How much of a day it takes, 1 for a full one.
    #[must_use]
    pub fn use_of_day(&self, yd3: f64, area_ft2: f64) -> f64 {
        let hours = self.placing_yd3_h.map(|rate| yd3 / rate);
        let parts = [
            self.yd3_a_day.map(|limit| yd3 / limit),
            self.ft2_a_day.map(|limit| area_ft2 / limit),
            self.hours_a_day.zip(hours).map(|(limit, hours)| hours / limit),
        ];
        parts.into_iter().flatten().fold(0.0, f64::max)
    }

    #[must_use]
    pub fn fits(&self, yd3: f64, area_ft2: f64) -> bool {
        self.use_of_day(yd3, area_ft2) <= 1.0 + 1e-9
    }

    /// `120 yd3, 10000 ft2 a day`.
    pub(super) fn text(&self) -> String {
        let parts = [
            self.yd3_a_day.map(|limit| format!("{limit} yd3")),
            self.ft2_a_day.map(|limit| format!("{limit} ft2")),
            self.hours_a_day.map(|limit| format!("{limit} h of placing")),
        ];
        format!("{} a day", parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
    }
}
