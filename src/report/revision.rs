//! What a revision adds, removes and changes: as lines of text, as JSON, as a report of its own.

use std::sync::Arc;

use serde_json::{Map, Value as Json, json};

use super::difference::{Change, Difference, Line, What};
use super::figure::{shown, signed, unit_name};
use crate::cells::Cells;
use crate::finding::Finding;
use crate::table::{Column, Report, Table};
use crate::value::Value;

/// The differences of two schedules or outputs.
#[derive(Clone, Debug)]
pub struct Revision {
    /// The file names.
    pub old: String,
    pub new: String,
    pub differences: Vec<Difference>,
}

const WHATS: [What; 3] = [What::Added, What::Removed, What::Changed];

/// The differences as lines for the terminal.
#[must_use]
pub fn lines(revision: &Revision) -> Vec<String> {
    revision.differences.iter().flat_map(difference_lines).collect()
}

fn difference_lines(difference: &Difference) -> Vec<String> {
    let mut lines = vec![format!("{}: {}", difference.title, counts(difference))];
    for line in &difference.lines {
        lines.push(format!("  {} {}", line.what.sign(), line_text(difference, line)));
    }
    let totals: Vec<String> = difference
        .figures
        .iter()
        .zip(&difference.totals)
        .map(|(column, change)| change_text(column, change))
        .collect();
    if !totals.is_empty() {
        lines.push(format!("  total {}", totals.join(", ")));
    }
    lines
}

