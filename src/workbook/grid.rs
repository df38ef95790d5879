//! A table on a sheet: totals, heading, rows, and beside them the words that go with the marks.
//!
//! Totals stand above the heading, where a filter can not hide them and where they are seen first;
//! they are `SUBTOTAL(109, …)` and so count the rows that a filter shows.

use std::ops::Range;

use rust_xlsxwriter::{Format, Formula, Note, Url, Worksheet, XlsxError};

use crate::finding::{Severity, column_letters};
use crate::table::Table;
use crate::value::Value;

use super::cell::{Cell, ERROR_WORD, as_date, as_text, error_format, fitting};
use super::columns::{Shown, Total, on};
use super::marks::{Mark, Marks};
use super::measure::{LINE, lines, row_height};
use super::names::quoted;
use super::style::{self, Ground, Stand};
use super::unit::Side;

/// The row of the first cells on a table's own sheet, from 0: title, line under it, totals,
/// heading.
pub(super) const FIRST_ROW: u32 = 4;
/// Above this many cells a sheet is written row by row out of memory, without lines in its cells.
const LARGE: usize = 50_000;
/// Links and notes cost a part of their own each; past so many on a sheet the words must do.
const MOST_LINKS: usize = 1_000;
const LOOK: &str = "Checks";
const LOOK_WIDTH: f64 = 13.0;
const LOOK_STAND: Stand<'static> = Stand { indent: true, ..Stand::WORDS };

/// A note with the row and column of its cell.
pub(super) type Hung = (u32, u16, Note);

/// A table, or a part of it, as it stands on a sheet.
pub(super) struct Grid<'a> {
    pub name: String,
    pub table: &'a Table,
    pub columns: Vec<Shown<'a>>,
    pub marks: Marks,
    pub rows: Range<usize>,
    /// All the sheets the table takes and their rows, the first bearing the totals.
    pub parts: Vec<(String, Range<usize>)>,
}

