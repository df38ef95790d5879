//! The panels of a level from the Panels table, by mark and by bay, as a plan sheet lists them. What is
//! on hold or of an alternate stands apart, with totals of its own.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Formula, Worksheet, XlsxError};

use crate::finding::column_letters;
use crate::table::{Report, Table};

use super::cell::{fitting, plain};
use super::measure;
use super::style::{self, Ground, Stand};
use super::unit::{self, Side};

/// The columns' headings behind the first, which differs.
const HEADINGS: [&str; 4] = ["Mark", "Length", "Panels", "Weight, lb"];
/// Their least widths; words wider than the widest are wrapped.
const LEAST: [f64; 5] = [10.0, 10.0, 12.0, 8.0, 10.0];
const WIDEST: f64 = 36.0;
/// Rows beyond these are left to the Panels sheet.
const MOST_ROWS: usize = 20_000;

/// Panels of a mark, over a level or in a bay.
struct Line {
    /// The bay; over a level the deck type.
    of: String,
    mark: String,
    length: String,
    count: f64,
    weight_lb: f64,
}

/// Lines under a title.
struct List {
    title: String,
    /// The heading of the first column.
    of: &'static str,
    lines: Vec<Line>,
}

/// The lists of a level.
pub(super) struct Panels(Vec<List>);

impl Panels {
    /// By mark and by bay what is in the base bid, then what is not, by why.
    pub(super) fn of(report: &Report, level: &str) -> Panels {
        let mut by_mark = List::new("Panels of the level by mark".to_owned(), "Type");
        let mut by_bay = List::new("By bay".to_owned(), "Bay");
        let mut apart: Vec<List> = Vec::new();
        let mut places: BTreeMap<String, usize> = BTreeMap::new();
        let bays = apart_of_bays(report, level);
        for panel in report.table("panels").into_iter().flat_map(|table| rows_of(table, level)) {
            let Some(why) = bays.get(&panel.bay) else {
                add_to_mark(&mut by_mark.lines, &mut places, &panel);
                by_bay.lines.push(panel.line());
                continue;
            };
            let title = format!("{}, not counted above", capitalised(why));
            let known = apart.iter().position(|list| list.title == title).unwrap_or_else(|| {
                apart.push(List::new(title, "Bay"));
                apart.len() - 1
            });
            if let Some(list) = apart.get_mut(known) {
                list.lines.push(panel.line());
            }
        }
        Panels([by_mark, by_bay].into_iter().chain(apart).collect())
    }

    /// How many panels are listed by bay.
    pub(super) fn rows(&self) -> usize {
        self.0.iter().skip(1).map(|list| list.lines.len()).sum()
    }

    /// How wide the columns are, so that marks and bays are read whole.
    pub(super) fn widths(&self) -> [f64; 5] {
        const MARGIN: f64 = 1.5;
        let mut widths = LEAST;
        for line in self.0.iter().flat_map(|list| &list.lines) {
            let words = [line.of.as_str(), &line.mark, &line.length];
            for (width, words) in widths.iter_mut().zip(words) {
                *width = width.max((measure::text_width(words) + MARGIN).min(WIDEST));
            }
        }
        widths
    }

    /// Writes them below each other from a cell on.
    pub(super) fn paint(
        &self,
        sheet: &mut Worksheet,
        (top, left): (u32, u16),
    ) -> Result<(), XlsxError> {
        let widths = self.widths();
        let mut row = top;
        for list in &self.0 {
            sheet.write_string_with_format(row, left, fitting(&list.title), &style::section())?;
            row = list.paint(sheet, (row + 1, left), &widths)? + 1;
        }
        Ok(())
    }
}

/// A row of the Panels table.
struct Panel {
    bay: String,
    deck_type: String,
    mark: String,
    length: String,
    count: f64,
    weight_lb: f64,
}

impl Panel {
    fn line(&self) -> Line {
        Line {
            of: self.bay.clone(),
            mark: self.mark.clone(),
            length: self.length.clone(),
            count: self.count,
            weight_lb: self.weight_lb,
        }
    }
}

fn rows_of<'a>(table: &'a Table, level: &'a str) -> impl Iterator<Item = Panel> + 'a {
    let at = table.column("level");
    let of_level = move |row: &usize| at.and_then(|at| table.row(*row).text(at)) == Some(level);
    (0..table.rows).filter(of_level).take(MOST_ROWS).map(|row| {
        let cell = |key: &str| table.column(key).and_then(|at| table.row(row).get(at));
        let words = |key: &str| cell(key).as_deref().map(plain).unwrap_or_default();
        let number = |key: &str| cell(key).and_then(|value| value.as_number()).unwrap_or(0.0);
        Panel {
            bay: words("bay"),
            deck_type: words("type"),
            mark: words("mark"),
            length: words("length"),
            count: number("count"),
            weight_lb: number("weight_lb"),
        }
    })
}

