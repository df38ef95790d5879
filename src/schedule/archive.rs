//! A zip archive as the cell readers see it: the same parts, but unpacked by us as they are read,
//! bounded and watched.
//!
//! In: the bytes of an archive. Out: something to read and seek in that looks like an archive of
//! parts that are stored unpacked. No part is unpacked before it is asked for, none is held whole,
//! and one pass over it serves cells, bounds and facts alike.

use std::cell::RefCell;
use std::io::{self, Cursor, Read, Seek, SeekFrom};
use std::rc::Rc;
use std::sync::{Arc, OnceLock};

use flate2::bufread::DeflateDecoder;
use zip::{CompressionMethod, ZipArchive};

use super::limits::{Limit, Limits, Refused};
use super::row_search::RowSearch;
use super::watch::{Facts, Kind, Watch};

const BLOCK: usize = 32 << 10;
/// A tag of styles, relations and the like takes so much of the part, or more.
const BYTES_A_TAG: u64 = 20;

/// The archive; clones share one position and one watch.
#[derive(Clone)]
pub struct Archive {
    state: Rc<RefCell<State>>,
}

struct State {
    bytes: Arc<[u8]>,
    parts: Vec<Part>,
    /// The central directory of the archive that we pretend to be, behind some filling.
    directory: Vec<u8>,
    directory_at: u64,
    end: u64,
    position: u64,
    stream: Option<Stream>,
    /// A part that is served without its middle: its number, what stands before that, where it ends.
    without_middle: Option<(usize, Vec<u8>, u64)>,
    most_value: u64,
    most_tags: u64,
    /// Why reading was refused; the readers' own words for it say less.
    refused: Option<Refused>,
}

#[derive(Clone)]
struct Part {
    name: String,
    kind: Kind,
    data: usize,
    packed: usize,
    size: u64,
    is_packed: bool,
    header: Vec<u8>,
    /// Where its header stands in the archive that we pretend to be.
    at: u64,
}

impl Part {
    fn data_at(&self) -> u64 {
        self.at + self.header.len() as u64
    }

    fn end(&self) -> u64 {
        self.data_at() + self.size
    }
}

/// A part being unpacked.
struct Stream {
    part: usize,
    /// Offset in the part of the first byte of the block.
    offset: u64,
    block: Vec<u8>,
    unpacker: Unpacker,
    watch: Watch,
    ends: Ends,
}

/// Where a sheet ends for who reads its cells.
enum Ends {
    /// With its part.
    Last,
    /// Perhaps before.
    Perhaps(Early),
    /// Before.
    At(u64),
}

/// An end that a sheet may have for who reads its cells: others have read them from there on.
pub struct Early {
    /// Where in the part, as soon as that is known.
    pub at: Arc<OnceLock<u64>>,
    /// Whether they have; asked once, when the reader gets there.
    pub are_read: Box<dyn FnOnce() -> bool>,
}

/// What ends a sheet that ends early.
const ENDING: &[u8] = b"</sheetData></worksheet>";

enum Unpacker {
    Packed(Box<DeflateDecoder<Cursor<Slice>>>),
    Plain(Cursor<Slice>),
}

/// A piece of the file's bytes.
struct Slice {
    bytes: Arc<[u8]>,
    from: usize,
    to: usize,
}

impl AsRef<[u8]> for Slice {
    fn as_ref(&self) -> &[u8] {
        self.bytes.get(self.from..self.to).unwrap_or(&[])
    }
}

