//! Plans of a job: what is drawn of each level, from the job and its finished tables.
//!
//! In: the job, and the report with its takeoff, panels and concrete tables. Out: a [`LevelPlan`]
//! for each level with bays, in the order of the levels. Counts and marks are those of the tables:
//! where the layout that lies behind them does not give the same, the panels are listed instead of
//! drawn.

mod bay;
mod lay;
mod tables;

use std::sync::Arc;

use indexmap::IndexMap;

use crate::drawing::{self, Level};
use crate::job::{Bay, Job, Status};
use crate::length::{Length, Unit};
use crate::picture::Picture;
use crate::table::{LevelPlan, Report};
use crate::value::{Record, Value};
use tables::Tables;

/// Levels beyond these are not drawn.
pub const MOST_LEVELS: usize = 200;

/// Whether any bay of the job says where it lies on plan.
#[must_use]
pub fn has_places(job: &Job) -> bool {
    let placed = |bay: &Bay| bay.rest.get("x_ft").is_some_and(|x| !x.is_blank());
    job.bays.iter().any(placed) || !job.sheet("outlines").is_empty()
}

/// The plans of a job's levels.
#[must_use]
pub fn of(job: &Job, report: &Report) -> Vec<LevelPlan> {
    let tables = Tables::of(report);
    let mut levels: IndexMap<&str, Vec<&Bay>> = IndexMap::new();
    for entry in job.sheet("levels") {
        if let Some(level) = entry.fields.get("level").and_then(Value::as_text) {
            levels.entry(level).or_default();
        }
    }
    for bay in job.bays.iter().filter(|bay| bay.status != Status::Void) {
        levels.entry(&bay.level).or_default().push(bay);
    }
    levels.retain(|_, bays| !bays.is_empty());
    let mut drawn: Vec<(Level, Arc<Picture>)> = Vec::new();
    let mut plans = Vec::with_capacity(levels.len().min(MOST_LEVELS));
    for (name, bays) in levels.into_iter().take(MOST_LEVELS) {
        let level = level(job, &tables, name, &bays);
        // Levels alike are drawn once.
        let known = drawn.iter().find(|(other, _)| *other == level);
        let picture = known.map(|(_, picture)| picture.clone());
        let picture = picture.unwrap_or_else(|| {
            let picture = Arc::new(drawing::draw(&level));
            drawn.push((level, picture.clone()));
            picture
        });
        plans.push(LevelPlan { level: Arc::from(name), picture });
    }
    plans
}

fn level(job: &Job, tables: &Tables, name: &str, bays: &[&Bay]) -> Level {
    let mut level = Level { edges: edges(job, name), ..Level::default() };
    level.bays = bays.iter().map(|bay| bay::drawn(job, tables, bay)).collect();
    bay::keep_apart(bays, &mut level.bays);
    if bays.iter().any(|bay| bay.runs.is_none()) {
        level.notes.push(
            "Where the schedule does not say how flutes run, they are drawn east to west.".into(),
        );
    }
    let copies = bays.iter().filter(|bay| bay.copies > 1).count();
    if copies > 0 {
        level.notes.push("Copies are drawn once; counts are those of one copy.".into());
    }
    level.notes.extend(apart(tables, bays));
    level
}

/// Which bays are drawn but not in the base bid, a line for each reason.
fn apart(tables: &Tables, bays: &[&Bay]) -> Vec<String> {
    const MOST: usize = 12;
    let mut marks: IndexMap<&str, Vec<&str>> = IndexMap::new();
    for bay in bays {
        if let Some(why) = tables.apart(bay) {
            marks.entry(why).or_default().push(&bay.mark);
        }
    }
    let line = |(why, marks): (&str, Vec<&str>)| {
        let shown = marks.iter().take(MOST).copied().collect::<Vec<&str>>().join(", ");
        let more = match marks.len().saturating_sub(MOST) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        format!("Not in the base bid's order, {why}: {shown}{more}.")
    };
    marks.into_iter().map(line).collect()
}

/// The level's rows of the Edges sheet in words.
fn edges(job: &Job, level: &str) -> Vec<String> {
    let own = job.sheet("edges").iter().filter(|edge| text(&edge.fields, "level") == Some(level));
    own.map(|edge| {
        let fields = &edge.fields;
        let mut words = vec![text(fields, "item").unwrap_or("slab edge").to_owned()];
        if let Some(gauge) = fields.get("gauge").filter(|gauge| !gauge.is_blank()) {
            words.push(format!("{} ga", shown(gauge)));
        }
        if let Some(inches) = length(fields, "overhang_in", Unit::Inch) {
            words.push(format!("overhang {}", inches.as_inches_text()));
        }
        words.extend(
            ["runs", "supplied_by"].iter().filter_map(|key| text(fields, key)).map(str::to_owned),
        );
        let words = words.join(", ");
        match length(fields, "length_ft", Unit::Foot) {
            Some(length) => format!("{words}: {length}"),
            None => words,
        }
    })
    .collect()
}

fn text<'a>(fields: &'a Record, key: &str) -> Option<&'a str> {
    fields.get(key).and_then(Value::as_text).filter(|text| !text.is_empty())
}

fn length(fields: &Record, key: &str, unit: Unit) -> Option<Length> {
    Length::from_number(fields.get(key).and_then(Value::as_number)?, unit)
}

/// A value as a reader expects it: text without quotes.
fn shown(value: &Value) -> String {
    value.as_text().map_or_else(|| value.to_string(), str::to_owned)
}
