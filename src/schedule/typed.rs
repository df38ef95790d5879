//! What stands in cells of a schedule, as a person sees it there.

use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;

use super::workbook::Workbook;
use super::{Limits, Unreadable, bytes_of};

/// A cell: its sheet, row and column from 0.
pub type Address = (Arc<str>, u32, u32);

/// The text of each cell as typed; none where it is blank or can not be read.
pub fn typed(
    path: &Path,
    limits: &Limits,
    cells: &[Address],
) -> Result<Vec<Option<String>>, Unreadable> {
    let (name, bytes) = bytes_of(path, limits)?;
    let mut book = Workbook::open(Arc::from(bytes), &name, limits, NonZeroUsize::MIN)?;
    let mut found = vec![None; cells.len()];
    for sheet in book.sheets.clone() {
        let here = || cells.iter().enumerate().filter(|(_, (name, ..))| **name == *sheet.name);
        let Some(last) = here().map(|(_, (_, row, _))| *row).max() else { continue };
        // What can not be read stays without its text.
        let _ = book.read(&sheet.name, &mut |row, content| {
            for (at, _) in here().filter(|(_, (_, wanted, _))| *wanted == row) {
                let cell = usize::try_from(cells[at].2).ok().and_then(|column| content.get(column));
                found[at] = cell.map(super::grid::Cell::shown).filter(|text| !text.is_empty());
            }
            if row >= last { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
    }
    Ok(found)
}
