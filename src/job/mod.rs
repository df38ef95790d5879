//! The job: everything one schedule workbook describes, read, resolved and checked.
//!
//! In: what the schedule room read. Out: bays with their decks, and the other sheets' rows, as
//! plain values that scripts read by the names of [`schema`]. Every value keeps the cell it came
//! from.

pub mod fields;
pub mod name;
pub mod schema;
pub mod shape;

use std::sync::{Arc, OnceLock};

use indexmap::IndexMap;
use serde::Serialize;

use crate::finding::Place;
use crate::length::{Length, Typed};
use crate::value::{Hashing, Record, Value};

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub enum Origin {
    /// A cell of a schedule sheet: index into [`Job::readings`], row and column from 0.
    Cell { reading: u16, row: u32, column: u32 },
    /// The catalogue: the file and the entry.
    Catalogue(Arc<str>),
    /// A default of the program, said in a finding where it matters.
    Default,
}

/// How one sheet of the schedule was understood.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// The sheet's name in the workbook.
    pub sheet: Arc<str>,
    /// The schema sheet it was read as: `bays`.
    pub key: &'static str,
    /// The (last) row of its headings, from 0.
    pub heading_row: u32,
    /// Canonical key to column, from 0.
    pub columns: IndexMap<Arc<str>, u32>,
    /// Headings that no one knows, with their columns; carried along.
    pub own: IndexMap<Arc<str>, u32>,
    /// Every heading in the order of its column, and what it was read as.
    pub headings: Vec<Heading>,
    /// How the sheet was found: by its name, by its headings …
    pub found_by: &'static str,
    /// How many rows were taken.
    pub taken: u32,
    /// Rows passed over and why, in order: `blank` is not among them.
    pub passed: Vec<(u32, &'static str)>,
    /// Rows left out because something in them can not be read.
    pub left_out: Vec<u32>,
    /// What else was noticed: hidden rows, merged cells, a level taken from the sheet's name.
    pub remarks: Vec<String>,
}

/// A heading of the schedule and what it was read as.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Heading {
    /// Its column, from 0.
    pub column: u32,
    pub typed: Arc<str>,
    /// The key that scripts read; the heading itself where no one knows it.
    pub key: Arc<str>,
    pub is_known: bool,
    /// The unit that rules a bare number below it.
    pub unit: Option<&'static str>,
}

/// A row of a sheet other than Bays: its values under the schema's keys (and its own headings).
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    pub reading: u16,
    /// Its row, from 0.
    pub row: u32,
    pub fields: Arc<Record>,
    /// The deck of a row that orders panels of a type (Pieces, Releases): position in [`Job::decks`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deck: Option<u32>,
}

/// A deck as one or more bays have it: type, overrides, defaults and catalogue in one.
#[derive(Clone, Debug, Serialize)]
pub struct Deck {
    /// The fields of [`schema::DECK`], the catalogue's figures and `type`.
    pub fields: Arc<Record>,
    /// Where each field came from.
    pub origins: IndexMap<Arc<str>, Origin>,
    /// Positions in [`Job::bays`] of the bays that have it.
    pub bays: Vec<u32>,
}

/// Which way the flutes go on plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub enum Runs {
    #[serde(rename = "E-W")]
    EastWest,
    #[serde(rename = "N-S")]
    NorthSouth,
}

/// Where a row stands in the order of its job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Status {
    TakeOff,
    Hold,
    Released,
    Shipped,
    Void,
}

impl Status {
    /// The word of the schedule.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Status::TakeOff => "take-off",
            Status::Hold => "hold",
            Status::Released => "released",
            Status::Shipped => "shipped",
            Status::Void => "void",
        }
    }
}

/// A decked area of one type whose panels all run one way.
#[derive(Clone, Debug, Serialize)]
pub struct Bay {
    /// Its row: index into [`Job::readings`] and row from 0 (the model level's row for a bay that
    /// a `Like` level has too).
    pub reading: u16,
    pub row: u32,
    /// The level it is really on.
    pub level: Arc<str>,
    pub mark: Arc<str>,
    /// Position in [`Job::decks`].
    pub deck: u32,
    pub sequence: Arc<str>,
    pub runs: Option<Runs>,
    pub spans: Arc<[Typed]>,
    /// Groups between `|`.
    pub widths: Arc<[Vec<Typed>]>,
    pub copies: i64,
    /// Strip, place along and place across.
    pub strip: Option<(Arc<str>, i64, i64)>,
    /// As typed: `P1`, `P1 60%, P2 40%`.
    pub pour: Option<Arc<str>>,
    pub cut: Option<Arc<str>>,
    pub start_end: Option<Arc<str>>,
    pub far_end: Option<Arc<str>>,
    pub status: Status,
    pub alternate: Option<Arc<str>>,
    /// Everything else of the row: drawing, support, camber_in, slope, x_ft, y_ft, note and the
    /// headings that no one knows.
    pub rest: Arc<Record>,
}

impl Bay {
    /// Length along the flutes.
    #[must_use]
    pub fn length(&self) -> Length {
        self.spans.iter().map(|span| span.length).sum()
    }

    /// Width across the flutes.
    #[must_use]
    pub fn width(&self) -> Length {
        self.widths.iter().flatten().map(|width| width.length).sum()
    }
}

