//! One bay on the page: what lies in it, its outline, and the words in it.

use super::labels::{Block, Flow, Room, Stand};
use super::level::{Bay, Cover, Flutes, Laid, Place, Run};
use super::pen::{Pen, plain};
use super::style::{
    DECKED_OVER, FILLER, HATCH, OPENING, OUTLINE, PANEL_END, PAPER, SIDE_LAP, SUPPORT, TAG,
};
use super::view::{Extent, Frame, View};
use super::words::{Arranged, Ground, Wanted, base_of};
use crate::picture::{Ink, Side, Spot, Words};

/// Side laps nearer than this run into each other, pt.
const LEAST_PITCH: f64 = 1.6;
/// Points of lines on a page; then side laps are left out.
const MOST_POINTS: usize = 60_000;
/// A bay where it stands on the page.
pub(super) struct Drawn<'a> {
    bay: &'a Bay,
    view: View,
    tint: Ink,
    pub frame: Frame,
    words: Arranged,
}

impl<'a> Drawn<'a> {
    /// With the tint and the letters of its pours.
    pub(super) fn new(
        bay: &'a Bay,
        view: View,
        (tint, tag): (Ink, String),
        wanted: Wanted,
    ) -> Option<Drawn<'a>> {
        let Extent { least, most } = Extent::of(&bay.outline)?;
        let frame = view.frame(least, most);
        let mut drawn = Drawn { bay, view, tint, frame, words: Arranged::default() };
        let openings = bay.openings.iter().filter_map(|opening| {
            let Extent { least, most } = Extent::of(&opening.outline)?;
            Some(view.frame(least, most))
        });
        let place = |run: &'a Run| (drawn.rectangle(run.from, run.near, run.to, run.far), run);
        let mut runs: Vec<(Frame, &Run)> = bay.runs.iter().map(place).collect();
        let area = |frame: &Frame| frame.width() * frame.height();
        runs.sort_by(|a, b| area(&b.0).total_cmp(&area(&a.0)));
        let room = Room { outlines: vec![view.spots(&bay.outline)], taken: openings.collect() };
        let ground = Ground { bay, frame, room, runs, tag: &tag, flow: drawn.flow() };
        drawn.words = ground.arrange(wanted);
        Some(drawn)
    }

    fn spot(&self, along: f64, across: f64) -> Spot {
        self.view.spot(self.bay.flutes.place(along, across))
    }

    fn rectangle(&self, from: f64, near: f64, to: f64, far: f64) -> Frame {
        let place = |along, across| self.bay.flutes.place(along, across);
        self.view.frame(place(from, near), place(to, far))
    }

    /// How the flutes run on the page.
    fn flow(&self) -> Flow {
        if (self.bay.flutes == Flutes::EastWest) == self.view.turned {
            Flow::Up
        } else {
            Flow::Across
        }
    }

    /// The outline and the openings that are not decked over.
    fn outlines(&self) -> impl Iterator<Item = &[Place]> {
        let openings = self.bay.openings.iter().filter(|opening| opening.interrupts);
        [self.bay.outline.as_slice()].into_iter().chain(openings.map(|it| it.outline.as_slice()))
    }

    /// The pour's tint; none without its letter, since a colour alone says nothing.
    fn ground(&self) -> Ink {
        if self.words.tag.is_some() { self.tint } else { PAPER }
    }

    /// Ground, panels, supports and openings; `detailed` with side laps.
    pub(super) fn paint_inside(&self, pen: &mut Pen, detailed: bool) {
        pen.area(self.outlines().map(|outline| self.view.spots(outline)).collect(), self.ground());
        let (mut laps, mut ends, mut hatch) = (Vec::new(), Vec::new(), Vec::new());
        for laid in &self.bay.laid {
            let frame = self.rectangle(laid.from, laid.near, laid.to, laid.far);
            match laid.cover {
                Cover::Filler => pen.area(vec![frame.corners()], FILLER),
                Cover::Ripped => hatch_over(&frame, &mut hatch),
                Cover::Panels | Cover::Spread => {}
            }
            if detailed {
                self.side_laps(pen, laid, &mut laps);
            }
            for end in &laid.ends {
                self.inside(*end, false, (laid.near, laid.far), &mut ends);
            }
        }
        pen.lines(hatch, HATCH);
        pen.lines(laps, SIDE_LAP);
        let mut supports = Vec::new();
        for support in &self.bay.supports {
            self.inside(*support, false, (f64::MIN, f64::MAX), &mut supports);
        }
        pen.lines(supports, SUPPORT);
        pen.lines(ends, PANEL_END);
        for opening in &self.bay.openings {
            let stroke = if opening.interrupts { OPENING } else { DECKED_OVER };
            let Some(Extent { least, most }) = Extent::of(&opening.outline) else { continue };
            let [a, b, c, d] = self.view.frame(least, most).corners()[..] else { continue };
            pen.closed(vec![self.view.spots(&opening.outline)], stroke);
            pen.lines(vec![vec![a, c], vec![b, d]], stroke);
        }
    }

    pub(super) fn paint_outline(&self, pen: &mut Pen) {
        pen.closed(vec![self.view.spots(&self.bay.outline)], OUTLINE);
    }

    fn side_laps(&self, pen: &mut Pen, laid: &Laid, lines: &mut Vec<Vec<Spot>>) {
        let close = laid.pitch * self.view.scale < LEAST_PITCH;
        let count = (laid.far - laid.first) / laid.pitch;
        let many = lines.len().saturating_mul(2) + pen.used > MOST_POINTS;
        if laid.pitch <= 0.0 || laid.first >= laid.far {
            return;
        }
        if close || many || !count.is_finite() {
            pen.left_out.laps = true;
            return;
        }
        let mut at = laid.first;
        // The pitch is wider than a pen stroke on a page of bounded size.
        while at < laid.far - 1e-6 {
            self.inside(at, true, (laid.from, laid.to), lines);
            at += laid.pitch;
        }
    }

    /// The parts inside the bay of a line: at so much across, between ends along (`across`), or at
    /// so much along, between ends across.
    fn inside(&self, at: f64, across: bool, ends: (f64, f64), lines: &mut Vec<Vec<Spot>>) {
        const NUDGE: f64 = 1e-7;
        let coordinates = |place: &Place| {
            let (along, over) = self.bay.flutes.turned(*place);
            if across { (over, along) } else { (along, over) }
        };
        // On the far edge of the bay a line is inside as it is on the near one.
        let most =
            self.bay.outline.iter().map(|place| coordinates(place).0).fold(f64::MIN, f64::max);
        let cut = if at >= most - NUDGE { most - NUDGE } else { at };
        let mut meets = Vec::new();
        for outline in self.outlines() {
            let mut last = outline.last();
            for corner in outline {
                let Some(before) = last.replace(corner) else { continue };
                let ((a, from), (b, to)) = (coordinates(before), coordinates(corner));
                if (a > cut) != (b > cut) {
                    meets.push(from + (cut - a) / (b - a) * (to - from));
                }
            }
        }
        meets.sort_by(f64::total_cmp);
        for pair in meets.chunks_exact(2) {
            let [from, to] = pair else { continue };
            let (from, to) = (from.max(ends.0), to.min(ends.1));
            if to - from > NUDGE {
                let spot = |over| if across { self.spot(over, at) } else { self.spot(at, over) };
                lines.push(vec![spot(from), spot(to)]);
            }
        }
    }

    /// Mark, pour and panels, wherever they found room.
    pub(super) fn paint_words(&self, pen: &mut Pen) {
        for (lines, stand, frame) in &self.words.blocks {
            Block { lines, stand: *stand }.draw(pen, frame, self.ground());
        }
        if let Some((words, frame)) = &self.words.tag {
            tag(pen, frame, words.clone(), self.tint);
        }
        pen.left_out.marks += usize::from(self.words.no_mark);
        pen.left_out.tags += usize::from(self.words.no_tag);
        pen.left_out.runs += self.words.runs_left;
        self.paint_opening_words(pen);
    }

    fn paint_opening_words(&self, pen: &mut Pen) {
        for opening in &self.bay.openings {
            let Some(Extent { least, most }) = Extent::of(&opening.outline) else { continue };
            let frame = self.view.frame(least, most);
            let lines = [vec![plain(&opening.note, 5.8)]];
            let block = Block { lines: &lines, stand: Stand { upward: false, arrow: None } };
            let (wide, high) = block.size();
            let place = Frame::around(frame.spot(0.5, 0.5), wide, high);
            if frame.inset(1.0).holds(&place) {
                let ground = if opening.interrupts { PAPER } else { self.ground() };
                block.draw(pen, &place, ground);
            }
        }
    }
}

/// A boxed word in a tint.
pub(super) fn tag(pen: &mut Pen, frame: &Frame, words: Words, tint: Ink) {
    pen.area(vec![frame.corners()], tint);
    pen.frame(frame, TAG);
    let base = base_of(frame, words.size);
    pen.words(Words { spot: base, side: Side::Middle, ..words });
}

/// Slanted lines over a frame, at most a few hundred.
pub(super) fn hatch_over(frame: &Frame, lines: &mut Vec<Vec<Spot>>) {
    const STEP: f64 = 3.2;
    const MOST: usize = 600;
    let (wide, high) = (frame.width(), frame.height());
    let mut at = STEP - high;
    for _ in 0..MOST {
        if at >= wide {
            break;
        }
        let (from, to) = (at.max(0.0), (at + high).min(wide));
        lines.push(vec![
            Spot { x: frame.left + from, y: frame.bottom - (from - at) },
            Spot { x: frame.left + to, y: frame.bottom - (to - at) },
        ]);
        at += STEP;
    }
}
