//! The formats of a form's cells: what they show, and the same ones wrapping their text.

use std::cell::RefCell;

use quick_xml::events::Event;

use super::sheet::Attributes;
use super::{write, xml};

/// A form's cell formats in their order.
#[derive(Default)]
pub(super) struct Formats {
    all: Vec<Format>,
    /// Where another format can be added to the part.
    end: Option<usize>,
    /// What the format's own elements are prefixed with.
    prefix: String,
}

/// A cell format.
#[derive(Default)]
pub(super) struct Format {
    pub shows_dates: bool,
    /// Its letters' size and weight beside those that columns are measured in.
    pub scale: f64,
    attributes: Attributes,
    alignment: Attributes,
    /// What stands in it beside the alignment, as written.
    rest: String,
}

/// Formats wanted that the form has not: those of these numbers, wrapping.
#[derive(Default)]
pub(super) struct Wrapping(RefCell<Vec<u32>>);

impl Format {
    fn aligned(&self, name: &str) -> Option<&str> {
        xml::get(&self.alignment, name)
    }

    /// Whether its text is broken into lines.
    pub(super) fn wraps(&self) -> bool {
        let justified = |name| matches!(self.aligned(name), Some("justify" | "distributed"));
        matches!(self.aligned("wrapText"), Some("1" | "true"))
            || justified("horizontal")
            || justified("vertical")
    }

    /// Whether its text shrinks to the cell, is turned, repeated or centred over more cells: it is left
    /// as the shop has it.
    pub(super) fn is_its_own(&self) -> bool {
        matches!(self.aligned("shrinkToFit"), Some("1" | "true"))
            || self.aligned("textRotation").is_some_and(|turn| turn != "0")
            || matches!(self.aligned("horizontal"), Some("fill" | "centerContinuous"))
    }

    /// Over how wide blank cells its text may run on, of those to its left and right.
    pub(super) fn runs_over(&self, left: f64, right: f64) -> f64 {
        match self.aligned("horizontal") {
            None | Some("general" | "left") => right,
            Some("right") => left,
            Some("center") => 2.0 * left.min(right),
            Some(_) => 0.0,
        }
    }

    /// The same format, wrapping.
    fn wrapping(&self, prefix: &str) -> String {
        let (mut xf, mut alignment) = (self.attributes.clone(), self.alignment.clone());
        xml::set(&mut xf, "applyAlignment", "1".to_string());
        xml::set(&mut alignment, "wrapText", "1".to_string());
        let alignment = write::tag(prefix, "alignment", &alignment, "");
        write::tag(prefix, "xf", &xf, &format!("{alignment}{}", self.rest))
    }
}

impl Formats {
    /// Reads the formats of a styles part.
    pub(super) fn read(text: &str) -> Result<Formats, xml::Broken> {
        let mut reader = xml::open(text);
        let mut formats = Formats::default();
        let mut dates: Vec<(String, bool)> = Vec::new();
        let mut fonts: Vec<Font> = Vec::new();
        let mut inside: Option<&str> = None;
        loop {
            let from = xml::position(&reader);
            let event = xml::read(&mut reader)?;
            match event {
                Event::Eof => return Ok(formats),
                Event::End(ref end) => match end.local_name().as_ref() {
                    "cellXfs" => {
                        (formats.end, inside) = (Some(from), None);
                    }
                    "fonts" => inside = None,
                    _ => {}
                },
                Event::Start(ref start) | Event::Empty(ref start) => {
                    let is_empty = matches!(event, Event::Empty(_));
                    let attributes = xml::attributes(start)?;
                    let get = |name| xml::get(&attributes, name).unwrap_or_default();
                    match (xml::local(start).as_str(), inside) {
                        ("numFmt", _) => {
                            dates.push((get("numFmtId").to_string(), is_date(get("formatCode"))));
                        }
                        ("fonts", _) if !is_empty => inside = Some("fonts"),
                        ("cellXfs", _) if !is_empty => {
                            let name = start.name().as_ref().to_string();
                            formats.prefix =
                                name.strip_suffix("cellXfs").unwrap_or_default().to_string();
                            inside = Some("cellXfs");
                        }
                        ("font", Some("fonts")) => {
                            let inner = xml::inside(&mut reader, text, start, is_empty)?;
                            fonts.push(Font::read(&inner)?);
                        }
                        ("xf", Some("cellXfs")) => {
                            let inner = xml::inside(&mut reader, text, start, is_empty)?;
                            let mut format = format(attributes, &inner)?;
                            let number = format.number("numFmtId");
                            format.shows_dates = shows_dates(number, &dates);
                            format.scale = scale(&fonts, format.number("fontId"));
                            formats.all.push(format);
                        }
                        _ => {}
                    }
                }
                _ => {}
            }
        }
    }

    pub(super) fn get(&self, style: u32) -> Option<&Format> {
        usize::try_from(style).ok().and_then(|at| self.all.get(at))
    }

    /// The number of a format's wrapping twin; none where the form has no formats to add to.
    pub(super) fn wrapped(&self, style: u32, wrapping: &Wrapping) -> Option<u32> {
        self.get(style).and(self.end)?;
        let mut wanted = wrapping.0.borrow_mut();
        let at = wanted.iter().position(|known| *known == style).unwrap_or_else(|| {
            wanted.push(style);
            wanted.len() - 1
        });
        u32::try_from(self.all.len() + at).ok()
    }

