//! Times of cutting plans, with what each holds: `cargo bench --bench cut`.
//!
//! The OR-Library instances have to take the best known number of bins; 10,000 seeded pieces from
//! stock without limit at most the bound of the linear program and one longest bar; from limited
//! stock the proven bound stands beside the result.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly"
)]

#[path = "../cut/instances.rs"]
mod instances;

use std::time::{Duration, Instant};

use baytally::cut::{Piece, Plan, Stock, cutting_plan};
use baytally::length::Length;

fn timed(pieces: &[Piece], stock: &[Stock], kerf: Length) -> (Plan, Duration) {
    let start = Instant::now();
    let plan = cutting_plan(pieces, stock, kerf).unwrap();
    (plan, start.elapsed())
}

fn packings() {
    println!("instance   bins  best known  bound  time");
    let packings = instances::orlib_u120();
    assert_eq!(packings.len(), 20);
    let mut all = Duration::ZERO;
    for packing in packings {
        let (plan, time) = timed(&packing.pieces, &packing.stock(), Length::ZERO);
        let (bins, best) = (plan.bars[0].1, packing.best_known);
        let bound = plan.bound.div_rem(packing.capacity).unwrap().0;
        println!("{}    {bins:4}  {best:10}  {bound:5}  {time:.1?}", packing.name);
        assert_eq!(bins, best);
        all += time;
    }
    println!("all 20: {all:.1?}\n");
}

fn seeded(limited: bool) {
    let kind = if limited { "limited" } else { "unlimited" };
    println!("10,000 pieces of 60 lengths from 6 {kind} stock lengths, kerf {}", instances::KERF);
    println!("seed  total ft  bound ft  gap ft  linear program ft  time");
    let stock = instances::seeded_stock(limited);
    for seed in 0..20 {
        let (plan, time) = timed(&instances::seeded_pieces(seed), &stock, instances::KERF);
        let feet = Length::in_feet;
        let (total, bound, gap) = (feet(plan.total_stock), feet(plan.bound), feet(plan.gap()));
        let program = feet(plan.lp_bound);
        println!("{seed:4}  {total:8}  {bound:8}  {gap:6}  {program:17.3}  {time:.1?}");
        assert!(limited || plan.total_stock <= plan.lp_bound + Length::feet(40));
    }
    println!();
}

fn main() {
    packings();
    seeded(false);
    seeded(true);
}
