//! Levels made by hand, and ways of looking at their drawings.

use baytally::drawing::{Bay, Cover, Flutes, Laid, Level, Opening, Place, Run, draw, svg};
use baytally::picture::{Ink, Mark, Picture};

pub fn place(east: f64, north: f64) -> Place {
    Place { east, north }
}

pub fn outline(corners: &[(f64, f64)]) -> Vec<Place> {
    corners.iter().map(|(east, north)| place(*east, *north)).collect()
}

pub fn rectangle(east: (f64, f64), north: (f64, f64)) -> Vec<Place> {
    outline(&[(east.0, north.0), (east.1, north.0), (east.1, north.1), (east.0, north.1)])
}

pub fn run(across: (f64, f64), along: (f64, f64), count: i64, mark: &str, length: &str) -> Run {
    Run {
        near: across.0,
        far: across.1,
        from: along.0,
        to: along.1,
        count,
        ripped: 0,
        mark: mark.into(),
        length: length.into(),
    }
}

pub fn laid(across: (f64, f64), along: (f64, f64), pitch: f64, cover: Cover) -> Laid {
    Laid {
        near: across.0,
        far: across.1,
        from: along.0,
        to: along.1,
        first: across.0,
        pitch,
        cover,
        ends: vec![along.0, along.1],
    }
}

/// Three spans of 10 ft, 30 ft wide: ten panels of 3 ft cover run 30 ft.
pub fn bay(mark: &str, east: f64) -> Bay {
    Bay {
        mark: mark.into(),
        deck_type: "D1".into(),
        facts: vec!["3@10'-0\" x 30'-0\"".into(), "on W16".into()],
        pours: vec!["P1".into()],
        flutes: Flutes::EastWest,
        placed: true,
        slab: true,
        outline: rectangle((east, east + 30.0), (0.0, 30.0)),
        supports: (0..=3).map(|support| east + 10.0 * f64::from(support)).collect(),
        laid: vec![laid((0.0, 30.0), (east, east + 30.0), 3.0, Cover::Panels)],
        runs: vec![run((0.0, 30.0), (east, east + 30.0), 10, "D1-1", "30'-0\"")],
        ..Bay::default()
    }
}

/// Two bays side by side, an L with a stair, and a landing without a place.
pub fn floor() -> Level {
    let ell = Bay {
        mark: "C1".into(),
        deck_type: "D2".into(),
        facts: vec!["4@10'-0\" x 42'-0\"".into()],
        pours: vec!["P2".into()],
        placed: true,
        slab: true,
        outline: outline(&[
            (60.0, 0.0),
            (100.0, 0.0),
            (100.0, 24.0),
            (80.0, 24.0),
            (80.0, 42.0),
            (60.0, 42.0),
        ]),
        openings: vec![
            Opening {
                outline: rectangle((85.0, 95.0), (6.0, 18.0)),
                interrupts: true,
                note: "stair".into(),
            },
            Opening {
                outline: rectangle((64.0, 67.0), (30.0, 33.0)),
                interrupts: false,
                note: "duct".into(),
            },
        ],
        supports: vec![60.0, 70.0, 80.0, 90.0, 100.0],
        laid: vec![
            laid((0.0, 24.0), (60.0, 100.0), 3.0, Cover::Panels),
            laid((24.0, 42.0), (60.0, 80.0), 3.0, Cover::Panels),
        ],
        runs: vec![
            run((0.0, 24.0), (60.0, 100.0), 8, "D2-1", "40'-0\""),
            run((24.0, 42.0), (60.0, 80.0), 6, "D2-2", "20'-0\""),
        ],
        ..Bay::default()
    };
    let landing = Bay {
        mark: "L1".into(),
        deck_type: "D3".into(),
        facts: vec!["2 copies".into()],
        placed: false,
        outline: rectangle((0.0, 10.0), (0.0, 8.0)),
        supports: vec![0.0, 5.0, 10.0],
        laid: vec![
            laid((0.0, 6.0), (0.0, 10.0), 3.0, Cover::Panels),
            laid((6.0, 8.0), (0.0, 10.0), 2.0, Cover::Ripped),
        ],
        runs: vec![Run { ripped: 1, ..run((0.0, 8.0), (0.0, 10.0), 3, "D3-1", "10'-0\"") }],
        ..Bay::default()
    };
    Level {
        bays: vec![bay("A1", 0.0), bay("A2", 30.0), ell, landing],
        edges: vec!["edge form, 18 ga, overhang 6\": 200'-0\"".into()],
        notes: vec!["Copies are drawn once; counts are those of one copy.".into()],
    }
}

/// A roof whose flutes run north to south, far longer than wide, so that the plan is turned; a
/// filler strip at its far edge; a bay whose layout is not known.
pub fn roof() -> Level {
    let strip = Bay {
        mark: "R1".into(),
        deck_type: "RD1".into(),
        facts: vec!["on joists".into()],
        flutes: Flutes::NorthSouth,
        placed: true,
        outline: rectangle((0.0, 24.25), (0.0, 120.0)),
        supports: (0..=20).map(|support| 6.0 * f64::from(support)).collect(),
        laid: vec![
            Laid {
                ends: vec![0.0, 36.0, 78.0, 120.0],
                ..laid((0.0, 24.0), (0.0, 120.0), 3.0, Cover::Panels)
            },
            laid((24.0, 24.25), (0.0, 120.0), 0.25, Cover::Filler),
        ],
        runs: vec![
            run((0.0, 24.0), (0.0, 36.0), 8, "RD1-1", "36'-3\""),
            run((0.0, 24.0), (36.0, 78.0), 8, "RD1-2", "42'-3\""),
            run((0.0, 24.0), (78.0, 120.0), 8, "RD1-2", "42'-3\""),
        ],
        ..Bay::default()
    };
    let unknown = Bay {
        mark: "R2".into(),
        deck_type: "RD1".into(),
        flutes: Flutes::NorthSouth,
        placed: true,
        outline: rectangle((24.25, 40.0), (0.0, 60.0)),
        list: vec!["5 RD1-3  30'-0\"".into(), "5 RD1-4  31'-6\"".into()],
        ..Bay::default()
    };
    Level { bays: vec![strip, unknown], ..Level::default() }
}

/// The SVG of a level.
pub fn drawn(level: &Level) -> String {
    svg(&draw(level), &["Invented job: plan".into()])
}

/// All words in their order.
pub fn words(picture: &Picture) -> Vec<&str> {
    let words = picture.marks.iter().filter_map(|mark| match mark {
        Mark::Words(words) => Some(words.text.as_str()),
        _ => None,
    });
    words.collect()
}

/// How many areas are filled with a colour.
pub fn areas(picture: &Picture, ink: Ink) -> usize {
    let filled = |mark: &&Mark| matches!(mark, Mark::Area { fill, .. } if *fill == ink);
    picture.marks.iter().filter(filled).count()
}
