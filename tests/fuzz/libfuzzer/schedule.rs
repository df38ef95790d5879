#![no_main]

#[path = "../targets.rs"]
#[allow(dead_code, reason = "the other targets have programs of their own")]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::schedule(bytes));
