//! Why a script could not compute something, in words people can act on.

use std::sync::Arc;

use rhai::{Dynamic, EvalAltResult, LexError, ParseError, ParseErrorType, Position};

use super::source::Scripts;
use crate::finding::{Finding, Place};
use crate::value::Refusal;

/// What a computation failed of, at its innermost place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub code: &'static str,
    pub message: String,
    pub hints: Vec<String>,
    /// Line and column in the common numbering of the scripts; 0 where unknown.
    pub line: usize,
    pub column: usize,
    /// The columns that led there, outermost first: `takeoff.deck_lb`.
    pub chain: Vec<String>,
}

/// A fault on its way through columns that read the faulty one; scripts can not catch it.
#[derive(Clone, Debug)]
pub struct Carried(pub Arc<Fault>);

/// A fault that begins here; scripts can not catch it.
#[derive(Clone, Debug)]
pub struct Raised(pub Arc<Fault>);

/// A table is wanted that is not made yet; scripts can not catch it.
#[derive(Clone, Debug)]
pub struct Need(pub Arc<str>);

/// The run took longer than it may; ends the run.
#[derive(Clone, Debug)]
pub struct TimeIsUp;

/// The cell did more operations than it may.
#[derive(Clone, Debug)]
pub struct TooManySteps(pub u64);

/// What a script call ended in, other than a value.
#[derive(Clone, Debug)]
pub enum Stop {
    Fault(Arc<Fault>),
    /// The same, but of a column that was read: already told.
    Carried(Arc<Fault>),
    Need(Arc<str>),
    TimeIsUp,
}

impl Fault {
    pub fn new(code: &'static str, message: impl Into<String>) -> Fault {
        Fault {
            code,
            message: message.into(),
            hints: Vec::new(),
            line: 0,
            column: 0,
            chain: Vec::new(),
        }
    }

    pub fn hint(mut self, hint: impl Into<String>) -> Fault {
        self.hints.push(hint.into());
        self
    }

    pub fn at(mut self, position: Position) -> Fault {
        if self.line == 0 {
            self.line = position.line().unwrap_or(0);
            self.column = position.position().unwrap_or(0);
        }
        self
    }

    /// As an engine error that scripts can not catch.
    pub fn raise(self, position: Position) -> Box<EvalAltResult> {
        let token = Dynamic::from(Raised(Arc::new(self.at(position))));
        Box::new(EvalAltResult::ErrorTerminated(token, position))
    }

    /// The same, of a fault that is told elsewhere.
    pub fn carry(self, position: Position) -> Box<EvalAltResult> {
        let token = Dynamic::from(Carried(Arc::new(self.at(position))));
        Box::new(EvalAltResult::ErrorTerminated(token, position))
    }

    /// As a finding, with the source line and a mark under the place.
    pub fn finding(&self, scripts: &Scripts) -> Finding {
        let mut finding = Finding::error(self.code, self.message.clone());
        if let Some(place) = scripts.place(self.line, self.column) {
            finding = finding.at(place);
        }
        if let Some(excerpt) = scripts.excerpt(self.line, self.column) {
            finding = finding.excerpt(excerpt);
        }
        if self.chain.len() > 1 {
            finding = finding.hint(format!("reached by {}", self.chain.join(" -> ")));
        }
        for hint in &self.hints {
            finding = finding.hint(hint.clone());
        }
        finding
    }
}

/// A value refused by a built-in, as a fault.
pub fn refused(function: &str, refusal: &Refusal) -> Fault {
    Fault::new("bad-argument", format!("in `{function}`: {refusal}"))
}

/// Near misses of a name among those known, nearest first, at most three.
pub fn near_misses<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut near: Vec<(usize, &str)> = known
        .filter(|candidate| *candidate != name)
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), candidate))
        .filter(|(distance, candidate)| {
            *distance <= (name.chars().count().max(candidate.chars().count()) / 3).max(1)
        })
        .collect();
    near.sort_unstable();
    near.dedup();
    near.into_iter().take(3).map(|(_, candidate)| candidate).collect()
}

/// `did you mean …` with near misses, where there are some.
pub fn did_you_mean<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<String> {
    let near = near_misses(name, known);
    (!near.is_empty()).then(|| {
        let quoted: Vec<String> = near.iter().map(|name| format!("`{name}`")).collect();
        format!("did you mean {}?", quoted.join(" or "))
    })
}

/// The names that messages may suggest.
#[derive(Default)]
pub struct Known {
    /// Rules and built-ins with their numbers of parameters: `concrete_waste`, `deck::plan`.
    pub functions: Vec<(String, usize)>,
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
        if token.is::<TimeIsUp>() {
            return Stop::TimeIsUp;
        }
    }
    Stop::Fault(Arc::new(describe(inner, known).at(position)))
}

