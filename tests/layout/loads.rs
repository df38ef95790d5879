//! Bundles and loads: cases worked by hand, and random orders in which every panel must come up
//! once and nothing may be over its limit.

use std::sync::Arc;

use baytally::deck::layout::bundle_record::bundles;
use baytally::deck::layout::bundles::{Bundle, BundleLimits, BundleLine, bundle};
use baytally::deck::layout::loads::{Cargo, LoadLimits, load, loads};
use baytally::length::Length;
use baytally::value::{Record, Value};
use proptest::prelude::*;

use super::ft;

fn record(fields: &[(&str, Value)]) -> Arc<Record> {
    Arc::new(fields.iter().map(|(name, value)| (Arc::from(*name), value.clone())).collect())
}

fn line(sequence: i64, finish: &str, feet: f64, count: i64, panel_lb: f64) -> Arc<Record> {
    record(&[
        ("sequence", Value::Count(sequence)),
        ("profile", Value::text("2x12")),
        ("gauge", Value::Count(20)),
        ("finish", Value::text(finish)),
        ("length_ft", Value::Number(feet)),
        ("count", Value::Count(count)),
        ("panel_lb", Value::Number(panel_lb)),
        ("cover_in", Value::Number(36.0)),
    ])
}

fn bundle_limits() -> Arc<Record> {
    record(&[("most_lb", Value::Number(4_000.0))])
}

fn load_limits() -> Arc<Record> {
    record(&[
        ("payload_lb", Value::Number(46_000.0)),
        ("deck_length_ft", Value::Number(48.0)),
        ("deck_width_in", Value::Number(102.0)),
        ("stack", Value::Count(6)),
    ])
}

fn list(records: Vec<Record>) -> Vec<Arc<Record>> {
    records.into_iter().map(Arc::new).collect()
}

fn number(record: &Record, name: &str) -> f64 {
    record[name].as_number().unwrap()
}

/// A panel of 2x12, 20 gauge, G60, 36 in cover, 30'-0": 90 ft2 at (0.0358 x 40.833 + 0.6 / 16) psf
/// x 1.2059 (developed over cover width of the generic profile) is 162.74 lb; 24 are 3,905.7 lb,
/// 25 would be 4,068 lb.
#[test]
fn a_hundred_and_twenty_panels_are_five_bundles() {
    let bundles = bundles(vec![line(1, "G60", 30.0, 120, 162.74)], bundle_limits()).unwrap();
    assert_eq!(bundles.len(), 5);
    for (n, bundle) in bundles.iter().enumerate() {
        assert_eq!(bundle["panels"], Value::Count(24));
        assert!((number(bundle, "weight_lb") - 3_905.7).abs() < 0.1);
        assert_eq!(bundle["mark"], Value::text(format!("1-{}", n + 1)));
        assert_eq!(bundle["of"], Value::Count(5));
        assert_eq!(bundle["contents_text"], Value::text("24 of 30'-0\""));
    }
}

/// 46,000 lb take 11 bundles of 3,905.7 lb: 264 panels, 42,963 lb.
#[test]
fn a_full_truck_is_eleven_bundles() {
    let bundles = bundles(vec![line(1, "G60", 30.0, 528, 162.74)], bundle_limits()).unwrap();
    let loads = loads(list(bundles), load_limits()).unwrap();
    assert_eq!(loads.len(), 2);
    for load in &loads {
        assert_eq!(load["bundle_count"], Value::Count(11));
        assert_eq!(load["panels"], Value::Count(264));
        assert!((number(load, "weight_lb") - 42_963.0).abs() < 1.0);
    }
}

/// By hand: rests of 4, 3, 2 and 1 panels of four lengths; three lengths go into one bundle, the
/// fourth makes its own, and the other finish never joins.
#[test]
fn up_to_three_lengths_longest_at_the_bottom() {
    let lines = vec![
        line(1, "G60", 10.0, 4, 60.0),
        line(1, "G60", 20.0, 3, 120.0),
        line(1, "G60", 30.0, 2, 180.0),
        line(1, "G60", 12.0, 1, 72.0),
        line(1, "G90", 30.0, 2, 180.0),
    ];
    let bundles = bundles(lines, bundle_limits()).unwrap();
    let texts: Vec<&str> =
        bundles.iter().map(|bundle| bundle["contents_text"].as_text().unwrap()).collect();
    assert_eq!(texts, ["2 of 30'-0\", 3 of 20'-0\", 4 of 10'-0\"", "1 of 12'-0\"", "2 of 30'-0\""]);
    assert_eq!(bundles[2]["finish"], Value::text("G90"));
}

