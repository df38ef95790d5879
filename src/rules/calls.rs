//! Mistakes that a look at a script finds before anything is computed: calls of functions that are
//! not there, captured variables that are given a value.

use rhai::{AST, ASTNode, Expr, FnCallExpr, FnPtr, Position, ScriptFuncDef, Shared, Stmt};

use super::asked::Method;
use super::define::Function;
use super::describe::{Known, own_functions, unknown_call, wrong_count};
use super::fault::Fault;
use super::functions::{Functions, alone};
use super::source::Script;

/// Functions of the language itself.
const LANGUAGE: &[&str] =
    &["call", "curry", "Fn", "type_of", "is_shared", "is_def_fn", "is_def_var"];

/// Calls of functions that are not there, or not with so many arguments.
pub fn unknown_calls(ast: &AST, script: &Script, known: &Known) -> Vec<Fault> {
    let look = Look {
        script,
        known,
        helpers: ast
            .iter_functions()
            .map(|function| (function.name.to_owned(), function.params.len()))
            .collect(),
    };
    let mut faults: Vec<Fault> = Vec::new();
    ast.walk(&mut |path: &[ASTNode]| {
        let fault = match path.last() {
            Some(ASTNode::Expr(Expr::MethodCall(call, position))) => look.method(call, *position),
            Some(
                ASTNode::Expr(Expr::FnCall(call, position))
                | ASTNode::Stmt(Stmt::FnCall(call, position)),
            ) => look.call(call, *position),
            _ => None,
        };
        faults.extend(fault);
        true
    });
    faults.sort_by_key(|fault| (fault.line, fault.column));
    faults.dedup();
    faults
}

struct Look<'a> {
    script: &'a Script,
    known: &'a Known,
    helpers: Vec<(String, usize)>,
}

impl Look<'_> {
    fn call(&self, call: &FnCallExpr, position: Position) -> Option<Fault> {
        if call.is_operator_call()
            || call.name.starts_with("anon$")
            || LANGUAGE.contains(&call.name.as_str())
        {
            return None;
        }
        if call.is_qualified() {
            return self.qualified(call, position);
        }
        let (name, given) = (call.name.as_str(), call.args.len());
        let all = || self.known.functions.iter().chain(&self.helpers);
        let own = own_functions();
        if all().any(|(known, count)| known == name && *count == given)
            || own.iter().any(|(own, _)| own == name)
        {
            return None;
        }
        let fault = match all().find(|(known, _)| known == name) {
            Some((_, wanted)) => wrong_count(name, *wanted, given),
            None => unknown_call(name, &[], self.known),
        };
        Some(fault.at(position))
    }

    fn qualified(&self, call: &FnCallExpr, position: Position) -> Option<Fault> {
        let group = call.namespace.to_string();
        if group == "bundled" {
            return None;
        }
        if !super::rooms().iter().any(|room| room.name == group) {
            let names = super::rooms().iter().map(|room| room.name).chain(["bundled"]);
            let fault =
                Fault::new("unknown-function", format!("there is no group of functions `{group}`"));
            return Some(fault.near(&group, names).at(call.namespace.position()));
        }
        let (name, given) = (format!("{group}::{}", call.name), call.args.len());
        match self.known.functions.iter().find(|(known, _)| *known == name) {
            Some((_, wanted)) if *wanted == given => None,
            Some((_, wanted)) => Some(wrong_count(&name, *wanted, given).at(position)),
            None => Some(unknown_call(&name, &[], self.known).at(position)),
        }
    }

    /// A call behind a dot; a map may hold a function of that name.
    fn method(&self, call: &FnCallExpr, position: Position) -> Option<Fault> {
        let name = call.name.as_str();
        let all = || self.known.functions.iter().chain(&self.helpers).chain(own_functions());
        let in_map = || {
            let mut parts = self.script.text.split(name).skip(1);
            parts.any(|rest| rest.trim_start().starts_with(':'))
        };
        if LANGUAGE.contains(&name) || all().any(|(known, _)| known == name) || in_map() {
            return None;
        }
        Some(unknown_call(name, &[], self.known).at(position))
    }
}

/// Captured variables that functions given to `column`, `table` and `check` give a value: each cell
/// is computed with the value captured where the column was defined, so that would be lost.
pub fn changed_captures(ast: &AST, function: &Function) -> Option<Fault> {
    let captured = function.pointer.curry().len();
    if captured == 0 {
        return None;
    }
    let own = function.pointer.fn_name();
    let definition = ast.iter_fn_def().find(|definition| definition.name == own)?;
    let names = definition.params.get(..captured)?;
    let is_captured = |name: &str| names.iter().any(|known| known == name);
    let assigned = assigned(&alone(definition));
    let (name, position) = assigned.into_iter().find(|(name, _)| is_captured(name))?;
    Some(
        Fault::new("changed-capture", format!("`{name}` stands outside this function and can not be changed in it"))
            .hint("each cell is computed on its own; a sum over the rows above is a column with `.running()`")
            .at(position),
    )
}

