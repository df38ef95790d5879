//! What a crane lifts, a truck carries and joists bear, from the schedule to the findings.

use super::super::support::report::{report, report_with, said, shop, table_of};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};

/// Twelve lines of 30 ft: 12 x 179.92 = 2,159 lb.
fn job(longest_lift: &str, support: &str) -> Schedule {
    with_types(schedule())
        .sheet("Sequences")
        .row(["Sequence", "Order", "Longest lift"])
        .row(["S1", "1", longest_lift])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width", "Support"])
        .row(["2", "A", "D1", "S1", "3@10'-0\"", "36'-0\"", support])
}

#[test]
fn bundles_longer_than_the_longest_lift() {
    assert_eq!(said(&report(&job("30'", "")), "longer-than-lift"), Vec::<String>::new());
    assert_eq!(
        said(&report(&job("28'-6\"", "")), "longer-than-lift"),
        [
            "Sequences!C2: warning[longer-than-lift]: bundles of sequence S1 are up to 30'-0\" long, the \
          longest lift there is 28'-6\"\n  hint: ask the erector, or cut shorter: Cut in Bays, or \
          the rule `longest_panel_ft`"
        ]
    );
    let shop = shop(&[("rules.rhai", "fn longest_lift_ft(sequence) { 25 }\n")]);
    assert_eq!(said(&report_with(&job("", ""), Some(&shop)), "longer-than-lift").len(), 1);
}

/// A crane that lifts nothing is a slip: it is told, and the bundles are made.
#[test]
fn a_crane_limit_of_nothing() {
    for (limit, typed) in [("0", "0"), ("-5", "-5")] {
        let made = with_types(schedule())
            .sheet("Sequences")
            .row(["Sequence", "Order", "Crane limit"])
            .row(["S1", "1", limit])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width"])
            .row(["2", "A", "D1", "S1", "3@10'-0\"", "36'-0\""]);
        let report = report(&made);
        assert_eq!(table_of(&report, "bundles").rows, 1);
        assert_eq!(
            said(&report, "crane-limit"),
            [format!(
                "Sequences!C2: error[crane-limit]: sequence S1 has a crane limit of {typed} lb, wanted a \
                 weight above 0 lb; its bundles are made without it\n  hint: leave Crane limit blank where \
                 the crane limits nothing"
            )]
        );
    }
}

/// 23 panels of 30 ft, 179.92 lb each: 22 are within 4,000 lb, so one is left for a bundle of its own.
#[test]
fn a_bundle_of_very_little_weight() {
    let made =
        |width| {
            with_types(schedule())
                .sheet("Bays")
                .row(["Level", "Bay", "Type", "Spans", "Width"])
                .row(["2", "A", "D1", "3@10'-0\"", width])
        };
    assert_eq!(said(&report(&made("66'")), "bundle-light"), [""; 0]);
    let found = said(&report(&made("69'")), "bundle-light");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("bundle 2-2 has 1 panel, 180 lb: little for a lift of its own"),
        "{found:?}"
    );
}

/// The limit is of what is landed on joists, so it stands apart from the heaviest bundle.
#[test]
fn bundles_landed_on_joists() {
    let heavy =
        shop(&[("rules.rhai", "fn bundle_lb() { 6000 }\nfn joist_landing_lb() { 2000 }\n")]);
    let landed = |support| said(&report_with(&job("", support), Some(&heavy)), "joist-landing");
    assert_eq!(
        landed("Joists at 5'-0\""),
        [
            "bundles row 1 lift_lb: warning[joist-landing]: bundle S1-1 of 2,159 lb goes to sequence \
          S1, where bays stand on joists: more than 2,000 lb may not be landed on them (29 CFR \
          1926.757(e)(4), from memory)\n  hint: ask the erector; the rule `bundle_lb` makes bundles \
          lighter"
        ]
    );
    assert_eq!(landed("W18 beams"), Vec::<String>::new());
    assert_eq!(said(&report(&job("", "joists")), "joist-landing"), Vec::<String>::new());
}

/// By hand: a panel of 30 ft weighs 179.92 lb, over a truck of 150 lb by itself: each is a load.
#[test]
fn a_load_over_the_truck_is_said() {
    let small = shop(&[(
        "rules.rhai",
        "fn truck_payload_lb() { 150 }\nfn truck_least_lb() { 0 }\nfn bundle_lb() { 180 }\n",
    )]);
    let report = report_with(&job("", ""), Some(&small));
    assert_eq!(table_of(&report, "loads").rows, 12);
    let said = said(&report, "load-over");
    assert_eq!(
        said.first().map(String::as_str),
        Some(
            "loads row 1: warning[load-over]: load 1 is over a limit of the truck with one bundle on \
             it\n  hint: ask the carrier, or make the bundle smaller by the rule `bundle_lb`"
        )
    );
    assert_eq!(said.len(), 12);
}

