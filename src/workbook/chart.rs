//! The Charts sheet: for each chart its figures, added up by category, and the bars beside them.

use indexmap::IndexMap;
use rust_xlsxwriter::{
    Chart as Drawing, ChartDataLabel, ChartFont, ChartFormat, ChartLine, ChartSolidFill, Formula,
    ObjectMovement, Worksheet, XlsxError,
};

use crate::finding::{Finding, Severity, column_letters};
use crate::table::{Chart, Report, Table};
use crate::value::Value;

use super::cell::{ERROR_WORD, fitting, plain, serial};
use super::grid::{FIRST_ROW, Grid};
use super::names::quoted;
use super::plan::{CHARTS, Plan};
use super::style::{self, Ground, Stand};
use super::unit::{self, Side};
use super::{measure, page};

/// More bars than that can not be told apart.
const MOST_BARS: usize = 400;
/// More numbers than that above the bars run into each other.
const MOST_LABELS: usize = 16;
/// Rows that a drawing takes, and how many charts a page.
const ROWS: u32 = 20;
const A_PAGE: u32 = 52;

/// A chart's figures.
pub(super) struct Plot<'a> {
    chart: &'a Chart,
    table: &'a Table,
    category: usize,
    value: usize,
    /// Category and sum in the order of the rows; no sum where a cell is an error.
    bars: Vec<(Value, Option<f64>)>,
}

impl<'a> Plot<'a> {
    /// Adds up what the chart asks for; says where it asks for what is not there.
    pub(super) fn of(
        chart: &'a Chart,
        report: &'a Report,
        findings: &mut Vec<Finding>,
    ) -> Option<Plot<'a>> {
        let Some(table) = report.table(&chart.table) else {
            findings.push(Finding::warning(
                "chart-left-out",
                format!("the chart `{}` asks for a table `{}`", chart.title, chart.table),
            ));
            return None;
        };
        let mut find = |key: &str| {
            let column = table.column(key);
            if column.is_none() {
                findings.push(Finding::warning(
                    "chart-left-out",
                    format!(
                        "the chart `{}` asks for a column `{key}` of the table `{}`",
                        chart.title, chart.table
                    ),
                ));
            }
            column
        };
        let (category, value) = (find(&chart.category)?, find(&chart.value)?);
        let mut sums: IndexMap<String, (Value, Option<f64>)> = IndexMap::new();
        for row in 0..table.rows {
            let cells = table.row(row);
            let (Some(name), Some(value)) = (cells.get(category), cells.get(value)) else {
                continue;
            };
            // Spreadsheets compare text without regard to case.
            let bar = sums
                .entry(plain(&name).to_lowercase())
                .or_insert_with(|| (name.into_owned(), Some(0.0)));
            bar.1 = match &*value {
                Value::Error(_) => None,
                value => bar.1.map(|sum| sum + value.as_number().unwrap_or(0.0)),
            };
        }
        let mut bars: Vec<(Value, Option<f64>)> = sums.into_values().collect();
        if bars.len() > MOST_BARS {
            findings.push(Finding::note(
                "chart-cut",
                format!(
                    "the chart `{}` shows the first {MOST_BARS} of {} bars",
                    chart.title,
                    bars.len()
                ),
            ));
            bars.truncate(MOST_BARS);
        }
        Some(Plot { chart, table, category, value, bars })
    }

    fn format(&self) -> &str {
        let column = &self.table.columns[self.value];
        let own = column.format.as_deref().filter(|format| unit::is_number_format(format));
        own.unwrap_or(unit::look(&column.unit).format)
    }

    /// The heading of a column with its unit.
    fn heading(&self, column: usize) -> String {
        let column = &self.table.columns[column];
        if unit::look(&column.unit).named {
            format!("{}, {}", column.heading, column.unit)
        } else {
            column.heading.to_string()
        }
    }

    /// The sum as a formula over the table's sheet, where both columns stand on one sheet and the
    /// category may be compared.
    fn formula(&self, grids: &[Grid<'_>], bar: usize, cell: &str) -> Option<String> {
        const LONGEST: usize = 20_000;
        let grid = grids.iter().find(|grid| grid.table.key == self.table.key)?;
        let whole = grid.parts.len() == 1 && grid.rows.len() <= LONGEST;
        let (name, sum) = self.bars.get(bar)?;
        if !whole || name.is_blank() || sum.is_none_or(|sum| !sum.is_finite()) {
            return None;
        }
        let range = |column: usize| {
            let shown = grid.columns.iter().find(|shown| shown.at == column)?;
            let letters = column_letters(shown.place.into());
            let (first, last) = (FIRST_ROW + 1, FIRST_ROW as usize + grid.rows.len());
            Some(format!("{}!${letters}${first}:${letters}${last}", quoted(&grid.name)))
        };
        let (names, values) = (range(self.category)?, range(self.value)?);
        Some(format!("=SUMPRODUCT(--({names}={cell}),{values})"))
    }
}

