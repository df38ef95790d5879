//! What people type that would change what is counted: it is asked about, or read as they mean it.

use crate::cells;
use crate::support::schedule_builder::{Schedule, schedule, with_types};

const HEADINGS: [&str; 5] = ["Level", "Bay", "Type", "Spans", "Width"];
const BAY: [&str; 5] = ["2", "A1", "D1", "3@10'", "31'"];

fn bays() -> Schedule {
    with_types(schedule()).sheet("Bays").row(HEADINGS)
}

/// A schedule with a column more in Bays.
fn with_column(heading: &str, value: &str) -> Schedule {
    let row = |cells: [&str; 5], more: &str| -> Vec<String> {
        cells.iter().chain([&more]).map(|cell| (*cell).to_owned()).collect()
    };
    with_types(schedule()).sheet("Bays").row(row(HEADINGS, heading)).row(row(BAY, value))
}

/// The codes of what is said, notes left out.
fn codes(made: &Schedule) -> Vec<String> {
    let code = |finding: &String| {
        let from = finding.find('[').unwrap() + 1;
        finding[from..].split(']').next().unwrap().to_owned()
    };
    made.findings().iter().map(code).collect()
}

#[test]
fn a_table_that_stands_twice_on_its_sheet() {
    let twice = bays().row(BAY).row([""]).row([
        "Level",
        "Bay",
        "Type",
        "Spans",
        "Width",
        "Slope",
        "Alternate",
    ]);
    let twice = twice.row(["3", "R1", "RD1", "2@6'", "30'", "1/4", ""]);
    let marks: Vec<_> = twice.job().bays.iter().map(|bay| bay.mark.to_string()).collect();
    assert_eq!(marks, ["A1", "R1"]);
    let other_order = bays()
        .row(BAY)
        .row(["Bay", "Level", "Type", "Width", "Spans"])
        .row(["R1", "3", "RD1", "30'", "2@6'"]);
    let job = other_order.job();
    assert_eq!((&*job.bays[1].mark, &*job.bays[1].level, job.bays[1].spans.len()), ("R1", "3", 2));
}

#[test]
fn the_base_bid_is_no_alternate() {
    for word in ["Base", "BASE BID", "base bid only", "no", "N", "0", "-", "None", "n/a"] {
        let job = with_column("Alternate", word).job();
        assert_eq!(job.bays[0].alternate, None, "{word}");
    }
    assert_eq!(with_column("Alternate", "2").job().bays[0].alternate.as_deref(), Some("2"));
}

#[test]
fn marks_that_name_several() {
    for level in ["2-5", "L2-L5", "Levels 2-5", "Floors 2 to 5", "2nd-5th", "2-5 typ", "Typ. 2 & 3"]
    {
        let made = bays().row([level, "A1", "D1", "10'", "31'"]);
        assert_eq!(codes(&made), ["unlisted-level"], "{level}");
    }
    for level in ["2", "L2", "Level 2", "Roof", "2A-B", "P1", "Mezz.", "Low roof"] {
        let made = bays().row([level, "A1", "D1", "10'", "31'"]);
        assert_eq!(codes(&made), [""; 0], "{level}");
    }
    // Their copies, or their widths, say how many there are.
    let counted = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies"])
        .row(["2-5", "A1", "D1", "10'", "31'", "4"])
        .row(["2", "B1 thru B4", "D1", "10'", "4@31'", ""]);
    assert_eq!(codes(&counted), [""; 0]);
    let buildings = bays().row(["1-1", "A1", "D1", "10'", "31'"]);
    let buildings = buildings.row(["1-2", "A1", "D1", "10'", "31'"]).sheet("Levels");
    assert_eq!(codes(&buildings.row(["Level", "Like"]).row(["1-1", ""]).row(["1-2", ""])), [""; 0]);
    let listed = bays().row(["3", "A1", "D1", "10'", "31'"]).sheet("Levels").row(["Level", "Like"]);
    let listed = listed.row(["3", ""]).row(["4-6", "3"]);
    assert_eq!(codes(&listed), ["unlisted-level"]);
    for bay in ["C1, C2, C3", "B1 thru B4", "D1 (x4)", "D1 x2"] {
        let made = bays().row(["2", bay, "D1", "10'", "31'"]);
        assert_eq!(codes(&made), ["several-bays"], "{bay}");
    }
    for bay in
        ["A1", "A-B/1-2", "A-B, 1-2", "A1-B2", "Bay 2", "A, 1", "1,2", "2&3", "Canopy to east"]
    {
        let made = bays().row(["2", bay, "D1", "10'", "31'"]);
        assert_eq!(codes(&made), [""; 0], "{bay}");
    }
}

