//! `compare`: what a revision of a schedule adds, removes and changes.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use super::run::evaluate;
use super::say::Say;
use super::{Common, End, load};
use crate::finding::{Finding, Place, Severity};
use crate::report::{self, Revision, RuleHash, Subject};
use crate::schedule;
use crate::table::Table;
use crate::value::Record;
use crate::workbook::{self, WriteOptions};

/// Says what a revision adds, removes and changes, by order line, bay and pour.
///
/// Each of the two is a schedule, which is read and computed, or a takeoff workbook of this
/// program, whose tables are read.
#[derive(Args)]
pub struct Compare {
    /// The schedule or takeoff workbook as it was
    old: PathBuf,
    /// The schedule or takeoff workbook as it is
    new: PathBuf,
    /// Write the differences as a workbook
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// Write over a file that this program did not write
    #[arg(long, requires = "output")]
    replace: bool,
    /// Compare this table by these columns, in place of order lines, bays and pours
    #[arg(long, value_name = "TABLE=COLUMN,…")]
    by: Vec<By>,
}

/// `bundles=bundle,type`.
#[derive(Clone, Debug)]
struct By {
    table: String,
    columns: Vec<Arc<str>>,
}

impl std::str::FromStr for By {
    type Err = String;

    fn from_str(text: &str) -> Result<By, String> {
        let wrong =
            || "wanted a table and its key columns, such as `order=type,length_ft`".to_owned();
        let (table, columns) = text.split_once('=').ok_or_else(wrong)?;
        let columns: Vec<Arc<str>> =
            columns.split(',').map(str::trim).filter(|c| !c.is_empty()).map(Arc::from).collect();
        if table.trim().is_empty() || columns.is_empty() {
            return Err(wrong());
        }
        Ok(By { table: table.trim().to_owned(), columns })
    }
}

/// One of the two, as tables.
struct Side {
    name: String,
    head: Record,
    tables: Vec<Arc<Table>>,
    rules: Vec<RuleHash>,
    findings: Vec<Finding>,
}

impl Compare {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        match self.compare(common) {
            Ok((revision, findings)) => {
                say.findings(&findings);
                for line in report::lines(&revision) {
                    say.line(&line);
                }
                if let Some(output) = &self.output {
                    say.line(&format!("wrote {}", output.display()));
                }
                say.result("compare", &findings, || report::revision_json(&revision));
                let incomplete = findings.iter().any(|finding| finding.severity == Severity::Error);
                if incomplete { End::Incomplete } else { End::Done }
            }
            Err(findings) => {
                say.failed("compare", &findings);
                End::Failed
            }
        }
    }

    fn compare(&self, common: &Common) -> Result<(Revision, Vec<Finding>), Vec<Finding>> {
        let old = side(&self.old, common)?;
        let new = side(&self.new, common)?;
        let mut findings = [old.findings, new.findings].concat();
        let of =
            |side: &[Arc<Table>], key: &str| side.iter().find(|table| &*table.key == key).cloned();
        if let (Some(old), Some(new)) = (of(&old.tables, "order"), of(&new.tables, "order")) {
            findings.extend(report::moved_marks(&old, &new));
        }
        findings.extend(report::changed_rules(&old.rules, &new.rules));
        let mut differences = Vec::new();
        for subject in self.subjects(&new.tables)? {
            match (of(&old.tables, &subject.table), of(&new.tables, &subject.table)) {
                (Some(old), Some(new)) => {
                    differences.push(report::compare(&subject, &old, &new).map_err(|f| vec![f])?);
                }
                (was, _) => findings.push(Finding::warning(
                    "table-missing",
                    format!(
                        "table `{}` is not compared: `{}` has none",
                        subject.table,
                        if was.is_none() { &old.name } else { &new.name }
                    ),
                )),
            }
        }
        let revision = Revision { old: old.name, new: new.name, differences };
        if let Some(output) = &self.output {
            let report = report::revision_report(&revision, new.head, findings.clone());
            let inputs = vec![self.old.clone(), self.new.clone()];
            let options = WriteOptions {
                inputs,
                replace: self.replace,
                threads: common.threads,
                ..WriteOptions::default()
            };
            let written =
                workbook::write(&report, output, &options).map_err(|not| vec![not.finding()])?;
            findings.extend(written.findings);
        }
        Ok((revision, findings))
    }

    fn subjects(&self, tables: &[Arc<Table>]) -> Result<Vec<Subject>, Vec<Finding>> {
        if self.by.is_empty() {
            return Ok(Subject::usual());
        }
        self.by
            .iter()
            .map(|by| {
                let table = tables.iter().find(|table| *table.key == *by.table);
                table.map(|table| Subject::by(table, by.columns.clone())).ok_or_else(|| {
                    let known: Vec<&str> = tables.iter().map(|table| &*table.key).collect();
                    let message = format!("there is no table `{}`", by.table);
                    vec![
                        Finding::error("no-table", message)
                            .hint(format!("the tables are `{}`", known.join("`, `"))),
                    ]
                })
            })
            .collect()
    }
}

fn side(path: &Path, common: &Common) -> Result<Side, Vec<Finding>> {
    let Some(status) = workbook::output_status(path) else {
        let report = evaluate(path, common)?;
        let name = report.schedule.clone();
        let rules = report::rules_in_force(&report);
        let findings = report.findings.into_iter().filter(|f| f.severity == Severity::Error);
        return Ok(Side {
            name,
            head: report.head,
            tables: report.tables,
            rules,
            findings: findings.collect(),
        });
    };
    let sheets = schedule::plain_sheets(path, &load::limits(common)).map_err(|un| un.findings)?;
    let tables = report::reread(&sheets, &super::run::defined(common)?);
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let mut findings = Vec::new();
    if status.starts_with("incomplete") {
        let message = format!("the takeoff states that it is {status}");
        findings.push(Finding::error("incomplete", message).at(Place::File(Arc::from(&*name))));
    }
    let tables = tables.into_iter().map(Arc::new).collect();
    let rules = report::rules_of(&sheets);
    Ok(Side { name, head: Record::default(), tables, rules, findings })
}
