//! What the threads of a run share: which table is made, by whom, and what each waits for.
//!
//! In: tables by their position, in the order of their definition. Out: work to be done, handed to
//! whoever asks, and at last all tables. Scripts are pure, so the tables are the same whoever makes
//! which; what is told of them is put in the order of their definition.

use std::ops::Range;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use super::fault::{Fault, Limit};
use super::item::{Base, Frozen};
use super::run::Ended;
use crate::cells::{BLOCK, Stretch};
use crate::finding::Finding;

/// Rows that a thread takes at a time where a table has few, and how many are few: parts of a block.
const PART: usize = BLOCK / 8;
const FEW: usize = BLOCK * 8;

/// Something to be done.
pub enum Work {
    /// The rows of a table.
    Rows(usize),
    /// The cells of some of its rows.
    Cells(usize, Arc<[Base]>, Range<usize>),
    /// What a check finds.
    Check(usize),
}

/// The cells of some rows, column by column, with the faults that began in them.
#[derive(Default)]
pub struct Share {
    pub columns: Vec<Stretch>,
    pub faults: Vec<(usize, usize, Arc<Fault>)>,
    /// The table not made yet that a row needs.
    pub need: Option<Arc<str>>,
    pub used_up: Option<Limit>,
}

enum State {
    /// To be begun.
    Open,
    /// Its rows are being made, or what is made of its cells.
    InHand,
    /// Rows from `next` on may be taken; so many shares are out.
    Shared {
        bases: Arc<[Base]>,
        next: usize,
        out: usize,
        done: Vec<(usize, Share)>,
    },
    /// For another table.
    Waits(usize),
    Made,
}

struct Inside {
    /// Whether several threads work.
    is_shared: bool,
    states: Vec<State>,
    /// In the order in which they were made.
    made: Vec<(usize, Arc<Frozen>)>,
    /// By table.
    told: Vec<Vec<Finding>>,
    /// By check; those from `next_check` on may be taken.
    found: Vec<Vec<Finding>>,
    next_check: usize,
    ended: Option<Ended>,
    /// A thread failed: the others stop.
    failed: bool,
}

/// Shared by the threads of a run.
pub struct Board {
    inside: Mutex<Inside>,
    changed: Condvar,
}

/// All that is made and told.
pub struct Outcome {
    pub tables: Vec<Arc<Frozen>>,
    /// Of the tables.
    pub told: Vec<Finding>,
    /// Of the checks.
    pub found: Vec<Finding>,
}

impl Board {
    pub fn new(tables: usize, checks: usize, threads: usize) -> Board {
        let inside = Inside {
            is_shared: threads > 1,
            states: (0..tables).map(|_| State::Open).collect(),
            made: Vec::with_capacity(tables),
            told: vec![Vec::new(); tables],
            found: vec![Vec::new(); checks],
            next_check: 0,
            ended: None,
            failed: false,
        };
        Board { inside: Mutex::new(inside), changed: Condvar::new() }
    }

