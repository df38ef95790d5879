//! A sheet with its placeholders filled and, where there are more lines than rows, rows inserted.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::value::{Record, Value};

use super::around::OnSheet;
use super::book::{Book, Words};
use super::fit::{Filled, Room};
use super::formats::Wrapping;
use super::formula::{filled_down, moved};
use super::lines::{Lines, with_merges};
use super::placeholder::Piece;
use super::refs::{Area, At, Shift};
use super::sheet::{Attributes, Cell, Content, Formula, Row, Sheet};
use super::{FormCell, FormError, write, xml};

/// A sheet of the form that has placeholders.
pub(super) struct FormSheet {
    pub name: String,
    pub part: String,
    pub sheet: Sheet,
    /// Cells with placeholders, the row of the lines included.
    pub fields: BTreeMap<At, Field>,
    pub lines: Option<Lines>,
    pub merges: Vec<Area>,
    /// Shared formulas: their number, first cell and text.
    pub shared: BTreeMap<String, (At, String)>,
    /// How wide its columns are.
    pub room: Room,
}

/// A cell with placeholders.
pub(super) struct Field {
    pub pieces: Vec<Piece>,
    /// The style of its first run.
    pub run: Option<String>,
}

/// One filling of one sheet.
struct Filling<'a> {
    form: &'a FormSheet,
    book: &'a Book,
    values: &'a Record,
    lines: &'a [Record],
    shift: Option<&'a Shift>,
    wrapping: &'a Wrapping,
    /// What the cells written so far hold: a number, or a formula's result that is not known.
    written: RefCell<BTreeMap<At, Option<f64>>>,
    /// Cells that are merged so that a text fits.
    merged: RefCell<Vec<String>>,
    /// What could not be computed.
    errors: RefCell<Vec<FormError>>,
}

impl FormSheet {
    /// How rows move when so many lines are filled in; none where they fit.
    pub(super) fn shift(&self, count: usize) -> Result<Option<Shift>, FormError> {
        let Some(lines) = self.lines else { return Ok(None) };
        let more = count.saturating_sub(lines.room());
        if more == 0 {
            return Ok(None);
        }
        let last = self.sheet.rows.last().map_or(0, |row| row.number);
        let by = u32::try_from(more)
            .ok()
            .filter(|by| last.checked_add(*by).is_some_and(|last| last <= super::refs::MOST_ROWS));
        let Some(by) = by else {
            let at = At { row: lines.row, column: 1 };
            return Err(FormError::NoRoom { cell: FormCell::new(&self.name, at), lines: count });
        };
        let lone = (lines.reserved == 0).then_some(lines.row);
        // The last reserved row stays the last, so that sums and borders over all still are.
        let from = if lone.is_some() { lines.row + 1 } else { lines.last() };
        Ok(Some(Shift { sheet: self.name.clone(), from, by, lone }))
    }

    /// The sheet part filled, and what in it could not be computed.
    pub(super) fn fill(
        &self,
        book: &Book,
        values: &Record,
        lines: &[Record],
        shift: Option<&Shift>,
        wrapping: &Wrapping,
    ) -> Result<(String, Vec<FormError>), FormError> {
        let filling = Filling {
            form: self,
            book,
            values,
            lines,
            shift,
            wrapping,
            written: RefCell::default(),
            merged: RefCell::default(),
            errors: RefCell::default(),
        };
        let rows = filling.rows()?;
        let xml = &self.sheet.xml;
        let before = xml::piece(xml, 0, self.sheet.data.start);
        let after = xml::piece(xml, self.sheet.data.end, xml.len());
        let damaged = |why| FormError::Damaged { part: self.part.clone(), why };
        let prefix = &self.sheet.prefix;
        let data = format!("<{prefix}sheetData>{rows}</{prefix}sheetData>");
        let (errors, mut merged) = (filling.errors.take(), filling.merged.take());
        let (before, after) = match shift {
            None => (before.to_string(), after.to_string()),
            Some(shift) => {
                merged.extend(filling.copied_merges());
                let mut change = OnSheet(shift);
                let moved_before = xml::change(before, &mut change).map_err(damaged)?;
                let moved_after = xml::change(after, &mut change).map_err(damaged)?;
                (
                    moved_before.unwrap_or_else(|| before.to_string()),
                    moved_after.unwrap_or_else(|| after.to_string()),
                )
            }
        };
        let after = with_merges(&after, prefix, &merged).map_err(damaged)?;
        Ok((format!("{before}{data}{after}"), errors))
    }

