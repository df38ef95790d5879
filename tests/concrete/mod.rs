//! Concrete: worked examples with their sources.

mod order;
mod volume;

use std::sync::Arc;

use baytally::value::{Record, Value};

/// A record of named values.
fn record<const N: usize>(fields: [(&str, Value); N]) -> Arc<Record> {
    Arc::new(fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect())
}
