//! What the checks want read: findings, each with a severity, a stable code, a place, a message
//! and hints. Equal findings are gathered into one with all their places.

use std::fmt;
use std::sync::Arc;

use indexmap::{IndexMap, IndexSet};
use serde::Serialize;

/// How much a finding weighs. An error makes the run incomplete (exit 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    Error,
    Warning,
    Note,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        })
    }
}

/// Where a finding points.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// A cell of the schedule workbook; row and column count from 0.
    Cell { sheet: Arc<str>, row: u32, column: u32 },
    /// A row of a sheet of the schedule, from 0.
    Row { sheet: Arc<str>, row: u32 },
    /// A sheet of the schedule.
    Sheet(Arc<str>),
    /// A line and column of a script, from 1 (0: unknown).
    Script { file: Arc<str>, line: u32, column: u32 },
    /// A cell of an output table: table key, row from 0, column key; what the row is about, where
    /// that is known (`bay 2/A1`).
    Table { table: Arc<str>, row: u32, column: Arc<str>, about: Arc<str> },
    /// A file.
    File(Arc<str>),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::Cell { sheet, row, column } => {
                write!(f, "{sheet}!{}{}", column_letters(*column), row + 1)
            }
            Place::Row { sheet, row } => write!(f, "{sheet}!{}:{}", row + 1, row + 1),
            Place::Sheet(sheet) => write!(f, "{sheet}"),
            Place::Script { file, line: 0, .. } => write!(f, "{file}"),
            Place::Script { file, line, column: 0 } => write!(f, "{file}:{line}"),
            Place::Script { file, line, column } => write!(f, "{file}:{line}:{column}"),
            Place::Table { table, row, column, about } => {
                write!(f, "{table} row {}", row + 1)?;
                if !about.is_empty() {
                    write!(f, " ({about})")?;
                }
                if column.is_empty() { Ok(()) } else { write!(f, " {column}") }
            }
            Place::File(file) => write!(f, "{file}"),
        }
    }
}

impl Serialize for Place {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The letters of a worksheet column counted from 0: `A`, `Z`, `AA`.
#[must_use]
pub fn column_letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        let digit = u8::try_from((rest - 1) % 26).unwrap_or(0);
        letters.push(char::from(b'A' + digit));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// Something the checks want read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    pub severity: Severity,
    /// A stable name in plain words: `slab-too-thin`.
    pub code: Arc<str>,
    /// What was found and what was wanted.
    pub message: String,
    /// Where; equal findings are gathered and list all their places.
    pub places: Vec<Place>,
    /// What to do about it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hints: Vec<String>,
    /// An excerpt of the script with the place marked, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub excerpt: Option<String>,
}

impl Finding {
    fn new(severity: Severity, code: impl Into<Arc<str>>, message: impl Into<String>) -> Finding {
        Finding {
            severity,
            code: code.into(),
            message: message.into(),
            places: Vec::new(),
            hints: Vec::new(),
            excerpt: None,
        }
    }

    #[must_use]
    pub fn error(code: impl Into<Arc<str>>, message: impl Into<String>) -> Finding {
        Finding::new(Severity::Error, code, message)
    }

    #[must_use]
    pub fn warning(code: impl Into<Arc<str>>, message: impl Into<String>) -> Finding {
        Finding::new(Severity::Warning, code, message)
    }

    #[must_use]
    pub fn note(code: impl Into<Arc<str>>, message: impl Into<String>) -> Finding {
        Finding::new(Severity::Note, code, message)
    }

    /// With one more place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Finding {
        self.places.push(place);
        self
    }

    /// With one more hint.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Finding {
        self.hints.push(hint.into());
        self
    }

    /// With a script excerpt.
    #[must_use]
    pub fn excerpt(mut self, excerpt: String) -> Finding {
        self.excerpt = Some(excerpt);
        self
    }
}

/// `Bays!E14: error[bad-length]: found … `, then `and also at …`, the excerpt and the hints, a line
/// each.
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const SHOWN: usize = 4;
        if let Some(place) = self.places.first() {
            write!(f, "{place}: ")?;
        }
        write!(f, "{}[{}]: {}", self.severity, self.code, self.message)?;
        if let Some(excerpt) = &self.excerpt {
            write!(f, "\n{}", excerpt.trim_end())?;
        }
        if self.places.len() > 1 {
            let also = &self.places[1..];
            let shown: Vec<String> = also.iter().take(SHOWN).map(ToString::to_string).collect();
            let tables = also.iter().all(|place| matches!(place, Place::Table { .. }));
            write!(f, "\n  {} {}", if tables { "in" } else { "also at" }, shown.join(", "))?;
            if also.len() > SHOWN {
                write!(f, " and {} more", also.len() - SHOWN)?;
            }
        }
        for hint in &self.hints {
            write!(f, "\n  hint: {hint}")?;
        }
        Ok(())
    }
}

/// Gathers findings that say the same into one with all their places, errors first, else in the
/// order in which they were first found.
#[must_use]
pub fn gather(findings: Vec<Finding>) -> Vec<Finding> {
    type Key = (Severity, Arc<str>, String, Vec<String>, Option<String>);
    let mut gathered: IndexMap<Key, Gathered> = IndexMap::new();
    for mut finding in findings {
        let key = (
            finding.severity,
            finding.code.clone(),
            finding.message.clone(),
            finding.hints.clone(),
            finding.excerpt.clone(),
        );
        let places = std::mem::take(&mut finding.places);
        gathered
            .entry(key)
            .or_insert_with(|| Gathered { finding, places: IndexSet::new() })
            .places
            .extend(places);
    }
    let mut findings: Vec<Finding> = gathered
        .into_values()
        .map(|Gathered { finding, places }| Finding {
            places: places.into_iter().collect(),
            ..finding
        })
        .collect();
    findings.sort_by_key(|finding| finding.severity);
    findings
}

struct Gathered {
    finding: Finding,
    places: IndexSet<Place>,
}
