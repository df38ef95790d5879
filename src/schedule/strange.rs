//! Finds the cells that the cell reader stumbles over (newer error values, numbers that are none),
//! so that they can be said with their place.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::BufReader;

use quick_xml::Reader;
use quick_xml::events::Event;

use super::archive::Archive;
use super::facts::{attribute, cell};
use super::grid::Cell;

/// Strange cells by row and column.
#[derive(Default)]
pub struct Cells {
    cells: BTreeMap<(u32, u32), Cell<'static>>,
}

impl Cells {
    /// Takes the strange cells of a row out.
    pub fn of_row(&mut self, row: u32) -> Vec<(u32, Cell<'static>)> {
        let keys: Vec<(u32, u32)> =
            self.cells.range((row, 0)..(row + 1, 0)).map(|(key, _)| *key).collect();
        keys.into_iter().filter_map(|key| Some((key.1, self.cells.remove(&key)?))).collect()
    }

    /// The next row with a strange cell.
    pub fn next_row(&self) -> Option<u32> {
        self.cells.keys().next().map(|(row, _)| *row)
    }
}

/// Finds them in the part that is being read, behind a cell.
pub fn find(archive: &Archive, after: Option<(u32, u32)>) -> Cells {
    const MOST: usize = 10_000;
    let mut found = Cells::default();
    let Some(part) = archive.another() else { return found };
    let mut reader = Reader::from_reader(BufReader::new(part));
    reader.config_mut().check_end_names = false;
    let mut buffer = Vec::new();
    let mut at: Option<(u32, u32)> = None;
    let mut kind: Option<String> = None;
    let mut in_value = false;
    let mut value = String::new();
    while found.cells.len() < MOST {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(tag)) => match tag.local_name().as_ref() {
                "c" => {
                    at = attribute(&tag, "r").as_deref().and_then(cell);
                    kind = attribute(&tag, "t");
                    value.clear();
                }
                "v" => in_value = true,
                _ => {}
            },
            Ok(Event::Text(text)) if in_value => value.push_str(&text.xml10_content()),
            Ok(Event::End(tag)) => match tag.local_name().as_ref() {
                "v" => in_value = false,
                "c" => {
                    if let Some(at) = at
                        && after.is_none_or(|after| at > after)
                        && let Some(strange) = strange(kind.as_deref(), &value)
                    {
                        found.cells.insert(at, strange);
                    }
                }
                _ => {}
            },
            Ok(Event::Eof) | Err(_) => break,
            Ok(_) => {}
        }
    }
    found
}

fn strange(kind: Option<&str>, value: &str) -> Option<Cell<'static>> {
    const KNOWN: [&str; 7] = ["#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"];
    let value = value.trim();
    let damaged = || {
        let shown: String = value.chars().take(60).collect();
        Some(Cell::Damaged(format!("`{shown}`").into()))
    };
    match kind {
        Some("e") if value.starts_with('#') => {
            (!KNOWN.contains(&value)).then(|| Cell::Error(Cow::Owned(value.to_owned())))
        }
        Some("n") if !value.is_empty() && value.parse::<f64>().is_err() => damaged(),
        Some("b") if !matches!(value, "" | "0" | "1" | "true" | "false") => damaged(),
        Some("n" | "b" | "s" | "str" | "inlineStr" | "is" | "d") | None => None,
        // Errors that are none, and kinds that are none.
        Some(_) => damaged(),
    }
}
