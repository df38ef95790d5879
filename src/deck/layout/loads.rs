//! Loads: whole bundles on trucks.
//!
//! Bundles go out in the order in which they come (sequence by sequence); a truck carries only
//! bundles wanted on site on the same day. Within a sequence the longest bundles are placed first,
//! each on the first truck with room; the next sequence starts on the last truck of the one
//! before. On a truck, bundles lie end to end in lanes: so many rows across, so many layers up, the
//! longest lanes at the bottom.
//!
//! In: bundles and the shop's [`LoadLimits`]. Out: [`Load`]s.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::choices::inches;
use crate::arguments::Fields;
use crate::builtin::Builtin;
use crate::length::{Length, Unit};
use crate::value::{FromValue, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(loads(bundles, limits))];

/// A bundle that is to be loaded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cargo {
    /// Bundles of different days never share a truck; of different sequences only the last truck
    /// of one and the first of the next. Both are numbered in order of need.
    pub day: usize,
    pub sequence: usize,
    pub length: Length,
    /// Across the truck; zero where it is not known.
    pub width: Length,
    pub height: Length,
    /// With packaging.
    pub gross_lb: f64,
}

/// What a truck takes: choices of the shop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadLimits {
    pub payload_lb: f64,
    /// A lighter load is said to be one.
    pub least_lb: f64,
    pub deck_length: Length,
    /// Rows across, or as many as the width of the truck's deck takes.
    pub rows: Option<i64>,
    pub deck_width: Option<Length>,
    /// Layers, and how high they may stand together.
    pub stack: i64,
    pub stack_height: Option<Length>,
    /// Whether two sequences may never share a truck.
    pub sequences_apart: bool,
}

/// What one truck carries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Load {
    /// Index, row and layer (from 0) of each bundle.
    pub places: Vec<(usize, i64, i64)>,
    pub gross_lb: f64,
    /// The longest lane.
    pub length: Length,
    pub under_least: bool,
    /// A single bundle that is beyond a limit by itself.
    pub over: bool,
}

/// Loads bundles on trucks.
#[must_use]
pub fn load(cargo: &[Cargo], limits: &LoadLimits) -> Vec<Load> {
    let mut order: Vec<usize> = (0..cargo.len()).collect();
    order.sort_by_key(|index| {
        let bundle = &cargo[*index];
        (bundle.day, bundle.sequence, -bundle.length, *index)
    });
    let mut loads: Vec<Load> = Vec::new();
    let mut first = 0;
    let mut last: Option<&Cargo> = None;
    for index in order {
        let bundle = &cargo[index];
        match last {
            Some(last) if last.day != bundle.day => first = loads.len(),
            Some(last) if last.sequence != bundle.sequence => {
                first = if limits.sequences_apart { loads.len() } else { loads.len() - 1 };
            }
            _ => {}
        }
        last = Some(bundle);
        let fitting = (first..loads.len())
            .find_map(|at| place(cargo, &loads[at], index, limits).map(|placed| (at, placed)));
        if let Some((at, placed)) = fitting {
            loads[at] = placed;
        } else {
            let alone = place(cargo, &Load::default(), index, limits);
            loads.push(alone.unwrap_or_else(|| Load {
                places: vec![(index, 0, 0)],
                gross_lb: bundle.gross_lb,
                length: bundle.length,
                over: true,
                ..Load::default()
            }));
        }
    }
    for load in &mut loads {
        load.under_least = load.gross_lb < limits.least_lb;
    }
    loads
}

