//! The layout of a bay of any outline for scripts: named fields in, a record out.

use std::sync::Arc;

use super::blocks;
use super::choices::{Choices, OwnCut};
use super::openings::{Opening, OpeningRules};
use super::outline::Corner;
use super::record::{feet, piece};
use super::shape::{ShapePlan, ShapeSpec, lay_shape};
use crate::arguments::Fields;
use crate::builtin::Builtin;
use crate::length::{Length, Unit};
use crate::value::{Feet, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(plan_outline(shape))];

/// Lays out a bay of any outline, openings included: panels for every separate part of strips one
/// cover wide, from its lowest to its highest point, broken at supports.
///
/// - shape: record of `corners_ft` (list of corners `[along, across]`, ft), `spans_ft` (list, ft,
///   from the least coordinate along), every choice of `deck::plan` and, as wanted, `breaks_ft`
///   (list, ft, from the least coordinate across, where a panel edge must break) and `openings`
///   (list of records `corners_ft`, `framed`); with these also `opening_covers` (a framed opening
///   at least so many covers wide, count) and `opening_long_ft` (and so long, ft) interrupts the
///   panels, `deducted_above_ft2` (concrete is net of larger openings, ft2)
///
/// Gives: record of `pieces` and `blocks` (lists of records as `deck::plan` gives them, the
/// blocks in the coordinates of the corners), `runs` (the spans that panels run over, ft, each
/// run once; a span in which a panel ends counts whole), `run_panels` (panels of one copy on each
/// run), `panels`, `lines`, `lineal_ft`, `filler_ft`, `ripped`, `short` (panels ordered at the shortest and cut),
/// `single_spans`, `decimal_note`, `area_ft2`, `concrete_area_ft2`, `skew_waste_ft2`,
/// `overcover_ft2`, `openings` (list of records `area_ft2`, `interrupts`, `deducted`), `cut_breaches` and `notes` (lists of
/// text), units as named.
/// Source: geometry; openings: common practice, no source.
/// Example: `deck::plan_outline(#{corners_ft: [[0, 0], [30, 0], [30, 12], [0, 12]], spans_ft: [10, 10, 10], cover_in: 36, longest_ft: 40, shortest_ft: 6, most_spans: 4}).panels` = 4
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn plan_outline(shape: Arc<Record>) -> Result<Record, Refusal> {
    let mut fields = Fields::new("shape", &shape);
    let choices = Choices::read(&mut fields)?;
    let corners = corners(&mut fields)?;
    let spans = feet_list(fields.required("spans_ft", "a list of spans, ft")?);
    let breaks = feet_list(fields.optional("breaks_ft")?.unwrap_or_default());
    let records: Vec<Arc<Record>> = fields.optional("openings")?.unwrap_or_default();
    let opening_rules = opening_rules(&mut fields, records.is_empty())?;
    fields.finish()?;
    let mut owned = Vec::with_capacity(records.len());
    for (index, record) in records.iter().enumerate() {
        let name = format!("shape.openings[{index}]");
        let mut fields = Fields::new(&name, record);
        owned.push((self::corners(&mut fields)?, fields.optional("framed")?.unwrap_or(false)));
        // A bay's openings carry their area; the layout takes it from the corners.
        fields.optional::<f64>("area_ft2")?;
        fields.finish()?;
    }
    let openings: Vec<Opening<'_>> =
        owned.iter().map(|(corners, framed)| Opening { corners, framed: *framed }).collect();
    let laid = lay_shape(&ShapeSpec {
        corners: &corners,
        openings: &openings,
        opening_rules,
        spans: &spans,
        breaks: &breaks,
        half_digit: choices.half_digit,
        copies: choices.copies,
        cover: choices.cover,
        leftover: choices.leftover,
        limits: choices.limits(),
        start: choices.start,
        far: choices.far,
        joint: choices.joint,
        slope: choices.slope,
        rounding: choices.rounding,
        cut: choices.cut.as_ref().map(OwnCut::borrow),
    })?;
    record(&laid)
}

/// The rules on openings, which a bay without any may leave out.
fn opening_rules(fields: &mut Fields<'_>, no_openings: bool) -> Result<OpeningRules, Refusal> {
    let without = no_openings.then_some(0.0);
    let long = fields.number("opening_long_ft", without, "0 ft or more", |ft| ft >= 0.0)?;
    let area = "an area of 0 ft2 or more";
    Ok(OpeningRules {
        covers: match fields.optional_count("opening_covers", 0, 1_000)? {
            Some(covers) => covers,
            None if no_openings => 0,
            None => fields.required("opening_covers", "a count from 0 to 1000")?,
        },
        long: Length::from_number(long, Unit::Foot).unwrap_or(Length::LONGEST),
        deducted_above_ft2: fields.number("deducted_above_ft2", without, area, |ft2| ft2 >= 0.0)?,
    })
}

