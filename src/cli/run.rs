//! `check` and `run`: a schedule in, findings or a takeoff workbook out.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use clap::builder::NonEmptyStringValueParser;
use serde_json::json;

use super::load::{self, Loaded};
use super::plans::{self, Drawn};
use super::say::{Say, append, count_by_severity};
use super::{Common, End, csv, reading};
use crate::finding::Finding;
use crate::job::Job;
use crate::report;
use crate::rules::{self, Ended, Input, RunOptions};
use crate::table::{Report, Table};
use crate::workbook::{self, WriteOptions};

/// Reads a schedule and prints the findings, writing nothing.
#[derive(Args)]
pub struct Check {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// Show what was understood: sheets, heading rows, what each heading was read as, rows taken and
    /// passed over
    #[arg(long)]
    show_reading: bool,
}

/// Reads a schedule and writes its takeoff workbook.
#[derive(Args)]
pub struct Run {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// The workbook to write; the schedule's name with `-takeoff` beside it where not given
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// Write over a file that this program did not write
    #[arg(long)]
    replace: bool,
    /// Draw every level, and write the drawings as SVG files into this folder too
    #[arg(long, value_name = "DIR")]
    plans: Option<PathBuf>,
    /// Write every table into this folder too, as comma-separated values
    #[arg(long, value_name = "DIR")]
    csv: Option<PathBuf>,
    /// Add a sheet with the rows to paste into Releases: what is still to order, under this name
    #[arg(long, value_name = "NAME", value_parser = NonEmptyStringValueParser::new())]
    release: Option<String>,
}

impl Check {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        let read = load::schedule(&self.schedule, common);
        let mut fields = match (&read, self.show_reading) {
            (_, false) => json!({}),
            (Ok(loaded), true) => reading::show(&loaded.job.readings, &loaded.job.unread, say),
            (Err(unreadable), true) => reading::show(&unreadable.readings, &unreadable.unread, say),
        };
        let tables = read.map_err(|unreadable| unreadable.findings);
        match tables.and_then(|loaded| tables_of(loaded, common)) {
            Err(findings) => {
                append(&mut fields, json!({ "failed": true }));
                say.findings(&findings);
                say.result("check", &findings, || fields);
                End::Failed
            }
            Ok(report) => {
                say.findings(&report.findings);
                say.line(&format!("{}: {}", report.schedule, count_by_severity(&report.findings)));
                append(&mut fields, json!({ "schedule": report.schedule }));
                say.result("check", &report.findings, || fields);
                end_of(&report)
            }
        }
    }
}

impl Run {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        let output = self.output.clone().unwrap_or_else(|| beside(&self.schedule));
        let drawn = if self.plans.is_some() { Drawn::Always } else { Drawn::WherePlaced };
        let wanted = Wanted { release: self.release.as_deref(), drawn, last: true };
        let mut report = match evaluate_for(&self.schedule, common, wanted) {
            Ok(report) => report,
            Err(findings) => {
                say.failed("run", &findings);
                return End::Failed;
            }
        };
        let folder = self.plans.as_deref();
        let drawings = match folder.map(|folder| plans::write(&report, folder, self.replace)) {
            Some(Err(findings)) => {
                say.failed("run", &findings);
                return End::Failed;
            }
            Some(Ok(paths)) => paths,
            None => Vec::new(),
        };
        if let Some(folder) = &self.csv
            && let Err(findings) = csv::write(&report, folder, self.replace)
        {
            say.failed("run", &findings);
            return End::Failed;
        }
        let options = WriteOptions {
            inputs: vec![self.schedule.clone()],
            replace: self.replace,
            threads: common.threads,
            ..WriteOptions::default()
        };
        let written = match workbook::write(&report, &output, &options) {
            Ok(written) => written,
            Err(not) => {
                say.failed("run", &[not.finding()]);
                return End::Failed;
            }
        };
        report.findings.extend(written.findings);
        say.findings(&report.findings);
        for line in report::summary_lines(&report) {
            say.line(&line);
        }
        let incomplete = if report.is_incomplete() { ", marked incomplete" } else { "" };
        let found = count_by_severity(&report.findings);
        say.line(&format!("wrote {}{incomplete}: {found}", output.display()));
        if let Some(folder) = folder {
            let plural = if drawings.len() == 1 { "" } else { "s" };
            say.line(&format!("wrote {} plan{plural} into {}", drawings.len(), folder.display()));
        }
        let fields = || {
            json!({
                "schedule": report.schedule,
                "output": output.display().to_string(),
                "plans": drawings.iter().map(|path| path.display().to_string()).collect::<Vec<_>>(),
                "tables": report::tables_json(&report),
            })
        };
        say.result("run", &report.findings, fields);
        end_of(&report)
    }
}

