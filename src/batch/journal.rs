//! What is done already, a line a schedule, written as each ends: a batch that was interrupted or
//! killed goes on from there.

use std::collections::{BTreeMap, HashSet};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::row::Row;
use super::shard::Shard;
use crate::workbook;

const STEM: &str = "batch-state";
const ENDING: &str = "jsonl";

/// A schedule's end and what it rested on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Hash of the program, the scripts, the shop and the options.
    pub rules: String,
    /// Hash of the output's bytes.
    pub output: String,
    /// The hashes of its forms' bytes, by their names in the folder of outputs.
    pub forms: BTreeMap<String, String>,
    pub row: Row,
}

/// What the journals of a folder say.
#[derive(Debug, Default)]
pub struct Known {
    /// By schedule.
    pub entries: BTreeMap<String, Entry>,
    /// The hashes of all forms that were written.
    pub forms: HashSet<String>,
}

/// The journal of a batch or of a part of one.
pub struct Journal {
    file: File,
}

impl Journal {
    /// Begins a journal with entries of earlier ones: each says itself what it rests on.
    pub fn begin(folder: &Path, shard: Option<Shard>, earlier: &Known) -> io::Result<Journal> {
        let path = path(folder, shard);
        let mut lines = String::new();
        for entry in earlier.entries.values() {
            lines += &line(entry);
        }
        workbook::put(&path, &lines)?;
        Ok(Journal { file: OpenOptions::new().append(true).open(&path)? })
    }

    pub fn add(&mut self, entry: &Entry) -> io::Result<()> {
        self.file.write_all(line(entry).as_bytes())
    }

    /// The entries of all journals in a folder; later ones count, broken lines do not.
    #[must_use]
    pub fn read_all(folder: &Path) -> Known {
        let Ok(entries) = fs::read_dir(folder) else { return Known::default() };
        let is_journal = |path: &PathBuf| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with(STEM) && path.extension().is_some_and(|ending| ending == ENDING)
        };
        let mut paths: Vec<PathBuf> =
            entries.flatten().map(|entry| entry.path()).filter(is_journal).collect();
        paths.sort();
        let mut known = Known::default();
        for path in paths {
            let text = fs::read(&path).unwrap_or_default();
            for line in String::from_utf8_lossy(&text).lines() {
                if let Ok(entry) = serde_json::from_str::<Entry>(line) {
                    known.forms.extend(entry.forms.values().cloned());
                    known.entries.insert(entry.row.file.clone(), entry);
                }
            }
        }
        known
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
