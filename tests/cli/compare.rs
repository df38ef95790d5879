//! Two revisions through the program: schedules, their takeoffs, one of each.

use crate::support::program::{Desk, Outcome};
use crate::support::schedule_builder::{Schedule, schedule};

fn job(bays: &[[&str; 6]]) -> Schedule {
    let mut made = schedule()
        .sheet("Job")
        .row(["Key", "Value"])
        .row(["Job", "Revised (invented)"])
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .row(["RD1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none", ""])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"]);
    for bay in bays {
        made = made.row(*bay);
    }
    made
}

/// Old: A1 is 42 panels of 30 ft (124 ft at 36 in), A2 and R1 stay or go. New: A1 is 120 ft wide,
/// 40 panels; R1 is gone; A3 comes.
fn revised() -> Desk {
    let desk = Desk::new();
    let a2 = ["2", "A2", "D1", "2@10'-0\"", "60'", "P1"];
    desk.put(
        "old.xlsx",
        &job(&[
            ["2", "A1", "D1", "3@10'-0\"", "4@31'-0\"", "P1"],
            a2,
            ["Roof", "R1", "RD1", "2@6'-0\"", "30'", ""],
        ]),
    );
    desk.put(
        "new.xlsx",
        &job(&[
            ["2", "A1", "D1", "3@10'-0\"", "120'", "P1"],
            a2,
            ["2", "A3", "D1", "3@9'-0\"", "30'", "P2"],
        ]),
    );
    for side in ["old", "new"] {
        let run = desk.run(&format!("run {side}.xlsx -o {side}-takeoff.xlsx --quiet"));
        assert_eq!(run.code, Some(0), "{run:?}");
    }
    desk
}

/// What must be found however the two are given.
#[track_caller]
fn is_the_revision(outcome: &Outcome) {
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    let json = outcome.json();
    let tables: Vec<&serde_json::Value> = json["tables"].as_array().unwrap().iter().collect();
    let keys: Vec<&str> = tables.iter().map(|table| table["key"].as_str().unwrap()).collect();
    assert_eq!(keys, ["order", "takeoff", "pours", "accessories"]);

    let order = tables[0];
    let lines = order["lines"].as_array().unwrap();
    let whats: Vec<&str> = lines.iter().map(|line| line["what"].as_str().unwrap()).collect();
    assert_eq!(whats, ["changed", "added", "removed"], "{order:#}");
    assert_eq!(lines[0]["key"]["length_ft"], 30.0);
    assert_eq!(lines[0]["figures"]["count"]["by"].as_f64(), Some(-2.0));
    assert_eq!(lines[0]["figures"]["lineal_ft"]["by"].as_f64(), Some(-60.0));
    assert_eq!(lines[1]["key"]["length_ft"], 27.0);
    assert_eq!(lines[1]["figures"]["count"]["new"].as_f64(), Some(10.0));
    // 30 ft at 36 in cover: 10 panels of 12 ft.
    assert_eq!(lines[2]["figures"]["lineal_ft"]["by"].as_f64(), Some(-120.0));
    assert_eq!(order["same"], 1);

    let bays: Vec<(&str, &str)> = tables[1]["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| (line["what"].as_str().unwrap(), line["key"]["bay"].as_str().unwrap()))
        .collect();
    assert_eq!(bays, [("changed", "A1"), ("added", "A3"), ("removed", "R1")]);
    assert_eq!(tables[1]["same"], 1);

    let pours: Vec<(&str, &str)> = tables[2]["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| (line["what"].as_str().unwrap(), line["key"]["pour"].as_str().unwrap()))
        .collect();
    assert_eq!(pours, [("changed", "P1"), ("added", "P2")]);
}

#[test]
fn schedules_and_takeoffs_give_the_same_differences() {
    let desk = revised();
    is_the_revision(&desk.run("compare old.xlsx new.xlsx --json"));
    is_the_revision(&desk.run("compare old-takeoff.xlsx new-takeoff.xlsx --json"));
    is_the_revision(&desk.run("compare old-takeoff.xlsx new.xlsx --json"));
    is_the_revision(&desk.run("compare old.xlsx new-takeoff.xlsx --json"));
}

#[test]
fn a_takeoff_is_its_schedule() {
    let desk = revised();
    let outcome = desk.run("compare old.xlsx old-takeoff.xlsx");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    assert_eq!(outcome.out.matches("nothing changed").count(), 4, "{}", outcome.out);
}

/// Takeoffs of one schedule under two rules: that the rules differ is said before what differs by them.
#[test]
fn takeoffs_by_other_rules() {
    let desk = revised();
    desk.write("shop/shop.toml", "name = \"Own\"\nwritten_for = \"1.0\"\n");
    desk.write("shop/rules.rhai", "fn concrete_waste(bay) { 0.08 }\n");
    let run = desk.run("run old.xlsx --shop shop -o shop-takeoff.xlsx --quiet");
    assert_eq!(run.code, Some(0), "{run:?}");
    let outcome = desk.run("compare old-takeoff.xlsx shop-takeoff.xlsx");
    assert!(
        outcome.err.contains(
            "warning[rules-differ]: the two were not computed by the same rules: rule `concrete_waste(bay)`\n"
        ),
        "{outcome:?}"
    );
    let same = desk.run("compare old-takeoff.xlsx new.xlsx");
    assert!(!same.err.contains("rules-differ"), "{same:?}");
}

#[test]
fn as_text_and_as_a_workbook() {
    let desk = revised();
    let outcome = desk.run("compare old.xlsx new.xlsx -o changes.xlsx");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""), "{outcome:?}");
    assert!(
        outcome.out.starts_with(
            "Order: 1 added, 1 removed, 1 changed, 1 the same\n  ~ 2 D1 3x12 composite 36 in 20 SS 40 G60 30 ft: \
             To order 42 -> 40 (-2), Lineal feet 1,260.0 -> 1,200.0 ft (-60.0), "
        ),
        "{}",
        outcome.out
    );
    assert!(outcome.out.ends_with("wrote changes.xlsx\n"), "{}", outcome.out);
    assert!(desk.read("changes.xlsx").starts_with(b"PK"));
    let again = desk.run("compare old.xlsx new.xlsx -o changes2.xlsx");
    assert_eq!(again.code, Some(0));
    assert!(desk.read("changes.xlsx") == desk.read("changes2.xlsx"), "the same bytes");
}

