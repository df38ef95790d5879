//! Bays of any outline: cases worked by hand, rectangles against spans and width, and random
//! outlines whose strips must cover them.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "random outlines and areas for comparison"
)]

use baytally::deck::layout::across::LeftoverRules;
use baytally::deck::layout::along::AlongLimits;
use baytally::deck::layout::ends::{End, Joint, Slope};
use baytally::deck::layout::openings::{Opening, OpeningRules};
use baytally::deck::layout::outline::{Corner, Part, rectangle};
use baytally::deck::layout::plan::{StripSpec, lay_strip};
use baytally::deck::layout::shape::{Covered, ShapePlan, ShapeSpec, lay_shape};
use baytally::length::{Length, Typed};
use geo::{Area, Contains, Coord, LineString, Polygon, Validation};
use proptest::prelude::*;

use super::{eighth, ft, limits};

fn spec<'a>(corners: &'a [Corner], spans: &'a [Length]) -> ShapeSpec<'a> {
    ShapeSpec {
        corners,
        openings: &[],
        opening_rules: OpeningRules { covers: 2, long: ft(6, 0), deducted_above_ft2: 10.0 },
        spans,
        breaks: &[],
        half_digit: Length::ZERO,
        copies: 1,
        cover: ft(0, 36),
        leftover: LeftoverRules { spread: ft(0, 1), filler: ft(0, 6), rest_serves: false },
        limits: limits(ft(40, 0)),
        start: End::CentreLine,
        far: End::CentreLine,
        joint: Joint::Butt,
        slope: Slope::default(),
        rounding: eighth(),
        cut: None,
    }
}

/// Corners in whole feet.
fn corners(feet: &[(i64, i64)]) -> Vec<Corner> {
    feet.iter()
        .map(|(along, across)| Corner { along: ft(*along, 0), across: ft(*across, 0) })
        .collect()
}

fn box_at(along: (i64, i64), across: (i64, i64)) -> Vec<Corner> {
    corners(&[(along.0, across.0), (along.1, across.0), (along.1, across.1), (along.0, across.1)])
}

fn counts(plan: &ShapePlan) -> Vec<(Length, i64)> {
    plan.pieces.iter().map(|piece| (piece.length, piece.count)).collect()
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * (1.0 + other.abs())
}

/// By hand: the end runs from 30 ft to 36 ft over 12 ft, so strips of 3 ft reach to 31.5, 33, 34.5
/// and 36 ft; each cuts a triangle of 1.5 x 3 / 2 ft2 away.
#[test]
fn a_trapezoid_with_a_skewed_end() {
    let outline = corners(&[(0, 0), (30, 0), (36, 12), (0, 12)]);
    let plan = lay_shape(&spec(&outline, &[ft(10, 0); 4])).unwrap();
    assert_eq!(counts(&plan), [(ft(31, 6), 1), (ft(33, 0), 1), (ft(34, 6), 1), (ft(36, 0), 1)]);
    assert!(close(plan.skew_waste_ft2, 9.0), "{}", plan.skew_waste_ft2);
    assert!(close(plan.area_ft2, 396.0));
}

/// By hand: four strips of 40 ft, four of 20 ft.
#[test]
fn an_l_shape() {
    let outline = corners(&[(0, 0), (40, 0), (40, 12), (20, 12), (20, 24), (0, 24)]);
    let plan = lay_shape(&spec(&outline, &[ft(10, 0); 4])).unwrap();
    assert_eq!(counts(&plan), [(ft(40, 0), 4), (ft(20, 0), 4)]);
    assert!(close(plan.area_ft2, 720.0) && close(plan.skew_waste_ft2, 0.0));
}

/// By hand: as above, but the long leg is 1/64 in wider than four covers: taken up in spreading.
#[test]
fn a_sliver_beside_a_wider_part_takes_no_panel() {
    let mut outline = corners(&[(0, 0), (40, 0), (40, 12), (20, 12), (20, 24), (0, 24)]);
    for corner in &mut outline[2..4] {
        corner.across += Length::SIXTY_FOURTH;
    }
    let plan = lay_shape(&spec(&outline, &[ft(10, 0); 4])).unwrap();
    assert_eq!(counts(&plan), [(ft(40, 0), 4), (ft(20, 0), 4)]);
    let none = LeftoverRules::default();
    let plan = lay_shape(&ShapeSpec { leftover: none, ..spec(&outline, &[ft(10, 0); 4]) }).unwrap();
    assert_eq!(counts(&plan), [(ft(40, 0), 5), (ft(20, 0), 3)]);
}

