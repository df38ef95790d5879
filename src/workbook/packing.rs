//! Large sheets, packed by the threads that painted them.
//!
//! The library packs a book on one thread, sheet after sheet. A large sheet is therefore saved in a book
//! of its own; the workbook is saved with a stand-in of the same name, notes and filter, which the packed
//! sheet then replaces. The formats of both are numbered by the workbook.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Cursor, Write};

use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};
use zip::result::ZipError;
use zip::{ZipArchive, ZipWriter};

/// Lightly packed: twice as fast as is usual for a sixth more bytes, three times for a third in large
/// workbooks.
pub(super) const LIGHTLY: u8 = 1;

/// What is said where the files can not be written in which large sheets wait.
pub(super) const NO_ROOM: &str = "the temporary folder could not be written; it may be full";

/// An archive in which one part is a sheet.
pub(super) struct Packed(ZipArchive<File>);

/// The second sheet of a book: the first is the selected one.
const PART: &str = "xl/worksheets/sheet2.xml";

/// Packs a sheet whose formats another book numbers.
pub(super) fn pack(sheet: Worksheet) -> Result<Packed, String> {
    packed(sheet).map_err(|error| match error {
        XlsxError::IoError(_) | XlsxError::ZipError(_) => NO_ROOM.to_string(),
        other => other.to_string(),
    })
}

fn packed(sheet: Worksheet) -> Result<Packed, XlsxError> {
    let mut book = Workbook::new();
    book.set_zip_compression_level(LIGHTLY);
    let first = if sheet.name() == "1" { "2" } else { "1" };
    book.add_worksheet().set_name(first)?;
    book.push_worksheet(sheet);
    let mut file = BufWriter::with_capacity(1 << 16, tempfile::tempfile()?);
    book.save_to_writer(&mut file)?;
    let file = file.into_inner().map_err(std::io::IntoInnerError::into_error)?;
    Ok(Packed(ZipArchive::new(file)?))
}

/// Writes a workbook whose sheets of these numbers, from 1, are replaced.
pub(super) fn put_in(
    book: &[u8],
    sheets: Vec<(usize, Packed)>,
    out: impl Write,
) -> Result<(), ZipError> {
    let part = |number| format!("xl/worksheets/sheet{number}.xml");
    let mut sheets: BTreeMap<String, Packed> =
        sheets.into_iter().map(|(number, packed)| (part(number), packed)).collect();
    let mut book = ZipArchive::new(Cursor::new(book))?;
    let mut out = ZipWriter::new_stream(out);
    for at in 0..book.len() {
        let old = book.by_index_raw(at)?;
        let name = old.name()?.into_owned();
        match sheets.remove(&name) {
            Some(Packed(mut packed)) => {
                let at = packed.index_for_name(PART).ok_or(ZipError::FileNotFound)?;
                out.raw_copy_file_rename(packed.by_index_raw(at)?, name)?;
            }
            None => out.raw_copy_file(old)?,
        }
    }
    if !sheets.is_empty() {
        return Err(ZipError::FileNotFound);
    }
    out.finish()?.flush()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::io::read_to_string;

    use super::*;

    fn sheet(text: &str) -> Worksheet {
        let mut sheet = Worksheet::new();
        sheet.write_string(0, 0, text).unwrap();
        sheet
    }

    #[test]
    fn a_sheet_is_replaced_and_one_that_is_not_there_is_no_book() {
        let mut book = Workbook::new();
        book.push_worksheet(sheet("first"));
        book.push_worksheet(sheet("stands in"));
        let book = book.save_to_buffer().unwrap();
        let put = |number| {
            let mut out = Vec::new();
            put_in(&book, vec![(number, pack(sheet("packed apart")).unwrap())], &mut out)?;
            Ok::<_, ZipError>(out)
        };
        let mut done = ZipArchive::new(Cursor::new(put(2).unwrap())).unwrap();
        let mut packed = pack(sheet("packed apart")).unwrap();
        let new = read_to_string(done.by_name(PART).unwrap()).unwrap();
        assert_eq!(new, read_to_string(packed.0.by_name(PART).unwrap()).unwrap());
        assert!(put(3).is_err());
    }
}
