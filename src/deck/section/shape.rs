//! The outline of one rib of deck as lines and arcs along the middle of the sheet.
//!
//! In: overall depth, pitch, flats between sharp corners, inside corner radius, thickness. Out: the
//! straight and curved parts with their places, per pitch. Heights count from the outer bottom face.

use crate::fields::{Fields, Range};
use crate::value::Refusal;

pub(crate) const DEPTH: Range = Range::above("a depth", 0.0, 24.0, "in");
pub(crate) const PITCH: Range = Range::above("a pitch", 0.0, 48.0, "in");
pub(crate) const FLAT: Range = Range::above("a flat width", 0.0, 48.0, "in");
pub(crate) const RADIUS: Range = Range::from("an inside corner radius", 0.0, 2.0, "in");
pub(crate) const THICKNESS: Range = Range::above("a steel thickness", 0.0, 1.0, "in");

/// Inside corner radius of deck where none is given; common practice, no source.
pub(crate) const RADIUS_IN: f64 = 0.125;

/// Widest flat element and deepest web that the effective-width rules reach, in thicknesses;
/// AISI S100-16 B4.1.
const WIDEST_FLAT: f64 = 500.0;
const DEEPEST_WEB: f64 = 200.0;

/// One rib of deck, in inches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    pub depth_in: f64,
    pub pitch_in: f64,
    pub top_flat_in: f64,
    pub bottom_flat_in: f64,
    pub radius_in: f64,
    pub thickness_in: f64,
    pub top_stiffeners: Stiffeners,
    pub bottom_stiffeners: Stiffeners,
}

/// Equal V-shaped grooves spread over a flange, pressed towards the middle of the depth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stiffeners {
    pub count: u8,
    pub depth_in: f64,
    pub width_in: f64,
}

/// A part of the outline: developed length, height of its centroid, inertia about its own
/// centroid per unit of thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    pub length: f64,
    pub height: f64,
    pub inertia: f64,
}

/// What follows from the shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outline {
    /// Angle of the web from the horizontal, radians.
    pub angle: f64,
    /// Flat width of the top flange between its corners.
    pub top_flat: f64,
    pub bottom_flat: f64,
    /// Flat length of one web along its slope.
    pub web_flat: f64,
    pub thickness: f64,
    pub depth: f64,
    pub top: Part,
    pub bottom: Part,
    /// One web; there are two in a pitch.
    pub web: Part,
    /// One corner of each kind; there are two in a pitch.
    pub top_corner: Part,
    pub bottom_corner: Part,
    pub top_stiffeners: Stiffeners,
}

impl Shape {
    /// Reads the geometry fields of a deck record.
    pub(crate) fn of_deck(deck: Fields) -> Result<Shape, Refusal> {
        Ok(Shape {
            depth_in: deck.number("depth_in", DEPTH)?,
            pitch_in: deck.number("pitch_in", PITCH)?,
            top_flat_in: deck.number("top_flat_in", FLAT)?,
            bottom_flat_in: deck.number("bottom_flat_in", FLAT)?,
            radius_in: deck.number_or("radius_in", RADIUS_IN, RADIUS)?,
            thickness_in: deck.number("thickness_in", THICKNESS)?,
            top_stiffeners: Stiffeners::of_deck(deck, "top_stiffeners")?,
            bottom_stiffeners: Stiffeners::of_deck(deck, "bottom_stiffeners")?,
        })
    }

    /// The shape upside down, as it bends under a hogging moment.
    #[must_use]
    pub fn flipped(&self) -> Shape {
        Shape {
            top_flat_in: self.bottom_flat_in,
            bottom_flat_in: self.top_flat_in,
            top_stiffeners: self.bottom_stiffeners,
            bottom_stiffeners: self.top_stiffeners,
            ..*self
        }
    }

