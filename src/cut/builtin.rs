//! `cut::plan` for scripts: records in, a record out.

use std::sync::Arc;

use super::plan::{Plan, cutting_plan};
use super::problem::{Piece, Stock};
use crate::builtin::Builtin;
use crate::length::Length;
use crate::value::{Feet, FromValue, Inches, IntoValue, Record, Refusal, Value};

/// The built-ins of this file.
pub const BUILTINS: &[Builtin] =
    &[builtin!(plan(pieces, stock, kerf_in)), builtin!(attempt(pieces, stock, kerf_in))];

/// Cuts pieces from stock lengths with the least total length of stock, and says how near that is
/// to the least possible.
///
/// - pieces: list of records `#{length_ft, count}`; lengths above 0 ft, counts of 1 or more, up to
///   200 different lengths and 1,000,000 pieces
/// - stock: list of records `#{length_ft, available}`, up to 24 different lengths; `available` is
///   the number of bars at hand, blank or left out where there is no limit
/// - kerf_in: what a cut takes, in, 0 or more; one kerf between neighbouring pieces, and one more
///   behind the last unless it ends exactly at the end of the bar
///
/// Gives: a record of `total_stock_ft`, `used_ft` (the pieces), `kerf_ft`, `offcut_ft`, `waste`
/// (part of the stock that ends in no piece), `bound_ft` (no plan needs less), `lp_bound_ft` (the
/// linear program's bound, which `bound_ft` rounds up to a total that bars can make), `gap_ft`
/// (total less bound), `proven` (true where the gap is nil), `bars` (list of `#{stock_ft, count}`)
/// and `patterns` (list of `#{stock_ft, times, pieces, offcut_ft}` with `pieces` a list of
/// `#{length_ft, count}` out of one bar), lengths in ft.
/// Source: definition; column generation after Gilmore and Gomory, "A linear programming approach
/// to the cutting-stock problem", Operations Research 9 (1961) and 11 (1963), from memory.
/// Example: `cut::plan([#{length_ft: 13, count: 6}], [#{length_ft: 40}], 0.125).total_stock_ft` = 80
pub fn plan(
    pieces: Vec<PieceEntry>,
    stock: Vec<StockEntry>,
    kerf_in: Inches,
) -> Result<Plan, Refusal> {
    let pieces: Vec<Piece> = pieces.into_iter().map(|entry| entry.0).collect();
    let stock: Vec<Stock> = stock.into_iter().map(|entry| entry.0).collect();
    cutting_plan(&pieces, &stock, kerf_in.0)
}

/// Cuts pieces from stock lengths as `cut::plan` does, where the stock yields them; else says why
/// it does not.
///
/// - pieces: list of records `#{length_ft, count}`, as for `cut::plan`
/// - stock: list of records `#{length_ft, available}`, as for `cut::plan`; it may be empty
/// - kerf_in: what a cut takes, in, 0 or more
///
/// Gives: a record of `possible`, `why` (blank where it is possible) and `plan` (the record of
/// `cut::plan`, blank where it is not).
/// Source: definition; as `cut::plan`.
/// Example: `cut::attempt([#{length_ft: 13, count: 6}], [#{length_ft: 12}], 0).possible` = false
pub fn attempt(
    pieces: Vec<PieceEntry>,
    stock: Vec<StockEntry>,
    kerf_in: Inches,
) -> Result<Value, Refusal> {
    let pieces: Vec<Piece> = pieces.into_iter().map(|entry| entry.0).collect();
    let stock: Vec<Stock> = stock.into_iter().map(|entry| entry.0).collect();
    let why = match why_not(&pieces, &stock, kerf_in.0) {
        Some(why) => why,
        None => match cutting_plan(&pieces, &stock, kerf_in.0) {
            Ok(plan) => {
                return Ok(record([
                    ("possible", Value::Bool(true)),
                    ("why", Value::Blank),
                    ("plan", plan.into_value()?),
                ]));
            }
            Err(refusal) if refusal.argument == "stock" => {
                format!("at hand are {}, wanted {}", refusal.found, refusal.wanted)
            }
            Err(refusal) => return Err(refusal),
        },
    };
    Ok(record([
        ("possible", Value::Bool(false)),
        ("why", Value::text(why)),
        ("plan", Value::Blank),
    ]))
}

