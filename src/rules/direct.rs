//! Functions of scripts computed without the engine: what is made of fields, arithmetic,
//! comparisons, built-ins and other such functions, over plain values.
//!
//! In: a function of a script. Out: the same function as a tree of nodes. Wherever a node meets
//! something that it does not know for certain (another kind of value, a failing built-in, an
//! overflow), it gives up, and the engine computes the cell from its beginning: messages and odd
//! cases stay the engine's. Scripts are pure, so nothing is lost but time. That both give the same
//! is held by a test over every cell of generated jobs.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{AST, Dynamic, Engine, FnPtr};

use super::bridge::{from_script, item_to_script, to_script};
use super::engine::{JobHandle, Named, plain_result};
use super::item::{Base, Fields, Item};
use super::row::{Row, Rows};
use super::rowset::{self, Amiss, count};
use super::tree::{At, Maker};
use super::world::World;
use crate::value::Value;

/// A function as a tree of nodes.
pub struct Direct {
    pub parameters: usize,
    /// Places of its parameters and variables.
    pub places: usize,
    pub body: Node,
    /// How often it gave up.
    pub given_up: Cell<u32>,
}

/// A function that gives up so often is left to the engine.
const MOST_GIVEN_UP: u32 = 32;

/// A value on the way.
#[derive(Clone)]
pub enum Thing {
    Value(Value),
    /// A list made by the script: it may be added to, and hold what is no plain value.
    List(Rc<Vec<Thing>>),
    /// A map made by the script: unlike a record it may be added to. Its keys are sorted.
    Map(Arc<Fields>),
    Row(Row),
    Rows(Rows),
    Job,
    /// A function with what it captured.
    Function(Rc<Given>),
}

/// Why a node has no value: it gave up, the function has returned one, or a loop ends or goes on.
enum Left {
    GivenUp,
    Returned(Thing),
    Broken,
    Continued,
}

type Outcome = Result<Thing, Left>;

pub enum Node {
    /// What only the engine computes.
    Unknown,
    Constant(Thing),
    Place(usize),
    Field(Box<Node>, Arc<str>, Option<usize>),
    Item(Box<Node>, Box<Node>),
    Not(Box<Node>),
    Negative(Box<Node>),
    Arithmetic(Arithmetic, Box<(Node, Node)>),
    /// Equal (true) or not.
    Equal(bool, Box<(Node, Node)>),
    Compared(Compared, Box<(Node, Node)>),
    And(Vec<Node>),
    Or(Vec<Node>),
    FirstGiven(Vec<Node>),
    If(Box<(Node, Node, Node)>),
    Each {
        list: Box<Node>,
        place: usize,
        body: Box<Node>,
    },
    /// From a whole number up to another, which is left out.
    Range(Box<(Node, Node)>),
    While(Box<(Node, Node)>),
    Break,
    Continue,
    Steps(Vec<Node>),
    Put(usize, Box<Node>),
    PutField(usize, Arc<str>, Box<Node>),
    Push(usize, Box<Node>),
    Return(Box<Node>),
    List(Vec<Node>),
    Map(Vec<(Arc<str>, Node)>),
    Text(Vec<Node>),
    BuiltIn(Rc<Named>, Vec<Node>),
    Call(Rc<Direct>, Vec<Node>),
    /// Of the job: a finished table, a value of its sheet.
    Table(Box<(Node, Node)>),
    HeadValue(Box<(Node, Node)>),
    Length(Box<Node>),
    IsEmpty(Box<Node>),
    /// Whether the first is in the second.
    In(Box<(Node, Node)>),
    Method(Method, Box<Node>, Vec<Node>),
    /// A function with the places that it captures.
    Function(Rc<Direct>, Vec<usize>),
}

/// What rows, lists and texts can be asked.
#[derive(Clone, Copy)]
pub enum Method {
    AsRows,
    EndsWith,
    Filter,
    Find,
    FlatMap,
    Group,
    GroupRows,
    Has,
    HasError,
    Map,
    Max,
    Min,
    Numbered,
    Reduce,
    Sort,
    StartsWith,
    Sum,
    Unique,
    Where,
    WithoutErrors,
}

impl Method {
    /// By its name in scripts and how many arguments it is given.
    pub fn of(name: &str, arguments: usize) -> Option<Method> {
        Some(match (name, arguments) {
            ("as_rows", 0) => Method::AsRows,
            ("ends_with", 1) => Method::EndsWith,
            ("filter", 1) => Method::Filter,
            ("find", 2) => Method::Find,
            ("flat_map", 1) => Method::FlatMap,
            ("group", 1) => Method::Group,
            ("group_rows", 1) => Method::GroupRows,
            ("has", 1) => Method::Has,
            ("has_error", 1) => Method::HasError,
            ("map", 1) => Method::Map,
            ("max", 1) => Method::Max,
            ("min", 1) => Method::Min,
            ("numbered", 3) => Method::Numbered,
            ("reduce", 2) => Method::Reduce,
            ("sort", 1) => Method::Sort,
            ("starts_with", 1) => Method::StartsWith,
            ("sum", 1) => Method::Sum,
            ("unique", 1) => Method::Unique,
            ("where", 2) => Method::Where,
            ("without_errors", 1) => Method::WithoutErrors,
            _ => return None,
        })
    }
}

