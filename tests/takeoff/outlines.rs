//! Bays given by their corners and bays with openings, from the schedule to Panels, Order and
//! Concrete; and what is said of shapes that can not be laid out.

use super::super::support::report::{cell, number, report, said, table_of, total};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::finding::Severity;
use baytally::table::Report;
use proptest::prelude::*;

const OUTLINES: [&str; 4] = ["Level", "Bay", "X", "Y"];
const OPENINGS: [&str; 8] = ["Level", "Bay", "Opening", "X", "Y", "Length", "Width", "Framed"];

/// Bays of level 2, type D1, pour P1: mark, direction, spans, width.
fn bays(rows: &[[&str; 4]]) -> Schedule {
    let mut made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Pour", "Runs", "Spans", "Width"]);
    for [bay, runs, spans, width] in rows {
        made = made.row(["2", bay, "D1", "P1", runs, spans, width]);
    }
    made
}

fn one(runs: &str, spans: &str, width: &str) -> Schedule {
    bays(&[["A", runs, spans, width]])
}

trait Shaped {
    fn outline(self, corners: &[(&str, &str)]) -> Schedule;
    fn openings(self, rows: &[[&str; 6]]) -> Schedule;
}

impl Shaped for Schedule {
    fn outline(mut self, corners: &[(&str, &str)]) -> Schedule {
        self = self.sheet("Outlines").row(OUTLINES);
        for (x, y) in corners {
            self = self.row(["2", "A", x, y]);
        }
        self
    }

    fn openings(mut self, rows: &[[&str; 6]]) -> Schedule {
        self = self.sheet("Openings").row(OPENINGS);
        for [mark, x, y, length, width, framed] in rows {
            self = self.row(["2", "A", mark, x, y, length, width, framed]);
        }
        self
    }
}

/// Count and length of each row of a table.
fn pieces(report: &Report, table: &str) -> Vec<String> {
    (0..table_of(report, table).rows)
        .map(|row| {
            let length = cell(report, table, row, "length");
            let length = length.as_text().unwrap().to_owned();
            format!("{} of {length}", number(report, table, row, "count"))
        })
        .collect()
}

/// Errors and warnings, whole.
fn wrong(made: &Schedule) -> Vec<String> {
    let report = report(made);
    let is_said = |severity| severity != Severity::Note;
    report.findings.iter().filter(|f| is_said(f.severity)).map(ToString::to_string).collect()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * b.abs().max(1.0)
}

/// By hand: 30 ft along at the start edge, 18 ft at the far one 12 ft across, so 3 ft less a line of
/// 3 ft: each line is as long as its longer side, 30, 27, 24 and 21 ft. Area (30 + 18) / 2 x 12 =
/// 288 ft2. Concrete 4.75 in on average: 288 x 4.75 / 12 / 27 = 4.222 yd3. Ordered 102 ft x 3 ft =
/// 306 ft2 at (0.0358 x 490 / 12 + 0.6 / 16) x 16 / 12 psf.
#[test]
fn a_trapezoid_with_a_skewed_end() {
    let made = one("E-W", "3@10'-0\"", "12'-0\"").outline(&[
        ("0", "0"),
        ("30'", "0"),
        ("18'", "12'"),
        ("0", "12'"),
    ]);
    let report = report(&made);
    let wanted = ["1 of 30'-0\"", "1 of 27'-0\"", "1 of 24'-0\"", "1 of 21'-0\""];
    assert_eq!(pieces(&report, "panels"), wanted);
    assert_eq!(pieces(&report, "order"), wanted);
    assert_eq!(wrong(&made), Vec::<String>::new());
    assert!(close(total(&report, "takeoff", "area_ft2"), 288.0));
    assert!(close(total(&report, "concrete", "area_ft2"), 288.0));
    assert!(close(total(&report, "concrete", "net_yd3"), 288.0 * 4.75 / 12.0 / 27.0));
    let psf = (0.0358 * 490.0 / 12.0 + 0.6 / 16.0) * 16.0 / 12.0;
    assert!(close(total(&report, "order", "weight_lb"), 306.0 * psf));
    // Supports of each line at 36/4: 30 ft 4 of 4 fasteners, 27 and 24 ft 4 too, 21 ft 4.
    let fasteners = (0..table_of(&report, "accessories").rows)
        .find(|row| {
            cell(&report, "accessories", *row, "item").as_text() == Some("support fasteners")
        })
        .map(|row| number(&report, "accessories", row, "count"));
    assert_eq!(fasteners, Some(64.0));
}

