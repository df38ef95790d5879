//! Plans worked out by hand.

use baytally::cut::{Pattern, Piece, Plan, Stock, cutting_plan};
use baytally::length::Length;

use super::plan_check::check;

fn pieces(list: &[(i64, i64)]) -> Vec<Piece> {
    list.iter().map(|&(feet, count)| Piece { length: Length::feet(feet), count }).collect()
}

fn stock(list: &[(i64, Option<i64>)]) -> Vec<Stock> {
    let stock =
        list.iter().map(|&(feet, available)| Stock { length: Length::feet(feet), available });
    stock.collect()
}

fn checked(list: &[(i64, i64)], from: &[(i64, Option<i64>)], kerf: Length) -> Plan {
    let (pieces, stock) = (pieces(list), stock(from));
    let plan = cutting_plan(&pieces, &stock, kerf).unwrap();
    check(&plan, &pieces, &stock, kerf);
    plan
}

/// Six of 13 ft from 40 ft: three a bar take 39 ft, two bars leave a foot each.
#[test]
fn one_length_from_one_stock_length() {
    let plan = checked(&[(13, 6)], &[(40, None)], Length::ZERO);
    let pattern = Pattern {
        stock: Length::feet(40),
        times: 2,
        pieces: vec![(Length::feet(13), 3)],
        offcut: Length::feet(1),
    };
    assert_eq!(plan.patterns, [pattern]);
    assert_eq!(plan.bars, [(Length::feet(40), 2)]);
    assert_eq!(plan.kerf, Length::ZERO);
    // 78 ft of pieces: at 3 a bar the linear program takes 80 ft, which is two bars.
    assert_eq!(plan.bound, Length::feet(80));
    assert!((plan.waste() - 2.0 / 80.0).abs() < 1e-12);
}

/// Four of 10 ft end with the bar of 40 ft without kerf. With a kerf of 1/8 in only three fit, so
/// four pieces take a second bar; from 40'-0 3/8" all four fit, three cuts between them.
#[test]
fn the_kerf_counts_between_pieces_and_before_an_off_cut() {
    let kerf = Length::sixty_fourths(8);
    let ten = Piece { length: Length::feet(10), count: 4 };
    let bars = |length: Length, kerf: Length| {
        let stock = [Stock { length, available: None }];
        let plan = cutting_plan(&[ten], &stock, kerf).unwrap();
        check(&plan, &[ten], &stock, kerf);
        (plan.bars[0].1, plan.kerf)
    };
    assert_eq!(bars(Length::feet(40), Length::ZERO), (1, Length::ZERO));
    assert_eq!(bars(Length::feet(40), kerf).0, 2);
    assert_eq!(bars(Length::feet(40) + kerf * 3, kerf), (1, kerf * 3));
    // A sixty-fourth longer and the fourth piece needs a cut of its own, for which there is no room.
    assert_eq!(bars(Length::feet(40) + kerf * 3 + Length::SIXTY_FOURTH, kerf).0, 2);
    assert_eq!(bars(Length::feet(40) + kerf * 4, kerf), (1, kerf * 4));
}

/// 7 + 5 ft fill a bar of 12 ft and 7 + 7 + 6 ft one of 20 ft: no off-cut at all.
#[test]
fn several_stock_lengths_are_mixed() {
    let plan = checked(&[(7, 3), (6, 1), (5, 1)], &[(20, None), (12, None)], Length::ZERO);
    assert_eq!(plan.bars, [(Length::feet(20), 1), (Length::feet(12), 1)]);
    assert_eq!(plan.offcut, Length::ZERO);
    assert!(plan.is_proven());
}

/// Two of 12 ft from the one bar of 24 ft; the other two from bars of 20 ft with 8 ft left each.
#[test]
fn a_limited_length_is_used_up_and_no_further() {
    let plan = checked(&[(12, 4)], &[(24, Some(1)), (20, None)], Length::ZERO);
    assert_eq!(plan.bars, [(Length::feet(24), 1), (Length::feet(20), 2)]);
    assert_eq!(plan.offcut, Length::feet(16));
    assert!(plan.is_proven());
    let plan = checked(&[(12, 4)], &[(24, Some(0)), (20, None)], Length::ZERO);
    assert_eq!(plan.bars, [(Length::feet(20), 4)]);
}

/// Equal lengths listed apart are one: 5 ft six times over fills one bar of 30 ft.
#[test]
fn repeated_entries_add_up() {
    let plan = checked(&[(5, 2), (5, 4)], &[(30, Some(0)), (30, Some(1))], Length::ZERO);
    assert_eq!(plan.bars, [(Length::feet(30), 1)]);
}

/// Totals of bars of 9 and 15 ft: 9, 15, 18, 24, 27, 30 … A need of 19 ft (two pieces of 9'-6",
/// at least 19/30 of 30 ft) takes 24 ft or more, here 30 ft: one piece of 9'-6" takes a bar of
/// 15 ft.
#[test]
fn the_bound_is_a_total_that_bars_can_make() {
    let piece = Piece { length: Length::inches(114), count: 2 };
    let stock = stock(&[(9, None), (15, None)]);
    let plan = cutting_plan(&[piece], &stock, Length::ZERO).unwrap();
    check(&plan, &[piece], &stock, Length::ZERO);
    assert_eq!(plan.total_stock, Length::feet(30));
    assert_eq!(plan.bound, Length::feet(30));
}

/// A piece a bar, at the greatest counts and lengths that are taken.
#[test]
fn the_largest_problem_stays_within_the_exact_type() {
    let piece = Piece { length: Length::LONGEST, count: 1_000_000 };
    let stock = [Stock { length: Length::LONGEST, available: None }];
    let plan = cutting_plan(&[piece], &stock, Length::ZERO).unwrap();
    assert_eq!(plan.bars, [(Length::LONGEST, 1_000_000)]);
    assert_eq!(plan.total_stock.exact(), Length::LONGEST.exact() * 1_000_000);
    assert!(plan.is_proven());
}
