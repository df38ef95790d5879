//! Workbooks written and read back.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

mod blank;
mod demo;
mod samples;
mod target;
mod write;
