//! Why a script could not compute something: the fault, its place, and how it becomes a finding.

use std::sync::Arc;

use rhai::{Dynamic, EvalAltResult, Position};

use super::near::did_you_mean;
use super::source::Scripts;
use crate::finding::{Finding, Place};
use crate::job::schema::heading_of_deck;
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
    /// What of that place the mark points at.
    pub aim: Aim,
    /// The argument or field of one that a built-in refused: `cut`.
    pub argument: Option<String>,
    /// The columns that were being computed, outermost first: `deck_lb`, `panels`.
    pub chain: Vec<String>,
    /// The columns of the row that are errors for it too.
    pub taken: Vec<String>,
}

/// What a mark points at, told from where the engine saw the fault.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Aim {
    #[default]
    Place,
    /// An argument of the call there, by its position, and a field of the map given.
    Argument(usize, Option<String>),
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

/// A column is wanted that is just tried for many rows together; scripts can not catch it.
#[derive(Clone, Debug)]
pub struct Trying;

/// What a run may not use up; doing so ends it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    Time,
    Memory,
}

/// The cell did more operations than it may.
#[derive(Clone, Debug)]
pub struct TooManySteps(pub u64);

/// Calls, columns and expressions together used up the thread's stack.
#[derive(Clone, Debug)]
pub struct OutOfStack;

/// What a script call ended in, other than a value.
#[derive(Clone, Debug)]
pub enum Stop {
    Fault(Arc<Fault>),
    /// The same, but of a column that was read: already told.
    Carried(Arc<Fault>),
    Need(Arc<str>),
    /// A column is wanted that is just tried for many rows together: that gives up, and nothing is
    /// amiss.
    Trying,
    /// The run is over.
    UsedUp(Limit),
}

impl Fault {
    pub fn new(code: &'static str, message: impl Into<String>) -> Fault {
        Fault {
            code,
            message: message.into(),
            hints: Vec::new(),
            line: 0,
            column: 0,
            aim: Aim::Place,
            argument: None,
            chain: Vec::new(),
            taken: Vec::new(),
        }
    }

    pub fn hint(mut self, hint: impl Into<String>) -> Fault {
        self.hints.push(hint.into());
        self
    }

    /// With near misses among the known names as a hint.
    pub fn near<'a>(mut self, name: &str, known: impl Iterator<Item = &'a str>) -> Fault {
        self.hints.extend(did_you_mean(name, known));
        self
    }

    /// At a line and column of the common numbering.
    pub fn on(mut self, line: usize, column: usize) -> Fault {
        self.line = line;
        self.column = column;
        self
    }

    pub fn aim(mut self, aim: Aim) -> Fault {
        self.aim = aim;
        self
    }

    pub fn at(self, position: Position) -> Fault {
        if self.line > 0 {
            return self;
        }
        self.on(position.line().unwrap_or(0), position.position().unwrap_or(0))
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
        let (line, column) = scripts.aim(self.line, self.column, &self.aim);
        let mut finding = Finding::error(self.code, self.message.clone());
        if let Some(place) = scripts.place(line, column) {
            finding = finding.at(place);
        }
        if let Some(excerpt) = scripts.excerpt(line, column) {
            finding = finding.excerpt(excerpt);
        }
        if self.chain.len() > 1 {
            finding = finding.hint(format!("computed for {}", quoted(&self.chain, " -> ")));
        }
        if !self.taken.is_empty() {
            let one = self.taken.len() == 1;
            let (shown, more) = self.taken.split_at(self.taken.len().min(MOST_TAKEN));
            let more =
                if more.is_empty() { String::new() } else { format!(" and {} more", more.len()) };
            finding = finding.hint(format!(
                "{}{more} {} an error for it too",
                quoted(shown, ", "),
                if one { "is" } else { "are each" },
            ));
        }
        finding.hints.extend(self.hints.iter().cloned());
        finding
    }
}

/// How many of the columns that are errors too a hint names.
const MOST_TAKEN: usize = 6;

fn quoted(names: &[String], between: &str) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(between)
}

/// A value refused by a built-in, as a fault whose mark points at the argument.
pub fn refused(function: &str, parameters: &[&str], refusal: &Refusal) -> Fault {
    let mut fault = Fault::new("bad-argument", format!("in `{function}`: {refusal}"));
    fault.argument = refusal.argument.rsplit('.').next().map(str::to_owned);
    let ends = |sign: char| sign == '.' || sign == '[';
    let name = refusal.argument.split(ends).next().unwrap_or("");
    let field = refusal.argument.split_once('.').and_then(|(_, rest)| rest.split(ends).next());
    if refusal.is_missing()
        && name == "deck"
        && let Some(heading) = field.and_then(heading_of_deck)
    {
        let hint =
            format!("a deck of the schedule has it from `{heading}`, stated in Types or Bays");
        fault = fault.hint(hint);
    }
    match parameters.iter().position(|parameter| *parameter == name) {
        Some(at) => fault.aim(Aim::Argument(at, field.map(str::to_owned))),
        // A built-in with one record calls it as it likes: `strip.cover_in`.
        None if parameters.len() == 1 => fault.aim(Aim::Argument(0, field.map(str::to_owned))),
        None => fault,
    }
}

/// The finding of a fault in one script as a whole.
pub fn script_finding(fault: &Fault, scripts: &Scripts, name: &Arc<str>) -> Finding {
    let finding = fault.finding(scripts);
    if finding.places.is_empty() { finding.at(Place::File(name.clone())) } else { finding }
}
