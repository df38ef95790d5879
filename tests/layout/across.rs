//! How many panels a width takes: cases worked by hand, and widths of a whole number of covers.

use baytally::deck::layout::across::{Across, Leftover, LeftoverRules, lay_across, panels_across};
use baytally::length::{Length, Typed};
use baytally::value::{Feet, Inches};
use proptest::prelude::*;

use super::{ft, typed};

fn rules() -> LeftoverRules {
    LeftoverRules { spread: ft(0, 1), filler: ft(0, 6), rest_serves: false }
}

fn lay(widths: &[&[Length]]) -> Across {
    let groups: Vec<Vec<Typed>> =
        widths.iter().map(|group| group.iter().copied().map(typed).collect()).collect();
    lay_across(&[&groups], ft(0, 36), &rules()).unwrap()
}

fn one(width: Length) -> (i64, Leftover, Length) {
    let across = lay(&[&[width]]);
    (across.panels, across.kind(), across.groups[0].leftover)
}

/// By hand: 40 covers of 36 in are 120'-0".
#[test]
fn the_leftover_rule_decides() {
    let sixty_fourth = Length::SIXTY_FOURTH;
    assert_eq!(one(ft(120, 0)), (40, Leftover::Exact, Length::ZERO));
    assert_eq!(one(ft(120, 0) + sixty_fourth), (40, Leftover::Spread, sixty_fourth));
    assert_eq!(one(ft(120, 4)), (40, Leftover::Filler, ft(0, 4)));
    assert_eq!(one(ft(121, 0)), (41, Leftover::Ripped, ft(1, 0)));
    assert_eq!(lay(&[&[ft(121, 0)]]).groups[0].overcover, ft(2, 0));
}

/// By hand: 124'-0" is 41.33 covers; each 31'-0" alone is 10.33.
#[test]
fn a_strip_takes_fewer_than_its_widths() {
    let across = lay(&[&[ft(31, 0); 4]]);
    assert_eq!((across.panels, across.panels_apart), (42, 44));
    assert_eq!(lay(&[&[ft(31, 0); 2], &[ft(31, 0); 2]]).panels, 42);
    assert_eq!(lay(&[&[ft(31, 0)], &[ft(31, 0)], &[ft(31, 0); 2]]).panels, 43);
}

/// By hand: edges at 0, 3 … 30 ft lie in the first 31'-0" (11), 33 … 60 in the second (10),
/// 63 … 90 in the third (10), 93 … 123 in the fourth (11).
#[test]
fn panels_belong_where_they_begin() {
    let row = [vec![typed(ft(31, 0))]];
    let across = lay_across(&[&row, &row, &row, &row], ft(0, 36), &rules()).unwrap();
    assert_eq!(across.by_row, [11, 10, 10, 11]);
}

/// By hand: three ripped panels of 12 in come out of one 36 in cover.
#[test]
fn rests_serve_where_the_shop_says_so() {
    let group = vec![typed(ft(31, 0))];
    let rules = LeftoverRules { rest_serves: true, ..rules() };
    let across = lay_across(&[&vec![group; 4]], ft(0, 36), &rules).unwrap();
    assert_eq!(across.panels, 42);
    assert_eq!(across.groups.iter().filter(|group| group.from_rest).count(), 2);
}

#[test]
fn refusals() {
    let text = |width: Length, cover: Length| {
        lay_across(&[&[vec![typed(width)]]], cover, &rules()).unwrap_err().to_string()
    };
    assert_eq!(
        text(-ft(1, 0), ft(0, 36)),
        "`widths_ft` is -1'-0\", wanted widths above 0 ft, together up to 100,000 ft"
    );
    assert_eq!(text(ft(1, 0), ft(0, 0)), "`cover_in` is 0, wanted a cover above 0 in");
    assert_eq!(
        panels_across(Feet(-ft(1, 0)), Inches(ft(0, 36))).unwrap_err().to_string(),
        "`width_ft` is -1, wanted a width of 0 ft or more"
    );
}

proptest! {
    #[test]
    fn whole_covers_are_never_one_more(
        count in 1_i64..3_000,
        cover in prop_oneof![
            (6_i64 * 64..60 * 64).prop_map(Length::sixty_fourths),
            (150_i64..1_500).prop_map(|mm| Length::from_exact(mm * 8_000)),
        ],
    ) {
        let width = cover * count;
        prop_assert_eq!(panels_across(Feet(width), Inches(cover)).unwrap(), count);
        let more = Feet(width + Length::SIXTY_FOURTH);
        prop_assert_eq!(panels_across(more, Inches(cover)).unwrap(), count + 1);
    }

    /// Decimal feet to two places stand for everything within 0.005 ft.
    #[test]
    fn decimal_text_within_half_a_digit_takes_the_whole_count(
        count in 1_i64..400,
        cover in 12_i64..48,
    ) {
        let exact = ft(0, cover) * count;
        let written = exact.round_to(Length::from_exact(24_384)) ;
        let half_digit = Length::from_exact(12_192);
        let typed = Typed { length: written, half_digit };
        let across = lay_across(&[&[vec![typed]]], ft(0, cover), &rules()).unwrap();
        prop_assert_eq!(across.panels, count);
        prop_assert_eq!(across.kind(), Leftover::Exact);
        prop_assert_eq!(across.groups[0].decimal_note, written != exact);
    }

    #[test]
    fn panels_cover_the_width(
        widths in prop::collection::vec(
            prop::collection::vec((1_i64..64 * 12 * 60).prop_map(Length::sixty_fourths), 1..4), 1..4),
        cover in 12_i64..48,
    ) {
        let groups: Vec<Vec<Typed>> =
            widths.iter().map(|group| group.iter().copied().map(typed).collect()).collect();
        let cover = ft(0, cover);
        let across = lay_across(&[&groups], cover, &rules()).unwrap();
        for (group, widths) in across.groups.iter().zip(&widths) {
            let width: Length = widths.iter().copied().sum();
            prop_assert_eq!(group.width, width);
            let covered = match group.kind {
                Leftover::Exact | Leftover::Ripped => cover * group.panels - group.overcover,
                Leftover::Spread | Leftover::Filler => cover * group.panels + group.leftover,
            };
            prop_assert_eq!(covered, width);
        }
        prop_assert_eq!(across.by_row.iter().sum::<i64>(), across.panels);
        let rows: Vec<&[Vec<Typed>]> = groups.iter().map(std::slice::from_ref).collect();
        let joined = lay_across(&rows, cover, &rules()).unwrap();
        prop_assert_eq!(joined.by_row.iter().sum::<i64>(), joined.panels);
        prop_assert_eq!(joined.width, across.width);
    }
}
