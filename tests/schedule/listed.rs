//! Rows that stand twice, released decks in other words, decks spelled out in Bays, and the cells
//! that messages name.

use crate::support::report::{cell, number, report, said};
use crate::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::value::Value;

const BAYS: [&str; 6] = ["Level", "Bay", "Type", "Spans", "Width", "Pour"];

fn job() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(BAYS)
        .row(["2", "A1", "D1", "3@10'", "30'", "P1"])
        .row(["3", "A1", "D1", "3@10'", "30'", "P1"])
}

/// Ten panels of 20 ga are wanted, four are released as `20GA`: six more are ordered, none is left
/// over.
#[test]
fn a_released_gauge_in_other_words_is_the_same_deck() {
    for gauge in ["20", "20GA", "20 gage", ""] {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(BAYS)
            .row(["2", "A1", "D1", "3@10'", "30'", "P1"])
            .sheet("Releases")
            .row(["Release", "Type", "Count", "Length", "Gauge", "Finish"])
            .row(["R1", "D1", "4", "30'", gauge, "g60"]);
        let report = report(&made);
        assert_eq!(report.table("order").map(|order| order.rows), Some(1), "{gauge}");
        assert_eq!(number(&report, "order", 0, "required"), 10.0, "{gauge}");
        assert_eq!(number(&report, "order", 0, "count"), 6.0, "{gauge}");
        assert_eq!(said(&report, "surplus-after-release"), [""; 0], "{gauge}");
    }
}

#[test]
fn pours_that_stand_twice_or_on_another_level() {
    let pours = |rows: &[[&str; 3]]| {
        let mut made = job().sheet("Pours").row(["Pour", "Level", "Start time"]);
        for row in rows {
            made = made.row(row.iter().copied());
        }
        made.findings()
    };
    assert_eq!(
        pours(&[["P1", "", ""], ["p1 ", "", ""]]),
        ["Pours!A2: error[double-pour]: pour `P1` stands more than once\n  also at Pours!A3\n  \
          hint: one row a pour and level: what the rows say is not added up"]
    );
    assert_eq!(
        pours(&[["P1", "2", ""]]),
        ["Bays!F3: warning[unlisted-pour]: pour `P1` of level `3` is not on the Pours sheet\n  \
          hint: it is listed for other levels: give it a row for this one too"]
    );
    assert_eq!(
        pours(&[["P1", "", "25:00"]]),
        [
            "Pours!C2: error[bad-time]: `Start time` is \"25:00\", wanted a time of day, \"7:00\" to \
          \"23:59\""
        ]
    );
}

/// The first row of a level counts: its bays are copied once.
#[test]
fn a_level_listed_twice_is_copied_once() {
    let made = with_types(schedule())
        .sheet("Levels")
        .row(["Level", "Like"])
        .row(["2", ""])
        .row(["3", "2"])
        .row(["3", "2"])
        .sheet("Bays")
        .row(BAYS)
        .row(["2", "A1", "D1", "3@10'", "30'", "P1"]);
    let report = report(&made);
    assert_eq!(report.table("takeoff").map(|takeoff| takeoff.rows), Some(2));
    assert_eq!(
        said(&report, "like-level"),
        ["Levels!B3: note[like-level]: level `3` is as `2`: 1 bay again"]
    );
    assert_eq!(
        made.findings(),
        [
            "Levels!A3: error[double-level]: level `3` stands more than once\n  also at Levels!A4\n  \
          hint: the first row counts"
        ]
    );
}

#[test]
fn a_minus_before_gauge_and_profile_is_not_passed_over() {
    let deck = |profile: &str, gauge: &str| {
        schedule()
            .sheet("Bays")
            .row(
                ["Level", "Bay", "Use", "Profile", "Gauge", "Grade", "Finish", "Slab", "Mix"]
                    .into_iter()
                    .chain(["Spans", "Width"]),
            )
            .row(
                ["2", "A1", "composite", profile, gauge, "SS 40", "G60", "6 1/4", "LW 110"]
                    .into_iter()
                    .chain(["3@10'", "30'"]),
            )
            .findings()
    };
    assert_eq!(deck("3x12", "20"), [""; 0]);
    assert!(deck("3x12", "-20")[0].starts_with("Bays!E2: error[unknown-gauge]: `Gauge`: "));
    assert!(deck("-3x12", "20")[0].starts_with("Bays!D2: error[unknown-profile]: `Profile`: "));
}

