//! The rules room: evaluates the bundled scripts, the shop's and the schedule's own lines on a job
//! and gives the report. The only room that knows the script engine.

mod alike;
mod asked;
mod board;
mod bridge;
mod builtins;
mod calculator;
mod calls;
mod checks;
mod compile;
mod define;
mod describe;
mod direct;
mod doubts;
mod engine;
mod explain;
mod fault;
mod functions;
mod host;
mod item;
mod laid;
mod lines;
mod live;
mod loaded;
mod made;
mod many;
mod methods;
mod names;
mod near;
mod printed;
mod recording;
mod reference;
mod row;
mod rowset;
mod run;
mod shop;
mod signs;
mod source;
mod syntax;
mod testing;
mod thing;
mod together;
mod tree;
mod words;
mod world;

use std::cell::Cell;
use std::num::NonZeroUsize;
use std::sync::Arc;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

pub use builtins::rooms;
pub use calculator::{Calculator, calculate, calculating};
pub use engine::signatures;
pub use explain::{Explained, Question, explain, explain_each};
pub use fault::Limit;
pub use reference::{Entry, Section, definitions, reference};
pub use run::Ended;
pub use shop::{SCRIPT_VERSION, Shop};
pub use source::{BUNDLED, Scripts};
pub use testing::{Read, Schedules, Tested, Testing, is_plain_name, test};
pub use world::Bounds;

use crate::finding::{Finding, gather};
use crate::job::Job;
use crate::parallel;
use crate::table::{Report, Table};
use host::{Host, HostOptions};

/// How a run is made.
#[derive(Clone, Copy, Debug)]
pub struct RunOptions {
    pub threads: NonZeroUsize,
    pub bounds: Bounds,
    /// The program ends soon after: the memory of the run, its job's and tables' too, is left for the
    /// system to take back at once; piece by piece it would take long.
    pub last: bool,
}

impl Default for RunOptions {
    fn default() -> RunOptions {
        let threads = parallel::cores();
        RunOptions { threads, bounds: Bounds::default(), last: false }
    }
}

/// The bundled scripts with a shop's.
pub fn scripts(shop: Option<&Shop>) -> Result<Scripts, Vec<Finding>> {
    let mut scripts = Scripts::bundled();
    let mut findings = Vec::new();
    for (name, bytes) in shop.iter().flat_map(|shop| &shop.scripts) {
        if let Err(finding) = scripts.add_shop(name, bytes) {
            findings.push(finding);
        }
    }
    if findings.is_empty() {
        return Ok(scripts);
    }
    // What is amiss with the scripts that could be read is told as well.
    let scripts = Arc::new(scripts);
    let loaded = on_large_stack(|| {
        Host::load(&Arc::default(), &scripts, HostOptions::default()).err().unwrap_or_default()
    });
    let more = loaded.unwrap_or_else(|not| vec![not.finding()]);
    findings.extend(more.into_iter().filter(|finding| !finding.code.starts_with("unknown-")));
    Err(findings)
}

/// What is to be evaluated.
pub struct Input {
    pub job: Arc<Job>,
    pub scripts: Arc<Scripts>,
    /// Those of the reading; they lead.
    pub findings: Vec<Finding>,
    pub options: RunOptions,
}

/// Evaluates all tables and checks on a job. `findings` are those of the reading; they lead.
///
/// Ends without a report where the scripts do not load or the run takes longer than it may.
pub fn run(
    job: Arc<Job>,
    scripts: Arc<Scripts>,
    findings: Vec<Finding>,
    options: RunOptions,
) -> Result<Report, Ended> {
    let input = Input { job, scripts, findings, options };
    on_large_stack(move || evaluated(input))
        .unwrap_or_else(|not| Err(Ended::Findings(vec![not.finding()])))
}

/// The same of what is read meanwhile: the scripts, to which the schedule's own lines may come, are
/// compiled while it is. Ends with what the reading does where that fails.
pub fn run_while<E>(
    scripts: &Scripts,
    bounds: &Bounds,
    read: impl FnOnce() -> Result<Input, E>,
) -> Result<Result<Report, Ended>, E> {
    if STAYS.get() {
        let Input { job, scripts, findings, options } = read()?;
        return Ok(run(job, scripts, findings, options));
    }
    std::thread::scope(|scope| {
        let (give, given) = channel::<Input>();
        let work = move || {
            compile::ahead(scripts, bounds);
            given.recv().ok().map(evaluated)
        };
        let thread = std::thread::Builder::new().stack_size(world::STACK);
        let thread = thread.spawn_scoped(scope, work);
        // Where the schedule can not be read, nothing is given and the thread ends.
        let input = read()?;
        let not = |not: &NoResult| Err(Ended::Findings(vec![not.finding()]));
        Ok(match thread {
            Err(error) => not(&NoResult::NoThread(error.to_string())),
            Ok(thread) => {
                let _ = give.send(input);
                match thread.join() {
                    Ok(Some(result)) => result,
                    Ok(None) => not(&NoResult::Failed("nothing was given".to_owned())),
                    Err(panic) => not(&NoResult::Failed(panic_text(&*panic))),
                }
            }
        })
    })
}

