//! How wide text and numbers come out, in widths of a digit.

/// The width of the widest line of a text.
pub(super) fn text_width(text: &str) -> f64 {
    text.lines().map(line_width).fold(0.0, f64::max)
}

fn line_width(line: &str) -> f64 {
    line.chars().map(letter_width).sum()
}

fn letter_width(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | '.' | ',' | ';' | ':' | '\'' | '|' | '!' | '`' => 0.5,
        ' ' | 'f' | 'r' | 't' | 'I' | '(' | ')' | '[' | ']' | '-' | '/' | '"' => 0.7,
        'M' | 'W' | 'm' | 'w' | '@' | '%' => 1.6,
        'A'..='Z' | '&' => 1.2,
        'a'..='z' | '0'..='9' => 1.0,
        letter if letter.is_ascii() => 1.0,
        // Ideographs take two digits, other alphabets little more than one.
        '\u{1100}'.. => 2.0,
        _ => 1.2,
    }
}

/// The width of a number with thousands separated and so many decimals.
pub(super) fn number_width(number: f64, decimals: usize) -> f64 {
    let digits = format!("{:.0}", number.abs()).len();
    let groups = (digits.saturating_sub(1) / 3).min(100);
    let sign = if number < 0.0 { 0.7 } else { 0.0 };
    let point = if decimals > 0 { 0.5 } else { 0.0 };
    let whole = u32::try_from(digits + decimals).unwrap_or(u32::MAX);
    let groups = u32::try_from(groups).unwrap_or(0);
    f64::from(whole) + 0.5 * f64::from(groups) + sign + point
}

/// How many lines a text takes in a column of that width, broken between words.
pub(super) fn lines(text: &str, width: f64) -> f64 {
    const SPACE: f64 = 0.7;
    let mut count = 0.0;
    for line in text.split('\n') {
        count += 1.0;
        let mut used = 0.0;
        for word in line.split(' ').map(line_width) {
            let gap = if used > 0.0 { SPACE } else { 0.0 };
            if used + gap + word <= width {
                used += gap + word;
                continue;
            }
            if used > 0.0 {
                count += 1.0;
            }
            // A word wider than the column is broken inside.
            let broken = ((word / width).ceil() - 1.0).clamp(0.0, 10_000.0);
            count += broken;
            used = word - broken * width;
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_their_separators() {
        assert_eq!(number_width(7.0, 0), 1.0);
        assert_eq!(number_width(1_234_567.0, 0), 8.0);
        assert_eq!(number_width(-1_260.0, 2), 7.7);
    }

    #[test]
    fn words_break_into_lines() {
        assert_eq!(lines("Deck area", 20.0), 1.0);
        assert_eq!(lines("Deck area", 5.0), 2.0);
        assert_eq!(lines("Deck area\nft2", 5.0), 3.0);
        assert_eq!(lines("", 5.0), 1.0);
        assert_eq!(lines("aaaaaaaaaaaa", 5.0), 3.0);
    }
}
