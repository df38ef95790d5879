//! An engine with all scripts loaded: rules merged by name, tables and checks defined.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;
use std::sync::Arc;
use std::time::Instant;

use rhai::{AST, Dynamic, Engine, EvalAltResult, Module, NativeCallContext, Scope};

use super::bridge::from_script;
use super::define::{Drafts, Function, register};
use super::engine::{JobHandle, job_handle, sandbox};
use super::fault::{Fault, Stop, explain, parse_fault, script_finding};
use super::record::Recorder;
use super::row::{LiveColumn, LiveTable, raise};
use super::source::{From, Script, Scripts};
use super::world::{Bounds, World};
use crate::finding::Finding;
use crate::job::{Job, fields, schema};
use crate::value::Value;

/// A rule in force.
#[derive(Clone, Debug)]
pub struct Rule {
    pub name: String,
    pub parameters: Vec<String>,
    /// Line of its definition in the common numbering.
    pub line: usize,
    pub from: From,
    pub about: String,
}

/// An engine with all scripts loaded.
pub struct Host {
    pub engine: Engine,
    pub world: Rc<World>,
    pub scripts: Arc<Scripts>,
    pub drafts: Drafts,
    pub rules: Vec<Rule>,
    /// By file: the rules merged with that file's own functions.
    asts: Vec<Rc<AST>>,
    /// The rules alone.
    library: Rc<AST>,
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
        let recorder = options.records.then(Recorder::default);
        let world =
            Rc::new(World::new(job.clone(), options.bounds, names, options.deadline, recorder));
        let mut engine = sandbox(&world);
        job_handle(&mut engine, &world);
        let drafts = Rc::new(RefCell::new(Drafts::default()));
        register(&mut engine, &drafts);
        let compiled = Compiled::of(&mut engine, scripts)?;
        compiled.into_host(engine, world, scripts.clone(), &drafts)
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
        let ast = &self.asts[function.file];
        let wanted = parameters_of(ast, function).unwrap_or(arguments.len());
        let given: Vec<Dynamic> = arguments.iter().take(wanted).cloned().collect();
        self.world
            .with_own_steps(|| function.pointer.call::<Dynamic>(&self.engine, ast, given))
            .map_err(|error| explain(&error, &self.world.known.borrow()))
    }

    /// A table ready to be computed.
    pub fn live(&self, key: &str) -> Option<Rc<LiveTable>> {
        let draft = self.drafts.tables.get(key)?;
        let columns: Vec<LiveColumn> = draft
            .columns
            .values()
            .map(|column| {
                let ast = self.asts[column.function.file].clone();
                LiveColumn {
                    key: column.key.clone(),
                    function: column.function.pointer.clone(),
                    takes_job: parameters_of(&ast, &column.function) == Some(2),
                    ast,
                    hidden: column.hidden,
                    line: column.function.line,
                }
            })
            .collect();
        let mut by_name = vec![None; self.world.names.len()];
        for (at, column) in columns.iter().enumerate() {
            if let Some(&number) = self.world.names.get(&column.key) {
                by_name[number] = Some(at);
            }
        }
        Some(Rc::new(LiveTable { key: draft.key.clone(), columns, by_name }))
    }

    /// A fault as a finding.
    pub fn finding(&self, fault: &Fault) -> Finding {
        fault.finding(&self.scripts)
    }

    /// Evaluates an expression with rules and built-ins.
    pub fn evaluate(&self, expression: &str) -> Result<Value, Box<Fault>> {
        let known = self.world.known.borrow();
        let ast = self
            .engine
            .compile_expression(expression)
            .map_err(|error| Box::new(parse_fault(&error)))?;
        let ast = self.library.merge(&ast);
        let value = self.engine.eval_ast::<Dynamic>(&ast).map_err(|error| {
            match explain(&error, &known) {
                Stop::Fault(fault) | Stop::Carried(fault) => Box::new(Fault::clone(&fault)),
                Stop::Need(table) => {
                    Box::new(Fault::new("no-job", format!("`{table}` is no table here")))
                }
                Stop::TimeIsUp => {
                    Box::new(Fault::new("time-is-up", "the expression took too long"))
                }
            }
        })?;
        from_script(&value).map_err(|not| {
            Box::new(Fault::new("no-cell-value", format!("the result is {}", not.0)))
        })
    }
}

