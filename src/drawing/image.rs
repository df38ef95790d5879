//! A picture as a PNG image.
//!
//! In: a picture and the dots an inch. Out: the bytes of the image, with its size in it; few
//! colours make a small image.

use std::collections::BTreeMap;

use tiny_skia::{
    FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Rect, Stroke as Pen, StrokeDash,
    Transform,
};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

use super::font;
use crate::picture::{Ink, Mark, Picture, Side, Spot, Stroke, Words};

/// No image is larger, dots.
const MOST_DOTS: f64 = 6_000.0;

/// Draws a picture at so many dots an inch; `None` where it has no size or is too large.
#[must_use]
pub fn png(picture: &Picture, dots_an_inch: u32) -> Option<Vec<u8>> {
    let scale = f64::from(dots_an_inch) / 72.0;
    let (wide, high) = (dots(picture.width * scale)?, dots(picture.height * scale)?);
    let mut canvas = Canvas {
        dots: Pixmap::new(wide, high)?,
        scale,
        turn: Transform::from_scale(single(scale), single(scale)),
        letters: BTreeMap::new(),
    };
    canvas.dots.fill(tiny_skia::Color::WHITE);
    for mark in &picture.marks {
        canvas.paint(mark);
    }
    let mut inks: Vec<Ink> = Vec::new();
    for mark in &picture.marks {
        let ink = match mark {
            Mark::Area { fill, .. } => fill,
            Mark::Lines { stroke, .. } => &stroke.ink,
            Mark::Words(words) => &words.ink,
        };
        if !inks.contains(ink) && inks.len() < 64 {
            inks.push(*ink);
        }
    }
    encoded(&canvas.dots, dots_an_inch, &inks)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within 1 to 6,000")]
fn dots(size: f64) -> Option<u32> {
    let size = size.round();
    (1.0..=MOST_DOTS).contains(&size).then_some(size as u32)
}

#[allow(clippy::cast_possible_truncation, reason = "places on a page need no more digits")]
fn single(number: f64) -> f32 {
    number as f32
}

struct Canvas {
    dots: Pixmap,
    scale: f64,
    turn: Transform,
    /// Outlines of letters at a size of 1, y downward.
    letters: BTreeMap<(bool, u16), Option<Path>>,
}

impl Canvas {
    fn paint(&mut self, mark: &Mark) {
        match mark {
            Mark::Area { outlines, fill } => self.area(outlines, *fill),
            Mark::Lines { lines, stroke, closed } => self.lines(lines, stroke, *closed),
            Mark::Words(words) => self.words(words),
        }
    }

    fn area(&mut self, outlines: &[Vec<Spot>], fill: Ink) {
        if let Some(path) = path(outlines, true) {
            self.dots.fill_path(&path, &paint(fill), FillRule::EvenOdd, self.turn, None);
        }
    }

    fn lines(&mut self, lines: &[Vec<Spot>], stroke: &Stroke, closed: bool) {
        // Upright and level lines of one colour are filled as rectangles: sharp and fast.
        let plain = stroke.dashes.is_empty() && !closed;
        let mut slanted: Vec<Vec<Spot>> = Vec::new();
        for line in lines {
            match line.as_slice() {
                [from, to] if plain && (from.x == to.x || from.y == to.y) => {
                    self.straight(*from, *to, stroke);
                }
                _ => slanted.push(line.clone()),
            }
        }
        let Some(path) = path(&slanted, closed) else { return };
        let dashes = stroke.dashes.iter().map(|dash| single(*dash)).collect();
        let pen = Pen {
            width: single(stroke.width),
            line_cap: LineCap::Butt,
            line_join: LineJoin::Miter,
            dash: if stroke.dashes.is_empty() { None } else { StrokeDash::new(dashes, 0.0) },
            ..Pen::default()
        };
        self.dots.stroke_path(&path, &paint(stroke.ink), &pen, self.turn, None);
    }

    fn straight(&mut self, from: Spot, to: Spot, stroke: &Stroke) {
        let half = stroke.width / 2.0;
        let (left, right) = (from.x.min(to.x), from.x.max(to.x));
        let (top, bottom) = (from.y.min(to.y), from.y.max(to.y));
        let sides = if from.x == to.x {
            (left - half, top, right + half, bottom)
        } else {
            (left, top - half, right, bottom + half)
        };
        let rectangle =
            Rect::from_ltrb(single(sides.0), single(sides.1), single(sides.2), single(sides.3));
        if let Some(rectangle) = rectangle {
            self.dots.fill_rect(rectangle, &paint(stroke.ink), self.turn, None);
        }
    }

    fn words(&mut self, words: &Words) {
        let Some(face) = font::face(words.bold) else { return };
        let wide = font::width(&words.text, words.size, words.bold);
        let mut along = match words.side {
            Side::Start => 0.0,
            Side::Middle => -wide / 2.0,
            Side::End => -wide,
        };
        let size = words.size * self.scale;
        let fill = paint(words.ink);
        for letter in words.text.chars() {
            let glyph = font::glyph(face, letter);
            let (x, y) = if words.upward {
                (words.spot.x, words.spot.y - along)
            } else {
                (words.spot.x + along, words.spot.y)
            };
            let (x, y) = (single(x * self.scale), single(y * self.scale));
            let size = single(size);
            let turn = if words.upward {
                Transform::from_row(0.0, -size, size, 0.0, x, y)
            } else {
                Transform::from_row(size, 0.0, 0.0, size, x, y)
            };
            along += font::advance(face, glyph) * words.size;
            let outline =
                self.letters.entry((words.bold, glyph.0)).or_insert_with(|| outline(face, glyph));
            if let Some(path) = outline {
                self.dots.fill_path(path, &fill, FillRule::Winding, turn, None);
            }
        }
    }
}

fn paint(Ink(red, green, blue): Ink) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(red, green, blue, 255);
    paint
}

