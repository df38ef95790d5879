//! A bay of any outline, with or without openings: strips one cover wide, in each strip panels
//! for every separate part from its lowest to its highest point, broken at supports.
//!
//! Supports are measured from the outline's least coordinate along, strips from its least across.
//! Where the deck's end is the outline's own least or greatest coordinate along, the bay's end
//! condition holds; elsewhere it stops at the outline. A rectangle gives the same panels as its
//! spans and width do.
//!
//! In: a [`ShapeSpec`]. Out: a [`ShapePlan`].

use std::collections::BTreeMap;

use super::across::LeftoverRules;
use super::along::{AlongLimits, Cut};
use super::blocks::{self, Block};
use super::ends::{End, Joint, Rounding, Slope};
use super::lines::{Laid, Lines};
use super::openings::{Opening, OpeningRules, Verdict, extent, judge};
use super::outline::{Corner, Part, Shape, area_ft2, simple};
use super::plan::Piece;
use crate::length::Length;
use crate::value::Refusal;

/// No shape has more strips, and no more edges are looked at in all of them together.
const MOST_STRIPS: i64 = 50_000;
const MOST_LOOKS: i64 = 50_000_000;

/// What is laid out.
#[derive(Clone, Copy, Debug)]
pub struct ShapeSpec<'a> {
    pub corners: &'a [Corner],
    pub openings: &'a [Opening<'a>],
    pub opening_rules: OpeningRules,
    /// From the outline's least coordinate along.
    pub spans: &'a [Length],
    /// Where a panel edge must break, from the outline's least coordinate across, ascending.
    pub breaks: &'a [Length],
    /// Half the last digit of the width, where it was typed as a decimal.
    pub half_digit: Length,
    pub copies: i64,
    pub cover: Length,
    pub leftover: LeftoverRules,
    pub limits: AlongLimits<'a>,
    pub start: End,
    pub far: End,
    pub joint: Joint,
    pub slope: Slope,
    pub rounding: Rounding,
    /// Wins in every line that it fits.
    pub cut: Option<Cut<'a>>,
}

/// A part of a strip and how it is covered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// Which strip, from the start edge.
    pub index: i64,
    pub part: Part,
    pub cover: Covered,
}

/// How a part of a strip is covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Covered {
    /// By a line of panels.
    Panels,
    /// By a line of panels ripped to width.
    Ripped,
    /// By a filler strip.
    Filler,
    /// By spreading the panels beside it.
    Spread,
}

/// A bay of any outline laid out, all copies counted.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapePlan {
    pub pieces: Vec<Piece>,
    pub panels: i64,
    /// Lines of panels (one a part of a strip).
    pub lines: i64,
    pub lineal: Length,
    pub filler: Length,
    pub ripped: i64,
    /// Panels shorter than the shortest, ordered at the shortest and cut.
    pub short: i64,
    /// The parts of one copy.
    pub strips: Vec<Strip>,
    /// Where the panels of one copy lie.
    pub blocks: Vec<Block>,
    /// The spans that panels of one copy run over, each run once, and how many panels they are. A span in which a panel ends counts whole.
    pub runs: Vec<(Vec<Length>, i64)>,
    pub openings: Vec<Verdict>,
    /// The outline, openings included.
    pub area_ft2: f64,
    /// The outline, less the openings that the concrete is net of.
    pub concrete_area_ft2: f64,
    /// What is cut away at edges that are not square to the panels.
    pub skew_waste_ft2: f64,
    /// What panels reach across beyond the outline.
    pub overcover_ft2: f64,
    pub breaches: Vec<String>,
    pub proved: bool,
    /// Whole covers lie within half the last digit of the width, and are counted.
    pub decimal_note: bool,
}

