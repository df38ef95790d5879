//! Pours from the schedule to dates, trucks and the plant's week, worked by hand; what a late change
//! moves; and what is said of input of which no pour can be made.

use super::super::support::report::{
    cell, number, report, report_with, said, shop, table_of, texts, total, try_report,
};
use super::super::support::schedule_builder::{Cell, Schedule, schedule, with_types};
use crate::cells;
use baytally::table::Report;
use baytally::value::Value;

const POURS: [&str; 6] = ["Pour", "Level", "Earliest", "After", "Rate", "Order"];

/// Two levels of two shored bays each, 30 ft long.
fn job() -> Schedule {
    let mut made = with_types(schedule().sheet("Job").row(["Start date", "2026-06-29"]))
        .sheet("Levels")
        .row(["Level", "On site"])
        .row(["2", "2026-06-25"])
        .row(["3", "2026-06-30"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "Shored"]);
    for (level, bay, width, pour) in [
        ("2", "A", "120'", "P1"),
        ("2", "B", "100'", "P2"),
        ("3", "A", "90'", "P1"),
        ("3", "B", "60'", "P2"),
    ] {
        made = made.row([level, bay, "D1", "3@10'-0\"", width, pour, "yes"]);
    }
    made
}

fn with_pours(rows: &[Vec<Cell>]) -> Schedule {
    let mut made = job().sheet("Pours").row(POURS);
    for row in rows {
        made = made.row(row.clone());
    }
    made
}

fn column(report: &Report, table: &str, key: &str) -> Vec<String> {
    let text = |row| match cell(report, table, row, key) {
        Value::Text(text) => text.to_string(),
        other => other.to_string(),
    };
    (0..table_of(report, table).rows).map(text).collect()
}

/// One crew; 8,000 ft2 of deck laid a day, poured the working day after; neighbours 2 days apart, a
/// level 3 days after the one before. Friday 2026-07-03 is Independence Day observed.
///
/// Laying: level 2's 3,600 and 3,000 ft2 on Thursday 25 June. P1 on Monday 29 June, the first day; P2
/// two days on, Wednesday. Level 3 three days after it: Saturday 4 July, so Monday 6; its P2 Wednesday.
///
/// Concrete: 4.75 in on average, area / 324 x 4.75 yd3, and 5 %: 52.778 is 55.417, so 55.50 in quarter
/// yards; 43.981 is 46.181, 46.25; 39.583 is 41.563, 41.75; 26.389 is 27.708, 27.75.
/// Trucks of 10 yd3 every 15 min at 40 yd3/h: 55.5 is 83.25 min, 46.25 is 69.4, 41.75 is 62.6, 27.75
/// is 41.6.
#[test]
fn four_pours_by_hand() {
    let report = report(&job());
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    let column = |key| column(&report, "pours", key);
    assert_eq!(column("level"), ["2", "2", "3", "3"]);
    assert_eq!(column("pour"), ["P1", "P2", "P1", "P2"]);
    assert_eq!(column("date"), ["2026-06-29", "2026-07-01", "2026-07-06", "2026-07-08"]);
    assert_eq!(
        column("why"),
        [
            "first day of the schedule",
            "2 days from neighbouring 2/P1",
            "after 2/P2 of level 2",
            "2 days from neighbouring 3/P1",
        ]
    );
    assert_eq!(column("order_yd3"), ["55.5", "46.25", "41.75", "27.75"]);
    assert_eq!(column("trucks"), ["6", "5", "5", "3"]);
    assert_eq!(column("first"), ["07:00"; 4]);
    assert_eq!(column("last"), ["08:15", "08:00", "08:00", "07:30"]);
    assert_eq!(column("end"), ["08:23", "08:09", "08:03", "07:42"]);
    assert_eq!(column("tests"), ["1"; 4]);
    assert_eq!(column("cylinders"), ["5"; 4]);
    assert_eq!(
        column("strip"),
        ["at the strength the engineer states, on the engineer's release"; 4]
    );
    let loads: Vec<f64> = (0..19).map(|row| number(&report, "trucks", row, "load_yd3")).collect();
    let full = |count| vec![10.0; count];
    let by_hand =
        [full(5), vec![5.5], full(4), vec![6.25], full(4), vec![1.75], full(2), vec![7.75]];
    assert_eq!(loads, by_hand.concat());
    assert_eq!(table_of(&report, "trucks").rows, 19);
    let days: Vec<f64> = (0..10).map(|row| number(&report, "calendar", row, "yd3")).collect();
    assert_eq!(days, [55.5, 0.0, 46.25, 0.0, 0.0, 0.0, 0.0, 41.75, 0.0, 27.75]);
    assert_eq!(
        said(&report, "truck-notes"),
        ["pours row 3 order_yd3: note[truck-notes]: truck 5 brings 1.75 yd3, under 4 yd3: a \
          short-load charge is usual"]
    );
}

