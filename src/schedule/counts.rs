//! Headings that say how often a row counts, or how far apart its supports are, in words that are none of
//! the schedule's.

use super::headings::squeeze;

const OFTEN: &[&str] = &["qty", "quantity", "count", "copies", "mult", "multiplier", "times"];
const MANY: &[&str] = &[
    "bays",
    "floors",
    "flrs",
    "levels",
    "lvls",
    "stories",
    "times",
    "units",
    "areas",
    "identical",
    "reps",
    "alike",
];
/// Words that may say so, where whole numbers stand below them.
const MAY_BE: &[&str] = &[
    "no",
    "quan",
    "qnty",
    "ea",
    "each",
    "pcs",
    "pieces",
    "rep",
    "reps",
    "repeat",
    "repeats",
    "typ",
    "typx",
    "typical",
    "floors",
    "flrs",
    "levels",
    "lvls",
    "bays",
    "identical",
    "identicalbays",
    "identicalfloors",
    "similar",
    "alike",
    "thus",
];
const FAR: &[&str] =
    &["span", "spans", "spanlength", "spacing", "beamspacing", "joistspacing", "supportspacing"];

/// A heading without case, spaces and signs; `#` is a number: `# of bays` is `noofbays`.
fn word(typed: &str) -> String {
    squeeze(&typed.replace('#', " no "))
}

fn number_of(word: &str) -> Option<&str> {
    ["noof", "numberof", "no"].iter().find_map(|begin| word.strip_prefix(begin))
}

/// Whether a heading says how often.
pub fn is_often(typed: &str) -> bool {
    let word = word(typed);
    OFTEN.contains(&word.as_str())
        || number_of(&word).is_some_and(|what| MANY.contains(&what))
        || word.starts_with("noreq")
}

/// Whether a heading may say how often.
pub fn may_be_often(typed: &str) -> bool {
    MAY_BE.contains(&word(typed).as_str())
}

/// Whether a heading says how far apart supports are, or how many spans there are.
pub fn is_spacing(typed: &str) -> bool {
    let word = word(typed);
    FAR.contains(&word.as_str()) || number_of(&word) == Some("spans")
}

/// Whether the different whole numbers of a column of so many rows, as they come, count something; where
/// they go up they number the rows, or those of each level.
pub fn are_counts(numbers: &[i64], rows: u32) -> bool {
    const LEAST_ROWS: usize = 3;
    const SOME: usize = 4;
    let by_one = numbers.windows(2).all(|pair| pair[1] == pair[0] + 1);
    let is_each =
        numbers.len() > 1 && usize::try_from(rows).is_ok_and(|rows| numbers.len() == rows);
    let is_numbering = is_each && (by_one || numbers.len() >= LEAST_ROWS && numbers.is_sorted())
        || by_one && numbers.len() >= SOME;
    numbers.iter().any(|number| *number > 1) && !is_numbering
}
