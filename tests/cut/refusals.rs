//! What is refused, with the whole message.

use baytally::cut::{Piece, Stock, cutting_plan};
use baytally::length::Length;

fn piece(length: Length, count: i64) -> Piece {
    Piece { length, count }
}

fn refusal(pieces: &[Piece], stock: &[(Length, Option<i64>)], kerf: Length) -> String {
    let stock: Vec<Stock> =
        stock.iter().map(|&(length, available)| Stock { length, available }).collect();
    cutting_plan(pieces, &stock, kerf).unwrap_err().to_string()
}

const TEN: Length = Length::feet(10);
const FORTY: (Length, Option<i64>) = (Length::feet(40), None);

#[test]
fn stock_shorter_than_the_shortest_piece() {
    let pieces = [piece(Length::feet(30), 2), piece(Length::feet(24), 1)];
    let stock = [(Length::feet(20), None), (Length::inches(282), Some(3))];
    assert_eq!(
        refusal(&pieces, &stock, Length::ZERO),
        "`stock` is at most 23'-6\" long, wanted a stock length of at least the shortest piece, \
         `pieces[1]` of 24'-0\""
    );
}

#[test]
fn a_piece_longer_than_every_stock_length() {
    let pieces = [piece(TEN, 2), piece(Length::inches(481), 1)];
    assert_eq!(
        refusal(&pieces, &[FORTY], Length::ZERO),
        "`pieces[1].length_ft` is 40'-1\", wanted a length up to the longest stock length, 40'-0\""
    );
}

#[test]
fn a_piece_that_leaves_no_room_for_the_kerf() {
    let pieces = [piece(Length::feet(40) - Length::SIXTY_FOURTH, 1)];
    assert_eq!(
        refusal(&pieces, &[FORTY], Length::sixty_fourths(8)),
        "`pieces[0].length_ft` is 39'-11 63/64\", wanted the length of a bar, or one that leaves \
         room for a kerf of 1/8\""
    );
}

#[test]
fn kerf_below_zero() {
    assert_eq!(
        refusal(&[piece(TEN, 1)], &[FORTY], Length::sixty_fourths(-8)),
        "`kerf_in` is -1/8\", wanted a kerf of 0 in or more"
    );
}

#[test]
fn kerf_beyond_every_length() {
    assert_eq!(
        refusal(&[piece(TEN, 1)], &[FORTY], Length::feet(100_001)),
        "`kerf_in` is 1200012\", wanted a kerf up to 100,000 ft"
    );
}

#[test]
fn lengths_that_are_not_above_zero() {
    assert_eq!(
        refusal(&[piece(TEN, 1), piece(Length::ZERO, 1)], &[FORTY], Length::ZERO),
        "`pieces[1].length_ft` is 0'-0\", wanted a length above 0 ft"
    );
    assert_eq!(
        refusal(&[piece(TEN, 1)], &[FORTY, (Length::feet(-20), None)], Length::ZERO),
        "`stock[1].length_ft` is -20'-0\", wanted a length above 0 ft"
    );
}

#[test]
fn lengths_beyond_the_longest() {
    let beyond = Length::feet(100_001);
    assert_eq!(
        refusal(&[piece(beyond, 1)], &[FORTY], Length::ZERO),
        "`pieces[0].length_ft` is 100001'-0\", wanted a length up to 100,000 ft"
    );
    assert_eq!(
        refusal(&[piece(TEN, 1)], &[(beyond, None)], Length::ZERO),
        "`stock[0].length_ft` is 100001'-0\", wanted a length up to 100,000 ft"
    );
}

#[test]
fn counts_below_one() {
    assert_eq!(
        refusal(&[piece(TEN, 0)], &[FORTY], Length::ZERO),
        "`pieces[0].count` is 0, wanted a count of 1 or more"
    );
    assert_eq!(
        refusal(&[piece(TEN, 4), piece(TEN, -3)], &[FORTY], Length::ZERO),
        "`pieces[1].count` is -3, wanted a count of 1 or more"
    );
    assert_eq!(
        refusal(&[piece(TEN, 4)], &[(Length::feet(40), Some(-1))], Length::ZERO),
        "`stock[0].available` is -1, wanted a count of 0 or more, or blank where there is no limit"
    );
}

#[test]
fn empty_lists() {
    assert_eq!(
        refusal(&[], &[FORTY], Length::ZERO),
        "`pieces` is empty, wanted at least one piece"
    );
    assert_eq!(
        refusal(&[piece(TEN, 1)], &[], Length::ZERO),
        "`stock` is empty, wanted at least one stock length"
    );
}

/// Nine pieces of 30 ft, one a bar: nine bars are needed, five are there.
#[test]
fn limited_stock_that_is_not_enough() {
    assert_eq!(
        refusal(&[piece(Length::feet(30), 9)], &[(Length::feet(40), Some(5))], Length::ZERO),
        "`stock` is 5 of 40'-0\", wanted enough for all 9 pieces, such as 4 of 40'-0\" more (the \
         pieces are 270'-0\" end to end, the bars 200'-0\")"
    );
    assert_eq!(
        refusal(&[piece(Length::feet(30), 2)], &[(Length::feet(40), Some(0))], Length::ZERO),
        "`stock` is 0 bars, wanted enough for all 2 pieces, such as 2 of 40'-0\" more (the \
         pieces are 60'-0\" end to end, the bars 0'-0\")"
    );
}

/// The pieces of 30 ft come out of the bars of 40 ft alone, of which one is missing.
#[test]
fn limited_stock_beside_unlimited_stock_that_is_too_short() {
    let pieces = [piece(Length::feet(30), 3), piece(TEN, 8)];
    assert_eq!(
        refusal(&pieces, &[(Length::feet(40), Some(2)), (Length::feet(20), None)], Length::ZERO),
        "`stock` is 2 of 40'-0\", wanted enough for all 11 pieces, such as 1 of 40'-0\" more (no \
         plan is possible within it)"
    );
}

#[test]
fn problems_beyond_the_stated_sizes() {
    let many: Vec<Piece> = (1..=201).map(|inches| piece(Length::inches(inches), 1)).collect();
    assert_eq!(
        refusal(&many, &[FORTY], Length::ZERO),
        "`pieces` is 201 different lengths, wanted at most 200 different lengths"
    );
    assert_eq!(
        refusal(&[piece(TEN, 600_000), piece(TEN, 400_001)], &[FORTY], Length::ZERO),
        "`pieces` is 1000001 pieces, wanted at most 1000000 pieces"
    );
    assert_eq!(
        refusal(&[piece(TEN, i64::MAX), piece(TEN, i64::MAX)], &[FORTY], Length::ZERO),
        "`pieces` is 9223372036854775807 pieces, wanted at most 1000000 pieces"
    );
    let many: Vec<(Length, Option<i64>)> =
        (20..45).map(|feet| (Length::feet(feet), None)).collect();
    assert_eq!(
        refusal(&[piece(TEN, 1)], &many, Length::ZERO),
        "`stock` is 25 different lengths, wanted at most 24 different lengths"
    );
}
