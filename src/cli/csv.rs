//! `run --csv`: every table as a file of comma-separated values.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use crate::finding::{Finding, Place};
use crate::report::{PACKAGE, csv_files};
use crate::table::Report;
use crate::workbook;

/// Writes the files into a folder, made where it is missing. Files that no earlier run of this
/// program wrote there are never written over, unless `replace`.
pub fn write(report: &Report, folder: &Path, replace: bool) -> Result<(), Vec<Finding>> {
    let refuse = |path: &Path, why: &str| {
        Finding::error("not-written", format!("`{}` was not written: {why}", path.display()))
            .at(Place::File(Arc::from(path.display().to_string())))
    };
    super::make_folder(folder).map_err(|error| vec![refuse(folder, &error.to_string())])?;
    let files = csv_files(report);
    let ours = files_of_before(folder);
    if !replace {
        let foreign: Vec<Finding> = files
            .iter()
            .map(|(name, _)| (name, folder.join(name)))
            .filter(|(name, path)| path.exists() && !ours.contains(name))
            .map(|(_, path)| {
                refuse(
                    &path,
                    "a file of that name is there already and is no table of this program",
                )
                .hint("`--replace` writes over it")
            })
            .collect();
        if !foreign.is_empty() {
            return Err(foreign);
        }
    }
    for (name, text) in files {
        let path = folder.join(name);
        workbook::put(&path, &text).map_err(|error| vec![refuse(&path, &error.to_string())])?;
    }
    Ok(())
}

/// The files that an earlier run wrote, by the description that it left.
fn files_of_before(folder: &Path) -> Vec<String> {
    let text = fs::read(folder.join(PACKAGE)).unwrap_or_default();
    let package: serde_json::Value = serde_json::from_slice(&text).unwrap_or_default();
    let is_ours = package["created_by"].as_str().is_some_and(|by| by.starts_with("baytally "));
    if !is_ours {
        return Vec::new();
    }
    let paths = package["resources"].as_array().into_iter().flatten();
    let mut files: Vec<String> =
        paths.filter_map(|resource| resource["path"].as_str().map(str::to_owned)).collect();
    files.push(PACKAGE.to_owned());
    files
}
