//! Paths as the user names them, files, folders and patterns, to schedules.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::finding::{Finding, Place};
use crate::workbook;

const ENDINGS: [&str; 5] = ["xlsx", "xlsm", "xlsb", "xls", "ods"];
/// Folders below folders, at most; links that lead back are not followed for ever.
const DEEPEST: usize = 32;

/// The schedules of a batch.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// In order, each once.
    pub files: Vec<PathBuf>,
    /// What was named and is not there.
    pub findings: Vec<Finding>,
}

/// Files as they are, folders with all schedules in and below them, patterns with `*`, `?`, `[ ]`
/// and `**`. Left out of folders and patterns: hidden files, a spreadsheet program's lock files,
/// outputs of this program, and the folder of outputs.
#[must_use]
pub fn expand(paths: &[PathBuf], outputs: &Path) -> Found {
    let mut found = Found::default();
    let mut taken = HashSet::new();
    let outputs = fs::canonicalize(outputs).ok();
    let outputs = outputs.as_deref();
    for path in paths {
        let mut files = Vec::new();
        let findings = found.findings.len();
        if path.is_dir() {
            walk(path, outputs, 0, &mut files);
        } else if path.exists() {
            files.push(path.clone());
        } else if let Some(pattern) = path.to_str().filter(|text| text.contains(['*', '?', '['])) {
            match glob::glob(pattern) {
                Ok(matches) => {
                    files.extend(matches.flatten().filter(|file| is_schedule(file, outputs)));
                }
                Err(error) => {
                    found.findings.push(refused(path, &format!("is no pattern: {}", error.msg)));
                }
            }
        } else {
            // Said in its own line of the batch.
            files.push(path.clone());
        }
        if files.is_empty() && found.findings.len() == findings {
            let why = if path.is_dir() && is_in(path, outputs) {
                "is the folder of outputs, in which no schedules are looked for"
            } else {
                "names no schedules"
            };
            found.findings.push(refused(path, why));
        }
        files.sort();
        for file in files {
            let whole = fs::canonicalize(&file).unwrap_or_else(|_| file.clone());
            if taken.insert(whole) {
                found.files.push(file);
            }
        }
    }
    found
}

fn refused(path: &Path, why: &str) -> Finding {
    let shown = path.display().to_string();
    Finding::warning("no-schedules", format!("`{shown}` {why}")).at(Place::File(Arc::from(shown)))
}

fn walk(folder: &Path, outputs: Option<&Path>, depth: usize, files: &mut Vec<PathBuf>) {
    if depth > DEEPEST || is_in(folder, outputs) {
        return;
    }
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path = entry.path();
        let is_hidden = entry.file_name().to_string_lossy().starts_with('.');
        match entry.file_type() {
            Ok(kind) if kind.is_dir() && !is_hidden => walk(&path, outputs, depth + 1, files),
            _ if is_schedule(&path, outputs) => files.push(path),
            _ => {}
        }
    }
}

fn is_schedule(path: &Path, outputs: Option<&Path>) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let ending = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    ENDINGS.contains(&&*ending)
        && !name.starts_with('.')
        && !name.starts_with("~$")
        && path.is_file()
        && !path.parent().is_some_and(|folder| is_in(folder, outputs))
        && workbook::output_status(path).is_none()
}

fn is_in(folder: &Path, outputs: Option<&Path>) -> bool {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let (Some(outputs), Ok(whole)) = (outputs, fs::canonicalize(folder)) else { return false };
    whole.starts_with(outputs)
}
