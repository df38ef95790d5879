//! Plans: drawings of hand-made levels, of the examples, and of what no one would draw.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "helpers of tests fail like tests"
)]

mod any_input;
mod counts;
mod escaping;
mod golden;
mod levels;
mod lists;
mod marks;
mod program;
