//! Takes functions of scripts apart into trees of nodes that are computed without the engine.

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use rhai::{
    ASTFlags, ASTNode, BinaryExpr, Dynamic, Expr, FlowControl, FnCallExpr, FnPtr, OpAssignment,
    Stmt,
};

use super::asked::Method;
use super::bridge::from_script;
use super::calls::{function_given, may_change};
use super::direct::{Direct, Node};
use super::engine::Named;
use super::functions::{Functions, alone};
use super::item::Item;
use super::thing::{Arithmetic, Compared, Thing};
use super::world::World;
use crate::job::name::Name;
use crate::record::Shape;
use crate::value::Value;

/// A function's file, name, number of parameters and how many of them it captured.
type Key = (usize, String, usize, usize);

/// Makes trees of functions, each once.
#[derive(Default)]
pub struct Maker {
    /// `None` while it is made, and where it is nothing that could be computed directly.
    made: RefCell<HashMap<Key, Option<Rc<Direct>>>>,
    named: RefCell<HashMap<String, Rc<Named>>>,
}

/// Where a function stands: its file's number and that file's functions, the rules among them.
#[derive(Clone, Copy)]
pub struct At<'a> {
    pub file: usize,
    pub functions: &'a Functions,
    /// The rules alone, where this is a file: their trees are made once for all files.
    pub rules: Option<&'a At<'a>>,
}

impl Maker {
    /// A function given to `column`, `filter` and their like.
    pub fn pointer(&self, at: At<'_>, world: &World, pointer: &FnPtr) -> Option<Rc<Direct>> {
        self.with_captured(at, world, pointer.fn_name(), pointer.curry().len())
    }

    /// All functions made so far.
    pub fn made(&self) -> Vec<Rc<Direct>> {
        self.made.borrow().values().flatten().cloned().collect()
    }

    fn with_captured(
        &self,
        at: At<'_>,
        world: &World,
        name: &str,
        captured: usize,
    ) -> Option<Rc<Direct>> {
        let parameters = at.functions.only(name)?.params.len();
        self.function(at, world, name, (parameters, captured))
    }

    fn function(
        &self,
        at: At<'_>,
        world: &World,
        name: &str,
        (parameters, captured): (usize, usize),
    ) -> Option<Rc<Direct>> {
        let key = (at.file, name.to_owned(), parameters, captured);
        if let Some(made) = self.made.borrow().get(&key) {
            return made.clone();
        }
        self.made.borrow_mut().insert(key.clone(), None);
        let made = self.tree(at, world, name, (parameters, captured)).map(Rc::new);
        self.made.borrow_mut().insert(key, made.clone());
        made
    }

    fn tree(
        &self,
        at: At<'_>,
        world: &World,
        name: &str,
        (parameters, captured): (usize, usize),
    ) -> Option<Direct> {
        // The engine has bounds of its own on variables in sight.
        const MOST_PLACES: usize = 200;
        let definition = at.functions.get(name, parameters)?;
        let names: Vec<String> = definition.params.iter().map(ToString::to_string).collect();
        // Here each row would see the values captured at first.
        if may_change(at.functions, definition, names.get(..captured)?) {
            return None;
        }
        let mut tree = Tree { maker: self, at, world, names, places: parameters };
        let mut steps = Vec::new();
        alone(definition).walk(&mut |path: &[ASTNode]| {
            if let [ASTNode::Stmt(statement)] = path {
                steps.push(tree.statement(statement));
            }
            true
        });
        let body = without_returns(in_order(steps));
        (!matches!(body, Node::Unknown) && tree.places <= MOST_PLACES).then(|| Direct {
            parameters,
            places: tree.places,
            has_loops: has_loops(&body),
            body,
            given_up: Cell::new(0),
            parted: Cell::new(0),
            only: OnceCell::new(),
            reads: OnceCell::new(),
        })
    }

    fn named(&self, room: &str, name: &str) -> Option<Rc<Named>> {
        let key = format!("{room}::{name}");
        if let Some(named) = self.named.borrow().get(&key) {
            return Some(named.clone());
        }
        let room = super::rooms().iter().find(|known| known.name == room)?;
        let builtin = room.builtins().find(|known| known.name == name)?;
        let named = Rc::new(Named::of(room.name, builtin));
        self.named.borrow_mut().insert(key, named.clone());
        Some(named)
    }
}

