//! Rows whose columns are being computed, for all of them together where that can be, else one by
//! one.

use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{AST, Dynamic, Engine, FnPtr};

use super::bridge::from_script;
use super::define::Function;
use super::describe::explain;
use super::direct::Given;
use super::engine::JobHandle;
use super::fault::{Fault, Stop};
use super::item::Base;
use super::many::{Gathered, Many};
use super::row::{Part, Row};
use super::thing::Thing;
use super::world::{World, error_value};
use crate::cells::Stretch;
use crate::value::Value;

/// A table whose cells are being computed.
pub struct LiveTable {
    pub key: Arc<str>,
    pub columns: Vec<LiveColumn>,
    /// By number of a name: the column of that name.
    pub by_name: Vec<Option<usize>>,
}

/// A column whose cells are being computed.
pub struct LiveColumn {
    pub key: Arc<str>,
    pub function: FnPtr,
    pub ast: Rc<AST>,
    pub hidden: bool,
    /// The same function computed without the engine, where it can be.
    pub direct: Option<Given>,
    /// Whether it takes the job as a second parameter.
    pub takes_job: bool,
    /// Where it is defined.
    pub place: Function,
}

/// Some rows of a table whose cells are being computed.
pub struct LiveRows {
    pub table: Rc<LiveTable>,
    bases: Arc<[Base]>,
    rows: Range<usize>,
    columns: RefCell<Vec<State>>,
    /// By row and column.
    faults: RefCell<Vec<(usize, usize, Arc<Fault>)>>,
}

/// How far a column is.
enum State {
    Empty,
    /// All rows are being computed together.
    Busy,
    Together(Rc<Many>),
    Singly(Vec<Slot>),
}

#[derive(Clone, Debug, Default)]
enum Slot {
    #[default]
    Empty,
    Busy,
    Done(Value),
    Failed(Arc<Fault>),
}

impl LiveTable {
    /// The column that a name's number stands for.
    pub fn column_of(&self, number: Option<usize>) -> Option<usize> {
        self.by_name.get(number?).copied().flatten()
    }

    /// Whether a column is the one that computes now.
    pub fn is_computing(self: &Rc<Self>, world: &World, column: usize) -> bool {
        let stack = world.stack.borrow();
        stack.last().is_some_and(|(reader, at)| *at == column && Rc::ptr_eq(reader, self))
    }
}

impl LiveRows {
    pub fn new(table: Rc<LiveTable>, bases: Arc<[Base]>, rows: Range<usize>) -> Rc<LiveRows> {
        let columns = table.columns.iter().map(|_| State::Empty).collect();
        let columns = RefCell::new(columns);
        Rc::new(LiveRows { table, bases, rows, columns, faults: RefCell::default() })
    }

    pub fn count(&self) -> usize {
        self.rows.len()
    }

    pub fn base(&self, at: usize) -> &Base {
        &self.bases[self.rows.start + at]
    }

    /// A column of all rows where they are computed together.
    pub fn column(
        self: &Rc<Self>,
        engine: &Engine,
        world: &World,
        column: usize,
    ) -> Option<Rc<Many>> {
        self.begin(engine, world, column);
        match &self.columns.borrow()[column] {
            State::Together(many) => Some(many.clone()),
            State::Empty | State::Busy | State::Singly(_) => None,
        }
    }

    /// A column of one row, computed when first asked for.
    pub fn cell(
        self: &Rc<Self>,
        engine: &Engine,
        world: &World,
        column: usize,
        at: usize,
    ) -> Result<Value, Stop> {
        self.begin(engine, world, column);
        if let Some(value) = self.known(column, at) {
            return Ok(value);
        }
        self.compute_one(engine, world, column, at)?;
        Ok(self.known(column, at).unwrap_or_default())
    }

    /// Computes a column of all rows; a cell that fails does not stop it.
    pub fn compute(
        self: &Rc<Self>,
        engine: &Engine,
        world: &World,
        column: usize,
    ) -> Result<(), Stop> {
        if self.column(engine, world, column).is_some() {
            return Ok(());
        }
        for at in 0..self.rows.len() {
            match self.compute_one(engine, world, column, at) {
                Ok(()) | Err(Stop::Fault(_) | Stop::Carried(_)) => {}
                Err(stop @ (Stop::Need(_) | Stop::Trying | Stop::UsedUp(_))) => return Err(stop),
            }
        }
        Ok(())
    }

