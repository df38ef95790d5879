//! What goes with deck: edge form, fasteners, studs, closures.

pub mod edge_form;
pub mod fasteners;
pub mod studs;
