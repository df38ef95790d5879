//! All scripts compiled, told apart into rules and tables, rules merged by name.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{AST, Engine, Module, Scope};

use super::describe::own_functions;
use super::engine::parser;
use super::fault::{Fault, script_finding};
use super::signs;
use super::source::{From, Script, Scripts};
use super::syntax::syntax_fault;
use super::world::Bounds;
use crate::finding::Finding;

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

thread_local! {
    /// What was compiled last: ahead, or where many runs follow each other.
    static LAST: RefCell<Option<(Scripts, Compiled)>> = const { RefCell::new(None) };
}

/// All scripts compiled.
#[derive(Clone)]
pub struct Compiled {
    pub rules: Vec<Rule>,
    /// The rules of all files merged, later files over earlier ones.
    pub library: AST,
    /// By file.
    pub files: Vec<File>,
    /// What tests the scripts have; their functions are of no other use.
    pub tests: Vec<Test>,
    /// The bundled rules, which stand as `bundled::`.
    pub bundled: Option<Rc<Module>>,
}

/// A test of the scripts: a function named `test_…`.
#[derive(Clone, Debug)]
pub struct Test {
    pub name: String,
    /// Line of its definition in the common numbering.
    pub line: usize,
    pub about: String,
    /// Its file's functions with the rules.
    pub ast: Rc<AST>,
}

/// What a file turned out to be.
#[derive(Clone)]
pub enum File {
    Rules(AST),
    /// It defines tables, columns or checks.
    Tables(AST),
    /// It holds tests and what only they use: `tests.rhai`.
    Tests(AST),
    Broken,
}

/// Compiles scripts for the run that follows on this thread.
pub fn ahead(scripts: &Scripts, bounds: &Bounds) {
    let mut findings = Vec::new();
    let compiled = Compiled::anew(&mut parser(bounds), scripts, &mut findings);
    if findings.is_empty() {
        LAST.set(Some((scripts.clone(), compiled)));
    }
}

/// A script that was compiled among the last.
fn known(at: usize, script: &Script) -> Option<AST> {
    LAST.with_borrow(|last| {
        let (of, compiled) = last.as_ref()?;
        let is_known = of.files().get(at) == Some(script);
        compiled.files.get(at).filter(|_| is_known)?.ast().cloned()
    })
}

impl File {
    pub fn ast(&self) -> Option<&AST> {
        match self {
            File::Rules(ast) | File::Tables(ast) | File::Tests(ast) => Some(ast),
            File::Broken => None,
        }
    }
}

impl Compiled {
    /// Compiles all scripts; what is amiss with them goes to the findings.
    pub fn of(engine: &mut Engine, scripts: &Scripts, findings: &mut Vec<Finding>) -> Compiled {
        let before = findings.len();
        let compiled = match LAST.take() {
            Some((of, compiled)) if of == *scripts => {
                if let Some(bundled) = &compiled.bundled {
                    engine.register_static_module("bundled", bundled.clone());
                }
                compiled
            }
            last => {
                LAST.set(last);
                Compiled::anew(engine, scripts, findings)
            }
        };
        if super::stays() && findings.len() == before {
            LAST.set(Some((scripts.clone(), compiled.clone())));
        }
        compiled
    }

    fn anew(engine: &mut Engine, scripts: &Scripts, findings: &mut Vec<Finding>) -> Compiled {
        let mut compiled = Compiled {
            rules: Vec::new(),
            library: AST::empty(),
            files: Vec::new(),
            tests: Vec::new(),
            bundled: None,
        };
        for (at, script) in scripts.files().iter().enumerate() {
            let parsed = match known(at, script) {
                Some(ast) => Ok(ast),
                None => compile(engine, script),
            };
            let file = match parsed {
                Ok(ast) if script.stem() == "tests" => File::Tests(ast),
                Ok(ast) if ast.statements().is_empty() => {
                    compiled.add_rules(script, &ast, scripts, findings);
                    // The bundled rules stand as `bundled::` before the shop's are compiled.
                    if script.from == From::Bundled
                        && let Ok(module) =
                            Module::eval_ast_as_new(Scope::new(), &compiled.library, engine)
                    {
                        let module = Rc::new(module);
                        engine.register_static_module("bundled", module.clone());
                        compiled.bundled = Some(module);
                    }
                    File::Rules(ast)
                }
                Ok(ast) => File::Tables(ast),
                Err(fault) => {
                    findings.push(script_finding(&fault, scripts, &script.name));
                    File::Broken
                }
            };
            compiled.files.push(file);
        }
        compiled.refuse_helpers(scripts, findings);
        compiled.find_tests(scripts, findings);
        findings.dedup();
        compiled
    }