    fn known(&self, column: usize, at: usize) -> Option<Value> {
        match &self.columns.borrow()[column] {
            State::Together(many) => many.value(at).ok(),
            State::Singly(slots) => match &slots[at] {
                Slot::Done(value) => Some(value.clone()),
                Slot::Empty | Slot::Busy | Slot::Failed(_) => None,
            },
            State::Empty | State::Busy => None,
        }
    }

    /// Computes a column that was not asked for yet for all rows together; where that can not be, its
    /// cells are left to be computed one by one.
    fn begin(self: &Rc<Self>, engine: &Engine, world: &World, column: usize) {
        if !matches!(self.columns.borrow()[column], State::Empty) {
            return;
        }
        let definition = &self.table.columns[column];
        let count = self.rows.len();
        let may = count >= world.bounds.direct_rows.max(1)
            && world.stack.borrow().len() < world.bounds.column_levels;
        let direct = definition.direct.as_ref().filter(|_| may);
        let many = direct.and_then(|direct| {
            self.columns.borrow_mut()[column] = State::Busy;
            world.stack.borrow_mut().push((self.table.clone(), column));
            world.tries.set(world.tries.get() + 1);
            let part = Part::live(self.clone());
            let many = part.and_then(|part| direct.many(engine, world, part));
            world.tries.set(world.tries.get() - 1);
            world.stack.borrow_mut().pop();
            cells_of(many?, count, definition)
        });
        self.columns.borrow_mut()[column] = match many {
            Some(many) => State::Together(many),
            None => State::Singly(vec![Slot::Empty; count]),
        };
    }

    fn set(&self, column: usize, at: usize, slot: Slot) {
        if let State::Singly(slots) = &mut self.columns.borrow_mut()[column] {
            slots[at] = slot;
        }
    }

    /// Computes a column of one row where it was not asked for yet.
    fn compute_one(
        self: &Rc<Self>,
        engine: &Engine,
        world: &World,
        column: usize,
        at: usize,
    ) -> Result<(), Stop> {
        match &self.columns.borrow()[column] {
            State::Together(_) => return Ok(()),
            // Not every row that is tried takes the branch that reads it.
            State::Empty | State::Busy => return Err(Stop::Trying),
            State::Singly(slots) => match &slots[at] {
                Slot::Done(_) => return Ok(()),
                Slot::Failed(fault) => return Err(Stop::Carried(fault.clone())),
                Slot::Busy => return Err(ring(self, world, (column, at))),
                Slot::Empty => {}
            },
        }
        if world.stack.borrow().len() >= world.bounds.column_levels {
            if world.tries.get() > 0 {
                return Err(Stop::Trying);
            }
            return Err(too_many_levels(self, world, (column, at)));
        }
        let definition = &self.table.columns[column];
        let row = Row::live(self.clone(), u32::try_from(at).unwrap_or(u32::MAX));
        self.set(column, at, Slot::Busy);
        world.stack.borrow_mut().push((self.table.clone(), column));
        let direct = definition.direct.as_ref().and_then(|it| it.cell(engine, world, &row));
        if let Some(value) = direct.and_then(|thing| cell_of(thing, definition)) {
            world.stack.borrow_mut().pop();
            self.set(column, at, Slot::Done(value));
            return Ok(());
        }
        let result = world.with_own_steps(|| {
            let (function, ast) = (&definition.function, &definition.ast);
            if definition.takes_job {
                function.call::<Dynamic>(engine, ast, (row, JobHandle))
            } else {
                function.call::<Dynamic>(engine, ast, (row,))
            }
        });
        let chain = if result.is_err() { world.stack.borrow().clone() } else { Vec::new() };
        world.stack.borrow_mut().pop();
        let result = match result {
            Ok(value) => plain_cell(&value, definition),
            Err(error) => Err(explain(&error, &world.known.borrow())),
        };
        let result = result.map_err(|stop| placed(stop, &self.table, definition, &chain));
        let (slot, result) = match result {
            Ok(value) => (Slot::Done(value), Ok(())),
            Err(stop) => {
                let slot = match &stop {
                    Stop::Fault(fault) => {
                        self.faults.borrow_mut().push((at, column, fault.clone()));
                        Slot::Failed(fault.clone())
                    }
                    Stop::Carried(fault) => Slot::Failed(fault.clone()),
                    Stop::Need(_) | Stop::Trying | Stop::UsedUp(_) => Slot::Empty,
                };
                (slot, Err(stop))
            }
        };
        self.set(column, at, slot);
        result
    }

