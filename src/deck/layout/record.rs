//! The layout of a strip for scripts: named fields in, a record out.

use std::sync::Arc;

use super::across::{Across, Leftover};
use super::blocks;
use super::choices::{Choices, OwnCut};
use super::plan::{Piece, Plan, Saved, StripSpec, lay_strip};
use crate::arguments::Fields;
use crate::builtin::Builtin;
use crate::length::{Length, Typed};
use crate::value::{Feet, FromValue, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(plan(strip))];

/// Lays out a strip of deck: panels along and across, on exact lengths.
///
/// - strip: record of `spans_ft` (list, ft; a list of lists for several rows along), `widths_ft`
///   (list, ft; a list of lists where panel edges break, a list of those for several rows
///   across), `cover_in` (in, above 0), `longest_ft`, `shortest_ft` (ft), `most_spans` (count, 1 or more) and, as wanted, `copies` (count, 1),
///   `half_digit_in` (half the last digit of a width typed as a decimal, in, 0), `joint` (`butt`
///   or `lap`, butt), `lap_in` (in, above 0 with `lap`), `round_in` (step of order lengths, in, 0
///   for none), `round` (`down` or `nearest` for butted panels, down), `start_end` and `far_end`
///   (`cl`, `+2"`, `-4"`, `cont`; cl), `slope_rise_in_12` (in, 0), `spread_in` and `filler_in`
///   (leftover up to which the panels are spread, a filler strip is laid; in, 0), `rest_serves`
///   (whether the rest of a ripped panel serves elsewhere, false), `cut` (`3+2` or lengths), and
///   `prefer` (list of `few singles`, `few panels`, `three spans`, `few lengths` by weight)
///
/// Gives: record of `pieces` (list of records: `length_ft`, `length_text`, `exact_ft`, `count`,
/// `spans`, `single_span`, `lapped`, `along`, `across`), `runs` (the spans that each
/// panel of one line runs over, ft), `blocks` (where the panels of one copy lie: records of
/// `near_ft`, `far_ft` across, `from_ft`, `to_ft` along, `lines`, `cover` and `panels`, these with
/// `from_ft`, `to_ft`, `length_ft`), `panels`, `lines`, `lineal_ft`, `line_ft`, `width_ft`, `leftover_in`, `leftover_kind`, `overcover_in`, `filler_ft`, `ripped`,
/// `single_spans`, `decimal_note`, `saved_panels`, `saved_lineal_ft`, `cut_breaches` and `notes`
/// (lists of text), units as named.
/// Source: geometry; preferences of the layout are common practice, no source.
/// Example: `deck::plan(#{spans_ft: [10, 10, 10], widths_ft: [31, 31, 31, 31], cover_in: 36, longest_ft: 40, shortest_ft: 6, most_spans: 4}).panels` = 42
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn plan(strip: Arc<Record>) -> Result<Record, Refusal> {
    let mut fields = Fields::new("strip", &strip);
    let choices = Choices::read(&mut fields)?;
    let spans = span_rows(&mut fields)?;
    let widths = width_rows(&mut fields, choices.half_digit)?;
    fields.finish()?;
    let laid = lay_strip(&StripSpec {
        spans: &spans.iter().map(Vec::as_slice).collect::<Vec<_>>(),
        widths: &widths.iter().map(Vec::as_slice).collect::<Vec<_>>(),
        copies: choices.copies,
        cover: choices.cover,
        leftover: choices.leftover,
        limits: choices.limits(),
        start: choices.start,
        far: choices.far,
        joint: choices.joint,
        joints_at: &[],
        slope: choices.slope,
        rounding: choices.rounding,
        cut: choices.cut.as_ref().map(OwnCut::borrow),
    })?;
    record(&laid, &spans, choices.cover)
}

/// Whether any item of a list is a list.
fn nested(value: &Value) -> bool {
    matches!(value, Value::List(items) if items.iter().any(|item| matches!(item, Value::List(_))))
}

/// The spans by row along; a plain list is one row.
fn span_rows(fields: &mut Fields<'_>) -> Result<Vec<Vec<Length>>, Refusal> {
    let given: Value = fields.required("spans_ft", "a list of spans, ft")?;
    let path = fields.path("spans_ft");
    let rows: Vec<Vec<Feet>> = if nested(&given) {
        FromValue::from_value(&path, &given)?
    } else {
        vec![FromValue::from_value(&path, &given)?]
    };
    let lengths = |row: Vec<Feet>| row.into_iter().map(|feet| feet.0).collect();
    Ok(rows.into_iter().map(lengths).collect())
}

/// The widths as rows across of groups between breaks: a list is one row of one group, a list of
/// lists one row of several groups, a list of lists of lists several rows.
fn width_rows(
    fields: &mut Fields<'_>,
    half_digit: Length,
) -> Result<Vec<Vec<Vec<Typed>>>, Refusal> {
    let given: Value = fields.required("widths_ft", "a list of widths, ft")?;
    let path = fields.path("widths_ft");
    let rows: Vec<Vec<Vec<Feet>>> = match &given {
        Value::List(items) if items.iter().any(nested) => FromValue::from_value(&path, &given)?,
        given if nested(given) => vec![FromValue::from_value(&path, given)?],
        given => vec![vec![FromValue::from_value(&path, given)?]],
    };
    let mut first = true;
    let mut typed = |feet: Feet| Typed {
        length: feet.0,
        half_digit: if std::mem::take(&mut first) { half_digit } else { Length::ZERO },
    };
    let mut group = |group: Vec<Feet>| group.into_iter().map(&mut typed).collect();
    let mut row = |row: Vec<Vec<Feet>>| row.into_iter().map(&mut group).collect();
    Ok(rows.into_iter().map(&mut row).collect())
}

