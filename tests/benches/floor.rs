//! The least that a run can cost: a schedule read cell by cell and the cells of an output written with
//! the same writer and settings, nothing computed.
//!
//! `cargo bench --bench floor -- make BAYS FILE` writes a large schedule;
//! `cargo bench --bench floor -- SCHEDULE OUTPUT SHAPES` times both in milliseconds and describes the
//! output's sheets in a file for programs that write as much. `tests/benches/whole.py` calls it.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_precision_loss,
    reason = "what can not go on here stops loudly; cells hold decimals"
)]

#[path = "made.rs"]
mod made;

use std::io::{Cursor, Write as _};
use std::time::Instant;

use calamine::{DataRef, Reader, Xlsx};
use flate2::Compression;
use flate2::write::GzEncoder;
use rust_xlsxwriter::Workbook;
use serde_json::json;

/// A cell of the output: its row, its column, and a number or text.
type Cell = (u32, u16, Result<f64, String>);

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["make", bays, file] => {
            std::fs::write(file, made::schedule(bays.parse().unwrap())).unwrap();
        }
        [schedule, output, shapes] => floor(schedule, output, shapes),
        _ => panic!("wanted `make BAYS FILE` or `SCHEDULE OUTPUT SHAPES`"),
    }
}

fn floor(schedule: &str, output: &str, shapes: &str) {
    let sheets = cells_of(&std::fs::read(output).unwrap());
    let described: Vec<_> = sheets.iter().map(|(name, cells)| shape(name, cells)).collect();
    std::fs::write(shapes, json!(described).to_string()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("raw.xlsx");

    let begun = Instant::now();
    let read = made::cells_read(&std::fs::read(schedule).unwrap());
    let read_ms = begun.elapsed().as_secs_f64() * 1e3;
    let begun = Instant::now();
    let mut book = Workbook::new();
    book.set_zip_compression_level(1);
    for (_, cells) in &sheets {
        let sheet = book.add_worksheet_with_constant_memory().unwrap();
        for (row, column, cell) in cells {
            match cell {
                Ok(number) => sheet.write_number(*row, *column, *number).unwrap(),
                Err(text) => sheet.write_string(*row, *column, text).unwrap(),
            };
        }
    }
    book.save(&path).unwrap();
    let write_ms = begun.elapsed().as_secs_f64() * 1e3;

    // A yardstick that knows neither library: the written bytes compressed once more.
    let bytes = std::fs::read(&path).unwrap();
    let begun = Instant::now();
    let mut gzip = GzEncoder::new(std::io::sink(), Compression::new(6));
    gzip.write_all(&bytes).unwrap();
    gzip.finish().unwrap();
    let gzip_ms = begun.elapsed().as_secs_f64() * 1e3;
    let written: usize = sheets.iter().map(|(_, cells)| cells.len()).sum();
    let figures = json!({
        "read_ms": read_ms, "write_ms": write_ms, "gzip_ms": gzip_ms, "bytes": bytes.len(),
        "cells_read": read, "cells_written": written,
    });
    println!("{figures}");
}

fn cells_of(bytes: &[u8]) -> Vec<(String, Vec<Cell>)> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let names = book.sheet_names();
    let sheet = |name: String| {
        let mut cells = Vec::new();
        let mut reader = book.worksheet_cells_reader(&name).unwrap();
        while let Some(cell) = reader.next_cell().unwrap() {
            let (row, column) = cell.get_position();
            let value = match cell.get_value() {
                DataRef::Int(number) => Ok(*number as f64),
                DataRef::Float(number) => Ok(*number),
                DataRef::DateTime(date) => Ok(date.as_f64()),
                DataRef::String(text) => Err(text.clone()),
                DataRef::SharedString(text) => Err((*text).to_owned()),
                _ => continue,
            };
            cells.push((row, u16::try_from(column).unwrap(), value));
        }
        (name, cells)
    };
    names.into_iter().map(sheet).collect()
}

/// Rows, numbers and texts of a sheet, and how long its texts are.
fn shape(name: &str, cells: &[Cell]) -> serde_json::Value {
    let texts: Vec<usize> =
        cells.iter().filter_map(|cell| cell.2.as_ref().err()).map(String::len).collect();
    json!({
        "sheet": name,
        "rows": cells.iter().map(|cell| cell.0 + 1).max().unwrap_or(0),
        "numbers": cells.len() - texts.len(),
        "texts": texts.len(),
        "characters": texts.iter().sum::<usize>(),
    })
}
