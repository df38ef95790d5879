//! What the program says of input at fault, the whole message, and how it ends.

use std::fs;

use crate::support::program::{Desk, Outcome, PROGRAM, example, plain};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

const HEADINGS: [&str; 5] = ["Level", "Bay", "Type", "Spans", "Width"];

fn bays(rows: &[[&str; 5]]) -> Schedule {
    let mut made = with_types(schedule()).sheet("Bays").row(HEADINGS);
    for row in rows {
        made = made.row(*row);
    }
    made
}

fn run_of(made: &Schedule) -> (Desk, Outcome) {
    let desk = Desk::new();
    desk.put("schedule.xlsx", made);
    let outcome = desk.run("run schedule.xlsx -o out.xlsx --quiet");
    (desk, outcome)
}

/// That nothing was written beside the schedule.
#[track_caller]
fn nothing_written(desk: &Desk) {
    assert_eq!(desk.files(), ["schedule.xlsx"]);
}

#[test]
fn no_bays_sheet() {
    let (desk, outcome) = run_of(&with_types(schedule()));
    outcome.says(
        2,
        r"error[no-bays-sheet]: no sheet `Bays` in the workbook; its sheets are `Types`
  hint: name the sheet with the bays `Bays`, or give it the headings Level, Bay, Spans and Width",
    );
    nothing_written(&desk);
}

#[test]
fn missing_heading() {
    let (desk, outcome) =
        run_of(&with_types(schedule()).sheet("Bays").row(["Level", "Bay", "Type", "Width"]));
    outcome.says(2,
        r"Bays!1:1: error[missing-heading]: no heading `Spans` in row 1 of `Bays`, which has Level, Bay, Type, Width
  hint: `Spans` is also read from Span, Spans along, Beam spacing",
    );
    nothing_written(&desk);
}

#[test]
fn text_where_a_length_belongs() {
    let (desk, outcome) =
        run_of(&bays(&[["2", "A1", "D1", "about 10", "30'"], ["2", "A2", "D1", "10'", "30'"]]));
    outcome.says(1,
        r#"Bays!D2: error[bad-length]: `Spans`: `about 10` is no length: `about` is no unit of length
  hint: write feet and inches as 24'-6 1/2", 24-6 1/2 or 24.5', metric as 7480 mm
Bays!2:2: error[row-left-out]: rows of Bays are left out until what is wrong in them is put right"#,
    );
    assert!(desk.path("out.xlsx").exists());
}

#[test]
fn unknown_gauge() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish"])
        .row(["D1", "roof", "1.5x6", "36", "23", "SS 33", "painted"])
        .sheet("Bays")
        .row(HEADINGS)
        .row(["2", "A1", "D1", "10'", "30'"]);
    let (_, outcome) = run_of(&made);
    let (first, rest) = outcome.err.split_once("\ntakeoff.rhai:").unwrap();
    assert_eq!(
        first,
        "Types!E2: error[unknown-gauge]: `Gauge`: no gauge `23` in the catalogue\n  hint: known are \
         `28`, `26`, `24`, `22`, `21`, `20`, `19`, `18`, `17`, `16`, `14`, `12`, `10`"
    );
    // What rests on the gauge is an error too, and said once.
    assert!(
        rest.contains("error[bad-argument]: in `weight::deck_psf`: `deck.thickness_in` is missing")
    );
    assert_eq!(outcome.code, Some(1));
}

#[test]
fn negative_width() {
    let (_, outcome) =
        run_of(&bays(&[["2", "A1", "D1", "10'", "-30'"], ["2", "A2", "D1", "10'", "30'"]]));
    outcome.says(
        1,
        r#"Bays!E2: error[negative-length]: `Width` is -30' (-30'-0"), wanted a length above 0 ft
Bays!2:2: error[row-left-out]: rows of Bays are left out until what is wrong in them is put right"#,
    );
}

#[test]
fn script_syntax_error() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    desk.shop("rules.rhai", "/// More waste here.\nfn concrete_waste(bay) { 0.07\n");
    desk.run("run schedule.xlsx -o out.xlsx --shop shop")
        .says(
            2,
            "rules.rhai:2:24: error[syntax]: `{` is not closed\n  |\n2 | fn concrete_waste(bay) { 0.07\n  |                        ^\n  hint: add the `}` that belongs to it",
        );
    nothing_written(&desk);
}

#[test]
fn script_cycle() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    desk.shop(
        "takeoff.rhai",
        "column(\"hours\", \"Hours\", \"h\", |bay| bay.crew * 8);\n\
         column(\"crew\", \"Crew\", \"count\", |bay| bay.hours / 8);\n",
    );
    desk.run("run schedule.xlsx -o out.xlsx --shop shop --quiet").says(
        1,
        r#"takeoff.rhai:1:31: error[cycle]: columns read each other in a ring: hours -> crew -> hours
  |
1 | column("hours", "Hours", "h", |bay| bay.crew * 8);
  |                               ^
  in takeoff row 1 (bay 2/A1) hours, takeoff row 2 (bay 2/A2) hours
  hint: `crew` is an error for it too
  hint: one of them must be computed without the others"#,
    );
    assert!(desk.path("out.xlsx").exists());
}

#[test]
fn output_over_the_schedule() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    let before = desk.read("schedule.xlsx");
    desk.run("run schedule.xlsx -o schedule.xlsx").says(2,
        r"schedule.xlsx: error[not-written]: `schedule.xlsx` was not written: it is a file that this run reads
  hint: name another output",
    );
    desk.run("run schedule.xlsx -o ./schedule.xlsx --replace").says(2,
        r"./schedule.xlsx: error[not-written]: `./schedule.xlsx` was not written: it is a file that this run reads
  hint: name another output",
    );
    assert_eq!(desk.read("schedule.xlsx"), before, "the schedule is as it was");
    nothing_written(&desk);
}