/// The same trapezoid with its flutes north to south: X and Y change places.
#[test]
fn flutes_that_run_north() {
    let made = one("N-S", "3@10'-0\"", "12'-0\"").outline(&[
        ("0", "0"),
        ("0", "30'"),
        ("12'", "18'"),
        ("12'", "0"),
    ]);
    assert_eq!(
        pieces(&report(&made), "order"),
        ["1 of 30'-0\"", "1 of 27'-0\"", "1 of 24'-0\"", "1 of 21'-0\""]
    );
    assert_eq!(wrong(&made), Vec::<String>::new());
}

/// By hand: 12 ft of 40 ft lines, then 12 ft of 20 ft lines: 4 and 4. 40 x 12 + 20 x 12 = 720 ft2.
/// Marks in another case are the same marks.
#[test]
fn an_l_shape() {
    let corners =
        [("0", "0"), ("40'", "0"), ("40'", "12'"), ("20'", "12'"), ("20'", "24'"), ("0", "24'")];
    let mut made = bays(&[["a", "E-W", "4@10'-0\"", "24'-0\""]]);
    made = made.outline(&corners);
    let report = report(&made);
    assert_eq!(pieces(&report, "panels"), ["4 of 40'-0\"", "4 of 20'-0\""]);
    assert!(close(total(&report, "takeoff", "area_ft2"), 720.0));
    assert!(close(total(&report, "pours", "net_yd3"), 720.0 * 4.75 / 12.0 / 27.0));
}

/// By hand: a framed stair 10 ft by 6 ft from 10 to 20 ft along interrupts two of ten lines of 40 ft:
/// 8 whole ones, 2 of 10 ft, 2 of 20 ft. The concrete is net of its 60 ft2 but not of the 9 ft2 duct.
/// Not framed, the stair is decked over and still deducted.
#[test]
fn a_stair_opening() {
    let with = |framed| {
        report(&one("E-W", "4@10'-0\"", "30'-0\"").openings(&[
            ["", "10'", "12'", "10'", "6'", framed],
            ["", "30'", "21'", "3'", "3'", "yes"],
        ]))
    };
    let framed = with("yes");
    assert_eq!(pieces(&framed, "order"), ["8 of 40'-0\"", "2 of 10'-0\"", "2 of 20'-0\""]);
    assert!(close(total(&framed, "takeoff", "area_ft2"), 1_200.0));
    let decked = with("no");
    assert_eq!(pieces(&decked, "order"), ["10 of 40'-0\""]);
    assert!(close(total(&decked, "takeoff", "area_ft2"), 1_200.0));
    for report in [framed, decked] {
        assert!(close(total(&report, "takeoff", "concrete_ft2"), 1_140.0));
        assert!(close(total(&report, "concrete", "net_yd3"), 1_140.0 * 4.75 / 12.0 / 27.0));
        assert_eq!(said(&report, "openings-caution").len(), 1);
    }
}

