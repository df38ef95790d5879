//! The order's totals are the takeoff's, on the example and on generated jobs.

use super::super::support::report::{
    cell, number, report, report_with, said, shop, table_of, total,
};
use super::super::support::schedule_builder::{Schedule, schedule, with_bays_apart, with_types};
use baytally::length::Length;
use baytally::value::Value;
use proptest::prelude::*;

fn generated(rows: &[(u8, i64, i64, i64, u8)]) -> Schedule {
    let mut made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies"]);
    for (at, &(spans, span_64, width_64, copies, kind)) in rows.iter().enumerate() {
        let level = format!("{}", at % 3 + 2);
        let span = Length::sixty_fourths(span_64);
        let width = Length::sixty_fourths(width_64);
        made = made.row([
            level,
            format!("B{at}"),
            if kind == 0 { "RD1".to_owned() } else { "D1".to_owned() },
            format!("{spans}@{span}"),
            width.to_string(),
            copies.to_string(),
        ]);
    }
    made
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Count and lineal feet exactly, weight within 1e-9 of its size.
    #[test]
    fn order_totals_are_the_takeoffs(
        rows in prop::collection::vec(
            (1_u8..9, 64 * 12 * 4_i64..64 * 12 * 13, 64 * 12 * 3_i64..64 * 12 * 90, 1_i64..4, 0_u8..2),
            1..14,
        )
    ) {
        let report = report(&generated(&rows));
        prop_assert!(!report.is_incomplete(), "{:?}", report.findings.first());
        prop_assert_eq!(total(&report, "order", "count"), total(&report, "takeoff", "panels"));
        // Lengths in steps of 1/8 in add up exactly in ft only as whole steps.
        let steps = |ft: f64| (ft * 96.0).round();
        let (order, takeoff) = (total(&report, "order", "lineal_ft"), total(&report, "takeoff", "lineal_ft"));
        prop_assert_eq!(steps(order), steps(takeoff));
        prop_assert!((order - takeoff).abs() <= 1e-9 * takeoff);
        let (order, takeoff) = (total(&report, "order", "weight_lb"), total(&report, "takeoff", "deck_lb"));
        prop_assert!((order - takeoff).abs() <= 1e-9 * takeoff, "{} and {}", order, takeoff);
        let panels = total(&report, "panels", "count");
        prop_assert_eq!(panels, total(&report, "takeoff", "panels"));
        let bundled = total(&report, "bundles", "panels");
        prop_assert_eq!(bundled, panels);
        prop_assert_eq!(total(&report, "loads", "panels"), panels);
        let rows = |table: &str| 0..table_of(&report, table).rows;
        for row in rows("panels") {
            let length_ft = number(&report, "panels", row, "length_ft");
            prop_assert!(length_ft <= 40.0, "{}", length_ft);
            prop_assert!(number(&report, "panels", row, "spans") <= 6.0);
        }
        // Over a limit only where a single panel is, and then it is said.
        let look = |table: &str, row| cell(&report, table, row, "look") != Value::Blank;
        for row in rows("bundles") {
            let is_over = number(&report, "bundles", row, "lift_lb") > 4_000.0;
            prop_assert!(!is_over || look("bundles", row));
        }
        for row in rows("loads") {
            prop_assert!(number(&report, "loads", row, "gross_lb") <= 46_000.0 || look("loads", row));
        }
        // Each bundle is on one truck.
        let mut loaded = 0.0_f64;
        for row in rows("loads") {
            loaded += number(&report, "loads", row, "bundle_count");
        }
        let bundles = u32::try_from(table_of(&report, "bundles").rows).unwrap();
        prop_assert!((loaded - f64::from(bundles)).abs() < 1e-9);
    }

    /// Concrete of the pours is that of the bays.
    #[test]
    fn pours_carry_the_bays_concrete(
        rows in prop::collection::vec(
            (1_u8..6, 64 * 12 * 6_i64..64 * 12 * 10, 64 * 12 * 10_i64..64 * 12 * 60, 1_i64..3, 1_u8..2),
            1..12,
        )
    ) {
        let report = report(&generated(&rows));
        let bays = total(&report, "takeoff", "net_yd3");
        prop_assert!((total(&report, "concrete", "net_yd3") - bays).abs() <= 1e-9 * bays);
        prop_assert!((total(&report, "pours", "net_yd3") - bays).abs() <= 1e-9 * bays);
        let gross = total(&report, "takeoff", "gross_yd3");
        prop_assert!((total(&report, "concrete", "total_yd3") - gross).abs() <= 1e-9 * gross);
        prop_assert!(total(&report, "pours", "order_yd3") >= gross - 1e-9);
        prop_assert_eq!(total(&report, "trucks", "load_yd3"), total(&report, "pours", "order_yd3"));
    }
}

/// Deck of one type that is composite here and form there is two lines, marks and bundles: they look
/// alike and only one is embossed. So are other grades and options.
#[test]
fn panels_that_only_look_alike() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Use", "Grade", "Options"])
        .row(["2", "A", "D1", "3@10'", "30'", "", "", ""])
        .row(["2", "B", "D1", "3@10'", "30'", "form", "", ""])
        .row(["2", "C", "D1", "3@10'", "30'", "", "SS 50", ""])
        .row(["2", "D", "D1", "3@10'", "30'", "", "", "vented"]);
    let report = report(&made);
    let text = |table: &str, row, column| {
        cell(&report, table, row, column).as_text().unwrap_or_default().to_owned()
    };
    for (table, marks) in [("order", "mark"), ("bundles", "marks"), ("tags", "marks")] {
        let rows: Vec<String> = (0..table_of(&report, table).rows)
            .map(|row| {
                ["deck_use", "grade", "options", marks]
                    .map(|column| text(table, row, column))
                    .join("|")
            })
            .collect();
        assert_eq!(
            rows,
            [
                "composite|SS 40||D1-1",
                "form|SS 40||D1-2",
                "composite|SS 50||D1-3",
                "composite|SS 40|vented|D1-4"
            ],
            "{table}"
        );
    }
}

/// A mark without its number stands for several lengths, and a name that no deck has tells none apart.
#[test]
fn marks_by_rules_of_a_shop() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "D1", "3@10'", "30'"])
        .row(["2", "B", "D1", "3@9'", "30'"]);
    let with = |rule: &str| report_with(&made, Some(&shop(&[("rules.rhai", rule)])));
    let alike = said(&with("fn panel_mark(type, n) { `${type}-A` }"), "marks-alike");
    assert_eq!(alike.len(), 1);
    assert!(alike[0].contains("warning[marks-alike]: mark D1-A stands for 2 lengths"), "{alike:?}");
    let idle = said(&with("fn mark_key() { [\"gage\"] + bundled::mark_key() }"), "mark-key");
    assert!(idle[0].contains("the rule mark_key names gage, which no deck has"), "{idle:?}");
    let plain = report(&made);
    assert_eq!(said(&plain, "marks-alike"), [""; 0]);
    assert_eq!(said(&plain, "mark-key"), [""; 0]);
}

/// Rows on hold and of an alternate say in the takeoff that they are counted apart.
#[test]
fn rows_that_are_counted_apart() {
    let report = report(&with_bays_apart());
    let apart = [0, 1, 2].map(|row| cell(&report, "takeoff", row, "apart"));
    assert_eq!(apart, [Value::Blank, Value::text("on hold"), Value::text("alternate 1")]);
    assert_eq!(total(&report, "takeoff", "panels"), 30.0);
    assert_eq!(total(&report, "order", "required"), 10.0);
}
