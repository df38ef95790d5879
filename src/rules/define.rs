//! `table`, `column` and `check`: how scripts define what the workbook holds.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use indexmap::IndexMap;
use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, NativeCallContext};

use super::fault::{Fault, did_you_mean};
use super::source::From;
use crate::table::Chart;

type Answer<T> = Result<T, Box<EvalAltResult>>;

/// A table as scripts define it.
#[derive(Clone, Debug)]
pub struct TableDraft {
    pub key: Arc<str>,
    pub title: Arc<str>,
    pub rows: Option<Function>,
    /// Makes several rows of each.
    pub split: Option<Function>,
    pub hidden: bool,
    /// Left out of the report where it has no rows.
    pub only_if_rows: bool,
    pub note: Option<Arc<str>>,
    pub columns: IndexMap<Arc<str>, ColumnDraft>,
}

/// A column as scripts define it.
#[derive(Clone, Debug)]
pub struct ColumnDraft {
    pub key: Arc<str>,
    pub heading: Arc<str>,
    pub unit: Arc<str>,
    pub function: Function,
    pub total: bool,
    pub running: bool,
    pub hidden: bool,
    pub note: Option<Arc<str>>,
    pub format: Option<Arc<str>>,
}

/// A check as scripts define it.
#[derive(Clone, Debug)]
pub struct CheckDraft {
    pub code: Arc<str>,
    pub severity: Arc<str>,
    pub rows: Function,
    pub test: Function,
    /// The field whose cell a finding names.
    pub field: Option<Arc<str>>,
    pub hints: Vec<String>,
}

/// A function of a script file, and where it was given.
#[derive(Clone, Debug)]
pub struct Function {
    pub pointer: FnPtr,
    /// Position of its file.
    pub file: usize,
    pub line: usize,
    pub from: From,
}

/// What the scripts have defined so far.
#[derive(Default)]
pub struct Drafts {
    pub tables: IndexMap<Arc<str>, TableDraft>,
    pub checks: IndexMap<Arc<str>, CheckDraft>,
    /// By title.
    pub charts: IndexMap<Arc<str>, Chart>,
    /// The table that `column` speaks of.
    current: Option<Arc<str>>,
    file: usize,
    from: Option<From>,
    /// Columns that this file defined, to refuse doubles: table and key.
    seen: Vec<(Arc<str>, Arc<str>)>,
}

impl Drafts {
    /// Begins a file: `column` speaks of the table of its name until `table` says otherwise.
    pub fn begin(&mut self, file: usize, stem: &str, from: From) {
        self.file = file;
        self.from = Some(from);
        self.current = Some(Arc::from(stem));
        self.seen.clear();
    }

    fn function(&self, pointer: FnPtr, line: usize) -> Function {
        let mut pointer = pointer;
        let captured: Vec<Dynamic> = pointer.iter_curry().map(Dynamic::flatten_clone).collect();
        pointer.set_curry(captured);
        Function { pointer, file: self.file, line, from: self.from.unwrap_or(From::Bundled) }
    }
}

type Shared = Rc<RefCell<Drafts>>;

/// A table or column being defined, for `.total()`, `.note(…)` and the like.
#[derive(Clone)]
pub struct TableHandle(Arc<str>);

#[derive(Clone)]
pub struct ColumnHandle {
    table: Arc<str>,
    key: Arc<str>,
}

#[derive(Clone)]
pub struct CheckHandle(Arc<str>);

fn line(context: &NativeCallContext) -> usize {
    context.call_position().line().unwrap_or(0)
}

/// Registers `table`, `column` and `check`.
pub fn register(engine: &mut Engine, drafts: &Shared) {
    tables(engine, drafts);
    columns(engine, drafts);
    placing(engine, drafts);
    checks(engine, drafts);
    charts(engine, drafts);
}

/// `chart(title, table, category, value)`: a column chart of a table's column, added up by another.
fn charts(engine: &mut Engine, drafts: &Shared) {
    let d = drafts.clone();
    engine.register_fn("chart", move |title: &str, table: &str, category: &str, value: &str| {
        let chart = Chart {
            title: title.into(),
            table: table.into(),
            category: category.into(),
            value: value.into(),
        };
        d.borrow_mut().charts.insert(Arc::from(title), chart);
    });
}

