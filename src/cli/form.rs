//! `form`: order forms filled from the order's lines, one a supplier, level, ship date or whatever
//! column they are parted by.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use indexmap::IndexMap;
use serde_json::json;

use super::say::Say;
use super::{Common, End, run};
use crate::batch;
use crate::finding::{Finding, Place};
use crate::table::{Report, Table};
use crate::value::{Record, Value};
use crate::workbook::{self, form};

/// The form that is filled where none is named.
const FORM: &[u8] = include_bytes!("../../templates/order-form.xlsx");

/// Fills order forms from the lines of the order.
#[derive(Args)]
pub struct Form {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// The shop's own form, with {job} and {line.count} and the like in its cells
    #[arg(long, value_name = "F")]
    form: Option<PathBuf>,
    /// The column of the order by which the lines are parted, a file each
    #[arg(long, value_name = "KEY", default_value = "sequence")]
    by: String,
    /// The folder to write the forms into, made where it is missing
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Write over files of the same names
    #[arg(long)]
    replace: bool,
}

impl Form {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        match self.fill(common) {
            Err(findings) => {
                say.failed("form", &findings);
                End::Failed
            }
            Ok((report, written)) => {
                say.findings(&report.findings);
                for path in &written {
                    say.line(&format!("wrote {}", path.display()));
                }
                let paths: Vec<String> =
                    written.iter().map(|path| path.display().to_string()).collect();
                say.result("form", &report.findings, json!({ "outputs": paths }));
                if report.is_incomplete() { End::Incomplete } else { End::Done }
            }
        }
    }

    fn fill(&self, common: &Common) -> Result<(Report, Vec<PathBuf>), Vec<Finding>> {
        let bytes = match &self.form {
            None => FORM.to_vec(),
            Some(path) => std::fs::read(path)
                .map_err(|error| vec![unwritten(path, &format!("it can not be read: {error}"))])?,
        };
        let form = form::Form::open(bytes).map_err(|error| vec![error.finding()])?;
        let report = run::evaluate(&self.schedule, common)?;
        let order = report
            .table("order")
            .ok_or_else(|| vec![Finding::error("no-order", "the report has no order")])?;
        let groups = parted(order, &self.by)?;
        let names = batch::safe_names(groups.keys().map(String::as_str));
        let mut outputs = Vec::with_capacity(groups.len());
        for ((key, lines), name) in groups.iter().zip(names) {
            let mut values = report.head.clone();
            values.insert(Arc::from(self.by.as_str()), Value::text(key));
            values.insert(Arc::from("on_site"), on_site(&report, &self.by, key));
            let filled = form.fill(&values, lines).map_err(|error| vec![error.finding()])?;
            let path = self.output.join(format!("{name}.xlsx"));
            if path.exists() && !self.replace {
                return Err(vec![
                    unwritten(&path, "a file of that name is there already")
                        .hint("`--replace` writes over it"),
                ]);
            }
            outputs.push((path, filled));
        }
        std::fs::create_dir_all(&self.output)
            .map_err(|error| vec![unwritten(&self.output, &error.to_string())])?;
        let mut written = Vec::with_capacity(outputs.len());
        for (path, filled) in outputs {
            workbook::put(&path, &filled)
                .map_err(|error| vec![unwritten(&path, &error.to_string())])?;
            written.push(path);
        }
        Ok((report, written))
    }
}

fn unwritten(path: &Path, why: &str) -> Finding {
    Finding::error("no-form", format!("`{}`: {why}", path.display()))
        .at(Place::File(Arc::from(path.display().to_string())))
}

/// The order's lines by the value of a column, in the order in which they first come. Lines with
/// nothing to order are left out.
fn parted(order: &Table, by: &str) -> Result<IndexMap<String, Vec<Record>>, Vec<Finding>> {
    let Some(at) = order.column(by) else {
        let keys: Vec<&str> = order.columns.iter().filter(|c| !c.hidden).map(|c| &*c.key).collect();
        return Err(vec![
            Finding::error("unknown-column", format!("the order has no column `{by}`"))
                .hint(format!("it has {}", keys.join(", "))),
        ]);
    };
    let count = order.column("count");
    let mut groups: IndexMap<String, Vec<Record>> = IndexMap::new();
    for row in 0..order.rows {
        let cells = order.row(row);
        if count.is_some_and(|count| cells[count].as_number() == Some(0.0)) {
            continue;
        }
        let mut line: Record = order
            .columns
            .iter()
            .zip(cells)
            .map(|(column, value)| (column.key.clone(), value.clone()))
            .collect();
        if let Some(weight) = line.get("weight_lb").cloned() {
            line.insert(Arc::from("deck_lb"), weight);
        }
        let key = match &cells[at] {
            Value::Text(text) => text.to_string(),
            Value::Blank => "none".to_owned(),
            other => other.to_string(),
        };
        groups.entry(key).or_default().push(line);
    }
    Ok(groups)
}

/// The day on site of a sequence's bundles.
fn on_site(report: &Report, by: &str, key: &str) -> Value {
    let find = || {
        let bundles = report.table("bundles").filter(|_| by == "sequence")?;
        let (sequence, day) = (bundles.column("sequence")?, bundles.column("on_site")?);
        let row =
            (0..bundles.rows).find(|&row| bundles.row(row)[sequence].as_text() == Some(key))?;
        Some(bundles.row(row)[day].clone())
    };
    find().unwrap_or_default()
}