/// Makes one function's tree.
struct Tree<'a> {
    maker: &'a Maker,
    at: At<'a>,
    world: &'a World,
    /// Names in sight, the innermost last, and places taken in all.
    names: Vec<String>,
    places: usize,
}

impl Tree<'_> {
    fn steps(&mut self, statements: &[Stmt]) -> Node {
        let outer = self.names.len();
        let steps = statements.iter().map(|statement| self.statement(statement)).collect();
        // Places are not given up again, so that a name's place is its number here.
        for name in &mut self.names[outer..] {
            name.clear();
        }
        in_order(steps)
    }

    fn statement(&mut self, statement: &Stmt) -> Node {
        match statement {
            Stmt::Noop(_) => Node::Constant(Thing::Value(Value::Blank)),
            Stmt::Expr(expression) => self.alone(expression),
            Stmt::FnCall(call, _) => self.call(call),
            Stmt::Block(block) => self.steps(block.statements()),
            Stmt::If(parts, _) => self.choice(parts),
            Stmt::For(parts, _) => {
                let (name, counter, flow) = &**parts;
                if counter.is_some() {
                    return Node::Unknown;
                }
                let list = Box::new(self.list_or_range(&flow.expr));
                let place = self.place(&name.name);
                let body = Box::new(self.steps(flow.body.statements()));
                self.names[place].clear();
                Node::Each { list, place, body }
            }
            Stmt::While(flow, _) => {
                let condition = self.expression(&flow.expr);
                let body = self.steps(flow.body.statements());
                Node::While(Box::new((condition, body)))
            }
            Stmt::BreakLoop(None, flags, _) if flags.contains(ASTFlags::BREAK) => Node::Break,
            Stmt::BreakLoop(None, ..) => Node::Continue,
            Stmt::Var(parts, flags, _) if flags.is_empty() => {
                let value = self.expression(&parts.1);
                Node::Put(self.place(&parts.0.name), Box::new(value))
            }
            Stmt::Assignment(parts) => self.assignment(&parts.0, &parts.1),
            Stmt::Return(expression, flags, _) if !flags.contains(ASTFlags::BREAK) => {
                let value = match expression {
                    Some(expression) => self.expression(expression),
                    None => Node::Constant(Thing::Value(Value::Blank)),
                };
                Node::Return(Box::new(value))
            }
            _ => Node::Unknown,
        }
    }

    /// An expression that is part of nothing: it may change what stands in a place.
    fn alone(&mut self, expression: &Expr) -> Node {
        match expression {
            Expr::Dot(..) => self.any_expression(expression),
            other => self.expression(other),
        }
    }

    /// What a loop goes over.
    fn list_or_range(&mut self, expression: &Expr) -> Node {
        match expression {
            Expr::FnCall(call, _) if call.name == ".." && call.args.len() == 2 => {
                let ends = (self.expression(&call.args[0]), self.expression(&call.args[1]));
                Node::Range(Box::new(ends))
            }
            other => self.expression(other),
        }
    }

    fn place(&mut self, name: &str) -> usize {
        self.names.push(name.to_owned());
        self.places += 1;
        self.places - 1
    }

    fn place_of(&self, name: &str) -> Option<usize> {
        self.names.iter().rposition(|known| known == name)
    }

    fn choice(&mut self, parts: &FlowControl) -> Node {
        let condition = self.expression(&parts.expr);
        let (yes, no) =
            (self.steps(parts.body.statements()), self.steps(parts.branch.statements()));
        Node::If(Box::new((condition, yes, no)))
    }

    fn assignment(&mut self, sign: &OpAssignment, sides: &BinaryExpr) -> Node {
        let value = self.expression(&sides.rhs);
        match &sides.lhs {
            Expr::Variable(name, ..) if name.2.is_empty() => {
                let Some(place) = self.place_of(&name.1) else { return Node::Unknown };
                let value = match sign.get_op_assignment_info() {
                    None => value,
                    Some((_, _, _, _, _, sign)) => {
                        let sign = match sign {
                            "+" => Arithmetic::Add,
                            "-" => Arithmetic::Subtract,
                            "*" => Arithmetic::Multiply,
                            _ => return Node::Unknown,
                        };
                        Node::Arithmetic(sign, Box::new((Node::Place(place), value)))
                    }
                };
                Node::Put(place, Box::new(value))
            }
            Expr::Dot(parts, flags, _)
                if !sign.is_op_assignment() && !flags.contains(ASTFlags::NEGATED) =>
            {
                let (Expr::Variable(name, ..), Expr::Property(field, _)) = (&parts.lhs, &parts.rhs)
                else {
                    return Node::Unknown;
                };
                match self.place_of(&name.1) {
                    Some(place) => Node::PutField(place, Arc::from(&*field.2), Box::new(value)),
                    None => Node::Unknown,
                }
            }
            _ => Node::Unknown,
        }
    }

    /// A part of an expression. It changes nothing that stood before: the engine does not read the
    /// parts of an expression in the order in which they are written.
    fn expression(&mut self, expression: &Expr) -> Node {
        let before = self.places;
        let node = self.any_expression(expression);
        let changes = |node: &Node| match node {
            Node::Put(place, _) | Node::PutField(place, ..) | Node::Push(place, _) => {
                *place < before
            }
            _ => false,
        };
        if is_made_of_steps(expression) && node.any(&changes) { Node::Unknown } else { node }
    }

    fn any_expression(&mut self, expression: &Expr) -> Node {
        let constant = |value| Node::Constant(Thing::Value(value));
        match expression {
            Expr::BoolConstant(truth, _) => constant(Value::Bool(*truth)),
            Expr::IntegerConstant(count, _) => constant(Value::Count(*count)),
            Expr::FloatConstant(number, _) => constant(Value::Number(**number)),
            Expr::StringConstant(text, _) => constant(Value::text(text.as_str())),
            Expr::Unit(_) => constant(Value::Blank),
            Expr::DynamicConstant(value, _) => made_of(value).map_or(Node::Unknown, Node::Constant),
            Expr::InterpolatedString(parts, _) => Node::Text(self.all(parts)),
            Expr::Array(items, _) => Node::List(self.all(items)),
            Expr::Map(parts, _) => {
                let mut fields: Vec<(Arc<str>, Node)> = parts
                    .0
                    .iter()
                    .map(|(name, field)| (Arc::from(name.name.as_str()), self.expression(field)))
                    .collect();
                fields.sort_by(|(a, _), (b, _)| a.cmp(b));
                let (names, fields): (Vec<_>, Vec<_>) = fields.into_iter().unzip();
                Node::Map(Shape::of(&names), fields)
            }
            Expr::Variable(name, ..) if name.2.is_empty() => {
                self.place_of(&name.1).map_or(Node::Unknown, Node::Place)
            }
            Expr::Stmt(block) => self.steps(block.statements()),
            Expr::FnCall(call, _) => self.call(call),
            Expr::Dot(parts, flags, _) => {
                let of = self.expression(&parts.lhs);
                self.chain(of, &parts.rhs, false, *flags)
            }
            Expr::Index(parts, flags, _) => {
                let of = self.expression(&parts.lhs);
                self.chain(of, &parts.rhs, true, *flags)
            }
            Expr::And(parts, _) => Node::And(self.all(parts)),
            Expr::Or(parts, _) => Node::Or(self.all(parts)),
            Expr::Coalesce(parts, _) => Node::FirstGiven(self.all(parts)),
            _ => Node::Unknown,
        }
    }

    fn all(&mut self, expressions: &[Expr]) -> Vec<Node> {
        expressions.iter().map(|expression| self.expression(expression)).collect()
    }

    /// What stands behind a dot or in brackets, link by link.
    fn chain(&mut self, of: Node, rest: &Expr, in_brackets: bool, flags: ASTFlags) -> Node {
        if flags.contains(ASTFlags::NEGATED) {
            return Node::Unknown;
        }
        if !flags.contains(ASTFlags::BREAK) {
            match rest {
                Expr::Dot(parts, flags, _) => {
                    let of = self.link(of, &parts.lhs, in_brackets);
                    return self.chain(of, &parts.rhs, false, *flags);
                }
                Expr::Index(parts, flags, _) => {
                    let of = self.link(of, &parts.lhs, in_brackets);
                    return self.chain(of, &parts.rhs, true, *flags);
                }
                _ => {}
            }
        }
        self.link(of, rest, in_brackets)
    }

    fn link(&mut self, of: Node, link: &Expr, in_brackets: bool) -> Node {
        match link {
            _ if in_brackets => Node::Item(Box::new(of), Box::new(self.expression(link))),
            Expr::Property(field, _) => {
                let name: Arc<str> = Arc::from(&*field.2);
                let number = self.world.names.borrow().get(&name).copied();
                Node::Field(Box::new(of), Name::new(name), number)
            }
            Expr::MethodCall(call, _) => self.method(of, call),
            _ => Node::Unknown,
        }
    }

    fn method(&mut self, of: Node, call: &FnCallExpr) -> Node {
        // A function of the scripts may have the name of a method.
        let own = self.at.functions.has(&call.name);
        match (call.name.as_str(), &*call.args) {
            _ if own => Node::Unknown,
            ("table", [key]) => Node::Table(Box::new((of, self.expression(key)))),
            ("value", [key]) => Node::HeadValue(Box::new((of, self.expression(key)))),
            ("len", []) => Node::Length(Box::new(of)),
            ("is_empty", []) => Node::IsEmpty(Box::new(of)),
            ("contains", [item]) => Node::In(Box::new((self.expression(item), of))),
            ("push", [item]) => match of {
                Node::Place(place) => Node::Push(place, Box::new(self.expression(item))),
                _ => Node::Unknown,
            },
            (name, arguments) => match Method::of(name, arguments.len()) {
                Some(method) => {
                    let root = root_of(&of);
                    let arguments: Vec<Node> =
                        arguments.iter().map(|argument| self.argument(argument)).collect();
                    // A function may not use what its method is called on.
                    let uses = |node: &Node| match node {
                        Node::Function(_, places) => root.is_some_and(|at| places.contains(&at)),
                        _ => false,
                    };
                    if arguments.iter().any(uses) {
                        return Node::Unknown;
                    }
                    Node::Method(method, Box::new(of), arguments)
                }
                None => Node::Unknown,
            },
        }
    }

    /// An argument of a method: it may be a function.
    fn argument(&mut self, argument: &Expr) -> Node {
        let Some((name, captured)) = function_given(argument) else {
            return self.expression(argument);
        };
        let places: Option<Vec<usize>> = captured.iter().map(|name| self.place_of(name)).collect();
        let function = self.maker.with_captured(self.at, self.world, &name, captured.len());
        match (function, places) {
            (Some(function), Some(places)) => Node::Function(function, places),
            _ => Node::Unknown,
        }
    }

    fn call(&mut self, call: &FnCallExpr) -> Node {
        if call.capture_parent_scope {
            return Node::Unknown;
        }
        let arguments = self.all(&call.args);
        if call.is_qualified() {
            let room = call.namespace.to_string();
            return match self.maker.named(&room, &call.name) {
                Some(named) if named.builtin.parameters.len() == arguments.len() => {
                    Node::BuiltIn(named, arguments)
                }
                _ => Node::Unknown,
            };
        }
        let name = call.name.as_str();
        let is_there = |at: &At<'_>| at.functions.get(name, arguments.len()).is_some();
        if is_there(&self.at) {
            let of_rules = self.at.rules.filter(|rules| is_there(rules));
            let at = of_rules.copied().unwrap_or(self.at);
            return match self.maker.function(at, self.world, name, (arguments.len(), 0)) {
                Some(function) => Node::Call(function, arguments),
                None => Node::Unknown,
            };
        }
        operator(name, arguments)
    }
}

