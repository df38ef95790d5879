//! The cells of a table: column by column in blocks of rows, as bare numbers where they are all of a
//! kind.
//!
//! In: values, row by row or in stretches of a column. Out: values again, where they stand.

use std::borrow::Cow;

use crate::value::Value;

/// Rows in a block; only a table's last has fewer.
pub const BLOCK: usize = 512;

/// Values of one column in rows that follow each other.
#[derive(Clone, Debug)]
pub enum Stretch {
    /// The same so many times.
    Same(Value, usize),
    Numbers(Vec<f64>),
    Counts(Vec<i64>),
    Truths(Vec<bool>),
    /// Few different values, and which of them stands where.
    Few(Vec<Value>, Vec<u8>),
    Values(Vec<Value>),
}

impl Default for Stretch {
    fn default() -> Stretch {
        Stretch::Values(Vec::new())
    }
}

impl Stretch {
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Stretch::Same(_, count) => *count,
            Stretch::Numbers(numbers) => numbers.len(),
            Stretch::Counts(counts) => counts.len(),
            Stretch::Truths(truths) => truths.len(),
            Stretch::Few(_, at) => at.len(),
            Stretch::Values(values) => values.len(),
        }
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// A value, which is not copied where it stands as one.
    #[must_use]
    pub fn get(&self, at: usize) -> Option<Cow<'_, Value>> {
        match self {
            Stretch::Same(value, count) => (at < *count).then_some(Cow::Borrowed(value)),
            Stretch::Numbers(numbers) => numbers.get(at).map(|it| Cow::Owned(Value::Number(*it))),
            Stretch::Counts(counts) => counts.get(at).map(|it| Cow::Owned(Value::Count(*it))),
            Stretch::Truths(truths) => truths.get(at).map(|it| Cow::Owned(Value::Bool(*it))),
            Stretch::Few(values, places) => one_of(values, places, at).map(Cow::Borrowed),
            Stretch::Values(values) => values.get(at).map(Cow::Borrowed),
        }
    }

    /// A value where it is text.
    #[must_use]
    pub fn text(&self, at: usize) -> Option<&str> {
        match self {
            Stretch::Same(value, count) if at < *count => value.as_text(),
            Stretch::Few(values, places) => one_of(values, places, at)?.as_text(),
            Stretch::Values(values) => values.get(at)?.as_text(),
            _ => None,
        }
    }

    #[must_use]
    pub fn is_blank(&self, at: usize) -> bool {
        match self {
            Stretch::Same(value, _) => value.is_blank(),
            Stretch::Few(values, places) => one_of(values, places, at).is_none_or(Value::is_blank),
            Stretch::Values(values) => values.get(at).is_none_or(Value::is_blank),
            Stretch::Numbers(_) | Stretch::Counts(_) | Stretch::Truths(_) => false,
        }
    }

    /// The values at some places.
    #[must_use]
    pub fn pick(&self, places: &[u32]) -> Stretch {
        fn picked<T: Clone>(all: &[T], places: &[u32]) -> Vec<T> {
            places.iter().filter_map(|&at| all.get(at as usize).cloned()).collect()
        }
        match self {
            Stretch::Same(value, _) => Stretch::Same(value.clone(), places.len()),
            Stretch::Numbers(numbers) => Stretch::Numbers(picked(numbers, places)),
            Stretch::Counts(counts) => Stretch::Counts(picked(counts, places)),
            Stretch::Truths(truths) => Stretch::Truths(picked(truths, places)),
            Stretch::Few(values, at) => Stretch::Few(values.clone(), picked(at, places)),
            Stretch::Values(values) => Stretch::Values(picked(values, places)),
        }
    }

    /// The same values, in less room where few of them are different.
    #[must_use]
    pub fn packed(self) -> Stretch {
        let same = match &self {
            Stretch::Numbers(all) => is_one(all, |a, b| a.to_bits() == b.to_bits()),
            Stretch::Counts(all) => is_one(all, i64::eq),
            Stretch::Truths(all) => is_one(all, bool::eq),
            Stretch::Same(..) | Stretch::Few(..) | Stretch::Values(_) => false,
        };
        if same {
            let count = self.len();
            return match self.get(0) {
                Some(value) => Stretch::Same(value.into_owned(), count),
                None => self,
            };
        }
        let Stretch::Values(values) = self else { return self };
        match few(&values) {
            Some((mut different, places)) if different.len() == 1 => {
                Stretch::Same(different.pop().unwrap_or_default(), places.len())
            }
            Some((different, places)) => Stretch::Few(different, places),
            None => Stretch::Values(values),
        }
    }

    /// Adds a value; `expected` is how many there will be in all.
    pub fn push(&mut self, value: Value, expected: usize) {
        if self.is_empty() {
            *self = Stretch::beginning(value, expected);
            return;
        }
        match (&mut *self, value) {
            (Stretch::Numbers(numbers), Value::Number(number)) => numbers.push(number),
            (Stretch::Counts(counts), Value::Count(count)) => counts.push(count),
            (Stretch::Truths(truths), Value::Bool(truth)) => truths.push(truth),
            (Stretch::Values(values), value) => values.push(value),
            (_, value) => {
                let mut values = self.loosened(expected);
                values.push(value);
                *self = Stretch::Values(values);
            }
        }
    }

    fn beginning(value: Value, expected: usize) -> Stretch {
        fn of<T>(first: T, expected: usize) -> Vec<T> {
            let mut all = Vec::with_capacity(expected.max(1));
            all.push(first);
            all
        }
        match value {
            Value::Number(number) => Stretch::Numbers(of(number, expected)),
            Value::Count(count) => Stretch::Counts(of(count, expected)),
            Value::Bool(truth) => Stretch::Truths(of(truth, expected)),
            other => Stretch::Values(of(other, expected)),
        }
    }

    /// The values as such, whatever they are, taken out.
    fn loosened(&mut self, expected: usize) -> Vec<Value> {
        match std::mem::take(self) {
            Stretch::Values(values) => values,
            other => {
                let mut values = Vec::with_capacity(expected.max(other.len() + 1));
                values.extend(other.into_values());
                values
            }
        }
    }

    /// Adds others behind these.
    pub fn append(&mut self, others: Stretch) {
        if self.is_empty() {
            *self = others;
            return;
        }
        if let (Stretch::Same(one, count), Stretch::Same(other, more)) = (&mut *self, &others)
            && one.is_same(other)
        {
            *count += more;
            return;
        }
        *self = std::mem::take(self).spread();
        match (&mut *self, others.spread()) {
            (Stretch::Numbers(numbers), Stretch::Numbers(others)) => numbers.extend(others),
            (Stretch::Counts(counts), Stretch::Counts(others)) => counts.extend(others),
            (Stretch::Truths(truths), Stretch::Truths(others)) => truths.extend(others),
            (Stretch::Few(values, places), Stretch::Few(others, more))
                if u8::try_from(values.len() + others.len()).is_ok() =>
            {
                let place_of = |other: Value| {
                    let known = values.iter().position(|value| value.is_same(&other));
                    let place = known.unwrap_or(values.len());
                    if known.is_none() {
                        values.push(other);
                    }
                    u8::try_from(place).unwrap_or(u8::MAX)
                };
                let moved: Vec<u8> = others.into_iter().map(place_of).collect();
                places.extend(more.into_iter().filter_map(|at| moved.get(usize::from(at))));
            }
            (Stretch::Values(values), others) => values.extend(others.into_values()),
            (_, others) => others.into_values().for_each(|value| self.push(value, 0)),
        }
    }

    /// The same with a place for each, where it is one value many times.
    fn spread(self) -> Stretch {
        match self {
            Stretch::Same(Value::Number(number), count) => Stretch::Numbers(vec![number; count]),
            Stretch::Same(Value::Count(whole), count) => Stretch::Counts(vec![whole; count]),
            Stretch::Same(Value::Bool(truth), count) => Stretch::Truths(vec![truth; count]),
            Stretch::Same(other, count) => Stretch::Few(vec![other], vec![0; count]),
            other => other,
        }
    }

    /// Puts another value in a place.
    pub fn set(&mut self, at: usize, value: Value) {
        match (&mut *self, value) {
            (Stretch::Numbers(numbers), Value::Number(number)) if at < numbers.len() => {
                numbers[at] = number;
            }
            (Stretch::Counts(counts), Value::Count(count)) if at < counts.len() => {
                counts[at] = count;
            }
            (_, value) => {
                let mut values = self.loosened(0);
                if let Some(place) = values.get_mut(at) {
                    *place = value;
                }
                *self = Stretch::Values(values);
            }
        }
    }

    /// The values one by one.
    pub fn into_values(self) -> Box<dyn Iterator<Item = Value>> {
        match self {
            Stretch::Same(value, count) => Box::new(std::iter::repeat_n(value, count)),
            Stretch::Numbers(numbers) => Box::new(numbers.into_iter().map(Value::Number)),
            Stretch::Counts(counts) => Box::new(counts.into_iter().map(Value::Count)),
            Stretch::Truths(truths) => Box::new(truths.into_iter().map(Value::Bool)),
            Stretch::Few(values, places) => {
                let one = move |at: u8| values.get(usize::from(at)).cloned().unwrap_or_default();
                Box::new(places.into_iter().map(one))
            }
            Stretch::Values(values) => Box::new(values.into_iter()),
        }
    }
}

