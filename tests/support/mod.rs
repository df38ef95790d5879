//! What several test modules use.

pub mod program;
pub mod schedule_builder;
