//! `explain`: what it tells is what the run gives, down to the cells of the schedule.

use std::sync::Arc;

use baytally::rules::{self, Bounds, Explained, RunOptions};
use baytally::schedule::{self, ReadOptions};

use crate::support::program::{Desk, example};

/// The tree of every shown cell of every table of the example begins with the run's value.
#[test]
fn every_figure_is_explained_by_itself() {
    let (job, _) = schedule::read(&example(), &ReadOptions::default()).unwrap();
    let (job, scripts) = (Arc::new(job), Arc::new(rules::scripts(None).unwrap()));
    let report =
        rules::run(job.clone(), scripts.clone(), Vec::new(), RunOptions::default()).unwrap();
    let (mut cells, mut steps, mut wrong) = (0_usize, 0_usize, Vec::new());
    let told =
        rules::explain_each(&job, &scripts, Bounds::default(), |table, row, column, explained| {
            cells += 1;
            steps += count(explained);
            let Some(wanted) = report.table(&table.key) else { return };
            if *wanted.cell(row, column) != explained.value {
                wrong.push(format!(
                    "{} row {} {}: {} instead of {}",
                    table.key,
                    row + 1,
                    table.columns[column].key,
                    explained.value,
                    wanted.cell(row, column)
                ));
            }
        });
    told.unwrap();
    assert!(wrong.is_empty(), "{} of {cells}: {:#?}", wrong.len(), &wrong[..wrong.len().min(20)]);
    let shown: usize = report
        .tables
        .iter()
        .map(|table| table.rows * table.columns.iter().filter(|column| !column.hidden).count())
        .sum();
    assert!(cells >= shown && shown > 2_000, "{cells} told, {shown} shown");
    assert!(steps > 2 * cells, "{steps} steps for {cells} cells");
}

fn count(explained: &Explained) -> usize {
    1 + explained.below.iter().map(count).sum::<usize>()
}

