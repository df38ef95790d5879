//! The layout of a strip for scripts: named fields in, a record out.

use std::sync::Arc;

use super::across::{Across, Leftover, LeftoverRules};
use super::along::{AlongLimits, Cut, Wish};
use super::ends::{Butted, End, Joint, Rounding, Slope};
use super::fields::Fields;
use super::plan::{Piece, Plan, StripSpec, lay_strip};
use crate::builtin::Builtin;
use crate::length::{self, Length, Typed, Unit};
use crate::value::{Feet, Inches, IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(plan(strip))];

/// The fields that [`plan`] reads.
const FIELDS: &[&str] = &[
    "spans_ft",
    "widths_ft",
    "half_digit_in",
    "copies",
    "cover_in",
    "longest_ft",
    "shortest_ft",
    "most_spans",
    "joint",
    "lap_in",
    "round_in",
    "round",
    "start_end",
    "far_end",
    "slope_rise_in_12",
    "spread_in",
    "filler_in",
    "rest_serves",
    "cut",
    "prefer",
];

/// Lays out a strip of deck: panels along and across, on exact lengths.
///
/// - strip: record of `spans_ft` (list, ft; a list of lists for several rows along), `widths_ft`
///   (list, ft; a list of lists where panel edges break, a list of those for several rows
///   across), `cover_in` (in, above 0), `longest_ft`,
///   `shortest_ft` (ft), `most_spans` (count, 1 or more) and, as wanted, `copies` (count, 1),
///   `half_digit_in` (half the last digit of a width typed as a decimal, in, 0), `joint` (`butt`
///   or `lap`, butt), `lap_in` (in, above 0 with `lap`), `round_in` (step of order lengths, in, 0
///   for none), `round` (`down` or `nearest` for butted panels, down), `start_end` and `far_end`
///   (`cl`, `+2"`, `-4"`, `cont`; cl), `slope_rise_in_12` (in, 0), `spread_in` and `filler_in`
///   (leftover up to which the panels are spread, a filler strip is laid; in, 0), `rest_serves`
///   (whether the rest of a ripped panel serves elsewhere, false), `cut` (`3+2` or lengths), and
///   `prefer` (list of `few singles`, `few panels`, `three spans`, `few lengths` by weight)
///
/// Gives: record of `pieces` (list of records: `length_ft`, `length_text`, `exact_ft`, `count`,
/// `spans`, `single_span`, `lapped`, `along`, `across`), `panels`, `lines`, `lineal_ft`,
/// `line_ft`, `width_ft`, `leftover_in`, `leftover_kind`, `overcover_in`, `filler_ft`, `ripped`,
/// `single_spans`, `decimal_note`, `saved_panels`, `saved_lineal_ft`, `cut_breaches` and `notes`
/// (lists of text), units as named.
/// Source: geometry; preferences of the layout are common practice, no source.
/// Example: `deck::plan(#{spans_ft: [10, 10, 10], widths_ft: [31, 31, 31, 31], cover_in: 36, longest_ft: 40, shortest_ft: 6, most_spans: 4}).panels` = 42
#[allow(clippy::needless_pass_by_value, reason = "scripts hand values over")]
pub fn plan(strip: Arc<Record>) -> Result<Record, Refusal> {
    let fields = Fields::new("strip", &strip, FIELDS)?;
    let spans = span_rows(&fields)?;
    let widths = width_rows(&fields)?;
    let cut = OwnCut::parse(&fields.path("cut"), &fields.text("cut")?)?;
    let wishes = wishes(&fields)?;
    let laid = lay_strip(&StripSpec {
        spans: &spans.iter().map(Vec::as_slice).collect::<Vec<_>>(),
        widths: &widths.iter().map(Vec::as_slice).collect::<Vec<_>>(),
        copies: fields.or("copies", 1)?,
        cover: fields.get::<Inches>("cover_in")?.0,
        leftover: LeftoverRules {
            spread: fields.inches_or_none("spread_in")?,
            filler: fields.inches_or_none("filler_in")?,
            rest_serves: fields.or("rest_serves", false)?,
        },
        limits: AlongLimits {
            longest: fields.feet("longest_ft")?,
            shortest: fields.feet("shortest_ft")?,
            most_spans: fields.count("most_spans", 1)?,
            wishes: &wishes,
        },
        start: End::parse(&fields.path("start_end"), &fields.text("start_end")?)?,
        far: End::parse(&fields.path("far_end"), &fields.text("far_end")?)?,
        joint: joint(&fields)?,
        joints_at: &[],
        slope: Slope { rise_in_12: fields.inches_or_none("slope_rise_in_12")? },
        rounding: rounding(&fields)?,
        cut: cut.as_ref().map(OwnCut::borrow),
    })?;
    record(&laid)
}

fn span_rows(fields: &Fields<'_>) -> Result<Vec<Vec<Length>>, Refusal> {
    let lengths = |list: Vec<Feet>| list.into_iter().map(|feet| feet.0).collect();
    if let Value::List(items) = fields.value("spans_ft")
        && items.iter().any(|item| matches!(item, Value::List(_)))
    {
        return Ok(fields.get::<Vec<Vec<Feet>>>("spans_ft")?.into_iter().map(lengths).collect());
    }
    Ok(vec![lengths(fields.get("spans_ft")?)])
}

