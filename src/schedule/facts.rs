//! What a sheet's cells do not tell: merged ranges, hidden rows and columns.

use std::io::BufRead;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::watch;

/// A merged range, from 0, ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Merge {
    pub top: u32,
    pub left: u32,
    pub bottom: u32,
    pub right: u32,
}

/// The facts about a sheet.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    pub merges: Vec<Merge>,
    pub hidden_rows: Vec<u32>,
    /// First and last of each run of hidden columns.
    pub hidden_columns: Vec<(u32, u32)>,
    /// There were cells beyond the columns that are read.
    pub beyond: bool,
}

/// Reads the facts out of the XML around a sheet's cells.
pub fn of_xml(noticed: &watch::Facts) -> Facts {
    let mut facts = Facts { hidden_rows: noticed.hidden_rows.clone(), ..Facts::default() };
    each_tag(&*noticed.before, |tag| {
        if tag.local_name().as_ref() != "col" || !is_true(attribute(tag, "hidden").as_deref()) {
            return;
        }
        let number = |key: &str| attribute(tag, key).and_then(|text| text.parse::<u32>().ok());
        if let (Some(first @ 1..), Some(last)) = (number("min"), number("max")) {
            facts.hidden_columns.push((first - 1, last.saturating_sub(1)));
        }
    });
    each_tag(&*noticed.behind, |tag| {
        if tag.local_name().as_ref() == "mergeCell"
            && let Some(merge) = attribute(tag, "ref").as_deref().and_then(range)
        {
            facts.merges.push(merge);
        }
    });
    facts
}

/// Visits the tags of a piece of XML, as they begin, until it can not be read on.
pub fn each_tag(xml: impl BufRead, mut visit: impl FnMut(&BytesStart<'_>)) {
    let mut reader = Reader::from_reader(xml);
    let config = reader.config_mut();
    config.check_end_names = false;
    config.allow_unmatched_ends = true;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(tag) | Event::Empty(tag)) => visit(&tag),
            Ok(Event::Eof) | Err(_) => return,
            Ok(_) => {}
        }
    }
}

pub fn attribute(tag: &BytesStart<'_>, key: &str) -> Option<String> {
    let found = tag.attributes().flatten().find(|attribute| attribute.key.as_ref() == key)?;
    Some(found.value.into_owned())
}

fn is_true(text: Option<&str>) -> bool {
    matches!(text, Some("1" | "true"))
}

/// `B3:B14` from 0.
fn range(text: &str) -> Option<Merge> {
    let (from, to) = text.split_once(':')?;
    let ((top, left), (bottom, right)) = (cell(from)?, cell(to)?);
    Some(Merge { top, left, bottom, right })
}

/// Row and column, from 0, of `B3`.
pub fn cell(text: &str) -> Option<(u32, u32)> {
    let text = text.replace('$', "");
    let digits = text.find(|c: char| c.is_ascii_digit())?;
    let (letters, row) = text.split_at(digits);
    let mut column: u32 = 0;
    for letter in letters.bytes() {
        if !letter.is_ascii_alphabetic() || letters.len() > 3 {
            return None;
        }
        column = column * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1;
    }
    Some((row.parse::<u32>().ok()?.checked_sub(1)?, column.checked_sub(1)?))
}
