//! The one integration test binary: a module a subject.

mod layout;
mod catalogue;
mod cli;
mod length;
mod calendar;
mod concrete;
mod deck;
mod weight;
mod workbook;
mod cut;
mod host;
mod project;
mod release;
mod schedule;
mod support;
mod takeoff;