/// `2 added, 1 removed, 3 changed, 14 the same`, without those that are none.
fn counts(difference: &Difference) -> String {
    let mut parts: Vec<String> = WHATS
        .iter()
        .map(|&what| (difference.count(what), what.word()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    if parts.is_empty() {
        parts.push("nothing changed".to_owned());
    }
    parts.push(format!("{} the same", difference.same));
    parts.join(", ")
}

fn line_text(difference: &Difference, line: &Line) -> String {
    let key: Vec<String> = difference
        .keys
        .iter()
        .zip(&line.key)
        .filter(|(_, value)| !value.is_blank())
        .map(|(column, value)| key_text(column, value))
        .collect();
    let figures =
        difference.figures.iter().zip(&line.figures).filter(|(_, change)| !change.is_none());
    let mut parts: Vec<String> =
        figures.map(|(column, change)| change_text(column, change)).collect();
    for (at, change) in &line.words {
        if let Some(column) = difference.words.get(*at) {
            let word = |value: &Value| match value {
                Value::Number(number) if column.unit.is_empty() || &*column.unit == "any" => {
                    crate::text::fixed(*number, 2).unwrap_or_default()
                }
                Value::Number(_) => shown(value, &column.unit),
                other => plain(other),
            };
            let (old, new) = (word(&change.old), word(&change.new));
            parts.push(format!("{} {old} -> {new}", column.heading));
        }
    }
    format!("{}: {}", key.join(" "), parts.join(", "))
}

/// `30 ft`, `36 in`, `D1`.
fn key_text(column: &Column, value: &Value) -> String {
    let unit = unit_name(&column.unit);
    format!("{} {unit}", plain(value)).trim_end().to_owned()
}

/// Text without quotes, numbers with all their digits.
fn plain(value: &Value) -> String {
    match value {
        Value::Text(text) => text.to_string(),
        Value::Blank => "blank".to_owned(),
        other => other.to_string(),
    }
}

/// `Panels 42 -> 40 (-2)`.
fn change_text(column: &Column, change: &Change) -> String {
    let unit = &column.unit;
    let named = unit_name(unit);
    let space = if named.is_empty() { "" } else { " " };
    let by = change.by().map_or("#error".to_owned(), |by| signed(by, unit));
    let heading = &column.heading;
    match (&change.old, &change.new) {
        (Value::Blank, new) => format!("{heading} {}{space}{named}", shown(new, unit)),
        (old, Value::Blank) => format!("{heading} -{}{space}{named}", shown(old, unit)),
        (old, new) => {
            format!("{heading} {} -> {}{space}{named} ({by})", shown(old, unit), shown(new, unit))
        }
    }
}

/// The differences as JSON.
#[must_use]
pub fn revision_json(revision: &Revision) -> Json {
    let tables: Vec<Json> = revision.differences.iter().map(difference_json).collect();
    json!({ "old": revision.old, "new": revision.new, "tables": tables })
}

fn difference_json(difference: &Difference) -> Json {
    let columns = |columns: &[Column]| -> Vec<Json> {
        columns
            .iter()
            .map(|c| json!({ "key": &*c.key, "heading": &*c.heading, "unit": &*c.unit }))
            .collect()
    };
    let figures = |changes: &[Change]| -> Json {
        let named = difference.figures.iter().zip(changes);
        named
            .map(|(column, change)| (column.key.to_string(), change_json(change)))
            .collect::<Map<_, _>>()
            .into()
    };
    let lines: Vec<Json> = difference
        .lines
        .iter()
        .map(|line| {
            let key: Map<String, Json> = difference
                .keys
                .iter()
                .zip(&line.key)
                .map(|(column, value)| (column.key.to_string(), json!(value)))
                .collect();
            let words: Map<String, Json> = line
                .words
                .iter()
                .filter_map(|(at, change)| {
                    let column = difference.words.get(*at)?;
                    let change = json!({ "old": change.old, "new": change.new });
                    Some((column.key.to_string(), change))
                })
                .collect();
            json!({
                "what": line.what.word(),
                "key": key,
                "figures": figures(&line.figures),
                "words": words,
            })
        })
        .collect();
    json!({
        "key": &*difference.table,
        "title": &*difference.title,
        "columns": {
            "key": columns(&difference.keys),
            "figures": columns(&difference.figures),
            "words": columns(&difference.words),
        },
        "lines": lines,
        "same": difference.same,
        "totals": figures(&difference.totals),
    })
}

fn change_json(change: &Change) -> Json {
    json!({ "old": change.old, "new": change.new, "by": change.by_value() })
}

/// The differences as a report, to be written as a workbook: the totals first, then a table each.
#[must_use]
pub fn revision_report(
    revision: &Revision,
    head: crate::value::Record,
    findings: Vec<Finding>,
) -> Report {
    let totals = totals_table(&revision.differences);
    let lines = revision.differences.iter().map(lines_table);
    Report {
        head,
        schedule: format!("{} -> {}", revision.old, revision.new),
        tables: [totals].into_iter().chain(lines).map(Arc::new).collect(),
        findings,
        ..Report::default()
    }
}

fn column(key: &str, heading: &str, unit: &str) -> Column {
    Column::made(key, heading, unit, "compare")
}

fn totals_table(differences: &[Difference]) -> Table {
    let columns = vec![
        column("table", "Table", "text"),
        column("figure", "Figure", "text"),
        column("old", "Old", ""),
        column("new", "New", ""),
        column("by", "Difference", ""),
        column("unit", "Unit", "text"),
    ];
    let mut cells = Vec::new();
    let mut rows = 0;
    for difference in differences {
        for (figure, change) in difference.figures.iter().zip(&difference.totals) {
            cells.extend([
                Value::Text(difference.title.clone()),
                Value::Text(figure.heading.clone()),
                change.old.clone(),
                change.new.clone(),
                change.by_value(),
                Value::Text(figure.unit.clone()),
            ]);
            rows += 1;
        }
    }
    Table {
        key: Arc::from("summary"),
        title: Arc::from("What changed"),
        cells: Cells::of(columns.len(), cells),
        columns,
        rows,
    }
}

fn lines_table(difference: &Difference) -> Table {
    let mut columns = vec![column("what", "Change", "text")];
    columns.extend(difference.keys.iter().cloned().map(|key| Column { total: false, ..key }));
    for figure in &difference.figures {
        let of = |ending: &str, heading: &str| Column {
            total: true,
            note: None,
            ..column(
                &format!("{}_{ending}", figure.key),
                &format!("{} {heading}", figure.heading),
                &figure.unit,
            )
        };
        columns.extend([of("old", "old"), of("new", "new"), of("by", "difference")]);
    }
    columns.push(column("words", "What else changed", "text"));
    let mut cells = Vec::new();
    for line in &difference.lines {
        cells.push(Value::text(line.what.word()));
        cells.extend(line.key.iter().cloned());
        for change in &line.figures {
            cells.extend([change.old.clone(), change.new.clone(), change.by_value()]);
        }
        cells.push(words_cell(difference, line));
    }
    let rows = difference.lines.len();
    Table {
        key: difference.table.clone(),
        title: difference.title.clone(),
        cells: Cells::of(columns.len(), cells),
        columns,
        rows,
    }
}

fn words_cell(difference: &Difference, line: &Line) -> Value {
    let said: Vec<String> = line
        .words
        .iter()
        .filter_map(|(at, change)| {
            let column = difference.words.get(*at)?;
            Some(format!("{} {} -> {}", column.heading, plain(&change.old), plain(&change.new)))
        })
        .collect();
    if said.is_empty() { Value::Blank } else { Value::text(said.join("; ")) }
}
