//! Tables as comma-separated values (RFC 4180), with a description of their columns as a tabular
//! data package.
//!
//! Text that a spreadsheet program would take for a formula begins with an apostrophe, as it does
//! when typed there.

use serde_json::{Value as Json, json};

use crate::finding::Finding;
use crate::table::{Column, Report, Table};
use crate::value::Value;

/// The file that describes the others.
pub const PACKAGE: &str = "datapackage.json";
/// Names that some systems keep for devices.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The files: a name and its text each, the description last.
#[must_use]
pub fn csv_files(report: &Report) -> Vec<(String, String)> {
    let mut files = Vec::new();
    let mut resources = Vec::new();
    for table in &report.tables {
        let name = file_name(&table.key);
        resources.push(resource(table, &name));
        files.push((name, table_csv(table)));
    }
    files.push((FINDINGS.to_owned(), findings_csv(&report.findings)));
    resources.push(json!({
        "profile": "tabular-data-resource",
        "name": "findings-of-the-run",
        "title": "Findings",
        "path": FINDINGS,
        "schema": { "fields": FINDING_FIELDS.map(|name| json!({ "name": name, "type": "string" })) },
    }));
    let package = json!({
        "profile": "tabular-data-package",
        "name": "takeoff",
        "title": format!("Steel deck takeoff from {}", report.schedule),
        "created_by": concat!("baytally ", env!("CARGO_PKG_VERSION")),
        "schedule_sha256": report.schedule_hash,
        "incomplete": report.is_incomplete(),
        "resources": resources,
    });
    let text = serde_json::to_string_pretty(&package).unwrap_or_default();
    files.push((PACKAGE.to_owned(), text + "\n"));
    files
}

/// No table's file is called so: table keys hold no hyphen.
const FINDINGS: &str = "all-findings.csv";
const FINDING_FIELDS: [&str; 5] = ["severity", "code", "place", "message", "hints"];

fn file_name(key: &str) -> String {
    let mark = if DEVICES.contains(&key) { "_" } else { "" };
    format!("{key}{mark}.csv")
}

fn shown(table: &Table) -> Vec<(usize, &Column)> {
    table.columns.iter().enumerate().filter(|(_, column)| !column.hidden).collect()
}

fn resource(table: &Table, path: &str) -> Json {
    let fields: Vec<Json> = shown(table)
        .iter()
        .map(|(_, column)| {
            json!({
                "name": &*column.key,
                "title": &*column.heading,
                "type": kind(&column.unit),
                "unit": &*column.unit,
            })
        })
        .collect();
    json!({
        "profile": "tabular-data-resource",
        "name": table.key.replace('_', "-"),
        "title": &*table.title,
        "path": path,
        "schema": { "fields": fields, "missingValues": ["", ERROR] },
    })
}

/// What a column's cells are, by its unit.
fn kind(unit: &str) -> &'static str {
    match unit {
        "text" | "ft-in" => "string",
        "date" => "date",
        "" | "any" | "record" => "any",
        _ => "number",
    }
}

fn table_csv(table: &Table) -> String {
    let columns = shown(table);
    let mut text = line(columns.iter().map(|(_, column)| column.key.to_string()));
    for row in 0..table.rows {
        let cells = table.row(row);
        text += &line(
            columns.iter().map(|(at, _)| cells.get(*at).as_deref().map(cell).unwrap_or_default()),
        );
    }
    text
}

fn findings_csv(findings: &[Finding]) -> String {
    let mut text = line(FINDING_FIELDS.map(str::to_owned));
    for finding in findings {
        let places: Vec<String> = finding.places.iter().map(ToString::to_string).collect();
        text += &line([
            finding.severity.to_string(),
            finding.code.to_string(),
            words(&places.join("; ")),
            words(&finding.message),
            words(&finding.hints.join("; ")),
        ]);
    }
    text
}

/// What stands in a cell that could not be computed.
const ERROR: &str = "#error";

fn cell(value: &Value) -> String {
    match value {
        Value::Blank => String::new(),
        Value::Text(text) => words(text),
        Value::Error(_) => ERROR.to_owned(),
        Value::Count(_) | Value::Number(_) | Value::Bool(_) | Value::Date(_) => value.to_string(),
        other => words(&other.to_string()),
    }
}

/// Text that stays text in a spreadsheet program.
fn words(text: &str) -> String {
    let mark = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    format!("{mark}{text}")
}

fn line(cells: impl IntoIterator<Item = String>) -> String {
    let quoted: Vec<String> = cells
        .into_iter()
        .map(|cell| {
            if cell.contains([',', '"', '\n', '\r']) {
                format!("\"{}\"", cell.replace('"', "\"\""))
            } else {
                cell
            }
        })
        .collect();
    quoted.join(",") + "\r\n"
}
