//! How a figure came about: the cell evaluated once more on a recording engine, its steps told as a
//! tree down to the cells of the schedule.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use indexmap::{IndexMap, IndexSet};
use serde::Serialize;

use super::fault::Stop;
use super::host::{Host, HostOptions, job_value};
use super::item::{Base, Frozen, Item};
use super::live::LiveRows;
use super::near::did_you_mean_or_list;
use super::on_large_stack;
use super::recording::{Step, What};
use super::run;
use super::source::Scripts;
use super::world::{Bounds, error_value};
use crate::finding::{Finding, Place};
use crate::job::name::Name;
use crate::job::{Bay, Entry, Job, Origin, fields};
use crate::parallel;
use crate::record::known_as;
use crate::table::{Column, Table};
use crate::value::Value;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    pub table: String,
    /// A row's number from 1, or what it is about: `2/A1`.
    pub row: String,
    pub column: String,
    /// How many rows of a sum are told.
    pub rows: usize,
}

/// A figure and what it came from.
#[derive(Clone, Debug, Serialize)]
pub struct Explained {
    pub kind: &'static str,
    /// `deck_lb`, `weight::deck_psf`, `concrete_waste(bay 2/A1)`.
    pub name: String,
    pub value: Value,
    #[serde(skip_serializing_if = "str::is_empty")]
    pub unit: Arc<str>,
    /// The script's line, or the cell of the schedule.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// The expression or body.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub text: String,
    /// A built-in's arguments: name and value.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub arguments: Vec<(&'static str, Value)>,
    /// What stands in the cell of the schedule.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typed: Option<String>,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub below: Vec<Explained>,
    /// Rows that are not told.
    #[serde(skip_serializing_if = "is_zero")]
    pub more: usize,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
const fn is_zero(count: &usize) -> bool {
    *count == 0
}

impl Explained {
    fn new(kind: &'static str, name: impl Into<String>, value: Value) -> Explained {
        Explained {
            kind,
            name: name.into(),
            value,
            unit: Arc::from(""),
            place: None,
            text: String::new(),
            arguments: Vec::new(),
            typed: None,
            note: String::new(),
            below: Vec::new(),
            more: 0,
        }
    }

