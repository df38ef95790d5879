//! Bundles for scripts: lists of records in and out.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use indexmap::IndexSet;

use super::bundles::{Bundle, BundleLimits, BundleLine, bundle};
use super::choices::inches;
use crate::arguments::Fields;
use crate::builtin::Builtin;
use crate::length::Length;
use crate::value::{Feet, Inches, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(bundles(lines, limits))];

/// Kinds that no bundle mixes, whatever else the shop keeps apart.
const KINDS: [&str; 4] = ["sequence", "profile", "gauge", "finish"];

/// Fields of a line that its bundle carries on.
const CARRIED: [&str; 6] = ["cover_in", "on_site", "drop_point", "deck_use", "grade", "options"];

/// Bundles panels for lifting, never two sequences, profiles, gauges or finishes in one.
///
/// - lines: list of records of `sequence`, `profile`, `gauge`, `finish`, `length_ft` (ft, above
///   0), `count` (0 or more), `panel_lb` (lb, above 0) and, as wanted, `crane_lb` (limit of the
///   sequence's crane, lb), `depth_in` and `nest_in` (height of a panel and what each further one
///   adds, in), `cover_in` (in), `on_site` (date), `drop_point`, `deck_use`, `grade`, `options`, `mark` and
///   what `apart` names; in order of use
/// - limits: record of `most_lb` (lift with packaging, lb, above 0) and, as wanted, `packaging_lb`
///   (lb, 0), `most_panels` (count), `most_height_in` (in), `most_lengths` (count, 3) and `apart`
///   (list of further line fields that no bundle mixes)
///
/// Gives: list of records of `mark`, `n`, `of` (in its sequence), `sequence`, `profile`, `gauge`,
/// `finish`, what `apart` names, `contents` (list of records `length_ft`, `length_text`, `count`,
/// `mark`, `line`, bottom first), `contents_text` (naming marks where there are several),
/// `marks_text` (each mark once), `panels`, `lengths`, `length_ft`, `weight_lb`, `lift_lb`, `height_in`, `cover_in`, `on_site`, `drop_point`, `deck_use`, `grade`,
/// `options` and `over` (a single panel beyond a limit), units as named.
/// Source: common practice, no source.
/// Example: `deck::bundles([#{sequence: 1, profile: "2x12", gauge: 20, finish: "G60", length_ft: 30, count: 120, panel_lb: 162.74}], #{most_lb: 4000}).len()` = 5
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn bundles(lines: Vec<Arc<Record>>, limits: Arc<Record>) -> Result<Vec<Record>, Refusal> {
    let mut fields = Fields::new("limits", &limits);
    let apart: Vec<Arc<str>> = fields.optional("apart")?.unwrap_or_default();
    let limits = read_limits(fields)?;
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let mut read = Vec::with_capacity(lines.len());
    for (index, line) in lines.iter().enumerate() {
        let mut key = String::new();
        for name in KINDS.iter().copied().chain(apart.iter().map(|name| &**name)) {
            key.push_str(&line.get(name).map(Value::to_string).unwrap_or_default());
            key.push('\n');
        }
        let next = kinds.len();
        let kind = *kinds.entry(key).or_insert(next);
        read.push(read_line(&format!("lines[{index}]"), line, &apart, kind)?);
    }
    let bundles = bundle(&read, &limits)?;

    let sequence = |bundle: &Bundle| {
        let first = bundle.contents.first().and_then(|(index, _)| lines.get(*index));
        first.and_then(|line| line.get("sequence")).map_or(String::new(), plain)
    };
    let mut totals: BTreeMap<String, (i64, i64)> = BTreeMap::new();
    for bundle in &bundles {
        totals.entry(sequence(bundle)).or_default().1 += 1;
    }
    let mut records: Vec<Record> = Vec::with_capacity(bundles.len());
    for bundle in &bundles {
        let sequence = sequence(bundle);
        let (n, of) = totals.entry(sequence.clone()).or_default();
        *n += 1;
        let mark = if sequence.is_empty() { n.to_string() } else { format!("{sequence}-{n}") };
        let fields = bundle_fields(bundle, &lines, &read, &apart, (&mark, *n, *of))?;
        records.push(match records.first().map(Record::shape) {
            // They have the same names; a name that comes twice is not twice in the shape.
            Some(shape) if shape.len() == fields.len() => {
                let mut values = Vec::with_capacity(fields.len());
                values.extend(fields.into_iter().map(|(_, value)| value));
                Record::new(shape.clone(), values)
            }
            _ => fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect(),
        });
    }
    Ok(records)
}

fn plain(value: &Value) -> String {
    value.as_text().map_or_else(|| value.to_string(), str::to_owned)
}

fn read_limits(mut fields: Fields<'_>) -> Result<BundleLimits, Refusal> {
    let most_lb = fields.number("most_lb", None, "a weight above 0 lb", |lb| lb > 0.0)?;
    let wanted = "a weight of 0 lb or more, below `most_lb`";
    let within = |lb: f64| (0.0..most_lb).contains(&lb);
    let limits = BundleLimits {
        most_lb,
        packaging_lb: fields.number("packaging_lb", Some(0.0), wanted, within)?,
        most_panels: Some(fields.count("most_panels", i64::MAX, 1, i64::MAX)?),
        most_height: match fields.optional::<Inches>("most_height_in")? {
            Some(_) => Some(inches(&mut fields, "most_height_in")?),
            None => None,
        },
        most_lengths: usize::try_from(fields.count("most_lengths", 3, 1, 100)?).unwrap_or(3),
    };
    fields.finish()?;
    Ok(limits)
}

