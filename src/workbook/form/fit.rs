//! What fits into the cells of a form: a text that would be cut off by the cell beside it is wrapped,
//! and its row made as high as its lines need. No column changes.

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
        let is_line = form.lines.is_some_and(|lines| lines.has(look.number));
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
            let own =
                self.across(cell.column, merged.map_or(cell.column, |area| area.bottom.column));
            if format.is_its_own() || own <= 0.0 {
                continue;
            }
            if !format.wraps() {
                let beside = match merged {
                    None => self.beside(cell.column, cells, is_line),
                    Some(_) => (0.0, 0.0),
                };
                let room = own + format.runs_over(beside.0, beside.1);
                if is_one_line(&words.text, room, format) {
                    continue;
                }
                let Some(style) = formats.wrapped(cell.style, wrapping) else { continue };
                fit.wrapped.push((cell.column, style));
            }
            let below: f64 = merged.map_or(0.0, |area| {
                (area.top.row + 1..=area.bottom.row)
                    .map(|row| self.height(form.sheet.row(row)))
                    .sum()
            });
            needs = needs.max(height(&words.text, own, format) - below);
        }
        fit.height = (needs > has).then_some(needs);
        fit
    }

    /// How wide the blank cells to the left and right are, up to those that hold something. A line
    /// stays on the form; another row's text may run over its edge, as the shop has it.
    fn beside(&self, column: u32, cells: &[Filled<'_>], is_line: bool) -> (f64, f64) {
        let holding = cells.iter().filter(|cell| cell.content != Content::Blank);
        let (mut before, mut next) = (0, None);
        for other in holding.map(|cell| cell.column) {
            if other < column {
                before = before.max(other);
            } else if other > column {
                next = Some(next.map_or(other, |next: u32| next.min(other)));
            }
        }
        let last = next.map(|next| next - 1).or(is_line.then_some(self.last));
        let right = last.map_or(f64::INFINITY, |last| self.across(column + 1, last));
        (self.across(before + 1, column.saturating_sub(1)), right)
    }
}

/// Widths of a digit that a cell keeps free beside its text.
const MARGIN: f64 = 1.0;

fn is_one_line(text: &str, width: f64, format: &Format) -> bool {
    !text.contains('\n') && measure::text_width(text) * format.scale <= width - MARGIN
}

/// The height that a text takes when it is wrapped, points.
fn height(text: &str, width: f64, format: &Format) -> f64 {
    /// The format knows no higher rows.
    const TALLEST: f64 = 409.0;
    let width = (width - MARGIN).max(1.0) / format.scale;
    (measure::lines(text, width) * measure::LINE * format.scale.max(1.0)).min(TALLEST)
}
