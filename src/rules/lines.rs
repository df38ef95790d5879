//! Rules and columns typed in the schedule itself, as scripts of their own.
//!
//! A row of the sheet Rules names a rule and gives a value or an expression; a row of Columns names
//! a table and gives a column. They stand above the shop's and run in the same sandbox.

use std::sync::Arc;

use rhai::Engine;

use super::fault::Fault;
use super::near::did_you_mean;
use super::source::{From, Scripts};
use super::syntax::syntax_fault;
use crate::finding::{Finding, Place};
use crate::job::{Entry, Job};
use crate::value::Value;

impl Scripts {
    /// Adds the rules and columns that the schedule carries, and says how many there are. A row
    /// that can not be taken is an error of its own.
    pub fn add_schedule_lines(&mut self, job: &Job) -> Vec<Finding> {
        let mut findings = Vec::new();
        let (mut rules, mut columns) = (0_usize, 0_usize);
        for entry in job.sheet("rules") {
            match self.rule_line(job, entry) {
                Ok(()) => rules += 1,
                Err(finding) => findings.push(finding),
            }
        }
        for entry in job.sheet("columns") {
            match self.column_line(job, entry) {
                Ok(()) => columns += 1,
                Err(finding) => findings.push(finding),
            }
        }
        if rules + columns > 0 {
            let plural = |count: usize, what: &str| {
                format!("{count} {what}{}", if count == 1 { "" } else { "s" })
            };
            findings.push(
                Finding::note(
                    "schedule-has-rules",
                    format!(
                        "the schedule carries {} and {} of its own; they are in force",
                        plural(rules, "rule"),
                        plural(columns, "column"),
                    ),
                )
                .hint("they stand on the Rules sheet of the output; `--ignore-schedule-rules` leaves them out"),
            );
        }
        findings
    }

    fn rule_line(&mut self, job: &Job, entry: &Entry) -> Result<(), Finding> {
        let name = text_of(entry, "rule");
        let at = |key| job.cell(entry.reading, entry.row, key);
        let value_cell = at("value").unwrap_or(Place::Sheet(Arc::from("Rules")));
        let Some(parameters) = self.parameters_of(&name) else {
            let mut finding = Finding::error("unknown-rule", format!("there is no rule `{name}`"));
            finding.places.extend(at("rule"));
            let known = self.rule_names();
            finding.hints.extend(did_you_mean(&name, known.iter().map(String::as_str)));
            return Err(finding);
        };
        let expression = match entry.fields.get("value") {
            Some(Value::Text(text)) => text.trim().to_owned(),
            Some(value @ (Value::Count(_) | Value::Number(_) | Value::Bool(_))) => {
                value.to_string()
            }
            other => {
                let kind = other.map_or("blank", Value::kind);
                let message =
                    format!("the rule `{name}` is given {kind}, wanted a number or an expression");
                return Err(Finding::error("bad-rule-value", message).at(value_cell));
            }
        };
        check_expression(&expression, &value_cell)?;
        let text = format!("fn {name}({parameters}) {{ {expression} }}");
        self.add_schedule(&format!("rules of the schedule: {name}"), &text, &expression, value_cell)
    }

    fn column_line(&mut self, job: &Job, entry: &Entry) -> Result<(), Finding> {
        let (table, key) = (text_of(entry, "table"), text_of(entry, "key"));
        let at = |key| job.cell(entry.reading, entry.row, key);
        let cell = at("expression").unwrap_or(Place::Sheet(Arc::from("Columns")));
        let Some(row_name) = self.row_name(&table) else {
            let mut finding =
                Finding::error("unknown-table", format!("there is no table `{table}`"));
            finding.places.extend(at("table"));
            let known = self.table_names();
            finding.hints.extend(did_you_mean(&table, known.iter().map(String::as_str)));
            return Err(finding);
        };
        let expression = text_of(entry, "expression");
        check_expression(&expression, &cell)?;
        let or = |key: &str, other: &str| {
            let text = text_of(entry, key);
            if text.is_empty() { other.to_owned() } else { text }
        };
        // The row has its table's own name as well.
        let body = match row_name {
            "row" => expression.clone(),
            own => format!("{{ let {own} = row; {expression} }}"),
        };
        let text = format!(
            "column({}, {}, {}, |row| {body});",
            literal(&key),
            literal(&or("heading", &key)),
            literal(&or("unit", "")),
        );
        self.add_schedule(&table, &text, &expression, cell)
    }

