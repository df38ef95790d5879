//! The findings of one reading, kept within bounds.

use std::sync::Arc;

use super::cells::Problem;
use crate::finding::{Finding, Place, Severity};

/// Findings beyond these are counted, not kept.
const MOST_FINDINGS: usize = 20_000;

#[derive(Default)]
pub struct Log {
    findings: Vec<Finding>,
    unkept: usize,
}

impl Log {
    pub fn push(&mut self, finding: Finding) {
        if self.findings.len() < MOST_FINDINGS {
            self.findings.push(finding);
        } else {
            self.unkept += 1;
        }
    }

    /// Whether something is said of a sheet.
    pub fn speaks_of(&self, sheet: &Arc<str>) -> bool {
        self.findings.iter().any(|finding| speaks_of(finding, sheet))
    }

    /// Takes over what another log holds.
    pub fn append(&mut self, other: Log) {
        self.unkept += other.unkept;
        for finding in other.findings {
            self.push(finding);
        }
    }

    pub fn problem(&mut self, problem: &Problem, place: Place) {
        let message = problem.message.as_str();
        let finding = match problem.severity {
            Severity::Error => Finding::error(problem.code, message),
            Severity::Warning => Finding::warning(problem.code, message),
            Severity::Note => Finding::note(problem.code, message),
        };
        let finding = match &problem.hint {
            Some(hint) => finding.hint(hint.clone()),
            None => finding,
        };
        self.push(finding.at(place));
    }

    pub fn finish(mut self) -> Vec<Finding> {
        if self.unkept > 0 {
            self.findings.push(Finding::error(
                "more-findings",
                format!("{} more findings are not listed", self.unkept),
            ));
        }
        crate::finding::gather(self.findings)
    }
}

/// Whether a finding is of a sheet.
pub fn speaks_of(finding: &Finding, name: &Arc<str>) -> bool {
    finding.places.iter().any(|place| match place {
        Place::Sheet(sheet) | Place::Cell { sheet, .. } | Place::Row { sheet, .. } => sheet == name,
        _ => false,
    })
}

/// The place of a cell.
pub fn cell(sheet: &Arc<str>, row: u32, column: u32) -> Place {
    Place::Cell { sheet: sheet.clone(), row, column }
}