/// Whether an expression has steps of its own, which may change what stands in places, or calls a
/// method that does.
fn is_made_of_steps(expression: &Expr) -> bool {
    matches!(expression, Expr::Stmt(_) | Expr::Dot(..))
}

/// A constant list or map as scripts hold it; none where that can not be told apart from another.
fn made_of(value: &Dynamic) -> Option<Thing> {
    fn has_maps(value: &Dynamic) -> bool {
        value.is_map() || value.as_array_ref().is_ok_and(|items| items.iter().any(has_maps))
    }
    if let Ok(items) = value.as_array_ref() {
        if items.iter().any(has_maps) {
            let items = items.iter().map(made_of).collect::<Option<_>>()?;
            return Some(Thing::List(Rc::new(items)));
        }
    } else if let Ok(map) = value.as_map_ref() {
        let fields = map.iter().map(|(key, value)| {
            let plain = from_script(value).ok().filter(|_| !has_maps(value))?;
            Some((Arc::from(key.as_str()), Item::Value(plain)))
        });
        return Some(Thing::Map(Arc::new(fields.collect::<Option<_>>()?)));
    }
    from_script(value).ok().map(Thing::Value)
}

/// Steps one after the other.
fn in_order(mut steps: Vec<Node>) -> Node {
    match steps.len() {
        0 => Node::Constant(Thing::Value(Value::Blank)),
        1 => steps.remove(0),
        _ => Node::Steps(steps),
    }
}

