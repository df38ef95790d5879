//! Deck panels: layout, sections, spans, accessories.

pub mod beam;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: layout, sections, spans under wet concrete, accessories.",
    lists: &[beam::BUILTINS],
};
