//! The recording engine: the ordinary one with its reads, built-ins, rules and sums wrapped, so that
//! each writes down what it was given and what it gave. The ordinary engine knows nothing of it.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{
    AST, Dynamic, Engine, EvalAltResult, FuncRegistration, ImmutableString, Module,
    NativeCallContext, Scope,
};

use super::bridge::{from_script, item_to_script};
use super::compile::{Rule, with_functions};
use super::define::Function;
use super::describe::explain;
use super::engine::{JobHandle, Named, called, is_identifier, register_builtin};
use super::fault::{Fault, Stop};
use super::item::{Base, Item};
use super::methods::{extreme, sum};
use super::row::{Row, Rows, raise};
use super::world::World;
use crate::job::name::Name;
use crate::value::Value;

type Answer = Result<Dynamic, Box<EvalAltResult>>;

/// One step on the way to a figure.
#[derive(Clone, Debug)]
pub struct Step {
    pub what: What,
    pub value: Value,
    pub below: Vec<Step>,
}

/// What a step was.
#[derive(Clone, Debug)]
pub enum What {
    /// A column of the row's own table.
    Column { table: Arc<str>, column: Arc<str>, place: Function },
    /// A rule: name and arguments, line of its definition.
    Rule { name: String, arguments: Vec<String>, line: usize },
    /// A built-in: name and arguments.
    Builtin { name: String, parameters: &'static [&'static str], arguments: Vec<Value> },
    /// A field of a row.
    Field { base: Base, name: Arc<str> },
    /// An aggregate over a field of rows.
    Rows { name: &'static str, rows: Arc<[Base]>, field: Arc<str> },
    /// An entry of the Job sheet.
    Head { name: Arc<str> },
}

/// Writes down steps.
#[derive(Default)]
pub struct Recorder {
    open: RefCell<Vec<Vec<Step>>>,
}

impl Recorder {
    /// Opens a step; what comes is below it.
    pub fn enter(&self) {
        self.open.borrow_mut().push(Vec::new());
    }

    /// Closes the step opened last; what has no plain value leaves what is below it.
    pub fn leave(&self, what: What, value: Option<Value>) {
        let mut open = self.open.borrow_mut();
        let below = open.pop().unwrap_or_default();
        let steps = match value {
            Some(value) => vec![Step { what, value, below }],
            None => below,
        };
        match open.last_mut() {
            Some(above) => above.extend(steps),
            None => open.push(steps),
        }
    }

    /// The steps written down since the last call.
    pub fn take(&self) -> Vec<Step> {
        self.open.take().into_iter().flatten().collect()
    }
}

/// Wraps what the engine has already registered.
pub fn install(engine: &mut Engine, world: &Rc<World>, recorder: &Rc<Recorder>) {
    let mut names: Vec<(Arc<str>, usize)> =
        world.names.borrow().iter().map(|(name, number)| (name.clone(), *number)).collect();
    names.sort();
    for (name, number) in names {
        field(engine, world, recorder, &name, number);
    }
    let (w, r) = (world.clone(), recorder.clone());
    engine.register_indexer_get(
        move |context: NativeCallContext, row: &mut Row, name: ImmutableString| -> Answer {
            let number = w.names.borrow().get(&*name).copied();
            read(&r, &w, &context, row, number, &Arc::from(name.as_str()))
        },
    );
    for room in super::rooms() {
        let mut module = Module::new();
        for builtin in room.builtins() {
            let named = Named::of(room.name, builtin);
            let (w, r) = (world.clone(), recorder.clone());
            register_builtin(&mut module, builtin, move |context, arguments| {
                r.enter();
                let result = called(&w, &named, context, arguments);
                let parameters = builtin.parameters;
                let (arguments, value) = match &result {
                    Ok((arguments, value)) => (arguments.clone(), value.clone()),
                    Err(error) => {
                        let given =
                            arguments.iter().map(|given| from_script(given).unwrap_or_default());
                        (given.collect(), failed(error, &w))
                    }
                };
                r.leave(
                    What::Builtin { name: named.name.clone(), parameters, arguments },
                    Some(value),
                );
                result.map(|(_, value)| value)
            });
        }
        engine.register_static_module(room.name, module.into());
    }
    let (w, r) = (world.clone(), recorder.clone());
    engine.register_fn(
        "sum",
        move |context: NativeCallContext, rows: &mut Rows, name: &str| -> Answer {
            over_rows(&r, &w, "sum", rows, name, || sum(&w, &context, rows, name))
        },
    );
    for (function, greatest) in [("max", true), ("min", false)] {
        let (w, r) = (world.clone(), recorder.clone());
        engine.register_fn(
            function,
            move |context: NativeCallContext, rows: &mut Rows, name: &str| -> Answer {
                over_rows(&r, &w, function, rows, name, || {
                    extreme(&w, &context, rows, name, greatest)
                })
            },
        );
    }
    let (w, r) = (world.clone(), recorder.clone());
    engine.register_fn("value", move |_: &mut JobHandle, key: &str| {
        let value = w.job.head_value(key);
        r.enter();
        r.leave(What::Head { name: Arc::from(key) }, Some(value.clone()));
        item_to_script(&Item::Value(value))
    });
}

