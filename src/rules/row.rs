//! A row as scripts read it: `row.name` gives a field or another column of the same table, computed
//! when first read and remembered.

use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{Dynamic, Engine, EvalAltResult, Position};

use super::bridge::{item_to_script, to_script};
use super::fault::{Carried, Fault, Need, Stop, Trying};
use super::item::{Base, Item};
use super::live::{LiveRows, LiveTable};
use super::world::{World, error_cell};
use crate::job::name::Name;
use crate::value::Value;

/// A row.
#[derive(Clone)]
pub struct Row(Kind);

#[derive(Clone)]
enum Kind {
    Plain(Base),
    /// By its position among those that are computed with it.
    Live(Rc<LiveRows>, u32),
}

/// Rows, shared and not copied.
#[derive(Clone, Debug)]
pub struct Rows(pub Arc<[Base]>);

/// Some rows, in order.
#[derive(Clone)]
pub struct Part {
    of: Whole,
    at: Rc<[u32]>,
}

/// What rows are part of.
#[derive(Clone)]
enum Whole {
    Plain(Arc<[Base]>),
    Live(Rc<LiveRows>),
}

impl Row {
    /// A row without columns of its own.
    pub fn plain(base: Base) -> Row {
        Row(Kind::Plain(base))
    }

    /// One of some rows of a table that are being computed.
    pub fn live(rows: Rc<LiveRows>, at: u32) -> Row {
        Row(Kind::Live(rows, at))
    }

    pub fn base(&self) -> &Base {
        match &self.0 {
            Kind::Plain(base) => base,
            Kind::Live(live, at) => live.base(*at as usize),
        }
    }

    fn being_computed(&self) -> Option<(&Rc<LiveRows>, usize)> {
        match &self.0 {
            Kind::Plain(_) => None,
            Kind::Live(live, at) => Some((live, *at as usize)),
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
        let (live, _) = self.being_computed()?;
        let column = live.table.column_of(number)?;
        let own =
            live.table.is_computing(world, column) && self.base().field(&world.job, name).is_some();
        (!own).then_some((&live.table, column))
    }

    fn unknown(&self, world: &World, name: &str) -> Fault {
        let mut names = self.base().names(&world.job);
        if let Some((live, _)) = self.being_computed() {
            names.extend(live.table.columns.iter().map(|column| column.key.to_string()));
        }
        let place = match self.being_computed() {
            Some((live, _)) => format!("in a row of `{}`", live.table.key),
            None => "here".to_owned(),
        };
        Fault::new("unknown-field", format!("there is no field or column `{name}` {place}"))
            .near(name, names.iter().map(String::as_str))
    }

    /// A column's value of this row, computed when first asked for.
    pub fn column(&self, engine: &Engine, world: &World, column: usize) -> Result<Value, Stop> {
        match self.being_computed() {
            Some((live, at)) => live.cell(engine, world, column, at),
            None => Err(Stop::Fault(Arc::new(Fault::new("script-error", "no column here")))),
        }
    }
}

impl Part {
    /// Rows at these positions among rows without columns of their own; none where there are more than
    /// can be counted.
    pub fn plain(rows: &Arc<[Base]>, at: Range<usize>) -> Option<Part> {
        let at = u32::try_from(at.start).ok()?..u32::try_from(at.end).ok()?;
        Some(Part { of: Whole::Plain(rows.clone()), at: at.collect() })
    }

    /// All of some rows that are being computed.
    pub fn live(rows: Rc<LiveRows>) -> Option<Part> {
        let count = u32::try_from(rows.count()).ok()?;
        Some(Part { of: Whole::Live(rows), at: (0..count).collect() })
    }

    pub fn len(&self) -> usize {
        self.at.len()
    }

    pub fn row(&self, at: usize) -> Row {
        match &self.of {
            Whole::Plain(_) => Row::plain(self.base(at).clone()),
            Whole::Live(live) => Row::live(live.clone(), self.at[at]),
        }
    }

    pub fn base(&self, at: usize) -> &Base {
        let at = self.at[at] as usize;
        match &self.of {
            Whole::Plain(rows) => &rows[at],
            Whole::Live(live) => live.base(at),
        }
    }

    /// Those at some of the positions.
    pub fn pick(&self, chosen: &[u32]) -> Part {
        Part { of: self.of.clone(), at: chosen.iter().map(|&at| self.at[at as usize]).collect() }
    }

    /// The rows that are being computed, with the positions of these among them.
    pub fn being_computed(&self) -> Option<(&Rc<LiveRows>, &[u32])> {
        match &self.of {
            Whole::Plain(_) => None,
            Whole::Live(live) => Some((live, &self.at)),
        }
    }
}

/// A stop as an engine error that scripts can not catch.
pub fn raise(stop: Stop, position: Position) -> Box<EvalAltResult> {
    let token = match stop {
        Stop::Fault(fault) | Stop::Carried(fault) => Dynamic::from(Carried(fault)),
        Stop::Need(table) => Dynamic::from(Need(table)),
        Stop::Trying => Dynamic::from(Trying),
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
