//! The main job, from a schedule to its tables, against figures worked by hand.

mod order;
mod outlines;
mod overrides;
mod strip;
