//! Laying out along the flutes: where a run of spans is cut into panels.
//!
//! Cuts stand at supports only. Every panel keeps within the longest and shortest panel and the
//! most spans. Among the plans that do, the wishes decide in their order (by default: no panel on
//! a single span, then fewest panels, then three spans or more, then fewest different lengths),
//! and of equals the one with the longest panels first from the start. The choice is exact.
//!
//! In: a [`Line`] and the [`AlongLimits`]. Out: an [`Along`], the panels of one line in order.

use super::ends::{Butted, End, Joint, Rounding, Slope};
use super::lengths;
use super::measured::{Measured, measure};
use super::own_cut::own_cut;
use crate::length::Length;
use crate::value::Refusal;

/// No line has more spans.
pub const MOST_SPANS_OF_A_LINE: usize = 10_000;

/// What the cutting of a line should favour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Fewest panels that lie on one span alone.
    FewSingles,
    /// Fewest panels.
    FewPanels,
    /// Fewest panels on fewer than three spans.
    ThreeSpans,
    /// Fewest different order lengths in the line.
    FewLengths,
}

impl Wish {
    pub const ALL: [Wish; 4] =
        [Wish::FewSingles, Wish::FewPanels, Wish::ThreeSpans, Wish::FewLengths];

    /// Its name in rules.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Wish::FewSingles => "few singles",
            Wish::FewPanels => "few panels",
            Wish::ThreeSpans => "three spans",
            Wish::FewLengths => "few lengths",
        }
    }

    fn cost(self, spans: usize) -> u128 {
        u128::from(match self {
            Wish::FewSingles => spans == 1,
            Wish::FewPanels => true,
            Wish::ThreeSpans => spans < 3,
            Wish::FewLengths => false,
        })
    }
}

/// What a panel may be, and what is preferred (the first wish weighs most).
#[derive(Clone, Copy, Debug)]
pub struct AlongLimits<'a> {
    pub longest: Length,
    pub shortest: Length,
    pub most_spans: usize,
    pub wishes: &'a [Wish],
}

/// A line's own cutting, which wins over the layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut<'a> {
    /// How many spans each panel covers.
    Spans(&'a [usize]),
    /// The order length of each panel.
    Lengths(&'a [Length]),
}

/// What is to be cut: one line of panels.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// On plan, from the start end.
    pub spans: &'a [Length],
    pub start: End,
    pub far: End,
    /// How panels meet at every cut …
    pub joint: Joint,
    /// … but at these supports (the support before the first span is 0).
    pub joints_at: &'a [(usize, Joint)],
    /// Spans and end conditions are measured on plan; laps along the deck.
    pub slope: Slope,
    pub rounding: Rounding,
    pub cut: Option<Cut<'a>>,
}

/// A panel of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PanelAlong {
    /// The support where it begins and the one where it ends.
    pub from: usize,
    pub to: usize,
    /// Before rounding, laps and end conditions included.
    pub exact: Length,
    /// As ordered.
    pub order: Length,
    pub lapped: bool,
}

impl PanelAlong {
    #[must_use]
    pub const fn spans(&self) -> usize {
        self.to - self.from
    }

    #[must_use]
    pub const fn single_span(&self) -> bool {
        self.to - self.from == 1
    }
}

/// One line of panels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Along {
    pub panels: Vec<PanelAlong>,
    /// The line from end to end along the deck, end conditions included, laps not.
    pub length: Length,
    /// Where a cut of the estimator's own leaves a limit or a support, in words.
    pub breaches: Vec<String>,
    /// False where the search for the fewest different lengths had to stop early: the plan is the
    /// best in every wish before that one, and good in that one.
    pub proved: bool,
}

/// Cuts a line into panels.
///
/// Refuses spans that are not above zero or too many, limits that contradict each other, a span
/// longer than the longest panel, a line that can not be cut within the limits, and a cut of the
/// line's own that does not fit its spans.
pub fn lay_along(line: &Line<'_>, limits: &AlongLimits<'_>) -> Result<Along, Refusal> {
    check_limits(limits)?;
    let measured = measure(line)?;
    let count = line.spans.len();
    if let Some(cut) = line.cut {
        let (panels, breaches) = own_cut(&measured, line.spans, cut, limits)?;
        return Ok(Along { panels, length: measured.length, breaches, proved: true });
    }
    let whole = measured.panel(0, count);
    let (mut panels, proved) = if count <= limits.most_spans && within(&whole, limits) {
        (vec![whole], true)
    } else {
        best(&measured, line.spans, limits)?
    };
    keep_from_growing(&mut panels, line.rounding, limits);
    Ok(Along { panels, length: measured.length, breaches: Vec::new(), proved })
}

fn check_limits(limits: &AlongLimits<'_>) -> Result<(), Refusal> {
    if !limits.longest.is_positive() || limits.longest > Length::LONGEST {
        return Err(Refusal::new("longest_ft", limits.longest, "a length above 0 ft"));
    }
    if limits.shortest < Length::ZERO || limits.shortest > limits.longest {
        return Err(Refusal::new(
            "shortest_ft",
            limits.shortest,
            format!("a length from 0 ft to the longest panel, {}", limits.longest),
        ));
    }
    if limits.most_spans == 0 {
        return Err(Refusal::new("most_spans", 0, "a count of 1 or more"));
    }
    Ok(())
}

