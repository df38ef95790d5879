//! Laying out across the flutes: how many lines of panels a width takes, and what becomes of the
//! width left over.
//!
//! The first panel stands at the start edge and panels walk over the lines between the widths of a
//! strip; only a break makes a panel edge. In: widths as typed, the cover and the shop's
//! [`LeftoverRules`]. Out: an [`Across`].

use crate::builtin::Builtin;
use crate::length::{Length, Typed};
use crate::value::{Feet, Inches, Refusal};

pub const BUILTINS: &[Builtin] = &[builtin!(panels_across(width_ft, cover_in))];

/// Counts the panels that cover a width, on exact lengths.
///
/// - width_ft: width across the flutes, ft, 0 to 100,000
/// - cover_in: width that one panel covers, in, above 0
///
/// Gives: the least number of panels whose covers add up to the width, count.
/// Source: geometry.
/// Example: `deck::panels_across(31, 36)` = 11
pub fn panels_across(width_ft: Feet, cover_in: Inches) -> Result<i64, Refusal> {
    if width_ft.0 < Length::ZERO {
        return Err(Refusal::new("width_ft", width_ft.0.in_feet(), "a width of 0 ft or more"));
    }
    width_ft
        .0
        .count_to_cover(cover_in.0)
        .ok_or_else(|| Refusal::new("cover_in", cover_in.0.in_inches(), "a cover above 0 in"))
}

/// What becomes of the width that no whole panel covers: a choice of the shop.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LeftoverRules {
    /// Up to this, taken up in spreading the panels.
    pub spread: Length,
    /// Up to this, covered by a flat filler strip; above it, by a panel ripped to width.
    pub filler: Length,
    /// Whether the rest of a ripped panel serves for another ripped panel of the strip.
    pub rest_serves: bool,
}

/// How a leftover is covered, from the least to the most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Leftover {
    #[default]
    Exact,
    Spread,
    Filler,
    Ripped,
}

impl Leftover {
    /// Its name in tables and scripts.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Leftover::Exact => "exact",
            Leftover::Spread => "spread",
            Leftover::Filler => "filler",
            Leftover::Ripped => "ripped",
        }
    }
}

/// The widths between two breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Group {
    pub width: Length,
    /// Lines of panels, the ripped one included.
    pub panels: i64,
    /// What whole panels leave uncovered.
    pub leftover: Length,
    pub kind: Leftover,
    /// How far the panels reach beyond the width.
    pub overcover: Length,
    /// The width was typed as a decimal and meets a whole number of panels within half its last
    /// digit: that number is taken.
    pub decimal_note: bool,
    /// The ripped panel is cut from the rest of another group's.
    pub from_rest: bool,
    /// The row across in which the group's last panel begins.
    pub last_row: usize,
}

/// A width laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Across {
    /// Lines of panels that are ordered, ripped ones included.
    pub panels: i64,
    pub width: Length,
    pub groups: Vec<Group>,
    /// Lines of panels whose left edge lies in each row across.
    pub by_row: Vec<i64>,
    /// Lines of panels if every single width were laid by itself.
    pub panels_apart: i64,
}

impl Across {
    /// The leftover of all groups that is covered in this way.
    #[must_use]
    pub fn leftover_of(&self, kind: Leftover) -> Length {
        self.groups.iter().filter(|group| group.kind == kind).map(|group| group.leftover).sum()
    }

    /// How many groups have a leftover covered in this way.
    #[must_use]
    pub fn count_of(&self, kind: Leftover) -> i64 {
        self.groups.iter().filter(|group| group.kind == kind).fold(0, |count, _| count + 1)
    }

    /// The weightiest way in which a leftover is covered.
    #[must_use]
    pub fn kind(&self) -> Leftover {
        self.groups.iter().map(|group| group.kind).max().unwrap_or_default()
    }
}

/// Lays panels across a strip. Each row across has groups of widths with breaks between them; the
/// last group of a row runs on into the first of the next.
///
/// Refuses widths that are not above zero, no width at all, and a cover that is not above zero.
pub fn lay_across(
    rows: &[&[Vec<Typed>]],
    cover: Length,
    rules: &LeftoverRules,
) -> Result<Across, Refusal> {
    if !cover.is_positive() || cover > Length::LONGEST {
        return Err(Refusal::new("cover_in", cover.in_inches(), "a cover above 0 in"));
    }
    let mut laid = Walk {
        cover,
        rules,
        open: Group::none(),
        half_digit: Length::ZERO,
        first_row: 0,
        across: Across {
            panels: 0,
            width: Length::ZERO,
            groups: Vec::new(),
            by_row: vec![0; rows.len()],
            panels_apart: 0,
        },
        edges: Vec::new(),
    };
    for (row, groups) in rows.iter().enumerate() {
        for (index, widths) in groups.iter().enumerate() {
            if index > 0 {
                laid.close();
            }
            for typed in widths {
                laid.add(row, *typed)?;
            }
        }
        if row + 1 < rows.len() {
            laid.edges.push((row, laid.open.width));
        }
    }
    laid.close();
    let mut across = laid.across;
    if across.groups.is_empty() {
        return Err(Refusal::new("widths_ft", "no width", "one width or more"));
    }
    if rules.rest_serves {
        serve_rests(&mut across, cover);
    }
    Ok(across)
}