/// A bundle names each mark in it once, bottom first.
#[test]
fn bundles_name_the_marks_of_their_panels() {
    let marked = |mark: &str, feet, count| {
        let mut line = (*line(1, "G60", feet, count, 60.0)).clone();
        line.insert(Arc::from("mark"), Value::text(mark));
        Arc::new(line)
    };
    let lines = vec![marked("D1-2", 10.0, 4), marked("D1-1", 20.0, 3), marked("D1-2", 10.0, 2)];
    let bundles = bundles(lines, bundle_limits()).unwrap();
    let marks: Vec<_> = bundles.iter().map(|bundle| bundle["marks_text"].clone()).collect();
    assert_eq!(marks, [Value::text("D1-1, D1-2")]);
    assert_eq!(bundles[0]["contents_text"], Value::text("3 D1-1 of 20'-0\", 6 D1-2 of 10'-0\""));
}

/// Marks that are kept apart leave the bundle its own.
#[test]
fn a_bundle_of_one_mark_keeps_its_own() {
    let line = |mark: &str| {
        let mut line = (*line(1, "G60", 10.0, 2, 60.0)).clone();
        line.insert(Arc::from("mark"), Value::text(mark));
        Arc::new(line)
    };
    let mut limits = (*bundle_limits()).clone();
    limits.insert(Arc::from("apart"), Value::List(vec![Value::text("mark")].into()));
    let bundles = bundles(vec![line("D1-1"), line("D1-2")], Arc::new(limits)).unwrap();
    let marks: Vec<_> = bundles.iter().map(|bundle| bundle["mark"].clone()).collect();
    assert_eq!(marks, [Value::text("1-1"), Value::text("1-2")]);
}

/// By hand: lift with 100 lb of packaging within 4,000 lb is 23 panels of 162.74 lb (3,743 lb); a
/// crane of 2,000 lb takes 11 (1,790 + 100 lb); panels 2 in high nesting at 0.5 in within 7 in are
/// 11.
#[test]
fn packaging_crane_and_height_limit_a_bundle() {
    let first = |line: Arc<Record>, limits: Arc<Record>| {
        bundles(vec![line], limits).unwrap()[0]["panels"].clone()
    };
    let with = |line: Arc<Record>, name: &str, value: f64| {
        let mut line = (*line).clone();
        line.insert(Arc::from(name), Value::Number(value));
        Arc::new(line)
    };
    let plain = line(1, "G60", 30.0, 100, 162.74);
    let packed = with(bundle_limits(), "packaging_lb", 100.0);
    assert_eq!(first(plain.clone(), packed.clone()), Value::Count(23));
    assert_eq!(first(with(plain.clone(), "crane_lb", 2_000.0), packed), Value::Count(11));
    let nested = with(with(plain, "depth_in", 2.0), "nest_in", 0.5);
    assert_eq!(first(nested, with(bundle_limits(), "most_height_in", 7.0)), Value::Count(11));
}

/// By hand: a day's two sequences share the truck between them, the next day's does not.
#[test]
fn sequences_go_out_in_order() {
    let at = |sequence: i64, day: i8| {
        let mut line = (*line(sequence, "G60", 30.0, 240, 162.74)).clone();
        let date = jiff::civil::date(2026, 3, day);
        line.insert(Arc::from("on_site"), Value::Date(date));
        Arc::new(line)
    };
    let lines = vec![at(1, 9), at(2, 9), at(3, 2)];
    let bundles = bundles(lines, bundle_limits()).unwrap();
    let loads = loads(list(bundles), load_limits()).unwrap();
    let sequences: Vec<String> = loads.iter().map(|load| load["sequences"].to_string()).collect();
    assert_eq!(sequences, ["[3]", "[1, 2]", "[2]"]);
    let counts: Vec<&Value> = loads.iter().map(|load| &load["bundle_count"]).collect();
    assert_eq!(counts, [&Value::Count(10), &Value::Count(11), &Value::Count(9)]);
}

#[test]
fn a_panel_or_bundle_over_the_limit_is_said() {
    let bundles = bundles(vec![line(1, "G60", 60.0, 2, 4_100.0)], bundle_limits()).unwrap();
    assert_eq!(bundles.len(), 2);
    assert!(bundles.iter().all(|bundle| bundle["over"] == Value::Bool(true)));
    let loads = loads(list(bundles), load_limits()).unwrap();
    assert_eq!(loads.len(), 2);
    assert!(loads.iter().all(|load| load["over"] == Value::Bool(true)));
}

#[test]
fn refusals() {
    let text = |line: Arc<Record>| bundles(vec![line], bundle_limits()).unwrap_err().to_string();
    assert_eq!(
        text(line(1, "G60", 30.0, -1, 162.74)),
        "`lines[0].count` is -1, wanted a count of 0 or more"
    );
    assert_eq!(
        text(line(1, "G60", 30.0, 1, 0.0)),
        "`lines[0].panel_lb` is 0, wanted a weight above 0 lb"
    );
    assert_eq!(
        text(line(1, "G60", 30.0, 1_000_000_000, 162.74)),
        "`lines[0].count` is 1000000000, wanted lines that make at most 200000 bundles"
    );
    assert_eq!(
        loads(Vec::new(), record(&[("payload_lb", Value::Number(1.0))])).unwrap_err().to_string(),
        "`limits.deck_length_ft` is missing, wanted a length above 0 ft"
    );
}

