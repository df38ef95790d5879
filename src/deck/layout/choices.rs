//! What every layout asks of the shop, read out of the record that a script hands over.
//!
//! In: the fields of a record. Out: a [`Choices`], from which the layouts take their specs.

use std::sync::Arc;

use super::across::LeftoverRules;
use super::along::{AlongLimits, Cut, MOST_SPANS_OF_A_LINE, Wish};
use super::ends::{Butted, End, Joint, Rounding, Slope};
use crate::arguments::Fields;
use crate::length::{self, Length, Unit};
use crate::value::{Feet, Inches, Refusal};

/// What a layout is to keep to.
pub(super) struct Choices {
    pub copies: i64,
    pub cover: Length,
    pub half_digit: Length,
    pub leftover: LeftoverRules,
    pub longest: Length,
    pub shortest: Length,
    pub most_spans: usize,
    pub wishes: Vec<Wish>,
    pub start: End,
    pub far: End,
    pub joint: Joint,
    pub slope: Slope,
    pub rounding: Rounding,
    pub cut: Option<OwnCut>,
}

impl Choices {
    pub(super) fn read(fields: &mut Fields<'_>) -> Result<Choices, Refusal> {
        Ok(Choices {
            copies: fields.count("copies", 1, 1, i64::MAX)?,
            cover: fields.required::<Inches>("cover_in", "a cover above 0 in")?.0,
            half_digit: inches(fields, "half_digit_in")?,
            leftover: LeftoverRules {
                spread: inches(fields, "spread_in")?,
                filler: inches(fields, "filler_in")?,
                rest_serves: fields.optional("rest_serves")?.unwrap_or(false),
            },
            longest: fields.required::<Feet>("longest_ft", "a length above 0 ft")?.0,
            shortest: fields.required::<Feet>("shortest_ft", "a length of 0 ft or more")?.0,
            most_spans: most_spans(fields)?,
            wishes: wishes(fields)?,
            start: end(fields, "start_end")?,
            far: end(fields, "far_end")?,
            joint: joint(fields)?,
            slope: Slope { rise_in_12: inches(fields, "slope_rise_in_12")? },
            rounding: rounding(fields)?,
            cut: match fields.optional::<Arc<str>>("cut")? {
                Some(text) => OwnCut::parse(&fields.path("cut"), &text)?,
                None => None,
            },
        })
    }

    pub(super) fn limits(&self) -> AlongLimits<'_> {
        AlongLimits {
            longest: self.longest,
            shortest: self.shortest,
            most_spans: self.most_spans,
            wishes: &self.wishes,
        }
    }
}

/// A length in inches of 0 or more, 0 where it is not given.
pub(super) fn inches(fields: &mut Fields<'_>, name: &'static str) -> Result<Length, Refusal> {
    let length = fields.optional::<Inches>(name)?.map_or(Length::ZERO, |inches| inches.0);
    if length < Length::ZERO {
        return Err(Refusal::new(
            fields.path(name),
            length.in_inches(),
            "a length of 0 in or more",
        ));
    }
    Ok(length)
}

fn most_spans(fields: &mut Fields<'_>) -> Result<usize, Refusal> {
    let count: i64 = fields.required("most_spans", "a count of 1 or more")?;
    usize::try_from(count)
        .ok()
        .filter(|count| *count > 0)
        .ok_or_else(|| Refusal::new(fields.path("most_spans"), count, "a count of 1 or more"))
}

fn end(fields: &mut Fields<'_>, name: &'static str) -> Result<End, Refusal> {
    let text = fields.optional::<Arc<str>>(name)?;
    text.map_or(Ok(End::CentreLine), |text| End::parse(&fields.path(name), &text))
}

fn joint(fields: &mut Fields<'_>) -> Result<Joint, Refusal> {
    let lap = inches(fields, "lap_in")?;
    match fields.optional::<Arc<str>>("joint")?.as_deref() {
        None | Some("" | "butt") => Ok(Joint::Butt),
        Some("lap") if lap.is_positive() => Ok(Joint::Lap(lap)),
        Some("lap") => {
            Err(Refusal::new(fields.path("lap_in"), lap.in_inches(), "a lap above 0 in"))
        }
        Some(other) => {
            Err(Refusal::new(fields.path("joint"), format!("{other:?}"), "`butt` or `lap`"))
        }
    }
}

fn rounding(fields: &mut Fields<'_>) -> Result<Rounding, Refusal> {
    let step = inches(fields, "round_in")?;
    let butted = match fields.optional::<Arc<str>>("round")?.as_deref() {
        None | Some("" | "down") => Butted::Down,
        Some("nearest") => Butted::Nearest,
        Some(other) => {
            let found = format!("{other:?}");
            return Err(Refusal::new(fields.path("round"), found, "`down` or `nearest`"));
        }
    };
    Ok(Rounding { step, butted })
}

fn wishes(fields: &mut Fields<'_>) -> Result<Vec<Wish>, Refusal> {
    let Some(names) = fields.optional::<Vec<Arc<str>>>("prefer")? else {
        return Ok(Wish::ALL.to_vec());
    };
    let mut wishes = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let wish = Wish::ALL.into_iter().find(|wish| wish.name() == &**name);
        let Some(wish) = wish.filter(|wish| !wishes.contains(wish)) else {
            return Err(Refusal::new(
                format!("{}[{index}]", fields.path("prefer")),
                format!("{name:?}"),
                format!("each once, of {}", Wish::ALL.map(Wish::name).join(", ")),
            ));
        };
        wishes.push(wish);
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
            if times == 0
                || times > MOST_SPANS_OF_A_LINE
                || spans.len() + lengths.len() > MOST_SPANS_OF_A_LINE
            {
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
