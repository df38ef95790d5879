//! A workbook as the parts of its archive: read one by one within limits, written back with every
//! part that did not change copied as it is, in its place.

use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use super::FormError;
use super::xml::{self, Change};

/// Larger parts are refused, whatever the archive says of their size.
const LARGEST: u64 = 64 << 20;

/// New parts in place of old ones; none where the part goes.
pub(in crate::workbook) type Changes = BTreeMap<String, Option<String>>;

/// The parts of a workbook.
pub(in crate::workbook) struct Package {
    bytes: Vec<u8>,
    names: Vec<String>,
}

/// A relation of a part to another.
pub(super) struct Relation {
    pub id: String,
    /// The last word of its type: `worksheet`, `drawing`.
    pub kind: String,
    /// The other part's name.
    pub target: String,
}

impl Package {
    pub(in crate::workbook) fn open(bytes: Vec<u8>) -> Result<Package, FormError> {
        /// How a compound file begins: an encrypted workbook, or one of the old format.
        const COMPOUND: [u8; 8] = [0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
        if bytes.starts_with(&COMPOUND) {
            return Err(FormError::Encrypted);
        }
        let archive = ZipArchive::new(Cursor::new(&bytes))
            .map_err(|error| FormError::NoWorkbook { why: error.to_string() })?;
        let names: Vec<String> = archive
            .file_names()
            .map(|name| name.map(std::borrow::Cow::into_owned))
            .collect::<Result<_, _>>()
            .map_err(|error| FormError::NoWorkbook { why: error.to_string() })?;
        if names.iter().any(|name| name.starts_with("_xmlsignatures/")) {
            return Err(FormError::Signed);
        }
        Ok(Package { bytes, names })
    }

    /// The parts' names in the archive's order.
    pub(in crate::workbook) fn names(&self) -> &[String] {
        &self.names
    }

    /// The text of a part; none where there is no such part.
    pub(super) fn part(&self, name: &str) -> Result<Option<String>, FormError> {
        if !self.names.iter().any(|known| known == name) {
            return Ok(None);
        }
        let damaged = |why: String| FormError::Damaged { part: name.to_string(), why };
        let mut archive = ZipArchive::new(Cursor::new(&self.bytes))
            .map_err(|error| damaged(error.to_string()))?;
        let part = archive.by_name(name).map_err(|error| damaged(error.to_string()))?;
        let mut text = Vec::new();
        part.take(LARGEST + 1)
            .read_to_end(&mut text)
            .map_err(|error| damaged(error.to_string()))?;
        if text.len() as u64 > LARGEST {
            return Err(FormError::TooLarge { part: name.to_string() });
        }
        String::from_utf8(text).map(Some).map_err(|_| damaged("it is not UTF-8".to_string()))
    }

    /// A part that the format wants.
    pub(in crate::workbook) fn needed(&self, name: &str) -> Result<String, FormError> {
        self.part(name)?.ok_or_else(|| FormError::NoWorkbook { why: format!("it has no `{name}`") })
    }

    /// The relations of a part, those to places outside the archive left out.
    pub(super) fn relations(&self, part: &str) -> Result<Vec<Relation>, FormError> {
        let folder = part.rsplit_once('/').map_or("", |(folder, _)| folder);
        let name = relations_part(part);
        let Some(text) = self.part(&name)? else { return Ok(Vec::new()) };
        let damaged = |why: String| FormError::Damaged { part: name.clone(), why };
        let mut reader = xml::open(&text);
        let mut relations = Vec::new();
        loop {
            let event = xml::read(&mut reader).map_err(damaged)?;
            let (quick_xml::events::Event::Start(start) | quick_xml::events::Event::Empty(start)) =
                event
            else {
                if matches!(event, quick_xml::events::Event::Eof) {
                    return Ok(relations);
                }
                continue;
            };
            let attributes = xml::attributes(&start).map_err(damaged)?;
            let get = |name| xml::get(&attributes, name).unwrap_or_default();
            if xml::local(&start) == "Relationship" && get("TargetMode") != "External" {
                relations.push(Relation {
                    id: get("Id").to_string(),
                    kind: get("Type").rsplit('/').next().unwrap_or_default().to_string(),
                    target: resolved(folder, get("Target")),
                });
            }
        }
    }

    /// Changes a part where it is there, on top of what was changed before.
    pub(super) fn change(
        &self,
        name: &str,
        changes: &mut Changes,
        change: &mut dyn Change,
    ) -> Result<(), FormError> {
        let text = match changes.get(name) {
            Some(None) => return Ok(()),
            Some(Some(text)) => Some(text.clone()),
            None => self.part(name)?,
        };
        let Some(text) = text else { return Ok(()) };
        let new = xml::change(&text, change)
            .map_err(|why| FormError::Damaged { part: name.to_string(), why })?;
        if let Some(new) = new {
            changes.insert(name.to_string(), Some(new));
        }
        Ok(())
    }

    /// Takes a part out, with the relation of the workbook to it and its content type.
    pub(super) fn take_out(
        &self,
        name: &str,
        of: &str,
        changes: &mut Changes,
    ) -> Result<(), FormError> {
        struct TakeOut<'a>(&'a str, String);
        impl Change for TakeOut<'_> {
            fn drops(&mut self, path: &[String], attributes: &[(String, String)]) -> bool {
                let get = |name| xml::get(attributes, name).unwrap_or_default();
                match path.last().map(String::as_str) {
                    Some("Override") => get("PartName").trim_start_matches('/') == self.0,
                    Some("Relationship") => resolved(&self.1, get("Target")) == self.0,
                    _ => false,
                }
            }
        }
        let folder = of.rsplit_once('/').map_or("", |(folder, _)| folder);
        let mut change = TakeOut(name, folder.to_string());
        self.change("[Content_Types].xml", changes, &mut change)?;
        self.change(&relations_part(of), changes, &mut change)?;
        changes.insert(name.to_string(), None);
        Ok(())
    }

    /// The archive with the changes in it: every other part as it was, byte for byte.
    pub(in crate::workbook) fn write(&self, changes: &Changes) -> Result<Vec<u8>, FormError> {
        let failed =
            |error: &dyn std::fmt::Display| FormError::NoWorkbook { why: error.to_string() };
        let mut archive =
            ZipArchive::new(Cursor::new(&self.bytes)).map_err(|error| failed(&error))?;
        let mut writer = ZipWriter::new(Cursor::new(Vec::with_capacity(self.bytes.len() + 4096)));
        for at in 0..archive.len() {
            let part = archive.by_index_raw(at).map_err(|error| failed(&error))?;
            let name = part.name().map_err(|error| failed(&error))?.into_owned();
            match changes.get(&name) {
                None => writer.raw_copy_file(part).map_err(|error| failed(&error))?,
                Some(None) => {}
                Some(Some(text)) => {
                    let options = SimpleFileOptions::default()
                        .compression_method(CompressionMethod::Deflated)
                        .last_modified_time(part.last_modified().unwrap_or_default());
                    drop(part);
                    writer.start_file(name, options).map_err(|error| failed(&error))?;
                    writer.write_all(text.as_bytes()).map_err(|error| failed(&error))?;
                }
            }
        }
        let done = writer.finish().map_err(|error| failed(&error))?;
        Ok(done.into_inner())
    }
}

