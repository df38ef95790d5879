//! Outlines and openings of bays: whether they can be laid out, and what is odd in them.
//!
//! In: the job with its bays' directions known. Out: findings at the cells of Outlines, Openings
//! and Bays, and the bays whose shape can not be laid out.

use std::collections::HashSet;
use std::sync::OnceLock;

use super::log::Log;
use super::marks::key;
use super::resolve::text_of;
use crate::deck::layout::openings::{extent, inside, overlap, where_it_is};
use crate::deck::layout::outline::{Corner, simple};
use crate::finding::{Finding, Place};
use crate::job::shape::{Corner as PlanCorner, PlanOpening, area_ft2};
use crate::job::{Bay, Entry, Job, Runs, Status};
use crate::length::{Length, Unit};
use crate::value::Value;

/// Width and outline may differ by so much before it is said.
const SLACK: Length = Length::inches(1);

/// Says what is wrong in the shapes and takes out the bays that can not be laid out, with their
/// outlines and openings.
pub fn take_out(job: &mut Job, log: &mut Log) -> Vec<Bay> {
    if ["outlines", "openings"].iter().all(|sheet| job.sheet(sheet).is_empty()) {
        return Vec::new();
    }
    let is_sound: Vec<bool> =
        job.bays.iter().map(|bay| bay.status == Status::Void || is_sound(job, bay, log)).collect();
    let mut sound = is_sound.into_iter();
    let (bays, out): (Vec<Bay>, Vec<Bay>) =
        std::mem::take(&mut job.bays).into_iter().partition(|_| sound.next().unwrap_or(true));
    let key = |level: &str, bay: &str| (key(level).into_owned(), key(bay).into_owned());
    let kept: HashSet<_> = bays.iter().map(|bay| key(&bay.level, &bay.mark)).collect();
    let gone: HashSet<_> = out.iter().map(|bay| key(&bay.level, &bay.mark)).collect();
    for sheet in ["outlines", "openings"] {
        let Some(rows) = job.sheets.get_mut(sheet) else { continue };
        rows.retain(|row| match (text_of(&row.fields, "level"), text_of(&row.fields, "bay")) {
            (Some(level), Some(bay)) => {
                let key = key(&level, &bay);
                kept.contains(&key) || !gone.contains(&key)
            }
            _ => true,
        });
    }
    // Their places are found anew: rows went, and levels like others get rows of their own.
    job.shapes = OnceLock::new();
    job.bays = bays;
    out
}

/// A bay's words in messages and its places.
struct Of<'a> {
    job: &'a Job,
    bay: &'a Bay,
    name: String,
}

impl Of<'_> {
    fn on_bays(&self, key: &str) -> Option<Place> {
        self.job.cell(self.bay.reading, self.bay.row, key)
    }

    fn on(&self, row: &Entry, key: &str) -> Option<Place> {
        self.job.cell(row.reading, row.row, key)
    }

    fn corners(&self, plan: &[PlanCorner]) -> Vec<Corner> {
        let feet = |number: f64| Length::from_number(number, Unit::Foot).unwrap_or(Length::LONGEST);
        let runs_north = self.bay.runs == Some(Runs::NorthSouth);
        plan.iter().map(|&(x, y)| Corner::on_plan(feet(x), feet(y), runs_north)).collect()
    }
}

fn finding(log: &mut Log, finding: Finding, places: impl IntoIterator<Item = Option<Place>>) {
    log.push(Finding { places: places.into_iter().flatten().collect(), ..finding });
}

