//! Deck panels: layout, sections, spans, accessories.

use crate::builtin::Room;

pub mod accessories;
pub mod beam;
pub mod section;
pub mod slab;
pub mod stage;

/// The built-ins that scripts call as `deck::…`.
pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: layout, sections, spans under wet concrete, composite slab, accessories.",
    lists: &[
        section::BUILTINS,
        beam::BUILTINS,
        stage::BUILTINS,
        slab::composite::BUILTINS,
        slab::point_load::BUILTINS,
        accessories::edge_form::BUILTINS,
        accessories::fasteners::BUILTINS,
        accessories::studs::BUILTINS,
    ],
};