#[test]
fn columns_that_would_change_the_count() {
    for heading in ["Multiplier", "Mult.", "No. req'd"] {
        assert_eq!(with_column(heading, "4").job().bays[0].copies, 4, "{heading}");
    }
    for (heading, code) in [
        ("No. of floors", "count-not-read"),
        ("No. of bays", "count-not-read"),
        ("Slab (total)", "heading-misspelt"),
        ("Far end (ft)", "heading-misspelt"),
    ] {
        assert_eq!(codes(&with_column(heading, "2")), [code], "{heading}");
    }
    for (spans, beside, other) in [("3", "Spacing", "10'"), ("10'", "No. of spans", "3")] {
        let single = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", beside, "Width"])
            .row(["2", "A1", "D1", spans, other, "31'"]);
        assert_eq!(codes(&single), ["count-not-read"], "{beside}");
    }
    // Beside full spans a spacing says something else, as do counts of what is no bay.
    for heading in
        ["Spacing", "No. of sheets", "No. of panels", "Slab (cy)", "Mesh (sf)", "Pour (no.)"]
    {
        assert_eq!(codes(&with_column(heading, "2")), [""; 0], "{heading}");
    }
    let by_hand = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Qty", "Length"])
        .row(["2", "A1", "D1", "3@10'", "31'", "11", "30'"]);
    assert_eq!(codes(&by_hand), ["count-not-read"]);
    let openings = bays()
        .row(BAY)
        .sheet("Openings")
        .row(["Level", "Bay", "Qty", "Along", "Across"])
        .row(["2", "A1", "2", "8'", "4'"]);
    assert_eq!(codes(&openings), ["count-not-read"]);
}

/// Headings that may say how often are asked about where whole numbers above 1 stand below them.
#[test]
fn columns_that_may_count() {
    for heading in [
        "No.",
        "# of bays",
        "EA",
        "# Flrs",
        "Floors",
        "Quan",
        "Pcs",
        "Reps",
        "Typ x",
        "Identical bays",
    ] {
        assert_eq!(codes(&with_column(heading, "4")), ["count-not-read"], "{heading}");
        let said = codes(&with_column(heading, "north"));
        assert!(heading.starts_with('#') || said.is_empty(), "{heading}: {said:?}");
    }
    // Rows that are numbered one after the other.
    let numbered = with_types(schedule())
        .sheet("Bays")
        .row(["No.", "Level", "Bay", "Type", "Spans", "Width"])
        .row(["1", "2", "A1", "D1", "10'", "31'"])
        .row(["2", "2", "A2", "D1", "10'", "31'"])
        .row(["4", "2", "A3", "D1", "10'", "31'"]);
    assert_eq!(codes(&numbered), [""; 0]);
    // Those of each level, and counts that go down.
    let column = |numbers: [&str; 8]| {
        let head = with_types(schedule()).sheet("Bays");
        let head = head.row(["No.", "Level", "Bay", "Type", "Spans", "Width"]);
        numbers.iter().enumerate().fold(head, |made, (at, number)| {
            let level = if at < 4 { "2" } else { "3" };
            made.row([*number, level, &format!("A{}", at % 4), "D1", "10'", "31'"])
        })
    };
    assert_eq!(codes(&column(["1", "2", "3", "4", "1", "2", "3", "4"])), [""; 0]);
    assert_eq!(codes(&column(["6", "4", "2", "1", "6", "4", "2", "1"])), ["count-not-read"]);
    assert_eq!(codes(&column(["8", "7", "6", "5", "4", "3", "2", "1"])), ["count-not-read"]);
    let ones = bays().row(BAY).sheet("Edges").row(["Level", "Qty", "Length", "Overhang"]);
    assert_eq!(codes(&ones.row(["2", "1", "30'", "4"])), [""; 0]);
    let edges = bays().row(BAY).sheet("Edges").row(["Level", "Qty", "Length", "Overhang"]);
    assert_eq!(codes(&edges.row(["2", "4", "30'", "4"])), ["count-not-read"]);
    let curbs = bays().row(BAY).sheet("Extra concrete");
    let curbs = curbs.row(["Level", "Ea.", "Length", "Width", "Depth"]);
    assert_eq!(codes(&curbs.row(["2", "4", "10'", "8'", "6"])), ["count-not-read"]);
}

