//! Cutting from stock.

mod instances;
mod packing;
mod plan_check;
mod properties;
mod refusals;
mod script;
mod worked;
