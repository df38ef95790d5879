//! A look at an OpenDocument sheet before it is read: that its XML ends where it should, and that
//! repeated cells do not swell beyond the limit.

use std::io::BufReader;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::archive::PartReader;
use super::facts::{Facts, Merge, attribute};
use super::limits::{Limit, Limits, Refused};
use crate::finding::column_letters;

/// Refuses what can not be read within bounds; the reason follows the file's name.
pub fn check(content: PartReader, limits: &Limits) -> Result<Vec<(String, Facts)>, Refused> {
    const DEEPEST: u32 = 256;
    let mut reader = Reader::from_reader(BufReader::new(content));
    reader.config_mut().check_end_names = true;
    let mut buffer = Vec::new();
    let mut depth = 0_u32;
    let mut sheet = Sheet::default();
    let mut sheets = Vec::new();
    loop {
        buffer.clear();
        let event = match reader.read_event_into(&mut buffer) {
            Ok(event) => event,
            Err(e) => {
                let refused = reader.get_ref().get_ref().refused();
                return Err(refused.unwrap_or_else(|| Refused::from(format!("is damaged: {e}"))));
            }
        };
        match event {
            Event::Start(tag) => {
                depth += 1;
                if depth > DEEPEST {
                    let why = "is damaged: its parts stand in one another without end";
                    return Err(Refused::from(why));
                }
                sheet.start(&tag, limits)?;
            }
            Event::Empty(tag) => {
                sheet.start(&tag, limits)?;
                sheet.end(tag.name().as_ref(), limits)?;
            }
            Event::End(tag) => {
                depth = depth.saturating_sub(1);
                sheet.end(tag.name().as_ref(), limits)?;
                if tag.name().as_ref() == "table:table" {
                    let next = Sheet { before: sheet.span(), ..Sheet::default() };
                    let done = std::mem::replace(&mut sheet, next);
                    sheets.push((done.name, done.facts));
                }
            }
            Event::Eof if depth == 0 => return Ok(sheets),
            Event::Eof => return Err(Refused::from("is damaged: it ends early")),
            _ => {}
        }
    }
}

#[derive(Default)]
struct Sheet {
    name: String,
    /// Cells of the sheets before: all are held at once.
    before: u64,
    rows: u64,
    row_repeats: u64,
    /// Cells up to the last one with content in the present row, and behind it.
    width: u64,
    blanks: u64,
    widest: u64,
    last_row: u64,
    /// Cells that are held while the sheet is read.
    held: u64,
    column: u64,
    facts: Facts,
}

impl Sheet {
    /// Cells of the rectangles of this sheet and those before.
    fn span(&self) -> u64 {
        self.before.saturating_add(self.last_row.saturating_mul(self.widest).max(self.held))
    }

    fn start(&mut self, tag: &BytesStart<'_>, limits: &Limits) -> Result<(), Refused> {
        match tag.name().as_ref() {
            "table:table" => {
                let name = attribute(tag, "table:name").unwrap_or_default();
                *self = Sheet { name, before: self.span(), ..Sheet::default() };
            }
            "table:table-row" => {
                self.row_repeats = number(tag, "table:number-rows-repeated");
                self.width = 0;
                self.blanks = 0;
                let is_hidden = attribute(tag, "table:visibility").is_some_and(|v| v != "visible");
                if is_hidden && self.row_repeats < 1_000 {
                    let first = u32::try_from(self.rows).unwrap_or(u32::MAX);
                    let last = u32::try_from(self.rows + self.row_repeats).unwrap_or(first);
                    self.facts.hidden_rows.extend(first..last);
                }
            }
            "table:table-column" => {
                let repeats = number(tag, "table:number-columns-repeated");
                let is_hidden = attribute(tag, "table:visibility").is_some_and(|v| v != "visible");
                let (first, last) = (self.column, self.column.saturating_add(repeats));
                self.column = last;
                if is_hidden
                    && let (Ok(first), Ok(last)) = (u32::try_from(first), u32::try_from(last))
                {
                    self.facts.hidden_columns.push((first, last.saturating_sub(1)));
                }
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let repeats = number(tag, "table:number-columns-repeated").min(16_384);
                let down = number(tag, "table:number-rows-spanned");
                let across = number(tag, "table:number-columns-spanned");
                if down > 1 || across > 1 {
                    let at = |row: u64| u32::try_from(row).unwrap_or(u32::MAX);
                    let left = self.width + self.blanks;
                    self.facts.merges.push(Merge {
                        top: at(self.rows),
                        left: at(left),
                        bottom: at(self.rows + down.saturating_sub(1).min(1_048_576)),
                        right: at(left + across.saturating_sub(1).min(16_384)),
                    });
                }
                let has_content = tag.attributes().flatten().any(|attribute| {
                    matches!(attribute.key.as_ref(), "office:value-type" | "table:formula")
                        || attribute.key.as_ref().ends_with("value-type")
                });
                if has_content {
                    self.width += self.blanks + repeats;
                    self.blanks = 0;
                } else {
                    self.blanks += repeats;
                }
                if self.before + self.width + self.held > limits.rectangle_cells {
                    return Err(self.refuse(limits));
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str, limits: &Limits) -> Result<(), Refused> {
        if name != "table:table-row" {
            return Ok(());
        }
        self.rows = self.rows.saturating_add(self.row_repeats);
        if self.width > 0 {
            self.held += self.width;
            self.widest = self.widest.max(self.width);
            self.last_row = self.rows;
            if self.span() > limits.rectangle_cells {
                return Err(self.refuse(limits));
            }
        }
        Ok(())
    }

    fn refuse(&self, limits: &Limits) -> Refused {
        let column = u32::try_from(self.widest.max(self.width).saturating_sub(1)).unwrap_or(0);
        let why = format!(
            "has a sheet `{}` with content down to {}{}, at most {} cells are read",
            self.name,
            column_letters(column),
            self.rows.max(1),
            limits.rectangle_cells
        );
        Refused::over(Limit::Rectangle, why)
    }
}

fn number(tag: &BytesStart<'_>, key: &str) -> u64 {
    attribute(tag, key).and_then(|text| text.trim().parse().ok()).unwrap_or(1)
}