#[derive(Clone, Copy)]
pub enum Arithmetic {
    Add,
    Subtract,
    Multiply,
    Divide,
}

#[derive(Clone, Copy)]
pub enum Compared {
    Less,
    AtMost,
    More,
    AtLeast,
}

impl Direct {
    /// Its value for these arguments; `None` where the engine must compute it.
    fn value(&self, engine: &Engine, world: &World, arguments: Vec<Thing>) -> Option<Thing> {
        if self.given_up.get() > MOST_GIVEN_UP {
            return None;
        }
        let run = Run { engine, world };
        let result = run.function(self, arguments).ok();
        if result.is_none() {
            self.given_up.set(self.given_up.get() + 1);
        }
        result
    }
}

impl Thing {
    /// What a captured value is; `None` where it is nothing plain.
    fn of(value: &Dynamic) -> Option<Thing> {
        if let Some(row) = value.read_lock::<Row>() {
            return Some(Thing::Row(row.clone()));
        }
        if let Some(rows) = value.read_lock::<Rows>() {
            return Some(Thing::Rows(rows.clone()));
        }
        if value.is::<JobHandle>() {
            return Some(Thing::Job);
        }
        if value.is_map() || value.is_array() {
            return None;
        }
        from_script(value).ok().map(Thing::Value)
    }

    /// As the rows of a table that is made; `None` where it is something else.
    pub fn into_rows(self) -> Option<Arc<[Base]>> {
        match self {
            Thing::Rows(rows) => Some(rows.0),
            Thing::List(items) => items.iter().map(|item| item.clone().into_base()).collect(),
            Thing::Value(Value::List(items)) => {
                items.iter().map(|item| Thing::Value(item.clone()).into_base()).collect()
            }
            _ => None,
        }
    }

    /// As a row that is made.
    fn into_base(self) -> Option<Base> {
        match self {
            Thing::Row(row) if !row.is_live() => Some(row.base().clone()),
            Thing::Map(fields) => Some(Base::Made(fields)),
            Thing::Value(Value::Record(record)) => {
                let fields =
                    record.iter().map(|(key, value)| (key.clone(), Item::Value(value.clone())));
                Some(Base::Made(Arc::new(fields.collect())))
            }
            _ => None,
        }
    }

    /// As scripts see it.
    pub fn into_script(self) -> Dynamic {
        match self {
            Thing::Value(value) => to_script(&value),
            Thing::List(items) => {
                Dynamic::from_array(items.iter().map(|item| item.clone().into_script()).collect())
            }
            Thing::Map(fields) => {
                let fields = fields.iter();
                Dynamic::from_map(
                    fields.map(|(key, item)| ((&**key).into(), item_to_script(item))).collect(),
                )
            }
            Thing::Row(row) => Dynamic::from(row),
            Thing::Rows(rows) => Dynamic::from(rows),
            Thing::Job => Dynamic::from(JobHandle),
            // Only what a method is given; no function's result.
            Thing::Function(_) => Dynamic::UNIT,
        }
    }

    /// As a plain value; `None` where it is none.
    pub fn plain(self) -> Option<Value> {
        self.into_value().ok()
    }

    fn is_blank(&self) -> bool {
        matches!(self, Thing::Value(Value::Blank))
    }

    fn into_value(self) -> Result<Value, Left> {
        match self {
            Thing::Value(value) => Ok(value),
            Thing::List(items) => items
                .iter()
                .map(|item| item.clone().into_value())
                .collect::<Result<Arc<[Value]>, _>>()
                .map(Value::List),
            Thing::Map(fields) => fields
                .iter()
                .map(|(key, item)| match item {
                    Item::Value(value) => Ok((key.clone(), value.clone())),
                    Item::Row(_) | Item::Rows(_) => Err(Left::GivenUp),
                })
                .collect::<Result<_, _>>()
                .map(|record| Value::Record(Arc::new(record))),
            Thing::Row(_) | Thing::Rows(_) | Thing::Job | Thing::Function(_) => Err(Left::GivenUp),
        }
    }

