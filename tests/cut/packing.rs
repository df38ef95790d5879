//! Published bin-packing instances and large seeded ones.

use baytally::cut::cutting_plan;
use baytally::length::Length;

use super::instances::{KERF, orlib_u120, seeded_pieces, seeded_stock};
use super::plan_check::check;

#[test]
fn the_orlib_instances_take_the_best_known_number_of_bins() {
    let packings = orlib_u120();
    assert_eq!(packings.len(), 20);
    for packing in &packings {
        assert_eq!(packing.pieces.len(), 120, "{}", packing.name);
        let plan = cutting_plan(&packing.pieces, &packing.stock(), Length::ZERO).unwrap();
        check(&plan, &packing.pieces, &packing.stock(), Length::ZERO);
        assert_eq!(plan.bars, [(packing.capacity, packing.best_known)], "{}", packing.name);
        assert!(plan.is_proven(), "{}", packing.name);
    }
}

/// The bench `cut` holds the same for all twenty seeds and prints times and bounds.
#[test]
fn ten_thousand_pieces_come_within_one_bar_of_the_bound() {
    for seed in 0..2 {
        let pieces = seeded_pieces(seed);
        for limited in [false, true] {
            let stock = seeded_stock(limited);
            let plan = cutting_plan(&pieces, &stock, KERF).unwrap();
            check(&plan, &pieces, &stock, KERF);
            let most = plan.lp_bound + Length::feet(40);
            assert!(plan.total_stock <= most, "seed {seed}: {} over {most}", plan.total_stock);
        }
    }
}

#[test]
fn the_same_input_gives_the_same_plan() {
    let (pieces, stock) = (seeded_pieces(7), seeded_stock(true));
    let plan = cutting_plan(&pieces, &stock, KERF).unwrap();
    let (backward, turned): (Vec<_>, Vec<_>) =
        (pieces.iter().rev().copied().collect(), stock.iter().rev().copied().collect());
    assert_eq!(cutting_plan(&backward, &turned, KERF).unwrap(), plan);
}
