//! Plans: a level's bays drawn to scale, with panels, marks, supports, openings, slab edges and
//! pours.
//!
//! In: a [`Level`] of plain values. Out: a picture, its SVG text, and (feature `plans`) its PNG
//! image. The same level gives the same bytes everywhere: words are measured and drawn with the
//! fonts that are built in, never with the system's.

mod bay;
mod edges;
mod font;
#[cfg(feature = "plans")]
mod image;
mod labels;
mod legend;
mod level;
mod page;
mod pen;
mod style;
mod svg;
mod view;
mod words;

#[cfg(feature = "plans")]
pub use image::png;
pub use level::{Bay, Cover, Flutes, Laid, Level, Opening, Place, Run};
pub use page::{LARGE, MOST_BAYS, MOST_DETAILED, SMALL, draw};
pub use svg::{MADE_BY, svg};
