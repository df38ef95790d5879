//! Bays on hold are counted apart; base bid and each alternate have totals of their own.

use super::super::support::report::{cell, report, said, total};
use super::super::support::schedule_builder::schedule;
use baytally::table::Report;
use baytally::value::Value;

fn figure(report: &Report, named: &str) -> Option<f64> {
    let summary = report.table("summary").unwrap();
    (0..summary.rows)
        .find(|&row| cell(report, "summary", row, "figure") == Value::text(named))
        .and_then(|row| cell(report, "summary", row, "value").as_number())
}

fn job() -> Report {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "2x12", "36", "20", "SS 40", "G60", "5", "NW 145"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Status", "Alternate", "Copies"])
        .row(["2", "A", "D1", "3@10'", "30'", "", "", ""])
        .row(["2", "B", "D1", "3@10'", "12'", "hold", "", ""])
        .row(["2", "C", "D1", "2@10'", "60'", "", "1", "2"])
        .row(["2", "D", "D1", "2@10'", "6'", "", "2", ""])
        .row(["2", "E", "D1", "2@10'", "6'", "void", "", ""]);
    report(&made)
}

#[test]
fn hold_is_apart() {
    let report = job();
    assert_eq!(total(&report, "order", "required"), 10.0);
    assert_eq!(total(&report, "order", "on_hold"), 4.0);
    assert_eq!(total(&report, "order", "count"), 10.0);
    assert_eq!(figure(&report, "On hold, not counted above: panels"), Some(4.0));
    assert_eq!(figure(&report, "On hold, not counted above: deck area"), Some(360.0));
    assert_eq!(
        said(&report, "bays-on-hold"),
        [
            "order row 1: note[bays-on-hold]: 4 panels of bays on hold are counted apart and are not ordered"
        ]
    );
}

/// Areas by hand: base 30 x 30, alternate 1 twice 20 x 60, alternate 2 20 x 6.
#[test]
fn base_bid_and_alternates() {
    let report = job();
    assert_eq!(figure(&report, "Deck area"), Some(900.0));
    assert_eq!(figure(&report, "Panels"), Some(10.0));
    assert_eq!(figure(&report, "Alternate 1: deck area"), Some(2_400.0));
    assert_eq!(figure(&report, "Alternate 1: panels"), Some(40.0));
    assert_eq!(figure(&report, "Alternate 2: deck area"), Some(120.0));
    assert_eq!(figure(&report, "Alternate 3: deck area"), None);
}