/// Lays out a bay of any outline.
///
/// Refuses what is no simple outline, openings outside it or over each other, spans that do not
/// reach it, shapes too fine for the cover, and what
/// [`lay_along`](super::along::lay_along) refuses.
pub fn lay_shape(spec: &ShapeSpec<'_>) -> Result<ShapePlan, Refusal> {
    let corners = simple("corners_ft", spec.corners)?;
    if !spec.cover.is_positive() || spec.cover > Length::LONGEST {
        return Err(Refusal::new("cover_in", spec.cover.in_inches(), "a cover above 0 in"));
    }
    if spec.copies < 1 {
        return Err(Refusal::new("copies", spec.copies, "a count of 1 or more"));
    }
    let openings = judge(&corners, spec.openings, spec.cover, &spec.opening_rules)?;
    let (along, across) = (extent(&corners, |at| at.along), extent(&corners, |at| at.across));
    let supports = supports(spec.spans, along.1 - along.0)?;
    let mut lines = Lines { spec, along, supports, laid: BTreeMap::new(), breaches: Vec::new() };

    let mut outlines: Vec<&[Corner]> = vec![&corners];
    outlines.extend(openings.iter().filter(|it| it.interrupts).map(|it| &*it.corners));
    let shape = Shape::new(&outlines);
    let bands = bands(spec, across, shape.sides())?;

    let mut plan = ShapePlan {
        pieces: Vec::new(),
        panels: 0,
        lines: 0,
        lineal: Length::ZERO,
        filler: Length::ZERO,
        ripped: 0,
        short: 0,
        strips: Vec::new(),
        blocks: Vec::new(),
        runs: Vec::new(),
        area_ft2: area_ft2(&corners),
        concrete_area_ft2: concrete_ft2(&corners, &openings),
        openings,
        skew_waste_ft2: 0.0,
        overcover_ft2: 0.0,
        breaches: Vec::new(),
        proved: true,
        decimal_note: false,
    };
    let mut known: BTreeMap<(Length, usize, bool), usize> = BTreeMap::new();
    for (index, (near, far)) in (0_i64..).zip(bands) {
        let (inner_near, inner_far) = shape.less_slivers(near, far, spec.leftover.spread);
        for part in shape.parts(inner_near, inner_far) {
            let near = if part.near == inner_near { near } else { part.near };
            let far_side = if part.far == inner_far { far } else { part.far };
            let width = far_side - near;
            let cover = covered(spec, width, across.1 - across.0, far == across.1);
            plan.decimal_note |= by_half_digit(spec, width, far == across.1, cover);
            plan.strips.push(Strip { index, part, cover });
            let block = |lines, panels| Block {
                near,
                far: far_side,
                from: part.low,
                to: part.high,
                lines,
                cover,
                panels,
            };
            match cover {
                Covered::Spread => {}
                Covered::Filler => {
                    plan.filler += lines.along_the_deck(&part);
                    blocks::add(&mut plan.blocks, block(0, Vec::new()));
                }
                Covered::Panels | Covered::Ripped => {
                    let laid = lines.lay(&part)?;
                    blocks::add(&mut plan.blocks, block(1, laid.lies.clone()));
                    plan.add(spec, &part, laid, cover, &mut known);
                }
            }
        }
        for (near, far) in [(near, inner_near), (inner_far, far)] {
            if near < far {
                let slivers = shape.parts(near, far).into_iter();
                plan.strips.extend(slivers.map(|part| Strip {
                    index,
                    part,
                    cover: Covered::Spread,
                }));
            }
        }
    }
    plan.runs = runs(&plan.blocks, &lines.supports, spec.spans, along.0);
    plan.breaches = lines.breaches;
    plan.times(spec.copies)
}

fn concrete_ft2(corners: &[Corner], openings: &[Verdict]) -> f64 {
    let less: f64 = openings.iter().filter(|it| it.deducted).map(|it| it.area_ft2).sum();
    area_ft2(corners) - less
}

/// The runs of spans that the panels of the blocks lie over.
fn runs(
    blocks: &[Block],
    supports: &[Length],
    spans: &[Length],
    start: Length,
) -> Vec<(Vec<Length>, i64)> {
    let mut runs: Vec<(Vec<Length>, i64)> = Vec::new();
    let mut known = BTreeMap::new();
    let panels =
        |block: &Block| block.panels.iter().map(|it| (*it, block.lines)).collect::<Vec<_>>();
    for (panel, lines) in blocks.iter().flat_map(panels) {
        let (from, to) = (panel.from - start, panel.to - start);
        let first = supports.partition_point(|at| *at <= from).saturating_sub(1);
        let past = supports.partition_point(|at| *at < to).min(spans.len());
        let Some(run) = spans.get(first..past).filter(|run| !run.is_empty()) else { continue };
        let at = *known.entry(run).or_insert(runs.len());
        match runs.get_mut(at) {
            Some((_, count)) => *count += lines,
            None => runs.push((run.to_vec(), lines)),
        }
    }
    runs
}

/// Where the supports are, from the outline's least coordinate along.
fn supports(spans: &[Length], length: Length) -> Result<Vec<Length>, Refusal> {
    let mut at = Length::ZERO;
    let mut supports = vec![at];
    for (index, span) in spans.iter().enumerate() {
        if !span.is_positive() || *span > Length::LONGEST {
            return Err(Refusal::new(
                format!("spans_ft[{index}]"),
                span,
                "a length above 0 ft, up to 100,000 ft",
            ));
        }
        at += *span;
        supports.push(at);
    }
    if at < length {
        return Err(Refusal::new(
            "spans_ft",
            format!("{at} in all"),
            format!("spans that reach the end of the outline, {length} along"),
        ));
    }
    Ok(supports)
}

