//! A look at an old binary workbook (xls) before it is read: that its chains of sectors end, what
//! is encrypted, and that no sheet's content spans a rectangle beyond the limit.

use super::facts::Facts;
use super::limits::{Limit, Limits, Refused};
use crate::finding::column_letters;

const END_OF_CHAIN: u32 = 0xffff_fffe;
const NO_SECTOR: u32 = 0xffff_fffa;

/// Refuses what can not be read within bounds; the reason follows the file's name.
pub fn check(bytes: &[u8], limits: &Limits) -> Result<Vec<Facts>, Refused> {
    let file = Compound::open(bytes).ok_or_else(|| Refused::from("is damaged"))?;
    if file.stream("EncryptedPackage").is_some() {
        return Err(Refused::from("is encrypted"));
    }
    let entry = file.stream("Workbook").or_else(|| file.stream("Book"));
    let entry = entry.ok_or_else(|| "is no workbook".to_owned())?;
    let stream = file.read(entry).ok_or_else(|| Refused::from("is damaged"))?;
    records(&stream, limits)
}

struct Compound<'a> {
    bytes: &'a [u8],
    sector: usize,
    table: Vec<u32>,
    small_table: Vec<u32>,
    small_stream: Vec<u8>,
    entries: Vec<Entry>,
}

#[derive(Clone, Copy)]
struct Entry {
    name_at: usize,
    start: u32,
    length: u64,
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let four: [u8; 4] = bytes.get(at..at + 4)?.try_into().ok()?;
    Some(u32::from_le_bytes(four))
}

fn half(bytes: &[u8], at: usize) -> Option<u16> {
    let two: [u8; 2] = bytes.get(at..at + 2)?.try_into().ok()?;
    Some(u16::from_le_bytes(two))
}

fn words(bytes: &[u8]) -> impl Iterator<Item = u32> + '_ {
    bytes.chunks_exact(4).filter_map(|four| word(four, 0))
}

impl<'a> Compound<'a> {
    fn open(bytes: &'a [u8]) -> Option<Compound<'a>> {
        let sector = match half(bytes, 30)? {
            9 => 512,
            12 => 4096,
            _ => return None,
        };
        let mut file = Compound {
            bytes,
            sector,
            table: Vec::new(),
            small_table: Vec::new(),
            small_stream: Vec::new(),
            entries: Vec::new(),
        };
        let mut sectors: Vec<u32> = words(bytes.get(76..512)?).collect();
        let mut next = word(bytes, 68)?;
        let most = bytes.len() / sector + 1;
        for _ in 0..most {
            if next >= NO_SECTOR {
                break;
            }
            let mut listed: Vec<u32> = words(file.sector(next)?).collect();
            next = listed.pop()?;
            sectors.extend(listed);
        }
        if next < NO_SECTOR || sectors.len() > most + 1024 {
            return None;
        }
        for id in sectors.into_iter().filter(|id| *id < NO_SECTOR) {
            let listed: Vec<u32> = words(file.sector(id)?).collect();
            file.table.extend(listed);
        }
        let directory = file.chain(word(bytes, 48)?, usize::MAX)?;
        let mut entries = Vec::new();
        for at in (0..directory.len() / 128).map(|index| index * 128) {
            let length = u64::from(word(&directory, at + 120)?);
            let start = word(&directory, at + 116)?;
            entries.push((at, Entry { name_at: 0, start, length }));
        }
        let root = entries.first()?.1;
        let small_sectors = usize::try_from(word(bytes, 64)?).ok()?;
        if small_sectors > 0 {
            let length = small_sectors.checked_mul(sector)?;
            file.small_table = words(&file.chain(word(bytes, 60)?, length)?).collect();
            file.small_stream = file.chain(root.start, usize::try_from(root.length).ok()?)?;
        }
        file.entries = entries
            .into_iter()
            .map(|(at, entry)| Entry { name_at: name_hash(&directory, at), ..entry })
            .collect();
        Some(file)
    }

    fn sector(&self, id: u32) -> Option<&'a [u8]> {
        let from = (id as usize).checked_add(1)?.checked_mul(self.sector)?;
        let from = if self.sector == 4096 { from } else { from.max(512) };
        self.bytes.get(from..self.bytes.len().min(from + self.sector)).filter(|s| !s.is_empty())
    }

