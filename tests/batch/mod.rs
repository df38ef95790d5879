//! Many schedules at once.

mod lists;
mod program;
#[cfg(unix)]
mod stopped;