/// How many parameters a function takes beyond what it captured.
fn parameters_of(ast: &AST, function: &Function) -> Option<usize> {
    let captured = function.pointer.curry().len();
    ast.iter_functions()
        .find(|known| known.name == function.pointer.fn_name())
        .map(|known| known.params.len().saturating_sub(captured))
}

/// Every name that scripts may read off a row.
fn names(job: &Job, scripts: &Scripts) -> HashMap<Arc<str>, usize> {
    let mut names: indexmap::IndexSet<Arc<str>> = indexmap::IndexSet::new();
    names.extend(fields::BAY.iter().map(|field| Arc::from(field.name)));
    for sheet in schema::SHEETS {
        names.extend(sheet.all_fields().map(|field| Arc::from(field.key)));
    }
    for deck in &job.decks {
        names.extend(deck.fields.keys().cloned());
    }
    names.extend(["deck", "deck_use", "rows", "row", "bays"].map(Arc::from));
    for script in scripts.files() {
        column_names(&script.text, &mut names);
    }
    names.into_iter().enumerate().map(|(number, name)| (name, number)).collect()
}

/// The keys of `column("key", …)` calls in a script's text.
fn column_names(text: &str, names: &mut indexmap::IndexSet<Arc<str>>) {
    for part in text.split("column(").skip(1) {
        if let Some(key) =
            part.trim_start().strip_prefix('"').and_then(|rest| rest.split('"').next())
        {
            names.insert(Arc::from(key));
        }
    }
}

/// All scripts compiled and told apart into rules and tables.
struct Compiled {
    rules: Vec<Rule>,
    library: AST,
    bundled_rules: AST,
    /// By file; `None` for rule files.
    tables: Vec<Option<AST>>,
}

impl Compiled {
    fn of(engine: &mut Engine, scripts: &Arc<Scripts>) -> Result<Compiled, Vec<Finding>> {
        let mut findings = Vec::new();
        let mut compiled = Compiled {
            rules: Vec::new(),
            library: AST::empty(),
            bundled_rules: AST::empty(),
            tables: Vec::new(),
        };
        let own = engine_functions(engine);
        // The bundled rules stand as `bundled::` before the shop's scripts are compiled.
        let bundled =
            scripts.files().iter().find(|s| s.from == From::Bundled && s.stem() == "rules");
        if let Some(script) = bundled {
            match compile(engine, script) {
                Ok(ast) => {
                    match Module::eval_ast_as_new(Scope::new(), &ast, engine) {
                        Ok(module) => {
                            engine.register_static_module("bundled", module.into());
                        }
                        Err(error) => findings.push(script_finding(
                            &Fault::new("script-error", error.to_string()),
                            scripts,
                            &script.name,
                        )),
                    }
                    compiled.bundled_rules = ast;
                }
                Err(fault) => findings.push(script_finding(&fault, scripts, &script.name)),
            }
        }
        for script in scripts.files() {
            match compile(engine, script) {
                Ok(ast) if ast.statements().is_empty() => {
                    compiled.add_rules(script, &ast, scripts, &own, &mut findings);
                    compiled.tables.push(None);
                }
                Ok(ast) => compiled.tables.push(Some(ast)),
                Err(fault) => {
                    findings.push(script_finding(&fault, scripts, &script.name));
                    compiled.tables.push(None);
                }
            }
        }
        compiled.refuse_helpers(scripts, &mut findings);
        findings.dedup();
        if findings.is_empty() { Ok(compiled) } else { Err(findings) }
    }

