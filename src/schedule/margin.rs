//! Cells that stand in the rows of a table but under none of its headings.

use std::sync::Arc;

use super::grid::Cell;
use super::log::{Log, cell};
use super::said::{self, Said};
use crate::finding::Finding;

/// So many of them are listed.
const MOST_LISTED: usize = 1_000;

/// Sheets whose rows are counted.
const COUNTED: [&str; 5] = ["bays", "openings", "edges", "extra_concrete", "pieces"];

/// The columns that no heading names, and what stood in them.
pub struct Margin {
    /// The sheet's key.
    key: &'static str,
    /// Columns between the headings, from 0.
    gaps: Vec<u32>,
    /// The first column behind the headings.
    behind: u32,
    /// The first column of another table beside this one.
    end: u32,
    found: Vec<(u32, u32, String)>,
}

impl Margin {
    /// Of headings in these columns, in order.
    pub fn new(key: &'static str, headings: impl Iterator<Item = u32>, end: Option<u32>) -> Margin {
        let headed: Vec<u32> = headings.collect();
        let behind = headed.last().map_or(0, |last| last + 1);
        let gaps = (0..behind).filter(|column| !headed.contains(column)).collect();
        Margin { key, gaps, behind, end: end.unwrap_or(u32::MAX), found: Vec::new() }
    }

    /// Looks at a row that is taken; settled, where it says itself whether it is counted, and how often.
    pub fn row(
        &mut self,
        sheet: &Arc<str>,
        row: u32,
        cells: &[Cell<'_>],
        is_settled: impl Fn(Said) -> bool,
        log: &mut Log,
    ) {
        let width = u32::try_from(cells.len()).unwrap_or(u32::MAX).min(self.end);
        let is_counted = COUNTED.contains(&self.key);
        let columns = self.gaps.iter().copied().chain(self.behind..width);
        for column in columns {
            let Some(found) = cells.get(column as usize).filter(|cell| !cell.is_blank()) else {
                continue;
            };
            let said = found.text().filter(|_| is_counted).and_then(said::note);
            let said = said.filter(|said| !is_settled(*said));
            if let Some(said) = said {
                let message = format!(
                    "`{}` stands under no heading, and its row is {}",
                    found.shown(),
                    said.but()
                );
                log.push(
                    Finding::warning(said.code(), message)
                        .at(cell(sheet, row, column))
                        .hint(self.hint(said)),
                );
            } else if self.found.len() < MOST_LISTED {
                self.found.push((row, column, found.shown()));
            }
        }
    }

    fn hint(&self, said: Said) -> &'static str {
        match said {
            _ if self.key == "bays" => said.hint(),
            Said::Several => "give each a row of its own",
            _ => "delete the row where it is not to be counted",
        }
    }

    /// Says which cells were not read.
    pub fn say(&self, sheet: &Arc<str>, log: &mut Log) {
        const QUOTED: usize = 4;
        const LONGEST: usize = 30;
        if self.found.is_empty() {
            return;
        }
        let quoted = self.found.iter().take(QUOTED).map(|(_, _, text)| {
            match text.char_indices().nth(LONGEST) {
                Some((cut, _)) => format!("`{}…`", &text[..cut]),
                None => format!("`{text}`"),
            }
        });
        let mut quoted: Vec<String> = quoted.collect();
        if self.found.len() > QUOTED {
            quoted.push("…".to_owned());
        }
        let message = format!("cells under no heading are not read: {}", quoted.join(", "));
        let mut finding = Finding::note("cells-not-read", message);
        finding.places =
            self.found.iter().map(|(row, column, _)| cell(sheet, *row, *column)).collect();
        log.push(finding.hint("give the column a heading where it belongs to the schedule"));
    }
}
