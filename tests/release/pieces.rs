//! Panels taken off by hand and spares join panels and order, counted apart.

use super::super::support::report::{cell, report, report_with, shop, total};
use super::released::one_bay;
use baytally::value::Value;

#[test]
fn pieces_join_their_line_and_keep_their_marks() {
    let made = one_bay(20)
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length", "Mark"])
        .row(["2", "d1", "3", "30'-0\"", ""])
        .row(["2", "D1", "2", "30'-0\"", "L1"])
        .row(["2", "D2", "4", "8'-3 1/2\"", "L2"]);
    let report = report(&made);
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    let order: Vec<String> = (0..report.table("order").unwrap().rows)
        .map(|row| {
            ["mark", "length", "required", "by_hand", "count"]
                .map(|key| cell(&report, "order", row, key).to_string())
                .join(" ")
        })
        .collect();
    assert_eq!(
        order,
        [
            "\"D1-1\" \"30'-0\\\"\" 23 3 23",
            "\"L1\" \"30'-0\\\"\" 2 2 2",
            "\"L2\" \"8'-3 1/2\\\"\" 4 4 4",
        ]
    );
    assert_eq!(total(&report, "takeoff", "panels"), 20.0);
    assert_eq!(total(&report, "panels", "count"), 29.0);
    assert_eq!(total(&report, "order", "required") - total(&report, "order", "by_hand"), 20.0);
    assert_eq!(total(&report, "bundles", "panels"), 29.0);
    assert_eq!(cell(&report, "panels", 1, "how"), Value::text("by hand"));
    assert_eq!(cell(&report, "order", 2, "gauge"), Value::text("18"));
    assert_eq!(cell(&report, "order", 2, "sequence"), Value::text("2"));
}

/// A mark typed on Pieces is no other length's: the next free number is taken.
#[test]
fn a_typed_mark_is_given_to_no_other_length() {
    let made = one_bay(20)
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length", "Mark"])
        .row(["2", "D1", "3", "12'-0\"", "D1-1"]);
    let report = report(&made);
    let marks: Vec<Value> = (0..2).map(|row| cell(&report, "order", row, "mark")).collect();
    assert_eq!(marks, [Value::text("D1-2"), Value::text("D1-1")]);
}

/// Released under its mark typed by hand, a length gives that mark to no panel of the layout: 20 of 30 ft
/// are released as D1-2 and keep it.
#[test]
fn a_typed_mark_that_was_released_is_given_to_no_other_panel() {
    let made = one_bay(20)
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length", "Mark"])
        .row(["2", "D1", "3", "30'-0\"", "HB-1"])
        .sheet("Releases")
        .row(["Release", "Sequence", "Type", "Mark", "Count", "Length"])
        .row(["R1", "2", "D1", "HB-1", "3", "30'-0\""])
        .row(["R1", "2", "D1", "D1-2", "20", "30'-0\""]);
    let report = report(&made);
    let lines: Vec<String> = (0..report.table("order").unwrap().rows)
        .map(|row| {
            ["mark", "required", "released", "count"]
                .map(|key| cell(&report, "order", row, key).to_string())
                .join(" ")
        })
        .collect();
    assert_eq!(lines, ["\"D1-2\" 20 20 0", "\"HB-1\" 3 3 0"]);
}

/// A job may be taken off by hand alone.
#[test]
fn pieces_of_a_type_that_no_bay_has() {
    let made = one_bay(1)
        .sheet("Pieces")
        .row(["Level", "Sequence", "Type", "Count", "Length"])
        .row(["2", "2", "D2", "6", "24'-0\""]);
    let report = report(&made);
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    // 6 panels of 24 ft, 3 ft wide.
    let at = usize::from(cell(&report, "order", 0, "type") == Value::text("D1"));
    assert_eq!(cell(&report, "order", at, "lineal_ft"), Value::Number(144.0));
}

/// Spares are whole panels by rule, none by default; two a line here.
#[test]
fn spares_by_rule() {
    let plain = report(&one_bay(20));
    assert_eq!(total(&plain, "order", "count"), 20.0);
    let shop =
        shop(&[("rules.rhai", "fn spare_panels(line) { if line.count > 10 { 2 } else { 0 } }\n")]);
    let spare = report_with(&one_bay(20), Some(&shop));
    assert_eq!(total(&spare, "order", "count"), 22.0);
    assert_eq!(total(&spare, "order", "by_hand"), 2.0);
    assert_eq!(cell(&spare, "panels", 1, "how"), Value::text("spare"));
    assert_eq!(total(&spare, "takeoff", "panels"), 20.0);
}
