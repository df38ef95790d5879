//! What one engine works on: the job, the finished tables, the columns being computed and the
//! bounds that a cell may not break. One per thread.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};

use rhai::{Dynamic, FnPtr};

use super::alike::Alike;
use super::describe::Known;
use super::direct::{Directs, Given, Spare};
use super::fault::{Fault, Limit, OutOfStack, TooManySteps};
use super::item::{Base, Frozen, group_key};
use super::live::LiveTable;
use super::row::Rows;
use super::testing::Testing;
use super::together::plain_field;
use crate::cells::BLOCK;
use crate::job::Job;
use crate::job::name::Name;
use crate::value::{Hashing, Refusal, Value};

/// Every thread that runs scripts has this stack, so that depth bounds hold on any machine.
pub const STACK: usize = 128 << 20;

/// The bounds of scripts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Operations a cell may take; a column that it reads has its own.
    pub steps_a_cell: u64,
    /// Operations more for each bay of the job that the function which gives a table's rows may
    /// take.
    pub steps_a_bay: u64,
    /// Functions calling each other.
    pub call_levels: usize,
    /// Columns reading each other.
    pub column_levels: usize,
    /// Characters in a text, and in all texts of a list or map together.
    pub text: usize,
    /// Items in a list, those of the lists in it counted.
    pub list: usize,
    /// Fields in a map, those of the maps in it, or in a list of maps, counted.
    pub map: usize,
    /// Nesting of an expression.
    pub expression: usize,
    /// Seconds a run may take.
    pub seconds: u64,
    /// Functions given to fewer rows are not worth taking apart.
    pub direct_rows: usize,
    /// Memory that scripts may take beside what the job and its tables usually take, MB.
    pub memory_mb: u64,
}

impl Default for Bounds {
    fn default() -> Bounds {
        Bounds {
            steps_a_cell: 5_000_000,
            steps_a_bay: 1_000,
            call_levels: 48,
            column_levels: 64,
            text: 16_000_000,
            list: 2_000_000,
            map: 200_000,
            expression: 64,
            direct_rows: 16,
            seconds: 600,
            memory_mb: 256,
        }
    }
}

/// Names to their numbers.
pub type Names = HashMap<Arc<str>, usize, Hashing>;

/// Results of pure functions by their arguments, with the arguments that keep addresses alive.
type Remembered = HashMap<Vec<u8>, (Vec<Value>, Result<Value, Refusal>), Hashing>;

/// By field, then by value: the rows that have it.
type Index = HashMap<Arc<str>, HashMap<Vec<u8>, Vec<u32>, Hashing>, Hashing>;

/// By the address of rows.
type KeptIndex = HashMap<usize, Index, Hashing>;

/// The state of one engine.
pub struct World {
    pub job: Arc<Job>,
    pub bounds: Bounds,
    /// Every name that some table, sheet or deck knows, to its number.
    pub names: RefCell<Names>,
    /// Finished tables.
    pub frozen: RefCell<HashMap<Arc<str>, Arc<Frozen>, Hashing>>,
    /// Keys of all tables that scripts define.
    pub tables: RefCell<Vec<Arc<str>>>,
    /// Columns being computed, outermost first: table and position.
    pub stack: RefCell<Vec<(Rc<LiveTable>, usize)>>,
    /// How many columns are being tried for many rows together.
    pub tries: Cell<usize>,
    /// Functions calling each other without the engine, now.
    levels: Cell<usize>,
    pub known: RefCell<Known>,
    /// Functions computed without the engine; none of a recording engine.
    pub directs: RefCell<Option<Rc<Directs>>>,
    /// Only while tests are run.
    pub testing: RefCell<Option<Rc<Testing>>>,
    pub spare: Spare,
    /// Values of functions by what they read of a row.
    pub alike: Alike,
    remembered: RefCell<Remembered>,
    /// Where the stack was when the engine was made, on the thread that runs it.
    stack_base: usize,
    /// Rows of sheets and finished tables, made once, by `bays` or `table:order`.
    kept: RefCell<HashMap<String, Rows, Hashing>>,
    /// By field, then by its value: those of the kept rows that have it.
    kept_index: RefCell<KeptIndex>,
    budget: Cell<u64>,
    steps: Cell<u64>,
    /// Operations until time and memory are looked at again.
    unlooked: Cell<u32>,
    looked: Cell<Instant>,
    most_memory: u64,
    deadline: Cell<Option<Instant>>,
}

