//! The shape of a bay on plan: its outline and openings, turned so that flutes run along.
//!
//! The schedule gives X east and Y north, always. A bay whose flutes run E-W has X along and Y
//! across; one whose flutes run N-S has Y along and X across.

use std::sync::Arc;

use indexmap::IndexMap;

use super::{Bay, Entry, Job, Runs};
use crate::text::mark_key;
use crate::value::{Record, Value};

/// Rows by level and bay, case and spaces of the marks apart.
type ByBay = IndexMap<(String, String), Vec<u32>>;

/// Positions of rows of Outlines and Openings by level and bay.
#[derive(Clone, Debug, Default)]
pub struct Shapes {
    outlines: ByBay,
    openings: ByBay,
}

/// A corner on plan: east and north, ft.
pub type Corner = (f64, f64);

/// An opening of a bay as the schedule has it.
#[derive(Clone, Debug)]
pub struct PlanOpening<'a> {
    /// One row, or a row for each corner.
    pub rows: Vec<&'a Entry>,
    /// None where it is not placed.
    pub corners: Option<Vec<Corner>>,
    pub framed: bool,
    pub area_ft2: f64,
}

impl Job {
    fn shapes(&self) -> &Shapes {
        self.shapes.get_or_init(|| Shapes {
            outlines: self.by_bay("outlines"),
            openings: self.by_bay("openings"),
        })
    }

    fn by_bay(&self, sheet: &str) -> ByBay {
        let mut rows = ByBay::new();
        for (at, entry) in (0_u32..).zip(self.sheet(sheet)) {
            if let (Some(Value::Text(level)), Some(Value::Text(bay))) =
                (entry.fields.get("level"), entry.fields.get("bay"))
            {
                let key = (mark_key(level).into_owned(), mark_key(bay).into_owned());
                rows.entry(key).or_default().push(at);
            }
        }
        rows
    }

    fn rows_of<'a>(&'a self, sheet: &str, rows: &ByBay, bay: &Bay) -> Vec<&'a Entry> {
        if rows.is_empty() {
            return Vec::new();
        }
        let sheet = self.sheet(sheet);
        let rows = rows.get(&(mark_key(&bay.level).into_owned(), mark_key(&bay.mark).into_owned()));
        rows.into_iter().flatten().filter_map(|&at| sheet.get(at as usize)).collect()
    }

    /// The rows of Outlines that are a bay's corners.
    #[must_use]
    pub fn outline_rows(&self, bay: &Bay) -> Vec<&Entry> {
        self.rows_of("outlines", &self.shapes().outlines, bay)
    }

    /// The openings of a bay, in the order of their first rows.
    #[must_use]
    pub fn plan_openings(&self, bay: &Bay) -> Vec<PlanOpening<'_>> {
        let mut openings: Vec<PlanOpening<'_>> = Vec::new();
        let mut by_mark: IndexMap<String, usize> = IndexMap::new();
        for row in self.rows_of("openings", &self.shapes().openings, bay) {
            let (east, north) = bay.opening_sides(row);
            let framed = matches!(row.fields.get("framed"), Some(Value::Bool(true)));
            let at = corner_of(&row.fields);
            if let (Some(Value::Text(mark)), None, None) = (row.fields.get("opening"), east, north)
            {
                let next = openings.len();
                let of_mark = *by_mark.entry(mark_key(mark).into_owned()).or_insert(next);
                if of_mark == next {
                    openings.push(PlanOpening {
                        rows: Vec::new(),
                        corners: Some(Vec::new()),
                        framed: false,
                        area_ft2: 0.0,
                    });
                }
                if let Some(opening) = openings.get_mut(of_mark) {
                    opening.rows.push(row);
                    opening.framed |= framed;
                    opening.corners.get_or_insert_default().extend(at);
                }
                continue;
            }
            let (east, north) = (east.unwrap_or(0.0), north.unwrap_or(0.0));
            openings.push(PlanOpening {
                rows: vec![row],
                corners: at.map(|at| rectangle(at, east, north)),
                framed,
                area_ft2: east * north,
            });
        }
        for (_, at) in by_mark {
            if let Some(opening) = openings.get_mut(at) {
                opening.area_ft2 = area_ft2(opening.corners.as_deref().unwrap_or_default());
            }
        }
        openings
    }

    /// The corners that Outlines gives a bay, or those of a rectangle in which openings are placed;
    /// none for a bay that is laid out by its spans and widths alone. A strip is always: its panels
    /// run over the bays beside it.
    #[must_use]
    pub fn plan_corners(&self, bay: &Bay) -> Vec<Corner> {
        let rows = self.outline_rows(bay);
        if !rows.is_empty() {
            return rows.iter().filter_map(|row| corner_of(&row.fields)).collect();
        }
        let is_placed = |opening: &PlanOpening<'_>| opening.corners.is_some();
        if bay.strip.is_some() || !self.plan_openings(bay).iter().any(is_placed) {
            return Vec::new();
        }
        bay.rectangle()
    }

    /// The corners of a bay that is no plain rectangle, `[along, across]`, ft; blank for one that
    /// is laid out by its spans and widths alone.
    #[must_use]
    pub fn outline(&self, bay: &Bay) -> Value {
        match self.plan_corners(bay)[..] {
            [] => Value::Blank,
            ref corners => turned(corners, bay.runs),
        }
    }

    /// The openings of a bay: records of `corners_ft` (blank where it is not placed), `framed`,
    /// `area_ft2`.
    #[must_use]
    pub fn openings(&self, bay: &Bay) -> Value {
        let openings = self.plan_openings(bay).into_iter().map(|opening| {
            let corners = opening.corners.map_or(Value::Blank, |at| turned(&at, bay.runs));
            let fields = [
                ("corners_ft", corners),
                ("framed", Value::Bool(opening.framed)),
                ("area_ft2", Value::Number(opening.area_ft2)),
            ];
            let record: Record =
                fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect();
            Value::Record(Arc::new(record))
        });
        Value::List(openings.collect())
    }
}

impl Bay {
    /// East-west and north-south size of an opening, which may be stated along and across the flutes.
    #[must_use]
    pub fn opening_sides(&self, row: &Entry) -> (Option<f64>, Option<f64>) {
        let size = |key: &str| row.fields.get(key).and_then(Value::as_number);
        let (along, across) = (size("along_ft"), size("across_ft"));
        let (east, north) = match self.runs {
            Some(Runs::NorthSouth) => (across, along),
            Some(Runs::EastWest) | None => (along, across),
        };
        (size("length_ft").or(east), size("width_ft").or(north))
    }

    /// The corners of its spans and widths from its own X and Y.
    #[must_use]
    pub fn rectangle(&self) -> Vec<Corner> {
        let at = corner_of(&self.rest).unwrap_or((0.0, 0.0));
        let (length, width) = (self.length().in_feet(), self.width().in_feet());
        match self.runs {
            Some(Runs::NorthSouth) => rectangle(at, width, length),
            Some(Runs::EastWest) | None => rectangle(at, length, width),
        }
    }
}

fn corner_of(fields: &Record) -> Option<Corner> {
    let number = |key: &str| fields.get(key).and_then(Value::as_number);
    Some((number("x_ft")?, number("y_ft")?))
}

fn rectangle((x, y): Corner, east: f64, north: f64) -> Vec<Corner> {
    vec![(x, y), (x + east, y), (x + east, y + north), (x, y + north)]
}

/// The area within corners, by the shoelace sum.
pub(crate) fn area_ft2(corners: &[Corner]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
    twice.abs() / 2.0
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
