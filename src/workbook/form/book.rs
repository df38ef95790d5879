//! What a form's workbook part, shared strings and styles say.

use quick_xml::events::Event;

use super::FormError;
use super::formats::Formats;
use super::package::{Package, Relation};
use super::xml;

/// A form's parts by their use.
pub(super) struct Book {
    /// The workbook part's name.
    pub part: String,
    /// Sheets in order: name and part.
    pub sheets: Vec<(String, String)>,
    /// Days count from 1904.
    pub from_1904: bool,
    pub strings: Vec<Words>,
    /// The part of the cell formats, blank where there is none, and the formats.
    pub styles: String,
    pub formats: Formats,
    pub calc_chain: Option<String>,
}

/// A text as a cell holds it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Words {
    pub text: String,
    /// The style of its first run, as written, where it has runs.
    pub run: Option<String>,
}

impl Book {
    pub(super) fn read(package: &Package) -> Result<Book, FormError> {
        let start = package.relations("")?;
        let part = start
            .into_iter()
            .find(|relation| relation.kind == "officeDocument")
            .ok_or_else(|| FormError::NoWorkbook { why: "it has no workbook part".to_string() })?
            .target;
        let relations = package.relations(&part)?;
        let target = |kind: &str| {
            relations
                .iter()
                .find(|relation| relation.kind == kind)
                .map(|found| found.target.clone())
        };
        let text = package.needed(&part)?;
        let (sheets, from_1904) = workbook(&text, &relations)
            .map_err(|why| FormError::Damaged { part: part.clone(), why })?;
        let read = |kind: &str| -> Result<(String, String), FormError> {
            let Some(name) = target(kind) else { return Ok((String::new(), String::new())) };
            let text = package.part(&name)?.unwrap_or_default();
            Ok((name, text))
        };
        let (name, text) = read("sharedStrings")?;
        let strings =
            shared_strings(&text).map_err(|why| FormError::Damaged { part: name, why })?;
        let (styles, text) = read("styles")?;
        let formats =
            Formats::read(&text).map_err(|why| FormError::Damaged { part: styles.clone(), why })?;
        let calc_chain = target("calcChain");
        Ok(Book { part, sheets, from_1904, strings, styles, formats, calc_chain })
    }

    /// Whether a cell format shows dates.
    pub(super) fn shows_dates(&self, style: u32) -> bool {
        self.formats.get(style).is_some_and(|format| format.shows_dates)
    }
}

fn workbook(
    text: &str,
    relations: &[Relation],
) -> Result<(Vec<(String, String)>, bool), xml::Broken> {
    let mut reader = xml::open(text);
    let (mut sheets, mut from_1904) = (Vec::new(), false);
    loop {
        match xml::read(&mut reader)? {
            Event::Eof => return Ok((sheets, from_1904)),
            Event::Start(start) | Event::Empty(start) => {
                let attributes = xml::attributes(&start)?;
                match xml::local(&start).as_str() {
                    "workbookPr" => {
                        from_1904 = matches!(xml::get(&attributes, "date1904"), Some("1" | "true"));
                    }
                    "sheet" => {
                        let id = attributes.iter().find(|(key, _)| key.ends_with(":id"));
                        let part = id.and_then(|(_, id)| {
                            relations.iter().find(|r| r.id == *id && r.kind == "worksheet")
                        });
                        if let (Some(name), Some(part)) = (xml::get(&attributes, "name"), part) {
                            sheets.push((name.to_string(), part.target.clone()));
                        }
                    }
                    _ => {}
                }
            }
            _ => {}
        }
    }
}

fn shared_strings(text: &str) -> Result<Vec<Words>, xml::Broken> {
    let mut reader = xml::open(text);
    let mut strings = Vec::new();
    loop {
        match xml::read(&mut reader)? {
            Event::Eof => return Ok(strings),
            Event::Start(start) if xml::local(&start) == "si" => {
                let from = xml::position(&reader);
                let span = reader.read_to_end(start.name()).map_err(|error| error.to_string())?;
                let to = usize::try_from(span.end).unwrap_or(from);
                strings.push(words(xml::piece(text, from, to))?);
            }
            Event::Empty(start) if xml::local(&start) == "si" => strings.push(Words::default()),
            _ => {}
        }
    }
}

/// The text inside an `si` or `is` element, without the reading aids that stand beside it.
pub(super) fn words(inner: &str) -> Result<Words, xml::Broken> {
    let mut reader = xml::open(inner);
    let mut words = Words::default();
    loop {
        match xml::read(&mut reader)? {
            Event::Eof => return Ok(words),
            Event::Start(start) => {
                let name = xml::local(&start);
                let from = xml::position(&reader);
                match name.as_str() {
                    "t" | "rPh" | "rPr" => {
                        let span =
                            reader.read_to_end(start.name()).map_err(|error| error.to_string())?;
                        let to = usize::try_from(span.end).unwrap_or(from);
                        let raw = xml::piece(inner, from, to);
                        match name.as_str() {
                            "t" => words.text.push_str(&unescaped(&xml::plain(raw)?)),
                            "rPr" if words.run.is_none() && words.text.is_empty() => {
                                words.run = Some(raw.to_string());
                            }
                            _ => {}
                        }
                    }
                    _ => {}
                }
            }
            _ => {}
        }
    }
}

/// Text with its `_x000D_` and the like resolved.
fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("_x") {
        let code = rest.get(at + 2..at + 6).filter(|_| rest.get(at + 6..at + 7) == Some("_"));
        let letter =
            code.and_then(|code| u32::from_str_radix(code, 16).ok()).and_then(char::from_u32);
        let (kept, length) = if letter.is_some() { (at, 7) } else { (at + 2, 0) };
        out.push_str(rest.get(..kept).unwrap_or_default());
        out.extend(letter);
        rest = rest.get(kept + length..).unwrap_or_default();
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_gathered_from_runs() {
        let plain = words("<t>a &amp; b</t>").unwrap();
        assert_eq!((plain.text.as_str(), plain.run), ("a & b", None));
        let rich = words(
            "<r><rPr><b/></rPr><t xml:space=\"preserve\">{jo</t></r><r><t>b}</t></r>\
             <rPh sb=\"0\" eb=\"1\"><t>x</t></rPh>",
        )
        .unwrap();
        assert_eq!((rich.text.as_str(), rich.run.as_deref()), ("{job}", Some("<b/>")));
        assert_eq!(unescaped("a_x000D_b_x005F_x000D_ _x _xZZZZ_"), "a\rb_x000D_ _x _xZZZZ_");
    }
}