/// Quantities of the estimator's own are no misspelt headings.
#[test]
fn quantities_of_ones_own() {
    for heading in ["SQ", "LF", "SF", "CY"] {
        assert_eq!(codes(&with_column(heading, "12")), [""; 0], "{heading}");
    }
}

/// A place on plan is two lengths; a lone `x` may be a multiplier.
#[test]
fn half_a_place_on_plan() {
    for heading in ["x", "Y", "East"] {
        assert_eq!(codes(&with_column(heading, "4")), ["half-a-place"], "{heading}");
        assert_eq!(codes(&with_column(heading, "")), [""; 0], "{heading}");
    }
    let both = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "X", "Y"])
        .row(["2", "A1", "D1", "3@10'", "31'", "0", "0"]);
    assert_eq!(codes(&both), [""; 0]);
}

/// A slab is typed with the word for its total; what stands over the deck alone is not taken for it.
#[test]
fn slabs_and_their_totals() {
    let slab = |text: &str| with_column("Slab", text);
    for text in ["6 1/4\" total", "6 1/4 total", "6-1/4\" tot.", "6.25\" THK", "6 1/4\" total slab"]
    {
        let job = slab(text).job();
        let deck = &job.decks[job.bays[0].deck as usize].fields;
        assert_eq!(deck["slab_in"].as_number(), Some(6.25), "{text}");
    }
    for text in ["3 1/4 over", "3.25\" cover", "3 1/4\" above flutes", "3\" + 3 1/4\""] {
        let found = slab(text).findings();
        assert!(found[0].starts_with("Bays!F2: error[bad-length]: `Slab`:"), "{found:?}");
        assert!(found[0].contains("hint: it is the total that is wanted"), "{found:?}");
    }
    assert!(slab("thin").findings()[0].contains("hint: write feet and inches"));
}

/// Shares of pours are understood as people write them, or refused at their cell.
#[test]
fn shares_of_pours() {
    for text in ["P1 (60%), P2 (40%)", "P1 60 %; P2 40 %", "P1 60% & P2 40%", "P1 @ 60% / P2 @ 40%"]
    {
        let made = with_column("Pour", text);
        assert_eq!(codes(&made), [""; 0], "{text}");
        assert_eq!(made.job().bays[0].pour.as_deref(), Some("P1 60%, P2 40%"), "{text}");
    }
    for text in ["P1 60%, P2 30%", "P1, P2", "P2 40%", "P1 50%, p1 50%"] {
        assert_eq!(codes(&with_column("Pour", text)), ["bad-pour", "row-left-out"], "{text}");
    }
    let of_job = schedule().sheet("Job").row(["Pour", "P1 (60%), P2 (40%)"]);
    let of_job = with_types(of_job).sheet("Bays").row(HEADINGS).row(BAY);
    assert_eq!(of_job.job().bays[0].pour.as_deref(), Some("P1 60%, P2 40%"));
    let of_job = with_types(schedule().sheet("Job").row(["Pour", "P1 60%"]));
    assert_eq!(codes(&of_job.sheet("Bays").row(HEADINGS).row(BAY)), ["bad-pour"]);
    for (text, code) in [("P1/P2", "several-pours"), ("P1 & P2", "several-pours"), ("P1/north", "")]
    {
        let found = codes(&with_column("Pour", text));
        assert_eq!(found.first().map_or("", String::as_str), code, "{text}");
    }
    for text in ["no pour", "N/A", "-"] {
        assert_eq!(with_column("Pour", text).job().bays[0].pour, None, "{text}");
    }
}

