//! Schedules as people keep them: made by other libraries (people/make.py), all of the same ten
//! bays, so that all must give the same job. What was understood of each stands beside it, checked
//! by hand; `ACCEPT=1 cargo test people` writes it anew.

use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use baytally::job::Job;
use baytally::job::fields::read as field;
use baytally::rules::{self, RunOptions};
use baytally::schedule::{ReadOptions, describe, read};
use baytally::value::Value;

const FILES: [&str; 20] = [
    "plain.xlsx",
    "titles.xlsx",
    "two_rows.xlsx",
    "units.xlsx",
    "synonyms.xlsx",
    "by_level.xlsx",
    "merged.xlsx",
    "typed.xlsx",
    "formulas.xlsx",
    "hidden.xlsx",
    "tables.xlsx",
    "spelled_out.xlsx",
    "sections.xlsx",
    "first_only.xlsx",
    "stacked.xlsx",
    "level_lines.xlsx",
    "macros.dat",
    "old.xls",
    "open.ods",
    "binary.xlsb",
];

/// Level, bay, type, runs, spans in feet, width in feet, copies, pour: the drawing, by hand.
const TEN_BAYS: [&str; 10] = [
    "2 A1 D1 E-W [10, 10, 10] 31 x1 P1",
    "2 A2 D1 E-W [10, 10, 10] 31 x1 P1",
    "2 A3 D1 E-W [9.5, 9.5] 24.5 x2 P2",
    "2 A4 D2 N-S [10] 62 x1 P2",
    "3 A1 D1 E-W [10, 10, 10] 31 x1 P1",
    "3 A2 D1 E-W [10, 10, 10] 31 x1 P1",
    "3 A3 D2 N-S [8.291666666666666] 27 x3 P1",
    "3 A4 D2 N-S [10] 62 x1 P2",
    "Roof R1 RD1 N-S [6, 6, 6, 6] 45 x1 -",
    "Roof R2 RD1 N-S [6, 6, 6, 6] 45 x1 -",
];

/// Use, profile, cover, gauge, grade, finish, slab, mix of each type.
const DECKS: [(&str, &str); 3] = [
    ("D1", "composite 3x12 36 20 SS 40 G60 6.25 LW 110"),
    ("D2", "composite 2x12 36 18 SS 50 G60 5 NW 145"),
    ("RD1", "roof 1.5x6 36 22 SS 33 painted - -"),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people")
}

fn shown(value: Option<Value>) -> String {
    match value {
        None | Some(Value::Blank) => "-".to_owned(),
        Some(Value::Text(text)) => text.to_string(),
        Some(other) => other.to_string(),
    }
}

fn bays(job: &Job) -> Vec<String> {
    job.bays
        .iter()
        .map(|bay| {
            let read = |name: &str| shown(field(bay, job, name));
            format!(
                "{} {} {} {} {} {} x{} {}",
                read("level"),
                read("bay"),
                read("type").to_uppercase(),
                read("runs"),
                read("spans_ft"),
                read("width_ft"),
                read("copies"),
                read("pour")
            )
        })
        .collect()
}

fn decks(job: &Job) -> Vec<(String, String)> {
    const KEYS: [&str; 8] =
        ["use", "profile", "cover_in", "gauge", "grade", "finish", "slab_in", "mix"];
    let mut decks: Vec<(String, String)> = job
        .decks
        .iter()
        .map(|deck| {
            let read = |key: &str| shown(deck.fields.get(key).cloned());
            let fields: Vec<String> = KEYS.iter().map(|key| read(key)).collect();
            (read("type").to_uppercase(), fields.join(" "))
        })
        .collect();
    decks.sort();
    decks.dedup();
    decks
}

#[test]
fn all_ways_of_keeping_ten_bays_give_the_same_ten_bays() {
    let mut read_files = 0;
    for file in FILES {
        let (job, findings) = read(&folder().join(file), &ReadOptions::default())
            .unwrap_or_else(|e| panic!("{file}: {e}"));
        let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
        assert_eq!(bays(&job), TEN_BAYS, "{file}\n{}", said.join("\n"));
        let expected: Vec<(String, String)> =
            DECKS.iter().map(|(mark, deck)| ((*mark).to_owned(), (*deck).to_owned())).collect();
        assert_eq!(decks(&job), expected, "{file}\n{}", said.join("\n"));
        read_files += 1;
    }
    assert_eq!(read_files, 20);
}

/// Every cell that the takeoff workbook shows, as text; marks in whichever case.
fn takeoff(file: &str) -> Vec<String> {
    let (job, findings) = read(&folder().join(file), &ReadOptions::default()).unwrap();
    let scripts = rules::scripts(None).unwrap();
    let options = RunOptions { threads: NonZeroUsize::MIN, ..RunOptions::default() };
    let report = rules::run(Arc::new(job), Arc::new(scripts), findings, options);
    let report = report.unwrap_or_else(|_| panic!("{file}: no report"));
    let mut lines = Vec::new();
    for table in &report.tables {
        for row in 0..table.rows {
            let cells: Vec<String> = table
                .columns
                .iter()
                .zip(table.row(row).iter())
                .filter(|(column, _)| !column.hidden)
                .map(|(column, cell)| format!("{} {cell}", column.key))
                .collect();
            lines.push(format!("{} {row}: {}", table.key, cells.join(", ").to_uppercase()));
        }
    }
    lines
}

#[test]
fn all_ways_of_keeping_ten_bays_give_the_same_takeoff() {
    let first = takeoff(FILES[0]);
    assert!(first.len() > 40, "{} rows", first.len());
    for file in &FILES[1..] {
        let other = takeoff(file);
        for (one, other) in first.iter().zip(&other) {
            assert_eq!(one, other, "{file}");
        }
        assert_eq!(first.len(), other.len(), "{file}");
    }
}

#[test]
fn what_was_understood_is_as_checked_by_hand() {
    let mut compared = 0;
    for file in FILES {
        let (job, findings) = read(&folder().join(file), &ReadOptions::default()).unwrap();
        let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
        let found = format!("{}\n{}\n", describe(&job.readings, &job.unread), said.join("\n"));
        let kept = folder().join(format!("{file}.txt"));
        if std::env::var_os("ACCEPT").is_some() {
            std::fs::write(&kept, &found).unwrap();
        }
        let expected = std::fs::read_to_string(&kept).unwrap_or_default();
        assert_eq!(found, expected, "{file}");
        compared += 1;
    }
    assert_eq!(compared, FILES.len());
}
