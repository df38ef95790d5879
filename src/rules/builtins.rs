//! The groups of built-in functions, in the order in which `reference` prints them.

use crate::builtin::Room;

/// All groups.
#[must_use]
pub fn rooms() -> &'static [Room] {
    &[
        crate::length::ROOM,
        crate::text::ROOM,
        crate::deck::ROOM,
        crate::concrete::ROOM,
        crate::weight::ROOM,
        crate::cut::ROOM,
        crate::calendar::ROOM,
    ]
}