/// The widths as rows across of groups between breaks: a list is one row of one group, a list of
/// lists one row of several groups, a list of lists of lists several rows.
fn width_rows(fields: &Fields<'_>) -> Result<Vec<Vec<Vec<Typed>>>, Refusal> {
    let half_digit = fields.inches_or_none("half_digit_in")?;
    let nested = |value: &Value| match value {
        Value::List(items) => items.iter().any(|item| matches!(item, Value::List(_))),
        _ => false,
    };
    let given = fields.value("widths_ft");
    let rows: Vec<Vec<Vec<Feet>>> = match given {
        Value::List(items) if items.iter().any(nested) => fields.get("widths_ft")?,
        given if nested(given) => vec![fields.get("widths_ft")?],
        _ => vec![vec![fields.get("widths_ft")?]],
    };
    let mut first = true;
    let mut typed = |feet: Feet| {
        let half_digit = if std::mem::take(&mut first) { half_digit } else { Length::ZERO };
        Typed { length: feet.0, half_digit }
    };
    Ok(rows
        .into_iter()
        .map(|groups| {
            groups
                .into_iter()
                .map(|group| group.into_iter().map(&mut typed).collect())
                .collect()
        })
        .collect())
}

fn joint(fields: &Fields<'_>) -> Result<Joint, Refusal> {
    match &*fields.text("joint")? {
        "" | "butt" => Ok(Joint::Butt),
        "lap" => Ok(Joint::Lap(fields.inches_or_none("lap_in")?)),
        _ => Err(fields.no_such_word("joint", &["butt", "lap"])),
    }
}

fn rounding(fields: &Fields<'_>) -> Result<Rounding, Refusal> {
    let butted = match &*fields.text("round")? {
        "" | "down" => Butted::Down,
        "nearest" => Butted::Nearest,
        _ => return Err(fields.no_such_word("round", &["down", "nearest"])),
    };
    Ok(Rounding { step: fields.inches_or_none("round_in")?, butted })
}

fn wishes(fields: &Fields<'_>) -> Result<Vec<Wish>, Refusal> {
    let Some(names) = fields.get::<Option<Vec<Arc<str>>>>("prefer")? else {
        return Ok(Wish::ALL.to_vec());
    };
    let mut wishes = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let wish = Wish::ALL.into_iter().find(|wish| wish.name() == &**name);
        match wish.filter(|wish| !wishes.contains(wish)) {
            Some(wish) => wishes.push(wish),
            None => {
                return Err(Refusal::new(
                    format!("{}[{index}]", fields.path("prefer")),
                    format!("{name:?}"),
                    format!("each once, of {}", Wish::ALL.map(Wish::name).join(", ")),
                ));
            }
        }
    }
    Ok(wishes)
}

/// An estimator's own cutting as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OwnCut {
    Spans(Vec<usize>),
    Lengths(Vec<Length>),
}

impl OwnCut {
    /// Reads `3+2` or `2@3 + 2` as spans a panel, `30'-0" + 20'-0"` as lengths, blank as none.
    /// Refuses text that is neither, naming the argument.
    pub fn parse(argument: &str, text: &str) -> Result<Option<OwnCut>, Refusal> {
        const MOST_PANELS: usize = super::along::MOST_SPANS_OF_A_LINE;
        if text.trim().is_empty() {
            return Ok(None);
        }
        let refuse = || {
            Refusal::new(
                argument,
                format!("{text:?}"),
                "spans a panel (`3+2`) or the lengths of the panels (`30'-0\" + 20'-0\"`)",
            )
        };
        let (mut spans, mut lengths) = (Vec::new(), Vec::new());
        for part in text.split('+') {
            let (times, part) = match part.split_once('@') {
                Some((times, part)) => (times.trim().parse().map_err(|_| refuse())?, part.trim()),
                None => (1, part.trim()),
            };
            if times == 0 || times > MOST_PANELS || spans.len() + lengths.len() > MOST_PANELS {
                return Err(refuse());
            }
            if let Ok(count) = part.parse::<usize>() {
                spans.extend(std::iter::repeat_n(count, times));
            } else {
                let typed = length::parse(part, Unit::Foot).map_err(|_| refuse())?;
                lengths.extend(std::iter::repeat_n(typed.length, times));
            }
        }
        match (spans.is_empty(), lengths.is_empty()) {
            (false, true) => Ok(Some(OwnCut::Spans(spans))),
            (true, false) => Ok(Some(OwnCut::Lengths(lengths))),
            _ => Err(refuse()),
        }
    }

    /// As the layout takes it.
    #[must_use]
    pub fn borrow(&self) -> Cut<'_> {
        match self {
            OwnCut::Spans(spans) => Cut::Spans(spans),
            OwnCut::Lengths(lengths) => Cut::Lengths(lengths),
        }
    }
}

fn record(plan: &Plan) -> Result<Record, Refusal> {
    let across = &plan.across;
    let leftover: Length = across.groups.iter().map(|group| group.leftover).sum();
    let overcover: Length = across.groups.iter().map(|group| group.overcover).sum();
    let saved = plan.saved.unwrap_or_default();
    let pieces = plan.pieces.iter().map(piece).collect::<Result<Vec<_>, _>>()?;
    let single_spans: i64 =
        plan.pieces.iter().filter(|piece| piece.single_span()).map(|piece| piece.count).sum();
    let fields = [
        ("pieces", pieces.into_value()?),
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

fn piece(piece: &Piece) -> Result<Value, Refusal> {
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

fn feet(length: Length) -> Value {
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
    if let Some(saved) = plan.saved.filter(|saved| *saved != super::plan::Saved::default()) {
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
