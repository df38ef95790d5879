//! Four pours on two levels, worked by hand to the last truck.
//!
//! One crew, one pump, 6,000 ft2 of deck laid a day, poured the working day after it is laid,
//! neighbours two calendar days apart, level 3 the day after level 2. Friday 2026-07-03 is closed
//! for Independence Day.
//!
//! Laying: P1 7,000 ft2, 6,000 on Thursday 25 June and 1,000 on Friday; P2 8,000 ft2, 5,000 on
//! Friday and 3,000 on Monday 29; level 3 is on site on Tuesday 30: P3 5,000 ft2 that day; P4
//! 4,000 ft2, 1,000 that day and 3,000 on Wednesday 1 July.
//! Pours: P1 Monday 29 June. P2 is ready on Tuesday, beside P1: Wednesday 1 July. Level 3 waits
//! for it: P3 Thursday 2 July. P4 beside it: Saturday 4 July, so Monday 6 July.

use std::sync::Arc;

use baytally::calendar::pour::{moved_pours, pour_days, schedule_pours};
use baytally::concrete::order::order_yd3;
use baytally::concrete::truck::truck_times;
use baytally::value::{IntoValue, Record, Value};

use super::{date, lines, marks, pour, settings};

fn pours() -> Vec<Arc<Record>> {
    let one = |mark, level, yd3, area_ft2, on_site: &str, beside| {
        pour(
            mark,
            level,
            [
                ("yd3", Value::Number(yd3)),
                ("area_ft2", Value::Count(area_ft2)),
                ("on_site", Value::Date(date(on_site))),
                ("neighbours", marks(&[beside])),
            ],
        )
    };
    vec![
        one("P1", "2", 90.0, 7_000, "2026-06-25", "P2"),
        one("P2", "2", 100.0, 8_000, "2026-06-25", "P1"),
        one("P3", "3", 60.0, 5_000, "2026-06-30", "P4"),
        one("P4", "3", 45.75, 4_000, "2026-06-30", "P3"),
    ]
}

fn job() -> Arc<Record> {
    settings(
        "2026-06-29",
        [
            ("laying_ft2_a_day", Value::Count(6_000)),
            ("neighbour_gap_days", Value::Count(2)),
            ("level_gap_days", Value::Count(1)),
        ],
    )
}

#[test]
fn every_date() {
    let rows = schedule_pours(pours(), job()).unwrap();
    assert_eq!(
        lines(&rows),
        [
            "P1 2026-06-29: first day of the schedule",
            "P2 2026-07-01: 2 days from neighbouring P1",
            "P3 2026-07-02: after P2 of level 2",
            "P4 2026-07-06: 2 days from neighbouring P3",
        ]
    );
    let column =
        |name: &str| -> Vec<String> { rows.iter().map(|row| row[name].to_string()).collect() };
    assert_eq!(column("laid"), ["2026-06-26", "2026-06-29", "2026-06-30", "2026-07-01"]);
    assert_eq!(column("ready"), ["2026-06-29", "2026-06-30", "2026-07-01", "2026-07-02"]);
    assert_eq!(column("crew"), ["1"; 4]);
}

/// Order, each truck's arrival and load, end of placing, notes.
type Row = (f64, &'static [(&'static str, f64)], &'static str, &'static str);

