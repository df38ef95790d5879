//! Functions of scripts computed for many rows at a time: each node once for all of them.
//!
//! In: a function as a tree of nodes and its arguments for some rows. Out: its value for each.
//! Where a branch is taken by some rows, it is computed for those alone, so that no row computes
//! what it would not alone; loops are computed row by row. What any row does not know for certain
//! gives up all of them, and they are computed one by one.

use std::rc::Rc;
use std::sync::Arc;

use rhai::Engine;

use super::alike::Reads;
use super::direct::{Direct, Given, MOST_GIVEN_UP, Node, Run};
use super::engine::Named;
use super::item::{Base, Item};
use super::made::Fields;
use super::many::{Gathered, Many, Numbers};
use super::row::Part;
use super::thing::{
    Arithmetic, Compared, Left, Outcome, Thing, compared, equal, is_apart, is_in, is_known,
    is_ordered, length_of, negative, thing_of, truth,
};
use super::world::World;
use crate::cells::Stretch;
use crate::job::Job;
use crate::job::name::Name;
use crate::record::Shape;
use crate::value::Value;

type Answer = Result<Rc<Many>, Left>;

/// What a function's parameters and variables are, for each of so many rows.
struct Frame {
    places: Vec<Rc<Many>>,
    count: usize,
}

impl Frame {
    fn place(&self, at: usize, chosen: &[u32]) -> Answer {
        let place = self.places.get(at).ok_or(Left::GivenUp)?;
        Ok(if chosen.len() == self.count { place.clone() } else { Rc::new(place.pick(chosen)) })
    }

    fn put(&mut self, at: usize, value: Rc<Many>, chosen: &[u32]) -> Result<(), Left> {
        let place = self.places.get_mut(at).ok_or(Left::GivenUp)?;
        if chosen.len() == self.count {
            *place = value;
            return Ok(());
        }
        let mut next = chosen.iter().enumerate().peekable();
        let mut gathered = Gathered::of(self.count);
        for row in 0..self.count {
            gathered.push(match next.next_if(|(_, chosen)| **chosen as usize == row) {
                Some((at, _)) => value.at(at),
                None => place.at(row),
            });
        }
        *place = gathered.done();
        Ok(())
    }

    /// Puts an item into the map that stands in a place.
    fn put_field(
        &mut self,
        at: usize,
        name: &Arc<str>,
        items: &Many,
        chosen: &[u32],
    ) -> Result<(), Left> {
        let place = self.places.get_mut(at).ok_or(Left::GivenUp)?;
        let before = std::mem::replace(place, Rc::new(Many::Things(Vec::new())));
        let mut maps = Rc::unwrap_or_clone(before).into_things(self.count);
        for (item, &row) in (0..).zip(chosen) {
            let Some(Thing::Map(fields)) = maps.get_mut(row as usize) else {
                return Err(Left::GivenUp);
            };
            Arc::make_mut(fields).put(name, items.at(item).into_item()?);
        }
        *place = Rc::new(Many::Things(maps));
        Ok(())
    }
}

impl Given {
    /// Its value for each of some rows, and for the job where it takes that too; `None` where they
    /// must be computed one by one.
    pub fn many(&self, engine: &Engine, world: &World, part: Part) -> Option<Rc<Many>> {
        world.with_own_steps(|| match world.step() {
            Some(_) => None,
            None => self.many_with(&Run { engine, world, own_steps: true }, part, true),
        })
    }

    /// Its value for each of some rows that a method gives it.
    pub fn many_by(&self, run: &Run<'_>, part: Part) -> Option<Rc<Many>> {
        self.many_with(run, part, false)
    }

    fn many_with(&self, run: &Run<'_>, part: Part, may_take_job: bool) -> Option<Rc<Many>> {
        let function = &self.function;
        if function.parted.get() > MOST_GIVEN_UP {
            return None;
        }
        let same = |thing: &Thing| Rc::new(Many::Same(thing.clone()));
        let compute = |part: Part| {
            let count = part.len();
            let mut arguments: Vec<Rc<Many>> = self.captured.iter().map(same).collect();
            arguments.push(Rc::new(Many::Rows(part)));
            if may_take_job && arguments.len() < function.parameters {
                arguments.push(same(&Thing::Job));
            }
            run.function_of_many(function, arguments, count)
        };
        let reads = function.reads.get_or_init(|| Reads::of(function));
        let reads = reads.as_ref().filter(|_| self.captured.is_empty());
        let alike = reads.and_then(|reads| run.of_alike(function, reads, &part, compute));
        let many = alike.unwrap_or_else(|| compute(part));
        if many.is_err() {
            function.parted.set(function.parted.get() + 1);
        }
        many.ok()
    }
}

