//! The words of a bay: its mark, its pour's letter, its panels' labels, each arranged where there
//! is room, as large as lets all of them in.

use super::labels::{AROUND, Block, CORNERS, Flow, OTHER_CORNERS, Room, Stand};
use super::level::{Bay, Run};
use super::pen::{plain, width};
use super::style::FAINT;
use super::view::Frame;
use crate::picture::{Spot, Words};

/// How far words keep off the bay's outline, and off the sides of their panels.
const EDGE: f64 = 2.2;
const BESIDE: f64 = 1.0;
/// Sizes of mark, letter and label at full size, pt.
const MARK: f64 = 8.5;
const TAG: f64 = 8.0;
const LABEL: f64 = 7.4;
/// Facts under the mark that would be smaller are left out.
const LEAST_FACT: f64 = 4.6;
/// Panels this much longer than wide on the page may be labelled from below upward.
const SLENDER: f64 = 1.5;
/// A bay with more labels is arranged at fewer sizes.
const MANY: usize = 12;

/// How large words may be, of their full size, and what is wanted of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wanted {
    pub largest: f64,
    pub least: f64,
    /// With the labels of panels.
    pub detailed: bool,
}

/// Words that have found their place.
#[derive(Debug, Default)]
pub(super) struct Arranged {
    pub blocks: Vec<(Vec<Vec<Words>>, Stand, Frame)>,
    /// The pour's letter and its box.
    pub tag: Option<(Words, Frame)>,
    /// What found none: the mark, the pour's letter, labels, the arrow.
    pub no_mark: bool,
    pub no_tag: bool,
    pub runs_left: usize,
    no_arrow: bool,
}

impl Arranged {
    /// How much is missing, the weightiest first.
    fn missing(&self) -> (bool, bool, usize, bool) {
        (self.no_mark, self.no_tag, self.runs_left, self.no_arrow)
    }

    fn is_whole(&self) -> bool {
        !self.no_mark && !self.no_tag && self.runs_left == 0 && !self.no_arrow
    }
}

/// A bay as its words see it.
pub(super) struct Ground<'a> {
    pub bay: &'a Bay,
    pub frame: Frame,
    /// Outlines and openings.
    pub room: Room,
    /// The runs with their places on the page, the largest first.
    pub runs: Vec<(Frame, &'a Run)>,
    /// The letters of its pours; blank for none.
    pub tag: &'a str,
    pub flow: Flow,
}

