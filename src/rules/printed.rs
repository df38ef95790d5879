//! Keys of the Job sheet that look like rules and that no rule reads: they are printed, and nothing follows
//! them.

use std::sync::Arc;

use super::source::{From, Scripts};
use crate::finding::Finding;
use crate::job::Job;
use crate::value::Value;

/// Such keys, without units and percent, and where what they mean is stated.
const KEYS: &[(&[&str], &str)] = &[
    (&["mesh waste"], "the rule is `mesh_waste`, stated on the sheet Rules"),
    (
        &["deck waste", "decking waste", "metal waste"],
        "deck is counted as it is laid; a rule for its waste is the shop's to write",
    ),
    (
        &["waste", "concrete waste", "conc waste", "waste factor", "waste allowance", "overage"],
        "the rule is `concrete_waste`, stated on the sheet Rules: 0.05 is 5 %",
    ),
    (
        &["lap", "laps", "end lap", "end laps", "endlap", "deck lap"],
        "the rule is `end_lap_in`, stated on the sheet Rules",
    ),
    (
        &["bearing", "end bearing", "deck bearing", "interior bearing"],
        "the rules are `least_bearing_in` and `construction_settings`, stated on the sheet Rules",
    ),
    (
        &["rounding", "round to", "length rounding", "round lengths to"],
        "the rule is `length_step_in`, stated on the sheet Rules",
    ),
    (
        &[
            "bundle",
            "bundles",
            "bundle weight",
            "max bundle",
            "max bundle weight",
            "bundle limit",
            "bundle size",
        ],
        "the rules are `bundle_lb` and `bundle_panels`, stated on the sheet Rules",
    ),
    (
        &["crane", "crane limit", "crane capacity", "max lift", "max pick"],
        "it is Crane limit on the sheet Sequences",
    ),
    (&["payload", "truck payload"], "the rule is `truck_payload_lb`, stated on the sheet Rules"),
    (
        &["truck capacity", "truck limit", "max truck", "truck size", "truck"],
        "the rules are `truck_payload_lb` for deck and `truck_yd3` for concrete, on the sheet Rules",
    ),
    (
        &[
            "longest panel",
            "max panel",
            "max panel length",
            "max length",
            "max sheet",
            "max sheet length",
        ],
        "the rule is `longest_panel_ft`, stated on the sheet Rules",
    ),
    (
        &["tax", "tax rate", "sales tax"],
        "the rule is `tax_rate`, stated on the sheet Rules: 0.06 is 6 %",
    ),
];
/// Words of a key that says whose something is.
const SUPPLIED: &[&str] = &[
    "pour stop by",
    "pour stops by",
    "edge form by",
    "edge forms by",
    "edge angle by",
    "studs by",
];

/// Asks about each of them.
pub fn asked(job: &Job, scripts: &Scripts) -> Vec<Finding> {
    let heads = job.readings.iter().filter(|reading| reading.key == "head");
    let keys = heads.flat_map(|reading| reading.own.keys());
    let finding = |key: &Arc<str>| {
        let hint = meant(scripts, key, job.head.get(key)?)?;
        if is_read(scripts, key) {
            return None;
        }
        let message = format!("`{key}` on Job is printed, and no rule reads it");
        let mut finding = Finding::warning("rule-on-job", message).hint(hint);
        finding.places.extend(job.head_origins.get(key).and_then(|origin| job.place(origin)));
        Some(finding)
    };
    keys.filter_map(finding).collect()
}

/// Whether a script reads the key; one of the shop's may hold its name for a call elsewhere.
fn is_read(scripts: &Scripts, key: &str) -> bool {
    let quoted = ['"', '`'].map(|sign| format!("{sign}{key}{sign}"));
    let read = [format!("value(\"{key}\")"), format!("[\"{key}\"]"), format!("head.{key}")];
    scripts.files().iter().any(|script| {
        let has = |words: &[String]| words.iter().any(|word| script.text.contains(word));
        has(&read) || script.from != From::Bundled && has(&quoted)
    })
}

/// Where what a key means is stated, where it looks like a rule.
fn meant(scripts: &Scripts, key: &str, value: &Value) -> Option<String> {
    const UNITS: [&str; 12] =
        ["in", "inch", "inches", "ft", "lb", "lbs", "yd3", "cy", "yd", "percent", "pct", "tons"];
    let name = key.trim();
    let is_rule = || {
        let head = format!("fn {name}(");
        scripts.files().iter().any(|script| script.text.contains(&head))
    };
    if name.contains('_') && is_rule() {
        return Some(format!("`{name}` is a rule: state it on the sheet Rules"));
    }
    let spaced: String =
        key.chars().map(|sign| if sign.is_alphanumeric() { sign } else { ' ' }).collect();
    let words = spaced.to_lowercase();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if SUPPLIED.contains(&&*words) {
        return Some("state it under Supplied by on Edges, or on the sheet Scope".to_owned());
    }
    let is_figure = match value {
        Value::Text(text) => text.starts_with(|sign: char| sign.is_ascii_digit()),
        other => other.as_number().is_some(),
    };
    let name: Vec<&str> = words.split(' ').filter(|word| !UNITS.contains(word)).collect();
    let name = name.join(" ");
    let found = KEYS.iter().find(|(keys, _)| keys.contains(&&*name));
    found.filter(|_| is_figure).map(|(_, hint)| (*hint).to_owned())
}
