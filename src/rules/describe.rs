//! What an engine error says, in words people can act on, at its innermost place.

use std::sync::{Arc, OnceLock};

use rhai::{Dynamic, EvalAltResult};

use super::engine::engine_functions;
use super::fault::{Carried, Fault, Limit, Need, OutOfStack, Raised, Stop, TooManySteps, Trying};
use super::syntax::bare_parse_fault;
use super::words;
use super::world::Bounds;

/// The names that messages may suggest, and the bounds that they state.
#[derive(Default)]
pub struct Known {
    /// Rules and built-ins with their numbers of parameters: `concrete_waste`, `deck::plan`.
    pub functions: Vec<(String, usize)>,
    pub bounds: Bounds,
}

/// What an engine error says, at its innermost place.
pub fn explain(error: &EvalAltResult, known: &Known) -> Stop {
    let mut position = error.position();
    let mut inner = error;
    while let EvalAltResult::ErrorInFunctionCall(_, _, below, at)
    | EvalAltResult::ErrorInModule(_, below, at) = inner
    {
        if position.is_none() {
            position = *at;
        }
        if !below.position().is_none() {
            position = below.position();
        }
        inner = below;
    }
    if let EvalAltResult::ErrorTerminated(token, _) = inner {
        if let Some(Carried(fault)) = token.clone().try_cast::<Carried>() {
            return Stop::Carried(fault);
        }
        if let Some(Raised(fault)) = token.clone().try_cast::<Raised>() {
            return Stop::Fault(Arc::new(Fault::clone(&fault).at(position)));
        }
        if let Some(Need(table)) = token.clone().try_cast::<Need>() {
            return Stop::Need(table);
        }
        if token.is::<Trying>() {
            return Stop::Trying;
        }
        if let Some(limit) = token.clone().try_cast::<Limit>() {
            return Stop::UsedUp(limit);
        }
    }
    Stop::Fault(Arc::new(describe(inner, known).at(position)))
}

fn describe(error: &EvalAltResult, known: &Known) -> Fault {
    use EvalAltResult as E;
    match error {
        E::ErrorTerminated(token, _) => stopped(token),
        E::ErrorParsing(kind, position) => bare_parse_fault(kind, *position),
        E::ErrorRuntime(payload, _) => thrown(payload),
        E::ErrorVariableNotFound(name, _) => {
            Fault::new("unknown-name", format!("nothing is called `{name}`"))
        }
        E::ErrorModuleNotFound(name, _) => {
            let name = name.split("::").next().unwrap_or(name);
            Fault::new("unknown-function", format!("there is no group of functions `{name}`"))
                .near(name, super::rooms().iter().map(|room| room.name).chain(["bundled"]))
        }
        E::ErrorFunctionNotFound(signature, _) => unknown_function(signature, known),
        E::ErrorDotExpr(message, _) if message.starts_with("No writable property '") => {
            let mut quoted = message.split('\'').skip(1).step_by(2);
            let (field, kind) = (quoted.next().unwrap_or(""), quoted.next().unwrap_or(""));
            unchangeable(&format!("`{field}` of {}", plain(kind)))
        }
        E::ErrorPropertyNotFound(name, _) | E::ErrorDotExpr(name, _) => {
            Fault::new("unknown-field", format!("there is no field `{name}` here"))
        }
        E::ErrorStackOverflow(_) => Fault::new(
            "too-deep",
            format!("more than {} functions call each other", known.bounds.call_levels),
        )
        .hint("an endless recursion?"),
        E::ErrorDataTooLarge(what, _) => too_large(what, &known.bounds),
        E::ErrorTooManyVariables(_) => {
            Fault::new("too-many-variables", "a function has too many variables")
        }
        E::ErrorArithmetic(message, _) => {
            Fault::new("arithmetic", message.replace('\'', "`").to_lowercase())
        }
        E::ErrorMismatchDataType(wanted, found, _) if !wanted.is_empty() => {
            Fault::new("wrong-kind", format!("wanted {}, found {}", plain(wanted), plain(found)))
        }
        E::ErrorIndexingType(found, _) => {
            let (kind, index) = found.split_once(" [").unwrap_or((found, ""));
            let of = plain(kind);
            if index.contains("] = ") {
                unchangeable(&format!("a field of {of}"))
            } else if index.starts_with("i64") && ["row", "record"].contains(&kind.trim()) {
                Fault::new("wrong-kind", format!("the fields of {of} have names, no numbers"))
                    .hint("`row[\"width_ft\"]` or `row.width_ft`")
            } else {
                Fault::new("wrong-kind", format!("{of} has no fields"))
            }
        }
        E::ErrorArrayBounds(count, index, _) => {
            Fault::new("no-such-item", format!("there is no item {index} in a list of {count}"))
                .hint("the first item is 0")
        }
        E::ErrorDataRace(..) => {
            Fault::new("in-use", "a function uses the very value that it is called on")
                .hint("put what stands before the dot into a `let` first: `let lines = job.table(\"order\"); lines.map(…)`")
        }
        E::ErrorFor(_) => Fault::new("wrong-kind", "`for` wants a list, rows or a range"),
        other => {
            let text = other.to_string();
            let text = text.rsplit_once(" (line ").map_or(text.as_str(), |(text, _)| text);
            Fault::new("script-error", text.replace('\'', "`"))
        }
    }
}