/// By hand, from the four pours: two of the week of 29 June, two of the week of 6 July.
#[test]
fn the_plant_s_weeks() {
    let report = report(&job());
    assert_eq!(column(&report, "weeks", "week"), ["2026-06-29", "2026-07-06"]);
    assert_eq!(column(&report, "weeks", "mix"), ["LW 110", "LW 110"]);
    assert_eq!(column(&report, "weeks", "order_yd3"), ["101.75", "69.5"]);
    assert_eq!(column(&report, "weeks", "trucks"), ["11", "8"]);
    assert_eq!(column(&report, "weeks", "pours"), ["2/P1 and 2/P2", "3/P1 and 3/P2"]);
    assert_eq!(total(&report, "weeks", "order_yd3"), total(&report, "pours", "order_yd3"));
}

/// Charts that go with the tables, and none that asks for what is not there.
#[test]
fn charts_of_the_bundled_scripts() {
    let report = report(&job());
    let charts: Vec<String> = report
        .charts
        .iter()
        .map(|chart| {
            let table = table_of(&report, &chart.table);
            assert!(table.column(&chart.category).is_some(), "{chart:?}");
            assert!(table.column(&chart.value).is_some(), "{chart:?}");
            format!("{}: {}.{} by {}", chart.title, chart.table, chart.value, chart.category)
        })
        .collect();
    assert_eq!(
        charts,
        [
            "Deck weight by level: panels.weight_lb by level",
            "Fill of trucks: loads.fill by load",
            "Concrete a day: calendar.yd3 by date",
        ]
    );
}

/// P2 of level 2 on Monday 6 July at the earliest: level 3 three days on, Thursday 9; its P2 on
/// Saturday 11, so Monday 13.
#[test]
fn an_earliest_date_moves_what_hangs_on_it() {
    let late = with_pours(&[
        cells!["P1", "2", "", "", "", ""],
        cells!["P2", "2", Cell::Date(2026, 7, 6), "", "", ""],
    ]);
    let report = report(&late);
    assert_eq!(
        column(&report, "pours", "date"),
        ["2026-06-29", "2026-07-06", "2026-07-09", "2026-07-13"]
    );
    assert_eq!(
        said(&report, "earliest-moves"),
        [
            "Pours!C3: note[earliest-moves]: with this Earliest date 2/P2 moves 5 days later, 2026-07-01 \
          to 2026-07-06: earliest date as given; 3/P1 moves 3 days later, 2026-07-06 to 2026-07-09: \
          after 2/P2 of level 2; 3/P2 moves 5 days later, 2026-07-08 to 2026-07-13: 2 days from \
          neighbouring 3/P1"
        ]
    );
    let early = with_pours(&[cells!["P2", "2", Cell::Date(2026, 6, 1), "", "", ""]]);
    assert_eq!(said(&super::super::support::report::report(&early), "earliest-moves"), [""; 0]);
}

/// Three days of July given up to weather, spread over its 22 working days (the 3rd is off): the 4th,
/// 12th and 19th of them, the 7th, 17th and 28th. P2 of level 2, no earlier than the 7th, waits a day;
/// level 3 is three days on, Saturday 11, so Monday 13; its P2 two days on.
#[test]
fn weather_days_by_rule() {
    let wet =
        shop(&[("rules.rhai", "fn weather_days(month) { if month == 7 { 3 } else { 0 } }\n")]);
    let made = with_pours(&[cells!["P2", "2", Cell::Date(2026, 7, 7), "", "", ""]]);
    let dates = |report: &Report| column(report, "pours", "date");
    assert_eq!(dates(&report(&made)), ["2026-06-29", "2026-07-07", "2026-07-10", "2026-07-13"]);
    let wet = report_with(&made, Some(&wet));
    assert_eq!(dates(&wet), ["2026-06-29", "2026-07-08", "2026-07-13", "2026-07-15"]);
    let at = column(&wet, "calendar", "date").iter().position(|date| date == "2026-07-07").unwrap();
    assert_eq!(column(&wet, "calendar", "closed")[at], "weather day");
}

