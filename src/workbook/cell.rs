//! One value in one cell: numbers in their format, text that stays text, dates as dates, errors
//! with a word and a colour.

use std::borrow::Cow;

use jiff::civil::{Date, date};
use rust_xlsxwriter::{Format, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::value::Value;

use super::columns::Shown;
use super::plan::Limits;
use super::style::{self, Ground, Stand};
use super::unit::{self, Side};

/// What stands in a cell that could not be computed.
pub(super) const ERROR_WORD: &str = "#error";
const CUT: &str = " … (cut)";

/// A cell to be filled.
pub(super) struct Cell<'a> {
    pub line: u32,
    pub column: &'a Shown<'a>,
    pub ground: Ground,
    pub format: &'a Format,
    /// The column has the plain format already; nothing need be said in its cells.
    pub by_column: bool,
}

impl Cell<'_> {
    pub(super) fn put(&self, sheet: &mut Worksheet, value: &Value) -> Result<(), XlsxError> {
        let (line, place) = (self.line, self.column.place);
        match value {
            Value::Blank if self.by_column => {}
            Value::Blank => {
                sheet.write_blank(line, place, self.format)?;
            }
            Value::Count(_) | Value::Number(_) => match value.as_number() {
                Some(number) if !number.is_finite() => self.put_error(sheet)?,
                Some(number) if self.by_column => {
                    sheet.write_number(line, place, number)?;
                }
                number => {
                    let number = number.unwrap_or_default();
                    sheet.write_number_with_format(line, place, number, self.format)?;
                }
            },
            Value::Date(day) => match serial(*day) {
                Some(serial) if self.by_column && self.is_date_column() => {
                    sheet.write_number(line, place, serial)?;
                }
                Some(serial) if self.is_date_column() => {
                    sheet.write_number_with_format(line, place, serial, self.format)?;
                }
                Some(serial) => {
                    sheet.write_number_with_format(line, place, serial, &as_date(self.format))?;
                }
                None => self.put_text(sheet, &day.to_string())?,
            },
            Value::Text(text) => self.put_text(sheet, text)?,
            Value::Error(_) => self.put_error(sheet)?,
            other => self.put_text(sheet, &plain(other))?,
        }
        Ok(())
    }

    /// A number of a summary row that names its own unit.
    pub(super) fn put_in_unit(
        &self,
        sheet: &mut Worksheet,
        value: &Value,
        unit: &str,
    ) -> Result<(), XlsxError> {
        let number = value.as_number().filter(|number| number.is_finite());
        match number.filter(|_| matches!(&*self.column.column.unit, "" | "any" | "text")) {
            Some(number) => {
                let number_format = unit::look(unit).format;
                let stand = Stand { number_format, side: Side::Right, ..Stand::WORDS };
                let format = style::cell(stand, self.ground);
                sheet.write_number_with_format(self.line, self.column.place, number, &format)?;
                Ok(())
            }
            None => self.put(sheet, value),
        }
    }

    fn is_date_column(&self) -> bool {
        &*self.column.column.unit == "date"
    }

    fn put_text(&self, sheet: &mut Worksheet, text: &str) -> Result<(), XlsxError> {
        let (line, place, text) = (self.line, self.column.place, fitting(text));
        if text.starts_with(['=', '+', '-', '@']) {
            // Stays text even when someone edits the cell.
            sheet.write_string_with_format(line, place, text, &as_text(self.format))?;
        } else if self.by_column {
            sheet.write_string(line, place, text)?;
        } else {
            sheet.write_string_with_format(line, place, text, self.format)?;
        }
        Ok(())
    }

    fn put_error(&self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        let format = error_format(self.column.stand.side);
        sheet.write_string_with_format(self.line, self.column.place, ERROR_WORD, &format)?;
        Ok(())
    }
}

/// The format of a date among other values.
pub(super) fn as_date(format: &Format) -> Format {
    format.clone().set_num_format(unit::DATE)
}

/// The format of text that looks like a formula.
pub(super) fn as_text(format: &Format) -> Format {
    format.clone().set_quote_prefix()
}

/// The format of what stands in a cell that could not be computed.
pub(super) fn error_format(side: Side) -> Format {
    style::cell(Stand { side, ..Stand::WORDS }, Ground::Cell(Severity::Error))
}

/// A value as plain text.
pub(super) fn plain(value: &Value) -> String {
    match value {
        Value::Blank => String::new(),
        Value::Bool(true) => "yes".to_string(),
        Value::Bool(false) => "no".to_string(),
        Value::Text(text) => text.to_string(),
        Value::Error(_) => ERROR_WORD.to_string(),
        other => other.to_string(),
    }
}

/// Text as a cell holds it: cut to the format's length, with a mark.
pub(super) fn fitting(text: &str) -> Cow<'_, str> {
    let most = Limits::FORMAT.text;
    if text.len() <= most || text.encode_utf16().count() <= most {
        return text.into();
    }
    let mut units = CUT.encode_utf16().count();
    let mut kept = String::new();
    for letter in text.chars() {
        units += letter.len_utf16();
        if units > most {
            break;
        }
        kept.push(letter);
    }
    kept.push_str(CUT);
    kept.into()
}

/// The day's number in a spreadsheet; none before March 1900, where programs disagree, nor after
/// 9999.
pub(super) fn serial(day: Date) -> Option<f64> {
    let days = (day - date(1899, 12, 30)).get_days();
    (61..=2_958_465).contains(&days).then_some(f64::from(days))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Day numbers as a spreadsheet shows them for these dates.
    #[test]
    fn days_have_their_numbers() {
        assert_eq!(serial(date(1900, 3, 1)), Some(61.0));
        assert_eq!(serial(date(2026, 3, 2)), Some(46_083.0));
        assert_eq!(serial(date(9999, 12, 31)), Some(2_958_465.0));
        assert_eq!(serial(date(1900, 2, 28)), None);
        assert_eq!(serial(date(-9999, 1, 1)), None);
    }

    #[test]
    fn long_text_is_cut_with_a_mark() {
        let long = "x".repeat(40_000);
        let cut = fitting(&long);
        assert_eq!(cut.encode_utf16().count(), Limits::FORMAT.text);
        assert!(cut.ends_with("x … (cut)"));
        let wide = "𝔸".repeat(20_000);
        assert!(fitting(&wide).encode_utf16().count() <= Limits::FORMAT.text);
        assert_eq!(fitting("short"), "short");
    }
}