fn one_of<'a>(values: &'a [Value], places: &[u8], at: usize) -> Option<&'a Value> {
    values.get(usize::from(*places.get(at)?))
}

/// Whether all are the same, and there is one.
fn is_one<T>(all: &[T], is_same: impl Fn(&T, &T) -> bool) -> bool {
    all.split_first().is_some_and(|(first, rest)| rest.iter().all(|it| is_same(first, it)))
}

/// The different ones of some values and where each stands; `None` where they are many.
fn few(values: &[Value]) -> Option<(Vec<Value>, Vec<u8>)> {
    const MOST: usize = 48;
    let mut different: Vec<Value> = Vec::new();
    let mut places = Vec::with_capacity(values.len());
    let mut last = 0;
    for value in values {
        if !different.get(last).is_some_and(|known| known.is_same(value)) {
            let known = different.iter().position(|known| known.is_same(value));
            last = known.unwrap_or(different.len());
            if last == different.len() {
                if last == MOST {
                    return None;
                }
                different.push(value.clone());
            }
        }
        places.push(u8::try_from(last).ok()?);
    }
    (!different.is_empty()).then_some((different, places))
}

/// The cells of a table.
#[derive(Clone, Debug, Default)]
pub struct Cells {
    width: usize,
    /// By block and column.
    blocks: Vec<Vec<Stretch>>,
}