fn is_sound(job: &Job, bay: &Bay, log: &mut Log) -> bool {
    let (rows, openings) = (job.outline_rows(bay), job.plan_openings(bay));
    if rows.is_empty() && openings.is_empty() {
        return true;
    }
    let of = Of { job, bay, name: format!("bay `{}` on level `{}`", bay.mark, bay.level) };
    let is_placed = openings.iter().any(|opening| opening.corners.is_some());
    if bay.runs.is_none() && (is_placed || !rows.is_empty()) {
        let what = if rows.is_empty() { "openings placed on plan" } else { "an outline" };
        finding(
            log,
            Finding::warning(
                "runs-missing",
                format!("{} has {what} but no direction of its flutes; E-W is taken", of.name),
            )
            .hint("state Runs, E-W or N-S, in Bays, in Levels or on the Job sheet"),
            [of.on_bays("runs")],
        );
    }
    let outline = if rows.is_empty() {
        of.corners(&bay.rectangle())
    } else {
        match outline(&of, &rows, log) {
            Some(outline) => outline,
            None => return false,
        }
    };
    openings_are_sound(&of, &outline, &openings, log)
}

/// The corners that Outlines gives, where they can be laid out.
fn outline(of: &Of<'_>, rows: &[&Entry], log: &mut Log) -> Option<Vec<Corner>> {
    let first = rows.first()?;
    if let Some((strip, _, _)) = &of.bay.strip {
        finding(
            log,
            Finding::error(
                "outline-in-strip",
                format!(
                    "{} has an outline and stands in strip `{strip}`, wanted a bay by itself",
                    of.name
                ),
            )
            .hint("leave Strip blank for it, and let the strip end beside it"),
            [of.on_bays("strip"), of.on(first, "bay")],
        );
        return None;
    }
    let corners = match simple("outline", &of.corners(&of.job.plan_corners(of.bay))) {
        Ok(corners) => corners,
        Err(refusal) => {
            finding(
                log,
                Finding::error(
                    "bad-outline",
                    format!(
                        "the outline of {} is {}, wanted {}",
                        of.name, refusal.found, refusal.wanted
                    ),
                )
                .hint("list its corners in order round the bay, a row each"),
                [of.on(first, "x_ft")],
            );
            return None;
        }
    };
    let (along, across) = (extent(&corners, |at| at.along), extent(&corners, |at| at.across));
    let (long, wide) = (along.1 - along.0, across.1 - across.0);
    let spans = of.bay.length();
    let last = of.bay.spans.last().map(|span| span.length).unwrap_or_default();
    if spans < long {
        finding(
            log,
            Finding::error(
                "spans-short-of-outline",
                format!(
                    "the spans of {} are {spans} in all, wanted spans that reach the end of its \
                     outline, {long} along",
                    of.name
                ),
            )
            .hint("supports are measured from where the outline begins along the flutes"),
            [of.on_bays("spans_ft"), of.on(first, "x_ft")],
        );
        return None;
    }
    if spans - last >= long {
        finding(
            log,
            Finding::warning(
                "spans-beyond-outline",
                format!(
                    "the spans of {} are {spans} in all, its outline ends after {long} along",
                    of.name
                ),
            )
            .hint("check the spans and which way the flutes run; no panel lies in what is beyond"),
            [of.on_bays("spans_ft"), of.on(first, "x_ft")],
        );
    }
    let width = of.bay.width();
    if (width - wide).abs() > SLACK {
        finding(
            log,
            Finding::warning(
                "width-not-outline",
                format!(
                    "the width of {} is {width}, its outline {wide} across; the outline counts",
                    of.name
                ),
            )
            .hint("check the corners and which way the flutes run, or put Width right"),
            [of.on_bays("widths_ft"), of.on(first, "y_ft")],
        );
    }
    Some(corners)
}

