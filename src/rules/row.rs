//! A row as scripts read it: `row.name` gives a field or another column of the same table, computed
//! when first read and remembered.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{AST, Dynamic, Engine, EvalAltResult, FnPtr, Position};

use super::bridge::{from_script, item_to_script, to_script};
use super::define::Function;
use super::describe::explain;
use super::direct::Given;
use super::engine::JobHandle;
use super::fault::{Carried, Fault, Need, Stop};
use super::item::{Base, Item};
use super::thing::Thing;
use super::world::{World, error_cell, error_value};
use crate::job::name::Name;
use crate::value::Value;

/// A row.
#[derive(Clone)]
pub struct Row(Kind);

#[derive(Clone)]
enum Kind {
    Plain(Base),
    Live(Rc<Live>),
}

/// Rows, shared and not copied.
#[derive(Clone, Debug)]
pub struct Rows(pub Arc<[Base]>);

struct Live {
    base: Base,
    table: Rc<LiveTable>,
    cells: RefCell<Vec<Slot>>,
    faults: RefCell<Vec<(usize, Arc<Fault>)>>,
}

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

#[derive(Clone, Debug, Default)]
enum Slot {
    #[default]
    Empty,
    Busy,
    Done(Value),
    Failed(Arc<Fault>),
}

impl Row {
    /// A row without columns of its own.
    pub fn plain(base: Base) -> Row {
        Row(Kind::Plain(base))
    }

    /// A row of a table that is being computed.
    pub fn live(base: Base, table: Rc<LiveTable>) -> Row {
        let cells = RefCell::new(vec![Slot::Empty; table.columns.len()]);
        Row(Kind::Live(Rc::new(Live { base, table, cells, faults: RefCell::default() })))
    }

    pub fn base(&self) -> &Base {
        match &self.0 {
            Kind::Plain(base) => base,
            Kind::Live(live) => &live.base,
        }
    }

    fn being_computed(&self) -> Option<&Live> {
        match &self.0 {
            Kind::Plain(_) => None,
            Kind::Live(live) => Some(live),
        }
    }

    /// Whether it has columns that are being computed.
    pub fn is_live(&self) -> bool {
        self.being_computed().is_some()
    }

    /// The field or column of that name. `number` is the name's number in the world, if it has one.
    pub fn read(
        &self,
        engine: &Engine,
        world: &World,
        number: Option<usize>,
        name: &str,
        position: Position,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        let known = Name::new(name);
        if let Some((_, column)) = self.column_of(world, number, &known) {
            return match self.column(engine, world, column) {
                Ok(value) => Ok(to_script(&value)),
                Err(stop) => Err(raise(stop, position)),
            };
        }
        match self.base().field(&world.job, &known) {
            Some(Item::Value(Value::Error(message))) => {
                let label = self.base().label(&world.job);
                Err(error_cell(label.as_deref(), name, &message).carry(position))
            }
            Some(item) => Ok(item_to_script(&item)),
            None => Err(self.unknown(world, name).raise(position)),
        }
    }

    /// The column that a name means; none where it means a field. A column that reads its own name
    /// means the row's own field.
    pub fn column_of<T: AsRef<str>>(
        &self,
        world: &World,
        number: Option<usize>,
        name: &Name<T>,
    ) -> Option<(&Rc<LiveTable>, usize)> {
        let table = &self.being_computed()?.table;
        let column = table.by_name.get(number?).copied().flatten()?;
        let computing = world
            .stack
            .borrow()
            .last()
            .is_some_and(|(reader, at)| *at == column && Rc::ptr_eq(reader, table));
        let own = computing && self.base().field(&world.job, name).is_some();
        (!own).then_some((table, column))
    }

    fn unknown(&self, world: &World, name: &str) -> Fault {
        let mut names = self.base().names(&world.job);
        if let Some(live) = self.being_computed() {
            names.extend(live.table.columns.iter().map(|column| column.key.to_string()));
        }
        let place = match self.being_computed() {
            Some(live) => format!("in a row of `{}`", live.table.key),
            None => "here".to_owned(),
        };
        Fault::new("unknown-field", format!("there is no field or column `{name}` {place}"))
            .near(name, names.iter().map(String::as_str))
    }

    /// A column's value of this row, computed when first asked for.
    pub fn column(&self, engine: &Engine, world: &World, column: usize) -> Result<Value, Stop> {
        let done = |live: &Live| match &live.cells.borrow()[column] {
            Slot::Done(value) => Some(value.clone()),
            Slot::Empty | Slot::Busy | Slot::Failed(_) => None,
        };
        if let Some(value) = self.being_computed().and_then(done) {
            return Ok(value);
        }
        self.compute(engine, world, column)?;
        Ok(self.being_computed().and_then(done).unwrap_or_default())
    }