#[test]
fn levels_under_short_headings() {
    for heading in ["Lvl", "Lvl.", "Flr.", "LVL"] {
        let made = with_types(schedule()).sheet("Bays");
        let made = made.row([heading, "Bay", "Type", "Spans", "Width"]).row(BAY);
        assert_eq!(&*made.job().bays[0].level, "2", "{heading}");
    }
}

/// Names that differ only in how they are spelled out are asked about, where no sheet lists them.
#[test]
fn names_that_are_alike() {
    let levels = |names: &[&str]| {
        let of = |made: Schedule, name: &&str| made.row([*name, name, "D1", "10'", "31'"]);
        names.iter().fold(bays(), of)
    };
    let found = levels(&["2", "Level 02", "2nd", "L2", "3"]).findings();
    assert_eq!(
        found,
        [
            "Bays!A2: warning[alike-names]: `2`, `Level 02`, `2nd` and `L2` are taken as 4 levels: are \
          they one?\n  also at Bays!A3, Bays!A4, Bays!A5\n  hint: write one level the same in all \
          rows"
        ]
    );
    for names in [["2", "3"], ["2", "B2"], ["2 East", "2 West"], ["2", "2A"], ["Roof", "Low roof"]]
    {
        assert_eq!(codes(&levels(&names)), [""; 0], "{names:?}");
    }
    let listed = levels(&["2", "L2"]).sheet("Levels").row(["Level", "Elevation"]);
    assert_eq!(codes(&listed.row(["2", "14'"]).row(["L2", "28'"])), [""; 0]);
    let marked = |heading: &'static str, names: [&'static str; 2]| {
        let made = with_types(schedule()).sheet("Bays");
        let made = made.row(["Level", "Bay", "Type", "Spans", "Width", heading]);
        let of = |made: Schedule, name| made.row(["2", name, "D1", "10'", "31'", name]);
        codes(&names.into_iter().fold(made, of))
    };
    for names in [["P1", "P-1"], ["1", "Pour 1"], ["P2", "P02"]] {
        assert_eq!(marked("Pour", names), ["alike-names"], "{names:?}");
    }
    for names in [["P1", "P2"], ["P1", "S1"], ["North", "South"]] {
        assert_eq!(marked("Pour", names), [""; 0], "{names:?}");
    }
    assert_eq!(marked("Alternate", ["North 1", "Alternate North 1"]), ["alike-names"]);
}

/// Words under Level that stand for several, or for the level above.
#[test]
fn levels_that_are_none() {
    for level in ["Typ. (3 floors)", "2 (typ)", "Typical"] {
        let made = bays().row([level, "A1", "D1", "10'", "31'"]);
        assert_eq!(codes(&made), ["unlisted-level"], "{level}");
    }
    for level in ["↓", "same", "as above"] {
        let made = bays().row(BAY).row([level, "A2", "D1", "10'", "31'"]);
        assert_eq!(codes(&made), ["ditto-mark"], "{level}");
    }
}

#[test]
fn units_as_headings_write_them() {
    for heading in ["Width (in.)", "Width in inches", "Width [in]", "Width, in."] {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", heading])
            .row(cells!["2", "A1", "D1", "3@10'", 372]);
        let width = made.job().bays[0].widths[0][0].length;
        assert_eq!(width, baytally::length::Length::feet(31), "{heading}");
    }
    let below = bays().row(["", "", "", "[ft]", "[in.]"]).row(cells!["2", "A1", "D1", 10, 372]);
    assert_eq!(below.job().bays[0].widths[0][0].length, baytally::length::Length::feet(31));
}

#[test]
fn rows_that_are_totals_are_none_else() {
    let made = bays()
        .row(BAY)
        .row(["TOTAL", "1", "D1", "30'", "31'"])
        .row(["Subtotal D1", "", "", "", "62'"])
        .row(["", "A2", "D1", "10'", "31'"]);
    let levels: Vec<_> = made.job().bays.iter().map(|bay| bay.level.to_string()).collect();
    assert_eq!(levels, ["2", "2"]);
    assert_eq!(codes(&made), ["level-from-above", "total-with-values"]);
    // A bay may be called so, and carries its level.
    let made = bays().row(BAY).row(["3", "Total area N", "D1", "3@10'", "31'"]).row([
        "",
        "Total area S",
        "D1",
        "3@10'",
        "31'",
    ]);
    let levels: Vec<_> = made.job().bays.iter().map(|bay| bay.level.to_string()).collect();
    assert_eq!(levels, ["2", "3", "3"]);
    assert_eq!(codes(&made), ["level-from-above", "total-counted"]);
}

