//! From feet on plan to points on the page: scale, place and turn.

use super::level::Place;
use crate::picture::Spot;

/// An upright rectangle on the page, pt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Frame {
    pub(super) const fn new(left: f64, top: f64, right: f64, bottom: f64) -> Frame {
        Frame { left, top, right, bottom }
    }

    /// Of so much width and height around a middle.
    pub(super) fn around(middle: Spot, width: f64, height: f64) -> Frame {
        let (x, y) = (width / 2.0, height / 2.0);
        Frame::new(middle.x - x, middle.y - y, middle.x + x, middle.y + y)
    }

    pub(super) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(super) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    pub(super) fn spot(&self, right: f64, down: f64) -> Spot {
        Spot { x: self.left + self.width() * right, y: self.top + self.height() * down }
    }

    pub(super) fn inset(&self, by: f64) -> Frame {
        Frame::new(self.left + by, self.top + by, self.right - by, self.bottom - by)
    }

    pub(super) fn holds(&self, other: &Frame) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right >= other.right
            && self.bottom >= other.bottom
    }

    pub(super) fn meets(&self, other: &Frame) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(super) fn corners(&self) -> Vec<Spot> {
        vec![
            Spot { x: self.left, y: self.top },
            Spot { x: self.right, y: self.top },
            Spot { x: self.right, y: self.bottom },
            Spot { x: self.left, y: self.bottom },
        ]
    }
}

/// The least and greatest coordinates of places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    pub least: Place,
    pub most: Place,
}

impl Extent {
    /// `None` where there are no places, or one is no finite number.
    pub(super) fn of<'a>(places: impl IntoIterator<Item = &'a Place>) -> Option<Extent> {
        let mut extent: Option<Extent> = None;
        for place in places {
            if !place.east.is_finite() || !place.north.is_finite() {
                return None;
            }
            let now = extent.get_or_insert(Extent { least: *place, most: *place });
            now.least.east = now.least.east.min(place.east);
            now.least.north = now.least.north.min(place.north);
            now.most.east = now.most.east.max(place.east);
            now.most.north = now.most.north.max(place.north);
        }
        extent
    }

    pub(super) fn with(self, other: Extent) -> Extent {
        let (least, most) = (self.least, self.most);
        Extent {
            least: Place {
                east: least.east.min(other.least.east),
                north: least.north.min(other.least.north),
            },
            most: Place {
                east: most.east.max(other.most.east),
                north: most.north.max(other.most.north),
            },
        }
    }

    pub(super) fn east(&self) -> f64 {
        self.most.east - self.least.east
    }

    pub(super) fn north(&self) -> f64 {
        self.most.north - self.least.north
    }
}

/// A way of looking at the plan.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Points a foot.
    pub scale: f64,
    /// North is to the left rather than up.
    pub turned: bool,
    extent: Extent,
    origin: Spot,
}

impl View {
    /// Shows an extent as large as a frame takes, in the middle of it; turned where that makes it
    /// much larger and turning is allowed. `None` where there is nothing to scale.
    pub(super) fn fit(extent: Extent, frame: Frame, may_turn: bool) -> Option<View> {
        const WORTH_TURNING: f64 = 1.3;
        let (east, north) = (extent.east(), extent.north());
        let scale = |wide: f64, high: f64| (frame.width() / wide).min(frame.height() / high);
        let (upright, on_side) = (scale(east, north), scale(north, east));
        let turned = may_turn && on_side > upright * WORTH_TURNING;
        let scale = if turned { on_side } else { upright };
        if !(scale.is_finite() && scale > 0.0) {
            return None;
        }
        let (wide, high) = if turned { (north, east) } else { (east, north) };
        let origin = Spot {
            x: frame.left + (frame.width() - wide * scale) / 2.0,
            y: frame.top + f64::midpoint(frame.height(), high * scale),
        };
        Some(View { scale, turned, extent, origin })
    }

    pub(super) fn spot(&self, place: Place) -> Spot {
        let Extent { least, most } = self.extent;
        let (right, up) = if self.turned {
            (most.north - place.north, place.east - least.east)
        } else {
            (place.east - least.east, place.north - least.north)
        };
        Spot { x: self.origin.x + right * self.scale, y: self.origin.y - up * self.scale }
    }

    pub(super) fn spots(&self, places: &[Place]) -> Vec<Spot> {
        places.iter().map(|place| self.spot(*place)).collect()
    }

    /// The rectangle between two places.
    pub(super) fn frame(&self, one: Place, other: Place) -> Frame {
        let (a, b) = (self.spot(one), self.spot(other));
        Frame::new(a.x.min(b.x), a.y.min(b.y), a.x.max(b.x), a.y.max(b.y))
    }
}
