//! What holds for every schedule of pours.

use baytally::calendar::day::days_between;
use baytally::calendar::pour::{Pour, Scheduled, Settings, schedule};
use jiff::ToSpan;
use jiff::civil::Date;
use proptest::prelude::*;

use super::date;

/// Up to `most` pours that wait only for pours before them in the list, and settings.
fn jobs(most: usize) -> impl Strategy<Value = (Vec<Pour>, Settings)> {
    let pour = (
        (1i64..4, 1u32..120, 500u32..9_000, 1i64..3),
        (prop::option::of(0i64..12), prop::option::of(-5i64..10)),
        (
            prop::collection::vec(any::<prop::sample::Index>(), 0..2),
            prop::option::of(any::<prop::sample::Index>()),
        ),
    );
    let settings = (
        (1i64..4, 2i64..4, prop::option::of(100u32..200), prop::option::of(8_000u32..15_000)),
        (prop::option::of(3_000u32..10_000), 0i64..3, 0i64..4, prop::option::of(0i64..3)),
    );
    (prop::collection::vec(pour, 1..=most), settings).prop_map(|(drawn, settings)| {
        let start = date("2026-06-22");
        let on = |days: i64| start.checked_add(days.days()).unwrap();
        let mut pours = Vec::new();
        for (at, ((level, yd3, ft2, pumps), (earliest, on_site), (after, beside))) in
            drawn.into_iter().enumerate()
        {
            let earlier = |index: prop::sample::Index| (at > 0).then(|| index.index(at));
            let mut pour = Pour {
                mark: format!("P{at}"),
                level: level.to_string(),
                level_order: level,
                bays: vec![(at % 3).to_string()],
                yd3: f64::from(yd3),
                area_ft2: f64::from(ft2),
                deck_ft2: f64::from(ft2),
                pumps,
                earliest: earliest.map(on),
                on_site: on_site.map(on),
                neighbours: beside.and_then(earlier).into_iter().collect(),
                ..Pour::default()
            };
            // A lower level never waits for a higher one, so that no ring can arise.
            pour.after = after
                .into_iter()
                .filter_map(earlier)
                .filter(|&before| {
                    let before: &Pour = &pours[before];
                    before.level_order <= level
                })
                .collect();
            pours.push(pour);
        }
        let ((crews, pumps, yd3, ft2), (laying, after_laying_days, gap, level_gap_days)) = settings;
        let settings = Settings {
            crews,
            pumps,
            yd3_a_day: yd3.map(f64::from),
            ft2_a_day: ft2.map(f64::from),
            laying_ft2_a_day: laying.map(f64::from),
            after_laying_days,
            neighbour_gap_days: gap,
            level_gap_days,
            ..Settings::starting(start)
        };
        (pours, settings)
    })
}

/// What a set of dates breaks, apart from laying.
fn broken(pours: &[Pour], settings: &Settings, dates: &[Date]) -> Option<String> {
    for (at, (pour, &day)) in pours.iter().zip(dates).enumerate() {
        if day < settings.start || !settings.calendar.is_working_day(day) {
            return Some(format!("{at} on a day that is not worked"));
        }
        if pour.earliest.is_some_and(|earliest| day < earliest) {
            return Some(format!("{at} before its earliest date"));
        }
        if pour.after.iter().any(|&before| dates[before] >= day) {
            return Some(format!("{at} before what it waits for"));
        }
        let gap = settings.neighbour_gap_days;
        if pour.neighbours.iter().any(|&beside| days_between(dates[beside], day).abs() < gap) {
            return Some(format!("{at} too near its neighbour"));
        }
        if let Some(gap) = settings.level_gap_days {
            let orders = pours.iter().map(|pour| pour.level_order);
            let below = orders.filter(|order| *order < pour.level_order).max();
            let early = |(other, &date): (&Pour, &Date)| {
                Some(other.level_order) == below && days_between(date, day) < gap
            };
            if pours.iter().zip(dates).any(early) {
                return Some(format!("{at} before the level below"));
            }
        }
        let that_day: Vec<&Pour> = pours
            .iter()
            .zip(dates)
            .filter(|(_, date)| **date == day)
            .map(|(pour, _)| pour)
            .collect();
        let sum = |of: fn(&Pour) -> f64| that_day.iter().map(|pour| of(pour)).sum::<f64>();
        let crowded = that_day.len() > 1
            && (settings.yd3_a_day.is_some_and(|limit| sum(|pour| pour.yd3) > limit)
                || settings.ft2_a_day.is_some_and(|limit| sum(|pour| pour.area_ft2) > limit));
        let crews = i64::try_from(that_day.len()).unwrap() > settings.crews;
        let pumps = that_day.iter().map(|pour| pour.pumps).sum::<i64>() > settings.pumps;
        if crowded || crews || pumps {
            return Some(format!("{day} takes too much"));
        }
    }
    None
}

fn dates(scheduled: &[Scheduled]) -> Vec<Date> {
    scheduled.iter().map(|pour| pour.date).collect()
}

