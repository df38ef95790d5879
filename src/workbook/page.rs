//! Print set-up, title and view of a sheet: landscape, one page wide, heading repeated, job and
//! page numbers in the footer, the word INCOMPLETE in the header where it is so.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cell::fitting;
use super::plan::Plan;
use super::style;

pub(super) const LETTER: u8 = 1;
pub(super) const TABLOID: u8 = 3;
/// Widths of a digit that a landscape letter page takes at full size.
const LETTER_TAKES: f64 = 135.0;
/// Below this scale text gets hard to read and the larger paper is taken.
const LEAST_SCALE: f64 = 0.62;

/// What every sheet of an incomplete workbook says.
const INCOMPLETE: &str = "INCOMPLETE: see Checks";

/// Sets a sheet up to be printed; `width` in widths of a digit, `heading` the row to repeat.
pub(super) fn set_up(
    sheet: &mut Worksheet,
    plan: &Plan<'_>,
    width: f64,
    heading: Option<u32>,
) -> Result<(), XlsxError> {
    let paper = if LETTER_TAKES / width.max(1.0) < LEAST_SCALE { TABLOID } else { LETTER };
    sheet
        .set_landscape()
        .set_paper_size(paper)
        .set_print_fit_to_pages(1, 0)
        .set_margins(0.45, 0.45, 0.6, 0.6, 0.3, 0.3)
        .set_footer(format!("&L&9{}&C&9&A&R&9Page &P of &N", footer_text(&plan.job())));
    if plan.incomplete {
        sheet.set_header(format!("&C&\"-,Bold\"{INCOMPLETE}"));
    }
    if let Some(row) = heading {
        sheet.set_repeat_rows(row, row)?;
    }
    Ok(())
}

/// The title and the line under it, in rows 0 and 1.
pub(super) fn title(sheet: &mut Worksheet, plan: &Plan<'_>, title: &str) -> Result<(), XlsxError> {
    sheet.write_string_with_format(0, 0, fitting(title), &style::title())?;
    sheet.set_row_height(0, 22)?;
    let is_summary = title == plan.job();
    let line = if is_summary {
        format!("Steel deck takeoff from {}", plan.report.schedule)
    } else {
        format!("{} · from {}", plan.job(), plan.report.schedule)
    };
    // The Summary has a banner.
    if plan.incomplete && !is_summary {
        let line = format!("{INCOMPLETE} · {line}");
        sheet.write_string_with_format(1, 0, fitting(&line), &style::alarm())?;
    } else {
        sheet.write_string_with_format(1, 0, fitting(&line), &style::faint())?;
    }
    sheet.set_screen_gridlines(false);
    Ok(())
}

/// A job's name in a footer, where `&` begins a command, a leading digit would join the size
/// before it, and a longer name than half a page is printed over the sheet's.
fn footer_text(job: &str) -> String {
    const LONGEST: usize = 50;
    let one_line: String =
        job.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
    let mut cut: String = one_line.chars().take(LONGEST).collect();
    if cut.len() < one_line.len() {
        cut.push('…');
    }
    format!(" {}", cut.replace('&', "&&"))
}