/// What Job says is of the whole job: no row is multiplied by it.
#[test]
fn a_count_on_job() {
    let made = schedule().sheet("Job").row(["Key", "Value"]).row(["Copies", "24"]);
    let made = with_types(made).sheet("Bays").row(HEADINGS).row(BAY);
    assert_eq!(made.job().bays[0].copies, 1);
    assert_eq!(codes(&made), ["copies-on-job"]);
}

/// A recap of lengths is not taken for pieces without a word.
#[test]
fn sheets_that_only_their_headings_name() {
    let recap =
        bays().row(BAY).sheet("Summary by length").row(["Level", "Type", "Length", "Count"]);
    let recap = recap.row(["2", "D1", "30'", "11"]);
    assert_eq!(codes(&recap), ["read-by-headings"]);
}

/// A legend of types beside the bays says nothing of the bays in its rows.
#[test]
fn a_legend_beside_the_bays() {
    for first in ["Mark", "Type"] {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "", first, "Profile", "Gauge", "Slab"])
            .row(["2", "A1", "D1", "3@10'", "31'", "", "D2", "2x12", "18", "5"]);
        let job = made.job();
        let deck = &job.decks[job.bays[0].deck as usize].fields;
        let of = |key: &str| deck.get(key).unwrap().to_string();
        assert_eq!((of("profile"), of("gauge")), ("\"3x12\"".to_owned(), "\"20\"".to_owned()));
        assert_eq!(codes(&made), ["table-beside"], "{first}");
    }
    // Columns of the bays behind a spacer are the bays'.
    for headings in [
        ["Level", "Bay", "Type", "", "Mark", "Spans", "Width"],
        ["Level", "Bay", "Type", "", "Deck", "Spans", "Width"],
    ] {
        let made = with_types(schedule()).sheet("Bays").row(headings);
        let made = made.row(["2", "A1", "D1", "", "A1", "10'", "31'"]);
        assert_eq!(made.job().bays.len(), 1, "{headings:?}");
    }
    let of_the_bay = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "", "Gauge"])
        .row(["2", "A1", "D1", "3@10'", "31'", "", "18"]);
    let job = of_the_bay.job();
    assert_eq!(job.decks[job.bays[0].deck as usize].fields["gauge"].as_text(), Some("18"));
}

#[test]
fn sheets_that_are_not_read_or_look_old() {
    let made = bays()
        .row(BAY)
        .sheet("Holidays")
        .row(["Date", "What"])
        .sheet("Slab openings")
        .row(["Level", "Quan", "Size"])
        .sheet("Scratch")
        .row(["x"]);
    assert_eq!(codes(&made), ["sheet-not-read", "sheet-not-read"]);
    let others = ["Scope letter", "Drawing log", "Level summary", "Stock photos", "Old Wing"];
    let made = others.iter().fold(bays().row(BAY), |made, name| made.sheet(name).row(["x"]));
    assert_eq!(codes(&made.hidden_sheet("Level list").row(["2"])), [""; 0]);
    let by_level = |made: Schedule, name: &str| made.sheet(name).row(HEADINGS).row(BAY);
    let old = by_level(by_level(by_level(with_types(schedule()), "East"), "East OLD"), "East (2)");
    assert_eq!(codes(&old).iter().filter(|code| *code == "superseded-sheet").count(), 2);
}

