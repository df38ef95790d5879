//! The summary as lines for the terminal.

use super::figure::{shown, unit_name};
use crate::table::Report;

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
            let unit = unit_name(unit);
            format!("  {figure:<figures$}  {value:>values$} {unit}").trim_end().to_owned()
        })
        .collect()
}
