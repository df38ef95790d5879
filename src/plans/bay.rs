//! A bay as it is drawn: outline, openings, supports, panels, pours, and the words under its mark.

use super::lay::{Part, lay};
use super::tables::{Panels, Tables};
use super::{length, text};
use crate::drawing::{self, Flutes, Opening, Place};
use crate::job::fields::read;
use crate::job::{Bay, Job, Runs, Status};
use crate::length::{Length, Typed, Unit};
use crate::value::{Record, Value};

/// Lines of a bay whose panels are listed, and supports that are drawn, at most.
const MOST_LISTED: usize = 8;
const MOST_SUPPORTS: usize = 1_000;
/// No outline that is drawn has more corners.
const MOST_CORNERS: usize = 2_000;

pub(super) fn drawn(job: &Job, tables: &Tables, bay: &Bay) -> drawing::Bay {
    let flutes = match bay.runs {
        Some(Runs::NorthSouth) => Flutes::NorthSouth,
        Some(Runs::EastWest) | None => Flutes::EastWest,
    };
    let corner = corner(bay);
    let has_slab = read(bay, job, "slab_in").is_some_and(|slab| slab.as_number().is_some());
    let own_outline = outline_of(&job.outline(bay), flutes);
    let origin = corner.unwrap_or_default();
    let (along, across) = flutes.turned(origin);
    let (length, width) = (bay.length().in_feet(), bay.width().in_feet());
    let outline = if own_outline.is_empty() {
        vec![
            origin,
            flutes.place(along + length, across),
            flutes.place(along + length, across + width),
            flutes.place(along, across + width),
        ]
    } else {
        own_outline.clone()
    };
    let start = outline.iter().map(|place| flutes.turned(*place).0).fold(f64::MAX, f64::min);
    let mut drawn = drawing::Bay {
        mark: bay.mark.to_string(),
        deck_type: read(bay, job, "type").as_ref().and_then(Value::as_text).unwrap_or("").into(),
        facts: facts(bay),
        pours: if has_slab { pours(tables, bay) } else { Vec::new() },
        flutes,
        placed: corner.is_some() && bay.alternate.is_none(),
        slab: has_slab,
        supports: supports(bay, start),
        openings: Vec::new(),
        outline,
        ..drawing::Bay::default()
    };
    let plan = tables.plan(bay);
    drawn.openings = openings(job, bay, plan.map(|plan| &**plan));
    let panels = tables.panels(bay);
    let cover = read(bay, job, "cover_in").and_then(|cover| cover.as_number());
    let laid = plan.zip(cover).and_then(|(plan, cover_in)| {
        let cover = Length::from_number(cover_in, Unit::Inch)?;
        let part = if own_outline.is_empty() {
            Part::of_strip(job, bay, cover, (along, across))
        } else {
            Part::whole(cover)
        };
        lay(plan, &part, panels, bay.copies)
    });
    match laid {
        Some((laid, runs)) => (drawn.laid, drawn.runs) = (laid, runs),
        None => drawn.list = listed(panels),
    }
    drawn
}

fn corner(bay: &Bay) -> Option<Place> {
    let feet = |key: &str| length(&bay.rest, key, Unit::Foot).map(Length::in_feet);
    Some(Place { east: feet("x_ft")?, north: feet("y_ft")? })
}

/// The corners of an outline given as `[along, across]`.
fn outline_of(corners: &Value, flutes: Flutes) -> Vec<Place> {
    let Value::List(corners) = corners else { return Vec::new() };
    let corner = |corner: &Value| match corner {
        Value::List(pair) => {
            Some(flutes.place(pair.first()?.as_number()?, pair.get(1)?.as_number()?))
        }
        _ => None,
    };
    corners.iter().take(MOST_CORNERS).filter_map(corner).collect()
}

fn openings(job: &Job, bay: &Bay, plan: Option<&Record>) -> Vec<Opening> {
    let verdicts = match plan.and_then(|plan| plan.get("openings")) {
        Some(Value::List(verdicts)) => &verdicts[..],
        _ => &[],
    };
    let placed = job.plan_openings(bay).into_iter().filter_map(|opening| {
        let corners = opening.corners?;
        let note = opening.rows.iter().find_map(|row| text(&row.fields, "note"));
        Some((corners, note.unwrap_or("").to_owned()))
    });
    // The layout's verdicts are on the placed openings, in their order.
    let verdicts = verdicts.iter().map(Some).chain(std::iter::repeat(None));
    let drawn = placed.zip(verdicts).map(|((corners, note), verdict)| {
        let interrupts = match verdict {
            Some(Value::Record(verdict)) => {
                matches!(verdict.get("interrupts"), Some(Value::Bool(true)))
            }
            _ => false,
        };
        let outline = corners.iter().take(MOST_CORNERS).map(|&(east, north)| Place { east, north });
        Opening { outline: outline.collect(), interrupts, note }
    });
    drawn.collect()
}

