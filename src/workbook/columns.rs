//! The columns of a table as they are shown: heading, width, number format, total.

use rust_xlsxwriter::Format;

use crate::cells::Stretch;
use crate::finding::Severity::{Error, Note, Warning};
use crate::table::{Column, Table};
use crate::value::Value;

use super::cell::plain;
use super::measure::{lines, number_width, text_width};
use super::plan::Limits;
use super::style::{self, Ground, Stand};
use super::unit::{self, Look, Side};

const WIDEST: f64 = 48.0;
/// Words that are only so much wider stay on one line rather than leave half of a second.
const OVER: f64 = 8.0;
const NARROWEST: f64 = 4.2;
const PADDING: f64 = 1.8;
/// What stays free of words.
const MARGIN: f64 = 0.5;
/// Bold letters are that much wider.
const BOLD: f64 = 1.04;
const INDENT: f64 = 1.3;
/// What keeps a heading off its neighbour's.
const APART: f64 = 0.6;

/// A column that is shown.
pub(super) struct Shown<'a> {
    pub column: &'a Column,
    /// Its position in the table.
    pub at: usize,
    /// Its column on the sheet.
    pub place: u16,
    pub width: f64,
    look: Look,
    pub stand: Stand<'a>,
    pub total: Total,
}

/// The sum of a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Total {
    None,
    Known(f64),
    /// A cell is an error.
    Unknown,
}

/// The visible columns with their widths.
pub(super) fn shown<'a>(table: &'a Table, limits: &Limits) -> Vec<Shown<'a>> {
    let extents = extents(table);
    let mut after_numbers = false;
    let visible = table.columns.iter().enumerate().filter(|(_, column)| !column.hidden);
    (0..u16::MAX)
        .zip(visible)
        .take(limits.columns - 1)
        .map(|(place, (at, column))| {
            let look = unit::look(&column.unit);
            let own = column.format.as_deref().filter(|format| unit::is_number_format(format));
            let total = match column.total.then(|| table.total(at)) {
                None => Total::None,
                Some(Some(total)) if total.is_finite() => Total::Known(total),
                Some(_) => Total::Unknown,
            };
            let extent = extents.get(at).copied().unwrap_or_default();
            let is_open = matches!(&*column.unit, "" | "any");
            let numbers_alone = is_open && !extent.has_words && extent.most > 0.0;
            let side = if numbers_alone { Side::Right } else { look.side };
            let stand = Stand {
                number_format: own.unwrap_or(look.format),
                side,
                indent: side == Side::Left && after_numbers,
                wrap: false,
            };
            after_numbers = side == Side::Right;
            let mut shown = Shown { column, at, place, width: 0.0, look, stand, total };
            shown.fit(extent.width(look.decimals));
            shown
        })
        .collect()
}

/// What the cells of a column hold, as far as its width goes.
#[derive(Clone, Copy, Default)]
struct Extent {
    text: f64,
    /// Something else than numbers and dates.
    has_words: bool,
    least: f64,
    most: f64,
}

impl Extent {
    fn add(&mut self, value: &Value) {
        /// Beyond this a column is as wide as columns get.
        const ENOUGH: usize = 400;
        /// No letter is wider than that many digits.
        const WIDEST_LETTER: usize = 2;
        match value {
            Value::Blank => {}
            Value::Count(_) | Value::Number(_) => {
                let number = value.as_number().unwrap_or_default();
                self.least = self.least.min(number);
                self.most = self.most.max(number);
            }
            Value::Text(text) => {
                self.has_words |= !text.is_empty();
                let most = u32::try_from(WIDEST_LETTER * text.len()).unwrap_or(u32::MAX);
                if f64::from(most) > self.text {
                    let start = text.get(..ENOUGH).unwrap_or(text);
                    self.text = self.text.max(text_width(start));
                }
            }
            Value::Date(_) => self.text = self.text.max(10.5),
            other => {
                self.has_words = true;
                self.text = self.text.max(text_width(&plain(other)));
            }
        }
    }

