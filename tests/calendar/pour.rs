//! Dates of pours.

mod four;
mod property;
mod refused;

use std::sync::Arc;

use baytally::calendar::pour::schedule_pours;
use baytally::value::{Record, Refusal, Value};

use super::date;

/// A pour of one level with one bay and more fields.
fn pour<const N: usize>(mark: &str, level: &str, more: [(&str, Value); N]) -> Arc<Record> {
    let mut record = Record::from_iter([
        (Arc::from("pour"), Value::text(mark)),
        (Arc::from("level"), Value::text(level)),
        (Arc::from("bays"), Value::List([Value::text(mark)].into())),
    ]);
    record.extend(more.into_iter().map(|(name, value)| (Arc::from(name), value)));
    Arc::new(record)
}

/// Settings that start on a date.
fn settings<const N: usize>(start: &str, more: [(&str, Value); N]) -> Arc<Record> {
    let mut record = Record::from_iter([(Arc::from("start"), Value::Date(date(start)))]);
    record.extend(more.into_iter().map(|(name, value)| (Arc::from(name), value)));
    Arc::new(record)
}

fn marks(marks: &[&str]) -> Value {
    Value::List(marks.iter().map(Value::text).collect())
}

/// `P1 2026-06-29: why`, a line a pour in order of date.
fn lines(rows: &[Record]) -> Vec<String> {
    rows.iter()
        .map(|row| {
            let [pour, why] = ["pour", "why"].map(|name| row[name].as_text().unwrap());
            format!("{pour} {}: {why}", row["date"])
        })
        .collect()
}

fn scheduled(pours: &[Arc<Record>], settings: &Arc<Record>) -> Vec<String> {
    lines(&schedule_pours(pours.to_vec(), settings.clone()).unwrap())
}

fn refused(pours: &[Arc<Record>], settings: &Arc<Record>) -> String {
    let refusal: Refusal = schedule_pours(pours.to_vec(), settings.clone()).unwrap_err();
    refusal.to_string()
}

/// Three pours side by side, two days apart: without an order the last goes between. Its place in the
/// order keeps each from being placed before those of earlier places; others are free.
#[test]
fn a_given_order_is_kept() {
    let pours = |orders: [Option<i64>; 3]| {
        let beside: [&[&str]; 3] = [&["B"], &["A", "C"], &["B"]];
        let made = ["A", "B", "C"].iter().zip(beside).zip(orders).map(|((mark, beside), order)| {
            pour(
                mark,
                "2",
                [
                    ("neighbours", marks(beside)),
                    ("order", order.map_or(Value::Blank, Value::Count)),
                ],
            )
        });
        made.collect::<Vec<_>>()
    };
    let settings = settings("2026-03-02", [("neighbour_gap_days", Value::Count(2))]);
    assert_eq!(
        scheduled(&pours([None; 3]), &settings),
        [
            "A 2026-03-02: first day of the schedule",
            "C 2026-03-03: no crew free before",
            "B 2026-03-05: 2 days from neighbouring C"
        ]
    );
    assert_eq!(
        scheduled(&pours([Some(1), Some(2), Some(3)]), &settings),
        [
            "A 2026-03-02: first day of the schedule",
            "B 2026-03-04: 2 days from neighbouring A",
            "C 2026-03-06: 2 days from neighbouring B"
        ]
    );
    assert_eq!(
        scheduled(&pours([Some(3), None, Some(1)]), &settings),
        [
            "C 2026-03-02: first day of the schedule",
            "A 2026-03-03: no crew free before",
            "B 2026-03-05: 2 days from neighbouring A"
        ]
    );
}

/// What After asks for comes before the places of the order: no ring, and the others keep theirs.
#[test]
fn an_order_against_what_a_pour_waits_for() {
    let order = |place| ("order", Value::Count(place));
    let pours = [
        pour("A", "2", [order(1), ("after", marks(&["B"]))]),
        pour("B", "2", [order(2)]),
        pour("C", "2", [order(3)]),
        pour("D", "3", [order(1)]),
    ];
    assert_eq!(
        scheduled(&pours, &settings("2026-03-02", [])),
        [
            "B 2026-03-02: first day of the schedule",
            "A 2026-03-03: after B",
            "C 2026-03-04: no crew free before",
            "D 2026-03-05: no crew free before"
        ]
    );
}

/// An Earliest date on a Saturday: what set the day is that date and the calendar.
#[test]
fn a_day_that_is_closed() {
    let pours = [pour("A", "1", [("earliest", Value::Date(date("2026-03-07")))])];
    assert_eq!(
        scheduled(&pours, &settings("2026-03-02", [])),
        ["A 2026-03-09: earliest date as given, then the first working day"]
    );
}

