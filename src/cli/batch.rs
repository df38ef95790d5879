//! `batch`: many schedules at once, by workers; and the worker's side of it.

use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::time::Duration;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;

use super::form::{self, Forms};
use super::run::{defined, takeoff};
use super::say::{self, Say};
use super::{Common, End, interrupt};
use crate::batch::{self, Entry, Journal, Reply, Row, Shard, Status, Summary, Task};
use crate::catalogue;
use crate::finding::{Finding, Place};
use crate::parallel;
use crate::rules;
use crate::table::Report;
use crate::workbook::{self, WriteOptions};

/// Reads many schedules and writes their takeoff workbooks and a summary into one folder.
///
/// PATHS are schedules, folders with schedules in and below them, and patterns such as
/// `jobs/**/*.xlsx`. A schedule that can not be read costs its own line. An interrupt finishes the
/// schedules in hand; the same command with `--changed` goes on from there, and later takes only
/// what is new or changed.
#[derive(Args)]
#[allow(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
#[command(after_long_help = include_str!("../../templates/batch.md"))]
pub struct Batch {
    /// Schedules, folders and patterns
    #[arg(required_unless_present_any = ["merge", "worker"])]
    paths: Vec<PathBuf>,
    /// The folder to write into
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Leave out schedules whose outputs are up to date
    #[arg(long)]
    changed: bool,
    /// Take every N-th schedule from the I-th on, as one of N machines
    #[arg(long, value_name = "I/N")]
    shard: Option<Shard>,
    /// Merge the summaries of all shards in the folder, computing nothing
    #[arg(long, conflicts_with_all = ["changed", "shard", "paths"])]
    merge: bool,
    /// Write over files that this program did not write
    #[arg(long)]
    replace: bool,
    /// Fill order forms too, into a folder a schedule
    #[arg(long)]
    forms: bool,
    /// The shop's own form, with {job} and {line.count} and the like in its cells
    #[arg(long, value_name = "F", requires = "forms")]
    form: Option<PathBuf>,
    /// The column of the order by which the lines are parted, a form each
    #[arg(long, value_name = "KEY", default_value = form::BY, requires = "forms")]
    by: String,
    /// Answer on standard output for each line of standard input
    #[arg(long, hide = true)]
    worker: bool,
}

