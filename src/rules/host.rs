//! An engine with all scripts loaded: rules merged by name, tables and checks defined.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;
use std::time::Instant;

use rhai::{AST, Dynamic, Engine, Scope};

use super::bridge::{NotPlain, rows_from_script};
use super::calls::{changed_captures, unknown_calls};
use super::compile::{Compiled, File, Rule, Test};
use super::define::{Drafts, Function, TableDraft, register};
use super::describe::explain;
use super::direct::{Directs, Given};
use super::engine::{JobHandle, field, job_handle, sandbox};
use super::fault::{Fault, Limit, Stop, script_finding};
use super::item::Base;
use super::live::{LiveColumn, LiveTable};
use super::names::names;
use super::recording::{self, Recorder};
use super::row::{Part, Row};
use super::source::{From, Script, Scripts};
use super::testing;
use super::thing::Thing;
use super::world::{Bounds, World};
use crate::cells::BLOCK;
use crate::finding::Finding;
use crate::job::Job;

/// An engine with all scripts loaded.
pub struct Host {
    pub engine: Engine,
    pub world: Rc<World>,
    pub scripts: Arc<Scripts>,
    pub drafts: Drafts,
    pub rules: Vec<Rule>,
    pub tests: Vec<Test>,
    /// Only of a recording engine.
    pub recorder: Option<Rc<Recorder>>,
    /// By file: the rules merged with that file's own functions.
    asts: Vec<Rc<AST>>,
    /// By file and function: how many parameters it has, looked up once.
    parameters: RefCell<HashMap<(usize, String), Option<usize>>>,
    /// The rules alone.
    pub library: Rc<AST>,
}

/// How a host is made.
#[derive(Clone, Copy, Debug, Default)]
pub struct HostOptions {
    pub bounds: Bounds,
    pub deadline: Option<Instant>,
    /// Writes down how figures come about.
    pub records: bool,
}

impl Host {
    /// Loads all scripts. Refused with every finding of the load at once: syntax, doubles, names
    /// that may not be taken.
    pub fn load(
        job: &Arc<Job>,
        scripts: &Arc<Scripts>,
        options: HostOptions,
    ) -> Result<Host, Vec<Finding>> {
        let names = names(job, scripts);
        let recorder = options.records.then(Rc::<Recorder>::default);
        let world = Rc::new(World::new(job.clone(), options.bounds, names, options.deadline));
        let mut engine = sandbox(&world);
        job_handle(&mut engine, &world);
        let drafts = Rc::new(RefCell::new(Drafts::default()));
        register(&mut engine, &drafts);
        testing::register(&mut engine, &world);
        let mut findings = Vec::new();
        let compiled = Compiled::of(&mut engine, scripts, &mut findings);
        let rules = compiled.rules.iter().map(|rule| (rule.name.clone(), rule.parameters.len()));
        world.known.borrow_mut().functions.extend(rules);
        let library = match &recorder {
            Some(recorder) => {
                recording::install(&mut engine, &world, recorder);
                recording::rules(&mut engine, &world, recorder, &compiled.rules, &compiled.library);
                AST::empty()
            }
            None => compiled.library.clone(),
        };
        let asts = define(&engine, &world, scripts, &compiled, &library, &drafts, &mut findings);
        let drafts = drafts.take();
        for function in drafts.functions() {
            if let Some(fault) = changed_captures(&asts[function.file], function) {
                findings.push(fault.finding(scripts));
            }
        }
        findings.dedup();
        if !findings.is_empty() {
            return Err(findings);
        }
        learn_columns(&mut engine, &world, &drafts, recorder.as_ref());
        *world.tables.borrow_mut() = drafts.tables.keys().cloned().collect();
        let library = Rc::new(library);
        if recorder.is_none() {
            let directs = Directs::new(asts.clone(), library.clone());
            *world.directs.borrow_mut() = Some(Rc::new(directs));
        }
        let (rules, tests) = (compiled.rules, compiled.tests);
        Ok(Host {
            engine,
            world,
            scripts: scripts.clone(),
            drafts,
            rules,
            tests,
            recorder,
            asts,
            parameters: RefCell::default(),
            library,
        })
    }

