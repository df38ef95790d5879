//! The methods of rows and of lists of rows, as the engine calls them.

use std::rc::Rc;
use std::sync::Arc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, ImmutableString, NativeCallContext};

use super::bridge::{NotPlain, from_script, rows_from_list, rows_from_script, to_script};
use super::direct::Given;
use super::fault::Fault;
use super::item::Base;
use super::row::{Row, Rows};
use super::rowset::{self, Amiss, count};
use super::thing::Thing;
use super::world::World;
use crate::job::name::Name;
use crate::value::Value;

type Error = Box<EvalAltResult>;
type Answer = Result<Dynamic, Error>;

#[allow(clippy::too_many_lines, reason = "one registration a word, in reading order")]
pub fn rows(engine: &mut Engine, world: &Rc<World>) {
    engine.register_type_with_name::<Rows>("rows");
    engine.register_iterator::<Rows>();
    engine.register_get("len", |rows: &mut Rows| count(rows.0.len()));
    engine.register_fn("len", |rows: &mut Rows| count(rows.0.len()));
    engine.register_fn("is_empty", |rows: &mut Rows| rows.0.is_empty());
    engine.register_indexer_get(|context: NativeCallContext, rows: &mut Rows, at: i64| -> Answer {
        match usize::try_from(at).ok().and_then(|at| rows.0.get(at)) {
            Some(base) => Ok(row(base)),
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
        rowset::without_errors(&w, rows, name)
    });
    let w = world.clone();
    engine.register_fn("has_error", move |rows: &mut Rows, name: &str| -> bool {
        rowset::any_error(&w, rows, &Name::new(name))
    });
    let w = world.clone();
    engine.register_fn("has_error", move |row: &mut Row, name: &str| -> bool {
        rowset::has_error(&w, row.base(), &Name::new(name))
    });
    engine.register_get("first", |rows: &mut Rows| -> Dynamic {
        rows.0.first().map_or(Dynamic::UNIT, row)
    });
    engine.register_fn("+", |a: Rows, b: Rows| rowset::both(&a, &b));

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
            let seen = told(rowset::unique(&w, rows, name), &w, &context)?;
            Ok(Dynamic::from_array(seen.iter().map(to_script).collect()))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "where",
        move |context: NativeCallContext,
              rows: &mut Rows,
              name: &str,
              wanted: Dynamic|
              -> Result<Rows, Error> {
            let wanted = argument(&wanted, "where", &context)?;
            told(rowset::having(&w, rows, name, &wanted), &w, &context)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "find",
        move |context: NativeCallContext, rows: &mut Rows, name: &str, wanted: Dynamic| -> Answer {
            let wanted = argument(&wanted, "find", &context)?;
            let found = told(rowset::first_having(&w, rows, name, &wanted), &w, &context)?;
            Ok(found.as_ref().map_or(Dynamic::UNIT, row))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "group",
        move |context: NativeCallContext, rows: &mut Rows, names: Array| -> Result<Rows, Error> {
            let names = field_names(&names, &context)?;
            told(rowset::group(&w, rows, &names), &w, &context)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "group_rows",
        move |context: NativeCallContext, list: &mut Array, names: Array| -> Result<Rows, Error> {
            let rows = held(rows_from_list(list), "group_rows", &context)?;
            let names = field_names(&names, &context)?;
            told(rowset::group(&w, &Rows(rows), &names), &w, &context)
        },
    );
    let w = world.clone();
    engine.register_fn(
        "sort",
        move |context: NativeCallContext, rows: &mut Rows, names: Array| -> Result<Rows, Error> {
            let names = field_names(&names, &context)?;
            told(rowset::sort(&w, rows, &names), &w, &context)
        },
    );
    engine.register_fn(
        "as_rows",
        |context: NativeCallContext, list: &mut Array| -> Result<Rows, Error> {
            held(rows_from_list(list), "as_rows", &context).map(Rows)
        },
    );
    engine.register_fn("as_rows", |rows: &mut Rows| rows.clone());
    let w = world.clone();
    engine.register_fn(
        "numbered",
        move |context: NativeCallContext,
              rows: &mut Rows,
              field: &str,
              within: Array,
              by: Array|
              -> Result<Rows, Error> {
            let (within, by) = (field_names(&within, &context)?, field_names(&by, &context)?);
            told(rowset::numbered(&w, rows, &Arc::from(field), (&within, &by)), &w, &context)
        },
    );
    with_functions(engine, world);
}

/// The methods that are given a function.
fn with_functions(engine: &mut Engine, world: &Rc<World>) {
    let w = world.clone();
    engine.register_fn(
        "filter",
        move |context: NativeCallContext, rows: &mut Rows, keep: FnPtr| -> Result<Rows, Error> {
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
        move |context: NativeCallContext, rows: &mut Rows, make: FnPtr| -> Result<Rows, Error> {
            let direct = w.direct(&make, rows.0.len());
            let mut made = Vec::new();
            for base in rows.0.iter() {
                let row = Row::plain(base.clone());
                let thing = directly(&w, &context, direct.as_ref(), &row)?;
                if let Some(some) = thing.and_then(Thing::into_rows) {
                    made.extend(some.iter().cloned());
                    continue;
                }
                let some: Dynamic = make.call_within_context(&context, (row,))?;
                made.extend(held(rows_from_script(&some), "flat_map", &context)?.iter().cloned());
            }
            Ok(Rows(made.into()))
        },
    );
    let w = world.clone();
    engine.register_fn(
        "map",
        move |context: NativeCallContext, rows: &mut Rows, make: FnPtr| -> Result<Array, Error> {
            let direct = w.direct(&make, rows.0.len());
            rows.0
                .iter()
                .map(|base| {
                    let row = Row::plain(base.clone());
                    let thing = directly(&w, &context, direct.as_ref(), &row)?;
                    match thing.and_then(Thing::into_script) {
                        Some(made) => Ok(made),
                        None => make.call_within_context(&context, (row,)),
                    }
                })
                .collect()
        },
    );
}

fn row(base: &Base) -> Dynamic {
    Dynamic::from(Row::plain(base.clone()))
}

/// A field of rows added up.
pub fn sum(world: &World, context: &NativeCallContext, rows: &Rows, name: &str) -> Answer {
    told(rowset::sum(world, rows, name), world, context).map(|value| to_script(&value))
}

/// The greatest or least number or date in a field of rows.
pub fn extreme(
    world: &World,
    context: &NativeCallContext,
    rows: &Rows,
    name: &str,
    greatest: bool,
) -> Answer {
    let best = told(rowset::extreme(world, rows, name, greatest), world, context)?;
    Ok(to_script(&best))
}

/// What is amiss with rows, as the error of the call.
fn told<T>(
    result: Result<T, Amiss>,
    world: &World,
    context: &NativeCallContext,
) -> Result<T, Error> {
    let position = context.call_position();
    result.map_err(|amiss| match amiss {
        Amiss::Unread(base, name) => {
            match Row::plain(base).read(context.engine(), world, None, &name, position) {
                Err(error) => error,
                Ok(value) => {
                    let is =
                        from_script(&value).map_or_else(|not| not.0, |it| it.kind().to_owned());
                    Fault::new("wrong-kind", format!("`{name}` is {is}")).raise(position)
                }
            }
        }
        Amiss::NoNumber(name, kind) => {
            let message = format!("`{name}` is {kind}, wanted a number to add up");
            Fault::new("wrong-kind", message).raise(position)
        }
    })
}

/// A function's value for a row, where it can be computed without the engine. It is an operation as
/// a call is.
fn directly(
    world: &World,
    context: &NativeCallContext,
    function: Option<&Given>,
    row: &Row,
) -> Result<Option<Thing>, Error> {
    let Some(function) = function else { return Ok(None) };
    if let Some(token) = world.step() {
        return Err(Box::new(EvalAltResult::ErrorTerminated(token, context.call_position())));
    }
    Ok(function.value(context.engine(), world, row))
}

/// The rows that a list holds, or that a function gave.
fn held(
    rows: Result<Arc<[Base]>, NotPlain>,
    function: &str,
    context: &NativeCallContext,
) -> Result<Arc<[Base]>, Error> {
    rows.map_err(|not| {
        let message = format!("in `{function}`: the list holds {}", not.0);
        Fault::new("bad-argument", message).raise(context.call_position())
    })
}

fn argument(value: &Dynamic, function: &str, context: &NativeCallContext) -> Result<Value, Error> {
    from_script(value).map_err(|not| {
        Fault::new("bad-argument", format!("in `{function}`: an argument is {}", not.0))
            .raise(context.call_position())
    })
}

fn field_names(names: &Array, context: &NativeCallContext) -> Result<Vec<Arc<str>>, Error> {
    let name = |name: &Dynamic| match name.as_immutable_string_ref() {
        Ok(name) => Ok(Arc::from(ImmutableString::as_str(&name))),
        Err(_) => Err(Fault::new("bad-argument", "fields to group or sort by are named as texts")
            .raise(context.call_position())),
    };
    names.iter().map(name).collect()
}
