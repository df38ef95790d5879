//! Reports of schedules made in memory, and their cells by name.

use std::num::NonZeroUsize;
use std::sync::Arc;

use baytally::finding::Finding;
use baytally::rules::{self, Ended, RunOptions, Shop};
use baytally::table::{Report, Table};
use baytally::value::Value;

use super::schedule_builder::Schedule;

/// A shop of the scripts given: file name and text.
pub fn shop(files: &[(&str, &str)]) -> Shop {
    let scripts =
        files.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect();
    Shop { name: "a test's shop".to_owned(), scripts, ..Shop::default() }
}

/// The report of a schedule, or why there is none.
pub fn try_report(
    schedule: &Schedule,
    shop: Option<&Shop>,
    threads: usize,
) -> Result<Report, Vec<Finding>> {
    let threads = NonZeroUsize::new(threads).unwrap();
    try_report_within(schedule, shop, RunOptions { threads, ..RunOptions::default() })
}

/// The same with any options.
pub fn try_report_within(
    schedule: &Schedule,
    shop: Option<&Shop>,
    options: RunOptions,
) -> Result<Report, Vec<Finding>> {
    let (job, mut findings) = schedule.read().map_err(|unreadable| unreadable.findings)?;
    let mut scripts = rules::scripts(shop)?;
    findings.extend(scripts.add_schedule_lines(&job));
    match rules::run(Arc::new(job), Arc::new(scripts), findings, options) {
        Ok(report) => Ok(report),
        Err(Ended::Findings(findings)) => Err(findings),
        Err(Ended::UsedUp(_)) => panic!("the run took too long"),
    }
}

/// The report of a schedule with the bundled rules.
pub fn report(schedule: &Schedule) -> Report {
    report_with(schedule, None)
}

/// The report of a schedule with a shop's rules.
pub fn report_with(schedule: &Schedule, shop: Option<&Shop>) -> Report {
    match try_report(schedule, shop, 1) {
        Ok(report) => report,
        Err(findings) => panic!("{}", texts(&findings).join("\n")),
    }
}

/// Findings as texts.
pub fn texts(findings: &[Finding]) -> Vec<String> {
    findings.iter().map(ToString::to_string).collect()
}

/// The findings of one code, as texts.
pub fn said(report: &Report, code: &str) -> Vec<String> {
    report.findings.iter().filter(|f| &*f.code == code).map(ToString::to_string).collect()
}

/// A table's cell.
pub fn cell(report: &Report, table: &str, row: usize, column: &str) -> Value {
    let table = table_of(report, table);
    let at = table.column(column).unwrap_or_else(|| panic!("no column `{column}`"));
    table.cell(row, at).into_owned()
}

/// A table's cell as a number.
pub fn number(report: &Report, table: &str, row: usize, column: &str) -> f64 {
    let value = cell(report, table, row, column);
    value.as_number().unwrap_or_else(|| panic!("{table}[{row}].{column} is {value}"))
}

/// A table's total.
pub fn total(report: &Report, table: &str, column: &str) -> f64 {
    let table = table_of(report, table);
    let at = table.column(column).unwrap_or_else(|| panic!("no column `{column}`"));
    table.total(at).unwrap_or_else(|| panic!("an error in `{column}`"))
}

/// A table.
pub fn table_of<'a>(report: &'a Report, key: &str) -> &'a Table {
    report.table(key).unwrap_or_else(|| panic!("no table `{key}`"))
}