fn record(plan: &Plan, spans: &[Vec<Length>], cover: Length) -> Result<Record, Refusal> {
    let across = &plan.across;
    let leftover: Length = across.groups.iter().map(|group| group.leftover).sum();
    let overcover: Length = across.groups.iter().map(|group| group.overcover).sum();
    let saved = plan.saved.unwrap_or_default();
    let pieces = plan.pieces.iter().map(piece).collect::<Result<Vec<_>, _>>()?;
    let single_spans: i64 =
        plan.pieces.iter().filter(|piece| piece.single_span()).map(|piece| piece.count).sum();
    let fields = [
        ("pieces", pieces.into_value()?),
        ("runs", runs(plan, spans)?),
        ("blocks", blocks::records(&blocks::of_strip(plan, &spans.concat(), cover))),
        ("panels", Value::Count(plan.panels)),
        ("lines", Value::Count(plan.lines)),
        ("lineal_ft", feet(plan.lineal)),
        ("line_ft", feet(plan.along.length)),
        ("width_ft", feet(across.width)),
        ("leftover_in", Value::Number(leftover.in_inches())),
        ("leftover_kind", Value::text(across.kind().name())),
        ("overcover_in", Value::Number(overcover.in_inches())),
        ("filler_ft", feet(plan.filler)),
        ("ripped", Value::Count(plan.ripped)),
        ("single_spans", Value::Count(single_spans)),
        ("decimal_note", Value::Bool(across.groups.iter().any(|group| group.decimal_note))),
        ("saved_panels", Value::Count(saved.panels)),
        ("saved_lineal_ft", feet(saved.lineal)),
        ("cut_breaches", plan.along.breaches.clone().into_value()?),
        ("notes", notes(plan).into_value()?),
    ];
    Ok(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}

pub(super) fn piece(piece: &Piece) -> Result<Value, Refusal> {
    let row = |index: usize| i64::try_from(index + 1).map_or(Value::Blank, Value::Count);
    let fields = [
        ("length_ft", feet(piece.length)),
        ("length_text", Value::text(piece.length.to_string())),
        ("exact_ft", feet(piece.exact)),
        ("count", Value::Count(piece.count)),
        ("spans", i64::try_from(piece.spans).map_or(Value::Blank, Value::Count)),
        ("single_span", Value::Bool(piece.single_span())),
        ("lapped", Value::Bool(piece.lapped)),
        ("along", row(piece.along)),
        ("across", row(piece.across)),
    ];
    let record: Record = fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect();
    record.into_value()
}

/// The spans that each panel of one line runs over, from the start end.
fn runs(plan: &Plan, spans: &[Vec<Length>]) -> Result<Value, Refusal> {
    let line: Vec<Length> = spans.iter().flatten().copied().collect();
    let mut runs: Vec<Vec<Feet>> = Vec::new();
    for panel in &plan.along.panels {
        let run: Vec<Feet> =
            line.get(panel.from..panel.to).unwrap_or(&[]).iter().copied().map(Feet).collect();
        if !run.is_empty() {
            runs.push(run);
        }
    }
    runs.into_value()
}

pub(super) fn feet(length: Length) -> Value {
    Value::Number(length.in_feet())
}

/// What an estimator wants to know of a plan, a sentence each.
#[must_use]
pub fn notes(plan: &Plan) -> Vec<String> {
    let mut notes = Vec::new();
    leftover_notes(&plan.across, plan.filler, &mut notes);
    let single: i64 =
        plan.pieces.iter().filter(|piece| piece.single_span()).map(|piece| piece.count).sum();
    if single > 0 {
        notes.push(format!("{single} {} on one span alone", lie(single)));
    }
    if let Some(saved) = plan.saved.filter(|saved| *saved != Saved::default()) {
        let word = |less: bool| if less { "less" } else { "more" };
        notes.push(format!(
            "laid as one strip it takes {} {} {} and {:.2} lineal ft {} than row by row",
            saved.panels.abs(),
            if saved.panels.abs() == 1 { "panel" } else { "panels" },
            word(saved.panels >= 0),
            saved.lineal.in_feet().abs(),
            word(saved.lineal >= Length::ZERO),
        ));
    }
    notes.extend(plan.along.breaches.iter().cloned());
    if !plan.along.proved {
        notes.push("fewest different lengths: a good plan, not proved to be the best".into());
    }
    notes
}

fn lie(count: i64) -> &'static str {
    if count == 1 { "panel lies" } else { "panels lie" }
}

fn leftover_notes(across: &Across, filler: Length, notes: &mut Vec<String>) {
    for group in &across.groups {
        let (leftover, count) = (group.leftover.as_inches_text(), group.panels);
        if group.decimal_note {
            notes.push(format!(
                "width {} was typed as a decimal; {count} panels meet it within half its last digit",
                group.width
            ));
        }
        match group.kind {
            Leftover::Exact => {}
            Leftover::Spread => {
                notes.push(format!("{leftover} is taken up in spreading {count} panels"));
            }
            Leftover::Filler => notes.push(format!("a filler strip covers the last {leftover}")),
            Leftover::Ripped if group.from_rest => notes
                .push(format!("the last panel is ripped to {leftover} from the rest of another")),
            Leftover::Ripped => notes.push(format!(
                "the last panel is ripped to {leftover}, {} of it left",
                group.overcover.as_inches_text()
            )),
        }
    }
    if filler.is_positive() {
        notes.push(format!("{:.2} lineal ft of filler strip", filler.in_feet()));
    }
}
