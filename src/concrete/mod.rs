//! Concrete volumes, weights, reinforcement, orders and trucks.

#![allow(clippy::needless_pass_by_value, reason = "built-ins own what scripts give them")]

pub mod gather;
pub mod modulus;
pub mod order;
pub mod sampling;
pub mod share;
pub mod steel;
pub mod truck;
pub mod volume;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "concrete",
    about: "Concrete on deck: volumes, weights, orders, trucks, pours and reinforcement.",
    lists: &[
        volume::BUILTINS,
        order::BUILTINS,
        share::BUILTINS,
        gather::BUILTINS,
        truck::BUILTINS,
        sampling::BUILTINS,
        steel::BUILTINS,
        modulus::BUILTINS,
    ],
};
