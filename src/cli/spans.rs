//! `reference spans`: the longest unshored spans of every composite profile of the catalogue, as the
//! rules in force reckon them for a schedule.
//!
//! In: the shop's catalogue and rules. Out: a row for each profile, gauge, slab and mix, taken from
//! the table `spans` of a schedule that has a bay of each.

use std::fmt::Write as _;
use std::sync::Arc;

use serde::Serialize;

use super::run::why;
use super::{Common, load};
use crate::catalogue::{Catalogue, Use};
use crate::finding::Finding;
use crate::rules;
use crate::schedule::{made_bytes, read_bytes};
use crate::table::{Report, Table};
use crate::value::{Record, Value};

/// The gauges of composite deck (common practice), and the slabs in half inches that are usual.
const GAUGES: [&str; 4] = ["22", "20", "18", "16"];
const HALF_INCHES: std::ops::RangeInclusive<u32> = 7..=15;
const LEAST_TOPPING_IN: f64 = 2.0;
const GRADE: &str = "SS 40";
const CAUTION: &str = "Where deck carries wet concrete and a crew without shores by the limits that \
    the rules state; from generic shapes unless the catalogue gives published properties. It is no \
    design and approves nothing: the supplier's published spans take precedence, and the engineer \
    of record is asked before deck is ordered, erected or poured on.";

/// One line: the longest span, ft, for one, two and three equal spans.
#[derive(Serialize)]
pub struct Line {
    pub profile: String,
    pub mix: String,
    pub gauge: &'static str,
    pub slab_in: f64,
    pub spans_ft: [f64; 3],
}

/// Every line that the catalogue has.
pub fn lines(common: &Common) -> Result<Vec<Line>, Vec<Finding>> {
    let shop = load::shop(common)?;
    let options = load::read_options(shop.as_ref(), common)?;
    let asked = asked(&options.catalogue);
    let text = |pairs: &[(&str, &str)]| -> Record {
        pairs.iter().map(|(name, text)| (Arc::from(*name), Value::text(*text))).collect()
    };
    let (mut types, mut bays) = (Vec::new(), Vec::new());
    for (at, line) in asked.iter().enumerate() {
        let (mark, slab) = (format!("T{at}"), format!("{}", line.slab_in));
        types.push(text(&[
            ("Type", &mark),
            ("Use", "composite"),
            ("Profile", &line.profile),
            ("Gauge", line.gauge),
            ("Grade", GRADE),
            ("Finish", "G60"),
            ("Slab", &slab),
            ("Mix", &line.mix),
        ]));
        bays.push(text(&[
            ("Level", "1"),
            ("Bay", &mark),
            ("Type", &mark),
            ("Spans", "8'"),
            ("Width", "6'"),
        ]));
    }
    let sheets = [("Types".to_owned(), types), ("Bays".to_owned(), bays)];
    let bytes =
        made_bytes(&sheets).map_err(|error| vec![Finding::error("not-made", error.to_string())])?;
    let (job, findings) =
        read_bytes(bytes, "spans.xlsx", &options).map_err(|unreadable| unreadable.findings)?;
    let scripts = Arc::new(rules::scripts(shop.as_ref())?);
    let options = load::run_options(common);
    let report = rules::run(Arc::new(job), scripts, findings, options);
    let report = report.map_err(|ended| why(ended, options))?;
    filled(asked, &report)
}

/// The lines that are asked for, without their spans.
fn asked(catalogue: &Catalogue) -> Vec<Line> {
    let of_kind = |lightweight: bool| {
        catalogue.mixes().iter().find(|mix| mix.name.starts_with("LW") == lightweight)
    };
    let mut lines = Vec::new();
    for profile in catalogue.profiles() {
        if profile.used_as != Use::Composite {
            continue;
        }
        for mix in [false, true].into_iter().filter_map(of_kind) {
            for slab_in in HALF_INCHES.map(|halves| f64::from(halves) / 2.0) {
                if slab_in - profile.depth_in < LEAST_TOPPING_IN {
                    continue;
                }
                lines.extend(GAUGES.map(|gauge| Line {
                    profile: profile.name.to_string(),
                    mix: mix.name.to_string(),
                    gauge,
                    slab_in,
                    spans_ft: [0.0; 3],
                }));
            }
        }
    }
    lines
}

fn filled(mut lines: Vec<Line>, report: &Report) -> Result<Vec<Line>, Vec<Finding>> {
    let missing = || {
        let mut findings: Vec<Finding> = report.findings.clone();
        findings.retain(|finding| finding.severity == crate::finding::Severity::Error);
        findings.push(Finding::error("no-spans", "the table `spans` does not give every span"));
        findings
    };
    let table: &Table = report.table("spans").ok_or_else(missing)?;
    let column = |key: &str| table.column(key);
    let columns = [column("one_ft"), column("two_ft"), column("three_ft")];
    let kind = column("type").ok_or_else(missing)?;
    for row in 0..table.rows {
        let cells = table.row(row);
        let mark = cells.text(kind).and_then(|mark| mark.get(1..));
        let at = mark.and_then(|mark| mark.parse::<usize>().ok()).ok_or_else(missing)?;
        let line = lines.get_mut(at).ok_or_else(missing)?;
        for (span_ft, column) in line.spans_ft.iter_mut().zip(columns) {
            let cell = column.and_then(|column| cells.get(column)?.as_number());
            *span_ft = cell.ok_or_else(missing)?;
        }
    }
    if table.rows == lines.len() { Ok(lines) } else { Err(missing()) }
}

/// The lines as text: a block a profile and mix, a row a slab, three spans a gauge.
pub fn text(lines: &[Line]) -> String {
    let mut text = format!(
        "Longest unshored spans, ft, grade {GRADE}: one, two and three equal spans\n{CAUTION}\n"
    );
    let mut last: Option<(&str, &str, f64)> = None;
    for line in lines {
        let here = (line.profile.as_str(), line.mix.as_str(), line.slab_in);
        if last.is_none_or(|last| (last.0, last.1) != (here.0, here.1)) {
            let _ = write!(text, "\n{}, {}\n{:>8}", line.profile, line.mix, "slab");
            for gauge in GAUGES {
                let _ = write!(text, "   {:<20}", format!("{gauge} ga"));
            }
        }
        if last != Some(here) {
            let _ = write!(text, "\n{:>5.1} in", line.slab_in);
        }
        let [one, two, three] = line.spans_ft;
        let _ = write!(text, "   {one:>6.2} {two:>6.2} {three:>6.2}");
        last = Some(here);
    }
    text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}
