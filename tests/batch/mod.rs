//! Many schedules at once.

#[cfg(unix)]
mod cluster;
mod forms;
mod lists;
mod program;
#[cfg(unix)]
mod stopped;

use serde_json::Value;

use crate::support::program::{Desk, Outcome};

#[track_caller]
fn ended(outcome: &Outcome, code: i32) {
    assert_eq!(outcome.code, Some(code), "{outcome:?}");
}

fn summary(desk: &Desk, folder: &str) -> Value {
    serde_json::from_slice(&desk.read(&format!("{folder}/batch-summary.json"))).unwrap()
}
