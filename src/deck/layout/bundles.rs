//! Bundles: panels strapped together for one lift.
//!
//! A bundle never mixes kinds (sequence, profile, gauge, finish and what else the shop keeps
//! apart). Full bundles of one length come first; what is left is joined, up to so many lengths a
//! bundle, the longest at the bottom. Bundles are numbered in the order in which their lines come.
//!
//! In: lines of panels and the shop's [`BundleLimits`]. Out: [`Bundle`]s.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::choices::inches;
use crate::arguments::Fields;
use crate::builtin::Builtin;
use crate::length::Length;
use crate::value::{Feet, Inches, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(bundles(lines, limits))];

/// No job has more bundles.
pub const MOST_BUNDLES: usize = 200_000;

/// Panels of one kind and length that are to be bundled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BundleLine {
    /// Lines of different kinds never share a bundle.
    pub kind: usize,
    pub length: Length,
    pub count: i64,
    /// One panel.
    pub panel_lb: f64,
    /// A limit of this line's own, such as its sequence's crane.
    pub crane_lb: Option<f64>,
    /// Height of one panel, and what each further one nested on it adds.
    pub depth: Length,
    pub nest: Length,
}

/// What a bundle may be: choices of the shop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BundleLimits {
    /// The lift, packaging included.
    pub most_lb: f64,
    pub packaging_lb: f64,
    pub most_panels: Option<i64>,
    pub most_height: Option<Length>,
    pub most_lengths: usize,
}

/// Panels strapped together.
#[derive(Clone, Debug, PartialEq)]
pub struct Bundle {
    pub kind: usize,
    /// Index of the line and count of panels, longest (the bottom) first.
    pub contents: Vec<(usize, i64)>,
    pub panels: i64,
    /// The longest panel.
    pub length: Length,
    pub weight_lb: f64,
    pub lift_lb: f64,
    pub height: Length,
    /// A single panel that is beyond a limit by itself.
    pub over: bool,
}

/// Bundles lines of panels. Each line must have a positive length and weight; lines of count 0
/// are skipped. Refuses counts below 0 and more than [`MOST_BUNDLES`].
pub fn bundle(lines: &[BundleLine], limits: &BundleLimits) -> Result<Vec<Bundle>, Refusal> {
    let mut kinds: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, line) in lines.iter().enumerate() {
        let name = |field: &str| format!("lines[{index}].{field}");
        if line.count < 0 {
            return Err(Refusal::new(name("count"), line.count, "a count of 0 or more"));
        }
        if !line.length.is_positive() {
            return Err(Refusal::new(name("length_ft"), line.length, "a length above 0 ft"));
        }
        if !(line.panel_lb > 0.0 && line.panel_lb.is_finite()) {
            return Err(Refusal::new(name("panel_lb"), line.panel_lb, "a weight above 0 lb"));
        }
        if line.count > 0 {
            kinds.entry(line.kind).or_default().push(index);
        }
    }
    let mut bundles = Vec::new();
    for members in kinds.values() {
        let first = bundles.len();
        bundle_kind(lines, members, limits, &mut bundles)?;
        bundles[first..].sort_by_key(|bundle| bundle.contents.iter().map(|(line, _)| *line).min());
    }
    Ok(bundles)
}

/// A bundle being filled.
struct Stack<'a> {
    lines: &'a [BundleLine],
    limits: &'a BundleLimits,
    most_lb: f64,
    contents: Vec<(usize, i64)>,
    panels: i64,
    weight_lb: f64,
    depth: Length,
    nest: Length,
}