/// Both the exact and the order length are within the limits, whichever way the latter is rounded.
fn within(panel: &PanelAlong, limits: &AlongLimits<'_>) -> bool {
    let least = panel.exact.min(panel.order);
    // A butted panel whose nearest step is beyond the longest panel can still be rounded down.
    let most = if panel.lapped { panel.order.max(panel.exact) } else { panel.exact };
    least.is_positive() && limits.shortest <= least && most <= limits.longest
}

/// The best plan by the wishes, and whether that is proved.
fn best(
    measured: &Measured,
    spans: &[Length],
    limits: &AlongLimits<'_>,
) -> Result<(Vec<PanelAlong>, bool), Refusal> {
    let count = spans.len();
    let lengths_at = limits.wishes.iter().position(|wish| *wish == Wish::FewLengths);
    let (before, after) = match lengths_at {
        Some(at) => (&limits.wishes[..at], &limits.wishes[at + 1..]),
        None => (limits.wishes, &[][..]),
    };
    let cost = |wishes: &[Wish], spans: usize| {
        wishes.iter().take(4).fold(0, |cost, wish| cost << 32 | wish.cost(spans))
    };

    let mut rest: Vec<Option<u128>> = vec![None; count + 1];
    rest[count] = Some(0);
    for from in (0..count).rev() {
        for panel in panels_from(measured, from, limits) {
            if let Some(further) = rest[panel.to] {
                let total = further + cost(before, panel.spans());
                if rest[from].is_none_or(|known| total < known) {
                    rest[from] = Some(total);
                }
            }
        }
    }
    if rest[0].is_none() {
        return Err(no_plan(measured, spans, limits));
    }

    let mut reached = vec![false; count + 1];
    reached[0] = true;
    let mut choices = Vec::with_capacity(2 * count);
    for from in 0..count {
        if !reached[from] {
            continue;
        }
        for panel in panels_from(measured, from, limits) {
            let total = rest[panel.to].map(|further| further + cost(before, panel.spans()));
            if total.is_some() && total == rest[from] {
                reached[panel.to] = true;
                choices.push(panel);
            }
        }
    }
    let costs_after = |spans: usize| cost(after, spans);
    Ok(if lengths_at.is_some() {
        lengths::fewest(&choices, count, &costs_after)
    } else {
        (lengths::longest_first(&choices, count, &|_| true, &costs_after), true)
    })
}

/// The panels within the limits that begin at a support.
fn panels_from<'a>(
    measured: &'a Measured,
    from: usize,
    limits: &'a AlongLimits<'_>,
) -> impl Iterator<Item = PanelAlong> + 'a {
    let last = (measured.supports.len() - 1).min(from.saturating_add(limits.most_spans));
    let reach = limits.longest.exact() + measured.slack + measured.supports[from].begin;
    (from + 1..=last)
        .take_while(move |to| measured.supports[*to].end <= reach)
        .map(move |to| measured.panel(from, to))
        .filter(|panel| within(panel, limits))
}

/// Why no plan exists: the first span that no panel covers, or all of it.
fn no_plan(measured: &Measured, spans: &[Length], limits: &AlongLimits<'_>) -> Refusal {
    for (index, span) in spans.iter().enumerate() {
        let panel = measured.panel(index, index + 1);
        if panel.exact > limits.longest || (panel.lapped && panel.order > limits.longest) {
            let found = if panel.order == *span {
                span.to_string()
            } else {
                format!("{span}, a panel of {}", panel.order.max(panel.exact))
            };
            return Refusal::new(
                format!("spans_ft[{index}]"),
                found,
                format!("a span within the longest panel, {}", limits.longest),
            );
        }
    }
    Refusal::new(
        "spans_ft",
        format!("{} span{}, {}", spans.len(), plural(spans.len()), measured.length),
        format!(
            "spans that can be cut at supports into panels of {} to {} and at most {} span{} each",
            limits.shortest,
            limits.longest,
            limits.most_spans,
            plural(limits.most_spans)
        ),
    )
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

/// Rounds butted panels down, equal ones alike, where rounding to the nearest would make the line
/// (or any run of it from the start, by more than half a step) longer than it is.
pub(super) fn keep_from_growing(
    panels: &mut [PanelAlong],
    rounding: Rounding,
    limits: &AlongLimits<'_>,
) {
    if rounding.butted == Butted::Down || !rounding.step.is_positive() {
        return;
    }
    for panel in panels.iter_mut().filter(|panel| !panel.lapped) {
        if panel.order > limits.longest {
            panel.order = panel.exact.floor_to(rounding.step);
        }
    }
    while let Some(run) = growing_run(panels, rounding.step) {
        let Some(worst) = panels[..run]
            .iter()
            .filter(|panel| !panel.lapped && panel.order > panel.exact)
            .max_by_key(|panel| panel.order - panel.exact)
            .map(|panel| panel.exact)
        else {
            return;
        };
        for panel in panels.iter_mut().filter(|panel| !panel.lapped && panel.exact == worst) {
            panel.order = panel.exact.floor_to(rounding.step);
        }
    }
}

/// How many panels from the start make the first run that grows.
fn growing_run(panels: &[PanelAlong], step: Length) -> Option<usize> {
    let mut grown = 0_i64;
    for (index, panel) in panels.iter().enumerate() {
        if panel.lapped {
            grown = 0;
            continue;
        }
        grown += (panel.order - panel.exact).exact();
        let ends = panels.get(index + 1).is_none_or(|next| next.lapped);
        if grown > if ends { 0 } else { step.exact() / 2 } {
            return Some(index + 1);
        }
    }
    None
}