    fn cell_name(&self, at: At) -> FormCell {
        FormCell::new(&self.name, at)
    }
}

impl<'a> Filling<'a> {
    fn rows(&self) -> Result<String, FormError> {
        let mut out = String::new();
        for row in &self.form.sheet.rows {
            match self.form.lines.filter(|lines| lines.has(row.number)) {
                Some(lines) => self.line_rows(lines, row, &mut out)?,
                None => out.push_str(&self.other_row(row)?),
            }
        }
        Ok(out)
    }

    /// A row outside the lines.
    fn other_row(&self, row: &Row) -> Result<String, FormError> {
        let number = self.shift.map_or(row.number, |shift| shift.row(row.number));
        let from = At { row: row.number, column: 0 };
        let to = At { row: row.number + 1, column: 0 };
        let has_fields = self.form.fields.range(from..to).next().is_some();
        if number == row.number && !has_fields && !row.has_formula() {
            return Ok(xml::piece(&self.form.sheet.xml, row.raw.start, row.raw.end).to_string());
        }
        let mut cells = Vec::with_capacity(row.cells.len());
        for cell in &row.cells {
            let field = self.form.fields.get(&cell.at);
            let content = match (field, &cell.content) {
                (Some(field), _) => self.filled(cell.at, field, cell.style, None)?,
                (None, Content::Formula(formula)) => {
                    Content::Formula(self.moved(cell.at, formula, false))
                }
                (None, content) => content.clone(),
            };
            cells.push(Filled {
                column: cell.at.column,
                attributes: &cell.attributes,
                style: cell.style,
                content,
                is_filled: field.is_some(),
            });
        }
        Ok(self.row(number, row, &cells, &row.rest))
    }