fn tables(engine: &mut Engine, drafts: &Shared) {
    engine.register_type_with_name::<TableHandle>("table");
    let d = drafts.clone();
    engine.register_fn(
        "table",
        move |context: NativeCallContext, key: &str, title: &str, rows: FnPtr| -> Answer<TableHandle> {
            let mut drafts = d.borrow_mut();
            let fault = |message: String| Fault::new("bad-table", message).raise(context.call_position());
            if !is_key(key) {
                return Err(fault(format!("`{key}` is no name for a table, wanted letters, digits and _")));
            }
            let key: Arc<str> = Arc::from(key);
            let rows = drafts.function(rows, line(&context));
            drafts.current = Some(key.clone());
            match drafts.tables.get_mut(&key) {
                Some(table) if table.rows.as_ref().is_some_and(|old| old.file == rows.file) => {
                    return Err(fault(format!("the table `{key}` is defined twice in this file")));
                }
                Some(table) => {
                    table.title = Arc::from(title);
                    table.rows = Some(rows);
                    table.split = None;
                }
                None => {
                    drafts.tables.insert(key.clone(), TableDraft {
                        key: key.clone(),
                        title: Arc::from(title),
                        rows: Some(rows),
                        split: None,
                        hidden: false,
                        only_if_rows: false,
                        note: None,
                        columns: IndexMap::new(),
                    });
                }
            }
            Ok(TableHandle(key))
        },
    );
    let d = drafts.clone();
    engine.register_fn("split", move |context: NativeCallContext, table: TableHandle, each: FnPtr| {
        let mut drafts = d.borrow_mut();
        let each = drafts.function(each, line(&context));
        if let Some(draft) = drafts.tables.get_mut(&table.0) {
            draft.split = Some(each);
        }
        table
    });
    let d = drafts.clone();
    engine.register_fn("hidden", move |table: TableHandle| {
        if let Some(draft) = d.borrow_mut().tables.get_mut(&table.0) {
            draft.hidden = true;
        }
        table
    });
    let d = drafts.clone();
    engine.register_fn("only_if_rows", move |table: TableHandle| {
        if let Some(draft) = d.borrow_mut().tables.get_mut(&table.0) {
            draft.only_if_rows = true;
        }
        table
    });
    let d = drafts.clone();
    engine.register_fn("note", move |table: TableHandle, note: &str| {
        if let Some(draft) = d.borrow_mut().tables.get_mut(&table.0) {
            draft.note = Some(Arc::from(note));
        }
        table
    });
}

fn is_key(key: &str) -> bool {
    key.chars().next().is_some_and(|first| first.is_ascii_lowercase())
        && key.chars().all(|sign| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == '_')
}

fn columns(engine: &mut Engine, drafts: &Shared) {
    engine.register_type_with_name::<ColumnHandle>("column");
    let d = drafts.clone();
    engine.register_fn(
        "column",
        move |context: NativeCallContext, key: &str, heading: &str, unit: &str, function: FnPtr| -> Answer<ColumnHandle> {
            let mut drafts = d.borrow_mut();
            let fault = |message: String| Fault::new("bad-column", message).raise(context.call_position());
            if !is_key(key) {
                return Err(fault(format!("`{key}` is no name for a column, wanted letters, digits and _")));
            }
            let table = current_table(&drafts, &context)?;
            let key: Arc<str> = Arc::from(key);
            if drafts.seen.contains(&(table.clone(), key.clone())) {
                return Err(fault(format!("the column `{key}` is defined twice in this file")));
            }
            drafts.seen.push((table.clone(), key.clone()));
            let function = drafts.function(function, line(&context));
            let column = ColumnDraft {
                key: key.clone(),
                heading: Arc::from(heading),
                unit: Arc::from(unit),
                function,
                total: false,
                running: false,
                hidden: false,
                note: None,
                format: None,
            };
            if let Some(draft) = drafts.tables.get_mut(&table) {
                draft.columns.insert(key.clone(), column);
            }
            Ok(ColumnHandle { table, key })
        },
    );
    let d = drafts.clone();
    engine.register_fn("column", move |context: NativeCallContext, key: &str| -> Answer<ColumnHandle> {
        let drafts = d.borrow();
        let table = current_table(&drafts, &context)?;
        let known = &drafts.tables[&table].columns;
        if known.contains_key(key) {
            return Ok(ColumnHandle { table, key: Arc::from(key) });
        }
        let mut fault = Fault::new("unknown-column", format!("`{table}` has no column `{key}`"));
        fault.hints.extend(did_you_mean(key, known.keys().map(|key| &**key)));
        Err(fault.raise(context.call_position()))
    });
    for (name, set) in [
        ("total", (|column| column.total = true) as fn(&mut ColumnDraft)),
        ("no_total", |column| column.total = false),
        ("running", |column| column.running = true),
        ("hidden", |column| column.hidden = true),
        ("shown", |column| column.hidden = false),
    ] {
        let d = drafts.clone();
        engine.register_fn(name, move |column: ColumnHandle| change(&d, column, set));
    }
    for (name, set) in [
        ("note", (|column, text| column.note = Some(text)) as fn(&mut ColumnDraft, Arc<str>)),
        ("format", |column, text| column.format = Some(text)),
        ("title", |column, text| column.heading = text),
        ("unit", |column, text| column.unit = text),
    ] {
        let d = drafts.clone();
        engine.register_fn(name, move |column: ColumnHandle, text: &str| {
            let text: Arc<str> = Arc::from(text);
            change(&d, column, |draft| set(draft, text))
        });
    }
}

