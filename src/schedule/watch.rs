//! Looks at a part of a workbook while its bytes pass: refuses what would ask for unbounded memory
//! and notes what the cell reader does not tell (hidden rows, merged cells).

use memchr::memmem;

use super::limits::{Limit, Refused};

/// So much of what stands before and behind a sheet's cells is kept.
const MOST_AROUND: usize = 4 << 20;
/// Bytes of a block looked at again with the next one, so that no sign is cut in two.
const OVERLAP: usize = 512;

/// What was noticed of a worksheet.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// The XML before the cells: column widths and the like.
    pub before: Vec<u8>,
    /// The XML behind the cells: merged ranges and the like.
    pub behind: Vec<u8>,
    /// Rows, from 0, that are hidden.
    pub hidden_rows: Vec<u32>,
}

/// What kind of part passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A worksheet, or a part that may be one.
    Sheet,
    Texts,
    /// Styles, relations, the list of sheets …
    Small,
    /// Binary records.
    Binary,
}

pub struct Watch {
    kind: Kind,
    /// Bytes the whole part has.
    size: u64,
    passed: u64,
    most_value: u64,
    /// Tags of a small part.
    most_tags: u64,
    /// Bytes since the last tag began.
    run: u64,
    tags: u64,
    /// In a comment or a character-data section, which ends with this.
    inside: Option<&'static [u8]>,
    /// Bytes since it began.
    inside_bytes: u64,
    window: Vec<u8>,
    /// Where in the window the new bytes begin.
    old: usize,
    cells_begun: bool,
    cells_ended: bool,
    records: Records,
    pub facts: Facts,
}

impl Watch {
    pub fn new(kind: Kind, size: u64, most_value: u64, most_tags: u64) -> Watch {
        Watch {
            kind,
            size,
            passed: 0,
            most_value,
            most_tags,
            run: 0,
            tags: 0,
            inside: None,
            inside_bytes: 0,
            window: Vec::new(),
            old: 0,
            cells_begun: false,
            cells_ended: false,
            records: Records::default(),
            facts: Facts::default(),
        }
    }

    /// Looks at the next bytes; the error says what is wrong with them.
    pub fn pass(&mut self, block: &[u8]) -> Result<(), Refused> {
        self.passed += block.len() as u64;
        if self.kind == Kind::Binary {
            return self.records.pass(block, self.size);
        }
        self.window.extend_from_slice(block);
        self.runs(block)?;
        self.markup()?;
        match self.kind {
            Kind::Texts => self.unique_count()?,
            Kind::Small => {
                self.tags += memchr::memchr_iter(b'<', block).count() as u64;
                if self.tags > self.most_tags {
                    let why = format!("more than {} tags where few belong", self.most_tags);
                    return Err(Refused::over(Limit::Part, why));
                }
            }
            Kind::Sheet => self.sheet(block),
            Kind::Binary => {}
        }
        let keep = self.window.len().saturating_sub(OVERLAP);
        self.window.drain(..keep);
        self.old = self.window.len();
        Ok(())
    }

    /// No value, and no tag, is longer than the limit.
    fn runs(&mut self, block: &[u8]) -> Result<(), Refused> {
        if let (Some(first), Some(last)) =
            (memchr::memchr(b'<', block), memchr::memrchr(b'<', block))
        {
            self.run += first as u64;
            let longest = self.run;
            self.run = (block.len() - last) as u64;
            self.refuse_run(longest)
        } else {
            self.run += block.len() as u64;
            self.refuse_run(self.run)
        }
    }

    fn refuse_run(&self, run: u64) -> Result<(), Refused> {
        if run > self.most_value {
            let why = format!("one value of more than {} bytes", self.most_value);
            return Err(Refused::over(Limit::Value, why));
        }
        Ok(())
    }

    /// Comments and character data are bounded; document types are refused.
    fn markup(&mut self) -> Result<(), Refused> {
        const LONGEST_SIGN: usize = 9;
        let mut at = self.old.saturating_sub(LONGEST_SIGN);
        loop {
            let window = &self.window[at..];
            if let Some(end) = self.inside {
                let Some(found) = memmem::find(window, end) else { break };
                self.inside = None;
                self.run = 0;
                at += found + end.len();
                continue;
            }
            let Some(found) = memmem::find(window, b"<!") else { break };
            let sign = &window[found..];
            if sign.len() < LONGEST_SIGN && self.passed < self.size {
                break;
            }
            if sign.starts_with(b"<!--") {
                self.inside = Some(b"-->");
                at += found + 4;
            } else if sign.starts_with(b"<![CDATA[") {
                self.inside = Some(b"]]>");
                at += found + 9;
            } else {
                return Err(Refused::from("a document type, which no workbook has"));
            }
        }
        if self.inside.is_none() {
            self.inside_bytes = 0;
            return Ok(());
        }
        self.inside_bytes += (self.window.len() - self.old) as u64;
        if self.inside_bytes > self.most_value {
            let why = format!("a comment of more than {} bytes", self.most_value);
            return Err(Refused::over(Limit::Value, why));
        }
        Ok(())
    }

