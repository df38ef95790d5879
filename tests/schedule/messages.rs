//! What is said of schedules at fault: the whole message.

use crate::cells;
use crate::support::schedule_builder::{Cell, Schedule, schedule, with_types};

const HEADINGS: [&str; 5] = ["Level", "Bay", "Type", "Spans", "Width"];

fn with_bay(bay: [&str; 5]) -> Schedule {
    with_types(schedule()).sheet("Bays").row(HEADINGS).row(bay).row(["2", "Z9", "D1", "10'", "30'"])
}

const LEFT_OUT: &str = "Bays!2:2: error[row-left-out]: rows of Bays are left out until what is wrong in them is put right";

#[track_caller]
fn says(made: &Schedule, expected: &[&str]) {
    assert_eq!(made.findings(), expected);
}

#[test]
fn no_bays_sheet() {
    says(
        &with_types(schedule()),
        &[
            "error[no-bays-sheet]: no sheet `Bays` in the workbook; its sheets are `Types`\n  hint: \
           name the sheet with the bays `Bays`, or give it the headings Level, Bay, Spans and Width",
        ],
    );
}

#[test]
fn missing_heading() {
    says(
        &with_types(schedule()).sheet("Bays").row(["Level", "Bay", "Type", "Width"]),
        &[
            "Bays!1:1: error[missing-heading]: no heading `Spans` in row 1 of `Bays`, which has Level, \
           Bay, Type, Width\n  hint: `Spans` is also read from Span, Spans along, Beam spacing",
        ],
    );
}

#[test]
fn no_headings() {
    says(
        &schedule().sheet("Bays").row(["nothing", "of", "use"]),
        &[
            "Bays: error[no-headings]: no heading row in the first 50 rows of `Bays`, wanted Level, \
           Bay, Spans, Width",
        ],
    );
}

#[test]
fn text_where_a_length_belongs() {
    let made = with_bay(["2", "A1", "D1", "about 10", "30'"]);
    says(
        &made,
        &[
            "Bays!D2: error[bad-length]: `Spans`: `about 10` is no length: `about` is no unit of \
             length\n  hint: write feet and inches as 24'-6 1/2\", 24-6 1/2 or 24.5', metric as \
             7480 mm",
            LEFT_OUT,
        ],
    );
    assert_eq!(made.job().bays.len(), 1);
}

#[test]
fn negative_and_zero_width() {
    says(
        &with_bay(["2", "A1", "D1", "10'", "-30'"]),
        &[
            "Bays!E2: error[negative-length]: `Width` is -30' (-30'-0\"), wanted a length above 0 ft",
            LEFT_OUT,
        ],
    );
    says(
        &with_bay(["2", "A1", "D1", "10'", "0"]),
        &[
            "Bays!E2: error[negative-length]: `Width` is 0 (0'-0\"), wanted a length above 0 ft",
            LEFT_OUT,
        ],
    );
}

#[test]
fn date_where_a_length_belongs() {
    says(
        &with_types(schedule())
            .sheet("Bays")
            .row(HEADINGS)
            .row(cells!["2", "A1", "D1", Cell::Date(2026, 10, 6), "30'"])
            .row(["2", "Z9", "D1", "10'", "30'"]),
        &[
            "Bays!D2: error[date-for-length]: `Spans` holds the date 2026-10-06, wanted a length\n  \
             hint: the spreadsheet turns what looks like a date (`10-6`) into one: format the \
             column as text and type 10'-6\" again",
            LEFT_OUT,
        ],
    );
}

