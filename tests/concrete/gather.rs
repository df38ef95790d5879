//! Pours from bays.

use std::sync::Arc;

use baytally::concrete::gather::{Bay, Limits, Pour, gather, gather_pours};
use baytally::length::Length;
use baytally::value::{Record, Value};
use proptest::prelude::*;

use super::record;

fn bay(level: &str, bay: &str, yd3: f64, area_ft2: f64) -> Bay {
    Bay {
        level: level.into(),
        bay: bay.into(),
        mix: "NW".into(),
        pour: "".into(),
        yd3,
        area_ft2,
        panels_across: None,
        copies: 1,
    }
}

/// `P1: 2/1, 2/2 60%`, a line a pour.
fn lines(pours: &[Pour]) -> Vec<String> {
    pours
        .iter()
        .map(|pour| {
            let parts: Vec<String> = pour
                .parts
                .iter()
                .map(|part| {
                    let share = (part.share * 100.0).round();
                    let share =
                        if part.share == 1.0 { String::new() } else { format!(" {share}%") };
                    format!("{}/{}{share}", part.level, part.bay)
                })
                .collect();
            format!("{}: {}", pour.mark, parts.join(", "))
        })
        .collect()
}

fn limits(yd3_a_day: f64) -> Limits {
    Limits { yd3_a_day: Some(yd3_a_day), ..Limits::default() }
}

#[test]
fn bays_of_one_level_and_mix_are_gathered_in_order() {
    let mut bays = vec![
        bay("2", "1", 40.0, 3_000.0),
        bay("2", "2", 40.0, 3_000.0),
        bay("2", "3", 25.0, 2_000.0),
        bay("3", "1", 10.0, 800.0),
        bay("2", "4", 50.0, 4_000.0),
        bay("2", "roof", 0.0, 900.0),
    ];
    bays[4].mix = "LW".into();
    let pours = gather(&bays, &limits(80.0)).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1, 2/2", "P2: 2/3", "P3: 3/1", "P4: 2/4"]);
    assert_eq!(pours[1].neighbours, ["P1", "P4"]);
    assert!(pours[2].neighbours.is_empty());
    assert!(pours.iter().all(|pour| !pour.given && pour.notes.is_empty()));
    let area = Limits { ft2_a_day: Some(3_500.0), ..limits(80.0) };
    assert_eq!(gather(&bays, &area).unwrap().len(), 5);
    let hours = Limits { hours_a_day: Some(1.0), placing_yd3_h: Some(40.0), ..limits(80.0) };
    let pours = gather(&bays[..3], &hours).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1", "P2: 2/2", "P3: 2/3"]);
    assert_eq!(pours[2].placing_h, Some(25.0 / 40.0));
}

#[test]
fn given_pours_stand_and_share_a_bay() {
    let mut bays = vec![
        bay("2", "1", 100.0, 8_000.0),
        bay("2", "2", 30.0, 2_400.0),
        bay("2", "3", 30.0, 2_400.0),
    ];
    bays[0].pour = "P1 60%, East 40%".into();
    bays[2].pour = "East".into();
    let pours = gather(&bays, &limits(60.0)).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1 60%", "East: 2/1 40%, 2/3", "P2: 2/2"]);
    assert_eq!((pours[0].yd3, pours[1].yd3), (60.0, 70.0));
    assert!(pours[0].given && pours[1].given && !pours[2].given);
    assert_eq!(pours[1].notes, ["as given it is over the limits, 60 yd3 a day"]);
    bays[2].mix = "LW".into();
    bays[2].level = "3".into();
    assert_eq!(
        gather(&bays, &limits(80.0)).unwrap()[1].notes,
        ["bay 3 is of mix \"LW\", the pour of \"NW\"", "bay 3 is on level 3, the pour on 2",]
    );
}

/// 31 ft across in 36 in covers are 11 panels, the last 12 in wide; 100 yd3 in days of 40 need
/// three pieces. Even thirds lie at 10.33 and 20.67 ft; the nearest edges are 9 and 21 ft.
#[test]
fn a_bay_over_a_day_is_split_at_panel_edges() {
    let mut bays =
        vec![bay("2", "1", 10.0, 800.0), bay("2", "2", 100.0, 8_000.0), bay("2", "3", 5.0, 400.0)];
    bays[1].panels_across = Some((Length::feet(31), Length::inches(36)));
    let pours = gather(&bays, &limits(40.0)).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1", "P2: 2/2 29%", "P3: 2/2 39%", "P4: 2/2 32%, 2/3"]);
    let shares: Vec<f64> = pours[1..].iter().map(|pour| pour.parts[0].share * 31.0).collect();
    for (share, wanted) in shares.into_iter().zip([9.0, 12.0, 10.0]) {
        assert!((share - wanted).abs() < 1e-9, "{share} ft, wanted {wanted}");
    }
    assert_eq!(
        pours[1].notes,
        [
            "bay 2 of level 2 is over the limits by itself, 40 yd3 a day; it is split at panel edges \
          into 3"
        ]
    );
    bays[1].panels_across = None;
    let pours = gather(&bays, &limits(40.0)).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1", "P2: 2/2", "P3: 2/3"]);
    assert_eq!(
        pours[1].notes,
        [
            "bay 2 of level 2 is over the limits by itself, 40 yd3 a day; without a width and a cover \
          it is not split"
        ]
    );
    bays[1].panels_across = Some((Length::feet(3), Length::inches(36)));
    assert_eq!(
        gather(&bays, &limits(40.0)).unwrap()[1].notes,
        [
            "bay 2 of level 2 is over the limits by itself, 40 yd3 a day; it is split at panel edges \
          into 1, of which a single panel is over"
        ]
    );
    // Twins are split between themselves too.
    bays[1].copies = 4;
    let pours = gather(&bays, &limits(60.0)).unwrap();
    assert_eq!(lines(&pours), ["P1: 2/1", "P2: 2/2 50%", "P3: 2/2 50%, 2/3"]);
}