    fn width(self, decimals: usize) -> f64 {
        let numbers = if self.least < 0.0 || self.most > 0.0 {
            number_width(self.least, decimals).max(number_width(self.most, decimals))
        } else {
            0.0
        };
        self.text.max(numbers)
    }
}

/// By column; hidden columns hold what no sheet shows.
fn extents(table: &Table) -> Vec<Extent> {
    let columns = table.columns.iter().enumerate();
    let extents = columns.map(|(at, column)| {
        let mut extent = Extent::default();
        for stretch in table.cells.column(at).filter(|_| !column.hidden) {
            match stretch {
                // Once is as good as many times.
                Stretch::Same(value, _) => extent.add(value),
                Stretch::Few(values, _) => values.iter().for_each(|value| extent.add(value)),
                other => (0..other.len())
                    .filter_map(|at| other.get(at))
                    .for_each(|value| extent.add(&value)),
            }
        }
        extent
    });
    extents.collect()
}

impl Shown<'_> {
    /// Whether the unit stands below the heading: not where it would say the same again.
    fn names_unit(&self) -> bool {
        self.look.named && !self.column.heading.eq_ignore_ascii_case(&self.column.unit)
    }

    /// The heading with its unit below.
    pub(super) fn heading(&self) -> String {
        if self.names_unit() {
            format!("{}\n{}", self.column.heading, self.column.unit)
        } else {
            self.column.heading.to_string()
        }
    }

    fn fit(&mut self, content: f64) {
        let heading = self.heading();
        let most_lines = if self.names_unit() { 4.0 } else { 3.0 };
        let mut headed = heading.split_whitespace().map(text_width).fold(0.0, f64::max) * BOLD;
        while lines(&heading, headed / BOLD) > most_lines && headed < WIDEST {
            headed += 1.0;
        }
        let total = match self.total {
            Total::Known(total) => number_width(total, self.look.decimals) * BOLD,
            Total::None | Total::Unknown => 0.0,
        };
        let format = self.stand.number_format;
        let own = if format == self.look.format { 0.0 } else { text_width(format).min(12.0) };
        let widest = if content <= WIDEST + OVER { WIDEST + OVER } else { WIDEST };
        self.stand.wrap = content > widest && self.stand.side == Side::Left;
        let indent = if self.stand.indent { INDENT } else { 0.0 };
        self.width = (content + own).max(headed + APART).max(total).clamp(NARROWEST, widest).ceil()
            + PADDING
            + indent;
    }

    /// How many lines a text takes in this column.
    pub(super) fn lines(&self, text: &str) -> f64 {
        let indent = if self.stand.indent { INDENT } else { 0.0 };
        lines(text, (self.width - indent - MARGIN) / BOLD)
    }

    /// The formats of its cells on each ground, in the order of [`on`].
    pub(super) fn formats(&self, by_column: bool) -> [Format; 7] {
        let cell = |ground| style::cell(self.stand, ground);
        [
            if by_column { style::quiet(self.stand) } else { cell(Ground::Plain) },
            cell(Ground::Row(Error)),
            cell(Ground::Row(Warning)),
            cell(Ground::Row(Note)),
            cell(Ground::Cell(Error)),
            cell(Ground::Cell(Warning)),
            cell(Ground::Cell(Note)),
        ]
    }
}

/// The format of a column on that ground.
pub(super) fn on(formats: &[Format; 7], ground: Ground) -> &Format {
    let [plain, row_error, row_warning, row_note, cell_error, cell_warning, cell_note] = formats;
    match ground {
        Ground::Plain => plain,
        Ground::Row(Error) => row_error,
        Ground::Row(Warning) => row_warning,
        Ground::Row(Note) => row_note,
        Ground::Cell(Error) => cell_error,
        Ground::Cell(Warning) => cell_warning,
        Ground::Cell(Note) => cell_note,
    }
}