/// A waits for B and for its day; C, whose place is behind both, waits for A all the same.
#[test]
fn an_order_past_a_pour_that_does_not_keep_it() {
    let order = |place| ("order", Value::Count(place));
    let pours = [
        pour(
            "A",
            "1",
            [order(1), ("after", marks(&["B"])), ("earliest", Value::Date(date("2026-03-09")))],
        ),
        pour("B", "1", [order(2)]),
        pour("C", "1", [order(3)]),
    ];
    assert_eq!(
        scheduled(&pours, &settings("2026-03-02", [])),
        [
            "B 2026-03-02: first day of the schedule",
            "A 2026-03-09: earliest date as given",
            "C 2026-03-10: no crew free before"
        ]
    );
}

#[test]
fn crews_pumps_and_the_day_s_limits_part_pours() {
    let three = ["P1", "P2", "P10"].map(|mark| {
        pour(mark, "2", [("yd3", Value::Count(50)), ("area_ft2", Value::Count(4_000))])
    });
    let at = |more| scheduled(&three, &settings("2026-03-02", more));
    assert_eq!(
        at([("crews", Value::Count(3)), ("pumps", Value::Count(3))]),
        ["P1", "P2", "P10"].map(|mark| format!("{mark} 2026-03-02: first day of the schedule"))
    );
    assert_eq!(
        at([("crews", Value::Count(1)), ("pumps", Value::Count(3))])[1..],
        ["P2 2026-03-03: no crew free before", "P10 2026-03-04: no crew free before"]
    );
    assert_eq!(
        at([("crews", Value::Count(3)), ("pumps", Value::Count(2))])[2],
        "P10 2026-03-03: no pump free before"
    );
    let wide = |name| {
        let limit = (name, Value::Count(if name == "yd3_a_day" { 100 } else { 8_000 }));
        let crews = ("crews", Value::Count(3));
        scheduled(&three, &settings("2026-03-02", [crews, ("pumps", Value::Count(3)), limit]))
    };
    assert_eq!(wide("yd3_a_day")[2], "P10 2026-03-03: over 100 yd3 a day before");
    assert_eq!(wide("ft2_a_day")[2], "P10 2026-03-03: over 8000 ft2 a day before");
}

#[test]
fn a_pour_over_the_day_s_limits_has_its_day_alone_and_says_so() {
    let big = [("yd3", Value::Count(150)), ("placing_h", Value::Number(9.5))];
    let pours = [pour("P1", "2", big), pour("P2", "2", [("yd3", Value::Count(1))])];
    let limits = [
        ("crews", Value::Count(2)),
        ("pumps", Value::Count(2)),
        ("yd3_a_day", Value::Count(120)),
        ("hours_a_day", Value::Count(8)),
    ];
    let rows = schedule_pours(pours.to_vec(), settings("2026-03-02", limits)).unwrap();
    assert_eq!(
        rows[0]["notes"].to_string(),
        r#"["150 yd3 is over the day's 120 yd3", "9.5 h of placing is over the day's 8 h of placing"]"#
    );
    assert_eq!(rows[1]["date"], Value::Date(date("2026-03-03")));
}

/// One level at a time would end on the 5th; beginning with what the chain waits for saves a day.
#[test]
fn another_order_is_taken_only_where_it_ends_sooner() {
    let pours = [
        pour("A", "1", []),
        pour("B", "1", []),
        pour("C", "1", [("after", marks(&["B"])), ("neighbours", marks(&["B"]))]),
    ];
    let gap = [("neighbour_gap_days", Value::Count(2))];
    assert_eq!(
        scheduled(&pours, &settings("2026-03-02", gap)),
        [
            "B 2026-03-02: first day of the schedule",
            "A 2026-03-03: no crew free before",
            "C 2026-03-04: 2 days from neighbouring B",
        ]
    );
}

#[test]
fn deck_comes_on_site_by_date_or_lead_time() {
    let on_site = pour("P1", "1", [("on_site", Value::Date(date("2026-03-05")))]);
    let released = pour("P2", "1", [("released", Value::Date(date("2026-02-20")))]);
    let lead =
        [("lead_days", Value::Count(14)), ("crews", Value::Count(2)), ("pumps", Value::Count(2))];
    // On site Thursday the 5th and Friday the 6th, poured a working day later.
    assert_eq!(
        scheduled(&[on_site, released.clone()], &settings("2026-03-02", lead)),
        ["P1 2026-03-06: deck on site 2026-03-05", "P2 2026-03-09: deck on site 2026-03-06"]
    );
    assert_eq!(
        refused(&[released], &settings("2026-03-02", [])),
        "`settings.lead_days` is missing, wanted the lead time in calendar days, as pours[0] has a \
         release date"
    );
}
