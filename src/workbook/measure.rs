//! How wide text and numbers come out, in widths of a digit.

/// The height of a line of text, points.
pub(super) const LINE: f64 = 15.0;

/// The width of the widest line of a text.
pub(super) fn text_width(text: &str) -> f64 {
    text.lines().map(line_width).fold(0.0, f64::max)
}

fn line_width(line: &str) -> f64 {
    line.chars().map(letter_width).sum()
}

/// Advance widths of the letters from space to `~` in hundredths of a digit, measured in Carlito,
/// whose metrics are those of the font that spreadsheet programs take by default.
#[rustfmt::skip]
const LETTERS: [u8; 95] = [
    45, 64, 79, 98, 100, 141, 135, 44, 60, 60, 98, 98, 49, 60, 50, 76,
    100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 53, 53, 98, 98, 98, 91,
    176, 114, 107, 105, 121, 96, 91, 124, 123, 50, 63, 103, 83, 169, 127, 131,
    102, 133, 107, 91, 96, 127, 112, 176, 102, 96, 92, 61, 76, 61, 98, 98,
    57, 95, 104, 83, 104, 98, 60, 93, 104, 45, 47, 90, 45, 158, 104, 104,
    104, 104, 69, 77, 66, 104, 89, 141, 85, 89, 78, 62, 91, 62, 98,
];

fn letter_width(letter: char) -> f64 {
    let at = (letter as usize).checked_sub(usize::from(b' '));
    match at.and_then(|at| LETTERS.get(at)) {
        Some(hundredths) => f64::from(*hundredths) / 100.0,
        // Ideographs take two digits, other alphabets little more than one.
        None if letter >= '\u{1100}' => 2.0,
        None => 1.2,
    }
}

/// The width of a number with thousands separated and so many decimals.
pub(super) fn number_width(number: f64, decimals: usize) -> f64 {
    let digits = format!("{:.0}", number.abs()).len();
    let groups = (digits.saturating_sub(1) / 3).min(100);
    let sign = if number < 0.0 { 0.6 } else { 0.0 };
    let point = if decimals > 0 { 0.5 } else { 0.0 };
    let whole = u32::try_from(digits + decimals).unwrap_or(u32::MAX);
    let groups = u32::try_from(groups).unwrap_or(0);
    f64::from(whole) + 0.5 * f64::from(groups) + sign + point
}

/// How many lines a text takes in a column of that width, broken between words. Programs differ on
/// whether they break behind hyphens too, and the more lines count.
pub(super) fn lines(text: &str, width: f64) -> f64 {
    let between_words = broken(text, width, &[' ']);
    if text.contains('-') {
        broken(text, width, &[' ', '-']).max(between_words)
    } else {
        between_words
    }
}

fn broken(text: &str, width: f64, behind: &[char]) -> f64 {
    let mut count = 0.0;
    for line in text.split('\n') {
        count += 1.0;
        let mut used = 0.0;
        for piece in line.split_inclusive(behind) {
            // A space at the end of a line takes no room.
            let word = line_width(piece.trim_end_matches(' '));
            if used + word > width && used > 0.0 {
                count += 1.0;
                used = 0.0;
            }
            if word > width {
                let (more, rest) = broken_inside(piece, width);
                count += more;
                used = rest;
            } else {
                used += line_width(piece);
            }
        }
    }
    count
}

/// A word wider than the column is broken between letters: the lines on top of the first, and what
/// is used of the last.
fn broken_inside(word: &str, width: f64) -> (f64, f64) {
    let (mut more, mut used) = (0.0, 0.0);
    for letter in word.chars().map(letter_width) {
        if used + letter > width && used > 0.0 {
            more += 1.0;
            used = 0.0;
        }
        used += letter;
    }
    (more, used)
}

/// The height in points of a row whose texts are wrapped in columns of these widths; none where one
/// line is enough.
pub(super) fn row_height<'a>(cells: impl Iterator<Item = (&'a str, f64)>) -> Option<f64> {
    const TALLEST: f64 = 400.0;
    const MARGIN: f64 = 1.0;
    let most = cells.map(|(text, width)| lines(text, width - MARGIN)).fold(1.0, f64::max);
    (most > 1.0).then(|| (most * LINE).min(TALLEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_their_separators() {
        assert_eq!(number_width(7.0, 0), 1.0);
        assert_eq!(number_width(1_234_567.0, 0), 8.0);
        assert_eq!(number_width(-1_260.0, 2), 7.6);
    }

    #[test]
    fn words_break_into_lines() {
        assert_eq!(text_width("W0\n0"), 2.76);
        assert_eq!(lines("Deck area", 20.0), 1.0);
        assert_eq!(lines("Deck area", 5.0), 2.0);
        assert_eq!(lines("Deck area\nft2", 5.0), 3.0);
        assert_eq!(lines("", 5.0), 1.0);
        assert_eq!(lines("aaaaaaaaaaaa", 5.0), 3.0);
        // Five letters a line, not five and a quarter.
        assert_eq!(lines("aaaaaaaaaaaaaaaaaaaaa", 5.0), 5.0);
        assert_eq!(lines("AAAA-AAAA-AAAA", 20.0), 1.0);
        assert_eq!(lines("AAAA-AAAA-AAAA", 8.0), 3.0);
    }
}