    /// A row written so that nothing filled into it is cut off. `look` is the row of the form that
    /// it looks like.
    fn row(&self, number: u32, look: &Row, cells: &[Filled<'_>], rest: &str) -> String {
        let form = self.form;
        let fit = form.room.fit(form, look, cells, (&self.book.formats, self.wrapping));
        let mut inner = String::new();
        for cell in cells {
            let wrapped = fit.wrapped.iter().find(|(column, _)| *column == cell.column);
            let mut attributes = cell.attributes.clone();
            if let Some((_, style)) = wrapped {
                xml::set(&mut attributes, "s", style.to_string());
            }
            let at = At { row: number, column: cell.column };
            inner.push_str(&self.cell(at, &attributes, &cell.content));
        }
        inner.push_str(rest);
        self.merged.borrow_mut().extend(fit.merged.iter().map(|(from, to)| {
            let end = |column| At { row: number, column };
            format!("{}:{}", end(*from), end(*to))
        }));
        let mut attributes = look.attributes.clone();
        if let Some(height) = fit.height {
            xml::set(&mut attributes, "ht", height.to_string());
            xml::set(&mut attributes, "customHeight", "1".to_string());
        }
        write::row(&form.sheet.prefix, number, &attributes, &inner)
    }

    /// A row kept for lines; behind the right one, the rows inserted.
    fn line_rows(&self, lines: Lines, row: &Row, out: &mut String) -> Result<(), FormError> {
        let Some(first) = self.form.sheet.row(lines.row) else { return Ok(()) };
        let at = usize::try_from(row.number - lines.row).unwrap_or(usize::MAX);
        let inserted = self.shift.map_or(0, |shift| shift.by);
        let is_last = row.number == lines.last();
        if is_last && lines.reserved > 0 {
            self.inserted_rows(lines, first, out)?;
        }
        let moved_by = if is_last && lines.reserved > 0 { inserted } else { 0 };
        let line = at + usize::try_from(moved_by).unwrap_or(0);
        out.push_str(&self.line_row(first, row, Some(row), row.number + moved_by, line)?);
        if is_last && lines.reserved == 0 {
            self.inserted_rows(lines, first, out)?;
        }
        Ok(())
    }

    fn inserted_rows(&self, lines: Lines, first: &Row, out: &mut String) -> Result<(), FormError> {
        let Some(shift) = self.shift else { return Ok(()) };
        let model = self.form.sheet.row(lines.model()).unwrap_or(first);
        for number in shift.from..shift.from + shift.by {
            let line = usize::try_from(number - lines.row).unwrap_or(usize::MAX);
            out.push_str(&self.line_row(first, model, None, number, line)?);
        }
        Ok(())
    }

    /// The row of one line. `look` gives its formats; `own` is the row itself, where it was there
    /// before.
    fn line_row(
        &self,
        first: &Row,
        look: &Row,
        own: Option<&Row>,
        number: u32,
        line: usize,
    ) -> Result<String, FormError> {
        let record = self.lines.get(line);
        let is_used = record.is_some() || (line == 0 && self.lines.is_empty());
        let columns: BTreeSet<u32> =
            first.cells.iter().chain(&look.cells).map(|cell| cell.at.column).collect();
        let mut cells = Vec::with_capacity(columns.len());
        for column in columns {
            let mine = own.and_then(|own| own.cell(column));
            let (model, seen) = (first.cell(column), look.cell(column).or(first.cell(column)));
            let Some(seen) = seen else { continue };
            let content = if is_used {
                self.line_content(model, mine, number, line, record)?
            } else {
                // A row kept for lines that did not come.
                mine.map_or(Content::Blank, |mine| self.as_it_is(mine))
            };
            let is_filled = is_used && model.is_some_and(|m| self.form.fields.contains_key(&m.at));
            let (attributes, style) = (&seen.attributes, seen.style);
            cells.push(Filled { column, attributes, style, content, is_filled });
        }
        Ok(self.row(number, look, &cells, own.map_or("", |own| own.rest.as_str())))
    }

    fn line_content(
        &self,
        model: Option<&Cell>,
        mine: Option<&Cell>,
        number: u32,
        line: usize,
        record: Option<&'a Record>,
    ) -> Result<Content, FormError> {
        let own = mine.map_or(Content::Blank, |mine| self.as_it_is(mine));
        let Some(model) = model else { return Ok(own) };
        if let Some(field) = self.form.fields.get(&model.at) {
            let style = mine.map_or(model.style, |mine| mine.style);
            return match record {
                None => Ok(Content::Blank),
                record => self.filled(model.at, field, style, record),
            };
        }
        Ok(match (&model.content, own) {
            (Content::Formula(formula), Content::Blank) => {
                Content::Formula(self.copied(model.at, formula, number))
            }
            (Content::Value { kind: None, raw }, own) => self.numbered(model.at, raw, line, own),
            (content, Content::Blank) => content.clone(),
            (_, own) => own,
        })
    }

    /// A cell's own content, its formula moved.
    fn as_it_is(&self, cell: &Cell) -> Content {
        match &cell.content {
            Content::Formula(formula) => Content::Formula(self.moved(cell.at, formula, true)),
            content => content.clone(),
        }
    }

    /// Numbers typed ahead, 1, 2, 3 …, go on in the rows inserted.
    fn numbered(&self, at: At, first: &str, line: usize, own: Content) -> Content {
        let below = self.form.sheet.row(at.row + 1).and_then(|row| row.cell(at.column));
        let step = match below.map(|cell| &cell.content) {
            Some(Content::Value { kind: None, raw })
                if self.form.lines.is_some_and(|l| l.reserved > 0) =>
            {
                raw.parse::<f64>().ok().zip(first.parse::<f64>().ok()).map(|(b, a)| b - a)
            }
            _ => None,
        };
        match (self.shift, own, step, first.parse::<f64>()) {
            (Some(_), _, Some(step), Ok(first)) => {
                let line = f64::from(u32::try_from(line).unwrap_or(u32::MAX));
                Content::Value { kind: None, raw: (first + step * line).to_string() }
            }
            (_, Content::Blank, _, _) => Content::Value { kind: None, raw: first.to_string() },
            (_, own, _, _) => own,
        }
    }

    /// A cell's formula after rows were inserted; shared ones then stand on their own.
    fn moved(&self, at: At, formula: &Formula, in_line: bool) -> Formula {
        let Some(shift) = self.shift else { return formula.clone() };
        let mut formula = self.alone(at, formula);
        formula.text = shift.formula(&formula.text, &self.form.name, in_line);
        for (name, value) in &mut formula.attributes {
            if name == "ref" {
                *value = shift.area(value).unwrap_or_else(|| value.clone());
            } else if name == "r1" || name == "r2" {
                *value = shift.cell(value).unwrap_or_else(|| value.clone());
            }
        }
        formula
    }

    /// The first row's formula as it reads in another row.
    fn copied(&self, at: At, formula: &Formula, number: u32) -> Formula {
        let down = i64::from(number) - i64::from(at.row);
        let mut formula = self.moved(at, &self.alone(at, formula), true);
        formula.text = filled_down(&formula.text, down);
        for (name, value) in &mut formula.attributes {
            if name == "ref" {
                *value = filled_down(value, down);
            }
        }
        formula
    }

    /// A formula that does not lean on a shared one.
    fn alone(&self, at: At, formula: &Formula) -> Formula {
        if formula.get("t") != Some("shared") {
            return formula.clone();
        }
        let shared = formula.get("si").and_then(|number| self.form.shared.get(number));
        let text = match shared {
            Some((first, text)) if formula.text.is_empty() => moved(
                text,
                i64::from(at.row) - i64::from(first.row),
                i64::from(at.column) - i64::from(first.column),
            ),
            _ => formula.text.clone(),
        };
        let mut attributes = formula.attributes.clone();
        attributes.retain(|(name, _)| !matches!(name.as_str(), "t" | "si" | "ref"));
        Formula { attributes, text }
    }

    /// The content of a cell with placeholders.
    fn filled(
        &self,
        at: At,
        field: &Field,
        style: u32,
        line: Option<&'a Record>,
    ) -> Result<Content, FormError> {
        if let [piece @ (Piece::Single(name) | Piece::Line(name))] = field.pieces.as_slice() {
            let value = self.value(at, piece, line)?;
            let (run, dates) = (field.run.as_ref(), self.book.shows_dates(style));
            return match write::content(value, run, dates, self.book.from_1904) {
                Some(content) => Ok(content),
                None => self.not_computed(at, name, value).map(|()| write::not_known()),
            };
        }
        let mut text = String::new();
        for piece in &field.pieces {
            match piece {
                Piece::Words(words) => text.push_str(words),
                Piece::Single(name) | Piece::Line(name) => {
                    let value = self.value(at, piece, line)?;
                    if let Some(spelled) = write::spelled(value) {
                        text.push_str(&spelled);
                    } else {
                        self.not_computed(at, name, value)?;
                        text.push_str(write::NOT_KNOWN);
                    }
                }
            }
        }
        Ok(Content::Text(Words { text, run: field.run.clone() }))
    }

    fn value(
        &self,
        at: At,
        piece: &Piece,
        line: Option<&'a Record>,
    ) -> Result<&'a Value, FormError> {
        const ALIKE: f64 = 0.75;
        let (record, name, prefix) = match piece {
            Piece::Words(_) => return Ok(&Value::Blank),
            Piece::Single(name) => (Some(self.values), name, ""),
            Piece::Line(name) => (line, name, "line."),
        };
        let Some(record) = record else { return Ok(&Value::Blank) };
        let alike = || {
            let mut entries = record.iter();
            entries.find(|(key, _)| super::placeholder::name_of(key) == *name).map(|entry| entry.1)
        };
        if let Some(value) = record.get(name.as_str()).or_else(alike) {
            return Ok(value);
        }
        let near = record
            .keys()
            .map(|key| (strsim::jaro_winkler(key, name), key))
            .filter(|(alike, _)| *alike >= ALIKE)
            .max_by(|(one, _), (other, _)| one.total_cmp(other));
        Err(FormError::Unknown {
            cell: self.form.cell_name(at),
            name: format!("{prefix}{name}"),
            near: near.map(|(_, key)| format!("{prefix}{key}")),
        })
    }

