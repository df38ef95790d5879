//! One sheet's cells as plain typed cells, before anyone asks what they mean.

use std::borrow::Cow;

use jiff::civil::Date;

use crate::length::Unit;

/// A worksheet has no more rows than these.
pub const MOST_ROWS: u32 = 1_048_576;
/// A worksheet has no more columns than these.
pub const MOST_COLUMNS: u32 = 16_384;
/// Cells in later columns than these are not read.
pub const READ_COLUMNS: u32 = 512;

/// A cell as the file holds it.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell<'a> {
    Blank,
    Text(Cow<'a, str>),
    /// A finite number.
    Number(f64),
    /// A number whose format alone shows its unit: 144 as `144"`.
    InUnit(f64, Unit),
    /// A number whose format alone shows it in hundredths: 0.25 as `25%`.
    Percent(f64),
    /// A number whose format alone parts its digits into feet and inches: 1206 as `12'-06"`.
    FeetAndInches(f64),
    Bool(bool),
    Date(Date),
    /// A time of day or a duration, in days.
    Time(f64),
    /// An error value of the spreadsheet: `#REF!`.
    Error(Cow<'static, str>),
    /// A formula that was never calculated.
    NoResult(Box<str>),
    /// What the file holds is no cell value at all.
    Damaged(Box<str>),
}

impl Cell<'_> {
    /// Blank, or text of nothing but spaces.
    pub fn is_blank(&self) -> bool {
        match self {
            Cell::Blank => true,
            Cell::Text(text) => is_blank_text(text),
            _ => false,
        }
    }

    /// The same cell, holding its own text.
    pub fn to_own(&self) -> Cell<'static> {
        self.clone().into_own()
    }

    /// The cell, holding its own text.
    pub fn into_own(self) -> Cell<'static> {
        match self {
            Cell::Blank => Cell::Blank,
            Cell::Text(text) => Cell::Text(Cow::Owned(text.into_owned())),
            Cell::Number(number) => Cell::Number(number),
            Cell::InUnit(number, unit) => Cell::InUnit(number, unit),
            Cell::Percent(number) => Cell::Percent(number),
            Cell::FeetAndInches(number) => Cell::FeetAndInches(number),
            Cell::Bool(flag) => Cell::Bool(flag),
            Cell::Date(date) => Cell::Date(date),
            Cell::Time(days) => Cell::Time(days),
            Cell::Error(error) => Cell::Error(error),
            Cell::NoResult(formula) => Cell::NoResult(formula),
            Cell::Damaged(text) => Cell::Damaged(text),
        }
    }

    /// The number of a cell that holds one, however it is shown.
    pub fn number(&self) -> Option<f64> {
        match self {
            Cell::Number(number)
            | Cell::InUnit(number, _)
            | Cell::Percent(number)
            | Cell::FeetAndInches(number) => Some(*number),
            _ => None,
        }
    }

    /// The text of a text cell, without the spaces around it.
    pub fn text(&self) -> Option<&str> {
        match self {
            Cell::Text(text) => Some(trim(text)),
            _ => None,
        }
    }

    /// What a person sees in the cell, for headings and messages.
    pub fn shown(&self) -> String {
        match self {
            Cell::Blank => String::new(),
            Cell::Text(text) => trim(text).to_owned(),
            Cell::Number(number) | Cell::FeetAndInches(number) => number.to_string(),
            Cell::InUnit(number, unit) => format!("{number} {}", unit.sign()),
            Cell::Percent(number) => format!("{} %", number * 100.0),
            Cell::Bool(flag) => if *flag { "TRUE" } else { "FALSE" }.to_owned(),
            Cell::Date(date) => date.to_string(),
            Cell::Time(days) => clock(*days),
            Cell::Error(error) => error.to_string(),
            Cell::NoResult(formula) => format!("={formula}"),
            Cell::Damaged(text) => text.to_string(),
        }
    }
}

/// A time of day, in days, as `7:30`.
pub fn clock(days: f64) -> String {
    #[allow(clippy::cast_possible_truncation, reason = "clamped")]
    let minutes = (days * 1_440.0).round().clamp(0.0, 1e9) as i64;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

/// Text without spaces of any kind around it, no-break and zero-width ones included.
pub fn trim(text: &str) -> &str {
    text.trim_matches(is_space)
}

fn is_blank_text(text: &str) -> bool {
    text.chars().all(is_space)
}

fn is_space(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{200b}' | '\u{feff}' | '\u{200e}' | '\u{200f}' | '\u{2060}')
}
