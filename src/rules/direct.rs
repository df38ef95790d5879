//! Functions of scripts computed without the engine: what is made of fields, arithmetic,
//! comparisons, built-ins and other such functions, over plain values.
//!
//! In: a function of a script. Out: the same function as a tree of nodes. Wherever a node meets
//! something that it does not know for certain (another kind of value, a failing built-in, an
//! overflow), it gives up, and the engine computes the cell from its beginning: messages and odd
//! cases stay the engine's. Scripts are pure, so nothing is lost but time. That both give the same
//! is held by a test over every cell of generated jobs.

use std::borrow::Cow;
use std::cell::{Cell, OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{AST, Dynamic, Engine, FnPtr};

use super::alike::Reads;
use super::asked::Method;
use super::engine::{Named, computed};
use super::functions::Functions;
use super::item::Base;
use super::made::Fields;
use super::row::Row;
use super::rowset::count;
use super::thing::{
    Arithmetic, Compared, Left, Outcome, Size, Thing, arithmetic, checked, compared, equal, is_in,
    length_of, negative, thing_of, truth,
};
use super::tree::{At, Maker};
use super::world::{World, argument_key};
use crate::job::name::Name;
use crate::record::Shape;
use crate::value::Value;

/// A function as a tree of nodes.
pub struct Direct {
    pub parameters: usize,
    /// Places of its parameters and variables.
    pub places: usize,
    pub body: Node,
    /// Whether it goes over lists, or makes one step by step.
    pub has_loops: bool,
    /// How often it gave up, and how often it did for many rows together.
    pub given_up: Cell<u32>,
    pub parted: Cell<u32>,
    /// Its value, where it takes nothing: scripts are pure, so it has one.
    pub only: OnceCell<Thing>,
    /// What it reads of a row that it takes first, where rows alike in that are computed once.
    pub reads: OnceCell<Option<Reads>>,
}

/// A function that gives up so often is left to the engine.
pub const MOST_GIVEN_UP: u32 = 32;

pub enum Node {
    /// What only the engine computes.
    Unknown,
    Constant(Thing),
    Place(usize),
    /// With the name's number in the world, if it has one.
    Field(Box<Node>, Name<Arc<str>>, Option<usize>),
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
    /// Items by the names of a shape.
    Map(Arc<Shape>, Vec<Node>),
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

impl Node {
    /// Whether it is such a node or one below it is.
    pub fn any(&self, is: &dyn Fn(&Node) -> bool) -> bool {
        let two = |parts: &(Node, Node)| parts.0.any(is) || parts.1.any(is);
        let some = |parts: &[Node]| parts.iter().any(|part| part.any(is));
        is(self)
            || match self {
                Node::Unknown
                | Node::Constant(_)
                | Node::Place(_)
                | Node::Break
                | Node::Continue
                | Node::Function(..) => false,
                Node::Field(of, ..)
                | Node::Not(of)
                | Node::Negative(of)
                | Node::Put(_, of)
                | Node::PutField(_, _, of)
                | Node::Push(_, of)
                | Node::Return(of)
                | Node::Length(of)
                | Node::IsEmpty(of) => of.any(is),
                Node::Item(a, b) | Node::Each { list: a, body: b, .. } => a.any(is) || b.any(is),
                Node::Arithmetic(_, parts)
                | Node::Equal(_, parts)
                | Node::Compared(_, parts)
                | Node::Range(parts)
                | Node::While(parts)
                | Node::Table(parts)
                | Node::HeadValue(parts)
                | Node::In(parts) => two(parts),
                Node::If(parts) => parts.0.any(is) || parts.1.any(is) || parts.2.any(is),
                Node::And(parts)
                | Node::Or(parts)
                | Node::FirstGiven(parts)
                | Node::Steps(parts)
                | Node::List(parts)
                | Node::Map(_, parts)
                | Node::Text(parts)
                | Node::BuiltIn(_, parts)
                | Node::Call(_, parts) => some(parts),
                Node::Method(_, of, parts) => of.any(is) || some(parts),
            }
    }
}

impl Direct {
    /// Its value for these arguments; `None` where the engine must compute it.
    fn value(&self, engine: &Engine, world: &World, arguments: Vec<Thing>) -> Option<Thing> {
        if self.given_up.get() > MOST_GIVEN_UP {
            return None;
        }
        let run = Run { engine, world, own_steps: false };
        let result = run.function(self, arguments).ok();
        if result.is_none() {
            self.given_up.set(self.given_up.get() + 1);
        }
        result
    }
}

/// Computes nodes.
pub struct Run<'a> {
    pub engine: &'a Engine,
    pub world: &'a World,
    /// Whether each of many rows has a cell's step budget of its own; else all take from the one at
    /// hand.
    pub own_steps: bool,
}

impl Run<'_> {
    pub fn function(&self, direct: &Direct, mut places: Vec<Thing>) -> Outcome {
        if places.len() != direct.parameters {
            return Err(Left::GivenUp);
        }
        places.resize(direct.places, Thing::Value(Value::Blank));
        let result = self.world.call(|| match self.node(&direct.body, &mut places) {
            Err(Left::Returned(thing)) => Ok(*thing),
            other => other,
        });
        self.world.spare.put(places);
        result.unwrap_or(Err(Left::GivenUp))
    }

    /// A value as long as it is no larger than the engine lets it be.
    pub fn fitting(&self, thing: Thing) -> Outcome {
        if Size::default().adds(&thing, &self.world.bounds) {
            Ok(thing)
        } else {
            Err(Left::GivenUp)
        }
    }

    pub fn arithmetic(&self, sign: Arithmetic, a: &Thing, b: &Thing) -> Outcome {
        let result = arithmetic(sign, a, b)?;
        match &result {
            Thing::List(_) | Thing::Value(Value::Text(_)) => self.fitting(result),
            _ => Ok(result),
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
            Node::Negative(of) => negative(&self.node(of, places)?),
            Node::Arithmetic(sign, sides) => {
                let (a, b) = (self.side(&sides.0, places)?, self.side(&sides.1, places)?);
                self.arithmetic(*sign, &a, &b)
            }
            Node::Equal(wanted, sides) => {
                let (a, b) = (self.side(&sides.0, places)?, self.side(&sides.1, places)?);
                equal(&a, &b).map(|equal| truth(equal == *wanted))
            }
            Node::Compared(sign, sides) => {
                let (a, b) = (self.side(&sides.0, places)?, self.side(&sides.1, places)?);
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

    /// A side of an operation: a constant is not copied for it.
    fn side<'n>(&self, node: &'n Node, places: &mut [Thing]) -> Result<Cow<'n, Thing>, Left> {
        match node {
            Node::Constant(thing) => Ok(Cow::Borrowed(thing)),
            other => self.node(other, places).map(Cow::Owned),
        }
    }

    /// What goes over lists, keeps and makes.
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
                let item = self.fitting(self.node(of, places)?)?.into_item()?;
                let Some(Thing::Map(fields)) = places.get_mut(*place) else {
                    return Err(Left::GivenUp);
                };
                Arc::make_mut(fields).put(name, item);
                Ok(Thing::Value(Value::Blank))
            }
            Node::Push(place, of) => {
                let item = self.fitting(self.node(of, places)?)?;
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
            Node::Return(of) => Err(Left::Returned(Box::new(self.node(of, places)?))),
            Node::List(items) => {
                let items = items.iter().map(|item| self.node(item, places));
                self.fitting(Thing::List(Rc::new(items.collect::<Result<_, _>>()?)))
            }
            Node::Map(shape, fields) => {
                let mut items = Vec::with_capacity(fields.len());
                for field in fields {
                    items.push(self.node(field, places)?.into_item()?);
                }
                self.fitting(Thing::Map(Arc::new(Fields::new(shape.clone(), items))))
            }
            other => self.asking_node(other, places),
        }
    }

    /// What calls and asks.
    fn asking_node(&self, node: &Node, places: &mut [Thing]) -> Outcome {
        match node {
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
                is_in(&item, &all).map(truth)
            }
            Node::Text(parts) => {
                let mut given = Vec::with_capacity(parts.len());
                for part in parts {
                    given.push(self.node(part, places)?);
                }
                self.text_of(&given)
            }
            Node::BuiltIn(named, arguments) => {
                let mut given = Vec::with_capacity(arguments.len());
                for argument in arguments {
                    given.push(self.node(argument, places)?);
                }
                self.built_in(named, &given)
            }
            Node::Call(function, arguments) if arguments.is_empty() => self.only(function),
            Node::Call(function, arguments) => {
                let mut given = self.world.spare.take();
                for argument in arguments {
                    given.push(self.node(argument, places)?);
                }
                self.function(function, given)
            }
            Node::Table(parts) => {
                let (job, key) = (self.node(&parts.0, places)?, self.node(&parts.1, places)?);
                self.table(&job, &key)
            }
            Node::HeadValue(parts) => {
                let (job, key) = (self.node(&parts.0, places)?, self.node(&parts.1, places)?);
                self.head_value(&job, &key)
            }
            Node::Length(of) => length_of(&self.node(of, places)?),
            Node::IsEmpty(of) => Ok(truth(self.node(of, places)?.length()? == 0)),
            _ => Err(Left::GivenUp),
        }
    }

    /// The value of a function that takes nothing, computed once.
    pub fn only(&self, function: &Direct) -> Outcome {
        if let Some(only) = function.only.get() {
            return Ok(only.clone());
        }
        let thing = self.function(function, self.world.spare.take())?;
        Ok(function.only.get_or_init(|| thing).clone())
    }

    /// A built-in's result; where it is remembered, known again by the arguments as they stand.
    pub fn built_in(&self, named: &Named, given: &[Thing]) -> Outcome {
        if !named.remembered {
            let values = self.arguments(given)?;
            let result = computed(named, &values).map_err(|_| Left::GivenUp)?;
            return checked(result.map_err(|_| Left::GivenUp)?);
        }
        let mut key = named.key();
        for thing in given {
            self.key(thing, &mut key)?;
        }
        let result = if let Some(result) = self.world.remembered(&key) {
            result
        } else {
            let values = self.arguments(given)?;
            let result = computed(named, &values).map_err(|_| Left::GivenUp)?;
            self.world.remember(key, values, &result);
            result
        };
        checked(result.map_err(|_| Left::GivenUp)?)
    }

    fn arguments(&self, given: &[Thing]) -> Result<Vec<Value>, Left> {
        given.iter().map(|thing| self.argument_of(thing.clone())).collect()
    }

    /// The bytes by which an argument is known again.
    fn key(&self, thing: &Thing, key: &mut Vec<u8>) -> Result<(), Left> {
        match thing {
            Thing::Value(value) => argument_key(value, key),
            Thing::Map(fields) => fields.key(key).ok_or(Left::GivenUp)?,
            Thing::List(items) => {
                key.push(b'[');
                for item in items.iter() {
                    self.key(item, key)?;
                }
                key.push(b']');
            }
            other => argument_key(&self.argument_of(other.clone())?, key),
        }
        Ok(())
    }

    pub fn table(&self, job: &Thing, key: &Thing) -> Outcome {
        match job {
            Thing::Job => self.world.table_rows(key.text()?).map(Thing::Rows).ok_or(Left::GivenUp),
            _ => Err(Left::GivenUp),
        }
    }

    pub fn head_value(&self, job: &Thing, key: &Thing) -> Outcome {
        match job {
            Thing::Job => checked(self.world.job.head_value(key.text()?)),
            _ => Err(Left::GivenUp),
        }
    }

    fn field(
        &self,
        of: &Node,
        name: &Name<Arc<str>>,
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

    pub fn field_of(&self, of: &Thing, name: &Name<Arc<str>>, number: Option<usize>) -> Outcome {
        match of {
            Thing::Row(row) => {
                if let Some((_, column)) = row.column_of(self.world, number, name) {
                    let value = row.column(self.engine, self.world, column);
                    return value.map(Thing::Value).map_err(|_| Left::GivenUp);
                }
                match row.base().field(&self.world.job, name) {
                    Some(item) => thing_of(item),
                    None => Err(Left::GivenUp),
                }
            }
            Thing::Value(Value::Record(record)) => {
                name.as_written(record).cloned().map_or(Err(Left::GivenUp), checked)
            }
            Thing::Map(fields) => {
                fields.as_written(name).cloned().map_or(Err(Left::GivenUp), thing_of)
            }
            Thing::Rows(rows) => match name.text() {
                "len" => Ok(Thing::Value(Value::Count(count(rows.0.len())))),
                "first" if rows.0.is_empty() => Ok(Thing::Value(Value::Blank)),
                "first" => of.at(0),
                _ => Err(Left::GivenUp),
            },
            Thing::Job if name.text() == "head" => {
                Ok(Thing::Value(Value::Record(self.world.job.head.clone())))
            }
            Thing::Job => self.world.job_rows(name.text()).map(Thing::Rows).ok_or(Left::GivenUp),
            Thing::Value(_) | Thing::List(_) | Thing::Function(_) => Err(Left::GivenUp),
        }
    }

    pub fn item(&self, of: &Thing, at: &Thing) -> Outcome {
        match (of, at) {
            (_, Thing::Value(Value::Count(at))) => {
                of.at(usize::try_from(*at).map_err(|_| Left::GivenUp)?)
            }
            (Thing::Row(_), Thing::Value(Value::Text(name))) => {
                let number = self.world.names.borrow().get(name).copied();
                self.field_of(of, &Name::new(name.clone()), number)
            }
            (Thing::Value(Value::Record(_)) | Thing::Map(_), Thing::Value(Value::Text(name))) => {
                self.field_of(of, &Name::new(name.clone()), None)
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

    /// Parts as one text.
    pub fn text_of(&self, parts: &[Thing]) -> Outcome {
        let mut text = String::new();
        for part in parts {
            match part {
                Thing::Value(Value::Text(part)) => text.push_str(part),
                Thing::Value(Value::Count(count)) => text.push_str(&count.to_string()),
                // As the engine spells it.
                Thing::Value(Value::Number(number)) => {
                    text.push_str(&Dynamic::from_float(*number).to_string());
                }
                Thing::Value(Value::Blank) => {}
                _ => return Err(Left::GivenUp),
            }
        }
        if text.len() > self.world.bounds.text {
            return Err(Left::GivenUp);
        }
        Ok(Thing::Value(Value::text(text)))
    }

    /// An argument of a built-in: a plain value, or the record of a deck for a row of the decks.
    pub fn argument_of(&self, thing: Thing) -> Result<Value, Left> {
        match thing {
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
}

/// Lists for the places of functions, used again.
#[derive(Default)]
pub struct Spare(RefCell<Vec<Vec<Thing>>>);

impl Spare {
    pub fn take(&self) -> Vec<Thing> {
        self.0.borrow_mut().pop().unwrap_or_default()
    }

    fn put(&self, mut places: Vec<Thing>) {
        places.clear();
        self.0.borrow_mut().push(places);
    }
}

/// A function given to `column`, `filter` or their like, with what it captured.
#[derive(Clone)]
pub struct Given {
    pub function: Rc<Direct>,
    pub captured: Vec<Thing>,
}

impl Given {
    /// Its value for a row, and for the job where it takes that too, as a cell of its own; `None`
    /// where the engine must compute it.
    pub fn cell(&self, engine: &Engine, world: &World, row: &Row) -> Option<Thing> {
        world.with_own_steps(|| match world.step() {
            Some(_) => None,
            None => self.with_job(engine, world, Some(Thing::Row(row.clone()))),
        })
    }

    /// Its value for a row that it is given by a method.
    pub fn value(&self, engine: &Engine, world: &World, row: &Row) -> Option<Thing> {
        let arguments = self.arguments(world, [Thing::Row(row.clone())]);
        self.function.value(engine, world, arguments)
    }

    /// Its value for the job, as the rows of a table or check.
    pub fn of_job(&self, engine: &Engine, world: &World) -> Option<Thing> {
        self.with_job(engine, world, None)
    }

    /// Its value for a row, if it is of one, and for the job where it takes that too.
    fn with_job(&self, engine: &Engine, world: &World, row: Option<Thing>) -> Option<Thing> {
        let mut arguments = self.arguments(world, row);
        if arguments.len() < self.function.parameters {
            arguments.push(Thing::Job);
        }
        self.function.value(engine, world, arguments)
    }

    /// What it captured and what it is given, with room for its variables.
    pub fn arguments(&self, world: &World, given: impl IntoIterator<Item = Thing>) -> Vec<Thing> {
        let mut arguments = world.spare.take();
        arguments.extend(self.captured.iter().cloned());
        arguments.extend(given);
        arguments
    }
}

/// All functions given in scripts, found by name.
pub struct Directs {
    maker: Maker,
    /// By file: its functions with the rules; the rules alone come last.
    asts: Vec<(Rc<AST>, OnceCell<Functions>)>,
    /// By name: the file that has it.
    files: RefCell<HashMap<String, Option<usize>>>,
}

impl Directs {
    pub fn new(asts: Vec<Rc<AST>>, rules: Rc<AST>) -> Directs {
        let asts = asts.into_iter().chain([rules]).map(|ast| (ast, OnceCell::new())).collect();
        Directs { maker: Maker::default(), asts, files: RefCell::default() }
    }

    /// Lets functions that gave up in one run be tried in another.
    pub fn try_again(&self) {
        for function in self.maker.made() {
            function.given_up.set(0);
            function.parted.set(0);
        }
    }

    fn functions(&self, file: usize) -> &Functions {
        let (ast, functions) = &self.asts[file];
        functions.get_or_init(|| Functions::of(ast))
    }

    /// The file that has a function; none where several have different ones of that name.
    fn file_of(&self, name: &str) -> Option<usize> {
        let mut having = (0..self.asts.len()).filter_map(|file| {
            self.functions(file).only(name).map(|definition| (file, definition))
        });
        let (file, first) = having.next()?;
        having.all(|(_, other)| rhai::Shared::ptr_eq(first, other)).then_some(file)
    }

    /// The function that a pointer means; `None` where only the engine computes it.
    pub fn given(&self, world: &World, pointer: &FnPtr) -> Option<Given> {
        let name = pointer.fn_name();
        let known = self.files.borrow().get(name).copied();
        let file = known.unwrap_or_else(|| {
            let file = self.file_of(name);
            self.files.borrow_mut().insert(name.to_owned(), file);
            file
        })?;
        let captured = pointer.iter_curry().map(|value| Thing::of(&value.flatten_clone()));
        let captured: Vec<Thing> = captured.collect::<Option<_>>()?;
        let at = |file, rules| At { file, functions: self.functions(file), rules };
        let rules = at(self.asts.len() - 1, None);
        let at = at(file, Some(&rules));
        Some(Given { function: self.maker.pointer(at, world, pointer)?, captured })
    }
}
