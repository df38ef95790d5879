//! An estimator's own cutting: it wins over the layout, and the limits are still checked.
//!
//! In: a line and how it is cut. Out: its panels, and where they leave a limit or a support.

use super::along::{AlongLimits, Cut, PanelAlong, keep_from_growing};
use super::measured::Measured;
use crate::length::Length;
use crate::value::Refusal;

/// The panels of an own cut, and where they leave the limits.
pub(super) fn own_cut(
    measured: &Measured,
    spans: &[Length],
    cut: Cut<'_>,
    limits: &AlongLimits<'_>,
) -> Result<(Vec<PanelAlong>, Vec<String>), Refusal> {
    let count = spans.len();
    let mut breaches = Vec::new();
    let mut panels = Vec::new();
    match cut {
        Cut::Spans(parts) => {
            let total = parts.iter().fold(0_usize, |sum, part| sum.saturating_add(*part));
            if total != count || parts.contains(&0) {
                return Err(Refusal::new(
                    "cut",
                    format!("{} spans in {} panels", total, parts.len()),
                    format!("panels of 1 span or more that make up {count} spans"),
                ));
            }
            let mut from = 0;
            for part in parts {
                panels.push(measured.panel(from, from + part));
                from += part;
            }
            keep_from_growing(&mut panels, measured.rounding, limits);
        }
        Cut::Lengths(lengths) => {
            let mut from = 0;
            for (index, length) in lengths.iter().enumerate() {
                let nearest = (from + 1..=count)
                    .map(|to| measured.panel(from, to))
                    .min_by_key(|panel| (panel.exact - *length).abs());
                let Some(mut panel) = nearest.filter(|_| length.is_positive()) else {
                    return Err(Refusal::new(
                        format!("cut[{index}]"),
                        length,
                        "a length above 0 ft that ends at a support",
                    ));
                };
                let off = *length - panel.exact;
                if off.abs() > measured.rounding.step {
                    breaches.push(format!(
                        "panel {} of the cut is {length}, {} {} than its supports ask for",
                        index + 1,
                        off.abs(),
                        if off.is_positive() { "longer" } else { "shorter" },
                    ));
                }
                panel.order = *length;
                from = panel.to;
                panels.push(panel);
            }
            if from != count {
                return Err(Refusal::new(
                    "cut",
                    format!(
                        "{} in {} panels",
                        lengths.iter().copied().sum::<Length>(),
                        panels.len()
                    ),
                    format!("lengths that reach the last support, {}", measured.length),
                ));
            }
        }
    }
    for (index, panel) in panels.iter().enumerate() {
        let mut breach = |what: String| {
            breaches.push(format!("panel {} of the cut is {what}", index + 1));
        };
        if panel.order > limits.longest {
            breach(format!("{}, over the longest panel of {}", panel.order, limits.longest));
        }
        if panel.order < limits.shortest {
            breach(format!("{}, under the shortest panel of {}", panel.order, limits.shortest));
        }
        if panel.spans() > limits.most_spans {
            breach(format!("on {} spans, over the most of {}", panel.spans(), limits.most_spans));
        }
    }
    Ok((panels, breaches))
}