    /// A fault that began in a cell; the same one where it was met before, on the way to giving up.
    fn begun(&self, (row, column): (usize, usize), fault: Arc<Fault>) -> Arc<Fault> {
        let mut faults = self.faults.borrow_mut();
        let known = faults.iter().rev().find(|(at_row, at_column, known)| {
            (*at_row, *at_column, &known.message) == (row, column, &fault.message)
        });
        if let Some((_, _, known)) = known {
            return known.clone();
        }
        faults.push((row, column, fault.clone()));
        fault
    }

    /// The faults that began in these rows, each with its row, its column and the columns it took
    /// along.
    pub fn faults(&self) -> Vec<(usize, usize, Arc<Fault>)> {
        let mut faults = self.faults.take();
        faults.sort_by_key(|(row, column, _)| (*row, *column));
        for (row, column, fault) in &mut faults {
            let columns = self.columns.borrow();
            let failed = |state: &State| match state {
                State::Singly(slots) => {
                    matches!(&slots[*row], Slot::Failed(other) if Arc::ptr_eq(other, fault))
                }
                State::Empty | State::Busy | State::Together(_) => false,
            };
            let others = (0..columns.len()).filter(|at| at != column && failed(&columns[*at]));
            let taken: Vec<String> =
                others.map(|at| self.table.columns[at].key.to_string()).collect();
            if !taken.is_empty() {
                let mut with_taken = Fault::clone(fault);
                with_taken.taken = taken;
                *fault = Arc::new(with_taken);
            }
            *row += self.rows.start;
        }
        faults
    }

    /// The cells computed, column by column; they are no longer here.
    pub fn take_columns(&self) -> Vec<Stretch> {
        let count = self.rows.len();
        let columns = self.columns.take().into_iter();
        let stretch = |column| match column {
            State::Together(many) => Rc::unwrap_or_clone(many).into_stretch(count).packed(),
            State::Singly(slots) => {
                let mut stretch = Stretch::default();
                for slot in slots {
                    stretch.push(slot.value(), count);
                }
                stretch
            }
            State::Empty | State::Busy => Stretch::Same(Value::Blank, count),
        };
        columns.map(stretch).collect()
    }
}

impl Slot {
    fn value(self) -> Value {
        match self {
            Slot::Done(value) => value,
            Slot::Failed(fault) => error_value(&fault),
            Slot::Empty | Slot::Busy => Value::Blank,
        }
    }
}

/// What a worksheet's cell holds: characters.
const CELL_TEXT: usize = 32_767;

/// A column's result as a cell: a finite number, text, true or false, a date or blank; lists and
/// records only where it is hidden.
fn plain_cell(value: &Dynamic, column: &LiveColumn) -> Result<Value, Stop> {
    let fault =
        |message: String| Stop::Fault(Arc::new(column.place.fault("no-cell-value", message)));
    match from_script(value) {
        Ok(list @ (Value::List(_) | Value::Record(_))) if !column.hidden => Err(fault(format!(
            "column `{}` gave {}, wanted a number, text, date or blank (a hidden column may hold it)",
            column.key,
            list.kind()
        ))),
        Ok(Value::Text(text)) if text.len() > CELL_TEXT && text.chars().count() > CELL_TEXT => {
            let length = text.chars().count();
            Err(fault(format!(
                "column `{}` gave a text of {length} characters, wanted at most {CELL_TEXT}",
                column.key
            )))
        }
        Ok(value) => Ok(value),
        Err(not) => Err(fault(format!("column `{}` gave {}", column.key, not.0))),
    }
}