/// The place of what a chain begins with.
fn root_of(of: &Node) -> Option<usize> {
    match of {
        Node::Place(place) => Some(*place),
        Node::Field(of, ..) | Node::Item(of, _) => root_of(of),
        _ => None,
    }
}

/// A function's body with what follows a returning branch put into the other branch, so that most
/// bodies return nowhere but at their end.
fn without_returns(body: Node) -> Node {
    match body {
        Node::Return(of) => *of,
        Node::If(parts) => {
            let (condition, yes, no) = *parts;
            Node::If(Box::new((condition, without_returns(yes), without_returns(no))))
        }
        Node::Steps(mut steps) => {
            let Some(at) = steps.iter().position(has_return) else { return Node::Steps(steps) };
            let rest = steps.split_off(at + 1);
            let (Some(returning), is_last) = (steps.pop(), rest.is_empty()) else {
                return Node::Steps(steps);
            };
            let last = match returning {
                Node::Return(of) => *of,
                last if is_last => without_returns(last),
                Node::If(parts) => {
                    let (condition, yes, no) = *parts;
                    let go_on = |branch: Node, rest: Vec<Node>| {
                        without_returns(Node::Steps([branch].into_iter().chain(rest).collect()))
                    };
                    let (yes, no) = match (always_returns(&yes), always_returns(&no)) {
                        (true, _) => (without_returns(yes), go_on(no, rest)),
                        (false, true) => (go_on(yes, rest), without_returns(no)),
                        // The rest would stand there twice.
                        (false, false) => {
                            steps.push(Node::If(Box::new((condition, yes, no))));
                            steps.extend(rest);
                            return Node::Steps(steps);
                        }
                    };
                    Node::If(Box::new((condition, yes, no)))
                }
                other => {
                    steps.push(other);
                    steps.extend(rest);
                    return Node::Steps(steps);
                }
            };
            steps.push(last);
            Node::Steps(steps)
        }
        other => other,
    }
}

