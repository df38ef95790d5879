//! Functions of rows that read some fields of a row and nothing else of it: computed once for rows that
//! are alike in those.
//!
//! In: a function as a tree, and rows. Out: the fields it may read, and its values for the rows. Scripts
//! are pure, so that rows alike in all that is read have the same value. Whatever is in doubt is left to
//! be computed row by row.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use super::direct::{Direct, Node, Run};
use super::many::{Gathered, Many};
use super::row::Part;
use super::thing::{Left, Thing};
use crate::job::name::Name;
use crate::value::{Hashing, Value};

/// A field that is read, with its name's number in the world, if it has one.
type Field = (Name<Arc<str>>, Option<usize>);

/// The fields of its row that a function may read.
pub struct Reads(Vec<Field>);

/// What is known of functions, by their address: a job's own.
#[derive(Default)]
pub struct Alike(RefCell<HashMap<*const Direct, Rc<RefCell<Kept>>, Hashing>>);

/// Values of one function.
#[derive(Default)]
struct Kept {
    places: HashMap<Vec<u8>, usize, Hashing>,
    /// With what their keys know by its address, so that nothing else comes to stand there.
    values: Vec<(Value, Vec<Value>)>,
    asked: usize,
    found: usize,
}

impl Kept {
    /// Values kept of one function.
    const MOST: usize = 4_096;
    /// After so many rows of which few were alike it is no longer looked for them.
    const ENOUGH: usize = 2_048;

    fn is_worth_it(&self) -> bool {
        self.asked < Kept::ENOUGH || self.found * 4 > self.asked
    }

    fn forget(&mut self) {
        self.places = HashMap::default();
        self.values = Vec::new();
    }
}

impl Reads {
    /// Of a function whose one argument is a row, or whose first one is; `None` where it does something
    /// else with the row, or where it costs less than to find rows alike.
    pub fn of(function: &Direct) -> Option<Reads> {
        const WORTH_IT: usize = 40;
        const MOST_FIELDS: usize = 40;
        let mut search = Search { fields: Vec::new(), nodes: 0, seen: Vec::new() };
        let is_plain = search.look(function, 0);
        let calls = function.body.any(&|node| matches!(node, Node::BuiltIn(..)));
        let is_worth_it = function.has_loops || calls || search.nodes >= WORTH_IT;
        let fields = search.fields;
        (is_plain && is_worth_it && (1..=MOST_FIELDS).contains(&fields.len()))
            .then_some(Reads(fields))
    }
}

/// Looks through a function and those that it hands its row to.
struct Search {
    fields: Vec<Field>,
    nodes: usize,
    /// Functions looked through, each with the place of the row.
    seen: Vec<(*const Direct, usize)>,
}

impl Search {
    /// Whether what stands in a place is asked for fields alone; those are noted down. What only the engine
    /// computes gives up whenever it is met, so that nothing is kept of it.
    fn look(&mut self, function: &Direct, place: usize) -> bool {
        let known = (std::ptr::from_ref(function), place);
        if self.seen.contains(&known) {
            return true;
        }
        self.seen.push(known);
        let is_row = |node: &Node| matches!(node, Node::Place(at) if *at == place);
        let (nodes, all, allowed) = (Cell::new(0), Cell::new(0), Cell::new(0));
        let fields = RefCell::new(Vec::new());
        let handed_on: RefCell<Vec<(Rc<Direct>, usize)>> = RefCell::default();
        let is_other = function.body.any(&|node| {
            nodes.set(nodes.get() + 1);
            match node {
                Node::Place(at) if *at == place => all.set(all.get() + 1),
                Node::Put(at, _)
                | Node::PutField(at, ..)
                | Node::Push(at, _)
                | Node::Each { place: at, .. } => return *at == place,
                Node::Field(of, name, number) if is_row(of) => {
                    allowed.set(allowed.get() + 1);
                    fields.borrow_mut().push((name.written().clone(), *number));
                }
                Node::Call(other, arguments) => {
                    let rows = (0..).zip(arguments).filter(|(_, argument)| is_row(argument));
                    for (at, _) in rows {
                        allowed.set(allowed.get() + 1);
                        handed_on.borrow_mut().push((other.clone(), at));
                    }
                }
                Node::Function(other, captured) => {
                    let rows = (0..).zip(captured).filter(|(_, at)| **at == place);
                    handed_on.borrow_mut().extend(rows.map(|(at, _)| (other.clone(), at)));
                }
                _ => {}
            }
            false
        });
        self.nodes += nodes.get();
        for (name, number) in fields.into_inner() {
            if !self.fields.iter().any(|(known, _)| *known.written() == name) {
                self.fields.push((Name::new(name), number));
            }
        }
        !is_other
            && all == allowed
            && handed_on.into_inner().iter().all(|(other, at)| self.look(other, *at))
    }
}

impl Alike {
    fn of(&self, function: &Direct) -> Rc<RefCell<Kept>> {
        self.0.borrow_mut().entry(std::ptr::from_ref(function)).or_default().clone()
    }
}

