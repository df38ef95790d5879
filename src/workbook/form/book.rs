//! What a form's workbook part, shared strings and styles say.

use quick_xml::events::Event;

use super::FormError;
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
    /// For each cell format, whether it shows dates.
    pub date_formats: Vec<bool>,
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
        let (name, text) = read("styles")?;
        let date_formats =
            date_formats(&text).map_err(|why| FormError::Damaged { part: name, why })?;
        let calc_chain = target("calcChain");
        Ok(Book { part, sheets, from_1904, strings, date_formats, calc_chain })
    }

    /// Whether a cell format shows dates.
    pub(super) fn shows_dates(&self, style: u32) -> bool {
        usize::try_from(style)
            .ok()
            .and_then(|at| self.date_formats.get(at))
            .copied()
            .unwrap_or(false)
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

fn date_formats(text: &str) -> Result<Vec<bool>, xml::Broken> {
    let mut reader = xml::open(text);
    let mut own: Vec<(String, bool)> = Vec::new();
    let mut formats = Vec::new();
    let mut in_cells = false;
    loop {
        match xml::read(&mut reader)? {
            Event::Eof => return Ok(formats),
            Event::End(end) if end.local_name().as_ref() == "cellXfs" => in_cells = false,
            Event::Start(start) | Event::Empty(start) => {
                let attributes = xml::attributes(&start)?;
                let get = |name| xml::get(&attributes, name).unwrap_or_default();
                match xml::local(&start).as_str() {
                    "numFmt" => own.push((get("numFmtId").to_string(), is_date(get("formatCode")))),
                    "cellXfs" => in_cells = true,
                    "xf" if in_cells => {
                        let id = get("numFmtId");
                        let known = own.iter().find(|(own, _)| own == id).map(|(_, date)| *date);
                        let built_in = || {
                            let id: u32 = id.parse().unwrap_or(0);
                            matches!(id, 14..=22 | 27..=36 | 45..=47 | 50..=58)
                        };
                        formats.push(known.unwrap_or_else(built_in));
                    }
                    _ => {}
                }
            }
            _ => {}
        }
    }
}

/// Whether a number format shows a day, month or year.
fn is_date(format: &str) -> bool {
    let mut bare = String::new();
    let mut letters = format.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '"' => {
                letters.by_ref().find(|letter| *letter == '"');
            }
            '[' => {
                letters.by_ref().find(|letter| *letter == ']');
            }
            '\\' | '_' | '*' => {
                letters.next();
            }
            other => bare.push(other.to_ascii_lowercase()),
        }
    }
    !bare.contains("general") && bare.contains(['d', 'm', 'y'])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn date_formats_are_known() {
        for format in ["yyyy-mm-dd", "d/m/yy;@", "[$-409]mmm d", "m\\/d"] {
            assert!(is_date(format), "{format}");
        }
        for format in ["General", "0.00", "#,##0 \"day\"", "[Red]0", "0\\d", "_d0"] {
            assert!(!is_date(format), "{format}");
        }
    }

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
