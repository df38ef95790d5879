//! Supply both ways: cut from stock and custom lengths, with reasons; how stock is cut.

use super::support::report::{cell, number, report, report_with, said, shop, total};
use super::support::schedule_builder::{Cell, Schedule, schedule};
use crate::cells;
use baytally::table::Report;
use baytally::value::Value;

/// Roof deck three feet wide: 39 panels of 13'-0" and 10 of 20'-0" by hand, a bay of one of 12'-6".
fn small() -> Schedule {
    schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab"])
        .row(["R1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none"])
        .row(["R2", "roof", "1.5x6", "36", "20", "SS 33", "G90", "none"])
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length"])
        .row(["2", "R1", "39", "13'"])
        .row(["2", "R1", "10", "20'"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "R1", "2@6'-3\"", "3'-0\""])
}

/// A cell as text.
fn text(report: &Report, table: &str, row: usize, column: &str) -> String {
    match cell(report, table, row, column) {
        Value::Text(text) => text.to_string(),
        other => other.to_string(),
    }
}

/// From stock of 40 ft alone, by hand: three of 13 ft from each of 13 bars takes all 39; two of 20 ft
/// from each of 5; the 12'-6" needs one more: 19 bars, 760 ft, of which 39 x 13 + 10 x 20 + 12.5 =
/// 719.5 ft are panels.
#[test]
fn from_stock_by_hand() {
    let made = small().sheet("Stock").row(["Type", "Length"]).row(["R1", "40'"]);
    let report = report(&made);
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    assert_eq!(number(&report, "supply", 0, "lineal_ft"), 719.5);
    assert_eq!(text(&report, "supply", 0, "from_stock"), "19 of 40'-0\"");
    assert_eq!(number(&report, "supply", 0, "stock_ft"), 760.0);
    assert_eq!(number(&report, "supply", 0, "offcut_ft"), 40.5);
    assert_eq!(cell(&report, "supply", 0, "bound"), Value::Blank, "the least possible");
    assert_eq!(text(&report, "supply", 0, "ready"), "ask the yard");
    assert_eq!(total(&report, "cuts", "times"), 19.0);
    assert_eq!(total(&report, "cuts", "panels"), 50.0);
    // 39 bars' worth of 13 ft leave 1 ft each; the bar of the one short panel leaves 27'-6" or, cut
    // otherwise, the like: one off-cut of 6 ft or more.
    assert_eq!(total(&report, "cuts", "reusable"), 1.0);
    assert!((27.0..=27.5).contains(&number(&report, "supply", 0, "kept_ft")));
}

/// A date stands only where every length taken has one on the Stock sheet.
#[test]
fn dates_come_from_stock_rows_alone() {
    let dated = small()
        .sheet("Stock")
        .row(cells!["Type", "Length", "Available", "Ready"])
        .row(cells!["R1", "40'", 15.0, Cell::Date(2027, 3, 1)])
        .row(cells!["r1", "40'", 10.0, Cell::Date(2027, 3, 9)]);
    assert_eq!(text(&report(&dated), "supply", 0, "ready"), "2027-03-09, by Stock");
    let half = small()
        .sheet("Stock")
        .row(cells!["Type", "Length", "Available", "Ready"])
        .row(cells!["R1", "40'", 15.0, Cell::Date(2027, 3, 1)])
        .row(cells!["R1", "40'", 10.0, ""]);
    assert_eq!(text(&report(&half), "supply", 0, "ready"), "ask the yard");
}

#[test]
fn stock_that_does_not_yield_says_why() {
    let short = small().sheet("Stock").row(["Type", "Length"]).row(["R1", "18'"]);
    let report_short = report(&short);
    assert!(!report_short.is_incomplete(), "{:?}", report_short.findings.first());
    assert_eq!(
        text(&report_short, "supply", 0, "from_stock"),
        "not from stock: 20'-0\" is longer than the longest stock length, 18'-0\""
    );
    assert_eq!(cell(&report_short, "supply", 0, "stock_ft"), Value::Blank);
    assert!(report_short.table("cuts").is_none());
    let few = small().sheet("Stock").row(["Type", "Length", "Available"]).row(["R1", "40'", "12"]);
    let few = report(&few);
    assert!(!few.is_incomplete(), "{:?}", few.findings.first());
    let why = text(&few, "supply", 0, "from_stock");
    assert!(
        why.starts_with(
            "not from stock: at hand are 12 of 40'-0\", wanted enough for all 50 pieces"
        ),
        "{why}"
    );
}

