//! Every built-in's comment has its parts, and its example gives what it prints.

use std::sync::Arc;

use baytally::builtin::{Builtin, Room};
use baytally::rules::{self, Bounds, Scripts};
use baytally::value::Value;

/// Within half of the last printed digit, or equal.
fn agree(found: &Value, printed: &Value, text: &str) -> bool {
    match (found, printed) {
        (Value::List(found), Value::List(printed)) => {
            let same = found.len() == printed.len();
            same && found.iter().zip(printed.iter()).all(|(a, b)| agree(a, b, &b.to_string()))
        }
        (Value::Record(found), Value::Record(printed)) => printed
            .iter()
            .all(|(name, b)| found.get(name).is_some_and(|a| agree(a, b, &b.to_string()))),
        // A date is printed as text.
        (Value::Date(found), Value::Text(printed)) => found.to_string() == **printed,
        _ => match (found.as_number(), printed.as_number()) {
            (Some(found), Some(printed)) => {
                let digits = text.split_once('.').map_or(0, |(_, digits)| digits.trim().len());
                let digits = i32::try_from(digits).unwrap();
                (found - printed).abs() <= 0.5 * 10f64.powi(-digits) + 1e-9
            }
            _ => found == printed,
        },
    }
}

fn evaluate(expression: &str, scripts: &Arc<Scripts>) -> Result<Value, String> {
    rules::calculate(expression, scripts.clone(), Bounds::default()).map_err(|findings| {
        findings.iter().map(|f| format!("{expression}: {f}")).collect::<Vec<_>>().join("\n")
    })
}

/// What is wrong with a built-in's comment.
fn wrong(room: &Room, builtin: &Builtin, scripts: &Arc<Scripts>) -> Result<(), String> {
    let name = format!("{}::{}", room.name, builtin.name);
    let doc = builtin.doc();
    let blank = doc.iter().position(|line| line.is_empty()).ok_or("no first sentence")?;
    if !doc[..blank].join(" ").ends_with('.') {
        return Err("no sentence first".to_owned());
    }
    let parameters: Vec<&str> = doc
        .iter()
        .filter_map(|line| line.strip_prefix("- ")?.split_once(':').map(|(name, _)| name))
        .collect();
    if parameters != builtin.parameters {
        return Err(format!("parameters {parameters:?}, wanted {:?}", builtin.parameters));
    }
    let at =
        |part: &str| doc.iter().position(|line| line.starts_with(part)).ok_or(format!("no {part}"));
    let parts = [at("Gives: ")?, at("Source: ")?, at("Example: ")?];
    if !parts.is_sorted() {
        return Err(format!("parts out of order: {parts:?}"));
    }
    let example = doc[parts[2]..].join(" ");
    let example = example.strip_prefix("Example: `").ok_or("no example in back quotes")?;
    let (expression, printed) = example.rsplit_once("` = ").ok_or("no example with its value")?;
    if !expression.contains(&name) {
        return Err(format!("the example is of another function: {expression}"));
    }
    let printed = printed.trim_end_matches('.').trim_matches('`');
    let found = evaluate(expression, scripts)?;
    let value = evaluate(printed, scripts)?;
    if agree(&found, &value, printed) {
        Ok(())
    } else {
        Err(format!("{expression} is {found}, printed {printed}"))
    }
}

#[test]
fn every_comment_has_its_parts_and_its_example_holds() {
    let scripts = Arc::new(rules::scripts(None).unwrap());
    let mut count = 0;
    let mut all = Vec::new();
    for room in rules::rooms() {
        for builtin in room.builtins() {
            count += 1;
            if let Err(why) = wrong(room, builtin, &scripts) {
                all.push(format!("{}::{}: {why}", room.name, builtin.name));
            }
        }
    }
    assert!(all.is_empty(), "{} of {count}:\n{}", all.len(), all.join("\n"));
    assert!(count >= 90, "{count} built-ins");
}

#[test]
fn names_are_unique() {
    let mut names: Vec<String> = rules::rooms()
        .iter()
        .flat_map(|room| {
            room.builtins().map(move |builtin| format!("{}::{}", room.name, builtin.name))
        })
        .collect();
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}
