//! The shape of a bay on plan: its outline and openings, turned so that flutes run along.
//!
//! The schedule gives X east and Y north, always. A bay whose flutes run E-W has X along and Y
//! across; one whose flutes run N-S has Y along and X across.

use std::sync::Arc;

use indexmap::IndexMap;

use super::{Bay, Entry, Job, Runs};
use crate::value::{Record, Value};

/// Positions of rows of Outlines and Openings by level and bay.
#[derive(Clone, Debug, Default)]
pub struct Shapes {
    outlines: IndexMap<(Arc<str>, Arc<str>), Vec<u32>>,
    openings: IndexMap<(Arc<str>, Arc<str>), Vec<u32>>,
}

/// A corner on plan: east and north, ft.
type Corner = (f64, f64);

impl Job {
    fn shapes(&self) -> &Shapes {
        self.shapes.get_or_init(|| Shapes {
            outlines: self.by_bay("outlines"),
            openings: self.by_bay("openings"),
        })
    }

    fn by_bay(&self, sheet: &str) -> IndexMap<(Arc<str>, Arc<str>), Vec<u32>> {
        let mut rows: IndexMap<(Arc<str>, Arc<str>), Vec<u32>> = IndexMap::new();
        for (at, entry) in (0_u32..).zip(self.sheet(sheet)) {
            if let (Some(Value::Text(level)), Some(Value::Text(bay))) =
                (entry.fields.get("level"), entry.fields.get("bay"))
            {
                rows.entry((level.clone(), bay.clone())).or_default().push(at);
            }
        }
        rows
    }

    fn rows_of<'a>(
        &'a self,
        sheet: &str,
        rows: &IndexMap<(Arc<str>, Arc<str>), Vec<u32>>,
        bay: &Bay,
    ) -> Vec<&'a Entry> {
        let sheet = self.sheet(sheet);
        let rows = rows.get(&(bay.level.clone(), bay.mark.clone()));
        rows.into_iter().flatten().filter_map(|&at| sheet.get(at as usize)).collect()
    }

    fn outline_rows(&self, bay: &Bay) -> Vec<&Entry> {
        self.rows_of("outlines", &self.shapes().outlines, bay)
    }

    fn opening_rows(&self, bay: &Bay) -> Vec<&Entry> {
        self.rows_of("openings", &self.shapes().openings, bay)
    }

    /// The corners of a bay that is no plain rectangle, `[along, across]`, ft; blank for one that
    /// is laid out by its spans and widths alone. A rectangle with openings that are placed has
    /// corners too.
    #[must_use]
    pub fn outline(&self, bay: &Bay) -> Value {
        let rows = self.outline_rows(bay);
        let corners: Vec<Corner> = if rows.is_empty() {
            if self.opening_rows(bay).iter().all(|row| corner_of(&row.fields).is_none()) {
                return Value::Blank;
            }
            let (x, y) = corner_of(&bay.rest).unwrap_or((0.0, 0.0));
            let (length, width) = (bay.length().in_feet(), bay.width().in_feet());
            let (east, north) = match bay.runs {
                Some(Runs::NorthSouth) => (width, length),
                Some(Runs::EastWest) | None => (length, width),
            };
            rectangle((x, y), east, north)
        } else {
            rows.iter().filter_map(|row| corner_of(&row.fields)).collect()
        };
        turned(&corners, bay.runs)
    }

    /// The openings of a bay: records of `corners_ft` (blank where it is not placed), `framed`,
    /// `area_ft2`.
    #[must_use]
    pub fn openings(&self, bay: &Bay) -> Value {
        let openings = self.opening_rows(bay).into_iter().map(|row| {
            let size = |key: &str| row.fields.get(key).and_then(Value::as_number);
            let (east, north) = (size("length_ft").unwrap_or(0.0), size("width_ft").unwrap_or(0.0));
            let corners = corner_of(&row.fields)
                .map_or(Value::Blank, |at| turned(&rectangle(at, east, north), bay.runs));
            let framed = matches!(row.fields.get("framed"), Some(Value::Bool(true)));
            let fields = [
                ("corners_ft", corners),
                ("framed", Value::Bool(framed)),
                ("area_ft2", Value::Number(east * north)),
            ];
            let record: Record =
                fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect();
            Value::Record(Arc::new(record))
        });
        Value::List(openings.collect())
    }
}

fn corner_of(fields: &Record) -> Option<Corner> {
    let number = |key: &str| fields.get(key).and_then(Value::as_number);
    Some((number("x_ft")?, number("y_ft")?))
}

fn rectangle((x, y): Corner, east: f64, north: f64) -> Vec<Corner> {
    vec![(x, y), (x + east, y), (x + east, y + north), (x, y + north)]
}

/// Corners as `[along, across]`.
fn turned(corners: &[Corner], runs: Option<Runs>) -> Value {
    let pair = |&(x, y): &Corner| {
        let (along, across) = match runs {
            Some(Runs::NorthSouth) => (y, x),
            Some(Runs::EastWest) | None => (x, y),
        };
        Value::List(Arc::from([Value::Number(along), Value::Number(across)]))
    };
    Value::List(corners.iter().map(pair).collect())
}