    /// A rule's value.
    pub fn call_rule(&self, name: &str, arguments: Vec<Dynamic>) -> Result<Dynamic, Stop> {
        let mut scope = Scope::new();
        self.engine
            .call_fn::<Dynamic>(&mut scope, &self.library, name, arguments)
            .map_err(|error| explain(&error, &self.world.known.borrow()))
    }

    /// Whether a rule of that name and number of parameters is in force.
    pub fn has_rule(&self, name: &str, parameters: usize) -> bool {
        self.rules.iter().any(|rule| rule.name == name && rule.parameters.len() == parameters)
    }

    /// Calls a function of a script with as many of the arguments as it takes.
    pub fn call(&self, function: &Function, arguments: &[Dynamic]) -> Result<Dynamic, Stop> {
        self.world.with_own_steps(|| self.call_now(function, arguments))
    }

    /// The rows that a function gives; why it gives none, or that it gives something else.
    pub fn rows(&self, function: &Function) -> Result<Result<Arc<[Base]>, NotPlain>, Stop> {
        let direct = self.world.direct(&function.pointer, self.world.job.bays.len());
        self.world.with_steps_for_rows(|| {
            let thing = direct.and_then(|direct| direct.of_job(&self.engine, &self.world));
            if let Some(rows) = thing.and_then(Thing::into_rows) {
                return Ok(Ok(rows));
            }
            self.call_now(function, &[job_value()]).map(|given| rows_from_script(&given))
        })
    }

    fn call_now(&self, function: &Function, arguments: &[Dynamic]) -> Result<Dynamic, Stop> {
        let ast = &self.asts[function.file];
        let wanted = self.parameters_of(function).unwrap_or(arguments.len());
        let given: Vec<Dynamic> = arguments.iter().take(wanted).cloned().collect();
        function
            .pointer
            .call::<Dynamic>(&self.engine, ast, given)
            .map_err(|error| explain(&error, &self.world.known.borrow()))
    }

    /// What a function gives for each row, in order, where it is computed without the engine.
    pub fn on_rows<'a>(
        &'a self,
        direct: Option<&'a Given>,
        bases: &'a Arc<[Base]>,
    ) -> impl Iterator<Item = Option<Thing>> + 'a {
        let (engine, world) = (&self.engine, &*self.world);
        (0..bases.len()).step_by(BLOCK).flat_map(move |from| {
            let rows = from..(from + BLOCK).min(bases.len());
            let part = || Part::plain(bases, rows.clone());
            let many = direct.and_then(|direct| direct.many(engine, world, part()?));
            rows.map(move |at| match &many {
                Some(many) => Some(many.at(at - from)),
                None => direct?.cell(engine, world, &Row::plain(bases[at].clone())),
            })
        })
    }

    /// What a function gives or says for a row, where it is known already or by the engine.
    pub fn call_on_row(
        &self,
        function: &Function,
        known: Option<Thing>,
        base: &Base,
    ) -> Result<Dynamic, Stop> {
        match known.and_then(Thing::into_script) {
            Some(known) => Ok(known),
            None => self.call(function, &[Dynamic::from(Row::plain(base.clone())), job_value()]),
        }
    }

    /// The rows that a function makes of a row, or that it gives something else.
    pub fn rows_of_row(
        &self,
        function: &Function,
        known: Option<Thing>,
        base: &Base,
    ) -> Result<Result<Arc<[Base]>, NotPlain>, Stop> {
        match known.and_then(Thing::into_rows) {
            Some(rows) => Ok(Ok(rows)),
            None => self.call_on_row(function, None, base).map(|given| rows_from_script(&given)),
        }
    }

    /// A table of so many rows ready to be computed.
    pub fn live(&self, draft: &TableDraft, rows: usize) -> Rc<LiveTable> {
        let columns: Vec<LiveColumn> = draft
            .columns
            .values()
            .map(|column| {
                let ast = self.asts[column.function.file].clone();
                LiveColumn {
                    key: column.key.clone(),
                    function: column.function.pointer.clone(),
                    direct: self.world.direct(&column.function.pointer, rows),
                    takes_job: self.parameters_of(&column.function) == Some(2),
                    ast,
                    hidden: column.hidden,
                    place: column.function.clone(),
                }
            })
            .collect();
        let names = self.world.names.borrow();
        let mut by_name = vec![None; names.len()];
        for (at, column) in columns.iter().enumerate() {
            if let Some(&number) = names.get(&column.key) {
                by_name[number] = Some(at);
            }
        }
        Rc::new(LiveTable { key: draft.key.clone(), columns, by_name })
    }

    /// How many parameters a function takes beyond what it captured.
    fn parameters_of(&self, function: &Function) -> Option<usize> {
        let key = (function.file, function.pointer.fn_name().to_owned());
        let all = *self.parameters.borrow_mut().entry(key).or_insert_with_key(|(file, name)| {
            self.asts[*file].iter_fn_def().find(|it| it.name == name).map(|it| it.params.len())
        });
        all.map(|all| all.saturating_sub(function.pointer.curry().len()))
    }

    /// A fault as a finding.
    pub fn finding(&self, fault: &Fault) -> Finding {
        fault.finding(&self.scripts)
    }
}