impl Run<'_> {
    fn function_of_many(&self, direct: &Direct, mut places: Vec<Rc<Many>>, count: usize) -> Answer {
        if places.len() != direct.parameters {
            return Err(Left::GivenUp);
        }
        let is_same = |place: &Rc<Many>| matches!(**place, Many::Same(_));
        if direct.has_loops || places.iter().all(is_same) {
            return self.each_row(&places, count, |things| {
                let mut given = self.world.spare.take();
                given.append(things);
                self.function(direct, given)
            });
        }
        places.resize(direct.places, Rc::new(Many::Same(Thing::Value(Value::Blank))));
        let all: Vec<u32> = (0..u32::try_from(count).map_err(|_| Left::GivenUp)?).collect();
        let frame = &mut Frame { places, count };
        self.world.call(|| self.many(&direct.body, frame, &all)).unwrap_or(Err(Left::GivenUp))
    }

    /// A node for the rows chosen, of which there is one at least.
    fn many(&self, node: &Node, frame: &mut Frame, chosen: &[u32]) -> Answer {
        let count = chosen.len();
        match node {
            Node::Constant(thing) => same(thing.clone()),
            Node::Place(at) => frame.place(*at, chosen),
            Node::Field(of, name, number) => {
                let of = self.many(of, frame, chosen)?;
                self.field_of_many(&of, name, *number, count)
            }
            Node::Arithmetic(sign, sides) => {
                let (a, b) = self.both(sides, frame, chosen)?;
                self.arithmetic_of_many(*sign, [a, b], count)
            }
            Node::Equal(wanted, sides) => {
                let (a, b) = self.both(sides, frame, chosen)?;
                self.equal_of_many(*wanted, [a, b], count)
            }
            Node::Compared(sign, sides) => {
                let (a, b) = self.both(sides, frame, chosen)?;
                self.compared_of_many(*sign, [a, b], count)
            }
            Node::Not(of) => match &*self.many(of, frame, chosen)? {
                Many::Same(Thing::Value(Value::Bool(is))) => same(truth(!is)),
                Many::Plain(Stretch::Truths(truths)) => {
                    Ok(many_truths(truths.iter().map(|is| !is).collect()))
                }
                _ => Err(Left::GivenUp),
            },
            Node::And(parts) => self.until_of_many(parts, false, frame, chosen),
            Node::Or(parts) => self.until_of_many(parts, true, frame, chosen),
            Node::FirstGiven(parts) => self.first_given_of_many(parts, frame, chosen),
            Node::If(parts) => self.if_of_many(parts, frame, chosen),
            Node::Steps(steps) => {
                let mut last = same(Thing::Value(Value::Blank));
                for step in steps {
                    last = Ok(self.many(step, frame, chosen)?);
                }
                last
            }
            Node::Put(place, of) => {
                let value = self.many(of, frame, chosen)?;
                frame.put(*place, value, chosen)?;
                same(Thing::Value(Value::Blank))
            }
            Node::PutField(place, name, of) => {
                let items = self.many(of, frame, chosen)?;
                let items =
                    self.each_row(&[items], count, |things| self.fitting(things[0].clone()))?;
                frame.put_field(*place, name, &items, chosen)?;
                same(Thing::Value(Value::Blank))
            }
            Node::Call(function, arguments) if !arguments.is_empty() => {
                let given = self.all(arguments, frame, chosen)?;
                self.function_of_many(function, given, count)
            }
            Node::Map(shape, fields) => {
                let fields = self.all(fields, frame, chosen)?;
                self.each_row(&fields, count, |things| self.fitting(row_of(shape, things)?))
            }
            Node::BuiltIn(named, arguments) => {
                let arguments = self.all(arguments, frame, chosen)?;
                self.built_in_of_many(named, &arguments, count)
            }
            other => self.each_of_node(other, frame, chosen),
        }
    }

    /// What is asked row by row.
    fn each_of_node(&self, node: &Node, frame: &mut Frame, chosen: &[u32]) -> Answer {
        let count = chosen.len();
        match node {
            Node::Item(of, at) => {
                let parts = [self.many(of, frame, chosen)?, self.many(at, frame, chosen)?];
                self.each_row(&parts, count, |things| self.item(&things[0], &things[1]))
            }
            Node::In(sides) => {
                let (item, all) = self.both(sides, frame, chosen)?;
                self.each_row(&[item, all], count, |things| {
                    is_in(&things[0], &things[1]).map(truth)
                })
            }
            Node::Negative(of) => {
                let of = self.many(of, frame, chosen)?;
                self.each_row(&[of], count, |things| negative(&things[0]))
            }
            Node::Length(of) => {
                let of = self.many(of, frame, chosen)?;
                self.each_row(&[of], count, |things| length_of(&things[0]))
            }
            Node::IsEmpty(of) => {
                let of = self.many(of, frame, chosen)?;
                self.each_row(&[of], count, |things| Ok(truth(things[0].length()? == 0)))
            }
            Node::List(items) => {
                let items = self.all(items, frame, chosen)?;
                self.each_row(&items, count, |things| {
                    self.fitting(Thing::List(Rc::new(things.clone())))
                })
            }
            Node::Text(parts) => {
                let parts = self.all(parts, frame, chosen)?;
                self.each_row(&parts, count, |things| self.text_of(things))
            }
            Node::Method(method, of, arguments) => {
                let mut parts = vec![self.many(of, frame, chosen)?];
                parts.extend(self.all(arguments, frame, chosen)?);
                self.each_row(&parts, count, |things| {
                    self.method(*method, &things[0], &things[1..])
                })
            }
            Node::Call(function, _) => same(self.only(function)?),
            Node::Table(sides) => {
                let (job, key) = self.both(sides, frame, chosen)?;
                self.each_row(&[job, key], count, |things| self.table(&things[0], &things[1]))
            }
            Node::HeadValue(sides) => {
                let (job, key) = self.both(sides, frame, chosen)?;
                self.each_row(&[job, key], count, |things| self.head_value(&things[0], &things[1]))
            }
            _ => Err(Left::GivenUp),
        }
    }

    fn all(
        &self,
        nodes: &[Node],
        frame: &mut Frame,
        chosen: &[u32],
    ) -> Result<Vec<Rc<Many>>, Left> {
        nodes.iter().map(|node| self.many(node, frame, chosen)).collect()
    }

    fn both(
        &self,
        sides: &(Node, Node),
        frame: &mut Frame,
        chosen: &[u32],
    ) -> Result<(Rc<Many>, Rc<Many>), Left> {
        Ok((self.many(&sides.0, frame, chosen)?, self.many(&sides.1, frame, chosen)?))
    }

    /// What is made of the parts' values for each row; once where they are the same for all.
    fn each_row(
        &self,
        parts: &[Rc<Many>],
        count: usize,
        make: impl Fn(&mut Vec<Thing>) -> Outcome,
    ) -> Answer {
        let mut things = Vec::with_capacity(parts.len());
        let mut one = |at| {
            things.clear();
            things.extend(parts.iter().map(|part| part.at(at)));
            if self.own_steps {
                self.world.with_own_steps(|| make(&mut things))
            } else {
                make(&mut things)
            }
        };
        if parts.iter().all(|part| matches!(**part, Many::Same(_))) {
            return same(one(0)?);
        }
        let mut gathered = Gathered::of(count);
        // Together they take no more than one row may.
        let mut taken = 0;
        for at in 0..count {
            let thing = one(at)?;
            taken += match &thing {
                Thing::Value(Value::Text(text)) => text.len(),
                Thing::List(items) => {
                    items.len() * (self.world.bounds.text / self.world.bounds.list)
                }
                _ => 0,
            };
            if taken > self.world.bounds.text {
                return Err(Left::GivenUp);
            }
            gathered.push(thing);
        }
        Ok(gathered.done())
    }

    fn field_of_many(
        &self,
        of: &Many,
        name: &Name<Arc<str>>,
        number: Option<usize>,
        count: usize,
    ) -> Answer {
        match of {
            Many::Same(thing) => same(self.field_of(thing, name, number)?),
            Many::Rows(part) => self.field_of_part(part, name, number),
            Many::Plain(Stretch::Values(_)) | Many::Things(_) => {
                let mut gathered = Gathered::of(count);
                for at in 0..count {
                    gathered.push(self.field_of(&of.at(at), name, number)?);
                }
                Ok(gathered.done())
            }
            Many::Plain(Stretch::Few(values, places)) => {
                // Those that no row has are not asked.
                let mut known: Vec<Option<Thing>> = vec![None; values.len()];
                let mut gathered = Gathered::of(count);
                for place in places.iter().map(|place| usize::from(*place)) {
                    let thing = if let Some(thing) = &known[place] {
                        thing.clone()
                    } else {
                        let of = Thing::Value(values[place].clone());
                        let thing = self.field_of(&of, name, number)?;
                        known[place].insert(thing).clone()
                    };
                    gathered.push(thing);
                }
                Ok(gathered.done())
            }
            Many::Plain(_) => Err(Left::GivenUp),
        }
    }

    pub fn field_of_part(
        &self,
        part: &Part,
        name: &Name<Arc<str>>,
        number: Option<usize>,
    ) -> Answer {
        if let Some((live, positions)) = part.being_computed()
            && let Some(column) = live.table.column_of(number)
            && !live.table.is_computing(self.world, column)
        {
            if let Some(many) = live.column(self.engine, self.world, column) {
                let all = positions.len() == live.count();
                return Ok(if all { many } else { Rc::new(many.pick(positions)) });
            }
            let mut gathered = Gathered::of(part.len());
            for &at in positions {
                let cell = live.cell(self.engine, self.world, column, at as usize);
                gathered.push_value(cell.map_err(|_| Left::GivenUp)?);
            }
            return Ok(gathered.done());
        }
        let bases: Vec<&Base> = (0..part.len()).map(|at| part.base(at)).collect();
        field_of_bases(&self.world.job, &bases, name)
    }

    fn arithmetic_of_many(&self, sign: Arithmetic, sides: [Rc<Many>; 2], count: usize) -> Answer {
        let Some((a, b)) = decimals(&sides) else {
            return self
                .each_row(&sides, count, |things| self.arithmetic(sign, &things[0], &things[1]));
        };
        let by = |compute: fn(f64, f64) -> f64| -> Vec<f64> {
            (0..count).map(|at| compute(a.at(at), b.at(at))).collect()
        };
        let numbers = match sign {
            Arithmetic::Add => by(|a, b| a + b),
            Arithmetic::Subtract => by(|a, b| a - b),
            Arithmetic::Multiply => by(|a, b| a * b),
            // Nothing divided by nothing is no number either, and is found below.
            Arithmetic::Divide => by(|a, b| a / b),
        };
        if numbers.iter().all(|number| number.is_finite()) {
            Ok(Rc::new(Many::Plain(Stretch::Numbers(numbers))))
        } else {
            Err(Left::GivenUp)
        }
    }

    fn equal_of_many(&self, wanted: bool, sides: [Rc<Many>; 2], count: usize) -> Answer {
        let truths = |is: &dyn Fn(usize) -> bool| {
            Ok(many_truths((0..count).map(|at| is(at) == wanted).collect()))
        };
        if let Some((a, b)) = decimals(&sides) {
            return truths(&|at| !is_apart(a.at(at), b.at(at)));
        }
        match (&*sides[0], &*sides[1]) {
            (Many::Same(one), many) | (many, Many::Same(one))
                if one.is_blank() && !matches!(many, Many::Same(_)) =>
            {
                truths(&|at| many.is_blank(at))
            }
            (Many::Plain(Stretch::Values(values)), Many::Same(Thing::Value(Value::Text(text))))
            | (Many::Same(Thing::Value(Value::Text(text))), Many::Plain(Stretch::Values(values)))
                if values.iter().all(|it| matches!(it, Value::Text(_) | Value::Blank)) =>
            {
                truths(&|at| values[at].as_text() == Some(text))
            }
            (
                Many::Plain(Stretch::Few(values, places)),
                Many::Same(Thing::Value(Value::Text(text))),
            )
            | (
                Many::Same(Thing::Value(Value::Text(text))),
                Many::Plain(Stretch::Few(values, places)),
            ) if values.iter().all(|it| matches!(it, Value::Text(_) | Value::Blank)) => {
                let is: Vec<bool> = values.iter().map(|it| it.as_text() == Some(text)).collect();
                truths(&|at| is[usize::from(places[at])])
            }
            _ => self.each_row(&sides, count, |things| {
                equal(&things[0], &things[1]).map(|equal| truth(equal == wanted))
            }),
        }
    }

    fn compared_of_many(&self, sign: Compared, sides: [Rc<Many>; 2], count: usize) -> Answer {
        let Some((a, b)) = decimals(&sides) else {
            return self.each_row(&sides, count, |things| {
                compared(sign, &things[0], &things[1]).map(truth)
            });
        };
        let truths = (0..count).map(|at| is_ordered(sign, a.at(at), b.at(at)));
        Ok(many_truths(truths.collect()))
    }

    /// A built-in for each row; rows next to each other with the same arguments share its result.
    fn built_in_of_many(&self, named: &Named, arguments: &[Rc<Many>], count: usize) -> Answer {
        let mut gathered = Gathered::of(count);
        let mut last: Option<(Vec<Thing>, Thing)> = None;
        let all_same = arguments.iter().all(|argument| matches!(**argument, Many::Same(_)));
        let count = if all_same { 1 } else { count };
        for at in 0..count {
            let given: Vec<Thing> = arguments.iter().map(|argument| argument.at(at)).collect();
            if let Some((before, thing)) = &last
                && before.iter().zip(&given).all(|(before, now)| is_alike(before, now))
            {
                gathered.push(thing.clone());
                continue;
            }
            let thing = self.built_in(named, &given)?;
            gathered.push(thing.clone());
            last = Some((given, thing));
        }
        match last {
            Some((_, thing)) if all_same => same(thing),
            _ => Ok(gathered.done()),
        }
    }

    /// Whether any part is as wanted, for each row; those behind it are computed for the others.
    fn until_of_many(
        &self,
        parts: &[Node],
        wanted: bool,
        frame: &mut Frame,
        chosen: &[u32],
    ) -> Answer {
        let Some((first, rest)) = parts.split_first() else { return same(truth(!wanted)) };
        let answer = self.many(first, frame, chosen)?;
        match &*answer {
            Many::Same(Thing::Value(Value::Bool(is))) if *is == wanted => Ok(answer),
            Many::Same(Thing::Value(Value::Bool(_))) => {
                self.until_of_many(rest, wanted, frame, chosen)
            }
            Many::Plain(Stretch::Truths(truths))
                if rest.is_empty() || truths.iter().all(|is| *is == wanted) =>
            {
                Ok(answer)
            }
            Many::Plain(Stretch::Truths(truths)) => {
                let open: Vec<bool> = truths.iter().map(|is| *is != wanted).collect();
                let behind = self.until_of_many(rest, wanted, frame, &picked(chosen, &open))?;
                Ok(Rc::new(Many::merged(&open, &behind, &Many::Same(truth(wanted)))))
            }
            _ => Err(Left::GivenUp),
        }
    }

    fn first_given_of_many(&self, parts: &[Node], frame: &mut Frame, chosen: &[u32]) -> Answer {
        let Some((first, rest)) = parts.split_first() else {
            return same(Thing::Value(Value::Blank));
        };
        let answer = self.many(first, frame, chosen)?;
        let given: Vec<bool> = (0..chosen.len()).map(|at| !answer.is_blank(at)).collect();
        if rest.is_empty() || given.iter().all(|is| *is) {
            return Ok(answer);
        }
        let blank: Vec<bool> = given.iter().map(|is| !is).collect();
        let behind = self.first_given_of_many(rest, frame, &picked(chosen, &blank))?;
        let positions: Vec<u32> =
            (0..).zip(&given).filter(|(_, is)| **is).map(|(at, _)| at).collect();
        Ok(Rc::new(Many::merged(&given, &answer.pick(&positions), &behind)))
    }

    fn if_of_many(&self, parts: &(Node, Node, Node), frame: &mut Frame, chosen: &[u32]) -> Answer {
        let (condition, yes, no) = parts;
        match &*self.many(condition, frame, chosen)? {
            Many::Same(Thing::Value(Value::Bool(is))) => {
                self.many(if *is { yes } else { no }, frame, chosen)
            }
            Many::Plain(Stretch::Truths(truths)) if truths.iter().all(|is| *is) => {
                self.many(yes, frame, chosen)
            }
            Many::Plain(Stretch::Truths(truths)) if truths.iter().all(|is| !*is) => {
                self.many(no, frame, chosen)
            }
            Many::Plain(Stretch::Truths(truths)) => {
                let others: Vec<bool> = truths.iter().map(|is| !is).collect();
                let yes = self.many(yes, frame, &picked(chosen, truths))?;
                let no = self.many(no, frame, &picked(chosen, &others))?;
                Ok(Rc::new(Many::merged(truths, &yes, &no)))
            }
            _ => Err(Left::GivenUp),
        }
    }
}

