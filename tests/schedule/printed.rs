//! Keys of the Job sheet that no rule reads, and its number.

use crate::support::report::{report, report_with, shop, texts};
use crate::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::table::Report;

fn with_job(rows: &[[&str; 2]]) -> Schedule {
    let made = rows.iter().fold(schedule().sheet("Job"), |made, row| made.row(*row));
    with_types(made)
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "31'"])
}

fn asked(report: &Report) -> Vec<String> {
    let of = report.findings.iter().filter(|finding| &*finding.code == "rule-on-job");
    texts(&of.cloned().collect::<Vec<_>>())
}

#[test]
fn keys_that_look_like_rules() {
    for (key, value, hint) in [
        ("Waste", "12%", "the rule is `concrete_waste`"),
        ("Concrete waste", "0.15", "the rule is `concrete_waste`"),
        ("Deck waste %", "10", "a rule for its waste is the shop's to write"),
        ("Lap", "2\"", "the rule is `end_lap_in`"),
        ("Bundle", "3000 lb", "`bundle_lb`"),
        ("Truck payload", "44000", "the rule is `truck_payload_lb`"),
        ("Crane", "5000", "it is Crane limit on the sheet Sequences"),
        ("Pour stop by", "others", "state it under Supplied by on Edges"),
        ("truck_yd3", "9", "`truck_yd3` is a rule: state it on the sheet Rules"),
    ] {
        let found = asked(&report(&with_job(&[[key, value]])));
        assert_eq!(found.len(), 1, "{key}");
        let begin = format!(
            "Job!B1: warning[rule-on-job]: `{key}` on Job is printed, and no rule reads it\n  hint: "
        );
        assert!(found[0].starts_with(&begin) && found[0].contains(hint), "{found:?}");
    }
    for (key, value) in [("Bid due", "4/1/27"), ("Truck access", "gate B"), ("Overlap", "2")] {
        assert_eq!(asked(&report(&with_job(&[[key, value]]))), [""; 0], "{key}");
    }
}

/// Every rule that a hint names is one.
#[test]
fn rules_that_hints_name() {
    let rules = include_str!("../../scripts/rules.rhai");
    for key in [
        "Mesh waste",
        "Waste",
        "Lap",
        "Bearing",
        "Rounding",
        "Bundle",
        "Truck",
        "Max length",
        "Tax",
    ] {
        let found = asked(&report(&with_job(&[[key, "2"]])));
        let names: Vec<&str> = found[0].split('`').skip(3).step_by(2).collect();
        assert!(!names.is_empty(), "{found:?}");
        for name in names {
            assert!(rules.contains(&format!("fn {name}(")), "{key}: {name}");
        }
    }
}

/// What a shop's script reads is no key that nothing follows.
#[test]
fn keys_that_a_shop_reads() {
    let made = with_job(&[["Deck waste", "10"]]);
    let script =
        "column(\"deck_waste\", \"Waste\", \"count\", |bay, job| job.value(\"Deck waste\"));";
    let other = "fn waste_key() { \"Deck waste\" }";
    for text in [other, script] {
        let own = shop(&[("takeoff.rhai", text)]);
        assert_eq!(asked(&report_with(&made, Some(&own))), [""; 0], "{text}");
    }
}

/// `#` is a number.
#[test]
fn the_number_of_the_job() {
    for key in ["Job #", "Project #", "Job no."] {
        let made = with_job(&[[key, "4711"], ["Project", "Invented Hall"]]);
        let job = made.job();
        let of = |key: &str| job.head_value(key).as_text().map(str::to_owned);
        assert_eq!(of("number").as_deref(), Some("4711"), "{key}");
        assert_eq!(of("job").as_deref(), Some("Invented Hall"), "{key}");
        assert_eq!(made.findings(), [""; 0], "{key}");
    }
}
