//! Concrete: worked examples with their sources.

#![allow(clippy::unwrap_used, clippy::panic, reason = "shared by tests")]

mod gather;
mod modulus;
mod order;
mod steel;
mod truck;
mod volume;

use std::sync::Arc;

use baytally::value::{Record, Value};

/// A record of named values.
fn record<const N: usize>(fields: [(&str, Value); N]) -> Arc<Record> {
    Arc::new(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}

/// Half a unit of the last printed digit, and the exact halves that print either way.
fn close(found: f64, printed: f64, digits: i32) {
    let half = 0.5 * 10f64.powi(-digits) + 1e-9;
    assert!((found - printed).abs() <= half, "{found} printed as {printed}");
}
