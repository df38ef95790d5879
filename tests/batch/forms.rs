//! Order forms of many schedules.

use std::fs;

use serde_json::Value;

use super::{ended, summary};
use crate::support::program::{Desk, example, generated};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

/// A schedule of the test's types with a bay for each of these sequences.
fn sequences(names: &[&str]) -> Schedule {
    // What the shop's form names beside the usual entries.
    let job = schedule().sheet("Job").row(["Key", "Value"]).row(["Job", "Invented"]);
    let job = job.row(["Date", "2026-03-02"]).row(["Ship by", "2026-03-09"]);
    let made =
        with_types(job).sheet("Bays").row(["Level", "Sequence", "Bay", "Type", "Spans", "Width"]);
    names.iter().enumerate().fold(made, |made, (at, name)| {
        made.row(["2", name, &format!("A{at}"), "D1", &format!("3@1{}'-0\"", at % 10), "62'"])
    })
}

fn jobs() -> Desk {
    let desk = Desk::new();
    desk.put("jobs/a.xlsx", &sequences(&["S1", "S2"]));
    desk.put("jobs/north/s.xlsx", &sequences(&["S1"]));
    desk.put("jobs/south/s.xlsx", &generated(12, 3));
    fs::copy(example(), desk.path("jobs/z.xlsx")).unwrap();
    desk
}