    /// The bytes of a chain of sectors; `None` where it runs in a ring or out of the file.
    fn chain(&self, mut id: u32, length: usize) -> Option<Vec<u8>> {
        let mut bytes = Vec::new();
        while id != END_OF_CHAIN && bytes.len() < length {
            if bytes.len() > self.bytes.len() {
                return None;
            }
            bytes.extend_from_slice(self.sector(id)?);
            id = *self.table.get(id as usize)?;
        }
        bytes.truncate(length);
        Some(bytes)
    }

    fn stream(&self, name: &str) -> Option<Entry> {
        let wanted = hash_of(name.encode_utf16());
        self.entries.iter().copied().find(|entry| entry.name_at == wanted)
    }

    fn read(&self, entry: Entry) -> Option<Vec<u8>> {
        let length = usize::try_from(entry.length).ok()?;
        if length >= 4096 {
            return self.chain(entry.start, length);
        }
        let mut bytes = Vec::new();
        let mut id = entry.start;
        while id != END_OF_CHAIN && bytes.len() < length {
            if bytes.len() > self.small_stream.len() {
                return None;
            }
            let from = (id as usize).checked_mul(64)?;
            let to = self.small_stream.len().min(from.checked_add(64)?);
            bytes.extend_from_slice(self.small_stream.get(from..to).filter(|s| !s.is_empty())?);
            id = *self.small_table.get(id as usize)?;
        }
        bytes.truncate(length);
        Some(bytes)
    }
}

/// A number for the name of a directory entry, letters in any case.
fn name_hash(directory: &[u8], at: usize) -> usize {
    let units = (0..32).filter_map(|index| half(directory, at + index * 2));
    hash_of(units.take_while(|unit| *unit != 0))
}

fn hash_of(units: impl Iterator<Item = u16>) -> usize {
    units.fold(17, |hash: usize, unit| {
        let letter = u8::try_from(unit).map_or(unit, |byte| u16::from(byte.to_ascii_lowercase()));
        hash.wrapping_mul(31).wrapping_add(usize::from(letter))
    })
}

/// Walks over the records of the whole stream, then over those of each sheet as they are read: no
/// sheet beyond the rectangle, nor all together.
fn records(stream: &[u8], limits: &Limits) -> Result<Vec<Facts>, Refused> {
    let mut listed: Vec<u32> = Vec::new();
    let mut facts: Vec<(usize, Facts)> = Vec::new();
    for Record { at, kind, data } in (Records { stream, at: 0 }) {
        match kind {
            0x002f if half(data, 0).is_some_and(|kind| kind != 0) => {
                return Err(Refused::from("is encrypted"));
            }
            BEGIN => facts.push((at, Facts::default())),
            0x0085 => listed.extend(word(data, 0)),
            0x0208 => {
                const HIDDEN: u16 = 0x20;
                if let (Some(row), Some(flags), Some((_, facts))) =
                    (half(data, 0), half(data, 12), facts.last_mut())
                    && flags & HIDDEN != 0
                {
                    facts.hidden_rows.push(u32::from(row));
                }
            }
            0x007d => {
                if let (Some(first), Some(last), Some(flags), Some((_, facts))) =
                    (half(data, 0), half(data, 2), half(data, 8), facts.last_mut())
                    && flags & 1 != 0
                {
                    facts.hidden_columns.push((u32::from(first), u32::from(last)));
                }
            }
            _ => {}
        }
    }
    let mut spans = Spans { limits, cells: 0, walked: 0 };
    for position in &listed {
        spans.sheet(stream, *position as usize)?;
    }
    let of = |position: &u32| {
        let found = facts.iter().find(|(at, _)| *at == *position as usize);
        found.map(|(_, facts)| facts.clone()).unwrap_or_default()
    };
    Ok(listed.iter().map(of).collect())
}

const BEGIN: u16 = 0x0809;
const END: u16 = 0x000a;

struct Record<'a> {
    at: usize,
    kind: u16,
    data: &'a [u8],
}

/// The records of a stream; behind the last there may be filling.
struct Records<'a> {
    stream: &'a [u8],
    at: usize,
}

impl<'a> Iterator for Records<'a> {
    type Item = Record<'a>;
    fn next(&mut self) -> Option<Record<'a>> {
        let at = self.at;
        let (kind, length) = (half(self.stream, at)?, half(self.stream, at + 2)?);
        self.at = at + 4 + usize::from(length);
        Some(Record { at, kind, data: self.stream.get(at + 4..self.at)? })
    }
}

