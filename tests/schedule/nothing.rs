//! Values of nothing, which would empty a table later, are refused at their cell.

use crate::support::report::{number, report, said};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

const BAY: [&str; 6] = ["2", "A1", "D1", "3@10'", "30'", "P1"];

fn job() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
        .row(BAY)
}

fn left_out(sheet: &str) -> String {
    format!(
        "{sheet}!2:2: error[row-left-out]: rows of {sheet} are left out until what is wrong in \
         them is put right"
    )
}

#[track_caller]
fn says(made: &Schedule, expected: &[&str]) {
    assert_eq!(made.findings(), expected);
}

#[test]
fn zero_and_negative_values() {
    for (sheet, headings, row, message) in [
        (
            "Mixes",
            vec!["Mix", "Unit weight"],
            vec!["M1", "0"],
            "Mixes!B2: error[bad-number]: `0` under `Unit weight`, wanted a number above 0",
        ),
        (
            "Pieces",
            vec!["Level", "Type", "Count", "Length"],
            vec!["2", "D1", "4", "0"],
            "Pieces!D2: error[negative-length]: `Length` is 0 (0'-0\"), wanted a length above 0 ft",
        ),
        (
            "Edges",
            vec!["Level", "Length"],
            vec!["2", "0"],
            "Edges!B2: error[negative-length]: `Length` is 0 (0'-0\"), wanted a length above 0 ft",
        ),
    ] {
        let made = job().sheet(sheet).row(headings).row(row);
        says(&made, &[message, &left_out(sheet)]);
    }
    for (price, asked) in [("0", "is it given for nothing?"), ("-3.5", "is it a credit?")] {
        says(
            &job().sheet("Prices").row(["Item", "Price", "Per"]).row(["deck", price, "square"]),
            &[&format!(
                "Prices!B2: warning[unusual-price]: `{price}` under `Price`: {asked}\n  hint: leave \
                 Price blank for what is not quoted"
            )],
        );
    }
}

/// The row of Types that can not be read is what is wrong, not the bay that names it.
#[test]
fn a_type_that_can_not_be_read() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Gauge", "Slab"])
        .row(["D1", "composite", "3x12", "20", "thick"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "30'"]);
    let findings = made.findings();
    let unknown = findings.iter().find(|finding| finding.contains("unknown-type")).unwrap();
    assert!(
        unknown.contains(
            "hint: row 2 of `Types` can not be read: where the type is among them, mend that first"
        ),
        "{unknown}"
    );
}

#[test]
fn copies_and_cover_of_nothing() {
    let bays = |heading: &str, value: &str| {
        with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", heading])
            .row(["2", "A1", "D1", "3@10'", "30'", value])
            .row(["2", "A2", "D1", "3@10'", "30'", ""])
    };
    says(
        &bays("Copies", "0"),
        &[
            "Bays!F2: error[bad-count]: `0` under `Copies`, wanted a whole number of 1 or more",
            &left_out("Bays"),
        ],
    );
    says(
        &bays("Cover", "0"),
        &[
            "Bays!F2: error[negative-length]: `Cover` is 0 (0\"), wanted a length above 0 in",
            &left_out("Bays"),
        ],
    );
}

#[test]
fn openings_larger_than_their_bay() {
    let with = |length: &str| {
        job()
            .sheet("Openings")
            .row(["Level", "Bay", "Length", "Width"])
            .row(["2", "A1", length, "10'"])
    };
    says(
        &with("100'"),
        &[
            "Openings!C2: error[openings-over-bay]: the openings of bay `A1` on level `2` are 1000.0 \
             ft2 in all, wanted less than its own 900.0 ft2\n  hint: check Length and Width of the \
             openings, and that they name the right bay",
            &left_out("Bays"),
        ],
    );
    assert_eq!(number(&report(&with("80'")), "takeoff", 0, "concrete_ft2"), 100.0);
}

#[test]
fn extra_concrete_without_a_size() {
    let extra = |length: &str, depth: &str| {
        job()
            .sheet("Extra concrete")
            .row(["Level", "Pour", "Item", "Length", "Width", "Depth"])
            .row(["2", "P1", "pad", length, "9'", depth])
    };
    says(
        &extra("", "4"),
        &[
            "Extra concrete!D2: error[missing-value]: `Length` is blank\n  hint: Length, ft.",
            &left_out("Extra concrete"),
        ],
    );
    says(
        &extra("9'", "0"),
        &["Extra concrete!F2: error[extra-without-depth]: `Depth` is 0, wanted a thickness, or a \
           depression as a negative one"],
    );
    let sunk = report(&extra("9'", "-4"));
    assert_eq!(said(&sunk, "extra-without-depth"), [""; 0]);
}