fn first_line(said: &[String]) -> String {
    said.first().and_then(|said| said.lines().next()).unwrap_or_default().to_owned()
}

/// The error of one code without the line of the script it came from, and where it is reported.
fn argument(made: &Schedule, script: Option<&str>) -> String {
    let shop = script.map(|text| shop(&[("rules.rhai", text)]));
    let said = match try_report(made, shop.as_ref(), 1) {
        Ok(report) => {
            assert!(report.is_incomplete());
            said(&report, "bad-argument")
        }
        Err(findings) => texts(&findings),
    };
    let line = first_line(&said);
    line.split_once("error[bad-argument]: ").map_or(line.clone(), |(_, rest)| rest.to_owned())
}

#[test]
fn a_ring_of_predecessors() {
    let ring =
        with_pours(&[cells!["P1", "2", "", "P2", "", ""], cells!["P2", "2", "", "P1", "", ""]]);
    let report = report(&ring);
    assert!(report.is_incomplete());
    assert_eq!(
        said(&report, "pour-after"),
        [
            "Pours!D2: error[pour-after]: pour P1: After can not be kept: 2/P2 waits in a ring for this pour; \
          the pour is dated without it\n  hint: name pours of the Pours sheet that are placed before \
          it, `P1` or `3/P1`",
            "Pours!D3: error[pour-after]: pour P2: After can not be kept: 2/P1 waits in a ring for this pour; \
          the pour is dated without it\n  hint: name pours of the Pours sheet that are placed before \
          it, `P1` or `3/P1`",
        ]
    );
    assert_eq!(column(&report, "pours", "date"), DATES);
}

/// The dates of the four pours by themselves.
const DATES: [&str; 4] = ["2026-06-29", "2026-07-01", "2026-07-06", "2026-07-08"];

/// What can not be kept is told, and all pours are dated; what can, is kept.
#[test]
fn predecessors_that_are_none() {
    for (after, why) in [
        ("P1", "2/P1 is the pour itself"),
        ("P7", "2/P7 is no pour that takes concrete"),
        ("3/P1", "3/P1 of a level above waits for this level"),
    ] {
        let report = report(&with_pours(&[cells!["P1", "2", "", after, "", ""]]));
        let found = said(&report, "pour-after");
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains(&format!("After can not be kept: {why}; ")), "{found:?}");
        assert_eq!(column(&report, "pours", "date"), DATES);
    }
    let kept = report(&with_pours(&[cells!["P1", "2", "", "P2", "", ""]]));
    assert_eq!(said(&kept, "pour-after"), [""; 0]);
    assert_eq!(column(&kept, "pours", "pour")[..2], ["P2", "P1"]);
}

/// By hand: 80 ft by 400 ft of 4.75 in are 469.14 yd3; with 7.3 yd3 of deflection and 5 % 500.25 yd3, 51 trucks of 10
/// yd3. 500.25 yd3 at 40 yd3/h are 12.5 h.
#[test]
fn a_named_pour_over_what_a_day_takes() {
    let made = with_types(schedule().sheet("Job").row(["Start date", "2026-06-01"]))
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
        .row(["2", "A", "D1", "8@10'-0\"", "400'-0\"", "P1"]);
    assert_eq!(
        said(&report(&made), "pour-over-day"),
        [
            "pours row 1 order_yd3: warning[pour-over-day]: pour P1 of level 2: 500.25 yd3, over 150 yd3 a \
          day, 32,000 ft2, over 12,000 ft2 a day and 12.5 h of placing, over 8 h a day (51 trucks)\n  \
          hint: divide it into pours in Bays, or change the rules `pour_limits` and `pour_settings`"
        ]
    );
    assert_eq!(said(&report(&job()), "pour-over-day"), [""; 0]);
    // What a crew places in a day is a limit as well: 55.50 and 46.25 yd3 of the job are over it.
    let shop = shop(&[(
        "rules.rhai",
        "fn pour_settings() { let own = bundled::pour_settings(); own.yd3_a_day = 45; own }",
    )]);
    let over = said(&report_with(&job(), Some(&shop)), "pour-over-day");
    assert_eq!(over.len(), 2, "{over:?}");
    assert!(over[0].contains("55.50 yd3, over 45 yd3 a day"), "{over:?}");
}