impl Archive {
    /// Opens an archive. Refused: no archive, encrypted parts, parts over a limit.
    pub fn open(bytes: Arc<[u8]>, limits: &Limits) -> Result<Archive, Refused> {
        let damaged = |e: zip::result::ZipError| Refused::from(format!("is damaged: {e}"));
        let mut archive = ZipArchive::new(Cursor::new(bytes.clone())).map_err(damaged)?;
        if archive.len() as u64 > limits.parts {
            let why = format!("has {} parts, at most {} are read", archive.len(), limits.parts);
            return Err(Refused::over(Limit::Parts, why));
        }
        let mut parts = Vec::new();
        let mut at = 0;
        for index in 0..archive.len() {
            let file = archive.by_index_raw(index).map_err(damaged)?;
            let name = file.name().map_err(damaged)?.into_owned();
            let Some(kind) = kind_of(&name) else { continue };
            if file.encrypted() {
                return Err(Refused::from("is encrypted"));
            }
            let is_packed = match file.compression() {
                CompressionMethod::Stored => false,
                CompressionMethod::Deflated => true,
                other => {
                    let why = format!("is packed in a way that is not read ({other})");
                    return Err(Refused::from(why));
                }
            };
            let (limit, most) = match kind {
                Kind::Sheet => (Limit::Sheet, limits.sheet_bytes),
                Kind::Binary if !name.to_lowercase().contains("sharedstrings") => {
                    (Limit::Sheet, limits.sheet_bytes)
                }
                Kind::Binary | Kind::Texts => (Limit::Text, limits.text_bytes),
                Kind::Small => (Limit::Part, limits.part_bytes),
            };
            let size = file.size();
            if size > most {
                let why = format!(
                    "has a part `{name}` of {size} bytes unpacked, at most {most} are read"
                );
                return Err(Refused::over(limit, why));
            }
            let start = file.data_start().and_then(|start| usize::try_from(start).ok());
            let packed = usize::try_from(file.compressed_size()).ok();
            let (Some(data), Some(packed)) = (start, packed) else {
                return Err(Refused::from(format!("is damaged at its part `{name}`")));
            };
            if data.checked_add(packed).is_none_or(|end| end > bytes.len()) {
                let why = format!("is damaged: its part `{name}` goes beyond its end");
                return Err(Refused::from(why));
            }
            let header = local_header(&name, size, file.crc32());
            let part = Part { name, kind, data, packed, size, is_packed, header, at };
            at = part.end();
            // What stands behind the parts has offsets of 32 bits too.
            if at > u64::from(u32::MAX) - (64 << 20) {
                return Err(Refused::from("has more in its parts than any workbook"));
            }
            parts.push(part);
        }
        let directory = directory(&parts, at);
        let end = at + directory.len() as u64;
        let state = State {
            bytes,
            parts,
            directory,
            directory_at: at,
            end,
            position: 0,
            stream: None,
            without_middle: None,
            most_value: limits.value_bytes,
            most_tags: limits.part_bytes / BYTES_A_TAG,
            refused: None,
        };
        Ok(Archive { state: Rc::new(RefCell::new(state)) })
    }

    /// Whether there is a part of that name.
    pub fn has(&self, name: &str) -> bool {
        self.state.borrow().parts.iter().any(|part| part.name.eq_ignore_ascii_case(name))
    }

    /// The names of the parts.
    pub fn names(&self) -> Vec<String> {
        self.state.borrow().parts.iter().map(|part| part.name.clone()).collect()
    }

    /// A part, for a pass of its own; watched and bounded like any other.
    pub fn part(&self, name: &str) -> Option<PartReader> {
        let state = self.state.borrow();
        let part = state.parts.iter().find(|part| part.name.eq_ignore_ascii_case(name))?;
        Some(state.reader(part))
    }

    /// Reads on to the end of the part being read and gives what was noticed of it.
    pub fn rest(&self) -> Facts {
        let mut state = self.state.borrow_mut();
        while state.next_block().is_ok_and(|more| more) {}
        state
            .stream
            .as_mut()
            .map(|stream| std::mem::take(&mut stream.watch.facts))
            .unwrap_or_default()
    }

    /// The part being read once more from its beginning.
    pub fn another(&self) -> Option<PartReader> {
        let state = self.state.borrow();
        let part = state.parts.get(state.stream.as_ref()?.part)?;
        Some(state.reader(part))
    }

    /// The bytes of the whole file, and the number and size of the part being read.
    pub fn being_read(&self) -> Option<(Arc<[u8]>, usize, u64)> {
        let state = self.state.borrow();
        let number = state.stream.as_ref()?.part;
        Some((state.bytes.clone(), number, state.parts.get(number)?.size))
    }

    /// Lets the sheet being read end early.
    pub fn may_end(&self, early: Early) {
        if let Some(stream) = &mut self.state.borrow_mut().stream {
            stream.ends = Ends::Perhaps(early);
        }
    }

    /// Whether the sheet being read ends early.
    #[cfg(test)]
    pub fn ends_early(&self) -> bool {
        let state = self.state.borrow();
        let ends = state.stream.as_ref().map(|stream| &stream.ends);
        matches!(ends, Some(Ends::Perhaps(early)) if early.at.get().is_some())
    }

    /// Serves a sheet from now on without the rows before one that begins behind `from`, and says where
    /// that one begins. `None` where there is none, or the sheet is not plain enough to tell.
    pub fn leave_out_rows(&self, number: usize, from: u64) -> Option<u64> {
        let mut state = self.state.borrow_mut();
        state.open_part(number);
        let mut search = RowSearch::behind(from);
        loop {
            if !state.next_block().ok()? {
                return None;
            }
            if let Some((before, at)) = search.pass(&state.stream.as_ref()?.block).ok()? {
                state.without_middle = Some((number, before, at));
                return Some(at);
            }
        }
    }

