//! Computes tables in the order of need, rows in parallel, order kept.

use std::num::NonZeroUsize;
use std::ops::Range;
use std::rc::Rc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

use indexmap::IndexMap;

use super::bridge::rows_from_script;
use super::define::{ColumnDraft, Function, TableDraft};
use super::fault::{Fault, Limit, Stop};
use super::host::{Host, HostOptions};
use super::item::{Base, Frozen};
use super::row::{LiveTable, Row};
use super::world::{Bounds, STACK, error_value};
use crate::finding::{Finding, Place, Severity, gather};
use crate::table::{Column, Table};
use crate::value::Value;

/// Tables with fewer rows are computed on one thread.
const WORTH_SHARING: usize = 2_000;
/// Rows that a thread takes at a time.
const SHARE: usize = 1_024;

/// Why a run ended without a report.
#[derive(Clone, Debug)]
pub enum Ended {
    /// What the scripts' load found.
    Findings(Vec<Finding>),
    UsedUp(Limit),
}

impl Ended {
    /// Why, as findings.
    #[must_use]
    pub fn findings(self, bounds: &Bounds) -> Vec<Finding> {
        match self {
            Ended::Findings(findings) => gather(findings),
            Ended::UsedUp(Limit::Time) => {
                let message = format!("the scripts took more than {} seconds", bounds.seconds);
                let finding = Finding::error("time-is-up", message);
                vec![finding.hint("an endless loop? `--script-seconds` gives them more time")]
            }
            Ended::UsedUp(Limit::Memory) => {
                let message =
                    format!("the scripts took more than {} MB of memory", bounds.memory_mb);
                let finding = Finding::error("memory-is-up", message);
                vec![
                    finding.hint(
                        "lists in lists, or texts that grow? `--script-memory` gives them more",
                    ),
                ]
            }
        }
    }
}

/// All tables in the order of their definition, and what went wrong in them.
pub struct Computed {
    pub tables: Vec<Arc<Frozen>>,
    pub findings: Vec<Finding>,
}

/// Computes every table, on so many threads; other threads load the host's scripts with the options.
pub fn all_tables(
    host: &Host,
    options: HostOptions,
    threads: NonZeroUsize,
) -> Result<Computed, Ended> {
    let mut run = Run { host, options, threads, stack: Vec::new(), findings: Vec::new() };
    let keys: Vec<Arc<str>> = host.drafts.tables.keys().cloned().collect();
    let mut tables = Vec::with_capacity(keys.len());
    for key in keys {
        tables.push(run.table(&key)?);
    }
    let mut findings = run.findings;
    findings.extend(untold(&tables, &findings));
    Ok(Computed { tables, findings })
}

/// An error cell is never without an error among the findings, whatever went wrong.
fn untold(tables: &[Arc<Frozen>], findings: &[Finding]) -> Option<Finding> {
    if findings.iter().any(|finding| finding.severity == Severity::Error) {
        return None;
    }
    tables.iter().find_map(|frozen| {
        let table = &frozen.table;
        let at = table.cells.iter().position(|cell| matches!(cell, Value::Error(_)))?;
        let (row, column) = (at / table.columns.len(), at % table.columns.len());
        let finding = Finding::error("error-cell", table.cells[at].to_string());
        Some(finding.at(Place::Table {
            table: table.key.clone(),
            row: u32::try_from(row).unwrap_or(u32::MAX),
            column: table.columns[column].key.clone(),
            about: Arc::from(""),
        }))
    })
}

struct Run<'a> {
    host: &'a Host,
    options: HostOptions,
    threads: NonZeroUsize,
    /// Tables being made, outermost first.
    stack: Vec<Arc<str>>,
    findings: Vec<Finding>,
}

/// The cells of some rows, with the faults that began in them.
#[derive(Default)]
struct Cells {
    cells: Vec<Value>,
    faults: Vec<(usize, usize, Arc<Fault>)>,
    /// The first row that needs a table not made yet.
    need: Option<(usize, Arc<str>)>,
    used_up: Option<Limit>,
}