/// The load with one more bundle, or none where that is beyond a limit.
fn place(cargo: &[Cargo], load: &Load, more: usize, limits: &LoadLimits) -> Option<Load> {
    let gross_lb = load.gross_lb + cargo[more].gross_lb;
    // A millionth of a pound absorbs the rounding of the sum.
    if load.over || gross_lb > limits.payload_lb + 1e-6 {
        return None;
    }
    let mut bundles: Vec<usize> = load.places.iter().map(|(index, ..)| *index).collect();
    bundles.push(more);
    let most = |of: fn(&Cargo) -> Length| bundles.iter().map(|index| of(&cargo[*index])).max();
    let (width, height) = (most(|bundle| bundle.width)?, most(|bundle| bundle.height)?);
    let by_width = limits.deck_width.and_then(|deck| deck.div_rem(width));
    let rows = match (limits.rows, by_width) {
        (Some(rows), Some((fit, _))) => rows.min(fit),
        (Some(rows), None) => rows,
        (None, Some((fit, _))) => fit,
        (None, None) => 1,
    };
    let by_height = limits.stack_height.and_then(|stack| stack.div_rem(height));
    let layers = by_height.map_or(limits.stack, |(fit, _)| fit.min(limits.stack));

    bundles.sort_by_key(|index| (-cargo[*index].length, *index));
    let mut lanes: Vec<(Length, Vec<usize>)> = Vec::new();
    for index in bundles {
        let length = cargo[index].length;
        let lane = match lanes.iter().position(|(used, _)| *used + length <= limits.deck_length) {
            Some(lane) => lane,
            None if length <= limits.deck_length => {
                lanes.push((Length::ZERO, Vec::new()));
                lanes.len() - 1
            }
            None => return None,
        };
        lanes[lane].0 += length;
        lanes[lane].1.push(index);
    }
    // The longest lanes lie at the bottom: nothing hangs over the end of what is below it.
    lanes.sort_by_key(|(used, _)| -*used);
    let mut places = Vec::new();
    for (lane, (_, bundles)) in (0_i64..).zip(&lanes) {
        let (layer, row) = (lane.checked_div(rows)?, lane.checked_rem(rows)?);
        if layer >= layers {
            return None;
        }
        places.extend(bundles.iter().map(|index| (*index, row, layer)));
    }
    let length = lanes.first().map_or(Length::ZERO, |(used, _)| *used);
    Some(Load { places, gross_lb, length, ..Load::default() })
}

/// Loads whole bundles on trucks in the order given, by day on site.
///
/// - bundles: list of records as `deck::bundles` gives them: `mark`, `length_ft` (ft), `lift_lb`
///   (lb), `weight_lb` (lb), `panels` and, as wanted, `sequence`, `on_site` (date), `cover_in`,
///   `height_in` (in); in order of use
/// - limits: record of `payload_lb` (lb, above 0), `deck_length_ft` (ft, above 0) and, as wanted,
///   `least_lb` (lb, 0), `rows_across` (count) or `deck_width_in` (in), `stack` (layers, count, 1),
///   `stack_in` (height of all layers, in) and `sequences_apart` (false)
///
/// Gives: list of records of `load`, `of`, `on_site`, `sequences` and `bundles` (lists),
/// `sequence_count`, `bundle_count`, `panels`, `weight_lb`, `gross_lb`, `length_ft`, `places` (list of records
/// `bundle`, `row`, `layer`), `under_least` and `over` (a single bundle beyond a limit), units as
/// named.
/// Source: common practice, no source.
/// Example: `deck::loads([#{mark: "1-1", length_ft: 30, lift_lb: 3905.7, weight_lb: 3905.7, panels: 24}], #{payload_lb: 46000, deck_length_ft: 48}).len()` = 1
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn loads(bundles: Vec<Arc<Record>>, limits: Arc<Record>) -> Result<Vec<Record>, Refusal> {
    let limits = read_limits(&limits)?;
    let mut days: Vec<String> = Vec::new();
    let mut sequences: Vec<String> = Vec::new();
    let mut cargo = Vec::with_capacity(bundles.len());
    for (index, bundle) in bundles.iter().enumerate() {
        let name = format!("bundles[{index}]");
        let mut fields = Fields::new(&name, bundle);
        let of = |name: &str| bundle.get(name).map(Value::to_string).unwrap_or_default();
        let length = above_zero(&mut fields, "length_ft", Unit::Foot)?;
        cargo.push(Cargo {
            day: number_of(&mut days, of("on_site")),
            sequence: number_of(&mut sequences, of("sequence")),
            length: length.ok_or_else(|| {
                Refusal::new(fields.path("length_ft"), "missing", "a length above 0 ft")
            })?,
            width: inches(&mut fields, "cover_in")?,
            height: inches(&mut fields, "height_in")?,
            gross_lb: fields.number("lift_lb", None, "a weight above 0 lb", |lb| lb > 0.0)?,
        });
    }
    number_days_by_date(&bundles, &mut cargo);
    let loads = load(&cargo, &limits);
    let of = loads.len();
    loads.iter().enumerate().map(|(n, load)| load_record(load, &bundles, (n + 1, of))).collect()
}

fn number_of(known: &mut Vec<String>, name: String) -> usize {
    known.iter().position(|other| *other == name).unwrap_or_else(|| {
        known.push(name);
        known.len() - 1
    })
}

