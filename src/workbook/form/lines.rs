//! The row of the lines and the rows reserved below it.

use quick_xml::events::Event;

use super::refs::Area;
use super::sheet::{Content, Row, Sheet};
use super::xml;

/// Where the lines of a form stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lines {
    /// The row with the placeholders.
    pub row: u32,
    /// Rows below it that are kept for more lines.
    pub reserved: u32,
}

impl Lines {
    /// Reserved are the rows directly below that hold nothing of their own but what the first row
    /// has too (its formulas, numbering, words) and are formatted under every placeholder.
    pub(super) fn of(sheet: &Sheet, row: u32, columns: &[u32]) -> Lines {
        let mut reserved = 0;
        if let Some(first) = sheet.row(row) {
            while sheet
                .row(row.saturating_add(reserved + 1))
                .is_some_and(|below| is_reserved(first, below, columns))
            {
                reserved += 1;
            }
        }
        Lines { row, reserved }
    }

    /// The lines that fit without inserting rows.
    pub(super) fn room(self) -> usize {
        usize::try_from(self.reserved).unwrap_or(0) + 1
    }

    /// The last row kept for lines.
    pub(super) fn last(self) -> u32 {
        self.row + self.reserved
    }

    /// The row that inserted rows look like: one from the middle, where there is one.
    pub(super) fn model(self) -> u32 {
        if self.reserved >= 2 { self.row + 1 } else { self.row }
    }

    pub(super) fn has(self, row: u32) -> bool {
        (self.row..=self.last()).contains(&row)
    }
}

fn is_reserved(first: &Row, below: &Row, placeholders: &[u32]) -> bool {
    let is_like = |content: &Content, model: Option<&Content>| match (content, model) {
        (Content::Blank, _)
        | (Content::Formula(_), Some(Content::Formula(_)))
        | (Content::Value { kind: None, .. }, Some(Content::Value { kind: None, .. })) => true,
        (content, Some(model)) => content == model && !matches!(content, Content::Formula(_)),
        (_, None) => false,
    };
    let all_like = below.cells.iter().all(|cell| {
        let is_placeholder = placeholders.contains(&cell.at.column);
        let model = first.cell(cell.at.column).map(|cell| &cell.content);
        is_like(&cell.content, model.filter(|_| !is_placeholder))
    });
    let formatted =
        placeholders.iter().all(|column| below.cell(*column).is_some_and(|cell| cell.style != 0));
    all_like && (formatted || below.has_formula())
}

/// The merged ranges of a sheet.
pub(super) fn merges(sheet: &Sheet) -> Result<Vec<Area>, xml::Broken> {
    let text = xml::piece(&sheet.xml, sheet.data.end, sheet.xml.len());
    let mut reader = xml::open(text);
    let mut merges = Vec::new();
    loop {
        match xml::read(&mut reader)? {
            Event::Eof => return Ok(merges),
            Event::Start(start) | Event::Empty(start) if xml::local(&start) == "mergeCell" => {
                let attributes = xml::attributes(&start)?;
                merges.extend(xml::get(&attributes, "ref").and_then(Area::parse));
            }
            _ => {}
        }
    }
}