    fn add_rules(
        &mut self,
        script: &Script,
        ast: &AST,
        scripts: &Scripts,
        own: &BTreeSet<(String, usize)>,
        findings: &mut Vec<Finding>,
    ) {
        let mut functions: Vec<Rule> = ast
            .iter_functions()
            .filter(|function| !function.name.starts_with("anon$"))
            .map(|function| Rule {
                name: function.name.to_owned(),
                parameters: function.params.iter().map(ToString::to_string).collect(),
                line: definition_line(script, function.name, function.params.len()),
                from: script.from,
                about: doc_text(&function.comments),
            })
            .collect();
        functions.sort_by_key(|rule| rule.line);
        for rule in functions {
            if rule.name.starts_with("test_") {
                continue;
            }
            let same = |other: &&mut Rule| {
                other.name == rule.name && other.parameters.len() == rule.parameters.len()
            };
            let fault =
                |code, message| Fault { line: rule.line, column: 1, ..Fault::new(code, message) };
            if own.contains(&(rule.name.clone(), rule.parameters.len())) {
                let message =
                    format!("the rule `{}` has the name of a built-in function", rule.name);
                findings.push(
                    fault("shadowed-built-in", message)
                        .hint("give the rule a name of its own")
                        .finding(scripts),
                );
            }
            let other_arity = self.rules.iter().find(|other| {
                other.name == rule.name
                    && other.parameters.len() != rule.parameters.len()
                    && other.from == From::Bundled
                    && script.from != From::Bundled
            });
            if let Some(other) = other_arity {
                let message = format!(
                    "the rule `{}` takes {} parameter{}, the bundled one takes {} ({})",
                    rule.name,
                    rule.parameters.len(),
                    if rule.parameters.len() == 1 { "" } else { "s" },
                    other.parameters.len(),
                    other.parameters.join(", "),
                );
                findings.push(
                    fault("other-parameters", message)
                        .hint("a rule replaces the one of the same name and number of parameters; this one would replace nothing")
                        .finding(scripts),
                );
            }
            match self.rules.iter_mut().find(same) {
                Some(old) if old.from == rule.from => {
                    let message = format!("the rule `{}` is given twice", rule.name);
                    let other = scripts.place(old.line, 0);
                    let mut finding = fault("rule-given-twice", message).finding(scripts);
                    if let Some(other) = other {
                        finding = finding.hint(format!("the other stands at {other}"));
                    }
                    findings.push(finding);
                }
                Some(old) => *old = rule,
                None => self.rules.push(rule),
            }
        }
        self.library = self.library.merge(ast);
    }

    /// A table file's helper may not have the name of a rule: it would replace it in that file only.
    fn refuse_helpers(&self, scripts: &Scripts, findings: &mut Vec<Finding>) {
        for (script, ast) in scripts.files().iter().zip(&self.tables) {
            let Some(ast) = ast else { continue };
            for function in ast.iter_functions() {
                let is_rule = self.rules.iter().any(|rule| {
                    rule.name == function.name && rule.parameters.len() == function.params.len()
                });
                if is_rule {
                    let message = format!(
                        "the function `{}` has the name of a rule and would replace it in this table only",
                        function.name
                    );
                    let line = definition_line(script, function.name, function.params.len());
                    findings.push(
                        Fault { line, column: 1, ..Fault::new("helper-named-as-rule", message) }
                            .hint("move it into a file of rules, or give it another name")
                            .finding(scripts),
                    );
                }
            }
        }
    }

    fn into_host(
        self,
        mut engine: Engine,
        world: Rc<World>,
        scripts: Arc<Scripts>,
        drafts: &Rc<RefCell<Drafts>>,
    ) -> Result<Host, Vec<Finding>> {
        let mut findings = Vec::new();
        if let Ok(module) = Module::eval_ast_as_new(Scope::new(), &self.bundled_rules, &engine) {
            engine.register_static_module("bundled", module.into());
        }
        {
            let mut known = world.known.borrow_mut();
            for rule in &self.rules {
                known.functions.push((rule.name.clone(), rule.parameters.len()));
            }
        }
        let library = if world.recorder.is_some() {
            record_rules(&mut engine, &world, &self.rules, &self.library);
            AST::empty()
        } else {
            self.library
        };
        let mut asts = Vec::with_capacity(self.tables.len());
        for (file, (script, table)) in scripts.files().iter().zip(&self.tables).enumerate() {
            let Some(ast) = table else {
                asts.push(Rc::new(library.clone()));
                continue;
            };
            let merged = library.merge(ast);
            drafts.borrow_mut().begin(file, script.stem(), script.from);
            let ran =
                world.with_own_steps(|| engine.run_ast_with_scope(&mut Scope::new(), &merged));
            if let Err(error) = ran {
                let stop = explain(&error, &world.known.borrow());
                findings.push(match stop {
                    Stop::Fault(fault) | Stop::Carried(fault) => {
                        script_finding(&fault, &scripts, &script.name)
                    }
                    Stop::Need(_) | Stop::TimeIsUp => script_finding(
                        &Fault::new("script-error", "a script may not compute while it defines"),
                        &scripts,
                        &script.name,
                    ),
                });
            }
            asts.push(Rc::new(merged.clone_functions_only()));
        }
        if !findings.is_empty() {
            return Err(findings);
        }
        let drafts = drafts.take();
        *world.tables.borrow_mut() = drafts.tables.keys().cloned().collect();
        Ok(Host {
            engine,
            world,
            scripts,
            drafts,
            rules: self.rules,
            asts,
            library: Rc::new(library),
        })
    }
}

