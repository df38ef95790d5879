//! Where the panels of a layout lie: as many as the layout counts, over all of its width.

use baytally::deck::layout::across::LeftoverRules;
use baytally::deck::layout::blocks::{Block, of_strip};
use baytally::deck::layout::ends::{End, Joint, Slope};
use baytally::deck::layout::openings::OpeningRules;
use baytally::deck::layout::outline::Corner;
use baytally::deck::layout::shape::{Covered, ShapeSpec, lay_shape};
use baytally::length::Length;
use proptest::prelude::*;

use super::{butted_strip, eighth, ft, limits, typed};

const RULES: LeftoverRules =
    LeftoverRules { spread: Length::inches(1), filler: Length::inches(6), rest_serves: true };

fn panels(blocks: &[Block]) -> i64 {
    blocks.iter().map(|block| block.lines * i64::try_from(block.panels.len()).unwrap()).sum()
}

/// By hand: 31 ft of 3 ft cover are ten lines and a ripped one of 1 ft; ten spans of 10 ft are
/// panels of 40, 30 and 30 ft.
#[test]
fn a_strip_with_a_ripped_line() {
    let spans = [ft(10, 0); 10];
    let plan = butted_strip(&[&spans], &[&[vec![typed(ft(31, 0))]]], 3, RULES).unwrap();
    let blocks = of_strip(&plan, &spans, ft(3, 0));
    let sides: Vec<_> = blocks.iter().map(|it| (it.near, it.far, it.lines, it.cover)).collect();
    assert_eq!(
        sides,
        [(ft(0, 0), ft(30, 0), 10, Covered::Panels), (ft(30, 0), ft(31, 0), 1, Covered::Ripped)]
    );
    let lies: Vec<_> = blocks[0].panels.iter().map(|it| (it.from, it.to, it.order)).collect();
    assert_eq!(
        lies,
        [
            (ft(0, 0), ft(40, 0), ft(40, 0)),
            (ft(40, 0), ft(70, 0), ft(30, 0)),
            (ft(70, 0), ft(100, 0), ft(30, 0))
        ]
    );
}

proptest! {
    #[test]
    fn blocks_count_what_a_strip_counts(
        spans in prop::collection::vec(5..12_i64, 1..12),
        widths in prop::collection::vec(prop::collection::vec(1..900_i64, 1..4), 1..4),
    ) {
        let spans: Vec<Length> = spans.into_iter().map(|feet| ft(feet, 0)).collect();
        let groups: Vec<Vec<_>> = widths
            .into_iter()
            .map(|group| group.into_iter().map(|inches| typed(ft(0, inches))).collect())
            .collect();
        let plan = butted_strip(&[&spans], &[&groups], 1, RULES);
        prop_assume!(plan.is_ok());
        let plan = plan.unwrap();
        let blocks = of_strip(&plan, &spans, ft(3, 0));
        prop_assert_eq!(panels(&blocks), plan.panels);
        let mut at = Length::ZERO;
        for block in &blocks {
            prop_assert_eq!(block.near, at);
            prop_assert!(block.far > block.near);
            at = block.far;
        }
        prop_assert_eq!(at, plan.across.width);
    }

    #[test]
    fn blocks_count_what_an_outline_counts(
        long in 10..60_i64, wide in 4..60_i64, short in 5..60_i64, narrow in 2..60_i64, skew in 0..5_i64,
    ) {
        prop_assume!(short < long && narrow < wide);
        let corner = |along, across| Corner { along: ft(along, 0), across: ft(across, 0) };
        let corners = [
            corner(0, 0), corner(long + skew, 0), corner(long, narrow), corner(short, narrow),
            corner(short, wide), corner(0, wide),
        ];
        let plan = lay_shape(&ShapeSpec {
            corners: &corners,
            openings: &[],
            opening_rules: OpeningRules { covers: 2, long: ft(6, 0), deducted_above_ft2: 10.0 },
            spans: &[ft(10, 0); 7],
            breaks: &[],
            half_digit: Length::ZERO,
            copies: 1,
            cover: ft(3, 0),
            leftover: RULES,
            limits: limits(ft(40, 0)),
            start: End::CentreLine,
            far: End::CentreLine,
            joint: Joint::Butt,
            slope: Slope::default(),
            rounding: eighth(),
            cut: None,
        });
        prop_assume!(plan.is_ok());
        let plan = plan.unwrap();
        prop_assert_eq!(panels(&plan.blocks), plan.panels);
        let lines: i64 = plan.blocks.iter().map(|block| block.lines).sum();
        prop_assert_eq!(lines, plan.lines);
        for block in &plan.blocks {
            prop_assert!(block.far > block.near && block.to > block.from);
            let ends = block.panels.iter().map(|panel| (panel.from, panel.to));
            prop_assert!(ends.into_iter().all(|(from, to)| from >= block.from && to <= block.to && from < to));
        }
    }
}
