//! What stands below the drawing: notes, the key to its lines and pours, the bar of its scale and
//! where north lies.

use std::collections::BTreeSet;

use super::bay::{hatch_over, tag};
use super::level::Level;
use super::pen::{Pen, plain, width};
use super::style::{
    ARROW, DECKED_OVER, FAINT, FILLER, HATCH, INK, OPENING, PANEL_END, SIDE_LAP, SLAB_EDGE,
    SUPPORT, short,
};
use super::view::{Frame, View};
use crate::picture::{Ink, Side, Spot, Stroke, Words};

const SIZE: f64 = 6.4;
const LINE: f64 = 10.0;
const SWATCH: f64 = 17.0;
/// Room at the right for the bar of the scale and the arrow to the north.
const RIGHT: f64 = 128.0;
const NORTH: f64 = 30.0;
const MOST_EDGES: usize = 5;
const MOST_POURS: usize = 24;

/// A pour as the key shows it.
pub(super) struct Pour {
    pub tag: String,
    pub mark: String,
    pub tint: Ink,
}

/// What may be shown, in the order of the key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Shown {
    Arrow,
    Laps,
    Ends,
    Supports,
    Ripped,
    Filler,
    Interrupting,
    DeckedOver,
}

impl Shown {
    fn item(self) -> (Swatch, String) {
        let (swatch, words) = match self {
            Shown::Arrow => (Swatch::Arrow, "deck spans this way"),
            Shown::Laps => (Swatch::Line(SIDE_LAP), "side lap"),
            Shown::Ends => (Swatch::Line(PANEL_END), "panel end"),
            Shown::Supports => (Swatch::Line(SUPPORT), "support"),
            Shown::Ripped => (Swatch::Hatched, "panel ripped to width"),
            Shown::Filler => (Swatch::Filled(FILLER), "filler strip"),
            Shown::Interrupting => (Swatch::Crossed(OPENING), "opening, panels end at it"),
            Shown::DeckedOver => (Swatch::Crossed(DECKED_OVER), "opening, decked over"),
        };
        (swatch, words.to_owned())
    }
}

/// What the key explains.
#[derive(Default)]
pub(super) struct Key {
    pub pours: Vec<Pour>,
    pub shown: BTreeSet<Shown>,
    /// Length of the slabs' outer edge as drawn, in words.
    pub edge: Option<String>,
    pub notes: Vec<String>,
}

enum Swatch {
    Line(Stroke),
    Crossed(Stroke),
    Hatched,
    Filled(Ink),
    Arrow,
    Pour(String, Ink),
}

impl Key {
    fn items(&self) -> Vec<(Swatch, String)> {
        let mut items: Vec<(Swatch, String)> =
            self.shown.iter().map(|shown| shown.item()).collect();
        if let Some(edge) = &self.edge {
            items.push((Swatch::Line(SLAB_EDGE), edge.clone()));
        }
        for pour in self.pours.iter().take(MOST_POURS) {
            let words = format!("pour {}", short(&pour.mark, 30));
            items.push((Swatch::Pour(pour.tag.clone(), pour.tint), words));
        }
        if self.pours.len() > MOST_POURS {
            let more = format!("and {} more pours", self.pours.len() - MOST_POURS);
            items.push((Swatch::Pour(String::new(), super::style::PAPER), more));
        }
        items
    }

    /// The items in lines of a width.
    fn rows(&self, wide: f64) -> Vec<Vec<(f64, Swatch, String)>> {
        const GAP: f64 = 11.0;
        let mut rows: Vec<Vec<(f64, Swatch, String)>> = Vec::new();
        let mut at = f64::MAX;
        for (swatch, words) in self.items() {
            let taken = swatch.width() + 4.0 + width(&plain(&words, SIZE)) + GAP;
            if at + taken - GAP > wide {
                rows.push(Vec::new());
                at = 0.0;
            }
            if let Some(row) = rows.last_mut() {
                row.push((at, swatch, words));
            }
            at += taken;
        }
        rows
    }

    fn words_below(level: &Level, notes: &[String]) -> Vec<String> {
        let mut words = Vec::new();
        for edge in level.edges.iter().take(MOST_EDGES) {
            words.push(format!("Edges sheet: {edge}"));
        }
        if level.edges.len() > MOST_EDGES {
            words.push(format!("Edges sheet: and {} more rows", level.edges.len() - MOST_EDGES));
        }
        words.extend(level.notes.iter().cloned());
        words.extend(notes.iter().cloned());
        words.push("Drawn from the schedule's figures for the takeoff; not for erection. Check against the drawings.".into());
        words
    }

    /// How much height it takes in a page of a width.
    pub(super) fn height(&self, level: &Level, wide: f64) -> f64 {
        let rows = self.rows(wide - RIGHT).len() + Key::words_below(level, &self.notes).len();
        let lines = u32::try_from(rows).unwrap_or(u32::MAX);
        (f64::from(lines) * LINE + 6.0).max(NORTH + 8.0)
    }