/// What the sheets span, as they are read: each from where the workbook says it begins to its end.
struct Spans<'a> {
    limits: &'a Limits,
    /// Cells of the rectangles of the sheets so far.
    cells: u64,
    /// Bytes gone over: sheets that lie over one another take no end of time.
    walked: usize,
}

impl Spans<'_> {
    fn sheet(&mut self, stream: &[u8], position: usize) -> Result<(), Refused> {
        let mut sheet = Rectangle::default();
        let mut has_begun = false;
        // Charts within a sheet hold records like those of cells.
        let mut depth = 0_usize;
        let mut formula = (0, 0);
        for Record { kind, data, .. } in (Records { stream, at: position }) {
            self.walked += data.len() + 4;
            if self.walked / 2 > stream.len() {
                return Err(Refused::from("is damaged: its sheets lie over one another"));
            }
            let is_inside = depth > 0;
            match kind {
                BEGIN if has_begun => depth += 1,
                BEGIN => has_begun = true,
                END if is_inside => depth -= 1,
                END => break,
                _ if is_inside => {}
                0x0200 => self.stated(data)?,
                0x0207 => sheet.add(formula.0, formula.1, self)?,
                0x0203 | 0x0204 | 0x0205 | 0x0006 | 0x027e | 0x00fd | 0x00d6 | 0x00bd => {
                    let (Some(row), Some(first)) = (half(data, 0), half(data, 2)) else { continue };
                    if kind == 0x0006 {
                        formula = (row, first);
                    }
                    let last = match kind {
                        0x00bd => half(data, data.len().saturating_sub(2)).unwrap_or(first),
                        _ => first,
                    };
                    sheet.add(row, first, self)?;
                    sheet.add(row, last, self)?;
                }
                _ => {}
            }
        }
        self.cells += sheet.cells();
        Ok(())
    }

    /// What a sheet says of its own size; memory is taken for it.
    fn stated(&self, data: &[u8]) -> Result<(), Refused> {
        let wide = |at: usize| word(data, at).map(u64::from);
        let narrow = |at: usize| half(data, at).map(u64::from);
        let (first_row, rows, first, columns) = match data.len() {
            10 => (narrow(0), narrow(2), narrow(4), narrow(6)),
            _ => (wide(0), wide(4), narrow(8), narrow(10)),
        };
        let (first_row, rows) = (first_row.unwrap_or(0), rows.unwrap_or(0));
        let (first, columns) = (first.unwrap_or(0), columns.unwrap_or(0));
        // As the reader takes it: a first column that can not be is the first of all.
        let first = if first > 0xff || columns < first { 0 } else { first };
        if rows > 0 && rows < first_row {
            return Err(Refused::from("is damaged: a sheet ends before it begins"));
        }
        let (rows, columns) = (rows.saturating_sub(first_row), columns - first);
        if (rows + 1).saturating_mul(columns + 1) > self.limits.rectangle_cells {
            let why = format!(
                "has a sheet that says it has {rows} rows and {columns} columns, at most {} cells \
                 are read",
                self.limits.rectangle_cells
            );
            return Err(Refused::over(Limit::Rectangle, why));
        }
        Ok(())
    }
}

/// The smallest rectangle around the cells so far.
#[derive(Default)]
struct Rectangle {
    rows: Option<(u16, u16)>,
    columns: (u16, u16),
}

impl Rectangle {
    fn cells(&self) -> u64 {
        let Some((top, bottom)) = self.rows else { return 0 };
        (u64::from(bottom - top) + 1) * (u64::from(self.columns.1 - self.columns.0) + 1)
    }

    fn add(&mut self, row: u16, column: u16, spans: &Spans<'_>) -> Result<(), Refused> {
        let (top, bottom) = self.rows.unwrap_or((row, row));
        let (left, right) = if self.rows.is_some() { self.columns } else { (column, column) };
        self.rows = Some((top.min(row), bottom.max(row)));
        self.columns = (left.min(column), right.max(column));
        let (cells, most) = (self.cells(), spans.limits.rectangle_cells);
        if spans.cells + cells <= most {
            return Ok(());
        }
        let why = if cells > most {
            format!(
                "has a sheet with a cell at {}{}, far from the others: {cells} cells lie between, \
                 at most {most} are read",
                column_letters(u32::from(column)),
                u32::from(row) + 1,
            )
        } else {
            format!(
                "has sheets that span more than {most} cells together, at most so many are read"
            )
        };
        Err(Refused::over(Limit::Rectangle, why))
    }
}