fn describe(error: &EvalAltResult, known: &Known) -> Fault {
    use EvalAltResult as E;
    match error {
        E::ErrorTerminated(token, _) => match token.clone().try_cast::<TooManySteps>() {
            Some(TooManySteps(limit)) => {
                Fault::new("too-many-steps", format!("the cell took more than {limit} steps"))
                    .hint("an endless loop? a cell's steps are bounded so that one can not stop the run")
            }
            None => Fault::new("script-stopped", "the script was stopped"),
        },
        E::ErrorParsing(kind, position) => {
            parse_fault(&ParseError(Box::new(kind.clone()), *position))
        }
        E::ErrorRuntime(payload, _) => thrown(payload),
        E::ErrorVariableNotFound(name, _) => {
            Fault::new("unknown-name", format!("nothing is called `{name}`"))
        }
        E::ErrorFunctionNotFound(signature, _) => unknown_function(signature, known),
        E::ErrorPropertyNotFound(name, _) | E::ErrorDotExpr(name, _) => {
            Fault::new("unknown-field", format!("there is no field `{name}` here"))
        }
        E::ErrorStackOverflow(_) => {
            Fault::new("too-deep", "functions call each other too deep").hint("an endless recursion?")
        }
        E::ErrorDataTooLarge(what, _) => {
            Fault::new("too-large", format!("{} grew beyond its bound", what.to_lowercase()))
                .hint("texts, lists and maps in scripts are bounded")
        }
        E::ErrorArithmetic(message, _) => Fault::new("arithmetic", message.clone()),
        E::ErrorMismatchDataType(wanted, found, _) if !wanted.is_empty() => {
            Fault::new("wrong-kind", format!("wanted {}, found {}", plain(wanted), plain(found)))
        }
        E::ErrorIndexingType(found, _) => {
            let kind = found.split(" [").next().unwrap_or(found);
            Fault::new("wrong-kind", format!("{} has no fields", plain(kind)))
        }
        E::ErrorArrayBounds(count, index, _) => Fault::new(
            "no-such-item",
            format!("there is no item {index} in a list of {count}"),
        ),
        E::ErrorDataRace(..) => {
            Fault::new("in-use", "a function uses the very value that it is called on")
                .hint("put what stands before the dot into a `let` first: `let lines = job.table(\"order\"); lines.map(…)`")
        }
        E::ErrorFor(_) => Fault::new("wrong-kind", "`for` wants a list or rows"),
        other => {
            let text = other.to_string();
            let text = text.rsplit_once(" (line ").map_or(text.as_str(), |(text, _)| text);
            Fault::new("script-error", text.to_owned())
        }
    }
}

/// What a `throw` says: its text, or the `message`, `code` and `hint` of its map.
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

fn unknown_function(signature: &str, known: &Known) -> Fault {
    let (name, arguments) = match signature.split_once(" (") {
        Some((name, rest)) => (name.trim(), rest.trim_end_matches(')')),
        None => (signature, ""),
    };
    let name = name.replace(" :: ", "::");
    let kinds: Vec<String> =
        arguments.split(", ").filter(|kind| !kind.is_empty()).map(plain).collect();
    let counts: Vec<usize> = known
        .functions
        .iter()
        .filter(|(known, _)| *known == name)
        .map(|(_, count)| *count)
        .collect();
    if let Some(count) = counts.first() {
        if counts.contains(&kinds.len()) {
            return Fault::new("wrong-kind", format!("`{name}` can not take {}", kinds.join(", ")));
        }
        return Fault::new(
            "wrong-argument-count",
            format!("`{name}` takes {count} argument{}, was given {}", plural(*count), kinds.len()),
        );
    }
    if name.chars().all(|sign| !sign.is_alphanumeric() && sign != '_') {
        return Fault::new(
            "wrong-kind",
            format!("`{name}` can not work on {}", kinds.join(" and ")),
        );
    }
    if let Some(field) = name.strip_prefix("get$") {
        return Fault::new("unknown-field", format!("there is no field `{field}` here"));
    }
    let mut fault = Fault::new("unknown-function", format!("there is no function `{name}`"));
    let names = known.functions.iter().map(|(name, _)| name.as_str());
    fault.hints.extend(did_you_mean(&name, names));
    fault
}

const fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

/// An engine's type name in plain words.
fn plain(kind: &str) -> String {
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
        other => other,
    }
    .to_owned()
}

/// What a syntax error says.
pub fn parse_fault(error: &ParseError) -> Fault {
    let ParseError(kind, position) = error;
    let fault = match &**kind {
        ParseErrorType::UnexpectedEOF => {
            Fault::new("syntax", "the script ends in the middle of something")
                .hint("a bracket or brace is not closed")
        }
        ParseErrorType::BadInput(LexError::UnterminatedString) => {
            Fault::new("syntax", "a text is not closed").hint("end it with the quote it began with")
        }
        ParseErrorType::VariableUndefined(name) => {
            Fault::new("unknown-name", format!("nothing is called `{name}`"))
        }
        ParseErrorType::Reserved(word)
        | ParseErrorType::BadInput(LexError::ImproperSymbol(word, _)) => {
            Fault::new("syntax", format!("`{word}` may not stand here"))
        }
        ParseErrorType::MissingToken(token, why) => {
            let why = why.replace("parameters list", "parameters");
            Fault::new("syntax", format!("wanted `{token}` {why}"))
        }
        other => Fault::new("syntax", other.to_string()),
    };
    fault.at(*position)
}

/// The finding of a fault in one script as a whole.
pub fn script_finding(fault: &Fault, scripts: &Scripts, name: &Arc<str>) -> Finding {
    let finding = fault.finding(scripts);
    if finding.places.is_empty() { finding.at(Place::File(name.clone())) } else { finding }
}
