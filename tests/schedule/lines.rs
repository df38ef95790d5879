//! Lines of text between the bays: the level that they name, and what else they say of the rows below.

use crate::support::schedule_builder::{Schedule, schedule, with_types};

const WITHOUT_LEVEL: [&str; 4] = ["Bay", "Type", "Spans", "Width"];

/// Bays A1 and A2 with a line between them, on a sheet of level 2 without a column for it.
fn between(line: &str) -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["LEVEL 2"])
        .row(WITHOUT_LEVEL)
        .row(["A1", "D1", "10'", "31'"])
        .row([line])
        .row(["A2", "D1", "10'", "31'"])
}

/// The same under a Level column that only the line fills.
fn under_level(line: &str) -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["LEVEL 2"])
        .row(["", "A1", "D1", "10'", "31'"])
        .row([line])
        .row(["", "A2", "D1", "10'", "31'"])
}

fn levels(made: &Schedule) -> Vec<String> {
    made.job().bays.iter().map(|bay| bay.level.to_string()).collect()
}

#[test]
fn names_of_levels_as_people_write_them() {
    for (line, level) in [
        ("Low Roof EL 128-0", "Low Roof"),
        ("3rd Floor (T.O.S. 112'-6\")", "3rd Floor"),
        ("LEVEL 3 @ EL. +140'-0\"", "3"),
        ("Roof - EL.128'-0\"", "Roof"),
        ("Mech. Mezz.", "Mech. Mezz."),
        ("Third", "Third"),
        ("FOURTH FLOOR", "FOURTH FLOOR"),
        ("3rd Floor Deck", "3rd Floor Deck"),
        ("Upper Bulkhead", "Upper Bulkhead"),
    ] {
        for made in [between(line), under_level(line)] {
            assert_eq!(levels(&made), ["2", level], "{line}");
            assert_eq!(made.findings(), [""; 0], "{line}");
        }
    }
}

/// A height below the line that names a level says no other.
#[test]
fn a_height_below_its_level() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(WITHOUT_LEVEL)
        .row(["Roof"])
        .row(["T.O.S. 140'-0\""])
        .row(["R1", "RD1", "2@6'", "30'"]);
    assert_eq!(levels(&made), ["Roof"]);
}

/// What the lines were read as is said.
#[test]
fn levels_that_lines_name_are_said() {
    let (_, findings) = between("Mech. Mezz.").read().unwrap();
    let said = findings.iter().find(|finding| &*finding.code == "level-from-line");
    assert_eq!(
        said.map(ToString::to_string).as_deref(),
        Some(
            "Bays!1:1: note[level-from-line]: lines name the level of the rows below them: `2`, \
             `Mech. Mezz.`\n  also at Bays!4:4"
        )
    );
}

/// A line that is no level's name is asked about where the rows below it say no level themselves.
#[test]
fn lines_that_are_not_understood() {
    for made in [between("East wing"), under_level("East wing")] {
        let found = made.findings();
        assert_eq!(levels(&made), ["2", "2"]);
        assert!(
            found[0].contains(
                "warning[line-not-read]: the line `East wing` is not read as a level's name: the \
                 rows below it are on level `2`"
            ),
            "{found:?}"
        );
    }
    let sequence = between("SEQUENCE 4").findings();
    assert!(sequence[0].contains("in a column of its own"), "{sequence:?}");
    for note in ["Note: verify in field", "See S-201 for slab edges", "Page 2 of 3", "Roof"] {
        assert_eq!(between(note).findings(), [""; 0], "{note}");
    }
    // What stands behind the Level column is a remark.
    let remark = with_types(schedule())
        .sheet("Bays")
        .row(["Bay", "Level", "Type", "Spans", "Width", "Note"])
        .row(["LEVEL 2", "", "", "", "", ""])
        .row(["A1", "", "D1", "10'", "31'", ""])
        .row(["", "", "", "", "", "Roof deck in this area"])
        .row(["A2", "", "D1", "10'", "31'", ""]);
    assert_eq!(levels(&remark), ["2", "2"]);
    let stated = with_types(schedule())
        .sheet("Bays")
        .row(["Invented Tower, deck"])
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "10'", "31'"])
        .row(["East wing"])
        .row(["2", "A2", "D1", "10'", "31'"]);
    assert_eq!(stated.findings(), [""; 0]);
}

