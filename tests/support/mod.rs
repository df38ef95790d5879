//! What several test modules use.

pub mod schedule_builder;
