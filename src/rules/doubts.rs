//! What a shop's scripts most likely do not mean, and the engine takes without a word: text compared
//! with a number, which is never true, and functions that are nearly named as a rule.

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

use rhai::{AST, ASTNode, Expr, FnCallExpr, Position};

use super::compile::{Compiled, File};
use super::fault::Fault;
use super::near::near_misses;
use super::source::{From, Script, Scripts};
use crate::finding::{Finding, Severity};
use crate::job::schema::{self, Kind};

/// The doubts about all scripts but the bundled ones, as warnings.
pub fn doubts(scripts: &Scripts, compiled: &Compiled) -> Vec<Finding> {
    let own = || {
        let files = scripts.files().iter().zip(&compiled.files);
        files.filter(|(script, _)| script.from != From::Bundled)
    };
    let mut faults = Vec::new();
    for ast in own().filter_map(|(_, file)| file.ast()) {
        faults.extend(mixed(ast));
    }
    if own().next().is_some() {
        faults.extend(nearly_rules(scripts, compiled));
    }
    faults
        .iter()
        .map(|fault| Finding { severity: Severity::Warning, ..fault.finding(scripts) })
        .collect()
}

/// What stands under a field wherever the schedule has it.
#[derive(Clone, Copy, PartialEq)]
enum Holds {
    Text,
    Number,
}

/// Fields of the schedule that hold one kind of value on all sheets.
static FIELDS: LazyLock<HashMap<&str, Holds>> = LazyLock::new(|| {
    let mut fields: HashMap<&str, Option<Holds>> = HashMap::new();
    for field in schema::SHEETS.iter().flat_map(schema::Sheet::all_fields) {
        let holds = match field.kind {
            Kind::Text | Kind::Choice(_) => Some(Holds::Text),
            Kind::Whole(_)
            | Kind::Number
            | Kind::Positive
            | Kind::Price
            | Kind::Length { .. }
            | Kind::LengthOrNone { .. } => Some(Holds::Number),
            _ => None,
        };
        let known = fields.entry(field.key).or_insert(holds);
        if *known != holds {
            *known = None;
        }
    }
    fields.into_iter().filter_map(|(key, holds)| Some((key, holds?))).collect()
});

/// Comparisons of a field with a literal of the other kind.
fn mixed(ast: &AST) -> Vec<Fault> {
    let mut faults = Vec::new();
    ast.walk(&mut |path: &[ASTNode]| {
        if let Some(ASTNode::Expr(Expr::FnCall(call, position))) = path.last() {
            faults.extend(mixed_call(call, *position));
        }
        true
    });
    faults.dedup();
    faults
}

fn mixed_call(call: &FnCallExpr, position: Position) -> Option<Fault> {
    let [a, b] = call.args.as_slice() else { return None };
    let sides = [(a, b), (b, a)];
    match call.name.as_str() {
        "==" | "!=" | "<" | "<=" | ">" | ">=" => sides.into_iter().find_map(|(field, literal)| {
            let (name, holds) = held(field)?;
            (literal_of(literal)? != holds).then(|| told(name, holds, call.name.as_str(), position))
        }),
        // `x in list`, the list first.
        "contains" => {
            let Expr::Array(items, _) = a else { return None };
            let (name, holds) = held(b)?;
            let other = items.iter().any(|item| literal_of(item).is_some_and(|kind| kind != holds));
            other.then(|| told(name, holds, "in", position))
        }
        _ => None,
    }
}

fn told(name: &str, holds: Holds, sign: &str, position: Position) -> Fault {
    let (is, beside, hint) = match (holds, sign) {
        (Holds::Text, "<" | "<=" | ">" | ">=") => {
            ("text", "a number", format!("`parse_int({name}) {sign} …` compares it as a number"))
        }
        (Holds::Text, _) => {
            ("text", "a number", "put quotes around what it is compared with: \"20\"".to_owned())
        }
        (Holds::Number, _) => (
            "a number",
            "text",
            "write it as a number in the unit of its name: 6.25 for a slab of 6 1/4 in".to_owned(),
        ),
    };
    let never = if sign == "!=" { "always true" } else { "never true" };
    let message = format!("`{name}` is {is}, and is compared with {beside}: that is {never}");
    Fault::new("text-beside-number", message).hint(hint).at(position)
}

/// The field that an expression reads, and what it holds.
fn held(expression: &Expr) -> Option<(&str, Holds)> {
    let name = match expression {
        Expr::Dot(parts, ..) => match &parts.rhs {
            Expr::Property(field, _) => field.2.as_str(),
            deeper => return held(deeper),
        },
        Expr::Index(parts, ..) => match &parts.rhs {
            Expr::StringConstant(name, _) => name.as_str(),
            _ => return None,
        },
        _ => return None,
    };
    FIELDS.get(name).map(|holds| (name, *holds))
}

/// Blank text is compared with what may be blank, and says nothing of numbers.
fn literal_of(expression: &Expr) -> Option<Holds> {
    match expression {
        Expr::IntegerConstant(..) | Expr::FloatConstant(..) => Some(Holds::Number),
        Expr::StringConstant(text, _) if !text.is_empty() => Some(Holds::Text),
        _ => None,
    }
}

/// Rules of the shop's own that nothing calls and that are nearly named as a bundled one.
fn nearly_rules(scripts: &Scripts, compiled: &Compiled) -> Vec<Fault> {
    let mut called: HashSet<String> = HashSet::new();
    let mut bundled: HashSet<String> = HashSet::new();
    for (script, file) in scripts.files().iter().zip(&compiled.files) {
        let Some(ast) = file.ast() else { continue };
        if script.from != From::Bundled {
            called.extend(calls(ast, script));
        } else if let File::Rules(ast) = file {
            bundled.extend(ast.iter_functions().map(|function| function.name.to_owned()));
        }
    }
    let own = compiled.rules.iter().filter(|rule| rule.from != From::Bundled);
    own.filter(|rule| !bundled.contains(&rule.name) && !called.contains(&rule.name))
        .filter_map(|rule| {
            let near = near_misses(&rule.name, bundled.iter().map(String::as_str));
            let near = near.first()?;
            let message =
                format!("the function `{}` replaces no rule, and nothing calls it", rule.name);
            let fault = Fault::new("rule-of-no-use", message).on(rule.line, 1);
            Some(fault.hint(format!("did you mean `{near}`?")))
        })
        .collect()
}

/// The functions that a script calls, and those whose names stand in its texts.
fn calls(ast: &AST, script: &Script) -> Vec<String> {
    let mut names = Vec::new();
    ast.walk(&mut |path: &[ASTNode]| {
        match path.last() {
            Some(ASTNode::Expr(Expr::FnCall(call, _) | Expr::MethodCall(call, _))) => {
                names.push(call.name.to_string());
            }
            Some(ASTNode::Stmt(rhai::Stmt::FnCall(call, _))) => names.push(call.name.to_string()),
            _ => {}
        }
        true
    });
    let quoted = script.text.split('"').skip(1).step_by(2);
    names.extend(quoted.filter(|text| !text.contains(' ')).map(str::to_owned));
    names
}
