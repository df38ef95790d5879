//! Finding the heading row of a sheet and reading each heading as a column of the schema.

use super::grid::{Cell, trim};
use crate::job::schema::{Field, Kind, Sheet};
use crate::length::Unit;

/// Headings stand within so many rows from the top.
pub const SEARCHED_ROWS: u32 = 50;

/// A heading as typed and what it was read as.
#[derive(Clone, Debug)]
pub struct Heading {
    pub column: u32,
    pub typed: String,
    /// Position in the sheet's fields; `None` where no one knows it.
    pub field: Option<usize>,
    /// The unit it states.
    pub unit: Option<Unit>,
    /// 0 for the canonical heading, more for synonyms further down their list.
    rank: usize,
    /// It names a field as well as the heading that has taken it, or both by another word.
    pub is_second: bool,
}

/// A row, or two, read as headings.
#[derive(Clone, Debug)]
pub struct HeadingRow {
    /// Position among the rows given.
    pub first: usize,
    /// One row or two.
    pub rows: usize,
    pub headings: Vec<Heading>,
    /// How many different fields were recognised.
    pub known: usize,
    /// The first heading of another table that stands beside this one.
    pub beside: Option<usize>,
}

impl HeadingRow {
    /// How many of them state a unit.
    fn units(&self) -> usize {
        self.headings.iter().filter(|heading| heading.unit.is_some()).count()
    }

    pub fn has(&self, field: usize) -> bool {
        self.headings.iter().any(|heading| heading.field == Some(field))
    }
}

/// The headings of one schema sheet, ready for comparison.
pub struct Dictionary {
    pub schema: &'static Sheet,
    pub fields: Vec<&'static Field>,
    /// Squeezed text, field, rank.
    words: Vec<(String, usize, usize)>,
}

impl Dictionary {
    /// With the shop's aliases: heading and field key.
    pub fn new(schema: &'static Sheet, aliases: &[(String, String)]) -> Dictionary {
        let fields: Vec<&'static Field> = schema.all_fields().collect();
        let mut words = Vec::new();
        for (heading, key) in aliases {
            if let Some(field) = fields.iter().position(|field| field.key == key) {
                words.push((squeeze(heading), field, 0));
            }
        }
        for (index, field) in fields.iter().enumerate() {
            let names = std::iter::once(&field.heading).chain(field.synonyms);
            for (rank, name) in names.chain(std::iter::once(&field.key)).enumerate() {
                words.push((squeeze(name), index, rank));
            }
        }
        Dictionary { schema, fields, words }
    }

    /// The field of a key.
    pub fn field(&self, key: &str) -> Option<usize> {
        self.fields.iter().position(|field| field.key == key)
    }

    /// The field that a heading names, the heading's rank and the unit it states.
    pub fn find(&self, typed: &str) -> Option<(usize, usize, Option<Unit>)> {
        const LONGEST: usize = 120;
        if typed.len() > LONGEST {
            return None;
        }
        // `Job #` is the job's number, not its name.
        let numbered = typed.contains('#').then(|| squeeze(&typed.replace('#', " no ")));
        let word =
            numbered.and_then(|word| self.word(&word)).or_else(|| self.word(&squeeze(typed)));
        if let Some((field, rank)) = word {
            return Some((field, rank, None));
        }
        let (bare, unit) = split_unit(typed)?;
        let (field, rank) = self.word(&squeeze(bare))?;
        match (self.fields[field].kind, unit) {
            (
                Kind::Length { .. }
                | Kind::Lengths { .. }
                | Kind::Widths { .. }
                | Kind::LengthOrNone { .. },
                HeadingUnit::Length(unit),
            ) => Some((field, rank, Some(unit))),
            (
                Kind::Number
                | Kind::Positive
                | Kind::Price
                | Kind::Slope
                | Kind::Whole(_)
                | Kind::Text
                | Kind::Any,
                HeadingUnit::Other,
            ) => Some((field, rank, None)),
            _ => None,
        }
    }

    fn word(&self, word: &str) -> Option<(usize, usize)> {
        if word.is_empty() {
            return None;
        }
        let of = self.words.iter().filter(|(known, _, _)| known == word);
        of.min_by_key(|(_, _, rank)| *rank).map(|(_, field, rank)| (*field, *rank))
    }

