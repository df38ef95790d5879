//! The summary of a batch: as JSON, as a report to be written as a workbook, merged from parts.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use serde_json::{Value as Json, json};

use super::row::{Row, Status};
use super::shard::Shard;
use crate::cells::Cells;
use crate::finding::{Finding, Place};
use crate::table::{Column, Report, Table};
use crate::value::Value;

const STEM: &str = "batch-summary";

/// The rows of a batch, or of a part of one.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    pub shard: Option<Shard>,
    /// By number.
    pub rows: Vec<Row>,
    /// Schedules that an interrupt left undone.
    pub left: usize,
}

/// What is read back of a summary's JSON.
#[derive(Deserialize)]
struct Written {
    files: Vec<Row>,
    left: usize,
}

#[derive(Serialize)]
struct Totals {
    files: usize,
    done: usize,
    incomplete: usize,
    failed: usize,
    bays: i64,
    panels: i64,
    deck_lb: f64,
    order_yd3: f64,
    forms: usize,
    errors: usize,
    warnings: usize,
    notes: usize,
}

/// `batch-summary-2-of-10.json`.
fn file_name(shard: Option<Shard>, ending: &str) -> String {
    let part = shard.map(|shard| format!("-{shard}")).unwrap_or_default();
    format!("{STEM}{part}.{ending}")
}

impl Summary {
    #[must_use]
    pub fn new(shard: Option<Shard>, mut rows: Vec<Row>, left: usize) -> Summary {
        rows.sort_by_key(|row| row.number);
        Summary { shard, rows, left }
    }

    /// The names of its JSON and its workbook.
    #[must_use]
    pub fn names(&self) -> [String; 2] {
        [file_name(self.shard, "json"), file_name(self.shard, "xlsx")]
    }

    #[must_use]
    pub fn count(&self, status: Status) -> usize {
        self.rows.iter().filter(|row| row.reply.status == status).count()
    }

    fn totals(&self) -> Totals {
        let sum = |figure: fn(&Row) -> Option<f64>| {
            self.rows.iter().filter_map(figure).fold(0.0, |a, b| a + b)
        };
        let count = |count: fn(&Row) -> usize| self.rows.iter().map(count).sum();
        let whole = |figure: fn(&Row) -> Option<i64>| {
            self.rows.iter().filter_map(figure).fold(0_i64, i64::saturating_add)
        };
        Totals {
            files: self.rows.len(),
            done: self.count(Status::Done),
            incomplete: self.count(Status::Incomplete),
            failed: self.count(Status::Failed),
            bays: whole(|row| row.reply.bays),
            panels: whole(|row| row.reply.panels),
            deck_lb: sum(|row| row.reply.deck_lb),
            order_yd3: sum(|row| row.reply.order_yd3),
            forms: count(|row| row.reply.forms.len()),
            errors: count(|row| row.reply.errors),
            warnings: count(|row| row.reply.warnings),
            notes: count(|row| row.reply.notes),
        }
    }

    /// The summary as JSON.
    #[must_use]
    pub fn json(&self) -> Json {
        json!({
            "files": self.rows,
            "totals": self.totals(),
            "left": self.left,
        })
    }

