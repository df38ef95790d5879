//! Puts marks on a page, and counts what found no room.

use super::font;
use super::style::{INK, short};
use super::view::Frame;
use crate::picture::{Ink, Mark, Side, Spot, Stroke, Words};

/// No words are longer on a drawing.
pub(super) const LONGEST_WORDS: usize = 120;

/// What found no room.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct LeftOut {
    pub bays: usize,
    pub marks: usize,
    pub tags: usize,
    pub runs: usize,
    /// Side laps too close or too many to be drawn.
    pub laps: bool,
}

/// What has been drawn so far.
#[derive(Debug, Default)]
pub(super) struct Pen {
    pub marks: Vec<Mark>,
    pub left_out: LeftOut,
    /// Points that lines were drawn through.
    pub used: usize,
}

impl Pen {
    pub(super) fn area(&mut self, outlines: Vec<Vec<Spot>>, fill: Ink) {
        self.marks.push(Mark::Area { outlines, fill });
    }

    pub(super) fn lines(&mut self, lines: Vec<Vec<Spot>>, stroke: Stroke) {
        self.used += lines.iter().map(Vec::len).sum::<usize>();
        if !lines.is_empty() {
            self.marks.push(Mark::Lines { lines, stroke, closed: false });
        }
    }

    pub(super) fn closed(&mut self, lines: Vec<Vec<Spot>>, stroke: Stroke) {
        self.marks.push(Mark::Lines { lines, stroke, closed: true });
    }

    pub(super) fn frame(&mut self, frame: &Frame, stroke: Stroke) {
        self.closed(vec![frame.corners()], stroke);
    }

    pub(super) fn words(&mut self, words: Words) {
        if !words.text.is_empty() {
            self.marks.push(Mark::Words(words));
        }
    }

    /// A line of plain words.
    pub(super) fn text(&mut self, spot: Spot, text: &str, size: f64, side: Side) {
        self.words(Words { spot, side, ..plain(text, size) });
    }

    /// An arrow with a head at both ends.
    pub(super) fn arrow(&mut self, from: Spot, to: Spot, stroke: Stroke) {
        const HEAD: f64 = 4.2;
        let (x, y) = (to.x - from.x, to.y - from.y);
        let long = x.hypot(y);
        if long < HEAD {
            return;
        }
        let (x, y) = (x / long * HEAD, y / long * HEAD);
        // Half heads, one on each side: the flutes run both ways.
        let head = |at: Spot, sign: f64| {
            vec![at, Spot { x: at.x + sign * (x - 0.5 * y), y: at.y + sign * (y + 0.5 * x) }]
        };
        self.lines(vec![vec![from, to], head(from, 1.0), head(to, -1.0)], stroke);
    }
}

/// Plain words at no place yet.
pub(super) fn plain(text: &str, size: f64) -> Words {
    Words {
        spot: Spot::default(),
        text: short(text, LONGEST_WORDS),
        size,
        bold: false,
        ink: INK,
        side: Side::Start,
        upward: false,
    }
}

/// How wide words are.
pub(super) fn width(words: &Words) -> f64 {
    font::width(&words.text, words.size, words.bold)
}
