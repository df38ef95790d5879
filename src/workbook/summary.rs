//! The first sheet: whose job it is, whether the workbook is complete, the figures asked first,
//! the findings by weight, the caution, and what stands on the other sheets.

use rust_xlsxwriter::{Format, Url, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::job::schema;
use crate::table::CAUTION;
use crate::value::Value;

use super::cell::{fitting, plain, serial};
use super::names::quoted;
use super::plan::{CHARTS, CHECKS, Plan, RULES};
use super::style::Stand;
use super::{measure, page, style, unit};

/// Columns of head and figures, at the least, and their widths.
const FIGURES: u16 = 3;
const LABEL: f64 = 22.0;
const OTHER: f64 = 15.0;
/// The list of sheets stands beside the figures, behind a gap.
const GAP: f64 = 6.0;
const NAME: f64 = 26.0;
const ROWS: f64 = 12.0;
/// So many lines are printed on one page; more take as many pages as they need.
const ONE_PAGE: u32 = 75;

pub(super) fn paint(sheet: &mut Worksheet, plan: &Plan<'_>) -> Result<(), XlsxError> {
    let taken = plan.summary.as_ref().map_or(0, super::grid::Grid::columns_taken);
    let figures = taken.max(FIGURES);
    let widths: Vec<f64> = (0..usize::from(figures))
        .map(|at| {
            let column = plan.summary.as_ref().and_then(|grid| grid.columns.get(at));
            let least = if at == 0 { LABEL } else { OTHER };
            column.map_or(0.0, |column| column.width).max(least)
        })
        .chain([GAP, names_width(plan), ROWS])
        .collect();
    let contents = figures + 1;
    for (at, width) in (0_u16..).zip(&widths) {
        sheet.set_column_width(at, *width)?;
    }
    let (width, beside) = (widths.iter().sum(), widths.iter().skip(1).sum());
    let mut pen = Pen { sheet, line: 2, last: contents + 1, width, beside };
    page::title(pen.sheet, plan, &plan.job())?;
    if plan.incomplete {
        let errors = count(plan, Severity::Error);
        let text = format!(
            "INCOMPLETE: {errors} {}. Figures that rest on them are missing or partial. See Checks.",
            if errors == 1 { "error" } else { "errors" }
        );
        pen.paragraph(&text, &style::banner())?;
    }
    pen.line += 1;
    pen.head(plan)?;
    let end = pen.contents(plan, contents)?;
    if let Some(grid) = &plan.summary {
        pen.section(&grid.table.title)?;
        let heading = pen.line;
        grid.paint(pen.sheet, heading)?;
        let totals = grid.table.columns.iter().any(|column| column.total && !column.hidden);
        if !totals {
            pen.sheet.set_row_height(heading, 3)?;
        }
        pen.line += 2 + u32::try_from(grid.rows.len()).unwrap_or(0) + 1;
    }
    pen.findings(plan)?;
    pen.line = pen.line.max(end);
    pen.section("Caution")?;
    pen.paragraph(CAUTION, &style::paragraph())?;
    let totals = "Totals stand above the headings and count the rows that a filter shows.";
    pen.paragraph(totals, &style::paragraph().set_font_color(style::FAINT))?;
    let (lines, width) = (pen.line, pen.width);
    page::set_up(sheet, plan, width, None)?;
    let pages = u16::from(lines <= ONE_PAGE);
    sheet.set_portrait().set_print_fit_to_pages(1, pages);
    Ok(())
}

fn count(plan: &Plan<'_>, severity: Severity) -> usize {
    plan.findings.iter().filter(|finding| finding.severity == severity).count()
}

/// Wide enough for the sheets' names.
fn names_width(plan: &Plan<'_>) -> f64 {
    const MARGIN: f64 = 1.5;
    let names = plan.names();
    names.iter().map(|name| measure::text_width(name) + MARGIN).fold(NAME, f64::max)
}

/// Where the next line goes.
struct Pen<'a> {
    sheet: &'a mut Worksheet,
    line: u32,
    last: u16,
    width: f64,
    /// Of all columns but the first.
    beside: f64,
}

