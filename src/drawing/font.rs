//! The built-in fonts: how wide words are, and their outlines.
//!
//! In: text and size. Out: widths in points; outlines as the segments of their letters.

use std::sync::OnceLock;

use ttf_parser::{Face, GlyphId};

static REGULAR: &[u8] = include_bytes!("../../templates/fonts/plan-regular.ttf");
static BOLD: &[u8] = include_bytes!("../../templates/fonts/plan-bold.ttf");
/// The usual width of a letter, where there is no font to ask.
const USUAL: f64 = 0.55;

/// The built-in font of a weight.
pub(super) fn face(bold: bool) -> Option<&'static Face<'static>> {
    static FACES: [OnceLock<Option<Face<'static>>>; 2] = [OnceLock::new(), OnceLock::new()];
    let bytes = if bold { BOLD } else { REGULAR };
    FACES.get(usize::from(bold))?.get_or_init(|| Face::parse(bytes, 0).ok()).as_ref()
}

/// The letter's outline in a font; that of a letter it lacks, where it lacks it.
pub(super) fn glyph(face: &Face<'_>, letter: char) -> GlyphId {
    face.glyph_index(letter).or_else(|| face.glyph_index('\u{FFFD}')).unwrap_or_default()
}

/// How wide a letter is, of a size of 1.
pub(super) fn advance(face: &Face<'_>, glyph: GlyphId) -> f64 {
    let wide = face.glyph_hor_advance(glyph).map_or(USUAL, f64::from);
    wide / f64::from(face.units_per_em().max(1))
}

/// How wide a text is, pt.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let Some(face) = face(bold) else {
        return text.chars().fold(0.0, |sum, _| sum + USUAL * size);
    };
    text.chars().map(|letter| advance(face, glyph(face, letter))).sum::<f64>() * size
}
