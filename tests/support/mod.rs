//! What several test modules use.

pub mod report;
pub mod program;
pub mod schedule_builder;
