//! `batch` through the program.

use super::{ended, summary};
use crate::support::program::{Desk, generated};
use crate::support::schedule_builder::{schedule, with_bays_apart, with_types};

/// Five schedules in folders, one of them no workbook.
fn jobs() -> Desk {
    let desk = Desk::new();
    for (seed, name) in (0..).zip(["a.xlsx", "north/s.xlsx", "south/s.xlsx", "z.xlsx"]) {
        desk.write(&format!("jobs/{name}"), generated(6 + seed, seed).bytes());
    }
    desk.write("jobs/b.xlsx", "no workbook");
    desk
}

/// A worker loads scripts once for schedules with the same and goes on with what it made of them; one
/// with rules, or with headings, of its own between them is computed by those.
#[test]
fn each_schedule_is_computed_as_if_alone() {
    let desk = Desk::new();
    let names = ["a", "b", "c", "d", "e", "f"];
    for (seed, name) in names.iter().enumerate() {
        let mut made = generated(40, seed);
        if *name == "b" {
            made = made.sheet("Rules").row(["Rule", "Expression"]).row(["bundle_lb", "2000"]);
        }
        if *name == "d" {
            made = with_types(schedule())
                .sheet("Bays")
                .row(["Level", "Bay", "Type", "Spans", "Width", "Crew"]);
            for bay in 0..40 {
                let spans = format!("{}@10'", 1 + bay % 3);
                made = made.row(["2", &format!("B{bay}"), "D1", &spans, "30'", "north"]);
            }
            made = made
                .sheet("Columns")
                .row(["Table", "Key", "Heading", "Unit", "Expression"])
                .row(["takeoff", "crew_key", "Crew", "text", "row[\"Crew\"] + \"!\""]);
        }
        desk.write(&format!("jobs/{name}.xlsx"), made.bytes());
    }
    ended(&desk.run("batch jobs -o out --threads 1"), 0);
    for name in names {
        ended(&desk.run(&format!("run jobs/{name}.xlsx -o alone.xlsx --replace")), 0);
        assert!(
            desk.read(&format!("out/{name}-takeoff.xlsx")) == desk.read("alone.xlsx"),
            "{name}"
        );
    }
    let bundles = |name: &str| {
        let run = desk.run(&format!("run jobs/{name}.xlsx -o alone.xlsx --json --replace"));
        let tables = run.json()["tables"].as_array().unwrap().clone();
        tables.into_iter().find(|table| table["key"] == "bundles").unwrap()["rows"].clone()
    };
    let mut without = generated(40, 1);
    without = without.sheet("Rules").row(["Rule", "Expression"]).row(["bundle_lb", "4000"]);
    desk.write("jobs/g.xlsx", without.bytes());
    assert_ne!(bundles("b"), bundles("g"));
}

/// A batch adds up the base bid, as each Summary has it: what is on hold and of an alternate stands apart.
#[test]
fn the_base_bid_is_added_up() {
    let desk = Desk::new();
    desk.write("jobs/a.xlsx", with_bays_apart().bytes());
    ended(&desk.run("batch jobs -o out"), 0);
    let summary = summary(&desk, "out");
    let row = &summary["files"][0];
    assert_eq!((row["bays"].as_f64(), row["panels"].as_f64()), (Some(1.0), Some(10.0)), "{row}");
    let pounds = row["deck_lb"].as_f64().unwrap();
    assert!((pounds - 10.0 * 179.92).abs() < 0.5, "{pounds}");
}