/// Each pour of two mixes: its parts and those beside it are two days apart, and After may name it as the
/// schedule does. Deck is
/// laid on Monday 2026-06-29, Friday 3 July is closed.
#[test]
fn pours_of_two_mixes() {
    let made = |after: &str| {
        let mut made = with_types(schedule().sheet("Job").row(["Start date", "2026-06-29"]))
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "Mix"]);
        for (bay, pour, mix) in [
            ("A", "P1", "LW 110"),
            ("B", "P2", "LW 110"),
            ("C", "P1", "NW 145"),
            ("D", "P2", "NW 145"),
        ] {
            made = made.row(["2", bay, "D1", "3@10'-0\"", "30'", pour, mix]);
        }
        made.sheet("Pours").row(POURS).row(["P1", "2", "", after, "", ""])
    };
    let dated = |report: &Report| -> Vec<String> {
        let of = |key: &str| column(report, "pours", key);
        let (pours, mixes, dates) = (of("pour"), of("mix"), of("date"));
        (0..pours.len()).map(|at| format!("{} {} {}", dates[at], pours[at], mixes[at])).collect()
    };
    let plain = report(&made(""));
    assert_eq!(
        dated(&plain),
        [
            "2026-06-30 P1 LW 110",
            "2026-07-02 P2 LW 110",
            "2026-07-06 P1 NW 145",
            "2026-07-08 P2 NW 145"
        ]
    );
    // Its other part waits for the one that After names.
    let own = report(&made("P1 nw 145"));
    assert_eq!(said(&own, "pour-after"), [""; 0]);
    let place = |of: &str| dated(&own).iter().position(|pour| pour.ends_with(of)).unwrap();
    assert!(place("P1 NW 145") < place("P1 LW 110"), "{:?}", dated(&own));
    let turned = report(&made("P2"));
    assert_eq!(said(&turned, "pour-after"), [""; 0]);
    assert!(dated(&turned)[0].ends_with("P2 LW 110") && dated(&turned)[1].ends_with("P2 NW 145"));
}

/// 8 yd3 an hour: 10 yd3 take 75 min, after 30 min on the road; 55.5 yd3 from 20:00 take 6.9 h.
#[test]
fn slow_placing_by_night() {
    let made = job()
        .sheet("Pours")
        .row(["Pour", "Level", "Rate", "Start time"])
        .row(["P1", "2", "8", "20:00"]);
    let report = report(&made);
    assert_eq!(
        said(&report, "delivery-over-limit"),
        [
            "pours row 1 order_yd3: warning[delivery-over-limit]: pour P1 of level 2: truck 1 is empty 105 min \
          after batching, over the limit of 90 min\n  hint: ask the ready-mix supplier, place faster, or \
          change the rule `delivery_limit_min`"
        ]
    );
    assert_eq!(
        said(&report, "placing-past-midnight"),
        [
            "pours row 1 order_yd3: warning[placing-past-midnight]: pour P1 of level 2: placing goes on past \
          midnight, to 02:56 +1\n  hint: begin earlier, place faster, or divide the pour"
        ]
    );
    assert!(said(&report, "truck-notes").iter().all(|note| !note.contains("midnight")));
}

#[test]
fn a_mix_that_is_not_the_bays() {
    let with =
        |mix| report(&job().sheet("Pours").row(["Pour", "Level", "Mix"]).row(["P1", "2", mix]));
    assert_eq!(
        said(&with("NW 145"), "pour-mix-differs"),
        [
            "Pours!C2: warning[pour-mix-differs]: pour P1 states mix NW 145, its bays have LW 110: the bays' \
          mix is ordered\n  hint: state the mix in Types or Bays, where the loads on the deck follow it"
        ]
    );
    assert_eq!(said(&with("LW 110"), "pour-mix-differs"), [""; 0]);
}

/// 120 ft x 90 ft x 6 in taken off a pour of 53 yd3 leave less than nothing: its own cell is an error, the
/// other pours stand.
#[test]
fn a_pour_of_less_than_nothing() {
    let made = job()
        .sheet("Extra concrete")
        .row(["Level", "Pour", "Item", "Length", "Width", "Depth"])
        .row(["2", "P1", "depression", "120", "90", "-6"]);
    let report = report(&made);
    assert!(report.is_incomplete());
    assert_eq!(column(&report, "pours", "date"), DATES);
    assert!(said(&report, "bad-argument").iter().any(|s| s.contains("pours row 1 order_yd3")));
    assert_eq!(number(&report, "pours", 1, "order_yd3"), 46.25);
}

