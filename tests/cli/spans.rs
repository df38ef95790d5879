//! `reference spans`: the longest unshored spans of the bundled composite profiles.

use std::collections::BTreeMap;

use crate::support::program::Desk;
use crate::support::schedule_builder::schedule;

/// Every bundled composite profile, four gauges, slabs of 3 1/2 to 7 1/2 in with 2 in over the deck,
/// both mixes; a heavier gauge spans farther, a thicker slab and a heavier mix less far; each line is
/// what the rules give a schedule.
#[test]
fn monotone_in_gauge_slab_and_mix() {
    let desk = Desk::new();
    let told = desk.run("reference spans --json").json();
    let lines = told["spans"].as_array().unwrap();
    let mut spans: BTreeMap<(String, String, u32, u32), Vec<f64>> = BTreeMap::new();
    for line in lines {
        let text = |key: &str| line[key].as_str().unwrap().to_owned();
        let slab_in = line["slab_in"].as_f64().unwrap();
        let halves = (7..=15_u32).find(|halves| f64::from(*halves) / 2.0 == slab_in).unwrap();
        let gauge: u32 = text("gauge").parse().unwrap();
        let of = line["spans_ft"].as_array().unwrap();
        let of = of.iter().map(|span| span.as_f64().unwrap()).collect();
        assert!(spans.insert((text("profile"), text("mix"), halves, gauge), of).is_none());
    }
    let profiles: Vec<&str> = {
        let mut names: Vec<&str> = spans.keys().map(|(profile, ..)| profile.as_str()).collect();
        names.dedup();
        names
    };
    assert_eq!(profiles, ["1.5x12", "1.5x6", "1.5x6 inverted", "2x12", "3x12", "4.5x12"]);
    // By hand: 9 slabs on 1 1/2 in deck, 8 on 2 in, 6 on 3 in (from 5), 3 on 4 1/2 in (from 6 1/2).
    assert_eq!(spans.len(), (3 * 9 + 8 + 6 + 3) * 2 * 4);
    let mut compared = 0;
    for ((profile, mix, halves, gauge), of) in &spans {
        assert!(of.iter().all(|span| *span > 2.0), "{profile} {of:?}");
        let key = |halves, gauge| (profile.clone(), mix.clone(), halves, gauge);
        if let Some(thicker) = spans.get(&key(halves + 1, *gauge)) {
            assert!(of.iter().zip(thicker).all(|(a, b)| a + 1e-9 >= *b), "{profile} {halves}");
            compared += 1;
        }
        if let Some(heavier) = spans.get(&key(*halves, gauge - 2)) {
            assert!(of.iter().zip(heavier).all(|(a, b)| a < b), "{profile} {gauge} {halves}");
            compared += 1;
        }
        if mix == "LW 110" {
            let normal = &spans[&(profile.clone(), "NW 145".to_owned(), *halves, *gauge)];
            assert!(of.iter().zip(normal).all(|(light, normal)| light + 1e-9 >= *normal));
            compared += 1;
        }
    }
    // Slabs (3 x 8 + 7 + 5 + 2) x 8, gauges 44 x 2 x 3, mixes 44 x 4.
    assert_eq!(compared, 38 * 8 + 264 + 176);
}

/// What is printed: the caution, a block a profile and mix; a shop's own unshored spans stand first.
#[test]
fn as_printed() {
    let desk = Desk::new();
    let printed = desk.run("reference spans");
    assert_eq!(printed.code, Some(0), "{}", printed.err);
    let mut lines = printed.out.lines();
    assert_eq!(
        lines.next(),
        Some("Longest unshored spans, ft, grade SS 40: one, two and three equal spans")
    );
    assert_eq!(
        lines.next(),
        Some(
            "Where deck carries wet concrete and a crew without shores by the limits that the rules \
             state; from generic shapes unless the catalogue gives published properties. It is no \
             design and approves nothing: the supplier's published spans take precedence, and the \
             engineer of record is asked before deck is ordered, erected or poured on."
        )
    );
    let row = |printed: &str| -> String {
        let from = printed.find("\n2x12, NW 145\n").unwrap();
        let block = &printed[from + 1..];
        block.lines().find(|line| line.trim_start().starts_with("4.0 in")).unwrap().to_owned()
    };
    assert_eq!(row(&printed.out).split_whitespace().count(), 2 + 4 * 3);
    desk.shop(
        "rules.rhai",
        "fn longest_unshored_ft(bay, spans) { if bay.profile == \"2x12\" { 7 + spans } else { 5 } }\n",
    );
    let own = desk.run("reference spans --shop shop").out;
    assert_eq!(
        row(&own).split_whitespace().collect::<Vec<_>>().join(" "),
        "4.0 in 8.00 9.00 10.00 8.00 9.00 10.00 8.00 9.00 10.00 8.00 9.00 10.00"
    );
}

/// A supplier's table made for one yield stress is not used for deck of less.
#[test]
fn a_suppliers_spans_are_of_a_grade() {
    let desk = Desk::new();
    desk.shop("rules.rhai", "fn most_spans(bay) { 6 }\n");
    desk.write(
        "shop/catalogue.toml",
        "[[profile]]\ndepth_in = 3\npitch_in = 12\n\
         [[profile.unshored]]\ngauge = \"20\"\nfy_ksi = 50\nslab_in = 6.25\nunit_weight_pcf = 110\n\
         spans = 3\nspan_ft = 12.5\n",
    );
    let mut made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"]);
    for grade in ["SS 50", "SS 33"] {
        made = made.row([grade, "composite", "3x12", "36", "20", grade, "G60", "6 1/4", "LW 110"]);
    }
    made = made
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "SS 50", "3@10'", "30'"])
        .row(["2", "B", "SS 33", "3@10'", "30'"]);
    desk.put("schedule.xlsx", &made);
    let run = desk.run("run schedule.xlsx -o out.xlsx --shop shop --json");
    assert_eq!(run.code, Some(0), "{} {}", run.err, run.out);
    let json = run.json();
    let tables = json["tables"].as_array().unwrap();
    let spans = tables.iter().find(|table| table["key"] == "spans").unwrap();
    let longest = |row: usize| spans["rows"][row]["three_ft"].as_f64().unwrap();
    assert_eq!(longest(0), 12.5);
    assert!(longest(1) < 10.0, "{}", longest(1));
}
