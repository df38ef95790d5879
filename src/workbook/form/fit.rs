//! What fits into the cells of a form: a text that would be cut off by the cell beside it is wrapped,
//! outside the lines over the blank cells beside it, and its row made as high as its lines need. No
//! column changes.

use quick_xml::events::Event;

use super::fill::FormSheet;
use super::formats::{Format, Formats, Wrapping};
use super::refs::At;
use super::sheet::{Attributes, Content, Row, Sheet};
use super::xml;
use crate::workbook::measure;

/// The widths and heights of a sheet.
pub(super) struct Room {
    /// First and last column and their width, as far as the sheet says.
    columns: Vec<(u32, u32, f64)>,
    usual_width: f64,
    usual_height: f64,
    /// The last column in which the form has anything.
    last: u32,
}

/// A cell of a row about to be written.
pub(super) struct Filled<'a> {
    pub column: u32,
    pub attributes: &'a Attributes,
    pub style: u32,
    pub content: Content,
    /// Whether it was filled from placeholders.
    pub is_filled: bool,
}

/// How a row is written so that nothing in it is cut off.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Fit {
    /// The columns whose cells must wrap, with their new formats.
    pub wrapped: Vec<(u32, u32)>,
    /// From which column to which cells are merged.
    pub merged: Vec<(u32, u32)>,
    /// The height, points; none where the row's own is enough.
    pub height: Option<f64>,
}

impl Room {
    pub(super) fn read(sheet: &Sheet) -> Result<Room, xml::Broken> {
        /// What programs take where the sheet does not say.
        const USUAL: (f64, f64) = (9.14, measure::LINE);
        let last = sheet.rows.iter().flat_map(|row| &row.cells).map(|cell| cell.at.column).max();
        let (usual_width, usual_height) = USUAL;
        let mut room =
            Room { columns: Vec::new(), usual_width, usual_height, last: last.unwrap_or(1) };
        let mut reader = xml::open(xml::piece(&sheet.xml, 0, sheet.data.start));
        loop {
            match xml::read(&mut reader)? {
                Event::Eof => return Ok(room),
                Event::Start(start) | Event::Empty(start) => {
                    let attributes = xml::attributes(&start)?;
                    let number = |name| xml::get(&attributes, name)?.parse::<f64>().ok();
                    let whole = |name| xml::get(&attributes, name)?.parse::<u32>().ok();
                    match xml::local(&start).as_str() {
                        "sheetFormatPr" => {
                            room.usual_width = number("defaultColWidth").unwrap_or(usual_width);
                            room.usual_height = number("defaultRowHeight").unwrap_or(usual_height);
                        }
                        "col" => {
                            let hidden = xml::get(&attributes, "hidden");
                            let width = match hidden {
                                Some("1" | "true") => Some(0.0),
                                _ => number("width"),
                            };
                            if let (Some(min), Some(max), Some(width)) =
                                (whole("min"), whole("max"), width)
                            {
                                room.columns.push((min, max, width));
                            }
                        }
                        _ => {}
                    }
                }
                _ => {}
            }
        }
    }

    fn width(&self, column: u32) -> f64 {
        let found = self.columns.iter().find(|(min, max, _)| (*min..=*max).contains(&column));
        found.map_or(self.usual_width, |(.., width)| *width)
    }

    fn across(&self, from: u32, to: u32) -> f64 {
        (from..=to).map(|column| self.width(column)).sum()
    }

    fn height(&self, row: Option<&Row>) -> f64 {
        let own = row.and_then(|row| xml::get(&row.attributes, "ht")?.parse::<f64>().ok());
        own.unwrap_or(self.usual_height)
    }

