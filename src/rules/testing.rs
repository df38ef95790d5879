//! The tests of a shop's scripts: functions named `test_…`, each run by itself, that compute with
//! rules, built-ins and small schedules and check what comes out.

use std::num::NonZeroUsize;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;

use indexmap::IndexMap;
use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, NativeCallContext};

use super::bridge::from_script;
use super::describe::explain;
use super::fault::{Fault, Stop};
use super::host::{Host, HostOptions};
use super::item::{Base, Item};
use super::on_large_stack;
use super::row::{Rows, raise};
use super::run::{self, Ended};
use super::source::Scripts;
use super::world::{Bounds, World};
use crate::finding::{Finding, Place};
use crate::job::Job;
use crate::value::{Record, Value};

type Answer<T> = Result<T, Box<EvalAltResult>>;
/// A schedule read, with what was found in it.
pub type Read = Result<(Job, Vec<Finding>), Vec<Finding>>;

/// How tests come by schedules: the reading is another room's.
pub trait Schedules: Send + Sync {
    /// A schedule made of sheets of rows by heading.
    fn made(&self, sheets: &[(String, Vec<Record>)]) -> Read;
    /// A schedule of the shop's folder.
    fn file(&self, name: &str) -> Read;
}

/// What tests need.
#[derive(Clone)]
pub struct Testing {
    pub schedules: Arc<dyn Schedules>,
    pub scripts: Arc<Scripts>,
    pub bounds: Bounds,
}

/// A test that was run.
#[derive(Clone, Debug)]
pub struct Tested {
    pub name: String,
    pub place: Option<Place>,
    /// What its comment says.
    pub about: String,
    /// Why it failed; none where all it checks held.
    pub failure: Option<Finding>,
}

/// Runs the tests whose names contain the filter, in the order in which they stand.
pub fn test(testing: Testing, filter: &str) -> Result<Vec<Tested>, Vec<Finding>> {
    on_large_stack(move || {
        let options = HostOptions { bounds: testing.bounds, ..HostOptions::default() };
        let host = Host::load(&Arc::default(), &testing.scripts, options)?;
        *host.world.testing.borrow_mut() = Some(Rc::new(testing));
        let wanted = host.loaded.tests.iter().filter(|test| test.name.contains(filter));
        Ok(wanted
            .map(|test| Tested {
                name: test.name.clone(),
                place: host.scripts.place(test.line, 0),
                about: test.about.clone(),
                failure: host.run_test(test).err().map(|fault| host.finding(&fault)),
            })
            .collect())
    })
    .unwrap_or_else(|not| Err(vec![not.finding()]))
}

/// A job made in a test, computed when its tables are first asked for.
#[derive(Clone)]
struct MadeJob(Rc<Computed>);

struct Computed {
    job: Arc<Job>,
    tables: IndexMap<Arc<str>, Rows>,
    findings: Vec<Finding>,
}

