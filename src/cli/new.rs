//! `new`: a starter folder.

use std::path::PathBuf;

use clap::Args;

use super::say::Say;
use super::{Common, End};

/// Writes a starter folder: a blank schedule, a shop with rules to edit.
#[derive(Args)]
pub struct New {
    /// The folder to make; it must not exist, or be empty
    folder: PathBuf,
}

impl New {
    pub fn run(&self, _: &Common, say: &Say) -> End {
        say.line(&self.folder.display().to_string());
        End::Failed
    }
}