/// Everything one schedule workbook describes.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Job {
    /// The schedule's file name, without folders.
    pub schedule: String,
    /// SHA-256 of the schedule's bytes, hexadecimal.
    pub schedule_hash: String,
    pub readings: Vec<Reading>,
    /// Sheets of the workbook that are none of the schedule's.
    pub unread: Vec<Arc<str>>,
    /// The Job sheet: canonical key (or the heading as typed) and value.
    pub head: Arc<Record>,
    /// The cell of each entry of the Job sheet.
    pub head_origins: IndexMap<Arc<str>, Origin>,
    pub decks: Vec<Deck>,
    pub bays: Vec<Bay>,
    /// Levels, sequences, pours, mixes, edges …: schema key and rows. Levels, sequences and pours
    /// that only the bays name are there too, in the order of the bays.
    pub sheets: IndexMap<&'static str, Vec<Entry>>,
    /// The release whose rows are wanted, where one is.
    #[serde(skip)]
    pub release: Option<Arc<str>>,
    /// The bays of each strip, found when first asked for.
    #[serde(skip)]
    pub(crate) strips: OnceLock<IndexMap<StripKey, Vec<u32>>>,
    /// Places of levels and sequences by name, found when first asked for.
    #[serde(skip)]
    pub(crate) level_places: OnceLock<IndexMap<Arc<str>, usize, Hashing>>,
    #[serde(skip)]
    pub(crate) sequence_places: OnceLock<IndexMap<Arc<str>, usize, Hashing>>,
    /// The rows of Outlines and Openings of each bay, found when first asked for.
    #[serde(skip)]
    pub(crate) shapes: OnceLock<shape::Shapes>,
}

/// A strip's level and mark.
type StripKey = (Arc<str>, Arc<str>);

impl Job {
    /// The rows of a sheet other than Bays.
    #[must_use]
    pub fn sheet(&self, key: &str) -> &[Entry] {
        self.sheets.get(key).map_or(&[], Vec::as_slice)
    }

    /// The bays that are laid out as one strip with a bay, itself included.
    #[must_use]
    pub fn strip_of<'a>(&'a self, bay: &'a Bay) -> Vec<&'a Bay> {
        let Some((strip, _, _)) = &bay.strip else { return vec![bay] };
        let strips = self.strips.get_or_init(|| {
            let mut strips: IndexMap<StripKey, Vec<u32>> = IndexMap::new();
            for (at, bay) in (0_u32..).zip(&self.bays) {
                if let Some((strip, _, _)) = &bay.strip {
                    strips.entry((bay.level.clone(), strip.clone())).or_default().push(at);
                }
            }
            strips
        });
        let members = strips.get(&(bay.level.clone(), strip.clone()));
        members.into_iter().flatten().filter_map(|&at| self.bays.get(at as usize)).collect()
    }

    /// Position of a level among the levels.
    #[must_use]
    pub fn level_order(&self, level: &str) -> Option<usize> {
        self.order_in("levels", "level", level)
    }

    /// Position of a sequence among the sequences.
    #[must_use]
    pub fn sequence_order(&self, sequence: &str) -> Option<usize> {
        self.order_in("sequences", "sequence", sequence)
    }

    fn order_in(&self, sheet: &'static str, key: &str, name: &str) -> Option<usize> {
        let orders = match sheet {
            "levels" => &self.level_places,
            _ => &self.sequence_places,
        };
        let places = orders.get_or_init(|| {
            let mut places = IndexMap::default();
            for (place, entry) in self.sheet(sheet).iter().enumerate() {
                if let Some(Value::Text(name)) = entry.fields.get(key) {
                    places.entry(name.clone()).or_insert(place);
                }
            }
            places
        });
        places.get(name).copied()
    }

    /// The place of an origin, where it is a cell.
    #[must_use]
    pub fn place(&self, origin: &Origin) -> Option<Place> {
        match origin {
            Origin::Cell { reading, row, column } => Some(Place::Cell {
                sheet: self.readings.get(usize::from(*reading))?.sheet.clone(),
                row: *row,
                column: *column,
            }),
            Origin::Catalogue(_) | Origin::Default => None,
        }
    }

    /// The cell of a field in a row of a sheet; the row where the sheet has no such column.
    #[must_use]
    pub fn cell(&self, reading: u16, row: u32, key: &str) -> Option<Place> {
        let sheet = self.readings.get(usize::from(reading))?;
        let column = sheet.columns.get(key).or_else(|| sheet.own.get(key));
        Some(match column {
            Some(&column) => Place::Cell { sheet: sheet.sheet.clone(), row, column },
            None => Place::Row { sheet: sheet.sheet.clone(), row },
        })
    }

    /// Where a bay's field came from: its own row, its deck's type, the Job sheet or the catalogue.
    #[must_use]
    pub fn bay_origin(&self, bay: &Bay, key: &str) -> Origin {
        let sheet = self.readings.get(usize::from(bay.reading));
        let column = sheet.and_then(|s| s.columns.get(key).or_else(|| s.own.get(key)));
        let deck = self.decks.get(bay.deck as usize);
        match (deck.and_then(|deck| deck.origins.get(key)), column) {
            // Bays of one deck share its record; an override stands in the bay's own row.
            (Some(Origin::Cell { reading, .. }), Some(&column)) if *reading == bay.reading => {
                Origin::Cell { reading: bay.reading, row: bay.row, column }
            }
            (Some(origin), _) => origin.clone(),
            (None, Some(&column)) => Origin::Cell { reading: bay.reading, row: bay.row, column },
            (None, None) => self.head_origins.get(key).cloned().unwrap_or(Origin::Default),
        }
    }

    /// Names the release whose rows are wanted: `job.value("release")` for scripts.
    pub fn name_release(&mut self, name: &str) {
        self.release = Some(Arc::from(name.trim()));
    }

    /// A value of the Job sheet; under `release` the name of the release that is being made.
    #[must_use]
    pub fn head_value(&self, key: &str) -> Value {
        if key == "release" {
            return self.release.clone().map_or(Value::Blank, Value::Text);
        }
        self.head.get(key).cloned().unwrap_or_default()
    }
}
