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
    Dynamic, Engine, EvalAltResult, FuncRegistration, ImmutableString, Module, NativeCallContext,
    Position, Token,
};

use super::bridge::{RecordHandle, from_script, item_to_script, to_script};
use super::builtins::rooms;
use super::fault::{Aim, Fault, refused};
use super::item::Base;
use super::methods;
use super::near::{did_you_mean, did_you_mean_or_list};
use super::row::{Row, Rows, raise};
use super::world::{Bounds, World, argument_key};
use crate::builtin::Builtin;
use crate::value::{Refusal, Value};

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
    methods::rows(&mut engine, world);
    fields(&mut engine, world);
    built_ins(&mut engine, world);
    engine
}

/// An engine that compiles scripts as [`sandbox`]'s does, and can do nothing else.
pub fn parser(bounds: &Bounds) -> Engine {
    let mut engine = Engine::new_raw();
    bound(&mut engine, bounds);
    division(&mut engine);
    for room in rooms() {
        engine.register_static_module(room.name, Module::new().into());
    }
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
        // What it would save at run time is computed without the engine.
        .set_optimization_level(rhai::OptimizationLevel::None);
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
            if let Some(value) = record.0.get(&name) {
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
    "deck::share",
    "deck::added_concrete",
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
    /// Whether its results are remembered by their arguments.
    pub remembered: bool,
}

impl Named {
    pub fn of(room: &str, builtin: &'static Builtin) -> Named {
        let name = format!("{room}::{}", builtin.name);
        let remembered = REMEMBERED.contains(&name.as_str());
        Named { name, builtin, remembered }
    }

    fn refused(&self, refusal: &Refusal) -> Fault {
        refused(&self.name, self.builtin.parameters, refusal)
    }

    /// The beginning of the bytes by which a result is known again.
    pub fn key(&self) -> Vec<u8> {
        let mut key = Vec::with_capacity(256);
        key.extend(self.name.as_bytes());
        key
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
    if !named.remembered {
        return computed(named, values)?.map_err(|refusal| named.refused(&refusal));
    }
    let mut key = named.key();
    for value in values {
        argument_key(value, &mut key);
    }
    let result = if let Some(result) = world.remembered(&key) {
        result
    } else {
        let result = computed(named, values)?;
        world.remember(key, values.to_vec(), &result);
        result
    };
    result.map_err(|refusal| named.refused(&refusal))
}

/// What a built-in gives or refuses; a mistake of the program's own costs the cell, as any other does.
#[allow(clippy::result_large_err, reason = "made once a mistake, not in a hot path")]
pub fn computed(named: &Named, values: &[Value]) -> Result<Result<Value, Refusal>, Fault> {
    let call = std::panic::AssertUnwindSafe(|| (named.builtin.call)(values));
    std::panic::catch_unwind(call).map_err(|_| {
        let message = format!("`{}` itself failed on what it was given", named.name);
        Fault::new("program-failed", message)
            .hint("neither schedule nor scripts are to blame; please report it with both")
    })
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
    engine.register_get("head", move |_: &mut JobHandle| RecordHandle(w.job.head.clone()));
    let sheets = crate::job::schema::SHEETS.iter().map(|sheet| sheet.key);
    for key in sheets.filter(|key| *key != "head").chain(["decks"]) {
        let w = world.clone();
        let none = || Rows(Arc::from([]));
        engine.register_get(key, move |_: &mut JobHandle| w.job_rows(key).unwrap_or_else(none));
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
