//! Values of one node for many rows: as bare numbers where they are all of a kind.

use std::borrow::Cow;
use std::rc::Rc;

use super::row::Part;
use super::thing::{Left, Thing};
use crate::cells::Stretch;
use crate::value::Value;

/// A value for each of some rows.
#[derive(Clone)]
pub enum Many {
    /// The same for all.
    Same(Thing),
    Plain(Stretch),
    /// The rows themselves.
    Rows(Part),
    Things(Vec<Thing>),
}

impl Many {
    /// The value for one of the rows.
    pub fn at(&self, at: usize) -> Thing {
        match self {
            Many::Same(thing) => thing.clone(),
            Many::Plain(stretch) => {
                Thing::Value(stretch.get(at).map_or(Value::Blank, Cow::into_owned))
            }
            Many::Rows(part) => Thing::Row(part.row(at)),
            Many::Things(things) => things[at].clone(),
        }
    }

    /// The same where it is a plain value.
    pub fn value(&self, at: usize) -> Result<Value, Left> {
        match self {
            Many::Plain(stretch) => Ok(stretch.get(at).map_or(Value::Blank, Cow::into_owned)),
            other => other.at(at).into_value(),
        }
    }

    pub fn is_blank(&self, at: usize) -> bool {
        match self {
            Many::Same(thing) => thing.is_blank(),
            Many::Plain(stretch) => stretch.is_blank(at),
            Many::Things(things) => things[at].is_blank(),
            Many::Rows(_) => false,
        }
    }

    /// Those of some of the rows.
    pub fn pick(&self, chosen: &[u32]) -> Many {
        match self {
            Many::Same(thing) => Many::Same(thing.clone()),
            Many::Plain(stretch) => Many::Plain(stretch.pick(chosen)),
            Many::Rows(part) => Many::Rows(part.pick(chosen)),
            Many::Things(things) => {
                Many::Things(chosen.iter().map(|&at| things[at as usize].clone()).collect())
            }
        }
    }

    /// One after the other: of the first where that is true, else of the second.
    pub fn merged(truths: &[bool], yes: &Many, no: &Many) -> Many {
        let mut next = [0, 0];
        let mut one = |is: bool| {
            let at = &mut next[usize::from(is)];
            *at += 1;
            *at - 1
        };
        if let (Many::Plain(Stretch::Numbers(yes)), Many::Plain(Stretch::Numbers(no))) = (yes, no) {
            let numbers = truths.iter().map(|&is| if is { yes[one(is)] } else { no[one(is)] });
            return Many::Plain(Stretch::Numbers(numbers.collect()));
        }
        let mut gathered = Gathered::of(truths.len());
        for &is in truths {
            let from = if is { yes } else { no };
            gathered.push(from.at(one(is)));
        }
        gathered.many()
    }

    /// As numbers, where they are all that.
    pub fn numbers(&self) -> Option<Numbers<'_>> {
        match self {
            Many::Same(Thing::Value(value)) | Many::Plain(Stretch::Same(value, _)) => {
                value.as_number().map(Numbers::One)
            }
            Many::Plain(Stretch::Numbers(numbers)) => Some(Numbers::Decimal(numbers)),
            Many::Plain(Stretch::Counts(counts)) => Some(Numbers::Whole(counts)),
            _ => None,
        }
    }

    /// Whether all are whole numbers.
    pub fn is_whole(&self) -> bool {
        match self {
            Many::Same(Thing::Value(value)) | Many::Plain(Stretch::Same(value, _)) => {
                matches!(value, Value::Count(_))
            }
            Many::Plain(stretch) => matches!(stretch, Stretch::Counts(_)),
            _ => false,
        }
    }

    /// The plain values of so many rows; what is none is blank.
    pub fn into_stretch(self, count: usize) -> Stretch {
        match self {
            Many::Plain(stretch) => stretch,
            Many::Same(thing) => Stretch::Same(thing.plain().unwrap_or_default(), count),
            other => {
                let mut stretch = Stretch::default();
                for at in 0..count {
                    stretch.push(other.value(at).unwrap_or_default(), count);
                }
                stretch
            }
        }
    }

    /// What they are, of so many rows, one by one.
    pub fn into_things(self, count: usize) -> Vec<Thing> {
        match self {
            Many::Things(things) => things,
            other => (0..count).map(|at| other.at(at)).collect(),
        }
    }
}

/// Numbers of many rows.
#[derive(Clone, Copy)]
pub enum Numbers<'a> {
    One(f64),
    Decimal(&'a [f64]),
    Whole(&'a [i64]),
}

impl Numbers<'_> {
    #[allow(clippy::cast_precision_loss, reason = "as the engine computes with whole numbers")]
    pub fn at(&self, at: usize) -> f64 {
        match self {
            Numbers::One(number) => *number,
            Numbers::Decimal(numbers) => numbers[at],
            Numbers::Whole(counts) => counts[at] as f64,
        }
    }
}

/// Gathers the values of many rows one by one.
pub struct Gathered {
    plain: Stretch,
    /// In its place as soon as one is no plain value.
    things: Option<Vec<Thing>>,
    expected: usize,
}

impl Gathered {
    /// For so many rows.
    pub fn of(expected: usize) -> Gathered {
        Gathered { plain: Stretch::default(), things: None, expected }
    }

    pub fn push(&mut self, thing: Thing) {
        match (&mut self.things, thing) {
            (Some(things), thing) => things.push(thing),
            (None, Thing::Value(value)) => self.plain.push(value, self.expected),
            (None, thing) => {
                let mut things = Vec::with_capacity(self.expected);
                let before = std::mem::take(&mut self.plain);
                things.extend(before.into_values().map(Thing::Value));
                things.push(thing);
                self.things = Some(things);
            }
        }
    }

    pub fn push_value(&mut self, value: Value) {
        self.push(Thing::Value(value));
    }

    fn many(self) -> Many {
        self.things.map_or(Many::Plain(self.plain), Many::Things)
    }

    pub fn done(self) -> Rc<Many> {
        Rc::new(self.many())
    }
}
