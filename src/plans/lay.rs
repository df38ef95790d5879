//! How the panels of a bay lie, from the blocks of its layout: what of them lies in the bay is
//! drawn, what begins in it is labelled.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::tables::Panels;
use crate::drawing::{Cover, Laid, Run};
use crate::job::{Bay, Job};
use crate::length::{Length, Unit};
use crate::value::{Record, Value};

/// Labels and blocks of one bay beyond these are not drawn.
const MOST_RUNS: usize = 100;

/// A bay's place in the coordinates of its layout, and where that layout's origin lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    /// Along and across, from the layout's origin.
    pub along: (Length, Length),
    pub across: (Length, Length),
    /// It is the last of its strip, along and across.
    pub last: (bool, bool),
    pub cover: Length,
    /// What is added along and across to get to the plan.
    pub shift: (f64, f64),
}

impl Part {
    /// A bay's part of its strip; `corner` is where the bay begins along and across.
    pub(super) fn of_strip(job: &Job, bay: &Bay, cover: Length, corner: (f64, f64)) -> Part {
        let (mut rows_along, mut rows_across) = (BTreeMap::new(), BTreeMap::new());
        for member in job.strip_of(bay) {
            if let Some((_, along, across)) = &member.strip {
                rows_along.entry(*along).or_insert_with(|| member.length());
                rows_across.entry(*across).or_insert_with(|| member.width());
            }
        }
        let (own_along, own_across) =
            bay.strip.as_ref().map_or((1, 1), |(_, at, over)| (*at, *over));
        let before = |rows: &BTreeMap<i64, Length>, own: i64| -> Length {
            rows.range(..own).map(|(_, size)| *size).sum()
        };
        let last = |rows: &BTreeMap<i64, Length>, own: i64| rows.range(own..).nth(1).is_none();
        let (along, across) = (before(&rows_along, own_along), before(&rows_across, own_across));
        Part {
            along: (along, along + bay.length()),
            across: (across, across + bay.width()),
            last: (last(&rows_along, own_along), last(&rows_across, own_across)),
            cover,
            shift: (corner.0 - along.in_feet(), corner.1 - across.in_feet()),
        }
    }

    /// All of a layout in the coordinates of the plan.
    pub(super) fn whole(cover: Length) -> Part {
        let all = (-Length::LONGEST, Length::LONGEST);
        Part { along: all, across: all, last: (true, true), cover, shift: (0.0, 0.0) }
    }

    fn first(&self) -> (bool, bool) {
        (!self.along.0.is_positive(), !self.across.0.is_positive())
    }
}

/// The panels of a bay as they are drawn and labelled; `None` where its layout does not say, or
/// says otherwise than its panels.
pub(super) fn lay(
    plan: &Record,
    part: &Part,
    panels: &[Panels],
    copies: i64,
) -> Option<(Vec<Laid>, Vec<Run>)> {
    let Some(Value::List(blocks)) = plan.get("blocks") else { return None };
    let (mut laid, mut runs) = (Vec::new(), Vec::new());
    for block in blocks.iter() {
        let Value::Record(block) = block else { return None };
        let block = Block::read(block)?;
        laid.extend(block.drawn(part));
        block.label(part, panels, &mut runs)?;
        if laid.len() > MOST_RUNS || runs.len() > MOST_RUNS {
            return None;
        }
    }
    let counted = |own: &Panels| -> Option<bool> {
        let alike = runs.iter().filter(|run| run.mark == own.mark);
        let count = alike.map(|run| run.count).try_fold(0_i64, i64::checked_add)?;
        Some(count.checked_mul(copies)? == own.count)
    };
    panels.iter().map(counted).all(|same| same == Some(true)).then_some((laid, runs))
}

struct Block {
    near: Length,
    far: Length,
    from: Length,
    to: Length,
    lines: i64,
    cover: Cover,
    /// From, to, order length.
    panels: Vec<(Length, Length, Length)>,
}

impl Block {
    fn read(fields: &Record) -> Option<Block> {
        let length = |fields: &Record, key: &str| {
            Length::from_number(fields.get(key).and_then(Value::as_number)?, Unit::Foot)
        };
        let cover = match fields.get("cover").and_then(Value::as_text)? {
            "panels" => Cover::Panels,
            "ripped" => Cover::Ripped,
            "filler" => Cover::Filler,
            "spread" => Cover::Spread,
            _ => return None,
        };
        let (Value::Count(lines), Value::List(panels)) =
            (fields.get("lines")?, fields.get("panels")?)
        else {
            return None;
        };
        let panels = panels.iter().map(|panel| match panel {
            Value::Record(panel) => Some((
                length(panel, "from_ft")?,
                length(panel, "to_ft")?,
                length(panel, "length_ft")?,
            )),
            _ => None,
        });
        Some(Block {
            near: length(fields, "near_ft")?,
            far: length(fields, "far_ft")?,
            from: length(fields, "from_ft")?,
            to: length(fields, "to_ft")?,
            lines: *lines,
            cover,
            panels: panels.collect::<Option<Vec<_>>>()?,
        })
    }

