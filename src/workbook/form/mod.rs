//! Order forms filled from a shop's own workbook.
//!
//! In: an xlsx (or xlsm) with placeholders in its cells, single values, and lines. Out: the same
//! workbook filled. Only the parts that must change do; every other one is copied byte for byte.
//!
//! # Notation
//! - `{job}` in a cell is a single value, among other words or alone. Alone, a number stays a number
//!   and a date a date where the cell shows dates.
//! - `{line.count}` is a value of a line. The row that holds such placeholders repeats, once a line;
//!   there is one such row in a form.
//! - Rows directly below it that are formatted alike and hold nothing else than its formulas,
//!   words and numbering are kept for lines and filled first. More lines insert rows before the last
//!   of them, so that sums and borders over them all go on to do so; everything below moves down.
//! - A text that its cell would cut off is wrapped and its row made higher, so that no two marks look
//!   alike; columns keep their widths, and cells that shrink or turn their text are left alone.
//! - Names are read without regard to case; spaces and hyphens in them are underlines.
//!
//! - What could not be computed is `#N/A` in its cell, which no sum over it hides, and is said.
//!
//! Refused: signed and encrypted workbooks, a pivot table over or beside the lines, merged ranges of
//! several rows over the row of the lines, unknown placeholders.

mod around;
mod book;
mod error;
mod fill;
mod fit;
mod formats;
mod formula;
mod lines;
mod package;
mod placeholder;
mod refs;
mod results;
mod sheet;
mod write;
mod xml;

use std::collections::{BTreeMap, BTreeSet};

use crate::value::Record;

pub use error::{FormCell, FormError};

use around::{
    Mode, OnBoxes, OnChart, OnControl, OnDrawing, OnLinks, OnNames, OnNotes, OnOther, OnTable,
};
use book::Book;
use fill::{Field, FormSheet};
use fit::Room;
use formats::Wrapping;
use lines::Lines;
pub(super) use package::{Changes, Package};
use placeholder::Piece;
use refs::{At, Shift};
use sheet::{Content, Sheet};

/// A form, read and found fit to be filled.
pub struct Form {
    package: Package,
    book: Book,
    /// Sheets with placeholders.
    sheets: Vec<FormSheet>,
}

/// A form filled.
#[derive(Debug)]
pub struct Filled {
    /// The workbook.
    pub bytes: Vec<u8>,
    /// What could not be computed, in the order of the cells: [`FormError::ErrorValue`] each.
    pub not_computed: Vec<FormError>,
}

impl Form {
    /// Reads a form and finds its placeholders.
    pub fn open(bytes: impl Into<Vec<u8>>) -> Result<Form, FormError> {
        let package = Package::open(bytes.into())?;
        let book = Book::read(&package)?;
        let mut sheets = Vec::new();
        for (name, part) in &book.sheets {
            let text = package.needed(part)?;
            let damaged = |why| FormError::Damaged { part: part.clone(), why };
            let sheet = Sheet::read(text, &book).map_err(damaged)?;
            sheets.extend(form_sheet(name, part, sheet)?);
        }
        if sheets.is_empty() {
            return Err(FormError::NothingToFill);
        }
        let mut lined = sheets.iter().filter_map(FormSheet::first_line);
        if let (Some(first), Some(second)) = (lined.next(), lined.next()) {
            return Err(FormError::TwoRows { first, second });
        }
        let form = Form { package, book, sheets };
        form.refuse_pivots()?;
        Ok(form)
    }

    /// The placeholders in order, `line.` before those of lines, with their cells.
    pub fn placeholders(&self) -> impl Iterator<Item = (FormCell, String)> {
        self.sheets.iter().flat_map(|sheet| {
            sheet.fields.iter().flat_map(|(at, field)| {
                let cell = FormCell::new(&sheet.name, *at);
                field.pieces.iter().filter_map(move |piece| match piece {
                    Piece::Words(_) => None,
                    Piece::Single(name) => Some((cell.clone(), name.clone())),
                    Piece::Line(name) => Some((cell.clone(), format!("line.{name}"))),
                })
            })
        })
    }

