//! A strip of deck worked by hand, the leftover rule, a roof, copies.

use super::super::support::report::{cell, number, report, said, total};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::value::Value;

const BAYS: [&str; 7] = ["Level", "Bay", "Type", "Spans", "Width", "Copies", "Pour"];

fn bays() -> Schedule {
    with_types(schedule()).sheet("Bays").row(BAYS)
}

/// Four bays of 31 ft side by side, three spans of 10 ft, 3x12, 20 ga, G60, 36 in cover.
///
/// By hand: 4 x 31 = 124 ft over 3 ft is 41.33, so 42 lines of one panel each, 30 ft long: 1,260
/// lineal ft, x 3 ft cover 3,780 ft2, 37.8 squares. Weight: (0.0358 x 40.8333 + 0.6/16) x 1.33253
/// = 1.99895 psf (sharp corners: flats 4.75 + 4.75, slopes 2 x sqrt(1.25^2 + 3^2) = 6.5 over 12 in
/// pitch: 16/12 = 1.33333; 1.49933 x 1.33333 = 1.99911), x 3,780 = 7,557 lb.
#[test]
fn a_strip_worked_by_hand() {
    let report = report(&bays().row(["2", "A", "D1", "3@10'-0\"", "4@31'-0\"", "", ""]));
    assert_eq!(cell(&report, "order", 0, "count"), Value::Count(42));
    assert_eq!(cell(&report, "order", 0, "length"), Value::text("30'-0\""));
    assert_eq!(number(&report, "order", 0, "lineal_ft"), 1_260.0);
    assert_eq!(total(&report, "takeoff", "panel_area_ft2"), 3_780.0);
    assert!((number(&report, "order", 0, "squares") - 37.8).abs() < 1e-9);
    assert_eq!(number(&report, "order", 0, "weight_lb").round(), 7_557.0);
    assert!(
        (number(&report, "takeoff", 0, "deck_psf")
            - (0.0358 * 490.0 / 12.0 + 0.6 / 16.0) * 16.0 / 12.0)
            .abs()
            < 1e-12
    );
}

/// By hand: each row alone takes 31 / 3 = 10.33, so 11 panels; four rows take 44.
#[test]
fn four_rows_apart_take_two_panels_more_and_a_note_says_so() {
    let mut apart = bays();
    for bay in ["A", "B", "C", "E"] {
        apart = apart.row(["2", bay, "D1", "3@10'-0\"", "31'-0\"", "", ""]);
    }
    let report_apart = report(&apart);
    assert_eq!(total(&report_apart, "takeoff", "panels"), 44.0);
    assert_eq!(said(&report_apart, "equal-neighbours").len(), 3);
    let strip = report(&bays().row(["2", "A", "D1", "3@10'-0\"", "4@31'-0\"", "", ""]));
    assert_eq!(
        said(&strip, "strip-saves"),
        ["Bays!E2: note[strip-saves]: laid out as one strip: 2 panels less than row by row"]
    );
}

/// Rows of one strip: panels belong to the row where they begin, concrete goes by area.
///
/// By hand: panels start at 0, 3, … 123 ft; row 1 (0 to 31 ft) holds the 11 from 0 to 30, row 2 (31
/// to 62) the 10 from 33 to 60, row 3 (62 to 93) the 10 from 63 to 90, row 4 the 11 from 93 to 123.
#[test]
fn rows_of_a_strip_share_one_layout() {
    let mut rows = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Strip", "Along", "Across"]);
    for (bay, across) in [("A", "1"), ("B", "2"), ("C", "3"), ("E", "4")] {
        rows = rows.row(["2", bay, "D1", "3@10'-0\"", "31'-0\"", "S", "1", across]);
    }
    let report = report(&rows);
    let counts: Vec<f64> = (0..4).map(|row| number(&report, "takeoff", row, "panels")).collect();
    assert_eq!(counts, [11.0, 10.0, 10.0, 11.0]);
    // 930 ft2 each at 4.75 in average (3.25 + 3 x 6/12): 930 x 4.75 / 12 / 27 = 13.634 yd3.
    for row in 0..4 {
        assert!(
            (number(&report, "takeoff", row, "net_yd3") - 930.0 * 4.75 / 12.0 / 27.0).abs() < 1e-9
        );
    }
}

