//! `table`, `column` and `check`: how scripts define what the workbook holds.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use indexmap::IndexMap;
use rhai::{Dynamic, Engine, FnPtr, NativeCallContext};

use super::fault::{Aim, Fault};
use super::near::did_you_mean_or_list;
use super::source::From;
use super::syntax::{is_reserved, reserved};
use crate::table::Chart;

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
    /// Where the call that gave it begins, in the common numbering.
    pub line: usize,
    pub column: usize,
    /// Which argument of that call it is.
    pub argument: usize,
    pub from: From,
}

impl Function {
    /// A fault at the function.
    pub fn fault(&self, code: &'static str, message: impl Into<String>) -> Fault {
        Fault::new(code, message).on(self.line, self.column).aim(self.aim())
    }

    /// The function among the arguments of the call that gave it.
    pub fn aim(&self) -> Aim {
        Aim::Argument(self.argument, None)
    }
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
    /// What can not be taken of this file.
    faults: Vec<Fault>,
}

impl Drafts {
    /// Begins a file: `column` speaks of the table of its name until `table` says otherwise.
    pub fn begin(&mut self, file: usize, stem: &str, from: From) {
        self.file = file;
        self.from = Some(from);
        self.current = Some(Arc::from(stem));
        self.seen.clear();
        self.faults.clear();
    }

    /// What could not be taken of the file that was begun last.
    pub fn faults(&mut self) -> Vec<Fault> {
        std::mem::take(&mut self.faults)
    }

    /// Every function given, with what it is given for.
    pub fn functions(&self) -> impl Iterator<Item = &Function> {
        let tables = self.tables.values();
        let rows = tables.clone().flat_map(|table| table.rows.iter().chain(&table.split));
        let columns =
            tables.flat_map(|table| table.columns.values()).map(|column| &column.function);
        let checks = self.checks.values().flat_map(|check| [&check.rows, &check.test]);
        rows.chain(columns).chain(checks)
    }

    fn refuse(&mut self, fault: Fault, context: &NativeCallContext) {
        self.faults.push(fault.at(context.call_position()));
    }

