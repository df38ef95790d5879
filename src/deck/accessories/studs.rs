//! Headed studs through deck: length, cover and size against the limits, and closures counted.
//!
//! In: stud, deck and slab. Out: what is left over the deck and over the head, least length and slab,
//! and each limit that is not met, in words.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::fields::{Fields, Range};
use crate::length::Length;
use crate::value::{Feet, Inches, Record, Refusal};

pub const BUILTINS: &[Builtin] =
    &[builtin!(headed_stud(stud)), builtin!(cell_closures(edge_ft, pitch_in))];

const DIAMETER: Range = Range::above("a diameter", 0.0, 2.0, "in");
const LENGTH: Range = Range::above("a length", 0.0, 24.0, "in");
const BURN: Range = Range::from("a burn-off", 0.0, 1.0, "in");
const DEPTH: Range = Range::from("a deck depth", 0.0, 24.0, "in");
const SLAB: Range = Range::above("a slab thickness", 0.0, 60.0, "in");
const RIB: Range = Range::from("an average rib width", 0.0, 48.0, "in");
const LIMIT: Range = Range::from("a limit", 0.0, 24.0, "in");

/// A headed stud against its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct StudFigures {
    pub length_in: f64,
    /// How far the stud stands over the deck, and concrete over its head.
    pub above_deck_in: f64,
    pub cover_in: f64,
    /// Least length after welding, and before it.
    pub least_length_in: f64,
    pub least_ordered_in: f64,
    /// Least slab for this deck with the least stud.
    pub least_slab_in: f64,
    /// Limits not met, a sentence each.
    pub over: Vec<String>,
}

into_record!(StudFigures {
    length_in,
    above_deck_in,
    cover_in,
    least_length_in,
    least_ordered_in,
    least_slab_in,
    over,
});

/// The length and cover of a headed stud welded through deck.
///
/// - stud: record with ordered_in (length before welding), slab_in, depth_in (of the deck); as wanted
///   diameter_in (0.75), burn_off_in (0.375 through deck), rib_in (average rib width), above_deck_in
///   (least over the deck, 1.5), cover_in (least over the head, 0.5), slab_above_in (least slab over the
///   deck, 2), diameter_most_in (0.75), depth_most_in (3), rib_least_in (2), length_diameters (least
///   length in diameters, 4)
///
/// Gives: record length_in (after welding), above_deck_in, cover_in, least_length_in, least_ordered_in,
/// least_slab_in, over (list of limits not met, in words).
/// Source: AISC 360-16 I3.2c(1) and I8.2d; burn-off from memory.
/// Example: `deck::headed_stud(#{ordered_in: 4.875, slab_in: 5, depth_in: 3}).cover_in` = 0.5
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn headed_stud(stud: Arc<Record>) -> Result<StudFigures, Refusal> {
    let known = [
        "ordered_in",
        "slab_in",
        "depth_in",
        "diameter_in",
        "burn_off_in",
        "rib_in",
        "above_deck_in",
        "cover_in",
        "slab_above_in",
        "diameter_most_in",
        "depth_most_in",
        "rib_least_in",
        "length_diameters",
    ];
    let fields = Fields::exactly("stud", &stud, &known)?;
    let slab = fields.number("slab_in", SLAB)?;
    let depth = fields.number("depth_in", DEPTH)?;
    if slab <= depth {
        let wanted = format!("a slab thicker than the deck's {depth} in");
        return Err(Refusal::new("stud.slab_in", slab, wanted));
    }
    let burn = fields.number_or("burn_off_in", 0.375, BURN)?;
    let ordered = fields.number("ordered_in", LENGTH)?;
    if ordered <= burn {
        let wanted = format!("a length above the burn-off of {burn} in");
        return Err(Refusal::new("stud.ordered_in", ordered, wanted));
    }
    let diameter = fields.number_or("diameter_in", 0.75, DIAMETER)?;
    let above_least = fields.number_or("above_deck_in", 1.5, LIMIT)?;
    let cover_least = fields.number_or("cover_in", 0.5, LIMIT)?;
    let slab_least = fields.number_or("slab_above_in", 2.0, LIMIT)?;
    let diameters =
        fields.number_or("length_diameters", 4.0, Range::from("a multiple", 0.0, 20.0, ""))?;
    let length_in = ordered - burn;
    let (above_deck_in, cover_in) = (length_in - depth, slab - length_in);
    let least_length_in = (depth + above_least).max(diameters * diameter);
    let mut over = Vec::new();
    let mut least = |what: &str, found: f64, least: f64| {
        if found < least {
            over.push(format!("{what} {} in is under {} in", round(found), round(least)));
        }
    };
    least("stud over the deck", above_deck_in, above_least);
    least("cover over the stud", cover_in, cover_least);
    least("length after welding", length_in, diameters * diameter);
    least("slab over the deck", slab - depth, slab_least);
    if let Some(rib) = fields.optional_number("rib_in", RIB)? {
        least("average rib width", rib, fields.number_or("rib_least_in", 2.0, LIMIT)?);
    }
    let mut most = |what: &str, found: f64, most: f64| {
        if found > most {
            over.push(format!("{what} {} in is over {} in", round(found), round(most)));
        }
    };
    most("stud diameter", diameter, fields.number_or("diameter_most_in", 0.75, LIMIT)?);
    most("deck depth", depth, fields.number_or("depth_most_in", 3.0, LIMIT)?);
    Ok(StudFigures {
        length_in,
        above_deck_in,
        cover_in,
        least_length_in,
        least_ordered_in: least_length_in + burn,
        least_slab_in: (least_length_in + cover_least).max(depth + slab_least),
        over,
    })
}

fn round(inches: f64) -> f64 {
    (inches * 10_000.0).round() / 10_000.0
}

/// The cells that an edge across the flutes leaves open, one closure each.
///
/// - edge_ft: length of the edge across the flutes, ft, from 0
/// - pitch_in: distance between ribs, in, above 0
///
/// Gives: count of cells begun along the edge.
/// Source: geometry.
/// Example: `deck::cell_closures(30, 12)` = 30
pub fn cell_closures(edge_ft: Feet, pitch_in: Inches) -> Result<i64, Refusal> {
    if edge_ft.0 < Length::ZERO {
        return Err(Refusal::new("edge_ft", edge_ft.0.in_feet(), "a length from 0 ft"));
    }
    edge_ft
        .0
        .count_to_cover(pitch_in.0)
        .ok_or_else(|| Refusal::new("pitch_in", pitch_in.0.in_inches(), "a pitch above 0 in"))
}
