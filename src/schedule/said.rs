//! Short words beside a row that take it out of the base bid or multiply it, wherever they stand: `NIC`,
//! `ON HOLD`, `Alt 1`, `x2`. Sentences that only hold such a word (`hold 2" off the line`) say nothing.

use super::headings::spaced;

/// What such words say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// It is not ours, not there, or no longer so.
    Out,
    Hold,
    /// It is priced beside the base bid.
    Alternate,
    /// It stands for several.
    Several,
}

impl Said {
    /// The code under which it is asked about.
    pub fn code(self) -> &'static str {
        match self {
            Said::Out => "note-says-void",
            Said::Hold => "note-says-hold",
            Said::Alternate => "note-says-alternate",
            Said::Several => "count-not-read",
        }
    }

    /// What becomes of a row all the same.
    pub fn but(self) -> &'static str {
        match self {
            Said::Out => "counted",
            Said::Hold => "counted as any other",
            Said::Alternate => "counted in the base bid",
            Said::Several => "counted once",
        }
    }

    /// How to say it so that it counts.
    pub fn hint(self) -> &'static str {
        match self {
            Said::Out => "leave it out by Status: `void`, or `hold`",
            Said::Hold => "state it under Status: `hold`",
            Said::Alternate => "name the alternate under Alternate",
            Said::Several => "state how many there are under Copies",
        }
    }
}

/// Words that say it of a row whatever stands over them.
const OUT: &[&str] = &[
    "void",
    "voided",
    "del",
    "delete",
    "deleted",
    "remove",
    "removed",
    "omit",
    "omitted",
    "nic",
    "n i c",
    "cancelled",
    "canceled",
    "not in contract",
    "not in scope",
    "do not count",
    "do not order",
    "not used",
    "superseded",
    "no deck",
    "not decked",
    "dnc",
    "struck",
];
/// Words that say it of a row where they are a note on it; under a heading they may be of its support.
const OUT_AS_NOTE: &[&str] = &[
    "by others",
    "by gc",
    "by owner",
    "deck by others",
    "deck by gc",
    "roof deck by others",
    "floor deck by others",
    "existing",
    "exist",
    "existing deck",
    "exist deck",
    "existing roof",
    "existing floor",
    "existing building",
    "existing to remain",
    "exist to remain",
    "existing deck to remain",
    "to remain",
    "open to below",
    "future",
];
const HOLD: &[&str] = &["hold", "on hold"];

/// What a note says, or a line of its own.
pub fn note(text: &str) -> Option<Said> {
    let bare = bare(text)?;
    under_heading(&bare).or_else(|| {
        let is_out = begins_with(&bare, OUT_AS_NOTE);
        if is_out { Some(Said::Out) } else { is_several(&bare).then_some(Said::Several) }
    })
}

/// What a cell under a heading of the estimator's own says.
pub fn own(heading: &str, text: &str) -> Option<Said> {
    /// Headings of columns that speak of the row as a whole.
    const OF_ROWS: &[&str] = &[
        "status",
        "state",
        "rev",
        "revs",
        "revision",
        "revisions",
        "delta",
        "change",
        "changes",
        "action",
        "void",
        "nic",
        "scope",
        "include",
        "included",
        "hold",
        "alt",
        "bid",
        "remarks",
        "notes",
        "comments",
        "rev/delta",
        "estimator notes",
    ];
    let heading = bare(heading)?;
    if !OF_ROWS.contains(&&*heading) {
        return None;
    }
    parts(text).find_map(|part| under_heading(&bare(part)?))
}

/// The status that a cell under Status says in other words, and whether that is to be asked about.
pub fn status(text: &str) -> Option<(&'static str, bool)> {
    /// What takes it back.
    const AGAIN: &[&str] = &[
        "new",
        "now",
        "restored",
        "restore",
        "reinstated",
        "reinstate",
        "released",
        "release",
        "replace",
        "replaced",
        "ok",
        "okay",
        "back",
        "again",
        "over",
        "filled",
        "ours",
        "order",
        "in",
        "not",
    ];
    let bare = bare(text)?;
    let mut behind = bare.split(|c: char| !c.is_alphanumeric()).skip(1);
    // `Del` may be delivered.
    if bare != "not in contract"
        && bare != "not in scope"
        && behind.any(|word| AGAIN.contains(&word))
        || bare.split(' ').next() == Some("del")
    {
        return None;
    }
    let word = |words, status| begins_with(&bare, words).then_some(status);
    word(OUT, ("void", false))
        .or_else(|| word(HOLD, ("hold", false)))
        .or_else(|| word(OUT_AS_NOTE, ("void", true)))
}

/// What a bay's mark says besides: `A4 (NIC)`, `A6 - existing`.
pub fn mark(text: &str) -> Option<Said> {
    parts(text).find_map(note).filter(|said| *said != Said::Several)
}