/// Registers what tests use.
pub fn register(engine: &mut Engine, world: &Rc<World>) {
    comparisons(engine, world);
    engine.register_type_with_name::<MadeJob>("made job");
    let w = world.clone();
    engine.register_fn("job_of", move |context: NativeCallContext, bays: rhai::Array| {
        let rows = records(&bays, &context)?;
        made_job(&w, &context, |schedules| schedules.made(&sheets_of_bays(rows)))
    });
    let w = world.clone();
    engine.register_fn("job_of", move |context: NativeCallContext, sheets: rhai::Map| {
        let mut made = Vec::new();
        for (name, rows) in &sheets {
            let rows = rows.as_array_ref().map_err(|kind| wanted_lists(kind, &context))?;
            made.push((name.to_string(), records(&rows, &context)?));
        }
        made_job(&w, &context, |schedules| schedules.made(&made))
    });
    let w = world.clone();
    engine.register_fn("job_from", move |context: NativeCallContext, file: &str| {
        made_job(&w, &context, |schedules| schedules.file(file))
    });
    engine.register_fn(
        "table",
        |context: NativeCallContext, job: &mut MadeJob, key: &str| -> Answer<Rows> {
            job.0.tables.get(key).cloned().ok_or_else(|| {
                Fault::new("unknown-table", format!("there is no table `{key}`"))
                    .near(key, job.0.tables.keys().map(|key| &**key))
                    .raise(context.call_position())
            })
        },
    );
    engine.register_get("bays", |job: &mut MadeJob| {
        let bays = (0_u32..).zip(&job.0.job.bays).map(|(at, _)| own(&Base::Bay(at), &job.0.job, 0));
        Rows(bays.collect())
    });
    engine.register_fn("codes", |job: &mut MadeJob| -> rhai::Array {
        job.0.findings.iter().map(|finding| finding.code.to_string().into()).collect()
    });
    engine.register_fn("messages", |job: &mut MadeJob, code: &str| -> rhai::Array {
        let of_code = job.0.findings.iter().filter(|finding| &*finding.code == code);
        of_code.map(|finding| finding.message.clone().into()).collect()
    });
}

fn comparisons(engine: &mut Engine, world: &Rc<World>) {
    engine.register_fn(
        "check_equal",
        |context: NativeCallContext, found: Dynamic, wanted: Dynamic| -> Answer<()> {
            let (found, wanted) = (plain(&found, &context)?, plain(&wanted, &context)?);
            if equal(&found, &wanted) {
                Ok(())
            } else {
                Err(differs(&found, &wanted, "", &context))
            }
        },
    );
    engine.register_fn(
        "check_near",
        |context: NativeCallContext,
         found: Dynamic,
         wanted: Dynamic,
         tolerance: Dynamic|
         -> Answer<()> {
            let (found, wanted) = (plain(&found, &context)?, plain(&wanted, &context)?);
            let within = plain(&tolerance, &context)?.as_number().filter(|number| *number >= 0.0);
            let Some(within) = within else {
                let message = format!("the tolerance is {tolerance}, wanted a number from 0");
                return Err(Fault::new("bad-argument", message).raise(context.call_position()));
            };
            if near(&found, &wanted, within) {
                return Ok(());
            }
            Err(differs(&found, &wanted, &format!(" within {within}"), &context))
        },
    );
    engine.register_fn("check_true", |context: NativeCallContext, found: Dynamic| -> Answer<()> {
        match found.as_bool() {
            Ok(true) => Ok(()),
            _ => Err(failed(format!("found {}, wanted true", shown(&found)), &context)),
        }
    });
    for with_part in [false, true] {
        let w = world.clone();
        let check = move |context: NativeCallContext, compute: FnPtr, part: &str| -> Answer<()> {
            match compute.call_within_context::<Dynamic>(&context, ()) {
                Ok(value) => {
                    Err(failed(format!("found {}, wanted an error", shown(&value)), &context))
                }
                Err(error) => match explain(&error, &w.known.borrow()) {
                    Stop::Fault(fault) | Stop::Carried(fault) if fault.message.contains(part) => {
                        Ok(())
                    }
                    Stop::Fault(fault) | Stop::Carried(fault) => Err(failed(
                        format!("the error says \"{}\", wanted one with \"{part}\"", fault.message),
                        &context,
                    )),
                    stop => Err(raise(stop, context.call_position())),
                },
            }
        };
        if with_part {
            engine.register_fn("check_throws", check);
        } else {
            engine
                .register_fn("check_throws", move |context: NativeCallContext, compute: FnPtr| {
                    check(context, compute, "")
                });
        }
    }
}

fn failed(message: String, context: &NativeCallContext) -> Box<EvalAltResult> {
    Fault::new("check-failed", message).raise(context.call_position())
}

fn differs(
    found: &Value,
    wanted: &Value,
    how: &str,
    context: &NativeCallContext,
) -> Box<EvalAltResult> {
    failed(format!("found {found}, wanted {wanted}{how}"), context)
}