impl<'a> Stack<'a> {
    fn new(lines: &'a [BundleLine], limits: &'a BundleLimits, most_lb: f64) -> Stack<'a> {
        Stack {
            lines,
            limits,
            most_lb,
            contents: Vec::new(),
            panels: 0,
            weight_lb: 0.0,
            depth: Length::ZERO,
            nest: Length::ZERO,
        }
    }

    /// How many panels of a line still find room.
    fn room(&self, line: &BundleLine) -> i64 {
        // A billionth of a panel absorbs the rounding of the quotient.
        let left_lb = self.most_lb - self.limits.packaging_lb - self.weight_lb;
        let by_weight = (left_lb / line.panel_lb + 1e-9).floor().clamp(0.0, 1e15);
        #[allow(clippy::cast_possible_truncation, reason = "clamped")]
        let mut room = by_weight as i64;
        if let Some(most) = self.limits.most_panels {
            room = room.min(most - self.panels);
        }
        if let Some(most) = self.limits.most_height {
            let above = most - self.depth.max(line.depth);
            let layers = match above.div_rem(self.nest.max(line.nest)) {
                _ if above < Length::ZERO => 0,
                Some((further, _)) => further + 1,
                None => i64::MAX,
            };
            room = room.min(layers - self.panels);
        }
        let new_length =
            self.contents.iter().all(|(index, _)| self.lines[*index].length != line.length);
        if room > 0 && new_length && self.lengths() >= self.limits.most_lengths {
            return 0;
        }
        room.max(0)
    }

    /// Panels of one length stand together, so that changes of length count the lengths.
    fn lengths(&self) -> usize {
        let lengths = self.contents.iter().map(|(index, _)| self.lines[*index].length);
        let changes = lengths.clone().zip(lengths.skip(1)).filter(|(a, b)| a != b).count();
        changes + usize::from(!self.contents.is_empty())
    }

    fn put(&mut self, index: usize, count: i64) {
        let line = &self.lines[index];
        self.contents.push((index, count));
        self.panels = self.panels.saturating_add(count);
        #[allow(clippy::cast_precision_loss, reason = "bundles hold few panels")]
        let weight_lb = line.panel_lb * count as f64;
        self.weight_lb += weight_lb;
        self.depth = self.depth.max(line.depth);
        self.nest = self.nest.max(line.nest);
    }

    fn strap(mut self, over: bool) -> Bundle {
        let lines = self.lines;
        self.contents.sort_by_key(|(index, _)| (-lines[*index].length, *index));
        Bundle {
            kind: self.contents.first().map_or(0, |(index, _)| lines[*index].kind),
            length: self.contents.first().map_or(Length::ZERO, |(index, _)| lines[*index].length),
            panels: self.panels,
            weight_lb: self.weight_lb,
            lift_lb: self.weight_lb + self.limits.packaging_lb,
            height: self.depth + self.nest * (self.panels - 1).max(0),
            contents: self.contents,
            over,
        }
    }
}

/// The bundles of one kind: full ones length by length, then what is left, heaviest rest first,
/// each into the first bundle that has room for all of it.
fn bundle_kind(
    lines: &[BundleLine],
    members: &[usize],
    limits: &BundleLimits,
    bundles: &mut Vec<Bundle>,
) -> Result<(), Refusal> {
    let own = members.iter().filter_map(|index| lines[*index].crane_lb);
    let most_lb = own.fold(limits.most_lb, f64::min);
    let mut by_length: BTreeMap<Length, Vec<usize>> = BTreeMap::new();
    for index in members {
        by_length.entry(lines[*index].length).or_default().push(*index);
    }
    let mut rests: Vec<Stack<'_>> = Vec::new();
    for same in by_length.values().rev() {
        let mut open = Stack::new(lines, limits, most_lb);
        for index in same {
            let mut left = lines[*index].count;
            while left > 0 {
                let room = open.room(&lines[*index]).min(left);
                if room > 0 {
                    open.put(*index, room);
                    left -= room;
                    continue;
                }
                let over = open.panels == 0;
                if over {
                    open.put(*index, 1);
                    left -= 1;
                }
                if bundles.len() >= MOST_BUNDLES {
                    return Err(Refusal::new(
                        format!("lines[{index}].count"),
                        lines[*index].count,
                        format!("lines that make at most {MOST_BUNDLES} bundles"),
                    ));
                }
                let full = std::mem::replace(&mut open, Stack::new(lines, limits, most_lb));
                bundles.push(full.strap(over));
            }
        }
        if open.panels > 0 {
            rests.push(open);
        }
    }
    rests.sort_by(|a, b| b.weight_lb.total_cmp(&a.weight_lb));
    let mut joined: Vec<Stack<'_>> = Vec::new();
    for rest in rests {
        match joined.iter_mut().find(|stack| takes_all(stack, &rest)) {
            Some(stack) => {
                for (index, count) in rest.contents {
                    stack.put(index, count);
                }
            }
            None => joined.push(rest),
        }
    }
    bundles.extend(joined.into_iter().map(|stack| stack.strap(false)));
    Ok(())
}

/// Whether a bundle has room for a whole rest, which is of one length.
fn takes_all(stack: &Stack<'_>, rest: &Stack<'_>) -> bool {
    let heaviest = rest.contents.iter().map(|(index, _)| &stack.lines[*index]).max_by(|a, b| {
        a.panel_lb.total_cmp(&b.panel_lb).then(a.nest.cmp(&b.nest)).then(a.depth.cmp(&b.depth))
    });
    heaviest.is_some_and(|line| {
        let widest = BundleLine { depth: rest.depth, nest: rest.nest, ..*line };
        stack.room(&widest) >= rest.panels
    })
}

