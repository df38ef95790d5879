//! Outlines: polygons of exact corners, whether they are simple, and what lies of them within a
//! band across the flutes.
//!
//! Where an edge meets the side of a band the meeting point is a fraction of the exact unit;
//! fractions are compared exactly, and the ends of a part are rounded outward to the unit. In:
//! corners. Out: refusals for what is no outline, and [`Part`]s.

use std::cmp::Ordering;

use geo::{Area, Coord, LineString, Polygon};

use crate::length::{Length, Unit};
use crate::value::Refusal;

/// No outline has more corners.
pub const MOST_CORNERS: usize = 2_000;

/// A corner of an outline or opening, along and across the flutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Corner {
    pub along: Length,
    pub across: Length,
}

impl Corner {
    /// A corner whose plan coordinates are east and north, in a bay whose flutes run so.
    #[must_use]
    pub const fn on_plan(x: Length, y: Length, flutes_run_north: bool) -> Corner {
        if flutes_run_north {
            Corner { along: y, across: x }
        } else {
            Corner { along: x, across: y }
        }
    }

    const fn exact(self) -> (i128, i128) {
        (self.along.exact() as i128, self.across.exact() as i128)
    }
}

/// The corners of a rectangle whose first corner is at the origin.
#[must_use]
pub const fn rectangle(length: Length, width: Length) -> [Corner; 4] {
    [
        Corner { along: Length::ZERO, across: Length::ZERO },
        Corner { along: length, across: Length::ZERO },
        Corner { along: length, across: width },
        Corner { along: Length::ZERO, across: width },
    ]
}

/// The corners without doubles, if they make a simple polygon.
///
/// Refuses fewer than three corners, edges that cross or touch, no area, and coordinates beyond
/// 100,000 ft.
pub fn simple(argument: &str, corners: &[Corner]) -> Result<Vec<Corner>, Refusal> {
    let mut outline: Vec<Corner> = Vec::with_capacity(corners.len());
    for corner in corners {
        if corner.along.abs() > Length::LONGEST || corner.across.abs() > Length::LONGEST {
            return Err(Refusal::new(
                argument,
                format!("a corner at {}, {}", corner.along, corner.across),
                "corners within 100,000 ft",
            ));
        }
        if outline.last() != Some(corner) {
            outline.push(*corner);
        }
    }
    while outline.len() > 1 && outline.first() == outline.last() {
        outline.pop();
    }
    let count = outline.len();
    if !(3..=MOST_CORNERS).contains(&count) {
        return Err(Refusal::new(
            argument,
            format!("{count} corner{}", if count == 1 { "" } else { "s" }),
            format!("3 to {MOST_CORNERS} different corners"),
        ));
    }
    for first in 0..count {
        for second in first + 1..count {
            if meet(&outline, first, second) {
                let ends = |edge: usize| format!("{} to {}", edge + 1, (edge + 1) % count + 1);
                return Err(Refusal::new(
                    argument,
                    format!("crossed by itself: edge {} meets edge {}", ends(first), ends(second)),
                    "an outline whose edges do not cross or touch",
                ));
            }
        }
    }
    Ok(outline)
}

/// Whether two edges of an outline share more than the corner of neighbours.
fn meet(outline: &[Corner], first: usize, second: usize) -> bool {
    let count = outline.len();
    let end = |edge: usize| (outline[edge], outline[(edge + 1) % count]);
    let ((a, b), (c, d)) = (end(first), end(second));
    if (first + 1) % count == second {
        return turn(a, b, d) == 0 && within_box(b, a, d).is_none();
    }
    if (second + 1) % count == first {
        return turn(c, a, b) == 0 && within_box(a, c, b).is_none();
    }
    crosses(a, b, c, d) || on_edge(a, c, d) || on_edge(b, c, d) || on_edge(c, a, b)
}

/// Some where `corner` lies between the two others in both coordinates.
fn within_box(corner: Corner, one: Corner, other: Corner) -> Option<()> {
    let between = |value: Length, a: Length, b: Length| a.min(b) <= value && value <= a.max(b);
    (between(corner.along, one.along, other.along)
        && between(corner.across, one.across, other.across))
    .then_some(())
}