#[test]
fn each_schedule_gives_its_output_and_its_row() {
    let desk = jobs();
    let outcome = desk.run("batch jobs -o out --threads 2");
    ended(&outcome, 1);
    assert_eq!(outcome.err, "");
    let lines: Vec<&str> = outcome.out.lines().collect();
    assert_eq!(lines.len(), 7, "{}", outcome.out);
    assert_eq!(lines[5..], ["4 done, 1 failed", "wrote out/batch-summary.xlsx"]);
    let bad = lines.iter().find(|line| line.contains("jobs/b.xlsx")).unwrap();
    assert!(
        bad.contains("jobs/b.xlsx: failed: error[no-workbook]: `b.xlsx` is text, no workbook ("),
        "{bad}"
    );

    let summary = summary(&desk, "out");
    assert_eq!(summary["schema"], 1);
    let files = summary["files"].as_array().unwrap();
    let shown: Vec<(&str, &str, &str)> = files
        .iter()
        .map(|row| {
            let text = |key: &str| row[key].as_str().unwrap();
            (text("file"), text("output"), text("status"))
        })
        .collect();
    assert_eq!(
        shown,
        [
            ("jobs/a.xlsx", "a-takeoff.xlsx", "done"),
            ("jobs/b.xlsx", "b-takeoff.xlsx", "failed"),
            ("jobs/north/s.xlsx", "north-s-takeoff.xlsx", "done"),
            ("jobs/south/s.xlsx", "south-s-takeoff.xlsx", "done"),
            ("jobs/z.xlsx", "z-takeoff.xlsx", "done"),
        ]
    );
    // Each figure and each output is what `run` gives.
    let mut panels = 0;
    for row in files.iter().filter(|row| row["status"] == "done") {
        let file = row["file"].as_str().unwrap();
        let run = desk.run(&format!("run {file} -o alone.xlsx --json"));
        ended(&run, 0);
        let json = run.json();
        let tables = json["tables"].as_array().unwrap();
        let total = |table: &str, column: &str| {
            let table = tables.iter().find(|one| one["key"] == table).unwrap();
            table["totals"][column].as_f64().unwrap()
        };
        assert_eq!(row["panels"].as_f64().unwrap(), total("takeoff", "panels"), "{file}");
        assert_eq!(row["deck_lb"].as_f64().unwrap(), total("takeoff", "deck_lb"));
        assert_eq!(row["order_yd3"].as_f64().unwrap(), total("pours", "order_yd3"));
        let output = format!("out/{}", row["output"].as_str().unwrap());
        assert!(desk.read(&output) == desk.read("alone.xlsx"), "{output} differs from `run`");
        panels += row["panels"].as_i64().unwrap();
    }
    assert!(panels > 0);
    assert_eq!(summary["totals"]["panels"], panels);
    assert_eq!((&summary["totals"]["files"], &summary["totals"]["failed"]), (&5.into(), &1.into()));
    assert_eq!(summary["left"], 0);
}

#[test]
fn the_summary_is_the_same_on_any_number_of_workers() {
    let desk = jobs();
    ended(&desk.run("batch jobs -o one --threads 1 --quiet"), 1);
    ended(&desk.run("batch jobs -o three --threads 3 --quiet"), 1);
    for name in ["batch-summary.json", "batch-summary.xlsx", "z-takeoff.xlsx"] {
        assert!(desk.read(&format!("one/{name}")) == desk.read(&format!("three/{name}")), "{name}");
    }
    let json = desk.run("batch jobs -o four --json");
    ended(&json, 1);
    assert_eq!(json.json()["files"], summary(&desk, "one")["files"]);
    assert_eq!(json.json()["findings"][0]["code"], "schedule-failed");
}