/// Deck under concrete is looked at as it is laid. 5 spans of 12'-3" by 30 ft, an opening of one span by 6
/// ft in the first corner: 2 of the 10 lines begin after it, 4 spans in 2 + 2; the other 8 are 2 + 3. In
/// all 2 x 2 + 8 x 2 = 20 panels. An opening of the middle span, 24 ft wide, leaves 8 lines of two panels
/// over one span each, 2 lines over all three.
#[test]
fn runs_are_those_of_the_panels_as_laid() {
    let runs = |report: &Report| {
        let text = |row| cell(report, "spans", row, "run_text").as_text().map(str::to_owned);
        let mut runs: Vec<String> = (0..table_of(report, "spans").rows).filter_map(text).collect();
        runs.sort();
        runs
    };
    let long =
        one("E-W", "5@12'-3\"", "30'-0\"").openings(&[["", "0", "0", "12'-3\"", "6'", "yes"]]);
    let long = report(&long);
    assert_eq!(runs(&long), ["2@12'-3\"", "3@12'-3\""]);
    assert_eq!(total(&long, "takeoff", "panels"), 20.0);
    assert_eq!(said(&long, "one-span-panels"), [""; 0]);

    let middle = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "20", "SS 50", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Pour", "Runs", "Spans", "Width"])
        .row(["2", "A", "D1", "P1", "E-W", "3@12'-3\"", "30'-0\""])
        .openings(&[["", "12'-3\"", "0", "12'-3\"", "24'", "yes"]]);
    let middle = report(&middle);
    assert_eq!(runs(&middle), ["12'-3\"", "3@12'-3\""]);
    assert_eq!(pieces(&middle, "order"), ["16 of 12'-3\"", "2 of 36'-9\""]);
    let over = said(&middle, "unshored-over-limit");
    assert_eq!(over.len(), 1, "{over:?}");
    let said_of = "type D1 over 12'-3\" under 6 1/4\" of concrete: 121 % of the limit unshored";
    assert!(over[0].contains(said_of), "{over:?}");
    assert_eq!(said(&middle, "one-span-panels").len(), 1);
}

/// The same opening placed or not: deck area is gross of it, concrete area net.
#[test]
fn deck_area_is_gross_and_concrete_net_in_both_ways() {
    for place in [["0", "0"], ["", ""]] {
        let made = one("E-W", "3@10'-0\"", "30'-0\"")
            .openings(&[["", place[0], place[1], "10'", "9'", "yes"]]);
        let report = report(&made);
        assert!(close(total(&report, "takeoff", "area_ft2"), 900.0));
        assert!(close(total(&report, "takeoff", "concrete_ft2"), 810.0));
        let figure = |name: &str| {
            (0..table_of(&report, "summary").rows)
                .find(|row| cell(&report, "summary", *row, "figure").as_text() == Some(name))
                .map(|row| number(&report, "summary", row, "value"))
        };
        assert_eq!(figure("Deck area"), Some(900.0));
        assert_eq!(figure("Concrete area, openings deducted"), Some(810.0));
    }
}

/// An opening from 8 to 28 ft of 30, 12 ft wide from 3 ft across: 4 lines of 8 ft and 2 ft. The 2 ft are
/// ordered at 6 ft.
#[test]
fn a_piece_beside_an_opening_shorter_than_the_shortest() {
    let made =
        one("E-W", "3@10'-0\"", "30'-0\"").openings(&[["", "8'", "3'", "20'", "12'", "yes"]]);
    let report = report(&made);
    assert_eq!(pieces(&report, "order"), ["6 of 30'-0\"", "4 of 8'-0\"", "4 of 6'-0\""]);
    assert_eq!(
        said(&report, "short-pieces"),
        [
            "Bays!F2: note[short-pieces]: 4 panels are laid shorter than the shortest panel, 6'-0\": ordered \
          at 6'-0\" and cut on site\n  hint: ask whether the deck beside an opening or a skewed edge is \
          cut from others"
        ]
    );
}

/// Openings without a place are deducted above 10 ft2 and interrupt nothing: 12 ft2 is, 10 is not.
#[test]
fn openings_that_are_not_placed() {
    let made = one("E-W", "4@10'-0\"", "30'-0\"")
        .openings(&[["", "", "", "4'", "3'", "yes"], ["", "", "", "5'", "2'", "yes"]]);
    let report = report(&made);
    assert_eq!(pieces(&report, "order"), ["10 of 40'-0\""]);
    assert!(close(total(&report, "takeoff", "concrete_ft2"), 1_188.0));
    assert_eq!(wrong(&made), [""; 0]);
}