    fn into_item(self) -> Result<Item, Left> {
        match self {
            // The columns of a row that is being computed would be lost.
            Thing::Row(row) if row.is_live() => Err(Left::GivenUp),
            Thing::Row(row) => Ok(Item::Row(row.base().clone())),
            Thing::Rows(rows) => Ok(Item::Rows(rows.0)),
            Thing::List(items) if items.iter().any(|item| matches!(item, Thing::Row(_))) => {
                Thing::List(items).into_rows().map(Item::Rows).ok_or(Left::GivenUp)
            }
            other => other.into_value().map(Item::Value),
        }
    }

    /// The rows that a list or rows are.
    fn rows(&self) -> Result<Rows, Left> {
        match self {
            Thing::Rows(rows) => Ok(rows.clone()),
            _ => Err(Left::GivenUp),
        }
    }

    fn text(&self) -> Result<&Arc<str>, Left> {
        match self {
            Thing::Value(Value::Text(text)) => Ok(text),
            _ => Err(Left::GivenUp),
        }
    }

    /// The names that a list of texts gives.
    fn names(&self) -> Result<Vec<Arc<str>>, Left> {
        self.items()?.map(|item| item?.text().cloned()).collect()
    }

    /// The items of a list or rows, one by one.
    fn items(&self) -> Result<impl Iterator<Item = Outcome> + '_, Left> {
        let length = self.length()?;
        Ok((0..length).map(|at| self.at(at)))
    }

    fn length(&self) -> Result<usize, Left> {
        match self {
            Thing::Value(Value::List(items)) => Ok(items.len()),
            Thing::List(items) => Ok(items.len()),
            Thing::Rows(rows) => Ok(rows.0.len()),
            _ => Err(Left::GivenUp),
        }
    }

    fn at(&self, at: usize) -> Outcome {
        let item = match self {
            Thing::Value(Value::List(items)) => items.get(at).cloned().map(checked),
            Thing::List(items) => items.get(at).cloned().map(Ok),
            Thing::Rows(rows) => {
                rows.0.get(at).cloned().map(|base| Ok(Thing::Row(Row::plain(base))))
            }
            _ => None,
        };
        item.unwrap_or(Err(Left::GivenUp))
    }
}

/// Computes nodes.
struct Run<'a> {
    engine: &'a Engine,
    world: &'a World,
}