#[test]
fn output_folder_missing() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    desk.run("run schedule.xlsx -o nowhere/out.xlsx").says(2,
        r"nowhere/out.xlsx: error[not-written]: `nowhere/out.xlsx` was not written: there is no folder `nowhere`
  hint: make the folder first, or name another",
    );
    nothing_written(&desk);
}

#[test]
fn output_over_a_file_of_others() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    desk.write("letter.xlsx", "a letter");
    desk.run("run schedule.xlsx -o letter.xlsx").says(2,
        r"letter.xlsx: error[not-written]: `letter.xlsx` was not written: a file of that name is there already and is no output of this program
  hint: name another output, or allow it to be replaced",
    );
    assert_eq!(desk.read("letter.xlsx"), b"a letter");
    desk.run("run schedule.xlsx -o letter.xlsx --replace --quiet").says(0, "");
    assert!(desk.read("letter.xlsx").starts_with(b"PK"), "written over when told to");
    desk.run("run schedule.xlsx -o letter.xlsx --quiet").says(0, "");
}

/// As a user for whom the folder is closed; the superuser becomes nobody, for whom it is.
#[cfg(unix)]
#[test]
fn output_folder_read_only() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;

    const NOBODY: u32 = 65_534;
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    fs::create_dir(desk.path("closed")).unwrap();
    fs::set_permissions(desk.path("closed"), PermissionsExt::from_mode(0o555)).unwrap();
    fs::set_permissions(desk.folder(), PermissionsExt::from_mode(0o755)).unwrap();
    let mut command = std::process::Command::new(PROGRAM);
    command.current_dir(desk.folder()).args(["run", "schedule.xlsx", "-o", "closed/out.xlsx"]);
    if fs::write(desk.path("closed/probe"), "").is_ok() {
        command.uid(NOBODY).gid(NOBODY);
    }
    let output = match command.output() {
        Ok(output) => output,
        Err(error) => {
            eprintln!("SKIPPED: a read-only folder can not be tested as the superuser: {error}");
            return;
        }
    };
    assert_eq!(
        String::from_utf8(output.stderr).unwrap(),
        "closed/out.xlsx: error[not-written]: `closed/out.xlsx` was not written: the folder `closed` may \
         not be written to\n  hint: name a folder you may write to\n"
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(!desk.path("closed/out.xlsx").exists());
}

/// A file stands where a folder is wanted: it stays as it is.
#[test]
fn a_file_in_place_of_a_folder() {
    for command in [
        "run schedule.xlsx -o out.xlsx --csv there",
        "run schedule.xlsx -o out.xlsx --plans there",
        "form schedule.xlsx -o there",
        "batch schedule.xlsx -o there",
    ] {
        let desk = Desk::new();
        desk.put("schedule.xlsx", &bays(&[["2", "A", "D1", "3@10'", "30'"]]));
        desk.write("there", "kept");
        let outcome = desk.run(command);
        assert_eq!(outcome.code, Some(2), "{command}");
        assert!(
            outcome.err.contains("what stands there is no folder"),
            "{command}: {}",
            outcome.err
        );
        assert_eq!(fs::read_to_string(desk.path("there")).unwrap(), "kept");
    }
}

/// More copies, and more spans in a cell, than there can be.
#[test]
fn counts_beyond_all_bounds() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies"])
        .row(["2", "A", "D1", "999999999@10'", "30'", "1000000000000000"]);
    let (_, outcome) = run_of(&made);
    for said in [
        "under `Copies`, wanted a whole number of 1 or more, below 1,000,000,000,000",
        "more than 10000 lengths in one cell",
    ] {
        assert!(outcome.err.contains(said), "{}", outcome.err);
    }
}

#[test]
fn no_such_schedule() {
    let desk = Desk::new();
    desk.run("run absent.xlsx").says(2,
        r"absent.xlsx: error[no-file]: `absent.xlsx` can not be opened: No such file or directory (os error 2)",
    );
}

#[test]
fn no_such_command_or_option() {
    let desk = Desk::new();
    assert_eq!(desk.run("reckon schedule.xlsx").code, Some(2));
    assert_eq!(desk.run("run schedule.xlsx --threads 0").code, Some(2));
    assert_eq!(desk.run("--version").code, Some(0));
    assert_eq!(desk.run("--help").code, Some(0));
}

#[test]
fn findings_that_are_no_errors_end_well() {
    let desk = Desk::new();
    fs::copy(example(), desk.path("schedule.xlsx")).unwrap();
    let outcome = desk.run("check schedule.xlsx");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    assert!(outcome.out.starts_with("schedule.xlsx: "), "{}", outcome.out);
    assert!(!outcome.out.contains("error") && outcome.out.ends_with(" notes\n"), "{}", outcome.out);
    nothing_written(&desk);
}

#[test]
fn json_of_a_run_that_could_not_be_done() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &with_types(schedule()));
    let outcome = desk.run("run schedule.xlsx --json");
    assert_eq!(outcome.code, Some(2));
    assert_eq!(outcome.err, "");
    let json = outcome.json();
    assert_eq!(json["schema"], 1);
    assert_eq!(json["failed"], true);
    assert_eq!(json["findings"][0]["code"], "no-bays-sheet");
}
