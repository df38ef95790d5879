//! The summary as lines for the terminal, and what changed in it.

use super::figure::{shown, signed, unit_name};
use crate::table::Report;
use crate::value::Value;

/// A line of the summary.
struct Figure {
    name: String,
    value: Value,
    unit: String,
}

impl Figure {
    fn shown(&self) -> String {
        shown(&self.value, &self.unit)
    }
}

fn figures(report: &Report) -> Vec<Figure> {
    let figure = |[name, value, unit]: [Value; 3]| Figure {
        name: shown(&name, ""),
        value,
        unit: shown(&unit, ""),
    };
    report.figures().into_iter().map(figure).collect()
}

/// The Summary table as aligned lines for the terminal.
#[must_use]
pub fn summary_lines(report: &Report) -> Vec<String> {
    let lines = figures(report);
    let wide = |pick: fn(&Figure) -> String| {
        lines.iter().map(|line| pick(line).chars().count()).max().unwrap_or(0)
    };
    let (names, values) = (wide(|line| line.name.clone()), wide(Figure::shown));
    lines
        .iter()
        .map(|line| {
            let unit = unit_name(&line.unit);
            let (name, value) = (&line.name, line.shown());
            format!("  {name:<names$}  {value:>values$} {unit}").trim_end().to_owned()
        })
        .collect()
}

/// The figures of the summary that are not what they were: `Panels 42 -> 40 (-2)`.
#[must_use]
pub fn summary_changes(old: &Report, new: &Report) -> Vec<String> {
    let before = figures(old);
    figures(new)
        .iter()
        .filter_map(|figure| {
            let was = before.iter().find(|was| was.name == figure.name && was.unit == figure.unit);
            let was = was.map_or(&Value::Blank, |was| &was.value);
            if *was == figure.value {
                return None;
            }
            let unit = unit_name(&figure.unit);
            let by = match (was.as_number(), figure.value.as_number()) {
                (Some(was), Some(is)) => format!(" ({})", signed(is - was, &figure.unit)),
                _ => String::new(),
            };
            let change = format!(
                "{} {} -> {} {unit}",
                figure.name,
                shown(was, &figure.unit),
                figure.shown()
            );
            Some(format!("{}{by}", change.trim_end()))
        })
        .collect()
}
