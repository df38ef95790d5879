//! What is drawn of a level: plain values in feet on plan, X east and Y north.

use std::sync::Arc;

/// A place on plan, ft.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Place {
    pub east: f64,
    pub north: f64,
}

/// Which way the flutes run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Flutes {
    #[default]
    EastWest,
    NorthSouth,
}

impl Flutes {
    /// A place from its coordinates along and across the flutes.
    #[must_use]
    pub const fn place(self, along: f64, across: f64) -> Place {
        match self {
            Flutes::EastWest => Place { east: along, north: across },
            Flutes::NorthSouth => Place { east: across, north: along },
        }
    }

    /// Along and across of a place.
    #[must_use]
    pub const fn turned(self, place: Place) -> (f64, f64) {
        match self {
            Flutes::EastWest => (place.east, place.north),
            Flutes::NorthSouth => (place.north, place.east),
        }
    }
}

/// How lines of a bay are covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    Panels,
    Ripped,
    Filler,
    Spread,
}

/// Lines of panels side by side, as far as they lie in the bay; coordinates along and across, ft.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    pub near: f64,
    pub far: f64,
    pub from: f64,
    pub to: f64,
    /// The first side lap, and from one to the next; 0 for none.
    pub first: f64,
    pub pitch: f64,
    pub cover: Cover,
    /// Where panels end.
    pub ends: Vec<f64>,
}

/// Panels of one mark side by side that belong to the bay; coordinates along and across, ft.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    pub near: f64,
    pub far: f64,
    pub from: f64,
    pub to: f64,
    pub count: i64,
    /// How many of them are ripped to width.
    pub ripped: i64,
    pub mark: Arc<str>,
    /// `30'-0"`.
    pub length: Arc<str>,
}

/// An opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    pub outline: Vec<Place>,
    /// Panels end at it; else it is decked over.
    pub interrupts: bool,
    pub note: String,
}

/// A bay.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bay {
    pub mark: String,
    pub deck_type: String,
    /// What else stands under its mark: spans, support, copies, status.
    pub facts: Vec<String>,
    /// The pours that it belongs to.
    pub pours: Vec<String>,
    pub flutes: Flutes,
    /// It lies on plan where its coordinates say; else it is drawn as a diagram of its own.
    pub placed: bool,
    /// It has a slab, whose outer edge is drawn.
    pub slab: bool,
    pub outline: Vec<Place>,
    pub openings: Vec<Opening>,
    /// Along, ft.
    pub supports: Vec<f64>,
    pub laid: Vec<Laid>,
    pub runs: Vec<Run>,
    /// Its panels as lines of text, where it is not known how they lie.
    pub list: Vec<String>,
}

/// A level.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Level {
    pub bays: Vec<Bay>,
    /// What the schedule lists of its slab edges, a line each.
    pub edges: Vec<String>,
    /// What is to be said below the drawing.
    pub notes: Vec<String>,
}