/// The same of a value computed without the engine; `None` where it is no cell.
fn cell_of(thing: Thing, column: &LiveColumn) -> Option<Value> {
    match thing.plain()? {
        Value::List(_) | Value::Record(_) if !column.hidden => None,
        Value::Text(text) if text.len() > CELL_TEXT => None,
        value => Some(value),
    }
}

/// The same of many values.
fn cells_of(many: Rc<Many>, count: usize, column: &LiveColumn) -> Option<Rc<Many>> {
    let is_cell = |value: &Value| match value {
        Value::List(_) | Value::Record(_) => column.hidden,
        Value::Text(text) => text.len() <= CELL_TEXT,
        _ => true,
    };
    match &*many {
        Many::Plain(Stretch::Values(values) | Stretch::Few(values, _)) => {
            values.iter().all(is_cell).then_some(many)
        }
        Many::Plain(Stretch::Same(value, _)) => is_cell(value).then_some(many),
        Many::Plain(_) => Some(many),
        Many::Same(thing) => {
            cell_of(thing.clone(), column).map(|value| Rc::new(Many::Same(Thing::Value(value))))
        }
        Many::Rows(_) | Many::Things(_) => {
            let mut gathered = Gathered::of(count);
            for at in 0..count {
                gathered.push_value(cell_of(many.at(at), column)?);
            }
            Some(gathered.done())
        }
    }
}

/// A fault that began in a column, with the columns that led there; where the engine does not know
/// its place, at the column.
fn placed(
    stop: Stop,
    live: &LiveTable,
    column: &LiveColumn,
    chain: &[(Rc<LiveTable>, usize)],
) -> Stop {
    let Stop::Fault(fault) = stop else { return stop };
    let mut fault = Fault::clone(&fault);
    if fault.line == 0 {
        let at = column.place.fault(fault.code, "");
        (fault.line, fault.column, fault.aim) = (at.line, at.column, at.aim);
    }
    let own = chain.iter().rev().take_while(|(table, _)| table.key == live.key);
    fault.chain = own.map(|(_, at)| live.columns[*at].key.to_string()).collect();
    fault.chain.reverse();
    Stop::Fault(Arc::new(fault))
}

/// More columns reading each other than may, as a fault of the one that reads one more.
fn too_many_levels(live: &LiveRows, world: &World, (column, at): (usize, usize)) -> Stop {
    let levels = world.bounds.column_levels;
    let reader = world.stack.borrow().last().map_or(column, |(_, at)| *at);
    let message = format!("more than {levels} columns read each other, one through the next");
    let fault = Arc::new(live.table.columns[reader].place.fault("too-deep", message).hint(
        "a sum over the rows above is a column with `.running()`; else let a column read several at once",
    ));
    Stop::Carried(live.begun((at, reader), fault))
}

/// The columns that read each other in a ring, as a fault of the one declared first.
fn ring(live: &LiveRows, world: &World, (column, row): (usize, usize)) -> Stop {
    let stack = world.stack.borrow();
    let mut ring: Vec<usize> = stack
        .iter()
        .rev()
        .take_while(|(table, _)| table.key == live.table.key)
        .map(|(_, at)| *at)
        .scan(false, |done, at| {
            let go_on = !*done;
            *done = at == column;
            go_on.then_some(at)
        })
        .collect();
    ring.reverse();
    let first = ring.iter().copied().min().unwrap_or(column);
    if let Some(at) = ring.iter().position(|member| *member == first) {
        ring.rotate_left(at);
    }
    let mut names: Vec<&str> = ring.iter().map(|&at| &*live.table.columns[at].key).collect();
    names.push(&live.table.columns[first].key);
    let message = match names.as_slice() {
        [one, _] => format!("the column reads itself: {one} -> {one}"),
        _ => format!("columns read each other in a ring: {}", names.join(" -> ")),
    };
    let hint = if names.len() == 2 {
        "its row has no field of that name to read instead"
    } else {
        "one of them must be computed without the others"
    };
    let fault = Arc::new(live.table.columns[first].place.fault("cycle", message).hint(hint));
    Stop::Carried(live.begun((row, first), fault))
}
