//! Well-formed schedules: what they say is what the job holds.

use baytally::job::fields::read as field;
use baytally::job::{Runs, Status};
use baytally::length::Length;
use baytally::value::Value;

use crate::cells;
use crate::support::schedule_builder::{Cell, schedule, with_types};

#[test]
fn a_bay_has_its_row_and_its_deck() {
    let job = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies", "Runs", "Pour", "Crew"])
        .row(["2", "A1", "D1", "3@10'-0\"", "4@31'-0\"", "2", "E-W", "P1", "north"])
        .job();
    let [bay] = job.bays.as_slice() else { panic!("{} bays", job.bays.len()) };
    assert_eq!((&*bay.level, &*bay.mark, &*bay.sequence), ("2", "A1", "2"));
    assert_eq!(bay.length(), Length::feet(30));
    assert_eq!(bay.width(), Length::feet(124));
    assert_eq!((bay.copies, bay.runs, bay.status), (2, Some(Runs::EastWest), Status::TakeOff));
    assert_eq!(bay.pour.as_deref(), Some("P1"));
    assert_eq!(field(bay, &job, "Crew"), Some(Value::text("north")));
    assert_eq!(field(bay, &job, "note"), Some(Value::Blank));
    let deck = &job.decks[bay.deck as usize];
    let expected: Vec<(&str, Value)> = vec![
        ("type", Value::text("D1")),
        ("use", Value::text("composite")),
        ("profile", Value::text("3x12")),
        ("depth_in", Value::Number(3.0)),
        ("pitch_in", Value::Number(12.0)),
        ("top_flat_in", Value::Number(4.75)),
        ("bottom_flat_in", Value::Number(4.75)),
        ("rib_in", Value::Number(6.0)),
        ("radius_in", Value::Number(0.1875)),
        ("top_stiffeners", Value::Number(1.0)),
        ("bottom_stiffeners", Value::Number(1.0)),
        ("stiffener_depth_in", Value::Number(0.375)),
        ("stiffener_width_in", Value::Number(0.75)),
        ("inverted", Value::Bool(false)),
        ("assumed", Value::Bool(false)),
        ("cover_in", Value::Number(36.0)),
        ("gauge", Value::text("20")),
        ("thickness_in", Value::Number(0.0358)),
        ("least_thickness_in", Value::Number(0.034)),
        ("grade", Value::text("SS 40")),
        ("fy_ksi", Value::Number(40.0)),
        ("fu_ksi", Value::Number(55.0)),
        ("finish", Value::text("G60")),
        ("coating_oz_ft2", Value::Number(0.6)),
        ("published_psf", Value::Blank),
        ("published_ip_in4", Value::Blank),
        ("published_in_in4", Value::Blank),
        ("published_sp_in3", Value::Blank),
        ("published_sn_in3", Value::Blank),
        ("unshored", Value::Blank),
        ("slab_in", Value::Number(6.25)),
        ("mix", Value::text("LW 110")),
        ("unit_weight_pcf", Value::Number(110.0)),
        ("strength_psi", Value::Blank),
        ("mix_kind", Value::text("lightweight")),
        ("mesh", Value::Blank),
        ("shored", Value::Blank),
        ("fastening", Value::Blank),
        ("side_lap", Value::Blank),
        ("options", Value::Blank),
        ("stud_in", Value::Blank),
        ("note", Value::Blank),
    ];
    let found: Vec<(&str, Value)> =
        deck.fields.iter().map(|(key, value)| (&**key, value.clone())).collect();
    assert_eq!(found, expected);
    assert_eq!(deck.bays, [0]);
}

#[test]
fn headings_stand_in_any_order_under_a_title() {
    let job = with_types(schedule())
        .sheet("Bays")
        .row(["Deck takeoff"])
        .row([""])
        .row(["Width", "Spans", "Deck type", "MARK", "Floor"])
        .row(["31'", "10', 9'-6\"", "D1", "A1", "2"])
        .job();
    assert_eq!(job.bays.len(), 1);
    assert_eq!(job.bays[0].length(), Length::inches(19 * 12 + 6));
    assert_eq!(job.readings[1].heading_row, 2);
}