    pub(super) fn paint(&self, pen: &mut Pen, level: &Level, frame: &Frame, view: Option<&View>) {
        let mut y = frame.top + 9.0;
        for row in self.rows(frame.width() - RIGHT) {
            for (x, swatch, words) in row {
                let left = frame.left + x;
                swatch.paint(pen, left, y - 2.2);
                pen.text(Spot { x: left + swatch.width() + 4.0, y }, &words, SIZE, Side::Start);
            }
            y += LINE;
        }
        for line in Key::words_below(level, &self.notes) {
            let words = Words { ink: FAINT, ..plain(&line, 6.0) };
            pen.words(Words { spot: Spot { x: frame.left, y }, ..words });
            y += LINE;
        }
        if let Some(view) = view {
            let right = Frame { left: frame.right - RIGHT + 10.0, ..*frame };
            bar(pen, &right, view);
            north(pen, &right, view.turned);
        }
    }
}

impl Swatch {
    fn width(&self) -> f64 {
        match self {
            Swatch::Pour(tag, _) => {
                width(&Words { bold: true, ..plain(tag, SIZE) })
                    + if tag.is_empty() { 0.0 } else { 6.0 }
            }
            _ => SWATCH,
        }
    }

    fn paint(&self, pen: &mut Pen, x: f64, middle: f64) {
        let frame = Frame::new(x, middle - 3.4, x + self.width(), middle + 3.4);
        let (from, to) = (frame.spot(0.0, 0.5), frame.spot(1.0, 0.5));
        match self {
            Swatch::Line(stroke) => pen.lines(vec![vec![from, to]], *stroke),
            Swatch::Arrow => pen.arrow(from, to, ARROW),
            Swatch::Filled(ink) => pen.area(vec![frame.corners()], *ink),
            Swatch::Hatched => {
                let mut lines = Vec::new();
                hatch_over(&frame, &mut lines);
                pen.lines(lines, HATCH);
                pen.frame(&frame, HATCH);
            }
            Swatch::Crossed(stroke) => {
                pen.frame(&frame, *stroke);
                let diagonals = [((0.0, 0.0), (1.0, 1.0)), ((1.0, 0.0), (0.0, 1.0))];
                let line = |(a, b): ((f64, f64), (f64, f64))| {
                    vec![frame.spot(a.0, a.1), frame.spot(b.0, b.1)]
                };
                pen.lines(diagonals.into_iter().map(line).collect(), *stroke);
            }
            Swatch::Pour(words, tint) => {
                if !words.is_empty() {
                    let box_of = Frame::new(x, middle - 4.3, x + self.width(), middle + 4.3);
                    tag(pen, &box_of, Words { bold: true, ..plain(words, SIZE) }, *tint);
                }
            }
        }
    }
}

/// The bar of the scale: three round lengths of which two are about an inch on the page.
fn bar(pen: &mut Pen, frame: &Frame, view: &View) {
    const LONG: f64 = 64.0;
    let half = round_length(LONG / 2.0 / view.scale);
    let step = half * view.scale;
    if !(step.is_finite() && step > 1.0 && step < 2.0 * LONG) {
        return;
    }
    let y = frame.top + 17.0;
    let x = |steps: f64| frame.left + steps * step;
    let piece = |from: f64, to: f64| Frame::new(x(from), y - 2.0, x(to), y + 2.0);
    pen.area(vec![piece(0.0, 1.0).corners()], INK);
    pen.frame(&piece(0.0, 2.0), Stroke { ink: INK, width: 0.5, dashes: &[] });
    for (steps, unit) in [(0.0, ""), (1.0, ""), (2.0, " ft")] {
        let words = format!("{}{unit}", half * steps);
        pen.text(Spot { x: x(steps), y: y + 10.0 }, &words, 6.0, Side::Middle);
    }
}

/// 1, 2 or 5 times a power of ten, the greatest that is not above `feet`.
fn round_length(feet: f64) -> f64 {
    let mut power = 0.001;
    while power * 10.0 <= feet && power < 1e9 {
        power *= 10.0;
    }
    let round = [5.0, 2.0, 1.0].into_iter().map(|times| times * power);
    let length = round.into_iter().find(|length| *length <= feet).unwrap_or(power);
    // Powers of ten below 1 are not exact.
    (length * 1000.0).round() / 1000.0
}

/// An arrow to the north, up or to the left.
fn north(pen: &mut Pen, frame: &Frame, turned: bool) {
    let middle = Spot { x: frame.right - 16.0, y: frame.top + 18.0 };
    let at = |right: f64, up: f64| {
        let (x, y) = if turned { (-up, -right) } else { (right, -up) };
        Spot { x: middle.x + x, y: middle.y + y }
    };
    pen.area(vec![vec![at(0.0, 12.0), at(4.5, -9.0), at(0.0, -5.5)]], INK);
    let stroke = Stroke { ink: INK, width: 0.5, dashes: &[] };
    pen.closed(vec![vec![at(0.0, 12.0), at(-4.5, -9.0), at(0.0, -5.5)]], stroke);
    let words = Words { bold: true, side: Side::Middle, ..plain("N", 7.0) };
    let spot = if turned {
        Spot { x: middle.x - 16.5, y: middle.y + 2.4 }
    } else {
        Spot { x: middle.x + 9.0, y: middle.y - 6.0 }
    };
    pen.words(Words { spot, ..words });
}
