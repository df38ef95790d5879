//! What every plan has to meet, worked out from the plan alone.

use std::collections::BTreeMap;

use baytally::cut::{Piece, Plan, Stock};
use baytally::length::Length;

/// Every piece cut exactly once, nothing over a bar's length, limits kept, sums right, total not
/// below the bounds.
pub fn check(plan: &Plan, pieces: &[Piece], stock: &[Stock], kerf: Length) {
    let mut wanted: BTreeMap<Length, i64> = BTreeMap::new();
    for piece in pieces {
        *wanted.entry(piece.length).or_default() += piece.count;
    }
    let mut cut: BTreeMap<Length, i64> = BTreeMap::new();
    let mut bars: BTreeMap<Length, i64> = BTreeMap::new();
    let (mut total, mut used, mut offcuts) = (0, 0, 0);
    for pattern in &plan.patterns {
        assert!(pattern.times > 0, "{pattern:?}");
        *bars.entry(pattern.stock).or_default() += pattern.times;
        let mut end = 0;
        let mut count = 0;
        for &(length, pieces) in &pattern.pieces {
            assert!(pieces > 0, "{pattern:?}");
            *cut.entry(length).or_default() += pieces * pattern.times;
            end += length.exact() * pieces;
            count += pieces;
        }
        assert!(count > 0, "an empty bar: {pattern:?}");
        used += end * pattern.times;
        end += kerf.exact() * (count - 1);
        if end != pattern.stock.exact() {
            end += kerf.exact();
        }
        assert!(end <= pattern.stock.exact(), "{pattern:?} ends at {end}");
        assert_eq!(pattern.offcut.exact(), pattern.stock.exact() - end, "{pattern:?}");
        offcuts += pattern.offcut.exact() * pattern.times;
        total += pattern.stock.exact() * pattern.times;
    }
    assert_eq!(cut, wanted);
    assert_eq!(
        plan.bars,
        bars.iter().rev().map(|(&length, &count)| (length, count)).collect::<Vec<_>>()
    );
    for (length, count) in bars {
        let listed = stock.iter().filter(|stock| stock.length == length);
        let available: Option<i64> = listed.map(|stock| stock.available).sum();
        assert!(available.is_none_or(|available| count <= available), "{count} of {length}");
    }
    assert_eq!(plan.total_stock.exact(), total);
    assert_eq!(plan.used.exact(), used);
    assert_eq!(plan.offcut.exact(), offcuts);
    assert_eq!(plan.kerf.exact(), total - used - offcuts);
    assert!(plan.lp_bound <= plan.bound, "{plan:?}");
    assert!(plan.bound <= plan.total_stock, "{plan:?}");
    assert_eq!(plan.gap(), plan.total_stock - plan.bound);
    assert_eq!(plan.is_proven(), plan.gap() == Length::ZERO);
}