impl Pen<'_> {
    fn section(&mut self, title: &str) -> Result<(), XlsxError> {
        self.sheet.write_string_with_format(self.line, 0, fitting(title), &style::section())?;
        self.line += 1;
        Ok(())
    }

    /// A paragraph across the sheet.
    fn paragraph(&mut self, text: &str, format: &Format) -> Result<(), XlsxError> {
        self.sheet.merge_range(self.line, 0, self.line, self.last, text, format)?;
        let height = measure::row_height([(text, self.width * 0.96)].into_iter());
        self.sheet.set_row_height(self.line, height.unwrap_or(18.0) + 3.0)?;
        self.line += 1;
        Ok(())
    }

    /// The Job sheet's entries and the schedule they were read from.
    fn head(&mut self, plan: &Plan<'_>) -> Result<(), XlsxError> {
        let left = style::quiet(Stand::WORDS);
        for (heading, value) in plan.report.head.iter() {
            let known = schema::sheet("head").and_then(|sheet| {
                sheet.all_fields().find(|field| *field.key == **heading).map(|field| field.heading)
            });
            let heading = fitting(known.unwrap_or(heading));
            self.sheet.write_string_with_format(self.line, 0, heading, &style::faint())?;
            let (number, format) = match value {
                Value::Date(day) => (serial(*day), left.clone().set_num_format(unit::DATE)),
                other => (other.as_number().filter(|number| number.is_finite()), left.clone()),
            };
            if let Some(number) = number {
                self.sheet.write_number_with_format(self.line, 1, number, &format)?;
            } else {
                self.entry(&plain(value))?;
            }
            self.line += 1;
        }
        let hash: String = plan.report.schedule_hash.chars().take(12).collect();
        self.sheet.write_string_with_format(self.line, 0, "Schedule", &style::faint())?;
        let text = match hash.as_str() {
            "" => plan.report.schedule.clone(),
            hash => format!("{} (SHA-256 {hash} …)", plan.report.schedule),
        };
        self.sheet.write_string_with_format(self.line, 1, fitting(&text), &left)?;
        self.line += 2;
        Ok(())
    }

    /// An entry of the head; one wider than the sheet goes on below instead of beside, where it would
    /// make the printed page smaller.
    fn entry(&mut self, text: &str) -> Result<(), XlsxError> {
        if let Some(height) = measure::row_height([(text, self.beside)].into_iter()) {
            let format = style::paragraph();
            self.sheet.merge_range(self.line, 1, self.line, self.last, &fitting(text), &format)?;
            self.sheet.set_row_height(self.line, height)?;
        } else {
            let format = style::quiet(Stand::WORDS);
            self.sheet.write_string_with_format(self.line, 1, fitting(text), &format)?;
        }
        Ok(())
    }

    fn findings(&mut self, plan: &Plan<'_>) -> Result<(), XlsxError> {
        self.section("Checks")?;
        for severity in [Severity::Error, Severity::Warning, Severity::Note] {
            let count = count(plan, severity);
            let (ink, light, _) = style::tint(severity);
            let format = style::quiet(Stand::WORDS).set_font_color(ink);
            let format = if count > 0 { format.set_background_color(light) } else { format };
            let word = match severity {
                Severity::Error => "errors",
                Severity::Warning => "warnings",
                Severity::Note => "notes",
            };
            let bold = format.clone().set_bold();
            self.sheet.write_string_with_format(self.line, 0, word, &bold)?;
            #[allow(clippy::cast_precision_loss, reason = "findings are counted in thousands")]
            self.sheet.write_number_with_format(self.line, 1, count as f64, &format)?;
            let first = plan.findings.iter().position(|finding| finding.severity == severity);
            if let Some(first) = first {
                let url = Url::new(format!("internal:{}", super::checks::place_of(first)));
                let link = style::link(style::quiet(Stand::WORDS));
                self.sheet.write_url_with_options(
                    self.line,
                    2,
                    url,
                    "see Checks",
                    "",
                    Some(&link),
                )?;
            }
            self.line += 1;
        }
        self.line += 1;
        Ok(())
    }

    /// The sheets with links and their number of rows, in two columns from this line on; gives the
    /// line below them.
    fn contents(&mut self, plan: &Plan<'_>, column: u16) -> Result<u32, XlsxError> {
        let mut line = self.line;
        self.sheet.write_string_with_format(line, column, "Sheets", &style::section())?;
        // The line between is the low one of the figures' totals.
        line += 2;
        let tables = plan.grids.iter().map(|grid| (grid.name.as_str(), grid.rows.len()));
        let charts = Some((CHARTS, plan.charts.len())).filter(|(_, count)| *count > 0);
        let own = [(CHECKS, plan.findings.len()), (RULES, plan.report.in_force.len())];
        let plans = super::plans::contents(plan);
        let plans = plans.iter().map(|(name, rows)| (name.as_str(), *rows));
        for (name, rows) in charts.into_iter().chain(tables).chain(plans).chain(own) {
            let url = Url::new(format!("internal:{}!A1", quoted(name)));
            let link = style::link(style::quiet(Stand::WORDS));
            self.sheet.write_url_with_options(line, column, url, name, "", Some(&link))?;
            let thing = if name == CHARTS { "chart" } else { "row" };
            let text = format!("{rows} {thing}{}", if rows == 1 { "" } else { "s" });
            self.sheet.write_string_with_format(line, column + 1, text, &style::faint())?;
            line += 1;
        }
        Ok(line + 1)
    }
}
