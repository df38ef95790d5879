//! Whatever they are given, the built-ins answer or refuse; they never panic.

use std::sync::Arc;

use baytally::builtin::Builtin;
use baytally::value::{Record, Value};
use baytally::{deck, weight};
use proptest::prelude::*;

const NAMES: &[&str] = &[
    "spans_ft",
    "start_overhang_ft",
    "end_overhang_ft",
    "uniform_plf",
    "points",
    "partials",
    "i_in4",
    "e_ksi",
    "always_plf",
    "patterned_plf",
    "point_lb",
    "end_tip_lb",
    "span",
    "at_ft",
    "from_ft",
    "to_ft",
    "load_plf",
    "load_lb",
    "depth_in",
    "pitch_in",
    "top_flat_in",
    "bottom_flat_in",
    "radius_in",
    "thickness_in",
    "fy_ksi",
    "fu_ksi",
    "top_stiffeners",
    "stiffener_depth_in",
    "stiffener_width_in",
    "concrete_psf",
    "deck_psf",
    "unit_weight_pcf",
    "most_shores",
    "bearing_in",
    "interior",
    "slab_in",
    "rib_in",
    "n",
    "fc_psi",
    "as_in2",
    "ysb_in",
    "isf_in4",
    "across_in",
    "along_in",
    "span_ft",
    "overhang_in",
    "stock_ft",
    "lap_in",
    "corners",
    "corner_in",
    "visible_in",
    "sheets",
    "ordered_in",
    "area_ft2",
    "deck_in",
    "coating_oz_ft2",
    "published_ip_in4",
    "published_in_in4",
    "published_sp_in3",
    "published_sn_in3",
    "end_bearing_in",
];

fn number() -> impl Strategy<Value = Value> {
    prop_oneof![
        4 => (0.0..20.0_f64).prop_map(Value::Number),
        1 => any::<f64>().prop_map(Value::Number),
        1 => any::<i64>().prop_map(Value::Count),
        1 => (-2..12_i64).prop_map(Value::Count),
        1 => prop::sample::select(vec![0.0, 1e-300, 1e300, f64::NAN, f64::INFINITY, -1e-9])
            .prop_map(Value::Number),
    ]
}

fn value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        6 => number(),
        1 => any::<bool>().prop_map(Value::Bool),
        1 => prop::sample::select(vec!["", "36/4", "worst", "36/", "\u{e9}"]).prop_map(Value::text),
        1 => Just(Value::Blank),
    ];
    leaf.prop_recursive(3, 24, 4, |inner| {
        let list = prop::collection::vec(inner.clone(), 0..4);
        let fields = prop::collection::vec((prop::sample::select(NAMES), inner), 0..5);
        prop_oneof![
            list.prop_map(|items| Value::List(items.into())),
            fields.prop_map(|fields| {
                let record = fields.into_iter().map(|(name, value)| (Arc::from(name), value));
                Value::Record(Arc::new(record.collect::<Record>()))
            }),
        ]
    })
}

/// A full record of the fields that a built-in's own comment names, mostly with sound numbers.
fn full(builtin: &Builtin, numbers: &[Value]) -> Value {
    let doc = builtin.doc().join(" ");
    let record: Record = NAMES
        .iter()
        .filter(|name| doc.contains(**name))
        .zip(numbers.iter().cycle())
        .map(|(name, number)| {
            let number = match *name {
                "spans_ft" => Value::List(numbers[..numbers.len().min(3)].into()),
                "points" | "partials" => Value::Blank,
                _ => number.clone(),
            };
            (Arc::from(*name), number)
        })
        .collect();
    Value::Record(Arc::new(record))
}

fn finite(value: &Value) -> bool {
    match value {
        Value::Number(number) => number.is_finite(),
        Value::List(items) => items.iter().all(finite),
        Value::Record(record) => record.values().all(finite),
        _ => true,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn answered_or_refused(
        arguments in prop::collection::vec(value(), 5),
        numbers in prop::collection::vec(number(), 4..40),
    ) {
        let mut called = 0;
        for room in [deck::ROOM, weight::ROOM] {
            for builtin in room.builtins() {
                let count = builtin.parameters.len();
                let mut full_arguments = vec![full(builtin, &numbers); count];
                if builtin.name == "longest_span" {
                    full_arguments[2] = Value::Count(3);
                }
                for arguments in [&arguments[..count], &full_arguments, &numbers[..count.min(4)]] {
                    if let Ok(found) = (builtin.call)(arguments) {
                        prop_assert!(finite(&found), "{} gave {found}", builtin.name);
                    }
                    called += 1;
                }
            }
        }
        prop_assert!(called >= 90);
    }
}