/// Twice the area of the triangle, positive where the corners turn left.
pub(super) fn turn(a: Corner, b: Corner, c: Corner) -> i128 {
    let ((ax, ay), (bx, by), (cx, cy)) = (a.exact(), b.exact(), c.exact());
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

/// Whether two edges cross at a point inside both.
pub(super) fn crosses(a: Corner, b: Corner, c: Corner, d: Corner) -> bool {
    turn(a, b, c).signum() * turn(a, b, d).signum() < 0
        && turn(c, d, a).signum() * turn(c, d, b).signum() < 0
}

/// Whether a corner lies on an edge, ends included.
pub(super) fn on_edge(corner: Corner, a: Corner, b: Corner) -> bool {
    turn(a, b, corner) == 0 && within_box(corner, a, b).is_some()
}

/// The edges of an outline, corner to corner.
pub(super) fn edges(outline: &[Corner]) -> impl Iterator<Item = (Corner, Corner)> + '_ {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

/// The area of an outline, ft2.
#[must_use]
pub fn area_ft2(outline: &[Corner]) -> f64 {
    let line: Vec<Coord<f64>> = outline
        .iter()
        .map(|corner| Coord { x: corner.along.in_feet(), y: corner.across.in_feet() })
        .collect();
    Polygon::new(LineString::new(line), Vec::new()).unsigned_area()
}

/// A connected part of what lies of a shape within a band across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Lowest and highest point along, rounded outward to the exact unit.
    pub low: Length,
    pub high: Length,
    /// Nearest and farthest point across.
    pub near: Length,
    pub far: Length,
    pub area_ft2: f64,
}

impl Part {
    /// How far it reaches across.
    #[must_use]
    pub fn width(&self) -> Length {
        self.far - self.near
    }
}

/// A position along, as a fraction with a positive denominator.
#[derive(Clone, Copy, Debug)]
struct Fraction {
    top: i128,
    bottom: i128,
}

impl Fraction {
    fn compare(self, other: Fraction) -> Ordering {
        (self.top * other.bottom).cmp(&(other.top * self.bottom))
    }

    fn least(self, other: Fraction) -> Fraction {
        if other.compare(self).is_lt() { other } else { self }
    }

    fn most(self, other: Fraction) -> Fraction {
        if other.compare(self).is_gt() { other } else { self }
    }

    fn floor(self) -> Length {
        Length::from_exact(i64::try_from(self.top.div_euclid(self.bottom)).unwrap_or(i64::MAX))
    }

    fn ceil(self) -> Length {
        -Fraction { top: -self.top, bottom: self.bottom }.floor()
    }

    fn in_feet(self) -> f64 {
        let foot = i128::from(Unit::Foot.exact());
        let (whole, rest) = (self.top.div_euclid(self.bottom), self.top.rem_euclid(self.bottom));
        #[allow(clippy::cast_precision_loss, reason = "an area that is shown, not counted")]
        let feet = whole as f64 / foot as f64 + rest as f64 / self.bottom as f64 / foot as f64;
        feet
    }
}

/// An edge that is not parallel to the flutes, from its nearer to its farther end across.
#[derive(Clone, Copy, Debug)]
struct Side {
    near: (i128, i128),
    far: (i128, i128),
}

impl Side {
    fn at(&self, across: i128) -> Fraction {
        let bottom = self.far.1 - self.near.1;
        let rise = (self.far.0 - self.near.0) * (across - self.near.1);
        Fraction { top: self.near.0 * bottom + rise, bottom }
    }
}

/// What lies between two sides within a slab that has no corner inside.
struct Trapezoid {
    slab: usize,
    near: (Fraction, Fraction),
    far: (Fraction, Fraction),
    part: usize,
}

/// A shape made ready to be cut into bands: an outline and the openings cut out of it.
pub struct Shape {
    sides: Vec<Side>,
    /// Across, ascending: every corner, and every edge parallel to the flutes.
    corners: Vec<i128>,
    parallel: Vec<i128>,
}

impl Shape {
    /// From simple polygons of which all but the first lie inside the first, apart from each other.
    #[must_use]
    pub fn new(outlines: &[&[Corner]]) -> Shape {
        let mut shape = Shape { sides: Vec::new(), corners: Vec::new(), parallel: Vec::new() };
        for (from, to) in outlines.iter().flat_map(|outline| edges(outline)) {
            let (from, to) = (from.exact(), to.exact());
            shape.corners.push(from.1);
            match from.1.cmp(&to.1) {
                Ordering::Less => shape.sides.push(Side { near: from, far: to }),
                Ordering::Greater => shape.sides.push(Side { near: to, far: from }),
                Ordering::Equal => shape.parallel.push(from.1),
            }
        }
        shape.parallel.sort_unstable();
        shape.corners.sort_unstable();
        shape.corners.dedup();
        shape.sides.sort_by_key(|side| side.near.1);
        shape
    }

    /// How many edges are looked at for each band.
    #[must_use]
    pub fn sides(&self) -> usize {
        self.sides.len()
    }

    /// A band less what lies within `spread` of its sides beyond an edge parallel to the flutes:
    /// so narrow a piece is taken up in spreading the panels.
    #[must_use]
    pub fn less_slivers(&self, near: Length, far: Length, spread: Length) -> (Length, Length) {
        let between = |from: Length, to: Length| {
            let (from, to) = (i128::from(from.exact()), i128::from(to.exact()));
            let first = self.parallel.partition_point(|across| *across < from);
            let last = self.parallel.partition_point(|across| *across <= to);
            self.parallel.get(first..last).unwrap_or_default()
        };
        let length = |across: &i128| i64::try_from(*across).map(Length::from_exact).ok();
        let unit = Length::from_exact(1);
        let inner_near = between(near + unit, (near + spread).min(far - unit)).last();
        let inner_far = between((far - spread).max(near + unit), far - unit).first();
        let inner_near = inner_near.and_then(length).unwrap_or(near);
        let inner_far = inner_far.and_then(length).unwrap_or(far);
        if inner_near < inner_far { (inner_near, inner_far) } else { (near, far) }
    }

