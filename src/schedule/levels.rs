//! Levels that are named outside a Level column: by a sheet's name, by a line between the rows.

/// The level that a sheet's name or a line between the rows says: `Level 2` is `2`.
pub fn level_name(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    match words.as_slice() {
        [first, rest @ ..] if !rest.is_empty() => {
            let word = first.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
            if matches!(word.as_str(), "level" | "lvl" | "floor" | "story" | "storey") {
                return rest.join(" ");
            }
            words.join(" ")
        }
        _ => words.join(" "),
    }
}

/// Whether a line that stands alone names a level: `LEVEL 2`, `Roof`, `3`.
pub fn is_level_name(text: &str) -> bool {
    const WORDS: [&str; 9] =
        ["level", "lvl", "floor", "story", "storey", "roof", "mezzanine", "penthouse", "basement"];
    const LONGEST: usize = 24;
    let is_one_word = text.chars().count() <= LONGEST && !text.contains(char::is_whitespace);
    is_one_word
        || text
            .split(|c: char| !c.is_alphanumeric())
            .any(|word| WORDS.iter().any(|known| word.eq_ignore_ascii_case(known)))
}
