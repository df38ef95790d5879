//! Whatever is asked for, a drawing of bounded size comes, in bounded time.

use std::time::{Duration, Instant};

use baytally::drawing::{
    Bay, Cover, Flutes, Laid, Level, MOST_BAYS, Opening, Place, Run, draw, svg,
};
use baytally::picture::Picture;
use proptest::prelude::*;

use super::escaping::texts;
use super::levels::{bay, laid, place, rectangle, run, words};

/// No drawing is larger, bytes of SVG.
const LARGEST: usize = 4_000_000;

fn bounded(level: &Level) -> Picture {
    let start = Instant::now();
    let picture = draw(level);
    let text = svg(&picture, &[]);
    // Debug builds on a busy machine: what is meant is seconds, not minutes.
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
    assert!(text.len() < LARGEST, "{} bytes", text.len());
    assert!(!text.contains("NaN") && !text.contains("inf"));
    texts(&text);
    picture
}

#[test]
fn ten_thousand_bays() {
    let mut level = Level { edges: vec!["edge form: 100'-0\"".into()], ..Level::default() };
    for number in 0..10_000_i32 {
        let (column, row) = (f64::from(number % 100), f64::from(number / 100));
        let mut bay = bay(&format!("B{number}"), 30.0 * column);
        bay.outline =
            rectangle((30.0 * column, 30.0 * column + 30.0), (30.0 * row, 30.0 * row + 30.0));
        bay.pours = vec![format!("P{}", number % 500)];
        level.bays.push(bay);
    }
    let picture = bounded(&level);
    let left = format!("{} bays not drawn here; the list has their panels.", 10_000 - MOST_BAYS);
    assert!(words(&picture).contains(&left.as_str()), "{:?}", words(&picture));
    assert!(words(&picture).iter().any(|words| words.starts_with("Side laps too close")));
    for bay in &mut level.bays {
        bay.placed = false;
    }
    let picture = bounded(&level);
    assert!(words(&picture).contains(&"9952 bays not drawn here; the list has their panels."));
}

#[test]
fn a_bay_of_a_hundred_thousand_feet() {
    let long = Bay {
        outline: rectangle((0.0, 100_000.0), (0.0, 100_000.0)),
        supports: (0..=1_000).map(|support| 100.0 * f64::from(support)).collect(),
        laid: vec![laid((0.0, 100_000.0), (0.0, 100_000.0), 3.0, Cover::Panels)],
        runs: vec![run((0.0, 100_000.0), (0.0, 100_000.0), 33_334, "D1-1", "100000'-0\"")],
        ..bay("A1", 0.0)
    };
    let level = Level { bays: vec![long, bay("A2", 0.0)], ..Level::default() };
    let picture = bounded(&level);
    assert!(words(&picture).contains(&"33334 "));
    assert!(words(&picture).contains(&"Side laps too close to be drawn are left out."));
    assert!(words(&picture).contains(&"1 bay too small here for their marks."));
}

#[test]
fn a_thread_of_a_bay() {
    let thin = Bay { outline: rectangle((0.0, 100_000.0), (0.0, 0.001)), ..bay("A1", 0.0) };
    bounded(&Level { bays: vec![thin], ..Level::default() });
    let flat = Bay { outline: rectangle((0.0, 100.0), (5.0, 5.0)), ..bay("A1", 0.0) };
    bounded(&Level { bays: vec![flat.clone()], ..Level::default() });
    bounded(&Level { bays: vec![Bay { placed: false, ..flat }], ..Level::default() });
}

#[test]
fn numbers_that_are_none() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e9] {
        let with = |change: fn(&mut Bay, f64)| {
            let mut bay = bay("A1", 0.0);
            change(&mut bay, bad);
            bounded(&Level { bays: vec![bay], ..Level::default() });
        };
        with(|bay, bad| bay.outline[0].east = bad);
        with(|bay, bad| bay.supports[1] = bad);
        with(|bay, bad| bay.laid[0].pitch = bad);
        with(|bay, bad| bay.laid[0].first = bad);
        with(|bay, bad| bay.laid[0].ends[0] = bad);
        with(|bay, bad| bay.runs[0].far = bad);
        with(|bay, bad| {
            let outline = vec![place(bad, 0.0), place(1.0, 1.0), place(0.0, 1.0)];
            bay.openings = vec![Opening { outline, interrupts: true, note: String::new() }];
        });
    }
}

fn feet() -> impl Strategy<Value = f64> {
    prop_oneof![-50.0..150.0_f64, Just(0.0), Just(f64::NAN), -1e8..1e8_f64, any::<f64>()]
}

fn places() -> impl Strategy<Value = Vec<Place>> {
    prop::collection::vec((feet(), feet()).prop_map(|(east, north)| place(east, north)), 0..7)
}

fn any_laid() -> impl Strategy<Value = Laid> {
    let cover = prop_oneof![
        Just(Cover::Panels),
        Just(Cover::Ripped),
        Just(Cover::Filler),
        Just(Cover::Spread)
    ];
    let numbers = prop::array::uniform6(feet());
    (numbers, cover, prop::collection::vec(feet(), 0..4)).prop_map(|(numbers, cover, ends)| {
        let [near, far, from, to, first, pitch] = numbers;
        Laid { near, far, from, to, first, pitch, cover, ends }
    })
}

fn any_run() -> impl Strategy<Value = Run> {
    (prop::array::uniform4(feet()), any::<i64>(), any::<i64>(), ".{0,9}").prop_map(
        |([near, far, from, to], count, ripped, mark)| Run {
            near,
            far,
            from,
            to,
            count,
            ripped,
            mark: mark.into(),
            length: "1'-0\"".into(),
        },
    )
}

prop_compose! {
    fn any_bay()(
        outline in places(),
        opening in places(),
        laid in prop::collection::vec(any_laid(), 0..4),
        runs in prop::collection::vec(any_run(), 0..4),
        supports in prop::collection::vec(feet(), 0..5),
        flags in any::<[bool; 4]>(),
        pours in prop::collection::vec(".{0,6}", 0..3),
    ) -> Bay {
        Bay {
            mark: "B".into(),
            deck_type: "D1".into(),
            facts: vec!["fact".into()],
            pours,
            flutes: if flags[0] { Flutes::NorthSouth } else { Flutes::EastWest },
            placed: flags[1],
            slab: flags[2],
            openings: vec![Opening { outline: opening, interrupts: flags[3], note: "n".into() }],
            outline, supports, laid, runs,
            list: vec!["5 X".into()],
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn any_level_is_drawn(bays in prop::collection::vec(any_bay(), 0..6), edges in 0..8_usize) {
        let level = Level { bays, edges: vec!["edge".into(); edges], notes: Vec::new() };
        bounded(&level);
    }
}

#[cfg(feature = "plans")]
proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_picture_is_an_image(bays in prop::collection::vec(any_bay(), 0..4)) {
        let picture = draw(&Level { bays, ..Level::default() });
        prop_assert!(baytally::drawing::png(&picture, 40).is_some());
    }
}
