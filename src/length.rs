//! Exact feet and inches.
//!
//! A [`Length`] is a whole number of eighths of a micrometre, the largest unit in which both a
//! sixty-fourth of an inch (3,175) and a millimetre (8,000) are whole. Panels are counted, cut,
//! grouped and compared in this type alone; scripts see plain numbers in the unit that the name
//! says, and every built-in rounds them back to the exact unit at its border.
//!
//! In: text as people type it ([`parse`]) or a number with a unit. Out: exact lengths, and text
//! with reduced fractions.

mod builtin;
mod text;

pub use text::{ParseError, Typed, Widths, parse, parse_list, parse_widths, unit_of};

use crate::builtin::Room;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// The built-ins `length::`.
pub const ROOM: Room = Room {
    name: "length",
    about: "Lengths as text and back, exact rounding.",
    lists: &[builtin::BUILTINS],
};

/// An exact length.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(transparent)]
pub struct Length(i64);

/// A unit in which lengths are typed or shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    Foot,
    Inch,
    Metre,
    Centimetre,
    Millimetre,
}

impl Unit {
    /// How many exact units make one of this unit.
    #[must_use]
    pub const fn exact(self) -> i64 {
        match self {
            Unit::Foot => 2_438_400,
            Unit::Inch => 203_200,
            Unit::Metre => 8_000_000,
            Unit::Centimetre => 80_000,
            Unit::Millimetre => 8_000,
        }
    }

    /// The unit's usual sign: `ft`, `in`, `m`, `cm`, `mm`.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Unit::Foot => "ft",
            Unit::Inch => "in",
            Unit::Metre => "m",
            Unit::Centimetre => "cm",
            Unit::Millimetre => "mm",
        }
    }
}

impl Length {
    pub const ZERO: Length = Length(0);
    /// A sixty-fourth of an inch, the finest fraction printed.
    pub const SIXTY_FOURTH: Length = Length(3_175);
    /// No length of a job is longer: 100,000 ft. Sums of a full worksheet stay within the type.
    pub const LONGEST: Length = Length(100_000 * Unit::Foot.exact());

    /// A length from exact units.
    #[must_use]
    pub const fn from_exact(units: i64) -> Length {
        Length(units)
    }

    /// The number of exact units.
    #[must_use]
    pub const fn exact(self) -> i64 {
        self.0
    }

    /// Whole feet.
    #[must_use]
    pub const fn feet(feet: i64) -> Length {
        Length(feet * Unit::Foot.exact())
    }

    /// Whole inches.
    #[must_use]
    pub const fn inches(inches: i64) -> Length {
        Length(inches * Unit::Inch.exact())
    }

    /// Whole sixty-fourths of an inch.
    #[must_use]
    pub const fn sixty_fourths(count: i64) -> Length {
        Length(count * Length::SIXTY_FOURTH.0)
    }

    /// A plain number in a unit, rounded to the exact unit; `None` where it is no finite number or
    /// lies beyond [`Length::LONGEST`].
    #[must_use]
    pub fn from_number(number: f64, unit: Unit) -> Option<Length> {
        #[allow(clippy::cast_precision_loss, reason = "constants far below 2^53")]
        let (scale, limit) = (unit.exact() as f64, Length::LONGEST.0 as f64);
        let units = (number * scale).round();
        #[allow(clippy::cast_possible_truncation, reason = "bounded by the check before it")]
        (units.is_finite() && units.abs() <= limit).then_some(Length(units as i64))
    }