#[test]
fn dates_that_are_none() {
    let text = with_pours(&[cells!["P1", "2", "soon", "", "", ""]]);
    assert_eq!(
        said(&report(&text), "bad-date"),
        [
            "Pours!C2: error[bad-date]: `soon` under `Earliest` is no date\n  hint: write the date as \
          2026-03-14, or format the cell as a date"
        ]
    );
    let old = with_pours(&[cells!["P1", "2", Cell::Date(1900, 1, 1), "", "", ""]]);
    assert_eq!(
        said(&report(&old), "bad-date"),
        [
            "Pours!C2: error[bad-date]: `1900-01-01` under `Earliest`, wanted a date from 2000-01-01 to \
          2100-12-31\n  hint: write the date as 2026-03-14, or format the cell as a date"
        ]
    );
}

#[test]
fn a_rate_or_a_truck_of_nothing() {
    let slow = with_pours(&[cells!["P1", "2", "", "", 0.0, ""]]);
    assert_eq!(
        argument(&slow, None),
        "in `concrete::truck_times`: `pour.placing_yd3_h` is 0, wanted a rate from 0.1 to 10,000 yd3/h"
    );
    assert_eq!(
        said(&report(&slow), "no-placing-rate"),
        [
            "Pours!E2: error[no-placing-rate]: pour P1 is placed at 0.0 yd3 an hour, wanted a rate above \
          0\n  hint: leave Rate blank for the rule `placing_yd3_h`"
        ]
    );
    let none = report_with(&job(), Some(&shop(&[("rules.rhai", "fn truck_yd3() { 0 }\n")])));
    let found = said(&none, "thrown");
    assert!(
        found[0].contains("the rule truck_yd3 gives 0 yd3, wanted 0.25 to 100 yd3"),
        "{found:?}"
    );
}

#[test]
fn a_pour_without_bays() {
    let idle = with_pours(&[cells!["P1", "", "", "", "", ""], cells!["P9", "2", "", "", "", ""]]);
    assert_eq!(
        said(&report(&idle), "pour-without-bays"),
        [
            "Pours!A3: warning[pour-without-bays]: pour P9 has no bay, edge or extra concrete\n  hint: \
          name it under Pour in Bays, or strike the row"
        ]
    );
}

/// The place under Order is kept: level 2's P2 first, then P1 two days on; without it P1 is first.
#[test]
fn pours_keep_their_order() {
    let dates = |first: &str, second: &str| {
        let rows = [cells!["P1", "2", "", "", "", first], cells!["P2", "2", "", "", "", second]];
        let report = report(&with_pours(&rows));
        assert_eq!(said(&report, "pour-order"), [""; 0]);
        let marks =
            column(&report, "pours", "pour").into_iter().zip(column(&report, "pours", "date"));
        marks.take(2).map(|(mark, date)| format!("{mark} {date}")).collect::<Vec<_>>()
    };
    let ordered = ["P1 2026-06-29", "P2 2026-07-01"];
    assert_eq!(dates("", ""), ordered);
    assert_eq!(dates("1", "2"), ordered);
    assert_eq!(dates("2", "1"), ["P2 2026-06-29", "P1 2026-07-01"]);
}

/// Order and After that ask for opposite things: After is kept, and that is said.
#[test]
fn an_order_that_after_does_not_keep() {
    let made =
        with_pours(&[cells!["P1", "2", "", "P2", "", "1"], cells!["P2", "2", "", "", "", "2"]]);
    let report = report(&made);
    assert_eq!(column(&report, "pours", "pour")[..2], ["P2", "P1"]);
    assert_eq!(
        said(&report, "pour-order"),
        [
            "Pours!F3: warning[pour-order]: pour 2/P2 is placed before pour 2/P1, whose Order comes first: \
          After asks for that\n  hint: let Order and After agree on Pours"
        ]
    );
}

