//! The parts of every built-in's comment, and its example evaluated.

use std::sync::Arc;

use baytally::builtin::{Builtin, Room};
use baytally::value::{Record, Value};
use baytally::{calendar, concrete};
use rhai::{Dynamic, Engine, EvalAltResult, FuncRegistration, Module};

fn into_value(dynamic: &Dynamic) -> Value {
    if let Ok(count) = dynamic.as_int() {
        Value::Count(count)
    } else if let Ok(number) = dynamic.as_float() {
        Value::Number(number)
    } else if let Ok(flag) = dynamic.as_bool() {
        Value::Bool(flag)
    } else if let Some(list) = dynamic.read_lock::<rhai::Array>() {
        Value::List(list.iter().map(into_value).collect())
    } else if let Some(map) = dynamic.read_lock::<rhai::Map>() {
        let fields = map.iter().map(|(name, value)| (Arc::from(name.as_str()), into_value(value)));
        Value::Record(Arc::new(fields.collect::<Record>()))
    } else if let Some(date) = dynamic.read_lock::<jiff::civil::Date>() {
        Value::Date(*date)
    } else if let Ok(text) = dynamic.clone().into_string() {
        Value::text(text)
    } else {
        Value::Blank
    }
}

fn into_dynamic(value: &Value) -> Dynamic {
    match value {
        Value::Blank => Dynamic::UNIT,
        Value::Bool(flag) => (*flag).into(),
        Value::Count(count) => (*count).into(),
        Value::Number(number) => (*number).into(),
        Value::Text(text) | Value::Error(text) => text.to_string().into(),
        Value::Date(date) => Dynamic::from(*date),
        Value::List(items) => items.iter().map(into_dynamic).collect::<rhai::Array>().into(),
        Value::Record(record) => {
            let fields = record.iter().map(|(name, value)| ((&**name).into(), into_dynamic(value)));
            fields.collect::<rhai::Map>().into()
        }
    }
}

fn call(builtin: Builtin, arguments: &[Dynamic]) -> Result<Dynamic, Box<EvalAltResult>> {
    let values: Vec<Value> = arguments.iter().map(into_value).collect();
    match (builtin.call)(&values) {
        Ok(value) => Ok(into_dynamic(&value)),
        Err(refusal) => Err(refusal.to_string().into()),
    }
}

fn engine() -> Engine {
    let mut engine = Engine::new();
    for room in [concrete::ROOM, calendar::ROOM] {
        let mut module = Module::new();
        for &builtin in room.builtins() {
            macro_rules! register {
                ($($argument:ident),*) => {{
                    FuncRegistration::new(builtin.name).set_into_module(
                        &mut module,
                        move |$($argument: Dynamic),*| call(builtin, &[$($argument),*]),
                    );
                }};
            }
            match builtin.parameters.len() {
                0 => register!(),
                1 => register!(a),
                2 => register!(a, b),
                3 => register!(a, b, c),
                4 => register!(a, b, c, d),
                count => panic!("{} takes {count}", builtin.name),
            }
        }
        engine.register_static_module(room.name, module.into());
    }
    engine
}

/// Within the printed digits, or equal.
fn agree(found: &Value, printed: &Value, text: &str) -> bool {
    match (found, printed) {
        (Value::List(found), Value::List(printed)) => {
            found.len() == printed.len()
                && found.iter().zip(printed.iter()).all(|(a, b)| agree(a, b, &b.to_string()))
        }
        _ => match (found.as_number(), printed.as_number()) {
            (Some(found), Some(printed)) => {
                let digits = text.split_once('.').map_or(0, |(_, digits)| digits.trim().len());
                let digits = i32::try_from(digits).unwrap();
                (found - printed).abs() <= 0.5 * 10f64.powi(-digits) + 1e-9
            }
            _ => found == printed,
        },
    }
}

fn check(engine: &Engine, room: &Room, builtin: &Builtin) {
    let name = format!("{}::{}", room.name, builtin.name);
    let doc = builtin.doc();
    let blank =
        doc.iter().position(|line| line.is_empty()).unwrap_or_else(|| panic!("{name}: {doc:?}"));
    assert!(doc[..blank].join(" ").ends_with('.'), "{name}: no sentence first");
    let parameters: Vec<&str> = doc
        .iter()
        .filter_map(|line| line.strip_prefix("- ")?.split_once(':').map(|(name, _)| name))
        .collect();
    assert_eq!(parameters, builtin.parameters, "{name}");
    let at = |part: &str| doc.iter().position(|line| line.starts_with(part));
    let parts = ["Gives: ", "Source: ", "Example: "]
        .map(|part| at(part).unwrap_or_else(|| panic!("{name}: no {part}")));
    assert!(parts.is_sorted() && parts[2] + 1 == doc.len(), "{name}: {parts:?}");
    let example = doc[parts[2]].strip_prefix("Example: `").unwrap();
    let (expression, printed) = example.rsplit_once("` = ").unwrap();
    assert!(expression.contains(&name), "{name}: {expression}");
    let eval = |text: &str| {
        into_value(&engine.eval::<Dynamic>(text).unwrap_or_else(|error| panic!("{text}: {error}")))
    };
    let found = eval(expression);
    assert!(agree(&found, &eval(printed), printed), "{expression} is {found}, printed {printed}");
}

#[test]
fn every_comment_has_its_parts_and_its_example_holds() {
    let engine = engine();
    let mut count = 0;
    for room in [concrete::ROOM, calendar::ROOM] {
        for builtin in room.builtins() {
            check(&engine, &room, builtin);
            count += 1;
        }
    }
    assert!(count >= 43, "{count} built-ins");
}
