//! A strip laid out as one plan: one bay, or several whose panels run on from one into the next.
//!
//! In: a [`StripSpec`]: spans by row along, widths by row across, limits and choices. Out: a
//! [`Plan`]: pieces with counts and order lengths, each in the row where it begins, and what the
//! strip saves against laying its rows one by one.

use super::across::{Across, Leftover, LeftoverRules, lay_across};
use super::along::{Along, AlongLimits, Cut, Line, PanelAlong, lay_along};
use super::ends::{End, Joint, Rounding, Slope};
use crate::length::{Length, Typed};
use crate::value::Refusal;

/// What is laid out as one plan.
#[derive(Clone, Copy, Debug)]
pub struct StripSpec<'a> {
    /// The spans of each row along, from the start end.
    pub spans: &'a [&'a [Length]],
    /// The widths of each row across, from the start edge, in groups with breaks between them.
    pub widths: &'a [&'a [Vec<Typed>]],
    /// Identical twins.
    pub copies: i64,
    pub cover: Length,
    pub leftover: LeftoverRules,
    pub limits: AlongLimits<'a>,
    pub start: End,
    pub far: End,
    pub joint: Joint,
    pub joints_at: &'a [(usize, Joint)],
    pub slope: Slope,
    pub rounding: Rounding,
    pub cut: Option<Cut<'a>>,
}

/// Panels of one length that begin in one row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Indexes of the row along and the row across in which the panels begin.
    pub along: usize,
    pub across: usize,
    /// The length that is ordered, and the exact one.
    pub length: Length,
    pub exact: Length,
    pub spans: usize,
    pub count: i64,
    pub lapped: bool,
}

impl Piece {
    #[must_use]
    pub const fn single_span(&self) -> bool {
        self.spans == 1
    }
}

/// A strip laid out, all copies counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    pub pieces: Vec<Piece>,
    /// One line of panels.
    pub along: Along,
    /// One copy across.
    pub across: Across,
    /// Panels ordered.
    pub panels: i64,
    /// Lines of panels ordered.
    pub lines: i64,
    /// Order lengths of all panels together.
    pub lineal: Length,
    /// Filler strips together, along the deck.
    pub filler: Length,
    /// Panels that are ripped to width (those cut from the rests of others included).
    pub ripped: i64,
    /// What laying every row, or every width of a single row, by itself would take more; `None`
    /// where there is one row and width, an own cut, or a row that can not be laid by itself.
    pub saved: Option<Saved>,
}

/// What a strip saves against row by row (negative where it takes more).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Saved {
    pub panels: i64,
    pub lineal: Length,
}

/// Lays out a strip.
///
/// Refuses what [`lay_along`] and [`lay_across`] refuse, copies below 1, and counts or sums that
/// leave their types.
pub fn lay_strip(spec: &StripSpec<'_>) -> Result<Plan, Refusal> {
    if spec.copies < 1 {
        return Err(Refusal::new("copies", spec.copies, "a count of 1 or more"));
    }
    let joined;
    let spans = match spec.spans {
        [only] => *only,
        rows => {
            joined = rows.concat();
            &joined
        }
    };
    let along = lay_along(&line_of(spec, spans, spec.start, spec.far), &spec.limits)?;
    let across = lay_across(spec.widths, spec.cover, &spec.leftover)?;
    let copies = spec.copies;

    let line: Length = along.panels.iter().map(|panel| panel.order).sum();
    let lines = product(across.panels, copies)?;
    let panels = product(whole(along.panels.len()), lines)?;
    let lineal = line.checked_mul(lines).ok_or_else(too_much)?;
    let fillers = product(across.count_of(Leftover::Filler), copies)?;
    let filler = along.length.checked_mul(fillers).ok_or_else(too_much)?;
    let ripped = product(across.count_of(Leftover::Ripped), copies)?;
    let ripped = product(ripped, whole(along.panels.len()))?;
    Ok(Plan {
        pieces: pieces(spec, &along, &across, copies)?,
        saved: saved(spec, panels, lineal, &across)?,
        along,
        across,
        panels,
        lines,
        lineal,
        filler,
        ripped,
    })
}