    /// Why reading was refused, where it was.
    pub fn refused(&self) -> Option<Refused> {
        self.state.borrow().refused.clone()
    }
}

/// Reads one part.
pub struct PartReader {
    state: State,
    left: u64,
}

impl PartReader {
    /// Why reading was refused, where it was.
    pub fn refused(&self) -> Option<Refused> {
        self.state.refused.clone()
    }
}

impl Read for PartReader {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let most = usize::try_from(self.left).unwrap_or(into.len()).min(into.len());
        if most == 0 {
            return Ok(0);
        }
        let count = self.state.read_at(&mut into[..most])?;
        self.state.position += count as u64;
        self.left -= count as u64;
        Ok(count)
    }
}

impl Read for Archive {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let mut state = self.state.borrow_mut();
        let count = state.read_at(into)?;
        state.position += count as u64;
        Ok(count)
    }
}

impl Seek for Archive {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let mut state = self.state.borrow_mut();
        let position = match to {
            SeekFrom::Start(position) => Some(position),
            SeekFrom::End(by) => state.end.checked_add_signed(by),
            SeekFrom::Current(by) => state.position.checked_add_signed(by),
        };
        let before = || io::Error::new(io::ErrorKind::InvalidInput, "before the beginning");
        state.position = position.ok_or_else(before)?;
        Ok(state.position)
    }
}

impl State {
    /// A reader of one part, with a position and a watch of its own.
    fn reader(&self, part: &Part) -> PartReader {
        let state = State {
            bytes: self.bytes.clone(),
            parts: vec![part.clone()],
            directory: Vec::new(),
            directory_at: part.end(),
            end: part.end(),
            position: part.data_at(),
            stream: None,
            without_middle: None,
            most_value: self.most_value,
            most_tags: self.most_tags,
            refused: None,
        };
        PartReader { left: part.size, state }
    }

    fn read_at(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let position = self.position;
        if position >= self.directory_at {
            return Ok(copy(&self.directory, position - self.directory_at, into));
        }
        let index = self.parts.partition_point(|part| part.end() <= position);
        let Some(part) = self.parts.get(index) else { return Ok(0) };
        if position < part.data_at() {
            return Ok(copy(&part.header, position - part.at, into));
        }
        let mut offset = position - part.data_at();
        if let Some((number, before, at)) = &self.without_middle
            && *number == index
        {
            if offset < before.len() as u64 {
                return Ok(copy(before, offset, into));
            }
            offset = offset - before.len() as u64 + at;
        }
        let is_open = self.stream.as_ref().is_some_and(|s| s.part == index && s.offset <= offset);
        if !is_open {
            self.open_part(index);
        }
        loop {
            let Some(stream) = &mut self.stream else { return Ok(0) };
            let left = match stream.early_end(offset) {
                Some(end) if end <= offset => return Ok(copy(ENDING, offset - end, into)),
                Some(end) => end - offset,
                None => u64::MAX,
            };
            let most = usize::try_from(left).unwrap_or(into.len()).min(into.len());
            let block_end = stream.offset + stream.block.len() as u64;
            if offset < block_end {
                return Ok(copy(&stream.block, offset - stream.offset, &mut into[..most]));
            }
            if !self.next_block()? {
                return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the part ends early"));
            }
        }
    }

    fn open_part(&mut self, index: usize) {
        let Some(part) = self.parts.get(index) else { return };
        let slice =
            Slice { bytes: self.bytes.clone(), from: part.data, to: part.data + part.packed };
        let cursor = Cursor::new(slice);
        self.stream = Some(Stream {
            part: index,
            offset: 0,
            block: Vec::with_capacity(BLOCK),
            unpacker: if part.is_packed {
                Unpacker::Packed(Box::new(DeflateDecoder::new(cursor)))
            } else {
                Unpacker::Plain(cursor)
            },
            watch: Watch::new(part.kind, part.size, self.most_value, self.most_tags),
            ends: Ends::Last,
        });
    }

    /// Unpacks the next block of the part being read; false at its end.
    fn next_block(&mut self) -> io::Result<bool> {
        let Some(stream) = &mut self.stream else { return Ok(false) };
        let Some(part) = self.parts.get(stream.part) else { return Ok(false) };
        stream.offset += stream.block.len() as u64;
        let left = part.size.saturating_sub(stream.offset);
        let wanted = usize::try_from(left).unwrap_or(BLOCK).min(BLOCK);
        stream.block.resize(wanted, 0);
        let mut filled = 0;
        while filled < wanted {
            let count = match &mut stream.unpacker {
                Unpacker::Packed(unpacker) => unpacker.read(&mut stream.block[filled..])?,
                Unpacker::Plain(bytes) => bytes.read(&mut stream.block[filled..])?,
            };
            if count == 0 {
                break;
            }
            filled += count;
        }
        stream.block.truncate(filled);
        if let Err(why) = stream.watch.pass(&stream.block) {
            stream.block.clear();
            let why =
                Refused { why: format!("has a part `{}` with {}", part.name, why.why), ..why };
            self.refused = Some(why.clone());
            return Err(io::Error::new(io::ErrorKind::InvalidData, why.why));
        }
        Ok(filled > 0)
    }
}

