//! The plan sheets: a level's drawing as an image, and beside it the level's panels, by mark and
//! by bay.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::sync::Arc;

use rust_xlsxwriter::{Formula, Image, ObjectMovement, Worksheet, XlsxError};

use crate::finding::column_letters;
use crate::picture::Picture;
use crate::table::LevelPlan;

use super::cell::{fitting, plain};
use super::names::mend;
use super::page;
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::style::{self, Ground, Stand};
use super::unit::{self, Side};

/// Dots an inch: letters of 5 points stay sharp in print.
#[cfg(feature = "plans")]
const DOTS_AN_INCH: u32 = 200;
/// The row of the image and of the list's first line.
const TOP: u32 = 3;
/// Columns under the image: their width, in digits and in points.
const UNDER: (f64, f64) = (10.0, 75.0 * 0.75);
/// The list's columns: their widths.
const LIST: [f64; 5] = [10.0, 10.0, 12.0, 8.0, 10.0];
/// A picture wider than this goes on the larger paper, pt.
const LETTER_TAKES: f64 = 600.0;
/// Rows of a list beyond these are left to the Panels sheet.
const MOST_ROWS: usize = 20_000;

/// The sheets' names, apart from those of all other sheets.
pub(super) fn names(plan: &Plan<'_>) -> Vec<String> {
    let mut taken = [SUMMARY, CHARTS, CHECKS, RULES].map(str::to_string).to_vec();
    taken.extend(plan.grids.iter().map(|grid| grid.name.clone()));
    plan.report.plans.iter().map(|one| mend(&format!("Plan {}", one.level), &mut taken)).collect()
}

/// The sheets' names and how many rows their lists by bay have.
pub(super) fn contents(plan: &Plan<'_>) -> Vec<(String, usize)> {
    let rows = plan.report.plans.iter().map(|one| Panels::of(plan, &one.level).by_bay.lines.len());
    names(plan).into_iter().zip(rows).collect()
}

/// Paints a level's sheet.
pub(super) fn paint(
    sheet: &mut Worksheet,
    plan: &Plan<'_>,
    one: &LevelPlan,
    image: Option<&[u8]>,
) -> Result<(), XlsxError> {
    let title = one.title();
    page::title(sheet, plan, &capitalised(&title))?;
    let under = columns_under(&one.picture);
    for column in 0..under {
        sheet.set_column_width(column, UNDER.0)?;
    }
    for (column, width) in (under..).zip(LIST) {
        sheet.set_column_width(column, width)?;
    }
    if let Some(bytes) = image {
        let image = Image::new_from_buffer(bytes)?
            .set_alt_text(fitting(&title).chars().take(200).collect::<String>())
            .set_object_movement(ObjectMovement::MoveButDontSizeWithCells);
        sheet.insert_image(TOP, 0, &image)?;
    } else {
        let words =
            "This build of the program draws no images; `run --plans` writes the plan as SVG.";
        sheet.write_string_with_format(TOP, 0, words, &style::faint())?;
    }
    let panels = Panels::of(plan, &one.level);
    panels.paint(sheet, under)?;
    let width = f64::from(under) * UNDER.0 + LIST.iter().sum::<f64>();
    page::set_up(sheet, plan, width, None)?;
    let paper = if one.picture.width > LETTER_TAKES { page::TABLOID } else { page::LETTER };
    sheet.set_paper_size(paper);
    Ok(())
}

fn columns_under(picture: &Picture) -> u16 {
    let mut columns = 1;
    while f64::from(columns) * UNDER.1 < picture.width && columns < 40 {
        columns += 1;
    }
    columns
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Each level's image; those with one picture have one image, and different ones are drawn on
/// several threads.
#[cfg(feature = "plans")]
pub(super) fn images(plans: &[LevelPlan], threads: NonZeroUsize) -> Vec<Option<Arc<Vec<u8>>>> {
    let mut different: Vec<&Arc<Picture>> = Vec::new();
    let places: Vec<usize> = plans
        .iter()
        .map(|plan| {
            let known = different.iter().position(|other| Arc::ptr_eq(other, &plan.picture));
            known.unwrap_or_else(|| {
                different.push(&plan.picture);
                different.len() - 1
            })
        })
        .collect();
    let drawn = crate::parallel::map(different, threads, |picture| {
        crate::drawing::png(picture, DOTS_AN_INCH).map(Arc::new)
    });
    places.into_iter().map(|at| drawn.get(at).cloned().flatten()).collect()
}

#[cfg(not(feature = "plans"))]
pub(super) fn images(plans: &[LevelPlan], _: NonZeroUsize) -> Vec<Option<Arc<Vec<u8>>>> {
    plans.iter().map(|_| None).collect()
}

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
    title: &'static str,
    /// The heading of the first column.
    of: &'static str,
    lines: Vec<Line>,
}

