//! The questions that deck under wet concrete raises, from the schedule to the findings.

use super::super::support::report::{
    cell, number, report, report_with, said, shop, texts, try_report,
};
use super::super::support::schedule_builder::{Schedule, schedule};

/// One bay of one composite type; the headings given with their values stand beside the usual ones.
fn job(more: &[(&str, &str)]) -> Schedule {
    let usual = [
        ("Level", "2"),
        ("Bay", "A"),
        ("Type", "D1"),
        ("Use", "composite"),
        ("Profile", "3x12"),
        ("Cover", "36"),
        ("Gauge", "20"),
        ("Grade", "SS 40"),
        ("Finish", "G60"),
        ("Slab", "6 1/4"),
        ("Mix", "LW 110"),
        ("Mesh", "6x6-W2.1xW2.1"),
        ("Spans", "3@10'-0\""),
        ("Width", "36'-0\""),
    ];
    let value = |name: &str, value: &'static str| {
        more.iter().find(|(other, _)| *other == name).map_or(value, |(_, own)| own).to_owned()
    };
    let mut headings: Vec<String> = usual.iter().map(|(name, _)| (*name).to_owned()).collect();
    let mut cells: Vec<String> = usual.iter().map(|(name, own)| value(name, own)).collect();
    for (name, own) in more.iter().filter(|(name, _)| usual.iter().all(|(other, _)| other != name))
    {
        headings.push((*name).to_owned());
        cells.push((*own).to_owned());
    }
    schedule().sheet("Bays").row(headings).row(cells)
}

/// Each question is put where it should be, and not on the ordinary bay.
#[test]
fn each_question_where_it_belongs() {
    let cases: [(&str, &[(&str, &str)]); 14] = [
        ("slab-too-thin", &[("Slab", "4")]),
        ("slab-unusual", &[("Slab", "9")]),
        ("unshored-over-limit", &[("Spans", "2@16'-0\"")]),
        ("shored-and-over-limit", &[("Spans", "2@16'-0\""), ("Shored", "yes")]),
        ("mesh-under-least", &[("Mesh", "6x6-W1.4xW1.4")]),
        ("mesh-missing", &[("Mesh", "")]),
        ("finish-lead-time", &[("Finish", "G90")]),
        ("deep-deck", &[("Profile", "6x12"), ("Slab", "8 1/2")]),
        ("arc-spot-diameter", &[("Fastening", "36/4 weld")]),
        ("stud-limits", &[("Stud", "3 3/8")]),
        ("cantilever-over-limit", &[("Far end", "+5'-0\"")]),
        ("bare-over-limit", &[("Slab", "none"), ("Mix", "none"), ("Spans", "20'-0\"")]),
        ("camber-over-deflection", &[("Camber", "1 1/2"), ("Beam deflection", "1")]),
        ("mesh-not-known", &[("Mesh", "#4@12 EW")]),
    ];
    let plain = report(&job(&[]));
    for (code, more) in cases {
        assert_eq!(said(&plain, code), [""; 0], "{code}");
        let found = said(&report(&job(more)), code);
        assert_eq!(found.len(), 1, "{code}: {found:?}");
        assert!(found[0].starts_with("Bays!"), "{found:?}");
        for word in ["safe", "OK", "approved", "passes"] {
            assert!(!found[0].contains(word), "{found:?}");
        }
    }
}

/// By hand: 8 in of bearing asked of a support of 1 in: the least is 1 1/2 in.
#[test]
fn bearings() {
    let short = shop(&[(
        "rules.rhai",
        "fn construction_settings() { #{ method: \"asd\", end_bearing_in: 1, interior_bearing_in: 0.75 } }\n",
    )]);
    let under = report_with(&job(&[]), Some(&short));
    assert_eq!(
        said(&under, "bearing-under-least"),
        [
            "warning[bearing-under-least]: a bearing of 1\" is stated, the least is 1 1/2\" (C-2017 section \
          3, from memory)\n  hint: check the rule `construction_settings` against the framing"
        ]
    );
    let heavy = job(&[("Slab", "12"), ("Mix", "NW 150"), ("Gauge", "22"), ("Spans", "3@12'-0\"")]);
    let found = said(&report_with(&heavy, Some(&short)), "bearing-short");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("bearing at support")
            && found[0].contains("1\" of bearing at ends and 3/4\" inside"),
        "{found:?}"
    );
}

