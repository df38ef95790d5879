//! Many schedules at once.

#[cfg(unix)]
mod cluster;
mod forms;
mod lists;
mod program;
#[cfg(unix)]
mod stopped;
