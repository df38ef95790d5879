//! A schedule workbook made of plain values, as tests of a shop's rules make theirs: in, sheets of
//! rows by heading; out, the bytes of an xlsx that is read like any other.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::finding::column_letters;
use crate::value::{Record, Value};

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n";
const TYPES: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml";
const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";
const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";

/// The bytes of a workbook with these sheets; a row is a record by heading.
///
/// # Errors
/// Where the archive can not be written.
pub fn made_bytes(sheets: &[(String, Vec<Record>)]) -> Result<Vec<u8>, zip::result::ZipError> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let mut part = |name: &str, text: &str| {
        archive.start_file(name, SimpleFileOptions::default())?;
        archive.write_all(text.as_bytes()).map_err(zip::result::ZipError::from)
    };
    let (mut types, mut relations, mut listed) = (String::new(), String::new(), String::new());
    for (at, (name, rows)) in (1..).zip(sheets) {
        let _ = write!(
            types,
            "<Override PartName=\"/xl/worksheets/sheet{at}.xml\" ContentType=\"{TYPES}.worksheet+xml\"/>"
        );
        let _ = write!(
            relations,
            "<Relationship Id=\"s{at}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet{at}.xml\"/>"
        );
        let _ =
            write!(listed, "<sheet name=\"{}\" sheetId=\"{at}\" r:id=\"s{at}\"/>", escaped(name));
        let data = sheet_data(rows);
        part(
            &format!("xl/worksheets/sheet{at}.xml"),
            &format!("{HEAD}<worksheet xmlns=\"{MAIN}\"><sheetData>{data}</sheetData></worksheet>"),
        )?;
    }
    part(
        "[Content_Types].xml",
        &format!(
            "{HEAD}<Types xmlns=\"{PACKAGE}/content-types\"><Default Extension=\"rels\" \
             ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\
             <Override PartName=\"/xl/workbook.xml\" ContentType=\"{TYPES}.sheet.main+xml\"/>{types}</Types>"
        ),
    )?;
    part(
        "_rels/.rels",
        &format!(
            "{HEAD}<Relationships xmlns=\"{PACKAGE}/relationships\"><Relationship Id=\"b\" \
             Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
        ),
    )?;
    part(
        "xl/workbook.xml",
        &format!(
            "{HEAD}<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets>{listed}</sheets></workbook>"
        ),
    )?;
    part(
        "xl/_rels/workbook.xml.rels",
        &format!(
            "{HEAD}<Relationships xmlns=\"{PACKAGE}/relationships\">{relations}</Relationships>"
        ),
    )?;
    Ok(archive.finish()?.into_inner())
}

/// The headings in the order in which they first come, then a row each.
fn sheet_data(rows: &[Record]) -> String {
    let mut headings: indexmap::IndexSet<&str> = indexmap::IndexSet::new();
    headings.extend(rows.iter().flat_map(|row| row.keys().map(|key| &**key)));
    let mut data = String::new();
    let first: Vec<Value> = headings.iter().map(Value::text).collect();
    let others = rows.iter().map(|row| {
        headings.iter().map(|heading| row.get(heading).cloned().unwrap_or_default()).collect()
    });
    for (at, cells) in (1..).zip(std::iter::once(first).chain(others)) {
        let _ = write!(data, "<row r=\"{at}\">");
        for (column, value) in (0..).zip(&cells) {
            cell(&mut data, &format!("{}{at}", column_letters(column)), value);
        }
        data.push_str("</row>");
    }
    data
}

fn cell(data: &mut String, address: &str, value: &Value) {
    let text = |data: &mut String, text: &str| {
        let _ = write!(
            data,
            "<c r=\"{address}\" t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
            escaped(text)
        );
    };
    match value {
        Value::Blank => {}
        Value::Bool(flag) => {
            let _ = write!(data, "<c r=\"{address}\" t=\"b\"><v>{}</v></c>", u8::from(*flag));
        }
        Value::Text(typed) => text(data, typed),
        Value::List(items) => {
            let items: Vec<String> = items
                .iter()
                .map(|item| item.as_text().map_or_else(|| item.to_string(), str::to_owned))
                .collect();
            text(data, &items.join(", "));
        }
        other => match other.as_number() {
            Some(number) => {
                let _ = write!(data, "<c r=\"{address}\"><v>{number}</v></c>");
            }
            None => text(data, &other.to_string()),
        },
    }
}

/// Text as XML holds it; signs that XML can not hold are left out.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\t' | '\n' => escaped.push(sign),
            control if control < ' ' || matches!(control, '\u{fffe}' | '\u{ffff}') => {}
            other => escaped.push(other),
        }
    }
    escaped
}