    /// The plain number in a unit.
    #[must_use]
    pub fn in_unit(self, unit: Unit) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "lengths stay far below 2^53 exact units")]
        let number = self.0 as f64 / unit.exact() as f64;
        number
    }

    /// The plain number in feet.
    #[must_use]
    pub fn in_feet(self) -> f64 {
        self.in_unit(Unit::Foot)
    }

    /// The plain number in inches.
    #[must_use]
    pub fn in_inches(self) -> f64 {
        self.in_unit(Unit::Inch)
    }

    #[must_use]
    pub const fn abs(self) -> Length {
        Length(self.0.abs())
    }

    #[must_use]
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// How many whole `other` fit into this length, and what is left; `other` must be positive.
    #[must_use]
    pub const fn div_rem(self, other: Length) -> Option<(i64, Length)> {
        if other.0 <= 0 {
            return None;
        }
        Some((self.0.div_euclid(other.0), Length(self.0.rem_euclid(other.0))))
    }

    /// The least count of `other` that covers this length; `other` must be positive.
    #[must_use]
    pub const fn count_to_cover(self, other: Length) -> Option<i64> {
        match self.div_rem(other) {
            Some((count, rest)) => Some(if rest.0 > 0 { count + 1 } else { count }),
            None => None,
        }
    }

    /// Rounded down to a whole number of steps (a step of zero changes nothing).
    #[must_use]
    pub const fn floor_to(self, step: Length) -> Length {
        match self.div_rem(step) {
            Some((count, _)) => Length(count * step.0),
            None => self,
        }
    }

    /// Rounded up to a whole number of steps (a step of zero changes nothing).
    #[must_use]
    pub const fn ceil_to(self, step: Length) -> Length {
        match self.div_rem(step) {
            Some((count, rest)) if rest.0 > 0 => Length((count + 1) * step.0),
            Some(_) | None => self,
        }
    }

    /// Rounded to the nearest whole number of steps, halves up (a step of zero changes nothing).
    #[must_use]
    pub const fn round_to(self, step: Length) -> Length {
        match self.div_rem(step) {
            Some((count, rest)) if rest.0 * 2 >= step.0 => Length((count + 1) * step.0),
            Some((count, _)) => Length(count * step.0),
            None => self,
        }
    }

    /// Multiplied by a count; `None` where the product leaves the type.
    #[must_use]
    pub const fn checked_mul(self, count: i64) -> Option<Length> {
        match self.0.checked_mul(count) {
            Some(units) => Some(Length(units)),
            None => None,
        }
    }

    /// Added; `None` where the sum leaves the type.
    #[must_use]
    pub const fn checked_add(self, other: Length) -> Option<Length> {
        match self.0.checked_add(other.0) {
            Some(units) => Some(Length(units)),
            None => None,
        }
    }

    /// Inches with a reduced fraction, for thicknesses: `6 1/4"`.
    #[must_use]
    pub fn as_inches_text(self) -> String {
        let sign = if self.0 < 0 { "-" } else { "" };
        let text = inches_text(self.0.unsigned_abs());
        format!("{sign}{}", text.strip_prefix("0 ").unwrap_or(&text))
    }
}

/// Feet and inches with a reduced fraction: `30'-0"`, `24'-6 1/2"`, `-0'-4"`. A length that is no
/// whole number of sixty-fourths is shown with decimal inches.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let units = self.0.unsigned_abs();
        let foot = Unit::Foot.exact().unsigned_abs();
        let (feet, rest) = (units / foot, units % foot);
        let sign = if self.0 < 0 { "-" } else { "" };
        f.pad(&format!("{sign}{feet}'-{}", inches_text(rest)))
    }
}

/// Inches of so many exact units, with a reduced fraction or, failing that, decimals.
fn inches_text(units: u64) -> String {
    let inch = Unit::Inch.exact().unsigned_abs();
    let sixty_fourth = Length::SIXTY_FOURTH.0.unsigned_abs();
    let (whole, rest) = (units / inch, units % inch);
    if rest == 0 {
        return format!("{whole}\"");
    }
    if rest % sixty_fourth != 0 {
        #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
        let inches = units as f64 / inch as f64;
        let text = format!("{inches:.6}");
        return format!("{}\"", text.trim_end_matches('0').trim_end_matches('.'));
    }
    let (mut top, mut bottom) = (rest / sixty_fourth, 64);
    while top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    format!("{whole} {top}/{bottom}\"")
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        *self = *self + other;
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0.saturating_sub(other.0))
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Length) {
        *self = *self - other;
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(self.0.saturating_neg())
    }
}

impl Mul<i64> for Length {
    type Output = Length;
    fn mul(self, count: i64) -> Length {
        Length(self.0.saturating_mul(count))
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        lengths.fold(Length::ZERO, Add::add)
    }
}
