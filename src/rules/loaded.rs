//! What scripts come to, whatever the job: rules merged by name, tables and checks defined,
//! functions taken apart. Where many runs follow each other it is made once.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::num::NonZeroUsize;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{AST, Engine, Module, Scope};

use super::calls::{changed_captures, unknown_calls};
use super::compile::{Compiled, File, Rule, Test};
use super::define::{Drafts, Function};
use super::describe::explain;
use super::direct::Directs;
use super::doubts::doubts;
use super::fault::{Fault, Limit, Stop, script_finding};
use super::host::HostOptions;
use super::recording::{self, Recorder};
use super::source::{self, From, Script, Scripts};
use super::world::{Bounds, Names, World};
use crate::finding::Finding;
use crate::parallel;
use crate::table::InForce;

/// What scripts come to.
pub struct Loaded {
    pub drafts: Drafts,
    pub rules: Vec<Rule>,
    pub tests: Vec<Test>,
    /// What the scripts most likely do not mean.
    pub doubts: Vec<Finding>,
    /// By file: the rules merged with that file's own functions.
    pub asts: Vec<Rc<AST>>,
    /// The rules alone.
    pub library: Rc<AST>,
    /// Functions computed without the engine; none of a recording engine.
    pub directs: Option<Rc<Directs>>,
    /// The bundled rules, which stand as `bundled::`.
    bundled: Option<Rc<Module>>,
    /// By file and function: how many parameters it has, looked up once.
    parameters: RefCell<HashMap<(usize, String), Option<usize>>>,
    in_force: OnceCell<Arc<[InForce]>>,
}

thread_local! {
    /// What was loaded last, where many runs follow each other.
    static LAST: RefCell<Option<(Last, Rc<Loaded>)>> = const { RefCell::new(None) };
}

/// What the scripts of a run were loaded for.
#[derive(PartialEq)]
pub struct Last {
    scripts: Arc<Scripts>,
    names: Names,
    bounds: Bounds,
}

impl Last {
    /// None where each run loads its own.
    pub fn new(scripts: &Arc<Scripts>, names: &Names, options: HostOptions) -> Option<Last> {
        let is_kept = super::stays() && !options.records;
        is_kept.then(|| Last {
            scripts: scripts.clone(),
            names: names.clone(),
            bounds: options.bounds,
        })
    }

    /// What was loaded for a run like this, for another engine.
    pub fn again(&self, engine: &mut Engine, world: &World) -> Option<Rc<Loaded>> {
        let loaded = LAST.with_borrow(|last| {
            let (of, loaded) = last.as_ref()?;
            (of == self).then(|| loaded.clone())
        })?;
        if let Some(bundled) = &loaded.bundled {
            engine.register_static_module("bundled", bundled.clone());
        }
        know(world, &loaded.rules);
        if let Some(directs) = &loaded.directs {
            directs.try_again();
        }
        Some(loaded)
    }

    pub fn keep(self, loaded: &Rc<Loaded>) {
        LAST.set(Some((self, loaded.clone())));
    }
}

impl Loaded {
    /// Compiles the scripts and runs those that define tables.
    pub fn new(
        engine: &mut Engine,
        world: &Rc<World>,
        scripts: &Scripts,
        recorder: Option<&Rc<Recorder>>,
        drafts: &RefCell<Drafts>,
    ) -> Result<Loaded, Vec<Finding>> {
        let mut findings = Vec::new();
        let compiled = Compiled::of(engine, scripts, &mut findings);
        know(world, &compiled.rules);
        let library = match recorder {
            Some(recorder) => {
                recording::install(engine, world, recorder);
                recording::rules(engine, world, recorder, &compiled.rules, &compiled.library);
                AST::empty()
            }
            None => compiled.library.clone(),
        };
        let asts = define(engine, world, scripts, &compiled, &library, drafts, &mut findings);
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
        let library = Rc::new(library);
        let directs =
            recorder.is_none().then(|| Rc::new(Directs::new(asts.clone(), library.clone())));
        let doubts = doubts(scripts, &compiled);
        let Compiled { rules, tests, bundled, .. } = compiled;
        let parameters = RefCell::default();
        let in_force = OnceCell::new();
        Ok(Loaded {
            drafts,
            rules,
            tests,
            doubts,
            asts,
            library,
            directs,
            bundled,
            parameters,
            in_force,
        })
    }

    /// How many parameters a function takes beyond what it captured.
    pub fn parameters_of(&self, function: &Function) -> Option<usize> {
        let key = (function.file, function.pointer.fn_name().to_owned());
        let all = *self.parameters.borrow_mut().entry(key).or_insert_with_key(|(file, name)| {
            self.asts[*file].iter_fn_def().find(|it| it.name == name).map(|it| it.params.len())
        });
        all.map(|all| all.saturating_sub(function.pointer.curry().len()))
    }

    /// Each rule, table, column and check in force with its text, place and hash, which are found beside
    /// other work the first time.
    pub fn in_force_beside<T>(
        &self,
        scripts: &Scripts,
        threads: NonZeroUsize,
        own: impl FnOnce() -> T,
    ) -> (Arc<[InForce]>, T) {
        if let Some(known) = self.in_force.get() {
            return (known.clone(), own());
        }
        let entries = self.entries();
        let texts = || entries.iter().map(|entry| entry.in_force(scripts)).collect();
        let (found, own): (Arc<[InForce]>, T) = parallel::beside(threads, texts, own);
        (self.in_force.get_or_init(|| found).clone(), own)
    }

    /// What is in force, without the texts.
    fn entries(&self) -> Vec<Entry> {
        let mut all = Vec::new();
        let mut add = |kind, name: String, line, from: source::From, about: &str| {
            all.push(Entry { kind, name, line, from, about: about.to_owned() });
        };
        for rule in &self.rules {
            let name = format!("{}({})", rule.name, rule.parameters.join(", "));
            add("rule", name, rule.line, rule.from, &rule.about);
        }
        for table in self.drafts.tables.values() {
            if let Some(rows) = &table.rows {
                let about = table.note.as_deref().unwrap_or("");
                add("table", table.key.to_string(), rows.line, rows.from, about);
            }
            for column in table.columns.values() {
                let name = format!("{}.{}", table.key, column.key);
                let about = column.note.as_deref().unwrap_or("");
                add("column", name, column.function.line, column.function.from, about);
            }
        }
        for check in self.drafts.checks.values() {
            add("check", check.code.to_string(), check.test.line, check.test.from, "");
        }
        all
    }
}

/// A rule, table, column or check, and the line of the common numbering where it begins.
struct Entry {
    kind: &'static str,
    name: String,
    line: usize,
    from: source::From,
    about: String,
}

impl Entry {
    fn in_force(&self, scripts: &Scripts) -> InForce {
        let text = scripts.statement(self.line);
        let place = scripts.place(self.line, 0).map(|place| place.to_string()).unwrap_or_default();
        InForce {
            kind: self.kind,
            name: self.name.clone(),
            hash: source::short_hash(&text),
            text,
            from: self.from.word(),
            place,
            about: self.about.clone(),
        }
    }
}

/// Lets an engine know the rules' names, to say what is near a misspelt one.
fn know(world: &World, rules: &[Rule]) {
    let rules = rules.iter().map(|rule| (rule.name.clone(), rule.parameters.len()));
    world.known.borrow_mut().functions.extend(rules);
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