    /// This and all below it.
    pub fn for_each(&mut self, each: &mut impl FnMut(&mut Explained)) {
        each(self);
        for below in &mut self.below {
            below.for_each(each);
        }
    }
}

/// How a figure of a run came about.
pub fn explain(
    job: &Arc<Job>,
    scripts: &Arc<Scripts>,
    bounds: Bounds,
    question: &Question,
) -> Result<Explained, Vec<Finding>> {
    on_explainer(job, scripts, bounds, |explainer| {
        explainer.answer(question).map_err(|finding| vec![finding])
    })?
}

/// Every shown cell of every table, explained without what lies in other tables.
pub fn explain_each(
    job: &Arc<Job>,
    scripts: &Arc<Scripts>,
    bounds: Bounds,
    mut each: impl FnMut(&Table, usize, usize, &Explained) + Send,
) -> Result<(), Vec<Finding>> {
    on_explainer(job, scripts, bounds, |explainer| {
        for frozen in &explainer.tables {
            for row in 0..frozen.table.rows {
                for column in 0..frozen.table.columns.len() {
                    if !frozen.table.columns[column].hidden {
                        explainer.seen.borrow_mut().clear();
                        explainer.told.set(0);
                        let explained = explainer.cell(frozen, row, column, DEEPEST);
                        each(&frozen.table, row, column, &explained);
                    }
                }
            }
        }
    })
}

fn on_explainer<T: Send>(
    job: &Arc<Job>,
    scripts: &Arc<Scripts>,
    bounds: Bounds,
    work: impl FnOnce(&Explainer) -> T + Send,
) -> Result<T, Vec<Finding>> {
    on_large_stack(|| {
        let options = HostOptions { bounds, ..HostOptions::default() };
        let host = Host::load(job, scripts, options)?;
        let computed = run::all_tables(&host, options, parallel::cores(), false);
        let computed = computed.map_err(|ended| ended.findings(&bounds))?;
        let recording = Host::load(job, scripts, HostOptions { records: true, ..options })?;
        recording.world.frozen.borrow_mut().clone_from(&host.world.frozen.borrow());
        Ok(work(&Explainer {
            job: job.clone(),
            host: recording,
            tables: computed.tables,
            rows: Cell::new(0),
            seen: RefCell::default(),
            told: Cell::new(0),
            reads: RefCell::default(),
        }))
    })
    .unwrap_or_else(|not| Err(vec![not.finding()]))
}

/// How many tables an explanation goes through, one behind the other.
const DEEPEST: usize = 8;
/// How many steps it tells at most.
const MOST: usize = 4_000;

struct Explainer {
    job: Arc<Job>,
    host: Host,
    tables: Vec<Arc<Frozen>>,
    /// How many rows of a sum are told.
    rows: Cell<usize>,
    /// Cells told already: table, row, column.
    seen: RefCell<BTreeSet<(Arc<str>, u32, usize)>>,
    told: Cell<usize>,
    /// By table.
    reads: RefCell<BTreeMap<Arc<str>, Arc<Reads>>>,
}

/// The texts of a row that are seen, in the order of its columns.
fn texts(frozen: &Frozen, row: usize) -> Vec<String> {
    let cells = frozen.table.row(row);
    let shown = cells.iter().zip(&frozen.table.columns).filter(|(_, column)| !column.hidden);
    shown.filter_map(|(cell, _)| cell.as_text().map(str::to_owned)).collect()
}

/// The names read of each row: table and row.
type Reads = BTreeMap<(Arc<str>, u32), IndexSet<Arc<str>>>;

impl Explainer {
    fn answer(&self, question: &Question) -> Result<Explained, Finding> {
        let keys = || self.tables.iter().map(|frozen| &*frozen.table.key);
        let unknown = |code, what: String, name: &str, all: &str, known: Vec<&str>| {
            let mut finding = Finding::error(code, what);
            finding.hints.extend(did_you_mean_or_list(name, all, known.into_iter()));
            finding
        };
        // By its key, or as the sheet is titled.
        let is_same = |name: &str, typed: &str| name.eq_ignore_ascii_case(typed.trim());
        let of_title = |frozen: &&Arc<Frozen>| is_same(&frozen.table.title, &question.table);
        let frozen = self.tables.iter().find(|frozen| *frozen.table.key == *question.table);
        let frozen = frozen.or_else(|| self.tables.iter().find(of_title));
        let frozen = frozen.ok_or_else(|| {
            let what = format!("there is no table `{}`", question.table);
            unknown("unknown-table", what, &question.table, "the tables are", keys().collect())
        })?;
        let table = &frozen.table;
        let of_heading = |column: &Column| {
            !column.hidden
                && (is_same(&column.heading, &question.column)
                    || is_same(&column.key, &question.column))
        };
        let column = table.column(&question.column);
        let column = column.or_else(|| table.columns.iter().position(of_heading));
        let column = column.ok_or_else(|| {
            let what = format!("`{}` has no column `{}`", table.key, question.column);
            let known = table.columns.iter().map(|column| &*column.key).collect();
            unknown("unknown-column", what, &question.column, "its columns are", known)
        })?;
        let row = self.find_row(frozen, &question.row)?;
        self.rows.set(question.rows);
        let mut explained = self.cell(frozen, row, column, 0);
        explained.name = format!("{} {}", self.row_name(frozen, row), table.columns[column].key);
        Ok(explained)
    }

