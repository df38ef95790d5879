//! Laying out deck: where a run of spans is cut into panels, how many lines of panels a width
//! takes, what a strip, a bay of any outline or a bay with openings needs, and how the panels are
//! bundled and loaded.
//!
//! Everything is counted, cut and compared on exact lengths. In: spans, widths, outlines and the
//! shop's limits. Out: panels with counts and order lengths.

pub mod ends;

pub mod along;
mod lengths;
mod measured;
mod own_cut;

pub mod across;

pub mod blocks;
pub mod plan;

pub mod outline;

pub mod openings;

mod lines;
pub mod shape;

pub mod bundles;

pub mod loads;

pub mod choices;

pub mod bundle_record;
pub mod record;
pub mod shape_record;
pub mod share;
