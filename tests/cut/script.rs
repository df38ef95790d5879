//! The built-in as scripts meet it: records in, a record out.

use std::sync::Arc;

use baytally::builtin::Builtin;
use baytally::cut::ROOM;
use baytally::value::{Record, Refusal, Value};

fn built_in() -> &'static Builtin {
    ROOM.builtins().find(|builtin| builtin.name == "plan").unwrap()
}

fn record(fields: &[(&str, Value)]) -> Value {
    let fields: Record =
        fields.iter().map(|(name, value)| (Arc::from(*name), value.clone())).collect();
    Value::Record(Arc::new(fields))
}

fn list(items: &[Value]) -> Value {
    Value::List(Arc::from(items))
}

fn pieces() -> Value {
    list(&[
        record(&[("length_ft", Value::Number(13.5)), ("count", Value::Count(2))]),
        record(&[("length_ft", Value::Count(12)), ("count", Value::Number(1.0))]),
    ])
}

fn call(pieces: Value, stock: Value, kerf_in: Value) -> Result<Value, Refusal> {
    (built_in().call)(&[pieces, stock, kerf_in])
}

/// 13'-6" twice and 12 ft from 40 ft: 39 ft of pieces and three kerfs of 1/8 in, as the last piece
/// does not end at the bar's end: 40 ft - 39 ft - 0.03125 ft = 0.96875 ft are left.
#[test]
fn a_plan_as_a_record() {
    let stock = list(&[record(&[("length_ft", Value::Count(40)), ("available", Value::Blank)])]);
    let plan = call(pieces(), stock, Value::Number(0.125)).unwrap();
    assert_eq!(
        plan.to_string(),
        "#{total_stock_ft: 40, used_ft: 39, kerf_ft: 0.03125, offcut_ft: 0.96875, waste: 0.025, \
         bound_ft: 40, lp_bound_ft: 40, gap_ft: 0, proven: true, \
         bars: [#{stock_ft: 40, count: 1}], \
         patterns: [#{stock_ft: 40, times: 1, pieces: [#{length_ft: 13.5, count: 2}, \
         #{length_ft: 12, count: 1}], offcut_ft: 0.96875}]}"
    );
}

/// One record stands for a list of one, and `available` may be left out.
#[test]
fn single_records_are_lists_of_one() {
    let piece = record(&[("length_ft", Value::Count(13)), ("count", Value::Count(6))]);
    let stock = record(&[("length_ft", Value::Count(40))]);
    let plan = call(piece, stock, Value::Number(0.125)).unwrap();
    let Value::Record(plan) = plan else { panic!("{plan}") };
    assert_eq!(plan["total_stock_ft"], Value::Number(80.0));
}

#[test]
fn entries_are_refused_by_name() {
    let forty = record(&[("length_ft", Value::Count(40))]);
    let refusal = |pieces: Value, stock: &Value| {
        call(pieces, stock.clone(), Value::Count(0)).unwrap_err().to_string()
    };
    let misspelt = record(&[("lenght_ft", Value::Count(10)), ("count", Value::Count(1))]);
    assert_eq!(
        refusal(misspelt, &forty),
        "`pieces` is a record with `lenght_ft`, wanted one of the fields `length_ft`, `count` \
         (`length_ft`?)"
    );
    let half = record(&[("length_ft", Value::Count(10)), ("count", Value::Number(1.5))]);
    assert_eq!(refusal(list(&[half]), &forty), "`pieces[0].count` is 1.5, wanted a whole number");
    let nameless = record(&[("count", Value::Count(1))]);
    assert_eq!(refusal(list(&[nameless]), &forty), "`pieces[0].length_ft` is (), wanted a number");
    assert_eq!(refusal(Value::Count(10), &forty), "`pieces` is 10, wanted a record");
    assert_eq!(refusal(Value::Blank, &forty), "`pieces` is (), wanted a list");
    let many = record(&[("length_ft", Value::Count(40)), ("available", Value::text("plenty"))]);
    assert_eq!(refusal(pieces(), &many), "`stock.available` is \"plenty\", wanted a whole number");
}

#[test]
fn the_comment_has_its_parts() {
    let doc = built_in().doc();
    for part in ["- pieces: ", "- stock: ", "- kerf_in: ", "Gives: ", "Source: ", "Example: "] {
        assert!(doc.iter().any(|line| line.starts_with(part)), "{part}");
    }
}