impl Cells {
    /// None yet, of so many columns.
    #[must_use]
    pub fn new(width: usize) -> Cells {
        Cells { width, blocks: Vec::new() }
    }

    /// From parts of the rows in order, a stretch a column: blocks, or the same part of a block each;
    /// only the last may have fewer rows.
    #[must_use]
    pub fn of_parts(width: usize, parts: Vec<Vec<Stretch>>) -> Cells {
        let rows = |part: &[Stretch]| part.first().map_or(0, Stretch::len);
        let mut blocks: Vec<Vec<Stretch>> = Vec::with_capacity(parts.len());
        for part in parts {
            debug_assert_eq!(part.len(), width);
            match blocks.last_mut().filter(|block| rows(block) < BLOCK) {
                Some(block) => block.iter_mut().zip(part).for_each(|(all, it)| all.append(it)),
                None => blocks.push(part),
            }
        }
        debug_assert!(blocks.iter().rev().skip(1).all(|block| width == 0 || rows(block) == BLOCK));
        Cells { width, blocks }
    }

    /// From values row by row.
    pub fn of(width: usize, values: impl IntoIterator<Item = Value>) -> Cells {
        let mut cells = Cells::new(width);
        let mut values = values.into_iter().peekable();
        while width > 0 && values.peek().is_some() {
            cells.push_row(values.by_ref().take(width));
        }
        cells
    }

    /// Adds a row: what it lacks is blank, what is too much is left out.
    pub fn push_row(&mut self, values: impl IntoIterator<Item = Value>) {
        let is_full = |block: &Vec<Stretch>| block.first().is_none_or(|it| it.len() == BLOCK);
        if self.blocks.last().is_none_or(is_full) {
            self.blocks.push(vec![Stretch::default(); self.width]);
        }
        let mut values = values.into_iter();
        if let Some(block) = self.blocks.last_mut() {
            for stretch in block {
                stretch.push(values.next().unwrap_or_default(), 0);
            }
        }
    }