impl Run<'_> {
    fn function(&self, direct: &Direct, mut places: Vec<Thing>) -> Outcome {
        if places.len() != direct.parameters {
            return Err(Left::GivenUp);
        }
        places.resize(direct.places, Thing::Value(Value::Blank));
        match self.node(&direct.body, &mut places) {
            Err(Left::Returned(thing)) => Ok(thing),
            other => other,
        }
    }

    fn node(&self, node: &Node, places: &mut [Thing]) -> Outcome {
        match node {
            Node::Unknown => Err(Left::GivenUp),
            Node::Constant(thing) => Ok(thing.clone()),
            Node::Place(at) => places.get(*at).cloned().ok_or(Left::GivenUp),
            Node::Field(of, name, number) => self.field(of, name, *number, places),
            Node::Item(of, at) => {
                let (of, at) = (self.node(of, places)?, self.node(at, places)?);
                self.item(&of, &at)
            }
            Node::Not(of) => Ok(truth(!self.truth(of, places)?)),
            Node::Negative(of) => match self.node(of, places)? {
                Thing::Value(Value::Number(number)) => Ok(Thing::Value(Value::Number(-number))),
                Thing::Value(Value::Count(count)) => {
                    count.checked_neg().map(|n| Thing::Value(Value::Count(n))).ok_or(Left::GivenUp)
                }
                _ => Err(Left::GivenUp),
            },
            Node::Arithmetic(sign, sides) => {
                let (a, b) = (self.node(&sides.0, places)?, self.node(&sides.1, places)?);
                arithmetic(*sign, &a, &b)
            }
            Node::Equal(wanted, sides) => {
                let (a, b) = (self.node(&sides.0, places)?, self.node(&sides.1, places)?);
                equal(&a, &b).map(|equal| truth(equal == *wanted))
            }
            Node::Compared(sign, sides) => {
                let (a, b) = (self.node(&sides.0, places)?, self.node(&sides.1, places)?);
                compared(*sign, &a, &b).map(truth)
            }
            Node::And(parts) => self.until(parts, false, places),
            Node::Or(parts) => self.until(parts, true, places),
            Node::FirstGiven(parts) => {
                let mut last = Thing::Value(Value::Blank);
                for part in parts {
                    last = self.node(part, places)?;
                    if !last.is_blank() {
                        break;
                    }
                }
                Ok(last)
            }
            Node::If(parts) => {
                let chosen = if self.truth(&parts.0, places)? { &parts.1 } else { &parts.2 };
                self.node(chosen, places)
            }
            other => self.other_node(other, places),
        }
    }

    /// What makes, keeps and calls.
    fn other_node(&self, node: &Node, places: &mut [Thing]) -> Outcome {
        match node {
            Node::Each { list, place, body } => self.each(list, *place, body, places),
            Node::Steps(steps) => {
                let mut last = Thing::Value(Value::Blank);
                for step in steps {
                    last = self.node(step, places)?;
                }
                Ok(last)
            }
            Node::Put(place, of) => {
                let thing = self.node(of, places)?;
                *places.get_mut(*place).ok_or(Left::GivenUp)? = thing;
                Ok(Thing::Value(Value::Blank))
            }
            Node::PutField(place, name, of) => {
                let item = self.node(of, places)?.into_item()?;
                let Some(Thing::Map(fields)) = places.get_mut(*place) else {
                    return Err(Left::GivenUp);
                };
                put_sorted(Arc::make_mut(fields), name.clone(), item);
                Ok(Thing::Value(Value::Blank))
            }
            Node::Push(place, of) => {
                let item = self.node(of, places)?;
                let list = places.get_mut(*place).ok_or(Left::GivenUp)?;
                if let Thing::Value(Value::List(_)) = list {
                    let items = list.items()?.collect::<Result<_, _>>();
                    *list = Thing::List(Rc::new(items?));
                }
                let Thing::List(items) = list else { return Err(Left::GivenUp) };
                if items.len() >= self.world.bounds.list || self.world.step().is_some() {
                    return Err(Left::GivenUp);
                }
                Rc::make_mut(items).push(item);
                Ok(Thing::Value(Value::Blank))
            }
            Node::While(parts) => {
                while self.truth(&parts.0, places)? {
                    if self.world.step().is_some() {
                        return Err(Left::GivenUp);
                    }
                    match self.node(&parts.1, places) {
                        Ok(_) | Err(Left::Continued) => {}
                        Err(Left::Broken) => break,
                        Err(left) => return Err(left),
                    }
                }
                Ok(Thing::Value(Value::Blank))
            }
            Node::Break => Err(Left::Broken),
            Node::Continue => Err(Left::Continued),
            Node::Return(of) => Err(Left::Returned(self.node(of, places)?)),
            Node::List(items) => {
                let items = items.iter().map(|item| self.node(item, places));
                Ok(Thing::List(Rc::new(items.collect::<Result<_, _>>()?)))
            }
            Node::Map(fields) => {
                let mut made = Fields::with_capacity_and_hasher(fields.len(), Default::default());
                for (name, field) in fields {
                    made.insert(name.clone(), self.node(field, places)?.into_item()?);
                }
                Ok(Thing::Map(Arc::new(made)))
            }
            Node::Function(function, captured) => {
                let captured = captured.iter().map(|at| places.get(*at).cloned());
                let captured = captured.collect::<Option<_>>().ok_or(Left::GivenUp)?;
                Ok(Thing::Function(Rc::new(Given { function: function.clone(), captured })))
            }
            Node::Method(method, of, arguments) => {
                let of = self.node(of, places)?;
                let mut given = Vec::with_capacity(arguments.len());
                for argument in arguments {
                    given.push(self.node(argument, places)?);
                }
                self.method(*method, &of, &given)
            }
            Node::In(parts) => {
                let (item, all) = (self.node(&parts.0, places)?, self.node(&parts.1, places)?);
                self.is_in(&item, &all).map(truth)
            }
            Node::Text(parts) => self.text(parts, places),
            Node::BuiltIn(named, arguments) => {
                let mut given = Vec::with_capacity(arguments.len());
                for argument in arguments {
                    given.push(self.argument(argument, places)?);
                }
                let value = plain_result(self.world, named, &given).map_err(|_| Left::GivenUp)?;
                checked(value)
            }
            Node::Call(function, arguments) => {
                let mut given = Vec::with_capacity(function.places);
                for argument in arguments {
                    given.push(self.node(argument, places)?);
                }
                self.function(function, given)
            }
            Node::Table(parts) => {
                match (self.node(&parts.0, places)?, self.node(&parts.1, places)?) {
                    (Thing::Job, Thing::Value(Value::Text(key))) => {
                        self.world.table_rows(&key).map(Thing::Rows).ok_or(Left::GivenUp)
                    }
                    _ => Err(Left::GivenUp),
                }
            }
            Node::HeadValue(parts) => {
                match (self.node(&parts.0, places)?, self.node(&parts.1, places)?) {
                    (Thing::Job, Thing::Value(Value::Text(key))) => {
                        checked(self.world.job.head_value(&key))
                    }
                    _ => Err(Left::GivenUp),
                }
            }
            Node::Length(of) => {
                let length = self.node(of, places)?.length()?;
                Ok(Thing::Value(Value::Count(count(length))))
            }
            Node::IsEmpty(of) => Ok(truth(self.node(of, places)?.length()? == 0)),
            _ => Err(Left::GivenUp),
        }
    }

    fn field(
        &self,
        of: &Node,
        name: &Arc<str>,
        number: Option<usize>,
        places: &mut [Thing],
    ) -> Outcome {
        // What stands in a place is not copied for one of its fields.
        if let Node::Place(at) = of {
            return self.field_of(places.get(*at).ok_or(Left::GivenUp)?, name, number);
        }
        let of = self.node(of, places)?;
        self.field_of(&of, name, number)
    }

    fn field_of(&self, of: &Thing, name: &Arc<str>, number: Option<usize>) -> Outcome {
        match of {
            Thing::Row(row) => {
                if let Some((_, column)) = row.column_of(self.world, number, name) {
                    let value = row.column(self.engine, self.world, column);
                    return value.map(Thing::Value).map_err(|_| Left::GivenUp);
                }
                match row.base().get(&self.world.job, name) {
                    Some(item) => thing_of(item),
                    None => Err(Left::GivenUp),
                }
            }
            Thing::Value(Value::Record(record)) => {
                record.get(name).cloned().map_or(Err(Left::GivenUp), checked)
            }
            Thing::Map(fields) => fields.get(name).cloned().map_or(Err(Left::GivenUp), thing_of),
            Thing::Rows(rows) => match &**name {
                "len" => Ok(Thing::Value(Value::Count(count(rows.0.len())))),
                "first" if rows.0.is_empty() => Ok(Thing::Value(Value::Blank)),
                "first" => of.at(0),
                _ => Err(Left::GivenUp),
            },
            Thing::Job if &**name == "head" => {
                Ok(Thing::Value(Value::Record(self.world.job.head.clone())))
            }
            Thing::Job => self.world.job_rows(name).map(Thing::Rows).ok_or(Left::GivenUp),
            Thing::Value(_) | Thing::List(_) | Thing::Function(_) => Err(Left::GivenUp),
        }
    }

    fn item(&self, of: &Thing, at: &Thing) -> Outcome {
        match (of, at) {
            (_, Thing::Value(Value::Count(at))) => {
                of.at(usize::try_from(*at).map_err(|_| Left::GivenUp)?)
            }
            (Thing::Row(_), Thing::Value(Value::Text(name))) => {
                let number = self.world.names.borrow().get(name).copied();
                self.field_of(of, name, number)
            }
            (Thing::Value(Value::Record(_)) | Thing::Map(_), Thing::Value(Value::Text(name))) => {
                self.field_of(of, name, None)
            }
            _ => Err(Left::GivenUp),
        }
    }

    fn truth(&self, of: &Node, places: &mut [Thing]) -> Result<bool, Left> {
        match self.node(of, places)? {
            Thing::Value(Value::Bool(truth)) => Ok(truth),
            _ => Err(Left::GivenUp),
        }
    }

    /// Whether any part is as wanted; those behind it are not computed.
    fn until(&self, parts: &[Node], wanted: bool, places: &mut [Thing]) -> Outcome {
        for part in parts {
            if self.truth(part, places)? == wanted {
                return Ok(truth(wanted));
            }
        }
        Ok(truth(!wanted))
    }

    fn each(&self, list: &Node, place: usize, body: &Node, places: &mut [Thing]) -> Outcome {
        if let Node::Range(ends) = list {
            let (first, end) = (self.node(&ends.0, places)?, self.node(&ends.1, places)?);
            let (Thing::Value(Value::Count(first)), Thing::Value(Value::Count(end))) = (first, end)
            else {
                return Err(Left::GivenUp);
            };
            let numbers = (first..end).map(|number| Ok(Thing::Value(Value::Count(number))));
            return self.each_of(numbers, place, body, places);
        }
        let list = self.node(list, places)?;
        self.each_of(list.items()?, place, body, places)
    }

    fn each_of(
        &self,
        items: impl Iterator<Item = Outcome>,
        place: usize,
        body: &Node,
        places: &mut [Thing],
    ) -> Outcome {
        for item in items {
            if self.world.step().is_some() {
                return Err(Left::GivenUp);
            }
            *places.get_mut(place).ok_or(Left::GivenUp)? = item?;
            match self.node(body, places) {
                Ok(_) | Err(Left::Continued) => {}
                Err(Left::Broken) => break,
                Err(left) => return Err(left),
            }
        }
        Ok(Thing::Value(Value::Blank))
    }

    fn text(&self, parts: &[Node], places: &mut [Thing]) -> Outcome {
        let mut text = String::new();
        for part in parts {
            match self.node(part, places)? {
                Thing::Value(Value::Text(part)) => text.push_str(&part),
                Thing::Value(Value::Count(count)) => text.push_str(&count.to_string()),
                _ => return Err(Left::GivenUp),
            }
        }
        if text.len() > self.world.bounds.text {
            return Err(Left::GivenUp);
        }
        Ok(Thing::Value(Value::text(text)))
    }

    /// An argument of a built-in: a plain value, or the record of a deck for a row of the decks.
    fn argument(&self, node: &Node, places: &mut [Thing]) -> Result<Value, Left> {
        match self.node(node, places)? {
            Thing::Row(row) => match row.base() {
                Base::Deck(at) => {
                    let deck = self.world.job.decks.get(*at as usize).ok_or(Left::GivenUp)?;
                    Ok(Value::Record(deck.fields.clone()))
                }
                _ => Err(Left::GivenUp),
            },
            other => other.into_value(),
        }
    }

    fn is_in(&self, item: &Thing, all: &Thing) -> Result<bool, Left> {
        match all {
            Thing::Value(Value::Text(all)) => Ok(all.contains(&**item.text()?)),
            Thing::Map(fields) => Ok(fields.contains_key(item.text()?)),
            Thing::Value(Value::Record(record)) => Ok(record.contains_key(item.text()?)),
            _ => {
                for other in all.items()? {
                    if equal(item, &other?)? {
                        return Ok(true);
                    }
                }
                Ok(false)
            }
        }
    }

    fn method(&self, method: Method, of: &Thing, given: &[Thing]) -> Outcome {
        let world = self.world;
        match (method, given) {
            (Method::Filter | Method::Map | Method::FlatMap, [Thing::Function(function)]) => {
                self.with_each(method, of, function)
            }
            (Method::Reduce, [Thing::Function(function), first])
                if !matches!(of, Thing::Rows(_)) =>
            {
                of.items()?
                    .try_fold(first.clone(), |so_far, item| self.given(function, [so_far, item?]))
            }
            (Method::AsRows, []) => {
                let rows = of.clone().into_rows().ok_or(Left::GivenUp)?;
                Ok(Thing::Rows(Rows(rows)))
            }
            (Method::EndsWith, [end]) => Ok(truth(of.text()?.ends_with(&**end.text()?))),
            (Method::StartsWith, [start]) => Ok(truth(of.text()?.starts_with(&**start.text()?))),
            (Method::Find, [name, wanted]) => {
                let wanted = wanted.clone().into_value()?;
                let found = rowset::first_having(world, &of.rows()?, name.text()?, &wanted)?;
                Ok(found.map_or(Thing::Value(Value::Blank), |base| Thing::Row(Row::plain(base))))
            }
            (Method::Where, [name, wanted]) => {
                let wanted = wanted.clone().into_value()?;
                let rows = rowset::having(world, &of.rows()?, name.text()?, &wanted)?;
                Ok(Thing::Rows(rows))
            }
            (Method::Group, [names]) => {
                Ok(Thing::Rows(rowset::group(world, &of.rows()?, &names.names()?)?))
            }
            (Method::GroupRows, [names]) if !matches!(of, Thing::Rows(_)) => {
                let rows = Rows(of.clone().into_rows().ok_or(Left::GivenUp)?);
                Ok(Thing::Rows(rowset::group(world, &rows, &names.names()?)?))
            }
            (Method::Numbered, [name, within, by]) => {
                let (within, by) = (within.names()?, by.names()?);
                let rows = of.rows()?;
                Ok(Thing::Rows(rowset::numbered(world, &rows, name.text()?, (&within, &by))?))
            }
            (Method::Sort, [names]) => {
                Ok(Thing::Rows(rowset::sort(world, &of.rows()?, &names.names()?)?))
            }
            (Method::Sum, [name]) => checked(rowset::sum(world, &of.rows()?, name.text()?)?),
            (Method::Max | Method::Min, [name]) => {
                let greatest = matches!(method, Method::Max);
                checked(rowset::extreme(world, &of.rows()?, name.text()?, greatest)?)
            }
            (Method::Unique, [name]) => {
                let values = rowset::unique(world, &of.rows()?, name.text()?)?;
                let things = values.into_iter().map(checked).collect::<Result<_, _>>()?;
                Ok(Thing::List(Rc::new(things)))
            }
            (Method::WithoutErrors, [name]) => {
                Ok(Thing::Rows(rowset::without_errors(world, &of.rows()?, name.text()?)))
            }
            (Method::HasError, [name]) => {
                let name = name.text()?;
                let has_error = match of {
                    Thing::Row(row) => rowset::has_error(world, row.base(), name),
                    other => {
                        let rows = other.rows()?;
                        rows.0.iter().any(|base| rowset::has_error(world, base, name))
                    }
                };
                Ok(truth(has_error))
            }
            (Method::Has, [name]) => match of {
                Thing::Row(row) => Ok(truth(row.base().get(&world.job, name.text()?).is_some())),
                _ => Err(Left::GivenUp),
            },
            _ => Err(Left::GivenUp),
        }
    }

    /// Calls a function that was given to a method.
    fn given<const N: usize>(&self, given: &Given, arguments: [Thing; N]) -> Outcome {
        if self.world.step().is_some() {
            return Err(Left::GivenUp);
        }
        let mut all = Vec::with_capacity(given.function.places);
        all.extend(given.captured.iter().cloned());
        all.extend(arguments);
        self.function(&given.function, all)
    }

    /// Filters, or makes another thing or several of each.
    fn with_each(&self, method: Method, of: &Thing, function: &Given) -> Outcome {
        let answers = of.items()?.map(|item| {
            let item = item?;
            Ok::<_, Left>((item.clone(), self.given(function, [item])?))
        });
        match method {
            Method::Filter => {
                let mut kept = Vec::new();
                for answer in answers {
                    match answer? {
                        (item, Thing::Value(Value::Bool(true))) => kept.push(item),
                        (_, Thing::Value(Value::Bool(false))) => {}
                        _ => return Err(Left::GivenUp),
                    }
                }
                if !matches!(of, Thing::Rows(_)) {
                    return Ok(Thing::List(Rc::new(kept)));
                }
                let bases = kept.into_iter().map(Thing::into_base);
                bases
                    .collect::<Option<_>>()
                    .map(|rows| Thing::Rows(Rows(rows)))
                    .ok_or(Left::GivenUp)
            }
            Method::Map => {
                let made = answers.map(|answer| answer.map(|(_, made)| made));
                Ok(Thing::List(Rc::new(made.collect::<Result<_, _>>()?)))
            }
            // Lists can not be asked for that.
            _ => {
                let mut made = Vec::new();
                of.rows()?;
                for answer in answers {
                    let rows = answer?.1.into_rows().ok_or(Left::GivenUp)?;
                    made.extend(rows.iter().cloned());
                }
                Ok(Thing::Rows(Rows(made.into())))
            }
        }
    }
}

