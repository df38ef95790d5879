//! Fasteners, edge form and mesh from the schedule to Accessories; what can not be worked out leaves the
//! others standing.

use super::super::support::report::{cell, number, report, report_with, said, shop, table_of};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::table::Report;
use baytally::value::Value;

const BAYS: [&str; 10] =
    ["Level", "Bay", "Type", "Spans", "Width", "Copies", "Strip", "Along", "Across", "Status"];

fn bays(rows: &[[&str; 10]]) -> Schedule {
    let mut made = with_types(schedule()).sheet("Bays").row(BAYS);
    for row in rows {
        made = made.row(*row);
    }
    made
}

fn row_of(report: &Report, item: &str) -> usize {
    (0..table_of(report, "accessories").rows)
        .find(|row| cell(report, "accessories", *row, "item").as_text() == Some(item))
        .unwrap_or_else(|| panic!("no {item}"))
}

fn count(report: &Report, item: &str) -> f64 {
    number(report, "accessories", row_of(report, item), "count")
}

/// By hand: 10 lines at 36/4 take 4 + 9 x 3 = 31 at each of 4 supports, in each of 5 copies: 620. Side laps:
/// 9 of them, 3 spans of 3 fasteners (10 ft at 36 in), 5 copies: 405.
#[test]
fn copies_are_lines_of_their_own() {
    let report = report(&bays(&[["2", "A", "D1", "3@10'-0\"", "30'", "5", "", "", "", ""]]));
    assert_eq!(count(&report, "support fasteners"), 620.0);
    assert_eq!(count(&report, "side-lap fasteners"), 405.0);
}

/// Roof deck lapped at its ends: 12 spans of 6 ft in two panels of 36 ft. Supports are 13, at the lap one
/// fastener holds both: 13 x 31. Butted floor deck of the same is fastened at both ends: 14 x 31.
#[test]
fn a_lap_is_fastened_once() {
    let roof = report(&bays(&[["R", "A", "RD1", "12@6'-0\"", "30'", "", "", "", "", ""]]));
    assert_eq!(count(&roof, "support fasteners"), 13.0 * 31.0);
    let floor = report(&bays(&[["2", "A", "D1", "12@6'-0\"", "30'", "", "", "", "", ""]]));
    assert_eq!(count(&floor, "support fasteners"), 14.0 * 31.0);
}

/// Two rows across one strip, 15 ft each: 10 lines together, 31 a support. The first on hold leaves the
/// 5 lines of the second: 16 a support.
#[test]
fn rows_of_a_strip_on_hold() {
    let strip = |status| {
        bays(&[
            ["2", "A", "D1", "3@10'-0\"", "15'", "", "S", "1", "1", status],
            ["2", "B", "D1", "3@10'-0\"", "15'", "", "S", "1", "2", ""],
        ])
    };
    assert_eq!(count(&report(&strip("")), "support fasteners"), 4.0 * 31.0);
    assert_eq!(count(&report(&strip("hold")), "support fasteners"), 4.0 * 16.0);
}

/// Rows along one strip are each counted once: 2 + 1 spans over 4 supports and a butt joint or none.
#[test]
fn rows_along_a_strip() {
    let strip = bays(&[
        ["2", "A", "D1", "2@10'-0\"", "30'", "", "S", "1", "1", ""],
        ["2", "B", "D1", "1@10'-0\"", "30'", "", "S", "2", "1", ""],
    ]);
    let one = bays(&[["2", "A", "D1", "3@10'-0\"", "30'", "", "", "", "", ""]]);
    let (strip, one) = (report(&strip), report(&one));
    for item in ["support fasteners", "side-lap fasteners"] {
        assert_eq!(count(&strip, item), count(&one, item), "{item}");
    }
}