/// The leftover rule on exact lengths: up to 1 in is spread, up to 6 in a filler, more a panel.
#[test]
fn the_leftover_rule_decides() {
    for (width, panels, leftover, filler_ft) in [
        ("120'-0\"", 40.0, "exact", 0.0),
        ("120'-0 1/64\"", 40.0, "spread", 0.0),
        ("120'-1\"", 40.0, "spread", 0.0),
        ("120'-1 1/64\"", 40.0, "filler", 30.0),
        ("120'-4\"", 40.0, "filler", 30.0),
        ("120'-6\"", 40.0, "filler", 30.0),
        ("120'-6 1/64\"", 41.0, "ripped", 0.0),
        ("121'-0\"", 41.0, "ripped", 0.0),
    ] {
        let report = report(&bays().row(["2", "A", "D1", "3@10'-0\"", width, "", ""]));
        assert_eq!(number(&report, "takeoff", 0, "panels"), panels, "{width}");
        assert_eq!(cell(&report, "takeoff", 0, "leftover"), Value::text(leftover), "{width}");
        assert_eq!(number(&report, "takeoff", 0, "filler_ft"), filler_ft, "{width}");
        assert_eq!(
            said(&report, "width-spread").len(),
            usize::from(leftover == "spread"),
            "{width}"
        );
    }
}

/// Decimal text stands for what lies within half its last digit: 34 covers of 35 in are 99'-2",
/// 99.1667 ft typed; the panel count is 34, with a note.
#[test]
fn decimal_widths_count_whole_covers() {
    let rows = |width: &str| {
        schedule()
            .sheet("Types")
            .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
            .row(["D1", "composite", "3x12", "35", "20", "SS 40", "G60", "6 1/4", "LW 110"])
            .sheet("Bays")
            .row(BAYS)
            .row(["2", "A", "D1", "3@10'-0\"", width, "", ""])
    };
    for (width, notes) in [("99.1667'", 1), ("99'-2\"", 0)] {
        let report = report(&rows(width));
        assert_eq!(number(&report, "takeoff", 0, "panels"), 34.0, "{width}");
        assert_eq!(said(&report, "width-decimal").len(), notes, "{width}");
    }
}

/// A roof under a Job default for slab and mix takes no concrete.
#[test]
fn a_roof_takes_no_concrete_whatever_the_default() {
    let rows = with_types(
        schedule().sheet("Job").row(["Slab", "6 1/4"]).row(["Mix", "LW 110"]).row(["Pour", "P1"]),
    )
    .sheet("Bays")
    .row(BAYS)
    .row(["Roof", "R1", "RD1", "20@5'-0\"", "200'-0\"", "", ""]);
    let report = report(&rows);
    assert_eq!(total(&report, "takeoff", "area_ft2"), 20_000.0);
    assert_eq!(total(&report, "takeoff", "gross_yd3"), 0.0);
    assert_eq!(report.table("pours").map(|pours| pours.rows), Some(0));
    assert_eq!(cell(&report, "takeoff", 0, "slab_in"), Value::Blank);
}

/// Copies multiply panels, area, weight and concrete.
#[test]
fn copies_multiply() {
    let one = report(&bays().row(["2", "A", "D1", "3@10'-0\"", "31'-0\"", "1", "P1"]));
    let five = report(&bays().row(["2", "A", "D1", "3@10'-0\"", "31'-0\"", "5", "P1"]));
    for column in
        ["panels", "lineal_ft", "area_ft2", "panel_area_ft2", "deck_lb", "net_yd3", "gross_yd3"]
    {
        let (a, b) = (total(&one, "takeoff", column), total(&five, "takeoff", column));
        assert!(a > 0.0 && (b - 5.0 * a).abs() < 1e-9, "{column}: {a} and {b}");
    }
}