    /// The announced number of texts must fit into the part.
    fn unique_count(&mut self) -> Result<(), Refused> {
        const LEAST_TEXT: u64 = 5;
        if self.cells_begun {
            return Ok(());
        }
        let Some(at) = memmem::find(&self.window, b"uniqueCount=") else {
            if self.passed > OVERLAP as u64 {
                self.cells_begun = true;
            }
            return Ok(());
        };
        self.cells_begun = true;
        let digits: String = self.window[at + 13..]
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .map(|byte| char::from(*byte))
            .collect();
        let most = self.size / LEAST_TEXT;
        match digits.parse::<u64>() {
            Ok(count) if count <= most => Ok(()),
            _ if digits.is_empty() => Ok(()),
            _ => Err(Refused::from(format!("{digits} texts announced in {} bytes", self.size))),
        }
    }

    fn sheet(&mut self, block: &[u8]) {
        const CELLS: &[u8] = b"sheetData";
        let new = self.window.len() - block.len();
        if self.cells_ended {
            let room = MOST_AROUND.saturating_sub(self.facts.behind.len());
            self.facts.behind.extend_from_slice(&block[..block.len().min(room)]);
            return;
        }
        if !self.cells_begun {
            let from = new.saturating_sub(CELLS.len());
            match memmem::find(&self.window[from..], CELLS) {
                Some(found) => {
                    self.cells_begun = true;
                    let head = (from + found).saturating_sub(new);
                    self.facts.before.extend_from_slice(&block[..head.min(block.len())]);
                }
                None if self.facts.before.len() < MOST_AROUND => {
                    self.facts.before.extend_from_slice(block);
                }
                None => {}
            }
        }
        if self.cells_begun {
            self.hidden(new);
            let from = new.saturating_sub(CELLS.len());
            for found in memmem::find_iter(&self.window[from..], CELLS) {
                let (at, end) = (from + found, from + found + CELLS.len());
                let Some(tag) = memchr::memrchr(b'<', &self.window[..at]) else { continue };
                let is_end =
                    self.window[tag..].starts_with(b"</") || self.window[end..].starts_with(b"/>");
                if is_end {
                    self.cells_ended = true;
                    let tail = self.window[end..].to_vec();
                    self.facts.behind = tail;
                    break;
                }
            }
        }
    }

    /// Notes rows that are hidden.
    fn hidden(&mut self, new: usize) {
        const SIGN: &[u8] = b" hidden=";
        let from = new.saturating_sub(SIGN.len() + 6);
        for found in memmem::find_iter(&self.window[from..], SIGN) {
            let at = from + found;
            let value = &self.window[at + SIGN.len()..];
            if value.len() < 6 && self.passed < self.size {
                // It is looked at again with the next block.
                continue;
            }
            let is_hidden =
                value.get(1..).is_some_and(|v| v.starts_with(b"1") || v.starts_with(b"true"));
            let Some(tag) = memchr::memrchr(b'<', &self.window[..at]) else { continue };
            let tag = &self.window[tag..];
            let is_row = tag.starts_with(b"<row ") || tag.starts_with(b"<x:row ");
            if is_hidden
                && is_row
                && let Some(row) = row_number(tag)
                && self.facts.hidden_rows.last() != Some(&row)
            {
                self.facts.hidden_rows.push(row);
            }
        }
    }
}

/// The row number of a `<row r="12" …>` tag, from 0.
fn row_number(tag: &[u8]) -> Option<u32> {
    let end = memchr::memchr(b'>', tag).unwrap_or(tag.len());
    let at = memmem::find(&tag[..end], b" r=")?;
    let digits: String = tag[at + 4..]
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .map(|byte| char::from(*byte))
        .collect();
    digits.parse::<u32>().ok()?.checked_sub(1)
}

/// Walks over the records of a binary part: none is longer than what is left of it.
#[derive(Default)]
struct Records {
    passed: u64,
    /// Bytes of the present record still to pass.
    left: u64,
    type_bytes: u8,
    length: u64,
    length_bytes: u8,
    in_length: bool,
}

impl Records {
    fn pass(&mut self, block: &[u8], size: u64) -> Result<(), Refused> {
        let mut at = 0;
        while at < block.len() {
            if self.left > 0 {
                let step = self.left.min((block.len() - at) as u64);
                self.left -= step;
                self.passed += step;
                at += usize::try_from(step).unwrap_or(usize::MAX);
                continue;
            }
            let byte = block[at];
            at += 1;
            self.passed += 1;
            let more = byte & 0x80 != 0;
            if self.in_length {
                self.length |= u64::from(byte & 0x7f) << (7 * u32::from(self.length_bytes));
                self.length_bytes += 1;
                if !more || self.length_bytes == 4 {
                    if self.length > size.saturating_sub(self.passed) {
                        let why = format!("a record of {} bytes, more than are left", self.length);
                        return Err(Refused::from(why));
                    }
                    *self =
                        Records { passed: self.passed, left: self.length, ..Records::default() };
                }
            } else {
                self.type_bytes += 1;
                self.in_length = !more || self.type_bytes == 2;
            }
        }
        Ok(())
    }
}