/// Why stock can not yield pieces, where lengths alone tell: no stock, a piece longer than any.
fn why_not(pieces: &[Piece], stock: &[Stock], kerf: Length) -> Option<String> {
    let at_hand = stock.iter().filter(|bar| bar.available != Some(0));
    let Some(longest) = at_hand.clone().map(|bar| bar.length).max() else {
        return Some("there is no stock at hand".to_owned());
    };
    if let Some(piece) =
        pieces.iter().map(|piece| piece.length).max().filter(|&piece| piece > longest)
    {
        return Some(format!("{piece} is longer than the longest stock length, {longest}"));
    }
    let fits = |piece: Length| {
        let fits = |bar: &Stock| piece == bar.length || piece + kerf <= bar.length;
        at_hand.clone().any(fits)
    };
    if let Some(piece) = pieces.iter().map(|piece| piece.length).find(|&piece| !fits(piece)) {
        return Some(format!("no stock length leaves room for the cut behind {piece}"));
    }
    None
}

/// A piece as scripts write it.
pub struct PieceEntry(Piece);

/// A stock length as scripts write it.
pub struct StockEntry(Stock);

impl FromValue for PieceEntry {
    fn from_value(argument: &str, value: &Value) -> Result<PieceEntry, Refusal> {
        let record = entry(argument, value, &["length_ft", "count"])?;
        let length =
            Feet::from_value(&format!("{argument}.length_ft"), field(&record, "length_ft"))?;
        let count = i64::from_value(&format!("{argument}.count"), field(&record, "count"))?;
        Ok(PieceEntry(Piece { length: length.0, count }))
    }
}

impl FromValue for StockEntry {
    fn from_value(argument: &str, value: &Value) -> Result<StockEntry, Refusal> {
        let record = entry(argument, value, &["length_ft", "available"])?;
        let length =
            Feet::from_value(&format!("{argument}.length_ft"), field(&record, "length_ft"))?;
        let available = format!("{argument}.available");
        let available = Option::<i64>::from_value(&available, field(&record, "available"))?;
        Ok(StockEntry(Stock { length: length.0, available }))
    }
}

/// A record that has none but these fields.
fn entry(argument: &str, value: &Value, fields: &[&str]) -> Result<Arc<Record>, Refusal> {
    let record = Arc::<Record>::from_value(argument, value)?;
    for name in record.keys() {
        if !fields.contains(&&**name) {
            let near = fields.iter().find(|field| strsim::damerau_levenshtein(field, name) <= 3);
            let hint = near.map_or(String::new(), |near| format!(" (`{near}`?)"));
            let wanted = format!("one of the fields `{}`{hint}", fields.join("`, `"));
            return Err(Refusal::new(argument, format!("a record with `{name}`"), wanted));
        }
    }
    Ok(record)
}

fn field<'a>(record: &'a Record, name: &str) -> &'a Value {
    record.get(name).unwrap_or(&Value::Blank)
}

impl IntoValue for Plan {
    fn into_value(self) -> Result<Value, Refusal> {
        let bars = self.bars.iter().map(|&(stock, count)| {
            record([("stock_ft", feet(stock)), ("count", Value::Count(count))])
        });
        let patterns = self.patterns.iter().map(|pattern| {
            let pieces = pattern.pieces.iter().map(|&(length, count)| {
                record([("length_ft", feet(length)), ("count", Value::Count(count))])
            });
            record([
                ("stock_ft", feet(pattern.stock)),
                ("times", Value::Count(pattern.times)),
                ("pieces", Value::List(pieces.collect())),
                ("offcut_ft", feet(pattern.offcut)),
            ])
        });
        Ok(record([
            ("total_stock_ft", feet(self.total_stock)),
            ("used_ft", feet(self.used)),
            ("kerf_ft", feet(self.kerf)),
            ("offcut_ft", feet(self.offcut)),
            ("waste", Value::Number(self.waste())),
            ("bound_ft", feet(self.bound)),
            ("lp_bound_ft", feet(self.lp_bound)),
            ("gap_ft", feet(self.gap())),
            ("proven", Value::Bool(self.is_proven())),
            ("bars", Value::List(bars.collect())),
            ("patterns", Value::List(patterns.collect())),
        ]))
    }
}

fn feet(length: Length) -> Value {
    Value::Number(length.in_feet())
}

fn record<const N: usize>(fields: [(&str, Value); N]) -> Value {
    let fields = fields.into_iter().map(|(name, value)| (Arc::from(name), value));
    Value::Record(Arc::new(fields.collect()))
}
