//! The program as its users run it.

mod bad_input;
mod compare;
mod form;
mod hostile_text;
mod interrupt;
mod json;
mod new;
mod reading;
mod same_bytes;
mod spans;
mod watch;