pub(super) fn paint(sheet: &mut Worksheet, plan: &Plan<'_>) -> Result<(), XlsxError> {
    const FIGURES: f64 = 16.0;
    const DRAWING: f64 = 10.0;
    page::title(sheet, plan, CHARTS)?;
    let names = plan.charts.iter().flat_map(|plot| &plot.bars).map(|bar| plain(&bar.0));
    let widest = names.map(|name| measure::text_width(&name)).fold(FIGURES, f64::max);
    sheet.set_column_width(0, (widest + 2.0).min(40.0))?;
    sheet.set_column_width(1, FIGURES)?;
    for column in 2..10 {
        sheet.set_column_width(column, DRAWING)?;
    }
    let (mut line, mut page_start) = (3, 0);
    let mut breaks = Vec::new();
    for plot in &plan.charts {
        let rows = u32::try_from(plot.bars.len()).unwrap_or(0).saturating_add(4).max(ROWS + 3);
        if line + rows > page_start + A_PAGE && line > 3 {
            breaks.push(line);
            page_start = line;
        }
        paint_plot(sheet, plan, plot, line)?;
        line += rows;
    }
    if !breaks.is_empty() {
        sheet.set_page_breaks(&breaks)?;
    }
    page::set_up(sheet, plan, widest + FIGURES + 8.0 * DRAWING, None)?;
    sheet.set_portrait();
    Ok(())
}

fn paint_plot(
    sheet: &mut Worksheet,
    plan: &Plan<'_>,
    plot: &Plot<'_>,
    top: u32,
) -> Result<(), XlsxError> {
    sheet.write_string_with_format(top, 0, fitting(&plot.chart.title), &style::section())?;
    let numbers = Stand { number_format: plot.format(), side: Side::Right, ..Stand::WORDS };
    let heading = plot.heading(plot.category);
    sheet.write_string_with_format(top + 1, 0, fitting(&heading), &style::heading(Stand::WORDS))?;
    let heading = plot.heading(plot.value);
    sheet.write_string_with_format(top + 1, 1, fitting(&heading), &style::heading(numbers))?;
    let first = top + 2;
    let mut last = first;
    let (words, value) =
        (style::cell(Stand::WORDS, Ground::Plain), style::cell(numbers, Ground::Plain));
    for (at, (line, (name, sum))) in (first..).zip(&plot.bars).enumerate() {
        last = line;
        let number = match name {
            Value::Date(day) => serial(*day),
            name => name.as_number().filter(|number| number.is_finite()),
        };
        match (name, number) {
            (Value::Date(_), Some(serial)) => {
                let days = Stand { number_format: unit::DATE, ..Stand::WORDS };
                let format = style::cell(days, Ground::Plain);
                sheet.write_number_with_format(line, 0, serial, &format)?;
            }
            (_, Some(number)) => {
                sheet.write_number_with_format(line, 0, number, &words)?;
            }
            (_, None) => {
                let text = plain(name);
                let text = if text.is_empty() { "(none)".into() } else { fitting(&text) };
                sheet.write_string_with_format(line, 0, text, &words)?;
            }
        }
        let formula = plot.formula(&plan.grids, at, &format!("A{}", line + 1));
        match (formula, sum.filter(|sum| sum.is_finite())) {
            (Some(formula), Some(sum)) => {
                let formula = Formula::new(formula).set_result(sum.to_string());
                sheet.write_formula_with_format(line, 1, formula, &value)?;
            }
            (None, Some(sum)) => {
                sheet.write_number_with_format(line, 1, sum, &value)?;
            }
            (_, None) => {
                let format = style::cell(numbers, Ground::Cell(Severity::Error));
                sheet.write_string_with_format(line, 1, ERROR_WORD, &format)?;
            }
        }
    }
    let drawing = draw(plot, first, last);
    sheet.insert_chart_with_offset(top + 1, 2, &drawing, 12, 0)?;
    Ok(())
}

/// Bars in one colour with light lines; numbers above them where there is room.
fn draw(plot: &Plot<'_>, first: u32, last: u32) -> Drawing {
    const WIDTH: u32 = 580;
    const A_ROW: u32 = 20;
    let mut ink = ChartFont::new();
    ink.set_color(style::INK).set_size(9).unset_bold();
    let mut drawing = Drawing::new_column();
    let bars = drawing.add_series();
    bars.set_categories((CHARTS, first, 0, last, 0))
        .set_values((CHARTS, first, 1, last, 1))
        .set_gap(60)
        .set_format(
            ChartFormat::new().set_solid_fill(ChartSolidFill::new().set_color(style::ACCENT)),
        );
    if plot.bars.len() <= MOST_LABELS {
        let mut label = ChartDataLabel::new();
        bars.set_data_label(label.show_value().set_font(&ink).set_num_format(plot.format()));
    }
    let mut bold = ChartFont::new();
    bold.set_color(style::ACCENT).set_size(12).set_bold();
    // A name that begins with = would be taken for a range.
    drawing.title().set_name(plot.chart.title.trim_start_matches('=')).set_font(&bold);
    drawing.legend().set_hidden();
    let line = ChartLine::new().set_color(style::LINE).clone();
    let category = &plot.table.columns[plot.category];
    let x = drawing.x_axis();
    x.set_text_axis(true).set_font(&ink).set_format(ChartFormat::new().set_line(&line));
    if &*category.unit == "date" {
        x.set_num_format(unit::DATE);
    }
    drawing
        .y_axis()
        .set_min(0)
        .set_num_format(plot.format())
        .set_font(&ink)
        .set_major_gridlines_line(&line)
        .set_format(ChartFormat::new().set_no_line());
    drawing
        .set_width(WIDTH)
        .set_height(ROWS * A_ROW)
        .set_alt_text(format!("Bar chart: {}", plot.chart.title))
        .set_object_movement(ObjectMovement::MoveButDontSizeWithCells);
    drawing.chart_area().set_format(ChartFormat::new().set_border(&line));
    drawing
}
