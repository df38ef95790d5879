//! `explain`: how a figure came about, down to the cells of the schedule and the lines of rules.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::load::{self, Loaded};
use super::say::Say;
use super::{Common, End};
use crate::finding::{Finding, Place};
use crate::rules::{self, Explained, Question};
use crate::schedule::{self, Address};
use crate::value::Value;

/// Tells how a figure came about: each column and rule with its value and line, each built-in with
/// what it was given and gave, down to the cells of the schedule.
#[derive(Args)]
pub struct Explain {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// The table: `takeoff`
    table: String,
    /// The row: its number from 1, or what it is about, as `2/A1`
    row: String,
    /// The column: `deck_lb`
    column: String,
    /// How many rows of a sum are told
    #[arg(long, value_name = "N", default_value_t = 3)]
    rows: usize,
}

impl Explain {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        match self.explained(common) {
            Ok(explained) => {
                if !say.json {
                    let mut lines = Vec::new();
                    tell(&explained, 0, &mut lines);
                    say.always(&lines.join("\n"));
                }
                say.result("explain", &[], || json!({ "explained": explained }));
                End::Done
            }
            Err(findings) => {
                say.failed("explain", &findings);
                End::Failed
            }
        }
    }

    fn explained(&self, common: &Common) -> Result<Explained, Vec<Finding>> {
        let Loaded { job, scripts, .. } =
            load::schedule(&self.schedule, common).map_err(|unreadable| unreadable.findings)?;
        let question = Question {
            table: self.table.clone(),
            row: self.row.clone(),
            column: self.column.clone(),
            rows: self.rows,
        };
        let mut explained = rules::explain(&job, &scripts, load::bounds(common), &question)?;
        self.add_typed(&mut explained, common)?;
        Ok(explained)
    }

    /// Puts to each cell of the schedule what stands in it.
    fn add_typed(&self, explained: &mut Explained, common: &Common) -> Result<(), Vec<Finding>> {
        let mut cells: Vec<Address> = Vec::new();
        explained.for_each(&mut |step| cells.extend(address(step)));
        cells.sort();
        cells.dedup();
        let texts = schedule::typed(&self.schedule, &load::limits(common), &cells)
            .map_err(|unreadable| unreadable.findings)?;
        explained.for_each(&mut |step| {
            let at = address(step).and_then(|cell| cells.binary_search(&cell).ok());
            step.typed = at.and_then(|at| texts[at].clone());
        });
        Ok(())
    }
}

fn address(step: &Explained) -> Option<Address> {
    match &step.place {
        Some(Place::Cell { sheet, row, column }) => Some((sheet.clone(), *row, *column)),
        _ => None,
    }
}

/// How long a text of a script is shown.
const WIDE: usize = 96;

/// Each step on its line, what it came from indented below.
fn tell(step: &Explained, depth: usize, lines: &mut Vec<String>) {
    let indent = "  ".repeat(depth);
    let unit = match &*step.unit {
        "" | "count" | "text" | "date" | "any" | "record" | "ft-in" => String::new(),
        unit => format!(" {unit}"),
    };
    // A share is kept as a fraction of one and read in hundredths.
    let value = match (&*step.unit, step.value.as_number()) {
        ("%", Some(share)) => rounded(share * 100.0),
        _ => shown(&step.value),
    };
    let mut line = format!("{indent}{} = {value}{unit}", step.name);
    if let Some(place) = &step.place {
        line += &match (&step.typed, place) {
            (Some(typed), _) => format!("  [{place}: {typed}]"),
            (None, Place::Cell { .. }) => format!("  [{place}: blank]"),
            (None, _) => format!("  [{place}]"),
        };
    }
    if !step.note.is_empty() {
        line += &format!("  ({})", step.note);
    }
    lines.push(line);
    if !step.text.is_empty() {
        lines.push(format!("{indent}  : {}", cut(&step.text)));
    }
    for (name, value) in &step.arguments {
        lines.push(format!("{indent}  . {name}: {}", shown(value)));
    }
    for below in &step.below {
        tell(below, depth + 1, lines);
    }
    if step.more > 0 {
        lines.push(format!("{indent}  and {} more; `--rows` tells more of them", step.more));
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::Blank => "blank".to_owned(),
        Value::Number(number) => rounded(*number),
        other => cut(&other.to_string()),
    }
}

/// A number to six significant digits at least, whole ones whole.
fn rounded(number: f64) -> String {
    let text = format!("{number:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "0" || text == "-0" { number.to_string() } else { text.to_owned() }
}

fn cut(text: &str) -> String {
    if text.chars().count() <= WIDE {
        return text.to_owned();
    }
    let start: String = text.chars().take(WIDE).collect();
    format!("{start}…")
}