/// A field of rows; mostly they are of one kind, and it is looked for once.
fn field_of_bases<T: AsRef<str>>(job: &Job, bases: &[&Base], name: &Name<T>) -> Answer {
    let first = bases.first().filter(|first| bases.iter().all(|base| base.is_beside(first)));
    if let Some(first) = first {
        let Some(place) = first.place(name) else {
            let below: Option<Vec<&Base>> = bases.iter().map(|base| base.below()).collect();
            return field_of_bases(job, &below.ok_or(Left::GivenUp)?, name);
        };
        if let Some(stretch) = first.stretch(bases, place) {
            return many_plain(stretch);
        }
    }
    let mut gathered = Gathered::of(bases.len());
    for base in bases {
        gathered.push(thing_of(base.field(job, name).ok_or(Left::GivenUp)?)?);
    }
    Ok(gathered.done())
}

/// Plain values as an answer.
fn many_plain(stretch: Stretch) -> Answer {
    match stretch {
        other if !all_known(&other) => Err(Left::GivenUp),
        Stretch::Same(value, _) => same(Thing::Value(value)),
        other => Ok(Rc::new(Many::Plain(other))),
    }
}

/// A field of rows where all have it and it is a plain value in all, none an error.
pub fn plain_field<T: AsRef<str>>(job: &Job, bases: &[Base], name: &Name<T>) -> Option<Stretch> {
    let count = bases.len();
    let bases: Vec<&Base> = bases.iter().collect();
    match Rc::unwrap_or_clone(field_of_bases(job, &bases, name).ok()?) {
        Many::Plain(stretch) => Some(stretch),
        Many::Same(thing) => Some(Stretch::Same(thing.plain()?, count)),
        Many::Rows(_) | Many::Things(_) => None,
    }
}

