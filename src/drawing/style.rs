//! Colours and line weights of plans, and how texts are kept short.

use crate::picture::{Ink, Stroke};

pub(super) const INK: Ink = Ink(0x26, 0x32, 0x3B);
pub(super) const FAINT: Ink = Ink(0x5D, 0x6B, 0x72);
pub(super) const PAPER: Ink = Ink(0xFF, 0xFF, 0xFF);
pub(super) const FILLER: Ink = Ink(0xC9, 0xCF, 0xD2);
pub(super) const EDGE: Ink = Ink(0x9A, 0x3B, 0x1E);

const fn stroke(ink: Ink, width: f64) -> Stroke {
    Stroke { ink, width, dashes: &[] }
}

pub(super) const OUTLINE: Stroke = stroke(INK, 0.9);
pub(super) const SIDE_LAP: Stroke = stroke(Ink(0x9A, 0xA6, 0xAB), 0.3);
pub(super) const PANEL_END: Stroke = stroke(INK, 0.8);
pub(super) const SUPPORT: Stroke =
    Stroke { ink: Ink(0x2F, 0x5D, 0x62), width: 0.75, dashes: &[7.0, 1.8, 1.4, 1.8] };
pub(super) const OPENING: Stroke = stroke(INK, 0.6);
pub(super) const DECKED_OVER: Stroke = Stroke { ink: INK, width: 0.5, dashes: &[2.4, 1.6] };
pub(super) const SLAB_EDGE: Stroke = stroke(EDGE, 2.4);
pub(super) const ARROW: Stroke = stroke(INK, 0.7);
pub(super) const HATCH: Stroke = stroke(Ink(0x7C, 0x8A, 0x90), 0.3);
pub(super) const FRAME: Stroke = stroke(Ink(0xB8, 0xC1, 0xC4), 0.5);
pub(super) const TAG: Stroke = stroke(INK, 0.6);

/// The tints of pours, in turn; each bears a letter too.
const TINTS: [Ink; 8] = [
    Ink(0xDC, 0xEB, 0xF5),
    Ink(0xFB, 0xEB, 0xCF),
    Ink(0xDF, 0xF0, 0xDA),
    Ink(0xF4, 0xDF, 0xE4),
    Ink(0xE6, 0xE1, 0xF2),
    Ink(0xD5, 0xEE, 0xEB),
    Ink(0xF3, 0xF0, 0xC6),
    Ink(0xE8, 0xE5, 0xE0),
];

/// The tint of the n-th pour.
pub(super) fn tint(pour: usize) -> Ink {
    TINTS.get(pour % TINTS.len()).copied().unwrap_or(PAPER)
}

/// The n-th letter: A to Z, then A2, B2 …
pub(super) fn letter(at: usize) -> String {
    const LETTERS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    let letter = LETTERS.chars().nth(at % LETTERS.len()).unwrap_or('A');
    match at / LETTERS.len() {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

/// A text on one line, cut to so many characters.
pub(super) fn short(text: &str, longest: usize) -> String {
    let plain = text.chars().map(|letter| if letter.is_control() { ' ' } else { letter });
    let mut cut: String = plain.clone().take(longest).collect();
    if plain.count() > longest {
        cut.pop();
        cut.push('…');
    }
    cut
}
