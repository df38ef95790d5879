//! Deck panels: layout, sections, spans, accessories.

pub mod accessories;
pub mod beam;
pub mod layout;
pub mod section;
pub mod slab;
pub mod stage;

use crate::builtin::Room;

/// The built-ins that scripts call as `deck::…`.
pub const ROOM: Room = Room {
    name: "deck",
    about: "Deck panels: layout, bundles, loads; sections, spans under wet concrete, composite slab, \
            accessories.",
    lists: &[
        layout::across::BUILTINS,
        layout::ends::BUILTINS,
        layout::record::BUILTINS,
        layout::shape_record::BUILTINS,
        layout::share::BUILTINS,
        layout::bundle_record::BUILTINS,
        layout::loads::BUILTINS,
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
