//! Pours from bays.
//!
//! In: bays in schedule order, each with its concrete, and the day's limits. Out: pours with the
//! bays they take: the given ones as typed, the others gathered by level and mix up to the limits.

mod input;
mod split;

pub use input::{Bay, Limits};

use std::sync::Arc;

use indexmap::IndexMap;

use self::split::{PanelEdges, pieces};
use super::share::shares;
use crate::builtin::Builtin;
use crate::value::{IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(gather_pours(bays, limits))];

/// A bay's part in a pour.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The bay's place in the list that was given, from 0.
    pub row: usize,
    pub level: Arc<str>,
    pub bay: Arc<str>,
    /// The part of the bay's concrete, 1 for the whole bay.
    pub share: f64,
    pub yd3: f64,
    pub area_ft2: f64,
}

/// A pour and what it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Pour {
    pub mark: String,
    pub level: Arc<str>,
    pub mix: Arc<str>,
    /// Typed in the schedule, not made by rule.
    pub given: bool,
    pub yd3: f64,
    pub area_ft2: f64,
    pub parts: Vec<Part>,
    /// The marks of the pours made before and after it on the same level.
    pub neighbours: Vec<String>,
    pub notes: Vec<String>,
    /// Hours of placing at the limits' rate.
    pub placing_h: Option<f64>,
}

/// Pours of a list of bays: those named in the bays' pour field as they stand, the other bays in
/// the order given, gathered by level and mix up to the day's limits. A bay is split, at a panel
/// edge, only where it is over the limits by itself. Bays without concrete are left out.
///
/// - bays: list of records with level, bay (text), mix (text, may be blank), pour (blank, `P1`, or
///   `P1 60%, P2 40%`), yd3 (0 or more), area_ft2 (0 or more), width_ft and cover_in (blank: the
///   bay is never split), copies (1 by default); other fields are not read
/// - limits: record with yd3_a_day (yd3), ft2_a_day (ft2), hours_a_day (h) with placing_yd3_h
///   (yd3/h); each may be blank for no limit
///
/// Gives: list of records with pour, level, mix, given, yd3, area_ft2, placing_h, bays (list of
/// records with row from 0, level, bay, share, yd3, area_ft2), neighbours (list of marks) and
/// notes (list of text).
/// Source: definition.
/// Example: `concrete::gather_pours([#{level: "2", bay: "1", yd3: 40, area_ft2: 3000}, #{level: "2", bay: "2", yd3: 50, area_ft2: 4000}], #{yd3_a_day: 80}).len()` = 2
pub fn gather_pours(bays: Vec<Arc<Record>>, limits: Arc<Record>) -> Result<Vec<Pour>, Refusal> {
    let bays = bays
        .iter()
        .enumerate()
        .map(|(row, bay)| Bay::from_record(&format!("bays[{row}]"), bay))
        .collect::<Result<Vec<_>, _>>()?;
    gather(&bays, &Limits::from_record("limits", &limits)?)
}

/// [`gather_pours`] of plain values.
pub fn gather(bays: &[Bay], limits: &Limits) -> Result<Vec<Pour>, Refusal> {
    let mut pours: Vec<Pour> = Vec::new();
    // Where the given pours stand, by mark, and the open pour of each level and mix.
    let mut given: IndexMap<String, usize> = IndexMap::new();
    let mut open: IndexMap<(Arc<str>, Arc<str>), usize> = IndexMap::new();
    for (row, bay) in bays.iter().enumerate() {
        if bay.yd3 == 0.0 {
            continue;
        }
        let typed = shares(&format!("bays[{row}].pour"), &bay.pour)?;
        let mut rest = bay.part(row, 1.0);
        for (index, share) in typed.iter().enumerate() {
            let part = if index + 1 == typed.len() {
                rest.clone()
            } else {
                rest.take(bay.part(row, share.share))
            };
            let at = *given.entry(share.pour.clone()).or_insert_with(|| {
                pours.push(Pour::new(share.pour.clone(), bay, true));
                pours.len() - 1
            });
            pours[at].add(part, &bay.mix);
        }
        if !typed.is_empty() {
            continue;
        }
        let key = (bay.level.clone(), bay.mix.clone());
        let (parts, note) = bay.pieces(row, limits);
        let first = pours.len();
        let whole = parts.len() == 1;
        for part in parts {
            let at = open.get(&key).copied().filter(|at| {
                let pour = &pours[*at];
                // A split bay begins a pour of its own; what follows may fill its last one.
                whole && limits.fits(pour.yd3 + part.yd3, pour.area_ft2 + part.area_ft2)
            });
            let at = at.unwrap_or_else(|| {
                pours.push(Pour::new(String::new(), bay, false));
                pours.len() - 1
            });
            open.insert(key.clone(), at);
            pours[at].add(part, &bay.mix);
        }
        if let (Some(note), Some(pour)) = (note, pours.get_mut(first)) {
            pour.notes.push(note);
        }
    }
    name(&mut pours, &given);
    for pour in &mut pours {
        pour.placing_h = limits.placing_yd3_h.map(|rate| pour.yd3 / rate);
        if pour.given && !limits.fits(pour.yd3, pour.area_ft2) {
            pour.notes.push(format!("as given it is over the limits, {}", limits.text()));
        }
    }
    Ok(pours)
}

