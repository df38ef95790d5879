//! Headings that no one knows, or that two columns share: what is said, and what is read.

use crate::cells;
use crate::support::report::{cell, report, said};
use crate::support::schedule_builder::{Cell, Schedule, schedule, with_types};
use baytally::value::Value;

fn bays(headings: &[&str], row: &[&str]) -> Schedule {
    let known = ["Level", "Bay", "Type", "Spans"];
    let values = ["2", "A1", "D1", "3@10'"];
    with_types(schedule())
        .sheet("Bays")
        .row(known.iter().chain(headings).copied())
        .row(values.iter().chain(row).copied())
}

#[test]
fn columns_that_nothing_but_scripts_reads() {
    let made = bays(&["Width", "Crew", "Bay area"], &["30'", "north", "900"]);
    assert_eq!(
        said(&report(&made), "columns-not-read"),
        [
            "Bays!F1: note[columns-not-read]: columns of Bays that nothing but scripts reads: `Crew`, \
          `Bay area`\n  also at Bays!G1\n  hint: scripts read them by these names; rename one where \
          a column of the schedule is meant"
        ]
    );
    assert_eq!(said(&report(&bays(&["Width"], &["30'"])), "columns-not-read"), [""; 0]);
}

#[test]
fn plain_words_for_studs_drawing_and_width() {
    for heading in ["No. studs", "No of studs", "Number of studs", "Shear studs", "Stud Qty"] {
        let job = bays(&["Width", heading], &["30'", "48"]).job();
        let studs = job.bays[0].rest.get("studs").cloned();
        assert_eq!(studs, Some(Value::Count(48)), "{heading}");
    }
    let report = report(&bays(&["Bay width", "Sheet"], &["30'", "S-201"]));
    assert_eq!(cell(&report, "takeoff", 0, "width_ft"), Value::Number(30.0));
    assert_eq!(said(&report, "bay-without-drawing"), [""; 0]);
}

/// As roofs' plans state it: inches a foot, rise and run, or a share. 3 in 12 is 3 in a foot, 2 % 0.24 in.
#[test]
fn slopes_as_drawings_state_them() {
    for (typed, rise_in) in [
        ("0.25", 0.25),
        ("1/4", 0.25),
        ("1/4\"", 0.25),
        ("1/4 in/ft", 0.25),
        ("1/4:12", 0.25),
        ("3/12", 3.0),
        ("3 : 12", 3.0),
        ("3 in 12", 3.0),
        ("1 1/2 on 12", 1.5),
        ("3/8\" per ft", 0.375),
        ("2 %", 0.24),
    ] {
        let job = bays(&["Width", "Slope"], &["30'", typed]).job();
        assert_eq!(job.bays[0].rest.get("slope"), Some(&Value::Number(rise_in)), "{typed}");
    }
    let steep = bays(&["Width", "Slope"], &["30'", "steep"]);
    assert_eq!(
        steep.findings()[0],
        "Bays!F2: error[bad-slope]: `steep` under `Slope`, wanted a rise in inches per foot: 0.25, \
         1/4, 3:12 or 2 %"
    );
    // A spreadsheet reads 3/12 as a day of March.
    let day = with_types(schedule())
        .sheet("Bays")
        .row(cells!["Level", "Bay", "Type", "Spans", "Width", "Slope"])
        .row(cells!["2", "A1", "D1", "3@10'", "30'", Cell::Date(2026, 3, 12)]);
    assert!(day.findings()[0].contains("format the cell as text"), "{:?}", day.findings());
}

/// `Run` is as often the length along: it is not taken for the width.
#[test]
fn a_run_is_no_width() {
    assert_eq!(
        bays(&["Run"], &["30'"]).findings(),
        [
            "Bays!1:1: error[missing-heading]: no heading `Width` in row 1 of `Bays`, which has Level, \
          Bay, Type, Spans, Run\n  hint: `Width` is also read from Widths, Width across, Bay width, \
          Across ft"
        ]
    );
}

#[test]
fn two_other_words_of_one_meaning() {
    let made = bays(&["Width", "Qty", "Count"], &["30'", "2", "3"]);
    assert_eq!(
        made.findings(),
        ["Bays!G1: warning[second-column]: `Count` is a second column of the same meaning and is \
          not read as it\n  hint: scripts can read it under its heading; rename the one that is \
          meant"]
    );
    assert_eq!(cell(&report(&made), "takeoff", 0, "copies"), Value::Count(2));
}

/// The end of a deck that goes on, as the template writes it.
#[test]
fn an_end_that_goes_on() {
    let count = |end: &str| {
        let made = bays(&["Width", "Far end"], &["30'", end]);
        cell(&report(&made), "takeoff", 0, "lineal_ft")
    };
    assert_eq!(count("cont."), count("cont"));
    assert_eq!(count("cont."), Value::Number(300.0));
}

/// A row of units under the headings is no data, and its units hold: 372 in are 31 ft.
#[test]
fn units_in_a_row_of_their_own() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["", "", "", "(ft)", "(in)"])
        .row(["2", "A1", "D1", "30", "372"]);
    let job = made.job();
    assert_eq!(job.bays.len(), 1);
    assert_eq!(job.bays[0].width().in_feet(), 31.0);
    assert_eq!(job.bays[0].length().in_feet(), 30.0);
}
