//! A schedule of any size, invented: bays of four runs of spans and many widths on levels of 500, four
//! pours each.

use std::io::Cursor;

use calamine::{Reader, Xlsx};
use rust_xlsxwriter::Workbook;

/// Bays of a level.
pub const LEVEL: usize = 500;

/// The workbook's bytes.
pub fn schedule(bays: usize) -> Vec<u8> {
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
        let level = bay / LEVEL;
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

/// Streams a workbook's cells with the reading library alone; how many there are.
pub fn cells_read(bytes: &[u8]) -> u64 {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let mut cells = 0;
    for name in book.sheet_names() {
        let mut reader = book.worksheet_cells_reader(&name).unwrap();
        while reader.next_cell_with_formula().unwrap().is_some() {
            cells += 1;
        }
    }
    cells
}
