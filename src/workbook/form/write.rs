//! Cells and rows as XML.

use std::fmt::Write;

use quick_xml::escape::{escape, partial_escape};

use crate::value::Value;

use super::book::Words;
use super::refs::At;
use super::sheet::{Attributes, Content};
use crate::workbook::cell::{fitting, serial};

/// A row's opening and closing around its cells.
pub(super) fn row(prefix: &str, number: u32, attributes: &Attributes, inner: &str) -> String {
    let mut all = vec![("r".to_string(), number.to_string())];
    all.extend_from_slice(attributes);
    tag(prefix, "row", &all, inner)
}

/// An element with its attributes around what stands in it.
pub(super) fn tag(prefix: &str, name: &str, attributes: &Attributes, inner: &str) -> String {
    let mut out = format!("<{prefix}{name}");
    push(&mut out, attributes);
    if inner.is_empty() {
        out.push_str("/>");
    } else {
        let _ = write!(out, ">{inner}</{prefix}{name}>");
    }
    out
}

/// A cell with its content; a formula's result where it is known.
pub(super) fn cell(
    prefix: &str,
    at: At,
    attributes: &Attributes,
    content: &Content,
    result: Option<f64>,
) -> String {
    let mut out = format!("<{prefix}c r=\"{at}\"");
    push(&mut out, attributes);
    match content {
        Content::Blank => out.push_str("/>"),
        Content::Value { kind, raw } => {
            if let Some(kind) = kind {
                let _ = write!(out, " t=\"{}\"", escape(kind.as_str()));
            }
            let _ = write!(out, "><{prefix}v>{raw}</{prefix}v></{prefix}c>");
        }
        Content::Text(words) => {
            let text = encoded(&words.text);
            let text = partial_escape(text.as_str());
            let text = format!("<{prefix}t xml:space=\"preserve\">{text}</{prefix}t>");
            let text = match &words.run {
                None => text,
                Some(run) => {
                    format!("<{prefix}r><{prefix}rPr>{run}</{prefix}rPr>{text}</{prefix}r>")
                }
            };
            let _ = write!(out, " t=\"inlineStr\"><{prefix}is>{text}</{prefix}is></{prefix}c>");
        }
        Content::Formula(formula) => {
            let _ = write!(out, "><{prefix}f");
            push(&mut out, &formula.attributes);
            if formula.text.is_empty() {
                out.push_str("/>");
            } else {
                let text = partial_escape(formula.text.as_str());
                let _ = write!(out, ">{text}</{prefix}f>");
            }
            if let Some(result) = result {
                let _ = write!(out, "<{prefix}v>{result}</{prefix}v>");
            }
            let _ = write!(out, "</{prefix}c>");
        }
    }
    out
}

fn push(out: &mut String, attributes: &Attributes) {
    for (name, value) in attributes {
        let _ = write!(out, " {name}=\"{}\"", escape(value.as_str()));
    }
}

/// What stands where a value could not be computed.
pub(super) const NOT_KNOWN: &str = "#N/A";

/// The cell of a value that could not be computed: an error of the spreadsheet's own, so that no sum
/// passes over it.
pub(super) fn not_known() -> Content {
    Content::Value { kind: Some("e".to_string()), raw: NOT_KNOWN.to_string() }
}

/// A value alone in its cell; none where a cell can not hold it. A date is a day's number where
/// the cell shows dates, else text.
pub(super) fn content(
    value: &Value,
    run: Option<&String>,
    shows_dates: bool,
    from_1904: bool,
) -> Option<Content> {
    /// Days between the two ways of counting.
    const FROM_1904: f64 = 1_462.0;
    let number = |number: f64| Content::Value { kind: None, raw: number.to_string() };
    Some(match value {
        Value::Blank => Content::Blank,
        Value::Count(count) => Content::Value { kind: None, raw: count.to_string() },
        Value::Number(value) if value.is_finite() => number(*value),
        Value::Date(day) if shows_dates && serial(*day).is_some() => {
            let serial = serial(*day).unwrap_or_default();
            let serial = if from_1904 { serial - FROM_1904 } else { serial };
            if serial < 0.0 { text(value, run)? } else { number(serial) }
        }
        _ => text(value, run)?,
    })
}