/// Kinds that no bundle mixes, whatever else the shop keeps apart.
const KINDS: [&str; 4] = ["sequence", "profile", "gauge", "finish"];

/// Fields of a line that its bundle carries on.
const CARRIED: [&str; 3] = ["cover_in", "on_site", "drop_point"];

/// Bundles panels for lifting, never two sequences, profiles, gauges or finishes in one.
///
/// - lines: list of records of `sequence`, `profile`, `gauge`, `finish`, `length_ft` (ft, above
///   0), `count` (0 or more), `panel_lb` (lb, above 0) and, as wanted, `crane_lb` (limit of the
///   sequence's crane, lb), `depth_in` and `nest_in` (height of a panel and what each further one
///   adds, in), `cover_in` (in), `on_site` (date), `drop_point`, `mark` and what `apart` names; in
///   order of use
/// - limits: record of `most_lb` (lift with packaging, lb, above 0) and, as wanted, `packaging_lb`
///   (lb, 0), `most_panels` (count), `most_height_in` (in), `most_lengths` (count, 3) and `apart`
///   (list of further line fields that no bundle mixes)
///
/// Gives: list of records of `mark`, `n`, `of` (in its sequence), `sequence`, `profile`, `gauge`,
/// `finish`, what `apart` names, `contents` (list of records `length_ft`, `length_text`, `count`,
/// `mark`, `line`, bottom first), `contents_text`, `panels`, `lengths`, `length_ft`, `weight_lb`,
/// `lift_lb`, `height_in`, `cover_in`, `on_site`, `drop_point` and `over` (a single panel beyond
/// a limit), units as named.
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
    let mut records = Vec::with_capacity(bundles.len());
    for bundle in &bundles {
        let sequence = sequence(bundle);
        let (n, of) = totals.entry(sequence.clone()).or_default();
        *n += 1;
        let mark = if sequence.is_empty() { n.to_string() } else { format!("{sequence}-{n}") };
        records.push(bundle_record(bundle, &lines, &read, &apart, (&mark, *n, *of))?);
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
    let mut own = line.clone();
    own.retain(|field, _| !apart.contains(field));
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

fn bundle_record(
    bundle: &Bundle,
    lines: &[Arc<Record>],
    read: &[BundleLine],
    apart: &[Arc<str>],
    (mark, n, of): (&str, i64, i64),
) -> Result<Record, Refusal> {
    let empty = Arc::new(Record::new());
    let first = bundle.contents.first().and_then(|(index, _)| lines.get(*index)).unwrap_or(&empty);
    let of_first = |name: &str| first.get(name).cloned().unwrap_or_default();
    let mut record = Record::new();
    let mut put = |name: &str, value: Value| record.insert(Arc::from(name), value);
    put("mark", Value::text(mark));
    put("n", Value::Count(n));
    put("of", Value::Count(of));
    for name in KINDS {
        put(name, of_first(name));
    }
    for name in apart {
        put(name, of_first(name));
    }
    let mut lengths: Vec<(Length, i64)> = Vec::new();
    let mut contents = Vec::new();
    for (index, count) in &bundle.contents {
        let length = read.get(*index).map_or(Length::ZERO, |line| line.length);
        match lengths.last_mut().filter(|(last, _)| *last == length) {
            Some((_, total)) => *total += count,
            None => lengths.push((length, *count)),
        }
        let mark = lines.get(*index).and_then(|line| line.get("mark")).cloned();
        let content: Record = [
            ("length_ft", Value::Number(length.in_feet())),
            ("length_text", Value::text(length.to_string())),
            ("count", Value::Count(*count)),
            ("mark", mark.unwrap_or_default()),
            ("line", i64::try_from(index + 1).map_or(Value::Blank, Value::Count)),
        ]
        .into_iter()
        .map(|(name, value)| (Arc::from(name), value))
        .collect();
        contents.push(content);
    }
    let text: Vec<String> =
        lengths.iter().map(|(length, count)| format!("{count} of {length}")).collect();
    put("contents", contents.into_value()?);
    put("contents_text", Value::text(text.join(", ")));
    put("panels", Value::Count(bundle.panels));
    put("lengths", i64::try_from(lengths.len()).map_or(Value::Blank, Value::Count));
    put("length_ft", Value::Number(bundle.length.in_feet()));
    put("weight_lb", bundle.weight_lb.into_value()?);
    put("lift_lb", bundle.lift_lb.into_value()?);
    put("height_in", Value::Number(bundle.height.in_inches()));
    for name in CARRIED {
        put(name, of_first(name));
    }
    put("over", Value::Bool(bundle.over));
    Ok(record)
}