    /// Notes a value that could not be computed; refuses what no cell can hold.
    fn not_computed(&self, at: At, name: &str, value: &Value) -> Result<(), FormError> {
        let (cell, name) = (self.form.cell_name(at), name.to_string());
        let message = match value {
            Value::Error(message) => message.to_string(),
            Value::Number(number) => format!("it is {number}"),
            _ => return Err(FormError::NoPlainValue { cell, name }),
        };
        self.errors.borrow_mut().push(FormError::ErrorValue { cell, name, message });
        Ok(())
    }

    fn cell(&self, at: At, attributes: &Attributes, content: &Content) -> String {
        let holds = match content {
            Content::Value { kind: None, raw } => raw.parse::<f64>().ok(),
            Content::Formula(formula) => self.sum(at, formula),
            _ => None,
        };
        let is_not_known = *content == write::not_known();
        if holds.is_some() || is_not_known || matches!(content, Content::Formula(_)) {
            self.written.borrow_mut().insert(at, holds);
        }
        let result = holds.filter(|_| matches!(content, Content::Formula(_)));
        write::cell(&self.form.sheet.prefix, at, attributes, content, result)
    }

    /// What a sum over the lines above it comes to, for those who look at the form without a program
    /// that calculates; of other formulas it is not known.
    fn sum(&self, at: At, formula: &Formula) -> Option<f64> {
        let lines = self.form.lines?;
        let inside = formula.text.trim().strip_prefix("SUM(")?.strip_suffix(')')?;
        let area = Area::parse(inside).filter(|_| formula.attributes.is_empty())?;
        let (top, bottom) = (area.top, area.bottom);
        let last = lines.last() + self.shift.map_or(0, |shift| shift.by);
        let is_over_lines = top.row >= lines.row && bottom.row <= last && bottom.row < at.row;
        let written = self.written.borrow();
        let all = written.range(top..=bottom);
        let mut over = all.filter(|(at, _)| (top.column..=bottom.column).contains(&at.column));
        is_over_lines.then(|| over.try_fold(0.0, |sum, (_, number)| Some(sum + (*number)?)))?
    }

    /// Merged ranges inside the row that inserted rows look like, once for each of them.
    fn copied_merges(&self) -> Vec<String> {
        let (Some(shift), Some(lines)) = (self.shift, self.form.lines) else { return Vec::new() };
        let model = lines.model();
        let inside = |area: &&Area| area.top.row == model && area.bottom.row == model;
        let merges: Vec<&Area> = self.form.merges.iter().filter(inside).collect();
        (shift.from..shift.from + shift.by)
            .flat_map(|row| {
                merges.iter().map(move |area| {
                    let (top, bottom) = (At { row, ..area.top }, At { row, ..area.bottom });
                    format!("{top}:{bottom}")
                })
            })
            .collect()
    }
}