#[test]
fn defaults_come_from_level_then_job() {
    let job = schedule()
        .sheet("Job")
        .row(["Job", "Invented Tower"])
        .row(["Slab", "6 1/4"])
        .row(["Mix", "NW 145"])
        .row(["Finish", "G60"])
        .row(["Runs", "N-S"])
        .row(["Crew lead", "not stated"])
        .sheet("Levels")
        .row(["Level", "Runs", "Sequence"])
        .row(["2", "E-W", "S2"])
        .row(["3", "", ""])
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Slab"])
        .row(["D1", "composite", "3x12", "36", "20", "40", ""])
        .row(["RD1", "roof", "1.5x6", "36", "22", "33", ""])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Slab"])
        .row(["2", "A1", "D1", "10'", "30'", ""])
        .row(["3", "A1", "D1", "10'", "30'", "none"])
        .row(["3", "A2", "D1", "10'", "30'", "7"])
        .row(["R", "A1", "RD1", "6'", "30'", ""])
        .job();
    let read = |bay: usize, key: &str| field(&job.bays[bay], &job, key).unwrap();
    assert_eq!(read(0, "slab_in"), Value::Number(6.25));
    assert_eq!(read(0, "mix"), Value::text("NW 145"));
    assert_eq!((read(0, "runs"), read(0, "sequence")), (Value::text("E-W"), Value::text("S2")));
    assert_eq!((read(1, "slab_in"), read(1, "mix")), (Value::Blank, Value::Blank));
    assert_eq!((read(1, "runs"), read(1, "sequence")), (Value::text("N-S"), Value::text("3")));
    assert_eq!(read(2, "slab_in"), Value::Number(7.0));
    // A roof takes no concrete, whatever the default.
    for key in ["slab_in", "mix", "unit_weight_pcf", "mesh", "pour"] {
        assert_eq!(read(3, key), Value::Blank, "{key}");
    }
    assert_eq!(read(3, "finish"), Value::text("G60"));
    assert_eq!(job.head_value("Crew lead"), Value::text("not stated"));
    let levels: Vec<&Value> = job.sheet("levels").iter().map(|e| &e.fields["level"]).collect();
    assert_eq!(levels, [&Value::text("2"), &Value::text("3"), &Value::text("R")]);
    let sequences: Vec<&Value> =
        job.sheet("sequences").iter().map(|e| &e.fields["sequence"]).collect();
    assert_eq!(sequences, [&Value::text("S2"), &Value::text("3"), &Value::text("R")]);
}

