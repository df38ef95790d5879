//! What an interrupt does: temporary files go, and the program ends; a batch finishes first.

use std::sync::atomic::{AtomicBool, AtomicU8, Ordering};

use crate::workbook;

/// A batch asks to finish the files in hand.
static FINISHES: AtomicBool = AtomicBool::new(false);
/// An interrupt has come.
static CAME: AtomicBool = AtomicBool::new(false);
/// The exit code of an interrupted program.
static CODE: AtomicU8 = AtomicU8::new(2);

/// From now on an interrupt or a request to end removes temporary files and ends the program.
pub fn install() {
    #[cfg(unix)]
    {
        use signal_hook::consts::{SIGINT, SIGTERM};
        if let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGINT, SIGTERM]) {
            // Where the machine gives no thread, the signals end the program as they come.
            let listen = move || signals.forever().for_each(|_| came());
            let _ = std::thread::Builder::new().spawn(listen);
        }
    }
    #[cfg(windows)]
    {
        let _ = ctrlc::set_handler(came);
    }
}

fn came() {
    let again = CAME.swap(true, Ordering::SeqCst);
    if FINISHES.load(Ordering::SeqCst) && !again {
        return;
    }
    workbook::abandon();
    std::process::exit(CODE.load(Ordering::SeqCst).into());
}

/// From now on an interrupt ends the program well: waiting for one is all it does.
pub fn is_the_usual_end() {
    CODE.store(0, Ordering::SeqCst);
}

/// From now on the first interrupt only makes [`came_yet`] true; the second ends the program.
pub fn finish_first() {
    FINISHES.store(true, Ordering::SeqCst);
}

/// Whether an interrupt has come.
pub fn came_yet() -> bool {
    CAME.load(Ordering::SeqCst)
}
