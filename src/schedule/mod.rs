//! Reads a schedule workbook into a job.
//!
//! In: an xlsx, xlsm, xlsb, xls or ods file and the catalogue. Out: the job, with every sheet read,
//! decks resolved and levels expanded, and the findings; or the reason why it can not be read at
//! all. Nothing outside this room knows the file formats.

mod alike;
mod archive;
mod bays;
mod cells;
mod checks;
mod columns;
mod compound;
mod counts;
mod dates;
mod deck;
mod describe;
mod facts;
mod grid;
mod head;
mod headings;
mod levels;
mod like;
mod limits;
mod lines;
mod log;
mod made;
mod margin;
mod marks;
mod names;
mod ods;
mod one_sheet;
mod placed;
mod plain;
mod quick;
mod quiet;
mod rear;
mod resolve;
mod row_search;
mod rows;
mod said;
mod shapes;
mod sheets;
mod shown;
mod strange;
mod strips;
mod typed;
mod watch;
mod workbook;

pub use describe::describe;
pub use limits::{Limit, Limits, Setting};
pub use made::made_bytes;
pub use plain::plain_sheets;
pub use typed::{Address, typed};

use std::fmt;
use std::num::NonZeroUsize;
use std::path::Path;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use limits::Refused;

use crate::catalogue::Catalogue;
use crate::finding::{Finding, Place};
use crate::job::{Job, Reading};
use crate::parallel;

/// How a schedule is read.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// The shop's own headings: the heading and the key of the field it means (`spans_ft`).
    pub aliases: Vec<(String, String)>,
    pub catalogue: Catalogue,
    pub limits: Limits,
    /// On how many a large sheet is read; two are made use of.
    pub threads: NonZeroUsize,
}

impl Default for ReadOptions {
    fn default() -> ReadOptions {
        ReadOptions {
            aliases: Vec::new(),
            catalogue: Catalogue::bundled(),
            limits: Limits::default(),
            threads: parallel::cores(),
        }
    }
}

/// A schedule that can not be read: nothing is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// Why, errors first; never empty.
    pub findings: Vec<Finding>,
    /// What was understood of it all the same.
    pub readings: Vec<Reading>,
    /// Sheets that were taken for none of the schedule's.
    pub unread: Vec<Arc<str>>,
}

impl Unreadable {
    pub(crate) fn one(finding: Finding) -> Unreadable {
        Unreadable::from(vec![finding])
    }
}

impl From<Vec<Finding>> for Unreadable {
    fn from(findings: Vec<Finding>) -> Unreadable {
        Unreadable { findings, readings: Vec::new(), unread: Vec::new() }
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
    if !metadata.is_file() {
        return Err(refuse("is a device or pipe, wanted a workbook".to_owned()));
    }
    if metadata.len() > limits.file_bytes {
        let why = format!("has {} bytes, at most {} are read", metadata.len(), limits.file_bytes);
        return Err(workbook::refusal(&name, &Refused::over(Limit::File, why), limits));
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
    let mut book = workbook::Workbook::open(bytes, name, &options.limits, options.threads)?;
    let mut log = log::Log::default();
    let (raw, done) = sheets::read(&mut book, options, &mut log);
    if let Err(fatal) = done {
        for finding in fatal {
            log.push(finding);
        }
        let (readings, unread) = (raw.readings, raw.unread);
        return Err(Unreadable { findings: log.finish(), readings, unread });
    }
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
