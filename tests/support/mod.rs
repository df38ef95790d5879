//! What several test modules use.

pub mod mutate;
pub mod program;
pub mod report;
pub mod schedule_builder;