impl Batch {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        if self.worker {
            return self.work(common);
        }
        let summary = if self.merge {
            batch::merged(&self.output).map_err(|finding| vec![finding])
        } else {
            interrupt::finish_first();
            self.compute(common, say)
        };
        match summary.and_then(|summary| self.write(&summary).map(|()| summary)) {
            Ok(summary) => {
                tell(&summary, &self.output, say);
                let all_done =
                    summary.left == 0 && summary.count(Status::Done) == summary.rows.len();
                let made = summary.count(Status::Done) + summary.count(Status::Incomplete);
                match (all_done, made + summary.left) {
                    (true, _) => End::Done,
                    (false, 0) => End::Failed,
                    (false, _) => End::Incomplete,
                }
            }
            Err(findings) => {
                say.failed("batch", &findings);
                End::Failed
            }
        }
    }

    fn compute(&self, common: &Common, say: &Say) -> Result<Summary, Vec<Finding>> {
        super::make_folder(&self.output).map_err(|error| vec![unwritten(&self.output, &error)])?;
        // What is wrong with the shop or its form is said once, not by every schedule.
        defined(common)?;
        self.open_forms()?;
        let found = batch::expand(&self.paths, &self.output);
        if found.files.is_empty() {
            let none = Finding::error("no-schedules", "there is no schedule to compute");
            return Err([found.findings, vec![none]].concat());
        }
        say.findings(&found.findings);
        let names = batch::output_names(&found.files);
        let mut tasks: Vec<Task> = found
            .files
            .into_iter()
            .zip(&names)
            .enumerate()
            .filter(|(at, _)| self.shard.is_none_or(|shard| shard.takes(*at)))
            .map(|(at, (schedule, names))| Task {
                at,
                schedule,
                output: self.output.join(&names.takeoff),
                forms: self.output.join(&names.forms),
                earlier: Vec::new(),
            })
            .collect();
        let all = tasks.len();
        let rules = self.rules_hash(common);
        let mut known = Journal::read_all(&self.output);
        let mut rows = Vec::new();
        if self.changed {
            tasks.retain(|task| {
                let entry = known.entries.get_mut(&shown(&task.schedule));
                let held = entry.filter(|entry| entry.rules == rules && self.holds(entry, task));
                held.map(|entry| {
                    entry.row.number = task.at + 1;
                    rows.push(entry.row.clone());
                })
                .is_none()
            });
        }
        for task in &mut tasks {
            task.earlier = unchanged(&task.forms, &known.forms);
        }
        // A part keeps its own schedules' entries: the others are other parts'.
        if self.shard.is_some() {
            let own: HashSet<String> = tasks
                .iter()
                .map(|task| shown(&task.schedule))
                .chain(rows.iter().map(|row: &Row| row.file.clone()))
                .collect();
            known.entries.retain(|file, _| own.contains(file));
        }
        let not = |error: io::Error| vec![unwritten(&self.output, &error)];
        let mut journal = Journal::begin(&self.output, self.shard, &known).map_err(not)?;
        if !rows.is_empty() {
            say.line(&format!("{} of {all} schedules are up to date", rows.len()));
        }
        let mut times = BTreeMap::new();
        let progress = Progress::new(all, rows.len(), say);
        batch::run(&tasks, workers(common), &worker, &interrupt::came_yet, |ended| {
            let Some(task) = tasks.get(ended.task) else { return };
            let row = Row {
                number: task.at + 1,
                file: shown(&task.schedule),
                output: file_name(&task.output),
                reply: with_stale(ended.reply, &task.output),
            };
            if row.reply.status != Status::Failed {
                let earlier = known.entries.get(&row.file).map(|entry| entry.forms.clone());
                let forms = row.reply.forms.iter();
                let entry = Entry {
                    rules: rules.clone(),
                    output: file_hash(&task.output),
                    forms: if self.forms {
                        forms.map(|name| (name.clone(), self.hash(name))).collect()
                    } else {
                        earlier.unwrap_or_default()
                    },
                    row: row.clone(),
                };
                // A journal that can not be written costs the going on, not the batch.
                let _ = journal.add(&entry);
            }
            // What was told is in the journal.
            progress.step(&row, ended.took);
            times.insert(row.file.clone(), ended.took.as_secs_f64());
            rows.push(row);
        });
        progress.end();
        self.write_times(&times)?;
        let left = all - rows.len();
        Ok(Summary::new(self.shard, rows, left))
    }

    /// The summary as JSON and as a workbook.
    fn write(&self, summary: &Summary) -> Result<(), Vec<Finding>> {
        let [json, book] = summary.names().map(|name| self.output.join(name));
        let mut all = say::head("batch");
        say::append(&mut all, summary.json());
        put(&json, &all)?;
        workbook::write(
            &summary.report(),
            &book,
            &WriteOptions { replace: self.replace, ..WriteOptions::default() },
        )
        .map_err(|not| vec![not.finding()])?;
        Ok(())
    }

    /// Seconds by schedule, apart from all that is the same from run to run.
    fn write_times(&self, times: &BTreeMap<String, f64>) -> Result<(), Vec<Finding>> {
        let part = self.shard.map(|shard| format!("-{shard}")).unwrap_or_default();
        put(&self.output.join(format!("batch-times{part}.json")), &json!({ "seconds": times }))
    }

    /// The worker's side: a task a line in, a reply a line out, until there are no more.
    fn work(&self, common: &Common) -> End {
        interrupt::finish_first();
        let Ok(forms) = self.open_forms() else { return End::Failed };
        std::panic::set_hook(Box::new(|_| {}));
        let mut common = common.clone();
        common.threads = Some(NonZeroUsize::MIN);
        let answered = rules::many(|| self.answer(forms.as_ref(), &common));
        answered.map_or(End::Failed, |()| End::Done)
    }

    fn answer(&self, forms: Option<&Forms>, common: &Common) {
        for line in io::stdin().lock().lines().map_while(Result::ok) {
            let Ok(task) = serde_json::from_str::<Task>(&line) else { break };
            let reply = catch_unwind(AssertUnwindSafe(|| self.one(&task, forms, common)))
                .unwrap_or_else(|_| Reply::died("an internal fault"));
            let Ok(answer) = serde_json::to_string(&reply) else { break };
            let mut out = io::stdout().lock();
            if writeln!(out, "{answer}").and_then(|()| out.flush()).is_err() {
                break;
            }
        }
    }

    fn one(&self, task: &Task, forms: Option<&Forms>, common: &Common) -> Reply {
        let mut report = match takeoff(&task.schedule, common) {
            Ok(report) => report,
            Err(findings) => return Reply::failed(&findings),
        };
        let options = WriteOptions {
            inputs: vec![task.schedule.clone()],
            replace: self.replace,
            threads: common.threads,
            one_of_many: true,
        };
        match workbook::write(&report, &task.output, &options) {
            Ok(written) => {
                report.findings.extend(written.findings);
                let Some(forms) = forms else { return Reply::written(&report) };
                match self.fill(task, forms, &mut report) {
                    Ok(forms) => Reply { forms, ..Reply::written(&report) },
                    Err(findings) => Reply::without_forms(&mut report, findings),
                }
            }
            Err(not) => Reply::failed(&[not.finding()]),
        }
    }

    /// Fills the forms of a schedule; gives their names in the folder of outputs. Those of an
    /// earlier batch go, filled anew or not: what stands is of this takeoff.
    fn fill(
        &self,
        task: &Task,
        forms: &Forms,
        report: &mut Report,
    ) -> Result<Vec<String>, Vec<Finding>> {
        let filled = forms.fill(report);
        let all = filled.iter().flat_map(|(filled, _)| filled);
        let names: HashSet<&str> = all.map(|form| form.name.as_str()).collect();
        for gone in task.earlier.iter().filter(|name| !names.contains(name.as_str())) {
            let path = task.forms.join(gone);
            fs::remove_file(&path).map_err(|error| vec![unwritten(&path, &error)])?;
        }
        // It goes where nothing is in it.
        let _ = fs::remove_dir(&task.forms);
        let (filled, findings) = filled?;
        let is_same = |name: &str| {
            let form = filled.iter().find(|form| form.name == name);
            let there = fs::read(task.forms.join(name)).ok();
            form.zip(there).is_some_and(|(form, there)| form.bytes == there)
        };
        let may_replace = |name: &str| {
            self.replace || task.earlier.iter().any(|ours| ours == name) || is_same(name)
        };
        form::write(&filled, &task.forms, &may_replace)?;
        report.findings.extend(findings);
        let folder = file_name(&task.forms);
        Ok(filled.iter().map(|form| format!("{folder}/{}", form.name)).collect())
    }

    fn open_forms(&self) -> Result<Option<Forms>, Vec<Finding>> {
        self.forms.then(|| Forms::open(self.form.as_deref(), &self.by)).transpose()
    }

    /// The hash of a file in the folder of outputs.
    fn hash(&self, name: &str) -> String {
        file_hash(&self.output.join(name))
    }

    /// Whether outputs are what their schedule gave, all unchanged since.
    fn holds(&self, entry: &Entry, task: &Task) -> bool {
        entry.row.output == file_name(&task.output)
            && entry.row.reply.schedule_sha256 == Some(file_hash(&task.schedule))
            && entry.output == file_hash(&task.output)
            && (!self.forms || self.forms_hold(entry))
    }

    /// Whether the forms are as they were filled. Where none was, the schedule may have nothing to
    /// order; an error may have stood in the way, and may be gone.
    fn forms_hold(&self, entry: &Entry) -> bool {
        let were_filled = !entry.forms.is_empty() || entry.row.reply.status == Status::Done;
        were_filled && entry.forms.iter().all(|(name, hash)| *hash == self.hash(name))
    }

    /// The hash of all that rules an output but the schedule: the program, its scripts and
    /// catalogue, the shop's files, the form, the options.
    fn rules_hash(&self, common: &Common) -> String {
        let mut all = Vec::new();
        let mut add = |bytes: &[u8]| all.push(batch::hash(bytes));
        add(&std::env::current_exe().and_then(fs::read).unwrap_or_default());
        add(catalogue::BUNDLED.as_bytes());
        for (_, text) in rules::BUNDLED {
            add(text.as_bytes());
        }
        let shop = common.shop.as_deref().map(fs::read_dir);
        let mut files: Vec<PathBuf> = shop
            .and_then(Result::ok)
            .into_iter()
            .flatten()
            .flatten()
            .map(|entry| entry.path())
            .collect();
        files.sort();
        for file in files.iter().filter(|file| file.is_file()) {
            add(file_name(file).as_bytes());
            add(&fs::read(file).unwrap_or_default());
        }
        if self.forms {
            add(self.by.as_bytes());
            add(&form::bytes(self.form.as_deref()).unwrap_or_default());
        }
        let options = (
            common.ignore_schedule_rules,
            common.script_seconds,
            common.script_steps,
            common.script_memory,
        );
        add(format!("{options:?}").as_bytes());
        batch::hash(all.concat().as_bytes())
    }
}