impl Group {
    const fn none() -> Group {
        Group {
            width: Length::ZERO,
            panels: 0,
            leftover: Length::ZERO,
            kind: Leftover::Exact,
            overcover: Length::ZERO,
            decimal_note: false,
            from_rest: false,
            last_row: 0,
        }
    }

    /// A width laid by itself.
    fn lay(width: Length, half_digit: Length, cover: Length, rules: &LeftoverRules) -> Group {
        let mut group = Group { width, ..Group::none() };
        let Some((whole, leftover)) = width.div_rem(cover) else { return group };
        let short = cover - leftover;
        let half_digit = half_digit.min(Length::from_exact(cover.exact() / 2));
        (group.panels, group.leftover) = (whole, leftover);
        if leftover == Length::ZERO {
            return group;
        }
        if leftover <= half_digit && whole > 0 && leftover <= short {
            group.decimal_note = true;
            group.leftover = Length::ZERO;
        } else if short <= half_digit {
            group.decimal_note = true;
            group.leftover = Length::ZERO;
            group.panels = whole + 1;
        } else if leftover <= rules.spread && whole > 0 {
            group.kind = Leftover::Spread;
        } else if leftover <= rules.filler {
            group.kind = Leftover::Filler;
        } else {
            group.kind = Leftover::Ripped;
            group.panels = whole + 1;
            group.overcover = short;
        }
        group
    }
}

/// Where the laying has got to.
struct Walk<'a> {
    cover: Length,
    rules: &'a LeftoverRules,
    open: Group,
    half_digit: Length,
    first_row: usize,
    across: Across,
    /// Where rows end within the open group.
    edges: Vec<(usize, Length)>,
}

impl Walk<'_> {
    fn add(&mut self, row: usize, typed: Typed) -> Result<(), Refusal> {
        let total = self.across.width + typed.length;
        if !typed.length.is_positive() || total > Length::LONGEST {
            return Err(Refusal::new(
                "widths_ft",
                typed.length,
                "widths above 0 ft, together up to 100,000 ft",
            ));
        }
        if self.open.width == Length::ZERO {
            self.first_row = row;
            self.edges.clear();
        }
        let alone = Group::lay(typed.length, typed.half_digit, self.cover, self.rules);
        self.across.panels_apart += alone.panels;
        self.across.width = total;
        self.open.width += typed.length;
        self.half_digit += typed.half_digit;
        Ok(())
    }

    /// Ends the open group and counts its panels by the row in which each begins.
    fn close(&mut self) {
        if self.open.width == Length::ZERO {
            return;
        }
        let mut group = Group::lay(self.open.width, self.half_digit, self.cover, self.rules);
        let mut begun = 0;
        let mut row = self.first_row;
        for (ending, edge) in self.edges.drain(..) {
            let to = edge.count_to_cover(self.cover).unwrap_or(0).clamp(begun, group.panels);
            if let Some(count) = self.across.by_row.get_mut(ending) {
                *count += to - begun;
            }
            begun = to;
            row = if begun < group.panels { ending + 1 } else { row };
        }
        if let Some(count) = self.across.by_row.get_mut(row) {
            *count += group.panels - begun;
        }
        group.last_row = row;
        self.across.panels += group.panels;
        self.across.groups.push(group);
        self.open = Group::none();
        self.half_digit = Length::ZERO;
    }
}

/// Cuts ripped panels from the rests of others, the widest first, each from the first that has
/// enough left.
fn serve_rests(across: &mut Across, cover: Length) {
    let mut ripped: Vec<usize> = (0..across.groups.len())
        .filter(|index| across.groups[*index].kind == Leftover::Ripped)
        .collect();
    ripped.sort_by_key(|index| -across.groups[*index].leftover);
    let mut rests: Vec<Length> = Vec::new();
    for index in ripped {
        let group = &mut across.groups[index];
        if let Some(rest) = rests.iter_mut().find(|rest| **rest >= group.leftover) {
            *rest -= group.leftover;
            group.from_rest = true;
            across.panels -= 1;
            if let Some(count) = across.by_row.get_mut(group.last_row) {
                *count -= 1;
            }
        } else {
            rests.push(cover - group.leftover);
        }
    }
}