    /// The parameters of a rule, as its definition in force writes them.
    fn parameters_of(&self, name: &str) -> Option<String> {
        let head = format!("fn {name}(");
        self.files().iter().rev().filter(|script| script.from != From::Schedule).find_map(
            |script| {
                let line = script.text.lines().find(|line| line.trim_start().starts_with(&head))?;
                let inside = line.trim_start().strip_prefix(&head)?.split(')').next()?;
                Some(inside.to_owned())
            },
        )
    }

    fn rule_names(&self) -> Vec<String> {
        let lines = self.files().iter().flat_map(|script| script.text.lines());
        lines
            .filter_map(|line| line.trim_start().strip_prefix("fn ")?.split('(').next())
            .map(str::to_owned)
            .collect()
    }

    fn table_names(&self) -> Vec<String> {
        let mut names = Vec::new();
        for script in self.files() {
            let mut rest = &*script.text;
            while let Some(at) = called(rest, "table(\"") {
                rest = rest[at..].split_once('"').map_or("", |(_, rest)| rest);
                names.extend(rest.split_once('"').map(|(name, _)| name.to_owned()));
            }
        }
        names
    }

    /// What a table's columns call their row: the parameter of the first one; `row` where it has none.
    fn row_name(&self, table: &str) -> Option<&str> {
        let head = format!("table(\"{table}\"");
        let texts = self.files().iter().map(|script| &*script.text);
        let (text, from) = texts.rev().find_map(|text| Some((text, called(text, &head)?)))?;
        let name = called(&text[from..], "column(").and_then(|at| {
            let parameters = text[from + at..].split('|').nth(1)?;
            parameters.split(',').next()
        });
        Some(name.map_or("row", str::trim))
    }
}

/// Where a text calls a function, not a method and none whose name ends alike.
fn called(text: &str, head: &str) -> Option<usize> {
    let goes_before = |sign: char| sign == '.' || sign == '_' || sign.is_alphanumeric();
    let mut found = text.match_indices(head).map(|(at, _)| at);
    found.find(|at| !text[..*at].ends_with(goes_before))
}

fn text_of(entry: &Entry, key: &str) -> String {
    entry.fields.get(key).and_then(Value::as_text).unwrap_or("").trim().to_owned()
}

/// A text as scripts write it.
fn literal(text: &str) -> String {
    let mut literal = String::with_capacity(text.len() + 2);
    literal.push('"');
    for sign in text.chars() {
        match sign {
            '"' => literal.push_str("\\\""),
            '\\' => literal.push_str("\\\\"),
            '\n' | '\r' => literal.push(' '),
            other => literal.push(other),
        }
    }
    literal.push('"');
    literal
}

/// One expression and nothing else: no statement, no second call behind a bracket.
fn check_expression(expression: &str, cell: &Place) -> Result<(), Finding> {
    let engine = Engine::new_raw();
    let refuse = |fault: &Fault| {
        let mut finding = Finding::error(fault.code, fault.message.clone()).at(cell.clone());
        let mark = " ".repeat(fault.column.saturating_sub(1));
        finding = finding.excerpt(format!("  |\n1 | {expression}\n  | {mark}^"));
        finding.hints.extend(fault.hints.iter().cloned());
        finding
    };
    if expression.is_empty() {
        return Err(refuse(&Fault::new("syntax", "an expression is missing")));
    }
    engine
        .compile_expression(expression)
        .map(|_| ())
        .map_err(|error| refuse(&syntax_fault(&error, expression, 0)))
}