impl Run<'_> {
    /// A function's value for each of some rows, computed for those alone that are like none before;
    /// `None` where that can not be told.
    pub fn of_alike(
        &self,
        function: &Direct,
        reads: &Reads,
        part: &Part,
        compute: impl FnOnce(Part) -> Result<Rc<Many>, Left>,
    ) -> Option<Result<Rc<Many>, Left>> {
        let kept = self.world.alike.of(function);
        if !kept.borrow().is_worth_it() {
            kept.borrow_mut().forget();
            return None;
        }
        let of_field = |(name, number): &Field| self.field_of_part(part, name, *number).ok();
        let fields: Vec<Rc<Many>> = reads.0.iter().map(of_field).collect::<Option<_>>()?;
        let sorted = sorted(&kept.borrow(), &fields, part.len())?;
        {
            let mut kept = kept.borrow_mut();
            kept.asked += part.len();
            kept.found += part.len() - sorted.new.len();
        }
        let mut values = Vec::with_capacity(sorted.new.len());
        if !sorted.new.is_empty() {
            let rows: Vec<u32> = sorted.new.iter().map(|new| new.row).collect();
            let made = match compute(part.pick(&rows)) {
                Ok(made) => made,
                left => return Some(left),
            };
            for at in 0..rows.len() {
                // Only plain values outlast the rows.
                let Ok(value) = made.value(at) else {
                    return (rows.len() == part.len()).then_some(Ok(made));
                };
                values.push(value);
            }
        }
        let mut kept = kept.borrow_mut();
        let mut gathered = Gathered::of(part.len());
        for answer in sorted.answers {
            gathered.push_value(match answer {
                Answer::Kept(place) => kept.values.get(place)?.0.clone(),
                Answer::New(at) => values.get(at)?.clone(),
            });
        }
        for (new, value) in sorted.new.into_iter().zip(values) {
            if kept.values.len() < Kept::MOST {
                let place = kept.values.len();
                kept.places.insert(new.key, place);
                kept.values.push((value, new.by_address));
            }
        }
        Some(Ok(gathered.done()))
    }
}

/// Rows sorted by whether one like them is known.
struct Sorted {
    answers: Vec<Answer>,
    new: Vec<New>,
}

enum Answer {
    Kept(usize),
    New(usize),
}

/// The first of the rows alike.
struct New {
    row: u32,
    key: Vec<u8>,
    by_address: Vec<Value>,
}

fn sorted(kept: &Kept, fields: &[Rc<Many>], count: usize) -> Option<Sorted> {
    let mut sorted = Sorted { answers: Vec::with_capacity(count), new: Vec::new() };
    let mut of_new: HashMap<Vec<u8>, usize, Hashing> = HashMap::default();
    let (mut key, mut by_address) = (Vec::new(), Vec::new());
    for row in 0..count {
        key.clear();
        by_address.clear();
        // In the same order for every block, whatever is the same all down it.
        for field in fields {
            match &**field {
                Many::Same(Thing::Value(value)) => known_by(value, &mut key, &mut by_address)?,
                Many::Plain(stretch) => {
                    known_by(&*stretch.get(row)?, &mut key, &mut by_address)?;
                }
                Many::Same(_) | Many::Rows(_) | Many::Things(_) => return None,
            }
        }
        if let Some(place) = kept.places.get(&key) {
            sorted.answers.push(Answer::Kept(*place));
        } else if let Some(at) = of_new.get(&key) {
            sorted.answers.push(Answer::New(*at));
        } else {
            let at = sorted.new.len();
            of_new.insert(key.clone(), at);
            let row = u32::try_from(row).ok()?;
            sorted.new.push(New { row, key: key.clone(), by_address: by_address.clone() });
            sorted.answers.push(Answer::New(at));
        }
    }
    Some(sorted)
}

/// The bytes by which a value is known, the same only where scripts can not tell it from another.
/// Records, long lists and long texts are known by their address.
fn known_by(value: &Value, key: &mut Vec<u8>, by_address: &mut Vec<Value>) -> Option<()> {
    const LONG: usize = 16;
    const LONG_TEXT: usize = 64;
    let mut put = |sign: u8, bytes: &[u8]| {
        key.push(sign);
        key.extend_from_slice(bytes);
    };
    match value {
        Value::Blank => put(b'-', &[]),
        Value::Bool(truth) => put(b'b', &[u8::from(*truth)]),
        Value::Count(count) => put(b'c', &count.to_le_bytes()),
        Value::Number(number) => put(b'n', &number.to_bits().to_le_bytes()),
        Value::Text(text) if text.len() > LONG_TEXT => {
            put(b'@', &(text.as_ptr() as usize).to_le_bytes());
            by_address.push(value.clone());
        }
        Value::Text(text) => {
            put(b't', &text.len().to_le_bytes());
            key.extend_from_slice(text.as_bytes());
        }
        Value::Date(date) => {
            let text = date.to_string();
            put(b'd', &text.len().to_le_bytes());
            key.extend_from_slice(text.as_bytes());
        }
        Value::List(items) if items.len() > LONG => {
            put(b'@', &(items.as_ptr() as usize).to_le_bytes());
            by_address.push(value.clone());
        }
        Value::List(items) => {
            put(b'l', &items.len().to_le_bytes());
            for item in items.iter() {
                known_by(item, key, by_address)?;
            }
        }
        Value::Record(record) => {
            put(b'@', &(Arc::as_ptr(record) as usize).to_le_bytes());
            by_address.push(value.clone());
        }
        Value::Error(_) => return None,
    }
    Some(())
}
