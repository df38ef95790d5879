//! Openings in a bay: which lie inside it and apart from each other, which interrupt the panels,
//! and which the concrete is net of.
//!
//! In: openings and the shop's [`OpeningRules`]. Out: a [`Verdict`] for each.

use super::outline::{Corner, area_ft2, crosses, edges, on_edge, simple, turn};
use crate::length::Length;
use crate::value::Refusal;

/// An opening, in the coordinates of its bay.
#[derive(Clone, Copy, Debug)]
pub struct Opening<'a> {
    pub corners: &'a [Corner],
    /// Framed all round, so that panels can end at it.
    pub framed: bool,
}

/// What the shop does about openings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpeningRules {
    /// A framed opening at least so many covers wide …
    pub covers: i64,
    /// … and so long interrupts the panels.
    pub long: Length,
    /// Concrete is net of openings above this, ft2.
    pub deducted_above_ft2: f64,
}

/// What becomes of an opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    pub corners: Vec<Corner>,
    pub area_ft2: f64,
    pub length: Length,
    pub width: Length,
    /// Shortens or splits panels; else it is decked over and formed before the pour.
    pub interrupts: bool,
    /// The concrete is net of it.
    pub deducted: bool,
}

/// Judges the openings of a bay.
///
/// Refuses one that is no simple polygon, reaches outside the bay or overlaps another.
pub fn judge(
    outline: &[Corner],
    openings: &[Opening<'_>],
    cover: Length,
    rules: &OpeningRules,
) -> Result<Vec<Verdict>, Refusal> {
    let mut verdicts: Vec<Verdict> = Vec::with_capacity(openings.len());
    for (index, opening) in openings.iter().enumerate() {
        let name = format!("openings[{index}]");
        let corners = simple(&format!("{name}.corners_ft"), opening.corners)?;
        if !inside(&corners, outline) {
            return Err(Refusal::new(name, where_it_is(&corners), "an opening within its bay"));
        }
        if let Some(other) = verdicts.iter().position(|other| overlap(&corners, &other.corners)) {
            return Err(Refusal::new(
                name,
                format!("{}, over `openings[{other}]`", where_it_is(&corners)),
                "openings that do not overlap",
            ));
        }
        let (length, width) = (extent(&corners, |at| at.along), extent(&corners, |at| at.across));
        let (length, width) = (length.1 - length.0, width.1 - width.0);
        let area_ft2 = area_ft2(&corners);
        let wide = cover.checked_mul(rules.covers).is_some_and(|covers| width >= covers);
        verdicts.push(Verdict {
            area_ft2,
            length,
            width,
            interrupts: opening.framed && wide && length >= rules.long,
            deducted: area_ft2 > rules.deducted_above_ft2,
            corners,
        });
    }
    Ok(verdicts)
}

/// The least and greatest of a coordinate.
#[must_use]
pub fn extent(corners: &[Corner], of: fn(&Corner) -> Length) -> (Length, Length) {
    let least = corners.iter().map(of).min().unwrap_or_default();
    (least, corners.iter().map(of).max().unwrap_or_default())
}

/// How far it reaches along and across, in words.
#[must_use]
pub fn where_it_is(corners: &[Corner]) -> String {
    let (along, across) = (extent(corners, |at| at.along), extent(corners, |at| at.across));
    format!("{} to {} along, {} to {} across", along.0, along.1, across.0, across.1)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Inside,
    On,
    Outside,
}

/// Where the boundary of one polygon lies to another; `None` where their edges cross.
fn sides(of: &[Corner], to: &[Corner]) -> Option<Vec<Side>> {
    let doubled = |corner: Corner| Corner { along: corner.along * 2, across: corner.across * 2 };
    let to_doubled: Vec<Corner> = to.iter().copied().map(doubled).collect();
    let mut sides = Vec::new();
    for (from, end) in edges(of) {
        if edges(to).any(|(c, d)| crosses(from, end, c, d)) {
            return None;
        }
        let mut stops: Vec<Corner> =
            to.iter().copied().filter(|corner| on_edge(*corner, from, end)).collect();
        stops.extend([from, end]);
        stops.sort_by_key(|corner| (corner.along, corner.across));
        stops.dedup();
        for pair in stops.windows(2) {
            let middle = Corner {
                along: pair[0].along + pair[1].along,
                across: pair[0].across + pair[1].across,
            };
            sides.push(side(middle, &to_doubled));
        }
    }
    Some(sides)
}

/// On which side of a polygon's boundary a corner lies.
fn side(corner: Corner, polygon: &[Corner]) -> Side {
    let mut inside = false;
    for (a, b) in edges(polygon) {
        if on_edge(corner, a, b) {
            return Side::On;
        }
        if (a.across > corner.across) != (b.across > corner.across) {
            let left = turn(a, b, corner) > 0;
            inside ^= left == (b.across > a.across);
        }
    }
    if inside { Side::Inside } else { Side::Outside }
}

/// Whether a simple polygon lies within another, touching allowed.
#[must_use]
pub fn inside(opening: &[Corner], outline: &[Corner]) -> bool {
    sides(opening, outline).is_some_and(|sides| !sides.contains(&Side::Outside))
}

/// Whether two simple polygons share area.
#[must_use]
pub fn overlap(one: &[Corner], other: &[Corner]) -> bool {
    let (Some(first), Some(second)) = (sides(one, other), sides(other, one)) else { return true };
    first.contains(&Side::Inside)
        || second.contains(&Side::Inside)
        || first.iter().all(|side| *side == Side::On)
}