/// One that would interrupt panels, had it a place, is counted through, and that is said: two covers of
/// 3 ft by 6 ft are 36 ft2.
#[test]
fn a_large_opening_that_is_not_placed() {
    let made =
        |length| one("E-W", "4@10'-0\"", "30'-0\"").openings(&[["", "", "", length, "6'", "yes"]]);
    assert_eq!(wrong(&made("5'-11\"")), [""; 0]);
    assert_eq!(pieces(&report(&made("6'")), "order"), ["10 of 40'-0\""]);
    assert_eq!(
        wrong(&made("6'")),
        [
            "Bays!B2: warning[opening-without-place]: a framed opening of 36 ft2 has no place in the bay: \
          its concrete is taken off, its panels are counted through it\n  hint: state X and Y of the \
          opening on Openings"
        ]
    );
}

/// Past 12 in across the flutes an opening is framed, or the engineer says how the deck is strengthened.
#[test]
fn an_opening_without_a_frame() {
    let made = |runs, length, width, framed| {
        one(runs, "4@10'-0\"", "30'-0\"").openings(&[["", "3'", "3'", length, width, framed]])
    };
    for (runs, length, width) in [("E-W", "4'", "1'"), ("N-S", "1'", "4'")] {
        assert_eq!(wrong(&made(runs, length, width, "no")), [""; 0], "{runs}");
        let across = wrong(&made(runs, width, length, "no"));
        assert_eq!(
            across,
            [
                "Bays!B2: warning[opening-unframed]: an opening of 4.0 ft2, 48.0 in across the flutes, is \
              not framed: the deck at its sides loses its support\n  hint: state Framed on Openings where \
              it is, or ask the engineer of record how the deck is strengthened"
            ]
        );
        assert_eq!(wrong(&made(runs, width, length, "yes")), [""; 0]);
    }
}

/// By hand: a framed triangle whose square corner is 10 ft along at the start edge, 12 ft long and
/// 12 ft wide. It parts the four lines up to its tip: 10 ft on one side; on the other from 19, 16, 13
/// and 10 ft, where the slant leaves the line's far edge, to 40: 21, 24, 27 and 30 ft. 72 ft2 come off.
#[test]
fn an_opening_by_its_corners() {
    let made = one("E-W", "4@10'-0\"", "30'-0\"").openings(&[
        ["T", "10'", "0", "", "", "yes"],
        ["t", "22'", "0", "", "", ""],
        ["T", "10'", "12'", "", "", ""],
    ]);
    let report = report(&made);
    assert_eq!(wrong(&made), Vec::<String>::new());
    assert!(close(total(&report, "takeoff", "area_ft2"), 1_200.0));
    assert!(close(total(&report, "takeoff", "concrete_ft2"), 1_128.0));
    assert_eq!(
        pieces(&report, "panels"),
        [
            "4 of 10'-0\"",
            "1 of 21'-0\"",
            "1 of 24'-0\"",
            "1 of 27'-0\"",
            "1 of 30'-0\"",
            "6 of 40'-0\""
        ]
    );
}

/// A rectangle with a small opening is laid out as the rectangle: a `|` in Width and a width typed
/// as a decimal count as ever.
#[test]
fn an_opening_leaves_breaks_and_decimals_as_they_are() {
    for (width, panels) in [("31'-0\" | 31'-0\"", 22.0), ("2@31'-0\"", 21.0), ("99.0001'", 33.0)] {
        let plain = report(&one("E-W", "3@10'-0\"", width));
        let with =
            report(&one("E-W", "3@10'-0\"", width).openings(&[["", "3'", "3'", "2'", "2'", "no"]]));
        for report in [&plain, &with] {
            assert_eq!(total(report, "takeoff", "panels"), panels, "{width}");
        }
        assert_eq!(pieces(&plain, "order"), pieces(&with, "order"));
    }
}