/// The panels of a level from the Panels table.
struct Panels {
    by_mark: List,
    by_bay: List,
}

impl Panels {
    fn of(plan: &Plan<'_>, level: &str) -> Panels {
        let list = |title, of| List { title, of, lines: Vec::new() };
        let mut panels = Panels {
            by_mark: list("Panels of the level by mark", "Type"),
            by_bay: list("By bay", "Bay"),
        };
        let Some(table) = plan.report.table("panels") else { return panels };
        let mut places: BTreeMap<String, usize> = BTreeMap::new();
        let at = |key: &str| table.column(key);
        for row in 0..table.rows {
            let cell = |key: &str| at(key).and_then(|at| table.row(row).get(at));
            if at("level").and_then(|at| table.row(row).text(at)) != Some(level)
                || panels.by_bay.lines.len() >= MOST_ROWS
            {
                continue;
            }
            let words = |key: &str| cell(key).as_deref().map(plain).unwrap_or_default();
            let number = |key: &str| cell(key).and_then(|value| value.as_number()).unwrap_or(0.0);
            let line = Line {
                of: words("bay"),
                mark: words("mark"),
                length: words("length"),
                count: number("count"),
                weight_lb: number("weight_lb"),
            };
            let known = *places.entry(line.mark.clone()).or_insert(panels.by_mark.lines.len());
            match panels.by_mark.lines.get_mut(known) {
                Some(sum) => {
                    sum.count += line.count;
                    sum.weight_lb += line.weight_lb;
                }
                None => panels.by_mark.lines.push(Line {
                    of: words("type"),
                    mark: line.mark.clone(),
                    length: line.length.clone(),
                    ..line
                }),
            }
            panels.by_bay.lines.push(line);
        }
        panels
    }

    fn paint(&self, sheet: &mut Worksheet, left: u16) -> Result<(), XlsxError> {
        let mut line = TOP;
        for list in [&self.by_mark, &self.by_bay] {
            sheet.write_string_with_format(line, left, list.title, &style::section())?;
            line = paint_list(sheet, line + 1, left, list)? + 1;
        }
        Ok(())
    }
}

/// A list under its headings, with its totals below; gives the line after it.
fn paint_list(sheet: &mut Worksheet, top: u32, left: u16, list: &List) -> Result<u32, XlsxError> {
    let words = Stand::WORDS;
    let right = Stand { side: Side::Right, ..Stand::WORDS };
    let whole = Stand { number_format: unit::look("count").format, ..right };
    let stands = [words, words, right, whole, whole];
    let headings = [list.of, "Mark", "Length", "Panels", "Weight, lb"];
    for ((column, heading), stand) in (left..).zip(headings).zip(stands) {
        sheet.write_string_with_format(top, column, heading, &style::heading(stand))?;
    }
    let formats = stands.map(|stand| style::cell(stand, Ground::Plain));
    let [of, mark, length, count, weight] = &formats;
    let mut row = top + 1;
    for line in &list.lines {
        sheet.write_string_with_format(row, left, fitting(&line.of), of)?;
        sheet.write_string_with_format(row, left + 1, fitting(&line.mark), mark)?;
        sheet.write_string_with_format(row, left + 2, fitting(&line.length), length)?;
        sheet.write_number_with_format(row, left + 3, line.count, count)?;
        sheet.write_number_with_format(row, left + 4, line.weight_lb, weight)?;
        row += 1;
    }
    if list.lines.is_empty() {
        sheet.write_string_with_format(row, left, "none", &style::faint())?;
        return Ok(row + 1);
    }
    for (column, stand) in (left..).zip([words, words, right]) {
        let word = if column == left { "Total" } else { "" };
        sheet.write_string_with_format(row, column, word, &style::total(stand))?;
    }
    let sums: [fn(&Line) -> f64; 2] = [|line| line.count, |line| line.weight_lb];
    for (column, sum) in (left + 3..).zip(sums) {
        let letters = column_letters(column.into());
        let formula = format!("=SUM({letters}{}:{letters}{row})", top + 2);
        let sum: f64 = list.lines.iter().map(sum).sum();
        let formula = Formula::new(formula).set_result(sum.to_string());
        sheet.write_formula_with_format(row, column, formula, &style::total(whole))?;
    }
    Ok(row + 1)
}