impl Stream {
    /// Where the part ends for a reader that is at this offset, if before its last byte.
    fn early_end(&mut self, offset: u64) -> Option<u64> {
        if let Ends::Perhaps(early) = &self.ends {
            let at = *early.at.get()?;
            if offset < at {
                return Some(at);
            }
            let ends = std::mem::replace(&mut self.ends, Ends::Last);
            if let Ends::Perhaps(early) = ends
                && offset == at
                && (early.are_read)()
            {
                self.ends = Ends::At(at);
            }
        }
        if let Ends::At(at) = self.ends { Some(at) } else { None }
    }
}

fn copy(from: &[u8], offset: u64, into: &mut [u8]) -> usize {
    let from = usize::try_from(offset).ok().and_then(|offset| from.get(offset..)).unwrap_or(&[]);
    let count = from.len().min(into.len());
    into[..count].copy_from_slice(&from[..count]);
    count
}

/// What kind of part a name stands for; `None` for parts that no cell reader asks for.
fn kind_of(name: &str) -> Option<Kind> {
    let name = name.to_lowercase();
    let kinds = [
        ("vbaproject.bin", None),
        ("printersettings", None),
        ("activex", None),
        ("embeddings", None),
        ("media/", None),
        ("drawings/", None),
        ("charts/", None),
        ("calcchain", None),
        ("pivotcache", None),
        (".rels", Some(Kind::Small)),
        (".bin", Some(Kind::Binary)),
        ("sharedstrings", Some(Kind::Texts)),
        ("worksheets/", Some(Kind::Sheet)),
        ("sheet", Some(Kind::Sheet)),
        ("content.xml", Some(Kind::Sheet)),
        (".xml", Some(Kind::Small)),
        ("mimetype", Some(Kind::Small)),
    ];
    kinds.iter().find(|(part, _)| name.contains(part)).and_then(|(_, kind)| *kind)
}

fn local_header(name: &str, size: u64, crc: u32) -> Vec<u8> {
    let mut header = Vec::with_capacity(30 + name.len());
    header.extend(0x0403_4b50_u32.to_le_bytes());
    header.extend(common_header(name, size, crc));
    header.extend(name.as_bytes());
    header
}

/// What local and central headers share, from the version needed to the lengths.
fn common_header(name: &str, size: u64, crc: u32) -> Vec<u8> {
    let size = u32::try_from(size).unwrap_or(u32::MAX).to_le_bytes();
    let mut header = Vec::with_capacity(26);
    for word in [20_u16, 0x0800, 0, 0, 0x21] {
        header.extend(word.to_le_bytes());
    }
    header.extend(crc.to_le_bytes());
    header.extend(size);
    header.extend(size);
    header.extend(u16::try_from(name.len()).unwrap_or(u16::MAX).to_le_bytes());
    header.extend(0_u16.to_le_bytes());
    header
}

fn directory(parts: &[Part], at: u64) -> Vec<u8> {
    // Who looks for the end of an archive reads backwards in steps; filling keeps it off the parts.
    const FILLING: usize = 4096;
    let word = |number: u64| u32::try_from(number).unwrap_or(u32::MAX).to_le_bytes();
    let count = u16::try_from(parts.len()).unwrap_or(u16::MAX).to_le_bytes();
    let mut directory = vec![0; FILLING];
    for part in parts {
        directory.extend(0x0201_4b50_u32.to_le_bytes());
        directory.extend(20_u16.to_le_bytes());
        // The local header behind its signature and before the name.
        directory.extend(part.header.get(4..30).unwrap_or(&[]));
        directory.extend([0; 10]);
        directory.extend(word(part.at));
        directory.extend(part.name.as_bytes());
    }
    let size = (directory.len() - FILLING) as u64;
    directory.extend(0x0605_4b50_u32.to_le_bytes());
    directory.extend([0; 4]);
    directory.extend(count);
    directory.extend(count);
    directory.extend(word(size));
    directory.extend(word(at + FILLING as u64));
    directory.extend([0; 2]);
    directory
}
