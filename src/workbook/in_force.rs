//! The Rules sheet: every rule, column and table in force, with its text and where it came from.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cell::fitting;
use super::grid::{self, FIRST_ROW};
use super::plan::Plan;
use super::style::{self, Ground, Stand};
use super::{measure, page};

const COLUMNS: [(&str, f64); 7] = [
    ("Kind", 9.0),
    ("Name", 30.0),
    ("Text", 80.0),
    ("From", 11.0),
    ("Place", 20.0),
    ("Hash", 11.0),
    ("About", 50.0),
];

/// Rows are so many lines high at most, or long rules would fill page after page.
const MOST_LINES: f64 = 3.0;
const CUT: &str = "Rows show three lines at most; the cell holds the whole text.";

pub(super) fn paint(sheet: &mut Worksheet, plan: &Plan<'_>) -> Result<(), XlsxError> {
    page::title(sheet, plan, "Rules in force")?;
    let heading = FIRST_ROW - 1;
    let plain = style::quiet(Stand::WRAPPED);
    for (at, (name, width)) in (0_u16..).zip(&COLUMNS) {
        sheet.set_column_width(at, *width)?.set_column_format(at, &plain)?;
        sheet.write_string_with_format(heading, at, *name, &style::heading(Stand::WORDS))?;
        if *name == "Text" {
            sheet.insert_note(heading, at, &grid::note(CUT))?;
        }
    }
    sheet.set_row_height(heading, 30)?;
    let own = style::cell(Stand::WRAPPED, Ground::Plain).set_bold();
    let mut line = FIRST_ROW;
    for rule in plan.report.in_force.iter() {
        // What is not bundled stands out: two estimators look there first.
        let is_own = rule.from != "bundled";
        let cells =
            [rule.kind, &rule.name, &rule.text, rule.from, &rule.place, &rule.hash, &rule.about];
        for (at, text) in (0_u16..).zip(cells) {
            if is_own {
                sheet.write_string_with_format(line, at, fitting(text), &own)?;
            } else if !text.is_empty() {
                sheet.write_string(line, at, fitting(text))?;
            }
        }
        let widths = COLUMNS.iter().map(|column| column.1);
        if let Some(height) = measure::row_height(cells.into_iter().zip(widths)) {
            sheet.set_row_height(line, height.min(MOST_LINES * measure::LINE))?;
        }
        line += 1;
    }
    let last = line.max(FIRST_ROW + 1) - 1;
    sheet.autofilter(heading, 0, last, 6)?;
    style::rule_off(sheet, FIRST_ROW..=last, 6)?;
    sheet.set_freeze_panes(FIRST_ROW, 2)?;
    page::set_up(sheet, plan, COLUMNS.iter().map(|column| column.1).sum(), Some(heading))
}