fn supports(bay: &Bay, start_ft: f64) -> Vec<f64> {
    let mut at = Length::ZERO;
    let mut supports = vec![start_ft];
    for span in bay.spans.iter().take(MOST_SUPPORTS) {
        at += span.length;
        supports.push(start_ft + at.in_feet());
    }
    supports
}

fn pours(tables: &Tables, bay: &Bay) -> Vec<String> {
    let listed = tables.pours(bay);
    if listed.is_empty() {
        return bay.pour.iter().map(ToString::to_string).collect();
    }
    listed.iter().map(ToString::to_string).collect()
}

/// Spans and width, support, and what sets the bay apart.
fn facts(bay: &Bay) -> Vec<String> {
    let widths: Vec<String> = bay.widths.iter().map(|group| repeated(group)).collect();
    let mut facts = Vec::new();
    let mut apart = Vec::new();
    if bay.copies > 1 {
        apart.push(format!("{} copies", bay.copies));
    }
    if bay.status != Status::TakeOff {
        let on_hold = bay.status == Status::Hold;
        apart.push(if on_hold { "on hold" } else { bay.status.word() }.to_owned());
    }
    if let Some(alternate) = &bay.alternate {
        apart.push(format!("alternate {alternate}"));
    }
    if !apart.is_empty() {
        facts.push(apart.join(", "));
    }
    facts.push(format!("{} x {}", repeated(&bay.spans), widths.join(" | ")));
    if let Some(support) = text(&bay.rest, "support") {
        facts.push(format!("on {support}"));
    }
    facts
}

/// `3@10'-0", 9'-6"`.
fn repeated(lengths: &[Typed]) -> String {
    const MOST: usize = 4;
    let mut parts: Vec<(Length, usize)> = Vec::new();
    for typed in lengths {
        match parts.last_mut() {
            Some((length, times)) if *length == typed.length => *times += 1,
            _ => parts.push((typed.length, 1)),
        }
    }
    let part = |(length, times): &(Length, usize)| match times {
        1 => length.to_string(),
        times => format!("{times}@{length}"),
    };
    let mut shown: Vec<String> = parts.iter().take(MOST).map(part).collect();
    if parts.len() > MOST {
        shown.push("…".into());
    }
    shown.join(", ")
}

/// Panels as lines of text.
fn listed(panels: &[Panels]) -> Vec<String> {
    let line = |own: &Panels| format!("{} {}  {}", own.count, own.mark, own.length);
    let mut lines: Vec<String> = panels.iter().take(MOST_LISTED).map(line).collect();
    if panels.len() > MOST_LISTED {
        lines.push(format!("and {} more lengths", panels.len() - MOST_LISTED));
    }
    lines
}

/// Bays that have an outline but no place of their own lie where its corners say, unless two of
/// them would lie in the same place: then their corners are each bay's own.
pub(super) fn keep_apart(bays: &[&Bay], drawn: &mut [drawing::Bay]) {
    const MOST: usize = 400;
    let loose = |(bay, drawn): &(&&Bay, &drawing::Bay)| {
        !drawn.placed && bay.alternate.is_none() && has_own_corners(bay, drawn)
    };
    let frames: Vec<[f64; 4]> =
        bays.iter().zip(drawn.iter()).filter(loose).map(|(_, drawn)| frame(drawn)).collect();
    let meet =
        |a: &[f64; 4], b: &[f64; 4]| a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
    let apart = frames.len() <= MOST
        && frames
            .iter()
            .enumerate()
            .all(|(at, one)| !frames[..at].iter().any(|other| meet(one, other)));
    if !apart {
        return;
    }
    for (bay, drawn) in bays.iter().zip(drawn) {
        if loose(&(bay, drawn)) {
            drawn.placed = true;
        }
    }
}

/// Whether a bay's outline is another than the rectangle at the origin that stands for one without
/// a place.
fn has_own_corners(bay: &Bay, drawn: &drawing::Bay) -> bool {
    let (length, width) = (bay.length().in_feet(), bay.width().in_feet());
    let far = drawn.flutes.place(length, width);
    let plain = drawn.outline.len() == 4
        && drawn.outline.first() == Some(&Place::default())
        && drawn.outline.get(2) == Some(&far);
    !plain
}

fn frame(drawn: &drawing::Bay) -> [f64; 4] {
    let first = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    drawn.outline.iter().fold(first, |frame, place| {
        [
            frame[0].min(place.east),
            frame[1].min(place.north),
            frame[2].max(place.east),
            frame[3].max(place.north),
        ]
    })
}
