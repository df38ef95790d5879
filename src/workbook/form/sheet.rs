//! The cells of a sheet part, each with the bytes it came from.

use std::ops::Range;

use quick_xml::events::{BytesStart, Event};

use super::book::{Book, Words, words};
use super::refs::At;
use super::xml;

/// Attributes by their names as written.
pub(super) type Attributes = Vec<(String, String)>;

/// A sheet part in pieces.
pub(super) struct Sheet {
    pub xml: String,
    /// What the format's own elements are prefixed with: nothing, or `x:`.
    pub prefix: String,
    /// The `sheetData` element.
    pub data: Range<usize>,
    pub rows: Vec<Row>,
}

/// A row as it stands.
pub(super) struct Row {
    pub number: u32,
    /// Without its number and spans.
    pub attributes: Attributes,
    pub cells: Vec<Cell>,
    /// What stands in it beside cells, as written.
    pub rest: String,
    /// Its bytes in the part.
    pub raw: Range<usize>,
}

/// A cell as it stands.
#[derive(Clone)]
pub(super) struct Cell {
    pub at: At,
    /// Without its reference and type.
    pub attributes: Attributes,
    pub style: u32,
    pub content: Content,
}

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Content {
    Blank,
    /// Its type and its value as written.
    Value {
        kind: Option<String>,
        raw: String,
    },
    Text(Words),
    /// A formula; what it last gave is not kept.
    Formula(Formula),
}

/// A formula as it stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Formula {
    pub attributes: Attributes,
    pub text: String,
}

impl Formula {
    pub(super) fn get(&self, name: &str) -> Option<&str> {
        xml::get(&self.attributes, name)
    }
}

impl Row {
    pub(super) fn cell(&self, column: u32) -> Option<&Cell> {
        self.cells.iter().find(|cell| cell.at.column == column)
    }

    pub(super) fn has_formula(&self) -> bool {
        self.cells.iter().any(|cell| matches!(cell.content, Content::Formula(_)))
    }
}

impl Sheet {
    pub(super) fn read(text: String, book: &Book) -> Result<Sheet, xml::Broken> {
        let mut reader = xml::open(&text);
        let mut prefix = None;
        let mut data = None;
        let mut rows: Vec<Row> = Vec::new();
        loop {
            let from = xml::position(&reader);
            let event = xml::read(&mut reader)?;
            match event {
                Event::Eof => break,
                Event::Start(ref start) | Event::Empty(ref start) => {
                    let is_empty = matches!(event, Event::Empty(_));
                    let name = start.name().as_ref().to_string();
                    let local = xml::local(start);
                    prefix.get_or_insert_with(|| {
                        name.strip_suffix(local.as_str()).unwrap_or_default().to_string()
                    });
                    match local.as_str() {
                        "sheetData" if is_empty => data = Some(from..xml::position(&reader)),
                        "sheetData" => data = Some(from..from),
                        "row" if data.as_ref().is_some_and(Range::is_empty) => {
                            let last = rows.last().map_or(0, |row| row.number);
                            let inner = xml::inside(&mut reader, &text, start, is_empty)?;
                            let raw = from..xml::position(&reader);
                            rows.push(row(start, &inner, last, raw, book)?);
                        }
                        _ => {}
                    }
                }
                Event::End(end) if end.local_name().as_ref() == "sheetData" => {
                    if let Some(data) = &mut data {
                        data.end = xml::position(&reader);
                    }
                }
                _ => {}
            }
        }
        let data = data.ok_or("it has no sheetData")?;
        rows.sort_by_key(|row| row.number);
        if rows.windows(2).any(|pair| matches!(pair, [one, other] if one.number == other.number)) {
            return Err("a row stands in it twice".to_string());
        }
        Ok(Sheet { prefix: prefix.unwrap_or_default(), data, rows, xml: text })
    }

    pub(super) fn row(&self, number: u32) -> Option<&Row> {
        let at = self.rows.binary_search_by_key(&number, |row| row.number).ok()?;
        self.rows.get(at)
    }