/// A span of a cantilever within a bearing's reach is none; a held-back end neither.
#[test]
fn ends_that_are_no_cantilever() {
    for end in ["+3\"", "-4\"", "cl", ""] {
        let found =
            said(&report(&job(&[("Far end", end), ("Gauge", "22")])), "cantilever-over-limit");
        assert_eq!(found, [""; 0], "{end}");
    }
}

/// A length without a sign is beyond the support, as the layout takes it: 18 ft and 5 ft are 23 ft.
#[test]
fn a_cantilever_without_a_sign() {
    let at = |end| report(&job(&[("Far end", end), ("Spans", "3@6'-0\"")]));
    let (plain, signed) = (at("5'-0\""), at("+5'-0\""));
    for report in [&plain, &signed] {
        assert_eq!(number(report, "order", 0, "length_ft"), 23.0);
        assert_eq!(said(report, "cantilever-concrete").len(), 1);
    }
    let found = said(&plain, "cantilever-over-limit");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found, said(&signed, "cantilever-over-limit"));
}

/// A bay with an opening, or with a corner cut off, has the same cantilever at its far end.
#[test]
fn a_cantilever_of_a_bay_by_its_outline() {
    let made = |start, far| {
        job(&[("Start end", start), ("Far end", far), ("Runs", "E-W"), ("X", "0"), ("Y", "0")])
    };
    let opening = |made: Schedule| {
        made.sheet("Openings")
            .row(["Level", "Bay", "X", "Y", "Length", "Width", "Framed"])
            .row(["2", "A", "13", "16", "4", "4", "yes"])
    };
    let cut = |made: Schedule| {
        let mut made = made.sheet("Outlines").row(["Level", "Bay", "X", "Y"]);
        for [x, y] in [["0", "0"], ["30", "0"], ["30", "30"], ["24", "36"], ["0", "36"]] {
            made = made.row(["2", "A", x, y]);
        }
        made
    };
    let found = |made: &Schedule| said(&report(made), "cantilever-over-limit");
    let plain = found(&made("", "+5'-0\""));
    assert_eq!(plain.len(), 1, "{plain:?}");
    assert_eq!(found(&opening(made("", "+5'-0\""))), plain);
    assert_eq!(found(&cut(made("", "+5'-0\""))), plain);
    let start = found(&cut(made("+5'-0\"", "")));
    assert!(start.len() == 1 && start[0].contains("at the start end"), "{start:?}");
    assert_eq!(found(&opening(made("", "+2\""))), [""; 0]);
}

/// What a cantilever does at the support it hangs from is its own: 3'-3" past spans of 5 ft are within
/// the limits of the cantilever itself and over that of bearing beside it.
#[test]
fn the_support_beside_a_cantilever() {
    let more = [
        ("Gauge", "22"),
        ("Grade", "SS 50"),
        ("Slab", "7 1/2"),
        ("Mix", "NW 145"),
        ("Spans", "2@5'-0\""),
        ("Far end", "+3'-3\""),
    ];
    let found = said(&report(&job(&more)), "cantilever-over-limit");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("bearing at support 3 under wet concrete"), "{found:?}");
}

