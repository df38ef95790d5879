//! A level on its page: the plan where bays are placed, diagrams of the others, the key below.
//!
//! A small page is tried first; where words find no room on it, a large one is taken. What the
//! large one can not show either is said below the drawing.

use super::bay::Drawn;
use super::edges::outer;
use super::legend::{Key, Pour, Shown};
use super::level::{Bay, Cover, Laid, Level};
use super::pen::{LeftOut, Pen, plain};
use super::style::{FRAME, PAPER, SLAB_EDGE, letter, short, tint};
use super::view::{Extent, Frame, View};
use super::words::Wanted;
use crate::length::{Length, Unit};
use crate::picture::{Ink, Picture, Side, Spot, Words};

/// Width and height of the pages, pt: what a letter and a tabloid sheet take beside a list.
pub const SMALL: (f64, f64) = (470.0, 446.0);
pub const LARGE: (f64, f64) = (892.0, 640.0);
/// No more bays are drawn of a level, and no more with their panels.
pub const MOST_BAYS: usize = 2_000;
pub const MOST_DETAILED: usize = 400;
/// No more labels of panels stand on a page.
const MOST_LABELS: usize = 3_000;
/// Height kept for what is said of what found no room.
const KEPT: f64 = 40.0;
/// No more diagrams stand on a page.
const MOST_DIAGRAMS: usize = 48;
/// Around a diagram, and for the words beside it.
const GAP: f64 = 3.0;
const WORDS: f64 = 13.0;
/// Around the plan.
const MARGIN: f64 = 8.0;
/// A pour's mark that is no longer is its own letter.
const SHORT_MARK: usize = 4;

/// Draws a level.
#[must_use]
pub fn draw(level: &Level) -> Picture {
    let level = &sound(level);
    for (size, kept) in [(SMALL, 0.0), (LARGE, 0.0)] {
        let (picture, left_out) = draw_on(level, size, kept);
        if left_out == LeftOut::default() {
            return picture;
        }
    }
    draw_on(level, LARGE, KEPT).0
}

/// The level without what can not be drawn: outlines that are none, coordinates beyond all sense.
fn sound(level: &Level) -> Level {
    const FARTHEST: f64 = 1e7;
    let is_sound = |bay: &Bay| {
        let near = |feet: f64| feet.is_finite() && feet.abs() <= FARTHEST;
        let places = bay.outline.iter().chain(bay.openings.iter().flat_map(|it| &it.outline));
        bay.outline.len() >= 3
            && places.into_iter().all(|place| near(place.east) && near(place.north))
            && bay.supports.iter().all(|at| near(*at))
            && bay.runs.iter().all(|it| [it.near, it.far, it.from, it.to].into_iter().all(near))
            && bay.laid.iter().all(|it| {
                let numbers = [it.near, it.far, it.from, it.to, it.first, it.pitch];
                numbers.into_iter().chain(it.ends.iter().copied()).all(near)
            })
    };
    let mut sound = level.clone();
    sound.bays.retain(is_sound);
    let dropped = level.bays.len() - sound.bays.len();
    if dropped > 0 {
        sound.notes.push(format!("{} without an outline that can be drawn.", bays(dropped)));
    }
    sound
}

fn bays(count: usize) -> String {
    format!("{count} {}", if count == 1 { "bay" } else { "bays" })
}

/// What is said of what found no room.
fn said(left_out: &LeftOut) -> Vec<String> {
    let LeftOut { bays: whole, marks, tags, runs, laps } = *left_out;
    let mut said = Vec::new();
    if whole > 0 {
        said.push(format!("{} not drawn here; the list has their panels.", bays(whole)));
    }
    if marks > 0 {
        said.push(format!("{} too small here for their marks.", bays(marks)));
    }
    if tags > 0 {
        said.push(format!("{} too small here for the letters of their pours.", bays(tags)));
    }
    if runs > 0 {
        let labels = if runs == 1 { "label" } else { "labels" };
        said.push(format!("{runs} {labels} of panels without room here; the list has them."));
    }
    if laps {
        said.push("Side laps too close to be drawn are left out.".into());
    }
    said
}

/// The pours of a level with their letters, in the order of its bays.
fn pours(level: &Level) -> Vec<Pour> {
    let mut marks: Vec<&String> = Vec::new();
    for mark in level.bays.iter().flat_map(|bay| &bay.pours) {
        if !mark.is_empty() && !marks.contains(&mark) && marks.len() < MOST_BAYS {
            marks.push(mark);
        }
    }
    let own = marks.iter().all(|mark| mark.chars().count() <= SHORT_MARK);
    let pour = |(at, mark): (usize, &String)| Pour {
        tag: if own { short(mark, SHORT_MARK) } else { letter(at) },
        mark: mark.clone(),
        tint: tint(at),
    };
    marks.into_iter().enumerate().map(pour).collect()
}

