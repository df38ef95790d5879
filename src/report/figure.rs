//! A figure as people read it: decimals by its unit, commas between thousands.

use crate::text;
use crate::value::Value;

/// A value in its unit, without the unit's name.
pub fn shown(value: &Value, unit: &str) -> String {
    match value {
        Value::Text(text) => text.to_string(),
        Value::Blank => "-".to_owned(),
        Value::Error(_) => "#error".to_owned(),
        Value::Date(date) => date.to_string(),
        other => match other.as_number() {
            Some(number) => text::fixed(number, decimals(unit)).unwrap_or_default(),
            None => other.to_string(),
        },
    }
}

/// A difference with its sign.
pub fn signed(number: f64, unit: &str) -> String {
    let text = text::fixed(number, decimals(unit)).unwrap_or_default();
    if text.starts_with('-') { text } else { format!("+{text}") }
}

fn decimals(unit: &str) -> i64 {
    match unit {
        "yd3" | "tons" | "in" | "psf" => 2,
        "ft" | "ft2" | "squares" | "h" => 1,
        _ => 0,
    }
}

/// The unit's name behind a figure; nothing for what is counted or written out.
pub fn unit_name(unit: &str) -> &str {
    if matches!(unit, "count" | "date" | "text" | "any" | "ft-in") { "" } else { unit }
}
