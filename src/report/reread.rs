//! The tables of an output workbook, read back.
//!
//! In: the workbook's sheets as rows of values, and the tables as the scripts define them. Out:
//! those tables with the workbook's rows; a sheet is known by its title, a column by heading and
//! unit.

use std::sync::Arc;

use super::compare::RuleHash;
use crate::cells::Cells;
use crate::table::{Column, Report, Table};
use crate::value::Value;

/// The heading stands within so many rows with content.
const HEADING_WITHIN: usize = 8;
const ERROR_WORD: &str = "#error";

/// Fills each defined table from the sheets that bear its title; tables without a sheet are left
/// out, columns that no sheet shows stay blank and hidden.
#[must_use]
pub fn reread(sheets: &[Vec<Vec<Value>>], defined: &[Arc<Table>]) -> Vec<Table> {
    defined.iter().filter_map(|table| table_of(sheets, table)).collect()
}

/// The rules in force that the sheet Rules of an output lists.
#[must_use]
pub fn rules_of(sheets: &[Vec<Vec<Value>>]) -> Vec<RuleHash> {
    const HEADINGS: [&str; 3] = ["Kind", "Name", "Hash"];
    let place = |row: &[Value], wanted| row.iter().position(|cell| cell.as_text() == Some(wanted));
    for rows in sheets {
        let found = rows.iter().take(HEADING_WITHIN).enumerate().find_map(|(at, row)| {
            let [Some(kind), Some(name), Some(hash)] = HEADINGS.map(|wanted| place(row, wanted))
            else {
                return None;
            };
            Some((at, [kind, name, hash]))
        });
        let Some((heading, places)) = found else { continue };
        let text = |row: &Vec<Value>, at: usize| row.get(at)?.as_text().map(str::to_owned);
        let rules = rows.iter().skip(heading + 1).filter_map(|row| {
            let [kind, name, hash] = places.map(|at| text(row, at));
            Some((format!("{} `{}`", kind?, name?), hash?))
        });
        return rules.collect();
    }
    Vec::new()
}

/// The same of a report.
#[must_use]
pub fn rules_in_force(report: &Report) -> Vec<RuleHash> {
    let rules = report.in_force.iter();
    rules.map(|rule| (format!("{} `{}`", rule.kind, rule.name), rule.hash.clone())).collect()
}

fn table_of(sheets: &[Vec<Vec<Value>>], defined: &Table) -> Option<Table> {
    let titled = |rows: &&Vec<Vec<Value>>| {
        rows.first().and_then(|row| row.first()).and_then(Value::as_text) == Some(&defined.title)
    };
    let mut table: Option<Table> = None;
    for rows in sheets.iter().filter(titled) {
        let Some((heading, places)) = headings(rows, defined) else { continue };
        let table = table.get_or_insert_with(|| empty(defined, &places));
        for row in rows.iter().skip(heading + 1) {
            if row.iter().all(Value::is_blank) {
                continue;
            }
            table.cells.push_row(places.iter().map(|place| cell(row, *place)));
            table.rows += 1;
        }
    }
    table
}

fn empty(defined: &Table, places: &[Option<usize>]) -> Table {
    let columns: Vec<Column> = defined
        .columns
        .iter()
        .zip(places)
        .map(|(column, place)| Column { hidden: place.is_none(), ..column.clone() })
        .collect();
    Table { cells: Cells::new(columns.len()), columns, rows: 0, ..defined.clone() }
}

/// The heading row, and where on the sheet each column stands.
fn headings(rows: &[Vec<Value>], defined: &Table) -> Option<(usize, Vec<Option<usize>>)> {
    rows.iter().take(HEADING_WITHIN).enumerate().skip(1).find_map(|(at, row)| {
        let places: Vec<Option<usize>> =
            defined.columns.iter().map(|column| place_of(row, column)).collect();
        let visible = defined.columns.iter().filter(|column| !column.hidden).count();
        let found = places.iter().flatten().count();
        (found > 0 && found * 2 >= visible).then_some((at, places))
    })
}

fn place_of(row: &[Value], column: &Column) -> Option<usize> {
    if column.hidden {
        return None;
    }
    let named = format!("{}\n{}", column.heading, column.unit);
    let is = |wanted: &str| row.iter().position(|cell| cell.as_text() == Some(wanted));
    is(&named).or_else(|| is(&column.heading))
}

fn cell(row: &[Value], place: Option<usize>) -> Value {
    match place.and_then(|at| row.get(at)) {
        Some(Value::Text(text)) if &**text == ERROR_WORD => {
            Value::Error(Arc::from("marked as an error in the workbook"))
        }
        Some(value) => value.clone(),
        None => Value::Blank,
    }
}
