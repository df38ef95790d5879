//! How a unit looks: number format, side, and whether the heading names it.
//!
//! A `%` column holds fractions: 0.125 is shown as 12.5%. A length in feet and inches is text and
//! stands to the right like a number.

/// To which side cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
    Middle,
}

/// How the cells of a unit look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Look {
    pub format: &'static str,
    /// Digits after the point, for the width.
    pub decimals: usize,
    pub side: Side,
    /// The heading names the unit.
    pub named: bool,
}

const fn number(format: &'static str, decimals: usize) -> Look {
    Look { format, decimals, side: Side::Right, named: true }
}

const WHOLE: Look = number("#,##0", 0);
const TENTHS: Look = number("#,##0.0", 1);
const HUNDREDTHS: Look = number("#,##0.00", 2);

/// Date cells, whatever their column's unit.
pub(super) const DATE: &str = "yyyy-mm-dd";

pub(super) fn look(unit: &str) -> Look {
    match unit {
        "lb" | "lbs" | "plf" => WHOLE,
        "count" => Look { named: false, ..WHOLE },
        "ft2" | "squares" | "square" | "psi" | "h" | "min" => TENTHS,
        "%" => Look { format: "0.0%", decimals: 2, side: Side::Right, named: false },
        "ft" | "in" | "lf" | "yd3" | "psf" | "pcf" | "tons" | "ton" | "ksi" => HUNDREDTHS,
        "money" | "$" => Look { named: false, ..HUNDREDTHS },
        "money/unit" | "$/unit" => number("#,##0.0000", 4),
        "date" => Look { format: DATE, decimals: 2, side: Side::Middle, named: false },
        "ft-in" => Look { format: "@", decimals: 0, side: Side::Right, named: true },
        "text" | "any" | "" => {
            Look { format: "General", decimals: 4, side: Side::Left, named: false }
        }
        _ => number("#,##0.00##", 4),
    }
}

/// Whether a number format can be read by spreadsheet programs, which take a workbook with a bad
/// one for damaged: balanced quotes and brackets, at most four sections, no bare letters but those
/// of dates, exponents and `General`.
pub(super) fn is_number_format(format: &str) -> bool {
    const LONGEST: usize = 250;
    if format.is_empty() || format.chars().count() > LONGEST {
        return false;
    }
    let sections = sections(format);
    (1..=4).contains(&sections.len()) && sections.iter().all(|section| is_section(section))
}

fn sections(format: &str) -> Vec<String> {
    let mut sections = vec![String::new()];
    let (mut quoted, mut escaped) = (false, false);
    for letter in format.chars() {
        if letter == ';' && !quoted && !escaped {
            sections.push(String::new());
            continue;
        }
        if let Some(section) = sections.last_mut() {
            section.push(letter);
        }
        if letter == '"' && !escaped {
            quoted = !quoted;
        }
        escaped = !escaped && !quoted && letter == '\\';
    }
    sections
}

fn is_section(section: &str) -> bool {
    if section == "General" {
        return true;
    }
    let mut letters = section.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '"' => {
                if !letters.by_ref().any(|inner| inner == '"') {
                    return false;
                }
            }
            '[' => {
                let mut inner = String::new();
                let closed = letters.by_ref().any(|letter| {
                    inner.push(letter);
                    letter == ']'
                });
                inner.pop();
                if !closed || !is_bracket(&inner) {
                    return false;
                }
            }
            '\\' | '_' | '*' => {
                if letters.next().is_none() {
                    return false;
                }
            }
            'E' | 'e' => {
                if !matches!(letters.next(), Some('+' | '-')) {
                    return false;
                }
            }
            '0'..='9'
            | '#'
            | '?'
            | '.'
            | ','
            | '%'
            | '@'
            | ' '
            | '$'
            | '-'
            | '+'
            | '/'
            | '('
            | ')'
            | ':'
            | '!'
            | '^'
            | '&'
            | '~'
            | '{'
            | '}'
            | '='
            | '<'
            | '>'
            | '€'
            | '£'
            | '\''
            | 'y'
            | 'm'
            | 'd'
            | 'h'
            | 's' => {}
            _ => return false,
        }
    }
    true
}

/// `[Red]`, `[h]` or a condition such as `[>=100]`.
fn is_bracket(inner: &str) -> bool {
    const NAMED: [&str; 11] =
        ["black", "blue", "cyan", "green", "magenta", "red", "white", "yellow", "h", "mm", "ss"];
    let bare = inner.trim_start_matches(['<', '>', '=']);
    NAMED.contains(&inner.to_ascii_lowercase().as_str())
        || (bare.len() < inner.len() && bare.parse::<f64>().is_ok_and(f64::is_finite))
}

#[cfg(test)]
mod tests {
    use super::is_number_format;

    #[test]
    fn formats_that_programs_read() {
        for format in [
            "0.00",
            "#,##0",
            "0.0%",
            "General",
            "yyyy-mm-dd",
            "0.00\" lb\"",
            "#,##0;[Red]-#,##0",
            "0.00E+00",
            "# ?/?",
            "@",
            "[>=1000]#,##0;0",
            "0.0\\\"",
            "$#,##0.00",
            "_(0_)",
            "\";\"",
        ] {
            assert!(is_number_format(format), "{format}");
        }
    }

    #[test]
    fn formats_that_damage_a_workbook() {
        for format in
            ["", "0.00 lb", "\"open", "[Red", "0;0;0;0;0", "0\\", "[Puce]0", "0e0", "_", "[>x]0"]
        {
            assert!(!is_number_format(format), "{format}");
        }
        assert!(!is_number_format(&"0".repeat(300)));
    }
}
