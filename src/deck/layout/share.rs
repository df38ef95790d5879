//! What of a strip's layout belongs to one of its rows.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::length::{Length, Unit};
use crate::value::{FromValue, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(share(plan, along, across))];

/// Takes out of a strip's layout what belongs to one of its rows: the panels that begin in it.
///
/// - plan: record that `deck::plan` gave
/// - along: the row's place along its strip, 1 or more
/// - across: the row's place across its strip, 1 or more
///
/// Gives: record of `pieces` (as in the plan), `panels` (count), `lineal_ft` and `filler_ft` (ft;
/// the filler belongs to the last row across, first along).
/// Source: geometry.
/// Example: `deck::share(deck::plan(#{spans_ft: [[10], [10]], widths_ft: [31, 31], cover_in: 36, longest_ft: 40, shortest_ft: 6, most_spans: 1}), 2, 1).panels` = 21
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn share(plan: Arc<Record>, along: i64, across: i64) -> Result<Record, Refusal> {
    for (name, place) in [("along", along), ("across", across)] {
        if place < 1 {
            return Err(Refusal::new(name, place, "a place of 1 or more"));
        }
    }
    let field = |name: &str| plan.get(name).cloned().unwrap_or_default();
    let pieces: Vec<Arc<Record>> = Vec::from_value("plan.pieces", &field("pieces"))?;
    let number = |record: &Record, name: &str| -> Result<i64, Refusal> {
        i64::from_value(&format!("plan.pieces.{name}"), record.get(name).unwrap_or(&Value::Blank))
    };
    let (mut own, mut panels, mut lineal, mut last_across) = (Vec::new(), 0_i64, Length::ZERO, 1);
    for piece in pieces {
        let piece_across = number(&piece, "across")?;
        last_across = last_across.max(piece_across);
        if number(&piece, "along")? != along || piece_across != across {
            continue;
        }
        let count = number(&piece, "count")?;
        let length_ft = f64::from_value(
            "plan.pieces.length_ft",
            piece.get("length_ft").unwrap_or(&Value::Blank),
        )?;
        let length = Length::from_number(length_ft, Unit::Foot)
            .and_then(|length| length.checked_mul(count))
            .ok_or_else(|| Refusal::new("plan.pieces.length_ft", length_ft, "a panel length"))?;
        lineal += length;
        panels += count;
        own.push(Value::Record(piece));
    }
    let filler_ft = f64::from_value("plan.filler_ft", &field("filler_ft"))?;
    let filler_ft = if along == 1 && across == last_across { filler_ft } else { 0.0 };
    let fields = [
        ("pieces", own.into_value()?),
        ("panels", Value::Count(panels)),
        ("lineal_ft", Value::Number(lineal.in_feet())),
        ("filler_ft", Value::Number(filler_ft)),
    ];
    Ok(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}
