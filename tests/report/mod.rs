//! Differences between revisions, and reports for other programs.

mod compare;
mod tables;
