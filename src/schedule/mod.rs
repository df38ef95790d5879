//! Reads a schedule workbook into a job.
//!
//! In: an xlsx, xlsm, xlsb, xls or ods file and the catalogue. Out: the job, with every sheet read,
//! decks resolved and levels expanded, and the findings; or the reason why it can not be read at
//! all. Nothing outside this room knows the file formats.

mod archive;
mod bays;
mod cells;
mod checks;
mod columns;
mod compound;
mod dates;
mod deck;
mod describe;
mod facts;
mod grid;
mod head;
mod headings;
mod levels;
mod like;
mod log;
mod made;
mod marks;
mod ods;
mod one_sheet;
mod plain;
mod quick;
mod quiet;
mod resolve;
mod rows;
mod shapes;
mod sheets;
mod strange;
mod typed;
mod watch;
mod workbook;

pub use describe::describe;
pub use made::made_bytes;
pub use plain::plain_sheets;
pub use typed::{Address, typed};

use std::fmt;
use std::path::Path;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::catalogue::Catalogue;
use crate::finding::{Finding, Place};
use crate::job::Job;

/// How a schedule is read.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// The shop's own headings: the heading and the key of the field it means (`spans_ft`).
    pub aliases: Vec<(String, String)>,
    pub catalogue: Catalogue,
    pub limits: Limits,
}

impl Default for ReadOptions {
    fn default() -> ReadOptions {
        ReadOptions {
            aliases: Vec::new(),
            catalogue: Catalogue::bundled(),
            limits: Limits::default(),
        }
    }
}

/// What a workbook may ask of memory and time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Bytes of one worksheet when unpacked.
    pub sheet_bytes: u64,
    /// Bytes of the shared texts when unpacked, and of the texts that stand in the cells.
    pub text_bytes: u64,
    /// Bytes of one value.
    pub value_bytes: u64,
    /// Rows with content, all sheets together.
    pub rows: u64,
    /// Cells with content, all sheets together.
    pub cells: u64,
    /// Cells of the smallest rectangle around a sheet's content, in the formats that are read as
    /// a rectangle (xls, ods).
    pub rectangle_cells: u64,
    /// Seconds that reading may take.
    pub seconds: u64,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            file_bytes: 100 << 20,
            sheet_bytes: 1 << 30,
            text_bytes: 64 << 20,
            value_bytes: 256 << 10,
            rows: 500_000,
            cells: 10_000_000,
            rectangle_cells: 2_000_000,
            seconds: 120,
        }
    }
}

/// A schedule that can not be read: nothing is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// Why, errors first; never empty.
    pub findings: Vec<Finding>,
}

impl Unreadable {
    pub(crate) fn one(finding: Finding) -> Unreadable {
        Unreadable { findings: vec![finding] }
    }
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, finding) in self.findings.iter().enumerate() {
            write!(f, "{}{finding}", if index > 0 { "\n" } else { "" })?;
        }
        Ok(())
    }
}

impl std::error::Error for Unreadable {}

/// Reads a schedule. Refused: a file that is no workbook, is encrypted, over a limit, or has no
/// bays that could be read.
pub fn read(path: &Path, options: &ReadOptions) -> Result<(Job, Vec<Finding>), Unreadable> {
    let (name, bytes) = bytes_of(path, &options.limits)?;
    read_bytes(bytes, &name, options)
}

/// A file's name and bytes.
fn bytes_of(path: &Path, limits: &Limits) -> Result<(String, Vec<u8>), Unreadable> {
    let name = path
        .file_name()
        .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
    let refuse = |why: String| {
        Unreadable::one(
            Finding::error("no-file", format!("`{}` {why}", path.display()))
                .at(Place::File(Arc::from(&*name))),
        )
    };
    let metadata =
        std::fs::metadata(path).map_err(|e| refuse(format!("can not be opened: {e}")))?;
    if metadata.is_dir() {
        return Err(refuse("is a folder, wanted a workbook".to_owned()));
    }
    if metadata.len() > limits.file_bytes {
        return Err(refuse(format!(
            "has {} bytes, wanted at most {}",
            metadata.len(),
            limits.file_bytes
        )));
    }
    let bytes = std::fs::read(path).map_err(|e| refuse(format!("can not be read: {e}")))?;
    Ok((name, bytes))
}

/// Reads a schedule from the bytes of a file of that name.
pub fn read_bytes(
    bytes: Vec<u8>,
    name: &str,
    options: &ReadOptions,
) -> Result<(Job, Vec<Finding>), Unreadable> {
    let bytes: Arc<[u8]> = Arc::from(bytes);
    let hash = Sha256::digest(&bytes);
    let mut book = workbook::Workbook::open(bytes, name, &options.limits)?;
    let mut log = log::Log::default();
    let raw = match sheets::read(&mut book, options, &mut log) {
        Ok(raw) => raw,
        Err(fatal) => {
            for finding in fatal {
                log.push(finding);
            }
            return Err(Unreadable { findings: log.finish() });
        }
    };
    let mut job = resolve::resolve(raw, &options.catalogue, &mut log);
    name.clone_into(&mut job.schedule);
    job.schedule_hash = hash.iter().fold(String::new(), |mut text, byte| {
        use fmt::Write as _;
        let _: fmt::Result = write!(text, "{byte:02x}");
        text
    });
    checks::check(&job, &mut log);
    Ok((job, log.finish()))
}