#[test]
fn only_what_changed_is_computed_again() {
    let desk = jobs();
    std::fs::remove_file(desk.path("jobs/b.xlsx")).unwrap();
    desk.shop("rules.rhai", "");
    let again = "batch jobs -o out --shop shop --changed";
    let first = desk.run(again);
    ended(&first, 0);
    assert!(!first.out.contains("up to date"), "{}", first.out);
    let whole = desk.read("out/batch-summary.json");

    let up_to_date = |count: usize| format!("{count} of 4 schedules are up to date\n");
    let second = desk.run(again);
    assert_eq!(second.out, up_to_date(4) + "4 done\nwrote out/batch-summary.xlsx\n");
    assert!(desk.read("out/batch-summary.json") == whole, "the summary is the whole one");

    // A schedule changed, an output changed by hand, an output gone.
    desk.write("jobs/a.xlsx", generated(9, 9).bytes());
    ended(&desk.run(again), 0);
    desk.write("out/z-takeoff.xlsx", desk.read("out/a-takeoff.xlsx"));
    std::fs::remove_file(desk.path("out/north-s-takeoff.xlsx")).unwrap();
    let third = desk.run(again);
    assert!(third.out.starts_with(&up_to_date(2)), "{}", third.out);
    let totals = summary(&desk, "out")["totals"].clone();

    // A rule of the shop changed: all.
    desk.write("shop/rules.rhai", "fn concrete_waste(bay) { 0.09 }\n");
    let fourth = desk.run(again);
    ended(&fourth, 0);
    assert!(!fourth.out.contains("up to date"), "{}", fourth.out);
    let waste = summary(&desk, "out")["totals"].clone();
    assert_eq!(waste["panels"], totals["panels"]);
    assert!(waste["order_yd3"].as_f64() > totals["order_yd3"].as_f64());
}

#[test]
fn shards_merge_into_the_whole() {
    let desk = jobs();
    ended(&desk.run("batch jobs -o whole --quiet"), 1);
    for part in [2, 1, 3] {
        let outcome = desk.run(&format!("batch jobs -o parts --quiet --shard {part}/3"));
        // The bad one is the second of the list.
        ended(&outcome, i32::from(part == 2));
        if part == 1 {
            desk.run("batch --merge -o parts").says(
                2,
                "parts: error[not-merged]: the summaries of these parts are missing: 3-of-3",
            );
        }
    }
    let merge = desk.run("batch --merge -o parts");
    ended(&merge, 1);
    assert_eq!(merge.out, "4 done, 1 failed\nwrote parts/batch-summary.xlsx\n");
    for name in ["batch-summary.json", "batch-summary.xlsx", "south-s-takeoff.xlsx"] {
        assert!(
            desk.read(&format!("whole/{name}")) == desk.read(&format!("parts/{name}")),
            "{name}"
        );
    }
    // A part that ran goes on as the whole.
    let rest = desk.run("batch jobs -o parts --changed");
    assert!(rest.out.starts_with("4 of 5 schedules are up to date\n"), "{}", rest.out);
}

#[test]
fn nothing_to_do_is_said() {
    let desk = Desk::new();
    desk.write("jobs/notes.txt", "");
    desk.run("batch jobs -o out").says(
        2,
        "jobs: warning[no-schedules]: `jobs` names no schedules\nerror[no-schedules]: there is no \
         schedule to compute",
    );
    desk.run("batch jobs -o jobs").says(
        2,
        "jobs: warning[no-schedules]: `jobs` is the folder of outputs, in which no schedules are looked \
         for\nerror[no-schedules]: there is no schedule to compute",
    );
    desk.run("batch --merge -o out")
        .says(2, "out: error[not-merged]: there are no summaries of parts");
    assert_eq!(desk.run("batch -o out").code, Some(2));
    desk.write("file", "");
    let outcome = desk.run("batch jobs -o file");
    assert_eq!(outcome.code, Some(2));
    assert!(
        outcome.err.starts_with("file: error[not-written]: `file` was not written: "),
        "{outcome:?}"
    );
}

#[test]
fn an_earlier_takeoff_of_a_failed_schedule_is_said() {
    let desk = Desk::new();
    desk.write("jobs/a.xlsx", generated(4, 1).bytes());
    ended(&desk.run("batch jobs -o out --quiet"), 0);
    desk.write("jobs/a.xlsx", "no workbook");
    let outcome = desk.run("batch jobs -o out");
    // Nothing was done.
    ended(&outcome, 2);
    assert!(outcome.out.contains("; an earlier takeoff stands ("), "{}", outcome.out);
}

#[test]
fn a_shop_at_fault_is_said_once() {
    let desk = jobs();
    desk.shop("rules.rhai", "fn concrete_waste(bay) {");
    let outcome = desk.run("batch jobs -o out --shop shop");
    ended(&outcome, 2);
    assert_eq!(outcome.err.matches("error[").count(), 1, "{}", outcome.err);
}