/// Runs the files that define tables, each with the rules: their functions by file.
fn define(
    engine: &Engine,
    world: &World,
    scripts: &Scripts,
    compiled: &Compiled,
    library: &AST,
    drafts: &RefCell<Drafts>,
    findings: &mut Vec<Finding>,
) -> Vec<Rc<AST>> {
    let broken = scripts.files().iter().zip(&compiled.files);
    let broken: Vec<&Script> =
        broken.filter(|(_, file)| matches!(file, File::Broken)).map(|(script, _)| script).collect();
    let rules = Rc::new(library.clone());
    let mut asts = Vec::with_capacity(compiled.files.len());
    for (at, (script, file)) in scripts.files().iter().zip(&compiled.files).enumerate() {
        let mut faults = Vec::new();
        asts.push(rules.clone());
        if let File::Tables(ast) = file {
            let merged = library.merge(ast);
            drafts.borrow_mut().begin(at, script.stem(), script.from);
            let ran =
                world.with_own_steps(|| engine.run_ast_with_scope(&mut Scope::new(), &merged));
            faults.extend(drafts.borrow_mut().faults());
            if let Err(error) = ran {
                faults.push(match explain(&error, &world.known.borrow()) {
                    Stop::Fault(fault) | Stop::Carried(fault) => Fault::clone(&fault),
                    Stop::UsedUp(Limit::Memory) => {
                        Fault::new("memory-is-up", "there is no memory for the scripts")
                            .hint("`--script-memory` gives them more")
                    }
                    Stop::Need(_) | Stop::Trying | Stop::UsedUp(Limit::Time) => {
                        Fault::new("script-error", "a script may not compute while it defines")
                    }
                });
            }
            asts[at] = Rc::new(merged.clone_functions_only());
        }
        if let (File::Tables(ast) | File::Rules(ast) | File::Tests(ast), false) =
            (file, script.from == From::Bundled)
        {
            let more = unknown_calls(ast, script, &world.known.borrow());
            let new = |fault: &Fault| {
                faults.iter().all(|told| (told.line, told.column) != (fault.line, fault.column))
            };
            let more: Vec<Fault> = more.into_iter().filter(new).collect();
            faults.extend(more);
        }
        faults.sort_by_key(|fault| (fault.line, fault.column));
        let told = faults.iter().filter(|fault| !is_consequence(fault, &broken));
        findings.extend(told.map(|fault| script_finding(fault, scripts, &script.name)));
    }
    asts
}

/// Whether a fault is that something is not there which stands in a file that does not compile.
fn is_consequence(fault: &Fault, broken: &[&Script]) -> bool {
    let lacks = matches!(fault.code, "unknown-table" | "unknown-column" | "unknown-function");
    let name = fault.message.split('`').nth_back(1).unwrap_or("");
    lacks && broken.iter().any(|script| script.text.contains(name))
}

/// Columns whose names no script's text spells out, made in a loop, are names to be read as well.
fn learn_columns(
    engine: &mut Engine,
    world: &Rc<World>,
    drafts: &Drafts,
    recorder: Option<&Rc<Recorder>>,
) {
    for key in drafts.tables.values().flat_map(|table| table.columns.keys()) {
        let mut names = world.names.borrow_mut();
        if !names.contains_key(key) {
            let number = names.len();
            names.insert(key.clone(), number);
            drop(names);
            match recorder {
                Some(recorder) => recording::field(engine, world, recorder, key, number),
                None => field(engine, world, key, number),
            }
        }
    }
}

/// The handle that row sources and two-parameter columns are given.
pub fn job_value() -> Dynamic {
    Dynamic::from(JobHandle)
}
