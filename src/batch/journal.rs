//! What is done already, a line a schedule, written as each ends: a batch that was interrupted or
//! killed goes on from there.

use std::collections::HashMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::row::Row;
use super::shard::Shard;

const STEM: &str = "batch-state";
const ENDING: &str = "jsonl";

/// A schedule's end and what it rested on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Hash of the program, the scripts, the shop and the options.
    pub rules: String,
    /// Hash of the output's bytes.
    pub output: String,
    pub row: Row,
}

/// The journal of a batch or of a part of one.
pub struct Journal {
    file: File,
}

impl Journal {
    /// Begins a journal with the entries that still hold.
    pub fn begin(folder: &Path, shard: Option<Shard>, held: &[Entry]) -> io::Result<Journal> {
        let path = path(folder, shard);
        let mut lines = String::new();
        for entry in held {
            lines += &line(entry);
        }
        let fresh = path.with_extension("tmp");
        fs::write(&fresh, lines)?;
        fs::rename(&fresh, &path)?;
        Ok(Journal { file: OpenOptions::new().append(true).open(&path)? })
    }

    pub fn add(&mut self, entry: &Entry) -> io::Result<()> {
        self.file.write_all(line(entry).as_bytes())
    }

    /// The entries of all journals in a folder, by schedule; later ones count, broken lines do not.
    #[must_use]
    pub fn read_all(folder: &Path) -> HashMap<String, Entry> {
        let Ok(entries) = fs::read_dir(folder) else { return HashMap::new() };
        let is_journal = |path: &PathBuf| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with(STEM) && path.extension().is_some_and(|ending| ending == ENDING)
        };
        let mut paths: Vec<PathBuf> =
            entries.flatten().map(|entry| entry.path()).filter(is_journal).collect();
        paths.sort();
        let mut all = HashMap::new();
        for path in paths {
            let text = fs::read(&path).unwrap_or_default();
            for line in String::from_utf8_lossy(&text).lines() {
                if let Ok(entry) = serde_json::from_str::<Entry>(line) {
                    all.insert(entry.row.file.clone(), entry);
                }
            }
        }
        all
    }
}

fn path(folder: &Path, shard: Option<Shard>) -> PathBuf {
    let part = shard.map(|shard| format!("-{shard}")).unwrap_or_default();
    folder.join(format!("{STEM}{part}.{ENDING}"))
}

fn line(entry: &Entry) -> String {
    let text = serde_json::to_string(entry).unwrap_or_default();
    format!("{text}\n")
}