/// A text without the part of it that says so: `LEVEL 3 (NIC)` is `LEVEL 3`, and out.
pub fn split_off(text: &str) -> Option<(&str, Said)> {
    let at = text.rfind(['(', '[']).or_else(|| text.rfind(" - ")).or_else(|| text.rfind(" – "))?;
    let (name, behind) = text.split_at(at);
    let said = note(behind.trim_matches(|sign: char| "([)]-– ".contains(sign)))?;
    (!name.trim().is_empty()).then(|| (name.trim(), said))
}

/// What the word of a heading says of a row whose cell under it is marked.
pub fn heading(heading: &str, cell: &str) -> Option<Said> {
    const YES: &[&str] = &["x", "y", "yes", "true", "1", "✓", "✔"];
    const NO: &[&str] = &["n", "no", "false", "0"];
    const COUNTED: &[&str] =
        &["include", "included", "include?", "in scope", "in contract", "count?"];
    let cell = cell.trim().to_lowercase();
    let word = bare(heading)?;
    if YES.contains(&&*cell) {
        return under_heading(&word).or_else(|| OUT_AS_NOTE.contains(&&*word).then_some(Said::Out));
    }
    (NO.contains(&&*cell) && COUNTED.contains(&&*word)).then_some(Said::Out)
}

fn under_heading(bare: &str) -> Option<Said> {
    if begins_with(bare, OUT) {
        Some(Said::Out)
    } else if begins_with(bare, HOLD) {
        Some(Said::Hold)
    } else {
        is_alternate(bare).then_some(Said::Alternate)
    }
}

fn parts(text: &str) -> impl Iterator<Item = &str> {
    let is_existing = text.to_lowercase().contains("(e)");
    let signs: &[char] = if is_existing { &[','] } else { &[',', '(', ')', '[', ']', ':'] };
    text.split(signs).flat_map(|part| part.split(" - ")).flat_map(|part| part.split(" – "))
}

/// In small letters, without the signs that people put around words; `None` where it is too long to be
/// such a word.
fn bare(text: &str) -> Option<String> {
    const LONGEST: usize = 120;
    if text.is_empty() || text.len() > LONGEST {
        return None;
    }
    let lower = text.to_lowercase().replace("(e)", "existing").replace("exist.", "exist ");
    let kept: String = lower.chars().filter(|sign| !".()[]#*!?\"".contains(*sign)).collect();
    let bare = spaced(&kept);
    (!bare.is_empty()).then_some(bare)
}

/// The word alone, or with where it comes from behind it.
fn begins_with(bare: &str, words: &[&str]) -> bool {
    const ENDS: [&str; 13] =
        [" - ", " – ", " — ", "- ", ",", ":", ";", " per ", " see ", " add ", " by ", " rev", " δ"];
    words.iter().any(|word| {
        let rest = bare.strip_prefix(word);
        rest.is_some_and(|rest| rest.is_empty() || ENDS.iter().any(|end| rest.starts_with(end)))
    })
}

/// `alt 1`, `add alternate 2`, `alternate a deduct`, `deduct`; something may be said behind a dash.
fn is_alternate(bare: &str) -> bool {
    const AROUND: [&str; 5] = ["add", "bid", "no", "number", "deduct"];
    const NAMES: [&str; 2] = ["alternate", "alt"];
    let named = bare.split([',', ':', ';']).next().unwrap_or_default();
    let named = named.split(" - ").next().unwrap_or_default();
    let is_mark = |word: &str| {
        word.len() <= 3 && (word.len() == 1 || word.bytes().all(|sign| sign.is_ascii_digit()))
    };
    let is_name = |word: &str| {
        let rest = NAMES.iter().find_map(|name| word.strip_prefix(name));
        rest.is_some_and(|rest| rest.bytes().all(|sign| sign.is_ascii_digit()))
    };
    let words: Vec<&str> = named.split([' ', '-']).filter(|word| !word.is_empty()).collect();
    named == "deduct"
        || words.iter().any(|word| is_name(word))
            && words.iter().all(|word| is_name(word) || AROUND.contains(word) || is_mark(word))
}

/// `x2`, `2x`, `typ of 4`, `typical 3`, `4 places`, `2 req'd`.
fn is_several(bare: &str) -> bool {
    const BEFORE: [&str; 6] = ["typical of ", "typ of ", "typical x", "typ x", "typical ", "typ "];
    const BEHIND: [&str; 9] = [
        " places",
        " plcs",
        " locations",
        " locs",
        " req'd",
        " reqd",
        " required",
        " typical",
        " typ",
    ];
    let is_more = |text: &str| text.trim().parse::<u16>().is_ok_and(|count| count > 1);
    let before = BEFORE.iter().chain(&["x"]).find_map(|word| bare.strip_prefix(word));
    let behind = BEHIND.iter().chain(&["x"]).find_map(|word| bare.strip_suffix(word));
    before.is_some_and(is_more) || behind.is_some_and(is_more)
}