impl From<Amiss> for Left {
    fn from(_: Amiss) -> Left {
        Left::GivenUp
    }
}

const fn truth(truth: bool) -> Thing {
    Thing::Value(Value::Bool(truth))
}

/// A value that the engine would hold as it is.
fn checked(value: Value) -> Outcome {
    match value {
        Value::Error(_) => Err(Left::GivenUp),
        Value::Number(number) if !number.is_finite() => Err(Left::GivenUp),
        other => Ok(Thing::Value(other)),
    }
}

fn thing_of(item: Item) -> Outcome {
    match item {
        Item::Value(value) => checked(value),
        Item::Row(base) => Ok(Thing::Row(Row::plain(base))),
        Item::Rows(rows) => Ok(Thing::Rows(Rows(rows))),
    }
}

/// Puts a field where its name belongs: the engine's maps are sorted.
fn put_sorted(fields: &mut Fields, name: Arc<str>, item: Item) {
    if let Some(known) = fields.get_mut(&name) {
        *known = item;
        return;
    }
    let at = fields.keys().position(|known| *known > name).unwrap_or(fields.len());
    fields.shift_insert(at, name, item);
}

#[allow(clippy::cast_precision_loss, reason = "as the engine computes with whole numbers")]
fn numbers(a: &Thing, b: &Thing) -> Option<(f64, f64)> {
    let number = |thing: &Thing| match thing {
        Thing::Value(Value::Number(number)) => Some(*number),
        Thing::Value(Value::Count(count)) => Some(*count as f64),
        _ => None,
    };
    Some((number(a)?, number(b)?))
}

