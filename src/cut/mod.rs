//! Cutting pieces from stock lengths: the one-dimensional cutting-stock problem with several stock
//! lengths, limited quantities and kerf.
//!
//! In: pieces, stock and kerf as exact lengths. Out: a plan in whole bars beside a proven bound.
//!
//! Reading order: `problem` checks what is asked; `plan` is the whole way; `rounding` goes
//! from the fractional plan to whole bars; `columns` generates patterns for the linear programs
//! of `master`, by prices, with the bounded knapsack of `knapsack` on the places of `scale`;
//! `bound` turns prices into a bound that holds whatever floating point did; `fill` makes a
//! plan at once and `exact` the best one where little is left.

mod bars;
mod bound;
mod builtin;
mod columns;
mod exact;
mod fill;
mod knapsack;
mod master;
mod plan;
mod problem;
mod rounding;
mod scale;

pub use plan::{Pattern, Plan, cutting_plan};
pub use problem::{MOST_PIECE_LENGTHS, MOST_PIECES, MOST_STOCK_LENGTHS, Piece, Stock};

use crate::builtin::Room;

/// The built-ins that scripts call as `cut::…`.
pub const ROOM: Room =
    Room { name: "cut", about: "Cutting pieces from stock lengths.", lists: &[builtin::BUILTINS] };
