//! On random jobs with pieces, holds, alternates and releases: nothing is lost and nothing is netted.

use super::super::support::report::{cell, report, table_of, total};
use super::super::support::schedule_builder::schedule;
use crate::cells;
use baytally::value::Value;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn required_released_and_ordered_add_up(
        bays in prop::collection::vec((1_i32..5, 8_i32..12, 1_i32..30, 0_usize..4, 1_i32..4), 1..10),
        pieces in prop::collection::vec((1_i32..9, 8_i32..40), 0..4),
        releases in prop::collection::vec((0_i32..40, 0_usize..4, 8_i32..12, 1_i32..5, 0_usize..3), 0..8),
    ) {
        let mut made = schedule()
            .sheet("Types")
            .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
            .row(["D1", "composite", "2x12", "36", "20", "SS 40", "G60", "5", "NW 145"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Status", "Alternate", "Copies"]);
        for (at, (spans, feet, covers, kind, copies)) in bays.iter().enumerate() {
            let (status, alternate) = [("", ""), ("hold", ""), ("", "1"), ("", "")][*kind];
            made = made.row(cells![
                format!("{}", at % 2 + 2), format!("B{at}"), "D1", format!("{spans}@{feet}'"),
                format!("{}'", covers * 3), status, alternate, *copies,
            ]);
        }
        made = made.sheet("Pieces").row(["Level", "Type", "Count", "Length"]);
        for (count, feet) in &pieces {
            made = made.row(cells!["2", "D1", *count, format!("{feet}'")]);
        }
        made = made.sheet("Releases").row(["Release", "Sequence", "Type", "Mark", "Count", "Length"]);
        let mut gone = 0.0;
        for (count, sequence, feet, spans, mark) in &releases {
            // Sequence 3 is there with two bays and more.
            let sequence = if *sequence == 1 && bays.len() > 1 { "3" } else if *sequence == 0 { "" } else { "2" };
            let mark = ["", "D1-1", "ZZ"][*mark];
            gone += f64::from(*count);
            made = made.row(cells!["R", sequence, "D1", mark, *count, format!("{}'", feet * spans)]);
        }
        let report = report(&made);
        prop_assert!(!report.is_incomplete(), "{:?}", report.findings.first());
        let of = |column: &str| total(&report, "order", column);
        // By hand: a bay of so many covers has as many panels a line, at most 40 ft long.
        let takeoff = table_of(&report, "takeoff");
        let (panels, lineal) = (takeoff.column("panels").unwrap(), takeoff.column("lineal_ft").unwrap());
        let in_base = |at: usize| matches!(bays[at].3, 0 | 3);
        let row_of = |at: usize| cell(&report, "takeoff", at, "bay").as_text().unwrap()[1..].parse::<usize>().unwrap();
        let sum = |column: usize| -> f64 {
            let rows = (0..takeoff.rows).filter(|&row| in_base(row_of(row)));
            rows.map(|row| takeoff.cell(row, column).as_number().unwrap()).sum()
        };
        let by_hand: f64 = pieces.iter().map(|(count, _)| f64::from(*count)).sum();
        prop_assert_eq!(of("required"), sum(panels) + by_hand);
        prop_assert_eq!(of("by_hand"), by_hand);
        let hand_ft: f64 = pieces.iter().map(|(count, feet)| f64::from(count * feet)).sum();
        prop_assert_eq!((of("required_ft") * 96.0).round(), ((sum(lineal) + hand_ft) * 96.0).round());
        // What has gone counts against lines or is surplus, every panel once.
        prop_assert_eq!(of("released"), gone);
        prop_assert_eq!(of("required") - of("count"), gone - of("surplus"));
        prop_assert_eq!(of("count"), total(&report, "bundles", "panels"));
        for row in 0..table_of(&report, "order").rows {
            let at = |column: &str| cell(&report, "order", row, column).as_number().unwrap_or(0.0);
            prop_assert!(at("count") >= 0.0 && at("count") <= at("required"));
            prop_assert_eq!(at("required") - at("count") + at("surplus"), at("released"));
            if at("surplus") > 0.0 {
                let held = cell(&report, "order", row, "mark") == Value::Blank;
                prop_assert!(held || at("count") == 0.0, "a line short and in surplus at once");
            }
        }
    }
}
