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

/// Walks over the records: none goes beyond the stream, no sheet beyond the rectangle.
fn records(stream: &[u8], limits: &Limits) -> Result<Vec<Facts>, Refused> {
    let damaged = || Refused::from("is damaged");
    let mut at = 0;
    let mut sheet = Rectangle::default();
    let mut listed: Vec<u32> = Vec::new();
    let mut facts: Vec<(usize, Facts)> = Vec::new();
    while at + 4 <= stream.len() {
        let (kind, length) =
            (half(stream, at).ok_or_else(damaged)?, half(stream, at + 2).ok_or_else(damaged)?);
        let from = at + 4;
        let to = from + usize::from(length);
        // Behind the last sheet there may be filling.
        let Some(data) = stream.get(from..to) else { break };
        match kind {
            0x002f if half(data, 0).is_some_and(|kind| kind != 0) => {
                return Err(Refused::from("is encrypted"));
            }
            0x0809 => {
                sheet = Rectangle::default();
                facts.push((at, Facts::default()));
            }
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
            0x0200 => {
                let rows = u64::from(word(data, 4).unwrap_or(0))
                    .saturating_sub(u64::from(word(data, 0).unwrap_or(0)));
                let columns = u64::from(half(data, 10).unwrap_or(0))
                    .saturating_sub(u64::from(half(data, 8).unwrap_or(0)));
                let rows =
                    if data.len() < 14 { u64::from(half(data, 2).unwrap_or(0)) } else { rows };
                if (rows + 1).saturating_mul(columns + 1) > limits.rectangle_cells {
                    let why = format!(
                        "has a sheet that says it has {rows} rows and {columns} columns, at most \
                         {} cells are read",
                        limits.rectangle_cells
                    );
                    return Err(Refused::over(Limit::Rectangle, why));
                }
            }
            0x0203 | 0x0204 | 0x0205 | 0x0006 | 0x027e | 0x00fd | 0x00d6 | 0x00bd => {
                if let (Some(row), Some(first)) = (half(data, 0), half(data, 2)) {
                    let last = if kind == 0x00bd {
                        half(data, data.len().saturating_sub(2)).unwrap_or(first)
                    } else {
                        first
                    };
                    sheet.add(row, first.min(last), limits)?;
                    sheet.add(row, first.max(last), limits)?;
                }
            }
            _ => {}
        }
        at = to;
    }
    let of = |position: &u32| {
        let found = facts.iter().find(|(at, _)| *at == *position as usize);
        found.map(|(_, facts)| facts.clone()).unwrap_or_default()
    };
    Ok(listed.iter().map(of).collect())
}

/// The smallest rectangle around the cells so far.
#[derive(Default)]
struct Rectangle {
    rows: Option<(u16, u16)>,
    columns: (u16, u16),
}

impl Rectangle {
    fn add(&mut self, row: u16, column: u16, limits: &Limits) -> Result<(), Refused> {
        let (top, bottom) = self.rows.unwrap_or((row, row));
        let (left, right) = if self.rows.is_some() { self.columns } else { (column, column) };
        let rows = (top.min(row), bottom.max(row));
        let columns = (left.min(column), right.max(column));
        self.rows = Some(rows);
        self.columns = columns;
        let cells = (u64::from(rows.1 - rows.0) + 1) * (u64::from(columns.1 - columns.0) + 1);
        if cells > limits.rectangle_cells {
            let why = format!(
                "has a sheet with a cell at {}{}, far from the others: {cells} cells lie between, \
                 at most {} are read",
                column_letters(u32::from(column)),
                u32::from(row) + 1,
                limits.rectangle_cells
            );
            return Err(Refused::over(Limit::Rectangle, why));
        }
        Ok(())
    }
}
