//! Concrete: worked examples with their sources.

#![allow(clippy::unwrap_used, clippy::panic, reason = "helpers of tests")]

mod example;
mod gather;
mod order;
mod truck;
mod volume;

use std::sync::Arc;

use baytally::value::{Record, Value};

/// A record of named values.
fn record<const N: usize>(fields: [(&str, Value); N]) -> Arc<Record> {
    Arc::new(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}
