//! The workbook as a whole: its sheets in order, its properties, and how hard it is packed.

use std::panic::{AssertUnwindSafe, catch_unwind};

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::table::CAUTION;

use super::cell::plain;
use super::grid::{FIRST_ROW, Grid};
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::target::{MARK, Sink};
use super::{chart, checks, in_force, page, plans, style, summary};

/// Packs a large workbook lightly: three times as fast for a third more bytes.
const LIGHT: u8 = 1;
const USUAL: u8 = 6;

/// Writes the planned workbook.
pub(super) fn write(plan: &Plan<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
    // The library panics where its own temporary file can not be written.
    let written = catch_unwind(AssertUnwindSafe(|| build(plan)?.save_to_writer(sink)));
    match written {
        Ok(result) => result.map_err(|error| error.to_string()),
        Err(_) => Err("the temporary folder could not be written; it may be full".to_string()),
    }
}

fn build(plan: &Plan<'_>) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&properties(plan)?);
    let large = plan.grids.iter().any(Grid::is_large);
    book.set_zip_compression_level(if large { LIGHT } else { USUAL });

    let sheet = book.add_worksheet().set_name(SUMMARY)?;
    sheet.set_tab_color(style::ACCENT);
    summary::paint(sheet, plan)?;
    if !plan.charts.is_empty() {
        chart::paint(book.add_worksheet().set_name(CHARTS)?, plan)?;
    }
    for grid in &plan.grids {
        let sheet = if grid.is_large() {
            book.add_worksheet_with_constant_memory()?
        } else {
            book.add_worksheet()
        };
        paint_table(sheet.set_name(&grid.name)?, plan, grid)?;
    }
    plans::paint(&mut book, plan)?;
    let sheet = book.add_worksheet().set_name(CHECKS)?;
    if let Some(worst) = plan.findings.first() {
        sheet.set_tab_color(style::tint(worst.severity).2);
    }
    checks::paint(sheet, plan)?;
    in_force::paint(book.add_worksheet().set_name(RULES)?, plan)?;
    Ok(book)
}

fn paint_table(sheet: &mut Worksheet, plan: &Plan<'_>, grid: &Grid<'_>) -> Result<(), XlsxError> {
    page::title(sheet, plan, &grid.table.title)?;
    if grid.is_large() {
        sheet.set_screen_gridlines(true);
    }
    grid.paint_widths(sheet)?;
    grid.paint(sheet, FIRST_ROW - 2)?;
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
