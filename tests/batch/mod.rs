//! Many schedules at once.

mod forms;
mod lists;
mod program;
#[cfg(unix)]
mod stopped;