fn arithmetic(sign: Arithmetic, a: &Thing, b: &Thing) -> Outcome {
    if let (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) = (a, b) {
        let whole = match sign {
            Arithmetic::Add => a.checked_add(*b),
            Arithmetic::Subtract => a.checked_sub(*b),
            Arithmetic::Multiply => a.checked_mul(*b),
            // Whole numbers divide into decimal ones.
            Arithmetic::Divide => {
                let (a, b) =
                    numbers(&Thing::Value(Value::Count(*a)), &Thing::Value(Value::Count(*b)))
                        .ok_or(Left::GivenUp)?;
                return divided(a, b);
            }
        };
        return whole.map(|whole| Thing::Value(Value::Count(whole))).ok_or(Left::GivenUp);
    }
    if matches!(sign, Arithmetic::Add)
        && let Some(both) = joined(a, b)?
    {
        return Ok(both);
    }
    let (a, b) = numbers(a, b).ok_or(Left::GivenUp)?;
    let number = match sign {
        Arithmetic::Add => a + b,
        Arithmetic::Subtract => a - b,
        Arithmetic::Multiply => a * b,
        Arithmetic::Divide => return divided(a, b),
    };
    checked(Value::Number(number))
}

/// Texts, lists and rows one behind the other.
fn joined(a: &Thing, b: &Thing) -> Result<Option<Thing>, Left> {
    Ok(match (a, b) {
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => {
            Some(Thing::Value(Value::text(format!("{a}{b}"))))
        }
        (Thing::Rows(a), Thing::Rows(b)) => Some(Thing::Rows(rowset::both(a, b))),
        (
            Thing::List(_) | Thing::Value(Value::List(_)),
            Thing::List(_) | Thing::Value(Value::List(_)),
        ) => {
            let items = a.items()?.chain(b.items()?).collect::<Result<_, _>>()?;
            Some(Thing::List(Rc::new(items)))
        }
        _ => None,
    })
}