/// The tint and the letters of a bay's pours.
fn look(bay: &Bay, pours: &[Pour]) -> (Ink, String) {
    const MOST: usize = 3;
    let own: Vec<&Pour> = bay
        .pours
        .iter()
        .take(MOST)
        .filter_map(|mark| pours.iter().find(|pour| pour.mark == *mark))
        .collect();
    let tags: Vec<&str> = own.iter().map(|pour| pour.tag.as_str()).collect();
    let more = if bay.pours.len() > MOST { " …" } else { "" };
    (own.first().map_or(PAPER, |pour| pour.tint), format!("{}{more}", tags.join(" + ")))
}

/// Draws a level on a page, with so much height kept for what is to be said of it.
fn draw_on(level: &Level, (width, height): (f64, f64), kept: f64) -> (Picture, LeftOut) {
    let mut pen = Pen::default();
    let page = Frame::new(0.0, 0.0, width, height);
    pen.area(vec![page.corners()], PAPER);
    let pours = pours(level);
    let placed: Vec<&Bay> = level.bays.iter().filter(|bay| bay.placed).collect();
    let loose: Vec<&Bay> = level.bays.iter().filter(|bay| !bay.placed).collect();
    let shown = loose.len().min(MOST_DIAGRAMS);
    pen.left_out.bays = placed.len().saturating_sub(MOST_BAYS) + loose.len() - shown;
    let (placed, loose) = (&placed[..placed.len().min(MOST_BAYS)], &loose[..shown]);

    let slabs = placed.iter().filter(|bay| bay.slab).map(|bay| bay.outline.as_slice());
    let (edge, edge_ft) = if level.edges.is_empty() { (Vec::new(), 0.0) } else { outer(slabs) };
    let mut key = key_of(placed.iter().chain(loose));
    if !loose.is_empty() {
        let which = if placed.is_empty() { "Bays" } else { "Bays below the plan" };
        key.notes.push(format!(
            "{which} are drawn each to its own scale, north up: the schedule gives them no X and Y."
        ));
    }
    key.edge = (!edge.is_empty()).then(|| {
        let length = Length::from_number(edge_ft, Unit::Foot).unwrap_or(Length::LONGEST);
        format!("outer edge of slabs, {} as drawn", length.round_to(Length::inches(1)))
    });
    key.pours = pours;
    let runs: usize = placed.iter().chain(loose).map(|bay| bay.runs.len()).sum();
    let detailed = placed.len() + loose.len() <= MOST_DETAILED && runs <= MOST_LABELS;
    // Rather a larger sheet than letters that are hard to read.
    let (least, largest) = if width < LARGE.0 { (0.7, 1.0) } else { (0.0, 1.3) };
    let wanted = Wanted { largest, least, detailed };
    let below = (key.height(level, width - 2.0 * MARGIN) + kept).min(height * 0.6);
    let above = Frame::new(0.0, 0.0, width, height - below).inset(MARGIN);
    let (plan, diagrams) = divide(above, !placed.is_empty(), loose.len());

    let extent = placed.iter().filter_map(|bay| Extent::of(&bay.outline)).reduce(Extent::with);
    let view = extent.and_then(|extent| View::fit(extent, plan, true));
    let mut drawn = Vec::with_capacity(level.bays.len());
    if let Some(view) = view {
        drawn.extend(
            placed.iter().filter_map(|bay| Drawn::new(bay, view, look(bay, &key.pours), wanted)),
        );
    }
    drawn.extend(diagrams_of(&mut pen, loose, diagrams, &key.pours, wanted));
    for bay in &drawn {
        bay.paint_inside(&mut pen, detailed);
    }
    // Outlines over the grounds of the words, which then never cut them.
    for bay in &drawn {
        bay.paint_words(&mut pen);
    }
    if let Some(view) = view {
        let lines = edge.into_iter().map(|(from, to)| vec![view.spot(from), view.spot(to)]);
        pen.lines(lines.collect(), SLAB_EDGE);
    }
    for bay in &drawn {
        bay.paint_outline(&mut pen);
    }
    if !detailed && key.shown.remove(&Shown::Laps) {
        pen.left_out.laps = true;
    }
    key.notes.extend(said(&pen.left_out));
    let foot = Frame::new(MARGIN, height - below, width - MARGIN, height);
    key.paint(&mut pen, level, &foot, view.as_ref());
    (Picture { width, height, marks: pen.marks }, pen.left_out)
}