/// Roof deck and deck without a slab are looked at bare; within the limits nothing is said but that no
/// more is looked at.
#[test]
fn bare_deck() {
    let roof = |spans, far| {
        report(&job(&[
            ("Use", "roof"),
            ("Profile", "1.5x6"),
            ("Gauge", "22"),
            ("Slab", ""),
            ("Mix", ""),
            ("Mesh", ""),
            ("Spans", spans),
            ("Far end", far),
        ]))
    };
    let usual = roof("3@6'-0\"", "");
    for code in ["bare-over-limit", "cantilever-over-limit"] {
        assert_eq!(said(&usual, code), [""; 0]);
    }
    assert_eq!(
        said(&usual, "roof-deck-loads"),
        [
            "note[roof-deck-loads]: roof deck is looked at bare, under crew and platform alone: uplift, \
          snow, rain, diaphragm and fastening are the engineer's"
        ]
    );
    let long = roof("3@11'-0\"", "+6'-0\"");
    let found = said(&long, "bare-over-limit");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0]
            .starts_with("Bays!M2: warning[bare-over-limit]: type D1 over 3@11'-0\", no slab: ")
            && found[0].contains("bare deck and 50 psf"),
        "{found:?}"
    );
    assert_eq!(said(&long, "cantilever-over-limit").len(), 1);
}

/// By hand: a cantilever of 2'-6" of roof deck of 1.73 psf under 200 lb at its end, on a strip 1 ft wide:
/// 1.73 x 2.5^2 / 2 + 200 x 2.5 = 505.4 ft-lb, 169 % of the 299.7 ft-lb of 22 ga (0.182 in3 x 33 / 1.67).
#[test]
fn bare_deck_under_a_worker() {
    let made = job(&[
        ("Use", "roof"),
        ("Profile", "1.5x6"),
        ("Gauge", "22"),
        ("Grade", "SS 33"),
        ("Slab", ""),
        ("Mix", ""),
        ("Mesh", ""),
        ("Spans", "3@6'-0\""),
        ("Far end", "+2'-6\""),
    ]);
    let found = said(&report(&made), "cantilever-over-limit");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("under bare deck and 200 lb is 16"), "{found:?}");
}

/// Four shore lines a run are the most that are looked at: where they do not do, that is said.
#[test]
fn shores_that_do_not_do() {
    let slender = job(&[
        ("Use", "form"),
        ("Profile", "9/16x2.5"),
        ("Cover", "30"),
        ("Gauge", "28"),
        ("Grade", "SS 33"),
        ("Slab", "4"),
        ("Mix", "NW 145"),
        ("Spans", "12'-0\""),
    ]);
    let found = said(&report(&slender), "unshored-over-limit");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("; even 4 shore lines a run leave it at 1"), "{found:?}");
    let usual = said(&report(&job(&[("Spans", "2@16'-0\"")])), "unshored-over-limit");
    assert!(usual[0].contains("shore lines a run would bring it within"), "{usual:?}");
}

/// By hand: beams that deflect 1 in under 3/4 in of camber leave 1/4 in at mid-span: 0.64 x 0.25 / 12 x
/// 1,080 ft2 / 27 = 0.5333 yd3; with as much camber as deflection nothing is left.
#[test]
fn camber_is_taken_off_the_deflection() {
    let frame_yd3 = |camber| {
        let made = job(&[("Beam deflection", "1"), ("Camber", camber)]);
        number(&report(&made), "takeoff", 0, "frame_yd3")
    };
    let one_inch = 0.64 / 12.0 * 1_080.0 / 27.0;
    for (camber, left) in [("", 1.0), ("3/4", 0.25), ("1", 0.0), ("1 1/2", 0.0)] {
        assert!((frame_yd3(camber) - left * one_inch).abs() < 1e-9, "{camber}");
    }
}

