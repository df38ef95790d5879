//! Times a run's stages on a generated schedule beside the raw libraries: read, evaluate, write.
//!
//! `cargo bench --bench run [BAYS]`; 100,000 bays where no number is given.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly"
)]

#[path = "made.rs"]
mod made;

use std::num::NonZeroUsize;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use baytally::rules::{self, RunOptions};
use baytally::schedule::{ReadOptions, read_bytes};
use baytally::value::Value;
use baytally::workbook::{self, WriteOptions};
use rust_xlsxwriter::Workbook;

const BAYS: usize = 100_000;

fn main() {
    let bays = std::env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(BAYS);
    let bytes = made::schedule(bays);
    println!("{bays} bays, {} a level, schedule of {} KB", made::LEVEL, bytes.len() / 1024);

    let raw_read = timed("raw streaming read", || assert!(made::cells_read(&bytes) > 0));
    let options = ReadOptions::default();
    let (read, (job, findings)) =
        timed_value("read", || read_bytes(bytes.clone(), "generated.xlsx", &options).unwrap());
    let scripts = Arc::new(rules::scripts(None).unwrap());
    let job = Arc::new(job);
    let one = RunOptions { threads: NonZeroUsize::MIN, ..RunOptions::default() };
    let run = |options| rules::run(job.clone(), scripts.clone(), findings.clone(), options);
    timed("evaluate, 1 thread", || assert!(run(one).is_ok()));
    let (evaluate, report) = timed_value("evaluate, all cores", || {
        run(RunOptions::default()).map_err(|_| "ended").unwrap()
    });
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out.xlsx");
    let write = timed("write", || {
        workbook::write(&report, &path, &WriteOptions::default()).unwrap();
    });
    let raw_write = timed("raw write of the same cells", || {
        raw_write(&report, &folder.path().join("raw.xlsx"));
    });
    let (ours, floor) = (read + evaluate + write, raw_read + raw_write);
    println!("ours {ours:.0} ms, floor {floor:.0} ms, {:.2} times", ours / floor);
}

fn timed(what: &str, run: impl FnOnce()) -> f64 {
    timed_value(what, run).0
}

fn timed_value<T>(what: &str, run: impl FnOnce() -> T) -> (f64, T) {
    let start = Instant::now();
    let value = run();
    let milliseconds = start.elapsed().as_secs_f64() * 1e3;
    println!("{what:<30} {milliseconds:>9.0} ms");
    (milliseconds, value)
}

fn raw_write(report: &baytally::table::Report, path: &Path) {
    let mut book = Workbook::new();
    book.set_zip_compression_level(1);
    for table in &report.tables {
        let sheet = book.add_worksheet_with_constant_memory().unwrap();
        for row in 0..table.rows {
            let line = u32::try_from(row).unwrap();
            let shown = table.row(row).iter().zip(&table.columns).filter(|(_, c)| !c.hidden);
            for (column, (value, _)) in (0..).zip(shown) {
                match &*value {
                    Value::Text(text) => drop(sheet.write_string(line, column, &**text).unwrap()),
                    other => {
                        if let Some(number) = other.as_number() {
                            sheet.write_number(line, column, number).unwrap();
                        }
                    }
                }
            }
        }
    }
    book.save(path).unwrap();
}