/// Marks the pours made by rule P1, P2 …, past the marks that are taken, and links neighbours.
fn name(pours: &mut [Pour], given: &IndexMap<String, usize>) {
    let mut number = 0_u64;
    let mut last_of_level: IndexMap<Arc<str>, usize> = IndexMap::new();
    for at in 0..pours.len() {
        while pours[at].mark.is_empty() {
            number += 1;
            let mark = format!("P{number}");
            if !given.contains_key(&mark) {
                pours[at].mark = mark;
            }
        }
        if let Some(before) = last_of_level.insert(pours[at].level.clone(), at) {
            let (mark, mark_before) = (pours[at].mark.clone(), pours[before].mark.clone());
            pours[before].neighbours.push(mark);
            pours[at].neighbours.push(mark_before);
        }
    }
}

impl Bay {
    fn part(&self, row: usize, share: f64) -> Part {
        Part {
            row,
            level: self.level.clone(),
            bay: self.bay.clone(),
            share,
            yd3: self.yd3 * share,
            area_ft2: self.area_ft2 * share,
        }
    }

    /// The bay whole, or in as few pieces as the limits ask for, and what is to be said of it.
    fn pieces(&self, row: usize, limits: &Limits) -> (Vec<Part>, Option<String>) {
        let whole = self.part(row, 1.0);
        let days = limits.use_of_day(self.yd3, self.area_ft2);
        if days <= 1.0 + 1e-9 {
            return (vec![whole], None);
        }
        let name = format!("bay {} of level {}", self.bay, self.level);
        let over = format!("is over the limits by itself, {}", limits.text());
        let edges = self
            .panels_across
            .and_then(|(width, cover)| PanelEdges::new(width, cover, self.copies));
        let Some(edges) = edges else {
            let note = format!("{name} {over}; without a width and a cover it is not split");
            return (vec![whole], Some(note));
        };
        let split = pieces(&edges, 1.0 / days);
        let mut rest = whole;
        let mut parts = Vec::new();
        for (index, share) in split.shares.iter().enumerate() {
            let last = index + 1 == split.shares.len();
            parts.push(if last { rest.clone() } else { rest.take(self.part(row, *share)) });
        }
        let tail = if split.within { "" } else { ", of which a single panel is over" };
        let note = format!("{name} {over}; it is split at panel edges into {}{tail}", parts.len());
        (parts, Some(note))
    }
}

impl Part {
    /// Takes `part` out of this one and gives it.
    fn take(&mut self, part: Part) -> Part {
        self.share -= part.share;
        self.yd3 -= part.yd3;
        self.area_ft2 -= part.area_ft2;
        part
    }
}

impl Pour {
    fn new(mark: String, bay: &Bay, given: bool) -> Pour {
        Pour {
            mark,
            level: bay.level.clone(),
            mix: bay.mix.clone(),
            given,
            yd3: 0.0,
            area_ft2: 0.0,
            parts: Vec::new(),
            neighbours: Vec::new(),
            notes: Vec::new(),
            placing_h: None,
        }
    }

    fn add(&mut self, part: Part, mix: &Arc<str>) {
        self.yd3 += part.yd3;
        self.area_ft2 += part.area_ft2;
        if *mix != self.mix {
            self.notes
                .push(format!("bay {} is of mix {mix:?}, the pour of {:?}", part.bay, self.mix));
        }
        if part.level != self.level {
            self.notes.push(format!(
                "bay {} is on level {}, the pour on {}",
                part.bay, part.level, self.level
            ));
        }
        self.parts.push(part);
    }
}

impl IntoValue for Part {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            row: Value::Count(i64::try_from(self.row).unwrap_or(i64::MAX)),
            level: Value::Text(self.level),
            bay: Value::Text(self.bay),
            share: Value::Number(self.share),
            yd3: Value::Number(self.yd3),
            area_ft2: Value::Number(self.area_ft2),
        }
        .into_value()
    }
}

impl IntoValue for Pour {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            pour: Value::text(self.mark),
            level: Value::Text(self.level),
            mix: Value::Text(self.mix),
            given: Value::Bool(self.given),
            yd3: Value::Number(self.yd3),
            area_ft2: Value::Number(self.area_ft2),
            placing_h: self.placing_h.into_value()?,
            bays: self.parts.into_value()?,
            neighbours: self.neighbours.into_value()?,
            notes: self.notes.into_value()?,
        }
        .into_value()
    }
}