/// A fastening that is no pattern and a mesh that is not listed cost their own rows alone.
#[test]
fn one_odd_row_leaves_the_others() {
    let made = |fastening, mesh| {
        with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Studs", "Fastening", "Mesh"])
            .row(["2", "A", "D1", "3@10'-0\"", "30'", "7", fastening, mesh])
            .row(["3", "A", "D1", "3@10'-0\"", "30'", "", "", "6x6-W2.1xW2.1"])
    };
    let welded = report(&made("36/4 weld", ""));
    assert_eq!(count(&welded, "support fasteners"), 124.0);
    assert!(!welded.is_incomplete(), "{:?}", welded.findings.first());
    let odd = report(&made("some", "9x9-W9"));
    assert!(odd.is_incomplete());
    assert!(said(&odd, "bad-argument").iter().any(|s| s.contains("`pattern` is \"some\"")));
    assert_eq!(count(&odd, "headed studs"), 7.0);
    let rows = table_of(&odd, "accessories").rows;
    let level_3 = (0..rows)
        .filter(|row| cell(&odd, "accessories", *row, "level") == Value::text("3"))
        .map(|row| number(&odd, "accessories", row, "count"))
        .collect::<Vec<_>>();
    // 124 at supports, 9 laps x 3 spans x 3; 900 ft2 over rolls of 750 ft2, laps counted: 2.
    assert_eq!(level_3, [124.0, 81.0, 2.0]);
    let mesh = (0..rows)
        .filter(|row| cell(&odd, "accessories", *row, "item") == Value::text("mesh"))
        .map(|row| cell(&odd, "accessories", row, "size"))
        .collect::<Vec<_>>();
    assert_eq!(mesh, [Value::text("6x6-W2.1xW2.1, rolls of 5'-0\" x 150'-0\"")]);
    let other = row_of(&odd, "reinforcement");
    assert_eq!(cell(&odd, "accessories", other, "size"), Value::text("9x9-W9"));
    assert_eq!(cell(&odd, "accessories", other, "count"), Value::Blank);
    assert_eq!(said(&odd, "mesh-not-known").len(), 1);
}

/// One mesh however it is written: 1,800 ft2 in rolls of 750 ft2, laps counted, are 3, where each bay by
/// itself would take 2.
#[test]
fn mesh_as_it_is_written() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Mesh"])
        .row(["2", "A", "D1", "3@10'-0\"", "30'", "6x6-W2.1xW2.1"])
        .row(["2", "B", "D1", "3@10'-0\"", "30'", "WWF 6X6 W2.1/W2.1"]);
    let report = report(&made);
    assert_eq!(count(&report, "mesh"), 3.0);
    assert!(!report.is_incomplete());
    assert_eq!(said(&report, "mesh-not-known"), [""; 0]);
}

/// By hand: 10 lines, 9 laps. Three spans of 10 ft take 3 each: 81. A cantilever of 4 ft takes one at its
/// end and one each 12 in from there: 4 each, 36 more; of 1'-6" two each. By outline the same.
#[test]
fn side_laps_of_a_cantilever() {
    let made = |far: &str, start: &str, opening: bool| {
        let made = with_types(schedule())
            .sheet("Bays")
            .row([
                "Level",
                "Bay",
                "Type",
                "Runs",
                "Spans",
                "Width",
                "Far end",
                "Start end",
                "X",
                "Y",
            ])
            .row(["2", "A", "D1", "E-W", "3@10'-0\"", "30'", far, start, "0", "0"]);
        let made = if opening {
            made.sheet("Openings")
                .row(["Level", "Bay", "X", "Y", "Length", "Width", "Framed"])
                .row(["2", "A", "14", "4", "1", "1", "no"])
        } else {
            made
        };
        count(&report(&made), "side-lap fasteners")
    };
    for opening in [false, true] {
        assert_eq!(made("", "", opening), 81.0);
        assert_eq!(made("+4'", "", opening), 81.0 + 36.0);
        assert_eq!(made("+4'", "1'-6\"", opening), 81.0 + 36.0 + 18.0);
        assert_eq!(made("+2\"", "-4\"", opening), 81.0);
    }
}

/// One edge of 60 ft beside a bay of a 6 1/4 in slab.
fn edge(overhang: &str, slab: &str, item: &str, gauge: &str) -> Report {
    report(
        &bays(&[["2", "A", "D1", "3@10'-0\"", "30'", "", "", "", "", ""]])
            .sheet("Edges")
            .row(["Level", "Length", "Overhang", "Slab", "Item", "Gauge"])
            .row(["2", "60", overhang, slab, item, gauge]),
    )
}