fn line_of<'a>(spec: &StripSpec<'a>, spans: &'a [Length], start: End, far: End) -> Line<'a> {
    Line {
        spans,
        start,
        far,
        joint: spec.joint,
        joints_at: spec.joints_at,
        slope: spec.slope,
        rounding: spec.rounding,
        cut: spec.cut,
    }
}

fn product(count: i64, times: i64) -> Result<i64, Refusal> {
    count.checked_mul(times).ok_or_else(too_much)
}

fn whole(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

fn too_much() -> Refusal {
    Refusal::new("copies", "beyond what can be counted", "a strip of fewer than 2^63 panels")
}

/// The panels of all lines, equal ones of a row together, in the order in which they are laid.
fn pieces(
    spec: &StripSpec<'_>,
    along: &Along,
    across: &Across,
    copies: i64,
) -> Result<Vec<Piece>, Refusal> {
    let mut pieces: Vec<Piece> = Vec::with_capacity(along.panels.len().min(8));
    for (row_across, lines) in across.by_row.iter().enumerate() {
        let lines = product(*lines, copies)?;
        if lines == 0 {
            continue;
        }
        let first = pieces.len();
        for panel in &along.panels {
            let row_along = row_of(spec.spans, panel);
            let same = |piece: &&mut Piece| {
                piece.along == row_along
                    && (piece.length, piece.spans) == (panel.order, panel.spans())
                    && piece.lapped == panel.lapped
            };
            match pieces[first..].iter_mut().find(same) {
                Some(piece) => {
                    piece.count = piece.count.checked_add(lines).ok_or_else(too_much)?;
                }
                None => pieces.push(Piece {
                    along: row_along,
                    across: row_across,
                    length: panel.order,
                    exact: panel.exact,
                    spans: panel.spans(),
                    count: lines,
                    lapped: panel.lapped,
                }),
            }
        }
    }
    Ok(pieces)
}

/// The row along in which a panel begins.
fn row_of(rows: &[&[Length]], panel: &PanelAlong) -> usize {
    let mut before = 0;
    for (row, spans) in rows.iter().enumerate() {
        before += spans.len();
        if panel.from < before {
            return row;
        }
    }
    rows.len().saturating_sub(1)
}

/// What the plan saves against row by row, itself taking so many panels and lineal feet.
fn saved(
    spec: &StripSpec<'_>,
    panels: i64,
    lineal: Length,
    across: &Across,
) -> Result<Option<Saved>, Refusal> {
    let single_width = matches!(spec.widths, [groups] if groups.iter().flatten().count() < 2);
    if (spec.spans.len() < 2 && single_width) || spec.cut.is_some() {
        return Ok(None);
    }
    let mut lines = 0_i64;
    if let [_] = spec.widths {
        lines = across.panels_apart;
    } else {
        for row in spec.widths {
            let Ok(alone) = lay_across(&[row], spec.cover, &spec.leftover) else { return Ok(None) };
            lines = lines.checked_add(alone.panels).ok_or_else(too_much)?;
        }
    }
    let lines = product(lines, spec.copies)?;
    let (mut in_line, mut line) = (0, Length::ZERO);
    for (row, spans) in spec.spans.iter().enumerate() {
        let start = if row == 0 { spec.start } else { End::Continues };
        let far = if row + 1 == spec.spans.len() { spec.far } else { End::Continues };
        let alone = Line { joints_at: &[], ..line_of(spec, spans, start, far) };
        let Ok(alone) = lay_along(&alone, &spec.limits) else { return Ok(None) };
        in_line += alone.panels.len();
        line += alone.panels.iter().map(|panel| panel.order).sum();
    }
    Ok(Some(Saved {
        panels: product(whole(in_line), lines)? - panels,
        lineal: line.checked_mul(lines).ok_or_else(too_much)? - lineal,
    }))
}
