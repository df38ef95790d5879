//! The one integration test binary: a module a subject.

mod calendar;
mod catalogue;
mod cli;
mod concrete;
mod cut;
mod deck;
mod drawing;
mod host;
mod layout;
mod length;
mod project;
mod report;
mod schedule;
mod support;
mod takeoff;
mod weight;
mod workbook;
