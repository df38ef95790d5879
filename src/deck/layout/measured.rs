//! A line of panels measured along the deck: slope, laps and end conditions worked in.
//!
//! In: a [`Line`]. Out: where panels begin and end at each support.

use super::along::{Line, MOST_SPANS_OF_A_LINE, PanelAlong};
use super::ends::{End, Joint, Rounding, Slope};
use crate::length::Length;
use crate::value::Refusal;

/// A support as the panels at it see it, in exact units along the deck.
#[derive(Clone, Copy, Debug)]
pub(super) struct Support {
    /// Where a panel that begins here starts.
    pub(super) begin: i64,
    /// Where a panel that ends here stops.
    pub(super) end: i64,
    pub(super) lapped: bool,
}

/// The line with everything measured along the deck.
pub(super) struct Measured {
    pub(super) supports: Vec<Support>,
    /// How much nearer than a support before it the end of a panel may be.
    pub(super) slack: i64,
    pub(super) length: Length,
    pub(super) rounding: Rounding,
}

impl Measured {
    pub(super) fn panel(&self, from: usize, to: usize) -> PanelAlong {
        let (first, last) = (self.supports[from], self.supports[to]);
        let exact = Length::from_exact(last.end - first.begin);
        let lapped = first.lapped || last.lapped;
        PanelAlong { from, to, exact, order: self.rounding.order(exact, lapped), lapped }
    }
}

/// Measures a line along the deck. Refuses spans that are not above zero or too many, laps, slopes
/// and end conditions out of range, and a line that is too long or held back to nothing.
pub(super) fn measure(line: &Line<'_>) -> Result<Measured, Refusal> {
    let count = line.spans.len();
    if count == 0 || count > MOST_SPANS_OF_A_LINE {
        return Err(Refusal::new(
            "spans_ft",
            format!("a list of {count}"),
            format!("a list of 1 to {MOST_SPANS_OF_A_LINE} spans"),
        ));
    }
    let joint_at = |support: usize| {
        let own = line.joints_at.iter().find(|(at, _)| *at == support);
        own.map_or(line.joint, |(_, joint)| *joint)
    };
    for joint in line.joints_at.iter().map(|(_, joint)| *joint).chain([line.joint]) {
        if let Joint::Lap(lap) = joint
            && (!lap.is_positive() || lap > Length::feet(10))
        {
            return Err(Refusal::new("lap_in", lap, "a length above 0 in, up to 120 in"));
        }
    }
    let slope = |plan: Length| {
        line.slope.along(plan).ok_or_else(|| {
            Refusal::new(
                "slope_rise_in_12",
                line.slope.rise_in_12.as_inches_text(),
                format!("a rise from 0 to {} in 12", Slope::STEEPEST.rise_in_12.as_inches_text()),
            )
        })
    };
    let end = |argument: &str, end: End| match end {
        End::Beyond(by) if by.abs() > Length::LONGEST => {
            Err(Refusal::new(argument, by, "a length up to 100,000 ft"))
        }
        End::Beyond(by) => slope(by).map(Length::exact),
        End::CentreLine | End::Continues => Ok(0),
    };
    let (start, far) = (end("start_end", line.start)?, end("far_end", line.far)?);

    let mut supports = Vec::with_capacity(count + 1);
    let mut at = 0_i64;
    for index in 0..=count {
        let (joint, beyond) = match (index, line.start, line.far) {
            (0, End::Continues, _) => (joint_at(0), 0),
            (0, ..) => (Joint::Butt, start),
            (_, _, End::Continues) if index == count => (joint_at(index), 0),
            _ if index == count => (Joint::Butt, far),
            _ => (joint_at(index), 0),
        };
        supports.push(Support {
            begin: at - joint.beginning() - beyond,
            end: at + joint.ending() + beyond,
            lapped: joint.laps(),
        });
        if let Some(span) = line.spans.get(index) {
            if !span.is_positive() || *span > Length::LONGEST {
                return Err(Refusal::new(
                    format!("spans_ft[{index}]"),
                    span,
                    "a length above 0 ft, up to 100,000 ft",
                ));
            }
            at += slope(*span)?.exact();
        }
    }
    let length = Length::from_exact(at + start + far);
    if length > Length::LONGEST || !length.is_positive() {
        return Err(Refusal::new(
            "spans_ft",
            format!("{length} from end to end"),
            "a line above 0 ft, up to 100,000 ft long",
        ));
    }
    let (first, last) = (line.spans[0], line.spans[count - 1]);
    for (argument, beyond, span) in [("start_end", start, first), ("far_end", far, last)] {
        if -beyond >= slope(span)?.exact() {
            return Err(Refusal::new(
                argument,
                format!("held back {}", Length::from_exact(-beyond)),
                format!("less than the end span, {span}"),
            ));
        }
    }
    let slack = supports
        .iter()
        .map(|support| support.end)
        .fold((0, 0), |(most, slack), end| (most.max(end), slack.max(most - end)));
    Ok(Measured { supports, slack: slack.1, length, rounding: line.rounding })
}