    fn function(
        &self,
        mut pointer: FnPtr,
        context: &NativeCallContext,
        argument: usize,
    ) -> Function {
        let position = context.call_position();
        let captured: Vec<Dynamic> = pointer.iter_curry().map(Dynamic::flatten_clone).collect();
        pointer.set_curry(captured);
        Function {
            pointer,
            file: self.file,
            line: position.line().unwrap_or(0),
            column: position.position().unwrap_or(0),
            argument,
            from: self.from.unwrap_or(From::Bundled),
        }
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
        move |context: NativeCallContext, key: &str, title: &str, rows: FnPtr| {
            let mut drafts = d.borrow_mut();
            if let Some(fault) = bad_key("table", key) {
                drafts.refuse(fault, &context);
            }
            let key: Arc<str> = Arc::from(key);
            let rows = drafts.function(rows, &context, 2);
            drafts.current = Some(key.clone());
            match drafts.tables.get_mut(&key) {
                Some(table) if table.rows.as_ref().is_some_and(|old| old.file == rows.file) => {
                    let message = format!("the table `{key}` is defined twice in this file");
                    drafts.refuse(first(Fault::new("table-given-twice", message)), &context);
                }
                Some(table) => {
                    table.title = Arc::from(title);
                    table.rows = Some(rows);
                    table.split = None;
                }
                None => {
                    drafts.tables.insert(
                        key.clone(),
                        TableDraft {
                            key: key.clone(),
                            title: Arc::from(title),
                            rows: Some(rows),
                            split: None,
                            hidden: false,
                            only_if_rows: false,
                            note: None,
                            columns: IndexMap::new(),
                        },
                    );
                }
            }
            TableHandle(key)
        },
    );
    let d = drafts.clone();
    engine.register_fn(
        "split",
        move |context: NativeCallContext, table: TableHandle, each: FnPtr| {
            let mut drafts = d.borrow_mut();
            let each = drafts.function(each, &context, 0);
            if let Some(draft) = drafts.tables.get_mut(&table.0) {
                draft.split = Some(each);
            }
            table
        },
    );
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

/// A fault whose mark points at the first argument.
fn first(fault: Fault) -> Fault {
    fault.aim(Aim::Argument(0, None))
}

/// Why a table or column can not have a name.
fn bad_key(what: &str, key: &str) -> Option<Fault> {
    if is_reserved(key) {
        return Some(first(reserved(key)));
    }
    (!is_key(key)).then(|| {
        let message =
            format!("`{key}` is no name for a {what}, wanted a to z, digits and _, a letter first");
        first(Fault::new("bad-name", message))
    })
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
        move |context: NativeCallContext, key: &str, heading: &str, unit: &str, function: FnPtr| {
            let mut drafts = d.borrow_mut();
            if let Some(fault) = bad_key("column", key) {
                drafts.refuse(fault, &context);
            }
            let table = current_table(&mut drafts, &context);
            let key: Arc<str> = Arc::from(key);
            if drafts.seen.contains(&(table.clone(), key.clone())) {
                let message = format!("the column `{key}` is defined twice in this file");
                drafts.refuse(first(Fault::new("column-given-twice", message)), &context);
            }
            drafts.seen.push((table.clone(), key.clone()));
            let function = drafts.function(function, &context, 3);
            let mut column = ColumnDraft {
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
            if let Some(fault) = drafts.replaced(&table, &mut column) {
                drafts.refuse(fault, &context);
            }
            if let Some(draft) = drafts.tables.get_mut(&table) {
                draft.columns.insert(key.clone(), column);
            }
            ColumnHandle { table, key }
        },
    );
    let d = drafts.clone();
    engine.register_fn("column", move |context: NativeCallContext, key: &str| {
        let mut drafts = d.borrow_mut();
        let table = current_table(&mut drafts, &context);
        drafts.refuse_unknown(&table, key, &context);
        ColumnHandle { table, key: Arc::from(key) }
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

fn change(
    drafts: &Shared,
    column: ColumnHandle,
    set: impl FnOnce(&mut ColumnDraft),
) -> ColumnHandle {
    let mut drafts = drafts.borrow_mut();
    let table = drafts.tables.get_mut(&column.table);
    if let Some(draft) = table.and_then(|table| table.columns.get_mut(&column.key)) {
        set(draft);
    }
    drop(drafts);
    column
}

fn current_table(drafts: &mut Drafts, context: &NativeCallContext) -> Arc<str> {
    let current = drafts.current.clone().unwrap_or_default();
    let told = drafts.faults.iter().any(|fault| fault.code == "unknown-table");
    if !drafts.tables.contains_key(&current) && !told {
        let message =
            format!("a column needs a table before it, and there is none called `{current}`");
        let fault = Fault::new("unknown-table", message)
            .near(&current, drafts.tables.keys().map(|key| &**key))
            .hint("a file that adds columns is named after its table, or begins with `table(…)`");
        drafts.refuse(fault, context);
    }
    current
}

impl Drafts {
    /// A column in place of one of the same key is hidden and totalled as that was. It has the same
    /// unit: what reads it would take one for the other.
    fn replaced(&self, table: &str, column: &mut ColumnDraft) -> Option<Fault> {
        let old = self.tables.get(table)?.columns.get(&column.key)?;
        (column.total, column.hidden) = (old.total, old.hidden);
        let is_open = |unit: &str| matches!(unit, "" | "any");
        if *old.unit == *column.unit || is_open(&old.unit) || is_open(&column.unit) {
            return None;
        }
        let message = format!(
            "the column `{}` of `{table}` is in `{}`, and would be in `{}` here: what reads it would take \
             one for the other",
            column.key, old.unit, column.unit
        );
        let fault = Fault::new("column-in-another-unit", message).aim(Aim::Argument(2, None));
        Some(fault.hint("give it the same unit, or add a column of another key"))
    }

    /// Refuses a column that a table does not have.
    fn refuse_unknown(&mut self, table: &Arc<str>, key: &str, context: &NativeCallContext) {
        let Some(draft) = self.tables.get(table) else { return };
        if !draft.columns.contains_key(key) {
            let mut fault =
                Fault::new("unknown-column", format!("`{table}` has no column `{key}`"));
            let known = draft.columns.keys().map(|key| &**key);
            fault.hints.extend(did_you_mean_or_list(key, "its columns are", known));
            self.refuse(first(fault), context);
        }
    }
}

/// `.after(key)` and `.before(key)`.
fn placing(engine: &mut Engine, drafts: &Shared) {
    for (name, step) in [("after", 1), ("before", 0)] {
        let d = drafts.clone();
        engine.register_fn(
            name,
            move |context: NativeCallContext, column: ColumnHandle, other: &str| {
                let mut drafts = d.borrow_mut();
                drafts.refuse_unknown(&column.table, other, &context);
                let Some(table) = drafts.tables.get_mut(&column.table) else { return column };
                let places =
                    (table.columns.get_index_of(&column.key), table.columns.get_index_of(other));
                if let (Some(from), Some(at)) = places
                    && from != at
                {
                    let wanted = at + step;
                    let to = if from < wanted { wanted - 1 } else { wanted };
                    table.columns.move_index(from, to);
                }
                drop(drafts);
                column
            },
        );
    }
}

fn checks(engine: &mut Engine, drafts: &Shared) {
    engine.register_type_with_name::<CheckHandle>("check");
    let d = drafts.clone();
    engine.register_fn(
        "check",
        move |context: NativeCallContext, code: &str, severity: &str, rows: FnPtr, test: FnPtr| {
            let mut drafts = d.borrow_mut();
            if !matches!(severity, "error" | "warning" | "note") {
                let message = format!("`{severity}` is no severity, wanted error, warning or note");
                let fault = Fault::new("bad-check", message).aim(Aim::Argument(1, None));
                drafts.refuse(fault, &context);
            }
            let code: Arc<str> = Arc::from(code);
            let (rows, test) =
                (drafts.function(rows, &context, 2), drafts.function(test, &context, 3));
            drafts.checks.insert(
                code.clone(),
                CheckDraft {
                    code: code.clone(),
                    severity: Arc::from(severity),
                    rows,
                    test,
                    field: None,
                    hints: Vec::new(),
                },
            );
            CheckHandle(code)
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