/// Roof and form deck laps at its ends: rows that meet on plan are asked for their strip.
#[test]
fn bays_that_meet_end_to_end() {
    let roof = |rows: [[&str; 8]; 2]| {
        let made = with_types(schedule()).sheet("Bays").row([
            "Level", "Bay", "Type", "Runs", "Spans", "Width", "X", "Y", "Far end", "Strip", "Along",
        ]);
        rows.into_iter().fold(made, |made, [kind, runs, mark, x, y, end, strip, along]| {
            made.row(["Roof", mark, kind, runs, "5@6'", "30'", x, y, end, strip, along])
        })
    };
    let asked = |first: [&str; 8], second: [&str; 8]| {
        codes(&roof([first, second])).contains(&"no-lap-between".to_owned())
    };
    let one = ["RD1", "N-S", "R1", "0'", "0'", "", "", ""];
    assert!(asked(one, ["RD1", "N-S", "R2", "0'", "30'", "", "", ""]));
    assert!(asked(["RD1", "N-S", "R2", "0'", "30'", "", "", ""], one));
    assert!(asked(
        ["RD1", "E-W", "R1", "0'", "0'", "", "", ""],
        ["RD1", "E-W", "R2", "30'", "20'", "", "", ""]
    ));
    // Beside each other, apart, of other ways, of deck that butts; said at the end; one strip.
    assert!(!asked(one, ["RD1", "N-S", "R2", "30'", "0'", "", "", ""]));
    assert!(!asked(one, ["RD1", "N-S", "R2", "0'", "31'", "", "", ""]));
    assert!(!asked(one, ["RD1", "E-W", "R2", "0'", "30'", "", "", ""]));
    let floor = ["D1", "N-S", "R1", "0'", "0'", "", "", ""];
    assert!(!asked(floor, ["D1", "N-S", "R2", "0'", "30'", "", "", ""]));
    assert!(!asked(
        ["RD1", "N-S", "R1", "0'", "0'", "+2\"", "", ""],
        ["RD1", "N-S", "R2", "0'", "30'", "", "", ""]
    ));
    assert!(!asked(
        ["RD1", "N-S", "R1", "0'", "0'", "", "S", "1"],
        ["RD1", "N-S", "R2", "0'", "30'", "", "S", "2"]
    ));
}

/// A line between the bays that is a note names no level.
#[test]
fn notes_between_the_bays() {
    let levels = |line: &str| -> Vec<String> {
        let made = with_types(schedule())
            .sheet("Level 2")
            .row(["Bay", "Type", "Spans", "Width"])
            .row(["A1", "D1", "10'", "31'"])
            .row([line])
            .row(["A2", "D1", "10'", "31'"]);
        made.job().bays.iter().map(|bay| bay.level.to_string()).collect()
    };
    for note in [
        "See architectural floor plan for shaft sizes",
        "Note: roof deck by others",
        "Stairs",
        "Composite",
        "Roof deck by others",
    ] {
        assert_eq!(levels(note), ["2", "2"], "{note}");
    }
    for (line, level) in [
        ("LEVEL 3", "3"),
        ("Roof", "Roof"),
        ("Low roof east", "Low roof east"),
        ("PH", "PH"),
        ("3", "3"),
        ("B1", "B1"),
        ("Mezzanine", "Mezzanine"),
    ] {
        assert_eq!(levels(line), ["2", level], "{line}");
    }
}

/// A line right above headings says which level the rows below are of.
#[test]
fn levels_above_the_headings() {
    let headings = ["Bay", "Type", "Spans", "Width"];
    let bay = |mark: &'static str| [mark, "D1", "10'", "31'"];
    for sheet in ["Decks", "Bays"] {
        let made = with_types(schedule())
            .sheet(sheet)
            .row(["LEVEL 2"])
            .row(headings)
            .row(bay("A1"))
            .row(["LEVEL 3"])
            .row(headings)
            .row(bay("A1"))
            .row(["Roof"])
            .row(["Bay", "Type", "Spans", "Width", "Pour"])
            .row(["R1", "RD1", "2@6'", "30'", ""]);
        let levels: Vec<_> = made.job().bays.iter().map(|bay| bay.level.to_string()).collect();
        assert_eq!(levels, ["2", "3", "Roof"], "{sheet}");
    }
}

/// Bays beside other bays are not read: the takeoff is incomplete without them.
#[test]
fn bays_beside_bays() {
    let two = |cells: [&str; 5]| -> Vec<String> {
        let cells = cells.iter().chain([&""]).chain(&cells).map(|cell| (*cell).to_owned());
        cells.collect()
    };
    let made = with_types(schedule()).sheet("Bays").row(two(HEADINGS)).row(two(BAY));
    let found = made.findings();
    assert!(found.iter().any(|it| it.starts_with("Bays!1:1: error[bays-beside]")), "{found:?}");
}
