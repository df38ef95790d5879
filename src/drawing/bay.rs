//! One bay on the page: what lies in it, its outline, and the words in it.

use super::labels::{AROUND, Block, CORNERS, Flow, OTHER_CORNERS, Room, Stand};
use super::level::{Bay, Cover, Flutes, Laid, Place, Run};
use super::pen::{Pen, plain};
use super::style::{
    DECKED_OVER, FAINT, FILLER, HATCH, OPENING, OUTLINE, PANEL_END, PAPER, SIDE_LAP, SUPPORT, TAG,
};
use super::view::{Extent, Frame, View};
use crate::picture::{Ink, Side, Spot, Words};

/// Side laps nearer than this run into each other, pt.
const LEAST_PITCH: f64 = 1.6;
/// Points of lines on a page; then side laps are left out.
const MOST_POINTS: usize = 60_000;
/// How far words keep off the bay's outline, and off the sides of their panels.
const EDGE: f64 = 2.2;
const BESIDE: f64 = 1.0;

/// The words at a bay's corner and where they stand.
struct Head {
    lines: Vec<Vec<Words>>,
    stand: Stand,
    frame: Frame,
}

/// A bay where it stands on the page.
pub(super) struct Drawn<'a> {
    pub bay: &'a Bay,
    pub view: View,
    pub tint: Ink,
    /// The words of its pour.
    pub tag: String,
    pub frame: Frame,
    /// How much larger than usual words may be.
    pub most: f64,
}

