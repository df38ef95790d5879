//! Times the reading of a large schedule beside the raw streaming of the same cells:
//! `cargo bench --bench read [rows] [raw|ours]`; the last word runs one of the two alone, for
//! counting instructions.

#![allow(clippy::unwrap_used, reason = "a bench stops where it fails")]

use std::io::Cursor;
use std::time::{Duration, Instant};

use baytally::schedule::{ReadOptions, read_bytes};
use calamine::{Reader, Xlsx};
use rust_xlsxwriter::Workbook;

const RUNS: usize = 7;

fn main() {
    let rows: u32 = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(100_000);
    let bytes = schedule(rows);
    println!("{rows} bays x 15 columns, {} KB", bytes.len() / 1024);
    // In turns, so that a busy machine slows both alike.
    let (mut raw, mut ours) = (Vec::new(), Vec::new());
    let options = ReadOptions::default();
    let only = |word: &str| std::env::args().any(|argument| argument == word);
    for _ in 0..RUNS {
        raw.push(timed(|| (!only("ours")).then(|| stream(&bytes, rows))));
        ours.push(timed(|| (!only("raw")).then(|| read(&bytes, rows, &options))));
    }
    let (raw, ours) = (median(raw), median(ours));
    println!("raw streaming  {:8.1} ms", raw.as_secs_f64() * 1e3);
    println!("read into job  {:8.1} ms", ours.as_secs_f64() * 1e3);
    println!("ratio          {:8.2}", ours.as_secs_f64() / raw.as_secs_f64());
}

fn stream(bytes: &[u8], rows: u32) {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let mut reader = book.worksheet_cells_reader("Bays").unwrap();
    let mut cells = 0;
    while let Some(cell) = reader.next_cell_with_formula().unwrap() {
        cells += usize::from(cell.formula.is_none());
    }
    assert!(cells >= rows as usize * 15);
}

fn read(bytes: &[u8], rows: u32, options: &ReadOptions) {
    let (job, findings) = read_bytes(bytes.to_vec(), "bench.xlsx", options).unwrap();
    assert_eq!(job.bays.len(), rows as usize);
    assert!(findings.len() < 10, "{findings:?}");
}

fn timed<T>(work: impl Fn() -> T) -> Duration {
    let start = Instant::now();
    let _: T = work();
    start.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn schedule(rows: u32) -> Vec<u8> {
    let mut book = Workbook::new();
    let types = book.add_worksheet().set_name("Types").unwrap();
    for (row, cells) in [
        ["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"],
        ["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"],
        ["D2", "composite", "2x12", "36", "18", "SS 40", "G60", "5", "NW 145"],
    ]
    .iter()
    .enumerate()
    {
        types.write_row(u32::try_from(row).unwrap(), 0, *cells).unwrap();
    }
    let bays = book.add_worksheet().set_name("Bays").unwrap();
    bays.write_row(
        0,
        0,
        [
            "Level",
            "Bay",
            "Type",
            "Sequence",
            "Runs",
            "Spans",
            "Width",
            "Copies",
            "Pour",
            "Start end",
            "Far end",
            "Status",
            "Drawing",
            "Support",
            "Note",
        ],
    )
    .unwrap();
    for row in 0..rows {
        let at = row + 1;
        let level = row / 200;
        bays.write_string(at, 0, format!("L{level}")).unwrap();
        bays.write_string(at, 1, format!("B{row}")).unwrap();
        bays.write_string(at, 2, if row % 3 == 0 { "D1" } else { "D2" }).unwrap();
        bays.write_string(at, 3, format!("S{}", row / 100)).unwrap();
        bays.write_string(at, 4, if row % 2 == 0 { "E-W" } else { "N-S" }).unwrap();
        bays.write_string(at, 5, format!("3@{}'-{}\"", 8 + row % 5, row % 12)).unwrap();
        bays.write_number(at, 6, f64::from(20 + row % 40) + 0.25).unwrap();
        bays.write_number(at, 7, f64::from(1 + row % 3)).unwrap();
        bays.write_string(at, 8, format!("P{}", row % 4)).unwrap();
        bays.write_string(at, 9, "cl").unwrap();
        bays.write_string(at, 10, "+2\"").unwrap();
        bays.write_string(at, 11, "take-off").unwrap();
        bays.write_string(at, 12, format!("S-{}", row % 20)).unwrap();
        bays.write_string(at, 13, "steel beams").unwrap();
        bays.write_string(at, 14, format!("note {}", row % 7)).unwrap();
    }
    book.save_to_buffer().unwrap()
}
