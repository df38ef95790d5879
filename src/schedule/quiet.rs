//! Keeps a fault inside a file reader from ending the program: it becomes a sentence.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    static QUIET: Cell<bool> = const { Cell::new(false) };
}

/// Runs the work of a file reader; `None` where the reader broke down over what it read. A fault
/// inside [`ours`] is not the reader's and goes on its way.
pub fn quietly<T>(work: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = take_hook();
        set_hook(Box::new(move |report| {
            if !QUIET.with(Cell::get) {
                usual(report);
            }
        }));
    });
    let before = QUIET.with(|quiet| quiet.replace(true));
    let result = catch_unwind(AssertUnwindSafe(work));
    let is_readers = QUIET.with(|quiet| quiet.replace(before));
    match result {
        Ok(value) => Some(value),
        Err(_) if is_readers => None,
        Err(fault) => resume_unwind(fault),
    }
}

/// Runs our own work in the midst of a file reader's.
pub fn ours<T>(work: impl FnOnce() -> T) -> T {
    let before = QUIET.with(|quiet| quiet.replace(false));
    let value = work();
    QUIET.with(|quiet| quiet.set(before));
    value
}