    #[must_use]
    pub fn get(&self, row: usize, column: usize) -> Option<Cow<'_, Value>> {
        self.blocks.get(row / BLOCK)?.get(column)?.get(row % BLOCK)
    }

    /// The cells of a column in some rows; those that are not there are left out.
    #[must_use]
    pub fn at(&self, rows: &[usize], column: usize) -> Stretch {
        let mut all = Stretch::default();
        for rows in rows.chunk_by(|a, b| a / BLOCK == b / BLOCK) {
            let block = rows.first().and_then(|row| self.blocks.get(row / BLOCK));
            let Some(stretch) = block.and_then(|block| block.get(column)) else { continue };
            #[allow(clippy::cast_possible_truncation, reason = "less than a block has rows")]
            let places: Vec<u32> = rows.iter().map(|row| (row % BLOCK) as u32).collect();
            all.append(stretch.pick(&places));
        }
        all
    }

    /// A row.
    #[must_use]
    pub fn row(&self, row: usize) -> Row<'_> {
        let block = self.blocks.get(row / BLOCK).map_or(&[][..], Vec::as_slice);
        Row { block, at: row % BLOCK }
    }

    /// The stretches of a column.
    pub fn column(&self, column: usize) -> impl Iterator<Item = &Stretch> {
        self.blocks.iter().filter_map(move |block| block.get(column))
    }

    /// The same, to be changed.
    pub fn column_mut(&mut self, column: usize) -> impl Iterator<Item = &mut Stretch> {
        self.blocks.iter_mut().filter_map(move |block| block.get_mut(column))
    }

    /// Where values of a kind are, row by row.
    pub fn places(&self, is: impl Fn(&Value) -> bool) -> Vec<(usize, usize)> {
        let mut places = Vec::new();
        for (from, block) in (0..).step_by(BLOCK).zip(&self.blocks) {
            for (column, stretch) in block.iter().enumerate() {
                let mut look = |at: usize, value: &Value| {
                    if is(value) {
                        places.push((from + at, column));
                    }
                };
                let numbered = 0..;
                match stretch {
                    Stretch::Few(values, places) => {
                        for (at, place) in numbered.zip(places) {
                            if let Some(value) = values.get(usize::from(*place)) {
                                look(at, value);
                            }
                        }
                    }
                    Stretch::Same(value, count) => (0..*count).for_each(|at| look(at, value)),
                    Stretch::Values(values) => {
                        numbered.zip(values).for_each(|(at, value)| look(at, value));
                    }
                    Stretch::Numbers(numbers) => {
                        numbered.zip(numbers).for_each(|(at, it)| look(at, &Value::Number(*it)));
                    }
                    Stretch::Counts(counts) => {
                        numbered.zip(counts).for_each(|(at, it)| look(at, &Value::Count(*it)));
                    }
                    Stretch::Truths(truths) => {
                        numbered.zip(truths).for_each(|(at, it)| look(at, &Value::Bool(*it)));
                    }
                }
            }
        }
        places.sort_unstable();
        places
    }
}

/// A row of a table's cells.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    block: &'a [Stretch],
    at: usize,
}