fn openings_are_sound(
    of: &Of<'_>,
    outline: &[Corner],
    openings: &[PlanOpening<'_>],
    log: &mut Log,
) -> bool {
    let mut is_sound = true;
    let mut laid: Vec<(Vec<Corner>, &PlanOpening<'_>)> = Vec::new();
    for opening in openings {
        let Some(row) = opening.rows.first() else { continue };
        let corners = match opening_corners(of, row, opening) {
            Ok(Some(corners)) => corners,
            Ok(None) => continue,
            Err(said) => {
                is_sound = false;
                log.push(said);
                continue;
            }
        };
        let its_place = of.on(row, "x_ft");
        let name = format!("an opening of {} is {}", of.name, where_it_is(&corners));
        if !inside(&corners, outline) {
            is_sound = false;
            finding(
                log,
                Finding::error(
                    "opening-outside",
                    format!("{name}, wanted an opening within the bay, {}", where_it_is(outline)),
                )
                .hint("X is east and Y north on plan, on the same axes as the bay's own"),
                [its_place, of.on_bays("bay")],
            );
        } else if let Some((other, its)) = laid.iter().find(|(other, _)| overlap(&corners, other)) {
            is_sound = false;
            finding(
                log,
                Finding::error(
                    "openings-overlap",
                    format!(
                        "{name}, over another, {}, wanted openings that do not overlap",
                        where_it_is(other)
                    ),
                )
                .hint("check their places, or give the whole as one opening by its corners"),
                [its_place, its.rows.first().and_then(|row| of.on(row, "x_ft"))],
            );
        } else {
            laid.push((corners, opening));
        }
    }
    is_sound && openings_are_smaller(of, openings, log)
}

/// Whether openings leave something of the bay, placed or not.
fn openings_are_smaller(of: &Of<'_>, openings: &[PlanOpening<'_>], log: &mut Log) -> bool {
    let rectangle_ft2 = of.bay.length().in_feet() * of.bay.width().in_feet();
    let bay_ft2 = match &of.job.outline_rows(of.bay)[..] {
        [] => rectangle_ft2,
        _ => area_ft2(&of.job.plan_corners(of.bay)),
    };
    let openings_ft2: f64 = openings.iter().map(|opening| opening.area_ft2).sum();
    if openings_ft2 <= bay_ft2 {
        return true;
    }
    let places = openings.iter().filter_map(|opening| opening.rows.first());
    finding(
        log,
        Finding::error(
            "openings-over-bay",
            format!(
                "the openings of {} are {openings_ft2:.1} ft2 in all, wanted less than its own \
                 {bay_ft2:.1} ft2",
                of.name
            ),
        )
        .hint("check Length and Width of the openings, and that they name the right bay"),
        places.map(|row| of.on(row, "length_ft")),
    );
    false
}

/// The corners of an opening; none where it is not placed.
fn opening_corners(
    of: &Of<'_>,
    first: &Entry,
    opening: &PlanOpening<'_>,
) -> Result<Option<Vec<Corner>>, Finding> {
    let error = |code: &str, message: String, row: &Entry, key: &str| Finding {
        places: of.on(row, key).into_iter().collect(),
        ..Finding::error(code, message)
    };
    let is_blank =
        |row: &Entry, key: &str| matches!(row.fields.get(key), None | Some(Value::Blank));
    let sides = of.bay.opening_sides(first);
    let blank_size = [sides.0.is_none(), sides.1.is_none()];
    let by_corners = !is_blank(first, "opening") && blank_size == [true, true];
    if !by_corners && blank_size.contains(&true) {
        let key = if blank_size[0] { "length_ft" } else { "width_ft" };
        let message = format!("an opening of {} has no size, wanted Length and Width", of.name);
        return Err(error("opening-without-size", message, first, key)
            .hint("or a mark under Opening and a row for each of its corners"));
    }
    for row in &opening.rows {
        let blank = ["x_ft", "y_ft"].map(|key| is_blank(row, key));
        if blank[0] != blank[1] || by_corners && blank[0] {
            let message = format!("an opening of {} lacks X or Y, wanted both", of.name);
            let key = if blank[0] { "x_ft" } else { "y_ft" };
            return Err(error("opening-half-placed", message, row, key)
                .hint("both blank is an opening that is not placed: its concrete is deducted"));
        }
    }
    let Some(corners) = &opening.corners else { return Ok(None) };
    simple("opening", &of.corners(corners)).map(Some).map_err(|refusal| {
        let wanted = refusal.wanted.replace("an outline", "an opening");
        let message = format!("an opening of {} is {}, wanted {wanted}", of.name, refusal.found);
        error("bad-opening", message, first, "x_ft")
            .hint("list its corners in order round the opening, a row each")
    })
}