fn end_of(report: &Report) -> End {
    if report.is_incomplete() { End::Incomplete } else { End::Done }
}

/// `schedule.xlsx` gives `schedule-takeoff.xlsx` in the same folder.
pub fn beside(schedule: &Path) -> PathBuf {
    let stem = schedule.file_stem().unwrap_or_default().to_string_lossy();
    schedule.with_file_name(format!("{stem}-takeoff.xlsx"))
}

/// Reads a schedule and computes its tables and checks.
pub fn evaluate(schedule: &Path, common: &Common) -> Result<Report, Vec<Finding>> {
    evaluate_for(schedule, common, Wanted { release: None, drawn: Drawn::Never, last: false })
}

/// The same, and its levels drawn where `run` draws them.
pub fn takeoff(schedule: &Path, common: &Common) -> Result<Report, Vec<Finding>> {
    evaluate_for(schedule, common, Wanted { release: None, drawn: Drawn::WherePlaced, last: false })
}

/// What a run is to give beside its tables.
#[derive(Clone, Copy)]
struct Wanted<'a> {
    /// The rows of a release of that name.
    release: Option<&'a str>,
    drawn: Drawn,
    /// The program ends soon after.
    last: bool,
}

fn evaluate_for(
    schedule: &Path,
    common: &Common,
    wanted: Wanted<'_>,
) -> Result<Report, Vec<Finding>> {
    let shop = load::shop(common)?;
    let scripts = rules::scripts(shop.as_ref())?;
    let options = RunOptions { last: wanted.last, ..load::run_options(common) };
    let mut read = None;
    let run = rules::run_while(&scripts, &options.bounds, || {
        let loaded = load::schedule_of(shop.as_ref(), scripts.clone(), schedule, common);
        let Loaded { mut job, scripts, findings } =
            loaded.map_err(|unreadable| unreadable.findings)?;
        if let Some(name) = wanted.release {
            Arc::make_mut(&mut job).name_release(name);
        }
        read = Some(job.clone());
        Ok::<_, Vec<Finding>>(Input { job, scripts, findings, options })
    })?;
    let mut report = run.map_err(|ended| why(ended, options))?;
    if let Some(job) = read {
        wanted.drawn.add(&job, &mut report);
    }
    Ok(report)
}

/// The tables and checks of a schedule that was read.
fn tables_of(loaded: Loaded, common: &Common) -> Result<Report, Vec<Finding>> {
    let Loaded { job, scripts, findings } = loaded;
    let options = RunOptions { last: true, ..load::run_options(common) };
    rules::run(job, scripts, findings, options).map_err(|ended| why(ended, options))
}

/// The tables that the scripts define, empty; why the scripts give none.
pub fn defined(common: &Common) -> Result<Vec<Arc<Table>>, Vec<Finding>> {
    let scripts = rules::scripts(load::shop(common)?.as_ref())?;
    let options = load::run_options(common);
    let report = rules::run(Arc::new(Job::default()), Arc::new(scripts), Vec::new(), options);
    report.map(|report| report.tables).map_err(|ended| why(ended, options))
}

/// Why a run gave no report.
pub fn why(ended: Ended, options: RunOptions) -> Vec<Finding> {
    ended.findings(&options.bounds)
}
