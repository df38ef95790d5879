//! How a figure came about: what an explaining engine writes down.

use std::cell::RefCell;
use std::sync::Arc;

use super::fault::Stop;
use super::item::{Base, Item};
use crate::value::Value;

/// One step on the way to a figure.
#[derive(Clone, Debug)]
pub struct Step {
    pub what: What,
    pub value: Value,
    pub below: Vec<Step>,
}

/// What a step was.
#[derive(Clone, Debug)]
pub enum What {
    /// A column of the row's own table: table, column, line of its definition.
    Column { table: Arc<str>, column: Arc<str>, line: usize },
    /// A rule: name and arguments, line of its definition.
    Rule { name: String, arguments: Vec<Value>, line: usize },
    /// A built-in: name and arguments.
    Builtin { name: String, arguments: Vec<Value> },
    /// A field of a row.
    Field { base: Base, name: Arc<str> },
    /// An aggregate over rows: what, over how many, the rows.
    Rows { name: String, rows: Arc<[Base]>, column: Arc<str> },
}

/// Writes down steps; of an explaining engine only.
#[derive(Default)]
pub struct Recorder {
    open: RefCell<Vec<Vec<Step>>>,
}

impl Recorder {
    /// Opens a step; what comes is below it.
    pub fn enter(&self) {
        self.open.borrow_mut().push(Vec::new());
    }

    fn leave(&self, what: What, value: Value) {
        let mut open = self.open.borrow_mut();
        let below = open.pop().unwrap_or_default();
        let step = Step { what, value, below };
        match open.last_mut() {
            Some(above) => above.push(step),
            None => open.push(vec![step]),
        }
    }

    pub fn leave_column(
        &self,
        table: &Arc<str>,
        column: &Arc<str>,
        line: usize,
        result: &Result<Value, Stop>,
    ) {
        let what = What::Column { table: table.clone(), column: column.clone(), line };
        self.leave(what, result_value(result));
    }

    pub fn leave_rule(&self, name: &str, arguments: Vec<Value>, line: usize, value: Value) {
        self.leave(What::Rule { name: name.to_owned(), arguments, line }, value);
    }

    pub fn builtin(&self, name: &str, arguments: &[Value], value: &Value) {
        self.enter();
        let what = What::Builtin { name: name.to_owned(), arguments: arguments.to_vec() };
        self.leave(what, value.clone());
    }

    pub fn field(&self, base: &Base, name: &str, item: &Item) {
        if let Item::Value(value) = item {
            self.enter();
            let what = What::Field { base: base.clone(), name: Arc::from(name) };
            self.leave(what, value.clone());
        }
    }

    pub fn rows(&self, name: &str, rows: &Arc<[Base]>, column: &str, value: &Value) {
        self.enter();
        let what =
            What::Rows { name: name.to_owned(), rows: rows.clone(), column: Arc::from(column) };
        self.leave(what, value.clone());
    }

    /// The steps written down since the last call.
    pub fn take(&self) -> Vec<Step> {
        self.open.take().into_iter().flatten().collect()
    }
}

fn result_value(result: &Result<Value, Stop>) -> Value {
    match result {
        Ok(value) => value.clone(),
        Err(Stop::Fault(fault) | Stop::Carried(fault)) => {
            Value::Error(Arc::from(fault.message.as_str()))
        }
        Err(Stop::Need(_) | Stop::UsedUp(_)) => Value::Blank,
    }
}
