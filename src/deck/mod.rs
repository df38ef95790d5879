//! Deck panels: layout, sections, spans, accessories.

pub mod beam;
pub mod layout;

use crate::builtin::Room;

/// The built-ins that scripts call as `deck::…`.
pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: layout, bundles and loads; sections, spans under wet concrete, accessories.",
    lists: &[
        layout::across::BUILTINS,
        layout::record::BUILTINS,
        layout::shape_record::BUILTINS,
        layout::share::BUILTINS,
        layout::bundle_record::BUILTINS,
        layout::loads::BUILTINS,
        beam::BUILTINS,
    ],
};