#[test]
fn unknown_gauge_once_for_its_text() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "23", "SS 40", "G60", "6 1/4", "LW 110"])
        .row(["D2", "composite", "2x12", "36", "23", "SS 40", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(HEADINGS)
        .row(["2", "A1", "D1", "10'", "30'"])
        .row(["2", "A2", "D2", "10'", "30'"])
        .row(["2", "A3", "D2", "10'", "30'"]);
    says(
        &made,
        &["Types!E2: error[unknown-gauge]: `Gauge`: no gauge `23` in the catalogue\n  also at \
           Types!E3\n  hint: known are `28`, `26`, `24`, `22`, `21`, `20`, `19`, `18`, `17`, `16`, \
           `14`, `12`, `10`"],
    );
    let job = made.job();
    assert_eq!(job.bays.len(), 3);
    assert!(job.decks[0].fields["gauge"].is_blank());
}

#[test]
fn unknown_profile_finish_grade_and_mix_suggest_what_is_near() {
    says(
        &schedule()
            .sheet("Types")
            .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
            .row(["D1", "composite", "3x13", "36", "20", "SS 41", "G06", "6 1/4", "LM 110"])
            .sheet("Bays")
            .row(HEADINGS)
            .row(["2", "A1", "D1", "10'", "30'"]),
        &[
            "Types!C2: error[unknown-profile]: `Profile`: no composite profile `3x13` in the \
             catalogue\n  hint: did you mean `3x12`?",
            "Types!G2: error[unknown-finish]: `Finish`: no finish `G06` in the catalogue\n  hint: \
             known are `G30`, `G40`, `G60`, `G90`, `A25`, `A40`, `A60`, `painted`, `uncoated`",
            "Types!F2: error[unknown-grade]: `Grade`: no grade `SS 41` in the catalogue\n  hint: did \
             you mean `SS 40`?",
            "Types!I2: error[unknown-mix]: `Mix`: no mix `LM 110` in the catalogue\n  hint: did you \
             mean `LW 110`?",
        ],
    );
}

#[test]
fn unknown_type_and_double_bay() {
    says(
        &with_bay(["2", "Z9", "D2", "10'", "30'"]),
        &[
            "Bays!C2: error[unknown-type]: no type `D2` on the Types sheet, and no profile in the \
             row\n  hint: did you mean `D1`?\n  hint: the bays are left out until the type \
             is known",
            LEFT_OUT,
        ],
    );
    says(
        &with_bay(["2", "z9", "D1", "10'", "30'"]),
        &["Bays!B2: error[double-bay]: bay `Z9` stands on level `2` more than once\n  also at \
           Bays!B3\n  hint: both are counted; if they are twins, write one row with Copies"],
    );
}

#[test]
fn missing_value_and_bad_words() {
    says(
        &with_bay(["2", "A1", "D1", "", "30'"]),
        &[
            "Bays!D2: error[missing-value]: `Spans` is blank\n  hint: Spans along the flutes: \
             3@10'-0\".",
            LEFT_OUT,
        ],
    );
    says(
        &with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Runs", "Copies", "Status"])
            .row(cells!["2", "A1", "D1", "10'", "30'", "up", 1.5, "gone"])
            .row(["2", "Z9", "D1", "10'", "30'", "east-west", "2", "On hold"]),
        &[
            "Bays!F2: error[unknown-word]: `up` under `Runs`, wanted `E-W` or `N-S`",
            "Bays!G2: error[bad-count]: `1.5` under `Copies`, wanted a whole number of 1 or more",
            "Bays!H2: error[unknown-word]: `gone` under `Status`, wanted `take-off`, `hold`, \
             `released`, `shipped` or `void`",
            LEFT_OUT,
        ],
    );
}

#[test]
fn unusual_lengths_are_asked_about_and_taken() {
    let made = with_bay(["2", "A1", "D1", "60'", "24 1/2"]);
    says(
        &made,
        &[
            "Bays!D2: warning[unusual-length]: `Spans` is 60'-0\", usually 1 to 45 ft: is it meant \
             so?\n  hint: write the unit with the number: 10'-6\", 6 1/4 in, 3200 mm",
            "Bays!E2: warning[unit-not-stated]: `Width` is `24 1/2`, read as 24'-6\"\n  hint: a \
             fraction is seldom of a foot: write 24'-6\" or 24 1/2\"",
        ],
    );
    assert_eq!(made.job().bays.len(), 2);
}

#[test]
fn strips_that_disagree() {
    says(
        &with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Strip", "Along", "Across"])
            .row(["2", "A1", "D1", "3@10'", "30'", "S1", "1", "1"])
            .row(["2", "A2", "D1", "2@10'", "30'", "S1", "1", "2"])
            .row(["2", "A3", "RD1", "3@10'", "31'", "S1", "2", "1"]),
        &[
            "Bays!C4: error[strip-disagrees]: bays `A1` and `A3` of strip `S1` on level `2` do not \
             agree, wanted one type\n  also at Bays!C2",
            "Bays!D3: error[strip-disagrees]: bays `A1` and `A2` of strip `S1` on level `2` do not \
             agree, wanted equal Spans in rows equal in Along\n  also at Bays!D2",
            "Bays!E4: error[strip-disagrees]: bays `A1` and `A3` of strip `S1` on level `2` do not \
             agree, wanted equal Width in rows equal in Across\n  also at Bays!E2",
            "Bays!H2: error[strip-incomplete]: strip `S1` on level `2` has no row at Along 2, Across 2: \
             panels that begin there are not counted\n  also at Bays!H3, Bays!H4\n  hint: number \
             Along and Across from 1 on, and give every place a row",
        ],
    );
}

#[test]
fn orphans_of_other_sheets() {
    says(
        &with_bay(["2", "A1", "D1", "10'", "30'"])
            .sheet("Openings")
            .row(["Level", "Bay", "X", "Y"])
            .row(["2", "A7", "1", "2"])
            .sheet("Pieces")
            .row(["Level", "Type", "Count", "Length"])
            .row(["2", "D9", "4", "30'"])
            .sheet("Levels")
            .row(["Level", "Like"])
            .row(["2", ""])
            .row(["3", "9"]),
        &[
            "Levels!B3: error[like-unknown]: level `3` is like `9`, which has no bays\n  hint: known \
             are `2`",
            "Openings!B2: error[unknown-bay]: no bay `A7` on level `2`\n  hint: did you mean `A1`?",
            "Pieces!B2: error[unknown-type]: no type `D9` in the job\n  hint: did you mean `D1`?",
        ],
    );
}

#[test]
fn roof_with_slab_and_assumed_profile() {
    says(
        &schedule()
            .sheet("Types")
            .row(["Type", "Use", "Profile", "Gauge", "Grade", "Finish", "Slab"])
            .row(["RD1", "roof", "6x12", "18", "40", "G90", "4"])
            .sheet("Bays")
            .row(HEADINGS)
            .row(["R", "A1", "RD1", "20'", "30'"]),
        &[
            "Types!C2: warning[assumed-profile]: the geometry of profile `6x12` is assumed: no \
             published one is known\n  hint: ask the supplier for its flats, ribs, cover and \
             weight, and put them into the shop's catalogue",
            "Types!G2: warning[roof-with-slab]: roof deck with a slab: roof deck is not for a \
             structural slab, and none is taken\n  hint: ask the engineer of record which deck is \
             meant; write `none` under Slab for a roof",
        ],
    );
}

#[test]
fn no_type_and_no_strip() {
    says(
        &with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Strip", "Along"])
            .row(["2", "A1", "", "3@10'", "30'", "", ""])
            .row(["2", "A2", "D1", "3@10'", "30'", "", "2"]),
        &[
            "Bays!2:2: error[type-missing]: no type is stated, and no profile in the row\n  hint: \
             known are `D1`, `RD1`",
            LEFT_OUT,
            "Bays!G3: warning[strip-missing]: a place along or across is stated, but no strip: the \
             row is a strip of its own\n  hint: state Strip in every row of the strip",
        ],
    );
}

#[test]
fn levels_in_a_ring_and_their_sequences() {
    says(
        &with_types(schedule())
            .sheet("Levels")
            .row(["Level", "Like"])
            .row(["2", ""])
            .row(["3", "2"])
            .row(["4", "5"])
            .row(["5", "4"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Sequence", "Status"])
            .row(["2", "A1", "D1", "3@10'", "30'", "S1", "released"])
            .row(["3", "B1", "D1", "3@10'", "30'", "", ""]),
        &[
            "Levels!B4: error[like-ring]: level `4` is like `5`, which is like it\n  hint: one of \
             them needs bays of its own",
            "Levels!B5: error[like-ring]: level `5` is like `4`, which is like it\n  hint: one of \
             them needs bays of its own",
            "Levels!B3: warning[like-sequence]: bays of `2` name a sequence of their own, and `3` \
             takes the same one\n  hint: state Sequence on the level's row where it is another",
            "Levels!B3: warning[like-released]: `3` copies bays of `2` that are released or \
             shipped, with that status\n  hint: give the level rows of its own",
            "Levels!B3: warning[like-and-own]: level `3` has bays of its own beside those of `2`",
        ],
    );
}

#[test]
fn pours_that_are_not_listed() {
    says(
        &with_types(schedule())
            .sheet("Pours")
            .row(["Pour", "Level", "Order"])
            .row(["P1", "2", "1"])
            .row(["P3", "", "2"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
            .row(["2", "A1", "D1", "3@10'", "30'", "P1 60%, P2 40%"])
            .row(["2", "A2", "D1", "3@10'", "30'", "p3"])
            .row(["2", "A3", "D1", "3@10'", "30'", "P2"])
            .row(["3", "A1", "D1", "3@10'", "30'", "P1"]),
        &[
            "Bays!F2: warning[unlisted-pour]: pour `P2` of level `2` is not on the Pours sheet\n  \
             also at Bays!F4\n  hint: did you mean `P1` or `P3`?",
            "Bays!F5: warning[unlisted-pour]: pour `P1` of level `3` is not on the Pours sheet\n  \
             hint: it is listed for other levels: give it a row for this one too",
        ],
    );
}

#[test]
fn errors_formulas_and_dates_in_cells() {
    let long = "x".repeat(300);
    says(
        &with_types(schedule())
            .sheet("Levels")
            .row(["Level", "On site"])
            .row(["2", "3/4/26"])
            .row(["3", "3/14/26"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(cells![
                "2",
                Cell::Date(2026, 1, 2),
                "D1",
                Cell::Formula("1/0".to_owned(), "#DIV/0!".to_owned()),
                "1,5"
            ])
            .row(["2", &long, "D1", "10'", "30'"])
            .row(["2", "Z9", "D1", "10'", "30'"]),
        &[
            "Levels!B2: error[bad-date]: `3/4/26` under `On site` may be read with the month or \
             with the day first\n  hint: write the date as 2026-03-14, or format the cell as a date",
            "Levels!2:2: error[row-left-out]: rows of Levels are left out until what is wrong in \
             them is put right",
            "Bays!B2: error[date-for-text]: `Bay` holds the date 2026-01-02, wanted text\n  hint: \
             the spreadsheet turns what looks like a date (1-2) into one: format the column as \
             text and type it again",
            "Bays!D2: error[error-cell]: `Spans` holds the spreadsheet's error #DIV/0!\n  hint: put \
             the formula right, or type the value",
            "Bays!E2: error[bad-length]: `Width`: the comma in `1,5` may separate or be decimal\n  \
             hint: put a space behind a comma that separates; write decimals with a point",
            "Bays!B3: error[long-text]: `Bay` holds 300 characters, wanted at most 255",
            "Bays!2:2: error[row-left-out]: rows of Bays are left out until what is wrong in them \
             is put right\n  also at Bays!3:3",
        ],
    );
}

#[test]
fn a_second_bay_sheet_is_said_not_to_be_read() {
    let rows = |made: Schedule, name: &str| {
        made.sheet(name).row(HEADINGS).row(["2", "A1", "D1", "10'", "30'"])
    };
    let made = rows(rows(with_types(schedule()), "Bays"), "Bays old");
    says(
        &made,
        &["Bays old: warning[unread-bays]: the sheet looks like a bay schedule and is not read, \
           because another one has the name\n  hint: put all bays on one sheet, or name none of \
           them `Bays`"],
    );
    assert_eq!(made.job().bays.len(), 1);
}

#[test]
fn aliases_of_a_shop() {
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Geschoss", "Feld", "Deck", "Felder", "Breite (mm)"])
        .row(["2", "A1", "D1", "10'", "9144"]);
    let aliases =
        [("Geschoss", "level"), ("Feld", "bay"), ("Felder", "spans_ft"), ("BREITE", "widths_ft")]
            .map(|(heading, key)| (heading.to_owned(), key.to_owned()))
            .to_vec();
    let options =
        baytally::schedule::ReadOptions { aliases, ..baytally::schedule::ReadOptions::default() };
    let (job, _) = baytally::schedule::read_bytes(made.bytes(), "a.xlsx", &options).unwrap();
    assert_eq!(job.bays[0].width(), baytally::length::Length::feet(30));
}

/// Marks that look like several levels, levels that the sheet of levels lacks, and ditto marks.
#[test]
fn levels_that_are_none() {
    let bays = |made: Schedule, levels: [&str; 2]| {
        made.sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row([levels[0], "A1", "D1", "3@10'", "30'"])
            .row([levels[1], "A2", "D1", "3@10'", "30'"])
    };
    let listed = || {
        with_types(schedule())
            .sheet("Levels")
            .row(["Level", "Like"])
            .row(["2", ""])
            .row(["Roof", ""])
    };
    let several =
        "\n  hint: give each level a row of Levels, those that are alike with the first under Like";
    for mark in ["2-4", "2 & 3", "2, 3, 4", "2 to 4"] {
        let said = format!(
            "Bays!A2: warning[unlisted-level]: `{mark}` is taken as one level; it is counted once{several}"
        );
        says(&bays(listed(), [mark, "2"]), &[&said]);
        says(&bays(with_types(schedule()), [mark, "2"]), &[&said]);
    }
    says(
        &bays(listed(), ["02", "2"]),
        &[
            "Bays!A2: warning[unlisted-level]: level `02` is not on the Levels sheet\n  hint: did you mean `2`?",
        ],
    );
    says(&bays(with_types(schedule()), ["2", "B1-East"]), &[]);
    says(
        &bays(with_types(schedule()), ["2", "\""]),
        &[
            "Bays!A3: error[ditto-mark]: `\"` is taken as a level of its own, no ditto mark\n  hint: leave the \
           cell blank: a blank Level is that of the row above; write the others out",
        ],
    );
}

/// A heading that misses one by a letter or two is asked about, one that is far from all is not.
#[test]
fn headings_that_look_like_others() {
    let made = |heading: &str| {
        with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", heading])
            .row(["2", "A1", "D1", "3@10'", "30'", "2"])
    };
    for (typed, meant) in [("Copys", "Copies"), ("Drawng", "Drawing"), ("Sequense", "Sequence")] {
        says(
            &made(typed),
            &[&format!(
                "Bays!F1: warning[heading-misspelt]: nothing is read under `{typed}`, which looks like \
                 `{meant}`\n  hint: write it so, or give it a name less alike"
            )],
        );
    }
    says(&made("Color"), &[]);
    says(&made("Phase"), &[]);
}