    /// The text of a cell that holds text.
    pub(super) fn texts(&self) -> impl Iterator<Item = (At, &Words)> {
        self.rows.iter().flat_map(|row| &row.cells).filter_map(|cell| match &cell.content {
            Content::Text(words) => Some((cell.at, words)),
            _ => None,
        })
    }
}

fn row(
    start: &BytesStart<'_>,
    inner: &str,
    last: u32,
    raw: Range<usize>,
    book: &Book,
) -> Result<Row, xml::Broken> {
    let mut attributes = xml::attributes(start)?;
    let number = match xml::get(&attributes, "r") {
        Some(number) => number.parse().map_err(|_| format!("a row is numbered `{number}`"))?,
        None => last + 1,
    };
    attributes.retain(|(name, _)| name != "r" && name != "spans");
    let mut reader = xml::open(inner);
    let mut cells: Vec<Cell> = Vec::new();
    let mut rest = String::new();
    loop {
        let from = xml::position(&reader);
        let event = xml::read(&mut reader)?;
        match event {
            Event::Eof => break,
            Event::Start(ref start) | Event::Empty(ref start) => {
                let is_empty = matches!(event, Event::Empty(_));
                let content = xml::inside(&mut reader, inner, start, is_empty)?;
                if xml::local(start) == "c" {
                    let next = cells.last().map_or(1, |cell| cell.at.column + 1);
                    cells.push(cell(start, &content, At { row: number, column: next }, book)?);
                } else {
                    rest.push_str(xml::piece(inner, from, xml::position(&reader)));
                }
            }
            _ => {}
        }
    }
    cells.sort_by_key(|cell| cell.at.column);
    Ok(Row { number, attributes, cells, rest, raw })
}

fn cell(start: &BytesStart<'_>, inner: &str, next: At, book: &Book) -> Result<Cell, xml::Broken> {
    let mut attributes = xml::attributes(start)?;
    let at = match xml::get(&attributes, "r") {
        Some(text) => {
            let at = At::parse(text).filter(|at| at.row == next.row);
            at.ok_or_else(|| format!("a cell of row {} is called `{text}`", next.row))?
        }
        None => next,
    };
    let kind = xml::get(&attributes, "t").filter(|kind| *kind != "n").map(str::to_string);
    let style = xml::get(&attributes, "s").and_then(|style| style.parse().ok()).unwrap_or(0);
    attributes.retain(|(name, _)| name != "r" && name != "t");
    let content = content(inner, kind, book)?;
    Ok(Cell { at, attributes, style, content })
}

fn content(inner: &str, kind: Option<String>, book: &Book) -> Result<Content, xml::Broken> {
    let mut reader = xml::open(inner);
    let mut value: Option<String> = None;
    let mut found = Content::Blank;
    loop {
        let event = xml::read(&mut reader)?;
        match event {
            Event::Eof => break,
            Event::Start(ref start) | Event::Empty(ref start) => {
                let is_empty = matches!(event, Event::Empty(_));
                let text = xml::inside(&mut reader, inner, start, is_empty)?;
                match xml::local(start).as_str() {
                    "f" => {
                        let attributes = xml::attributes(start)?;
                        let text = xml::plain(&text)?;
                        found = Content::Formula(Formula { attributes, text });
                    }
                    "v" => value = Some(text),
                    "is" => found = Content::Text(words(&text)?),
                    _ => {}
                }
            }
            _ => {}
        }
    }
    if found != Content::Blank {
        return Ok(found);
    }
    let Some(raw) = value else { return Ok(Content::Blank) };
    if kind.as_deref() == Some("s") {
        let words = raw.trim().parse::<usize>().ok().and_then(|at| book.strings.get(at));
        return words
            .map(|words| Content::Text(words.clone()))
            .ok_or_else(|| format!("there is no shared text {raw}"));
    }
    Ok(Content::Value { kind, raw })
}