/// The last day of the best of all sets of dates from the start to `last`.
fn least_end(
    pours: &[Pour],
    settings: &Settings,
    ready: &[Date],
    last: Date,
    chosen: &mut Vec<Date>,
) -> Option<Date> {
    if chosen.len() == pours.len() {
        return (broken(pours, settings, chosen).is_none())
            .then(|| chosen.iter().copied().max().unwrap());
    }
    let days: Vec<Date> = settings.calendar.days(ready[chosen.len()], last).collect();
    let mut least = None;
    for day in days {
        chosen.push(day);
        let end = least_end(pours, settings, ready, last, chosen);
        chosen.pop();
        least = [least, end].into_iter().flatten().min();
    }
    least
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn nothing_is_broken((pours, settings) in jobs(14)) {
        let scheduled = schedule(&pours, &settings).unwrap();
        prop_assert_eq!(broken(&pours, &settings, &dates(&scheduled)), None);
        for (pour, scheduled) in pours.iter().zip(&scheduled) {
            prop_assert!(scheduled.date >= scheduled.ready);
            prop_assert!(!scheduled.why.is_empty());
            prop_assert!((1..=settings.crews).contains(&scheduled.crew));
            if let Some(laid) = scheduled.laid {
                prop_assert!(pour.on_site.is_none_or(|on_site| laid >= on_site));
                let poured = settings.calendar.add(laid, settings.after_laying_days).unwrap();
                prop_assert!(scheduled.date >= poured);
            }
        }
    }

    /// No gang lays more deck up to a day than its rate allows.
    #[test]
    fn deck_is_laid_at_the_rate((pours, settings) in jobs(10)) {
        let scheduled = schedule(&pours, &settings).unwrap();
        let first = pours.iter().filter_map(|pour| pour.on_site).chain([settings.start]).min().unwrap();
        for laid in scheduled.iter().filter_map(|pour| pour.laid) {
            let until = |other: &Scheduled| other.laid.is_some_and(|date| date <= laid);
            let deck: f64 = pours
                .iter()
                .zip(&scheduled)
                .filter(|(_, other)| until(other))
                .map(|(pour, _)| pour.deck_ft2)
                .sum();
            let days = u32::try_from(settings.calendar.days(first, laid).count()).unwrap();
            if let Some(rate) = settings.laying_ft2_a_day {
                prop_assert!(deck <= rate * f64::from(days) + 1e-6);
            }
        }
    }

    /// The same pours in another order, and on other threads, get the same dates.
    #[test]
    fn the_list_s_order_and_the_thread_do_not_matter((pours, settings) in jobs(9), turn in 0usize..9) {
        let wanted = dates(&schedule(&pours, &settings).unwrap());
        let turn = turn % pours.len();
        let count = pours.len();
        let mut turned: Vec<Pour> = pours.clone();
        turned.rotate_left(turn);
        for pour in &mut turned {
            for place in pour.after.iter_mut().chain(&mut pour.neighbours) {
                *place = (*place + count - turn) % count;
            }
        }
        let found = std::thread::scope(|scope| {
            let threads: Vec<_> =
                (0..3).map(|_| scope.spawn(|| dates(&schedule(&turned, &settings).unwrap()))).collect();
            threads.into_iter().map(|thread| thread.join().unwrap()).collect::<Vec<_>>()
        });
        for mut found in found {
            found.rotate_right(turn);
            prop_assert_eq!(&found, &wanted);
        }
    }
}

proptest! {
    /// Whatever plain values are given, there is an answer or a refusal.
    #[test]
    fn nothing_panics(
        (mut pours, mut settings) in jobs(4),
        counts in prop::collection::vec(prop::sample::select(vec![i64::MIN, -1, 0, 1, 9, i64::MAX]), 6),
        number in any::<f64>(), place in 0usize..9, day in -500i64..60_000,
    ) {
        pours[0].neighbours.push(place);
        pours[0].deck_ft2 = number;
        pours[0].yd3 = number;
        pours[0].pumps = counts[5];
        pours[0].earliest = Some(date("2000-01-01").checked_add(day.days()).unwrap());
        settings.crews = counts[0];
        settings.neighbour_gap_days = counts[1];
        settings.after_laying_days = counts[2];
        settings.level_gap_days = Some(counts[3]);
        settings.lead_days = Some(counts[4]);
        let _ = schedule(&pours, &settings);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// No set of dates at all ends sooner, for up to four pours.
    #[test]
    fn four_pours_end_as_soon_as_can_be((pours, settings) in jobs(4)) {
        let scheduled = schedule(&pours, &settings).unwrap();
        let ready: Vec<Date> = scheduled.iter().map(|pour| pour.ready).collect();
        let end = dates(&scheduled).into_iter().max().unwrap();
        let least = least_end(&pours, &settings, &ready, end, &mut Vec::new());
        prop_assert_eq!(least, Some(end));
    }
}