/// By hand: a U, whose two upper strips fall into two parts of 10 ft each.
#[test]
fn every_separate_part_gets_panels() {
    let outline =
        corners(&[(0, 0), (40, 0), (40, 12), (30, 12), (30, 6), (10, 6), (10, 12), (0, 12)]);
    let plan = lay_shape(&spec(&outline, &[ft(10, 0); 4])).unwrap();
    assert_eq!(counts(&plan), [(ft(40, 0), 2), (ft(10, 0), 4)]);
    assert_eq!(plan.lines, 6);
}

/// By hand: a framed stair 10 ft by 6 ft splits two of ten lines into 10 ft and 20 ft. Not framed,
/// it is decked over; the concrete is net of its 60 ft2 either way, but not of 9 ft2.
#[test]
fn a_stair_opening() {
    let outline = rectangle(ft(40, 0), ft(30, 0));
    let (stair, duct) = (box_at((10, 20), (6, 12)), box_at((30, 33), (21, 24)));
    let lay = |framed| {
        let openings =
            [Opening { corners: &stair, framed }, Opening { corners: &duct, framed: true }];
        lay_shape(&ShapeSpec { openings: &openings, ..spec(&outline, &[ft(10, 0); 4]) }).unwrap()
    };
    let plan = lay(true);
    assert_eq!(counts(&plan), [(ft(40, 0), 8), (ft(10, 0), 2), (ft(20, 0), 2)]);
    assert!(close(plan.area_ft2, 1_200.0) && close(plan.concrete_area_ft2, 1_140.0));
    let plan = lay(false);
    assert_eq!(counts(&plan), [(ft(40, 0), 10)]);
    assert!(close(plan.area_ft2, 1_200.0) && close(plan.concrete_area_ft2, 1_140.0));
    assert!(!plan.openings[1].interrupts && !plan.openings[1].deducted);
}

/// By hand: across 7 to 13 ft only the strip from 9 to 12 ft is interrupted altogether.
#[test]
fn panels_beside_an_opening_are_notched() {
    let outline = rectangle(ft(40, 0), ft(30, 0));
    let stair = box_at((10, 20), (7, 13));
    let openings = [Opening { corners: &stair, framed: true }];
    let spans = [ft(10, 0); 4];
    let spec = ShapeSpec { openings: &openings, ..spec(&outline, &spans) };
    let plan = lay_shape(&spec).unwrap();
    assert_eq!(counts(&plan), [(ft(40, 0), 9), (ft(10, 0), 1), (ft(20, 0), 1)]);
    assert!(close(plan.skew_waste_ft2, 30.0), "{}", plan.skew_waste_ft2);
}

/// By hand: a triangle whose last strip is 2 ft long at most: one panel of 6'-0", cut.
#[test]
fn parts_below_the_shortest_panel_are_cut_from_it() {
    let outline = corners(&[(0, 0), (8, 0), (0, 12)]);
    let plan = lay_shape(&spec(&outline, &[ft(8, 0)])).unwrap();
    assert_eq!(counts(&plan), [(ft(8, 0), 1), (ft(6, 0), 3)]);
    assert_eq!(plan.short, 2);
}

/// By hand: a wedge 1/1000 in long in its last strip still takes a panel where nothing is spread.
#[test]
fn the_thinnest_tip_takes_a_panel() {
    let mut outline = corners(&[(0, 0), (8, 0), (0, 3)]);
    outline[2].across += Length::from_exact(203);
    let none = LeftoverRules::default();
    let plan = lay_shape(&ShapeSpec { leftover: none, ..spec(&outline, &[ft(8, 0)]) }).unwrap();
    assert_eq!(counts(&plan), [(ft(8, 0), 1), (ft(6, 0), 1)]);
}