    /// The styles part with the wrapping formats added; none where none is wanted.
    pub(super) fn with(
        &self,
        text: &str,
        wrapping: &Wrapping,
    ) -> Result<Option<String>, xml::Broken> {
        struct Counted(usize);
        impl xml::Change for Counted {
            fn attribute(&mut self, path: &[String], name: &str, _: &str) -> Option<String> {
                let last = path.last().map(String::as_str);
                (last == Some("cellXfs") && name == "count").then(|| self.0.to_string())
            }
        }
        let wanted = wrapping.0.borrow();
        let Some(end) = self.end.filter(|_| !wanted.is_empty()) else { return Ok(None) };
        let added: String = wanted
            .iter()
            .filter_map(|style| self.get(*style))
            .map(|format| format.wrapping(&self.prefix))
            .collect();
        let before = xml::piece(text, 0, end);
        let counted = xml::change(before, &mut Counted(self.all.len() + wanted.len()))?;
        let before = counted.as_deref().unwrap_or(before);
        Ok(Some(format!("{before}{added}{}", xml::piece(text, end, text.len()))))
    }
}

impl Format {
    fn number(&self, name: &str) -> &str {
        xml::get(&self.attributes, name).unwrap_or("0")
    }
}

/// A font's size and weight.
struct Font {
    size: f64,
    is_bold: bool,
}

impl Font {
    fn read(inner: &str) -> Result<Font, xml::Broken> {
        const USUAL: f64 = 11.0;
        let mut font = Font { size: USUAL, is_bold: false };
        let mut reader = xml::open(inner);
        loop {
            match xml::read(&mut reader)? {
                Event::Eof => return Ok(font),
                Event::Start(start) | Event::Empty(start) => {
                    let attributes = xml::attributes(&start)?;
                    let value = xml::get(&attributes, "val");
                    match xml::local(&start).as_str() {
                        "sz" => {
                            let size = value.and_then(|size| size.parse::<f64>().ok());
                            font.size = size.filter(|size| *size >= 1.0).unwrap_or(USUAL);
                        }
                        "b" => font.is_bold = !matches!(value, Some("0" | "false")),
                        _ => {}
                    }
                }
                _ => {}
            }
        }
    }
}

/// How much wider a font's letters are than those of the first, which columns are measured in.
fn scale(fonts: &[Font], font: &str) -> f64 {
    const BOLD: f64 = 1.06;
    let font = font.parse::<usize>().ok().and_then(|at| fonts.get(at));
    let (Some(first), Some(font)) = (fonts.first(), font) else { return 1.0 };
    font.size / first.size * if font.is_bold { BOLD } else { 1.0 }
}

/// A format by its attributes and what stands in it.
fn format(attributes: Attributes, inner: &str) -> Result<Format, xml::Broken> {
    let mut format = Format { attributes, ..Format::default() };
    let mut reader = xml::open(inner);
    loop {
        let from = xml::position(&reader);
        let event = xml::read(&mut reader)?;
        match event {
            Event::Eof => return Ok(format),
            Event::Start(ref start) | Event::Empty(ref start) => {
                let is_empty = matches!(event, Event::Empty(_));
                xml::inside(&mut reader, inner, start, is_empty)?;
                if xml::local(start) == "alignment" {
                    format.alignment = xml::attributes(start)?;
                } else {
                    format.rest.push_str(xml::piece(inner, from, xml::position(&reader)));
                }
            }
            _ => {}
        }
    }
}

fn shows_dates(number: &str, own: &[(String, bool)]) -> bool {
    let known = own.iter().find(|(own, _)| own == number).map(|(_, date)| *date);
    let built_in = || {
        let number: u32 = number.parse().unwrap_or(0);
        matches!(number, 14..=22 | 27..=36 | 45..=47 | 50..=58)
    };
    known.unwrap_or_else(built_in)
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
    fn a_wrapping_format_is_the_old_one_but_for_that() {
        let text = "<x:styleSheet><x:fonts><x:font><x:sz val=\"10\"/></x:font><x:font><x:b/>\
                    <x:sz val=\"20\"/></x:font></x:fonts><x:cellXfs count=\"2\"><x:xf fontId=\"0\"/>\
                    <x:xf fontId=\"1\" numFmtId=\"14\"><x:alignment horizontal=\"right\"/>\
                    <x:protection locked=\"0\"/></x:xf></x:cellXfs><x:dxfs/></x:styleSheet>";
        let formats = Formats::read(text).unwrap();
        let second = formats.get(1).unwrap();
        assert_eq!((second.shows_dates, second.wraps()), (true, false));
        assert_eq!(second.runs_over(3.0, 5.0), 3.0);
        assert_eq!(formats.get(0).unwrap().runs_over(3.0, 5.0), 5.0);
        assert!((second.scale - 2.12).abs() < 1e-9, "{}", second.scale);
        let wrapping = Wrapping::default();
        assert_eq!(formats.with(text, &wrapping), Ok(None));
        assert_eq!(formats.wrapped(1, &wrapping), Some(2));
        assert_eq!(formats.wrapped(0, &wrapping), Some(3));
        assert_eq!(formats.wrapped(1, &wrapping), Some(2));
        assert_eq!(formats.wrapped(7, &wrapping), None);
        let new = formats.with(text, &wrapping).unwrap().unwrap();
        let added = "<x:xf fontId=\"1\" numFmtId=\"14\" applyAlignment=\"1\"><x:alignment \
                     horizontal=\"right\" wrapText=\"1\"/><x:protection locked=\"0\"/></x:xf>\
                     <x:xf fontId=\"0\" applyAlignment=\"1\"><x:alignment wrapText=\"1\"/></x:xf>\
                     </x:cellXfs>";
        assert_eq!(new, text.replace("count=\"2\"", "count=\"4\"").replace("</x:cellXfs>", added));
        let all = Formats::read(&new).unwrap();
        assert!(all.get(2).is_some_and(Format::wraps) && all.get(3).is_some_and(Format::wraps));
    }
}
