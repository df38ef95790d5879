//! The sandboxed engine: what scripts can do, and nothing else. No files, processes, clock,
//! network, randomness or `eval`; every size and step is bounded.

use std::rc::Rc;
use std::sync::Arc;

use jiff::ToSpan;
use jiff::civil::Date;
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage,
    BasicMathPackage, BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{
    Dynamic, Engine, EvalAltResult, FnPtr, FuncRegistration, ImmutableString, Module,
    NativeCallContext, Position, Token,
};

use super::bridge::{RecordHandle, from_script, item_to_script, to_script};
use super::builtins::rooms;
use super::fault::{Aim, Fault, refused};
use super::item::Base;
use super::near::{did_you_mean, did_you_mean_or_list};
use super::row::{Row, Rows, raise};
use super::world::{Bounds, World};
use crate::builtin::Builtin;
use crate::value::Value;

type Answer = Result<Dynamic, Box<EvalAltResult>>;

/// An engine with the built-ins, the types and the bounds, without any script.
pub fn sandbox(world: &Rc<World>) -> Engine {
    let mut engine = Engine::new_raw();
    packages(&mut engine);
    bound(&mut engine, &world.bounds);
    let steps = world.clone();
    engine.on_progress(move |_| steps.step());
    division(&mut engine);
    dates(&mut engine);
    records(&mut engine);
    rows(&mut engine, world);
    fields(&mut engine, world);
    built_ins(&mut engine, world);
    engine
}

/// What the engine itself brings: arithmetic, texts, lists, maps; no clock, no printing, no modules.
fn packages(engine: &mut Engine) {
    for package in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        MoreStringPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicFnPackage::new().as_shared_module(),
    ] {
        engine.register_global_module(package);
    }
}

fn bound(engine: &mut Engine, bounds: &Bounds) {
    for word in ["eval", "try", "catch", "print", "debug", "import", "export", "const", "/="] {
        engine.disable_symbol(word);
    }
    engine
        .set_max_call_levels(bounds.call_levels)
        .set_max_operations(0)
        .set_max_variables(256)
        .set_max_functions(4_096)
        .set_max_modules(16)
        .set_max_expr_depths(bounds.expression, bounds.expression)
        .set_max_string_size(bounds.text)
        .set_max_array_size(bounds.list)
        .set_max_map_size(bounds.map)
        .set_strict_variables(true)
        .set_fail_on_invalid_map_property(true)
        .set_optimization_level(rhai::OptimizationLevel::Simple);
}

const AS_BINDING_AS_TIMES: u8 = 180;

fn divide(context: &NativeCallContext, above: f64, below: f64) -> Result<f64, Box<EvalAltResult>> {
    if below == 0.0 {
        let fault = Fault::new("division-by-zero", format!("{above} is divided by zero"));
        return Err(fault.raise(context.call_position()));
    }
    Ok(above / below)
}

/// `/` divides: whole numbers too. The engine's own whole-number division is never reached.
fn division(engine: &mut Engine) {
    #[allow(deprecated, reason = "the crate marks the token hook as liable to change; pinned")]
    engine.on_parse_token(|token, _, _| match token {
        Token::Divide => Token::Custom(Box::new("divided_by".into())),
        other => other,
    });
    let registered = engine.register_custom_operator("divided_by", AS_BINDING_AS_TIMES);
    debug_assert!(registered.is_ok(), "the operator's name and binding are valid");
    #[allow(clippy::cast_precision_loss, reason = "scripts divide counts and figures")]
    {
        engine.register_fn("divided_by", |context: NativeCallContext, a: f64, b: f64| {
            divide(&context, a, b)
        });
        engine.register_fn("divided_by", |context: NativeCallContext, a: i64, b: i64| {
            divide(&context, a as f64, b as f64)
        });
        engine.register_fn("divided_by", |context: NativeCallContext, a: i64, b: f64| {
            divide(&context, a as f64, b)
        });
        engine.register_fn("divided_by", |context: NativeCallContext, a: f64, b: i64| {
            divide(&context, a, b as f64)
        });
    }
}