/// What After names may be on hold, or void: then nothing is waited for, and no error is made of it.
#[test]
fn after_a_pour_that_waits() {
    for status in ["hold", "void"] {
        let made = with_types(schedule().sheet("Job").row(["Start date", "2026-06-29"]))
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "Status"])
            .row(["2", "A", "D1", "3@10'-0\"", "60'", "P1", status])
            .row(["2", "B", "D1", "3@10'-0\"", "60'", "P2", ""])
            .sheet("Pours")
            .row(["Pour", "After"])
            .row(["P2", "P1"]);
        let report = report(&made);
        assert!(!report.is_incomplete(), "{:?}", report.findings);
        assert_eq!(
            said(&report, "after-waits"),
            [
                "Pours!B2: note[after-waits]: pour P2: 2/P1, which After names, takes no concrete now; the pour \
                 is dated without it\n  hint: its bays are void, on hold or of an alternate"
            ],
            "{status}"
        );
    }
}

/// An edge of 30 ft with 12 in of overhang and a pad wait with the bays of their pour: no day is taken
/// for them. Without the hold they are 30 x 1 x 6.25 / 12 / 27 = 0.5787 yd3 and 9 x 9 x 4 / 12 / 27 = 1.
#[test]
fn what_lies_beside_bays_on_hold_waits_too() {
    let made = |status: &str| {
        with_types(schedule().sheet("Job").row(["Start date", "2026-06-29"]))
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "Status"])
            .row(["2", "A", "D1", "3@10'-0\"", "60'", "P1", ""])
            .row(["2", "B", "D1", "3@10'-0\"", "60'", "P2", status])
            .sheet("Edges")
            .row(["Level", "Length", "Overhang", "Slab", "Pour"])
            .row(["2", "30", "12", "6 1/4", "P2"])
            .sheet("Extra concrete")
            .row(["Level", "Pour", "Item", "Length", "Width", "Depth"])
            .row(["2", "P2", "pad", "9'", "9'", "4\""])
    };
    let (open, held) = (report(&made("")), report(&made("hold")));
    assert_eq!(column(&open, "pours", "pour"), ["P1", "P2"]);
    assert_eq!(column(&held, "pours", "pour"), ["P1"]);
    let share = |report: &Report, what: &str| {
        let rows = 0..table_of(report, "concrete").rows;
        let of = |row: &usize| cell(report, "concrete", *row, "what") == Value::text(what);
        rows.filter(of).map(|row| number(report, "concrete", row, "net_yd3")).sum::<f64>()
    };
    assert!((share(&open, "edge strip") - 0.578_703_7).abs() < 1e-6);
    assert!((share(&open, "pad") - 1.0).abs() < 1e-12);
    assert_eq!(share(&held, "edge strip") + share(&held, "pad"), 0.0);
    assert_eq!(said(&open, "concrete-on-hold"), [""; 0]);
    assert_eq!(
        said(&held, "concrete-on-hold"),
        [
            "Edges!E2: note[concrete-on-hold]: pour P2 of level 2: its bays are void, on hold or of an alternate, \
             and so no concrete and no edge form is counted for an edge",
            "Extra concrete!B2: note[concrete-on-hold]: pour P2 of level 2: its bays are void, on hold or of an \
             alternate, and so no concrete is counted for pad",
        ]
    );
    let forms = |report: &Report| {
        column(report, "accessories", "item").iter().filter(|item| *item == "bent plate").count()
    };
    assert_eq!([forms(&open), forms(&held)], [1, 0]);
    for report in [&open, &held] {
        assert_eq!(said(report, "concrete-without-mix"), [""; 0]);
    }
}

/// Where the table of pours can not be made, pours are not told to have no bays.
#[test]
fn pours_that_can_not_be_made() {
    let broken = shop(&[("rules.rhai", "fn pour_calendar() { #{ closed: [\"soon\"] } }\n")]);
    let report = report_with(&with_pours(&[cells!["P1", "2", "", "", "", ""]]), Some(&broken));
    assert!(report.is_incomplete());
    assert_eq!(said(&report, "pour-without-bays"), [""; 0]);
}

/// Concrete is gathered into pours with its waste: 149.2 yd3 in place are 156.7 ordered, over a day of 150.
#[test]
fn gathered_pours_keep_the_days_limit_as_ordered() {
    let made = with_types(schedule().sheet("Job").row(["Start date", "2026-06-29"]))
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Shored"])
        .row(["2", "A", "D1", "3@10'-0\"", "339'", "yes"]);
    let report = report(&made);
    assert_eq!(table_of(&report, "pours").rows, 2);
    assert_eq!(said(&report, "pour-over-day"), [""; 0]);
}
