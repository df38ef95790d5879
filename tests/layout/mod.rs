//! The layout of panels: along, across, strips, outlines, bundles and loads.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

mod across;
mod along;
mod any_input;
mod blocks;
mod loads;
mod shape;
mod strip;

use baytally::deck::layout::across::LeftoverRules;
use baytally::deck::layout::along::{AlongLimits, Line, Wish};
use baytally::deck::layout::ends::{Butted, End, Joint, Rounding, Slope};
use baytally::deck::layout::plan::{Plan, StripSpec, lay_strip};
use baytally::length::{Length, Typed};
use baytally::value::Refusal;

/// Feet and inches.
fn ft(feet: i64, inches: i64) -> Length {
    Length::feet(feet) + Length::inches(inches)
}

fn typed(length: Length) -> Typed {
    Typed { length, half_digit: Length::ZERO }
}

fn eighth() -> Rounding {
    Rounding { step: Length::sixty_fourths(8), butted: Butted::Down }
}

fn limits(longest: Length) -> AlongLimits<'static> {
    AlongLimits { longest, shortest: ft(6, 0), most_spans: 100, wishes: &Wish::ALL }
}

fn butted(spans: &[Length]) -> Line<'_> {
    Line {
        spans,
        start: End::CentreLine,
        far: End::CentreLine,
        joint: Joint::Butt,
        joints_at: &[],
        slope: Slope::default(),
        rounding: eighth(),
        cut: None,
    }
}

/// A strip of 3 ft cover and panels up to 40 ft, butted and ending on centre lines.
fn butted_strip(
    spans: &[&[Length]],
    widths: &[&[Vec<Typed>]],
    copies: i64,
    leftover: LeftoverRules,
) -> Result<Plan, Refusal> {
    lay_strip(&StripSpec {
        spans,
        widths,
        copies,
        cover: ft(3, 0),
        leftover,
        limits: limits(ft(40, 0)),
        start: End::CentreLine,
        far: End::CentreLine,
        joint: Joint::Butt,
        joints_at: &[],
        slope: Slope::default(),
        rounding: eighth(),
        cut: None,
    })
}
