//! The plan sheets: a level's drawing as an image, and beside it the level's panels, by mark and
//! by bay.

use std::num::NonZeroUsize;
use std::sync::Arc;

use rust_xlsxwriter::{Image, ObjectMovement, Worksheet, XlsxError};

use crate::picture::Picture;
use crate::table::LevelPlan;

use super::cell::fitting;
use super::lists::{Panels, capitalised};
use super::names::mend;
use super::page;
use super::plan::{CHARTS, CHECKS, Plan, RULES, SUMMARY};
use super::style;

/// Dots an inch: letters of 5 points stay sharp in print.
#[cfg(feature = "plans")]
const DOTS_AN_INCH: u32 = 200;
/// The row of the image and of the list's first line.
const TOP: u32 = 3;
/// Columns under the image: their width, in digits and in points.
const UNDER: (f64, f64) = (10.0, 75.0 * 0.75);
/// A picture wider than this goes on the larger paper, pt.
const LETTER_TAKES: f64 = 600.0;

/// The sheets' names, apart from those of all other sheets.
pub(super) fn names(plan: &Plan<'_>) -> Vec<String> {
    let mut taken = [SUMMARY, CHARTS, CHECKS, RULES].map(str::to_string).to_vec();
    taken.extend(plan.grids.iter().map(|grid| grid.name.clone()));
    plan.report.plans.iter().map(|one| mend(&format!("Plan {}", one.level), &mut taken)).collect()
}

/// The sheets' names and how many rows their lists by bay have.
pub(super) fn contents(plan: &Plan<'_>) -> Vec<(String, usize)> {
    let rows = plan.report.plans.iter().map(|one| Panels::of(plan.report, &one.level).rows());
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
    let panels = Panels::of(plan.report, &one.level);
    let widths = panels.widths();
    for (column, width) in (under..).zip(widths) {
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
    panels.paint(sheet, (TOP, under))?;
    let width = f64::from(under) * UNDER.0 + widths.iter().sum::<f64>();
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