    /// How many lines fit without inserting rows; none where the form takes no lines.
    #[must_use]
    pub fn room(&self) -> Option<usize> {
        self.sheets.iter().find_map(|sheet| sheet.lines).map(Lines::room)
    }

    /// The form filled.
    pub fn fill(&self, values: &Record, lines: &[Record]) -> Result<Filled, FormError> {
        if self.room().is_none() && !lines.is_empty() {
            return Err(FormError::NoLineRow { lines: lines.len() });
        }
        let mut changes = Changes::new();
        let wrapping = Wrapping::default();
        let mut not_computed = Vec::new();
        for sheet in &self.sheets {
            let shift = sheet.shift(lines.len())?;
            let (text, errors) =
                sheet.fill(&self.book, values, lines, shift.as_ref(), &wrapping)?;
            not_computed.extend(errors);
            // A sheet filled before may have been changed for this one's sake, and the other way
            // round: only one sheet has lines, and it moves nothing but formulas elsewhere.
            changes.insert(sheet.part.clone(), Some(text));
        }
        for sheet in &self.sheets {
            if let Some(shift) = sheet.shift(lines.len())? {
                self.move_around(sheet, &shift, &mut changes)?;
            }
        }
        self.add_formats(&wrapping, &mut changes)?;
        self.ask_for_results(&mut changes)?;
        Ok(Filled { bytes: self.package.write(&changes)?, not_computed })
    }

    /// Moves what stands outside the lined sheet's part.
    fn move_around(
        &self,
        lined: &FormSheet,
        shift: &Shift,
        changes: &mut Changes,
    ) -> Result<(), FormError> {
        let package = &self.package;
        package.change(&self.book.part, changes, &mut OnNames(shift))?;
        for (name, part) in self.book.sheets.iter().filter(|(_, part)| *part != lined.part) {
            let mut change = OnOther { shift, name, is_stale: false };
            package.change(part, changes, &mut change)?;
        }
        package.change(&package::relations_part(&lined.part), changes, &mut OnLinks(shift))?;
        for relation in package.relations(&lined.part)? {
            let part = &relation.target;
            match relation.kind.as_str() {
                "comments" | "threadedComment" => {
                    package.change(part, changes, &mut OnNotes(shift))?;
                }
                "vmlDrawing" => package.change(part, changes, &mut OnBoxes(shift))?,
                "table" => package.change(part, changes, &mut OnTable(shift))?,
                "ctrlProp" => package.change(part, changes, &mut OnControl(shift))?,
                "drawing" => {
                    let mut change = OnDrawing { shift, mode: Mode::Stays, by: 0 };
                    package.change(part, changes, &mut change)?;
                }
                _ => {}
            }
        }
        for part in package.names().iter().filter(|name| is_chart(name)) {
            package.change(part, changes, &mut OnChart(shift))?;
        }
        Ok(())
    }

    /// The formats of the cells that wrap.
    fn add_formats(&self, wrapping: &Wrapping, changes: &mut Changes) -> Result<(), FormError> {
        let part = &self.book.styles;
        let Some(text) = self.package.part(part)? else { return Ok(()) };
        let new = self.book.formats.with(&text, wrapping);
        let new = new.map_err(|why| FormError::Damaged { part: part.clone(), why })?;
        changes.extend(new.map(|text| (part.clone(), Some(text))));
        Ok(())
    }

    /// Has programs compute everything anew on opening.
    fn ask_for_results(&self, changes: &mut Changes) -> Result<(), FormError> {
        let part = &self.book.part;
        let text = match changes.remove(part).flatten() {
            Some(text) => text,
            None => self.package.needed(part)?,
        };
        let text = results::recalculated(&text)
            .map_err(|why| FormError::Damaged { part: part.clone(), why })?;
        changes.insert(part.clone(), Some(text));
        if let Some(chain) = &self.book.calc_chain {
            self.package.take_out(chain, part, changes)?;
        }
        Ok(())
    }

