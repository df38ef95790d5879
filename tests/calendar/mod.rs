//! Dates, holidays and working days.

#![allow(clippy::unwrap_used, clippy::unnecessary_wraps, reason = "shared by tests")]

mod day;
mod holiday;
mod pour;
mod working;

use std::sync::Arc;

use baytally::value::{Record, Value};
use jiff::civil::Date;

/// A date as scripts write it.
fn date(text: &str) -> Date {
    baytally::calendar::day::date(Arc::from(text)).unwrap()
}

fn record<const N: usize>(fields: [(&str, Value); N]) -> Option<Arc<Record>> {
    Some(Arc::new(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect()))
}

fn days(texts: &[&str]) -> Value {
    Value::List(texts.iter().map(|text| Value::Date(date(text))).collect())
}