#[test]
fn refusals() {
    let text = |outline: &[Corner], spans: &[Length]| {
        lay_shape(&spec(outline, spans)).unwrap_err().to_string()
    };
    let span = [ft(10, 0)];
    assert_eq!(
        text(&corners(&[(0, 0), (10, 10), (10, 0), (0, 10)]), &span),
        "`corners_ft` is crossed by itself: edge 1 to 2 meets edge 3 to 4, wanted an outline whose \
         edges do not cross or touch"
    );
    assert_eq!(
        text(&corners(&[(0, 0), (10, 0), (0, 0)]), &span),
        "`corners_ft` is 2 corners, wanted 3 to 2000 different corners"
    );
    assert_eq!(
        text(&corners(&[(0, 0), (5, 0), (10, 0)]), &span),
        "`corners_ft` is crossed by itself: edge 1 to 2 meets edge 3 to 1, wanted an outline whose \
         edges do not cross or touch"
    );
    assert_eq!(
        text(&rectangle(ft(30, 0), ft(12, 0)), &[ft(10, 0), ft(18, 0)]),
        "`spans_ft` is 28'-0\" in all, wanted spans that reach the end of the outline, 30'-0\" \
         along"
    );
    let outline = rectangle(ft(30, 0), ft(12, 0));
    let with = |openings: &[Vec<Corner>]| {
        let openings: Vec<Opening<'_>> =
            openings.iter().map(|corners| Opening { corners, framed: true }).collect();
        let spans = [ft(10, 0); 3];
        let spec = ShapeSpec { openings: &openings, ..spec(&outline, &spans) };
        lay_shape(&spec).map(|plan| plan.panels).map_err(|refusal| refusal.to_string())
    };
    assert_eq!(
        with(&[box_at((25, 35), (3, 9))]).unwrap_err(),
        "`openings[0]` is 25'-0\" to 35'-0\" along, 3'-0\" to 9'-0\" across, wanted an opening \
         within its bay"
    );
    assert_eq!(
        with(&[box_at((2, 10), (3, 9)), box_at((8, 14), (6, 12))]).unwrap_err(),
        "`openings[1]` is 8'-0\" to 14'-0\" along, 6'-0\" to 12'-0\" across, over `openings[0]`, \
         wanted openings that do not overlap"
    );
    let twice = box_at((2, 10), (3, 9));
    assert_eq!(
        with(&[twice.clone(), twice]).unwrap_err(),
        "`openings[1]` is 2'-0\" to 10'-0\" along, 3'-0\" to 9'-0\" across, over `openings[0]`, \
         wanted openings that do not overlap"
    );
    assert_eq!(with(&[box_at((2, 10), (3, 9)), box_at((10, 18), (3, 9))]), Ok(6));
    assert_eq!(with(&[box_at((0, 8), (0, 6))]), Ok(4));
}

fn polygon(corners: &[Corner]) -> Polygon<f64> {
    let coordinates: Vec<Coord<f64>> = corners
        .iter()
        .map(|corner| Coord { x: corner.along.in_feet(), y: corner.across.in_feet() })
        .collect();
    Polygon::new(LineString::new(coordinates), vec![])
}

/// The shoelace sum on exact units, ft2.
fn shoelace_ft2(corners: &[Corner]) -> f64 {
    let twice: i128 = (0..corners.len())
        .map(|index| {
            let (a, b) = (corners[index], corners[(index + 1) % corners.len()]);
            i128::from(a.along.exact()) * i128::from(b.across.exact())
                - i128::from(b.along.exact()) * i128::from(a.across.exact())
        })
        .sum();
    twice.abs() as f64 / 2.0 / (2_438_400.0 * 2_438_400.0)
}

/// Star-shaped outlines, mostly concave: corners round a centre at growing angles.
fn stars() -> impl Strategy<Value = Vec<Corner>> {
    prop::collection::vec((1_i64..20, 500_i64..9_000), 3..14).prop_map(|corners| {
        let total: i64 = corners.iter().map(|(step, _)| step).sum::<i64>() + 1;
        let mut turned = 0;
        corners
            .iter()
            .map(|(step, radius)| {
                turned += step;
                let angle = std::f64::consts::TAU * turned as f64 / total as f64;
                let at = |share: f64| Length::sixty_fourths((share * 4.0 * *radius as f64) as i64);
                Corner { along: at(angle.cos()), across: at(angle.sin()) }
            })
            .collect()
    })
}

