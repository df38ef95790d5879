//! `run --release NAME` writes the rows to paste into Releases; pasted, nothing is left to order.

use std::fs;

use assert_cmd::Command;
use serde_json::Value as Json;

use super::super::support::schedule_builder::{Schedule, schedule, with_types};
use super::released::{bay_of, one_bay};

fn run(schedule: &Schedule, release: Option<&str>) -> Json {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    fs::write(&path, schedule.bytes()).unwrap();
    let mut command = Command::cargo_bin("baytally").unwrap();
    command.arg("run").arg(&path).arg("-o").arg(folder.path().join("out.xlsx")).arg("--json");
    if let Some(release) = release {
        command.args(["--release", release]);
    }
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn table<'a>(json: &'a Json, key: &str) -> Option<&'a Json> {
    json["tables"].as_array()?.iter().find(|table| table["key"] == key)
}

/// The rows of a release under the headings that they come with.
fn pasted(schedule: Schedule, json: &Json) -> Schedule {
    let columns = [
        ("Release", "release"),
        ("Date", "date"),
        ("Sequence", "sequence"),
        ("Type", "type"),
        ("Mark", "mark"),
        ("Count", "count"),
        ("Length", "length"),
        ("Profile", "profile"),
        ("Use", "deck_use"),
        ("Gauge", "gauge"),
        ("Grade", "grade"),
        ("Finish", "finish"),
        ("Side lap", "side_lap"),
        ("Options", "options"),
    ];
    let text = |value: &Json| match value {
        Json::Null => String::new(),
        Json::String(text) => text.clone(),
        other => other.to_string(),
    };
    let mut schedule = schedule.sheet("Releases").row(columns.map(|column| column.0));
    for row in table(json, "release").unwrap()["rows"].as_array().unwrap() {
        schedule = schedule.row(columns.map(|column| text(&row[column.1])));
    }
    schedule
}

/// Grades and options of released rows in other letters are the same.
#[test]
fn released_rows_in_other_letters() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Grade", "Options"])
        .row(["2", "A", "D1", "3@10'", "30'", "SS 50", "hanger tabs"])
        .sheet("Releases")
        .row(["Release", "Sequence", "Type", "Count", "Length", "Grade", "Options"])
        .row(["R1", "2", "D1", "10", "30'", "ss50", "Hanger Tabs"]);
    let json = run(&made, None);
    let totals = &table(&json, "order").unwrap()["totals"];
    assert_eq!((totals["count"].as_f64(), totals["surplus"].as_f64()), (Some(0.0), Some(0.0)));
}

#[test]
fn only_with_the_option() {
    let json = run(&one_bay(120), None);
    assert!(table(&json, "release").is_none());
    assert!(table(&json, "order").is_some());
}

/// Rows of Bays that state Use, Grade and Options otherwise than their type: the rows released say so too.
#[test]
fn rows_of_decks_that_differ_from_their_type() {
    let bays = || {
        with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Use", "Grade", "Options"])
            .row(["2", "A", "D1", "3@10'", "30'", "", "", ""])
            .row(["2", "B", "D1", "3@10'", "30'", "form", "", ""])
            .row(["2", "C", "D1", "3@10'", "30'", "", "SS 50", "vented"])
    };
    let json = run(&bays(), Some("R1"));
    let json = run(&pasted(bays(), &json), Some("R2"));
    assert!(
        table(&json, "release").is_none_or(|table| table["rows"].as_array().unwrap().is_empty())
    );
    let order = table(&json, "order").unwrap()["rows"].as_array().unwrap();
    let left: Vec<&Json> = order.iter().map(|line| &line["surplus"]).collect();
    assert_eq!(left, [&Json::Null; 3]);
}

#[test]
fn the_rows_pasted_back_leave_nothing_to_order() {
    let json = run(&bay_of(40, "3@10'-2 1/8\""), Some("R1"));
    let rows = table(&json, "release").unwrap()["rows"].as_array().unwrap().clone();
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0]["release"], "R1");
    assert_eq!(rows[0]["count"], 40);
    assert_eq!(rows[0]["length"], "30'-6 3/8\"");
    let json = run(&pasted(bay_of(40, "3@10'-2 1/8\""), &json), Some("R1"));
    let order = &table(&json, "order").unwrap()["totals"];
    assert_eq!(order["count"].as_f64(), Some(0.0));
    assert_eq!(order["released"].as_f64(), Some(40.0));
    assert_eq!(order["surplus"].as_f64(), Some(0.0));
    assert!(table(&json, "release").is_none(), "nothing is left to release");
    let codes: Vec<&str> =
        json["findings"].as_array().unwrap().iter().filter_map(|f| f["code"].as_str()).collect();
    assert!(codes.contains(&"release-name-used"), "{codes:?}");
}
