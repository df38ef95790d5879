//! Comparing marks: `D1` is `d1` and ` D1 `, composed or decomposed accents alike. The names that
//! tables compare get one spelling in `names.rs`.

use std::hash::{Hash, Hasher};

pub use crate::text::mark_key as key;

/// A mark as a key of sets and maps, compared and hashed as [`key`] has it.
#[derive(Clone, Copy, Debug)]
pub struct Mark<'a>(pub &'a str);

/// Marks of plain letters and up to this length are folded without memory of their own.
const SHORT: usize = 24;

/// A short plain mark, folded: the bytes and how many there are.
fn folded(mark: &str) -> Option<([u8; SHORT], usize)> {
    if mark.len() > SHORT {
        return None;
    }
    let mut bytes = [0; SHORT];
    for (into, byte) in bytes.iter_mut().zip(mark.bytes()) {
        if !byte.is_ascii_graphic() {
            return None;
        }
        *into = byte.to_ascii_lowercase();
    }
    Some((bytes, mark.len()))
}

impl Hash for Mark<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        match folded(self.0) {
            Some((bytes, length)) => state.write(bytes.get(..length).unwrap_or_default()),
            None => state.write(key(self.0).as_bytes()),
        }
    }
}

impl PartialEq for Mark<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.0 == other.0
            || match (folded(self.0), folded(other.0)) {
                (Some(a), Some(b)) => a == b,
                _ => key(self.0) == key(other.0),
            }
    }
}

impl Eq for Mark<'_> {}

/// The pours of `P1` or `P1 60%, P2 40%`.
pub fn pours(text: &str) -> Vec<String> {
    let shares = text.split([',', ';']).map(|share| {
        let share = share.trim();
        match share.rsplit_once(char::is_whitespace) {
            Some((pour, percent)) if percent.ends_with('%') => pour.trim(),
            _ => share,
        }
    });
    shares.filter(|pour| !pour.is_empty()).map(str::to_owned).collect()
}

/// Up to three of the marks nearest to one.
pub fn near<'a>(mark: &str, marks: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mark = key(mark).into_owned();
    let mut scored: Vec<(f64, &str)> = marks
        .map(|known| (strsim::normalized_damerau_levenshtein(&mark, &key(known)), known))
        .filter(|(score, _)| *score >= 0.5)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.truncate(3);
    scored.into_iter().map(|(_, known)| known).collect()
}

/// `` did you mean `D1` or `D2`? ``, or what is known, or nothing.
pub fn suggestion<'a>(mark: &str, marks: impl Iterator<Item = &'a str> + Clone) -> Option<String> {
    const LISTED: usize = 12;
    let quoted =
        |marks: &[&str]| -> Vec<String> { marks.iter().map(|mark| format!("`{mark}`")).collect() };
    let near = near(mark, marks.clone());
    if !near.is_empty() {
        return Some(format!("did you mean {}?", quoted(&near).join(" or ")));
    }
    let known: Vec<&str> = marks.take(LISTED).collect();
    (!known.is_empty()).then(|| format!("known are {}", quoted(&known).join(", ")))
}
