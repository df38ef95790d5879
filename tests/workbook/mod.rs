//! Workbooks written and read back.

mod demo;
mod target;
mod write;
