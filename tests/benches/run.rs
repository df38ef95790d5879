//! Times a run's stages on a generated schedule beside the raw libraries: read, evaluate, write.
//!
//! `cargo bench --bench run [BAYS]`; 100,000 bays where no number is given.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly"
)]

use std::io::Cursor;
use std::num::NonZeroUsize;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use baytally::rules::{self, RunOptions};
use baytally::schedule::{ReadOptions, read_bytes};
use baytally::value::Value;
use baytally::workbook::{self, WriteOptions};
use calamine::{Reader, Xlsx};
use rust_xlsxwriter::Workbook;

const BAYS: usize = 100_000;
const LEVELS: usize = 200;

fn main() {
    let bays = std::env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(BAYS);
    let bytes = generated(bays);
    println!("{bays} bays on {LEVELS} levels, schedule of {} KB", bytes.len() / 1024);

    let raw_read = timed("raw streaming read", || raw_read(&bytes));
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

fn generated(bays: usize) -> Vec<u8> {
    let mut book = Workbook::new();
    let job = book.add_worksheet().set_name("Job").unwrap();
    for (row, (key, value)) in
        [("Job", "generated"), ("Grade", "SS 50"), ("Finish", "G60"), ("Start date", "2027-03-01")]
            .iter()
            .enumerate()
    {
        let row = u32::try_from(row).unwrap();
        job.write_string(row, 0, *key).unwrap().write_string(row, 1, *value).unwrap();
    }
    let types = book.add_worksheet().set_name("Types").unwrap();
    let rows = [
        ["Type", "Use", "Profile", "Cover", "Gauge", "Slab", "Mix"],
        ["D1", "composite", "3x12", "36", "20", "6 1/4", "LW 110"],
        ["D2", "composite", "2x12", "36", "20", "5", "NW 145"],
    ];
    for (row, cells) in (0..).zip(rows) {
        for (column, cell) in (0..).zip(cells) {
            types.write_string(row, column, cell).unwrap();
        }
    }
    let sheet = book.add_worksheet_with_constant_memory().unwrap().set_name("Bays").unwrap();
    let headings = [
        "Level",
        "Bay",
        "Type",
        "Sequence",
        "Spans",
        "Width",
        "Copies",
        "Pour",
        "Drawing",
        "Note",
        "Support",
        "Runs",
        "Start end",
        "Far end",
        "Alternate",
    ];
    for (column, heading) in (0..).zip(headings) {
        sheet.write_string(0, column, heading).unwrap();
    }
    let spans = ["3@10'-0\"", "4@7'-6\"", "2@10'-0\"", "3@9'-6\""];
    for bay in 0..bays {
        let row = u32::try_from(bay + 1).unwrap();
        let level = bay * LEVELS / bays;
        let cells = [
            format!("L{level}"),
            format!("B{bay}"),
            ["D1", "D2"][bay % 2].to_owned(),
            format!("S{level}"),
            spans[bay % 4].to_owned(),
            format!("{}'-{}\"", 20 + bay % 17, bay % 12),
            "1".to_owned(),
            format!("P{}", bay % 2 + 2 * (bay / 2 % 2)),
            "S-1".to_owned(),
            String::new(),
            "W16".to_owned(),
            "E-W".to_owned(),
            "cl".to_owned(),
            "cl".to_owned(),
        ];
        for (column, cell) in (0..).zip(&cells) {
            if !cell.is_empty() {
                sheet.write_string(row, column, cell).unwrap();
            }
        }
    }
    book.save_to_buffer().unwrap()
}

fn raw_read(bytes: &[u8]) {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let mut cells = 0_u64;
    for name in book.sheet_names() {
        let mut reader = book.worksheet_cells_reader(&name).unwrap();
        while reader.next_cell_with_formula().unwrap().is_some() {
            cells += 1;
        }
    }
    assert!(cells > 0);
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
                match value {
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
