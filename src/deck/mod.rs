//! Deck panels: layout, sections, spans, accessories.

pub mod beam;
pub mod section;
pub mod stage;

use crate::builtin::Room;

pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: layout, sections, spans under wet concrete, accessories.",
    lists: &[beam::BUILTINS, section::BUILTINS, stage::BUILTINS],
};