    /// Computes a column of this row where it was not asked for yet.
    pub fn compute(&self, engine: &Engine, world: &World, column: usize) -> Result<(), Stop> {
        let Some(live) = self.being_computed() else {
            return Err(Stop::Fault(Arc::new(Fault::new("script-error", "no column here"))));
        };
        match &live.cells.borrow()[column] {
            Slot::Done(_) => return Ok(()),
            Slot::Failed(fault) => return Err(Stop::Carried(fault.clone())),
            Slot::Busy => return Err(ring(live, world, column)),
            Slot::Empty => {}
        }
        if world.stack.borrow().len() >= world.bounds.column_levels {
            return Err(too_many_levels(live, world, column));
        }
        let definition = &live.table.columns[column];
        live.cells.borrow_mut()[column] = Slot::Busy;
        world.stack.borrow_mut().push((live.table.clone(), column));
        let direct = definition.direct.as_ref().and_then(|it| it.cell(engine, world, self));
        if let Some(value) = direct.and_then(|thing| cell_of(thing, definition)) {
            world.stack.borrow_mut().pop();
            live.cells.borrow_mut()[column] = Slot::Done(value);
            return Ok(());
        }
        let result = world.with_own_steps(|| {
            let (function, ast) = (&definition.function, &definition.ast);
            if definition.takes_job {
                function.call::<Dynamic>(engine, ast, (self.clone(), JobHandle))
            } else {
                function.call::<Dynamic>(engine, ast, (self.clone(),))
            }
        });
        let chain = if result.is_err() { world.stack.borrow().clone() } else { Vec::new() };
        world.stack.borrow_mut().pop();
        let result = match result {
            Ok(value) => plain_cell(&value, definition),
            Err(error) => Err(explain(&error, &world.known.borrow())),
        };
        let result = result.map_err(|stop| placed(stop, live, definition, &chain));
        let (slot, result) = match result {
            Ok(value) => (Slot::Done(value), Ok(())),
            Err(stop) => {
                let slot = match &stop {
                    Stop::Fault(fault) => {
                        live.faults.borrow_mut().push((column, fault.clone()));
                        Slot::Failed(fault.clone())
                    }
                    Stop::Carried(fault) => Slot::Failed(fault.clone()),
                    Stop::Need(_) | Stop::UsedUp(_) => Slot::Empty,
                };
                (slot, Err(stop))
            }
        };
        live.cells.borrow_mut()[column] = slot;
        result
    }

    /// The cells computed, one a column; they are no longer there.
    pub fn take_cells(&self) -> impl Iterator<Item = Value> {
        let cells = self.being_computed().map(|live| live.cells.take()).unwrap_or_default();
        cells.into_iter().map(|slot| match slot {
            Slot::Done(value) => value,
            Slot::Failed(fault) => error_value(&fault),
            Slot::Empty | Slot::Busy => Value::Blank,
        })
    }

    /// The faults that began in this row, each with its column and the columns it took along.
    pub fn faults(&self) -> Vec<(usize, Arc<Fault>)> {
        let Some(live) = self.being_computed() else { return Vec::new() };
        let mut faults = live.faults.take();
        faults.sort_by_key(|(column, _)| *column);
        for (column, fault) in &mut faults {
            let taken: Vec<String> = live
                .cells
                .borrow()
                .iter()
                .enumerate()
                .filter(|(at, slot)| {
                    *at != *column
                        && matches!(slot, Slot::Failed(other) if Arc::ptr_eq(other, fault))
                })
                .map(|(at, _)| live.table.columns[at].key.to_string())
                .collect();
            if !taken.is_empty() {
                let mut with_taken = Fault::clone(fault);
                with_taken.taken = taken;
                *fault = Arc::new(with_taken);
            }
        }
        faults
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

/// A fault that began in a column, with the columns that led there; where the engine does not know
/// its place, at the column.
fn placed(stop: Stop, live: &Live, column: &LiveColumn, chain: &[(Rc<LiveTable>, usize)]) -> Stop {
    let Stop::Fault(fault) = stop else { return stop };
    let mut fault = Fault::clone(&fault);
    if fault.line == 0 {
        let at = column.place.fault(fault.code, "");
        (fault.line, fault.column, fault.aim) = (at.line, at.column, at.aim);
    }
    let own = chain.iter().rev().take_while(|(table, _)| table.key == live.table.key);
    fault.chain = own.map(|(_, at)| live.table.columns[*at].key.to_string()).collect();
    fault.chain.reverse();
    Stop::Fault(Arc::new(fault))
}

/// More columns reading each other than may, as a fault of the one that reads one more.
fn too_many_levels(live: &Live, world: &World, column: usize) -> Stop {
    let levels = world.bounds.column_levels;
    let reader = world.stack.borrow().last().map_or(column, |(_, at)| *at);
    let message = format!("more than {levels} columns read each other, one through the next");
    let fault = Arc::new(live.table.columns[reader].place.fault("too-deep", message).hint(
        "a sum over the rows above is a column with `.running()`; else let a column read several at once",
    ));
    live.faults.borrow_mut().push((reader, fault.clone()));
    Stop::Carried(fault)
}

/// The columns that read each other in a ring, as a fault of the one declared first.
fn ring(live: &Live, world: &World, column: usize) -> Stop {
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
    live.faults.borrow_mut().push((first, fault.clone()));
    Stop::Carried(fault)
}

/// A stop as an engine error that scripts can not catch.
pub fn raise(stop: Stop, position: Position) -> Box<EvalAltResult> {
    let token = match stop {
        Stop::Fault(fault) | Stop::Carried(fault) => Dynamic::from(Carried(fault)),
        Stop::Need(table) => Dynamic::from(Need(table)),
        Stop::UsedUp(limit) => Dynamic::from(limit),
    };
    Box::new(EvalAltResult::ErrorTerminated(token, position))
}

impl IntoIterator for Rows {
    type Item = Row;
    type IntoIter = RowsIter;
    fn into_iter(self) -> RowsIter {
        RowsIter { rows: self.0, next: 0 }
    }
}

/// Goes over rows one by one.
pub struct RowsIter {
    rows: Arc<[Base]>,
    next: usize,
}

impl Iterator for RowsIter {
    type Item = Row;
    fn next(&mut self) -> Option<Row> {
        let base = self.rows.get(self.next)?.clone();
        self.next += 1;
        Some(Row::plain(base))
    }
}