fn always_returns(node: &Node) -> bool {
    match node {
        Node::Return(_) => true,
        Node::Steps(steps) => steps.iter().any(always_returns),
        Node::If(parts) => always_returns(&parts.1) && always_returns(&parts.2),
        _ => false,
    }
}

fn has_return(node: &Node) -> bool {
    node.any(&|node| matches!(node, Node::Return(_)))
}

/// Whether it goes over lists, makes one step by step or returns on the way: what it makes on the way
/// would be many lists at a time for many rows.
fn has_loops(node: &Node) -> bool {
    node.any(&|node| {
        matches!(
            node,
            Node::Each { .. }
                | Node::While(_)
                | Node::Break
                | Node::Continue
                | Node::Function(..)
                | Node::Push(..)
                | Node::Return(_)
        )
    })
}

fn operator(name: &str, mut arguments: Vec<Node>) -> Node {
    let (Some(last), first, true) = (arguments.pop(), arguments.pop(), arguments.is_empty()) else {
        return Node::Unknown;
    };
    let Some(first) = first else {
        return match name {
            "!" => Node::Not(Box::new(last)),
            "-" => Node::Negative(Box::new(last)),
            _ => Node::Unknown,
        };
    };
    let sides = Box::new((first, last));
    match name {
        "+" => Node::Arithmetic(Arithmetic::Add, sides),
        "-" => Node::Arithmetic(Arithmetic::Subtract, sides),
        "*" => Node::Arithmetic(Arithmetic::Multiply, sides),
        "divided_by" => Node::Arithmetic(Arithmetic::Divide, sides),
        "contains" => Node::In(Box::new((sides.1, sides.0))),
        "==" => Node::Equal(true, sides),
        "!=" => Node::Equal(false, sides),
        "<" => Node::Compared(Compared::Less, sides),
        "<=" => Node::Compared(Compared::AtMost, sides),
        ">" => Node::Compared(Compared::More, sides),
        ">=" => Node::Compared(Compared::AtLeast, sides),
        _ => Node::Unknown,
    }
}
