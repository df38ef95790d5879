//! What every command on a schedule begins with: the shop, its catalogue and scripts, the job.

use std::path::Path;
use std::sync::Arc;

use super::Common;
use crate::catalogue::{BadEntry, Catalogue};
use crate::finding::{Finding, Place};
use crate::job::Job;
use crate::rules::{self, Bounds, RunOptions, Scripts, Shop};
use crate::schedule::{self, Limits, ReadOptions, Unreadable};

/// A schedule read, with the scripts that will be run on it.
pub struct Loaded {
    pub job: Arc<Job>,
    pub scripts: Arc<Scripts>,
    /// What the reading found.
    pub findings: Vec<Finding>,
}

/// The shop that the command line names.
pub fn shop(common: &Common) -> Result<Option<Shop>, Vec<Finding>> {
    common.shop.as_deref().map(Shop::read).transpose()
}

/// Reads shop and schedule.
pub fn schedule(path: &Path, common: &Common) -> Result<Loaded, Unreadable> {
    let shop = shop(common)?;
    let scripts = rules::scripts(shop.as_ref())?;
    schedule_of(shop.as_ref(), scripts, path, common)
}

/// Reads a schedule of a shop with these scripts.
pub fn schedule_of(
    shop: Option<&Shop>,
    mut scripts: Scripts,
    path: &Path,
    common: &Common,
) -> Result<Loaded, Unreadable> {
    let options = read_options(shop, common)?;
    let (job, mut findings) = schedule::read(path, &options)?;
    if !common.ignore_schedule_rules {
        findings.extend(scripts.add_schedule_lines(&job));
    }
    Ok(Loaded { job: Arc::new(job), scripts: Arc::new(scripts), findings })
}

/// The limits of reading that the command line names.
pub fn limits(common: &Common) -> Limits {
    let mut limits = Limits::default();
    common.limits.iter().for_each(|setting| limits.set(*setting));
    limits
}

/// How the shop has schedules read: its aliases and catalogue.
pub fn read_options(shop: Option<&Shop>, common: &Common) -> Result<ReadOptions, Vec<Finding>> {
    let mut options = ReadOptions { limits: limits(common), ..ReadOptions::default() };
    options.threads = common.threads.unwrap_or(options.threads);
    if let Some(shop) = shop {
        options.aliases.clone_from(&shop.aliases);
        if let Some(text) = &shop.catalogue {
            let laid_over = Catalogue::bundled().with_shop(text, "catalogue.toml");
            options.catalogue =
                laid_over.map_err(|bad| bad.iter().map(bad_entry).collect::<Vec<_>>())?;
        }
    }
    Ok(options)
}

fn bad_entry(bad: &BadEntry) -> Finding {
    let entry = if bad.entry.is_empty() { String::new() } else { format!("{}: ", bad.entry) };
    let mut finding = Finding::error("bad-catalogue", format!("{entry}{}", bad.message))
        .at(Place::File(Arc::from(bad.file.as_str())));
    finding.hints.extend(bad.hint.clone());
    finding
}

/// The bounds and threads that the command line names.
pub fn run_options(common: &Common) -> RunOptions {
    let mut options = RunOptions { bounds: bounds(common), ..RunOptions::default() };
    if let Some(threads) = common.threads {
        options.threads = threads;
    }
    options
}

/// The bounds that the command line names.
pub fn bounds(common: &Common) -> Bounds {
    Bounds {
        seconds: common.script_seconds,
        steps_a_cell: common.script_steps,
        memory_mb: common.script_memory,
        ..Bounds::default()
    }
}
