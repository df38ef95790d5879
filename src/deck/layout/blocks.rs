//! Where the panels of a layout lie: lines side by side that begin and end alike, as blocks.
//!
//! In: a layout. Out: its [`Block`]s in the order in which they are laid, for one copy, and the
//! same as records for scripts and drawings.

use std::sync::Arc;

use super::across::{Across, Leftover};
use super::along::PanelAlong;
use super::plan::Plan;
use super::record::feet;
use super::shape::Covered;
use crate::length::Length;
use crate::value::{Record, Value};

/// A layout of more blocks gives none: they are for drawings, which could not show them.
pub const MOST_BLOCKS: usize = 2_000;
/// How far back a block is looked for that a new line lies against.
const LOOK_BACK: usize = 8;

/// Lines of panels side by side whose panels begin and end alike, or what covers the leftover.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// Across, from the start edge.
    pub near: Length,
    pub far: Length,
    /// Along, from the start end.
    pub from: Length,
    pub to: Length,
    /// Lines of panels that are ordered for it.
    pub lines: i64,
    pub cover: Covered,
    /// The panels of one line.
    pub panels: Vec<Lies>,
}

/// A panel of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lies {
    /// The supports between which it lies, along.
    pub from: Length,
    pub to: Length,
    /// The length that is ordered.
    pub order: Length,
}

/// The panels of a line that begins at `start`.
pub(super) fn lies(panels: &[PanelAlong], spans: &[Length], start: Length) -> Vec<Lies> {
    let mut supports = vec![start];
    let mut at = start;
    for span in spans {
        at += *span;
        supports.push(at);
    }
    let support = |index: usize| supports.get(index).copied().unwrap_or(at);
    let lie = |panel: &PanelAlong| Lies {
        from: support(panel.from),
        to: support(panel.to),
        order: panel.order,
    };
    panels.iter().map(lie).collect()
}

/// The blocks of a strip.
#[must_use]
pub fn of_strip(plan: &Plan, spans: &[Length], cover: Length) -> Vec<Block> {
    let panels = lies(&plan.along.panels, spans, Length::ZERO);
    let to = spans.iter().copied().sum();
    let block = |near, far, lines, cover| {
        let panels = if matches!(cover, Covered::Filler) { Vec::new() } else { panels.clone() };
        Block { near, far, from: Length::ZERO, to, lines, cover, panels }
    };
    let Across { groups, .. } = &plan.across;
    let mut blocks = Vec::new();
    let mut near = Length::ZERO;
    for group in groups.iter().take(MOST_BLOCKS) {
        let far = near + group.width;
        let (whole, last) = match group.kind {
            Leftover::Exact | Leftover::Spread => (group.panels, None),
            Leftover::Filler => (group.panels, Some((0, Covered::Filler))),
            Leftover::Ripped => {
                (group.panels - 1, Some((i64::from(!group.from_rest), Covered::Ripped)))
            }
        };
        let middle = match last {
            None => far,
            Some(_) => near + cover.checked_mul(whole).unwrap_or_default(),
        };
        if whole > 0 {
            blocks.push(block(near, middle, whole, Covered::Panels));
        }
        if let Some((lines, cover)) = last {
            blocks.push(block(middle, far, lines, cover));
        }
        near = far;
    }
    blocks
}

/// Adds a line to a block that it lies against and is like, or as a block of its own.
pub(super) fn add(blocks: &mut Vec<Block>, line: Block) {
    let first = blocks.len().saturating_sub(LOOK_BACK);
    let like = |block: &&mut Block| {
        line.cover == Covered::Panels
            && (block.far, block.from, block.to) == (line.near, line.from, line.to)
            && block.cover == line.cover
            && block.panels == line.panels
    };
    if let Some(block) = blocks.iter_mut().skip(first).find(like) {
        block.far = line.far;
        block.lines += line.lines;
    } else if blocks.len() <= MOST_BLOCKS {
        blocks.push(line);
    }
}

impl Covered {
    /// Its name in records.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Covered::Panels => "panels",
            Covered::Ripped => "ripped",
            Covered::Filler => "filler",
            Covered::Spread => "spread",
        }
    }
}

/// Blocks as records; blank where there are too many.
pub(super) fn records(blocks: &[Block]) -> Value {
    if blocks.len() > MOST_BLOCKS {
        return Value::Blank;
    }
    let panel = |panel: &Lies| {
        record([
            ("from_ft", feet(panel.from)),
            ("to_ft", feet(panel.to)),
            ("length_ft", feet(panel.order)),
        ])
    };
    let block = |block: &Block| {
        record([
            ("near_ft", feet(block.near)),
            ("far_ft", feet(block.far)),
            ("from_ft", feet(block.from)),
            ("to_ft", feet(block.to)),
            ("lines", Value::Count(block.lines)),
            ("cover", Value::text(block.cover.name())),
            ("panels", Value::List(block.panels.iter().map(panel).collect())),
        ])
    };
    Value::List(blocks.iter().map(block).collect())
}

fn record<const N: usize>(fields: [(&str, Value); N]) -> Value {
    let record: Record = fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect();
    Value::Record(Arc::new(record))
}
