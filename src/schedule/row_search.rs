//! Looks for a row in the midst of a sheet with which a reader of cells can begin.
//!
//! In: the bytes of the sheet from its beginning. Out: what stands before its cells, and where the row
//! begins. The sheet must be so plain that who begins there finds what one finds that began at the top:
//! no comments and the like that could hold what looks like a row, a row before that has ended, a number
//! on the row itself.

use memchr::memmem;

const DECLARATION: &[u8] = b"<?xml ";
const CELLS: &[u8] = b"<sheetData>";
const ROW: &[u8] = b"<row ";
const ROW_ENDS: &[u8] = b"</row>";
const NUMBER: &[u8] = b" r=\"";
/// More does not stand before the cells.
const MOST_BEFORE: usize = 1 << 16;
/// A row's tag with what is looked at before it takes no more.
const LONGEST: usize = 1 << 10;

/// The sheet is not plain enough.
pub struct NotPlain;

pub struct RowSearch {
    behind: u64,
    passed: u64,
    /// The sheet up to its cells, then the last bytes that passed.
    kept: Vec<u8>,
    /// The length of the former, once its end was met.
    before: Option<usize>,
}

impl RowSearch {
    /// Begins to look for a row that begins behind so many bytes.
    pub fn behind(bytes: u64) -> RowSearch {
        RowSearch { behind: bytes, passed: 0, kept: Vec::new(), before: None }
    }

    /// Looks at the next bytes; gives what stands before the sheet's cells and where the row begins, as
    /// soon as one is met.
    pub fn pass(&mut self, block: &[u8]) -> Result<Option<(Vec<u8>, u64)>, NotPlain> {
        self.kept.extend_from_slice(block);
        self.passed += block.len() as u64;
        if self.before.is_none() {
            let found = memmem::find(&self.kept, CELLS);
            self.before = found.map(|at| at + CELLS.len());
        }
        let is_declared = self.kept.iter().zip(DECLARATION).all(|(it, wanted)| it == wanted);
        let rest = &self.kept[if is_declared { 2.min(self.kept.len()) } else { 0 }..];
        let has = |sign: &[u8]| memmem::find(rest, sign).is_some();
        if has(b"<!") || has(b"<?") || has(b"</sheetData") {
            return Err(NotPlain);
        }
        let Some(before) = self.before else {
            return if self.kept.len() <= MOST_BEFORE { Ok(None) } else { Err(NotPlain) };
        };
        if let Some(place) = self.row(before) {
            self.kept.truncate(before);
            return Ok(Some((std::mem::take(&mut self.kept), place)));
        }
        let last = self.kept.len().saturating_sub(LONGEST).max(before);
        self.kept.drain(before..last);
        Ok(None)
    }

    /// Where in the sheet a row begins with which a reader can begin.
    fn row(&self, before: usize) -> Option<u64> {
        let gone = self.passed - self.kept.len() as u64;
        let first = usize::try_from(self.behind.saturating_sub(gone)).ok()?.max(before);
        let rest = self.kept.get(first..)?;
        let row = memmem::find_iter(rest, ROW).map(|at| first + at).find(|at| {
            let has_ended = self.kept[before..*at].trim_ascii_end().ends_with(ROW_ENDS);
            let tag = &self.kept[*at..];
            let tag = memchr::memchr(b'>', tag).map(|end| &tag[..end]);
            has_ended && tag.is_some_and(|tag| memmem::find(tag, NUMBER).is_some())
        })?;
        Some(gone + row as u64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "<?xml version=\"1.0\"?><worksheet><cols/><sheetData>";

    fn search(behind: usize, sheet: &str, block: usize) -> Option<(String, u64)> {
        let mut search = RowSearch::behind(behind as u64);
        for block in sheet.as_bytes().chunks(block) {
            if let Some((before, at)) = search.pass(block).ok()? {
                return Some((String::from_utf8(before).unwrap(), at));
            }
        }
        None
    }

    fn sheet(rows: &str) -> String {
        format!("{HEAD}{rows}</sheetData></worksheet>")
    }

    #[test]
    fn a_row_behind_the_middle_is_found_however_the_bytes_come() {
        let mut rows = String::new();
        for row in 1..400 {
            let cell = format!("<c r=\"A{row}\"><v>7</v></c>");
            rows += &format!("<row r=\"{row}\" spans=\"1:2\">{cell}</row>\n");
        }
        let sheet = sheet(&rows);
        let behind = sheet.len() / 2;
        let wanted = behind + sheet[behind..].find("<row ").unwrap();
        for block in [1, 7, 100, 1 << 10, sheet.len() * 3 / 4] {
            let (before, at) = search(behind, &sheet, block).unwrap();
            assert_eq!((before.as_str(), at), (HEAD, wanted as u64), "{block}");
        }
    }

    #[test]
    fn rows_are_taken_only_where_the_sheet_is_plain() {
        let first = "<row r=\"1\"><c/></row>";
        let filling = " ".repeat(100);
        let found = |rows: &str| {
            let sheet = sheet(&format!("{rows}{filling}"));
            search(HEAD.len() + 1, &sheet, 40).map(|(_, at)| at)
        };
        let second = (HEAD.len() + first.len()) as u64;
        assert_eq!(found(&format!("{first}<row r=\"2\"/>")), Some(second));
        assert_eq!(found(&format!("{first} \n<row spans=\"1:1\" r=\"2\">")), Some(second + 2));
        for rows in [
            format!("{first}<row><c/></row>"),
            format!("{first}<x:row r=\"2\"><c/></x:row>"),
            format!("{first}<c/><row r=\"2\"><c/></row>"),
            "<row r=\"1\"/><row r=\"2\"><c/></row>".to_owned(),
            format!("{first}<!-- --><row r=\"2\"><c/></row>"),
            format!("{first}<?a?><row r=\"2\"><c/></row>"),
            format!("{first}</sheetData><more>{first}<row r=\"2\">"),
        ] {
            assert_eq!(found(&rows), None, "{rows}");
        }
    }
}