/// Many such bundles of a sequence are told together: every panel of 179.92 lb by itself.
#[test]
fn many_bundles_are_told_together() {
    let crane = |limit: &str| {
        let made = with_types(schedule())
            .sheet("Sequences")
            .row(["Sequence", "Crane limit"])
            .row(["S1", limit])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width"])
            .row(["2", "A", "D1", "S1", "3@10'-0\"", "36'-0\""]);
        report(&made)
    };
    let over = said(&crane("150"), "bundle-over");
    assert_eq!(
        over,
        [
            "bundles row 1: warning[bundle-over]: a single panel is over a limit each of 12 bundles, S1-1, S1-2, \
          S1-3, S1-4 and 8 more\n  hint: ask the erector what the crane lifts"
        ]
    );
    assert_eq!(said(&crane("150"), "bundle-light"), [""; 0]);
    let light = said(&crane("200"), "bundle-light");
    assert_eq!(light.len(), 1, "{light:?}");
    assert!(
        light[0].contains(
            "12 bundles of sequence S1, S1-1, S1-2, S1-3, S1-4 and 8 more, weigh 180 lb at most"
        ),
        "{light:?}"
    );
}

/// A load of one sequence needs no day of its own, however long the sequence's name is.
#[test]
fn loads_without_a_day() {
    let made = |sequences: [&str; 2]| {
        let mut made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width"]);
        for (bay, sequence) in ["A", "B"].iter().zip(sequences) {
            made = made.row(["2", bay, "D1", sequence, "3@10'-0\"", "36'-0\""]);
        }
        said(&report(&made), "load-without-date")
    };
    assert_eq!(made(["North wing", "North wing"]), [""; 0]);
    let two = made(["North wing", "South wing"]);
    assert_eq!(two.len(), 1, "{two:?}");
    assert!(two[0].contains("carries North wing and South wing together"), "{two:?}");
}

/// A sequence of two levels comes whole on the first day of theirs, and that is said; so are days on which
/// the calendar is closed (2027-02-21 is a Sunday), and a mill's weeks that begin before the quote does.
#[test]
fn days_on_site() {
    let made = |first: &str, second: &str, of_sequence: &str| {
        with_types(schedule().sheet("Job").row(["Quote date", "2027-02-01"]))
            .sheet("Levels")
            .row(["Level", "Sequence", "On site"])
            .row(["2", "S1", first])
            .row(["3", "S1", second])
            .sheet("Sequences")
            .row(["Sequence", "On site"])
            .row(["S1", of_sequence])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A", "D1", "3@10'-0\"", "36'-0\""])
            .row(["3", "A", "D1", "3@10'-0\"", "36'-0\""])
    };
    let two = report(&made("2027-03-02", "2027-03-09", ""));
    assert_eq!(
        said(&two, "on-site-differs"),
        [
            "order row 1: warning[on-site-differs]: sequence S1 takes deck of levels that are on site on \
             2027-03-02 and 2027-03-09: all of it is loaded for the first\n  hint: state On site on Sequences, \
             or give each level a sequence of its own"
        ]
    );
    for report in [
        report(&made("2027-03-02", "2027-03-02", "")),
        report(&made("2027-03-02", "2027-03-09", "2027-03-02")),
    ] {
        assert_eq!(said(&report, "on-site-differs"), [""; 0]);
        assert_eq!(said(&report, "on-site-closed"), [""; 0]);
        // Four weeks before 2 March are 2 February, after the quote.
        assert_eq!(said(&report, "release-by-past"), [""; 0]);
    }
    let early = report(&made("2027-02-21", "2027-02-21", ""));
    let closed = said(&early, "on-site-closed");
    assert!(
        closed[0]
            .contains("note[on-site-closed]: 2027-02-21 is a day on which the calendar is closed"),
        "{closed:?}"
    );
    // Where stock is suggested, no mill has to be told.
    assert_eq!(said(&early, "release-by-past"), [""; 0]);
    let rules = "fn stock_up_to_ft2() { 0 }\nfn mill_least_lb(deck) { 0 }\n";
    let made = made("2027-02-21", "2027-02-21", "");
    let late = said(&report_with(&made, Some(&shop(&[("rules.rhai", rules)]))), "release-by-past");
    assert!(late[0].contains("released by 2027-01-24, before the quote of 2027-02-01"), "{late:?}");
}

/// A crane's limit of a sequence that no bay has holds for nothing, and that is said.
#[test]
fn limits_of_no_bay() {
    let made = |sequence| {
        with_types(schedule())
            .sheet("Sequences")
            .row(["Sequence", "Crane limit"])
            .row(["N-1", "1500"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Sequence", "Spans", "Width"])
            .row(["2", "A", "D1", sequence, "3@10'-0\"", "36'-0\""])
    };
    assert_eq!(said(&report(&made("N-1")), "sequence-without-bays"), [""; 0]);
    assert_eq!(
        said(&report(&made("N1")), "sequence-without-bays"),
        [
            "Sequences!A2: warning[sequence-without-bays]: no bay is of sequence N-1: its limits and day on site \
          hold for nothing\n  hint: name it as Bays and Levels do"
        ]
    );
}