/// Whether a method leaves what it is called on as it is; of others that is not known.
fn only_reads(call: &FnCallExpr) -> bool {
    match Method::of(&call.name, call.args.len()) {
        // A list is sorted in its place.
        Some(Method::Sort) => false,
        Some(_) => true,
        None => ["contains", "is_empty", "len", "table", "value"].contains(&call.name.as_str()),
    }
}

/// Whether a function may change variables of these names, which it captured: each call then sees what
/// the calls before it left.
pub fn may_change(all: &Functions, function: &Shared<ScriptFuncDef>, captured: &[String]) -> bool {
    if captured.is_empty() {
        return false;
    }
    let is_captured = |name: &str| captured.iter().any(|known| known == name);
    let alone = alone(function);
    if assigned(&alone).iter().any(|(name, _)| is_captured(name)) {
        return true;
    }
    let mut found = false;
    alone.walk(&mut |path: &[ASTNode]| {
        found |= match path.last() {
            Some(ASTNode::Expr(Expr::Dot(parts, ..) | Expr::Index(parts, ..))) => {
                matches!(&parts.lhs, Expr::Variable(name, ..) if is_captured(&name.1))
                    && calls_a_method(&parts.rhs)
            }
            // Shared with a function inside, which may change it.
            Some(ASTNode::Expr(Expr::FnCall(call, _)) | ASTNode::Stmt(Stmt::FnCall(call, _))) => {
                call.capture_parent_scope
                    || curried(call).is_some_and(|(name, names)| {
                        let inner: Vec<String> =
                            names.into_iter().filter(|name| is_captured(name)).collect();
                        let may = |inside| may_change(all, inside, &inner);
                        !inner.is_empty() && all.only(&name).is_none_or(may)
                    })
            }
            _ => false,
        };
        !found
    });
    found
}

/// A function written in place, by its name, and the variables that it captures.
pub fn function_given(expression: &Expr) -> Option<(String, Vec<String>)> {
    match expression {
        Expr::DynamicConstant(value, _) if value.is_fnptr() => {
            let pointer = value.read_lock::<FnPtr>()?;
            pointer.curry().is_empty().then(|| (pointer.fn_name().to_owned(), Vec::new()))
        }
        Expr::FnCall(call, _) => curried(call),
        Expr::Stmt(block) => match block.statements() {
            [Stmt::Share(..), Stmt::Expr(given)] => function_given(given),
            [Stmt::Share(..), Stmt::FnCall(call, _)] => curried(call),
            _ => None,
        },
        _ => None,
    }
}

/// The same of the call that gives a function what it captures.
fn curried(call: &FnCallExpr) -> Option<(String, Vec<String>)> {
    let [Expr::DynamicConstant(value, _), captured @ ..] = &*call.args else { return None };
    let name = value.read_lock::<FnPtr>()?.fn_name().to_owned();
    let variable = |captured: &Expr| match captured {
        Expr::Variable(name, ..) => Some(name.1.to_string()),
        _ => None,
    };
    let captured: Option<Vec<String>> = captured.iter().map(variable).collect();
    captured.filter(|_| call.name == "curry").map(|captured| (name, captured))
}

/// Whether a chain of fields, items and calls has a method that may change something.
fn calls_a_method(chain: &Expr) -> bool {
    match chain {
        Expr::MethodCall(call, _) => !only_reads(call),
        Expr::Dot(parts, ..) | Expr::Index(parts, ..) => {
            calls_a_method(&parts.lhs) || calls_a_method(&parts.rhs)
        }
        _ => false,
    }
}

/// Variables that functions give a value, or a value in.
fn assigned(ast: &AST) -> Vec<(String, Position)> {
    let mut found = Vec::new();
    ast.walk(&mut |path: &[ASTNode]| {
        if let Some(ASTNode::Stmt(Stmt::Assignment(parts))) = path.last() {
            let mut target = &parts.1.lhs;
            while let Expr::Dot(inner, ..) | Expr::Index(inner, ..) = target {
                target = &inner.lhs;
            }
            if let Expr::Variable(name, _, position) = target {
                found.push((name.1.to_string(), *position));
            }
        }
        true
    });
    found
}
