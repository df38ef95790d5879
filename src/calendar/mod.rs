//! Dates and working days.

#![allow(clippy::needless_pass_by_value, reason = "built-ins own what scripts give them")]

pub mod day;
pub mod holiday;
pub mod pour;
pub mod shop;
pub mod working;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "calendar",
    about: "Dates, federal holidays, working days and the dates of pours.",
    lists: &[day::BUILTINS, holiday::BUILTINS, working::BUILTINS, pour::BUILTINS],
};