fn dates(engine: &mut Engine) {
    engine.register_type_with_name::<Date>("date");
    engine.register_get("year", |date: &mut Date| i64::from(date.year()));
    engine.register_get("month", |date: &mut Date| i64::from(date.month()));
    engine.register_get("day", |date: &mut Date| i64::from(date.day()));
    engine.register_fn("to_string", |date: &mut Date| date.to_string());
    engine.register_fn("==", |a: Date, b: Date| a == b);
    engine.register_fn("!=", |a: Date, b: Date| a != b);
    engine.register_fn("<", |a: Date, b: Date| a < b);
    engine.register_fn("<=", |a: Date, b: Date| a <= b);
    engine.register_fn(">", |a: Date, b: Date| a > b);
    engine.register_fn(">=", |a: Date, b: Date| a >= b);
    engine.register_fn("-", |a: Date, b: Date| {
        i64::from(a.since(b).map_or(0, |span| span.get_days()))
    });
    engine.register_fn("+", |context: NativeCallContext, date: Date, days: i64| {
        date.checked_add(days.clamp(-4_000_000, 4_000_000).days()).map_err(|_| {
            Fault::new("bad-date", "a date beyond the calendar").raise(context.call_position())
        })
    });
    engine.register_fn("-", |context: NativeCallContext, date: Date, days: i64| {
        date.checked_sub(days.clamp(-4_000_000, 4_000_000).days()).map_err(|_| {
            Fault::new("bad-date", "a date beyond the calendar").raise(context.call_position())
        })
    });
}

fn records(engine: &mut Engine) {
    engine.register_type_with_name::<RecordHandle>("record");
    engine.register_indexer_get(
        |context: NativeCallContext, record: &mut RecordHandle, name: ImmutableString| -> Answer {
            if let Some(value) = record.0.get(&*name) {
                Ok(to_script(value))
            } else {
                let fault = Fault::new(
                    "unknown-field",
                    format!("there is no field `{name}` in the record"),
                );
                let known = record.0.keys().map(|key| &**key);
                let hint = did_you_mean_or_list(&name, "it has", known);
                Err(Fault { hints: hint.into_iter().collect(), ..fault }
                    .raise(context.call_position()))
            }
        },
    );
    engine.register_fn("contains", |record: &mut RecordHandle, name: &str| {
        record.0.contains_key(name)
    });
}

/// Reading `row.name` and `row["name"]`.
fn fields(engine: &mut Engine, world: &Rc<World>) {
    engine.register_type_with_name::<Row>("row");
    let mut names: Vec<(Arc<str>, usize)> =
        world.names.borrow().iter().map(|(name, number)| (name.clone(), *number)).collect();
    names.sort();
    for (name, number) in names {
        field(engine, world, &name, number);
    }
    let by_name = world.clone();
    engine.register_indexer_get(
        move |context: NativeCallContext, row: &mut Row, name: ImmutableString| -> Answer {
            let number = by_name.names.borrow().get(&*name).copied();
            row.read(context.engine(), &by_name, number, &name, context.call_position())
        },
    );
}

/// `row.name` of one name.
pub fn field(engine: &mut Engine, world: &Rc<World>, name: &Arc<str>, number: usize) {
    if !is_identifier(name) {
        return;
    }
    let (world, text) = (world.clone(), name.clone());
    FuncRegistration::new_getter(&**name).register_into_engine(
        engine,
        move |context: NativeCallContext, row: &mut Row| -> Answer {
            row.read(context.engine(), &world, Some(number), &text, context.call_position())
        },
    );
}

/// Whether a name can stand behind a dot.
pub fn is_identifier(name: &str) -> bool {
    let mut signs = name.chars();
    signs.next().is_some_and(|first| first.is_ascii_alphabetic() || first == '_')
        && signs.all(|sign| sign.is_ascii_alphanumeric() || sign == '_')
}

/// A field of a base by name, without columns.
fn plain_field(
    world: &World,
    base: &Base,
    name: &str,
    context: &NativeCallContext,
) -> Result<Value, Box<EvalAltResult>> {
    let read = Row::plain(base.clone()).read(
        context.engine(),
        world,
        None,
        name,
        context.call_position(),
    )?;
    from_script(&read).map_err(|not| {
        Fault::new("wrong-kind", format!("`{name}` is {}", not.0)).raise(context.call_position())
    })
}

/// The field of a base without writing it down.
fn quiet_field(
    world: &World,
    base: &Base,
    name: &str,
    context: &NativeCallContext,
) -> Result<Value, Box<EvalAltResult>> {
    match base.get(&world.job, name) {
        Some(super::item::Item::Value(value)) if !matches!(value, Value::Error(_)) => Ok(value),
        _ => plain_field(world, base, name, context),
    }
}

