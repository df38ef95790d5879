//! The Pour cell of a bay: one pour, or several with their shares.
//!
//! In: text such as `P1` or `P1 60%, P2 40%`. Out: marks and fractions that add up to one.

use std::sync::Arc;

use crate::builtin::Builtin;
use crate::value::{IntoValue, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(pour_shares(text))];

/// A pour and its share of a bay's concrete.
#[derive(Clone, Debug, PartialEq)]
pub struct PourShare {
    pub pour: String,
    /// A fraction above 0, up to 1.
    pub share: f64,
}

const WANTED: &str =
    "blank, one pour (\"P1\"), or pours with shares of 100 % in all (\"P1 60%, P2 40%\")";

/// Pours to which a bay gives its concrete, read from the bay's Pour cell.
///
/// - text: blank, one mark, or marks with shares in percent that add up to 100
///
/// Gives: list of records with pour (text) and share (a fraction); empty for a blank cell.
/// Source: definition.
/// Example: `concrete::pour_shares("P1 60%, P2 40%")[1].share` = 0.4
pub fn pour_shares(text: Option<Arc<str>>) -> Result<Vec<PourShare>, Refusal> {
    shares("text", text.as_deref().unwrap_or_default())
}

/// [`pour_shares`] of the text that refusals call `argument`.
pub(crate) fn shares(argument: &str, text: &str) -> Result<Vec<PourShare>, Refusal> {
    let refusal = || Refusal::new(argument, format!("{text:?}"), WANTED);
    let text = text.trim();
    if text.is_empty() {
        return Ok(Vec::new());
    }
    let mut list: Vec<PourShare> = Vec::new();
    let items: Vec<&str> = text.split(',').map(str::trim).collect();
    for item in &items {
        let share = match item.strip_suffix('%') {
            Some(item) => {
                let (pour, percent) =
                    item.trim_end().rsplit_once(char::is_whitespace).ok_or_else(refusal)?;
                let percent: f64 = percent.parse().map_err(|_| refusal())?;
                PourShare { pour: pour.trim().to_owned(), share: percent / 100.0 }
            }
            None if items.len() == 1 => PourShare { pour: (*item).to_owned(), share: 1.0 },
            None => return Err(refusal()),
        };
        let known = list.iter().any(|other| other.pour == share.pour);
        if known || share.pour.is_empty() || !(share.share > 0.0 && share.share <= 1.0) {
            return Err(refusal());
        }
        list.push(share);
    }
    let sum: f64 = list.iter().map(|share| share.share).sum();
    if (sum - 1.0).abs() > 1e-9 {
        return Err(refusal());
    }
    Ok(list)
}

impl IntoValue for PourShare {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            pour: Value::text(self.pour),
            share: Value::Number(self.share),
        }
        .into_value()
    }
}
