//! The workbook as a whole: its sheets in order, its properties, and how hard it is packed.

use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::parallel;
use crate::table::CAUTION;

use super::cell::plain;
use super::grid::{FIRST_ROW, Grid};
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::target::{MARK, Sink};
use super::{chart, checks, in_force, page, plans, style, summary};

/// Lightly packed: twice as fast as is usual for a sixth more bytes, three times for a third in large
/// workbooks.
const PACKED: u8 = 1;

/// Writes the planned workbook.
pub(super) fn write(
    plan: &Plan<'_>,
    threads: NonZeroUsize,
    sink: &mut Sink<'_>,
) -> Result<(), String> {
    // The library panics where its own temporary file can not be written.
    let written = catch_unwind(AssertUnwindSafe(|| build(plan, threads)?.save_to_writer(sink)));
    match written {
        Ok(result) => result.map_err(|error| error.to_string()),
        Err(_) => Err("the temporary folder could not be written; it may be full".to_string()),
    }
}

fn build(plan: &Plan<'_>, threads: NonZeroUsize) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&properties(plan)?);
    let mut large = large_sheets(&mut book, plan, threads)?.into_iter();
    book.set_zip_compression_level(PACKED);

    let sheet = book.add_worksheet().set_name(SUMMARY)?;
    sheet.set_tab_color(style::ACCENT);
    summary::paint(sheet, plan)?;
    if !plan.charts.is_empty() {
        chart::paint(book.add_worksheet().set_name(CHARTS)?, plan)?;
    }
    for grid in &plan.grids {
        if !grid.is_large() {
            let sheet = book.add_worksheet();
            let formats = grid.formats();
            begin_table(sheet, plan, grid, &formats)?;
            grid.paint_rows(sheet, FIRST_ROW, &formats)?;
        } else if let Some(sheet) = large.next() {
            book.push_worksheet(sheet);
        }
    }
    plans::paint(&mut book, plan, threads)?;
    let sheet = book.add_worksheet().set_name(CHECKS)?;
    if let Some(worst) = plan.findings.first() {
        sheet.set_tab_color(style::tint(worst.severity).2);
    }
    checks::paint(sheet, plan)?;
    in_force::paint(book.add_worksheet().set_name(RULES)?, plan)?;
    Ok(book)
}

/// The sheets of the large tables, their rows written on several threads. Formats are numbered as
/// they are met: so that the same report gives the same bytes, all are known before.
fn large_sheets(
    book: &mut Workbook,
    plan: &Plan<'_>,
    threads: NonZeroUsize,
) -> Result<Vec<Worksheet>, XlsxError> {
    let mut begun = Vec::new();
    for grid in plan.grids.iter().filter(|grid| grid.is_large()) {
        let mut sheet = book.new_worksheet_with_constant_memory()?;
        let formats = grid.formats();
        begin_table(&mut sheet, plan, grid, &formats)?;
        grid.formats_of_rows(&formats).iter().for_each(|format| book.register_format(format));
        begun.push((grid, sheet, formats));
    }
    let rows = |(grid, mut sheet, formats): (&Grid<'_>, Worksheet, Vec<[Format; 7]>)| {
        grid.paint_rows(&mut sheet, FIRST_ROW, &formats).map(|()| sheet)
    };
    parallel::map(begun, threads, rows).into_iter().collect()
}

/// All of a table's sheet but its rows.
fn begin_table(
    sheet: &mut Worksheet,
    plan: &Plan<'_>,
    grid: &Grid<'_>,
    formats: &[[Format; 7]],
) -> Result<(), XlsxError> {
    sheet.set_name(&grid.name)?;
    page::title(sheet, plan, &grid.table.title)?;
    if grid.is_large() {
        sheet.set_screen_gridlines(true);
    }
    grid.paint_widths(sheet)?;
    grid.paint_head(sheet, FIRST_ROW - 2, formats)?;
    sheet.set_freeze_panes(FIRST_ROW, grid.frozen())?;
    page::set_up(sheet, plan, grid.width(), Some(FIRST_ROW - 1))
}

fn properties(plan: &Plan<'_>) -> Result<DocProperties, XlsxError> {
    const LONGEST: usize = 250;
    let cut = |text: &str| text.chars().take(LONGEST).collect::<String>();
    let head = |wanted: &str| {
        let entry = plan.report.head.iter().find(|(key, _)| key.eq_ignore_ascii_case(wanted));
        entry.map(|(_, value)| cut(&plain(value))).unwrap_or_default()
    };
    let errors = plan.findings.iter().filter(|finding| finding.severity == Severity::Error).count();
    let status =
        if errors > 0 { format!("incomplete: {errors} in error") } else { "complete".to_string() };
    // No clock: the same report gives the same bytes.
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    Ok(DocProperties::new()
        .set_title(cut(&format!("{} takeoff", plan.job())))
        .set_subject(cut(&format!("Steel deck takeoff from {}", plan.report.schedule)))
        .set_author(head("estimator"))
        .set_comment(CAUTION)
        .set_status(status)
        .set_creation_datetime(&created)
        .set_custom_property(MARK.0, MARK.1)
        .set_custom_property("schedule SHA-256", cut(&plan.report.schedule_hash).as_str()))
}
