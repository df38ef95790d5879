//! What a shop is told about each mistake in its scripts: the whole message, place, source line
//! and mark included.
//!
//! A case is a file of `mistakes/`: a sentence, the shop's files each under `---- name`, and under
//! `---- says` every error of the run. `ACCEPT=1 cargo test mistakes` writes what is said now.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use baytally::finding::{Finding, Severity};
use baytally::rules::{self, Bounds, Ended, RunOptions, Shop};

use crate::cells;
use crate::support::schedule_builder::{Cell, schedule, with_types};

const CASES: usize = 89;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/host/mistakes")
}

struct Case {
    about: String,
    files: Vec<(String, String)>,
    says: String,
}

impl Case {
    fn read(text: &str) -> Case {
        let mut parts = text.split("---- ");
        let about = parts.next().unwrap().to_owned();
        let mut files: Vec<(String, String)> = parts
            .map(|part| {
                let (name, text) = part.split_once('\n').unwrap();
                (name.to_owned(), text.to_owned())
            })
            .collect();
        let says = match files.pop() {
            Some((name, says)) if name == "says" => says,
            other => {
                files.extend(other);
                String::new()
            }
        };
        Case { about, files, says }
    }

    fn text(&self, says: &str) -> String {
        let mut text = self.about.clone();
        for (name, content) in &self.files {
            text += &format!("---- {name}\n{content}");
        }
        text + "---- says\n" + says
    }

    /// Every error that a run with the shop ends with, as printed.
    fn run(&self) -> String {
        let shop = tempfile::tempdir().unwrap();
        for (name, text) in &self.files {
            fs::write(shop.path().join(name), text).unwrap();
        }
        let description = shop.path().join("shop.toml");
        if !description.exists() {
            fs::write(description, "written_for = \"1.0\"\n").unwrap();
        }
        let errors: Vec<String> = errors(shop.path())
            .into_iter()
            .filter(|finding| finding.severity == Severity::Error)
            .map(|finding| format!("{finding}\n"))
            .collect();
        errors.concat().replace(&shop.path().display().to_string(), "shop")
    }
}

fn errors(folder: &Path) -> Vec<Finding> {
    let (job, _) =
        with_types(schedule().sheet("Job").row(cells!["Start date", Cell::Date(2027, 3, 1)]))
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Größe"])
            .row(["2", "A1", "D1", "3@10'", "31'", "7"])
            .row(["2", "A2", "D1", "2@10'", "15'", "8"])
            .read()
            .unwrap();
    let job = Arc::new(job);
    let scripts = match Shop::read(folder).and_then(|shop| rules::scripts(Some(&shop))) {
        Ok(scripts) => scripts,
        Err(findings) => return findings,
    };
    let bounds = Bounds { steps_a_cell: 100_000, ..Bounds::default() };
    let options = RunOptions { bounds, ..RunOptions::default() };
    match rules::run(job, Arc::new(scripts), Vec::new(), options) {
        Ok(report) => report.findings,
        Err(Ended::Findings(findings)) => findings,
        Err(Ended::UsedUp(_)) => panic!("time is up"),
    }
}

#[test]
fn mistakes() {
    let mut names: Vec<PathBuf> =
        fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    let mut wrong = Vec::new();
    for path in &names {
        let text = fs::read_to_string(path).unwrap();
        let case = Case::read(&text);
        let said = case.run();
        if said == case.says && !said.is_empty() {
            continue;
        }
        if std::env::var_os("ACCEPT").is_some() {
            fs::write(path, case.text(&said)).unwrap();
        } else {
            wrong.push(format!("{}\n{said}\ninstead of\n{}", path.display(), case.says));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(names.len(), CASES);
}
