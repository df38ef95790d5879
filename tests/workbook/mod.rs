//! Workbooks written and read back.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

mod blank;
mod default_form;
mod demo;
mod fit;
mod form;
mod samples;
mod target;
mod write;
