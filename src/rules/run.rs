//! Computes tables in the order of need, rows in parallel, order kept.

use std::num::NonZeroUsize;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

use super::board::{Board, Outcome, Share, Work};
use super::checks;
use super::define::{ColumnDraft, Function, TableDraft};
use super::fault::{Fault, Limit, Stop};
use super::host::{Host, HostOptions};
use super::item::{Base, Frozen};
use super::laid::laid_out;
use super::live::{LiveRows, LiveTable};
use super::world::{Bounds, STACK};
use crate::cells::Cells;
use crate::finding::{Finding, Place, Severity, gather};
use crate::table::{Column, Table};
use crate::value::Value;

/// Jobs with fewer bays are computed on one thread.
const WORTH_SHARING: usize = 2_000;

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
    /// What went wrong in the tables, then what the checks find.
    pub findings: Vec<Finding>,
}

/// Computes every table, and what the checks find where that is asked for, on so many threads; other
/// threads load the host's scripts with the options.
pub fn all_tables(
    host: &Host,
    options: HostOptions,
    threads: NonZeroUsize,
    with_checks: bool,
) -> Result<Computed, Ended> {
    let checks = if with_checks { host.loaded.drafts.checks.len() } else { 0 };
    let threads = if host.world.job.bays.len() < WORTH_SHARING { 1 } else { threads.get() };
    let board = Board::new(host.loaded.drafts.tables.len(), checks, threads);
    std::thread::scope(|scope| {
        for _ in 1..threads {
            let (job, scripts, board) = (&host.world.job, &host.scripts, &board);
            let work = move || {
                if let Ok(host) = Host::load(job, scripts, options) {
                    Worker::new(&host, board).work();
                }
            };
            // Where the machine gives no thread, the others do its share.
            let _ = std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, work);
        }
        Worker::new(host, &board).work();
    });
    let Outcome { tables, told: mut findings, found } = board.outcome()?;
    let mut known = host.world.frozen.borrow_mut();
    known.extend(tables.iter().map(|frozen| (frozen.table.key.clone(), frozen.clone())));
    findings.extend(untold(&tables, &findings));
    findings.extend(found);
    Ok(Computed { tables, findings })
}

/// An error cell is never without an error among the findings, whatever went wrong.
fn untold(tables: &[Arc<Frozen>], findings: &[Finding]) -> Option<Finding> {
    if findings.iter().any(|finding| finding.severity == Severity::Error) {
        return None;
    }
    tables.iter().find_map(|frozen| {
        let table = &frozen.table;
        let errors = table.cells.places(|cell| matches!(cell, Value::Error(_)));
        let &(row, column) = errors.first()?;
        let finding = Finding::error("error-cell", table.cell(row, column).to_string());
        Some(finding.at(Place::Table {
            table: table.key.clone(),
            row: u32::try_from(row).unwrap_or(u32::MAX),
            column: table.columns[column].key.clone(),
            about: Arc::from(""),
        }))
    })
}

/// One thread of a run: takes work off the board until there is none.
struct Worker<'a> {
    host: &'a Host,
    board: &'a Board,
    /// How many of the tables made are known here.
    known: usize,
    /// The table whose cells were last computed here.
    live: Option<(usize, Rc<LiveTable>)>,
}

impl Drop for Worker<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.board.fail();
        }
    }
}

