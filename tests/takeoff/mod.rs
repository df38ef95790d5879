//! The main job, from a schedule to its tables, against figures worked by hand.

mod accessories;
mod cautions;
mod lifts;
mod order;
mod outlines;
mod overrides;
mod pours;
mod strip;
mod under_concrete;