fn read_line(
    name: &str,
    line: &Record,
    apart: &[Arc<str>],
    kind: usize,
) -> Result<BundleLine, Refusal> {
    let own = line.only(|field, _| apart.iter().all(|apart| **apart != *field));
    let mut fields = Fields::new(name, &own);
    for kept in KINDS.into_iter().chain(CARRIED).chain(["mark"]) {
        fields.optional::<Value>(kept)?;
    }
    let above_zero = |number: f64| number > 0.0;
    let crane_lb = match fields.optional::<f64>("crane_lb")? {
        Some(_) => Some(fields.number("crane_lb", None, "a weight above 0 lb", above_zero)?),
        None => None,
    };
    let line = BundleLine {
        kind,
        length: fields.required::<Feet>("length_ft", "a length above 0 ft")?.0,
        count: fields.required("count", "a count of 0 or more")?,
        panel_lb: fields.number("panel_lb", None, "a weight above 0 lb", above_zero)?,
        crane_lb,
        depth: inches(&mut fields, "depth_in")?,
        nest: inches(&mut fields, "nest_in")?,
    };
    fields.finish()?;
    Ok(line)
}

/// The fields of a bundle's record; of those of one name the last counts.
fn bundle_fields<'a>(
    bundle: &Bundle,
    lines: &[Arc<Record>],
    read: &[BundleLine],
    apart: &'a [Arc<str>],
    (mark, n, of): (&str, i64, i64),
) -> Result<Vec<(&'a str, Value)>, Refusal> {
    let length_of = |index: usize| read.get(index).map_or(Length::ZERO, |line| line.length);
    let empty = Arc::new(Record::default());
    let first = bundle.contents.first().and_then(|(index, _)| lines.get(*index)).unwrap_or(&empty);
    let of_first = |name: &str| first.get(name).cloned().unwrap_or_default();
    let mut fields = Vec::with_capacity(24 + apart.len());
    let mut put = |name: &'a str, value: Value| fields.push((name, value));
    // Where marks are kept apart, the bundle's own stands above its panels'.
    for name in apart {
        put(name, of_first(name));
    }
    put("mark", Value::text(mark));
    put("n", Value::Count(n));
    put("of", Value::Count(of));
    for name in KINDS {
        put(name, of_first(name));
    }
    let mut contents = Vec::new();
    for (index, count) in &bundle.contents {
        let length = length_of(*index);
        let mark = lines.get(*index).and_then(|line| line.get("mark")).cloned();
        contents.push(record! {
            length_ft: Value::Number(length.in_feet()),
            length_text: Value::text(length.to_string()),
            count: Value::Count(*count),
            mark: mark.unwrap_or_default(),
            line: i64::try_from(index + 1).map_or(Value::Blank, Value::Count),
        });
    }
    let mark_of = |index: usize| {
        lines.get(index).and_then(|line| line.get("mark")).map(plain).unwrap_or_default()
    };
    let parts = parts(bundle, length_of, mark_of);
    let lengths = parts.iter().map(|part| part.length).collect::<BTreeSet<_>>().len();
    let marks: IndexSet<&str> =
        parts.iter().map(|part| &*part.mark).filter(|mark| !mark.is_empty()).collect();
    let marks = marks.into_iter().collect::<Vec<_>>();
    // Which panels are which has to be said only where there are several marks.
    let text: Vec<String> = parts
        .iter()
        .map(|Part { length, mark, count }| {
            let of = if marks.len() > 1 && !mark.is_empty() {
                format!(" {mark}")
            } else {
                String::new()
            };
            format!("{count}{of} of {length}")
        })
        .collect();
    put("contents", contents.into_value()?);
    put("marks_text", if marks.is_empty() { Value::Blank } else { Value::text(marks.join(", ")) });
    put("contents_text", Value::text(text.join(", ")));
    put("panels", Value::Count(bundle.panels));
    put("lengths", i64::try_from(lengths).map_or(Value::Blank, Value::Count));
    put("length_ft", Value::Number(bundle.length.in_feet()));
    put("weight_lb", bundle.weight_lb.into_value()?);
    put("lift_lb", bundle.lift_lb.into_value()?);
    put("height_in", Value::Number(bundle.height.in_inches()));
    for name in CARRIED {
        put(name, of_first(name));
    }
    put("over", Value::Bool(bundle.over));
    Ok(fields)
}

/// Panels of one length and mark in a bundle.
struct Part {
    length: Length,
    mark: String,
    count: i64,
}

/// What a bundle holds, bottom first.
fn parts(
    bundle: &Bundle,
    length_of: impl Fn(usize) -> Length,
    mark_of: impl Fn(usize) -> String,
) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for (index, count) in &bundle.contents {
        let (length, mark) = (length_of(*index), mark_of(*index));
        match parts.last_mut().filter(|last| last.length == length && last.mark == mark) {
            Some(last) => last.count += count,
            None => parts.push(Part { length, mark, count: *count }),
        }
    }
    parts
}