#[test]
fn a_level_like_another_has_its_bays_openings_and_edges() {
    let made = with_types(schedule())
        .sheet("Levels")
        .row(["Level", "Like", "Sequence", "Runs"])
        .row(["2", "", "", "E-W"])
        .row(["3", "2", "", "E-W"])
        .row(["4", "3", "S4", "E-W"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
        .row(["2", "A1", "D1", "3@10'", "30'", "P1"])
        .row(["2", "A2", "D1", "3@10'", "30'", "P1"])
        .sheet("Openings")
        .row(["Level", "Bay", "X", "Y", "Length", "Width"])
        .row(["2", "A1", "3", "4", "5", "6"])
        .sheet("Edges")
        .row(["Level", "Length", "Runs"])
        .row(["2", "100", "along"]);
    let job = made.job();
    let bays: Vec<(&str, &str, &str)> =
        job.bays.iter().map(|b| (&*b.level, &*b.mark, &*b.sequence)).collect();
    assert_eq!(
        bays,
        [
            ("2", "A1", "2"),
            ("2", "A2", "2"),
            ("3", "A1", "3"),
            ("3", "A2", "3"),
            ("4", "A1", "S4"),
            ("4", "A2", "S4"),
        ]
    );
    assert_eq!(job.sheet("openings").len(), 3);
    assert_eq!(job.sheet("edges").len(), 3);
    let pours: Vec<(&Value, &Value)> =
        job.sheet("pours").iter().map(|e| (&e.fields["pour"], &e.fields["level"])).collect();
    let p1 = Value::text("P1");
    assert_eq!(
        pours,
        [(&p1, &Value::text("2")), (&p1, &Value::text("3")), (&p1, &Value::text("4"))]
    );
    assert_eq!(made.findings(), Vec::<String>::new());
}

#[test]
fn numbers_dates_and_flags_are_typed() {
    let job = with_types(schedule())
        .sheet("Sequences")
        .row(["Sequence", "Order", "On site", "Crane limit"])
        .row(cells!["S1", 1, Cell::Date(2026, 3, 2), "4,000 lb"])
        .row(cells!["S2", "2", "March 9, 2026", 3500])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width", "Copies", "Shored"])
        .row(cells![2, 101, "D1", "S1", 10.5, 31.0, 2, true])
        .row(cells![2, 102, "D1", "S2", "3@10'", "2@31'-0\" | 2@31'-0\"", "", "no"])
        .job();
    let date = |row: usize| job.sheet("sequences")[row].fields["on_site"].clone();
    assert_eq!(date(0), Value::Date(jiff::civil::date(2026, 3, 2)));
    assert_eq!(date(1), Value::Date(jiff::civil::date(2026, 3, 9)));
    assert_eq!(job.sheet("sequences")[0].fields["crane_limit_lb"], Value::Number(4000.0));
    let bay = &job.bays[0];
    assert_eq!((&*bay.level, &*bay.mark), ("2", "101"));
    assert_eq!(bay.length(), Length::inches(126));
    assert_eq!(bay.spans[0].half_digit, Length::ZERO);
    assert_eq!(field(bay, &job, "shored"), Some(Value::Bool(true)));
    assert_eq!(job.bays[1].widths.len(), 2);
    assert_eq!(job.bays[1].copies, 1);
    assert_eq!(field(&job.bays[1], &job, "shored"), Some(Value::Bool(false)));
}

#[test]
fn a_mix_of_the_job_stands_above_the_catalogue() {
    let job = schedule()
        .sheet("Mixes")
        .row(["Mix", "Unit weight", "Strength", "Kind"])
        .row(cells!["M1", 112, 4000, "lightweight"])
        .sheet("Bays")
        .row([
            "Level", "Bay", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix",
            "Spans", "Width",
        ])
        .row(["2", "A1", "composite", "2x12", "36", "20", "SS 40", "G60", "5", "m1", "10'", "30'"])
        .job();
    let read = |key: &str| field(&job.bays[0], &job, key).unwrap();
    assert_eq!(read("mix"), Value::text("M1"));
    assert_eq!(read("unit_weight_pcf"), Value::Number(112.0));
    assert_eq!(read("strength_psi"), Value::Number(4000.0));
    assert_eq!(read("type"), Value::text("2x12-20"));
}

/// A heading row over the two columns of the Job sheet is no fact of the job.
#[test]
fn the_job_sheets_heading_row_is_passed_over() {
    for headings in [["Key", "Value"], ["ITEM:", "Entry"], ["Field", "Values"], ["Setting", "data"]]
    {
        let made = with_types(schedule())
            .sheet("Job")
            .row(["Invented Tower", ""])
            .row(headings)
            .row(["Job", "Invented Tower"])
            .row(["Architect", "Value"])
            .row(headings)
            .row(["Grade", "SS 50"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A1", "D1", "10'", "31'"]);
        let job = made.job();
        let facts: Vec<(&str, Option<&str>)> =
            job.head.iter().map(|(key, value)| (&**key, value.as_text())).collect();
        assert_eq!(
            facts,
            [
                ("job", Some("Invented Tower")),
                ("Architect", Some("Value")),
                ("grade", Some("SS 50"))
            ],
            "{headings:?}"
        );
        let reading = job.readings.iter().find(|reading| reading.key == "head").unwrap();
        let passed = [(0, "a note or title"), (1, "its headings"), (4, "its headings")];
        assert_eq!(reading.passed, passed, "{headings:?}");
    }
}

/// A number is what a person sees: where its number format alone shows the unit, it is in that.
#[test]
fn units_that_only_number_formats_show() {
    let shown = |number, code| Cell::Formatted(number, code);
    let made = with_types(schedule()).sheet("Bays").row([
        "Level",
        "Bay",
        "Type",
        "Spans",
        "Width (ft)",
        "Copies",
    ]);
    let made = made
        .row(cells!["2", "A1", "D1", shown(126.0, "0\\\""), "31'", shown(2.0, "0\" ea\"")])
        .row(cells!["2", "A2", "D1", shown(3048.0, "0\" mm\""), shown(31.0, "0.00'"), 1])
        .row(cells!["2", "A3", "D1", shown(10.5, "0.00"), shown(372.0, "# ?/?\" in.\""), 1])
        .row(cells!["2", "A4", "D1", 10.5, shown(3100.0, "0\"'-\"00\\\""), 1]);
    let (job, _) = made.read().unwrap();
    let spans: Vec<Length> = job.bays.iter().map(|bay| bay.spans[0].length).collect();
    assert_eq!(spans, [Length::inches(126), Length::feet(10), Length::inches(126)]);
    let widths = job.bays.iter().map(|bay| bay.widths[0][0].length);
    assert!(widths.eq([Length::feet(31); 3]), "{:?}", job.bays);
    assert_eq!(job.bays[0].copies, 2);
    let found = made.findings();
    let said = |line: &str| found.iter().any(|finding| finding.starts_with(line));
    assert!(
        said("Bays!E5: error[shown-as-length]: `Width (ft)` holds the number 3100, which only"),
        "{found:?}"
    );
    assert!(
        said("Bays!E4: warning[unit-stated-twice]: `Width (ft)` is 372 in by its number format"),
        "{found:?}"
    );
}

/// Bays on a hidden sheet are left out, and that is said.
#[test]
fn bays_on_a_hidden_sheet_are_asked_about() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "10'", "31'"])
        .hidden_sheet("Level 3")
        .row(["Deck of level 3"])
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["3", "A1", "D1", "10'", "31'"])
        .hidden_sheet("Scratch")
        .row(["no", "bays", "here"]);
    assert_eq!(made.job().bays.len(), 1);
    let found = made.findings();
    let said = "Level 3: warning[hidden-bays]: the hidden sheet `Level 3` has the headings of bays";
    assert!(found.iter().any(|finding| finding.starts_with(said)), "{found:?}");
    assert_eq!(found.len(), 1, "{found:?}");
}