fn divided(a: f64, b: f64) -> Outcome {
    if b == 0.0 { Err(Left::GivenUp) } else { checked(Value::Number(a / b)) }
}

fn equal(a: &Thing, b: &Thing) -> Result<bool, Left> {
    if a.is_blank() || b.is_blank() {
        return Ok(a.is_blank() && b.is_blank());
    }
    match (a, b) {
        (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) => Ok(a == b),
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => Ok(a == b),
        (Thing::Value(Value::Bool(a)), Thing::Value(Value::Bool(b))) => Ok(a == b),
        (Thing::Value(Value::Date(a)), Thing::Value(Value::Date(b))) => Ok(a == b),
        _ => numbers(a, b).map(|(a, b)| a == b).ok_or(Left::GivenUp),
    }
}

fn compared(sign: Compared, a: &Thing, b: &Thing) -> Result<bool, Left> {
    let order = match (a, b) {
        (Thing::Value(Value::Count(a)), Thing::Value(Value::Count(b))) => Some(a.cmp(b)),
        (Thing::Value(Value::Text(a)), Thing::Value(Value::Text(b))) => Some(a.cmp(b)),
        (Thing::Value(Value::Date(a)), Thing::Value(Value::Date(b))) => Some(a.cmp(b)),
        _ => numbers(a, b).and_then(|(a, b)| a.partial_cmp(&b)),
    };
    let order = order.ok_or(Left::GivenUp)?;
    Ok(match sign {
        Compared::Less => order.is_lt(),
        Compared::AtMost => order.is_le(),
        Compared::More => order.is_gt(),
        Compared::AtLeast => order.is_ge(),
    })
}

