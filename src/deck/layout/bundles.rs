//! Bundles: panels strapped together for one lift.
//!
//! A bundle never mixes kinds (sequence, profile, gauge, finish and what else the shop keeps
//! apart). Full bundles of one length come first; what is left is joined, up to so many lengths a
//! bundle, the longest at the bottom. Bundles are numbered in the order in which their lines come.
//!
//! In: lines of panels and the shop's [`BundleLimits`]. Out: [`Bundle`]s.

use std::collections::BTreeMap;

use crate::length::Length;
use crate::value::Refusal;

/// No job has more bundles.
pub const MOST_BUNDLES: usize = 200_000;

/// Panels of one kind and length that are to be bundled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BundleLine {
    /// Lines of different kinds never share a bundle.
    pub kind: usize,
    pub length: Length,
    pub count: i64,
    /// One panel.
    pub panel_lb: f64,
    /// A limit of this line's own, such as its sequence's crane.
    pub crane_lb: Option<f64>,
    /// Height of one panel, and what each further one nested on it adds.
    pub depth: Length,
    pub nest: Length,
}

/// What a bundle may be: choices of the shop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BundleLimits {
    /// The lift, packaging included.
    pub most_lb: f64,
    pub packaging_lb: f64,
    pub most_panels: Option<i64>,
    pub most_height: Option<Length>,
    pub most_lengths: usize,
}

/// Panels strapped together.
#[derive(Clone, Debug, PartialEq)]
pub struct Bundle {
    pub kind: usize,
    /// Index of the line and count of panels, longest (the bottom) first.
    pub contents: Vec<(usize, i64)>,
    pub panels: i64,
    /// The longest panel.
    pub length: Length,
    pub weight_lb: f64,
    pub lift_lb: f64,
    pub height: Length,
    /// A single panel that is beyond a limit by itself.
    pub over: bool,
}

/// Bundles lines of panels. Each line must have a positive length and weight; lines of count 0
/// are skipped. Refuses counts below 0 and more than [`MOST_BUNDLES`].
pub fn bundle(lines: &[BundleLine], limits: &BundleLimits) -> Result<Vec<Bundle>, Refusal> {
    let mut kinds: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, line) in lines.iter().enumerate() {
        let name = |field: &str| format!("lines[{index}].{field}");
        if line.count < 0 {
            return Err(Refusal::new(name("count"), line.count, "a count of 0 or more"));
        }
        if !line.length.is_positive() {
            return Err(Refusal::new(name("length_ft"), line.length, "a length above 0 ft"));
        }
        if !(line.panel_lb > 0.0 && line.panel_lb.is_finite()) {
            return Err(Refusal::new(name("panel_lb"), line.panel_lb, "a weight above 0 lb"));
        }
        if line.count > 0 {
            kinds.entry(line.kind).or_default().push(index);
        }
    }
    let mut bundles = Vec::new();
    for members in kinds.values() {
        let first = bundles.len();
        bundle_kind(lines, members, limits, &mut bundles)?;
        bundles[first..].sort_by_key(|bundle| bundle.contents.iter().map(|(line, _)| *line).min());
    }
    Ok(bundles)
}

/// A bundle being filled.
struct Stack<'a> {
    lines: &'a [BundleLine],
    limits: &'a BundleLimits,
    most_lb: f64,
    contents: Vec<(usize, i64)>,
    panels: i64,
    weight_lb: f64,
    depth: Length,
    nest: Length,
}