    /// A pivot table on the lined sheet, or one that counts from it.
    fn refuse_pivots(&self) -> Result<(), FormError> {
        let Some(lined) = self.sheets.iter().find(|sheet| sheet.lines.is_some()) else {
            return Ok(());
        };
        let on_sheet = self.package.relations(&lined.part)?;
        if let Some(pivot) = on_sheet.into_iter().find(|relation| relation.kind == "pivotTable") {
            return Err(FormError::Pivot { part: pivot.target });
        }
        for part in self.package.names().iter().filter(|name| name.contains("pivotCacheDefinition"))
        {
            let text = self.package.needed(part)?;
            let counts = text.split('<').filter(|tag| tag.contains("worksheetSource"));
            for tag in counts {
                // A source by name may be any range, so it is taken for the lines.
                let sheet = format!("sheet=\"{}\"", quick_xml::escape::escape(lined.name.as_str()));
                if tag.contains(&sheet) || !tag.contains("sheet=") {
                    return Err(FormError::Pivot { part: part.clone() });
                }
            }
        }
        Ok(())
    }
}

fn is_chart(part: &str) -> bool {
    part.contains("/charts/")
        && !part.contains("/_rels/")
        && std::path::Path::new(part).extension().is_some_and(|ending| ending == "xml")
}

/// A sheet with its placeholders; none where it has none.
fn form_sheet(name: &str, part: &str, sheet: Sheet) -> Result<Option<FormSheet>, FormError> {
    let mut fields = BTreeMap::new();
    for (at, words) in sheet.texts() {
        if let Some(pieces) = placeholder::pieces(&words.text) {
            fields.insert(at, Field { pieces, run: words.run.clone() });
        }
    }
    if fields.is_empty() {
        return Ok(None);
    }
    let lined: Vec<At> =
        fields.iter().filter(|(_, field)| field.is_lined()).map(|f| *f.0).collect();
    let rows: BTreeSet<u32> = lined.iter().map(|at| at.row).collect();
    let mut firsts = rows.iter().filter_map(|row| lined.iter().find(|at| at.row == *row));
    let first = firsts.next();
    if let (Some(first), Some(second)) = (first, firsts.next()) {
        let (first, second) = (FormCell::new(name, *first), FormCell::new(name, *second));
        return Err(FormError::TwoRows { first, second });
    }
    let columns: Vec<u32> = lined.iter().map(|at| at.column).collect();
    let lines = first.map(|at| Lines::of(&sheet, at.row, &columns));
    let merges =
        lines::merges(&sheet).map_err(|why| FormError::Damaged { part: part.to_string(), why })?;
    if let (Some(lines), Some(first)) = (lines, first) {
        let bad = merges.iter().find(|area| {
            let touches = (lines.row..=lines.last()).any(|row| area.has_row(row));
            let covers = area.has_row(lines.row) && area.has_row(lines.last());
            area.top.row != area.bottom.row && touches && !(covers && lines.reserved > 0)
        });
        if let Some(area) = bad {
            let range = format!("{}:{}", area.top, area.bottom);
            return Err(FormError::MergedLines { cell: FormCell::new(name, *first), range });
        }
    }
    let shared = shared_formulas(&sheet);
    let room =
        Room::read(&sheet).map_err(|why| FormError::Damaged { part: part.to_string(), why })?;
    let (name, part) = (name.to_string(), part.to_string());
    Ok(Some(FormSheet { name, part, sheet, fields, lines, merges, shared, room }))
}

fn shared_formulas(sheet: &Sheet) -> BTreeMap<String, (At, String)> {
    let cells = sheet.rows.iter().flat_map(|row| &row.cells);
    cells
        .filter_map(|cell| match &cell.content {
            Content::Formula(formula) if !formula.text.is_empty() => {
                Some((formula.get("si")?.to_string(), (cell.at, formula.text.clone())))
            }
            _ => None,
        })
        .collect()
}

impl Field {
    fn is_lined(&self) -> bool {
        self.pieces.iter().any(|piece| matches!(piece, Piece::Line(_)))
    }
}

impl FormSheet {
    fn first_line(&self) -> Option<FormCell> {
        let (at, _) = self.fields.iter().find(|(_, field)| field.is_lined())?;
        Some(FormCell::new(&self.name, *at))
    }
}