    /// The row of a number from 1, of a mark, or with that text in a cell.
    fn find_row(&self, frozen: &Arc<Frozen>, wanted: &str) -> Result<usize, Finding> {
        let rows = frozen.table.rows;
        if let Ok(number) = wanted.parse::<usize>() {
            if (1..=rows).contains(&number) {
                return Ok(number - 1);
            }
            let message =
                format!("`{}` has {rows} rows, there is no row {number}", frozen.table.key);
            return Err(Finding::error("unknown-row", message));
        }
        let labels: Vec<String> = (0..rows).map(|row| self.label(frozen, row)).collect();
        let is_label = |row: &usize| {
            let label = labels[*row].as_str();
            label == wanted || label.split_once(' ').is_some_and(|(_, mark)| mark == wanted)
        };
        let has_text = |row: &usize| {
            let cells = frozen.table.row(*row).iter().zip(&frozen.table.columns);
            cells
                .filter(|(_, column)| !column.hidden)
                .any(|(cell, _)| cell.as_text() == Some(wanted))
        };
        let mut found: Vec<usize> = (0..rows).filter(is_label).collect();
        if found.is_empty() {
            found = (0..rows).filter(has_text).collect();
        }
        // `2/P1`: the level and the pour, whatever columns they stand in.
        let parts: Vec<&str> = wanted.split('/').map(str::trim).collect();
        if found.is_empty() && parts.len() > 1 {
            found = (0..rows)
                .filter(|&row| {
                    let texts = texts(frozen, row);
                    parts.iter().all(|part| texts.iter().any(|text| text == part))
                })
                .collect();
        }
        match found.as_slice() {
            [row] => Ok(*row),
            [] => {
                let mut finding = Finding::error(
                    "unknown-row",
                    format!("`{}` has no row `{wanted}`", frozen.table.key),
                );
                let marks: Vec<String> = labels
                    .iter()
                    .enumerate()
                    .map(|(row, label)| match label.split_once(' ') {
                        Some((_, mark)) => mark.to_owned(),
                        None => {
                            texts(frozen, row).into_iter().take(2).collect::<Vec<_>>().join("/")
                        }
                    })
                    .filter(|mark| !mark.is_empty())
                    .collect();
                let marks = marks.iter().map(String::as_str);
                finding.hints.extend(did_you_mean_or_list(wanted, "it has", marks));
                Err(finding.hint(format!("a number from 1 to {rows} names a row as well")))
            }
            several => {
                let numbers: Vec<String> =
                    several.iter().take(12).map(|row| (row + 1).to_string()).collect();
                let more = if several.len() > 12 { " …" } else { "" };
                let message =
                    format!("`{}` has {} rows `{wanted}`", frozen.table.key, several.len());
                Err(Finding::error("several-rows", message)
                    .hint(format!("name one by its number: {}{more}", numbers.join(", "))))
            }
        }
    }

    /// A cell of a finished table, evaluated once more; `depth` tables lie between it and the
    /// question.
    fn cell(&self, frozen: &Arc<Frozen>, row: usize, column: usize, depth: usize) -> Explained {
        let table = &frozen.table;
        let value = table.cell(row, column).into_owned();
        let defined = self.host.loaded.drafts.tables.get(&table.key);
        let draft = defined.and_then(|table| table.columns.get_index(column));
        let (Some(defined), Some((_, draft)), Some(recorder)) =
            (defined, draft, &self.host.recorder)
        else {
            return Explained::new("column", &*table.columns[column].key, value);
        };
        let live = self.host.live(defined, 0);
        self.seen.borrow_mut().insert((table.key.clone(), index(row), column));
        let rows = LiveRows::new(live, frozen.bases.clone(), row..row + 1);
        recorder.take();
        recorder.enter();
        let result = rows.cell(&self.host.engine, &self.host.world, column, 0);
        let own = match &result {
            Ok(value) => value.clone(),
            Err(Stop::Fault(fault) | Stop::Carried(fault)) => error_value(fault),
            Err(Stop::Need(_) | Stop::Trying | Stop::UsedUp(_)) => Value::Blank,
        };
        let (table_key, column_key, place) =
            (table.key.clone(), draft.key.clone(), draft.function.clone());
        let what = What::Column { table: table_key, column: column_key, place };
        recorder.leave(what, Some(own));
        let steps = recorder.take();
        let mut told = steps.into_iter().map(|step| self.step(step, frozen, row, depth));
        let mut explained =
            told.next().unwrap_or_else(|| Explained::new("column", &*draft.key, Value::Blank));
        if draft.running {
            explained.note =
                format!("with the rows above added; this row gives {}", explained.value);
            explained.value = value;
        }
        explained
    }