fn change(drafts: &Shared, column: ColumnHandle, set: impl FnOnce(&mut ColumnDraft)) -> ColumnHandle {
    let mut drafts = drafts.borrow_mut();
    let table = drafts.tables.get_mut(&column.table);
    if let Some(draft) = table.and_then(|table| table.columns.get_mut(&column.key)) {
        set(draft);
    }
    drop(drafts);
    column
}

fn current_table(drafts: &Drafts, context: &NativeCallContext) -> Answer<Arc<str>> {
    let current = drafts.current.clone().unwrap_or_default();
    if drafts.tables.contains_key(&current) {
        return Ok(current);
    }
    let mut fault = Fault::new(
        "unknown-table",
        format!("a column needs a table before it, and there is none called `{current}`"),
    )
    .hint("a file that adds columns bears its table's name, or begins with `table(…)`");
    fault.hints.extend(did_you_mean(&current, drafts.tables.keys().map(|key| &**key)));
    Err(fault.raise(context.call_position()))
}

/// `.after(key)` and `.before(key)`.
fn placing(engine: &mut Engine, drafts: &Shared) {
    for (name, step) in [("after", 1), ("before", 0)] {
        let d = drafts.clone();
        engine.register_fn(
            name,
            move |context: NativeCallContext, column: ColumnHandle, other: &str| -> Answer<ColumnHandle> {
                let mut drafts = d.borrow_mut();
                let Some(table) = drafts.tables.get_mut(&column.table) else { return Ok(column.clone()) };
                let Some(from) = table.columns.get_index_of(&column.key) else { return Ok(column.clone()) };
                let Some(at) = table.columns.get_index_of(other) else {
                    let mut fault = Fault::new(
                        "unknown-column",
                        format!("`{}` has no column `{other}`", column.table),
                    );
                    fault.hints.extend(did_you_mean(other, table.columns.keys().map(|key| &**key)));
                    return Err(fault.raise(context.call_position()));
                };
                if from != at {
                    let wanted = at + step;
                    let to = if from < wanted { wanted - 1 } else { wanted };
                    table.columns.move_index(from, to);
                }
                drop(drafts);
                Ok(column.clone())
            },
        );
    }
}

fn checks(engine: &mut Engine, drafts: &Shared) {
    engine.register_type_with_name::<CheckHandle>("check");
    let d = drafts.clone();
    engine.register_fn(
        "check",
        move |context: NativeCallContext, code: &str, severity: &str, rows: FnPtr, test: FnPtr| -> Answer<CheckHandle> {
            let mut drafts = d.borrow_mut();
            if !matches!(severity, "error" | "warning" | "note") {
                let message = format!("`{severity}` is no severity, wanted error, warning or note");
                return Err(Fault::new("bad-check", message).raise(context.call_position()));
            }
            let code: Arc<str> = Arc::from(code);
            let (rows, test) = (drafts.function(rows, line(&context)), drafts.function(test, line(&context)));
            drafts.checks.insert(code.clone(), CheckDraft {
                code: code.clone(),
                severity: Arc::from(severity),
                rows,
                test,
                field: None,
                hints: Vec::new(),
            });
            Ok(CheckHandle(code))
        },
    );
    let d = drafts.clone();
    engine.register_fn("at", move |check: CheckHandle, field: &str| {
        if let Some(draft) = d.borrow_mut().checks.get_mut(&check.0) {
            draft.field = Some(Arc::from(field));
        }
        check
    });
    let d = drafts.clone();
    engine.register_fn("hint", move |check: CheckHandle, hint: &str| {
        if let Some(draft) = d.borrow_mut().checks.get_mut(&check.0) {
            draft.hints.push(hint.to_owned());
        }
        check
    });
}
