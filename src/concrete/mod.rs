//! Concrete volumes, weights, reinforcement, orders and trucks.

#![allow(clippy::needless_pass_by_value, reason = "built-ins own what scripts give them")]

pub mod order;
pub mod volume;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "concrete",
    about: "Concrete on deck: volumes, weights, orders, trucks, pours and reinforcement.",
    lists: &[volume::BUILTINS, order::BUILTINS],
};