    /// A step while a row of a table was evaluated.
    fn step(&self, step: Step, home: &Arc<Frozen>, row: usize, depth: usize) -> Explained {
        self.told.set(self.told.get() + 1);
        let Step { what, value, below } = step;
        let mut explained = match what {
            What::Column { table, column, place } => {
                let mut explained = Explained::new("column", &*column, value);
                explained.place = self.host.scripts.place(place.line, 0);
                explained.text = self.host.scripts.argument_text(&place);
                let drafts = &self.host.loaded.drafts.tables;
                let draft = drafts.get(&table).and_then(|table| table.columns.get(&column));
                explained.unit = draft.map(|draft| draft.unit.clone()).unwrap_or_default();
                explained
            }
            What::Rule { name, arguments, line } => {
                let name = format!("{name}({})", arguments.join(", "));
                let mut explained = Explained::new("rule", name, value);
                explained.place = self.host.scripts.place(line, 0);
                explained.text = self.host.scripts.statement(line);
                explained
            }
            What::Builtin { name, parameters, arguments } => {
                let mut explained = Explained::new("built-in", name, value);
                explained.arguments = parameters.iter().copied().zip(arguments).collect();
                explained
            }
            What::Field { base, name } => return self.field(&base, &name, value, home, depth),
            What::Rows { name, rows, field } => {
                let called = format!("{name} of `{field}` over {} rows", rows.len());
                let mut explained = Explained::new("rows", called, value);
                let shown = rows.len().min(self.rows.get());
                explained.more = rows.len() - shown;
                explained.below.extend(rows[..shown].iter().map(|base| {
                    let value = match base.get(&self.job, &field) {
                        Some(Item::Value(value)) => value,
                        _ => Value::Blank,
                    };
                    let mut below = self.field(base, &field, value, home, depth);
                    let label = base.label(&self.job).unwrap_or_default();
                    if below.kind != "cell of a table" && !label.is_empty() {
                        below.name = format!("{} of {label}", below.name);
                    }
                    below
                }));
                explained
            }
            What::Head { name } => {
                let mut explained = Explained::new("field", format!("job {name}"), value);
                let origin = self.job.head_origins.get(&name);
                explained.place = origin.and_then(|origin| self.job.place(origin));
                explained
            }
        };
        if self.told.get() < MOST {
            self.add_below(&mut explained, below, home, row, depth);
        } else if !below.is_empty() {
            "not told further: the explanation is too long".clone_into(&mut explained.note);
        }
        explained
    }

    /// The steps below one; of those that are the same for row after row, the first few.
    fn add_below(
        &self,
        explained: &mut Explained,
        below: Vec<Step>,
        home: &Arc<Frozen>,
        row: usize,
        depth: usize,
    ) {
        let mut times: IndexMap<String, usize> = IndexMap::new();
        for step in below {
            let alike = match &step.what {
                What::Rule { name, .. } => Some(name.clone()),
                What::Field { name, .. } => Some(format!(".{name}")),
                _ => None,
            };
            let time = alike.map_or(0, |alike| {
                let times = times.entry(alike).or_default();
                *times += 1;
                *times
            });
            if time > self.rows.get().max(1) {
                explained.more += 1;
            } else {
                explained.below.push(self.step(step, home, row, depth));
            }
        }
    }