    /// How a row is written. `look` is the row of the form that it looks like.
    pub(super) fn fit(
        &self,
        form: &FormSheet,
        look: &Row,
        cells: &[Filled<'_>],
        (formats, wrapping): (&Formats, &Wrapping),
    ) -> Fit {
        let mut fit = Fit::default();
        let has = self.height(Some(look));
        let mut needs = has;
        for cell in cells.iter().filter(|cell| cell.is_filled) {
            let (Content::Text(words), Some(format)) = (&cell.content, formats.get(cell.style))
            else {
                continue;
            };
            let at = At { row: look.number, column: cell.column };
            let merged = form.merges.iter().find(|area| area.top == at);
            let own = merged.map_or(cell.column, |area| area.bottom.column);
            if format.is_its_own() || self.across(cell.column, own) <= 0.0 {
                continue;
            }
            let mut last = own;
            if !format.wraps() {
                let over = if merged.is_none() {
                    self.wraps_over(form, at, cells, (&words.text, format))
                } else {
                    let wide = self.across(cell.column, own);
                    (!is_one_line(&words.text, wide, format)).then_some(own)
                };
                let Some(over) = over else { continue };
                let Some(style) = formats.wrapped(cell.style, wrapping) else { continue };
                fit.wrapped.push((cell.column, style));
                if over > own {
                    fit.merged.push((cell.column, over));
                }
                last = over;
            }
            let below: f64 = merged.map_or(0.0, |area| {
                (area.top.row + 1..=area.bottom.row)
                    .map(|row| self.height(form.sheet.row(row)))
                    .sum()
            });
            let wide = self.across(cell.column, last);
            needs = needs.max(height(&words.text, wide, format) - below);
        }
        fit.height = (needs > has).then_some(needs);
        fit
    }

    /// The last of the columns in which a text that is not wrapped must be; none where it is to be
    /// seen whole as it is. Outside the lines it takes the blank cells to its right with it.
    fn wraps_over(
        &self,
        form: &FormSheet,
        at: At,
        cells: &[Filled<'_>],
        (text, format): (&str, &Format),
    ) -> Option<u32> {
        /// A title in the middle looks worse on more lines in its cell than cut off at the edge.
        const MOST_LINES: f64 = 6.0;
        let (before, next) = neighbours(at.column, cells);
        let last = next.map_or(self.last, |next| next - 1).max(at.column);
        let own = self.across(at.column, at.column);
        let left = self.across(before + 1, at.column.saturating_sub(1));
        let right = self.across(at.column + 1, last);
        if form.lines.is_some_and(|lines| lines.has(at.row)) {
            let room = own + format.runs_over(left, right);
            return (!is_one_line(text, room, format)).then_some(at.column);
        }
        let runs_right = format.runs_over(0.0, 1.0) > 0.0;
        let free = form.free_until(at, last);
        if runs_right && free > at.column {
            let room = self.across(at.column, free);
            return (!is_one_line(text, room, format)).then_some(free);
        }
        // Behind the form's last column there is nothing to run into.
        let right = if next.is_none() { f64::INFINITY } else { right };
        if is_one_line(text, own + format.runs_over(left, right), format) {
            return None;
        }
        (runs_right || lines(text, own, format) <= MOST_LINES).then_some(at.column)
    }
}

impl FormSheet {
    /// The last column up to which blank cells to the right may be merged with a cell.
    fn free_until(&self, at: At, last: u32) -> u32 {
        // In a table no cell may be merged.
        if xml::piece(&self.sheet.xml, self.sheet.data.end, self.sheet.xml.len())
            .contains("tablePart")
        {
            return at.column;
        }
        let merges = self.merges.iter().filter(|area| area.has_row(at.row));
        let starts = merges.map(|area| area.top.column).filter(|start| *start > at.column);
        starts.min().map_or(last, |start| last.min(start - 1))
    }
}

/// The nearest columns on both sides whose cells hold something; 0 for none before.
fn neighbours(column: u32, cells: &[Filled<'_>]) -> (u32, Option<u32>) {
    let holding = || cells.iter().filter(|cell| cell.content != Content::Blank);
    let columns = || holding().map(|cell| cell.column);
    let before = columns().filter(|other| *other < column).max().unwrap_or(0);
    (before, columns().filter(|other| *other > column).min())
}

/// Widths of a digit that a cell keeps free beside its text.
const MARGIN: f64 = 1.0;

fn is_one_line(text: &str, width: f64, format: &Format) -> bool {
    !text.contains('\n') && measure::text_width(text) * format.scale <= width - MARGIN
}

/// How many lines a text takes when it is wrapped.
fn lines(text: &str, width: f64, format: &Format) -> f64 {
    measure::lines(text, (width - MARGIN).max(1.0) / format.scale)
}

/// The height that a text takes when it is wrapped, points.
fn height(text: &str, width: f64, format: &Format) -> f64 {
    /// The format knows no higher rows.
    const TALLEST: f64 = 409.0;
    (lines(text, width, format) * measure::LINE * format.scale.max(1.0)).min(TALLEST)
}