/// A strip runs over its rows; a framed opening in one does not shorten its panels, and that is said.
#[test]
fn an_opening_in_a_strip() {
    let rows = |opening: bool| {
        let mut made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Strip", "Across"])
            .row(["2", "A", "D1", "3@10'-0\"", "31'-0\"", "S", "1"])
            .row(["2", "B", "D1", "3@10'-0\"", "31'-0\"", "S", "2"]);
        if opening {
            made = made
                .sheet("Openings")
                .row(["Level", "Bay", "X", "Y", "Length", "Width", "Framed"])
                .row(["2", "B", "3'", "3'", "8'", "9'", "yes"]);
        }
        report(&made)
    };
    let (plain, with) = (rows(false), rows(true));
    assert_eq!(total(&with, "order", "count"), 21.0);
    assert_eq!(pieces(&with, "panels"), pieces(&plain, "panels"));
    assert!(close(total(&with, "takeoff", "concrete_ft2"), 2.0 * 930.0 - 72.0));
    assert_eq!(
        said(&with, "opening-in-strip"),
        [
            "Bays!F3: warning[opening-in-strip]: a framed opening of 72 ft2 does not shorten the panels \
          of strip S: they are counted through it\n  hint: leave Strip blank for this bay, and its \
          panels are laid out round the opening"
        ]
    );
}

const LEFT_OUT: &str = "Bays!2:2: error[row-left-out]: rows of Bays are left out until what is \
                        wrong in them is put right";
const IN_ORDER: &str = "\n  hint: list its corners in order round the bay, a row each";

#[test]
fn an_outline_that_crosses_itself() {
    let made = one("E-W", "3@10'-0\"", "12'-0\"").outline(&[
        ("0", "0"),
        ("30'", "12'"),
        ("30'", "0"),
        ("0", "12'"),
    ]);
    assert_eq!(
        wrong(&made),
        [
            format!(
                "Outlines!C2: error[bad-outline]: the outline of bay `A` on level `2` is crossed by \
                 itself: edge 1 to 2 meets edge 3 to 4, wanted an outline whose edges do not cross \
                 or touch{IN_ORDER}"
            ),
            LEFT_OUT.to_owned(),
        ]
    );
}

#[test]
fn an_outline_with_two_corners() {
    let made = one("E-W", "3@10'-0\"", "12'-0\"").outline(&[("0", "0"), ("30'", "12'")]);
    assert_eq!(
        wrong(&made),
        [
            format!(
                "Outlines!C2: error[bad-outline]: the outline of bay `A` on level `2` is 2 corners, \
                 wanted 3 to 2000 different corners{IN_ORDER}"
            ),
            LEFT_OUT.to_owned(),
        ]
    );
}

#[test]
fn spans_that_do_not_reach_the_outline() {
    let corners = [("0", "0"), ("30'", "0"), ("30'", "12'"), ("0", "12'")];
    assert_eq!(
        wrong(&one("E-W", "2@10'-0\"", "12'-0\"").outline(&corners)),
        [
            "Bays!F2: error[spans-short-of-outline]: the spans of bay `A` on level `2` are 20'-0\" \
             in all, wanted spans that reach the end of its outline, 30'-0\" along\n  also at \
             Outlines!C2\n  hint: supports are measured from where the outline begins along the \
             flutes",
            LEFT_OUT,
        ]
    );
    assert_eq!(
        wrong(&one("E-W", "4@10'-0\"", "12'-0\"").outline(&corners)),
        [
            "Bays!F2: warning[spans-beyond-outline]: the spans of bay `A` on level `2` are 40'-0\" in \
          all, its outline ends after 30'-0\" along\n  also at Outlines!C2\n  hint: check the spans \
          and which way the flutes run; no panel lies in what is beyond"
        ]
    );
}