    /// Reads the best heading row among the first rows of a sheet; `None` where no cell is a
    /// known heading.
    pub fn best(&self, rows: &[(u32, Vec<Cell<'static>>)]) -> Option<HeadingRow> {
        let mut best: Option<HeadingRow> = None;
        for first in 0..rows.len() {
            let single = self.understand(first, 1, headings_of(&rows[first].1, None));
            let below = rows.get(first + 1).filter(|(row, _)| *row == rows[first].0 + 1);
            let double = below.filter(|(_, cells)| is_all_text(cells)).map(|(_, cells)| {
                self.understand(first, 2, headings_of(&rows[first].1, Some(cells)))
            });
            for row in [Some(single), double].into_iter().flatten() {
                // One row is better than two that say no more, be it a unit.
                let is_better = best.as_ref().map_or(row.known > 0, |best| {
                    let (enough, before) = (is_enough(self, &row), is_enough(self, best));
                    (enough, row.known, row.units(), best.rows)
                        > (before, best.known, best.units(), row.rows)
                });
                if is_better {
                    best = Some(row);
                }
            }
        }
        best
    }

    /// Reads headings as fields: each field goes to the heading that names it best.
    fn understand(&self, first: usize, rows: usize, typed: Vec<Typed>) -> HeadingRow {
        let mut headings: Vec<Heading> = typed
            .into_iter()
            .map(|typed| {
                let found = typed.readings.iter().find_map(|text| self.find(text));
                Heading {
                    column: typed.column,
                    typed: typed.whole,
                    field: found.map(|(field, _, _)| field),
                    unit: found.and_then(|(_, _, unit)| unit),
                    rank: found.map_or(0, |(_, rank, _)| rank),
                    is_second: false,
                }
            })
            .collect();
        let beside = self.beside(&headings);
        for heading in headings.iter_mut().skip(beside.unwrap_or(usize::MAX)) {
            heading.field = None;
            heading.unit = None;
        }
        let mut known = 0;
        for field in 0..self.fields.len() {
            let of_field = headings.iter().enumerate().filter(|(_, h)| h.field == Some(field));
            let Some((winner, best)) = of_field.min_by_key(|(index, h)| (h.rank, *index)) else {
                continue;
            };
            let best_rank = best.rank;
            known += 1;
            for (index, heading) in headings.iter_mut().enumerate() {
                if heading.field == Some(field) && index != winner {
                    heading.field = None;
                    heading.unit = None;
                    heading.is_second = heading.rank == best_rank || best_rank > 0;
                }
            }
        }
        HeadingRow { first, rows, headings, known, beside }
    }

    /// Where behind a blank column a legend of types begins beside the bays: all that a bay needs stands
    /// before it, and what follows spells out decks.
    fn beside(&self, headings: &[Heading]) -> Option<usize> {
        const LEAST_OF_DECK: usize = 2;
        const OF_DECK: [&str; 6] = ["profile", "gauge", "grade", "finish", "slab_in", "mix"];
        let kind = self.field("type").filter(|_| self.schema.key == "bays")?;
        let begins = |at: &usize| {
            let (before, behind) = headings.split_at(*at);
            let has = |field: usize| before.iter().any(|heading| heading.field == Some(field));
            let is_complete = has(kind)
                && (0..self.fields.len()).all(|at| {
                    !self.fields[at].required || has(at) || self.fields[at].key == "level"
                });
            let of_deck = |heading: &&Heading| {
                heading.field.is_some_and(|field| OF_DECK.contains(&self.fields[field].key))
            };
            let is_apart = before.last().zip(behind.first());
            is_apart.is_some_and(|(last, first)| first.column > last.column + 1)
                && is_complete
                && behind.iter().filter(of_deck).count() >= LEAST_OF_DECK
        };
        (1..headings.len()).find(begins)
    }
}

/// Whether headings alone make a table: all that are required (a level may be said elsewhere), and
/// at least three.
pub fn is_enough(dictionary: &Dictionary, found: &HeadingRow) -> bool {
    const LEAST_KNOWN: usize = 3;
    let is_bays = dictionary.schema.key == "bays";
    let has_all = dictionary.fields.iter().enumerate().all(|(index, field)| {
        !field.required || found.has(index) || (is_bays && field.key == "level")
    });
    has_all && found.known >= LEAST_KNOWN
}

/// The dictionary that a row is the heading row of, where it is one of these.
pub fn heading_of<'a>(
    row: &[Cell<'_>],
    dictionaries: &[&'a Dictionary],
) -> Option<(&'a Dictionary, HeadingRow)> {
    if !is_all_text(row) || row.iter().filter(|cell| !cell.is_blank()).count() < 3 {
        return None;
    }
    let mut best: Option<(&Dictionary, HeadingRow)> = None;
    for dictionary in dictionaries {
        let found = dictionary.understand(0, 1, headings_of(row, None));
        let is_better = best.as_ref().is_none_or(|(_, best)| found.known > best.known);
        if is_better && is_enough(dictionary, &found) {
            best = Some((dictionary, found));
        }
    }
    best
}

/// A heading with the ways it may be read, best first.
struct Typed {
    column: u32,
    whole: String,
    readings: Vec<String>,
}

/// The headings of one row, or of two rows read together: `Deck` over `Type`, `Slab` over `(in)`.
fn headings_of(upper: &[Cell<'_>], lower: Option<&Vec<Cell<'static>>>) -> Vec<Typed> {
    let mut headings = Vec::new();
    let width = upper.len().max(lower.map_or(0, Vec::len));
    let text = |cells: &[Cell<'_>], column: usize| {
        cells.get(column).and_then(Cell::text).map(short).unwrap_or_default()
    };
    let mut group = String::new();
    for column in 0..width {
        let above = text(upper, column);
        let below = lower.map(|lower| text(lower, column)).unwrap_or_default();
        if !above.is_empty() {
            group.clone_from(&above);
        } else if below.is_empty() {
            group.clear();
        }
        let readings = match (above.is_empty(), below.is_empty()) {
            (true, true) => continue,
            (false, true) => vec![above.clone()],
            (true, false) if group.is_empty() => vec![below.clone()],
            (true, false) => vec![format!("{group} {below}"), below.clone()],
            (false, false) => {
                let inside = below.trim_matches(['(', ')', '[', ']']);
                vec![format!("{above} {below}"), format!("{above} ({inside})"), below.clone()]
            }
        };
        let whole = if above.is_empty() && !below.is_empty() {
            below
        } else if below.is_empty() {
            above
        } else {
            format!("{above} {below}")
        };
        let column = u32::try_from(column).unwrap_or(u32::MAX);
        headings.push(Typed { column, whole, readings });
    }
    headings
}

fn is_all_text(cells: &[Cell<'_>]) -> bool {
    cells.iter().all(|cell| cell.is_blank() || cell.text().is_some())
}

/// A heading's text, cut where it is too long for one.
fn short(text: &str) -> String {
    const LONGEST: usize = 160;
    let cut = text.char_indices().nth(LONGEST).map_or(text.len(), |(at, _)| at);
    spaced(&text[..cut])
}

/// Text with its line breaks and runs of spaces as single spaces.
pub fn spaced(text: &str) -> String {
    trim(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Lower case without spaces and punctuation.
pub fn squeeze(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[derive(Clone, Copy)]
enum HeadingUnit {
    Length(Unit),
    Other,
}

/// A heading without the unit at its end: `Width (ft)`, `Slab, in`, `Length mm`.
fn split_unit(typed: &str) -> Option<(&str, HeadingUnit)> {
    let typed = trim(typed).trim_end_matches(['.', ' ']);
    let inner = typed.strip_suffix([')', ']']);
    let typed = inner.unwrap_or(typed);
    let cut = match inner {
        Some(inner) => inner.rfind(['(', '['])?,
        None => typed.rfind(|c: char| " ,-/_\n\u{a0}".contains(c))?,
    };
    let (bare, unit) = typed.split_at(cut);
    let unit = unit.trim_start_matches(|c: char| !c.is_alphanumeric() && c != '\'' && c != '"');
    let unit = unit.trim_end_matches(['.', ' ']);
    // `Width in inches`.
    let bare = match inner {
        None => match bare.char_indices().rev().nth(2) {
            Some((at, _)) if bare[at..].eq_ignore_ascii_case(" in") => &bare[..at],
            _ => bare,
        },
        Some(_) => bare,
    };
    let unit = match unit.to_lowercase().as_str() {
        "ft" | "feet" | "foot" | "'" | "ft-in" => HeadingUnit::Length(Unit::Foot),
        "in" | "inch" | "inches" | "\"" | "ins" => HeadingUnit::Length(Unit::Inch),
        "m" | "metres" | "meters" => HeadingUnit::Length(Unit::Metre),
        "cm" => HeadingUnit::Length(Unit::Centimetre),
        "mm" => HeadingUnit::Length(Unit::Millimetre),
        "pcf" | "psi" | "ksi" | "lb" | "lbs" | "ga" | "each" | "ea" | "pcs" | "yd3/h"
        | "yd3/hr" | "cy/h" | "cy/hr" => HeadingUnit::Other,
        _ => return None,
    };
    Some((bare, unit))
}