#[test]
fn refusals_say_what_is_wrong() {
    let say = |bay: Arc<Record>, limits: Arc<Record>| {
        gather_pours(vec![bay], limits).unwrap_err().to_string()
    };
    let none = || record([]);
    let fields = |pour: &str, yd3: i64| {
        record([
            ("level", Value::text("2")),
            ("bay", Value::text("1")),
            ("pour", Value::text(pour)),
            ("yd3", Value::Count(yd3)),
            ("area_ft2", Value::Count(900)),
        ])
    };
    for pour in [
        "P1 60%, P2 30%",
        "P1, P2",
        "P1 50%, P1 50%",
        "60%",
        "P1 x%",
        "P1 60%,",
        "P1 -20%, P2 120%",
    ] {
        assert_eq!(
            say(fields(pour, 10), none()),
            format!(
                "`bays[0].pour` is {pour:?}, wanted blank, one pour (\"P1\"), or pours with shares \
                 of 100 % in all (\"P1 60%, P2 40%\")"
            )
        );
    }
    assert_eq!(
        say(fields("", -10), none()),
        "`bays[0].yd3` is -10, wanted a volume from 0 to 1,000,000 yd3"
    );
    assert_eq!(
        say(fields("", 10), record([("yd3_a_day", Value::Count(0))])),
        "`limits.yd3_a_day` is 0, wanted a volume above 0 yd3"
    );
    assert_eq!(
        say(fields("", 10), record([("hours_a_day", Value::Count(8))])),
        "`limits.placing_yd3_h` is missing, wanted a rate above 0 yd3/h, as hours_a_day is given"
    );
    assert_eq!(
        say(fields("", 10), record([("yd3_day", Value::Count(80))])),
        "`limits.yd3_day` is 80, wanted one of the fields yd3_a_day, ft2_a_day, hours_a_day, \
         placing_yd3_h (perhaps `yd3_a_day`)"
    );
}

fn bays() -> impl Strategy<Value = Vec<Bay>> {
    let one = (1u8..3, 0u8..2, 0u32..3_000, 1i64..60, 0u8..4, 1i64..4);
    prop::collection::vec(one, 0..25).prop_map(|drawn| {
        let make = |(at, (level, mix, tenths, feet, pour, copies)): (usize, _)| Bay {
            level: format!("{level}").into(),
            bay: format!("{at}").into(),
            mix: format!("M{mix}").into(),
            pour: ["", "", "P1 60%, P2 40%", "P3"][usize::from(pour)].into(),
            yd3: f64::from(tenths) / 10.0,
            area_ft2: f64::from(tenths) * 8.0,
            panels_across: (feet > 5).then(|| (Length::feet(feet), Length::inches(36))),
            copies,
        };
        drawn.into_iter().enumerate().map(make).collect()
    })
}

proptest! {
    /// The sum over pours is the sum over bays, for each bay and in all.
    #[test]
    fn volumes_are_carried_through(bays in bays(), day in 20.0..150.0f64) {
        let pours = gather(&bays, &limits(day)).unwrap();
        for (row, bay) in bays.iter().enumerate() {
            let parts = pours.iter().flat_map(|pour| &pour.parts).filter(|part| part.row == row);
            let (yd3, ft2) = parts.fold((0.0, 0.0), |sum, part| (sum.0 + part.yd3, sum.1 + part.area_ft2));
            prop_assert!((yd3 - bay.yd3).abs() < 1e-9);
            prop_assert!(bay.yd3 == 0.0 || (ft2 - bay.area_ft2).abs() < 1e-9);
        }
        let sum: f64 = pours.iter().map(|pour| pour.yd3).sum();
        prop_assert!((sum - bays.iter().map(|bay| bay.yd3).sum::<f64>()).abs() < 1e-9);
    }

    /// A pour made by rule is over a day only where that is said; marks are unique; pieces of a
    /// bay end at panel edges.
    #[test]
    fn days_are_kept(bays in bays(), day in 20.0..150.0f64) {
        let pours = gather(&bays, &limits(day)).unwrap();
        let mut marks: Vec<&String> = pours.iter().map(|pour| &pour.mark).collect();
        marks.sort();
        marks.dedup();
        prop_assert_eq!(marks.len(), pours.len());
        let mut ends = vec![0.0; bays.len()];
        for pour in pours.iter().filter(|pour| !pour.given) {
            prop_assert!(!pour.parts.is_empty());
            let unsplit = |part: &baytally::concrete::gather::Part| bays[part.row].panels_across.is_none();
            let panel = pour.parts.iter().any(|part| {
                bays[part.row].panels_across.is_some_and(|(width, cover)| {
                    let across = width.in_feet() * f64::from(u32::try_from(bays[part.row].copies).unwrap());
                    part.share * across <= cover.in_feet() + 1e-9
                })
            });
            prop_assert!(pour.yd3 <= day + 1e-6 || pour.parts.len() == 1 && (unsplit(&pour.parts[0]) || panel));
            for part in &pour.parts {
                ends[part.row] += part.share;
                if let Some((width, cover)) = bays[part.row].panels_across {
                    let copies = f64::from(u32::try_from(bays[part.row].copies).unwrap());
                    let at = ends[part.row] * copies * width.in_feet();
                    let within = at % width.in_feet();
                    let off = |step: f64, at: f64| (at - (at / step).round() * step).abs();
                    prop_assert!(off(width.in_feet(), at) < 1e-6 || off(cover.in_feet(), within) < 1e-6);
                }
            }
        }
    }
}
