//! What happens at the ends of a panel: the end conditions of a line, butts and laps over
//! supports, roof slope, and how an exact length is rounded to the length that is ordered.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::length::{self, Length, Unit};
use crate::value::{Feet, Refusal};

pub const BUILTINS: &[Builtin] = &[builtin!(end_reach_ft(end))];

/// How far deck reaches past the centre line of its last support at an end condition, as the layout
/// reads it.
///
/// - end: `cl`, `cont`, `+2"`, `-4"` (a bare number is inches), or blank for `cl`
///
/// Gives: ft; negative where it is held back, 0 at the centre line and where the deck goes on.
/// Source: definition.
/// Example: `deck::end_reach_ft("+1'-6\"")` = 1.5
pub fn end_reach_ft(end: Option<Arc<str>>) -> Result<Feet, Refusal> {
    match End::parse("end", end.as_deref().unwrap_or_default())? {
        End::Beyond(by) => Ok(Feet(by)),
        End::CentreLine | End::Continues => Ok(Feet(Length::ZERO)),
    }
}

/// Where a line of panels stops, measured from the centre line of its last support.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum End {
    /// Stops at the centre line of the support.
    #[default]
    CentreLine,
    /// Goes so far beyond the centre line; held back where negative.
    Beyond(Length),
    /// The deck goes on: the end is a cut like any other, butted or lapped.
    Continues,
}

impl End {
    /// Reads `cl`, `cont` or `cont.`, `+2"`, `-4"` (a bare number is inches) or blank (`cl`). Refuses other
    /// text, naming the argument.
    pub fn parse(argument: &str, text: &str) -> Result<End, Refusal> {
        let bare = text.trim().trim_end_matches('.');
        if bare.is_empty() || bare.eq_ignore_ascii_case("cl") {
            return Ok(End::CentreLine);
        }
        if bare.eq_ignore_ascii_case("cont") {
            return Ok(End::Continues);
        }
        let (back, rest) = match bare.strip_prefix(['-', '−', '–']) {
            Some(rest) => (true, rest),
            None => (false, bare.strip_prefix('+').unwrap_or(bare)),
        };
        match length::parse(rest.trim_start(), Unit::Inch) {
            Ok(typed) if typed.length >= Length::ZERO => {
                Ok(End::Beyond(if back { -typed.length } else { typed.length }))
            }
            _ => Err(Refusal::new(
                argument,
                format!("{text:?}"),
                "`cl`, `cont`, or a length beyond (+2\") or short of (-4\") the centre line",
            )),
        }
    }
}

/// How two panels of a line meet over a support.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Joint {
    /// End to end at the centre of the support.
    #[default]
    Butt,
    /// One over the other by so much, centred on the support.
    Lap(Length),
}

impl Joint {
    /// What the panel that ends here gains.
    pub(crate) fn ending(self) -> i64 {
        match self {
            Joint::Butt => 0,
            Joint::Lap(lap) => lap.exact() / 2,
        }
    }

    /// What the panel that begins here gains.
    pub(crate) fn beginning(self) -> i64 {
        match self {
            Joint::Butt => 0,
            Joint::Lap(lap) => lap.exact() - lap.exact() / 2,
        }
    }

    pub(crate) fn laps(self) -> bool {
        self != Joint::Butt
    }
}

/// A roof slope: the rise on 12 in of run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slope {
    pub rise_in_12: Length,
}

impl Slope {
    /// The steepest slope taken: 48 in 12.
    pub const STEEPEST: Slope = Slope { rise_in_12: Length::inches(48) };

    /// The length along the slope of a length on plan: times sqrt(1 + (rise/12)²), to the nearest
    /// exact unit. `None` where the slope is negative or steeper than [`Slope::STEEPEST`], or the
    /// length longer than [`Length::LONGEST`].
    #[must_use]
    pub fn along(self, plan: Length) -> Option<Length> {
        if self.rise_in_12 == Length::ZERO {
            return Some(plan);
        }
        let in_range = Length::ZERO..=Slope::STEEPEST.rise_in_12;
        if !in_range.contains(&self.rise_in_12) || plan.abs() > Length::LONGEST {
            return None;
        }
        let run = u128::from(Unit::Foot.exact().unsigned_abs());
        let rise = u128::from(self.rise_in_12.exact().unsigned_abs());
        let flat = u128::from(plan.exact().unsigned_abs());
        let scaled = (flat * flat * (run * run + rise * rise)).isqrt();
        let along = i64::try_from((2 * scaled + run) / (2 * run)).ok()?;
        Some(Length::from_exact(if plan.exact() < 0 { -along } else { along }))
    }
}

/// How exact lengths become order lengths. Lapped panels are rounded up; butted ones never so far
/// that the line grows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rounding {
    /// Order lengths are whole numbers of this; zero leaves the exact length.
    pub step: Length,
    pub butted: Butted,
}

/// How butted lengths are rounded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Butted {
    #[default]
    Down,
    /// To the nearest step where the line does not grow by it, else down.
    Nearest,
}

impl Rounding {
    /// The order length of one panel by itself.
    #[must_use]
    pub fn order(self, exact: Length, lapped: bool) -> Length {
        match (lapped, self.butted) {
            (true, _) => exact.ceil_to(self.step),
            (false, Butted::Down) => exact.floor_to(self.step),
            (false, Butted::Nearest) => exact.round_to(self.step),
        }
    }
}