fn lines() -> impl Strategy<Value = Vec<BundleLine>> {
    let one = (0_usize..3, 24_i64..160, 0_i64..90, 1.0..6.0_f64).prop_map(
        |(kind, quarters, count, lb_ft)| {
            let length = ft(0, 3) * quarters;
            BundleLine {
                kind,
                length,
                count,
                panel_lb: lb_ft * length.in_feet(),
                crane_lb: None,
                depth: ft(0, 2),
                nest: Length::sixty_fourths(16),
            }
        },
    );
    prop::collection::vec(one, 0..20)
}

fn check_bundles(lines: &[BundleLine], limits: &BundleLimits, bundles: &[Bundle]) {
    let mut counts = vec![0; lines.len()];
    for bundle in bundles {
        let mut lengths = Vec::new();
        for (index, count) in &bundle.contents {
            assert_eq!(lines[*index].kind, bundle.kind);
            counts[*index] += count;
            lengths.push(lines[*index].length);
        }
        assert!(lengths.is_sorted_by(|below, above| below >= above));
        assert_eq!(lengths[0], bundle.length);
        lengths.dedup();
        assert!(lengths.len() <= limits.most_lengths);
        assert_eq!(bundle.panels, bundle.contents.iter().map(|(_, count)| count).sum::<i64>());
        assert!(bundle.over || bundle.lift_lb <= limits.most_lb + 1e-6);
        assert!(bundle.over || bundle.height <= limits.most_height.unwrap());
        assert!(bundle.panels <= limits.most_panels.unwrap());
        assert!(!bundle.over || bundle.panels == 1);
    }
    assert_eq!(counts, lines.iter().map(|line| line.count).collect::<Vec<_>>());
}

proptest! {
    #[test]
    fn every_panel_once_and_nothing_over(
        lines in lines(),
        most_lb in 150.0..5_000.0_f64,
        most_panels in 1_i64..40,
        payload_lb in 3_000.0..46_000.0_f64,
        deck_feet in 30_i64..53,
        stack in 1_i64..6,
    ) {
        let limits = BundleLimits {
            most_lb,
            packaging_lb: 40.0,
            most_panels: Some(most_panels),
            most_height: Some(ft(0, 10)),
            most_lengths: 3,
        };
        let bundles = bundle(&lines, &limits).unwrap();
        check_bundles(&lines, &limits, &bundles);

        let cargo: Vec<Cargo> = bundles
            .iter()
            .map(|bundle| Cargo {
                day: bundle.kind / 2,
                sequence: bundle.kind,
                length: bundle.length,
                width: ft(3, 0),
                height: bundle.height,
                gross_lb: bundle.lift_lb,
            })
            .collect();
        let limits = LoadLimits {
            payload_lb,
            least_lb: 2_000.0,
            deck_length: ft(deck_feet, 0),
            rows: None,
            deck_width: Some(ft(8, 6)),
            stack,
            stack_height: Some(ft(8, 0)),
            sequences_apart: false,
        };
        let loads = load(&cargo, &limits);
        let mut seen = vec![0; cargo.len()];
        for load in &loads {
            let gross: f64 = load.places.iter().map(|(index, ..)| cargo[*index].gross_lb).sum();
            prop_assert!((gross - load.gross_lb).abs() < 1e-6);
            prop_assert!(load.over == (gross > payload_lb || load.length > limits.deck_length));
            prop_assert!(!load.over || load.places.len() == 1);
            prop_assert_eq!(load.under_least, gross < 2_000.0);
            let mut lanes = std::collections::BTreeMap::new();
            for (index, row, layer) in &load.places {
                seen[*index] += 1;
                prop_assert!(*row < 2 && *layer < stack);
                prop_assert_eq!(cargo[*index].day, cargo[load.places[0].0].day);
                *lanes.entry((*row, *layer)).or_insert(Length::ZERO) += cargo[*index].length;
            }
            prop_assert!(load.over || lanes.values().all(|used| *used <= limits.deck_length));
            // Nothing hangs over the end of what is below it.
            for ((row, layer), used) in &lanes {
                let below = lanes.get(&(*row, layer - 1));
                prop_assert!(below.map_or(*layer == 0, |below| used <= below));
            }
        }
        prop_assert!(seen.iter().all(|times| *times == 1));
        let needed: Vec<(usize, usize)> = loads
            .iter()
            .flat_map(|load| {
                let of = |(index, ..): &(usize, i64, i64)| (cargo[*index].day, cargo[*index].sequence);
                [load.places.iter().map(of).min().unwrap(), load.places.iter().map(of).max().unwrap()]
            })
            .collect();
        prop_assert!(needed.is_sorted());
    }
}
