//! Many schedules at once.
//!
//! In: paths, a folder for the outputs, and a command that starts a worker. Out: an output a
//! schedule, a row a schedule in a summary, and a journal by which a later run goes on. Each
//! worker is a process of its own: what ends it ends one file. What a worker does with a file is
//! the command line's to say.

mod journal;
mod names;
mod paths;
mod pool;
mod row;
mod shard;
mod summary;

pub use journal::{Entry, Journal, Known};
pub use names::{Names, output_names, safe_names};
pub use paths::{Found, expand};
pub use pool::{Ended, Task, run};
pub use row::{Reply, Row, Status};
pub use shard::Shard;
pub use summary::{Summary, merged};

use sha2::{Digest, Sha256};

/// The SHA-256 of bytes as hexadecimal digits.
#[must_use]
pub fn hash(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
