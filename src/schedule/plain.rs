//! Any workbook's sheets as rows of plain values, nothing asked about what they mean.

use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;

use super::grid::Cell;
use super::workbook::{Stop, Workbook, refusal};
use super::{Limits, Unreadable, bytes_of};
use crate::finding::{Finding, Place};
use crate::value::Value;

/// The rows with content of each sheet in order.
pub fn plain_sheets(path: &Path, limits: &Limits) -> Result<Vec<Vec<Vec<Value>>>, Unreadable> {
    let (name, bytes) = bytes_of(path, limits)?;
    let mut book = Workbook::open(Arc::from(bytes), &name, limits, NonZeroUsize::MIN)?;
    let mut sheets = Vec::new();
    for sheet in book.sheets.clone() {
        let mut rows = Vec::new();
        let read = book.read(&sheet.name, &mut |_, cells| {
            rows.push(cells.iter().map(plain).collect::<Vec<Value>>());
            ControlFlow::Continue(())
        });
        match read {
            Ok(_) => sheets.push(rows),
            Err(Stop::Over(refused)) => return Err(refusal(&name, &refused, limits)),
            Err(Stop::Damaged { message: why, .. }) => {
                let finding = Finding::error("unread", format!("`{name}` can not be read: {why}"));
                return Err(Unreadable::one(finding.at(Place::Sheet(sheet.name))));
            }
        }
    }
    Ok(sheets)
}

fn plain(cell: &Cell<'_>) -> Value {
    match cell {
        Cell::Blank => Value::Blank,
        Cell::Text(text) => Value::text(text),
        Cell::Bool(flag) => Value::Bool(*flag),
        Cell::Date(date) => Value::Date(*date),
        other => match other.number() {
            Some(number) => Value::Number(number),
            None => Value::text(other.shown()),
        },
    }
}