#[test]
fn the_two_are_never_written_over() {
    let desk = revised();
    let before = desk.read("old-takeoff.xlsx");
    desk.run("compare old-takeoff.xlsx new.xlsx -o old-takeoff.xlsx").says(
        2,
        "old-takeoff.xlsx: error[not-written]: `old-takeoff.xlsx` was not written: it is a file that \
         this run reads\n  hint: name another output",
    );
    assert!(desk.read("old-takeoff.xlsx") == before);
}

#[test]
fn by_columns_of_ones_own() {
    let desk = revised();
    let outcome = desk.run("compare old.xlsx new.xlsx --by panels=type");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    assert!(outcome.out.contains("  ~ D1: Panels 62 -> 70 (+8), "), "{}", outcome.out);
    assert!(outcome.out.contains("  - RD1: Panels -10, "), "{}", outcome.out);
    // What is no total is compared as it stands.
    let outcome = desk.run("compare old.xlsx new.xlsx --by summary=figure");
    assert!(outcome.out.contains("  ~ Panels: Value 72 -> 70\n"), "{}", outcome.out);
    let outcome = desk.run("compare old.xlsx new.xlsx --by panel=type");
    assert_eq!(outcome.code, Some(2));
    assert!(outcome.err.starts_with("error[no-table]: there is no table `panel`\n"), "{outcome:?}");
    assert_eq!(desk.run("compare old.xlsx new.xlsx --by panels").code, Some(2));
}

#[test]
fn an_incomplete_takeoff_is_said_so() {
    let desk = revised();
    desk.put(
        "bad.xlsx",
        &job(&[["2", "A1", "D1", "3@10'-0\"", "124'", "P1"], ["2", "A2", "D1", "x", "9'", ""]]),
    );
    assert_eq!(desk.run("run bad.xlsx -o bad-takeoff.xlsx --quiet").code, Some(1));
    let outcome = desk.run("compare old.xlsx bad-takeoff.xlsx");
    assert_eq!(outcome.code, Some(1), "{outcome:?}");
    assert!(
        outcome.err.starts_with(
            "bad-takeoff.xlsx: error[incomplete]: the takeoff states that it is incomplete: "
        ),
        "{}",
        outcome.err
    );
}

/// A mark that stands for another length than before is said: panels are made and drawn by it.
#[test]
fn marks_that_changed_hands() {
    let desk = Desk::new();
    let a2 = ["2", "A2", "D1", "2@10'-0\"", "60'", "P1"];
    desk.put("old.xlsx", &job(&[["2", "A1", "D1", "3@10'-0\"", "31'", "P1"], a2]));
    desk.put("new.xlsx", &job(&[["2", "A1", "D1", "3@9'-0\"", "31'", "P1"], a2]));
    let said = "warning[mark-moved]: marks of the order changed hands: `D1-1` was D1 30'-0\", is D1 \
                27'-0\"\n";
    let outcome = desk.run("compare old.xlsx new.xlsx");
    assert!(outcome.code == Some(0) && outcome.err.contains(said), "{outcome:?}");
    let outcome = desk.run("compare old.xlsx old.xlsx");
    assert!(!outcome.err.contains("mark-moved"), "{outcome:?}");
}
