//! What is wrong with a form, or with filling it.

use std::fmt;

use crate::finding::{Finding, Place};

use super::refs::At;

/// A cell of the form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormCell {
    pub sheet: String,
    pub(super) at: At,
}

impl fmt::Display for FormCell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}!{}", self.sheet, self.at)
    }
}

impl FormCell {
    pub(super) fn new(sheet: &str, at: At) -> FormCell {
        FormCell { sheet: sheet.to_string(), at }
    }

    fn place(&self) -> Place {
        Place::Cell {
            sheet: self.sheet.as_str().into(),
            row: self.at.row.saturating_sub(1),
            column: self.at.column.saturating_sub(1),
        }
    }
}

/// Why a form can not be used or filled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FormError {
    /// No xlsx or xlsm workbook.
    NoWorkbook { why: String },
    /// Behind a password, or of the old binary format.
    Encrypted,
    /// Filling it would break the signature.
    Signed,
    /// A part that is not as the format wants it.
    Damaged { part: String, why: String },
    /// A part larger than any form's.
    TooLarge { part: String },
    /// No placeholder anywhere.
    NothingToFill,
    /// Placeholders of lines in two rows.
    TwoRows { first: FormCell, second: FormCell },
    /// A merged range of several rows over the row of the lines.
    MergedLines { cell: FormCell, range: String },
    /// A pivot table that counts the lines or would have to move.
    Pivot { part: String },
    /// A placeholder that nothing is known for.
    Unknown { cell: FormCell, name: String, near: Option<String> },
    /// A value that could not be computed; the cell says so, and the form is filled.
    ErrorValue { cell: FormCell, name: String, message: String },
    /// A list or a record, which no cell can hold.
    NoPlainValue { cell: FormCell, name: String },
    /// Lines, and no row for them.
    NoLineRow { lines: usize },
    /// More lines than a sheet has rows.
    NoRoom { cell: FormCell, lines: usize },
}

impl fmt::Display for FormError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use FormError as E;
        match self {
            E::NoWorkbook { why } => write!(f, "the form is no xlsx workbook: {why}"),
            E::Encrypted => f.write_str("the form is behind a password or of the old xls format"),
            E::Signed => {
                f.write_str("the form is signed, and filling it would break the signature")
            }
            E::Damaged { part, why } => write!(f, "the form's part `{part}` is damaged: {why}"),
            E::TooLarge { part } => write!(f, "the form's part `{part}` is too large for a form"),
            E::NothingToFill => f.write_str("the form has no placeholder such as {job}"),
            E::TwoRows { first, second } => write!(
                f,
                "the form has lines in two rows, at {first} and at {second}; one row repeats"
            ),
            E::MergedLines { cell, range } => {
                write!(f, "the row of the lines at {cell} is merged with others in {range}")
            }
            E::Pivot { part } => {
                write!(f, "the form's pivot table `{part}` would no longer fit the lines")
            }
            E::Unknown { cell, name, near } => {
                write!(f, "{cell}: nothing is known as {{{name}}}")?;
                match near {
                    Some(near) => write!(f, "; is {{{near}}} meant?"),
                    None => Ok(()),
                }
            }
            E::ErrorValue { cell, name, message } => {
                write!(f, "{cell}: {{{name}}} could not be computed: {message}")
            }
            E::NoPlainValue { cell, name } => {
                write!(f, "{cell}: {{{name}}} is a list or a record, which no cell can hold")
            }
            E::NoLineRow { lines } => {
                write!(f, "the form has no row with {{line.…}} for {lines} lines")
            }
            E::NoRoom { cell, lines } => {
                write!(f, "the sheet has no room for {lines} lines from {cell} on")
            }
        }
    }
}

impl std::error::Error for FormError {}

impl FormError {
    /// A stable name in plain words.
    #[must_use]
    pub fn code(&self) -> &'static str {
        use FormError as E;
        match self {
            E::NoWorkbook { .. } => "form-no-workbook",
            E::Encrypted => "form-encrypted",
            E::Signed => "form-signed",
            E::Damaged { .. } => "form-damaged",
            E::TooLarge { .. } => "form-too-large",
            E::NothingToFill => "form-nothing-to-fill",
            E::TwoRows { .. } => "form-two-rows",
            E::MergedLines { .. } => "form-merged-lines",
            E::Pivot { .. } => "form-pivot",
            E::Unknown { .. } => "form-unknown-placeholder",
            E::ErrorValue { .. } => "form-error-value",
            E::NoPlainValue { .. } => "form-no-plain-value",
            E::NoLineRow { .. } => "form-no-line-row",
            E::NoRoom { .. } => "form-no-room",
        }
    }

    /// As a finding, at the form's cell where there is one.
    #[must_use]
    pub fn finding(&self) -> Finding {
        use FormError as E;
        let said = self.to_string();
        let message = match self {
            // The place says it.
            E::Unknown { cell, .. } | E::ErrorValue { cell, .. } | E::NoPlainValue { cell, .. } => {
                said.strip_prefix(&format!("{cell}: ")).unwrap_or(&said)
            }
            _ => said.as_str(),
        };
        let finding = Finding::error(self.code(), message);
        match self {
            E::TwoRows { first, second } => finding.at(first.place()).at(second.place()),
            E::MergedLines { cell, .. }
            | E::Unknown { cell, .. }
            | E::ErrorValue { cell, .. }
            | E::NoPlainValue { cell, .. }
            | E::NoRoom { cell, .. } => finding.at(cell.place()),
            _ => finding,
        }
    }
}