fn text(value: &Value, run: Option<&String>) -> Option<Content> {
    Some(Content::Text(Words { text: spelled(value)?, run: run.cloned() }))
}

/// A value among words; none where it is no plain value.
pub(super) fn spelled(value: &Value) -> Option<String> {
    /// Enough for anything measured, and 17.999999999999996 is 18.
    const DECIMALS: f64 = 1e6;
    match value {
        Value::Blank => Some(String::new()),
        Value::Bool(flag) => Some(if *flag { "yes" } else { "no" }.to_string()),
        Value::Count(count) => Some(count.to_string()),
        Value::Number(number) if number.is_finite() => {
            let rounded = (number * DECIMALS).round() / DECIMALS;
            let shown = if rounded.is_finite() { rounded } else { *number };
            Some(if shown == 0.0 { "0".to_string() } else { shown.to_string() })
        }
        Value::Text(text) => Some(text.to_string()),
        Value::Date(day) => Some(day.to_string()),
        Value::Number(_) | Value::Error(_) | Value::List(_) | Value::Record(_) => None,
    }
}

/// Text as the format writes it: cut to a cell's length, letters that XML can not hold as
/// `_x0007_`, and what looks like that already kept apart.
fn encoded(text: &str) -> String {
    let text = fitting(text);
    let mut out = String::with_capacity(text.len());
    let mut rest: &str = &text;
    while let Some(letter) = rest.chars().next() {
        let code = rest.get(2..6).filter(|_| rest.starts_with("_x") && rest.get(6..7) == Some("_"));
        if code.is_some_and(|code| code.bytes().all(|digit| digit.is_ascii_hexdigit())) {
            out.push_str("_x005F_");
        } else if matches!(letter, '\0'..='\u{8}' | '\u{B}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}') {
            let _ = write!(out, "_x{:04X}_", u32::from(letter));
        } else {
            out.push(letter);
        }
        rest = rest.get(letter.len_utf8()..).unwrap_or_default();
    }
    out
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn values_become_contents() {
        let plain = |value: Value| content(&value, None, false, false).unwrap();
        let number = |raw: &str| Content::Value { kind: None, raw: raw.to_string() };
        let words = |text: &str| Content::Text(Words { text: text.to_string(), run: None });
        assert_eq!(plain(Value::Count(42)), number("42"));
        assert_eq!(plain(Value::Number(0.1)), number("0.1"));
        assert_eq!(plain(Value::text("007")), words("007"));
        assert_eq!(plain(Value::Bool(true)), words("yes"));
        assert_eq!(plain(Value::Blank), Content::Blank);
        let day = Value::Date(date(2026, 3, 2));
        assert_eq!(plain(day.clone()), words("2026-03-02"));
        assert_eq!(content(&day, None, true, false), Some(number("46083")));
        assert_eq!(content(&day, None, true, true), Some(number("44621")));
        assert_eq!(content(&Value::Number(f64::NAN), None, false, false), None);
        assert_eq!(content(&Value::Error("x".into()), None, false, false), None);
    }

    #[test]
    fn text_is_written_so_that_it_reads_back() {
        assert_eq!(encoded("a\u{7}b _x0007_ _x"), "a_x0007_b _x005F_x0007_ _x");
        let content = Content::Text(Words { text: "=a<b & c".to_string(), run: None });
        assert_eq!(
            cell(
                "x:",
                At { row: 2, column: 3 },
                &vec![("s".to_string(), "4".to_string())],
                &content,
                None
            ),
            "<x:c r=\"C2\" s=\"4\" t=\"inlineStr\"><x:is><x:t xml:space=\"preserve\">=a&lt;b &amp; \
             c</x:t></x:is></x:c>"
        );
        assert_eq!(spelled(&Value::Number(17.999_999_999_999_996)).as_deref(), Some("18"));
        assert_eq!(spelled(&Value::Number(-0.0)).as_deref(), Some("0"));
    }
}
