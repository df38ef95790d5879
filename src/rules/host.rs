//! An engine with all scripts loaded, and the job that it works on.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;
use std::time::Instant;

use rhai::{Dynamic, Engine, Scope};

use super::bridge::{NotPlain, rows_from_script};
use super::define::{Drafts, Function, TableDraft, register};
use super::describe::explain;
use super::direct::Given;
use super::engine::{JobHandle, field, job_handle, sandbox};
use super::fault::{Fault, Stop};
use super::item::Base;
use super::live::{LiveColumn, LiveTable};
use super::loaded::{Last, Loaded};
use super::names::names;
use super::recording::{self, Recorder};
use super::row::{Part, Row};
use super::source::Scripts;
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
    pub loaded: Rc<Loaded>,
    /// Only of a recording engine.
    pub recorder: Option<Rc<Recorder>>,
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
        let last = Last::new(scripts, &names, options);
        let world = Rc::new(World::new(job.clone(), options.bounds, names, options.deadline));
        let mut engine = sandbox(&world);
        job_handle(&mut engine, &world);
        let drafts = Rc::new(RefCell::new(Drafts::default()));
        register(&mut engine, &drafts);
        testing::register(&mut engine, &world);
        let again = last.as_ref().and_then(|last| last.again(&mut engine, &world));
        let loaded = if let Some(loaded) = again {
            loaded
        } else {
            let loaded = Loaded::new(&mut engine, &world, scripts, recorder.as_ref(), &drafts)?;
            let loaded = Rc::new(loaded);
            if let Some(last) = last {
                last.keep(&loaded);
            }
            loaded
        };
        learn_columns(&mut engine, &world, &loaded.drafts, recorder.as_ref());
        *world.tables.borrow_mut() = loaded.drafts.tables.keys().cloned().collect();
        world.directs.borrow_mut().clone_from(&loaded.directs);
        Ok(Host { engine, world, scripts: scripts.clone(), loaded, recorder })
    }

    /// A rule's value.
    pub fn call_rule(&self, name: &str, arguments: Vec<Dynamic>) -> Result<Dynamic, Stop> {
        let mut scope = Scope::new();
        self.engine
            .call_fn::<Dynamic>(&mut scope, &self.loaded.library, name, arguments)
            .map_err(|error| explain(&error, &self.world.known.borrow()))
    }

    /// Whether a rule of that name and number of parameters is in force.
    pub fn has_rule(&self, name: &str, parameters: usize) -> bool {
        self.loaded
            .rules
            .iter()
            .any(|rule| rule.name == name && rule.parameters.len() == parameters)
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
        let ast = &self.loaded.asts[function.file];
        let wanted = self.loaded.parameters_of(function).unwrap_or(arguments.len());
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
                let ast = self.loaded.asts[column.function.file].clone();
                LiveColumn {
                    key: column.key.clone(),
                    function: column.function.pointer.clone(),
                    direct: self.world.direct(&column.function.pointer, rows),
                    takes_job: self.loaded.parameters_of(&column.function) == Some(2),
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

    /// A fault as a finding.
    pub fn finding(&self, fault: &Fault) -> Finding {
        fault.finding(&self.scripts)
    }
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