/// The table, from memory: at a slab of 6 1/4 in 10 ga up to 10 in, bent plate beyond 11 in.
#[test]
fn edge_form_beside_its_table() {
    let beyond = edge("14", "6 1/4", "edge form", "");
    assert_eq!(
        said(&beyond, "edge-form-bent-plate"),
        [
            "Edges!C2: warning[edge-form-bent-plate]: edge form at a slab of 6 1/4\" and an overhang of 14\" \
          is outside the table of edge form: it is counted as bent plate, supplied by others\n  hint: \
          state Gauge, or Item `bent plate`; ask the engineer of record"
        ]
    );
    assert_eq!(said(&edge("14", "6 1/4", "bent plate", ""), "edge-form-bent-plate"), [""; 0]);
    let light = edge("10", "6 1/4", "edge form", "16");
    assert_eq!(
        said(&light, "edge-form-light"),
        [
            "Edges!F2: warning[edge-form-light]: 16 ga edge form is typed, the table has 10 ga for a slab of \
          6 1/4\" and an overhang of 10\"\n  hint: ask the engineer of record; the table stands in the \
          rule `edge_form_gauge`"
        ]
    );
    assert_eq!(said(&edge("10", "6 1/4", "edge form", "10"), "edge-form-light"), [""; 0]);
}

/// Gauges as people write them; what is no gauge, and what is no edge form, is said at its cell.
#[test]
fn edges_as_they_are_written() {
    for gauge in
        ["14", "14 ga", "14GA.", "#14", "14 gauge", "14 ga (0.0747\")", "14 ga, G60 plain", "14.0"]
    {
        let made = edge("4", "6 1/4", "pour stop", gauge);
        let row = row_of(&made, "edge form");
        let size = "14 ga, 6 1/4\" slab, 4\" overhang";
        assert_eq!(cell(&made, "accessories", row, "size").as_text(), Some(size));
        assert_eq!(cell(&made, "accessories", row, "by").as_text(), Some("ours"));
        assert!(!made.is_incomplete());
    }
    assert_eq!(said(&edge("4", "6 1/4", "", "16/14"), "edge-gauge").len(), 1);
    let plate = edge("4", "6 1/4", "", "1/4\" PL");
    assert_eq!(number(&plate, "accessories", row_of(&plate, "bent plate"), "length_ft"), 60.0);
    assert_eq!(
        said(&edge("4", "6 1/4", "", "heavy"), "edge-gauge"),
        [
            "Edges!F2: error[edge-gauge]: heavy is no gauge of edge form; its length alone is counted\n  hint: \
             write 20, 18, 16, 14, 12 or 10, or the plate's thickness with Item `bent plate`"
        ]
    );
    let angle = edge("4", "6 1/4", "L4x4x1/4", "");
    assert_eq!(
        said(&angle, "edge-item"),
        [
            "Edges!E2: warning[edge-item]: L4x4x1/4: its length alone is counted, supplied by others\n  hint: \
             Item `edge form` (or pour stop) counts pieces and weight; `bent plate` and closures are counted by length"
        ]
    );
}

/// 60 ft x 10 in x 6 1/4 in are 60 x 0.8333 x 0.5208 / 27 = 0.9645 yd3, whether Slab is typed or the bays'.
#[test]
fn an_edge_without_a_slab() {
    let (typed, taken) = (edge("10", "6 1/4", "", ""), edge("10", "", "", ""));
    assert_eq!(said(&typed, "edge-slab-taken"), [""; 0]);
    assert_eq!(
        said(&taken, "edge-slab-taken"),
        [
            "Edges!B2: note[edge-slab-taken]: the edge states no Slab; 6 1/4\", that of the bays beside it, is \
          taken\n  hint: state Slab on Edges"
        ]
    );
    for report in [typed, taken] {
        assert_eq!(count(&report, "edge form"), 7.0);
        assert!((number(&report, "concrete", 1, "net_yd3") - 0.9645).abs() < 5e-5);
    }
}