/// A value for a message, whatever it is.
fn shown(value: &Dynamic) -> String {
    from_script(value).map_or_else(|not| not.0, |value| value.to_string())
}

fn plain(value: &Dynamic, context: &NativeCallContext) -> Answer<Value> {
    from_script(value).map_err(|not| {
        Fault::new("bad-argument", format!("compared is {}", not.0)).raise(context.call_position())
    })
}

/// Equal, whole and decimal numbers alike.
fn equal(a: &Value, b: &Value) -> bool {
    near(a, b, 0.0)
}

/// Equal but for numbers, which may lie so far apart; lists and records item by item.
fn near(a: &Value, b: &Value, within: f64) -> bool {
    match (a, b) {
        (Value::List(a), Value::List(b)) => {
            a.len() == b.len() && a.iter().zip(b.iter()).all(|(a, b)| near(a, b, within))
        }
        (Value::Record(a), Value::Record(b)) => {
            a.len() == b.len()
                && a.iter().all(|(name, a)| b.get(name).is_some_and(|b| near(a, b, within)))
        }
        _ => match (a.as_number(), b.as_number()) {
            (Some(a), Some(b)) => (a - b).abs() <= within,
            _ => a == b,
        },
    }
}

fn wanted_lists(kind: &str, context: &NativeCallContext) -> Box<EvalAltResult> {
    let message = format!("a sheet is {kind}, wanted a list of maps, each a row by heading");
    Fault::new("bad-argument", message).raise(context.call_position())
}

fn records(rows: &rhai::Array, context: &NativeCallContext) -> Answer<Vec<Record>> {
    rows.iter()
        .map(|row| match plain(row, context)? {
            Value::Record(record) => Ok((*record).clone()),
            other => Err(wanted_lists(other.kind(), context)),
        })
        .collect()
}

/// Bays alone, as a schedule: what a row leaves out is that of an ordinary composite deck.
fn sheets_of_bays(mut bays: Vec<Record>) -> Vec<(String, Vec<Record>)> {
    for (at, bay) in (1..).zip(&mut bays) {
        let mut default = |heading: &str, value: &str| {
            let same = |key: &Arc<str>| key.eq_ignore_ascii_case(heading);
            if !bay.keys().any(same) {
                bay.insert(Arc::from(heading), Value::text(value));
            }
        };
        default("Level", "2");
        default("Bay", &format!("A{at}"));
        default("Type", "D1");
        default("Spans", "3@10'");
        default("Width", "30'");
    }
    let deck = [
        ("Type", "D1"),
        ("Use", "composite"),
        ("Profile", "3x12"),
        ("Cover", "36"),
        ("Gauge", "20"),
        ("Grade", "SS 40"),
        ("Finish", "G60"),
        ("Slab", "6 1/4"),
        ("Mix", "LW 110"),
    ];
    let deck: Record =
        deck.iter().map(|(key, text)| (Arc::from(*key), Value::text(text))).collect();
    vec![("Types".to_owned(), vec![deck]), ("Bays".to_owned(), bays)]
}

/// Reads a schedule and computes its tables and checks with the scripts under test.
fn made_job(
    world: &World,
    context: &NativeCallContext,
    read: impl FnOnce(&dyn Schedules) -> Read,
) -> Answer<MadeJob> {
    let refuse = |fault: Fault| fault.raise(context.call_position());
    let Some(testing) = world.testing.borrow().clone() else {
        return Err(refuse(
            Fault::new("only-in-tests", "schedules are made in tests alone")
                .hint("functions named `test_…` are tests; `baytally test` runs them"),
        ));
    };
    let unread = |findings: Vec<Finding>| {
        let mut fault = Fault::new("bad-schedule", "the schedule of the test can not be used");
        fault.hints.extend(findings.iter().map(ToString::to_string));
        fault
    };
    let (job, mut findings) =
        read(&*testing.schedules).map_err(|findings| refuse(unread(findings)))?;
    let job = Arc::new(job);
    let (own_job, scripts, bounds) = (job.clone(), testing.scripts.clone(), testing.bounds);
    let computed = on_large_stack(move || compute(&own_job, &scripts, bounds))
        .unwrap_or_else(|not| Err(vec![not.finding()]));
    let (tables, found) = computed.map_err(|findings| refuse(unread(findings)))?;
    findings.extend(found);
    let tables = tables.into_iter().map(|(key, rows)| (key, Rows(rows.into()))).collect();
    Ok(MadeJob(Rc::new(Computed { job, tables, findings })))
}

