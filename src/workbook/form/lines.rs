//! The row of the lines and the rows reserved below it.

use quick_xml::events::Event;

use super::refs::Area;
use super::sheet::{Content, Row, Sheet};
use super::xml::{self, Change};

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

/// What stands behind a sheet's cells, with more merged ranges in it.
pub(super) fn with_merges(
    after: &str,
    prefix: &str,
    ranges: &[String],
) -> Result<String, xml::Broken> {
    struct More(usize);
    impl Change for More {
        fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
            let is_count = path.last().is_some_and(|last| last == "mergeCells") && name == "count";
            let count = value.parse::<usize>().ok().filter(|_| is_count)?;
            Some((count + self.0).to_string())
        }
    }
    if ranges.is_empty() {
        return Ok(after.to_string());
    }
    let tags = ranges.iter().map(|range| format!("<{prefix}mergeCell ref=\"{range}\"/>"));
    let tags: String = tags.collect();
    let end = format!("</{prefix}mergeCells>");
    if let Some(at) = after.find(&end) {
        let before = xml::piece(after, 0, at);
        let counted = xml::change(before, &mut More(ranges.len()))?;
        let before = counted.as_deref().unwrap_or(before);
        return Ok(format!("{before}{tags}{}", xml::piece(after, at, after.len())));
    }
    let (before, rest) = after.split_at(before_merges(after)?);
    Ok(format!("{before}<{prefix}mergeCells count=\"{}\">{tags}{end}{rest}", ranges.len()))
}

/// Where merged ranges belong behind a sheet's cells: after these elements, before all others.
fn before_merges(after: &str) -> Result<usize, xml::Broken> {
    const FIRST: [&str; 8] = [
        "sheetCalcPr",
        "sheetProtection",
        "protectedRanges",
        "scenarios",
        "autoFilter",
        "sortState",
        "dataConsolidate",
        "customSheetViews",
    ];
    let mut at = 0;
    let mut reader = xml::open(after);
    loop {
        match xml::read(&mut reader)? {
            Event::Start(start) if FIRST.contains(&xml::local(&start).as_str()) => {
                reader.read_to_end(start.name()).map_err(|error| error.to_string())?;
            }
            Event::Empty(start) if FIRST.contains(&xml::local(&start).as_str()) => {}
            Event::Text(_) | Event::Comment(_) => continue,
            _ => return Ok(at),
        }
        at = xml::position(&reader);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn merged_ranges_stand_where_the_format_wants_them() {
        let ranges = ["A1:B1".to_string(), "C2:D2".to_string()];
        let with = |after: &str| with_merges(after, "x:", &ranges).unwrap();
        let tags = "<x:mergeCell ref=\"A1:B1\"/><x:mergeCell ref=\"C2:D2\"/></x:mergeCells>";
        let whole = format!("<x:mergeCells count=\"2\">{tags}");
        for (before, behind) in [
            ("", "</x:worksheet>"),
            (
                "<x:sheetProtection a=\"1\"/> <x:autoFilter><x:sortState/></x:autoFilter>",
                " <x:phoneticPr/>",
            ),
        ] {
            assert_eq!(with(&format!("{before}{behind}")), format!("{before}{whole}{behind}"));
        }
        let some =
            "<x:mergeCells count=\"1\"><x:mergeCell ref=\"A9:B9\"/></x:mergeCells><x:hyperlinks/>";
        let more = some.replace("count=\"1\"", "count=\"3\"").replace("</x:mergeCells>", tags);
        assert_eq!(with(some), more);
        assert_eq!(with_merges(some, "x:", &[]), Ok(some.to_string()));
    }
}