/// The part that holds the relations of a part.
pub(super) fn relations_part(part: &str) -> String {
    let (folder, file) = part.rsplit_once('/').unwrap_or(("", part));
    relations_of(folder, file)
}

fn relations_of(folder: &str, file: &str) -> String {
    if folder.is_empty() {
        format!("_rels/{file}.rels")
    } else {
        format!("{folder}/_rels/{file}.rels")
    }
}

/// A target's name from the root of the archive.
fn resolved(folder: &str, target: &str) -> String {
    if let Some(absolute) = target.strip_prefix('/') {
        return absolute.to_string();
    }
    let mut steps: Vec<&str> = folder.split('/').filter(|step| !step.is_empty()).collect();
    for step in target.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop();
            }
            step => steps.push(step),
        }
    }
    steps.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_are_resolved() {
        assert_eq!(resolved("xl", "worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
        assert_eq!(
            resolved("xl/worksheets", "../drawings/drawing1.xml"),
            "xl/drawings/drawing1.xml"
        );
        assert_eq!(resolved("xl", "/xl/calcChain.xml"), "xl/calcChain.xml");
        assert_eq!(resolved("", "../../x.xml"), "x.xml");
        assert_eq!(relations_of("xl", "workbook.xml"), "xl/_rels/workbook.xml.rels");
        assert_eq!(relations_of("", ""), "_rels/.rels");
    }
}