/// With 5 % waste in quarter yards, trucks of 10 yd3 from 7:00, placed at 40 yd3/h: a full truck
/// every 15 min. A full load is empty 30 + 15 min after it is batched.
#[test]
fn every_truck() {
    let wanted: [Row; 4] = [
        (
            94.5,
            &[
                ("07:00", 10.0),
                ("07:15", 10.0),
                ("07:30", 10.0),
                ("07:45", 10.0),
                ("08:00", 10.0),
                ("08:15", 10.0),
                ("08:30", 10.0),
                ("08:45", 10.0),
                ("09:00", 10.0),
                ("09:15", 4.5),
            ],
            "09:22", // 94.5 / 40 h = 141.75 min
            "[]",
        ),
        (
            105.0,
            &[
                ("07:00", 10.0),
                ("07:15", 10.0),
                ("07:30", 10.0),
                ("07:45", 10.0),
                ("08:00", 10.0),
                ("08:15", 10.0),
                ("08:30", 10.0),
                ("08:45", 10.0),
                ("09:00", 10.0),
                ("09:15", 10.0),
                ("09:30", 5.0),
            ],
            "09:38", // 157.5 min
            "[]",
        ),
        (
            63.0,
            &[
                ("07:00", 10.0),
                ("07:15", 10.0),
                ("07:30", 10.0),
                ("07:45", 10.0),
                ("08:00", 10.0),
                ("08:15", 10.0),
                ("08:30", 3.0),
            ],
            "08:35", // 94.5 min
            r#"["truck 7 brings 3 yd3, under 4 yd3: a short-load charge is usual"]"#,
        ),
        (
            48.25, // 45.75 x 1.05 = 48.0375
            &[("07:00", 10.0), ("07:15", 10.0), ("07:30", 10.0), ("07:45", 10.0), ("08:00", 8.25)],
            "08:12", // 72.375 min
            "[]",
        ),
    ];
    for (pour, (order, loads, end, notes)) in pours().iter().zip(wanted) {
        let net_yd3 = pour["yd3"].as_number().unwrap();
        assert_eq!(order_yd3(net_yd3, 0.05, 0.25).unwrap(), order);
        let delivery = Record::from_iter([
            ("order_yd3".into(), Value::Number(order)),
            ("truck_yd3".into(), Value::Count(10)),
            ("step_yd3".into(), Value::Number(0.25)),
            ("start".into(), Value::text("7:00")),
            ("placing_yd3_h".into(), Value::Count(40)),
            ("trip_min".into(), Value::Count(30)),
            ("short_load_yd3".into(), Value::Count(4)),
        ]);
        let times = truck_times(Arc::new(delivery)).unwrap();
        assert!(
            times.loads.iter().all(|load| (load.age_min - 30.0 - load.load_yd3 * 1.5).abs() < 1e-9)
        );
        let Value::Record(times) = times.into_value().unwrap() else { unreachable!() };
        let Value::List(rows) = &times["loads"] else { unreachable!() };
        let found: Vec<String> = rows
            .iter()
            .map(|row| match row {
                Value::Record(row) => format!("{} {}", row["arrives"], row["load_yd3"]),
                other => other.to_string(),
            })
            .collect();
        let loads: Vec<String> =
            loads.iter().map(|(arrives, load)| format!("{arrives:?} {load}")).collect();
        assert_eq!(found, loads);
        let text = |name: &str| times[name].as_text().unwrap().to_owned();
        assert_eq!(text("first"), "07:00");
        assert_eq!(text("end"), end);
        assert_eq!(times["spacing_min"], Value::Number(15.0));
        assert_eq!(times["notes"].to_string(), notes);
    }
}

/// P2 can not be poured before Monday 6 July: it moves, and all that hangs on it.
#[test]
fn a_late_change_says_what_moved() {
    let before = schedule_pours(pours(), job()).unwrap();
    let mut late = pours();
    Arc::make_mut(&mut late[1]).insert("earliest".into(), Value::Date(date("2026-07-06")));
    let after = schedule_pours(late, job()).unwrap();
    let shared = |rows: Vec<Record>| rows.into_iter().map(Arc::new).collect::<Vec<_>>();
    let moves = moved_pours(shared(before), shared(after)).unwrap();
    let texts: Vec<&str> = moves.iter().map(|moved| moved.text.as_str()).collect();
    assert_eq!(
        texts,
        [
            "P2 moves 5 days later, 2026-07-01 to 2026-07-06: earliest date as given",
            "P3 moves 5 days later, 2026-07-02 to 2026-07-07: after P2 of level 2",
            "P4 moves 3 days later, 2026-07-06 to 2026-07-09: 2 days from neighbouring P3",
        ]
    );
    assert_eq!(moves.iter().map(|moved| moved.days).collect::<Vec<_>>(), [5, 5, 3]);
}

#[test]
fn every_day() {
    let rows = schedule_pours(pours(), job()).unwrap();
    let days = pour_days(rows.into_iter().map(Arc::new).collect(), None).unwrap();
    let found: Vec<String> = days
        .iter()
        .map(|day| {
            format!(
                "{} {} {} {} {}",
                day["date"], day["weekday"], day["closed"], day["pours"], day["yd3"]
            )
        })
        .collect();
    assert_eq!(
        found,
        [
            r#"2026-06-29 "Monday" () "P1" 90"#,
            r#"2026-06-30 "Tuesday" () "" 0"#,
            r#"2026-07-01 "Wednesday" () "P2" 100"#,
            r#"2026-07-02 "Thursday" () "P3" 60"#,
            r#"2026-07-03 "Friday" "Independence Day (observed)" "" 0"#,
            r#"2026-07-04 "Saturday" "Saturday" "" 0"#,
            r#"2026-07-05 "Sunday" "Sunday" "" 0"#,
            r#"2026-07-06 "Monday" () "P4" 45.75"#,
        ]
    );
}