impl Run<'_> {
    /// A finished table; made now if it is not.
    fn table(&mut self, key: &Arc<str>) -> Result<Arc<Frozen>, Ended> {
        if let Some(frozen) = self.host.world.frozen.borrow().get(key) {
            return Ok(frozen.clone());
        }
        self.stack.push(key.clone());
        let made = self.make(key);
        self.stack.pop();
        let frozen = Arc::new(made?);
        self.host.world.frozen.borrow_mut().insert(key.clone(), frozen.clone());
        Ok(frozen)
    }

    /// Makes a table, beginning again whenever it needs another that is not made yet.
    fn make(&mut self, key: &Arc<str>) -> Result<Frozen, Ended> {
        let draft = &self.host.drafts.tables[key];
        loop {
            match self.attempt(draft)? {
                Ok(frozen) => return Ok(frozen),
                Err(needed) => {
                    if let Some(ring) = self.ring(&needed) {
                        return Ok(self.broken(draft, &ring));
                    }
                    self.table(&needed)?;
                }
            }
        }
    }

    /// The ring that a needed table would close: `order -> bundles -> order`.
    fn ring(&self, needed: &Arc<str>) -> Option<String> {
        let at = self.stack.iter().position(|key| key == needed)?;
        let mut ring: Vec<&str> = self.stack[at..].iter().map(|key| &**key).collect();
        ring.push(needed);
        Some(ring.join(" -> "))
    }

    /// A table that can not be made: no rows, and a finding.
    fn broken(&mut self, draft: &TableDraft, ring: &str) -> Frozen {
        let fault = Fault::new("table-ring", format!("tables read each other in a ring: {ring}"))
            .hint("one of them must be made without the others");
        let fault = match &draft.rows {
            Some(rows) => fault.on(rows.line, rows.column),
            None => fault,
        };
        self.findings.push(self.host.finding(&fault));
        self.frozen(draft, Arc::from([]), Vec::new())
    }

    fn attempt(&mut self, draft: &TableDraft) -> Result<Result<Frozen, Arc<str>>, Ended> {
        let bases = match self.bases(draft) {
            Ok(bases) => bases,
            Err(Stop::Need(table)) => return Ok(Err(table)),
            Err(Stop::UsedUp(limit)) => return Err(Ended::UsedUp(limit)),
            Err(stop @ (Stop::Fault(_) | Stop::Carried(_))) => {
                self.tell_no_rows(draft, &stop);
                Arc::from([])
            }
        };
        let cells = self.cells(draft, &bases);
        if let Some(limit) = cells.used_up {
            return Err(Ended::UsedUp(limit));
        }
        if let Some((_, table)) = cells.need {
            return Ok(Err(table));
        }
        self.tell(draft, &bases, &cells.faults);
        Ok(Ok(self.frozen(draft, bases, cells.cells)))
    }

    /// A table whose rows can not be made is empty, and that is said.
    fn tell_no_rows(&mut self, draft: &TableDraft, stop: &Stop) {
        let empty = format!("the table `{}` is empty until that is mended", draft.key);
        let fault = match stop {
            Stop::Fault(fault) => Fault::clone(fault),
            Stop::Carried(fault) => Fault {
                code: "table-not-made",
                message: format!("the rows of `{}` can not be made: {}", draft.key, fault.message),
                ..Fault::clone(fault)
            },
            Stop::Need(_) | Stop::UsedUp(_) => return,
        };
        let fault = match &draft.rows {
            Some(rows) if fault.line == 0 => {
                Fault { aim: rows.aim(), ..fault.on(rows.line, rows.column) }
            }
            _ => fault,
        };
        self.findings.push(self.host.finding(&fault.hint(empty)));
    }

    /// The rows that a table stands on.
    fn bases(&self, draft: &TableDraft) -> Result<Arc<[Base]>, Stop> {
        let Some(rows) = &draft.rows else { return Ok(Arc::from([])) };
        let not_rows = |function: &Function, not: super::bridge::NotPlain| {
            let message = format!("the rows of `{}` are {}", draft.key, not.0);
            Stop::Fault(Arc::new(function.fault("no-rows", message)))
        };
        let given = self.host.rows(rows)?;
        let bases = rows_from_script(&given).map_err(|not| not_rows(rows, not))?;
        let Some(split) = &draft.split else { return Ok(bases) };
        let mut parts = Vec::with_capacity(bases.len());
        let direct = self.host.world.direct(&split.pointer, bases.len());
        for base in bases.iter() {
            let given = self.host.call_on_row(split, direct.as_ref(), base)?;
            let some = rows_from_script(&given).map_err(|not| not_rows(split, not))?;
            parts.extend(some.iter().cloned());
        }
        Ok(parts.into())
    }

    fn cells(&self, draft: &TableDraft, bases: &Arc<[Base]>) -> Cells {
        let Some(live) = self.host.live(&draft.key, bases.len()) else { return Cells::default() };
        let threads = self.threads.get().min(bases.len() / WORTH_SHARING + 1);
        if threads <= 1 {
            return compute(self.host, &live, bases, 0..bases.len());
        }
        let frozen = self.host.world.frozen.borrow().clone();
        let queue = Queue { bases, next: AtomicUsize::new(0), done: Mutex::new(Vec::new()) };
        std::thread::scope(|scope| {
            for _ in 1..threads {
                let (frozen, queue, options, key) = (&frozen, &queue, self.options, &draft.key);
                let (job, scripts) = (&self.host.world.job, &self.host.scripts);
                let work = move || {
                    let Ok(host) = Host::load(job, scripts, options) else {
                        return;
                    };
                    host.world.frozen.borrow_mut().clone_from(frozen);
                    if let Some(live) = host.live(key, queue.bases.len()) {
                        queue.work(&host, &live);
                    }
                };
                // Where the machine gives no thread, the others do its share.
                let _ = std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, work);
            }
            queue.work(self.host, &live);
        });
        let shares = queue.done;
        let mut shares = shares.into_inner().unwrap_or_default();
        shares.sort_by_key(|(from, _)| *from);
        let mut all = Cells {
            cells: Vec::with_capacity(bases.len() * live.columns.len()),
            ..Cells::default()
        };
        for (_, share) in shares {
            all.cells.extend(share.cells);
            all.faults.extend(share.faults);
            all.used_up = all.used_up.or(share.used_up);
            if all.need.is_none() {
                all.need = share.need;
            }
        }
        all
    }

    fn tell(&mut self, draft: &TableDraft, bases: &[Base], faults: &[(usize, usize, Arc<Fault>)]) {
        for (row, column, fault) in faults {
            let about = bases[*row].label(&self.host.world.job).unwrap_or_default();
            let column = draft.columns.get_index(*column).map(|(key, _)| key.clone());
            let finding = self.host.finding(fault).at(Place::Table {
                table: draft.key.clone(),
                row: u32::try_from(*row).unwrap_or(u32::MAX),
                column: column.unwrap_or_default(),
                about: Arc::from(about),
            });
            let cell = fault.argument.as_deref().and_then(|argument| {
                super::checks::typed_cell(&self.host.world.job, &bases[*row], argument)
            });
            self.findings.push(match cell {
                Some(cell) => finding.at(cell),
                None => finding,
            });
        }
    }

    fn frozen(&self, draft: &TableDraft, bases: Arc<[Base]>, mut cells: Vec<Value>) -> Frozen {
        let rows = bases.len();
        let columns: Vec<Column> =
            draft.columns.values().map(|column| finished_column(self.host, column)).collect();
        let width = columns.len();
        for (at, _) in draft.columns.values().enumerate().filter(|(_, column)| column.running) {
            let (mut sum, mut count) = (0.0, Some(0_i64));
            for row in 0..rows {
                let cell = &mut cells[row * width + at];
                let Some(number) = cell.as_number() else { continue };
                sum += number;
                count = match (count, &*cell) {
                    (Some(so_far), Value::Count(more)) => so_far.checked_add(*more),
                    _ => None,
                };
                *cell = count.map_or(Value::Number(sum), Value::Count);
            }
        }
        let positions: IndexMap<Arc<str>, usize> =
            columns.iter().enumerate().map(|(at, column)| (column.key.clone(), at)).collect();
        let table =
            Table { key: draft.key.clone(), title: draft.title.clone(), columns, cells, rows };
        Frozen { table, positions, bases }
    }
}

