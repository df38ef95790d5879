//! Lines of text between the rows of Bays, and what became of the rows below them.

use std::sync::Arc;

use super::headings::squeeze;
use super::levels::{Line, line};
use super::log::Log;
use super::said::Said;
use crate::finding::{Finding, Place};

/// A line that may concern the rows below it.
struct Asked {
    row: u32,
    text: String,
    /// What it says; `None` where no one knows.
    said: Option<Said>,
    /// The level of the first row below it that stands in question.
    level: Option<Arc<str>>,
}

/// The lines of one table.
#[derive(Default)]
pub struct Lines {
    /// Those that name a level, and the level.
    levels: Vec<(u32, String)>,
    /// The last one that is not understood or says how rows are counted.
    open: Option<Asked>,
    asked: Vec<Asked>,
    /// The line before named a level.
    is_named: bool,
}

impl Lines {
    /// Takes a line that names no level.
    pub fn take(&mut self, row: u32, text: &str) {
        let said = match line(text) {
            Line::Level(_, said) => said,
            Line::Said(said) => Some(said),
            Line::Unknown | Line::Height => None,
            Line::Base => {
                self.open = None;
                return;
            }
            Line::Note => return,
        };
        self.open = Some(Asked { row, text: text.to_owned(), said, level: None });
    }

    /// Takes a line that names the level of the rows below it.
    pub fn level(&mut self, row: u32, text: &str, level: String) {
        self.open = match line(text) {
            Line::Level(_, Some(said)) => {
                Some(Asked { row, text: text.to_owned(), said: Some(said), level: None })
            }
            _ => None,
        };
        self.levels.push((row, level));
        self.is_named = true;
    }

    /// Whether a height stands below the line that names a level.
    pub fn is_named(&self) -> bool {
        self.is_named
    }

    /// A row is taken: `level` where it states none itself; settled, where it says itself how it is
    /// counted.
    pub fn row(
        &mut self,
        level: impl FnOnce() -> Option<Arc<str>>,
        is_settled: impl FnOnce() -> bool,
    ) {
        self.is_named = false;
        let Some(mut open) = self.open.take() else { return };
        match open.said {
            Some(_) if is_settled() => self.open = Some(open),
            Some(_) => self.asked.push(open),
            None => {
                if let Some(level) = level() {
                    open.level = Some(level);
                    self.asked.push(open);
                }
            }
        }
    }

    /// Says what the lines were read as.
    pub fn say(&self, sheet: &Arc<str>, log: &mut Log) {
        const LISTED: usize = 12;
        let place = |row: u32| Place::Row { sheet: sheet.clone(), row };
        for asked in &self.asked {
            log.push(asked.finding().at(place(asked.row)));
        }
        let Some(last) = self.levels.len().checked_sub(1) else { return };
        let mut names: Vec<String> =
            self.levels.iter().take(LISTED).map(|(_, level)| format!("`{level}`")).collect();
        if last >= LISTED {
            names.push(format!("{} more", last + 1 - LISTED));
        }
        let message = format!("lines name the level of the rows below them: {}", names.join(", "));
        let mut finding = Finding::note("level-from-line", message);
        finding.places = self.levels.iter().map(|(row, _)| place(*row)).collect();
        log.push(finding);
    }
}

impl Asked {
    fn finding(&self) -> Finding {
        let text = &self.text;
        if let Some(said) = self.said {
            let message = format!("the line `{text}` is above bays that are {}", said.but());
            return Finding::warning(said.code(), message)
                .hint(format!("a line counts for no row: {}, in each row below it", said.hint()));
        }
        let level = self.level.as_deref().unwrap_or_default();
        let message = format!(
            "the line `{text}` is not read as a level's name: the rows below it are on level `{level}`"
        );
        let finding = Finding::warning("line-not-read", message);
        let word = squeeze(text);
        if ["seq", "zone", "area", "pour"].iter().any(|begin| word.starts_with(begin)) {
            return finding.hint("state it in each row below it, in a column of its own");
        }
        finding.hint(
            "where it names one, write `LEVEL` before it, or fill Level in the rows below it; where it \
             is a note, begin it with `Note:`",
        )
    }
}
