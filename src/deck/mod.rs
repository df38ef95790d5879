//! Deck panels: layout, sections, spans, accessories.

use crate::builtin::Room;

pub mod layout;

/// The built-ins that scripts call as `deck::…`.
pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: how many, how long, how bundled and loaded.",
    lists: &[
        layout::across::BUILTINS,
        layout::record::BUILTINS,
        layout::bundles::BUILTINS,
        layout::loads::BUILTINS,
    ],
};
