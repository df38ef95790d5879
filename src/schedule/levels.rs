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

/// Whether a line that stands alone names a level: `LEVEL 2`, `Low roof`, `3`. A word without a digit, or
/// a sentence, is rather a note.
pub fn is_level_name(text: &str) -> bool {
    const WORDS: [&str; 17] = [
        "level",
        "lvl",
        "floor",
        "story",
        "storey",
        "roof",
        "mezzanine",
        "penthouse",
        "basement",
        "ground",
        "main",
        "podium",
        "plaza",
        "terrace",
        "attic",
        "cellar",
        "canopy",
    ];
    const LONGEST: usize = 24;
    const MOST_WORDS: usize = 4;
    const SHORT: usize = 4;
    const OF_NOTES: [&str; 5] = ["see", "note", "notes", "by", "refer"];
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_among = |known: &[&str]| {
        words.iter().any(|word| known.iter().any(|known| word.eq_ignore_ascii_case(known)))
    };
    if words.len() > MOST_WORDS || is_among(&OF_NOTES) {
        return false;
    }
    let is_one_word = !text.contains(char::is_whitespace) && text.chars().count() <= LONGEST;
    let is_mark = is_one_word
        && (text.contains(|c: char| c.is_ascii_digit()) || text.chars().count() <= SHORT);
    is_mark || is_among(&WORDS)
}