/// Days in the order of their dates; bundles without one come last.
fn number_days_by_date(bundles: &[Arc<Record>], cargo: &mut [Cargo]) {
    let date = |bundle: &Arc<Record>| match bundle.get("on_site") {
        Some(Value::Date(date)) => Some(*date),
        _ => None,
    };
    let dates: BTreeSet<_> = bundles.iter().filter_map(date).collect();
    let without = dates.len();
    for (bundle, cargo) in bundles.iter().zip(cargo) {
        cargo.day = match date(bundle) {
            Some(date) => dates.range(..date).count(),
            None => without + cargo.day,
        };
    }
}

/// A length above zero, where it is given.
fn above_zero(
    fields: &mut Fields<'_>,
    name: &'static str,
    unit: Unit,
) -> Result<Option<Length>, Refusal> {
    let Some(number) = fields.optional::<f64>(name)? else { return Ok(None) };
    let length = Length::from_number(number, unit).filter(|length| length.is_positive());
    let wanted =
        || Refusal::new(fields.path(name), number, format!("a length above 0 {}", unit.sign()));
    length.map(Some).ok_or_else(wanted)
}

fn read_limits(limits: &Record) -> Result<LoadLimits, Refusal> {
    let mut fields = Fields::new("limits", limits);
    let weight = "a weight above 0 lb";
    let deck_length = above_zero(&mut fields, "deck_length_ft", Unit::Foot)?;
    let limits = LoadLimits {
        payload_lb: fields.number("payload_lb", None, weight, |lb| lb > 0.0)?,
        least_lb: fields.number("least_lb", Some(0.0), "0 lb or more", |lb| lb >= 0.0)?,
        deck_length: deck_length.ok_or_else(|| {
            Refusal::new(fields.path("deck_length_ft"), "missing", "a length above 0 ft")
        })?,
        rows: fields.optional_count("rows_across", 1, 100)?,
        deck_width: above_zero(&mut fields, "deck_width_in", Unit::Inch)?,
        stack: fields.count("stack", 1, 1, 100)?,
        stack_height: above_zero(&mut fields, "stack_in", Unit::Inch)?,
        sequences_apart: fields.optional("sequences_apart")?.unwrap_or(false),
    };
    fields.finish()?;
    Ok(limits)
}

fn load_record(
    load: &Load,
    bundles: &[Arc<Record>],
    (n, of): (usize, usize),
) -> Result<Record, Refusal> {
    let field = |index: usize, name: &str| {
        bundles.get(index).and_then(|bundle| bundle.get(name)).cloned().unwrap_or_default()
    };
    let count = |count: usize| i64::try_from(count).map_or(Value::Blank, Value::Count);
    let mut sequences: Vec<Value> = Vec::new();
    let (mut panels, mut weight_lb) = (0_i64, 0.0);
    let mut in_order: Vec<usize> = load.places.iter().map(|(index, ..)| *index).collect();
    in_order.sort_unstable();
    for index in &in_order {
        let sequence = field(*index, "sequence");
        if !sequences.contains(&sequence) {
            sequences.push(sequence);
        }
        let name = |name: &str| format!("bundles[{index}].{name}");
        panels = panels.saturating_add(i64::from_value(&name("panels"), &field(*index, "panels"))?);
        weight_lb += f64::from_value(&name("weight_lb"), &field(*index, "weight_lb"))?;
    }
    let places = load.places.iter().map(|(index, row, layer)| {
        record! {
            bundle: field(*index, "mark"),
            row: Value::Count(row + 1),
            layer: Value::Count(layer + 1),
        }
    });
    let marks: Vec<Value> = in_order.iter().map(|index| field(*index, "mark")).collect();
    Ok(record! {
        load: count(n),
        of: count(of),
        on_site: in_order.first().map_or(Value::Blank, |index| field(*index, "on_site")),
        sequence_count: count(sequences.len()),
        sequences: sequences.into_value()?,
        bundles: marks.into_value()?,
        bundle_count: count(in_order.len()),
        panels: Value::Count(panels),
        weight_lb: weight_lb.into_value()?,
        gross_lb: load.gross_lb.into_value()?,
        length_ft: Value::Number(load.length.in_feet()),
        places: places.collect::<Vec<_>>().into_value()?,
        under_least: Value::Bool(load.under_least),
        over: Value::Bool(load.over),
    })
}
