//! A report for other programs and for the terminal: JSON of every table, the summary as lines.

use serde_json::{Map, Value as Json, json};

use crate::table::{Report, Table};
use crate::text;
use crate::value::Value;

/// The version of the JSON that `--json` prints.
pub const SCHEMA_VERSION: u32 = 1;

/// Every table: key, title, columns, rows as objects by column key, totals.
#[must_use]
pub fn tables_json(report: &Report) -> Json {
    report.tables.iter().map(table_json).collect()
}

fn table_json(table: &Table) -> Json {
    let shown: Vec<usize> =
        (0..table.columns.len()).filter(|&at| !table.columns[at].hidden).collect();
    let columns: Vec<Json> = shown
        .iter()
        .map(|&at| {
            let column = &table.columns[at];
            json!({ "key": &*column.key, "heading": &*column.heading, "unit": &*column.unit })
        })
        .collect();
    let rows: Vec<Json> = (0..table.rows)
        .map(|row| {
            let cells = table.row(row);
            shown
                .iter()
                .map(|&at| (table.columns[at].key.to_string(), json!(cells.get(at))))
                .collect::<Map<String, Json>>()
                .into()
        })
        .collect();
    let totals: Map<String, Json> = shown
        .iter()
        .filter(|&&at| table.columns[at].total)
        .map(|&at| (table.columns[at].key.to_string(), json!(table.total(at))))
        .collect();
    json!({
        "key": &*table.key,
        "title": &*table.title,
        "columns": columns,
        "rows": rows,
        "totals": totals,
    })
}

/// The Summary table as aligned lines for the terminal.
#[must_use]
pub fn summary_lines(report: &Report) -> Vec<String> {
    let Some(table) = report.table("summary") else { return Vec::new() };
    let column = |key| table.column(key);
    let (Some(figure), Some(value), Some(unit)) =
        (column("figure"), column("value"), column("unit"))
    else {
        return Vec::new();
    };
    let lines: Vec<(String, String, String)> = (0..table.rows)
        .map(|row| {
            let cells = table.row(row);
            (
                shown(&cells[figure], ""),
                shown(&cells[value], &shown(&cells[unit], "")),
                shown(&cells[unit], ""),
            )
        })
        .collect();
    let wide = |pick: fn(&(String, String, String)) -> &String| {
        lines.iter().map(|line| pick(line).chars().count()).max().unwrap_or(0)
    };
    let (figures, values) = (wide(|line| &line.0), wide(|line| &line.1));
    lines
        .iter()
        .map(|(figure, value, unit)| {
            let unit = if matches!(unit.as_str(), "count" | "date" | "text") { "" } else { unit };
            format!("  {figure:<figures$}  {value:>values$} {unit}").trim_end().to_owned()
        })
        .collect()
}

fn shown(value: &Value, unit: &str) -> String {
    match value {
        Value::Text(text) => text.to_string(),
        Value::Blank => "-".to_owned(),
        Value::Error(_) => "#error".to_owned(),
        Value::Date(date) => date.to_string(),
        other => match other.as_number() {
            Some(number) => {
                let decimals = match unit {
                    "yd3" | "tons" => 2,
                    "ft" | "ft2" | "squares" => 1,
                    _ => 0,
                };
                text::fixed(number, decimals).unwrap_or_default()
            }
            None => other.to_string(),
        },
    }
}