impl Grid<'_> {
    /// The cells of its rows.
    pub(super) fn cells(&self) -> usize {
        self.rows.len().saturating_mul(self.columns.len())
    }

    pub(super) fn is_large(&self) -> bool {
        self.cells() > LARGE
    }

    /// Whether its columns have the formats of its plain cells, which then need none of their own: the
    /// library looks each up by all that it says. The summary shares its sheet.
    fn is_by_column(&self) -> bool {
        !self.is_summary()
    }

    fn is_summary(&self) -> bool {
        &*self.table.key == "summary"
    }

    /// The column of the words that go with the marks, where there are any.
    fn look(&self) -> Option<u16> {
        if self.marks.is_empty() { None } else { u16::try_from(self.columns.len()).ok() }
    }

    /// The width of all its columns.
    pub(super) fn width(&self) -> f64 {
        let look = self.look().map_or(0.0, |_| LOOK_WIDTH);
        self.columns.iter().map(|column| column.width).sum::<f64>() + look
    }

    /// The number of sheet columns that it takes.
    pub(super) fn columns_taken(&self) -> u16 {
        let last = self.look().or_else(|| self.columns.last().map(|column| column.place));
        last.map_or(0, |last| last + 1)
    }

    /// How many leading columns stay in view: the words that name a row, where it is a long one.
    pub(super) fn frozen(&self) -> u16 {
        const LONG: f64 = 120.0;
        const ROOM: f64 = 45.0;
        if self.width() < LONG {
            return 0;
        }
        let mut used = 0.0;
        let named = self.columns.iter().take(3).take_while(|column| {
            used += column.width;
            column.stand.side == Side::Left && used < ROOM
        });
        named.last().map_or(0, |column| column.place + 1)
    }

    pub(super) fn paint_widths(&self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        for column in &self.columns {
            sheet.set_column_width(column.place, column.width)?;
        }
        if let Some(look) = self.look() {
            sheet.set_column_width(look, LOOK_WIDTH)?;
        }
        Ok(())
    }

    /// The formats of its cells, by column and ground.
    pub(super) fn formats(&self) -> Vec<[Format; 7]> {
        let by_column = self.is_by_column();
        self.columns.iter().map(|column| column.formats(by_column)).collect()
    }

    /// All formats that [`Self::paint_rows`] may use, whatever stands in the cells.
    pub(super) fn formats_of_rows(&self, formats: &[[Format; 7]]) -> Vec<Format> {
        let mut all = Vec::new();
        for (column, formats) in self.columns.iter().zip(formats) {
            // Rows without marks stand on one ground.
            let grounds = if self.marks.is_empty() { &formats[..1] } else { &formats[..] };
            for format in grounds {
                all.extend([format.clone(), as_text(format), as_date(format)]);
            }
            all.push(error_format(column.stand.side));
        }
        if !self.marks.is_empty() {
            let severities = [Severity::Error, Severity::Warning, Severity::Note];
            all.extend(severities.map(look_format));
        }
        all
    }

    /// Paints totals at `top`, the heading below, then the rows.
    pub(super) fn paint(&self, sheet: &mut Worksheet, top: u32) -> Result<(), XlsxError> {
        let formats = self.formats();
        self.paint_head(sheet, top, &formats)?;
        let notes = self.paint_rows(sheet, top + 2, &formats)?;
        self.end(sheet, top + 2, &notes)
    }

    /// Paints totals at `top` and the heading below.
    pub(super) fn paint_head(
        &self,
        sheet: &mut Worksheet,
        top: u32,
        formats: &[[Format; 7]],
    ) -> Result<(), XlsxError> {
        if self.is_by_column() {
            for (column, formats) in self.columns.iter().zip(formats) {
                sheet.set_column_format(column.place, on(formats, Ground::Plain))?;
            }
        }
        self.paint_totals(sheet, top)?;
        self.paint_heading(sheet, top + 1)
    }

    /// Paints the rows from `first` on; gives the notes that hang on their cells.
    pub(super) fn paint_rows(
        &self,
        sheet: &mut Worksheet,
        first: u32,
        formats: &[[Format; 7]],
    ) -> Result<Vec<Hung>, XlsxError> {
        let mut links = 0..MOST_LINKS;
        let mut notes = Vec::new();
        for (line, row) in (first..).zip(self.rows.clone()) {
            self.paint_row(sheet, line, row, formats, &mut links, &mut notes)?;
        }
        Ok(notes)
    }

    /// What goes on the sheet with the rows from `first` on beside their cells: the notes, the filter
    /// over the heading before them, the line below.
    pub(super) fn end(
        &self,
        sheet: &mut Worksheet,
        first: u32,
        notes: &[Hung],
    ) -> Result<(), XlsxError> {
        for (line, place, words) in notes {
            sheet.insert_note(*line, *place, words)?;
        }
        let Some(column) = self.columns.last().filter(|_| !self.is_summary()) else {
            return Ok(());
        };
        let below = u32::try_from(self.rows.len()).unwrap_or(u32::MAX).saturating_sub(1);
        let last = first.saturating_add(below);
        sheet.autofilter(first - 1, 0, last, self.columns_taken().saturating_sub(1))?;
        if !self.is_large() {
            style::rule_off(sheet, first..=last, column.place)?;
        }
        Ok(())
    }

    fn paint_row(
        &self,
        sheet: &mut Worksheet,
        line: u32,
        row: usize,
        formats: &[[Format; 7]],
        links: &mut Range<usize>,
        notes: &mut Vec<Hung>,
    ) -> Result<(), XlsxError> {
        let mark = self.marks.get(row);
        let unit = self.row_unit(row);
        let values = self.table.row(row);
        for (column, formats) in self.columns.iter().zip(formats) {
            let value = values.get(column.at).unwrap_or_default();
            let ground = mark.map_or(Ground::Plain, |mark| mark.ground(column.at));
            let by_column = ground == Ground::Plain && self.is_by_column();
            let cell = Cell { line, column, ground, format: on(formats, ground), by_column };
            match unit {
                Some(unit) => cell.put_in_unit(sheet, &value, unit)?,
                None => cell.put(sheet, &value)?,
            }
            if let Value::Error(why) = &*value
                && links.next().is_some()
            {
                notes.push((line, column.place, note(why)));
            }
        }
        let wrapped = self
            .columns
            .iter()
            .filter(|column| column.stand.wrap)
            .filter_map(|column| Some((values.text(column.at)?, column.width)));
        if let Some(height) = row_height(wrapped) {
            sheet.set_row_height(line, height)?;
        }
        match (mark, self.look()) {
            (Some(mark), Some(look)) => paint_look(sheet, line, look, mark, links),
            _ => Ok(()),
        }
    }

    /// The unit that a summary row names, for the numbers of columns that have none of their own.
    fn row_unit(&self, row: usize) -> Option<&str> {
        if !self.is_summary() {
            return None;
        }
        self.table.row(row).text(self.table.column("unit")?)
    }

    fn paint_totals(&self, sheet: &mut Worksheet, line: u32) -> Result<(), XlsxError> {
        let is_first = self.parts.first().is_none_or(|(name, _)| *name == self.name);
        if !is_first || self.columns.iter().all(|column| column.total == Total::None) {
            return Ok(());
        }
        for column in &self.columns {
            let place = column.place;
            match column.total {
                Total::Known(total) => {
                    let formula = Formula::new(self.total_formula(place, line + 2));
                    let formula = formula.set_result(total.to_string());
                    let format = style::total(Stand { side: Side::Right, ..column.stand });
                    sheet.write_formula_with_format(line, place, formula, &format)?;
                }
                Total::Unknown => {
                    let format = style::total_unknown();
                    sheet.write_string_with_format(line, place, ERROR_WORD, &format)?;
                }
                Total::None => {
                    let word = if place == 0 { "Total" } else { "" };
                    let format = style::total(Stand::WORDS);
                    sheet.write_string_with_format(line, place, word, &format)?;
                }
            }
        }
        Ok(())
    }

    /// `=SUBTOTAL(109,D5:D204)`, over all the sheets that the table takes.
    fn total_formula(&self, place: u16, first: u32) -> String {
        let letters = column_letters(place.into());
        let sum = |sheet: &str, rows: usize| {
            let last = first as usize + rows.max(1);
            format!("SUBTOTAL(109,{sheet}{letters}{}:{letters}{last})", first + 1)
        };
        match self.parts.as_slice() {
            [] | [_] => format!("={}", sum("", self.rows.len())),
            parts => {
                let sums = parts.iter().map(|(name, rows)| sum(&(quoted(name) + "!"), rows.len()));
                format!("={}", sums.collect::<Vec<_>>().join("+"))
            }
        }
    }

    fn paint_heading(&self, sheet: &mut Worksheet, line: u32) -> Result<(), XlsxError> {
        const TALLEST: f64 = 200.0;
        /// The filter's button stands in the lowest line, which is kept free of words.
        const BUTTON: f64 = 13.0;
        let mut most = 1.0_f64;
        for column in &self.columns {
            let heading = column.heading();
            most = most.max(column.lines(&heading));
            let format = style::heading(column.stand);
            sheet.write_string_with_format(line, column.place, fitting(&heading), &format)?;
        }
        self.note_headings(sheet, line)?;
        if let Some(look) = self.look() {
            sheet.write_string_with_format(line, look, LOOK, &style::heading(LOOK_STAND))?;
        }
        let button = if self.is_summary() { 0.0 } else { BUTTON };
        sheet.set_row_height(line, (most * LINE + button).min(TALLEST))?;
        Ok(())
    }

    /// Hangs the notes of columns on their headings.
    pub(super) fn note_headings(&self, sheet: &mut Worksheet, line: u32) -> Result<(), XlsxError> {
        for column in &self.columns {
            if let Some(words) = &column.column.note {
                let text = format!("{words}\nDefined at {}.", column.column.origin);
                sheet.insert_note(line, column.place, &note(&text))?;
            }
        }
        Ok(())
    }
}

fn look_format(severity: Severity) -> Format {
    style::cell(LOOK_STAND, Ground::Cell(severity))
}

fn paint_look(
    sheet: &mut Worksheet,
    line: u32,
    look: u16,
    mark: &Mark,
    links: &mut Range<usize>,
) -> Result<(), XlsxError> {
    let format = look_format(mark.severity);
    match mark.first.filter(|_| links.next().is_some()) {
        Some(finding) => {
            let url = Url::new(format!("internal:{}", super::checks::place_of(finding)));
            sheet.write_url_with_options(line, look, url, mark.word(), "", Some(&format))?;
        }
        None => {
            sheet.write_string_with_format(line, look, mark.word(), &format)?;
        }
    }
    Ok(())
}

/// A note on a cell, as tall as its words need.
pub(super) fn note(text: &str) -> Note {
    const WIDTH: u32 = 260;
    let longest: String = text.chars().take(1_000).collect();
    let height = match lines(&longest, 34.0) {
        few if few <= 2.0 => 50,
        some if some <= 4.0 => 90,
        more if more <= 8.0 => 160,
        _ => 320,
    };
    Note::new(longest).add_author_prefix(false).set_width(WIDTH).set_height(height)
}