/// What the schedule or a table says and a script tries to change.
fn unchangeable(what: &str) -> Fault {
    Fault::new("not-changeable", format!("{what} can not be changed"))
        .hint("a map of a script's own can: `#{ row: row, copies: 3 }`")
}

fn stopped(token: &Dynamic) -> Fault {
    if let Some(TooManySteps(limit)) = token.clone().try_cast::<TooManySteps>() {
        return Fault::new("too-many-steps", format!("the cell took more than {limit} steps"))
            .hint("an endless loop? a cell's steps are bounded so that one can not stop the run; `--script-steps` gives more");
    }
    if token.is::<OutOfStack>() {
        return Fault::new(
            "too-deep",
            "functions, columns and expressions are nested too deep together",
        )
        .hint("an endless recursion?");
    }
    Fault::new("script-stopped", "the script was stopped")
}

/// A text, list or map beyond its bound.
fn too_large(what: &str, bounds: &Bounds) -> Fault {
    let what = what.to_lowercase();
    let message = if what.contains("string") {
        format!("a text, or the texts of a list together, grew beyond {} characters", bounds.text)
    } else if what.contains("map") {
        format!("a map grew beyond {} fields", bounds.map)
    } else {
        format!("a list grew beyond {} items, those of lists in it counted", bounds.list)
    };
    Fault::new("too-large", message)
}

/// What a `throw` says: its text, or the `message` and `hint` of its map.
fn thrown(payload: &Dynamic) -> Fault {
    if let Ok(map) = payload.as_map_ref() {
        let text = |key: &str| map.get(key).map(ToString::to_string);
        let message = text("message").unwrap_or_else(|| format!("a rule threw {payload}"));
        let mut fault = Fault::new("thrown", message);
        fault.hints.extend(text("hint"));
        return fault;
    }
    if payload.is_unit() {
        return Fault::new("thrown", "a rule threw without a word");
    }
    Fault::new("thrown", payload.to_string())
}

/// Names and numbers of parameters of the functions that scripts have beside rules and built-ins.
pub fn own_functions() -> &'static [(String, usize)] {
    static OWN: OnceLock<Vec<(String, usize)>> = OnceLock::new();
    OWN.get_or_init(engine_functions)
}

