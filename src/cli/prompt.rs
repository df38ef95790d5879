//! The prompt of `calc`: a line in, its value out, with history and names completed.

use std::borrow::Cow;
use std::io::{BufRead, IsTerminal};
use std::path::PathBuf;

use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::DefaultHistory;
use rustyline::validate::Validator;
use rustyline::{Context, Editor, Helper};

use super::calc::shown;
use super::say::Say;
use crate::finding::Finding;
use crate::rules::Calculator;

/// How many lines are remembered.
const REMEMBERED: usize = 1_000;

/// Answers line by line until there are no more; whether each had an answer.
pub fn answer_lines(calculator: &mut Calculator, say: &Say) -> bool {
    if !std::io::stdin().is_terminal() {
        let mut all = true;
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            all &= answer(calculator, line.trim(), say);
        }
        return all;
    }
    if let Err(error) = at_terminal(calculator, say) {
        let message = format!("the terminal gives no lines: {error}");
        say.findings(&[Finding::error("no-terminal", message)]);
        return false;
    }
    true
}

fn at_terminal(calculator: &mut Calculator, say: &Say) -> Result<(), ReadlineError> {
    let config = rustyline::Config::builder().max_history_size(REMEMBERED)?.auto_add_history(true);
    let mut editor: Editor<Names, DefaultHistory> = Editor::with_config(config.build())?;
    let history = history_file();
    if let Some(file) = &history {
        // A first time has none.
        let _ = editor.load_history(file);
    }
    say.line("An expression, `name = expression`, `? name` for what a function does; Ctrl-D ends.");
    loop {
        editor.set_helper(Some(Names(calculator.names())));
        match editor.readline("> ") {
            Ok(line) => {
                answer(calculator, line.trim(), say);
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => break,
            Err(error) => return Err(error),
        }
    }
    if let Some(file) = &history {
        // A history that can not be kept is no reason to fail.
        let _ = file.parent().map(std::fs::create_dir_all);
        let _ = editor.save_history(file);
    }
    Ok(())
}

fn answer(calculator: &mut Calculator, line: &str, say: &Say) -> bool {
    if line.is_empty() {
        return true;
    }
    if let Some(name) = line.strip_prefix('?') {
        let name = name.trim();
        let about = calculator.about(name);
        say.always(about.as_deref().unwrap_or("nothing is called so"));
        return about.is_some();
    }
    match calculator.calculate(line) {
        Ok(value) => say.always(&shown(&value)),
        Err(findings) => {
            say.findings(&findings);
            return false;
        }
    }
    true
}

/// Where lines are remembered from one time to the next: the user's folder for such state.
fn history_file() -> Option<PathBuf> {
    let folder =
        |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let state = folder("XDG_STATE_HOME")
        .or_else(|| folder("LOCALAPPDATA"))
        .or_else(|| folder("HOME").map(|home| home.join(".local/state")))?;
    Some(state.join("baytally/calc-history"))
}

/// Completes names.
struct Names(Vec<String>);

impl Completer for Names {
    type Candidate = String;

    fn complete(
        &self,
        line: &str,
        at: usize,
        _: &Context<'_>,
    ) -> rustyline::Result<(usize, Vec<String>)> {
        let before = line.get(..at).unwrap_or("");
        let is_name = |sign: char| sign.is_ascii_alphanumeric() || matches!(sign, '_' | ':');
        let from = before.rfind(|sign| !is_name(sign)).map_or(0, |at| at + 1);
        let begun = &before[from..];
        let known = self.0.iter().filter(|name| !begun.is_empty() && name.starts_with(begun));
        Ok((from, known.cloned().collect()))
    }
}

impl Hinter for Names {
    type Hint = String;
}

impl Highlighter for Names {
    fn highlight_prompt<'b, 's: 'b, 'p: 'b>(&'s self, prompt: &'p str, _: bool) -> Cow<'b, str> {
        Cow::Borrowed(prompt)
    }
}

impl Validator for Names {}

impl Helper for Names {}