/// The files of a folder whose bytes have one of these hashes.
fn unchanged(folder: &Path, hashes: &HashSet<String>) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| hashes.contains(&file_hash(&entry.path())))
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// A setting of the allocator. Between schedules a worker gives memory back and takes it again: in small
/// pages the system clears no more than is used, and a worker keeps half as much.
const SMALL_PAGES: (&str, &str) = ("MIMALLOC_ALLOW_THP", "0");

/// The same command as a worker.
fn worker() -> io::Result<Command> {
    let mut command = Command::new(std::env::current_exe()?);
    command.args(std::env::args_os().skip(1)).arg("--worker");
    let (name, value) = SMALL_PAGES;
    if std::env::var_os(name).is_none() {
        command.env(name, value);
    }
    Ok(command)
}

fn workers(common: &Common) -> NonZeroUsize {
    common.threads.unwrap_or_else(parallel::cores)
}

fn shown(path: &Path) -> String {
    path.display().to_string().replace('\\', "/")
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn file_hash(path: &Path) -> String {
    fs::read(path).map(|bytes| batch::hash(&bytes)).unwrap_or_default()
}

/// Says that what stands in the folder is not of this run.
fn with_stale(mut reply: Reply, output: &Path) -> Reply {
    if reply.status == Status::Failed && output.exists() {
        let message = reply.message.unwrap_or_default();
        reply.message = Some(format!("{message}; an earlier takeoff stands"));
    }
    reply
}

fn unwritten(path: &Path, error: &io::Error) -> Finding {
    Finding::error("not-written", format!("`{}` was not written: {error}", path.display()))
        .at(Place::File(Arc::from(path.display().to_string())))
}

/// Writes JSON, whole or not at all.
fn put(path: &Path, json: &serde_json::Value) -> Result<(), Vec<Finding>> {
    let text = serde_json::to_string_pretty(json).unwrap_or_default();
    workbook::put(path, &(text + "\n")).map_err(|error| vec![unwritten(path, &error)])
}

fn tell(summary: &Summary, folder: &Path, say: &Say) {
    let mut parts: Vec<String> = [Status::Done, Status::Incomplete, Status::Failed]
        .into_iter()
        .map(|status| (summary.count(status), status.word()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    if summary.left > 0 {
        parts.push(format!("{} left undone: go on with `--changed`", summary.left));
    }
    say.line(&parts.join(", "));
    let [_, book] = summary.names();
    say.line(&format!("wrote {}", folder.join(book).display()));
    say.result("batch", &summary.findings(), || summary.json());
}

/// How far the batch is: a bar on a terminal, a line a schedule elsewhere.
struct Progress<'a> {
    say: &'a Say,
    bar: Option<ProgressBar>,
    done: std::cell::Cell<usize>,
    all: usize,
}

impl Progress<'_> {
    fn new(all: usize, done: usize, say: &Say) -> Progress<'_> {
        let bar = (say.shows_progress() && io::stderr().is_terminal()).then(|| {
            let bar = ProgressBar::new(u64::try_from(all).unwrap_or(u64::MAX));
            let style = ProgressStyle::with_template("{bar:40} {pos}/{len} {wide_msg} {eta} left");
            bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
            bar.set_position(u64::try_from(done).unwrap_or(0));
            bar
        });
        Progress { say, bar, done: std::cell::Cell::new(done), all }
    }

    fn step(&self, row: &Row, took: Duration) {
        self.done.set(self.done.get() + 1);
        let line = format!(
            "{}/{} {} ({:.2} s)",
            self.done.get(),
            self.all,
            row_line(row),
            took.as_secs_f64()
        );
        match &self.bar {
            Some(bar) => {
                if row.reply.status != Status::Done {
                    bar.println(line);
                }
                bar.set_message(row.file.clone());
                bar.inc(1);
            }
            None => self.say.line(&line),
        }
    }

    fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// `jobs/north.xlsx: 714 panels, 118,401 lb, 774.50 yd3, 2 warnings`.
fn row_line(row: &Row) -> String {
    let reply = &row.reply;
    let mut parts = Vec::new();
    if reply.status == Status::Failed {
        parts.push(format!("failed: {}", reply.message.as_deref().unwrap_or_default()));
    } else {
        let figure = |number: Option<f64>, decimals, unit: &str| match number {
            Some(number) => {
                format!("{} {unit}", crate::text::fixed(number, decimals).unwrap_or_default())
            }
            None => format!("#error {unit}"),
        };
        #[allow(clippy::cast_precision_loss, reason = "panels are far fewer")]
        let panels = reply.panels.map(|panels| panels as f64);
        parts.extend([
            figure(panels, 0, "panels"),
            figure(reply.deck_lb, 0, "lb"),
            figure(reply.order_yd3, 2, "yd3"),
        ]);
        if !reply.forms.is_empty() {
            let plural = if reply.forms.len() == 1 { "" } else { "s" };
            parts.push(format!("{} form{plural}", reply.forms.len()));
        }
        let found = [(reply.errors, "error"), (reply.warnings, "warning")];
        parts.extend(
            found.iter().filter(|(count, _)| *count > 0).map(|(count, word)| {
                format!("{count} {word}{}", if *count == 1 { "" } else { "s" })
            }),
        );
        if reply.status == Status::Incomplete {
            parts.push(format!("incomplete: {}", reply.message.as_deref().unwrap_or_default()));
        }
    }
    format!("{}: {}", row.file, parts.join(", "))
}
