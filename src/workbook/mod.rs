//! The takeoff workbook: a report written as sheets that people read, filter and print.
//!
//! In: a [`Report`] and the path of the output. Out: the workbook, written beside its place and
//! moved there whole, and the findings that only the format's limits raise. This is the only room
//! that knows the writing library.

mod anchor;
mod blank;
mod book;
mod cell;
mod chart;
mod checks;
mod columns;
pub mod form;
mod grid;
mod in_force;
mod lists;
mod marks;
mod measure;
mod names;
mod packing;
mod page;
mod plan;
mod plans;
mod style;
mod summary;
mod target;
mod unfinished;
mod unit;

use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use crate::finding::Finding;
use crate::parallel;
use crate::table::Report;

pub use blank::blank_schedule;
pub use target::NotWritten;
pub use unfinished::{abandon, put};

/// What may stand in the way of an output.
#[derive(Clone, Debug, Default)]
pub struct WriteOptions {
    /// Files that the run reads (the schedule, a form): never written over, under whatever name
    /// or link.
    pub inputs: Vec<PathBuf>,
    /// Write over a file that was not written by this program.
    pub replace: bool,
    /// On how many threads large sheets are made; as many as the machine runs at once where not
    /// said.
    pub threads: Option<NonZeroUsize>,
    /// One of many in a folder: what is written there last makes all of them outlast a power cut.
    pub one_of_many: bool,
}

/// A workbook written.
#[derive(Clone, Debug)]
pub struct Written {
    pub path: PathBuf,
    pub bytes: u64,
    /// The sheets' names in order.
    pub sheets: Vec<String>,
    /// What the writing itself found: names mended, text cut, tables continued. They stand on the
    /// Checks sheet too.
    pub findings: Vec<Finding>,
}

/// Writes the report. A kill at any moment leaves the old file or the new one, and may leave a file
/// named `.baytally-` … `.tmp` beside it.
///
/// Refused: a folder that is missing or may not be written, a path that is a folder or no plain
/// file, one of the inputs, a file of someone else's, a full disk.
pub fn write(report: &Report, path: &Path, options: &WriteOptions) -> Result<Written, NotWritten> {
    let target = target::Target::check(path, options)?;
    let threads = options.threads.unwrap_or_else(parallel::cores);
    let plan = plan::Plan::of(report, &plan::Limits::FORMAT, threads);
    let bytes = target.put(|sink| book::write(&plan, threads, sink))?;
    if !options.one_of_many {
        target.sync_folder();
    }
    Ok(Written {
        path: target.named().to_path_buf(),
        bytes,
        sheets: plan.names(),
        findings: plan.own_findings,
    })
}

/// The status that an output of this program states, `complete` or `incomplete: 2 in error`;
/// `None` where the file is no such output.
#[must_use]
pub fn output_status(path: &Path) -> Option<String> {
    target::status(path)
}
