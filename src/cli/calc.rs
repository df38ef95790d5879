//! `calc`: one expression with the built-ins and rules, as on a desk calculator.

use std::sync::Arc;

use clap::Args;
use serde_json::json;

use super::say::Say;
use super::{Common, End, load, prompt};
use crate::finding::Finding;
use crate::rules::{self, Scripts};
use crate::value::Value;

/// Evaluates an expression with the built-ins and rules.
#[derive(Args)]
pub struct Calc {
    /// The expression: `deck::panels_across(124, 36)`; a prompt where none is given
    expression: Option<String>,
}

impl Calc {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        let Some(expression) = &self.expression else { return at_prompt(common, say) };
        let value = scripts(common).and_then(|scripts| {
            rules::calculate(expression, Arc::new(scripts), load::bounds(common))
        });
        match value {
            Ok(value) => {
                if !say.json {
                    say.always(&shown(&value));
                }
                say.result("calc", &[], || json!({ "expression": expression, "value": value }));
                End::Done
            }
            Err(findings) => {
                say.failed("calc", &findings);
                End::Failed
            }
        }
    }
}

fn at_prompt(common: &Common, say: &Say) -> End {
    let answered = scripts(common).and_then(|scripts| {
        rules::calculating(Arc::new(scripts), load::bounds(common), |calculator| {
            prompt::answer_lines(calculator, say)
        })
    });
    match answered {
        Ok(true) => End::Done,
        Ok(false) => End::Incomplete,
        Err(findings) => {
            say.failed("calc", &findings);
            End::Failed
        }
    }
}

fn scripts(common: &Common) -> Result<Scripts, Vec<Finding>> {
    rules::scripts(load::shop(common)?.as_ref())
}

/// A value as people read it: text without quotes, the rest as scripts write it.
pub fn shown(value: &Value) -> String {
    match value {
        Value::Text(text) => text.to_string(),
        Value::Blank => "blank".to_owned(),
        other => other.to_string(),
    }
}
