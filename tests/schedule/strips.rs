//! Strips whose rows do not fill their places or do not belong together: the whole message.

use crate::support::schedule_builder::{Schedule, schedule, with_types};

fn rows(more: &[&str], rows: &[&[&str]]) -> Schedule {
    let mut made = with_types(schedule()).sheet("Bays");
    let headings = ["Level", "Bay", "Type", "Spans", "Width", "Strip", "Along", "Across"];
    made = made.row(headings.iter().chain(more).copied());
    for row in rows {
        made = made.row(row.iter().copied());
    }
    made
}

#[track_caller]
fn says(made: &Schedule, expected: &[&str]) {
    assert_eq!(made.findings(), expected);
}

#[test]
fn a_place_without_a_row() {
    let anew = "\n  hint: number Along and Across from 1 on, and give every place a row";
    let says = |places: &[[&str; 2]], missing: &str| {
        let made: Vec<Vec<&str>> = places
            .iter()
            .zip(["A", "B", "C", "E"])
            .map(|([along, across], bay)| vec!["2", bay, "D1", "3@10'", "31'", "S", along, across])
            .collect();
        let made: Vec<&[&str]> = made.iter().map(Vec::as_slice).collect();
        let found = rows(&[], &made).findings();
        assert_eq!(found.len(), 1, "{found:?}");
        let found = &found[0];
        let message = format!(
            "error[strip-incomplete]: strip `S` on level `2` has no row {missing}: panels that \
             begin there are not counted"
        );
        assert!(found.contains(&message) && found.ends_with(anew), "{found}");
    };
    says(&[["1", "1"], ["1", "3"]], "at Across 2");
    says(&[["1", "1"], ["3", "1"]], "at Along 2");
    says(&[["2", "1"]], "at Along 1");
    says(&[["1", "1"], ["1", "2"], ["2", "1"]], "at Along 2, Across 2");
    assert_eq!(
        rows(&[], &[&["2", "A", "D1", "3@10'", "31'", "S", "2", "1"]]).findings(),
        [format!(
            "Bays!G2: error[strip-incomplete]: strip `S` on level `2` has no row at Along 1: \
             panels that begin there are not counted{anew}"
        )]
    );
}

#[test]
fn a_strip_on_two_levels_and_a_row_left_out() {
    says(
        &rows(
            &[],
            &[
                &["2", "A", "D1", "3@10'", "31'", "S", "1", "1"],
                &["3", "B", "D1", "3@10'", "31'", "S", "1", "2"],
            ],
        ),
        &[
            "Bays!H3: error[strip-incomplete]: strip `S` on level `3` has no row at Across 1: panels \
           that begin there are not counted\n  hint: a strip `S` stands on level `2` too: the rows \
           of one strip stand on one level",
        ],
    );
    let left_out = rows(
        &[],
        &[
            &["2", "A", "D1", "3@10'", "x'", "S", "1", "1"],
            &["2", "B", "D1", "3@10'", "31'", "S", "1", "2"],
        ],
    );
    assert_eq!(
        left_out.findings().last().unwrap(),
        "Bays!H3: error[strip-incomplete]: strip `S` on level `2` has no row at Across 1: panels \
         that begin there are not counted\n  hint: rows of Bays are left out: what is wrong in \
         them comes first"
    );
}

/// A row on hold, void or of an alternate takes its panels out of the layout of the others.
#[test]
fn rows_of_another_status_or_alternate() {
    let one = |heading: &str, value: &str| {
        rows(
            &[heading],
            &[
                &["2", "A", "D1", "3@10'", "31'", "S", "1", "1", value],
                &["2", "B", "D1", "3@10'", "31'", "S", "1", "2"],
            ],
        )
    };
    for status in ["hold", "void", "released"] {
        says(
            &one("Status", status),
            &[
                "Bays!I3: error[strip-disagrees]: bays `A` and `B` of strip `S` on level `2` do not \
               agree, wanted one status\n  also at Bays!I2\n  hint: panels run from row to row and \
               are counted over the whole strip: give the rows of another status a strip of their \
               own, and number the places anew",
            ],
        );
    }
    says(
        &one("Alternate", "Alt 1"),
        &["Bays!I3: error[strip-disagrees]: bays `A` and `B` of strip `S` on level `2` do not \
           agree, wanted one alternate\n  also at Bays!I2\n  hint: give the rows of an alternate a \
           strip of their own"],
    );
    let all_void = rows(
        &["Status"],
        &[
            &["2", "A", "D1", "3@10'", "31'", "S", "1", "4", "void"],
            &["2", "B", "D1", "3@10'", "31'", "", "", "", ""],
        ],
    );
    says(&all_void, &[]);
}

#[test]
fn rows_of_another_count_cover_or_gauge() {
    for (heading, value, wanted) in [
        ("Copies", "2", "equal Copies in all its rows"),
        ("Cover", "24", "one cover"),
        ("Gauge", "18", "one gauge"),
        ("Finish", "G90", "one finish"),
    ] {
        let made = rows(
            &[heading],
            &[
                &["2", "A", "D1", "3@10'", "31'", "S", "1", "1"],
                &["2", "B", "D1", "3@10'", "31'", "S", "1", "2", value],
            ],
        );
        let expected = format!(
            "Bays!I3: error[strip-disagrees]: bays `A` and `B` of strip `S` on level `2` do not \
             agree, wanted {wanted}\n  also at Bays!I2"
        );
        says(&made, &[&expected]);
    }
    // What is poured on it may differ.
    says(
        &rows(
            &["Mesh"],
            &[
                &["2", "A", "D1", "3@10'", "31'", "S", "1", "1", "6x6-W1.4xW1.4"],
                &["2", "B", "D1", "3@10'", "31'", "S", "1", "2", "6x6-W2.9xW2.9"],
            ],
        ),
        &[],
    );
}
