//! What changed in a table between two revisions.

use std::sync::Arc;

use crate::table::Column;
use crate::value::Value;

/// What became of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    Added,
    Removed,
    Changed,
}

impl What {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            What::Added => "added",
            What::Removed => "removed",
            What::Changed => "changed",
        }
    }

    /// `+`, `-` or `~`.
    #[must_use]
    pub fn sign(self) -> char {
        match self {
            What::Added => '+',
            What::Removed => '-',
            What::Changed => '~',
        }
    }
}

/// A figure before and after; blank where there was or is no such line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Change {
    pub old: Value,
    pub new: Value,
}

impl Change {
    /// By how much; `None` where either could not be computed.
    #[must_use]
    pub fn by(&self) -> Option<f64> {
        let number = |value: &Value| match value {
            Value::Error(_) => None,
            other => Some(other.as_number().unwrap_or(0.0)),
        };
        let (old, new) = (number(&self.old)?, number(&self.new)?);
        Some(if alike(old, new) { 0.0 } else { new - old })
    }

    /// The difference as a value.
    #[must_use]
    pub fn by_value(&self) -> Value {
        match (self.by(), &self.old, &self.new) {
            (None, ..) => Value::Error(Arc::from("not computed in one of the two")),
            (Some(by), Value::Count(_) | Value::Blank, Value::Count(_) | Value::Blank) =>
            {
                #[allow(clippy::cast_possible_truncation, reason = "a difference of counts")]
                Value::Count(by as i64)
            }
            (Some(by), ..) => Value::Number(by),
        }
    }

    /// Whether it is a change at all; what could not be computed counts as one.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.by() == Some(0.0)
    }
}

/// Equal but for the last digits of a sum.
fn alike(one: f64, other: f64) -> bool {
    const NEAR: f64 = 1e-9;
    (one - other).abs() <= NEAR * one.abs().max(other.abs())
}

/// A line that is not what it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub what: What,
    /// A value a key column.
    pub key: Vec<Value>,
    /// A change a figure column.
    pub figures: Vec<Change>,
    /// Words that changed: position among the word columns, and the words.
    pub words: Vec<(usize, Change)>,
}

/// How a table differs.
#[derive(Clone, Debug)]
pub struct Difference {
    pub table: Arc<str>,
    pub title: Arc<str>,
    pub keys: Vec<Column>,
    pub figures: Vec<Column>,
    pub words: Vec<Column>,
    /// Changed and added in the new order, then removed in the old.
    pub lines: Vec<Line>,
    /// Lines that are as they were.
    pub same: usize,
    /// The totals of all lines, a change a figure column.
    pub totals: Vec<Change>,
}

impl Difference {
    #[must_use]
    pub fn count(&self, what: What) -> usize {
        self.lines.iter().filter(|line| line.what == what).count()
    }
}
