//! Names of outputs: safe on any system, no two alike.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use unicode_normalization::UnicodeNormalization;

use super::hash;

/// Bytes of a name before its ending; file systems take 255.
const LONGEST: usize = 120;
/// Folders that are taken into a name to tell it from others.
const FOLDERS: usize = 3;

/// What the outputs of a schedule are called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// `north-takeoff.xlsx`.
    pub takeoff: String,
    /// The folder of its forms, `north-forms`.
    pub forms: String,
}

/// The outputs' names for each schedule, `north-schedule-takeoff.xlsx` where several are called
/// `schedule`. The same list gives the same names.
#[must_use]
pub fn output_names(files: &[impl AsRef<Path>]) -> Vec<Names> {
    let mut names: Vec<String> = files.iter().map(|file| name(file.as_ref(), 0)).collect();
    for folders in 1..=FOLDERS {
        for at in alike(&names) {
            names[at] = name(files[at].as_ref(), folders);
        }
    }
    for at in alike(&names) {
        let path = files[at].as_ref().to_string_lossy();
        let digits = hash(path.as_bytes());
        names[at] = format!("{}-{}", names[at], digits.get(..8).unwrap_or_default());
    }
    // Twice the same path.
    for at in alike(&names) {
        names[at] = format!("{}-{}", names[at], at + 1);
    }
    names
        .iter()
        .map(|name| Names {
            takeoff: undeviced(format!("{name}-takeoff.xlsx")),
            forms: undeviced(format!("{name}-forms")),
        })
        .collect()
}

/// The places of names that some file system takes for the name of another.
fn alike(names: &[String]) -> Vec<usize> {
    let keys: Vec<String> = names.iter().map(|name| as_compared(name)).collect();
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for key in &keys {
        *counts.entry(key).or_default() += 1;
    }
    (0..keys.len()).filter(|&at| counts.get(&*keys[at]).is_some_and(|&count| count > 1)).collect()
}

/// A name as a file system may compare it: without regard to case and to how accents are written.
fn as_compared(name: &str) -> String {
    name.nfc().collect::<String>().to_lowercase()
}

/// The file's name without its ending, behind the names of so many of its folders.
fn name(file: &Path, folders: usize) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut parts = vec![stem];
    let above = file.ancestors().skip(1).filter_map(Path::file_name).take(folders);
    parts.extend(above.map(|folder| folder.to_string_lossy().into_owned()));
    parts.reverse();
    let safe = safe(&parts.join("-"));
    if safe.is_empty() { "schedule".to_owned() } else { safe }
}

/// A name for each text: safe on any system, no two that a file system takes for one.
#[must_use]
pub fn safe_names<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken: HashSet<String> = HashSet::new();
    let mut names = Vec::new();
    for text in texts {
        let stem = match safe(text) {
            empty if empty.is_empty() => "form".to_owned(),
            stem => undeviced(stem),
        };
        let mut name = stem.clone();
        let mut number = 2;
        while !taken.insert(as_compared(&name)) {
            name = format!("{stem}-{number}");
            number += 1;
        }
        names.push(name);
    }
    names
}

/// Whether Windows takes a name for a device's, whatever its ending: `con`, `LPT1`.
fn is_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default().trim_end().to_uppercase();
    let is_numbered = |port: &str| {
        stem.strip_prefix(port).is_some_and(|rest| {
            let mut signs = rest.chars();
            matches!(signs.next(), Some('0'..='9' | '\u{b9}' | '\u{b2}' | '\u{b3}'))
                && signs.next().is_none()
        })
    };
    matches!(&*stem, "CON" | "PRN" | "AUX" | "NUL") || is_numbered("COM") || is_numbered("LPT")
}

/// A name that no system takes for a device.
fn undeviced(name: String) -> String {
    if !is_device(&name) {
        return name;
    }
    let (stem, rest) = name.split_at(name.find('.').unwrap_or(name.len()));
    format!("{stem}_{rest}")
}

/// Without signs that some system forbids in names or shells take for their own.
fn safe(text: &str) -> String {
    let forbidden = |sign: char| {
        sign.is_control() || matches!(sign, '<' | '>' | ':' | '"' | '/' | '\\' | '|' | '?' | '*')
    };
    let mended: String =
        text.chars().map(|sign| if forbidden(sign) { '-' } else { sign }).collect();
    let trimmed =
        mended.trim_matches(|sign: char| sign.is_whitespace() || sign == '.' || sign == '-');
    let mut cut = LONGEST.min(trimmed.len());
    while !trimmed.is_char_boundary(cut) {
        cut -= 1;
    }
    trimmed[..cut].trim_end_matches(|sign: char| sign.is_whitespace() || sign == '.').to_owned()
}