    /// A field of a row: where it came from.
    fn field(
        &self,
        base: &Base,
        name: &Arc<str>,
        value: Value,
        home: &Arc<Frozen>,
        depth: usize,
    ) -> Explained {
        match base {
            Base::Frozen(frozen, row) => match frozen.column(&Name::new(&**name)) {
                Some(column) => self.cell_of_table(frozen, *row as usize, column, value, depth),
                None => match frozen.bases.get(*row as usize) {
                    Some(below) => self.field(below, name, value, frozen, depth),
                    None => Explained::new("field", &**name, value),
                },
            },
            Base::Laid(laid, row) => {
                let made = Base::Made(Arc::new(laid.fields(*row as usize)));
                self.field(&made, name, value, home, depth)
            }
            Base::Made(made) => match (made.get(name), made.get("row"), made.get("rows")) {
                (None, Some(Item::Row(below)), _) => self.field(below, name, value, home, depth),
                (Some(_), row, rows) => {
                    let mut explained = Explained::new("field", &**name, value.clone());
                    let draft = self.host.loaded.drafts.tables.get(&home.table.key);
                    if let Some(function) = draft.and_then(|draft| draft.rows.as_ref()) {
                        explained.place = self.host.scripts.place(function.line, 0);
                    }
                    explained.note = format!("made with the rows of `{}`", home.table.key);
                    if let (Some(Item::Rows(rows)), true) = (rows, &**name != "rows") {
                        // Grouped rows are equal in what they are grouped by.
                        let first = rows.first().filter(|first| {
                            matches!(first.get(&self.job, name), Some(Item::Value(same)) if same == value)
                        });
                        explained
                            .below
                            .extend(first.map(|first| self.field(first, name, value, home, depth)));
                    } else if let Some(Item::Row(row)) = row {
                        if let Some(label) = row.label(&self.job) {
                            explained.note += &format!(" from {label}");
                        }
                        explained.below = self.read_by_rows(home, row, depth);
                    }
                    explained
                }
                _ => Explained::new("field", &**name, value),
            },
            Base::Bay(_) | Base::Deck(_) | Base::Entry(..) => {
                self.schedule_field(base, name, value)
            }
        }
    }

    /// What the function that gives a table's rows read of a row that one of them is made from.
    fn read_by_rows(&self, home: &Arc<Frozen>, row: &Base, depth: usize) -> Vec<Explained> {
        let Base::Frozen(frozen, at) = row else { return Vec::new() };
        let reads = self.reads_of_rows(&home.table.key);
        let names = reads.get(&(frozen.table.key.clone(), *at));
        let cells = names.into_iter().flatten().filter_map(|name| {
            let column = frozen.column(&Name::new(&**name))?;
            let value = frozen.table.cells.get(*at as usize, column)?.into_owned();
            Some(self.cell_of_table(frozen, *at as usize, column, value, depth))
        });
        cells.collect()
    }

    /// What the function that gives a table's rows reads, by row of other tables.
    fn reads_of_rows(&self, table: &Arc<str>) -> Arc<Reads> {
        if let Some(reads) = self.reads.borrow().get(table) {
            return reads.clone();
        }
        let mut reads = Reads::default();
        let draft = self.host.loaded.drafts.tables.get(table);
        if let (Some(rows), Some(recorder)) =
            (draft.and_then(|draft| draft.rows.as_ref()), &self.host.recorder)
        {
            recorder.take();
            // What the function gives is known; here only what it reads is.
            let _ = self.host.call(rows, &[job_value()]);
            for step in recorder.take() {
                gather_reads(&step, &mut reads);
            }
        }
        let reads = Arc::new(reads);
        self.reads.borrow_mut().insert(table.clone(), reads.clone());
        reads
    }

