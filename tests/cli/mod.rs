//! The program as its users run it.

mod bad_input;
mod new;
mod same_bytes;