/// `row.name` of one name.
pub fn field(
    engine: &mut Engine,
    world: &Rc<World>,
    recorder: &Rc<Recorder>,
    name: &Arc<str>,
    number: usize,
) {
    if !is_identifier(name) {
        return;
    }
    let (world, recorder, text) = (world.clone(), recorder.clone(), name.clone());
    FuncRegistration::new_getter(&**name).register_into_engine(
        engine,
        move |context: NativeCallContext, row: &mut Row| -> Answer {
            read(&recorder, &world, &context, row, Some(number), &text)
        },
    );
}

fn read(
    recorder: &Recorder,
    world: &World,
    context: &NativeCallContext,
    row: &Row,
    number: Option<usize>,
    name: &Arc<str>,
) -> Answer {
    let what = match row.column_of(world, number, &Name::new(&**name)) {
        Some((table, column)) => What::Column {
            table: table.key.clone(),
            column: table.columns[column].key.clone(),
            place: table.columns[column].place.clone(),
        },
        None => What::Field { base: row.base().clone(), name: name.clone() },
    };
    recorder.enter();
    let result = row.read(context.engine(), world, number, name, context.call_position());
    recorder.leave(what, told(&result, world));
    result
}

fn over_rows(
    recorder: &Recorder,
    world: &World,
    name: &'static str,
    rows: &Rows,
    field: &str,
    compute: impl FnOnce() -> Answer,
) -> Answer {
    recorder.enter();
    let result = compute();
    let what = What::Rows { name, rows: rows.0.clone(), field: Arc::from(field) };
    recorder.leave(what, told(&result, world));
    result
}

/// A result as a plain value; `None` where it is none.
fn told(result: &Answer, world: &World) -> Option<Value> {
    match result {
        Ok(value) => from_script(value).ok(),
        Err(error) => Some(failed(error, world)),
    }
}

fn failed(error: &EvalAltResult, world: &World) -> Value {
    match explain(error, &world.known.borrow()) {
        Stop::Fault(fault) | Stop::Carried(fault) => {
            Value::Error(Arc::from(fault.message.as_str()))
        }
        Stop::Need(_) | Stop::Trying | Stop::UsedUp(_) => Value::Blank,
    }
}

/// Each rule as a native function that writes down its call and runs the script function alone, so
/// that the rules it calls are written down too.
pub fn rules(
    engine: &mut Engine,
    world: &Rc<World>,
    recorder: &Rc<Recorder>,
    rules: &[Rule],
    library: &AST,
) {
    for rule in rules {
        let alone = with_functions(library, |name, parameters| {
            name.starts_with("anon$") || (name == rule.name && parameters == rule.parameters.len())
        });
        let types = vec![std::any::TypeId::of::<Dynamic>(); rule.parameters.len()];
        let (name, line, world, recorder) =
            (rule.name.clone(), rule.line, world.clone(), recorder.clone());
        engine.register_raw_fn(
            rule.name.as_str(),
            types,
            move |context: NativeCallContext, arguments: &mut [&mut Dynamic]| -> Answer {
                let given: Vec<Dynamic> =
                    arguments.iter().map(|argument| (*argument).clone()).collect();
                let arguments = given.iter().map(|given| shown(given, &world)).collect();
                recorder.enter();
                let result =
                    context.engine().call_fn::<Dynamic>(&mut Scope::new(), &alone, &name, given);
                let what = What::Rule { name: name.clone(), arguments, line };
                recorder.leave(what, Some(told(&result, &world).unwrap_or_default()));
                result.map_err(|error| match explain(&error, &world.known.borrow()) {
                    Stop::Fault(fault) => Fault::clone(&fault).raise(context.call_position()),
                    other => raise(other, context.call_position()),
                })
            },
        );
    }
}

/// An argument of a rule: a row by its label, else the value.
fn shown(value: &Dynamic, world: &World) -> String {
    if let Some(row) = value.read_lock::<Row>() {
        return row.base().label(&world.job).unwrap_or_else(|| "a row".to_owned());
    }
    from_script(value).map_or_else(|_| "…".to_owned(), |value| value.to_string())
}