/// Bays below a line that takes them out of the base bid are asked about, where they do not say it too.
#[test]
fn lines_that_say_how_bays_are_counted() {
    for (line, code) in [
        ("NOT IN CONTRACT", "note-says-void"),
        ("N.I.C.", "note-says-void"),
        ("BY OTHERS", "note-says-void"),
        ("EXISTING", "note-says-void"),
        ("HOLD", "note-says-hold"),
        ("ALTERNATE 1", "note-says-alternate"),
        ("ALTERNATE #1 (DEDUCT)", "note-says-alternate"),
        ("ADD ALT. 2 - CANOPY", "note-says-alternate"),
        ("LEVEL 2 (NIC)", "note-says-void"),
    ] {
        for made in [between(line), under_level(line)] {
            let found = made.findings();
            let begin =
                format!("warning[{code}]: the line `{line}` is above bays that are counted");
            assert!(found.len() == 1 && found[0].contains(&begin), "{line}: {found:?}");
            assert_eq!(levels(&made), ["2", "2"], "{line}");
        }
    }
    let until_base = between("ALTERNATE 1").row(["BASE BID"]).row(["A3", "D1", "10'", "31'"]);
    assert_eq!(until_base.findings().len(), 1);
    let settled = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Alternate"])
        .row(["ALTERNATE 1"])
        .row(["2", "A1", "D1", "10'", "31'", "1"])
        .row(["BASE BID"])
        .row(["2", "A2", "D1", "10'", "31'", ""]);
    assert_eq!(settled.findings(), [""; 0]);
}

/// A level's line may stand right below the only headings; where nothing names a level, that is said.
#[test]
fn levels_below_the_headings() {
    let bays = with_types(schedule()).sheet("Bays").row(WITHOUT_LEVEL);
    let made = bays.row(["LEVEL 2"]).row(["A1", "D1", "10'", "31'"]);
    assert_eq!(levels(&made), ["2"]);
    let none =
        with_types(schedule()).sheet("Bays").row(WITHOUT_LEVEL).row(["A1", "D1", "10'", "31'"]);
    let found = none.findings();
    assert!(found[0].contains("no heading `Level`"), "{found:?}");
    assert!(
        found[0].contains("hint: a line of its own above the rows may name it: `LEVEL 2`"),
        "{found:?}"
    );
}

/// A height, an elevator, a detail and a remark name no level, wherever they stand; a height right below a
/// level's name goes with it.
#[test]
fn lines_that_name_no_level() {
    for line in [
        "Main lobby area",
        "Roof drains",
        "Canopy at entry",
        "FLOOR DECK",
        "Ground truck access",
        "Elev. 1",
        "Elev 2 lobby",
        "EL-1 elevator",
        "Elevation 3/S-401",
        "TOC 6 1/4\"",
        "T.O.S. 140'-0\"",
        "@ 112'-6\"",
        "S-201",
        "12/1/26",
    ] {
        for made in [between(line), under_level(line)] {
            assert_eq!(levels(&made), ["2", "2"], "{line}");
            let said = made.findings();
            assert!(said[0].contains("warning[line-not-read]"), "{line}: {said:?}");
        }
        // Before the column of levels, which the row above fills.
        let numbered = with_types(schedule())
            .sheet("Bays")
            .row(["No.", "Level", "Bay", "Type", "Spans", "Width"])
            .row(["1", "2", "A1", "D1", "10'", "31'"])
            .row([line])
            .row(["2", "", "A2", "D1", "10'", "31'"]);
        assert_eq!(levels(&numbered), ["2", "2"], "{line}");
    }
    for height in
        ["T.O.S. 140'-0\"", "T.O. Steel = 112'-6\"", "T/Stl. El. 112.50", "Top of steel EL 112"]
    {
        let below = with_types(schedule())
            .sheet("Bays")
            .row(["LEVEL 3"])
            .row([height])
            .row(WITHOUT_LEVEL)
            .row(["A1", "D1", "10'", "31'"])
            .row(["Roof"])
            .row([height])
            .row(["A2", "D1", "10'", "31'"]);
        assert_eq!(levels(&below), ["3", "Roof"], "{height}");
        assert_eq!(below.findings(), [""; 0], "{height}");
    }
}
