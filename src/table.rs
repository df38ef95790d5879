//! What a run gives: tables with their cells, the rules in force, the findings. Plain data between
//! the rules that make it and the writers that show it.

use std::borrow::Cow;
use std::sync::Arc;

use serde::Serialize;

use crate::cells::{Cells, Row};
use crate::finding::{Finding, Place, Severity};
use crate::picture::Picture;
use crate::value::{Record, Value};

/// A column of an output table.
#[derive(Clone, Debug, Serialize)]
pub struct Column {
    /// The name by which scripts read it: `deck_lb`.
    pub key: Arc<str>,
    /// `Deck weight`.
    pub heading: Arc<str>,
    /// `lb`, `ft`, `ft2`, `yd3`, `count`, `text`, `date`, `ft-in` (text), `%` …
    pub unit: Arc<str>,
    /// Its sum stands below the table.
    pub total: bool,
    /// A note on the heading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<Arc<str>>,
    /// A number format of its own in place of the unit's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub format: Option<Arc<str>>,
    /// Not shown; readable from scripts. It may hold lists and records.
    pub hidden: bool,
    /// Where the column is defined.
    pub origin: Place,
}

impl Column {
    /// A column of the program's own: shown as its unit is, defined by no script.
    pub(crate) fn made(key: &str, heading: &str, unit: &str, by: &str) -> Column {
        Column {
            key: Arc::from(key),
            heading: Arc::from(heading),
            unit: Arc::from(unit),
            total: false,
            note: None,
            format: None,
            hidden: false,
            origin: Place::File(Arc::from(by)),
        }
    }
}

/// A finished table.
#[derive(Clone, Debug)]
pub struct Table {
    pub key: Arc<str>,
    pub title: Arc<str>,
    pub columns: Vec<Column>,
    /// Of all columns, hidden ones included.
    pub cells: Cells,
    pub rows: usize,
}

impl Table {
    /// The cells of a row, one a column.
    #[must_use]
    pub fn row(&self, row: usize) -> Row<'_> {
        self.cells.row(row)
    }

    /// A cell; blank where there is none.
    #[must_use]
    pub fn cell(&self, row: usize, column: usize) -> Cow<'_, Value> {
        self.cells.get(row, column).unwrap_or_default()
    }

    /// The position of a column.
    #[must_use]
    pub fn column(&self, key: &str) -> Option<usize> {
        self.columns.iter().position(|column| &*column.key == key)
    }

    /// The sum of a column's numbers, in row order; blank and text cells count nothing; `None`
    /// where a cell is an error.
    #[must_use]
    pub fn total(&self, column: usize) -> Option<f64> {
        let mut sum = 0.0;
        for stretch in self.cells.column(column) {
            for value in (0..stretch.len()).filter_map(|at| stretch.get(at)) {
                match &*value {
                    Value::Error(_) => return None,
                    value => sum += value.as_number().unwrap_or(0.0),
                }
            }
        }
        Some(sum)
    }
}

/// A rule, column or table in force, and where it came from.
#[derive(Clone, Debug, Serialize)]
pub struct InForce {
    /// `rule`, `column`, `table`, `check`.
    pub kind: &'static str,
    /// `end_lap_in(deck)`, `takeoff.deck_lb`.
    pub name: String,
    /// The expression or body, on one line.
    pub text: String,
    /// `bundled`, `shop` or `schedule`.
    pub from: &'static str,
    /// `rules.rhai:12`, `Rules!B3`.
    pub place: String,
    /// The first eight hexadecimal digits of the text's SHA-256.
    pub hash: String,
    /// What the doc comment says.
    pub about: String,
}

/// A chart of one column of a table over another; rows of the same category are added up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Chart {
    pub title: Arc<str>,
    /// The table's key.
    pub table: Arc<str>,
    /// The key of the column that names the bars: `day`, `level`.
    pub category: Arc<str>,
    /// The key of the column that gives their heights.
    pub value: Arc<str>,
}

/// A level's plan.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelPlan {
    pub level: Arc<str>,
    /// Levels alike have one picture.
    pub picture: Arc<Picture>,
}

impl LevelPlan {
    /// `plan of level 2`, `plan of Roof`.
    #[must_use]
    pub fn title(&self) -> String {
        const SHORT: usize = 3;
        let bare = self.level.starts_with(|first: char| first.is_ascii_digit());
        let word = if bare || self.level.chars().count() <= SHORT { "level " } else { "" };
        format!("plan of {word}{}", self.level)
    }
}

/// All that a run gives.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// The Job sheet's entries, for the title block: heading and value in the sheet's order.
    pub head: Record,
    /// The schedule's file name and content hash.
    pub schedule: String,
    pub schedule_hash: String,
    pub tables: Vec<Arc<Table>>,
    /// Drawn on a sheet of their own, in order.
    pub charts: Vec<Chart>,
    /// The levels as drawn, where they are to be.
    pub plans: Vec<LevelPlan>,
    pub in_force: Arc<[InForce]>,
    /// Gathered, errors first.
    pub findings: Vec<Finding>,
}

impl Report {
    /// Whether a finding is an error: the workbook is then marked incomplete.
    #[must_use]
    pub fn is_incomplete(&self) -> bool {
        self.errors() > 0
    }

    /// How many of the findings are errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.findings.iter().filter(|finding| finding.severity == Severity::Error).count()
    }

    #[must_use]
    pub fn table(&self, key: &str) -> Option<&Table> {
        self.tables.iter().find(|table| &*table.key == key).map(|table| &**table)
    }

    /// The rows of the Summary table: figure, value, unit.
    #[must_use]
    pub fn figures(&self) -> Vec<[Value; 3]> {
        let Some(table) = self.table("summary") else { return Vec::new() };
        let [Some(figure), Some(value), Some(unit)] =
            ["figure", "value", "unit"].map(|column| table.column(column))
        else {
            return Vec::new();
        };
        let row = |row| [figure, value, unit].map(|at| table.cell(row, at).into_owned());
        (0..table.rows).map(row).collect()
    }
}

/// The caution that every workbook and the README carry.
pub const CAUTION: &str = "This takeoff counts what the schedule says. It is not a design and not \
an approval. Deck type, gauge, spans, shoring, slab, reinforcement, attachment, fire rating and loads \
on the finished slab are the engineer of record's; local codes, the supplier's published values and \
licensed practice govern. Panels over-spanned under wet concrete can collapse and kill: every warning \
is a question to the engineer of record before ordering, erecting or placing. Check counts and lengths \
against the drawings before an order is placed.";
