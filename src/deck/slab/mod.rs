//! The composite slab, for information only.

pub mod composite;
pub mod point_load;
