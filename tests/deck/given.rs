//! Records and comparisons for the tests of this folder.

use std::sync::Arc;

use baytally::value::{Record, Value};

pub trait ToValue {
    fn to_value(self) -> Value;
}

impl ToValue for f64 {
    fn to_value(self) -> Value {
        Value::Number(self)
    }
}

impl ToValue for i64 {
    fn to_value(self) -> Value {
        Value::Count(self)
    }
}

impl ToValue for i32 {
    fn to_value(self) -> Value {
        Value::Count(i64::from(self))
    }
}

impl ToValue for bool {
    fn to_value(self) -> Value {
        Value::Bool(self)
    }
}

impl ToValue for &str {
    fn to_value(self) -> Value {
        Value::text(self)
    }
}

impl ToValue for Arc<Record> {
    fn to_value(self) -> Value {
        Value::Record(self)
    }
}

impl<T: ToValue> ToValue for Vec<T> {
    fn to_value(self) -> Value {
        Value::List(self.into_iter().map(ToValue::to_value).collect())
    }
}

impl<T: ToValue, const N: usize> ToValue for [T; N] {
    fn to_value(self) -> Value {
        Value::List(self.into_iter().map(ToValue::to_value).collect())
    }
}

/// `record! { spans_ft: [10.0, 12.0], uniform_plf: 50 }`.
macro_rules! record {
    ($($name:ident: $value:expr),* $(,)?) => {{
        #[allow(unused_mut)]
        let mut record = baytally::value::Record::default();
        $(record.insert(
            stringify!($name).into(),
            $crate::deck::given::ToValue::to_value($value),
        );)*
        std::sync::Arc::new(record)
    }};
}
pub(crate) use record;

/// The record with more fields, which replace those of the same name.
pub fn with(base: &Arc<Record>, more: &Arc<Record>) -> Arc<Record> {
    let mut record = (**base).clone();
    record.extend(more.iter().map(|(name, value)| (name.clone(), value.clone())));
    Arc::new(record)
}

/// Asserts that a value is another to half a printed digit.
#[track_caller]
pub fn printed(found: f64, wanted: f64, digits: i32) {
    let half = 0.5 * 10_f64.powi(-digits) + 1e-9;
    assert!((found - wanted).abs() <= half, "{found} is not {wanted} to {digits} digits");
}

/// Asserts that a value is within a fraction of another.
#[track_caller]
pub fn near(found: f64, wanted: f64, fraction: f64) {
    let off = (found / wanted - 1.0).abs();
    assert!(off <= fraction, "{found} is {:.3} % off {wanted}", off * 100.0);
}