fn unknown_function(signature: &str, known: &Known) -> Fault {
    let (name, arguments) = match signature.split_once(" (") {
        Some((name, rest)) => (name.trim(), rest.strip_suffix(')').unwrap_or(rest)),
        None => (signature, ""),
    };
    let name = name.replace(" :: ", "::");
    let kinds: Vec<String> =
        arguments.split(", ").filter(|kind| !kind.is_empty()).map(plain).collect();
    if name.chars().all(|sign| !sign.is_alphanumeric() && sign != '_') || name == "divided_by" {
        return operator(if name == "divided_by" { "/" } else { &name }, &kinds);
    }
    if let Some(field) = name.strip_prefix("get$") {
        let fault = Fault::new("unknown-field", format!("there is no field `{field}` here"));
        return match kinds.first() {
            Some(kind) => Fault { message: format!("{kind} has no field `{field}`"), ..fault },
            None => fault,
        };
    }
    unknown_call(&name, &kinds, known)
}

/// An operator between kinds of values that it does not work on.
fn operator(name: &str, kinds: &[String]) -> Fault {
    let fault =
        Fault::new("wrong-kind", format!("`{name}` can not work on {}", kinds.join(" and ")));
    if kinds.iter().any(|kind| kind == "blank") {
        fault.hint("a blank cell of the schedule? `row.name ?? 0` reads it as 0")
    } else {
        fault
    }
}

/// A call of a function that is not there, or not with such arguments.
pub fn unknown_call(name: &str, kinds: &[String], known: &Known) -> Fault {
    if name.starts_with("anon$") {
        let given = if kinds.is_empty() { "nothing".to_owned() } else { kinds.join(", ") };
        let message =
            format!("a function written in place is given {given}, and takes more or less");
        return Fault::new("wrong-argument-count", message)
            .hint("`filter`, `map` and `flat_map` give it one thing: `|row| …`");
    }
    let counts: Vec<usize> = known
        .functions
        .iter()
        .filter(|(known, _)| known == name)
        .map(|(_, count)| *count)
        .collect();
    if let Some(count) = counts.first() {
        if counts.contains(&kinds.len()) {
            return Fault::new("wrong-kind", format!("`{name}` can not take {}", kinds.join(", ")));
        }
        return wrong_count(name, *count, kinds.len());
    }
    let own = own_functions();
    if own.iter().any(|(own, _)| own == name) {
        let mut fault = match kinds.split_first() {
            Some((on, [])) => Fault::new("wrong-kind", format!("`{name}` can not take {on}")),
            Some((on, rest)) => {
                Fault::new("wrong-kind", format!("`{name}` can not take {on}, {}", rest.join(", ")))
            }
            None => Fault::new("wrong-kind", format!("`{name}` wants something to work on")),
        };
        fault.hints.extend(words::forms(name));
        return fault;
    }
    let names = known.functions.iter().map(|(name, _)| name.as_str());
    let own = own.iter().map(|(name, _)| name.as_str()).filter(|name| !name.contains('$'));
    Fault::new("unknown-function", format!("there is no function `{name}`"))
        .near(name, names.chain(own))
}

/// A call with too few or too many arguments.
pub fn wrong_count(name: &str, wanted: usize, given: usize) -> Fault {
    let plural = if wanted == 1 { "" } else { "s" };
    Fault::new(
        "wrong-argument-count",
        format!("`{name}` takes {wanted} argument{plural}, was given {given}"),
    )
}

/// An engine's type name in plain words.
pub fn plain(kind: &str) -> String {
    let kind = kind.trim();
    match kind {
        "i64" => "a whole number",
        "f64" => "a number",
        "bool" => "true or false",
        "string" | "&str | ImmutableString | String" | "ImmutableString" => "text",
        "array" => "a list",
        "map" => "a map",
        "()" => "blank",
        "Fn" => "a function",
        "row" => "a row",
        "rows" => "rows",
        "record" => "a record",
        "date" => "a date",
        "range" | "range=" => "a range",
        "char" => "a character",
        "table" => "a table",
        "column" => "a column",
        "check" => "a check",
        other => other,
    }
    .to_owned()
}