#[allow(clippy::too_many_lines, reason = "one registration a word, in reading order")]
fn rows(engine: &mut Engine, world: &Rc<World>) {
    engine.register_type_with_name::<Rows>("rows");
    engine.register_iterator::<Rows>();
    engine.register_get("len", |rows: &mut Rows| count(rows.0.len()));
    engine.register_fn("len", |rows: &mut Rows| count(rows.0.len()));
    engine.register_fn("is_empty", |rows: &mut Rows| rows.0.is_empty());
    engine.register_indexer_get(|context: NativeCallContext, rows: &mut Rows, at: i64| -> Answer {
        match usize::try_from(at).ok().and_then(|at| rows.0.get(at)) {
            Some(base) => Ok(Dynamic::from(Row::plain(base.clone()))),
            None => Err(Fault::new(
                "no-such-item",
                format!("there is no row {at} in {} rows", rows.0.len()),
            )
            .raise(context.call_position())),
        }
    });
    let w = world.clone();
    engine.register_fn("has", move |row: &mut Row, name: &str| -> bool {
        row.base().get(&w.job, name).is_some()
    });
    let w = world.clone();
    engine.register_fn("without_errors", move |rows: &mut Rows, name: &str| -> Rows {
        Rows(rows.0.iter().filter(|base| !has_error(&w, base, name)).cloned().collect())
    });
    let w = world.clone();
    engine.register_fn("has_error", move |rows: &mut Rows, name: &str| -> bool {
        rows.0.iter().any(|base| has_error(&w, base, name))
    });
    let w = world.clone();
    engine.register_fn("has_error", move |row: &mut Row, name: &str| -> bool {
        has_error(&w, row.base(), name)
    });
    engine.register_get("first", |rows: &mut Rows| -> Dynamic {
        rows.0.first().map_or(Dynamic::UNIT, |base| Dynamic::from(Row::plain(base.clone())))
    });
    engine
        .register_fn("+", |a: Rows, b: Rows| Rows(a.0.iter().chain(b.0.iter()).cloned().collect()));

    let w = world.clone();
    engine.register_fn(
        "sum",
        move |context: NativeCallContext, rows: &mut Rows, name: &str| -> Answer {
            sum(&w, &context, rows, name)
        },
    );
    for (function, greatest) in [("max", true), ("min", false)] {
        let w = world.clone();
        engine.register_fn(
            function,
            move |context: NativeCallContext, rows: &mut Rows, name: &str| -> Answer {
                extreme(&w, &context, rows, name, greatest)
            },
        );
    }
    let w = world.clone();
    engine.register_fn(
        "unique",
        move |context: NativeCallContext, rows: &mut Rows, name: &str| -> Answer {
            let mut seen = indexmap::IndexMap::new();
            for base in rows.0.iter() {
                let value = quiet_field(&w, base, name, &context)?;
                let mut key = Vec::new();
                super::item::group_key(&value, &mut key);
                seen.entry(key).or_insert(value);
            }
            Ok(Dynamic::from_array(seen.values().map(to_script).collect()))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "where",
        move |context: NativeCallContext,
              rows: &mut Rows,
              name: &str,
              wanted: Dynamic|
              -> Result<Rows, Box<EvalAltResult>> {
            let mut key = Vec::new();
            super::item::group_key(&argument(&wanted, "where", &context)?, &mut key);
            if let Some(found) = w.find_kept(rows, name, &key) {
                let found = found.iter().filter_map(|&at| rows.0.get(at as usize));
                return Ok(Rows(found.cloned().collect()));
            }
            let mut kept = Vec::new();
            let mut other = Vec::new();
            for base in rows.0.iter() {
                other.clear();
                super::item::group_key(&quiet_field(&w, base, name, &context)?, &mut other);
                if other == key {
                    kept.push(base.clone());
                }
            }
            Ok(Rows(kept.into()))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "find",
        move |context: NativeCallContext, rows: &mut Rows, name: &str, wanted: Dynamic| -> Answer {
            let mut key = Vec::new();
            super::item::group_key(&argument(&wanted, "find", &context)?, &mut key);
            let mut other = Vec::new();
            if let Some(found) = w.find_kept(rows, name, &key) {
                let base = found.first().and_then(|&at| rows.0.get(at as usize));
                return Ok(
                    base.map_or(Dynamic::UNIT, |base| Dynamic::from(Row::plain(base.clone())))
                );
            }
            for base in rows.0.iter() {
                other.clear();
                super::item::group_key(&quiet_field(&w, base, name, &context)?, &mut other);
                if other == key {
                    return Ok(Dynamic::from(Row::plain(base.clone())));
                }
            }
            Ok(Dynamic::UNIT)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "group",
        move |context: NativeCallContext, rows: &mut Rows, names: rhai::Array| {
            group(&w, &context, rows, &names)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "group_rows",
        move |context: NativeCallContext, list: &mut rhai::Array, names: rhai::Array| {
            let mut rows =
                Rows(super::bridge::rows_from_script(&Dynamic::from_array(list.clone())).map_err(
                    |not| {
                        Fault::new(
                            "bad-argument",
                            format!("in `group_rows`: the list holds {}", not.0),
                        )
                        .raise(context.call_position())
                    },
                )?);
            group(&w, &context, &mut rows, &names)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "sort",
        move |context: NativeCallContext, rows: &mut Rows, names: rhai::Array| {
            sort(&w, &context, rows, &names)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "filter",
        move |context: NativeCallContext,
              rows: &mut Rows,
              keep: FnPtr|
              -> Result<Rows, Box<EvalAltResult>> {
            let direct = w.direct(&keep, rows.0.len());
            let mut kept = Vec::new();
            for base in rows.0.iter() {
                let row = Row::plain(base.clone());
                let answer = match directly(&w, &context, direct.as_ref(), &row)? {
                    Some(thing) => thing.plain() == Some(Value::Bool(true)),
                    None => keep
                        .call_within_context::<Dynamic>(&context, (row,))?
                        .as_bool()
                        .unwrap_or(false),
                };
                if answer {
                    kept.push(base.clone());
                }
            }
            Ok(Rows(kept.into()))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "flat_map",
        move |context: NativeCallContext,
              rows: &mut Rows,
              make: FnPtr|
              -> Result<Rows, Box<EvalAltResult>> {
            let direct = w.direct(&make, rows.0.len());
            let mut made = Vec::new();
            for base in rows.0.iter() {
                let row = Row::plain(base.clone());
                let thing = directly(&w, &context, direct.as_ref(), &row)?;
                if let Some(some) = thing.and_then(super::direct::Thing::into_rows) {
                    made.extend(some.iter().cloned());
                    continue;
                }
                let some: Dynamic = make.call_within_context(&context, (row,))?;
                made.extend(rows_of(&some, "flat_map", &context)?.iter().cloned());
            }
            Ok(Rows(made.into()))
        },
    );
    engine.register_fn(
        "as_rows",
        |context: NativeCallContext, list: &mut rhai::Array| -> Result<Rows, Box<EvalAltResult>> {
            rows_of(&Dynamic::from_array(std::mem::take(list)), "as_rows", &context).map(Rows)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "numbered",
        move |context: NativeCallContext,
              rows: &mut Rows,
              field: &str,
              within: rhai::Array,
              by: rhai::Array| { numbered(&w, &context, rows, field, (&within, &by)) },
    );
    let w = world.clone();
    engine.register_fn(
        "map",
        move |context: NativeCallContext,
              rows: &mut Rows,
              make: FnPtr|
              -> Result<rhai::Array, Box<EvalAltResult>> {
            let direct = w.direct(&make, rows.0.len());
            rows.0
                .iter()
                .map(|base| {
                    let row = Row::plain(base.clone());
                    match directly(&w, &context, direct.as_ref(), &row)? {
                        Some(thing) => Ok(thing.into_script()),
                        None => make.call_within_context(&context, (row,)),
                    }
                })
                .collect()
        },
    );
}

/// A function's value for a row, where it can be computed without the engine. It is an operation as
/// a call is.
fn directly(
    world: &World,
    context: &NativeCallContext,
    function: Option<&super::direct::Given>,
    row: &Row,
) -> Result<Option<super::direct::Thing>, Box<EvalAltResult>> {
    let Some(function) = function else { return Ok(None) };
    if let Some(token) = world.step() {
        return Err(Box::new(EvalAltResult::ErrorTerminated(token, context.call_position())));
    }
    Ok(function.value(context.engine(), world, row))
}

/// A field of rows added up; blank counts nothing, whole numbers stay whole.
pub fn sum(world: &World, context: &NativeCallContext, rows: &Rows, name: &str) -> Answer {
    let mut whole: Option<i64> = Some(0);
    let mut sum = 0.0;
    for base in rows.0.iter() {
        let value = quiet_field(world, base, name, context)?;
        whole = match (&value, whole) {
            (Value::Count(count), Some(so_far)) => so_far.checked_add(*count),
            (Value::Blank, so_far) => so_far,
            _ => None,
        };
        sum += match &value {
            Value::Blank => 0.0,
            other => other.as_number().ok_or_else(|| {
                let message = format!("`{name}` is {}, wanted a number to add up", other.kind());
                Fault::new("wrong-kind", message).raise(context.call_position())
            })?,
        };
    }
    Ok(to_script(&whole.map_or(Value::Number(sum), Value::Count)))
}

/// The greatest or least number or date in a field of rows.
pub fn extreme(
    world: &World,
    context: &NativeCallContext,
    rows: &Rows,
    name: &str,
    greatest: bool,
) -> Answer {
    let mut best: Option<Value> = None;
    for base in rows.0.iter() {
        let value = quiet_field(world, base, name, context)?;
        let order = match (&best, &value) {
            (_, Value::Blank) => None,
            (None, _) => {
                best = Some(value);
                continue;
            }
            (Some(Value::Date(a)), Value::Date(b)) => Some(b.cmp(a)),
            (Some(a), b) => match (a.as_number(), b.as_number()) {
                (Some(a), Some(b)) => b.partial_cmp(&a),
                _ => None,
            },
        };
        let better = if greatest { std::cmp::Ordering::Greater } else { std::cmp::Ordering::Less };
        if order == Some(better) {
            best = Some(value);
        }
    }
    Ok(to_script(&best.unwrap_or_default()))
}

/// What a function gave as rows.
fn rows_of(
    given: &Dynamic,
    function: &str,
    context: &NativeCallContext,
) -> Result<Arc<[Base]>, Box<EvalAltResult>> {
    super::bridge::rows_from_script(given).map_err(|not| {
        let message = format!("in `{function}`: the list holds {}", not.0);
        Fault::new("bad-argument", message).raise(context.call_position())
    })
}

/// Each row with a number in a field of its own: rows equal in the fields `by` have the same one,
/// counted from 1 within those equal in `within`, in the order in which they first come.
fn numbered(
    world: &World,
    context: &NativeCallContext,
    rows: &Rows,
    field: &str,
    (within, by): (&rhai::Array, &rhai::Array),
) -> Result<Rows, Box<EvalAltResult>> {
    let (within, by) = (field_names(within, context)?, field_names(by, context)?);
    let field: Arc<str> = Arc::from(field);
    let key_of = |base: &Base, names: &[ImmutableString]| {
        let mut key = Vec::new();
        for name in names {
            super::item::group_key(&quiet_field(world, base, name, context)?, &mut key);
        }
        Ok::<Vec<u8>, Box<EvalAltResult>>(key)
    };
    let mut groups: std::collections::HashMap<Vec<u8>, std::collections::HashMap<Vec<u8>, i64>> =
        std::collections::HashMap::new();
    let mut made = Vec::with_capacity(rows.0.len());
    for base in rows.0.iter() {
        let group = groups.entry(key_of(base, &within)?).or_default();
        let next = count(group.len()) + 1;
        let number = *group.entry(key_of(base, &by)?).or_insert(next);
        let fields = [
            (Arc::from("row"), super::item::Item::Row(base.clone())),
            (field.clone(), super::item::Item::Value(Value::Count(number))),
        ];
        made.push(Base::Made(Arc::new(fields.into_iter().collect())));
    }
    Ok(Rows(made.into()))
}

/// Whether a cell of a finished table's row is an error.
fn has_error(world: &World, base: &Base, name: &str) -> bool {
    matches!(base.get(&world.job, name), Some(super::item::Item::Value(Value::Error(_))))
}

#[allow(clippy::cast_possible_wrap, reason = "rows are fewer than 2^63")]
const fn count(rows: usize) -> i64 {
    rows as i64
}

fn argument(
    value: &Dynamic,
    function: &str,
    context: &NativeCallContext,
) -> Result<Value, Box<EvalAltResult>> {
    from_script(value).map_err(|not| {
        Fault::new("bad-argument", format!("in `{function}`: an argument is {}", not.0))
            .raise(context.call_position())
    })
}

fn field_names(
    names: &rhai::Array,
    context: &NativeCallContext,
) -> Result<Vec<ImmutableString>, Box<EvalAltResult>> {
    names
        .iter()
        .map(|name| {
            name.clone().into_immutable_string().map_err(|_| {
                Fault::new("bad-argument", "fields to group or sort by are named as texts")
                    .raise(context.call_position())
            })
        })
        .collect()
}

/// Rows that are equal in the fields named, as one row each: those fields and `rows`, in the order
/// in which they first come.
fn group(
    world: &World,
    context: &NativeCallContext,
    rows: &mut Rows,
    names: &rhai::Array,
) -> Result<Rows, Box<EvalAltResult>> {
    let names = field_names(names, context)?;
    let mut groups: indexmap::IndexMap<Vec<u8>, (Vec<Value>, Vec<Base>)> =
        indexmap::IndexMap::new();
    let mut key = Vec::new();
    for base in rows.0.iter() {
        key.clear();
        let mut values = Vec::with_capacity(names.len());
        for name in &names {
            let value = quiet_field(world, base, name, context)?;
            super::item::group_key(&value, &mut key);
            values.push(value);
        }
        match groups.get_mut(&key) {
            Some((_, members)) => members.push(base.clone()),
            None => {
                groups.insert(key.clone(), (values, vec![base.clone()]));
            }
        }
    }
    let keys: Vec<Arc<str>> = names.iter().map(|name| Arc::from(name.as_str())).collect();
    let made = groups.into_values().map(|(values, members)| {
        let mut fields: indexmap::IndexMap<Arc<str>, super::item::Item> =
            keys.iter().cloned().zip(values.into_iter().map(super::item::Item::Value)).collect();
        fields.insert(Arc::from("rows"), super::item::Item::Rows(members.into()));
        Base::Made(Arc::new(fields))
    });
    Ok(Rows(made.collect()))
}

/// Rows in the order of the fields named; a name with `-` in front sorts the other way; equal rows
/// keep their order.
fn sort(
    world: &World,
    context: &NativeCallContext,
    rows: &mut Rows,
    names: &rhai::Array,
) -> Result<Rows, Box<EvalAltResult>> {
    let names = field_names(names, context)?;
    let mut keyed = Vec::with_capacity(rows.0.len());
    for base in rows.0.iter() {
        let key = names
            .iter()
            .map(|name| quiet_field(world, base, name.strip_prefix('-').unwrap_or(name), context))
            .collect::<Result<Vec<Value>, _>>()?;
        keyed.push((key, base.clone()));
    }
    keyed.sort_by(|(a, _), (b, _)| {
        for ((a, b), name) in a.iter().zip(b).zip(&names) {
            let order = compare(a, b);
            let order = if name.starts_with('-') { order.reverse() } else { order };
            if order.is_ne() {
                return order;
            }
        }
        std::cmp::Ordering::Equal
    });
    Ok(Rows(keyed.into_iter().map(|(_, base)| base).collect()))
}

/// Numbers before dates before texts before the rest; blank last.
fn compare(a: &Value, b: &Value) -> std::cmp::Ordering {
    let rank = |value: &Value| match value {
        Value::Count(_) | Value::Number(_) => 0,
        Value::Date(_) => 1,
        Value::Text(_) => 2,
        Value::Blank => 4,
        _ => 3,
    };
    match (a, b) {
        (Value::Text(a), Value::Text(b)) => a.cmp(b),
        (Value::Date(a), Value::Date(b)) => a.cmp(b),
        _ => match (a.as_number(), b.as_number()) {
            (Some(a), Some(b)) => a.total_cmp(&b),
            _ => rank(a).cmp(&rank(b)),
        },
    }
}

/// Names and numbers of parameters of the functions that every script has, built-ins of the rooms
/// aside.
pub fn engine_functions() -> Vec<(String, usize)> {
    let mut functions: Vec<(String, usize)> =
        signatures().iter().filter_map(|signature| name_and_count(signature)).collect();
    functions.sort();
    functions.dedup();
    functions
}

/// Every function registered, built-ins included, as its name, parameters and result.
#[must_use]
pub fn signatures() -> Vec<String> {
    let world = Rc::new(World::bare());
    let mut engine = sandbox(&world);
    job_handle(&mut engine, &world);
    super::define::register(&mut engine, &Rc::default());
    super::testing::register(&mut engine, &world);
    let mut signatures = engine.gen_fn_signatures(true);
    signatures.sort();
    signatures
}

/// An engine with its own packages alone.
pub fn packages_alone() -> Engine {
    let mut engine = Engine::new_raw();
    packages(&mut engine);
    engine
}

/// The same of the engine's own packages alone.
#[cfg(test)]
pub fn package_functions() -> Vec<(String, usize)> {
    packages_alone()
        .gen_fn_signatures(true)
        .iter()
        .filter_map(|signature| name_and_count(signature))
        .collect()
}

fn name_and_count(signature: &str) -> Option<(String, usize)> {
    let (head, rest) = signature.split_once('(')?;
    let inside = rest.split(')').next().unwrap_or("");
    let count = if inside.trim().is_empty() { 0 } else { inside.split(',').count() };
    (!head.contains("::")).then(|| (head.trim().to_owned(), count))
}

/// The built-ins of the calculation rooms, each under its room's name.
fn built_ins(engine: &mut Engine, world: &Rc<World>) {
    for room in rooms() {
        let mut module = Module::new();
        for builtin in room.builtins() {
            let (named, w) = (Named::of(room.name, builtin), world.clone());
            register_builtin(&mut module, builtin, move |position, arguments| {
                called(&w, &named, position, arguments).map(|(_, value)| value)
            });
            world
                .known
                .borrow_mut()
                .functions
                .push((format!("{}::{}", room.name, builtin.name), builtin.parameters.len()));
        }
        engine.register_static_module(room.name, module.into());
    }
}

/// Built-ins whose results are remembered by their arguments: equal strips and runs are computed
/// once.
const REMEMBERED: &[&str] = &[
    "deck::plan",
    "deck::plan_outline",
    "deck::construction",
    "deck::longest_span",
    "deck::shores",
    "deck::ponding",
    "deck::section",
    "weight::deck_psf",
];

/// A built-in as a function of a module; `call` is given the call's place and the arguments.
pub fn register_builtin(
    module: &mut Module,
    builtin: &'static Builtin,
    call: impl Fn(Position, &[&mut Dynamic]) -> Result<Value, Box<EvalAltResult>> + 'static,
) {
    let types = vec![std::any::TypeId::of::<Dynamic>(); builtin.parameters.len()];
    let parameters = builtin.parameters.iter().map(|name| format!("{name}: Dynamic"));
    let parameters: Vec<String> = parameters.chain(["Dynamic".to_owned()]).collect();
    FuncRegistration::new(builtin.name)
        .in_internal_namespace()
        .with_params_info(parameters)
        .set_into_module_raw(
            module,
            types,
            rhai::RhaiFunc::Pure {
                func: rhai::Shared::new(
                    move |context: Option<NativeCallContext>, arguments: &mut [&mut Dynamic]| {
                        let position = context
                            .as_ref()
                            .map_or(Position::NONE, NativeCallContext::call_position);
                        call(position, arguments).map(|value| to_script(&value))
                    },
                ),
                has_context: true,
                is_pure: true,
                is_volatile: false,
            },
        );
}

/// A built-in with its comment, for definition files; it can not be called.
pub fn register_documented(module: &mut Module, builtin: &'static Builtin) {
    let types = vec![std::any::TypeId::of::<Dynamic>(); builtin.parameters.len()];
    let parameters = builtin.parameters.iter().map(|name| format!("{name}: ?"));
    FuncRegistration::new(builtin.name)
        .in_internal_namespace()
        .with_params_info(parameters.chain(["?".to_owned()]).collect::<Vec<String>>())
        .with_comments(builtin.doc().into_iter().map(|line| format!("/// {line}")))
        .set_into_module_raw(
            module,
            types,
            rhai::RhaiFunc::Pure {
                func: rhai::Shared::new(|_, _| Ok(Dynamic::UNIT)),
                has_context: false,
                is_pure: true,
                is_volatile: false,
            },
        );
}

/// A built-in under the name by which scripts call it.
pub struct Named {
    pub name: String,
    pub builtin: &'static Builtin,
    remembered: bool,
}

impl Named {
    pub fn of(room: &str, builtin: &'static Builtin) -> Named {
        let name = format!("{room}::{}", builtin.name);
        let remembered = REMEMBERED.contains(&name.as_str());
        Named { name, builtin, remembered }
    }
}

/// Calls a built-in: its arguments as plain values, and its result.
pub fn called(
    world: &World,
    named: &Named,
    position: Position,
    arguments: &[&mut Dynamic],
) -> Result<(Vec<Value>, Value), Box<EvalAltResult>> {
    let Named { name, builtin, .. } = named;
    let mut values = Vec::with_capacity(arguments.len());
    for (at, (argument, parameter)) in arguments.iter().zip(builtin.parameters).enumerate() {
        let value = argument_value(world, argument).map_err(|not| {
            Fault::new("bad-argument", format!("in `{name}`: `{parameter}` is {}", not.0))
                .aim(Aim::Argument(at, None))
                .raise(position)
        })?;
        values.push(value);
    }
    match plain_result(world, named, &values) {
        Ok(value) => Ok((values, value)),
        Err(fault) => Err(fault.raise(position)),
    }
}

/// Calls a built-in with plain values.
#[allow(clippy::result_large_err, reason = "made once a mistake, not in a hot path")]
pub fn plain_result(world: &World, named: &Named, values: &[Value]) -> Result<Value, Fault> {
    let Named { name, builtin, remembered } = named;
    // A mistake of the program's own costs the cell, as any other does.
    let computed = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        if *remembered {
            world.remember(name, values, builtin.call)
        } else {
            (builtin.call)(values)
        }
    }));
    match computed {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(refusal)) => Err(refused(name, builtin.parameters, &refusal)),
        Err(_) => {
            let message = format!("`{name}` itself failed on what it was given");
            Err(Fault::new("program-failed", message)
                .hint("neither schedule nor scripts are to blame; please report it with both"))
        }
    }
}

/// An argument of a built-in: a plain value, or the record of a deck for a row of the decks.
fn argument_value(world: &World, argument: &Dynamic) -> Result<Value, super::bridge::NotPlain> {
    if let Some(row) = argument.read_lock::<Row>()
        && let Base::Deck(at) = row.base()
        && let Some(deck) = world.job.decks.get(*at as usize)
    {
        return Ok(Value::Record(deck.fields.clone()));
    }
    from_script(argument)
}

/// The job as scripts see it: `job.bays`, `job.pours`, `job.head`, `job.table("takeoff")`.
#[derive(Clone)]
pub struct JobHandle;

/// Registers the job handle.
pub fn job_handle(engine: &mut Engine, world: &Rc<World>) {
    engine.register_type_with_name::<JobHandle>("job");
    let w = world.clone();
    engine.register_get("bays", move |_: &mut JobHandle| {
        w.kept_rows("bays", || {
            (0..u32::try_from(w.job.bays.len()).unwrap_or(u32::MAX)).map(Base::Bay).collect()
        })
    });
    let w = world.clone();
    engine.register_get("decks", move |_: &mut JobHandle| {
        w.kept_rows("decks", || {
            (0..u32::try_from(w.job.decks.len()).unwrap_or(u32::MAX)).map(Base::Deck).collect()
        })
    });
    let w = world.clone();
    engine.register_get("head", move |_: &mut JobHandle| RecordHandle(w.job.head.clone()));
    for sheet in crate::job::schema::SHEETS {
        if matches!(sheet.key, "head" | "bays") {
            continue;
        }
        let w = world.clone();
        engine.register_get(sheet.key, move |_: &mut JobHandle| {
            let count = u32::try_from(w.job.sheet(sheet.key).len()).unwrap_or(u32::MAX);
            w.kept_rows(sheet.key, || (0..count).map(|at| Base::Entry(sheet.key, at)).collect())
        });
    }
    let w = world.clone();
    engine.register_fn(
        "table",
        move |context: NativeCallContext,
              _: &mut JobHandle,
              key: &str|
              -> Result<Rows, Box<EvalAltResult>> {
            if let Some(rows) = w.table_rows(key) {
                return Ok(rows);
            }
            let tables = w.tables.borrow();
            if let Some(table) = tables.iter().find(|table| &***table == key) {
                Err(raise(super::fault::Stop::Need(table.clone()), context.call_position()))
            } else {
                let mut fault = Fault::new("unknown-table", format!("there is no table `{key}`"));
                fault.hints.extend(did_you_mean(key, tables.iter().map(|table| &**table)));
                Err(fault.raise(context.call_position()))
            }
        },
    );
    let w = world.clone();
    engine.register_fn("value", move |_: &mut JobHandle, key: &str| {
        item_to_script(&super::item::Item::Value(w.job.head_value(key)))
    });
}
