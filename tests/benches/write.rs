//! Times the writing of 100,000 rows of 30 columns beside the writing library alone with the same
//! cells (constant memory, lightest packing, no formats), and tells the peak memory of each.
//!
//! Before that it times the filling of an order form.
//!
//! `cargo bench --bench write` runs all in turn; `-- ours` or `-- raw` runs one, for its memory.

#![allow(clippy::unwrap_used, clippy::cast_precision_loss, reason = "a bench")]

use std::path::Path;
use std::time::Instant;

use baytally::cells::Cells;
use baytally::finding::{Finding, Place};
use baytally::table::{Column, Report, Table};
use baytally::value::{Record, Value};
use baytally::workbook::form::Form;
use baytally::workbook::{WriteOptions, write};
use jiff::civil::date;
use rust_xlsxwriter::Workbook;

const ROWS: u32 = 100_000;
const COLUMNS: usize = 30;
const UNITS: [&str; 6] = ["text", "count", "lb", "ft", "ft-in", "date"];

fn main() {
    let only = std::env::args().skip(1).find(|argument| !argument.starts_with('-'));
    let folder = tempfile::tempdir().unwrap();
    let report = report();
    if only.is_none() {
        forms();
    }
    println!("{ROWS} rows x {COLUMNS} columns; before writing: {}", peak());
    for (name, run) in [("raw", raw as fn(&Report, &Path)), ("ours", ours)] {
        if only.as_ref().is_some_and(|only| only != name) {
            continue;
        }
        let path = folder.path().join(name).with_extension("xlsx");
        let mut times: Vec<u128> = (0..5)
            .map(|_| {
                let start = Instant::now();
                run(&report, &path);
                start.elapsed().as_millis()
            })
            .collect();
        times.sort_unstable();
        let megabytes = std::fs::metadata(&path).unwrap().len() as f64 / 1e6;
        println!("{name}: median {} ms of {times:?}, {megabytes:.1} MB; {}", times[2], peak());
    }
}

/// Fills the tests' shop form, a thousand times with ten lines and with five hundred.
fn forms() {
    const TIMES: u32 = 1_000;
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbook/forms/shop.xlsx");
    let form = Form::open(std::fs::read(path).unwrap()).unwrap();
    let mut values = Record::default();
    let mut line = Record::default();
    for (_, name) in form.placeholders() {
        match name.strip_prefix("line.") {
            Some(name) => line.insert(name.into(), Value::Number(30.5)),
            None => values.insert(name.into(), Value::text("invented")),
        };
    }
    for count in [10, 500] {
        let lines = vec![line.clone(); count];
        let start = Instant::now();
        for _ in 0..TIMES {
            form.fill(&values, &lines).unwrap();
        }
        let each = start.elapsed().as_secs_f64() * 1e3 / f64::from(TIMES);
        println!("a form with {count} lines: {each:.2} ms");
    }
}

fn report() -> Report {
    let columns: Vec<Column> = (0..COLUMNS)
        .map(|at| Column {
            key: format!("c{at}").into(),
            heading: format!("Column {at}").into(),
            unit: UNITS[at % UNITS.len()].into(),
            total: at % UNITS.len() == 2,
            note: None,
            format: None,
            hidden: false,
            origin: Place::File("bench".into()),
        })
        .collect();
    let marks: Vec<Value> = (0..500).map(|mark| Value::text(format!("B{mark}"))).collect();
    let day = Value::Date(date(2026, 3, 2));
    let length = Value::text("30'-6 1/2\"");
    let cells = (0..ROWS).flat_map(|row| {
        let (marks, day, length) = (&marks, &day, &length);
        (0..COLUMNS).map(move |at| match UNITS[at % UNITS.len()] {
            "count" => Value::Count(i64::from(row % 97)),
            "lb" => Value::Number(f64::from(row) * 1.734_5),
            "ft" => Value::Number(f64::from(row % 400) / 16.0),
            "ft-in" => length.clone(),
            "date" => day.clone(),
            _ => marks[row as usize % marks.len()].clone(),
        })
    });
    let cells = Cells::of(columns.len(), cells);
    let table = Table {
        key: "takeoff".into(),
        title: "Takeoff".into(),
        columns,
        cells,
        rows: ROWS as usize,
    };
    let finding = (0..300).fold(Finding::warning("look-here", "ask"), |finding, row| {
        finding.at(Place::Table {
            table: "takeoff".into(),
            row: row * 300,
            column: "c2".into(),
            about: "".into(),
        })
    });
    Report {
        schedule: "bench.xlsx".to_string(),
        tables: vec![table.into()],
        findings: vec![finding],
        ..Report::default()
    }
}

fn ours(report: &Report, path: &Path) {
    write(report, path, &WriteOptions::default()).unwrap();
}

/// The same cells without anything else.
fn raw(report: &Report, path: &Path) {
    let mut book = Workbook::new();
    book.set_zip_compression_level(1);
    let sheet = book.add_worksheet_with_constant_memory().unwrap();
    let table = &report.tables[0];
    for row in 0..ROWS {
        for (at, value) in (0_u16..).zip(table.row(row as usize).iter()) {
            match &*value {
                Value::Text(text) => {
                    sheet.write_string(row, at, &**text).unwrap();
                }
                Value::Date(_) => {
                    sheet.write_number(row, at, 46_083.0).unwrap();
                }
                other => {
                    sheet.write_number(row, at, other.as_number().unwrap()).unwrap();
                }
            }
        }
    }
    book.save(path).unwrap();
}

/// The most memory the process has had, where the system tells.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM"));
    line.map_or_else(
        || "peak unknown".to_string(),
        |line| line.replace("VmHWM:", "peak").trim().to_string(),
    )
}
