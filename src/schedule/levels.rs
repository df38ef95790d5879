//! Levels that are named outside a Level column: by a sheet's name, by a line between the rows.

use super::headings::spaced;
use super::said::{self, Said};

/// What a line of text that stands alone among the rows says of those below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Their level, and whether they are counted.
    Level(String, Option<Said>),
    /// Their height; it may be all that names their level.
    Height,
    /// How they are counted.
    Said(Said),
    /// They are of the base bid.
    Base,
    /// Nothing: it is a sentence.
    Note,
    Unknown,
}

/// What a line says.
pub fn line(text: &str) -> Line {
    if is_base_bid(text) {
        return Line::Base;
    }
    if let Some(said) = said::note(text) {
        return Line::Said(said);
    }
    let (name, said) = match said::split_off(text) {
        Some((name, said)) => (name, Some(said)),
        None => (text, None),
    };
    let name = without_height(name);
    if name.is_empty() {
        return Line::Height;
    }
    if is_level_name(name) {
        return Line::Level(level_name(name), said);
    }
    match said {
        Some(said) => Line::Said(said),
        None if is_sentence(text) => Line::Note,
        None => Line::Unknown,
    }
}

/// The level that a line names.
pub fn level_of(text: &str) -> Option<String> {
    match line(text) {
        Line::Level(name, _) => Some(name),
        Line::Height => Some(spaced(text)),
        _ => None,
    }
}

fn is_base_bid(text: &str) -> bool {
    let word = super::headings::squeeze(text);
    word == "base" || word.starts_with("basebid")
}

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

/// Words of which one makes a short line the name of a level.
const WORDS: &[&str] = &[
    "level",
    "levels",
    "lvl",
    "floor",
    "floors",
    "flr",
    "story",
    "storey",
    "roof",
    "mezzanine",
    "mezz",
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
    "bulkhead",
];
/// Words of which a level's name may consist.
const ORDINALS: &[&str] = &[
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth",
];
const OF_NOTES: &[&str] = &["see", "note", "notes", "by", "refer"];

fn words_of(text: &str) -> Vec<&str> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect()
}

fn is_among(words: &[&str], known: &[&str]) -> bool {
    words.iter().any(|word| known.iter().any(|known| word.eq_ignore_ascii_case(known)))
}

/// Whether a line that stands alone names a level: `LEVEL 2`, `Low roof`, `Third`, `3`. A word without a
/// digit, or a sentence, is rather a note.
fn is_level_name(text: &str) -> bool {
    const LONGEST: usize = 24;
    const SHORT: usize = 4;
    let words = words_of(text);
    if is_too_long(&words) || is_among(&words, OF_NOTES) {
        return false;
    }
    let is_one_word = !text.contains(char::is_whitespace) && text.chars().count() <= LONGEST;
    let is_mark = is_one_word
        && (text.contains(|c: char| c.is_ascii_digit()) || text.chars().count() <= SHORT);
    is_mark || names_level(text) || words.len() == 1 && is_among(&words, ORDINALS)
}

fn is_too_long(words: &[&str]) -> bool {
    const MOST_WORDS: usize = 5;
    words.len() > MOST_WORDS
}

/// Whether a short line says that it names a level, wherever it stands.
pub fn names_level(text: &str) -> bool {
    let words = words_of(without_height(text));
    !is_too_long(&words) && !is_among(&words, OF_NOTES) && is_among(&words, WORDS)
}

/// Whether a line is a sentence, or one that printed pages have.
fn is_sentence(text: &str) -> bool {
    const OF_PAGES: &[&str] = &[
        "page",
        "sheet",
        "date",
        "dated",
        "rev",
        "revised",
        "revision",
        "continued",
        "cont",
        "contd",
        "prepared",
        "checked",
        "job",
        "project",
    ];
    let words = words_of(text);
    let begins = |known| words.first().is_some_and(|first| is_among(&[first], known));
    is_too_long(&words) || begins(OF_NOTES) || begins(OF_PAGES)
}

/// A level's name without the height behind it: `Low Roof EL 128-0`, `3rd Floor (T.O.S. 112'-6")`.
fn without_height(text: &str) -> &str {
    const HEIGHTS: &[&str] = &["el", "elev", "elevation", "tos", "tod", "toc", "t/steel", "@"];
    const AROUND: &str = " \t\u{a0}-–—,:;(@";
    let mut from = 0;
    while let Some(length) = text[from..].find(|c: char| !AROUND.contains(c)) {
        let begin = from + length;
        let end =
            text[begin..].find(|c: char| AROUND.contains(c)).map_or(text.len(), |at| begin + at);
        let word = text[begin..end].to_lowercase().replace('.', "");
        let behind =
            text[end..].trim_start_matches(|c: char| AROUND.contains(c) || "+=".contains(c));
        let is_height = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
        // `EL.128'-0"` is one word.
        let is_whole = HEIGHTS.iter().any(|sign| {
            word.strip_prefix(sign).is_some_and(|rest| {
                is_height(rest.trim_start_matches(['+', '='])) && rest.contains(['\'', '-', '+'])
            })
        });
        let said_as_at = text[..begin].trim_end().ends_with('@') && word.contains(['\'', '"']);
        if HEIGHTS.contains(&&*word) && is_height(behind) || is_whole || said_as_at {
            return text[..begin].trim_end_matches(|c: char| AROUND.contains(c));
        }
        from = end;
    }
    text.trim()
}