/// Whether the engine would hold all of these as they are.
fn all_known(stretch: &Stretch) -> bool {
    match stretch {
        Stretch::Same(value, _) => is_known(value),
        Stretch::Numbers(numbers) => numbers.iter().all(|number| number.is_finite()),
        Stretch::Few(values, places) => {
            values.iter().all(is_known)
                || places.iter().all(|place| is_known(&values[usize::from(*place)]))
        }
        Stretch::Values(values) => values.iter().all(is_known),
        Stretch::Counts(_) | Stretch::Truths(_) => true,
    }
}

fn many_truths(truths: Vec<bool>) -> Rc<Many> {
    Rc::new(Many::Plain(Stretch::Truths(truths)))
}

#[allow(clippy::unnecessary_wraps, reason = "an answer as the others are")]
fn same(thing: Thing) -> Answer {
    Ok(Rc::new(Many::Same(thing)))
}

/// Those of the rows chosen for which it is true.
fn picked(chosen: &[u32], truths: &[bool]) -> Vec<u32> {
    chosen.iter().zip(truths).filter(|(_, is)| **is).map(|(at, _)| *at).collect()
}

/// Both sides as numbers, where either is decimal: whole numbers among themselves stay whole.
fn decimals(sides: &[Rc<Many>; 2]) -> Option<(Numbers<'_>, Numbers<'_>)> {
    let [a, b] = sides;
    let whole = a.is_whole() && b.is_whole();
    let same = matches!((&**a, &**b), (Many::Same(_), Many::Same(_)));
    if whole || same { None } else { a.numbers().zip(b.numbers()) }
}

fn row_of(shape: &Arc<Shape>, things: &mut Vec<Thing>) -> Outcome {
    let mut items = Vec::with_capacity(things.len());
    for thing in things.drain(..) {
        items.push(thing.into_item()?);
    }
    Ok(Thing::Map(Arc::new(Fields::new(shape.clone(), items))))
}

/// Whether two arguments are certainly the same; at a glance.
fn is_alike(a: &Thing, b: &Thing) -> bool {
    match (a, b) {
        (Thing::Value(a), Thing::Value(b)) => a.is_same(b),
        (Thing::Map(a), Thing::Map(b)) => {
            a.is_like(b)
                && a.values().zip(b.values()).all(|pair| match pair {
                    (Item::Value(a), Item::Value(b)) => a.is_same(b),
                    _ => false,
                })
        }
        _ => false,
    }
}
