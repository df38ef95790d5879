//! Cutting problems for tests and benches: the OR-Library instances and seeded ones.

use std::collections::BTreeSet;

use baytally::cut::{Piece, Stock};
use baytally::length::Length;

/// A bin-packing instance, its capacity and sizes read as whole inches.
pub struct Packing {
    pub name: &'static str,
    pub capacity: Length,
    pub best_known: i64,
    pub pieces: Vec<Piece>,
}

impl Packing {
    /// Bins as stock without limit.
    pub fn stock(&self) -> [Stock; 1] {
        [Stock { length: self.capacity, available: None }]
    }
}

/// The instances u120_00 to u120_19 of the OR-Library (file binpack1), first published in
/// E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2
/// (1996). Format: the number of instances; for each its name, then capacity, number of items and
/// best known number of bins, then the items' sizes.
pub fn orlib_u120() -> Vec<Packing> {
    let mut words = include_str!("orlib-u120.txt").split_whitespace();
    let count: usize = words.next().unwrap().parse().unwrap();
    let packings = (0..count).map(|_| {
        let name = words.next().unwrap();
        let mut number = || words.next().unwrap().parse::<i64>().unwrap();
        let (capacity, items, best_known) = (number(), number(), number());
        let pieces = (0..items).map(|_| Piece { length: Length::inches(number()), count: 1 });
        Packing { name, capacity: Length::inches(capacity), best_known, pieces: pieces.collect() }
    });
    packings.collect()
}

/// What a seeded instance is cut with.
pub const KERF: Length = Length::sixty_fourths(8);

/// Stock lengths of the seeded instances, ft, and how many there are where limited.
const STOCK: [(i64, i64); 6] =
    [(20, 200), (24, 3000), (28, 300), (32, 1000), (36, 400), (40, 1100)];

/// 10,000 pieces of 60 different lengths from 3 ft to under 20 ft in whole sixteenths of an inch.
pub fn seeded_pieces(seed: u64) -> Vec<Piece> {
    let sixteenth = Length::sixty_fourths(4);
    let mut numbers = Numbers(seed);
    let mut lengths = BTreeSet::new();
    while lengths.len() < 60 {
        lengths.insert(3 * 192 + numbers.below(17 * 192));
    }
    let piece = |&length: &i64| Piece { length: sixteenth * length, count: 1 };
    let mut pieces: Vec<Piece> = lengths.iter().map(piece).collect();
    for _ in 60..10_000 {
        let index = usize::try_from(numbers.below(60)).unwrap();
        pieces[index].count += 1;
    }
    pieces
}

pub fn seeded_stock(limited: bool) -> Vec<Stock> {
    let stock = STOCK.iter().map(|&(feet, available)| Stock {
        length: Length::feet(feet),
        available: limited.then_some(available),
    });
    stock.collect()
}

/// A fixed sequence of numbers for each seed (SplitMix64).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: i64) -> i64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^= mixed >> 31;
        i64::try_from(mixed >> 1).unwrap() % limit
    }
}