/// Without spans there are no supports: the row is left out, and its corners go with it.
#[test]
fn an_outline_without_spans_runs_or_its_width() {
    let corners = [("0", "0"), ("30'", "0"), ("30'", "12'"), ("0", "12'")];
    assert_eq!(
        wrong(&one("E-W", "", "12'-0\"").outline(&corners)),
        [
            "Bays!F2: error[missing-value]: `Spans` is blank\n  hint: Spans along the flutes: \
             3@10'-0\".",
            LEFT_OUT,
            "Outlines!B2: error[unknown-bay]: no bay `A` on level `2`\n  also at Outlines!B3, \
             Outlines!B4, Outlines!B5",
        ]
    );
    assert_eq!(
        wrong(&one("", "3@10'-0\"", "12'-0\"").outline(&corners)),
        [
            "Bays!E2: warning[runs-missing]: bay `A` on level `2` has an outline but no direction of \
          its flutes; E-W is taken\n  hint: state Runs, E-W or N-S, in Bays, in Levels or on the \
          Job sheet"
        ]
    );
    assert_eq!(
        wrong(&one("E-W", "3@10'-0\"", "25'-0\"").outline(&corners)),
        ["Bays!G2: warning[width-not-outline]: the width of bay `A` on level `2` is 25'-0\", its \
          outline 12'-0\" across; the outline counts\n  also at Outlines!D2\n  hint: check the \
          corners and which way the flutes run, or put Width right"]
    );
}

#[test]
fn an_outline_in_a_strip() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Runs", "Spans", "Width", "Strip", "Across"])
        .row(["2", "A", "D1", "E-W", "3@10'-0\"", "12'-0\"", "S", "1"])
        .row(["2", "B", "D1", "E-W", "3@10'-0\"", "12'-0\"", "S", "2"])
        .outline(&[("0", "0"), ("30'", "0"), ("30'", "12'"), ("0", "12'")]);
    assert_eq!(
        wrong(&made),
        [
            "Bays!G2: error[outline-in-strip]: bay `A` on level `2` has an outline and stands in \
             strip `S`, wanted a bay by itself\n  also at Outlines!B2\n  hint: leave Strip blank \
             for it, and let the strip end beside it",
            LEFT_OUT,
            "Bays!H3: error[strip-incomplete]: strip `S` on level `2` has no row at Across 1: panels \
             that begin there are not counted\n  hint: rows of Bays are left out: what is wrong in \
             them comes first",
        ]
    );
}

