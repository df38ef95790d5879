//! Built-ins of the layout on any input: a result or a refusal, never a panic.

use std::sync::Arc;

use baytally::builtin::Builtin;
use baytally::deck::layout::{across, bundle_record, loads, record, shape_record};
use baytally::value::{Record, Value};
use proptest::prelude::*;

fn number() -> impl Strategy<Value = Value> {
    prop_oneof![
        8 => (1_i64..60).prop_map(Value::Count),
        4 => (0.1..120.0_f64).prop_map(Value::Number),
        1 => any::<i64>().prop_map(Value::Count),
        1 => any::<f64>().prop_map(Value::Number),
        1 => prop::sample::select(vec![0.0, -1.0, 1e300, 1e-300, f64::NAN, f64::INFINITY, 1e5])
            .prop_map(Value::Number),
    ]
}

fn list(items: impl Strategy<Value = Value>) -> impl Strategy<Value = Value> {
    prop::collection::vec(items, 0..7).prop_map(|items| Value::List(items.into()))
}

fn value() -> impl Strategy<Value = Value> {
    let text = prop::sample::select(vec![
        "",
        "cl",
        "cont",
        "+2\"",
        "-4\"",
        "butt",
        "lap",
        "down",
        "nearest",
        "3+2",
        "2@3",
        "10' + 20'",
        "few panels",
        "999999999999999999999@1",
        "+",
        "@",
        "½",
        "-",
    ]);
    prop_oneof![
        6 => number(),
        2 => list(number()),
        1 => list(list(number())),
        2 => text.prop_map(Value::text),
        1 => any::<bool>().prop_map(Value::Bool),
        1 => Just(Value::Blank),
    ]
}

/// Fields that mostly have the kind that is wanted.
fn fields(names: &'static [&'static str]) -> impl Strategy<Value = Value> {
    let of = |name: &'static str| -> BoxedStrategy<Value> {
        let right: BoxedStrategy<Value> = match name {
            "spans_ft" | "breaks_ft" => list(number()).boxed(),
            "widths_ft" => prop_oneof![list(number()), list(list(number()))].boxed(),
            "corners_ft" => {
                let pair = (number(), number()).prop_map(|(x, y)| Value::List([x, y].into()));
                list(pair).boxed()
            }
            "joint" | "round" | "start_end" | "far_end" | "cut" => value().boxed(),
            "prefer" | "apart" | "rest_serves" => Just(Value::Blank).boxed(),
            _ => number().boxed(),
        };
        prop_oneof![30 => right, 1 => value(), 2 => Just(Value::Blank)].boxed()
    };
    names.iter().map(|name| of(name)).collect::<Vec<_>>().prop_map(|values| {
        let record: Record =
            names.iter().zip(values).map(|(name, value)| (Arc::from(*name), value)).collect();
        Value::Record(Arc::new(record))
    })
}

const CHOICES: &[&str] = &[
    "spans_ft",
    "widths_ft",
    "half_digit_in",
    "copies",
    "cover_in",
    "longest_ft",
    "shortest_ft",
    "most_spans",
    "joint",
    "lap_in",
    "round_in",
    "round",
    "start_end",
    "far_end",
    "slope_rise_in_12",
    "spread_in",
    "filler_in",
    "rest_serves",
    "cut",
    "prefer",
];

const SHAPE: &[&str] = &[
    "corners_ft",
    "spans_ft",
    "breaks_ft",
    "half_digit_in",
    "copies",
    "cover_in",
    "longest_ft",
    "shortest_ft",
    "most_spans",
    "joint",
    "lap_in",
    "round_in",
    "start_end",
    "spread_in",
    "filler_in",
];

const LINE: &[&str] =
    &["sequence", "profile", "length_ft", "count", "panel_lb", "crane_lb", "depth_in", "nest_in"];

const BUNDLE: &[&str] =
    &["mark", "sequence", "length_ft", "lift_lb", "weight_lb", "panels", "cover_in", "height_in"];

fn call(builtin: &Builtin, arguments: &[Value]) -> Result<Value, String> {
    (builtin.call)(arguments).map_err(|refusal| refusal.to_string())
}

proptest! {
    #[test]
    fn panels_across(width in value(), cover in value()) {
        let _ = call(&across::BUILTINS[0], &[width, cover]);
    }

    #[test]
    fn plan(strip in fields(CHOICES)) {
        let _ = call(&record::BUILTINS[0], &[strip]);
    }

    #[test]
    fn plan_outline(shape in fields(SHAPE)) {
        let _ = call(&shape_record::BUILTINS[0], &[shape]);
    }

    #[test]
    fn bundle(
        lines in prop::collection::vec(fields(LINE), 0..5),
        limits in fields(&["most_lb", "packaging_lb", "most_panels", "most_height_in"]),
    ) {
        let _ = call(&bundle_record::BUILTINS[0], &[Value::List(lines.into()), limits]);
    }

    #[test]
    fn load(
        bundles in prop::collection::vec(fields(BUNDLE), 0..5),
        limits in fields(&["payload_lb", "deck_length_ft", "rows_across", "deck_width_in", "stack"]),
    ) {
        let _ = call(&loads::BUILTINS[0], &[Value::List(bundles.into()), limits]);
    }
}

/// Two thousand tiny spans that do not fit one panel still end soon.
#[test]
fn many_tiny_spans() {
    let strip: Record = [
        ("spans_ft", Value::List(vec![Value::Number(0.025); 2_000].into())),
        ("widths_ft", Value::List([Value::Count(30)].into())),
        ("cover_in", Value::Count(36)),
        ("longest_ft", Value::Count(40)),
        ("shortest_ft", Value::Count(6)),
        ("most_spans", Value::Count(10_000)),
    ]
    .into_iter()
    .map(|(name, value)| (Arc::from(name), value))
    .collect();
    let laid = record::plan(Arc::new(strip)).unwrap();
    assert_eq!(laid["panels"], Value::Count(20));
}