/// A deck spelled out in Bays without a type is ordered under a mark of its own.
#[test]
fn a_deck_spelled_out_in_bays_is_ordered() {
    let made = schedule()
        .sheet("Bays")
        .row([
            "Level", "Bay", "Use", "Profile", "Gauge", "Grade", "Finish", "Slab", "Mix", "Cover",
            "Spans", "Width",
        ])
        .row([
            "2",
            "A1",
            "composite",
            "3x12",
            "20 ga",
            "SS 40",
            "G60",
            "6 1/4",
            "LW 110",
            "36",
            "3@10'",
            "30'",
        ]);
    let report = report(&made);
    assert_eq!(cell(&report, "order", 0, "type"), Value::text("3x12-20"));
    assert_eq!(number(&report, "order", 0, "count"), 10.0);
    assert_eq!(said(&report, "not-orderable"), [""; 0]);
    assert_eq!(
        said(&report, "type-made"),
        ["Bays!2:2: note[type-made]: no type is stated; the deck is taken and ordered as type \
          `3x12-20`\n  hint: write a Type and describe it on the Types sheet where the drawings \
          mark it"]
    );
}

/// What the layout refuses of a bay's own row names the cell it was typed in.
#[test]
fn a_refused_cut_or_end_names_its_cell() {
    for (heading, text) in [("Cut", "20'"), ("Start end", "near"), ("Far end", "near")] {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", heading])
            .row(["2", "A1", "D1", "3@10'", "30'", text]);
        let report = report(&made);
        let said = said(&report, "bad-argument");
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(
            said[0].starts_with("Bays!F2: error[bad-argument]: in `deck::plan`"),
            "{}",
            said[0]
        );
        assert!(said[0].contains(", takeoff row 1 (bay 2/A1) plan\n"), "{}", said[0]);
    }
}

/// Bays placed by X and Y: one 30 x 30 ft at the origin, another 20 ft east of it lies over it, one
/// 30 ft east stands beside it.
#[test]
fn bays_that_lie_over_each_other() {
    let placed = |x: &str, level: &str| {
        with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "X", "Y", "Runs"])
            .row(["2", "A", "D1", "3@10'", "30'", "0", "0", "E-W"])
            .row([level, "B", "D1", "3@10'", "30'", x, "0", "N-S"])
            .findings()
    };
    assert_eq!(
        placed("20'", "2"),
        ["Bays!F2: warning[bays-overlap]: bays `A` and `B` of level `2` lie over each other on \
          plan; both are counted\n  also at Bays!F3\n  hint: check X, Y, Spans, Width and Runs: X \
          is east and Y north of the south-west corner"]
    );
    assert_eq!(placed("30'", "2"), [""; 0]);
    assert_eq!(placed("29.95", "2"), [""; 0]);
    assert_eq!(placed("20'", "3"), [""; 0]);
}

/// An outline of next to nothing is laid out without a panel, and that is said.
#[test]
fn a_bay_without_a_panel() {
    let mut made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Runs", "Spans", "Width"])
        .row(["2", "A", "D1", "E-W", "3@10'", "30'"])
        .sheet("Outlines")
        .row(["Level", "Bay", "X", "Y"]);
    for (x, y) in [("0", "0"), ("0.012", "0"), ("0.012", "0.012"), ("0", "0.012")] {
        made = made.row(["2", "A", x, y]);
    }
    assert_eq!(
        said(&report(&made), "bay-without-panels"),
        ["Bays!B2: error[bay-without-panels]: 0.0 ft2 of deck and no panel is laid out for it\n  \
          hint: check Spans, Width, the outline and the openings of the bay"]
    );
}

/// Sequences that only bays name go by their levels: level 3, like level 2, is laid before level 4,
/// though its bays are put behind all rows of Bays.
#[test]
fn sequences_that_are_not_listed_follow_the_levels() {
    let made = with_types(schedule())
        .sheet("Levels")
        .row(["Level", "Like"])
        .row(["2", ""])
        .row(["3", "2"])
        .row(["4", ""])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "D1", "3@10'", "30'"])
        .row(["4", "A", "D1", "3@10'", "30'"]);
    let report = report(&made);
    for table in ["order", "bundles", "tags"] {
        let rows = 0..report.table(table).map_or(0, |table| table.rows);
        let mut sequences: Vec<Value> =
            rows.map(|row| cell(&report, table, row, "sequence")).collect();
        sequences.dedup();
        assert_eq!(sequences, ["2", "3", "4"].map(Value::text), "{table}");
    }
}
