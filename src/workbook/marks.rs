//! Which rows and cells of a table the findings point to, and how heavily.

use std::collections::BTreeMap;

use crate::finding::{Finding, Place, Severity};
use crate::table::Table;
use crate::value::Value;

use super::style::Ground;

/// What the findings say of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Mark {
    /// The weightiest.
    pub severity: Severity,
    pub findings: usize,
    /// The position of the first in the list of findings, where there is one.
    pub first: Option<usize>,
    /// Columns of the table with the weightiest finding on each.
    cells: Vec<(usize, Severity)>,
}

impl Mark {
    /// The word that stands with the colour: `warning`, `error (3)`.
    pub(super) fn word(&self) -> String {
        if self.findings > 1 {
            format!("{} ({})", self.severity, self.findings)
        } else {
            self.severity.to_string()
        }
    }

    /// What stands behind the cell of a column of the table.
    pub(super) fn ground(&self, column: usize) -> Ground {
        self.cells
            .iter()
            .find(|(marked, _)| *marked == column)
            .map_or(Ground::Row(self.severity), |(_, severity)| Ground::Cell(*severity))
    }

    fn add(&mut self, severity: Severity, column: Option<usize>) {
        self.severity = self.severity.min(severity);
        let Some(column) = column else { return };
        match self.cells.iter_mut().find(|(marked, _)| *marked == column) {
            Some((_, marked)) => *marked = severity.min(*marked),
            None => self.cells.push((column, severity)),
        }
    }
}

/// The marked rows of a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Marks(BTreeMap<usize, Mark>);

impl Marks {
    /// From the findings in the order of the Checks sheet, and from the cells that hold errors.
    pub(super) fn of(table: &Table, findings: &[Finding]) -> Marks {
        let mut marks = Marks::default();
        for (position, finding) in findings.iter().enumerate() {
            let mut last = None;
            for place in &finding.places {
                let Place::Table { table: key, row, column, .. } = place else { continue };
                let Ok(row) = usize::try_from(*row) else { continue };
                if *key != table.key || row >= table.rows {
                    continue;
                }
                let mark = marks.row(row, finding.severity);
                // A finding with several cells in one row counts once there.
                if last != Some(row) {
                    mark.findings += 1;
                    mark.first.get_or_insert(position);
                }
                mark.add(finding.severity, table.column(column));
                last = Some(row);
            }
        }
        for (row, column) in table.cells.places(|value| matches!(value, Value::Error(_))) {
            if table.columns.get(column).is_some_and(|column| !column.hidden) {
                let mark = marks.row(row, Severity::Error);
                mark.findings = mark.findings.max(1);
                mark.add(Severity::Error, Some(column));
            }
        }
        marks
    }

    fn row(&mut self, row: usize, severity: Severity) -> &mut Mark {
        self.0.entry(row).or_insert(Mark { severity, findings: 0, first: None, cells: Vec::new() })
    }

    pub(super) fn get(&self, row: usize) -> Option<&Mark> {
        self.0.get(&row)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