impl World {
    pub fn new(job: Arc<Job>, bounds: Bounds, names: Names, deadline: Option<Instant>) -> World {
        let usual = job.bays.len() as u64 * MEMORY_A_BAY;
        let most_memory = memory_now() + usual + (bounds.memory_mb << 20);
        World {
            job,
            bounds,
            names: RefCell::new(names),
            frozen: RefCell::default(),
            tables: RefCell::default(),
            stack: RefCell::default(),
            tries: Cell::new(0),
            levels: Cell::new(0),
            known: RefCell::new(Known { bounds, ..Known::default() }),
            directs: RefCell::default(),
            testing: RefCell::default(),
            spare: Spare::default(),
            alike: Alike::default(),
            remembered: RefCell::default(),
            stack_base: stack_now(),
            kept: RefCell::default(),
            kept_index: RefCell::default(),
            budget: Cell::new(bounds.steps_a_cell),
            steps: Cell::new(0),
            unlooked: Cell::new(LOOK_EVERY),
            looked: Cell::new(Instant::now()),
            most_memory,
            deadline: Cell::new(deadline),
        }
    }

    /// A world without a job.
    pub fn bare() -> World {
        World::new(Arc::default(), Bounds::default(), Names::default(), None)
    }

    /// Counts one operation; the token ends the script.
    pub fn step(&self) -> Option<Dynamic> {
        const MOST_STACK: usize = STACK / 4 * 3;
        if self.stack_base.abs_diff(stack_now()) > MOST_STACK {
            return Some(Dynamic::from(OutOfStack));
        }
        let steps = self.steps.get() + 1;
        self.steps.set(steps);
        if steps > self.budget.get() {
            return Some(Dynamic::from(TooManySteps(self.budget.get())));
        }
        match self.unlooked.get() {
            0 => self.look().map(Dynamic::from),
            unlooked => {
                self.unlooked.set(unlooked - 1);
                None
            }
        }
    }

    /// Looks at the clock; where much time went by in few operations, they may have taken much
    /// memory, and then at every one.
    fn look(&self) -> Option<Limit> {
        const LONG: Duration = Duration::from_millis(1);
        let now = Instant::now();
        if self.deadline.get().is_some_and(|deadline| now > deadline) {
            return Some(Limit::Time);
        }
        let long = now.duration_since(self.looked.get()) > LONG;
        if long && memory_now() > self.most_memory {
            return Some(Limit::Memory);
        }
        self.unlooked.set(if long { 0 } else { LOOK_EVERY });
        self.looked.set(now);
        None
    }

    /// Runs a call of a function that is computed without the engine; none where it would be one step
    /// or level too many. The engine counts levels otherwise: some are left to it.
    pub fn call<T>(&self, run: impl FnOnce() -> T) -> Option<T> {
        let levels = self.levels.get();
        if levels >= self.bounds.call_levels / 2 || self.step().is_some() {
            return None;
        }
        self.levels.set(levels + 1);
        let result = run();
        self.levels.set(levels);
        Some(result)
    }

    /// Rows that are made once.
    pub fn kept_rows(&self, name: &str, make: impl FnOnce() -> Arc<[Base]>) -> Rows {
        if let Some(rows) = self.kept.borrow().get(name) {
            return rows.clone();
        }
        let rows = Rows(make());
        self.kept.borrow_mut().insert(name.to_owned(), rows.clone());
        rows
    }

    /// The rows of the job under that name: its bays, its decks or another sheet.
    pub fn job_rows(&self, name: &str) -> Option<Rows> {
        let rows = |count: usize| 0..u32::try_from(count).unwrap_or(u32::MAX);
        if name == "decks" {
            let decks = rows(self.job.decks.len());
            return Some(self.kept_rows(name, || decks.map(Base::Deck).collect()));
        }
        let sheet = crate::job::schema::sheet(name).filter(|sheet| sheet.key != "head")?;
        Some(self.kept_rows(name, || match sheet.key {
            "bays" => rows(self.job.bays.len()).map(Base::Bay).collect(),
            other => rows(self.job.sheet(other).len()).map(|at| Base::Entry(sheet, at)).collect(),
        }))
    }

    /// The rows of a finished table.
    pub fn table_rows(&self, key: &str) -> Option<Rows> {
        let frozen = self.frozen.borrow().get(key)?.clone();
        Some(self.kept_rows(&format!("table:{key}"), || {
            let count = u32::try_from(frozen.table.rows).unwrap_or(u32::MAX);
            (0..count).map(|row| Base::Frozen(frozen.clone(), row)).collect()
        }))
    }

    /// The function to be computed without the engine for so many rows; `None` where the engine
    /// computes it. In a large job few rows may stand for many bays.
    pub fn direct(&self, function: &FnPtr, rows: usize) -> Option<Given> {
        const BAYS_A_ROW: usize = 2;
        if rows.max(self.job.bays.len() / BAYS_A_ROW) < self.bounds.direct_rows {
            return None;
        }
        let directs = self.directs.borrow().clone()?;
        directs.given(self, function)
    }