/// Ten panels of each of two gauges of one type, and ten stock lengths of that type.
#[test]
fn stock_that_two_gauges_take() {
    let made = schedule()
        .sheet("Bays")
        .row([
            "Level", "Bay", "Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Spans",
            "Width",
        ])
        .row(["2", "A", "R1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "5@6'-0\"", "30'"])
        .row(["2", "B", "R1", "roof", "1.5x6", "36", "20", "SS 33", "painted", "5@6'-0\"", "30'"])
        .sheet("Stock")
        .row(["Type", "Length", "Available"])
        .row(["R1", "30'", "10"]);
    assert_eq!(
        said(&report(&made), "stock-shared"),
        [
            "Stock!A2: warning[stock-shared]: Stock names no gauge, and 2 decks of type R1 (22 and 20 ga) are \
          cut from the same rows, each counted in full: 20 of 30'-0\" with 10 at hand\n  hint: ask the \
          yard which gauge it has, and give each gauge a type of its own"
        ]
    );
    let one = small().sheet("Stock").row(["Type", "Length"]).row(["R1", "40'"]);
    assert_eq!(said(&report(&one), "stock-shared"), [""; 0]);
}

/// Under the mill's least weight stock is suggested; a mill's least is of the coil, not of a type.
#[test]
fn the_mills_least_is_by_coil() {
    let report = report(&small());
    assert_eq!(text(&report, "supply", 0, "suggestion"), "from stock");
    let reason = text(&report, "supply", 0, "reason");
    assert!(
        reason.ends_with(" lb of 22 ga SS 33 painted are under a mill's usual 10,000 lb"),
        "{reason}"
    );
    assert_eq!(text(&report, "supply", 0, "lead"), "2 to 4, an estimate");
    assert_eq!(said(&report, "coil-under-mill-least").len(), 1);
    let two = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab"])
        .row(["R1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none"])
        .row(["R3", "roof", "1.5x6", "30", "22", "SS 33", "painted", "none"])
        .row(["R2", "roof", "1.5x6", "36", "20", "SS 33", "G90", "none"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "R1", "5@6'-0\"", "60'-0\""])
        .row(["2", "B", "R3", "5@6'-0\"", "60'-0\""])
        .row(["2", "C", "R2", "5@6'-0\"", "60'-0\""]);
    let two = super::support::report::report(&two);
    let sum = number(&two, "supply", 0, "weight_lb") + number(&two, "supply", 1, "weight_lb");
    assert!((number(&two, "supply", 0, "coil_lb") - sum).abs() < 1e-6);
    assert!((number(&two, "supply", 1, "coil_lb") - sum).abs() < 1e-6);
    // G90: the mill takes 40,000 lb, and longer.
    assert_eq!(number(&two, "supply", 2, "mill_least_lb"), 40_000.0);
    assert_eq!(text(&two, "supply", 2, "lead"), "8 to 12, an estimate");
}

/// Thresholds are the shop's.
#[test]
fn the_threshold_is_a_rule() {
    let shop = shop(&[(
        "rules.rhai",
        "fn stock_up_to_ft2() { 1000 }\nfn mill_least_lb(deck) { 100 }\nfn stock_lengths_ft(deck) { [40] }\n",
    )]);
    let report = report_with(&small(), Some(&shop));
    assert_eq!(text(&report, "supply", 0, "suggestion"), "custom lengths");
    let reason = text(&report, "supply", 0, "reason");
    assert!(reason.contains(" ft2 to order, over 1,000 ft2; off-cuts of stock 5."), "{reason}");
    assert_eq!(text(&report, "supply", 0, "ready"), "ask the yard: usual lengths, no Stock row");
}

/// Custom lengths are counted back from the first day on site by the longest lead time: 4 weeks
/// before 2027-03-29 is 2027-03-01.
#[test]
fn the_release_counts_back_from_the_first_day_on_site() {
    let made = small()
        .sheet("Levels")
        .row(cells!["Level", "On site"])
        .row(cells!["2", Cell::Date(2027, 3, 29)]);
    let report = report(&made);
    assert_eq!(cell(&report, "supply", 0, "release_by").to_string(), "2027-03-01");
}

/// Three hundred lengths, more than a plan takes: they are rounded up, which is said, and every panel
/// is still cut.
#[test]
fn more_lengths_than_a_plan_takes() {
    let mut many = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab"])
        .row(["R1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "R1", "5@6'-0\"", "60'-0\""])
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length"]);
    for step in 0..300 {
        many = many.row(cells!["2", "R1", 3, 10.0 + f64::from(step) / 96.0]);
    }
    let report = report(&many);
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    let bound = text(&report, "supply", 0, "bound");
    assert!(bound.ends_with("lengths rounded up to 1/4\""), "{bound}");
    assert_eq!(total(&report, "cuts", "panels"), number(&report, "supply", 0, "panels"));
    assert!(total(&report, "supply", "stock_ft") >= total(&report, "supply", "lineal_ft"));
}

/// Stock of a shop shorter than every panel is a reason; a kerf below zero is an error.
#[test]
fn stock_too_short_and_a_kerf_below_zero() {
    let short = shop(&[("rules.rhai", "fn stock_lengths_ft(deck) { [10, 12] }\n")]);
    assert_eq!(
        text(&report_with(&small(), Some(&short)), "supply", 0, "from_stock"),
        "not from stock: 20'-0\" is longer than the longest stock length, 12'-0\""
    );
    let kerf = shop(&[("rules.rhai", "fn kerf_in() { -0.125 }\n")]);
    let report = report_with(&small(), Some(&kerf));
    assert!(report.is_incomplete());
    let said = said(&report, "bad-argument");
    let (place, message) = said[0].split_once(": ").unwrap();
    assert!(place.starts_with("rules.rhai:"), "{place}");
    assert!(
        message.starts_with(
            "error[bad-argument]: in `cut::attempt`: `kerf_in` is -1/8\", wanted a kerf of 0 in or more\n"
        ),
        "{message}"
    );
    assert!(message.contains("let made = cut::attempt(pieces, bars, kerf_in());"), "{message}");
}
