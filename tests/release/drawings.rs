//! Bays without a drawing, drawings and addenda without a bay.

use super::super::support::report::{report, said};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};

fn bays(drawings: [&str; 3]) -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Drawing"])
        .row(["2", "A", "D1", "3@10'", "30'", drawings[0]])
        .row(["2", "B", "D1", "3@10'", "33'", drawings[1]])
        .row(["2", "C", "D1", "3@10'", "36'", drawings[2]])
}

#[test]
fn a_bay_without_a_drawing_is_a_note() {
    assert_eq!(
        said(&report(&bays(["S-1", "", ""])), "bay-without-drawing"),
        ["Bays!F3: note[bay-without-drawing]: the bay names no drawing\n  also at Bays!F4\n  \
             hint: state Drawing, so that a revision can be traced to the bays it touches"]
    );
    let none = said(&report(&bays(["", "", ""])), "bay-without-drawing");
    assert_eq!(none.len(), 1);
    assert!(none[0].contains("no bay has a drawing under Drawing"), "{}", none[0]);
    assert!(said(&report(&bays(["S-1", "S-1", "s-1"])), "bay-without-drawing").is_empty());
}

#[test]
fn addenda_and_drawings_that_touched_no_bay() {
    let made = bays(["S-1", "S-1, S-2", "S-9"])
        .sheet("Drawings")
        .row(["Drawing", "Title", "Revision", "Addendum"])
        .row(["S-1", "Level 2", "1", ""])
        .row(["S-2", "Level 2 east", "1", "1"])
        .row(["S-3", "Level 3", "0", "1"])
        .row(["S-4", "Level 4", "0", "2"])
        .row(["S-5", "Level 5", "0", "2"])
        .row(["S-6", "Roof", "0", ""]);
    let report = report(&made);
    let messages = |code: &str| -> Vec<String> {
        let found = report.findings.iter().filter(|f| &*f.code == code);
        found.map(|f| format!("{}: {}", f.places[0], f.message)).collect()
    };
    assert_eq!(
        messages("drawing-without-bay"),
        [
            "Drawings!A4: drawing S-3 of addendum 1 is named by no bay",
            "Drawings!A5: addendum 2 touched no bay",
            "Drawings!A7: drawing S-6 is named by no bay",
        ]
    );
    assert_eq!(
        messages("drawing-not-listed"),
        ["Bays!F4: drawing S-9 is not on the Drawings sheet"]
    );
}
