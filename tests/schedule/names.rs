//! Names that differ in case, spaces or accents alone are one name everywhere.

use crate::cells;
use crate::support::report::{cell, number, report, said};
use crate::support::schedule_builder::{Cell, Schedule, schedule, with_types};
use baytally::value::Value;

const BAYS: [&str; 7] = ["Level", "Bay", "Type", "Spans", "Width", "Sequence", "Pour"];

fn notes(made: &Schedule) -> Vec<String> {
    said(&report(made), "other-spelling")
}

const HINT: &str =
    "\n  hint: names are the same whatever their case and spaces; give another thing another name";

/// A crane limit of 2,000 lb holds for the bays of that sequence, however they write it: each lift
/// is as heavy as where the names are alike.
#[test]
fn a_crane_limit_holds_for_a_sequence_written_otherwise() {
    let made = |sequence: &str| {
        with_types(schedule())
            .sheet("Sequences")
            .row(["Sequence", "Crane limit"])
            .row(cells!["NORTH", 900])
            .sheet("Bays")
            .row(BAYS)
            .row(["2", "A1", "D1", "3@10'", "60'", sequence, "P1"])
    };
    assert_eq!(
        notes(&made("North ")),
        [format!("Bays!F2: note[other-spelling]: sequence `North` is read as `NORTH`{HINT}")]
    );
    let (like, other) = (report(&made("NORTH")), report(&made("North ")));
    let bundles = |report: &baytally::table::Report| report.table("bundles").map(|t| t.rows);
    assert!(bundles(&like) > Some(2), "{:?}", bundles(&like));
    assert_eq!(bundles(&other), bundles(&like));
    assert_eq!(cell(&other, "order", 0, "sequence"), Value::text("NORTH"));
    for row in 0..bundles(&other).unwrap() {
        assert!(number(&other, "bundles", row, "weight_lb") <= 900.0);
    }
}

/// Two rows of one level, pour and strip are one order line, one pour and one layout: 2 x 31 ft is
/// 62 ft, over 3 ft 20.67, so 21 panels (each alone 11, so 22).
#[test]
fn levels_pours_and_strips_written_in_two_ways_are_one() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Strip", "Along", "Across", "Pour"])
        .row(["Mezz A", "A1", "D1", "3@10'", "31'", "S", "1", "1", "P1"])
        .row(["mezz  a", "A2", "d1", "3@10'", "31'", "s", "1", "2", "p1 60%, P2 40%"]);
    let report = report(&made);
    assert_eq!(
        said(&report, "other-spelling"),
        [
            format!("Bays!A3: note[other-spelling]: level `mezz  a` is read as `Mezz A`{HINT}"),
            format!(
                "Bays!I3: note[other-spelling]: pour `p1 60%, P2 40%` is read as `P1 60%, P2 40%`{HINT}"
            ),
            format!("Bays!F3: note[other-spelling]: strip `s` is read as `S`{HINT}"),
        ]
    );
    assert_eq!(report.table("order").map(|order| order.rows), Some(1));
    assert_eq!(number(&report, "order", 0, "count"), 21.0);
    let pours: Vec<Value> = (0..2).map(|row| cell(&report, "pours", row, "pour")).collect();
    assert_eq!(pours, [Value::text("P1"), Value::text("P2")]);
    assert_eq!(report.table("pours").map(|pours| pours.rows), Some(2));
}

/// Composed and decomposed accents are one name.
#[test]
fn accents_do_not_tell_levels_apart() {
    let made = with_types(schedule())
        .sheet("Levels")
        .row(["Level", "On site"])
        .row(cells!["\u{c9}tage", Cell::Date(2027, 3, 1)])
        .sheet("Bays")
        .row(BAYS)
        .row(["E\u{301}tage", "A1", "D1", "3@10'", "60'", "", ""]);
    let report = report(&made);
    assert_eq!(cell(&report, "takeoff", 0, "level"), Value::text("\u{c9}tage"));
    assert_eq!(said(&report, "load-without-date"), [""; 0]);
}

/// An opening that names its bay as `a1` is one of bay `A1`: 10 x 10 ft less concrete.
#[test]
fn openings_and_extras_find_their_bay_and_level() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(BAYS)
        .row(["L2", "A1", "D1", "3@10'", "60'", "", "P1"])
        .sheet("Openings")
        .row(["Level", "Bay", "Length", "Width"])
        .row(["l2", "a1", "10'", "10'"])
        .sheet("Extra concrete")
        .row(["Level", "Pour", "Item", "Length", "Width", "Depth"])
        .row(["l2", "p1", "pad", "9'", "9'", "4\""]);
    let report = report(&made);
    assert_eq!(
        said(&report, "other-spelling"),
        [
            format!("Openings!A2: note[other-spelling]: level `l2` is read as `L2`{HINT}"),
            format!("Extra concrete!B2: note[other-spelling]: pour `p1` is read as `P1`{HINT}"),
            "Openings!B2: note[other-spelling]: bay `a1` is read as `A1`".to_owned(),
        ]
    );
    assert_eq!(number(&report, "takeoff", 0, "concrete_ft2"), 1_700.0);
    assert_eq!(said(&report, "concrete-without-mix"), [""; 0]);
    assert_eq!(report.table("pours").map(|pours| pours.rows), Some(1));
}

/// `Side Closures` of Scope is the item `side closures`.
#[test]
fn scope_names_an_item_in_any_case() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(BAYS)
        .row(["2", "A1", "D1", "3@10'", "60'", "", "P1"])
        .sheet("Scope")
        .row(["Item", "Supplied by"])
        .row(["Support  Fasteners", "ours"]);
    let report = report(&made);
    let rows = report.table("accessories").map_or(0, |table| table.rows);
    let by: Vec<Value> = (0..rows)
        .filter(|row| {
            cell(&report, "accessories", *row, "item") == Value::text("support fasteners")
        })
        .map(|row| cell(&report, "accessories", row, "by"))
        .collect();
    assert_eq!(by, [Value::text("ours")]);
}
