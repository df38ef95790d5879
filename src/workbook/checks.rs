//! The Checks sheet: what was found, a row a finding, with a link to the first row it points to.

use rust_xlsxwriter::{Url, Worksheet, XlsxError};

use crate::finding::{Finding, Place, column_letters};

use super::cell::fitting;
use super::grid::FIRST_ROW;
use super::names::quoted;
use super::plan::{CHECKS, Plan, SUMMARY};
use super::style::{self, Ground, Stand};
use super::{measure, page};

const HERE_WIDTH: f64 = 34.0;
const COLUMNS: [(&str, f64); 6] = [
    ("Kind", 10.0),
    ("Code", 22.0),
    ("In the schedule or scripts", 26.0),
    ("In this workbook", HERE_WIDTH),
    ("What was found", 56.0),
    ("What to do", 46.0),
];
const SCRIPT: (&str, f64) = ("Script", 60.0);
/// Places of a finding that are spelled out.
const SPELLED: usize = 12;
const MOST_LINKS: usize = 10_000;
const MOST_ROWS: usize = 1_000_000;

/// The cell of a finding, for links back: `'Checks'!A7`.
pub(super) fn place_of(finding: usize) -> String {
    format!("{}!A{}", quoted(CHECKS), FIRST_ROW as usize + finding + 1)
}

pub(super) fn paint(sheet: &mut Worksheet, plan: &Plan<'_>) -> Result<(), XlsxError> {
    let scripts = plan.findings.iter().any(|finding| finding.excerpt.is_some());
    let columns: Vec<(&str, f64)> = COLUMNS.into_iter().chain(scripts.then_some(SCRIPT)).collect();
    page::title(sheet, plan, CHECKS)?;
    let heading = FIRST_ROW - 1;
    for (at, (name, width)) in (0_u16..).zip(&columns) {
        sheet.set_column_width(at, *width)?;
        sheet.write_string_with_format(heading, at, *name, &style::heading(Stand::WORDS))?;
    }
    sheet.set_row_height(heading, 30)?;
    if plan.findings.is_empty() {
        sheet.write_string_with_format(FIRST_ROW, 0, "Nothing was found.", &style::faint())?;
    }
    let mut line = FIRST_ROW;
    for (at, finding) in plan.findings.iter().enumerate().take(MOST_ROWS) {
        paint_finding(sheet, plan, line, finding, at < MOST_LINKS)?;
        line += 1;
    }
    let left = plan.findings.len().saturating_sub(MOST_ROWS);
    if left > 0 {
        let more = format!("and {left} more, which the sheet has no room for");
        sheet.write_string_with_format(line, 0, more, &style::faint())?;
    }
    let last = line.max(FIRST_ROW + 1) - 1;
    let last_column = u16::try_from(columns.len() - 1).unwrap_or(0);
    sheet.autofilter(heading, 0, last, last_column)?;
    sheet.set_freeze_panes(FIRST_ROW, 0)?;
    page::set_up(sheet, plan, columns.iter().map(|column| column.1).sum(), Some(heading))
}

fn paint_finding(
    sheet: &mut Worksheet,
    plan: &Plan<'_>,
    line: u32,
    finding: &Finding,
    linked: bool,
) -> Result<(), XlsxError> {
    let plain = style::cell(Stand::WRAPPED, Ground::Plain);
    let marked = style::cell(Stand::WRAPPED, Ground::Cell(finding.severity));
    let (rows, elsewhere): (Vec<&Place>, Vec<&Place>) =
        finding.places.iter().partition(|place| matches!(place, Place::Table { .. }));
    let cells: Vec<(String, String)> =
        rows.iter().take(SPELLED).filter_map(|place| plan.locate(place)).collect();
    let here = rows.iter().take(SPELLED).filter_map(|place| {
        let (sheet, cell) = plan.locate(place)?;
        Some(match place {
            Place::Table { about, .. } if !about.is_empty() => format!("{sheet}!{cell} ({about})"),
            _ => format!("{sheet}!{cell}"),
        })
    });
    let texts = [
        finding.severity.to_string(),
        finding.code.to_string(),
        listed(elsewhere.iter().map(ToString::to_string), elsewhere.len()),
        on_one_line(here, rows.len()),
        finding.message.clone(),
        finding.hints.join("\n"),
        finding.excerpt.as_deref().unwrap_or_default().trim_end().to_string(),
    ];
    for (at, text) in (0_u16..).zip(&texts) {
        let text = fitting(text);
        match (at, cells.first().filter(|_| linked)) {
            (0, _) => sheet.write_string_with_format(line, at, text, &marked)?,
            (3, Some((name, cell))) => {
                let url = Url::new(format!("internal:{}!{cell}", quoted(name)));
                let format = style::link(plain.clone());
                sheet.write_url_with_options(line, at, url, text, "", Some(&format))?
            }
            (6, _) if text.is_empty() => sheet,
            (6, _) => {
                let script = plain.clone().set_font_name("Consolas").set_font_size(9);
                sheet.write_string_with_format(line, at, text, &script)?
            }
            _ => sheet.write_string_with_format(line, at, text, &plain)?,
        };
    }
    let widths = COLUMNS.iter().chain([&SCRIPT]).map(|column| column.1);
    if let Some(height) = measure::row_height(texts.iter().map(String::as_str).zip(widths)) {
        sheet.set_row_height(line, height)?;
    }
    Ok(())
}

/// The first of so many places, in words.
fn listed(places: impl Iterator<Item = String>, all: usize) -> String {
    let shown: Vec<String> = places.take(SPELLED).collect();
    let left = all - shown.len().min(all);
    let text = shown.join(", ");
    if left > 0 && !shown.is_empty() { format!("{text} and {left} more") } else { text }
}

/// As many of the places as fit into their column: a link's text is not wrapped by every program.
/// The rows themselves are marked and linked, each of them.
fn on_one_line(places: impl Iterator<Item = String>, all: usize) -> String {
    let places: Vec<String> = places.collect();
    let shown = |count: usize| listed(places.iter().take(count).cloned(), all);
    let fits = |count: &usize| measure::text_width(&shown(*count)) <= HERE_WIDTH - 1.0;
    (2..=places.len()).rev().find(fits).map_or_else(|| shown(1), shown)
}

impl Plan<'_> {
    /// The sheet and cell where a place of an output table stands.
    fn locate(&self, place: &Place) -> Option<(String, String)> {
        let Place::Table { table, row, column, .. } = place else { return None };
        let row = usize::try_from(*row).ok()?;
        if self.summary.as_ref().is_some_and(|grid| grid.table.key == *table) {
            return Some((SUMMARY.to_string(), "A1".to_string()));
        }
        let grid =
            self.grids.iter().find(|grid| grid.table.key == *table && grid.rows.contains(&row))?;
        let at = grid.columns.iter().position(|shown| shown.column.key == *column).unwrap_or(0);
        let letters = column_letters(u32::try_from(at).ok()?);
        let line = row - grid.rows.start + FIRST_ROW as usize + 1;
        Some((grid.name.clone(), format!("{letters}{line}")))
    }
}
