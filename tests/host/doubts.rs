//! What a shop's scripts most likely do not mean is asked about where they stand.

use crate::support::report::{report_with, said, shop};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

fn job() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "D1", "3@10'", "30'"])
        .row(["2", "B", "RD1", "3@6'", "30'"])
}

fn told(files: &[(&str, &str)], code: &str) -> Vec<String> {
    said(&report_with(&job(), Some(&shop(files))), code)
}

/// Text is never a number: such a rule has no effect, and nothing else says so.
#[test]
fn text_compared_with_a_number() {
    for (test, field) in [
        ("bay.gauge <= 20", "gauge"),
        ("20 >= bay.gauge", "gauge"),
        ("bay.gauge == 20", "gauge"),
        ("bay[\"gauge\"] == 20", "gauge"),
        ("bay.level in [2, 3]", "level"),
        ("bay.deck.grade == 40", "grade"),
        ("bay.slab_in == \"6 1/4\"", "slab_in"),
        ("bay.copies == \"2\"", "copies"),
    ] {
        let rule = format!("fn longest_panel_ft(bay) {{ if {test} {{ 20 }} else {{ 40 }} }}\n");
        let found = told(&[("rules.rhai", &rule)], "text-beside-number");
        assert_eq!(found.len(), 1, "{test}: {found:?}");
        assert!(found[0].starts_with("rules.rhai:1:") && found[0].contains("warning"), "{found:?}");
        assert!(found[0].contains(&format!("`{field}` is ")), "{test}: {found:?}");
    }
    for test in [
        "bay.gauge == \"20\"",
        "parse_int(bay.gauge) <= 20",
        "bay.level in [\"2\"]",
        "bay.slab_in == ()",
        "bay.slab_in > 5",
        "bay.sequence == \"\"",
        "bay.length_ft == bay.width_ft",
    ] {
        let rule = format!("fn longest_panel_ft(bay) {{ if {test} {{ 20 }} else {{ 40 }} }}\n");
        assert_eq!(told(&[("rules.rhai", &rule)], "text-beside-number"), [""; 0], "{test}");
    }
}

#[test]
fn a_function_nearly_named_as_a_rule() {
    let found = told(&[("rules.rhai", "fn concrete_wast(bay) { 0.5 }\n")], "rule-of-no-use");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("did you mean `concrete_waste`?"), "{found:?}");
    // One that is called, and one that is like no rule.
    let own = "fn concrete_wast(bay) { 0.5 }\nfn concrete_waste(bay) { concrete_wast(bay) }\nfn hours(x) { x }\n";
    assert_eq!(told(&[("rules.rhai", own)], "rule-of-no-use"), [""; 0]);
}

/// A replaced column is totalled and hidden as the one it replaces.
#[test]
fn a_replaced_column_keeps_its_total() {
    let shop = shop(&[("takeoff.rhai", "column(\"deck_lb\", \"Deck\", \"lb\", |bay| 100.0);\n")]);
    let report = report_with(&job(), Some(&shop));
    let takeoff = report.table("takeoff").unwrap();
    let at = takeoff.column("deck_lb").unwrap();
    assert!(takeoff.columns[at].total);
}
