//! Levels that are named outside a Level column: by a sheet's name, by a line between the rows.

use super::said::{self, Said};

/// What a line of text that stands alone among the rows says of those below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Their level, and whether they are counted.
    Level(String, Option<Said>),
    /// Their height, which goes with a level's name.
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
        _ => None,
    }
}

fn is_base_bid(text: &str) -> bool {
    super::headings::squeeze(text).starts_with("basebid")
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
    "stories",
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
/// Words that may stand beside it. `Main lobby area` is no level's name.
const BESIDE: &[&str] = &[
    "low",
    "lower",
    "high",
    "upper",
    "mid",
    "middle",
    "mech",
    "mechanical",
    "elev",
    "elevator",
    "stair",
    "interstitial",
    "sub",
    "typ",
    "typical",
    "thru",
    "through",
    "to",
    "and",
    "of",
    "the",
    "north",
    "south",
    "east",
    "west",
    "n",
    "s",
    "e",
    "w",
    "bldg",
    "building",
    "tower",
    "wing",
    "phase",
    "a",
    "b",
    "c",
    "d",
    "no",
];
/// Words that may stand beside a number as well: `2nd Floor Deck`.
const BESIDE_NUMBERS: &[&str] = &["deck", "decking", "framing", "plan", "slab"];
/// Names of levels that are one short word.
const SHORT: &[&str] =
    &["ph", "rf", "lr", "hr", "mez", "bsmt", "gnd", "grd", "ll", "lg", "ug", "g", "b", "m", "r"];
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

/// Whether a line that stands alone names a level: `LEVEL 2`, `Low roof`, `Third`, `3`.
fn is_level_name(text: &str) -> bool {
    let words = words_of(text);
    names_level(text)
        || words.len() == 1
            && (is_among(&words, ORDINALS) || is_among(&words, SHORT) || is_mark(text))
}

/// `3`, `2A`, `L2`, `B-1`, `2nd`: a number with a few letters.
fn is_mark(text: &str) -> bool {
    const LONGEST: usize = 5;
    let bare = text.trim_matches(|c: char| ".:()#".contains(c));
    let digits = bare.chars().filter(char::is_ascii_digit).count();
    let letters = bare.chars().filter(|c| c.is_alphabetic()).count();
    bare.chars().count() <= LONGEST
        && (1..=2).contains(&digits)
        && letters <= 2
        && bare.chars().all(|c| c.is_alphanumeric() || c == '-')
}

fn is_too_long(words: &[&str]) -> bool {
    const MOST_WORDS: usize = 5;
    words.len() > MOST_WORDS
}

/// Whether a short line consists of words and numbers that name a level, wherever it stands.
pub fn names_level(text: &str) -> bool {
    let words = words_of(without_height(text));
    let is_number = |word: &str| {
        is_among(&[word], ORDINALS)
            || word.starts_with(|c: char| c.is_ascii_digit()) && word.len() <= 4
    };
    let is_numbered = words.iter().any(|word| is_number(word));
    let belongs = |word: &&str| {
        is_number(word)
            || [WORDS, BESIDE].iter().any(|known| is_among(&[word], known))
            || is_numbered && is_among(&[word], BESIDE_NUMBERS)
            || is_mark(word)
    };
    !is_too_long(&words) && is_among(&words, WORDS) && words.iter().all(belongs)
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
    const AROUND: &str = " \t\u{a0}-–—,:;(";
    let is_begin =
        |at: usize| text[..at].chars().next_back().is_none_or(|before| AROUND.contains(before));
    for (at, sign) in text.char_indices() {
        if !AROUND.contains(sign) && is_begin(at) && is_height(&text[at..]) {
            return text[..at].trim_end_matches(|c: char| AROUND.contains(c) || c == '@');
        }
    }
    text.trim()
}

/// Whether a text says a height and nothing else: `T.O.S. 112'-6"`, `EL 112.50`, `@ 128'-0"`. An elevator
/// and a detail have numbers too, and a slab is inches.
fn is_height(text: &str) -> bool {
    const SAID: &[&str] = &[
        "top of steel",
        "top of deck",
        "top of concrete",
        "to steel",
        "to deck",
        "to conc",
        "t/steel",
        "t/stl",
        "t/deck",
        "tos",
        "tod",
        "toc",
        "elevation",
        "elev",
        "el",
    ];
    const LEAST: u32 = 10;
    let lower = text.to_lowercase();
    let lower = lower.replace("t.o.s", "tos").replace("t.o.d", "tod").replace("t.o.c", "toc");
    let lower = lower.replace("t.o.", "to ").replace("  ", " ");
    let mut rest = lower.trim_start_matches('@').trim();
    let said_as_at = lower.starts_with('@');
    let mut is_said = false;
    while let Some(behind) = SAID.iter().find_map(|said| rest.strip_prefix(said)) {
        if behind.starts_with(char::is_alphabetic) {
            break;
        }
        rest = behind.trim_start_matches(|c: char| " .:=+-–±".contains(c));
        is_said = true;
    }
    let rest = rest.trim_end_matches(|c: char| " .)]".contains(c)).trim_end_matches("ft").trim();
    let is_plain = rest.starts_with(|c: char| c.is_ascii_digit())
        && rest.chars().all(|c| c.is_ascii_digit() || " '\"-./½¼¾±+".contains(c));
    let has_feet = rest.contains('\'') || rest.contains('-') && !rest.contains('/');
    let is_number = rest.parse::<f64>().is_ok_and(|height| height >= f64::from(LEAST));
    is_plain && (has_feet && (is_said || said_as_at) || is_said && is_number)
}
