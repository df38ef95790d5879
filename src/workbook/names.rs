//! Sheet names within the format's rules: 31 characters, none of `[ ] : * ? / \`, no apostrophe at
//! either end, no two alike whatever their case, never `History`.

const LONGEST: usize = 31;

/// The name as it may stand, added to those taken.
pub(super) fn mend(wanted: &str, taken: &mut Vec<String>) -> String {
    let plain: String = wanted
        .chars()
        .map(|letter| match letter {
            '[' => '(',
            ']' => ')',
            ':' | '*' | '?' | '/' | '\\' => '-',
            other if other.is_control() || matches!(other, '\u{FFFE}' | '\u{FFFF}') => ' ',
            other => other,
        })
        .collect();
    let mut name = trimmed(&plain, LONGEST);
    if name.is_empty() {
        name = "Table".to_string();
    }
    if name.eq_ignore_ascii_case("history") {
        name.push_str(" table");
    }
    let stem = name.clone();
    let mut number = 2_u32;
    while taken.iter().any(|other| other.to_lowercase() == name.to_lowercase()) {
        let tail = format!(" ({number})");
        name = trimmed(&stem, LONGEST - tail.len()) + tail.as_str();
        number += 1;
    }
    taken.push(name.clone());
    name
}

/// Cut to so many UTF-16 units, without spaces and apostrophes at the ends.
fn trimmed(text: &str, longest: usize) -> String {
    let ends = |letter: char| letter == '\'' || letter.is_whitespace();
    let mut kept = String::new();
    let mut units = 0;
    for letter in text.trim_matches(ends).chars() {
        units += letter.len_utf16();
        if units > longest {
            break;
        }
        kept.push(letter);
    }
    kept.trim_end_matches(ends).to_string()
}

/// The name as formulas and links write it: `'Order lines'`.
pub(super) fn quoted(name: &str) -> String {
    format!("'{}'", name.replace('\'', "''"))
}

#[cfg(test)]
mod tests {
    use super::{mend, quoted};

    fn one(wanted: &str) -> String {
        mend(wanted, &mut Vec::new())
    }

    #[test]
    fn names_are_mended() {
        assert_eq!(one("Takeoff"), "Takeoff");
        assert_eq!(one("Level 2/3 [base]: a*b?"), "Level 2-3 (base)- a-b-");
        assert_eq!(one("'quoted'"), "quoted");
        assert_eq!(one("  "), "Table");
        assert_eq!(one("HISTORY"), "HISTORY table");
        assert_eq!(
            one("Fire-rated roof deck at the north tower"),
            "Fire-rated roof deck at the nor"
        );
        // Four letters of two UTF-16 units each count twice.
        assert_eq!(one(&"𝔸".repeat(20)).chars().count(), 15);
    }

    #[test]
    fn names_alike_are_numbered() {
        let mut taken = vec!["Checks".to_string()];
        assert_eq!(mend("CHECKS", &mut taken), "CHECKS (2)");
        assert_eq!(mend("checks", &mut taken), "checks (3)");
        let long = "Fire-rated roof deck at the north tower";
        assert_eq!(mend(long, &mut taken), "Fire-rated roof deck at the nor");
        assert_eq!(mend(long, &mut taken), "Fire-rated roof deck at the (2)");
    }

    #[test]
    fn apostrophes_are_doubled_in_links() {
        assert_eq!(quoted("Joe's level"), "'Joe''s level'");
    }
}
