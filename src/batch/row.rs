//! What is said of one schedule of a batch.

use serde::{Deserialize, Serialize};

use crate::finding::{Finding, Place, Severity};
use crate::table::Report;
use crate::value::{FromValue, Value};

/// How a schedule ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Its output is written.
    Done,
    /// Its output is written and marked incomplete.
    Incomplete,
    /// Nothing is written.
    Failed,
}

impl Status {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Status::Done => "done",
            Status::Incomplete => "incomplete",
            Status::Failed => "failed",
        }
    }
}

/// A worker's answer for one schedule. A figure is `None` where it could not be computed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reply {
    pub status: Status,
    pub bays: Option<i64>,
    pub panels: Option<i64>,
    pub deck_lb: Option<f64>,
    pub order_yd3: Option<f64>,
    /// Its order forms, by their names in the folder of outputs.
    pub forms: Vec<String>,
    pub errors: usize,
    pub warnings: usize,
    pub notes: usize,
    /// The first error, in one line.
    pub message: Option<String>,
    /// The SHA-256 of the schedule's bytes as they were read.
    pub schedule_sha256: Option<String>,
}

/// A schedule's row in the summary.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Its place in the whole list, from 1, whatever the shard.
    pub number: usize,
    /// As the command line or the folder named it.
    pub file: String,
    /// The output's name in the folder of outputs.
    pub output: String,
    #[serde(flatten)]
    pub reply: Reply,
}

impl Reply {
    /// The answer for a schedule whose output is written.
    #[must_use]
    pub fn written(report: &Report) -> Reply {
        let total = |table: &str, column: &str| {
            let table = report.table(table)?;
            table.total(table.column(column)?)
        };
        // The base bid's, as the Summary has them: rows on hold and of alternates stand apart.
        let figures = report.figures();
        let figure = |name: &str, unit: &str| {
            let is = |[figure, _, of]: &&[Value; 3]| {
                figure.as_text() == Some(name) && of.as_text() == Some(unit)
            };
            figures.iter().find(is)?[1].as_number()
        };
        let status = if report.is_incomplete() { Status::Incomplete } else { Status::Done };
        Reply {
            bays: figure("Bays", "count").or_else(|| total("takeoff", "copies")).and_then(whole),
            panels: figure("Panels", "count")
                .or_else(|| total("takeoff", "panels"))
                .and_then(whole),
            deck_lb: figure("Deck weight", "lb").or_else(|| total("takeoff", "deck_lb")),
            order_yd3: total("pours", "order_yd3"),
            schedule_sha256: Some(report.schedule_hash.clone()),
            ..Reply::found(status, &report.findings)
        }
    }

    /// The answer for a schedule whose output is written and whose forms are not, and why.
    #[must_use]
    pub fn without_forms(report: &mut Report, findings: Vec<Finding>) -> Reply {
        let why = findings.first().map(in_one_line).unwrap_or_default();
        report.findings.extend(findings);
        let mut reply = Reply::written(report);
        if let Some(first) = reply.message.as_mut().filter(|first| **first != why) {
            *first = format!("{first}; no order forms: {why}");
        }
        reply
    }

    /// The answer for a schedule that gave nothing but findings.
    #[must_use]
    pub fn failed(findings: &[Finding]) -> Reply {
        Reply::found(Status::Failed, findings)
    }

    /// The answer for a schedule that ended its worker.
    #[must_use]
    pub fn died(why: &str) -> Reply {
        let finding = Finding::error("ended", format!("computing it ended the process: {why}"));
        Reply::failed(&[finding])
    }

    fn found(status: Status, findings: &[Finding]) -> Reply {
        let count =
            |severity| findings.iter().filter(|finding| finding.severity == severity).count();
        let first = findings.iter().find(|finding| finding.severity == Severity::Error);
        Reply {
            status,
            bays: None,
            panels: None,
            deck_lb: None,
            order_yd3: None,
            forms: Vec::new(),
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            notes: count(Severity::Note),
            message: first.map(in_one_line),
            schedule_sha256: None,
        }
    }
}

fn whole(number: f64) -> Option<i64> {
    i64::from_value("", &Value::Number(number)).ok()
}

/// Place, code and message, without excerpt and hints; the place only where it is not the file.
fn in_one_line(finding: &Finding) -> String {
    let text = match finding.places.first() {
        Some(Place::File(_)) => Finding { places: Vec::new(), ..finding.clone() }.to_string(),
        _ => finding.to_string(),
    };
    text.lines().next().unwrap_or_default().to_owned()
}