/// The forms of a schedule, as the summary names them.
fn forms(row: &Value) -> Vec<&str> {
    row["forms"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect()
}

fn names_in(desk: &Desk, folder: &str) -> Vec<String> {
    let entries = fs::read_dir(desk.path(folder)).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn each_schedules_forms_are_those_of_form() {
    let desk = jobs();
    let own = "tests/workbook/forms/shop.xlsx";
    let own = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(own);
    fs::copy(own, desk.path("shop.xlsx")).unwrap();
    for (folder, options) in [("usual", ""), ("finish", " --by finish")] {
        ended(&desk.run(&format!("batch jobs -o {folder} --threads 2 --forms{options}")), 0);
        let summary = summary(&desk, folder);
        let rows = summary["files"].as_array().unwrap();
        assert_eq!(rows.len(), 4);
        let mut count = 0;
        for (at, row) in rows.iter().enumerate() {
            let alone = format!("{folder}-{at}");
            let file = row["file"].as_str().unwrap();
            ended(&desk.run(&format!("form {file} -o {alone} --quiet{options}")), 0);
            let folder_of_forms =
                row["output"].as_str().unwrap().replace("-takeoff.xlsx", "-forms");
            let wanted: Vec<String> = names_in(&desk, &alone);
            assert_eq!(names_in(&desk, &format!("{folder}/{folder_of_forms}")), wanted, "{file}");
            let mut named = forms(row);
            named.sort_unstable();
            assert_eq!(named.len(), wanted.len());
            for (named, wanted) in named.into_iter().zip(wanted) {
                assert_eq!(named, format!("{folder_of_forms}/{wanted}"));
                assert!(
                    desk.read(&format!("{folder}/{named}"))
                        == desk.read(&format!("{alone}/{wanted}")),
                    "{named} differs from `form`"
                );
                count += 1;
            }
        }
        assert!(count >= 4 + usize::from(options.is_empty()) * 6, "{count}");
        assert_eq!(summary["totals"]["forms"], count);
    }
    // The example's level 2, as every sequence of it, has its own.
    assert_eq!(forms(&summary(&desk, "usual")["files"][3])[0], "z-forms/2.xlsx");
    let outcome = desk.run("batch jobs/a.xlsx -o own --forms --form shop.xlsx");
    assert!(outcome.out.starts_with("1/1 jobs/a.xlsx: "), "{outcome:?}");
    assert!(outcome.out.contains(" yd3, 2 forms"), "{outcome:?}");
    ended(&outcome, 0);
}

#[test]
fn names_are_safe_and_none_is_lost() {
    let desk = Desk::new();
    // The two accents are one spelling, and one sequence.
    let names = ["S1", "s1x", "a/b", "a:b", "../up", "con", "é", "e\u{301}", "*?"];
    desk.put("a.xlsx", &sequences(&names));
    ended(&desk.run("batch a.xlsx -o out --forms --quiet"), 0);
    let made = names_in(&desk, "out/a-forms");
    assert_eq!(
        made,
        [
            "S1.xlsx",
            "a-b-2.xlsx",
            "a-b.xlsx",
            "con_.xlsx",
            "form.xlsx",
            "s1x.xlsx",
            "up.xlsx",
            "é.xlsx"
        ]
    );
    assert!(!desk.path("out/up.xlsx").exists());
}

#[test]
fn forms_that_changed_or_went_are_filled_again() {
    let desk = jobs();
    let again = "batch jobs -o out --forms --changed";
    ended(&desk.run(again), 0);
    let whole = summary(&desk, "out");
    let up_to_date = |count: usize| format!("{count} of 4 schedules are up to date\n");
    let outcome = desk.run(again);
    assert!(outcome.out.starts_with(&up_to_date(4)), "{outcome:?}");
    assert_eq!(summary(&desk, "out"), whole);

    fs::remove_file(desk.path("out/a-forms/S2.xlsx")).unwrap();
    let outcome = desk.run(again);
    assert!(outcome.out.starts_with(&up_to_date(3)), "{outcome:?}");
    assert_eq!(names_in(&desk, "out/a-forms"), ["S1.xlsx", "S2.xlsx"]);

    // Without forms, nothing is said of them and nothing lost.
    ended(&desk.run("batch jobs -o out"), 0);
    assert_eq!(names_in(&desk, "out/a-forms"), ["S1.xlsx", "S2.xlsx"]);

    // A sequence less, another line: the form of old goes, the other is written over.
    let before = desk.read("out/a-forms/S1.xlsx");
    let revised = sequences(&["S1", "S1", "S3"]);
    desk.put("jobs/a.xlsx", &revised);
    ended(&desk.run(again), 0);
    assert_eq!(names_in(&desk, "out/a-forms"), ["S1.xlsx", "S3.xlsx"]);
    assert!(desk.read("out/a-forms/S1.xlsx") != before);
    // Another column of the order: all are parted anew.
    ended(&desk.run("batch jobs -o out --forms --changed --by finish"), 0);
    assert_eq!(names_in(&desk, "out/a-forms"), ["G60.xlsx"]);
    assert_eq!(names_in(&desk, "out/z-forms"), ["G60.xlsx", "painted.xlsx"]);
}

#[test]
fn a_form_changed_by_hand_is_kept_and_said() {
    let desk = jobs();
    ended(&desk.run("batch jobs -o out --forms --quiet"), 0);
    desk.write("out/a-forms/S1.xlsx", "mine");
    desk.write("out/a-forms/notes.txt", "mine too");
    let outcome = desk.run("batch jobs -o out --forms --changed");
    ended(&outcome, 1);
    assert!(outcome.out.starts_with("3 of 4 schedules are up to date\n"), "{outcome:?}");
    assert!(
        outcome.out.contains(
            "incomplete: error[no-form]: `out/a-forms/S1.xlsx`: a file of that name is there already ("
        ),
        "{outcome:?}"
    );
    assert_eq!(desk.read("out/a-forms/S1.xlsx"), b"mine");
    ended(&desk.run("batch jobs -o out --forms --changed --replace"), 0);
    assert!(desk.read("out/a-forms/S1.xlsx").starts_with(b"PK"));
    assert_eq!(names_in(&desk, "out/a-forms"), ["S1.xlsx", "S2.xlsx", "notes.txt"]);
}

#[test]
fn parts_fill_their_own_and_merge() {
    let desk = jobs();
    ended(&desk.run("batch jobs -o whole --forms --quiet"), 0);
    for part in 1..=3 {
        ended(&desk.run(&format!("batch jobs -o parts --forms --quiet --shard {part}/3")), 0);
    }
    ended(&desk.run("batch --merge -o parts --quiet"), 0);
    assert_eq!(summary(&desk, "parts"), summary(&desk, "whole"));
    for row in summary(&desk, "whole")["files"].as_array().unwrap() {
        for form in forms(row) {
            let [one, other] = ["parts", "whole"].map(|at| desk.read(&format!("{at}/{form}")));
            assert!(one == other, "{form}");
        }
    }
}

#[test]
fn what_is_wrong_with_the_form_is_said_once() {
    let desk = jobs();
    desk.write("text.xlsx", "text");
    let outcome = desk.run("batch jobs -o out --forms --form absent.xlsx");
    ended(&outcome, 2);
    assert!(outcome.err.contains("`absent.xlsx`: it can not be read: "), "{outcome:?}");
    let outcome = desk.run("batch jobs -o out --forms --form text.xlsx");
    ended(&outcome, 2);
    assert!(
        outcome.err.starts_with("error[form-no-workbook]: the form is no xlsx workbook: "),
        "{outcome:?}"
    );
    assert!(!desk.path("out/a-takeoff.xlsx").exists());
    // Neither says anything without `--forms`.
    for words in ["--by finish", "--form text.xlsx"] {
        let outcome = desk.run(&format!("batch jobs -o out {words}"));
        ended(&outcome, 2);
        assert!(outcome.err.contains("--forms"), "{outcome:?}");
    }
}

/// What one schedule lacks costs its forms, not its takeoff, nor others' forms.
#[test]
fn forms_that_can_not_be_filled_cost_their_schedule_its_forms() {
    let desk = Desk::new();
    let supplied = |supplier: Option<&str>| {
        let job = schedule().sheet("Job").row(["Key", "Value"]).row(["Job", "Invented"]);
        let job = supplier.into_iter().fold(job, |job, name| job.row(["Supplier", name]));
        with_types(job)
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A1", "D1", "3@10'", "62'"])
    };
    desk.put("jobs/with.xlsx", &supplied(Some("Mill (invented)")));
    desk.put("jobs/without.xlsx", &supplied(None));
    let mut form = rust_xlsxwriter::Workbook::new();
    let sheet = form.add_worksheet();
    sheet.write_string(0, 0, "{supplier}").unwrap();
    sheet.write_string(2, 0, "{line.count}").unwrap();
    desk.write("form.xlsx", form.save_to_buffer().unwrap());
    let outcome = desk.run("batch jobs -o out --forms --form form.xlsx");
    ended(&outcome, 1);
    assert!(
        outcome.out.contains(
            "incomplete: Sheet1!A1: error[form-unknown-placeholder]: nothing is known as {supplier}"
        ),
        "{outcome:?}"
    );
    let summary = summary(&desk, "out");
    let statuses: Vec<&str> = summary["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["status"].as_str().unwrap())
        .collect();
    assert_eq!(statuses, ["done", "incomplete"]);
    // Where the schedule has errors too, the line says of both.
    desk.put("jobs/without.xlsx", &supplied(None).row(["2", "A2", "D1", "ten feet", "31'"]));
    let outcome = desk.run("batch jobs -o out --forms --form form.xlsx");
    let line = outcome.out.lines().find(|line| line.contains("without.xlsx: ")).unwrap();
    assert!(
        line.contains("incomplete: Bays!")
            && line.contains("; no order forms: Sheet1!A1: error[form-"),
        "{outcome:?}"
    );
    assert!(desk.path("out/without-takeoff.xlsx").exists());
    assert_eq!(names_in(&desk, "out/with-forms"), ["2.xlsx"]);
    assert!(!desk.path("out/without-forms").exists());
}
