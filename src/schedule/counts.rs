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

/// Whether the different whole numbers of a column of so many rows count something; where each row has
/// its own, one after the other, they number the rows.
pub fn are_counts(numbers: &[i64], rows: u32) -> bool {
    const LEAST_ROWS: usize = 3;
    let (Some(least), Some(most)) = (numbers.iter().min(), numbers.iter().max()) else {
        return false;
    };
    let rows = usize::try_from(rows).unwrap_or(usize::MAX);
    let is_run = i64::try_from(rows).is_ok_and(|rows| most - least + 1 == rows);
    let is_numbering = numbers.len() == rows && (rows >= LEAST_ROWS || rows > 1 && is_run);
    *most > 1 && !is_numbering
}
