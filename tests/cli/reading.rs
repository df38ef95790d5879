//! `check --show-reading`: what was understood of schedules as people keep them, and of one that is
//! refused.

use std::fs;
use std::path::Path;

use serde_json::json;

use crate::support::program::Desk;
use crate::support::schedule_builder::{schedule, with_types};

fn desk(file: &str) -> Desk {
    let desk = Desk::new();
    let people = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people");
    fs::copy(people.join(file), desk.path(file)).unwrap();
    desk
}

/// By hand: titles and a logo above the headings, totals, headings repeated on a printed page, a
/// note below.
#[test]
fn rows_passed_over_are_told_with_their_reason() {
    let outcome = desk("titles.xlsx").run("check titles.xlsx --show-reading");
    assert_eq!(outcome.code, Some(0));
    assert_eq!(outcome.out, TITLES);
}

/// By hand: two tables on one sheet under a title.
#[test]
fn two_tables_of_one_sheet_are_told_apart() {
    let outcome = desk("stacked.xlsx").run("check stacked.xlsx --show-reading");
    assert_eq!(outcome.code, Some(0));
    assert_eq!(outcome.out, STACKED);
}

#[test]
fn a_refused_schedule_shows_what_was_understood_of_it() {
    let desk = Desk::new();
    desk.put("none.xlsx", &with_types(schedule()).sheet("Sketches").row(["Here", "be", "lines"]));
    let outcome = desk.run("check none.xlsx --show-reading");
    assert_eq!(outcome.code, Some(2));
    assert!(outcome.out.starts_with("Types: read as types, found by its name"), "{}", outcome.out);
    assert!(outcome.out.ends_with("  rows taken: 2\nSketches: not read\n"), "{}", outcome.out);
    assert!(outcome.err.contains("error[no-bays-sheet]"), "{}", outcome.err);
    let json = desk.run("check none.xlsx --show-reading --json").json();
    assert_eq!(json["failed"], true);
    assert_eq!(json["unread_sheets"], json!(["Sketches"]));
}

#[test]
fn programs_are_shown_the_same() {
    let json = desk("titles.xlsx").run("check titles.xlsx --show-reading --json").json();
    let bays = &json["readings"][1];
    assert_eq!(bays["heading_row"], 9);
    assert_eq!(
        bays["headings"][4],
        json!({ "column": "E", "heading": "Spans", "field": "spans_ft", "unit": "ft" })
    );
    assert_eq!(bays["rows_taken"], 10);
    assert_eq!(bays["rows_passed_over"][1], json!({ "row": 17, "why": "headings again" }));
    let plain = desk("titles.xlsx").run("check titles.xlsx --json").json();
    assert!(plain.get("readings").is_none(), "not asked for");
}

const TITLES: &str = "\
Types: read as types, found by its name, headings in row 1
    A  Type -> type
    B  Use -> use
    C  Profile -> profile
    D  Cover -> cover_in, bare numbers are in
    E  Gauge -> gauge
    F  Grade -> grade
    G  Finish -> finish
    H  Slab -> slab_in, bare numbers are in
    I  Mix -> mix
  rows taken: 3
Bays: read as bays, found by its name, headings in row 9
    A  Level -> level
    B  Bay -> bay
    C  Type -> type
    D  Runs -> runs
    E  Spans -> spans_ft, bare numbers are ft
    F  Width -> widths_ft, bare numbers are ft
    G  Copies -> copies
    H  Pour -> pour
  rows taken: 10
  passed over, a total: rows 14, 22, 26
  passed over, headings again: rows 17
  passed over, a note or title: rows 29
titles.xlsx: 3 warnings, 16 notes
";

const STACKED: &str = "\
Invented Tower: read as types, found by its headings, headings in row 4
    A  Type -> type
    B  Use -> use
    C  Profile -> profile
    D  Cover -> cover_in, bare numbers are in
    E  Gauge -> gauge
    F  Grade -> grade
    G  Finish -> finish
    H  Slab -> slab_in, bare numbers are in
    I  Mix -> mix
  rows taken: 3
  passed over, a note or title: rows 9
Invented Tower: read as bays, found by its headings on the same sheet, headings in row 10
    A  Level -> level
    B  Bay -> bay
    C  Type -> type
    D  Runs -> runs
    E  Spans -> spans_ft, bare numbers are ft
    F  Width -> widths_ft, bare numbers are ft
    G  Copies -> copies
    H  Pour -> pour
  rows taken: 10
stacked.xlsx: 3 warnings, 15 notes
";