fn path(lines: &[Vec<Spot>], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for line in lines {
        for (at, spot) in line.iter().enumerate() {
            let (x, y) = (single(spot.x), single(spot.y));
            if at == 0 {
                builder.move_to(x, y);
            } else {
                builder.line_to(x, y);
            }
        }
        if closed {
            builder.close();
        }
    }
    builder.finish()
}

/// The outline of a letter at a size of 1, y downward.
fn outline(face: &Face<'_>, glyph: GlyphId) -> Option<Path> {
    let scale = 1.0 / f32::from(face.units_per_em().max(1));
    let mut letter = Letter { builder: PathBuilder::new(), scale };
    face.outline_glyph(glyph, &mut letter)?;
    letter.builder.finish()
}

struct Letter {
    builder: PathBuilder,
    scale: f32,
}

impl OutlineBuilder for Letter {
    fn move_to(&mut self, x: f32, y: f32) {
        self.builder.move_to(x * self.scale, -y * self.scale);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.builder.line_to(x * self.scale, -y * self.scale);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let s = self.scale;
        self.builder.quad_to(x1 * s, -y1 * s, x * s, -y * s);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let s = self.scale;
        self.builder.cubic_to(x1 * s, -y1 * s, x2 * s, -y2 * s, x * s, -y * s);
    }

    fn close(&mut self) {
        self.builder.close();
    }
}

/// The image's bytes: by a palette where few enough shades differ, else in full colour.
fn encoded(dots: &Pixmap, dots_an_inch: u32, inks: &[Ink]) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, dots.width(), dots.height());
    let a_metre = (f64::from(dots_an_inch) / 0.0254).round();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand")]
    let a_metre = a_metre as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: a_metre,
        yppu: a_metre,
        unit: png::Unit::Meter,
    }));
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    let data = if let Some((palette, indexes)) = with_palette(dots, inks) {
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_palette(palette);
        indexes
    } else {
        encoder.set_color(png::ColorType::Rgb);
        dots.data()
            .as_chunks::<4>()
            .0
            .iter()
            .flat_map(|[red, green, blue, _]| [*red, *green, *blue])
            .collect()
    };
    encoder.write_header().ok()?.write_image_data(&data).ok()?;
    Some(bytes)
}

/// The palette and each dot's place in it: the picture's own colours as they are, then the shades
/// between them, as fine as a palette has room for.
fn with_palette(dots: &Pixmap, inks: &[Ink]) -> Option<(Vec<u8>, Vec<u8>)> {
    (3..=5).find_map(|coarse| palette_of(dots, inks, coarse))
}

fn palette_of(dots: &Pixmap, inks: &[Ink], coarse: u32) -> Option<(Vec<u8>, Vec<u8>)> {
    const NONE: u16 = u16::MAX;
    let bits = 8 - coarse;
    let shade = |red: u8, green: u8, blue: u8| {
        let part = |part: u8| usize::from(part >> coarse);
        part(red) << (2 * bits) | part(green) << bits | part(blue)
    };
    let mut places = vec![NONE; 1 << (3 * bits)];
    let mut palette = Vec::with_capacity(768);
    let mut place_of = |red: u8, green: u8, blue: u8| -> Option<u8> {
        let place = places.get_mut(shade(red, green, blue))?;
        if *place == NONE {
            *place = u16::try_from(palette.len() / 3).ok()?;
            palette.extend([red, green, blue]);
        }
        u8::try_from(*place).ok()
    };
    for Ink(red, green, blue) in inks {
        place_of(*red, *green, *blue)?;
    }
    let (dots, _) = dots.data().as_chunks::<4>();
    let mut indexes = Vec::with_capacity(dots.len());
    for same in dots.chunk_by(|one, other| one == other) {
        let Some([red, green, blue, _]) = same.first() else { continue };
        let place = place_of(*red, *green, *blue)?;
        indexes.resize(indexes.len() + same.len(), place);
    }
    Some((palette, indexes))
}