fn evaluated(input: Input) -> Result<Report, Ended> {
    let Input { job, scripts, findings, options } = input;
    let deadline = Instant::now().checked_add(Duration::from_secs(options.bounds.seconds));
    let host_options = HostOptions { bounds: options.bounds, deadline, records: false };
    let host = Host::load(&job, &scripts, host_options).map_err(Ended::Findings)?;
    let (in_force, computed) = host.loaded.in_force_beside(&host.scripts, options.threads, || {
        run::all_tables(&host, host_options, options.threads, true)
    });
    let computed = computed?;
    let mut findings = findings;
    findings.extend(host.loaded.doubts.iter().cloned());
    findings.extend(computed.findings);
    findings.extend(printed::asked(&job, &scripts));
    let silenced = checks::silenced(&host, &mut findings);
    findings.retain(|finding| !silenced.contains(&finding.code));
    let hidden: Vec<Arc<str>> =
        host.loaded.drafts.tables.values().filter(|t| t.hidden).map(|t| t.key.clone()).collect();
    let only_if_rows: Vec<Arc<str>> = host
        .loaded
        .drafts
        .tables
        .values()
        .filter(|t| t.only_if_rows)
        .map(|t| t.key.clone())
        .collect();
    let is_shown = |table: &Table| {
        !hidden.contains(&table.key) && (table.rows > 0 || !only_if_rows.contains(&table.key))
    };
    let charts = host.loaded.drafts.charts.values().cloned().collect();
    let shown = computed.tables.iter().filter(|frozen| is_shown(&frozen.table));
    let tables = shown.map(|frozen| frozen.table.clone()).collect();
    if options.last {
        std::mem::forget((host, computed.tables));
    }
    Ok(Report {
        head: (*job.head).clone(),
        schedule: job.schedule.clone(),
        schedule_hash: job.schedule_hash.clone(),
        tables,
        charts,
        plans: Vec::new(),
        in_force,
        findings: gather(findings),
    })
}

/// Why work on a thread of its own gave nothing.
enum NoResult {
    /// The machine gives no more threads or no stack.
    NoThread(String),
    /// The program itself failed.
    Failed(String),
}

impl NoResult {
    fn finding(&self) -> Finding {
        match self {
            NoResult::NoThread(why) => Finding::error(
                "no-thread",
                format!("the machine gave no thread to run the scripts on: {why}"),
            )
            .hint("close other programs, or let the machine give this one more memory"),
            NoResult::Failed(why) => {
                Finding::error("program-failed", format!("the program itself failed: {why}"))
                    .hint("neither schedule nor scripts are to blame; please report it with both")
            }
        }
    }
}

/// Runs on a thread with the stack that the bounds of depth are made for.
fn on_large_stack<T: Send>(work: impl FnOnce() -> T + Send) -> Result<T, NoResult> {
    if STAYS.get() {
        let work = std::panic::AssertUnwindSafe(work);
        return std::panic::catch_unwind(work)
            .map_err(|panic| NoResult::Failed(panic_text(&*panic)));
    }
    std::thread::scope(|scope| {
        let builder = std::thread::Builder::new().stack_size(world::STACK);
        let thread = builder
            .spawn_scoped(scope, work)
            .map_err(|error| NoResult::NoThread(error.to_string()))?;
        thread.join().map_err(|panic| NoResult::Failed(panic_text(&*panic)))
    })
}

thread_local! {
    /// Whether this thread has the stack for scripts and many runs follow each other on it.
    static STAYS: Cell<bool> = const { Cell::new(false) };
}

fn stays() -> bool {
    STAYS.get()
}

/// Work in which many runs follow each other: they stay on one thread, and scripts that are the same
/// from run to run are compiled once.
pub fn many<T: Send>(work: impl FnOnce() -> T + Send) -> Result<T, Vec<Finding>> {
    let stays = || {
        STAYS.set(true);
        work()
    };
    on_large_stack(stays).map_err(|not| vec![not.finding()])
}

/// What a panic said.
fn panic_text(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().map(String::as_str);
    text.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no reason given").to_owned()
}
