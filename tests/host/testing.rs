//! `test`: what it prints and how it exits.

use serde_json::Value as Json;

use crate::support::program::{Desk, Outcome};
use crate::support::schedule_builder::{schedule, with_types};

const RULES: &str = "/// Waste on concrete by level.\n\
                     fn concrete_waste(bay) { if bay.level == \"Roof\" { 0.1 } else { 0.07 } }\n";

const TESTS: &str = r#"
fn row(level) { #{ level: level } }

/// Common floors.
fn test_waste_of_floors() { check_equal(concrete_waste(row("3")), 0.07); }

fn test_waste_of_roofs() {
    check_near(concrete_waste(row("Roof")), 0.1, 1e-9);
}

fn test_waste_goes_into_the_takeoff() {
    let bay = job_of([#{ Spans: "3@10'", Width: "30'" }]).table("takeoff")[0];
    check_near(bay.gross_yd3, bay.placed_yd3 * 1.07, 0.001);
}

fn test_a_file_of_the_shop() {
    let job = job_from("small.xlsx");
    check_equal(job.bays.len, 2);
    check_equal(job.table("takeoff").map(|bay| bay.panels), [11, 5]);
}
"#;

fn shop(tests: &str) -> Desk {
    let desk = Desk::new();
    desk.shop("rules.rhai", RULES);
    desk.write("shop/tests.rhai", tests);
    let small = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "31'"])
        .row(["2", "A2", "D1", "2@10'", "15'"]);
    desk.put("shop/small.xlsx", &small);
    desk
}

fn ended(outcome: &Outcome, code: i32, out: &str, err: &str) {
    assert_eq!((outcome.code, outcome.out.as_str(), outcome.err.as_str()), (Some(code), out, err));
}

#[test]
fn all_hold() {
    let desk = shop(TESTS);
    let wanted = "held   test_waste_of_floors\n\
                  held   test_waste_of_roofs\n\
                  held   test_waste_goes_into_the_takeoff\n\
                  held   test_a_file_of_the_shop\n\
                  4 tests: 4 held, 0 failed\n";
    ended(&desk.run("test shop"), 0, wanted, "");
    ended(&desk.run("test --shop shop"), 0, wanted, "");
    let filtered = desk.run("test shop --filter floors");
    ended(&filtered, 0, "held   test_waste_of_floors\n1 test: 1 held, 0 failed\n", "");
}

#[test]
fn failures_are_told_with_their_lines() {
    let desk = shop(
        "fn test_waste() { check_equal(concrete_waste(#{ level: \"3\" }), 0.05); }\n\
         fn test_near() { check_near([1.0, 2.0], [1.0, 2.5], 0.1); }\n\
         fn test_true() { check_true(1 > 2); }\n\
         fn test_throws() { check_throws(|| 1 + 1); }\n\
         fn test_throws_another() { check_throws(|| deck::panels_across(30, 0), \"width_ft\"); }\n\
         fn test_breaks() { concrete_waste(#{ lvl: \"3\" }) }\n\
         fn test_holds() { check_throws(|| deck::panels_across(30, 0), \"cover_in\"); }\n\
         fn test_loops() { loop { } }\n",
    );
    let outcome = desk.run("test shop --script-steps 10000");
    ended(
        &outcome,
        1,
        "failed test_waste\n\
         failed test_near\n\
         failed test_true\n\
         failed test_throws\n\
         failed test_throws_another\n\
         failed test_breaks\n\
         held   test_holds\n\
         failed test_loops\n\
         8 tests: 1 held, 7 failed\n",
        "tests.rhai:1:19: error[check-failed]: found 0.07, wanted 0.05\n  \
           |\n\
         1 | fn test_waste() { check_equal(concrete_waste(#{ level: \"3\" }), 0.05); }\n  \
           |                   ^\n\
         tests.rhai:2:18: error[check-failed]: found [1, 2], wanted [1, 2.5] within 0.1\n  \
           |\n\
         2 | fn test_near() { check_near([1.0, 2.0], [1.0, 2.5], 0.1); }\n  \
           |                  ^\n\
         tests.rhai:3:18: error[check-failed]: found false, wanted true\n  \
           |\n\
         3 | fn test_true() { check_true(1 > 2); }\n  \
           |                  ^\n\
         tests.rhai:4:20: error[check-failed]: found 2, wanted an error\n  \
           |\n\
         4 | fn test_throws() { check_throws(|| 1 + 1); }\n  \
           |                    ^\n\
         tests.rhai:5:28: error[check-failed]: the error says \"in `deck::panels_across`: `cover_in` is 0, wanted a cover above 0 in\", wanted one with \"width_ft\"\n  \
           |\n\
         5 | fn test_throws_another() { check_throws(|| deck::panels_across(30, 0), \"width_ft\"); }\n  \
           |                            ^\n\
         rules.rhai:2:33: error[unknown-field]: there is no field `level` here\n  \
           |\n\
         2 | fn concrete_waste(bay) { if bay.level == \"Roof\" { 0.1 } else { 0.07 } }\n  \
           |                                 ^\n\
         tests.rhai:8:1: error[too-many-steps]: the cell took more than 10000 steps\n  \
           |\n\
         8 | fn test_loops() { loop { } }\n  \
           | ^\n  \
         hint: an endless loop? a cell's steps are bounded so that one can not stop the run; `--script-steps` gives more\n",
    );
}

#[test]
fn what_can_not_be_run() {
    let none = shop("fn helper() { 1 }\n").run("test shop");
    assert_eq!(none.code, Some(2));
    assert!(
        none.err.starts_with("shop: error[no-tests]: there is no test in the scripts\n"),
        "{}",
        none.err
    );
    let filtered = shop(TESTS).run("test shop --filter roofing");
    assert_eq!(filtered.code, Some(2));
    let broken = shop("fn test_a() { check_equal(1, 1 }\n").run("test shop");
    assert_eq!(broken.code, Some(2));
    assert!(broken.err.starts_with("tests.rhai:1:26: error[syntax]"), "{}", broken.err);
    let parameters = shop("fn test_a(bay) { check_equal(1, 1); }\n").run("test shop");
    assert_eq!(parameters.code, Some(2));
    assert!(parameters.err.contains("the test `test_a` takes parameters"), "{}", parameters.err);
    let outside = shop("fn test_a() { job_from(\"../schedule.xlsx\"); }\n").run("test shop");
    assert_eq!(outside.code, Some(1));
    assert!(outside.err.contains("no file of the shop's folder"), "{}", outside.err);
}

/// What a test leaves behind, no other test sees.
#[test]
fn tests_stand_alone() {
    let desk = shop("let seen = 0;\nfn test_a() { 1 }\nfn test_b() { 2 }\n");
    let outcome = desk.run("test shop --json");
    let json: Json = serde_json::from_str(&outcome.out).unwrap();
    let tests = json["tests"].as_array().unwrap();
    assert_eq!(tests.len(), 2);
    assert!(tests.iter().all(|test| test["held"] == true), "{}", outcome.out);
    let stray = shop("fn test_a() { seen }\n").run("test shop");
    assert!(stray.err.contains("nothing is called `seen`"), "{}", stray.err);
}

/// Tests are no rules: a run does not have them, and their helpers replace nothing.
#[test]
fn tests_are_no_part_of_a_run() {
    let desk = shop("fn truck_yd3() { 1 }\nfn test_a() { check_equal(truck_yd3(), 1); }\n");
    let plain = desk.run("calc truck_yd3()");
    let with_shop = desk.run("calc truck_yd3() --shop shop");
    assert_eq!(plain.out, with_shop.out);
    assert_eq!(desk.run("test shop").code, Some(0));
    assert_eq!(desk.run("calc test_a() --shop shop").code, Some(2));
}

#[test]
fn the_bundled_tests_hold() {
    let outcome = Desk::new().run("test");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""), "{}", outcome.out);
    assert!(outcome.out.lines().count() > 9, "{}", outcome.out);
}