type Tables = Vec<(Arc<str>, Vec<Base>)>;

fn compute(
    job: &Arc<Job>,
    scripts: &Arc<Scripts>,
    bounds: Bounds,
) -> Result<(Tables, Vec<Finding>), Vec<Finding>> {
    let options = HostOptions { bounds, ..HostOptions::default() };
    let host = Host::load(job, scripts, options)?;
    let why = |ended: Ended| ended.findings(&bounds);
    let computed = run::all_tables(&host, options, NonZeroUsize::MIN, true).map_err(why)?;
    let rows = |frozen: &Arc<super::item::Frozen>| {
        let count = u32::try_from(frozen.table.rows).unwrap_or(u32::MAX);
        (0..count).map(|row| own(&Base::Frozen(frozen.clone(), row), job, 0)).collect::<Vec<Base>>()
    };
    let tables = computed.tables.iter().map(|frozen| (frozen.table.key.clone(), rows(frozen)));
    Ok((tables.collect(), computed.findings))
}

/// A row with all its fields as its own, so that it can be read without its job.
fn own(base: &Base, job: &Job, depth: usize) -> Base {
    const DEEPEST: usize = 3;
    let mut fields: IndexMap<Arc<str>, Item> = IndexMap::new();
    let more = ["deck", "deck_use"].map(str::to_owned);
    for name in base.names(job).into_iter().chain(more) {
        let item = match base.get(job, &name) {
            Some(Item::Row(row)) if depth < DEEPEST => Item::Row(own(&row, job, depth + 1)),
            Some(Item::Rows(rows)) if depth < DEEPEST => {
                Item::Rows(rows.iter().map(|row| own(row, job, depth + 1)).collect())
            }
            Some(value @ Item::Value(_)) => value,
            _ => continue,
        };
        fields.entry(Arc::from(name)).or_insert(item);
    }
    Base::Made(Arc::new(fields.into_iter().collect()))
}

/// Whether a name is that of a plain file, without a way to another folder.
#[must_use]
pub fn is_plain_name(name: &str) -> bool {
    let path = Path::new(name);
    path.file_name().is_some_and(|file| file == name) && !name.is_empty()
}

impl Host {
    #[allow(clippy::result_large_err, reason = "an error is made once, not in a hot path")]
    fn run_test(&self, test: &super::compile::Test) -> Result<(), Fault> {
        let result = self.world.with_own_steps(|| {
            self.engine.call_fn::<Dynamic>(&mut rhai::Scope::new(), &test.ast, &test.name, ())
        });
        let Err(error) = result else { return Ok(()) };
        let known = self.world.known.borrow();
        let fault = match explain(&error, &known) {
            Stop::Fault(fault) | Stop::Carried(fault) => Fault::clone(&fault),
            Stop::Need(table) => Fault::new("no-job", format!("`{table}` is no table here"))
                .hint("a test makes its job: `job_of([#{ … }]).table(\"takeoff\")`"),
            Stop::Trying | Stop::UsedUp(_) => {
                Fault::new("used-up", "the test took too much time or memory")
            }
        };
        Err(if fault.line == 0 { fault.on(test.line, 1) } else { fault })
    }
}
