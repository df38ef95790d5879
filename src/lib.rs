//! `baytally` turns an estimator's steel-deck bay schedule into a takeoff, order lines and a pour
//! schedule, by rules that the shop edits.
//!
//! The modules stand in reading order, from the ground up; each may use those above it in this
//! list that stand on a lower floor (DEVELOPERS.md has the table, a test holds it).

#![forbid(unsafe_code)]

pub mod finding;
pub mod length;
#[macro_use]
pub mod value;
pub mod record;

#[macro_use]
pub mod builtin;
#[macro_use]
pub mod fields;
pub mod arguments;
pub mod cells;
pub mod parallel;
pub mod picture;
pub mod text;

pub mod calendar;
pub mod concrete;
pub mod cut;
pub mod deck;
pub mod drawing;
pub mod weight;

pub mod catalogue;
pub mod job;
pub mod table;

pub mod plans;
pub mod rules;
pub mod workbook;

pub mod batch;
pub mod report;

pub mod cli;
pub mod schedule;
