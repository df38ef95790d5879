//! Weights of steel deck: flat sheet, coating, profiled sheet.
//!
//! In: thicknesses, coatings, the record of a deck. Out: pounds per square foot.

mod sheet;

pub use sheet::*;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "weight",
    about: "Weight of steel sheet and deck, and thickness of its coating.",
    lists: &[sheet::BUILTINS],
};