/// What of it needs a key.
fn key_of<'a>(all: impl Iterator<Item = &'a &'a Bay>) -> Key {
    let mut key = Key::default();
    for bay in all {
        let laid = |wanted: fn(&Laid) -> bool| bay.laid.iter().any(wanted);
        let interrupts = |wanted: bool| bay.openings.iter().any(|it| it.interrupts == wanted);
        let shown = [
            (Shown::Arrow, true),
            (Shown::Laps, laid(|laid| laid.pitch > 0.0 && laid.first < laid.far)),
            (Shown::Ends, laid(|laid| !laid.ends.is_empty())),
            (Shown::Supports, !bay.supports.is_empty()),
            (Shown::Ripped, laid(|laid| laid.cover == Cover::Ripped)),
            (Shown::Filler, laid(|laid| laid.cover == Cover::Filler)),
            (Shown::Interrupting, interrupts(true)),
            (Shown::DeckedOver, interrupts(false)),
        ];
        key.shown.extend(shown.into_iter().filter(|(_, is)| *is).map(|(shown, _)| shown));
    }
    key
}

/// The frames of the plan and of the diagrams below it.
fn divide(all: Frame, plan: bool, diagrams: usize) -> (Frame, Frame) {
    const ROW: f64 = 112.0;
    const MOST: f64 = 0.45;
    let high = match (plan, diagrams) {
        (false, _) => all.height(),
        (true, 0) => 0.0,
        (true, 1..=6) => ROW.min(all.height() * MOST),
        (true, _) => all.height() * MOST,
    };
    let line = all.bottom - high;
    (Frame { bottom: line, ..all }.inset(4.0), Frame { top: line, ..all })
}

/// Bays as diagrams of their own, each as large as its cell takes.
fn diagrams_of<'a>(
    pen: &mut Pen,
    bays: &[&'a Bay],
    frame: Frame,
    pours: &[Pour],
    wanted: Wanted,
) -> Vec<Drawn<'a>> {
    const LEAST: f64 = 1.5;
    let (columns, rows) = cells(bays, &frame);
    let high = frame.height() / as_f64(rows);
    let aspects = bays.iter().filter_map(|bay| Extent::of(&bay.outline));
    let aspect = aspects.map(|extent| extent.east() / extent.north()).fold(LEAST, f64::max);
    let cell = ((frame.width() / as_f64(columns)).min(high * aspect), high);
    let middle = f64::midpoint(frame.left, frame.right);
    let frame = Frame { left: middle - as_f64(columns) * cell.0 / 2.0, ..frame };
    let mut drawn = Vec::with_capacity(bays.len());
    for (at, bay) in bays.iter().enumerate() {
        let (column, row) = (as_f64(at % columns), as_f64(at / columns));
        let (left, top) = (frame.left + column * cell.0, frame.top + row * cell.1);
        let cell = Frame::new(left, top, left + cell.0, top + cell.1).inset(GAP);
        pen.frame(&cell, FRAME);
        let inner =
            Frame { left: cell.left + WORDS, bottom: cell.bottom - WORDS, ..cell }.inset(GAP);
        let Some(extent) = Extent::of(&bay.outline) else { continue };
        let Some(view) = View::fit(extent, inner, false) else { continue };
        let Some(diagram) = Drawn::new(bay, view, look(bay, pours), wanted) else { continue };
        let sizes = [(extent.east(), false), (extent.north(), true)];
        for (feet, upward) in sizes {
            let Some(length) = Length::from_number(feet, Unit::Foot) else { continue };
            let length = length.round_to(Length::SIXTY_FOURTH).to_string();
            let words = Words { side: Side::Middle, upward, ..plain(&length, 6.0) };
            let around = diagram.frame;
            let spot = if upward {
                Spot { x: around.left - 4.0, y: f64::midpoint(around.top, around.bottom) }
            } else {
                Spot { x: f64::midpoint(around.left, around.right), y: around.bottom + 8.0 }
            };
            pen.words(Words { spot, ..words });
        }
        drawn.push(diagram);
    }
    drawn
}

/// Columns and rows of cells that show the bays largest.
fn cells(bays: &[&Bay], frame: &Frame) -> (usize, usize) {
    let extents: Vec<Extent> = bays.iter().filter_map(|bay| Extent::of(&bay.outline)).collect();
    let shown = |columns: usize| -> f64 {
        let rows = bays.len().div_ceil(columns);
        let (wide, high) = (frame.width() / as_f64(columns), frame.height() / as_f64(rows));
        let (wide, high) = (wide - WORDS - 3.0 * GAP, high - WORDS - 3.0 * GAP);
        extents
            .iter()
            .map(|extent| {
                let scale = (wide / extent.east()).min(high / extent.north()).max(0.0);
                if scale.is_finite() { scale * scale * extent.east() * extent.north() } else { 0.0 }
            })
            .sum()
    };
    let columns = (1..=bays.len()).max_by(|a, b| shown(*a).total_cmp(&shown(*b))).unwrap_or(1);
    (columns, bays.len().div_ceil(columns).max(1))
}

fn as_f64(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::MAX, f64::from)
}