    /// From one side lap to the next, ft; 0 where there is none.
    fn pitch_ft(&self) -> f64 {
        match (self.cover, u32::try_from(self.lines)) {
            (Cover::Panels | Cover::Spread, Ok(lines)) if lines > 0 => {
                (self.far - self.near).in_feet() / f64::from(lines)
            }
            _ => 0.0,
        }
    }

    /// What of the block lies in the bay.
    fn drawn(&self, part: &Part) -> Option<Laid> {
        let (near, far) = (self.near.max(part.across.0), self.far.min(part.across.1));
        let (from, to) = (self.from.max(part.along.0), self.to.min(part.along.1));
        if near >= far || from >= to {
            return None;
        }
        let pitch = self.pitch_ft();
        let whole =
            if pitch > 0.0 { ((near - self.near).in_feet() / pitch - 1e-9).ceil() } else { 0.0 };
        let first = self.near.in_feet() + whole * pitch;
        let (along, across) = part.shift;
        let ends = self.panels.iter().flat_map(|(from, to, _)| [*from, *to]);
        let mut ends: Vec<Length> = ends.filter(|at| (from..=to).contains(at)).collect();
        ends.dedup();
        Some(Laid {
            near: near.in_feet() + across,
            far: far.in_feet() + across,
            from: from.in_feet() + along,
            to: to.in_feet() + along,
            first: first + across,
            pitch: if pitch > 0.0 { pitch } else { (far - near).in_feet() },
            cover: self.cover,
            ends: ends.into_iter().map(|at| at.in_feet() + along).collect(),
        })
    }

    /// Adds the labels of the panels that begin in the bay; `None` where a panel has no mark.
    fn label(&self, part: &Part, panels: &[Panels], runs: &mut Vec<Run>) -> Option<()> {
        let begun = |edge: Length| {
            let count = (edge - self.near).count_to_cover(part.cover).unwrap_or(0);
            count.clamp(0, self.lines)
        };
        let (first_along, first_across) = part.first();
        let (last_along, last_across) = part.last;
        let from_line = if first_across { 0 } else { begun(part.across.0) };
        let to_line = if last_across { self.lines } else { begun(part.across.1) };
        let count = to_line - from_line;
        if count <= 0 {
            return Some(());
        }
        let pitch = match self.cover {
            Cover::Ripped => (self.far - self.near).in_feet(),
            _ => self.pitch_ft(),
        };
        let (along, across) = part.shift;
        let line_ft = |line: i64| {
            let lines = i32::try_from(line).map_or(f64::MAX, f64::from);
            self.near.in_feet() + lines * pitch
        };
        let inside =
            |feet: f64, side: (Length, Length)| feet.clamp(side.0.in_feet(), side.1.in_feet());
        for (from, to, order) in &self.panels {
            let begins =
                (first_along || *from >= part.along.0) && (last_along || *from < part.along.1);
            if !begins {
                continue;
            }
            let own = panels.iter().find(|panels| panels.length == *order)?;
            let run = Run {
                near: inside(line_ft(from_line), part.across) + across,
                far: inside(line_ft(to_line), part.across) + across,
                from: inside(from.in_feet(), part.along) + along,
                to: inside(to.in_feet(), part.along) + along,
                count,
                ripped: if self.cover == Cover::Ripped { count } else { 0 },
                mark: own.mark.clone(),
                length: Arc::from(order.to_string()),
            };
            join(runs, run);
        }
        Some(())
    }
}

/// Adds a run to one that it lies against and is like.
fn join(runs: &mut Vec<Run>, run: Run) {
    const NEAR: f64 = 1e-6;
    let against = |known: &&mut Run| {
        known.mark == run.mark
            && (known.from - run.from).abs() < NEAR
            && (known.to - run.to).abs() < NEAR
            && (known.far - run.near).abs() < NEAR
    };
    match runs.iter_mut().find(against) {
        Some(known) => {
            known.far = run.far;
            known.count = known.count.saturating_add(run.count);
            known.ripped = known.ripped.saturating_add(run.ripped);
        }
        None => runs.push(run),
    }
}
