//! What several test modules use.

pub mod report;
pub mod schedule_builder;
