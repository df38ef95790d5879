//! Strips laid out as one plan, and the record that scripts get.

use std::sync::Arc;

use baytally::deck::layout::across::LeftoverRules;
use baytally::deck::layout::plan::{Piece, Plan, Saved};
use baytally::deck::layout::record::plan;
use baytally::length::{Length, Typed};
use baytally::value::{Record, Value};

use super::{butted_strip, ft, typed};

fn lay(spans: &[&[Length]], widths: &[&[Vec<Typed>]], copies: i64) -> Plan {
    let leftover = LeftoverRules { spread: ft(0, 1), filler: ft(0, 6), rest_serves: false };
    butted_strip(spans, widths, copies, leftover).unwrap()
}

fn counts(plan: &Plan) -> Vec<(Length, i64)> {
    plan.pieces.iter().map(|piece: &Piece| (piece.length, piece.count)).collect()
}

/// By hand: ten lines of 40 + 30 + 30.
#[test]
fn ten_spans_thirty_feet_wide() {
    let plan = lay(&[&[ft(10, 0); 10]], &[&[vec![typed(ft(30, 0))]]], 1);
    assert_eq!(counts(&plan), [(ft(40, 0), 10), (ft(30, 0), 20)]);
    assert_eq!((plan.panels, plan.lineal, plan.saved), (30, ft(1_000, 0), None));
}

/// By hand: 42 panels of 30'-0", 1,260 lf; four separate widths take 44.
#[test]
fn four_widths_as_one_strip() {
    let plan = lay(&[&[ft(10, 0); 3]], &[&[vec![typed(ft(31, 0)); 4]]], 1);
    assert_eq!(counts(&plan), [(ft(30, 0), 42)]);
    assert_eq!(plan.lineal, ft(1_260, 0));
    assert_eq!(plan.saved, Some(Saved { panels: 2, lineal: ft(60, 0) }));
}

/// By hand: two rows along of two 10'-0" spans run as one panel of 40'-0"; the second row begins
/// none. Apart, each of three lines and two copies takes two of 20'-0".
#[test]
fn rows_along_run_on() {
    let row: &[Length] = &[ft(10, 0); 2];
    let plan = lay(&[row, row], &[&[vec![typed(ft(9, 0))]]], 2);
    assert_eq!(counts(&plan), [(ft(40, 0), 6)]);
    assert_eq!(plan.pieces[0].along, 0);
    assert_eq!(plan.saved, Some(Saved { panels: 6, lineal: Length::ZERO }));
}

#[test]
fn a_record_for_scripts() {
    let number = Value::Number;
    let record: Record = [
        ("spans_ft", Value::List(vec![number(10.0); 3].into())),
        ("widths_ft", Value::List(vec![number(31.0); 4].into())),
        ("cover_in", number(36.0)),
        ("longest_ft", number(40.0)),
        ("shortest_ft", number(6.0)),
        ("most_spans", Value::Count(4)),
        ("spread_in", number(1.0)),
        ("filler_in", number(6.0)),
    ]
    .into_iter()
    .map(|(name, value)| (Arc::from(name), value))
    .collect();
    let laid = plan(Arc::new(record.clone())).unwrap();
    assert_eq!(laid["panels"], Value::Count(42));
    assert_eq!(laid["lineal_ft"], Value::Number(1_260.0));
    assert_eq!(laid["leftover_kind"], Value::text("ripped"));
    let Value::List(notes) = &laid["notes"] else { panic!("no notes") };
    let notes: Vec<_> = notes.iter().filter_map(Value::as_text).collect();
    assert_eq!(
        notes,
        [
            "the last panel is ripped to 12\", 24\" of it left",
            "laid as one strip it takes 2 panels less and 60.00 lineal ft less than row by row",
        ]
    );

    let mut misspelt = record;
    misspelt.insert(Arc::from("longst_ft"), Value::Number(1.0));
    assert_eq!(
        plan(Arc::new(misspelt)).unwrap_err().to_string(),
        "`strip.longst_ft` is 1, wanted one of the fields copies, cover_in, half_digit_in, \
         spread_in, filler_in, rest_serves, longest_ft, shortest_ft, most_spans, prefer, \
         start_end, far_end, lap_in, joint, slope_rise_in_12, round_in, round, cut, spans_ft, \
         widths_ft (perhaps `longest_ft`)"
    );
}

/// Prints the time of one plan; run in release with `--ignored --nocapture`.
#[test]
#[ignore = "a measurement"]
fn time_of_a_three_span_bay() {
    const TIMES: u32 = 200_000;
    let time = |spans: &[Length], name: &str| {
        let widths = [vec![typed(ft(31, 0))]];
        let start = std::time::Instant::now();
        let mut panels = 0;
        for _ in 0..TIMES {
            panels += std::hint::black_box(lay(&[spans], &[&widths], 1)).panels;
        }
        println!("{name}: {} ns, {panels} panels", start.elapsed().as_nanos() / u128::from(TIMES));
    };
    time(&[ft(10, 0); 3], "three spans");
    time(&[ft(10, 0); 10], "ten spans");
    time(&[ft(9, 0), ft(10, 0), ft(11, 6), ft(9, 0), ft(8, 3), ft(10, 0)], "six unequal spans");
    let long: Vec<Length> = (0..3_000).map(|index| ft(8 + index * 7 % 5, index * 5 % 12)).collect();
    let start = std::time::Instant::now();
    let proved = lay(&[&long], &[&[vec![typed(ft(31, 0))]]], 1).along.proved;
    println!("3,000 unequal spans: {} us, proved {proved}", start.elapsed().as_micros());
}