    /// What in it wants reading: failed and incomplete schedules, those left.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self
            .rows
            .iter()
            .filter(|row| row.reply.status != Status::Done)
            .map(|row| {
                let word = row.reply.status.word();
                let why = row.reply.message.as_deref().unwrap_or("no reason was given");
                Finding::error(format!("schedule-{word}"), format!("{word}: {why}"))
                    .at(Place::File(Arc::from(&*row.file)))
            })
            .collect();
        if self.left > 0 {
            let plural = if self.left == 1 { " was" } else { "s were" };
            findings.push(
                Finding::error(
                    "interrupted",
                    format!("{} schedule{plural} left undone", self.left),
                )
                .hint("run the same again with `--changed`: it goes on from here"),
            );
        }
        findings
    }

    /// The summary as a report of two tables: the totals, the schedules.
    #[must_use]
    pub fn report(&self) -> Report {
        Report {
            schedule: match self.shard {
                None => "a batch of schedules".to_owned(),
                Some(shard) => format!("part {shard} of a batch of schedules"),
            },
            tables: vec![Arc::new(self.totals_table()), Arc::new(self.files_table())],
            findings: self.findings(),
            ..Report::default()
        }
    }

    fn totals_table(&self) -> Table {
        let totals = self.totals();
        let count = |count: usize| Value::Count(i64::try_from(count).unwrap_or(i64::MAX));
        let lines = [
            ("Schedules", count(totals.files), "count"),
            ("Done", count(totals.done), "count"),
            ("Incomplete", count(totals.incomplete), "count"),
            ("Failed", count(totals.failed), "count"),
            ("Left undone", count(self.left), "count"),
            ("Bays", Value::Count(totals.bays), "count"),
            ("Panels", Value::Count(totals.panels), "count"),
            ("Deck weight", Value::Number(totals.deck_lb), "lb"),
            ("Concrete to order", Value::Number(totals.order_yd3), "yd3"),
            ("Order forms", count(totals.forms), "count"),
        ];
        let columns = vec![
            column("figure", "Figure", "text"),
            column("value", "Value", ""),
            column("unit", "Unit", "text"),
        ];
        let rows = lines.len();
        let cells = lines
            .into_iter()
            .flat_map(|(figure, value, unit)| [Value::text(figure), value, Value::text(unit)]);
        Table {
            key: Arc::from("summary"),
            title: Arc::from("All schedules"),
            cells: Cells::of(columns.len(), cells),
            columns,
            rows,
        }
    }

    fn files_table(&self) -> Table {
        let total = |column: Column| Column { total: true, ..column };
        let columns = vec![
            column("number", "Number", "count"),
            column("file", "Schedule", "text"),
            column("status", "Status", "text"),
            total(column("bays", "Bays", "count")),
            total(column("panels", "Panels", "count")),
            total(column("deck_lb", "Deck weight", "lb")),
            total(column("order_yd3", "Concrete to order", "yd3")),
            total(column("forms", "Order forms", "count")),
            total(column("errors", "Errors", "count")),
            total(column("warnings", "Warnings", "count")),
            total(column("notes", "Notes", "count")),
            column("output", "Takeoff", "text"),
            column("message", "First error", "text"),
        ];
        let count = |count: usize| Value::Count(i64::try_from(count).unwrap_or(i64::MAX));
        let figure = |figure: Option<f64>| figure.map_or(Value::Blank, Value::Number);
        let whole = |figure: Option<i64>| figure.map_or(Value::Blank, Value::Count);
        let cells = self.rows.iter().flat_map(|row| {
            let reply = &row.reply;
            let is_written = reply.status != Status::Failed;
            [
                count(row.number),
                Value::text(&row.file),
                Value::text(reply.status.word()),
                whole(reply.bays),
                whole(reply.panels),
                figure(reply.deck_lb),
                figure(reply.order_yd3),
                count(reply.forms.len()),
                count(reply.errors),
                count(reply.warnings),
                count(reply.notes),
                if is_written { Value::text(&row.output) } else { Value::Blank },
                reply.message.as_deref().map_or(Value::Blank, Value::text),
            ]
        });
        let rows = self.rows.len();
        Table {
            key: Arc::from("schedules"),
            title: Arc::from("Schedules"),
            cells: Cells::of(columns.len(), cells),
            columns,
            rows,
        }
    }
}

fn column(key: &str, heading: &str, unit: &str) -> Column {
    Column::made(key, heading, unit, "batch")
}

/// The summaries of all parts in a folder as one. Refused: none there, parts missing, parts of
/// several divisions.
pub fn merged(folder: &Path) -> Result<Summary, Finding> {
    const NAMED: usize = 12;
    let refused = |message: String| {
        let place = Place::File(Arc::from(folder.display().to_string()));
        Err(Finding::error("not-merged", message).at(place))
    };
    let mut parts: Vec<(Shard, Written)> = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let is_summary =
            stem.starts_with(STEM) && path.extension().is_some_and(|ending| ending == "json");
        let Some(shard) = is_summary.then(|| Shard::of_name(&stem)).flatten() else { continue };
        let text = fs::read(&path).unwrap_or_default();
        match serde_json::from_slice(&text) {
            Ok(written) => parts.push((shard, written)),
            Err(error) => return refused(format!("`{}` can not be read: {error}", path.display())),
        }
    }
    parts.sort_by_key(|(shard, _)| *shard);
    let Some((first, _)) = parts.first() else {
        return refused("there are no summaries of parts".to_owned());
    };
    let of = first.of();
    if parts.iter().any(|(shard, _)| shard.of() != of) {
        return refused("there are summaries of several divisions into parts".to_owned());
    }
    // The parts are sorted: the first that are not at their places are missing.
    let mut missing = (1..=of)
        .filter_map(|part| Shard::new(part, of))
        .filter(|wanted| parts.binary_search_by_key(wanted, |(shard, _)| *shard).is_err())
        .map(|shard| shard.to_string());
    let named: Vec<String> = missing.by_ref().take(NAMED).collect();
    if !named.is_empty() {
        let more = if missing.next().is_some() { " and more" } else { "" };
        let named = named.join(", ");
        return refused(format!("the summaries of these parts are missing: {named}{more}"));
    }
    let left = parts.iter().map(|(_, written)| written.left).sum();
    let rows = parts.into_iter().flat_map(|(_, written)| written.files).collect();
    Ok(Summary::new(None, rows, left))
}
