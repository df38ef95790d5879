//! Cell references, and where they go when rows are inserted.

use crate::finding::column_letters;

/// Rows of a sheet.
pub(super) const MOST_ROWS: u32 = 1_048_576;
const MOST_COLUMNS: u32 = 16_384;

/// A cell, row and column from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct At {
    pub row: u32,
    pub column: u32,
}

impl At {
    /// `B7`, `$B$7`.
    pub(super) fn parse(text: &str) -> Option<At> {
        let reference = Reference::parse(text)?;
        Some(At { row: reference.row?.1, column: reference.column?.1 })
    }
}

impl std::fmt::Display for At {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", column_letters(self.column.saturating_sub(1)), self.row)
    }
}

/// One end of a reference as a formula writes it: a cell, a whole column or a whole row, each
/// part with its `$`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Reference {
    pub column: Option<(bool, u32)>,
    pub row: Option<(bool, u32)>,
}

impl Reference {
    pub(super) fn parse(text: &str) -> Option<Reference> {
        let (column_fixed, rest) = dollar(text);
        let letters = rest.bytes().take_while(u8::is_ascii_alphabetic).count();
        let (letters, digits) = rest.split_at_checked(letters)?;
        if letters.is_empty() {
            let row = number(digits, column_fixed)?;
            return Some(Reference { column: None, row: Some(row) });
        }
        let column = (letters.len() <= 3).then(|| {
            letters
                .bytes()
                .fold(0, |sum, letter| sum * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1)
        })?;
        let column = Some((column_fixed, column)).filter(|(_, column)| *column <= MOST_COLUMNS);
        column?;
        if digits.is_empty() {
            return Some(Reference { column, row: None });
        }
        let (row_fixed, digits) = dollar(digits);
        Some(Reference { column, row: Some(number(digits, row_fixed)?) })
    }

    /// With its row changed; none where the row leaves the sheet.
    pub(super) fn with_row(self, change: impl Fn(bool, u32) -> Option<u32>) -> Option<Reference> {
        let row = match self.row {
            None => None,
            Some((fixed, row)) => {
                let row = change(fixed, row).filter(|row| (1..=MOST_ROWS).contains(row))?;
                Some((fixed, row))
            }
        };
        Some(Reference { row, ..self })
    }
}

impl std::fmt::Display for Reference {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = |fixed| if fixed { "$" } else { "" };
        if let Some((fixed, column)) = self.column {
            write!(f, "{}{}", sign(fixed), column_letters(column.saturating_sub(1)))?;
        }
        if let Some((fixed, row)) = self.row {
            write!(f, "{}{row}", sign(fixed))?;
        }
        Ok(())
    }
}

fn dollar(text: &str) -> (bool, &str) {
    text.strip_prefix('$').map_or((false, text), |rest| (true, rest))
}

fn number(digits: &str, fixed: bool) -> Option<(bool, u32)> {
    let plain =
        !digits.is_empty() && digits.len() <= 7 && digits.bytes().all(|d| d.is_ascii_digit());
    let row: u32 = if plain { digits.parse().ok()? } else { return None };
    (1..=MOST_ROWS).contains(&row).then_some((fixed, row))
}

/// An area, rows and columns from 1, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub top: At,
    pub bottom: At,
}

impl Area {
    /// `B7` or `B7:D9`.
    pub(super) fn parse(text: &str) -> Option<Area> {
        let (top, bottom) = text.split_once(':').unwrap_or((text, text));
        Some(Area { top: At::parse(top)?, bottom: At::parse(bottom)? })
    }

    pub(super) fn has_row(&self, row: u32) -> bool {
        (self.top.row..=self.bottom.row).contains(&row)
    }
}

/// Rows inserted into a sheet: those from `from` on move down by `by`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Shift {
    /// The sheet's name.
    pub sheet: String,
    pub from: u32,
    pub by: u32,
    /// The row of the lines where only one is reserved. What covers it grows by the rows inserted
    /// below it, as a sum over the one row must go on to count all lines.
    pub lone: Option<u32>,
}

impl Shift {
    /// Where a row goes.
    pub(super) fn row(&self, row: u32) -> u32 {
        if row >= self.from { row.saturating_add(self.by).min(MOST_ROWS) } else { row }
    }

    /// Where the rows of a range go; `grows` lets one that ends with the lone row grow.
    pub(super) fn rows(&self, top: u32, bottom: u32, grows: bool) -> (u32, u32) {
        let new_bottom = if grows && self.lone == Some(bottom) {
            bottom.saturating_add(self.by).min(MOST_ROWS)
        } else {
            self.row(bottom)
        };
        (self.row(top), new_bottom)
    }

    /// Where an area such as `A10:F19` goes.
    pub(super) fn area(&self, text: &str) -> Option<String> {
        let (top, bottom) = text.split_once(':').unwrap_or((text, text));
        let (top, bottom) = (Reference::parse(top)?, Reference::parse(bottom)?);
        let (top_row, bottom_row) = (top.row?.1, bottom.row?.1);
        let (new_top, new_bottom) = self.rows(top_row, bottom_row, true);
        let top = top.with_row(|_, _| Some(new_top))?;
        let bottom = bottom.with_row(|_, _| Some(new_bottom))?;
        if top == bottom { Some(top.to_string()) } else { Some(format!("{top}:{bottom}")) }
    }

    /// Where several areas go, `A1 B10:B19`; what can not be read stays.
    pub(super) fn areas(&self, text: &str) -> String {
        let moved = |area: &str| self.area(area).unwrap_or_else(|| area.to_string());
        text.split(' ').map(moved).collect::<Vec<_>>().join(" ")
    }

    /// Where a single cell goes, such as the one a note is on.
    pub(super) fn cell(&self, text: &str) -> Option<String> {
        let at = At::parse(text)?;
        Some(At { row: self.row(at.row), ..at }.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shift(lone: Option<u32>) -> Shift {
        Shift {
            sheet: "Order".to_string(),
            from: if lone.is_some() { 11 } else { 19 },
            by: 5,
            lone,
        }
    }

    #[test]
    fn references_are_read_and_written() {
        for text in ["A1", "$B$7", "XFD1048576", "C$3", "$AA9", "A", "$C", "7", "$12"] {
            assert_eq!(Reference::parse(text).unwrap().to_string(), text);
        }
        for text in ["", "XFE1", "A0", "A1048577", "1A", "A1B", "ABCD1", "$", "A$", "Ä1"] {
            assert_eq!(Reference::parse(text), None, "{text}");
        }
        assert_eq!(At::parse("AB12"), Some(At { row: 12, column: 28 }));
    }

    #[test]
    fn areas_move_and_grow() {
        let shift = shift(None);
        assert_eq!(shift.areas("A10:F19 B2 C20:C30 D18"), "A10:F24 B2 C25:C35 D18");
        assert_eq!(shift.area("F19").as_deref(), Some("F24"));
    }

    #[test]
    fn what_covers_the_lone_row_grows() {
        let shift = shift(Some(10));
        assert_eq!(shift.areas("A10:F10 A9:F10 A11 B10"), "A10:F15 A9:F15 A16 B10:B15");
        assert_eq!(shift.cell("B10").as_deref(), Some("B10"));
        assert_eq!(shift.rows(10, 10, false), (10, 10));
    }
}
