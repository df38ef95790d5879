//! XML parts changed in place: what is not changed keeps its very bytes.

use std::fmt::Write;

use quick_xml::Reader;
use quick_xml::escape::{escape, partial_escape, unescape};
use quick_xml::events::{BytesStart, Event};

/// Why a part can not be read.
pub(super) type Broken = String;

/// What becomes of an element's attributes, text or the element itself. Names are local: without
/// their prefixes.
pub(super) trait Change {
    /// A new value for an attribute. `path` ends with the element.
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let _ = (path, name, value);
        None
    }

    /// A new text for an element that holds text alone.
    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        let _ = (path, text);
        None
    }

    /// Whether an element goes with all it holds; its attributes by local name.
    fn drops(&mut self, path: &[String], attributes: &[(String, String)]) -> bool {
        let _ = (path, attributes);
        false
    }
}

/// Changes a part, or a piece of one; none where nothing changed.
pub(super) fn change(xml: &str, change: &mut dyn Change) -> Result<Option<String>, Broken> {
    let mut reader = open(xml);
    let mut out = String::with_capacity(xml.len() + 256);
    let mut path: Vec<String> = Vec::new();
    let mut changed = false;
    // Where the text of the innermost element began, until another element turns up in it.
    let mut text_from: Option<usize> = None;
    let mut copied = 0;
    loop {
        let from = position(&reader);
        let event = read(&mut reader)?;
        match event {
            Event::Eof => break,
            Event::Start(ref start) | Event::Empty(ref start) => {
                let is_empty = matches!(event, Event::Empty(_));
                path.push(local(start));
                let attributes = attributes(start)?;
                if change.drops(&path, &attributes) {
                    out.push_str(piece(xml, copied, from));
                    if !is_empty {
                        reader.read_to_end(start.name()).map_err(|error| error.to_string())?;
                    }
                    copied = position(&reader);
                    path.pop();
                    changed = true;
                    text_from = None;
                    continue;
                }
                if let Some(tag) = with_attributes(start, &path, change, is_empty)? {
                    out.push_str(piece(xml, copied, from));
                    out.push_str(&tag);
                    copied = position(&reader);
                    changed = true;
                }
                text_from = (!is_empty).then(|| position(&reader));
                if is_empty {
                    path.pop();
                }
            }
            Event::End(_) => {
                if let Some(start) = text_from.take() {
                    let old = plain(piece(xml, start, from))?;
                    if let Some(new) = change.text(&path, &old).filter(|new| *new != old) {
                        out.push_str(piece(xml, copied, start));
                        out.push_str(&partial_escape(new.as_str()));
                        copied = from;
                        changed = true;
                    }
                }
                path.pop();
            }
            _ => {}
        }
    }
    out.push_str(piece(xml, copied, xml.len()));
    Ok(changed.then_some(out))
}

/// The start tag with its new attributes, where one changes.
fn with_attributes(
    start: &BytesStart<'_>,
    path: &[String],
    change: &mut dyn Change,
    is_empty: bool,
) -> Result<Option<String>, Broken> {
    let mut tag = format!("<{}", start.name().as_ref());
    let mut changed = false;
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| error.to_string())?;
        let key = attribute.key.as_ref().to_string();
        let raw = attribute.value.as_ref().to_string();
        let value = plain(&raw)?;
        let name = key.rsplit(':').next().unwrap_or_default();
        let is_namespace = key.starts_with("xmlns");
        let new = if is_namespace { None } else { change.attribute(path, name, &value) };
        let new = new.filter(|new| *new != value);
        changed |= new.is_some();
        let written =
            new.map_or(raw.replace('"', "&quot;"), |new| escape(new.as_str()).into_owned());
        let _ = write!(tag, " {key}=\"{written}\"");
    }
    tag.push_str(if is_empty { "/>" } else { ">" });
    Ok(changed.then_some(tag))
}

/// A reader that takes pieces of documents too.
pub(super) fn open(xml: &str) -> Reader<&[u8]> {
    let mut reader = Reader::from_str(xml);
    let config = reader.config_mut();
    config.check_end_names = false;
    config.allow_unmatched_ends = true;
    reader
}

pub(super) fn read<'a>(reader: &mut Reader<&'a [u8]>) -> Result<Event<'a>, Broken> {
    match reader.read_event() {
        // Entities of its own making could stand for anything.
        Ok(Event::DocType(_)) => Err("it has a document type declaration".to_string()),
        Ok(event) => Ok(event),
        Err(error) => Err(error.to_string()),
    }
}

pub(super) fn position(reader: &Reader<&[u8]>) -> usize {
    usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX)
}

pub(super) fn piece(xml: &str, from: usize, to: usize) -> &str {
    xml.get(from..to).unwrap_or_default()
}

/// What stands inside an element that has just begun, as written.
pub(super) fn inside(
    reader: &mut Reader<&[u8]>,
    text: &str,
    start: &BytesStart<'_>,
    is_empty: bool,
) -> Result<String, Broken> {
    if is_empty {
        return Ok(String::new());
    }
    let from = position(reader);
    let span = reader.read_to_end(start.name()).map_err(|error| error.to_string())?;
    let to = usize::try_from(span.end).unwrap_or(from);
    Ok(piece(text, from, to).to_string())
}

/// The local name of an element.
pub(super) fn local(start: &BytesStart<'_>) -> String {
    start.local_name().as_ref().to_string()
}

/// Attributes by their names as written, values as meant.
pub(super) fn attributes(start: &BytesStart<'_>) -> Result<Vec<(String, String)>, Broken> {
    let mut all = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| error.to_string())?;
        let name = attribute.key.as_ref().to_string();
        all.push((name, plain(attribute.value.as_ref())?));
    }
    Ok(all)
}

/// The attribute of that name as written.
pub(super) fn get<'a>(attributes: &'a [(String, String)], name: &str) -> Option<&'a str> {
    attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
}

/// Sets the attribute of that name as written.
pub(super) fn set(attributes: &mut Vec<(String, String)>, name: &str, value: String) {
    match attributes.iter_mut().find(|(key, _)| key == name) {
        Some(known) => known.1 = value,
        None => attributes.push((name.to_string(), value)),
    }
}

/// Text with its entities resolved.
pub(super) fn plain(raw: &str) -> Result<String, Broken> {
    if let Some(inner) = raw.trim().strip_prefix("<![CDATA[").and_then(|r| r.strip_suffix("]]>")) {
        return Ok(inner.to_string());
    }
    unescape(raw).map(std::borrow::Cow::into_owned).map_err(|error| error.to_string())
}
