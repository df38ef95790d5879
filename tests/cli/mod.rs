//! The program as its users run it.

mod bad_input;
mod same_bytes;