    /// A cell of another table: told further, unless it was or it lies too far.
    fn cell_of_table(
        &self,
        frozen: &Arc<Frozen>,
        row: usize,
        column: usize,
        value: Value,
        depth: usize,
    ) -> Explained {
        let key = &frozen.table.columns[column].key;
        let name = format!("{} {key}", self.row_name(frozen, row));
        let seen = self.seen.borrow().contains(&(frozen.table.key.clone(), index(row), column));
        if seen || depth >= DEEPEST || self.told.get() >= MOST {
            let mut explained = Explained::new("cell of a table", name, value);
            explained.unit = frozen.table.columns[column].unit.clone();
            if seen { "told above" } else { "not told further" }.clone_into(&mut explained.note);
            return explained;
        }
        let mut explained = self.cell(frozen, row, column, depth + 1);
        (explained.kind, explained.name) = ("cell of a table", name);
        explained
    }

    /// A field of the schedule or the catalogue.
    fn schedule_field(&self, base: &Base, name: &str, value: Value) -> Explained {
        let mut explained = Explained::new("field", name, value);
        let key = known_as(name);
        if matches!(key, "deck" | "bays") {
            return explained;
        }
        if let Base::Bay(at) = base
            && let Some(bay) = self.job.bays.get(*at as usize)
            && let Some((first, last)) = shape_rows(&self.job, bay, key)
        {
            explained.place = self.job.cell(first.reading, first.row, "x_ft");
            if first.row != last.row {
                explained.note = format!("and on to row {}", last.row + 1);
            }
            return explained;
        }
        let origin = match base {
            Base::Bay(at) => self.job.bays.get(*at as usize).map(|bay| {
                let column = fields::bay_field(key).and_then(|field| field.column);
                self.job.bay_origin(bay, column.unwrap_or(key))
            }),
            Base::Deck(at) => {
                self.job.decks.get(*at as usize).and_then(|deck| deck.origins.get(key).cloned())
            }
            Base::Entry(sheet, at) => {
                let entry = self.job.sheet(sheet.key).get(*at as usize);
                explained.place =
                    entry.and_then(|entry| self.job.cell(entry.reading, entry.row, key));
                return explained;
            }
            Base::Made(_) | Base::Laid(..) | Base::Frozen(..) => None,
        };
        match origin {
            Some(origin @ Origin::Cell { .. }) => explained.place = self.job.place(&origin),
            Some(Origin::Catalogue(entry)) => explained.note = format!("catalogue: {entry}"),
            Some(Origin::Default) => "nothing is stated".clone_into(&mut explained.note),
            None => {}
        }
        explained
    }

    fn label(&self, frozen: &Arc<Frozen>, row: usize) -> String {
        frozen.bases.get(row).and_then(|base| base.label(&self.job)).unwrap_or_default()
    }

    /// `takeoff row 3 (bay 2/A1)`.
    fn row_name(&self, frozen: &Arc<Frozen>, row: usize) -> String {
        let label = self.label(frozen, row);
        let about = if label.is_empty() { label } else { format!(" ({label})") };
        format!("{} row {}{about}", frozen.table.key, row + 1)
    }
}

/// The first and the last row of Outlines or Openings that say what a bay's field says.
fn shape_rows<'a>(job: &'a Job, bay: &'a Bay, key: &str) -> Option<(&'a Entry, &'a Entry)> {
    let placed = || job.plan_openings(bay).into_iter().flat_map(|opening| opening.rows);
    let rows: Vec<&Entry> = match key {
        "outline_ft" => {
            let rows = job.outline_rows(bay);
            if rows.is_empty() { placed().collect() } else { rows }
        }
        "openings" => placed().collect(),
        _ => return None,
    };
    let (first, last) =
        (rows.iter().min_by_key(|row| row.row)?, rows.iter().max_by_key(|row| row.row)?);
    Some((first, last))
}

fn gather_reads(step: &Step, reads: &mut Reads) {
    if let What::Field { base: Base::Frozen(frozen, row), name } = &step.what {
        reads.entry((frozen.table.key.clone(), *row)).or_default().insert(name.clone());
    }
    for below in &step.below {
        gather_reads(below, reads);
    }
}

fn index(row: usize) -> u32 {
    u32::try_from(row).unwrap_or(u32::MAX)
}
