//! A drawing as plain data: areas, lines and words on a page, in points from its upper left corner.
//!
//! Plain data between the room that draws and those that keep or place what it drew.

/// A place on the page, pt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    pub x: f64,
    pub y: f64,
}

/// A colour: red, green, blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink(pub u8, pub u8, pub u8);

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    pub ink: Ink,
    pub width: f64,
    /// Lengths of dashes and gaps in turn; none for a whole line.
    pub dashes: &'static [f64],
}

/// Where words stand by their spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// They begin there.
    Start,
    Middle,
    /// They end there.
    End,
}

/// Words on one line.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// On the base line.
    pub spot: Spot,
    pub text: String,
    pub size: f64,
    pub bold: bool,
    pub ink: Ink,
    pub side: Side,
    /// Read from below upward.
    pub upward: bool,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// Closed outlines, filled by the even-odd rule.
    Area {
        outlines: Vec<Vec<Spot>>,
        fill: Ink,
    },
    /// Open lines, or closed ones where `closed`.
    Lines {
        lines: Vec<Vec<Spot>>,
        stroke: Stroke,
        closed: bool,
    },
    Words(Words),
}

/// A page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Picture {
    pub width: f64,
    pub height: f64,
    /// In the order in which they are drawn, the later over the earlier.
    pub marks: Vec<Mark>,
}