    /// An answer from those of the rows whose field has that key, by position, where they are kept rows
    /// with plain values in that field; `None` where one has to look row by row.
    pub fn find_kept<T>(
        &self,
        rows: &Rows,
        field: &str,
        key: &[u8],
        answer: impl FnOnce(&[u32]) -> T,
    ) -> Option<T> {
        let address = rows.0.as_ptr() as usize;
        let is_kept = || {
            self.kept.borrow().values().any(|kept| std::ptr::eq(kept.0.as_ptr(), rows.0.as_ptr()))
        };
        let mut indexes = self.kept_index.borrow_mut();
        if indexes.get(&address).is_none_or(|index| !index.contains_key(field)) {
            if rows.0.is_empty() || !is_kept() {
                return None;
            }
            let mut index: HashMap<Vec<u8>, Vec<u32>, Hashing> = HashMap::default();
            let name = Name::new(field);
            let mut key = Vec::new();
            for (from, bases) in (0..).step_by(BLOCK).zip(rows.0.chunks(BLOCK)) {
                let values = plain_field(&self.job, bases, &name)?;
                for (at, value) in (from..).zip((0..values.len()).filter_map(|at| values.get(at))) {
                    key.clear();
                    group_key(&value, &mut key);
                    match index.get_mut(&key) {
                        Some(found) => found.push(at),
                        None => drop(index.insert(key.clone(), vec![at])),
                    }
                }
            }
            indexes.entry(address).or_default().insert(Arc::from(field), index);
        }
        Some(answer(indexes.get(&address)?.get(field)?.get(key).map_or(&[][..], Vec::as_slice)))
    }

    /// The result of a pure function that was computed before, by what it is known again by.
    pub fn remembered(&self, key: &[u8]) -> Option<Result<Value, Refusal>> {
        self.remembered.borrow().get(key).map(|(_, result)| result.clone())
    }

    /// Remembers a result. Records are known again by their address: the arguments are kept as long
    /// as the result is.
    pub fn remember(&self, key: Vec<u8>, arguments: Vec<Value>, result: &Result<Value, Refusal>) {
        const MOST: usize = 50_000;
        let mut remembered = self.remembered.borrow_mut();
        if remembered.len() < MOST {
            remembered.insert(key, (arguments, result.clone()));
        }
    }

    /// When scripts must have ended.
    pub fn set_deadline(&self, deadline: Option<Instant>) {
        self.deadline.set(deadline);
    }

    /// Runs something with a cell's step budget of its own.
    pub fn with_own_steps<T>(&self, run: impl FnOnce() -> T) -> T {
        self.with_budget(self.bounds.steps_a_cell, run)
    }

    /// Runs what gives a table's rows: it may take more steps the more bays there are.
    pub fn with_steps_for_rows<T>(&self, run: impl FnOnce() -> T) -> T {
        let bays = u64::try_from(self.job.bays.len()).unwrap_or(u64::MAX);
        let more = self.bounds.steps_a_bay.saturating_mul(bays);
        self.with_budget(self.bounds.steps_a_cell.saturating_add(more), run)
    }

    /// Runs something with a step budget of its own.
    fn with_budget<T>(&self, budget: u64, run: impl FnOnce() -> T) -> T {
        let outer = (self.budget.replace(budget), self.steps.replace(0));
        let levels = self.levels.replace(0);
        let result = run();
        self.levels.set(levels);
        self.budget.set(outer.0);
        self.steps.set(outer.1);
        result
    }
}

/// How many operations go by between two looks at clock and memory.
const LOOK_EVERY: u32 = 16;

/// What a bay's rows in all tables usually take, generously.
const MEMORY_A_BAY: u64 = 32 << 10;

/// What the program takes of the machine's memory now.
fn memory_now() -> u64 {
    memory_stats::memory_stats().map_or(0, |stats| stats.physical_mem as u64)
}

/// About where the thread's stack is now.
fn stack_now() -> usize {
    let here = 0_u8;
    std::ptr::from_ref(std::hint::black_box(&here)).addr()
}

/// The bytes by which arguments are known again. A record made by the script itself counts by its
/// fields, one of the job by its address, which its place among the remembered keeps alive.
pub fn argument_key(argument: &Value, key: &mut Vec<u8>) {
    match argument {
        Value::Record(record) if Arc::strong_count(record) > 1 => {
            key.push(b'@');
            key.extend((Arc::as_ptr(record) as usize).to_le_bytes());
        }
        Value::Record(record) => {
            key.push(b'{');
            for (name, value) in record.iter() {
                key.extend(name.as_bytes());
                key.push(0);
                argument_key(value, key);
            }
            key.push(b'}');
        }
        Value::List(items) => {
            key.push(b'[');
            for item in items.iter() {
                argument_key(item, key);
            }
            key.push(b']');
        }
        other => group_key(other, key),
    }
}

/// The fault of reading a cell that is an error in a finished table.
pub fn error_cell(of: Option<&str>, name: &str, message: &str) -> Fault {
    const IS: &str = " is an error: ";
    let cause = message.rsplit_once(IS).map_or(message, |(_, cause)| cause);
    let of = of.map(|label| format!(" of {label}")).unwrap_or_default();
    Fault::new("error-cell", format!("`{name}`{of}{IS}{cause}"))
}

/// The text of a cell that could not be computed.
pub fn error_value(fault: &Fault) -> Value {
    Value::Error(Arc::from(fault.message.as_str()))
}