impl<'a> Row<'a> {
    #[must_use]
    pub fn get(&self, column: usize) -> Option<Cow<'a, Value>> {
        self.block.get(column)?.get(self.at)
    }

    /// A cell where it is text.
    #[must_use]
    pub fn text(&self, column: usize) -> Option<&'a str> {
        self.block.get(column)?.text(self.at)
    }

    /// The cells, one a column.
    pub fn iter(&self) -> impl Iterator<Item = Cow<'a, Value>> + use<'a> {
        let at = self.at;
        self.block.iter().filter_map(move |stretch| stretch.get(at))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn value() -> impl Strategy<Value = Value> {
        prop_oneof![
            4 => (0_i64..3).prop_map(Value::Count),
            4 => (0_u8..3).prop_map(|half| Value::Number(f64::from(half) / 2.0)),
            1 => any::<bool>().prop_map(Value::Bool),
            1 => Just(Value::Blank),
            1 => "[ab]?".prop_map(Value::text),
        ]
    }

    fn column() -> impl Strategy<Value = Vec<Value>> {
        let of = |value: BoxedStrategy<Value>| prop::collection::vec(value, 0..1_200);
        prop_oneof![
            of(value().boxed()),
            of(Just(Value::Count(7)).boxed()),
            of((0_i64..9).prop_map(Value::Count).boxed()),
            of((0_u8..9).prop_map(|n| Value::Number(n.into())).boxed()),
            of(any::<bool>().prop_map(Value::Bool).boxed()),
        ]
    }

    fn stretch(values: &[Value]) -> Stretch {
        let mut stretch = Stretch::default();
        for value in values {
            stretch.push(value.clone(), 0);
        }
        stretch
    }

    fn of(stretch: &Stretch) -> Vec<Value> {
        (0..stretch.len()).filter_map(|at| stretch.get(at)).map(Cow::into_owned).collect()
    }

    proptest! {
        #[test]
        fn cells_are_where_they_were_put(a in column(), b in column()) {
            let rows = a.len().min(b.len());
            let all = a.iter().zip(&b).flat_map(|(a, b)| [a.clone(), b.clone()]);
            let cells = Cells::of(2, all);
            for row in 0..rows {
                prop_assert!(cells.get(row, 0).is_some_and(|cell| *cell == a[row]));
                prop_assert!(cells.row(row).get(1).is_some_and(|cell| *cell == b[row]));
                prop_assert_eq!(cells.row(row).text(1), b[row].as_text());
                prop_assert_eq!(cells.row(row).iter().count(), 2);
            }
            prop_assert!(cells.get(rows, 0).is_none() && cells.get(0, 2).is_none());
            let blanks: Vec<(usize, usize)> = (0..rows)
                .flat_map(|row| [(row, 0), (row, 1)])
                .filter(|&(row, column)| [&a, &b][column][row] == Value::Count(1))
                .collect();
            prop_assert_eq!(cells.places(|value| *value == Value::Count(1)), blanks);
            let some: Vec<usize> = (0..rows).rev().step_by(3).chain(0..rows / 2).collect();
            let picked: Vec<Value> = some.iter().map(|&row| a[row].clone()).collect();
            prop_assert_eq!(of(&cells.at(&some, 0)), picked);
        }

        #[test]
        fn parts_are_joined(a in column(), eighths in 0_u32..4) {
            let part = BLOCK >> eighths;
            let parts = a.chunks(part).map(|part| vec![stretch(part)]).collect();
            let cells = Cells::of_parts(1, parts);
            let rows: Vec<usize> = (0..a.len()).collect();
            prop_assert_eq!(of(&cells.at(&rows, 0)), a);
        }

        #[test]
        fn stretches_hold_what_is_added(a in column(), b in column(), put in value(), at in 0_usize..1_300) {
            let mut joined = stretch(&a);
            joined.append(stretch(&b));
            let mut wanted = [a, b].concat();
            prop_assert_eq!(of(&joined), wanted.clone());
            joined.set(at, put.clone());
            if let Some(place) = wanted.get_mut(at) {
                *place = put;
            }
            prop_assert_eq!(of(&joined), wanted.clone());
            prop_assert_eq!(joined.len(), wanted.len());
            let blank = |at: usize| joined.is_blank(at) == wanted[at].is_blank();
            prop_assert!((0..wanted.len()).all(blank));
            prop_assert_eq!(joined.into_values().collect::<Vec<_>>(), wanted);
        }

        #[test]
        fn packed_values_are_the_same(
            a in column(), b in column(), put in value(), at in 0_usize..1_300, places in prop::collection::vec(0_u32..900, 0..9)
        ) {
            let places: Vec<u32> =
                places.into_iter().filter(|at| (*at as usize) < a.len()).collect();
            let loose = stretch(&a);
            let mut packed = loose.clone().packed();
            prop_assert_eq!(of(&packed), a.clone());
            prop_assert_eq!(packed.len(), a.len());
            prop_assert!((0..a.len()).all(|at| packed.text(at) == a[at].as_text()));
            prop_assert!((0..a.len()).all(|at| packed.is_blank(at) == a[at].is_blank()));
            prop_assert_eq!(of(&packed.pick(&places)), of(&loose.pick(&places)));
            prop_assert_eq!(packed.clone().into_values().collect::<Vec<_>>(), a.clone());
            packed.append(stretch(&b).packed());
            packed.push(put.clone(), 0);
            packed.set(at, put.clone());
            let mut wanted = [a, b, vec![put.clone()]].concat();
            if let Some(place) = wanted.get_mut(at) {
                *place = put;
            }
            prop_assert_eq!(of(&packed), wanted);
        }

        #[test]
        fn the_same_many_times_is_as_if_it_stood_there(
            one in value(), count in 1_usize..600, other in value(), at in 0_usize..700
        ) {
            let mut same = Stretch::Same(one.clone(), count);
            let mut wanted = vec![one; count];
            prop_assert_eq!(of(&same), wanted.clone());
            prop_assert_eq!(of(&same.pick(&[0, 0])), vec![wanted[0].clone(); 2]);
            same.push(other.clone(), 0);
            wanted.push(other.clone());
            same.set(at, other.clone());
            if let Some(place) = wanted.get_mut(at) {
                *place = other;
            }
            prop_assert_eq!(of(&same), wanted);
        }
    }
}