/// The strips across, near and far side of each.
fn bands(
    spec: &ShapeSpec<'_>,
    across: (Length, Length),
    sides: usize,
) -> Result<Vec<(Length, Length)>, Refusal> {
    let mut bands = Vec::new();
    let mut near = across.0;
    let ends = spec.breaks.iter().map(|at| across.0 + *at).chain([across.1]);
    let mut strips = 0_i64;
    for end in ends.map(|end| end.min(across.1)) {
        let width = end - near;
        let count = width.count_to_cover(spec.cover).unwrap_or(0).max(0);
        strips = strips.saturating_add(count);
        let looks = strips.saturating_mul(i64::try_from(sides).unwrap_or(i64::MAX));
        if strips > MOST_STRIPS || looks > MOST_LOOKS {
            return Err(Refusal::new(
                "cover_in",
                format!("{}, {strips} strips", spec.cover.as_inches_text()),
                format!("a cover that makes at most {MOST_STRIPS} strips of the outline"),
            ));
        }
        for index in 0..count {
            let from = near + spec.cover * index;
            bands.push((from, (from + spec.cover).min(end)));
        }
        near = near.max(end);
    }
    Ok(bands)
}

/// Whether half the last digit of the width decided how the last strip is covered.
fn by_half_digit(spec: &ShapeSpec<'_>, width: Length, last: bool, cover: Covered) -> bool {
    let lacking = spec.cover - width;
    last && match cover {
        Covered::Panels => lacking.is_positive(),
        Covered::Spread => width <= half_digit(spec),
        Covered::Ripped | Covered::Filler => false,
    }
}

fn half_digit(spec: &ShapeSpec<'_>) -> Length {
    spec.half_digit.min(Length::from_exact(spec.cover.exact() / 2))
}

/// How a part is covered, by how far it reaches across of the whole width.
fn covered(spec: &ShapeSpec<'_>, width: Length, whole: Length, last: bool) -> Covered {
    if width >= spec.cover {
        return Covered::Panels;
    }
    let beside = width < whole;
    let half_digit = half_digit(spec);
    if last && beside && width <= half_digit {
        Covered::Spread
    } else if last && spec.cover - width <= half_digit {
        Covered::Panels
    } else if beside && width <= spec.leftover.spread {
        Covered::Spread
    } else if width <= spec.leftover.filler {
        Covered::Filler
    } else {
        Covered::Ripped
    }
}

impl ShapePlan {
    /// Counts the panels over a part once.
    fn add(
        &mut self,
        spec: &ShapeSpec<'_>,
        part: &Part,
        laid: &Laid,
        cover: Covered,
        known: &mut BTreeMap<(Length, usize, bool), usize>,
    ) {
        self.lines += 1;
        self.proved &= laid.proved;
        for (panel, short) in laid.panels.iter().zip(&laid.short) {
            let key = (panel.order, panel.spans(), panel.lapped);
            let at = *known.entry(key).or_insert(self.pieces.len());
            match self.pieces.get_mut(at) {
                Some(piece) => piece.count += 1,
                None => self.pieces.push(Piece {
                    along: 0,
                    across: 0,
                    length: panel.order,
                    exact: panel.exact,
                    spans: panel.spans(),
                    count: 1,
                    lapped: panel.lapped,
                }),
            }
            self.panels += 1;
            self.lineal += panel.order;
            self.short += i64::from(*short);
            self.ripped += i64::from(cover == Covered::Ripped);
        }
        let length_ft = (part.high - part.low).in_feet();
        self.skew_waste_ft2 += (length_ft * part.width().in_feet() - part.area_ft2).max(0.0);
        self.overcover_ft2 += length_ft * (spec.cover - part.width()).in_feet();
    }

    /// All copies.
    fn times(mut self, copies: i64) -> Result<ShapePlan, Refusal> {
        let refuse = || Refusal::new("copies", copies, "copies of fewer than 2^63 panels together");
        let product = |count: i64| count.checked_mul(copies).ok_or_else(refuse);
        let longer = |length: Length| length.checked_mul(copies).ok_or_else(refuse);
        for piece in &mut self.pieces {
            piece.count = product(piece.count)?;
        }
        self.panels = product(self.panels)?;
        self.lines = product(self.lines)?;
        self.ripped = product(self.ripped)?;
        self.short = product(self.short)?;
        self.lineal = longer(self.lineal)?;
        self.filler = longer(self.filler)?;
        #[allow(clippy::cast_precision_loss, reason = "counts beyond 2^53 are refused earlier")]
        let times = copies as f64;
        self.area_ft2 *= times;
        self.concrete_area_ft2 *= times;
        self.skew_waste_ft2 *= times;
        self.overcover_ft2 *= times;
        Ok(self)
    }
}
