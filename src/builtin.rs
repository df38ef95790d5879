//! Built-in functions as data: what the rules room registers and `reference` prints.
//!
//! A built-in is an ordinary public function of a calculation room, listed once at the top of its
//! file with [`builtin!`]. Its rustdoc comment is its reference text: this room reads it out of the
//! same source file, so the two can not drift apart.
//!
//! Every such comment has the same parts, held by a test:
//! one sentence; `- name: meaning, unit and range` for each parameter; `Gives: … with unit`;
//! `Source: …`; `Example: expression = result`, which the tests evaluate.

use crate::value::{Refusal, Value};

/// A built-in function.
#[derive(Clone, Copy)]
pub struct Builtin {
    pub name: &'static str,
    pub parameters: &'static [&'static str],
    /// The source text in which the function and its doc comment stand.
    pub source: &'static str,
    pub call: fn(&[Value]) -> Result<Value, Refusal>,
}

/// A group of built-ins that scripts call as `name::function(…)`.
#[derive(Clone, Copy)]
pub struct Room {
    pub name: &'static str,
    /// What the group is for, one sentence.
    pub about: &'static str,
    pub lists: &'static [&'static [Builtin]],
}

impl Room {
    /// The built-ins in reading order.
    pub fn builtins(&self) -> impl Iterator<Item = &'static Builtin> {
        self.lists.iter().flat_map(|list| list.iter())
    }
}

impl Builtin {
    /// The function's rustdoc comment, a line each, as it stands in the source.
    #[must_use]
    pub fn doc(&self) -> Vec<&'static str> {
        let head = format!("pub fn {}(", self.name);
        let mut doc = Vec::new();
        for line in self.source.lines() {
            let line = line.trim_start();
            if let Some(text) = line.strip_prefix("///") {
                doc.push(text.strip_prefix(' ').unwrap_or(text));
            } else if line.starts_with(&head) {
                return doc;
            } else if !line.starts_with("#[") {
                doc.clear();
            }
        }
        Vec::new()
    }
}

/// Lists a function of the same file as a built-in: `builtin!(panels_across(width_ft, cover_in))`.
/// Parameter types are the function's own; they need [`FromValue`](crate::value::FromValue), the
/// result [`IntoValue`](crate::value::IntoValue) (a `Result<_, Refusal>` included).
#[macro_export]
macro_rules! builtin {
    ($name:ident($($parameter:ident),* $(,)?)) => {
        $crate::builtin::Builtin {
            name: stringify!($name),
            parameters: &[$(stringify!($parameter)),*],
            source: include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/", file!())),
            call: |arguments| {
                #[allow(unused_mut, unused_variables)]
                let mut arguments = arguments.iter();
                $crate::value::IntoValue::into_value($name($(
                    $crate::value::FromValue::from_value(
                        stringify!($parameter),
                        arguments.next().unwrap_or(&$crate::value::Value::Blank),
                    )?
                ),*))
            },
        }
    };
}