#[test]
fn openings_that_do_not_fit() {
    let with = |rows: &[[&str; 6]]| wrong(&one("E-W", "3@10'-0\"", "30'-0\"").openings(rows));
    assert_eq!(
        with(&[["", "25'", "3'", "10'", "6'", "yes"]]),
        [
            "Openings!D2: error[opening-outside]: an opening of bay `A` on level `2` is 25'-0\" to \
             35'-0\" along, 3'-0\" to 9'-0\" across, wanted an opening within the bay, 0'-0\" to \
             30'-0\" along, 0'-0\" to 30'-0\" across\n  also at Bays!B2\n  hint: X is east and Y north \
             on plan, on the same axes as the bay's own",
            LEFT_OUT,
        ]
    );
    assert_eq!(
        with(&[["", "2'", "3'", "8'", "6'", "yes"], ["", "8'", "6'", "6'", "6'", "yes"]]),
        [
            "Openings!D3: error[openings-overlap]: an opening of bay `A` on level `2` is 8'-0\" to \
             14'-0\" along, 6'-0\" to 12'-0\" across, over another, 2'-0\" to 10'-0\" along, 3'-0\" \
             to 9'-0\" across, wanted openings that do not overlap\n  also at Openings!D2\n  hint: \
             check their places, or give the whole as one opening by its corners",
            LEFT_OUT,
        ]
    );
    assert_eq!(
        with(&[["", "2'", "3'", "8'", "", "yes"]]),
        [
            "Openings!G2: error[opening-without-size]: an opening of bay `A` on level `2` has no \
             size, wanted Length and Width\n  hint: or a mark under Opening and a row for each of \
             its corners",
            LEFT_OUT,
        ]
    );
    assert_eq!(
        with(&[["", "2'", "", "8'", "6'", "yes"]]),
        [
            "Openings!E2: error[opening-half-placed]: an opening of bay `A` on level `2` lacks X or \
             Y, wanted both\n  hint: both blank is an opening that is not placed: its concrete is \
             deducted",
            LEFT_OUT,
        ]
    );
    assert_eq!(
        with(&[["T", "2'", "2'", "", "", "yes"], ["T", "4'", "4'", "", "", ""]]),
        [
            "Openings!D2: error[bad-opening]: an opening of bay `A` on level `2` is 2 corners, \
             wanted 3 to 2000 different corners\n  hint: list its corners in order round the \
             opening, a row each",
            LEFT_OUT,
        ]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A bay given by its four corners is ordered as the same bay given by Width and Spans, and
    /// carries the same concrete.
    #[test]
    fn rectangles_by_corners_are_the_rectangles(
        (spans, span_in) in (1_u32..8, 72_u32..160),
        width_in in 24_u32..1_200,
        (x, y, north) in (0_u32..90, 0_u32..90, any::<bool>()),
    ) {
        let runs = if north { "N-S" } else { "E-W" };
        let (span, width) = (format!("{spans}@{span_in}\""), format!("{width_in}\""));
        let (along, across) = (f64::from(spans * span_in) / 12.0, f64::from(width_in) / 12.0);
        let (east, north) = if north { (across, along) } else { (along, across) };
        let (x, y) = (f64::from(x), f64::from(y));
        let corner = |x: f64, y: f64| (format!("{:.0}\"", x * 12.0), format!("{:.0}\"", y * 12.0));
        let corners = [corner(x, y), corner(x + east, y), corner(x + east, y + north), corner(x, y + north)];
        let corners: Vec<(&str, &str)> = corners.iter().map(|(x, y)| (x.as_str(), y.as_str())).collect();
        let plain = report(&one(runs, &span, &width));
        let shaped = report(&one(runs, &span, &width).outline(&corners));
        prop_assert_eq!(pieces(&plain, "panels"), pieces(&shaped, "panels"));
        prop_assert_eq!(pieces(&plain, "order"), pieces(&shaped, "order"));
        for (table, column) in [
            ("takeoff", "area_ft2"), ("takeoff", "concrete_ft2"), ("order", "weight_lb"),
            ("concrete", "total_yd3"), ("pours", "order_yd3"),
        ] {
            let (a, b) = (total(&plain, table, column), total(&shaped, table, column));
            prop_assert!(close(a, b), "{}.{}: {} and {}", table, column, a, b);
        }
    }
}

/// Along and Across are of the flutes, whichever way they run; Length and Width of the plan.
#[test]
fn sizes_along_and_across_the_flutes() {
    let made = |runs: &str, headings: [&str; 2], sizes: [&str; 2]| {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Runs", "Spans", "Width", "X", "Y"])
            .row(["2", "A", "D1", runs, "3@10'", "30'", "0'", "0'"])
            .sheet("Openings")
            .row(["Level", "Bay", "X", "Y", headings[0], headings[1], "Framed"])
            .row(["2", "A", "8'", "8'", sizes[0], sizes[1], "yes"]);
        let report = report(&made);
        (total(&report, "takeoff", "lineal_ft"), total(&report, "takeoff", "area_ft2"))
    };
    let flutes = |runs| made(runs, ["Along", "Across"], ["12'", "6' 6\""]);
    let plan = |runs, sizes| made(runs, ["Length", "Width"], sizes);
    assert_eq!(flutes("E-W"), plan("E-W", ["12'", "6' 6\""]));
    assert_eq!(flutes("N-S"), plan("N-S", ["6' 6\"", "12'"]));
    assert_eq!(flutes("N-S"), flutes("E-W"), "a square bay turned");
    assert_ne!(flutes("N-S"), plan("N-S", ["12'", "6' 6\""]));
}