/// A function given to `column`, `filter` or their like, with what it captured.
#[derive(Clone)]
pub struct Given {
    function: Rc<Direct>,
    captured: Vec<Thing>,
}

impl Given {
    /// Its value for a row, and for the job where it takes that too, as a cell of its own; `None`
    /// where the engine must compute it.
    pub fn cell(&self, engine: &Engine, world: &World, row: &Row) -> Option<Thing> {
        world.with_own_steps(|| match world.step() {
            Some(_) => None,
            None => self.value(engine, world, row),
        })
    }

    /// Its value for the job, as the rows of a table or check.
    pub fn of_job(&self, engine: &Engine, world: &World) -> Option<Thing> {
        let mut arguments = Vec::with_capacity(self.function.places);
        arguments.extend(self.captured.iter().cloned());
        if arguments.len() < self.function.parameters {
            arguments.push(Thing::Job);
        }
        self.function.value(engine, world, arguments)
    }

    /// The same as a part of what computes already.
    pub fn value(&self, engine: &Engine, world: &World, row: &Row) -> Option<Thing> {
        let mut arguments = Vec::with_capacity(self.function.places);
        arguments.extend(self.captured.iter().cloned());
        arguments.push(Thing::Row(row.clone()));
        if arguments.len() < self.function.parameters {
            arguments.push(Thing::Job);
        }
        self.function.value(engine, world, arguments)
    }
}

/// All functions given in scripts, found by name.
pub struct Directs {
    maker: Maker,
    /// By file: its functions with the rules.
    asts: Vec<Rc<AST>>,
    /// By name: the file that has it.
    files: RefCell<HashMap<String, Option<usize>>>,
}

impl Directs {
    pub fn new(asts: Vec<Rc<AST>>) -> Directs {
        Directs { maker: Maker::default(), asts, files: RefCell::default() }
    }

    /// The function that a pointer means; `None` where only the engine computes it.
    pub fn given(&self, world: &World, pointer: &FnPtr) -> Option<Given> {
        let name = pointer.fn_name();
        let has = |ast: &Rc<AST>| ast.iter_functions().any(|known| known.name == name);
        let known = self.files.borrow().get(name).copied();
        let file = known.unwrap_or_else(|| {
            let file = self.asts.iter().position(has);
            self.files.borrow_mut().insert(name.to_owned(), file);
            file
        })?;
        let captured = pointer.iter_curry().map(|value| Thing::of(&value.flatten_clone()));
        let captured: Vec<Thing> = captured.collect::<Option<_>>()?;
        let at = At { file, ast: &self.asts[file] };
        Some(Given { function: self.maker.pointer(at, world, pointer)?, captured })
    }
}