    fn inside(&self) -> MutexGuard<'_, Inside> {
        self.inside.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What is to be done next, and the tables made since the first `known`; none where all is done.
    /// Where all that is left is in other hands, waits for it.
    pub fn take(&self, known: usize) -> Option<(Work, Vec<Arc<Frozen>>)> {
        let mut inside = self.inside();
        loop {
            if inside.ended.is_some() || inside.failed {
                return None;
            }
            if let Some(work) = inside.next() {
                let new = inside.made.get(known..).unwrap_or_default();
                return Some((work, new.iter().map(|(_, frozen)| frozen.clone()).collect()));
            }
            if inside.is_made() {
                return None;
            }
            inside = self.changed.wait(inside).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// The rows of a table are made: its cells may be taken.
    pub fn share(&self, table: usize, bases: Arc<[Base]>) {
        self.inside().states[table] = State::Shared { bases, next: 0, out: 0, done: Vec::new() };
        self.changed.notify_all();
    }

    /// A share of a table's cells is done. Gives all shares in order to whoever brings the last.
    pub fn put(&self, table: usize, from: usize, share: Share) -> Option<Vec<Share>> {
        let mut inside = self.inside();
        let State::Shared { bases, next, out, done } = &mut inside.states[table] else {
            return None;
        };
        if share.need.is_some() || share.used_up.is_some() {
            *next = bases.len();
        }
        *out -= 1;
        done.push((from, share));
        if *out > 0 || *next < bases.len() {
            return None;
        }
        let mut done = std::mem::take(done);
        inside.states[table] = State::InHand;
        done.sort_by_key(|(from, _)| *from);
        Some(done.into_iter().map(|(_, share)| share).collect())
    }

    /// A table needs another first. Gives the tables that need each other in a ring, if that closes
    /// one: the first defined leads, and the last is in the hands of whoever asked.
    pub fn wait(&self, table: usize, needed: usize) -> Option<Vec<usize>> {
        let mut inside = self.inside();
        if matches!(inside.states[needed], State::Made) {
            inside.states[table] = State::Open;
            self.changed.notify_all();
            return None;
        }
        inside.states[table] = State::Waits(needed);
        let mut ring = vec![table];
        let mut at = needed;
        while at != table {
            ring.push(at);
            match inside.states[at] {
                State::Waits(next) => at = next,
                _ => return None,
            }
        }
        let first = ring.iter().min().and_then(|least| ring.iter().position(|at| at == least));
        ring.rotate_left(first.unwrap_or(0));
        if let Some(&last) = ring.last() {
            inside.states[last] = State::InHand;
        }
        Some(ring)
    }

    /// A table is finished.
    pub fn made(&self, table: usize, frozen: Arc<Frozen>) {
        let mut inside = self.inside();
        for state in &mut inside.states {
            if matches!(state, State::Waits(needed) if *needed == table) {
                *state = State::Open;
            }
        }
        inside.states[table] = State::Made;
        inside.made.push((table, frozen));
        self.changed.notify_all();
    }

    /// What went wrong in a table.
    pub fn tell(&self, table: usize, findings: Vec<Finding>) {
        self.inside().told[table].extend(findings);
    }

    /// What a check finds.
    pub fn found(&self, check: usize, findings: Vec<Finding>) {
        self.inside().found[check] = findings;
    }

    /// Ends the run.
    pub fn end(&self, limit: Limit) {
        self.inside().ended.get_or_insert(Ended::UsedUp(limit));
        self.changed.notify_all();
    }

    /// A thread failed in the middle of its work: nobody waits for it.
    pub fn fail(&self) {
        self.inside().failed = true;
        self.changed.notify_all();
    }

    /// All of it, in the order of definition.
    pub fn outcome(self) -> Result<Outcome, Ended> {
        let inside = self.inside.into_inner().unwrap_or_else(PoisonError::into_inner);
        if let Some(ended) = inside.ended {
            return Err(ended);
        }
        if inside.failed {
            let finding =
                Finding::error("program-failed", "the program itself failed in the tables")
                    .hint("neither schedule nor scripts are to blame; please report it with both");
            return Err(Ended::Findings(vec![finding]));
        }
        let mut made = inside.made;
        made.sort_by_key(|(table, _)| *table);
        let mut told: Vec<Finding> = inside.told.into_iter().flatten().collect();
        // What is wrong in one table comes before the tables that can not be made for it.
        told.sort_by_key(|finding| &*finding.code == "table-not-made");
        Ok(Outcome {
            tables: made.into_iter().map(|(_, frozen)| frozen).collect(),
            told,
            found: inside.found.into_iter().flatten().collect(),
        })
    }
}

impl Inside {
    fn is_made(&self) -> bool {
        self.made.len() == self.states.len()
    }

    /// Cells before rows, so that those who wait for a table wait least; checks when all is made.
    fn next(&mut self) -> Option<Work> {
        for (table, state) in self.states.iter_mut().enumerate() {
            if let State::Shared { bases, next, out, .. } = state
                && (*next < bases.len() || (*out == 0 && bases.is_empty()))
            {
                let from = *next;
                // Few rows may each take long.
                let few = self.is_shared && bases.len() < FEW;
                *next = (from + if few { PART } else { BLOCK }).min(bases.len());
                *out += 1;
                return Some(Work::Cells(table, bases.clone(), from..*next));
            }
        }
        let open = self.states.iter().position(|state| matches!(state, State::Open));
        if let Some(table) = open {
            self.states[table] = State::InHand;
            return Some(Work::Rows(table));
        }
        if self.is_made() && self.next_check < self.found.len() {
            self.next_check += 1;
            return Some(Work::Check(self.next_check - 1));
        }
        None
    }
}