/// A strip past the last support has no concrete unless Edges has it; one held back has no deck.
#[test]
fn ends_past_and_short_of_the_last_support() {
    let said_of = |made: &Schedule| said(&report(made), "cantilever-concrete");
    let start = said_of(&job(&[("Start end", "+2'-0\"")]));
    let cell = start[0].split(':').next().unwrap().to_owned();
    let far = said_of(&job(&[("Far end", "+2'-0\"")]));
    assert!(
        far[0].starts_with(&cell),
        "each is the one column beyond the usual: {start:?} {far:?}"
    );
    let both = said_of(&job(&[("Start end", "+2'-0\""), ("Far end", "+2'-0\"")]));
    assert_eq!(both.len(), 2, "{both:?}");
    assert!(both[0].starts_with(&cell) && both[0].contains("at the start end"), "{both:?}");
    assert!(!both[1].starts_with(&cell) && both[1].contains("at the far end"), "{both:?}");
    let beyond = job(&[("Far end", "+2'-0\"")]);
    let found = said_of(&beyond);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains(
            "note[cantilever-concrete]: deck reaches 2'-0\" beyond its last support at the far end: no \
             concrete is counted on it, and no row of Edges of level 2 has that overhang"
        ),
        "{found:?}"
    );
    let with_edge = beyond
        .sheet("Edges")
        .row(["Level", "Length", "Overhang", "Slab", "Item"])
        .row(["2", "36", "24", "6 1/4", "bent plate"]);
    assert_eq!(said_of(&with_edge), [""; 0]);
    let short = said_of(&job(&[("Far end", "-2'-0\"")]));
    assert_eq!(short.len(), 1, "{short:?}");
    assert!(short[0].contains("deck is held back 2'-0\" at the far end: that strip is undecked"));
    assert_eq!(said_of(&job(&[("Far end", "-4\"")])), [""; 0]);
}

/// Computed longest spans are rounded down to 0.1 ft, and say that they are computed.
#[test]
fn longest_spans_that_are_computed() {
    let report = report(&job(&[]));
    for column in ["one_ft", "two_ft", "three_ft"] {
        let tenths = number(&report, "spans", 0, column) * 10.0;
        assert!((tenths - tenths.round()).abs() < 1e-9, "{column}: {tenths}");
    }
    let by = cell(&report, "spans", 0, "unshored_by");
    assert_eq!(by.as_text(), Some("computed, rounded down"));
}

/// The first finding of an impossible input; of a script's only what it says, not the line.
fn first(made: &Schedule, rules: &str) -> String {
    let shop = shop(&[("rules.rhai", rules)]);
    let findings = match try_report(made, Some(&shop), 1) {
        Ok(report) => report.findings,
        Err(findings) => findings,
    };
    let text = texts(&findings).remove(0);
    match text.split_once("error[bad-argument]: ") {
        Some((_, said)) => said.lines().next().unwrap_or_default().to_owned(),
        None => text,
    }
}

#[test]
fn impossible_input() {
    assert_eq!(
        first(&job(&[("Slab", "2")]), ""),
        "in `concrete::thickness_in`: `deck.slab_in` is 2, wanted a slab thickness from the deck depth \
         to 120 in, total from the bottom of the flutes"
    );
    assert_eq!(
        first(&job(&[("Spans", "-10'")]), ""),
        "Bays!M2: error[negative-length]: `Spans` is -10' (-10'-0\"), wanted a length above 0 ft"
    );
    assert_eq!(
        first(&job(&[("Spans", "")]), ""),
        "Bays!M2: error[missing-value]: `Spans` is blank\n  hint: Spans along the flutes: 3@10'-0\"."
    );
    assert_eq!(
        first(
            &job(&[]),
            "fn construction_settings() { #{ end_bearing_in: 60, interior_bearing_in: 3 } }\n",
        ),
        "in `deck::ponding`: `run.end_bearing_in` is 60, wanted a bearing length above 0 and up to 48 \
         in"
    );
}

/// What a deck lacks is said by the heading that it comes from, beside the field that scripts read.
#[test]
fn a_missing_grade_is_asked_for_by_its_heading() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "18", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "D1", "3@10'", "30'"]);
    let report = report(&made);
    let refused: Vec<_> = report.findings.iter().filter(|it| &*it.code == "bad-argument").collect();
    assert!(!refused.is_empty());
    for finding in refused {
        assert!(finding.message.contains("`deck.fy_ksi` is missing"), "{finding:?}");
        let hint = "a deck of the schedule has it from `Grade`, stated in Types or Bays";
        assert!(finding.hints.iter().any(|given| given == hint), "{finding:?}");
    }
}