    /// Refuses shapes whose corners leave no flat, or beyond the reach of the effective-width rules.
    pub fn outline(&self) -> Result<Outline, Refusal> {
        let Shape { depth_in: depth, pitch_in: pitch, radius_in, thickness_in: thickness, .. } =
            *self;
        if depth <= thickness {
            let wanted = format!("a depth above the steel thickness of {thickness} in");
            return Err(Refusal::new("depth_in", depth, wanted));
        }
        let rise = depth - thickness;
        let run = (pitch - self.top_flat_in - self.bottom_flat_in) / 2.0;
        let angle = rise.atan2(run);
        let radius = radius_in + thickness / 2.0;
        let tangent = radius * (angle / 2.0).tan();
        let flat = |name: &str, sharp: f64| {
            if sharp >= pitch {
                let wanted = format!("a flat width below the pitch of {pitch} in");
                return Err(Refusal::new(name, sharp, wanted));
            }
            let flat = sharp - 2.0 * tangent;
            let most = WIDEST_FLAT * thickness;
            if flat > 0.0 && flat <= most {
                return Ok(flat);
            }
            let wanted = format!(
                "a width above {:.4} in, which its corners take, and up to {:.4} in, which is {WIDEST_FLAT} thicknesses more",
                2.0 * tangent,
                most + 2.0 * tangent
            );
            Err(Refusal::new(name, sharp, wanted))
        };
        let top_flat = flat("top_flat_in", self.top_flat_in)?;
        let bottom_flat = flat("bottom_flat_in", self.bottom_flat_in)?;
        let web_flat = rise.hypot(run) - 2.0 * tangent;
        if web_flat <= 0.0 || web_flat > DEEPEST_WEB * thickness {
            let wanted = format!(
                "a depth whose web, {web_flat:.4} in flat, is above 0 and up to {DEEPEST_WEB} thicknesses"
            );
            return Err(Refusal::new("depth_in", depth, wanted));
        }
        let (sine, cosine) = angle.sin_cos();
        let corner = Part {
            length: radius * angle,
            height: radius * sine / angle,
            inertia: radius.powi(3) * (angle / 2.0 + sine * cosine / 2.0 - sine * sine / angle),
        };
        let half = thickness / 2.0;
        let top = self.top_stiffeners.in_flat(top_flat)?;
        let bottom = self.bottom_stiffeners.in_flat(bottom_flat)?;
        Ok(Outline {
            angle,
            top_flat,
            bottom_flat,
            web_flat,
            thickness,
            depth,
            top: Part { height: depth - half - top.height, ..top },
            bottom: Part { height: half + bottom.height, ..bottom },
            web: Part {
                length: web_flat,
                height: depth / 2.0,
                inertia: web_flat.powi(3) * sine * sine / 12.0,
            },
            top_corner: Part { height: depth - half - radius + corner.height, ..corner },
            bottom_corner: Part { height: half + radius - corner.height, ..corner },
            top_stiffeners: self.top_stiffeners,
        })
    }
}

impl Stiffeners {
    fn of_deck(deck: Fields, name: &str) -> Result<Stiffeners, Refusal> {
        let count = deck.optional::<i64>(name)?.unwrap_or(0);
        let wanted = "a count of grooves from 0 to 8";
        let count = u8::try_from(count)
            .ok()
            .filter(|count| *count <= 8)
            .ok_or_else(|| Refusal::new(deck.path(name), count, wanted))?;
        if count == 0 {
            return Ok(Stiffeners::default());
        }
        let size = Range::above("a stiffener size", 0.0, 4.0, "in");
        Ok(Stiffeners {
            count,
            depth_in: deck.number("stiffener_depth_in", size)?,
            width_in: deck.number("stiffener_width_in", size)?,
        })
    }

    /// A flat with these grooves; its height counts towards the middle of the depth from the flat.
    fn in_flat(&self, flat: f64) -> Result<Part, Refusal> {
        let Stiffeners { count, depth_in, width_in } = *self;
        let count = f64::from(count);
        let plain = flat - count * width_in;
        if count > 0.0 && plain <= 0.0 {
            let wanted = format!("grooves that take less than the {flat:.4} in flat");
            return Err(Refusal::new("stiffener_width_in", width_in, wanted));
        }
        let groove = 2.0 * depth_in.hypot(width_in / 2.0);
        let length = plain + count * groove;
        let height = count * groove * (depth_in / 2.0) / length;
        let inertia = count * groove * depth_in * depth_in / 3.0 - length * height * height;
        Ok(Part { length, height, inertia })
    }
}

impl Outline {
    /// Every part of a pitch.
    #[must_use]
    pub fn parts(&self) -> [Part; 8] {
        [
            self.top,
            self.bottom,
            self.web,
            self.web,
            self.top_corner,
            self.top_corner,
            self.bottom_corner,
            self.bottom_corner,
        ]
    }

    /// Height of the upper end of a web's flat.
    #[must_use]
    pub fn web_top(&self) -> f64 {
        self.web.height + self.web_flat * self.angle.sin() / 2.0
    }

    /// Height of the lower end of a web's flat.
    #[must_use]
    pub fn web_bottom(&self) -> f64 {
        self.web.height - self.web_flat * self.angle.sin() / 2.0
    }
}

/// Length, centroid height and inertia about the centroid, per unit of thickness, of parts that
/// may be taken off (negative lengths).
#[must_use]
pub fn sum(parts: impl Iterator<Item = Part> + Clone) -> Part {
    let length: f64 = parts.clone().map(|part| part.length).sum();
    let moment: f64 = parts.clone().map(|part| part.length * part.height).sum();
    let height = moment / length;
    let inertia =
        parts.map(|part| part.inertia + part.length * (part.height - height).powi(2)).sum();
    Part { length, height, inertia }
}
