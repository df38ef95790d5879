//! The workbook as a whole: its sheets in order, its properties, and how hard it is packed.

use std::cmp::Reverse;
use std::io::Write;
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::finding::Severity;
use crate::parallel;
use crate::table::{CAUTION, LevelPlan};

use super::cell::plain;
use super::grid::{FIRST_ROW, Grid, Hung};
use super::packing::{self, Packed};
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::target::{MARK, Sink};
use super::{anchor, chart, checks, in_force, page, plans, style, summary};

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
        Err(_) => Err(packing::NO_ROOM.to_string()),
    }
}

fn save(plan: &Plan<'_>, threads: NonZeroUsize, sink: &mut Sink<'_>) -> Result<(), String> {
    let failed = |error: XlsxError| error.to_string();
    let (mut book, packed) = build(plan, threads)?;
    let has_pictures = !plan.report.plans.is_empty();
    if packed.is_empty() && !has_pictures {
        return book.save_to_writer(sink).map_err(failed);
    }
    let mut bytes = book.save_to_buffer().map_err(failed)?;
    if has_pictures {
        bytes = anchor::hung_on_one_cell(bytes)?;
    }
    if packed.is_empty() {
        return sink.write_all(&bytes).map_err(|error| error.to_string());
    }
    packing::put_in(&bytes, packed, sink).map_err(|error| error.to_string())
}

/// The book, and its large sheets by their numbers from 1.
fn build(
    plan: &Plan<'_>,
    threads: NonZeroUsize,
) -> Result<(Workbook, Vec<(usize, Packed)>), String> {
    let failed = |error: XlsxError| error.to_string();
    let mut book = Workbook::new();
    book.set_properties(&properties(plan).map_err(failed)?);
    book.set_zip_compression_level(packing::LIGHTLY);
    let pages = pages(plan, threads).into_iter();
    let begun = pages.map(|page| page.begin(&mut book, plan)).collect::<Result<Vec<_>, _>>();
    let mut numbered: Vec<(usize, Begun<'_>)> = (1..).zip(begun.map_err(failed)?).collect();
    // Those that take longest first, so that no thread is left with one at the end.
    numbered.sort_by_key(|(_, begun)| Reverse(begun.page.cells()));
    let painted = |begun: Begun<'_>| {
        let (sheet, large) = begun.paint(plan).map_err(failed)?;
        Ok::<_, String>((sheet, large.map(packing::pack).transpose()?))
    };
    let mut done = parallel::map(numbered, threads, |(number, begun)| (number, painted(begun)));
    done.sort_by_key(|(number, _)| *number);
    let mut large = Vec::new();
    for (number, painted) in done {
        let (sheet, packed) = painted?;
        book.push_worksheet(sheet);
        large.extend(packed.map(|packed| (number, packed)));
    }
    Ok((book, large))
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
    /// The cells of its rows, where it is a table.
    fn cells(&self) -> usize {
        match self {
            Page::Table(grid) => grid.cells(),
            _ => 0,
        }
    }

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
    /// The sheet for the book, and the one that it stands in for where that is large.
    fn paint(self, plan: &Plan<'_>) -> Result<(Worksheet, Option<Worksheet>), XlsxError> {
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
                let notes = grid.paint_rows(&mut sheet, FIRST_ROW, &formats)?;
                grid.end(&mut sheet, FIRST_ROW, &notes)?;
                if grid.is_large() {
                    return Ok((stand_in(plan, grid, &notes)?, Some(sheet)));
                }
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
        Ok((sheet, None))
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

/// A sheet that stands in the book for a large one, which is packed apart: all that the book's other
/// parts say of it.
fn stand_in(plan: &Plan<'_>, grid: &Grid<'_>, notes: &[Hung]) -> Result<Worksheet, XlsxError> {
    let mut sheet = Worksheet::new();
    sheet.set_name(&grid.name)?;
    grid.note_headings(&mut sheet, FIRST_ROW - 1)?;
    grid.end(&mut sheet, FIRST_ROW, notes)?;
    page::set_up(&mut sheet, plan, grid.width(), Some(FIRST_ROW - 1))?;
    Ok(sheet)
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
