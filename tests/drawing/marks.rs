//! What a drawing shows, mark by mark, against figures worked by hand.

use baytally::drawing::{Bay, LARGE, Level, SMALL, draw};
use baytally::picture::{Ink, Mark, Picture, Spot};

use super::levels::{areas, bay, floor, place, rectangle, roof, words};

/// The first pour's tint.
const FIRST: Ink = Ink(0xDC, 0xEB, 0xF5);

/// The lines of a width, as pairs of ends.
fn lines(picture: &Picture, width: f64) -> Vec<(Spot, Spot)> {
    let of = |mark: &Mark| match mark {
        Mark::Lines { lines, stroke, closed: false } if stroke.width == width => lines.clone(),
        _ => Vec::new(),
    };
    picture.marks.iter().flat_map(of).map(|line| (line[0], line[1])).collect()
}

fn one(bay: Bay) -> Level {
    Level { bays: vec![bay], ..Level::default() }
}

/// By hand: ten lines of panels have nine side laps between them, and one more on the bay's edge;
/// the key has one line of each.
#[test]
fn side_laps_are_a_cover_apart() {
    let picture = draw(&one(bay("A1", 0.0)));
    let laps = lines(&picture, 0.3);
    assert_eq!(laps.len(), 10 + 1);
    let pitch = laps[0].0.y - laps[1].0.y;
    for pair in laps[..10].windows(2) {
        assert!((pair[0].0.y - pair[1].0.y - pitch).abs() < 1e-9);
    }
    // 30 ft along are ten times 3 ft across, at one scale.
    assert!((laps[0].1.x - laps[0].0.x - 10.0 * pitch).abs() < 1e-6);
}

/// By hand: the lower part of the L is 40 ft long and loses 85 to 95 ft to the stair between 6 and
/// 18 ft across: the laps at 9, 12 and 15 ft are in two pieces, that at 6 ft runs along the
/// opening's near edge and is cut too. 8 + 4 pieces below, 6 above.
#[test]
fn side_laps_end_at_outline_and_openings() {
    let mut level = floor();
    level.bays.retain(|bay| bay.mark == "C1");
    let laps = lines(&draw(&level), 0.3);
    assert_eq!(laps.len(), 12 + 6 + 1);
}

#[test]
fn panels_are_labelled_with_count_mark_and_length() {
    let picture = draw(&floor());
    let words = words(&picture);
    for (count, mark, length) in
        [("10 ", "D1-1", "30'-0\""), ("8 ", "D2-1", "40'-0\""), ("6 ", "D2-2", "20'-0\"")]
    {
        let at = words.windows(2).position(|pair| pair == [count, mark]);
        let at = at.unwrap_or_else(|| panic!("{count}{mark} is not in {words:?}"));
        assert_eq!(words[at + 2].trim(), length);
    }
    for word in ["A1", "A2", "C1", "L1", "stair", "1 ripped", "P1", "P2", "pour P1", "N"] {
        assert!(words.contains(&word), "{word} is not in {words:?}");
    }
}

/// By hand: the outline of two bays and the L together: 100 along the south, 24 + 20 + 18 + 20 + 12
/// up to the bays' north side, 60 along it, 30 down the west: 284 ft.
#[test]
fn the_outer_edge_is_measured() {
    let picture = draw(&floor());
    let words = words(&picture);
    assert!(words.contains(&"outer edge of slabs, 284'-0\" as drawn"), "{words:?}");
    let all: f64 = lines(&picture, 2.4).iter().map(|(a, b)| (a.x - b.x).hypot(a.y - b.y)).sum();
    let south = lines(&picture, 0.3)[0];
    let scale = (south.1.x - south.0.x) / 30.0;
    // The key's own line is 17 points long.
    assert!((all - 17.0 - 284.0 * scale).abs() < 1e-6, "{all} at {scale}");
}

/// A colour never stands alone: where the pour's letter finds no room its tint is not there.
#[test]
fn a_tint_has_its_letter() {
    let tinted = draw(&one(bay("A1", 0.0)));
    assert!(areas(&tinted, FIRST) > 1);
    assert_eq!(words(&tinted).iter().filter(|word| **word == "P1").count(), 2, "bay and key");
    let mut level = one(bay("A1", 0.0));
    let far = Bay {
        outline: rectangle((4_000.0, 4_030.0), (0.0, 30.0)),
        pours: Vec::new(),
        ..bay("A2", 0.0)
    };
    level.bays.push(far);
    let far = draw(&level);
    assert_eq!(areas(&far, FIRST), 1, "the key's alone");
    assert_eq!(words(&far).iter().filter(|word| **word == "P1").count(), 1);
}

#[test]
fn long_pour_marks_get_letters() {
    let mut level = floor();
    level.bays[0].pours = vec!["north-east corner".into()];
    let picture = draw(&level);
    let words = words(&picture);
    assert!(words.contains(&"A") && words.contains(&"pour north-east corner"), "{words:?}");
    assert!(!words.contains(&"nort"), "{words:?}");
}

/// A level far longer than wide lies on its side, the arrow to the north to the left.
#[test]
fn a_long_level_is_turned() {
    let picture = draw(&roof());
    let north = picture.marks.iter().find_map(|mark| match mark {
        Mark::Area { outlines, .. } if outlines[0].len() == 3 => Some(outlines[0].clone()),
        _ => None,
    });
    let [tip, side, notch] = north.unwrap()[..] else { panic!("an arrow has three corners") };
    assert!(tip.x < notch.x && tip.x < side.x && tip.y == notch.y);
    // Its side laps run across the page, along the flutes.
    let laps = lines(&picture, 0.3);
    assert!(laps.iter().all(|(from, to)| from.y == to.y && from.x != to.x));
}

#[test]
fn an_unknown_layout_is_listed() {
    let picture = draw(&roof());
    let words = words(&picture);
    assert!(
        words.contains(&"5 RD1-3  30'-0\"") && words.contains(&"5 RD1-4  31'-6\""),
        "{words:?}"
    );
}

#[test]
fn a_crowded_level_takes_the_large_page() {
    let few = draw(&one(bay("A1", 0.0)));
    assert_eq!((few.width, few.height), SMALL);
    let mut level = Level::default();
    for number in 0..20 {
        level.bays.push(bay(&format!("A{number}"), 30.0 * f64::from(number)));
    }
    let many = draw(&level);
    assert_eq!((many.width, many.height), LARGE);
}

#[test]
fn an_empty_level_is_an_empty_page() {
    let picture = draw(&Level::default());
    assert_eq!(words(&picture).len(), 1, "{picture:?}");
    let mut line = one(bay("A1", 0.0));
    line.bays[0].outline = vec![place(0.0, 0.0), place(10.0, 0.0)];
    assert!(words(&draw(&line)).contains(&"1 bay without an outline that can be drawn."));
}
