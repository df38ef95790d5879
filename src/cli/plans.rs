//! `run --plans`: the levels as SVG files, beside the images in the workbook.

use std::fs;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::drawing;
use crate::finding::{Finding, Place};
use crate::job::Job;
use crate::plans;
use crate::table::{LevelPlan, Report};
use crate::value::Value;

/// When a run draws the levels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    Never,
    /// Where the schedule says how its bays lie on plan.
    WherePlaced,
    Always,
}

impl Drawn {
    /// Adds the plans to a job's report.
    pub fn add(self, job: &Job, report: &mut Report) {
        let wanted = match self {
            Drawn::Never => false,
            Drawn::WherePlaced => plans::has_places(job),
            Drawn::Always => true,
        };
        if wanted {
            report.plans = plans::of(job, report);
        }
    }
}

/// Writes each level's plan into a folder, made where it is missing; gives the files' names.
///
/// A file that is not a plan of this program's is never written over, unless `replace`.
pub fn write(report: &Report, folder: &Path, replace: bool) -> Result<Vec<PathBuf>, Vec<Finding>> {
    let mut names: Vec<String> = Vec::new();
    let files: Vec<(PathBuf, &LevelPlan)> = report
        .plans
        .iter()
        .map(|plan| (folder.join(file_name(&plan.level, &mut names)), plan))
        .collect();
    super::make_folder(folder).map_err(|error| vec![not_written(folder, &error.to_string())])?;
    if !replace {
        let foreign: Vec<Finding> = files
            .iter()
            .filter(|(path, _)| !is_ours(path))
            .map(|(path, _)| {
                not_written(
                    path,
                    "a file of that name is there already and is no plan of this program",
                )
                .hint("`--replace` writes over it")
            })
            .collect();
        if !foreign.is_empty() {
            return Err(foreign);
        }
    }
    for (path, plan) in &files {
        let text = drawing::svg(&plan.picture, &heading(report, plan));
        put(path, &text).map_err(|error| vec![not_written(path, &error.to_string())])?;
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

fn not_written(path: &Path, why: &str) -> Finding {
    let shown = path.display();
    Finding::error("not-written", format!("`{shown}` was not written: {why}"))
        .at(Place::File(Arc::from(shown.to_string())))
}

/// A whole file or none: written beside its place and moved there.
fn put(path: &Path, text: &str) -> std::io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".baytally-").suffix(".tmp");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    std::io::Write::write_all(&mut file, text.as_bytes())?;
    file.persist(path).map_err(|failed| failed.error)?;
    Ok(())
}

/// Whether a file may be written: none is there, or one of ours.
fn is_ours(path: &Path) -> bool {
    const HEAD: u64 = 200;
    match fs::File::open(path) {
        Err(error) => error.kind() == ErrorKind::NotFound,
        Ok(file) => {
            let mut head = Vec::new();
            let read = file.take(HEAD).read_to_end(&mut head);
            read.is_ok() && String::from_utf8_lossy(&head).contains(drawing::MADE_BY)
        }
    }
}

fn heading(report: &Report, plan: &LevelPlan) -> Vec<String> {
    let job = report.head.iter().find(|(key, _)| key.eq_ignore_ascii_case("job"));
    let job = job.and_then(|(_, value)| Value::as_text(value)).unwrap_or(&report.schedule);
    let mut lines = vec![format!("{job}: {}", plan.title()), format!("from {}", report.schedule)];
    if report.is_incomplete() {
        lines.push("INCOMPLETE: errors stand in the schedule".to_owned());
    }
    lines
}

/// `plan-2.svg`; letters that a file's name can not have everywhere become dashes.
fn file_name(level: &str, taken: &mut Vec<String>) -> String {
    const LONGEST: usize = 60;
    let plain: String = level
        .trim()
        .chars()
        .take(LONGEST)
        .map(|letter| if letter.is_alphanumeric() || "._+".contains(letter) { letter } else { '-' })
        .collect();
    let mut name = format!("plan-{plain}");
    let mut number = 2_u32;
    while taken.contains(&name.to_lowercase()) {
        name = format!("plan-{plain}-{number}");
        number += 1;
    }
    taken.push(name.to_lowercase());
    name + ".svg"
}
