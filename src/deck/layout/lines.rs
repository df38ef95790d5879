//! Lines of panels over the parts of a shape's strips, each different line laid once.
//!
//! In: parts. Out: panels from the lowest to the highest point of each, broken at supports.

use std::collections::BTreeMap;

use super::along::{AlongLimits, Line, PanelAlong, lay_along};
use super::blocks::{Lies, lies};
use super::ends::{Butted, End, Rounding};
use super::outline::Part;
use super::shape::ShapeSpec;
use crate::length::Length;
use crate::value::Refusal;

/// A line of panels over a part.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub(super) panels: Vec<PanelAlong>,
    /// Panels that are shorter than the shortest before they are raised to it.
    pub(super) short: Vec<bool>,
    /// Where they lie.
    pub(super) lies: Vec<Lies>,
    pub(super) proved: bool,
}

/// Lines that have been laid, by their ends.
pub(super) struct Lines<'a> {
    pub(super) spec: &'a ShapeSpec<'a>,
    pub(super) along: (Length, Length),
    pub(super) supports: Vec<Length>,
    pub(super) laid: BTreeMap<(Length, Length), Laid>,
    pub(super) breaches: Vec<String>,
}

impl Lines<'_> {
    /// The spans between the ends of a part: whole ones, and what it takes of the outer two.
    fn spans(&self, part: &Part) -> Vec<Length> {
        let (low, high) = (part.low - self.along.0, part.high - self.along.0);
        let first = self.supports.partition_point(|support| *support <= low);
        let mut spans = Vec::new();
        let mut at = low;
        for support in &self.supports[first..] {
            let stop = (*support).min(high);
            spans.push(stop - at);
            at = stop;
            if at == high {
                break;
            }
        }
        spans
    }

    fn line<'s>(&self, part: &Part, spans: &'s [Length]) -> Line<'s>
    where
        Self: 's,
    {
        let end = |at_end: bool, end: End| if at_end { end } else { End::CentreLine };
        Line {
            spans,
            start: end(part.low == self.along.0, self.spec.start),
            far: end(part.high == self.along.1, self.spec.far),
            joint: self.spec.joint,
            joints_at: &[],
            slope: self.spec.slope,
            rounding: self.spec.rounding,
            cut: None,
        }
    }

    /// The length of a part along the deck.
    pub(super) fn along_the_deck(&self, part: &Part) -> Length {
        let spans = self.spans(part);
        let far = part.high == self.along.1;
        let beyond = |at_end: bool, end: End| match end {
            End::Beyond(by) if at_end => by,
            _ => Length::ZERO,
        };
        spans
            .into_iter()
            .chain([beyond(part.low == self.along.0, self.spec.start)])
            .chain([beyond(far, self.spec.far)])
            .filter_map(|plan| self.spec.slope.along(plan))
            .sum()
    }

    pub(super) fn lay(&mut self, part: &Part) -> Result<&Laid, Refusal> {
        let ends = (part.low, part.high);
        if !self.laid.contains_key(&ends) {
            let laid = self.lay_new(part)?;
            self.laid.insert(ends, laid);
        }
        self.laid.get(&ends).ok_or_else(|| Refusal::new("spans_ft", "lost", "a line laid before"))
    }

    fn lay_new(&mut self, part: &Part) -> Result<Laid, Refusal> {
        let spans = self.spans(part);
        let line = self.line(part, &spans);
        let limits = self.spec.limits;
        if let Some(cut) = self.spec.cut
            && let Ok(along) = lay_along(&Line { cut: Some(cut), ..line }, &limits)
        {
            for breach in along.breaches {
                if !self.breaches.contains(&breach) {
                    self.breaches.push(breach);
                }
            }
            let short = vec![false; along.panels.len()];
            let lies = lies(&along.panels, &spans, part.low);
            return Ok(Laid { panels: along.panels, short, lies, proved: true });
        }
        let whole = part.low == self.along.0 && part.high == self.along.1;
        match lay_along(&line, &limits) {
            Err(_) if !whole => self.lay_with_short_panels(&line, part.low),
            laid => laid.map(|along| {
                let short = vec![false; along.panels.len()];
                let lies = lies(&along.panels, &spans, part.low);
                Laid { panels: along.panels, short, lies, proved: along.proved }
            }),
        }
    }

    /// A line that can not be cut within the limits without panels below the shortest: these are
    /// ordered at the shortest and cut.
    fn lay_with_short_panels(&self, line: &Line<'_>, low: Length) -> Result<Laid, Refusal> {
        let limits = self.spec.limits;
        let any = AlongLimits { shortest: Length::ZERO, ..limits };
        let exact = Line { rounding: Rounding::default(), ..*line };
        let mut along = lay_along(line, &any).or_else(|_| lay_along(&exact, &any))?;
        let Rounding { step, .. } = self.spec.rounding;
        let down = Rounding { step, butted: Butted::Down };
        let mut short = Vec::with_capacity(along.panels.len());
        for panel in &mut along.panels {
            if step.is_positive() && panel.order.exact() % step.exact() != 0 {
                panel.order = down.order(panel.exact, panel.lapped);
            }
            let below = panel.order < limits.shortest || !panel.order.is_positive();
            short.push(below);
            if below {
                panel.order = limits.shortest.max(panel.exact).ceil_to(step);
            }
        }
        let lies = lies(&along.panels, line.spans, low);
        Ok(Laid { panels: along.panels, short, lies, proved: along.proved })
    }
}