impl<'a> Drawn<'a> {
    pub(super) fn new(
        bay: &'a Bay,
        view: View,
        (tint, tag): (Ink, String),
        most: f64,
    ) -> Option<Drawn<'a>> {
        let Extent { least, most: far } = Extent::of(&bay.outline)?;
        let frame = view.frame(least, far);
        let mut drawn = Drawn { bay, view, tint, tag, frame, most };
        let mut room = drawn.room();
        if let Some(head) = drawn.head(&room) {
            room.taken.push(head.frame);
        }
        if drawn.find_tag(&room).is_none() {
            // A colour without its letter says nothing: there is none.
            drawn.tag.clear();
        }
        Some(drawn)
    }

    /// The room for words: inside the outline, beside the openings.
    fn room(&self) -> Room {
        let openings = self.bay.openings.iter().filter_map(|opening| {
            let Extent { least, most } = Extent::of(&opening.outline)?;
            Some(self.view.frame(least, most))
        });
        Room { outlines: vec![self.view.spots(&self.bay.outline)], taken: openings.collect() }
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

    fn ground(&self) -> Ink {
        if self.tag.is_empty() { PAPER } else { self.tint }
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

    /// Mark, pour and panels, wherever they find room; `detailed` with the panels.
    pub(super) fn paint_words(&self, pen: &mut Pen, detailed: bool) {
        let mut room = self.room();
        match self.head(&room) {
            Some(head) => {
                let block = Block { lines: &head.lines, stand: head.stand };
                block.draw(pen, &head.frame, self.ground());
                room.taken.push(head.frame);
            }
            None => pen.left_out.marks += 1,
        }
        if let Some((frame, words)) = self.find_tag(&room) {
            tag(pen, &frame, words, self.tint);
            room.taken.push(frame);
        }
        if detailed {
            self.paint_runs(pen, &mut room);
        } else if !self.bay.runs.is_empty() {
            pen.left_out.runs += self.bay.runs.len();
        }
        self.paint_opening_words(pen);
    }

    /// Mark, type and facts, as large and as full as there is room.
    fn head(&self, room: &Room) -> Option<Head> {
        const LEAST: f64 = 4.6;
        for size in [8.5 * self.most, 8.5, 7.2, 6.2, 5.2] {
            let small = size * 0.74;
            let facts = if small < LEAST { 0 } else { self.bay.facts.len() };
            for kept in (0..=facts).rev() {
                let kind = format!(" {}", self.bay.deck_type);
                let mut lines = vec![vec![
                    Words { bold: true, ..plain(&self.bay.mark, size) },
                    Words { ink: FAINT, ..plain(&kind, size * 0.86) },
                ]];
                let fact = |text: &String| vec![Words { ink: FAINT, ..plain(text, small) }];
                lines.extend(self.bay.facts.iter().take(kept).map(fact));
                for upward in [false, true] {
                    let stand = Stand { upward, arrow: None };
                    let block = Block { lines: &lines, stand };
                    if let Some(frame) = room.find(block.size(), &self.frame.inset(EDGE), &CORNERS)
                    {
                        return Some(Head { lines, stand, frame });
                    }
                }
            }
        }
        None
    }

    /// The pour's letter in a box.
    fn find_tag(&self, room: &Room) -> Option<(Frame, Words)> {
        if self.tag.is_empty() {
            return None;
        }
        [8.0 * self.most, 8.0, 6.5, 5.2].into_iter().find_map(|size| {
            let words = Words { bold: true, ..plain(&self.tag, size) };
            let size = (super::pen::width(&words) + 5.0, size * 1.35);
            Some((room.find(size, &self.frame.inset(EDGE), &OTHER_CORNERS)?, words))
        })
    }

    fn paint_runs(&self, pen: &mut Pen, room: &mut Room) {
        let mut runs: Vec<(Frame, &Run)> = self
            .bay
            .runs
            .iter()
            .map(|run| (self.rectangle(run.from, run.near, run.to, run.far), run))
            .collect();
        let area = |frame: &Frame| frame.width() * frame.height();
        runs.sort_by(|a, b| area(&b.0).total_cmp(&area(&a.0)));
        let mut arrow = Some(self.flow());
        for (frame, run) in runs {
            if self.paint_run(pen, room, &frame, run, arrow) {
                arrow = None;
            } else {
                pen.left_out.runs += 1;
            }
        }
        if !self.bay.list.is_empty() {
            let lines: Vec<Vec<Words>> =
                self.bay.list.iter().map(|line| vec![plain(line, 6.2)]).collect();
            let block = Block { lines: &lines, stand: Stand { upward: false, arrow } };
            match room.find(block.size(), &self.frame.inset(EDGE), &AROUND) {
                Some(place) => {
                    block.draw(pen, &place, self.ground());
                    room.taken.push(place);
                    arrow = None;
                }
                None => pen.left_out.runs += self.bay.list.len(),
            }
        }
        if let Some(flow) = arrow {
            let block = Block { lines: &[], stand: Stand { upward: false, arrow } };
            let size = match flow {
                Flow::Across => (26.0, 5.0),
                Flow::Up => (5.0, 26.0),
            };
            if let Some(place) = room.find(size, &self.frame.inset(EDGE), &AROUND) {
                block.draw(pen, &place, self.ground());
                room.taken.push(place);
            }
        }
    }

    /// The label of panels side by side, as large and as full as there is room.
    fn paint_run(
        &self,
        pen: &mut Pen,
        room: &mut Room,
        frame: &Frame,
        run: &Run,
        arrow: Option<Flow>,
    ) -> bool {
        let uprights: &[bool] =
            if frame.height() > frame.width() { &[false, true] } else { &[false] };
        let sizes = [7.4 * self.most, 7.4, 6.4, 5.4, 4.7];
        for size in sizes.into_iter().filter(|size| *size >= pen.least_label) {
            let shapes = shapes(run, size);
            for with in [arrow, None] {
                for lines in &shapes {
                    for &upward in uprights {
                        let block = Block { lines, stand: Stand { upward, arrow: with } };
                        if let Some(place) = room.find(block.size(), &frame.inset(BESIDE), &AROUND)
                        {
                            block.draw(pen, &place, self.ground());
                            room.taken.push(place);
                            return true;
                        }
                    }
                }
                if arrow.is_none() {
                    break;
                }
            }
        }
        false
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

/// The ways of setting the label of a run, the fullest first.
fn shapes(run: &Run, size: f64) -> Vec<Vec<Vec<Words>>> {
    let counted = vec![
        plain(&format!("{} ", run.count), size),
        Words { bold: true, ..plain(&run.mark, size) },
    ];
    let whole = [counted.clone(), vec![plain(&format!("  {}", run.length), size)]].concat();
    let split = vec![counted, vec![plain(&run.length, size)]];
    let mut shapes = Vec::new();
    for lines in [vec![whole], split] {
        if run.ripped > 0 {
            let ripped = plain(&format!("{} ripped", run.ripped), size * 0.82);
            let ripped = vec![Words { ink: FAINT, ..ripped }];
            shapes.push([lines.clone(), vec![ripped]].concat());
        }
        shapes.push(lines);
    }
    shapes
}

/// A boxed word in a tint.
pub(super) fn tag(pen: &mut Pen, frame: &Frame, words: Words, tint: Ink) {
    pen.area(vec![frame.corners()], tint);
    pen.frame(frame, TAG);
    let base =
        Spot { x: f64::midpoint(frame.left, frame.right), y: frame.bottom - words.size * 0.34 };
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