/// Status and counts as they are typed.
#[test]
fn words_behind_a_status_and_a_count() {
    for (typed, status) in
        [("Hold", Status::Hold), ("Cancelled", Status::Void), ("New", Status::TakeOff)]
    {
        for (copies, count) in [("x2", 2), ("2 ea.", 2), ("(3)", 3), ("4", 4)] {
            let made = with_types(schedule())
                .sheet("Bays")
                .row(["Level", "Bay", "Type", "Spans", "Width", "Copies", "Status"])
                .row(["2", "A1", "D1", "10'", "31'", copies, typed]);
            let bay = &made.job().bays[0];
            assert_eq!((bay.status, bay.copies), (status, count), "{typed}, {copies}");
        }
    }
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Status"])
        .row(["2", "A1", "D1", "10'", "31'", "Hold lifted 3/12"]);
    let found = made.findings();
    assert!(found.iter().any(|finding| finding.contains("error[unknown-word]")), "{found:?}");
}

/// A quarter shown as 25% is a slope of 3 in 12.
#[test]
fn a_slope_that_its_number_format_shows_in_hundredths() {
    for (slope, rise) in [
        (Cell::Formatted(0.25, "0%"), 3.0),
        (Cell::Formatted(0.25, "0.0%"), 3.0),
        (Cell::Formatted(0.25, "0.00"), 0.25),
        (Cell::Text("25 %".to_owned()), 3.0),
    ] {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Slope"])
            .row(vec![
                Cell::from("Roof"),
                Cell::from("R1"),
                Cell::from("RD1"),
                Cell::from("2@6'"),
                Cell::from("30'"),
                slope,
            ]);
        let job = made.job();
        let read = field(&job.bays[0], &job, "slope");
        assert_eq!(read.and_then(|value| value.as_number()), Some(rise));
    }
}