fn desk() -> Desk {
    let desk = Desk::new();
    let small =
        crate::support::schedule_builder::with_types(crate::support::schedule_builder::schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Copies"])
            .row(["2", "A1", "D1", "3@10'-0\"", "30'", "2"])
            .row(["2", "A2", "D1", "2@10'", "15'", ""]);
    desk.put("schedule.xlsx", &small);
    desk.shop(
        "labour.rhai",
        "table(\"labour\", \"Labour\", |job| job.table(\"takeoff\"));\n\
         \n\
         column(\"bay\", \"Bay\", \"text\", |bay| bay.bay);\n\
         column(\"squares\", \"Squares\", \"squares\", |bay| bay.area_ft2 / 100).total();\n\
         column(\"hours\", \"Hours\", \"h\", |bay| bay.squares * hours_a_square(bay)).total();\n\
         column(\"so_far\", \"So far\", \"h\", |bay| bay.hours).running();\n",
    );
    desk.write(
        "shop/rules.rhai",
        "/// Hours a square.\nfn hours_a_square(bay) { if bay.gauge == \"20\" { 1.5 } else { 2 } }\n",
    );
    desk
}

/// A tree as printed: columns, a rule, fields with the cells they stand in, as typed.
#[test]
fn a_tree() {
    let outcome = desk().run("explain schedule.xlsx labour 2/A1 hours --shop shop");
    let out: Vec<&str> = outcome.out.lines().collect();
    // Bundled lines move; their numbers are left out here.
    let out: Vec<String> = out
        .iter()
        .map(|line| match line.split_once("takeoff.rhai:") {
            Some((before, _)) => format!("{before}takeoff.rhai]"),
            None => (*line).to_owned(),
        })
        .collect();
    assert_eq!(
        out.join("\n"),
        "labour row 1 (bay 2/A1) hours = 27 h  [labour.rhai:5]\n  \
           : bay.squares * hours_a_square(bay)\n  \
           squares = 18 squares  [labour.rhai:4]\n    \
             : bay.area_ft2 / 100\n    \
             takeoff row 1 (bay 2/A1) area_ft2 = 1800 ft2  [takeoff.rhai]\n      \
               : if bay.outline_ft == () { bay.length_ft * bay.width_ft * bay.copies } else { bay.plan.area_ft2 }\n      \
               outline_ft = blank  (nothing is stated)\n      \
               length_ft = 30 ft  [takeoff.rhai]\n        \
                 : bay.length_ft\n        \
                 length_ft = 30  [Bays!D2: 3@10'-0\"]\n      \
               width_ft = 30 ft  [takeoff.rhai]\n        \
                 : bay.width_ft\n        \
                 width_ft = 30  [Bays!E2: 30']\n      \
               copies = 2  [takeoff.rhai]\n        \
                 : bay.copies\n        \
                 copies = 2  [Bays!F2: 2]\n  \
           hours_a_square(bay 2/A1) = 1.5  [rules.rhai:2]\n    \
             : fn hours_a_square(bay) { if bay.gauge == \"20\" { 1.5 } else { 2 } }\n    \
             takeoff row 1 (bay 2/A1) gauge = \"20\"  [takeoff.rhai]\n      \
               : bay.gauge\n      \
               gauge = \"20\"  [Types!E2: 20]",
        "{}",
        outcome.err
    );
    assert_eq!(outcome.code, Some(0));
}

#[test]
fn a_built_in_with_what_it_was_given() {
    let outcome = desk().run("explain schedule.xlsx takeoff 1 average_in --shop shop");
    assert!(outcome.out.contains("  concrete::thickness_in = 4.75\n    . "), "{}", outcome.out);
}

#[test]
fn running_sums() {
    let outcome = desk().run("explain schedule.xlsx labour 2 so_far --shop shop");
    let first = outcome.out.lines().next().unwrap();
    assert_eq!(
        first,
        "labour row 2 (bay 2/A2) so_far = 31.5 h  [labour.rhai:6]  \
         (with the rows above added; this row gives 4.5)"
    );
}

#[test]
fn json() {
    let outcome = desk().run("explain schedule.xlsx labour 2/A1 hours --shop shop --json");
    let json = outcome.json();
    let explained = &json["explained"];
    assert_eq!(explained["kind"], "column");
    assert_eq!(explained["value"], 27.0);
    assert_eq!(explained["place"], "labour.rhai:5");
    let rule = &explained["below"][1];
    assert_eq!((&rule["kind"], &rule["value"]), (&"rule".into(), &1.5.into()));
    let gauge = &rule["below"][0]["below"][0];
    assert_eq!((&gauge["place"], &gauge["typed"]), (&"Types!E2".into(), &"20".into()));
}

#[test]
fn what_is_not_there() {
    let desk = desk();
    let says = |words: &str, err: &str| {
        let outcome = desk.run(&format!("explain schedule.xlsx {words} --shop shop"));
        assert_eq!((outcome.code, outcome.err.trim_end()), (Some(2), err));
    };
    says(
        "takeof 1 panels",
        "error[unknown-table]: there is no table `takeof`\n  hint: did you mean `takeoff`?",
    );
    says(
        "labour 1 hour",
        "error[unknown-column]: `labour` has no column `hour`\n  hint: did you mean `hours`?",
    );
    says("labour 7 hours", "error[unknown-row]: `labour` has 2 rows, there is no row 7");
    says(
        "labour 2/A7 hours",
        "error[unknown-row]: `labour` has no row `2/A7`\n  \
         hint: did you mean `2/A1` or `2/A2`?\n  \
         hint: a number from 1 to 2 names a row as well",
    );
    says(
        "labour D1 hours",
        "error[unknown-row]: `labour` has no row `D1`\n  \
         hint: it has `2/A1`, `2/A2`\n  hint: a number from 1 to 2 names a row as well",
    );
    says(
        "takeoff D1 panels",
        "error[several-rows]: `takeoff` has 2 rows `D1`\n  hint: name one by its number: 1, 2",
    );
}

/// A share is told as its column shows it: the utilisation of the example's own cell.
#[test]
fn a_share_in_hundredths() {
    let desk = desk();
    let share = |json: &serde_json::Value| json["explained"]["value"].as_f64();
    let outcome = desk.run("explain schedule.xlsx spans 1 used");
    let told = outcome.out.lines().next().unwrap_or_default().to_owned();
    let json = desk.run("explain schedule.xlsx spans 1 used --json").json();
    let share = share(&json).expect("a number");
    let (_, rest) = told.split_once("used = ").expect("the figure");
    let percent: f64 = rest.split(" %").next().unwrap().parse().unwrap();
    assert!((0.1..2.0).contains(&share) && (percent - share * 100.0).abs() < 1e-5, "{told}");
}

/// Outlines, openings and mixes are told by the cells they stand in.
#[test]
fn shapes_and_mixes() {
    let desk = Desk::new();
    let made =
        crate::support::schedule_builder::with_types(crate::support::schedule_builder::schedule())
            .sheet("Mixes")
            .row(["Mix", "Unit weight"])
            .row(["LW 110", "112"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Runs", "Spans", "Width"])
            .row(["2", "A", "D1", "E-W", "3@10'", "12'"])
            .row(["2", "B", "D1", "E-W", "3@10'", "30'"])
            .sheet("Outlines")
            .row(["Level", "Bay", "X", "Y"])
            .row(["2", "A", "0", "0"])
            .row(["2", "A", "30", "0"])
            .row(["2", "A", "18", "12"])
            .row(["2", "A", "0", "12"])
            .sheet("Openings")
            .row(["Level", "Bay", "X", "Y", "Length", "Width", "Framed"])
            .row(["2", "B", "3", "3", "4", "4", "yes"]);
    desk.put("schedule.xlsx", &made);
    let told = |question: &str| desk.run(&format!("explain schedule.xlsx takeoff {question}")).out;
    let outline = told("2/A area_ft2");
    assert!(
        outline.contains(
            "outline_ft = [[0, 0], [30, 0], [18, 12], [0, 12]]  [Outlines!C2: 0]  (and on to row 5)"
        ),
        "{outline}"
    );
    let openings = told("2/B concrete_ft2");
    assert!(openings.contains("openings = [#{corners_ft: [[3, 3], [7, 3], [7, 7], [3, 7]], framed: true, area_ft2: 16}]  [Openings!C2: 3]"), "{openings}");
    let mix = told("2/A wet_psf");
    assert!(mix.contains("unit_weight_pcf = 112  [Mixes!B2: 112]"), "{mix}");
}

/// A column of the schedule's own may call its row `row`, or what the table's scripts call it.
#[test]
fn columns_of_the_schedule() {
    let desk = Desk::new();
    let made = |table: &str, expression: &str| {
        crate::support::schedule_builder::with_types(crate::support::schedule_builder::schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
            .row(["2", "A", "D1", "3@10'", "30'", "P1"])
            .sheet("Columns")
            .row(["Table", "Key", "Expression"])
            .row([table, "own", expression])
    };
    for (table, name, field) in [
        ("takeoff", "bay", "area_ft2"),
        ("panels", "panel", "count"),
        ("order", "line", "count"),
        ("bundles", "bundle", "panels"),
        ("loads", "load", "panels"),
        ("pours", "pour", "area_ft2"),
        ("trucks", "truck", "load_yd3"),
        ("accessories", "item", "count"),
        ("spans", "line", "bays"),
    ] {
        for name in ["row", name] {
            desk.put("schedule.xlsx", &made(table, &format!("{name}.{field} * 2")));
            let outcome = desk.run(&format!("explain schedule.xlsx {table} 1 own"));
            assert_eq!(outcome.code, Some(0), "{table} {name}: {}", outcome.err);
            let value = outcome.out.lines().next().unwrap().split(" = ").nth(1).unwrap();
            assert!(value.split(' ').next().unwrap().parse::<f64>().unwrap() > 0.0, "{value}");
        }
    }
    desk.put("schedule.xlsx", &made("takeoff", "line.area_ft2"));
    let outcome = desk.run("check schedule.xlsx");
    assert_eq!(outcome.code, Some(2));
    assert!(
        outcome.err.contains("Columns!C2: error[unknown-name]: nothing is called `line`"),
        "{}",
        outcome.err
    );
}

/// Tables, columns and rows are also known as the workbook shows them.
#[test]
fn names_as_the_sheets_show_them() {
    let desk = Desk::new();
    std::fs::copy(example(), desk.path("schedule.xlsx")).unwrap();
    let told = |question: &str| {
        let outcome = desk.run(&format!("explain schedule.xlsx {question}"));
        (outcome.code, outcome.out.lines().next().unwrap_or_default().to_owned(), outcome.err)
    };
    let by_keys = told("order 1 weight_lb");
    assert_eq!(by_keys.0, Some(0), "{by_keys:?}");
    for question in ["Order 1 Weight", "ORDER 2/D1-1 weight", "order 2/D1-1 weight_lb"] {
        assert_eq!(told(question), by_keys, "{question}");
    }
    let (code, _, said) = told("pours 9/P1 date");
    assert_eq!(code, Some(2));
    assert!(said.contains("`pours` has no row `9/P1`") && !said.contains("``"), "{said}");
}
