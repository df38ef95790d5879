//! The command line: what a user types, what the program answers, and its exit codes.
//!
//! 0: done. 1: done with errors in findings; the output is written and marked incomplete.
//! 2: could not be done; nothing was written.

mod batch;
mod calc;
mod compare;
mod csv;
mod explain;
mod form;
mod interrupt;
mod load;
mod new;
mod plans;
mod prompt;
mod reading;
mod reference;
mod run;
mod say;
mod spans;
mod test;
mod watch;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use crate::rules::Bounds;
use crate::schedule::{Limit, Setting};
use say::{Color, Say};

/// Turns a steel-deck bay schedule into a takeoff, order lines and a pour schedule.
///
/// The rules are scripts that the shop edits. Exit codes: 0 done; 1 done with errors in findings,
/// the output is marked incomplete; 2 could not be done, nothing written.
#[derive(Parser)]
#[command(name = "baytally", version, disable_help_subcommand = true)]
struct CommandLine {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

/// Options of every command.
#[derive(Args, Clone)]
struct Common {
    /// The shop's folder: its rules, columns, tables, catalogue and heading aliases
    #[arg(long, global = true, value_name = "DIR")]
    shop: Option<PathBuf>,
    /// Print the result and the findings as JSON on standard output
    #[arg(long, global = true)]
    json: bool,
    /// Print errors only
    #[arg(long, short, global = true)]
    quiet: bool,
    /// When to color
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    color: Color,
    /// Threads to compute on; all cores where not given
    #[arg(long, global = true, value_name = "N")]
    threads: Option<std::num::NonZeroUsize>,
    /// Leave out rules and columns that are typed in the schedule
    #[arg(long, global = true)]
    ignore_schedule_rules: bool,
    #[arg(long = "limit", global = true, value_name = "NAME=N", help = limit_help())]
    limits: Vec<Setting>,
    /// Seconds that scripts may take for one schedule
    #[arg(long, global = true, value_name = "S", default_value_t = Bounds::default().seconds)]
    script_seconds: u64,
    /// Steps that scripts may take for one cell
    #[arg(long, global = true, value_name = "N", default_value_t = Bounds::default().steps_a_cell)]
    script_steps: u64,
    /// Memory that scripts may take, MB, beside what the job itself takes
    #[arg(long, global = true, value_name = "MB", default_value_t = Bounds::default().memory_mb)]
    script_memory: u64,
}

/// Makes a folder and those above it.
fn make_folder(folder: &std::path::Path) -> std::io::Result<()> {
    if folder.exists() && !folder.is_dir() {
        return Err(std::io::Error::other("what stands there is no folder"));
    }
    std::fs::create_dir_all(folder)
}

fn limit_help() -> String {
    format!("Set a limit of reading workbooks; by default {}", Limit::list())
}

#[derive(Subcommand)]
enum Command {
    /// Write a starter folder: a blank schedule, a shop with rules to edit
    New(new::New),
    /// Read a schedule and print the findings, writing nothing
    Check(run::Check),
    /// Read a schedule and write its takeoff workbook
    Run(run::Run),
    /// Read many schedules and write their takeoff workbooks and a summary
    Batch(batch::Batch),
    /// Run again whenever the schedule or the shop's files are saved
    Watch(watch::Watch),
    /// Fill order forms from the lines of the order
    Form(form::Form),
    /// Say what a revision adds, removes and changes
    Compare(compare::Compare),
    /// Tell how a figure came about, down to the cells of the schedule
    Explain(explain::Explain),
    /// Run the tests of a shop's scripts
    Test(test::Test),
    /// Print what scripts have and what is in force
    Reference(reference::Reference),
    /// Evaluate an expression with the built-ins and rules
    Calc(calc::Calc),
}

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Done,
    /// Done, with errors in findings.
    Incomplete,
    /// Nothing written.
    Failed,
}

impl From<End> for ExitCode {
    fn from(end: End) -> ExitCode {
        ExitCode::from(match end {
            End::Done => 0,
            End::Incomplete => 1,
            End::Failed => 2,
        })
    }
}

/// Reads the command line and does what it says.
#[must_use]
pub fn main() -> ExitCode {
    let line = match CommandLine::try_parse() {
        Ok(line) => line,
        Err(error) => {
            // A closed pipe is no reason to fail.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    interrupt::install();
    let CommandLine { common, command } = line;
    let say = Say::new(common.json, common.quiet, common.color);
    let end = match command {
        Command::New(new) => new.run(&common, &say),
        Command::Check(check) => check.run(&common, &say),
        Command::Run(run) => run.run(&common, &say),
        Command::Batch(batch) => batch.run(&common, &say),
        Command::Watch(watch) => watch.run(&common, &say),
        Command::Form(form) => form.run(&common, &say),
        Command::Compare(compare) => compare.run(&common, &say),
        Command::Explain(explain) => explain.run(&common, &say),
        Command::Test(test) => test.run(&common, &say),
        Command::Reference(reference) => reference.run(&common, &say),
        Command::Calc(calc) => calc.run(&common, &say),
    };
    end.into()
}
