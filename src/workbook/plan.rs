//! What goes on which sheet, decided before anything is written: names, parts of long tables,
//! columns with their widths and formats, marked rows, and the findings that only the format's
//! limits raise.

use std::num::NonZeroUsize;
use std::ops::Range;

use crate::finding::{Finding, Place, Severity, gather};
use crate::parallel;
use crate::table::{Report, Table};
use crate::value::Value;

use super::cell::plain;
use super::chart::Plot;
use super::columns;
use super::grid::{FIRST_ROW, Grid};
use super::marks::Marks;
use super::names::mend;
use super::unit::is_number_format;

pub(super) const SUMMARY: &str = "Summary";
pub(super) const CHARTS: &str = "Charts";
pub(super) const CHECKS: &str = "Checks";
pub(super) const RULES: &str = "Rules";

/// The format's limits.
pub(super) struct Limits {
    pub rows: usize,
    pub columns: usize,
    /// UTF-16 units in a cell.
    pub text: usize,
}

impl Limits {
    pub(super) const FORMAT: Limits = Limits { rows: 1_048_576, columns: 16_384, text: 32_767 };
}

/// The workbook to be.
pub(super) struct Plan<'a> {
    pub report: &'a Report,
    /// The table with key `summary`, which stands on the first sheet.
    pub summary: Option<Grid<'a>>,
    pub charts: Vec<Plot<'a>>,
    /// The other tables in order, long ones in parts.
    pub grids: Vec<Grid<'a>>,
    /// The report's findings and the writing's own, errors first.
    pub findings: Vec<Finding>,
    pub own_findings: Vec<Finding>,
    pub incomplete: bool,
}

impl<'a> Plan<'a> {
    pub(super) fn of(report: &'a Report, limits: &Limits, threads: NonZeroUsize) -> Plan<'a> {
        const LONGEST_SUMMARY: usize = 1_000;
        let mut names = [SUMMARY, CHARTS, CHECKS, RULES].map(str::to_string).to_vec();
        let mut own = Vec::new();
        let mut parts: Vec<(&Table, Parts)> = Vec::new();
        let mut summary = None;
        for table in &report.tables {
            look_over(table, limits, &mut own);
            match &*table.key {
                "checks" => {}
                "summary" if summary.is_none() && table.rows <= LONGEST_SUMMARY => {
                    summary = Some(table);
                }
                _ => parts.push((table, split(table, limits, &mut names, &mut own))),
            }
        }
        let charts: Vec<Plot<'_>> =
            report.charts.iter().filter_map(|chart| Plot::of(chart, report, &mut own)).collect();
        let own_findings = gather(own);
        let findings = gather([report.findings.clone(), own_findings.clone()].concat());
        let grid = |table: &'a Table, name: String, rows: Range<usize>, parts| Grid {
            name,
            table,
            columns: columns::shown(table, limits),
            marks: Marks::of(table, &findings),
            rows,
            parts,
        };
        let summary =
            summary.map(|table| grid(table, SUMMARY.to_string(), 0..table.rows, Vec::new()));
        let sheets = parts.iter().flat_map(|(table, parts)| {
            parts.iter().map(move |(name, rows)| (*table, name.clone(), rows.clone(), parts))
        });
        let grids = parallel::map(sheets.collect(), threads, |(table, name, rows, parts)| {
            grid(table, name, rows, parts.clone())
        });
        let incomplete = findings.iter().any(|finding| finding.severity == Severity::Error);
        Plan { report, summary, charts, grids, findings, own_findings, incomplete }
    }

    /// The sheets' names in order.
    pub(super) fn names(&self) -> Vec<String> {
        let tables = self.grids.iter().map(|grid| grid.name.clone());
        let charts = if self.charts.is_empty() { None } else { Some(CHARTS.to_string()) };
        [SUMMARY.to_string()]
            .into_iter()
            .chain(charts)
            .chain(tables)
            .chain(super::plans::names(self))
            .chain([CHECKS, RULES].map(str::to_string))
            .collect()
    }

    /// The job's name, for titles and footers.
    pub(super) fn job(&self) -> String {
        let named = |wanted: &str| {
            let entry =
                |(key, _): &(&std::sync::Arc<str>, &Value)| key.eq_ignore_ascii_case(wanted);
            self.report.head.iter().find(entry).map(|(_, value)| plain(value))
        };
        named("job").or_else(|| named("number")).unwrap_or_else(|| self.report.schedule.clone())
    }
}

/// Sheet names and the rows that stand there.
type Parts = Vec<(String, Range<usize>)>;

/// The names and rows of the sheets that a table takes.
fn split(
    table: &Table,
    limits: &Limits,
    names: &mut Vec<String>,
    findings: &mut Vec<Finding>,
) -> Parts {
    let room = limits.rows.saturating_sub(FIRST_ROW as usize).max(1);
    let mut parts = Vec::new();
    let mut from = 0;
    while from < table.rows || parts.is_empty() {
        let to = table.rows.min(from + room);
        parts.push((mend(&table.title, names), from..to));
        from = to;
    }
    if let Some((name, _)) = parts.first().filter(|(name, _)| **name != *table.title) {
        findings.push(
            Finding::note(
                "sheet-renamed",
                format!("the table `{}` stands on the sheet `{name}`", table.title),
            )
            .hint(
                "a sheet's name has at most 31 characters, none of [ ] : * ? / \\, and is unique",
            ),
        );
    }
    if let [(first, _), .., (last, _)] = parts.as_slice() {
        findings.push(Finding::note(
            "table-continued",
            format!(
                "the table `{}` has {} rows and goes on from sheet `{first}` to `{last}`; the \
                 totals on `{first}` count all of it",
                table.title, table.rows
            ),
        ));
    }
    parts
}

/// What a table holds that a sheet can not.
fn look_over(table: &Table, limits: &Limits, findings: &mut Vec<Finding>) {
    let at = |row: usize, column: usize| Place::Table {
        table: table.key.clone(),
        row: u32::try_from(row).unwrap_or(u32::MAX),
        column: table.columns[column].key.clone(),
        about: "".into(),
    };
    let shown = table.columns.iter().filter(|column| !column.hidden).count();
    if shown >= limits.columns {
        findings.push(Finding::error(
            "table-too-wide",
            format!(
                "the table `{}` has {shown} columns; a sheet shows the first {}",
                table.title,
                limits.columns - 1
            ),
        ));
    }
    for column in &table.columns {
        if let Some(format) = column.format.as_ref().filter(|format| !is_number_format(format)) {
            findings.push(
                Finding::warning(
                    "bad-number-format",
                    format!("`{format}` is no number format; the unit's is used"),
                )
                .at(column.origin.clone())
                .hint("put words in quotes: 0.00\" lb\""),
            );
        }
    }
    let is_long =
        |text: &str| text.len() > limits.text && text.encode_utf16().count() > limits.text;
    let is_odd = |value: &Value| match value {
        Value::Text(text) => is_long(text),
        Value::Number(number) => !number.is_finite(),
        _ => false,
    };
    for (row, column) in table.cells.places(is_odd) {
        if table.columns[column].hidden {
            continue;
        }
        let finding = match &*table.cell(row, column) {
            Value::Number(number) => {
                Finding::error("no-number", format!("found {number}, wanted a finite number"))
            }
            _ => Finding::warning(
                "text-cut",
                format!("text beyond {} characters is cut", limits.text),
            ),
        };
        findings.push(finding.at(at(row, column)));
    }
}
