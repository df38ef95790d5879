//! Reports for other programs and for the terminal, and what changed between two of them.
//!
//! In: the tables of a run, or of an output workbook read back. Out: JSON, CSV, lines of text,
//! differences. Nothing here reads or writes a file.

mod compare;
mod csv;
mod difference;
mod figure;
mod json;
mod reread;
mod revision;
mod terminal;

pub use compare::{RuleHash, Subject, changed_rules, compare, moved_marks};
pub use csv::{PACKAGE, csv_files};
pub use difference::{Change, Difference, Line, What};
pub use json::{SCHEMA_VERSION, tables_json};
pub use reread::{reread, rules_in_force, rules_of};
pub use revision::{Revision, lines, revision_json, revision_report};
pub use terminal::{summary_changes, summary_lines};