impl<'a> Stack<'a> {
    fn new(lines: &'a [BundleLine], limits: &'a BundleLimits, most_lb: f64) -> Stack<'a> {
        Stack {
            lines,
            limits,
            most_lb,
            contents: Vec::new(),
            panels: 0,
            weight_lb: 0.0,
            depth: Length::ZERO,
            nest: Length::ZERO,
        }
    }

    /// How many panels of a line still find room.
    fn room(&self, line: &BundleLine) -> i64 {
        // A billionth of a panel absorbs the rounding of the quotient.
        let left_lb = self.most_lb - self.limits.packaging_lb - self.weight_lb;
        let by_weight = (left_lb / line.panel_lb + 1e-9).floor().clamp(0.0, 1e15);
        #[allow(clippy::cast_possible_truncation, reason = "clamped")]
        let mut room = by_weight as i64;
        if let Some(most) = self.limits.most_panels {
            room = room.min(most - self.panels);
        }
        if let Some(most) = self.limits.most_height {
            let above = most - self.depth.max(line.depth);
            let layers = match above.div_rem(self.nest.max(line.nest)) {
                _ if above < Length::ZERO => 0,
                Some((further, _)) => further + 1,
                None => i64::MAX,
            };
            room = room.min(layers - self.panels);
        }
        let new_length =
            self.contents.iter().all(|(index, _)| self.lines[*index].length != line.length);
        if room > 0 && new_length && self.lengths() >= self.limits.most_lengths {
            return 0;
        }
        room.max(0)
    }

    /// Panels of one length stand together, so that changes of length count the lengths.
    fn lengths(&self) -> usize {
        let lengths = self.contents.iter().map(|(index, _)| self.lines[*index].length);
        let changes = lengths.clone().zip(lengths.skip(1)).filter(|(a, b)| a != b).count();
        changes + usize::from(!self.contents.is_empty())
    }

    fn put(&mut self, index: usize, count: i64) {
        let line = &self.lines[index];
        self.contents.push((index, count));
        self.panels = self.panels.saturating_add(count);
        #[allow(clippy::cast_precision_loss, reason = "bundles hold few panels")]
        let weight_lb = line.panel_lb * count as f64;
        self.weight_lb += weight_lb;
        self.depth = self.depth.max(line.depth);
        self.nest = self.nest.max(line.nest);
    }

    fn strap(mut self, over: bool) -> Bundle {
        let lines = self.lines;
        self.contents.sort_by_key(|(index, _)| (-lines[*index].length, *index));
        Bundle {
            kind: self.contents.first().map_or(0, |(index, _)| lines[*index].kind),
            length: self.contents.first().map_or(Length::ZERO, |(index, _)| lines[*index].length),
            panels: self.panels,
            weight_lb: self.weight_lb,
            lift_lb: self.weight_lb + self.limits.packaging_lb,
            height: self.depth + self.nest * (self.panels - 1).max(0),
            contents: self.contents,
            over,
        }
    }
}

/// The bundles of one kind: full ones length by length, then what is left, heaviest rest first,
/// each into the first bundle that has room for all of it.
fn bundle_kind(
    lines: &[BundleLine],
    members: &[usize],
    limits: &BundleLimits,
    bundles: &mut Vec<Bundle>,
) -> Result<(), Refusal> {
    let own = members.iter().filter_map(|index| lines[*index].crane_lb);
    let most_lb = own.fold(limits.most_lb, f64::min);
    let mut by_length: BTreeMap<Length, Vec<usize>> = BTreeMap::new();
    for index in members {
        by_length.entry(lines[*index].length).or_default().push(*index);
    }
    let mut rests: Vec<Stack<'_>> = Vec::new();
    for same in by_length.values().rev() {
        let mut open = Stack::new(lines, limits, most_lb);
        for index in same {
            let mut left = lines[*index].count;
            while left > 0 {
                let room = open.room(&lines[*index]).min(left);
                if room > 0 {
                    open.put(*index, room);
                    left -= room;
                    continue;
                }
                let over = open.panels == 0;
                if over {
                    open.put(*index, 1);
                    left -= 1;
                }
                if bundles.len() >= MOST_BUNDLES {
                    return Err(Refusal::new(
                        format!("lines[{index}].count"),
                        lines[*index].count,
                        format!("lines that make at most {MOST_BUNDLES} bundles"),
                    ));
                }
                let full = std::mem::replace(&mut open, Stack::new(lines, limits, most_lb));
                bundles.push(full.strap(over));
            }
        }
        if open.panels > 0 {
            rests.push(open);
        }
    }
    rests.sort_by(|a, b| b.weight_lb.total_cmp(&a.weight_lb));
    let mut joined: Vec<Stack<'_>> = Vec::new();
    for rest in rests {
        match joined.iter_mut().find(|stack| takes_all(stack, &rest)) {
            Some(stack) => {
                for (index, count) in rest.contents {
                    stack.put(index, count);
                }
            }
            None => joined.push(rest),
        }
    }
    bundles.extend(joined.into_iter().map(|stack| stack.strap(false)));
    Ok(())
}

/// Whether a bundle has room for a whole rest, which is of one length.
fn takes_all(stack: &Stack<'_>, rest: &Stack<'_>) -> bool {
    let heaviest = rest.contents.iter().map(|(index, _)| &stack.lines[*index]).max_by(|a, b| {
        a.panel_lb.total_cmp(&b.panel_lb).then(a.nest.cmp(&b.nest)).then(a.depth.cmp(&b.depth))
    });
    heaviest.is_some_and(|line| {
        let widest = BundleLine { depth: rest.depth, nest: rest.nest, ..*line };
        stack.room(&widest) >= rest.panels
    })
}