fn feet_list(list: Vec<Feet>) -> Vec<Length> {
    list.into_iter().map(|feet| feet.0).collect()
}

fn corners(fields: &mut Fields<'_>) -> Result<Vec<Corner>, Refusal> {
    let pairs: Vec<Vec<Feet>> =
        fields.required("corners_ft", "a list of corners [along, across], ft")?;
    pairs
        .into_iter()
        .enumerate()
        .map(|(index, pair)| match pair[..] {
            [along, across] => Ok(Corner { along: along.0, across: across.0 }),
            _ => Err(Refusal::new(
                format!("{}[{index}]", fields.path("corners_ft")),
                format!("a list of {}", pair.len()),
                "two numbers, along and across, ft",
            )),
        })
        .collect()
}

fn feet_values(lengths: &[Length]) -> Value {
    Value::List(lengths.iter().copied().map(feet).collect())
}

fn record(plan: &ShapePlan) -> Result<Record, Refusal> {
    let pieces = plan.pieces.iter().map(piece).collect::<Result<Vec<_>, _>>()?;
    let single: i64 =
        plan.pieces.iter().filter(|piece| piece.single_span()).map(|piece| piece.count).sum();
    let openings = plan.openings.iter().map(|opening| {
        [
            ("area_ft2", Value::Number(opening.area_ft2)),
            ("interrupts", Value::Bool(opening.interrupts)),
            ("deducted", Value::Bool(opening.deducted)),
        ]
        .into_iter()
        .map(|(name, value)| (Arc::from(name), value))
        .collect::<Record>()
    });
    let fields = [
        ("pieces", pieces.into_value()?),
        ("runs", Value::List(plan.runs.iter().map(|(run, _)| feet_values(run)).collect())),
        (
            "run_panels",
            Value::List(plan.runs.iter().map(|(_, panels)| Value::Count(*panels)).collect()),
        ),
        ("blocks", blocks::records(&plan.blocks)),
        ("panels", Value::Count(plan.panels)),
        ("lines", Value::Count(plan.lines)),
        ("lineal_ft", feet(plan.lineal)),
        ("filler_ft", feet(plan.filler)),
        ("ripped", Value::Count(plan.ripped)),
        ("short", Value::Count(plan.short)),
        ("single_spans", Value::Count(single)),
        ("area_ft2", plan.area_ft2.into_value()?),
        ("concrete_area_ft2", plan.concrete_area_ft2.into_value()?),
        ("skew_waste_ft2", plan.skew_waste_ft2.into_value()?),
        ("overcover_ft2", plan.overcover_ft2.into_value()?),
        ("openings", openings.collect::<Vec<_>>().into_value()?),
        ("decimal_note", Value::Bool(plan.decimal_note)),
        ("cut_breaches", plan.breaches.clone().into_value()?),
        ("notes", notes(plan).into_value()?),
    ];
    Ok(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}

/// What an estimator wants to know of a plan, a sentence each.
#[must_use]
pub fn notes(plan: &ShapePlan) -> Vec<String> {
    let mut notes = Vec::new();
    if plan.ripped > 0 {
        notes.push(format!(
            "{} ripped to width, {:.2} ft2 beyond the outline",
            panels(plan.ripped),
            plan.overcover_ft2
        ));
    }
    if plan.filler.is_positive() {
        notes.push(format!("{:.2} lineal ft of filler strip", plan.filler.in_feet()));
    }
    if plan.skew_waste_ft2 > 0.005 {
        notes.push(format!("{:.2} ft2 cut away at edges", plan.skew_waste_ft2));
    }
    if plan.short > 0 {
        notes.push(format!("{} ordered at the shortest panel and cut", panels(plan.short)));
    }
    let decked_over = plan.openings.iter().filter(|opening| !opening.interrupts).count();
    if decked_over > 0 {
        notes.push(format!(
            "{decked_over} {} decked over and formed before the pour; the deck is cut only when \
             the opening is about to be filled for good, or is covered at once (29 CFR \
             1926.754(e)(2)(iii), from memory); ask the engineer of record",
            if decked_over == 1 { "opening is" } else { "openings are" }
        ));
    }
    let interrupting = plan.openings.len() - decked_over;
    if interrupting > 0 {
        notes.push(format!(
            "{interrupting} framed {} the panels; panels that it only touches are notched",
            if interrupting == 1 { "opening interrupts" } else { "openings interrupt" }
        ));
    }
    notes.extend(plan.breaches.iter().cloned());
    if !plan.proved {
        notes.push("fewest different lengths: a good plan, not proved to be the best".into());
    }
    notes
}

fn panels(count: i64) -> String {
    format!("{count} {}", if count == 1 { "panel" } else { "panels" })
}