impl Ground<'_> {
    /// The words, at the largest size that lets all of them in; facts are left out before labels.
    pub(super) fn arrange(&self, wanted: Wanted) -> Arranged {
        const SIZES: [f64; 5] = [1.3, 1.0, 0.86, 0.73, 0.63];
        let sizes = SIZES.into_iter().filter(|size| (wanted.least..=wanted.largest).contains(size));
        let mut sizes: Vec<f64> = sizes.collect();
        if self.runs.len() > MANY && sizes.len() > 1 {
            sizes.drain(..sizes.len() - 1);
        }
        let mut best: Option<Arranged> = None;
        for facts in [self.bay.facts.len(), 1, 0] {
            for size in &sizes {
                let now = self.arrange_at(*size, facts, wanted.detailed);
                if now.is_whole() {
                    return now;
                }
                if best.as_ref().is_none_or(|best| now.missing() < best.missing()) {
                    best = Some(now);
                }
            }
        }
        best.unwrap_or_default()
    }

    fn arrange_at(&self, size: f64, facts: usize, detailed: bool) -> Arranged {
        let mut done = Arranged::default();
        let mut room = self.room.clone();
        let inner = self.frame.inset(EDGE);
        done.no_mark = !self.place_mark(size, facts, &inner, &mut room, &mut done);
        if !self.tag.is_empty() {
            let words = Words { bold: true, ..plain(self.tag, TAG * size) };
            let found = room.find((width(&words) + 5.0, words.size * 1.35), &inner, &OTHER_CORNERS);
            done.no_tag = found.is_none();
            if let Some(frame) = found {
                room.taken.push(frame);
                done.tag = Some((words, frame));
            }
        }
        if !detailed {
            done.runs_left = self.runs.len();
            return done;
        }
        let mut arrow = Some(self.flow);
        for (frame, run) in &self.runs {
            let found = place_run(size, frame, run, arrow, &room);
            match found {
                Some(block) => {
                    if block.1.arrow.is_some() {
                        arrow = None;
                    }
                    room.taken.push(block.2);
                    done.blocks.push(block);
                }
                None => done.runs_left += 1,
            }
        }
        if !self.bay.list.is_empty() {
            let line = |line: &String| vec![plain(line, 6.2 * size)];
            let lines: Vec<Vec<Words>> = self.bay.list.iter().map(line).collect();
            let stand = Stand { upward: false, arrow };
            match room.find(Block { lines: &lines, stand }.size(), &inner, &AROUND) {
                Some(frame) => {
                    room.taken.push(frame);
                    done.blocks.push((lines, stand, frame));
                    arrow = None;
                }
                None => done.runs_left += lines.len(),
            }
        }
        if let Some(flow) = arrow {
            let size = match flow {
                Flow::Across => (26.0, 5.0),
                Flow::Up => (5.0, 26.0),
            };
            match room.find(size, &inner, &AROUND) {
                Some(frame) => {
                    done.blocks.push((Vec::new(), Stand { upward: false, arrow }, frame));
                }
                None => done.no_arrow = true,
            }
        }
        done
    }

    fn place_mark(
        &self,
        size: f64,
        facts: usize,
        inner: &Frame,
        room: &mut Room,
        done: &mut Arranged,
    ) -> bool {
        let (large, small) = (MARK * size, MARK * size * 0.74);
        let facts = if small < LEAST_FACT { 0 } else { facts };
        let mut lines = vec![vec![
            Words { bold: true, ..plain(&self.bay.mark, large) },
            Words { ink: FAINT, ..plain(&format!(" {}", self.bay.deck_type), large * 0.86) },
        ]];
        let fact = |text: &String| vec![Words { ink: FAINT, ..plain(text, small) }];
        lines.extend(self.bay.facts.iter().take(facts).map(fact));
        let uprights: &[bool] = if is_slender(inner) { &[false, true] } else { &[false] };
        for &upward in uprights {
            let stand = Stand { upward, arrow: None };
            if let Some(frame) = room.find(Block { lines: &lines, stand }.size(), inner, &CORNERS) {
                room.taken.push(frame);
                done.blocks.push((lines, stand, frame));
                return true;
            }
        }
        false
    }
}

fn is_slender(frame: &Frame) -> bool {
    frame.height() > SLENDER * frame.width()
}

/// The label of panels side by side, as full as there is room.
fn place_run(
    size: f64,
    frame: &Frame,
    run: &Run,
    arrow: Option<Flow>,
    room: &Room,
) -> Option<(Vec<Vec<Words>>, Stand, Frame)> {
    let uprights: &[bool] = if is_slender(frame) { &[false, true] } else { &[false] };
    let within = frame.inset(BESIDE);
    let arrows: &[Option<Flow>] = if arrow.is_some() { &[arrow, None] } else { &[None] };
    for &arrow in arrows {
        for lines in shapes(run, LABEL * size) {
            for &upward in uprights {
                let stand = Stand { upward, arrow };
                let block = Block { lines: &lines, stand };
                if let Some(frame) = room.find(block.size(), &within, &AROUND) {
                    return Some((lines, stand, frame));
                }
            }
        }
    }
    None
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
            shapes.push([lines.clone(), vec![vec![Words { ink: FAINT, ..ripped }]]].concat());
        }
        shapes.push(lines);
    }
    shapes
}

/// Where the words of a box stand.
pub(super) fn base_of(frame: &Frame, size: f64) -> Spot {
    Spot { x: f64::midpoint(frame.left, frame.right), y: frame.bottom - size * 0.34 }
}
