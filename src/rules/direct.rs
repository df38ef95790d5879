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

use indexmap::IndexMap;
use rhai::{AST, Dynamic, Engine, FnPtr};

use super::bridge::{from_script, item_to_script, to_script};
use super::engine::{JobHandle, Named, plain_result};
use super::item::{Base, Item};
use super::row::{Row, Rows};
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
    /// A map made by the script: unlike a record it may be added to. Its keys are sorted.
    Map(IndexMap<Arc<str>, Item>),
    Row(Row),
    Rows(Rows),
    Job,
}

/// Why a node has no value: it gave up, or the function has returned one.
enum Left {
    GivenUp,
    Returned(Thing),
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
    Steps(Vec<Node>),
    Put(usize, Box<Node>),
    PutField(usize, Arc<str>, Box<Node>),
    Return(Box<Node>),
    List(Vec<Node>),
    Map(Vec<(Arc<str>, Node)>),
    Text(Vec<Node>),
    BuiltIn(Rc<Named>, Vec<Node>),
    Call(Rc<Direct>, Vec<Node>),
    /// Of the job: a finished table, a value of its sheet.
    Table(Box<(Node, Node)>),
    HeadValue(Box<(Node, Node)>),
    Has(Box<(Node, Node)>),
    Length(Box<Node>),
    IsEmpty(Box<Node>),
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
        if value.is_map() {
            return None;
        }
        from_script(value).ok().map(Thing::Value)
    }

    /// As the rows of a table that is made; `None` where it is something else.
    pub fn into_rows(self) -> Option<Arc<[Base]>> {
        match self {
            Thing::Rows(rows) => Some(rows.0),
            Thing::Value(Value::List(items)) => items
                .iter()
                .map(|item| match item {
                    Value::Record(record) => {
                        let fields = record
                            .iter()
                            .map(|(key, value)| (key.clone(), Item::Value(value.clone())));
                        Some(Base::Made(Arc::new(fields.collect())))
                    }
                    _ => None,
                })
                .collect(),
            Thing::Value(_) | Thing::Map(_) | Thing::Row(_) | Thing::Job => None,
        }
    }

    /// As scripts see it.
    pub fn into_script(self) -> Dynamic {
        match self {
            Thing::Value(value) => to_script(&value),
            Thing::Map(fields) => {
                let fields = fields.iter();
                Dynamic::from_map(
                    fields.map(|(key, item)| ((&**key).into(), item_to_script(item))).collect(),
                )
            }
            Thing::Row(row) => Dynamic::from(row),
            Thing::Rows(rows) => Dynamic::from(rows),
            Thing::Job => Dynamic::from(JobHandle),
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
            Thing::Map(fields) => fields
                .into_iter()
                .map(|(key, item)| match item {
                    Item::Value(value) => Ok((key, value)),
                    Item::Row(_) | Item::Rows(_) => Err(Left::GivenUp),
                })
                .collect::<Result<_, _>>()
                .map(|record| Value::Record(Arc::new(record))),
            Thing::Row(_) | Thing::Rows(_) | Thing::Job => Err(Left::GivenUp),
        }
    }

    fn into_item(self) -> Result<Item, Left> {
        match self {
            // The columns of a row that is being computed would be lost.
            Thing::Row(row) if row.is_live() => Err(Left::GivenUp),
            Thing::Row(row) => Ok(Item::Row(row.base().clone())),
            Thing::Rows(rows) => Ok(Item::Rows(rows.0)),
            other => other.into_value().map(Item::Value),
        }
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
                put_sorted(fields, name.clone(), item);
                Ok(Thing::Value(Value::Blank))
            }
            Node::Return(of) => Err(Left::Returned(self.node(of, places)?)),
            Node::List(items) => {
                let items: Result<Arc<[Value]>, Left> =
                    items.iter().map(|item| self.node(item, places)?.into_value()).collect();
                items.map(|items| Thing::Value(Value::List(items)))
            }
            Node::Map(fields) => {
                let mut made = IndexMap::with_capacity(fields.len());
                for (name, field) in fields {
                    made.insert(name.clone(), self.node(field, places)?.into_item()?);
                }
                Ok(Thing::Map(made))
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
            Node::Has(parts) => {
                match (self.node(&parts.0, places)?, self.node(&parts.1, places)?) {
                    (Thing::Row(row), Thing::Value(Value::Text(name))) => {
                        Ok(truth(row.base().get(&self.world.job, &name).is_some()))
                    }
                    _ => Err(Left::GivenUp),
                }
            }
            Node::Length(of) => {
                let length = self.length(of, places)?;
                i64::try_from(length)
                    .map(|length| Thing::Value(Value::Count(length)))
                    .map_err(|_| Left::GivenUp)
            }
            Node::IsEmpty(of) => Ok(truth(self.length(of, places)? == 0)),
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
            Thing::Value(_) | Thing::Rows(_) | Thing::Job => Err(Left::GivenUp),
        }
    }

    fn item(&self, of: &Thing, at: &Thing) -> Outcome {
        match (of, at) {
            (Thing::Value(Value::List(items)), Thing::Value(Value::Count(at))) => {
                let item = usize::try_from(*at).ok().and_then(|at| items.get(at));
                item.cloned().map_or(Err(Left::GivenUp), checked)
            }
            (Thing::Rows(rows), Thing::Value(Value::Count(at))) => {
                let base = usize::try_from(*at).ok().and_then(|at| rows.0.get(at));
                base.cloned().map(|base| Thing::Row(Row::plain(base))).ok_or(Left::GivenUp)
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
        let list = self.node(list, places)?;
        let length = match &list {
            Thing::Value(Value::List(items)) => items.len(),
            Thing::Rows(rows) => rows.0.len(),
            _ => return Err(Left::GivenUp),
        };
        for at in 0..length {
            if self.world.step().is_some() {
                return Err(Left::GivenUp);
            }
            let item = match &list {
                Thing::Value(Value::List(items)) => items.get(at).cloned().map(checked),
                Thing::Rows(rows) => {
                    rows.0.get(at).cloned().map(|base| Ok(Thing::Row(Row::plain(base))))
                }
                _ => None,
            };
            *places.get_mut(place).ok_or(Left::GivenUp)? = item.unwrap_or(Err(Left::GivenUp))?;
            self.node(body, places)?;
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

    fn length(&self, of: &Node, places: &mut [Thing]) -> Result<usize, Left> {
        match self.node(of, places)? {
            Thing::Value(Value::List(items)) => Ok(items.len()),
            Thing::Rows(rows) => Ok(rows.0.len()),
            _ => Err(Left::GivenUp),
        }
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
fn put_sorted(fields: &mut IndexMap<Arc<str>, Item>, name: Arc<str>, item: Item) {
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
    let (a, b) = numbers(a, b).ok_or(Left::GivenUp)?;
    let number = match sign {
        Arithmetic::Add => a + b,
        Arithmetic::Subtract => a - b,
        Arithmetic::Multiply => a * b,
        Arithmetic::Divide => return divided(a, b),
    };
    checked(Value::Number(number))
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