fn finished_column(host: &Host, column: &ColumnDraft) -> Column {
    Column {
        key: column.key.clone(),
        heading: column.heading.clone(),
        unit: column.unit.clone(),
        total: column.total,
        note: column.note.clone(),
        format: column.format.clone(),
        hidden: column.hidden,
        origin: host
            .scripts
            .place(column.function.line, 0)
            .unwrap_or(Place::File(Arc::from("scripts"))),
    }
}

/// Rows handed out to threads a share at a time.
struct Queue<'a> {
    bases: &'a Arc<[Base]>,
    next: AtomicUsize,
    done: Mutex<Vec<(usize, Cells)>>,
}

impl Queue<'_> {
    /// Takes shares until there are none, or a row needs a table that is not made.
    fn work(&self, host: &Host, live: &Rc<LiveTable>) {
        loop {
            let from = self.next.fetch_add(SHARE, Ordering::Relaxed);
            if from >= self.bases.len() {
                return;
            }
            let rows = from..(from + SHARE).min(self.bases.len());
            let cells = compute(host, live, self.bases, rows);
            let stop = cells.need.is_some() || cells.used_up.is_some();
            if let Ok(mut done) = self.done.lock() {
                done.push((from, cells));
            }
            if stop {
                return;
            }
        }
    }
}

/// Computes the cells of some rows, columns in the order of their declaration.
fn compute(host: &Host, live: &Rc<LiveTable>, bases: &Arc<[Base]>, rows: Range<usize>) -> Cells {
    let width = live.columns.len();
    let mut done = Cells { cells: Vec::with_capacity(rows.len() * width), ..Cells::default() };
    for row in rows {
        let live_row = Row::live(bases[row].clone(), live.clone());
        for column in 0..width {
            match live_row.column(&host.engine, &host.world, column) {
                Ok(value) => done.cells.push(value),
                Err(Stop::Fault(fault) | Stop::Carried(fault)) => {
                    done.cells.push(error_value(&fault));
                }
                Err(Stop::Need(table)) => {
                    done.need = Some((row, table));
                    return done;
                }
                Err(Stop::UsedUp(limit)) => {
                    done.used_up = Some(limit);
                    return done;
                }
            }
        }
        let faults = live_row.faults();
        done.faults.extend(faults.into_iter().map(|(column, fault)| (row, column, fault)));
    }
    done
}
