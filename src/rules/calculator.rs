//! A desk calculator: expressions with built-ins, rules and the names given to earlier results.

use std::sync::Arc;
use std::time::{Duration, Instant};

use rhai::{Dynamic, Scope};

use super::bridge::from_script;
use super::describe::explain;
use super::fault::{Fault, Limit, Stop};
use super::host::{Host, HostOptions};
use super::source::{EXPRESSION, Scripts};
use super::syntax::{is_reserved, syntax_fault};
use super::world::Bounds;
use super::{on_large_stack, words};
use crate::finding::{Finding, Place};
use crate::value::Value;

/// A calculator with its names.
pub struct Calculator {
    host: Host,
    bounds: Bounds,
    /// Names given to results; `ans` is the last one.
    scope: Scope<'static>,
}

/// Evaluates one expression with the built-ins and rules.
pub fn calculate(
    expression: &str,
    scripts: Arc<Scripts>,
    bounds: Bounds,
) -> Result<Value, Vec<Finding>> {
    calculating(scripts, bounds, |calculator| calculator.calculate(expression))?
}

/// Works with a calculator.
pub fn calculating<T: Send>(
    scripts: Arc<Scripts>,
    bounds: Bounds,
    work: impl FnOnce(&mut Calculator) -> T + Send,
) -> Result<T, Vec<Finding>> {
    on_large_stack(move || {
        let options = HostOptions { bounds, ..HostOptions::default() };
        let host = Host::load(&Arc::default(), &scripts, options)?;
        Ok(work(&mut Calculator { host, bounds, scope: Scope::new() }))
    })
    .unwrap_or_else(|not| Err(vec![not.finding()]))
}

impl Calculator {
    /// The value of an expression; `name = expression` keeps it under that name.
    pub fn calculate(&mut self, line: &str) -> Result<Value, Vec<Finding>> {
        let (name, expression) = assigned(line);
        let (scripts, offset) = self.host.scripts.with_expression(expression);
        let deadline = Instant::now().checked_add(Duration::from_secs(self.bounds.seconds));
        self.host.world.set_deadline(deadline);
        let value = self.evaluate(expression, offset).map_err(|fault| {
            let mut finding = fault.finding(&scripts);
            let own = |place: &Place| matches!(place, Place::Script { file, .. } if &**file == EXPRESSION);
            finding.places.retain(|place| !own(place));
            vec![finding]
        })?;
        let plain = from_script(&value).map_err(|not| {
            vec![Finding::error("no-cell-value", format!("the result is {}", not.0))]
        })?;
        for name in name.into_iter().chain(["ans"]) {
            self.scope.set_or_push(name, value.clone());
        }
        Ok(plain)
    }

    /// The names that can be typed: rules, built-ins, names given.
    pub fn names(&self) -> Vec<String> {
        let known = self.host.world.known.borrow();
        let functions = known.functions.iter().map(|(name, _)| format!("{name}("));
        let own = self.scope.iter().map(|(name, ..)| name.to_owned());
        let mut names: Vec<String> = functions.chain(own).collect();
        names.sort();
        names.dedup();
        names
    }

    /// What is known of a function: how it is written and what it gives.
    pub fn about(&self, name: &str) -> Option<String> {
        let rule = self.host.loaded.rules.iter().find(|rule| rule.name == name);
        if let Some(rule) = rule {
            return Some(format!("{}({})\n{}", rule.name, rule.parameters.join(", "), rule.about));
        }
        let (room, function) = name.split_once("::").unwrap_or(("", name));
        let room = super::rooms().iter().find(|known| known.name == room);
        let builtin =
            room.and_then(|room| room.builtins().find(|builtin| builtin.name == function));
        match builtin {
            Some(builtin) => {
                let head = format!("{name}({})", builtin.parameters.join(", "));
                Some(format!("{head}\n{}", builtin.doc().join("\n")))
            }
            None => words::forms(name),
        }
    }

    #[allow(clippy::result_large_err, reason = "an error is made once, not in a hot path")]
    fn evaluate(&mut self, expression: &str, offset: usize) -> Result<Dynamic, Fault> {
        let Host { engine, loaded, world, .. } = &self.host;
        let text = format!("{}{expression}", "\n".repeat(offset));
        let ast = engine
            .compile_expression_with_scope(&self.scope, text)
            .map_err(|error| syntax_fault(&error, expression, offset))?;
        let ast = loaded.library.merge(&ast);
        let mut scope = self.scope.clone();
        let result =
            world.with_own_steps(|| engine.eval_ast_with_scope::<Dynamic>(&mut scope, &ast));
        result.map_err(|error| match explain(&error, &world.known.borrow()) {
            Stop::Fault(fault) | Stop::Carried(fault) => Fault::clone(&fault),
            Stop::Need(table) => Fault::new("no-job", format!("`{table}` is no table here")),
            Stop::Trying | Stop::UsedUp(Limit::Time) => {
                Fault::new("time-is-up", "the expression took too long")
            }
            Stop::UsedUp(Limit::Memory) => {
                Fault::new("memory-is-up", "the expression took too much memory")
            }
        })
    }
}

/// `name = expression` taken apart; a comparison is no such thing.
fn assigned(line: &str) -> (Option<&str>, &str) {
    let Some((name, expression)) = line.split_once('=') else { return (None, line) };
    let name = name.trim();
    let is_name = name.starts_with(|sign: char| sign.is_ascii_alphabetic())
        && name.chars().all(|sign| sign.is_ascii_alphanumeric() || sign == '_')
        && !is_reserved(name);
    if is_name && !expression.starts_with(['=', '>']) {
        (Some(name), expression.trim())
    } else {
        (None, line)
    }
}
