//! What was understood of a schedule, as text or JSON.

use std::sync::Arc;

use serde_json::{Value, json};

use super::say::Say;
use crate::finding::column_letters;
use crate::job::Reading;
use crate::schedule;

/// Prints what was understood where text is printed; gives it as JSON.
pub fn show(readings: &[Reading], unread: &[Arc<str>], say: &Say) -> Value {
    for line in schedule::describe(readings, unread).lines() {
        say.line(line);
    }
    let readings: Vec<Value> = readings.iter().map(as_json).collect();
    json!({ "readings": readings, "unread_sheets": unread })
}

/// A sheet's reading, its rows and columns as the spreadsheet counts them.
fn as_json(reading: &Reading) -> Value {
    let headings: Vec<Value> = reading
        .headings
        .iter()
        .map(|heading| {
            json!({
                "column": column_letters(heading.column),
                "heading": heading.typed,
                "field": heading.is_known.then_some(&heading.key),
                "unit": heading.unit,
            })
        })
        .collect();
    let passed: Vec<Value> =
        reading.passed.iter().map(|(row, why)| json!({ "row": row + 1, "why": why })).collect();
    // The Job sheet has its headings in its first column.
    let heading_row = (reading.key != "head").then_some(reading.heading_row + 1);
    json!({
        "sheet": reading.sheet,
        "read_as": reading.key,
        "found_by": reading.found_by,
        "heading_row": heading_row,
        "headings": headings,
        "rows_taken": reading.taken,
        "rows_passed_over": passed,
        "rows_left_out": reading.left_out.iter().map(|row| row + 1).collect::<Vec<u32>>(),
        "remarks": reading.remarks,
    })
}
