//! The program as its users run it.

mod bad_input;
mod compare;
mod form;
mod interrupt;
mod json;
mod new;
mod same_bytes;
mod spans;
mod watch;
