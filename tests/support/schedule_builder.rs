//! Schedules made in memory, by a library that is not the reader's.
//!
//! ```ignore
//! let bytes = schedule()
//!     .sheet("Bays")
//!     .row(["Level", "Bay", "Type", "Spans", "Width"])
//!     .row(["2", "A1", "D1", "3@10'", "62'"])
//!     .bytes();
//! ```
#![allow(dead_code, reason = "each test module uses its part")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests stop here")]

use baytally::finding::Finding;
use baytally::job::Job;
use baytally::schedule::{ReadOptions, Unreadable, read_bytes};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};

/// A cell to write.
#[derive(Clone, Debug)]
pub enum Cell {
    Blank,
    Text(String),
    Number(f64),
    /// A number in a number format.
    Formatted(f64, &'static str),
    Bool(bool),
    /// Year, month, day.
    Date(u16, u8, u8),
    /// The formula and its cached result.
    Formula(String, String),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        if text.is_empty() { Cell::Blank } else { Cell::Text(text.to_owned()) }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::from(text.as_str())
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        Cell::Number(number)
    }
}

impl From<i32> for Cell {
    fn from(number: i32) -> Cell {
        Cell::Number(f64::from(number))
    }
}

impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::Bool(flag)
    }
}

/// A row of cells of several kinds: `cells!["2", 31.0, Cell::Date(2026, 3, 2)]`.
#[macro_export]
macro_rules! cells {
    ($($cell:expr),* $(,)?) => {
        vec![$($crate::support::schedule_builder::Cell::from($cell)),*]
    };
}

/// A schedule workbook being made.
pub struct Schedule {
    sheets: Vec<(String, Vec<Vec<Cell>>)>,
    /// Names of those that are hidden.
    hidden: Vec<String>,
}

/// An empty schedule workbook.
pub fn schedule() -> Schedule {
    Schedule { sheets: Vec::new(), hidden: Vec::new() }
}

impl Schedule {
    /// Starts a sheet; the rows that follow are its.
    pub fn sheet(mut self, name: &str) -> Schedule {
        self.sheets.push((name.to_owned(), Vec::new()));
        self
    }

    /// Starts a hidden sheet.
    pub fn hidden_sheet(mut self, name: &str) -> Schedule {
        self.hidden.push(name.to_owned());
        self.sheet(name)
    }

    /// Writes the next row.
    pub fn row<C: Into<Cell>>(mut self, cells: impl IntoIterator<Item = C>) -> Schedule {
        let (_, rows) = self.sheets.last_mut().expect("a sheet before its rows");
        rows.push(cells.into_iter().map(Into::into).collect());
        self
    }

    /// The workbook's bytes.
    pub fn bytes(&self) -> Vec<u8> {
        let mut book = Workbook::new();
        for (name, rows) in &self.sheets {
            let sheet = book.add_worksheet();
            sheet.set_name(name).unwrap();
            sheet.set_hidden(self.hidden.contains(name));
            for (row, cells) in rows.iter().enumerate() {
                for (column, cell) in cells.iter().enumerate() {
                    write(sheet, u32::try_from(row).unwrap(), u16::try_from(column).unwrap(), cell);
                }
            }
        }
        book.save_to_buffer().unwrap()
    }

    /// The workbook read with the usual options.
    pub fn read(&self) -> Result<(Job, Vec<Finding>), Unreadable> {
        read_bytes(self.bytes(), "schedule.xlsx", &ReadOptions::default())
    }

    /// The job, where nothing stands in its way.
    pub fn job(&self) -> Job {
        self.read().unwrap_or_else(|e| panic!("{e}")).0
    }

    /// Each finding as text, notes left out.
    pub fn findings(&self) -> Vec<String> {
        let findings = match self.read() {
            Ok((_, findings)) => findings,
            Err(unreadable) => unreadable.findings,
        };
        let said = |finding: &&Finding| finding.severity != baytally::finding::Severity::Note;
        findings.iter().filter(said).map(ToString::to_string).collect()
    }
}

fn write(sheet: &mut Worksheet, row: u32, column: u16, cell: &Cell) {
    match cell {
        Cell::Blank => {}
        Cell::Text(text) => {
            sheet.write_string(row, column, text).unwrap();
        }
        Cell::Number(number) => {
            sheet.write_number(row, column, *number).unwrap();
        }
        Cell::Formatted(number, code) => {
            let format = Format::new().set_num_format(*code);
            sheet.write_number_with_format(row, column, *number, &format).unwrap();
        }
        Cell::Bool(flag) => {
            sheet.write_boolean(row, column, *flag).unwrap();
        }
        Cell::Date(year, month, day) => {
            let date = ExcelDateTime::from_ymd(*year, *month, *day).unwrap();
            let format = Format::new().set_num_format("yyyy-mm-dd");
            sheet.write_datetime_with_format(row, column, &date, &format).unwrap();
        }
        Cell::Formula(formula, result) => {
            let formula = Formula::new(formula).set_result(result);
            sheet.write_formula(row, column, formula).unwrap();
        }
    }
}

/// Three bays alike, of which one is on hold and one of an alternate.
pub fn with_bays_apart() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Status", "Alternate"])
        .row(["2", "A", "D1", "3@10'", "30'", "", ""])
        .row(["2", "B", "D1", "3@10'", "30'", "hold", ""])
        .row(["2", "C", "D1", "3@10'", "30'", "", "1"])
}

/// Types for tests: a composite D1, a roof RD1.
pub fn with_types(schedule: Schedule) -> Schedule {
    schedule
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .row(["RD1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none", ""])
}
