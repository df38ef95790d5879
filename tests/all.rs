//! The one integration test binary: a module a subject.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly"
)]

mod batch;
mod calendar;
mod catalogue;
mod cli;
mod concrete;
mod cut;
mod deck;
mod drawing;
mod fuzz;
mod host;
mod layout;
mod length;
mod project;
mod quote;
mod release;
mod report;
mod schedule;
mod supply;
mod support;
mod takeoff;
mod weight;
mod workbook;