/// Edges and filler strips come with the deck of a sequence; what is for a level of two has none. Fillers
/// follow the deck's gauge and finish, studs have their length, and ours weigh apart.
#[test]
fn accessories_of_sequences() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row([
            "Level",
            "Bay",
            "Type",
            "Sequence",
            "Spans",
            "Width",
            "Studs",
            "Stud length",
            "Gauge",
        ])
        .row(["2", "A", "D1", "S1", "3@10'", "30'-4\"", "8", "4 1/2", ""])
        .row(["2", "B", "D1", "S2", "3@10'", "30'-4\"", "", "", "18"])
        .sheet("Edges")
        .row(["Level", "Length", "Slab", "Gauge", "Sequence", "By"])
        .row(["2", "40", "6 1/4", "14", "S2", ""])
        .row(["2", "40", "6 1/4", "14", "", "others"]);
    let report = report(&made);
    let text = |row, column| match cell(&report, "accessories", row, column) {
        Value::Text(text) => text.to_string(),
        _ => "-".to_owned(),
    };
    let rows: Vec<String> = (0..table_of(&report, "accessories").rows)
        .map(|row| ["sequence", "item", "size", "by"].map(|column| text(row, column)).join(" | "))
        .collect();
    let edge = "edge form | 14 ga, 6 1/4\" slab, 0\" overhang";
    assert_eq!(rows[0], format!("S2 | {edge} | ours"));
    assert_eq!(rows[1], format!("- | {edge} | others"));
    assert_eq!(rows[2], "S1 | filler strip | up to 6\" wide, 20 ga G60 as the deck | ours");
    assert_eq!(rows[3], "S2 | filler strip | up to 6\" wide, 18 ga G60 as the deck | ours");
    assert!(rows.contains(&"- | headed studs | 4 1/2\" long | others".to_owned()), "{rows:#?}");
    let weight = number(&report, "accessories", 0, "weight_lb");
    assert_eq!(number(&report, "accessories", 0, "ours_lb"), weight);
    assert_eq!(cell(&report, "accessories", 1, "ours_lb"), Value::Blank);
    assert!(said(&report, "accessories-not-loaded")[0].contains(&format!("weigh {weight:.0} lb")));
}

/// Rules within reason that take a panel off its support, or off the one beside it, are asked about.
#[test]
fn rules_that_shorten_panels_and_laps() {
    let made = bays(&[
        ["2", "A", "D1", "3@9'-9 1/2\"", "30'", "", "", "", "", ""],
        ["Roof", "R", "RD1", "3@6'-0\"", "30'", "", "", "", "", ""],
    ]);
    let with = |rule: &str| report_with(&made, Some(&shop(&[("rules.rhai", rule)])));
    // 29'-4 1/2" goes down to 29'-0".
    assert_eq!(
        said(&with("fn length_step_in(bay) { 6 }"), "panel-shortened"),
        [
            "Bays!B2: warning[panel-shortened]: panels laid out as 29'-4 1/2\" are ordered as 29'-0\": 4 1/2\" \
             short of their supports\n  hint: order in finer steps by the rule `length_step_in`: butted panels \
             are rounded down"
        ]
    );
    assert_eq!(said(&with("fn length_step_in(bay) { 0.5 }"), "panel-shortened"), [""; 0]);
    let feet = with("fn end_lap_in(bay) { 0.25 }");
    assert_eq!(said(&feet, "end-lap-short").len(), 1);
    assert!(
        said(&feet, "end-lap-short")[0]
            .starts_with("Bays!B3: warning[end-lap-short]: ends lap by 1/4\"")
    );
    let pattern = with("fn fastening_pattern(bay) { \"24/4\" }");
    assert!(
        said(&pattern, "pattern-of-another-cover")[0]
            .contains("24/4 is for panels of 24 in, D1 covers 36\"")
    );
    for fits in ["36/4", "36 / 4", "35.5/4"] {
        let rule = format!("fn fastening_pattern(bay) {{ \"{fits}\" }}");
        assert_eq!(said(&with(&rule), "pattern-of-another-cover"), [""; 0], "{fits}");
    }
    let plain = with("fn most_spans(bay) { 6 }");
    for code in ["panel-shortened", "end-lap-short", "pattern-of-another-cover"] {
        assert_eq!(said(&plain, code), [""; 0]);
    }
}

/// Rules beyond reason are refused by name where they are read.
#[test]
fn rules_out_of_range() {
    let made = bays(&[["2", "A", "D1", "3@10'-0\"", "30'", "", "", "", "", ""]]);
    for (rule, said_of_it) in [
        ("fn length_step_in(bay) { 24 }", "length_step_in gives 24 in, wanted 0 to 12 in"),
        ("fn end_lap_in(bay) { -3 }", "end_lap_in gives -3 in, wanted 0 to 24 in"),
        (
            "fn spare_panels(line) { -2 }",
            "spare_panels gives -2 panels, wanted 0 to 1000000 panels",
        ),
        (
            "fn concrete_waste(bay) { 1.5 }",
            "concrete_waste gives 1.5 as a share, wanted 0 to 1 as a share",
        ),
        ("fn truck_yd3() { 0 }", "truck_yd3 gives 0 yd3, wanted 0.25 to 100 yd3"),
    ] {
        let report = report_with(&made, Some(&shop(&[("rules.rhai", rule)])));
        assert!(report.is_incomplete(), "{rule}");
        let found = said(&report, "thrown");
        assert!(found.iter().any(|s| s.contains(&format!("the rule {said_of_it}"))), "{found:?}");
    }
}
