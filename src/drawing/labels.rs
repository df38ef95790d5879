//! Labels: lines of words set as a block, placed where they fit and hide nothing.

use super::pen::{Pen, width};
use super::style::ARROW;
use super::view::Frame;
use crate::picture::{Ink, Spot, Words};

/// From one line to the next, of a size of 1.
const LEADING: f64 = 1.16;
/// How much of a line stands above its base line.
const ABOVE: f64 = 0.9;
/// Room that an arrow takes beside a block, and its least length.
const BESIDE: f64 = 6.0;
const LEAST_ARROW: f64 = 24.0;

/// Which way a block reads and where its arrow points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stand {
    /// Words read from below upward.
    pub upward: bool,
    /// With an arrow along the flutes, these running across the page or up it.
    pub arrow: Option<Flow>,
}

/// How flutes run on the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flow {
    Across,
    Up,
}

/// Lines of words as one block.
pub(super) struct Block<'a> {
    pub lines: &'a [Vec<Words>],
    pub stand: Stand,
}

impl Block<'_> {
    fn text_size(&self) -> (f64, f64) {
        let wide = |line: &Vec<Words>| line.iter().map(width).sum::<f64>();
        let high = |line: &Vec<Words>| line.iter().map(|words| words.size).fold(0.0, f64::max);
        let width = self.lines.iter().map(wide).fold(0.0, f64::max);
        (width, self.lines.iter().map(high).sum::<f64>() * LEADING)
    }

    /// Width and height on the page.
    pub(super) fn size(&self) -> (f64, f64) {
        let (along, down) = self.text_size();
        let (wide, high) = if self.stand.upward { (down, along) } else { (along, down) };
        match self.stand.arrow {
            None => (wide, high),
            Some(Flow::Across) => (wide.max(LEAST_ARROW), high + BESIDE),
            Some(Flow::Up) => (wide + BESIDE, high.max(LEAST_ARROW)),
        }
    }

    /// Draws it in a frame of its size, over a ground.
    pub(super) fn draw(&self, pen: &mut Pen, frame: &Frame, ground: Ink) {
        const MARGIN: f64 = 0.8;
        pen.area(vec![frame.inset(-MARGIN).corners()], ground);
        let (wide, high) = self.text_size();
        let text = match self.stand.arrow {
            None => *frame,
            Some(Flow::Across) => Frame { bottom: frame.bottom - BESIDE, ..*frame },
            Some(Flow::Up) => Frame { left: frame.left + BESIDE, ..*frame },
        };
        match self.stand.arrow {
            None => {}
            Some(Flow::Across) => {
                let y = frame.bottom - 2.2;
                pen.arrow(Spot { x: frame.left, y }, Spot { x: frame.right, y }, ARROW);
            }
            Some(Flow::Up) => {
                let x = frame.left + 2.2;
                pen.arrow(Spot { x, y: frame.bottom }, Spot { x, y: frame.top }, ARROW);
            }
        }
        let middle = text.spot(0.5, 0.5);
        let mut down = -high / 2.0;
        for line in self.lines {
            let size = line.iter().map(|words| words.size).fold(0.0, f64::max);
            let base = down + size * ABOVE;
            let mut along = -line.iter().map(width).sum::<f64>().min(wide) / 2.0;
            for words in line {
                let spot = if self.stand.upward {
                    Spot { x: middle.x + base, y: middle.y - along }
                } else {
                    Spot { x: middle.x + along, y: middle.y + base }
                };
                along += width(words);
                pen.words(Words { spot, upward: self.stand.upward, ..words.clone() });
            }
            down += size * LEADING;
        }
    }
}

/// Where labels of a bay may stand.
#[derive(Clone, Debug)]
pub(super) struct Room {
    /// Outlines on the page: the bay's, then those of openings.
    pub outlines: Vec<Vec<Spot>>,
    pub taken: Vec<Frame>,
}

impl Room {
    /// A place for a block in a frame: inside the outline, over nothing that is taken; `spots` are
    /// shares of the frame's width and height, tried in turn.
    pub(super) fn find(
        &self,
        size: (f64, f64),
        within: &Frame,
        spots: &[(f64, f64)],
    ) -> Option<Frame> {
        const GAP: f64 = 1.2;
        let (wide, high) = size;
        if wide > within.width() || high > within.height() {
            return None;
        }
        spots.iter().find_map(|(right, down)| {
            let free = |room: f64, share: f64| room * share;
            let left = within.left + free(within.width() - wide, *right);
            let top = within.top + free(within.height() - high, *down);
            let frame = Frame::new(left, top, left + wide, top + high);
            let clear = !self.taken.iter().any(|other| other.meets(&frame.inset(-GAP)));
            (clear && self.is_inside(&frame)).then_some(frame)
        })
    }

    fn is_inside(&self, frame: &Frame) -> bool {
        frame.corners().into_iter().chain([frame.spot(0.5, 0.5)]).all(|spot| self.holds(spot))
    }

    /// By the even-odd rule.
    fn holds(&self, spot: Spot) -> bool {
        let mut inside = false;
        for outline in &self.outlines {
            let mut last = outline.last();
            for corner in outline {
                if let Some(before) = last
                    && (before.y > spot.y) != (corner.y > spot.y)
                {
                    let share = (spot.y - before.y) / (corner.y - before.y);
                    inside ^= spot.x < before.x + share * (corner.x - before.x);
                }
                last = Some(corner);
            }
        }
        inside
    }
}

/// The middle first, then around it.
pub(super) const AROUND: [(f64, f64); 23] = [
    (0.5, 0.5),
    (0.5, 0.65),
    (0.5, 0.35),
    (0.5, 0.8),
    (0.35, 0.5),
    (0.65, 0.5),
    (0.35, 0.65),
    (0.65, 0.65),
    (0.35, 0.35),
    (0.65, 0.35),
    (0.5, 1.0),
    (0.2, 0.5),
    (0.8, 0.5),
    (0.2, 0.8),
    (0.8, 0.8),
    (0.8, 0.2),
    (0.5, 0.0),
    (0.0, 0.5),
    (1.0, 0.5),
    (0.0, 1.0),
    (1.0, 1.0),
    (1.0, 0.0),
    (0.0, 0.0),
];

/// The corners, the upper left first.
pub(super) const CORNERS: [(f64, f64); 8] = [
    (0.0, 0.0),
    (1.0, 0.0),
    (0.0, 1.0),
    (1.0, 1.0),
    (0.5, 0.0),
    (0.0, 0.5),
    (0.5, 1.0),
    (0.5, 0.5),
];

/// The corners, the upper right first.
pub(super) const OTHER_CORNERS: [(f64, f64); 8] = [
    (1.0, 0.0),
    (1.0, 1.0),
    (0.0, 1.0),
    (0.0, 0.0),
    (1.0, 0.5),
    (0.5, 1.0),
    (0.5, 0.0),
    (0.5, 0.5),
];
