//! Random problems: what every plan has to meet, and small ones against every possible plan.

use baytally::cut::{Piece, Plan, Stock, cutting_plan};
use baytally::length::Length;
use proptest::prelude::*;

use super::plan_check::check;

/// Lengths in a unit that is drawn along: whole inches, sixteenths, or exact units that share no
/// divisor.
fn problem(lengths: usize, most: i64) -> impl Strategy<Value = (Vec<Piece>, Vec<Stock>, Length)> {
    let unit = prop_oneof![Just(203_200), Just(12_700), Just(99_991)];
    let piece = (20i64..240, 1..=most, 0i64..3);
    let stock = (200i64..500, proptest::option::weighted(0.3, 0i64..2 * most));
    let pieces = proptest::collection::vec(piece, 1..=lengths);
    let stocks = proptest::collection::vec(stock, 1..5);
    let long = proptest::option::weighted(0.5, 0i64..2 * most);
    (unit, pieces, stocks, long, prop_oneof![Just(0i64), 0i64..6]).prop_map(
        |(unit, pieces, stocks, long, kerf)| {
            // An off length now and then, so that sums do not all fall on the unit.
            let exact = |length: i64, off: i64| Length::from_exact(length * unit + off * 37);
            let pieces = pieces
                .iter()
                .map(|&(length, count, off)| Piece { length: exact(length, off % 2), count });
            let stocks = stocks
                .iter()
                .map(|&(length, available)| Stock { length: exact(length, 0), available });
            // A length that every piece fits, so that many problems have a plan.
            let long = Stock { length: exact(300, 0), available: long };
            (pieces.collect(), stocks.chain([long]).collect(), exact(kerf, 0))
        },
    )
}

/// The least total over every way to share single pieces out over bars; `None` where there is none.
fn least_total(pieces: &[Length], stock: &[Stock], kerf: Length) -> Option<i64> {
    let used = vec![0; stock.len()];
    least_from(pieces, &mut vec![false; pieces.len()], stock, kerf, &used)
}

fn least_from(
    pieces: &[Length],
    gone: &mut Vec<bool>,
    stock: &[Stock],
    kerf: Length,
    used: &[i64],
) -> Option<i64> {
    let Some(first) = gone.iter().position(|gone| !gone) else { return Some(0) };
    let others: Vec<usize> = (first + 1..pieces.len()).filter(|&index| !gone[index]).collect();
    let mut least: Option<i64> = None;
    for chosen in 0..1u32 << others.len() {
        let along = others.iter().enumerate().filter(|(bit, _)| chosen >> bit & 1 == 1);
        let along: Vec<usize> = along.map(|(_, &index)| index).chain([first]).collect();
        let count = i64::try_from(along.len()).unwrap();
        let sum: i64 = along.iter().map(|&index| pieces[index].exact()).sum();
        for (index, bars) in stock.iter().enumerate() {
            let flush = sum + (count - 1) * kerf.exact() == bars.length.exact();
            let fits = flush || sum + count * kerf.exact() <= bars.length.exact();
            if !fits || bars.available.is_some_and(|available| used[index] >= available) {
                continue;
            }
            let mut now_used = used.to_vec();
            now_used[index] += 1;
            for &piece in &along {
                gone[piece] = true;
            }
            let rest = least_from(pieces, gone, stock, kerf, &now_used);
            for &piece in &along {
                gone[piece] = false;
            }
            if let Some(rest) = rest {
                let total = rest + bars.length.exact();
                least = Some(least.map_or(total, |least| least.min(total)));
            }
        }
    }
    least
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_cuts_every_piece_once_within_its_bars((pieces, stock, kerf) in problem(12, 40)) {
        match cutting_plan(&pieces, &stock, kerf) {
            Ok(plan) => check(&plan, &pieces, &stock, kerf),
            Err(refusal) => {
                let unlimited = stock.last().is_some_and(|long| long.available.is_none());
                prop_assert!(refusal.argument == "stock" && !unlimited, "{refusal}");
            }
        }
    }

    #[test]
    fn small_plans_are_the_best_of_all((pieces, stock, kerf) in problem(5, 1)) {
        let single: Vec<Length> = pieces.iter().map(|piece| piece.length).collect();
        let least = least_total(&single, &stock, kerf);
        let plan = cutting_plan(&pieces, &stock, kerf);
        match (plan, least) {
            (Ok(plan), Some(least)) => {
                check(&plan, &pieces, &stock, kerf);
                prop_assert!(plan.bound.exact() <= least, "bound {} over {least}", plan.bound.exact());
                prop_assert_eq!(plan.total_stock.exact(), least);
            }
            (Err(_), None) => {}
            (plan, least) => prop_assert!(false, "{plan:?} against {least:?}"),
        }
    }

    #[test]
    fn nothing_panics_and_the_order_of_entries_is_indifferent(
        pieces in proptest::collection::vec((any::<i64>(), any::<i64>()), 0..4),
        small in proptest::collection::vec((1i64..1 << 40, 1i64..1 << 21), 0..4),
        stock in proptest::collection::vec((1i64..1 << 40, any::<Option<i64>>()), 0..4),
        kerf in prop_oneof![any::<i64>(), 0i64..1 << 20],
        tame in any::<bool>(),
    ) {
        let listed = if tame { small } else { pieces };
        let pieces: Vec<Piece> = listed
            .iter()
            .map(|&(length, count)| Piece { length: Length::from_exact(length), count })
            .collect();
        let stock: Vec<Stock> = stock
            .iter()
            .map(|&(length, available)| Stock { length: Length::from_exact(length), available })
            .collect();
        let kerf = Length::from_exact(kerf);
        let plan = cutting_plan(&pieces, &stock, kerf);
        if let Ok(plan) = &plan {
            check(plan, &pieces, &stock, kerf);
        }
        let turned: Vec<Piece> = pieces.iter().rev().copied().collect();
        let again: Option<Plan> = cutting_plan(&turned, &stock, kerf).ok();
        prop_assert_eq!(again, plan.ok());
    }
}
