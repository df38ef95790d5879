//! The workbook as a whole: its sheets in order, its properties, and how hard it is packed.

use std::io::Write;
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::parallel;
use crate::table::{CAUTION, LevelPlan};

use super::cell::plain;
use super::grid::{FIRST_ROW, Grid};
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::target::{MARK, Sink};
use super::{anchor, chart, checks, in_force, page, plans, style, summary};

/// Lightly packed: twice as fast as is usual for a sixth more bytes, three times for a third in large
/// workbooks.
const PACKED: u8 = 1;

/// Writes the planned workbook.
pub(super) fn write(
    plan: &Plan<'_>,
    threads: NonZeroUsize,
    sink: &mut Sink<'_>,
) -> Result<(), String> {
    // The library panics where its own temporary file can not be written or it has no thread.
    let written = catch_unwind(AssertUnwindSafe(|| save(plan, threads, sink)));
    match written {
        Ok(result) => result,
        Err(why) if why.downcast_ref::<String>().is_some_and(|why| why.contains("thread")) => {
            Err("the machine gave no thread to write it on".to_string())
        }
        Err(_) => Err("the temporary folder could not be written; it may be full".to_string()),
    }
}

fn save(plan: &Plan<'_>, threads: NonZeroUsize, sink: &mut Sink<'_>) -> Result<(), String> {
    let failed = |error: XlsxError| error.to_string();
    let mut book = build(plan, threads).map_err(failed)?;
    if plan.report.plans.is_empty() {
        let saved = book.save_to_writer(sink).map_err(failed);
        if threads.get() > 1 && plan.grids.iter().any(Grid::is_large) {
            // The library's temporary files take as long to go as the output to be synced.
            let _ = std::thread::Builder::new().spawn(move || drop(book));
        }
        return saved;
    }
    let bytes = anchor::hung_on_one_cell(book.save_to_buffer().map_err(failed)?)?;
    sink.write_all(&bytes).map_err(|error| error.to_string())
}

fn build(plan: &Plan<'_>, threads: NonZeroUsize) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&properties(plan)?);
    book.set_zip_compression_level(PACKED);
    let pages = pages(plan, threads).into_iter();
    let begun = pages.map(|page| page.begin(&mut book, plan)).collect::<Result<Vec<_>, _>>()?;
    for sheet in parallel::map(begun, threads, |begun| begun.paint(plan)) {
        book.push_worksheet(sheet?);
    }
    Ok(book)
}

/// A sheet of the workbook.
enum Page<'a> {
    Summary,
    Charts,
    Table(&'a Grid<'a>),
    /// A level's drawing under its name, with its image.
    Level(&'a LevelPlan, String, Option<Arc<Vec<u8>>>),
    Checks,
    Rules,
}

/// The sheets in their order.
fn pages<'a>(plan: &'a Plan<'_>, threads: NonZeroUsize) -> Vec<Page<'a>> {
    let levels = &plan.report.plans;
    let named = levels.iter().zip(plans::names(plan)).zip(plans::images(levels, threads));
    let charts = (!plan.charts.is_empty()).then_some(Page::Charts);
    let mut pages: Vec<Page<'a>> = [Page::Summary].into_iter().chain(charts).collect();
    pages.extend(plan.grids.iter().map(Page::Table));
    pages.extend(named.map(|((level, name), image)| Page::Level(level, name, image)));
    pages.extend([Page::Checks, Page::Rules]);
    pages
}

impl<'a> Page<'a> {
    /// The sheet, with all that has to be done sheet after sheet. The formats of large tables are
    /// numbered as they are met: so that the same report gives the same bytes, all are known before.
    fn begin(self, book: &mut Workbook, plan: &Plan<'_>) -> Result<Begun<'a>, XlsxError> {
        let mut begun = Begun { page: self, sheet: Worksheet::new(), formats: Vec::new() };
        let Page::Table(grid) = &begun.page else { return Ok(begun) };
        begun.formats = grid.formats();
        if grid.is_large() {
            begun.sheet = book.new_worksheet_with_constant_memory()?;
            begin_table(&mut begun.sheet, plan, grid, &begun.formats)?;
            for format in grid.formats_of_rows(&begun.formats) {
                book.register_format(&format);
            }
        }
        Ok(begun)
    }
}

/// A sheet to be painted, whatever other sheets are.
struct Begun<'a> {
    page: Page<'a>,
    sheet: Worksheet,
    /// Of a table's cells.
    formats: Vec<[Format; 7]>,
}

impl Begun<'_> {
    fn paint(self, plan: &Plan<'_>) -> Result<Worksheet, XlsxError> {
        let Begun { page, mut sheet, formats } = self;
        match page {
            Page::Summary => {
                sheet.set_name(SUMMARY)?.set_tab_color(style::ACCENT);
                summary::paint(&mut sheet, plan)?;
            }
            Page::Charts => chart::paint(sheet.set_name(CHARTS)?, plan)?,
            Page::Table(grid) => {
                if !grid.is_large() {
                    begin_table(&mut sheet, plan, grid, &formats)?;
                }
                grid.paint_rows(&mut sheet, FIRST_ROW, &formats)?;
            }
            Page::Level(level, name, image) => {
                let image = image.as_ref().map(|image| image.as_slice());
                plans::paint(sheet.set_name(&name)?, plan, level, image)?;
            }
            Page::Checks => {
                sheet.set_name(CHECKS)?;
                if let Some(worst) = plan.findings.first() {
                    sheet.set_tab_color(style::tint(worst.severity).2);
                }
                checks::paint(&mut sheet, plan)?;
            }
            Page::Rules => in_force::paint(sheet.set_name(RULES)?, plan)?,
        }
        Ok(sheet)
    }
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
