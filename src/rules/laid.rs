//! Rows that a script made alike, column by column.
//!
//! A table stands on its rows as long as the run lasts. In columns they take a part of the room that
//! each has alone, and a field of many rows is read at once.

use std::sync::Arc;

use super::item::{Base, Item};
use super::made::{Fields, place_of};
use crate::cells::{BLOCK, Cells, Stretch};
use crate::job::name::Name;
use crate::record::Shape;
use crate::value::Value;

/// Fewer rows stay as they were made.
const MOST_SINGLE: usize = 16;

/// Rows of one shape.
#[derive(Debug)]
pub struct Laid {
    shape: Arc<Shape>,
    /// By row and place of the name; blank where the item is no plain value.
    cells: Cells,
    /// By place of the name: all rows' items, where some are no plain values.
    items: Vec<Option<Vec<Item>>>,
}

/// The rows as a table stands on them: in columns, where they are many and made alike.
pub fn laid_out(bases: Arc<[Base]>) -> Arc<[Base]> {
    if bases.len() <= MOST_SINGLE {
        return bases;
    }
    match Laid::of(&bases) {
        Some(laid) => {
            let laid = Arc::new(laid);
            let rows = 0..u32::try_from(bases.len()).unwrap_or(u32::MAX);
            rows.map(|row| Base::Laid(laid.clone(), row)).collect()
        }
        None => bases,
    }
}

impl Laid {
    fn of(bases: &[Base]) -> Option<Laid> {
        fn made(base: &Base) -> Option<&Fields> {
            if let Base::Made(fields) = base { Some(fields) } else { None }
        }
        let rows: Vec<&Fields> = bases.iter().map(made).collect::<Option<_>>()?;
        let first = rows.first()?;
        if !rows.iter().all(|row| row.is_like(first)) {
            return None;
        }
        let shape = first.shape().clone();
        let mut items: Vec<Option<Vec<Item>>> = vec![None; shape.len()];
        for row in &rows {
            for (items, item) in items.iter_mut().zip(row.values()) {
                if !matches!(item, Item::Value(_)) {
                    items.get_or_insert_with(|| Vec::with_capacity(rows.len()));
                }
            }
        }
        let blocks = rows.chunks(BLOCK).map(|rows| {
            let mut block = vec![Stretch::default(); shape.len()];
            for row in rows {
                for ((stretch, items), item) in block.iter_mut().zip(&mut items).zip(row.values()) {
                    let value = match (items, item) {
                        (None, Item::Value(value)) => value.clone(),
                        (None, _) => Value::Blank,
                        (Some(items), item) => {
                            items.push(item.clone());
                            Value::Blank
                        }
                    };
                    stretch.push(value, rows.len());
                }
            }
            block.into_iter().map(Stretch::packed).collect()
        });
        let cells = Cells::of_parts(shape.len(), blocks.collect());
        Some(Laid { shape, cells, items })
    }

    /// The place of a name, as a row's field.
    pub fn place<T: AsRef<str>>(&self, name: &Name<T>) -> Option<usize> {
        place_of(&self.shape, name)
    }

    /// What a row has at a place.
    pub fn item(&self, row: usize, place: usize) -> Option<Item> {
        if let Some(items) = self.items.get(place)? {
            return items.get(row).cloned();
        }
        let value = self.cells.get(row, place)?;
        Some(Item::Value(value.into_owned()))
    }

    /// What rows have at a place, where these are plain values.
    pub fn stretch(&self, rows: &[usize], place: usize) -> Option<Stretch> {
        match self.items.get(place)? {
            Some(_) => None,
            None => Some(self.cells.at(rows, place)),
        }
    }

    /// The row below a row.
    pub fn below(&self, row: usize) -> Option<&Base> {
        match self.items.get(self.shape.place("row")?)?.as_ref()?.get(row)? {
            Item::Row(below) => Some(below),
            Item::Value(_) | Item::Rows(_) => None,
        }
    }

    /// A row as it was made.
    pub fn fields(&self, row: usize) -> Fields {
        let items = (0..self.shape.len()).filter_map(|place| self.item(row, place));
        Fields::new(self.shape.clone(), items.collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;

    fn made(items: Vec<(&str, Item)>) -> Base {
        let items = items.into_iter().map(|(name, item)| (Arc::from(name), item));
        Base::Made(Arc::new(items.collect()))
    }

    fn row(at: u32) -> Base {
        let below = vec![("mark", Item::Value(Value::text(format!("B{at}"))))];
        let rest = if at.is_multiple_of(7) {
            Item::Value(Value::Blank)
        } else {
            Item::Rows(Arc::from([]))
        };
        made(vec![
            ("row", Item::Row(made(below))),
            ("count", Item::Value(Value::Count(i64::from(at % 3)))),
            ("length_ft", Item::Value(Value::Number(f64::from(at) / 2.0))),
            ("rest", rest),
        ])
    }

    #[test]
    fn rows_are_in_columns_what_they_were() {
        let rows: Arc<[Base]> = (0..1_300).map(row).collect();
        let laid = laid_out(rows.clone());
        let job = Job::default();
        for (at, (laid, row)) in laid.iter().zip(&*rows).enumerate() {
            let Base::Laid(_, place) = laid else { panic!("row {at} is not laid out") };
            assert_eq!(*place as usize, at);
            for name in ["mark", "count", "length_ft", "rest", "none", "row"] {
                let [laid, row] = [laid, row].map(|it| format!("{:?}", it.get(&job, name)));
                assert_eq!(laid, row, "{name} of row {at}");
            }
            assert_eq!(laid.names(&job), row.names(&job));
            let [laid, row] = [laid, row].map(|it| it.made().unwrap().iter().count());
            assert_eq!(laid, row);
        }
    }

    #[test]
    fn rows_of_several_kinds_and_few_rows_stay() {
        let is_made = |rows: Vec<Base>| {
            laid_out(rows.into()).iter().all(|row| matches!(row, Base::Made(_) | Base::Bay(_)))
        };
        assert!(is_made((0..9).map(row).collect()));
        assert!(!is_made((0..90).map(row).collect()));
        assert!(is_made((0..90).map(row).chain([Base::Bay(0)]).collect()));
        let other = made(vec![("count", Item::Value(Value::Count(1)))]);
        assert!(is_made((0..90).map(row).chain([other]).collect()));
    }
}