    /// The connected parts within a band across, in the order of their lowest points along.
    #[must_use]
    pub fn parts(&self, near: Length, far: Length) -> Vec<Part> {
        let (near, far) = (i128::from(near.exact()), i128::from(far.exact()));
        let first = self.corners.partition_point(|across| *across <= near);
        let last = self.corners.partition_point(|across| *across < far);
        let inside = self.corners.get(first..last).unwrap_or_default();
        let lines: Vec<i128> = [near].iter().chain(inside).chain([far].iter()).copied().collect();
        let upto = self.sides.partition_point(|side| side.near.1 < far);
        let near_enough: Vec<Side> =
            self.sides[..upto].iter().filter(|side| side.far.1 > near).copied().collect();

        let mut trapezoids: Vec<Trapezoid> = Vec::new();
        let mut previous = 0..0;
        for (slab, across) in lines.windows(2).enumerate() {
            let (near, far) = (across[0], across[1]);
            let mut cutting: Vec<(Fraction, Side)> = near_enough
                .iter()
                .filter(|side| side.near.1 <= near && side.far.1 >= far)
                .map(|side| (middle(side, near, far), *side))
                .collect();
            cutting.sort_by(|(a, _), (b, _)| a.compare(*b));
            let begin = trapezoids.len();
            for pair in cutting.chunks_exact(2) {
                let (low, high) = (pair[0].1, pair[1].1);
                let open = |across: i128| low.at(across).compare(high.at(across)).is_lt();
                if !open(near) && !open(far) {
                    continue;
                }
                trapezoids.push(Trapezoid {
                    slab,
                    near: (low.at(near), high.at(near)),
                    far: (low.at(far), high.at(far)),
                    part: trapezoids.len(),
                });
            }
            join(&mut trapezoids, previous, begin);
            previous = begin..trapezoids.len();
        }
        gather(&trapezoids, &lines)
    }
}

/// Twice the position of a side in the middle of a slab.
fn middle(side: &Side, near: i128, far: i128) -> Fraction {
    let bottom = side.far.1 - side.near.1;
    let rise = (side.far.0 - side.near.0) * (near + far - 2 * side.near.1);
    Fraction { top: 2 * side.near.0 * bottom + rise, bottom }
}

/// Gives the trapezoids from `begin` on, and all that hang together with them, one part where they
/// share a piece of line with the slab before.
fn join(trapezoids: &mut [Trapezoid], previous: std::ops::Range<usize>, begin: usize) {
    for below in previous {
        for above in begin..trapezoids.len() {
            let (under, over) = (trapezoids[below].far, trapezoids[above].near);
            let shared = under.0.most(over.0).compare(under.1.least(over.1)).is_lt();
            let (keep, give) = (trapezoids[below].part, trapezoids[above].part);
            if shared && keep != give {
                for trapezoid in trapezoids.iter_mut().filter(|other| other.part == give) {
                    trapezoid.part = keep;
                }
            }
        }
    }
}

/// One part for all trapezoids that hang together.
fn gather(trapezoids: &[Trapezoid], lines: &[i128]) -> Vec<Part> {
    let mut parts: Vec<(usize, Part)> = Vec::new();
    let length = |across: i128| Length::from_exact(i64::try_from(across).unwrap_or(i64::MAX));
    for trapezoid in trapezoids {
        let (near, far) = (length(lines[trapezoid.slab]), length(lines[trapezoid.slab + 1]));
        let low = trapezoid.near.0.least(trapezoid.far.0).floor();
        let high = trapezoid.near.1.most(trapezoid.far.1).ceil();
        let along = |ends: (Fraction, Fraction)| ends.1.in_feet() - ends.0.in_feet();
        let area_ft2 =
            f64::midpoint(along(trapezoid.near), along(trapezoid.far)) * (far - near).in_feet();
        match parts.iter_mut().find(|(part, _)| *part == trapezoid.part) {
            Some((_, part)) => {
                part.low = part.low.min(low);
                part.high = part.high.max(high);
                part.near = part.near.min(near);
                part.far = part.far.max(far);
                part.area_ft2 += area_ft2;
            }
            None => parts.push((trapezoid.part, Part { low, high, near, far, area_ft2 })),
        }
    }
    let mut parts: Vec<Part> = parts.into_iter().map(|(_, part)| part).collect();
    parts.sort_by_key(|part| (part.low, part.near));
    parts
}