fn rules() -> impl Strategy<Value = LeftoverRules> {
    (0_i64..3, 0_i64..8).prop_map(|(spread, filler)| LeftoverRules {
        spread: ft(0, spread),
        filler: ft(0, filler),
        rest_serves: false,
    })
}

proptest! {
    #[test]
    fn rectangles_are_laid_as_spans_and_width(
        spans in prop::collection::vec((64_i64 * 12 * 6..64 * 12 * 14).prop_map(Length::sixty_fourths), 1..9),
        width in (1_i64..64 * 12 * 90).prop_map(Length::sixty_fourths),
        half_digit in (0_i64..200).prop_map(Length::sixty_fourths),
        leftover in rules(),
        ends in (-3_i64..4, -3_i64..4),
        lap in 0_i64..4,
        (rise, copies) in (0_i64..4, 1_i64..4),
        at in (-50_i64..50, -50_i64..50),
    ) {
        let joint = if lap == 0 { Joint::Butt } else { Joint::Lap(ft(0, lap)) };
        let (start, far) = (End::Beyond(ft(0, ends.0)), End::Beyond(ft(0, ends.1)));
        let slope = Slope { rise_in_12: ft(0, rise) };
        let most = AlongLimits { most_spans: 4, ..limits(ft(33, 0)) };
        let strip = lay_strip(&StripSpec {
            spans: &[&spans],
            widths: &[&[vec![Typed { length: width, half_digit }]]],
            copies,
            cover: ft(0, 36),
            leftover,
            limits: most,
            start,
            far,
            joint,
            joints_at: &[],
            slope,
            rounding: eighth(),
            cut: None,
        });
        let mut outline = rectangle(spans.iter().copied().sum(), width);
        for corner in &mut outline {
            corner.along += ft(at.0, 0);
            corner.across += ft(at.1, 0);
        }
        let shape = lay_shape(&ShapeSpec {
            half_digit,
            copies,
            leftover,
            limits: most,
            start,
            far,
            joint,
            slope,
            ..spec(&outline, &spans)
        });
        match (strip, shape) {
            (Ok(strip), Ok(shape)) => {
                prop_assert_eq!(strip.pieces, shape.pieces);
                prop_assert_eq!(
                    (strip.panels, strip.lines, strip.lineal, strip.filler, strip.ripped),
                    (shape.panels, shape.lines, shape.lineal, shape.filler, shape.ripped)
                );
                prop_assert_eq!(shape.short, 0);
            }
            // A bay that filler strips cover alone needs no line of panels.
            (Err(_), Ok(shape)) if shape.panels == 0 => {}
            (strip, shape) => prop_assert_eq!(strip.err(), shape.err()),
        }
    }

    #[test]
    fn strips_cover_the_outline(outline in stars(), leftover in rules(), cover in 12_i64..40) {
        let outside = outline.iter().map(|corner| corner.along);
        let (low, high) = (outside.clone().min().unwrap(), outside.max().unwrap());
        let count = (high - low).count_to_cover(ft(10, 0)).unwrap().max(1);
        let spans = vec![ft(10, 0); usize::try_from(count).unwrap()];
        let shape = ShapeSpec { cover: ft(0, cover), leftover, ..spec(&outline, &spans) };
        let valid = polygon(&outline).is_valid() && shoelace_ft2(&outline) > 0.0;
        let plan = match lay_shape(&shape) {
            Ok(plan) => plan,
            Err(refusal) => {
                prop_assert!(!valid || high - low < ft(6, 0), "{}", refusal);
                return Ok(());
            }
        };
        prop_assert!(valid);
        let area: f64 = plan.strips.iter().map(|strip| strip.part.area_ft2).sum();
        prop_assert!(close(area, shoelace_ft2(&outline)), "{} {}", area, shoelace_ft2(&outline));
        prop_assert!(close(plan.area_ft2, area));
        prop_assert!(close(polygon(&outline).unsigned_area(), area));
        for piece in &plan.pieces {
            prop_assert!(piece.length <= ft(40, 0) && piece.length >= ft(6, 0));
        }
        for corner in &outline {
            let within = |part: &Part| {
                (part.low..=part.high).contains(&corner.along)
                    && (part.near..=part.far).contains(&corner.across)
            };
            prop_assert!(plan.strips.iter().any(|strip| within(&strip.part)));
        }
        let lines = plan.strips.iter().filter(|strip| {
            matches!(strip.cover, Covered::Panels | Covered::Ripped)
        });
        let deck: f64 = lines
            .map(|strip| (strip.part.high - strip.part.low).in_feet() * strip.part.width().in_feet())
            .sum();
        let covered: f64 = plan.strips
            .iter()
            .filter(|strip| matches!(strip.cover, Covered::Panels | Covered::Ripped))
            .map(|strip| strip.part.area_ft2)
            .sum();
        prop_assert!(deck >= covered - 1e-6);
        prop_assert!((plan.skew_waste_ft2 - (deck - covered)).abs() < 1e-6);
    }

    /// Openings on a grid, and only those strips of a panel's middle line that lie inside one.
    #[test]
    fn openings_come_off(
        boxes in prop::collection::vec((0_i64..4, 0_i64..4, 1_i64..10, 1_i64..10, any::<bool>()), 0..6),
    ) {
        let outline = rectangle(ft(40, 0), ft(40, 0));
        let mut cells = std::collections::BTreeMap::new();
        for (along, across, long, wide, framed) in boxes {
            let (along, across) = (along * 10, across * 10);
            cells.insert((along, across), (box_at((along, along + long), (across, across + wide)), framed));
        }
        let openings: Vec<Opening<'_>> = cells
            .values()
            .map(|(corners, framed)| Opening { corners, framed: *framed })
            .collect();
        let spans = [ft(10, 0); 4];
        let plan = lay_shape(&ShapeSpec { openings: &openings, ..spec(&outline, &spans) }).unwrap();
        let (mut net, mut concrete) = (1_600.0, 1_600.0);
        for (verdict, opening) in plan.openings.iter().zip(&openings) {
            let area = shoelace_ft2(opening.corners);
            net -= if verdict.interrupts { area } else { 0.0 };
            concrete -= if area > 10.0 { area } else { 0.0 };
            let big = verdict.width >= ft(6, 0) && verdict.length >= ft(6, 0);
            prop_assert_eq!(verdict.interrupts, opening.framed && big);
        }
        prop_assert!(close(plan.area_ft2, 1_600.0) && close(plan.concrete_area_ft2, concrete));
        let area: f64 = plan.strips.iter().map(|strip| strip.part.area_ft2).sum();
        prop_assert!(close(area, net));
        let holes: Vec<Polygon<f64>> = openings
            .iter()
            .zip(&plan.openings)
            .filter(|(_, verdict)| verdict.interrupts)
            .map(|(opening, _)| polygon(opening.corners))
            .collect();
        for strip in &plan.strips {
            let part = strip.part;
            let whole = polygon(&[
                Corner { along: part.low, across: part.near },
                Corner { along: part.high, across: part.near },
                Corner { along: part.high, across: part.far },
                Corner { along: part.low, across: part.far },
            ]);
            prop_assert!(!holes.iter().any(|hole| hole.contains(&whole)));
        }
        prop_assert!(plan.pieces.iter().all(|piece| piece.length <= ft(40, 0)));
    }
}

/// Prints the time of outlines; run in release with `--ignored --nocapture`.
#[test]
#[ignore = "a measurement"]
fn time_of_outlines() {
    let spans = vec![ft(10, 0); 12];
    let skewed = corners(&[(0, 0), (60, 5), (115, 0), (119, 77), (70, 60), (10, 81)]);
    let stair = box_at((20, 32), (30, 40));
    let openings = [Opening { corners: &stair, framed: true }];
    for (name, outline) in [("rectangle", box_at((0, 120), (0, 80))), ("six skew corners", skewed)]
    {
        let spec = ShapeSpec { openings: &openings, ..spec(&outline, &spans) };
        let start = std::time::Instant::now();
        let mut panels = 0;
        for _ in 0..1_000 {
            panels += std::hint::black_box(lay_shape(&spec).unwrap()).panels;
        }
        println!("{name}: {} us, {} panels", start.elapsed().as_millis(), panels / 1_000);
    }
}