/// In an engine that records, each rule is a native function that writes down its call and runs
/// the script function alone, so that the rules it calls are written down too.
fn record_rules(engine: &mut Engine, world: &Rc<World>, rules: &[Rule], library: &AST) {
    for rule in rules {
        let alone = library.clone_functions_only_filtered(|_, _, _, name, parameters| {
            name.starts_with("anon$") || (name == rule.name && parameters == rule.parameters.len())
        });
        let types = vec![std::any::TypeId::of::<Dynamic>(); rule.parameters.len()];
        let (name, line, world) = (rule.name.clone(), rule.line, world.clone());
        engine.register_raw_fn(
            rule.name.as_str(),
            types,
            move |context: NativeCallContext,
                  arguments: &mut [&mut Dynamic]|
                  -> Result<Dynamic, Box<EvalAltResult>> {
                let given: Vec<Dynamic> =
                    arguments.iter().map(|argument| (*argument).clone()).collect();
                let values =
                    given.iter().map(|value| from_script(value).unwrap_or_default()).collect();
                if let Some(recorder) = &world.recorder {
                    recorder.enter();
                }
                let result =
                    context.engine().call_fn::<Dynamic>(&mut Scope::new(), &alone, &name, given);
                let value = result
                    .as_ref()
                    .map_or(Value::Blank, |value| from_script(value).unwrap_or_default());
                if let Some(recorder) = &world.recorder {
                    recorder.leave_rule(&name, values, line, value);
                }
                result.map_err(|error| {
                    let stop = explain(&error, &world.known.borrow());
                    match stop {
                        Stop::Fault(fault) => Fault::clone(&fault).raise(context.call_position()),
                        other => raise(other, context.call_position()),
                    }
                })
            },
        );
    }
}

fn compile(engine: &Engine, script: &Script) -> Result<AST, Fault> {
    let text = format!("{}{}", "\n".repeat(script.offset), script.text);
    let reserved = refuse_const(script);
    let mut ast = match engine.compile(text) {
        Ok(ast) => ast,
        Err(error) => return Err(reserved.unwrap_or_else(|| parse_fault(&error))),
    };
    ast.set_source(&*script.name);
    Ok(ast)
}

/// `const` is refused with the reason: functions do not see constants.
fn refuse_const(script: &Script) -> Option<Fault> {
    let at = script.text.lines().position(|line| line.trim_start().starts_with("const "))?;
    let mut fault = Fault::new("const-in-rules", "functions can not see a `const`")
        .hint("write a rule without parameters: `fn longest_panel_ft() { 40 }`");
    fault.line = script.offset + at + 1;
    fault.column = 1;
    Some(fault)
}

/// Names and numbers of parameters of the engine's own functions.
fn engine_functions(engine: &Engine) -> BTreeSet<(String, usize)> {
    engine
        .gen_fn_signatures(true)
        .iter()
        .filter_map(|signature| {
            let (head, rest) = signature.split_once('(')?;
            let inside = rest.split(')').next().unwrap_or("");
            let count = if inside.trim().is_empty() { 0 } else { inside.split(',').count() };
            Some((head.trim().to_owned(), count))
        })
        .collect()
}

/// The line in the common numbering where a function is defined.
fn definition_line(script: &Script, name: &str, parameters: usize) -> usize {
    let starts = |line: &str| {
        let line = line.trim_start();
        let line = line.strip_prefix("private ").unwrap_or(line);
        let rest = line.strip_prefix("fn ")?.trim_start().strip_prefix(name)?.trim_start();
        let inside = rest.strip_prefix('(')?.split(')').next()?;
        let count = if inside.trim().is_empty() { 0 } else { inside.split(',').count() };
        (count == parameters).then_some(())
    };
    let at = script.text.lines().position(|line| starts(line).is_some());
    at.map_or(script.offset + 1, |at| script.offset + at + 1)
}

/// A doc comment's text on one line.
fn doc_text(comments: &[&str]) -> String {
    comments
        .iter()
        .flat_map(|comment| comment.lines())
        .map(|line| line.trim().trim_start_matches("///").trim())
        .collect::<Vec<_>>()
        .join(" ")
        .trim()
        .to_owned()
}

/// The handle that row sources and two-parameter columns are given.
pub fn job_value() -> Dynamic {
    Dynamic::from(JobHandle)
}