impl<'a> Worker<'a> {
    fn new(host: &'a Host, board: &'a Board) -> Worker<'a> {
        Worker { host, board, known: 0, live: None }
    }

    fn work(&mut self) {
        while let Some((work, new)) = self.board.take(self.known) {
            self.known += new.len();
            let keyed = new.into_iter().map(|frozen| (frozen.table.key.clone(), frozen));
            self.host.world.frozen.borrow_mut().extend(keyed);
            match work {
                Work::Rows(table) => self.rows(table),
                Work::Cells(table, bases, rows) => self.cells(table, &bases, rows),
                Work::Check(check) => match checks::one(self.host, check) {
                    Ok(findings) => self.board.found(check, findings),
                    Err(limit) => self.board.end(limit),
                },
            }
        }
    }

    fn draft(&self, table: usize) -> &'a TableDraft {
        &self.host.loaded.drafts.tables[table]
    }

    fn rows(&self, table: usize) {
        let draft = self.draft(table);
        match self.bases(draft) {
            Ok(bases) => self.board.share(table, laid_out(bases)),
            Err(Stop::Need(needed)) => self.wait(table, &needed),
            Err(Stop::UsedUp(limit)) => self.board.end(limit),
            Err(Stop::Trying) => self.board.share(table, Arc::from([])),
            Err(stop @ (Stop::Fault(_) | Stop::Carried(_))) => {
                self.tell_no_rows(table, &stop);
                self.board.share(table, Arc::from([]));
            }
        }
    }

    /// Leaves a table until the one it needs is made; where it never will be, as they need each
    /// other in a ring, one of them is made without rows.
    fn wait(&self, table: usize, needed: &Arc<str>) {
        let tables = &self.host.loaded.drafts.tables;
        let Some(needed) = tables.get_index_of(needed) else { return self.board.fail() };
        let Some(ring) = self.board.wait(table, needed) else { return };
        let Some(&broken) = ring.last() else { return };
        let names = ring.iter().chain(ring.first()).map(|&at| &*self.draft(at).key);
        let names: Vec<&str> = names.collect();
        let message = format!("tables read each other in a ring: {}", names.join(" -> "));
        let fault =
            Fault::new("table-ring", message).hint("one of them must be made without the others");
        let draft = self.draft(broken);
        let fault = match &draft.rows {
            Some(rows) => fault.on(rows.line, rows.column),
            None => fault,
        };
        self.board.tell(broken, vec![self.host.finding(&fault)]);
        let none = self.frozen(draft, Arc::from([]), Cells::new(draft.columns.len()));
        self.board.made(broken, Arc::new(none));
    }

    fn cells(&mut self, table: usize, bases: &Arc<[Base]>, rows: Range<usize>) {
        let live = match &self.live {
            Some((last, live)) if *last == table => live.clone(),
            _ => self.host.live(self.draft(table), bases.len()),
        };
        self.live = Some((table, live.clone()));
        let from = rows.start;
        let cells = compute(self.host, &live, bases, rows);
        let Some(shares) = self.board.put(table, from, cells) else { return };
        let mut all = Share::default();
        let mut parts = Vec::with_capacity(shares.len());
        for share in shares {
            parts.push(share.columns);
            all.faults.extend(share.faults);
            all.used_up = all.used_up.or(share.used_up);
            all.need = all.need.or(share.need);
        }
        if let Some(limit) = all.used_up {
            self.board.end(limit);
        } else if let Some(needed) = all.need {
            self.wait(table, &needed);
        } else {
            self.tell(table, bases, &all.faults);
            let cells = Cells::of_parts(live.columns.len(), parts);
            let frozen = self.frozen(self.draft(table), bases.clone(), cells);
            self.board.made(table, Arc::new(frozen));
        }
    }

    /// A table whose rows can not be made is empty, and that is said.
    fn tell_no_rows(&self, table: usize, stop: &Stop) {
        let draft = self.draft(table);
        let empty = format!("the table `{}` is empty until that is mended", draft.key);
        let fault = match stop {
            Stop::Fault(fault) => Fault::clone(fault),
            Stop::Carried(fault) => Fault {
                code: "table-not-made",
                message: format!("the rows of `{}` can not be made: {}", draft.key, fault.message),
                ..Fault::clone(fault)
            },
            Stop::Need(_) | Stop::Trying | Stop::UsedUp(_) => return,
        };
        let fault = match &draft.rows {
            Some(rows) if fault.line == 0 => {
                Fault { aim: rows.aim(), ..fault.on(rows.line, rows.column) }
            }
            _ => fault,
        };
        self.board.tell(table, vec![self.host.finding(&fault.hint(empty))]);
    }

    /// The rows that a table stands on.
    fn bases(&self, draft: &TableDraft) -> Result<Arc<[Base]>, Stop> {
        let Some(rows) = &draft.rows else { return Ok(Arc::from([])) };
        let not_rows = |function: &Function, not: super::bridge::NotPlain| {
            let message = format!("the rows of `{}` are {}", draft.key, not.0);
            Stop::Fault(Arc::new(function.fault("no-rows", message)))
        };
        let bases = self.host.rows(rows)?.map_err(|not| not_rows(rows, not))?;
        let Some(split) = &draft.split else { return Ok(bases) };
        let mut parts = Vec::with_capacity(bases.len());
        let direct = self.host.world.direct(&split.pointer, bases.len());
        for (base, known) in bases.iter().zip(self.host.on_rows(direct.as_ref(), &bases)) {
            let some = self.host.rows_of_row(split, known, base)?;
            let some = some.map_err(|not| not_rows(split, not))?;
            parts.extend(some.iter().cloned());
        }
        Ok(parts.into())
    }

    fn tell(&self, table: usize, bases: &[Base], faults: &[(usize, usize, Arc<Fault>)]) {
        let draft = self.draft(table);
        let told = faults.iter().map(|(row, column, fault)| {
            let about = bases[*row].label(&self.host.world.job).unwrap_or_default();
            let column = draft.columns.get_index(*column).map(|(key, _)| key.clone());
            let mut finding = self.host.finding(fault).at(Place::Table {
                table: draft.key.clone(),
                row: u32::try_from(*row).unwrap_or(u32::MAX),
                column: column.unwrap_or_default(),
                about: Arc::from(about),
            });
            let cell = fault.argument.as_deref().and_then(|argument| {
                checks::typed_cell(&self.host.world.job, &bases[*row], argument)
            });
            // What was typed stands before where it was computed.
            finding.places.splice(0..0, cell);
            finding
        });
        self.board.tell(table, told.collect());
    }

    fn frozen(&self, draft: &TableDraft, bases: Arc<[Base]>, mut cells: Cells) -> Frozen {
        let rows = bases.len();
        let columns: Vec<Column> =
            draft.columns.values().map(|column| finished_column(self.host, column)).collect();
        for (at, _) in draft.columns.values().enumerate().filter(|(_, column)| column.running) {
            let (mut sum, mut count) = (0.0, Some(0_i64));
            for stretch in cells.column_mut(at) {
                for place in 0..stretch.len() {
                    let cell = stretch.get(place).unwrap_or_default();
                    let Some(number) = cell.as_number() else { continue };
                    sum += number;
                    count = match (count, &*cell) {
                        (Some(so_far), Value::Count(more)) => so_far.checked_add(*more),
                        _ => None,
                    };
                    drop(cell);
                    stretch.set(place, count.map_or(Value::Number(sum), Value::Count));
                }
            }
        }
        let table =
            Table { key: draft.key.clone(), title: draft.title.clone(), columns, cells, rows };
        Frozen::new(table, bases)
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

/// Computes the cells of some rows, columns in the order of their declaration.
fn compute(host: &Host, live: &Rc<LiveTable>, bases: &Arc<[Base]>, rows: Range<usize>) -> Share {
    let mut done = Share::default();
    let live_rows = LiveRows::new(live.clone(), bases.clone(), rows);
    for column in 0..live.columns.len() {
        match live_rows.compute(&host.engine, &host.world, column) {
            Ok(()) | Err(Stop::Fault(_) | Stop::Carried(_) | Stop::Trying) => {}
            Err(Stop::Need(table)) => {
                done.need = Some(table);
                return done;
            }
            Err(Stop::UsedUp(limit)) => {
                done.used_up = Some(limit);
                return done;
            }
        }
    }
    done.faults = live_rows.faults();
    done.columns = live_rows.take_columns();
    done
}