    fn add_rules(
        &mut self,
        script: &Script,
        ast: &AST,
        scripts: &Scripts,
        findings: &mut Vec<Finding>,
    ) {
        let lines = DefinitionLines::of(script);
        let mut functions: Vec<Rule> = ast
            .iter_functions()
            .filter(|function| !function.name.starts_with("anon$"))
            .map(|function| Rule {
                name: function.name.to_owned(),
                parameters: function.params.iter().map(ToString::to_string).collect(),
                line: lines.get(function.name, function.params.len()),
                from: script.from,
                about: doc_text(&function.comments),
            })
            .collect();
        functions.sort_by_key(|rule| rule.line);
        for rule in functions {
            if is_test(&rule.name) {
                continue;
            }
            let same = |other: &&mut Rule| {
                other.name == rule.name && other.parameters.len() == rule.parameters.len()
            };
            let fault = |code, message| Fault::new(code, message).on(rule.line, 1);
            let own = |(name, count): &(String, usize)| {
                *name == rule.name && *count == rule.parameters.len()
            };
            if script.from != From::Bundled && own_functions().iter().any(own) {
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
        self.library = self.library.merge(&with_functions(ast, |name, _| !is_test(name)));
    }

    /// The tests of all files, each file's with all rules and its own functions.
    fn find_tests(&mut self, scripts: &Scripts, findings: &mut Vec<Finding>) {
        for (script, file) in scripts.files().iter().zip(&self.files) {
            let Some(ast) = file.ast() else { continue };
            let functions = ast.iter_functions().filter(|function| is_test(function.name));
            let functions: Vec<_> = functions.collect();
            if functions.is_empty() {
                continue;
            }
            let lines = DefinitionLines::of(script);
            let mut tests: Vec<Test> = Vec::new();
            for function in functions {
                let line = lines.get(function.name, function.params.len());
                if !function.params.is_empty() {
                    let message = format!("the test `{}` takes parameters", function.name);
                    findings.push(
                        Fault::new("bad-test", message)
                            .on(line, 1)
                            .hint("a test makes what it needs itself: `job_of([#{ … }])`")
                            .finding(scripts),
                    );
                }
                let (name, about) = (function.name.to_owned(), doc_text(&function.comments));
                tests.push(Test { name, line, about, ast: Rc::default() });
            }
            let merged = Rc::new(self.library.merge(ast).clone_functions_only());
            tests.sort_by_key(|test| test.line);
            self.tests.extend(tests.into_iter().map(|test| Test { ast: merged.clone(), ..test }));
        }
    }

    /// A table file's helper may not have the name of a rule: it would replace it in that file only.
    fn refuse_helpers(&self, scripts: &Scripts, findings: &mut Vec<Finding>) {
        for (script, file) in scripts.files().iter().zip(&self.files) {
            let File::Tables(ast) = file else { continue };
            for function in ast.iter_functions() {
                let is_rule = self.rules.iter().any(|rule| {
                    rule.name == function.name && rule.parameters.len() == function.params.len()
                });
                if is_rule {
                    let message = format!(
                        "the function `{}` has the name of a rule and would replace it in this table only",
                        function.name
                    );
                    let lines = DefinitionLines::of(script);
                    let line = lines.get(function.name, function.params.len());
                    findings.push(
                        Fault::new("helper-named-as-rule", message)
                            .on(line, 1)
                            .hint("move it into a file of rules, or give it another name")
                            .finding(scripts),
                    );
                }
            }
        }
    }
}

#[allow(clippy::result_large_err, reason = "made once a script, not in a hot path")]
/// The functions that a filter keeps, by name and number of parameters. (The engine's own merging
/// with a filter keeps all where there was none before.)
pub fn with_functions(ast: &AST, keep: impl Fn(&str, usize) -> bool) -> AST {
    let mut kept = ast.clone_functions_only();
    kept.retain_functions(|_, _, name, parameters| keep(name, parameters));
    kept
}

/// Whether a function is a test.
pub fn is_test(name: &str) -> bool {
    name.starts_with("test_")
}

#[allow(clippy::result_large_err, reason = "an error is made once, not in a hot path")]
fn compile(engine: &Engine, script: &Script) -> Result<AST, Fault> {
    let text = format!("{}{}", "\n".repeat(script.offset), script.text);
    let mut ast = match engine.compile(text) {
        Ok(ast) => ast,
        Err(error) => return Err(syntax_fault(&error, &script.text, script.offset)),
    };
    // The engine takes such a comment for the rest of the file.
    if script.from != From::Bundled
        && script.text.contains("/*")
        && let Some(sign) = signs::signs(&script.text).iter().find(|it| it.open && it.sign == '*')
    {
        let fault = Fault::new("syntax", "a comment that begins with `/*` is not closed");
        let fault = fault.hint("it ends with `*/`; all behind it is left out");
        return Err(fault.on(script.offset + sign.line, sign.column));
    }
    ast.set_source(&*script.name);
    Ok(ast)
}

/// The lines of a script on which functions are defined.
struct DefinitionLines<'a> {
    script: &'a Script,
    /// Name, number of parameters, line of the common numbering.
    lines: Vec<(&'a str, usize, usize)>,
}

impl<'a> DefinitionLines<'a> {
    fn of(script: &'a Script) -> DefinitionLines<'a> {
        let defined = |line: &'a str| {
            let line = line.trim_start();
            let line = line.strip_prefix("private ").unwrap_or(line);
            let (name, rest) = line.strip_prefix("fn ")?.split_once('(')?;
            let inside = rest.split(')').next()?;
            let count = if inside.trim().is_empty() { 0 } else { inside.split(',').count() };
            Some((name.trim(), count))
        };
        let numbered = script.text.lines().zip(script.offset + 1..);
        let lines = numbered.filter_map(|(line, number)| {
            let (name, count) = defined(line)?;
            Some((name, count, number))
        });
        DefinitionLines { script, lines: lines.collect() }
    }

    fn get(&self, name: &str, parameters: usize) -> usize {
        let is = |&&(known, count, _): &&(&str, usize, usize)| known == name && count == parameters;
        self.lines.iter().find(is).map_or(self.script.offset + 1, |&(.., line)| line)
    }
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