/// A level's bays that are not in the base bid, and what the Takeoff says of why.
fn apart_of_bays(report: &Report, level: &str) -> BTreeMap<String, String> {
    let Some(table) = report.table("takeoff") else { return BTreeMap::new() };
    let columns = ["level", "bay", "apart"].map(|key| table.column(key));
    let [Some(at), Some(bay), Some(apart)] = columns else { return BTreeMap::new() };
    let of_level = |row: &usize| table.row(*row).text(at) == Some(level);
    let words = |row: usize, column: usize| plain(&table.cell(row, column));
    let rows = (0..table.rows).filter(of_level);
    rows.map(|row| (words(row, bay), words(row, apart)))
        .filter(|(_, why)| !why.is_empty())
        .collect()
}

fn add_to_mark(lines: &mut Vec<Line>, places: &mut BTreeMap<String, usize>, panel: &Panel) {
    let known = *places.entry(panel.mark.clone()).or_insert(lines.len());
    match lines.get_mut(known) {
        Some(sum) => {
            sum.count += panel.count;
            sum.weight_lb += panel.weight_lb;
        }
        None => lines.push(Line { of: panel.deck_type.clone(), ..panel.line() }),
    }
}

/// With a capital first letter.
pub(super) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

impl List {
    fn new(title: String, of: &'static str) -> List {
        List { title, of, lines: Vec::new() }
    }

    /// Writes it under its headings, with its totals below; gives the row after it.
    fn paint(
        &self,
        sheet: &mut Worksheet,
        (top, left): (u32, u16),
        widths: &[f64; 5],
    ) -> Result<u32, XlsxError> {
        let (words, right) = (Stand::WRAPPED, Stand { side: Side::Right, ..Stand::WRAPPED });
        let whole = Stand { number_format: unit::look("count").format, wrap: false, ..right };
        let stands = [words, words, right, whole, whole];
        let headings = [self.of].into_iter().chain(HEADINGS);
        for ((column, heading), stand) in (left..).zip(headings).zip(stands) {
            sheet.write_string_with_format(top, column, heading, &style::heading(stand))?;
        }
        let formats = stands.map(|stand| style::cell(stand, Ground::Plain));
        let [of, mark, length, count, weight] = &formats;
        let mut row = top + 1;
        for line in &self.lines {
            let texts = [(line.of.as_str(), of), (&line.mark, mark), (&line.length, length)];
            for ((column, (text, format)), width) in (left..).zip(texts).zip(widths) {
                sheet.write_string_with_format(row, column, fitting(text), format)?;
                if let Some(height) = measure::row_height([(text, *width)].into_iter()) {
                    sheet.set_row_height(row, height)?;
                }
            }
            sheet.write_number_with_format(row, left + 3, line.count, count)?;
            sheet.write_number_with_format(row, left + 4, line.weight_lb, weight)?;
            row += 1;
        }
        if self.lines.is_empty() {
            sheet.write_string_with_format(row, left, "none", &style::faint())?;
            return Ok(row + 1);
        }
        self.paint_totals(sheet, (top, row, left), whole)?;
        Ok(row + 1)
    }

    /// The totals in a row below the lines, which begin under the headings.
    fn paint_totals(
        &self,
        sheet: &mut Worksheet,
        (headings, row, left): (u32, u32, u16),
        whole: Stand<'_>,
    ) -> Result<(), XlsxError> {
        let right = Stand { side: Side::Right, ..Stand::WORDS };
        for (column, stand) in (left..).zip([Stand::WORDS, Stand::WORDS, right]) {
            let word = if column == left { "Total" } else { "" };
            sheet.write_string_with_format(row, column, word, &style::total(stand))?;
        }
        let sums: [fn(&Line) -> f64; 2] = [|line| line.count, |line| line.weight_lb];
        for (column, sum) in (left + 3..).zip(sums) {
            let letters = column_letters(column.into());
            let formula = format!("=SUM({letters}{}:{letters}{row})", headings + 2);
            let sum: f64 = self.lines.iter().map(sum).sum();
            let formula = Formula::new(formula).set_result(sum.to_string());
            sheet.write_formula_with_format(row, column, formula, &style::total(whole))?;
        }
        Ok(())
    }
}
