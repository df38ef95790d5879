//! Tables made by hand.

use std::sync::Arc;

use baytally::cells::Cells;
use baytally::finding::Place;
use baytally::table::{Column, Table};
use baytally::value::Value;

/// A table: key, title, columns as `key|Heading|unit` (`+` behind it: totalled, `!`: hidden), rows.
pub fn table(key: &str, title: &str, columns: &[&str], rows: &[&[Value]]) -> Table {
    let columns: Vec<Column> = columns
        .iter()
        .map(|text| {
            let parts: Vec<&str> = text.trim_end_matches(['+', '!']).split('|').collect();
            Column {
                key: Arc::from(parts[0]),
                heading: Arc::from(parts[1]),
                unit: Arc::from(parts[2]),
                total: text.ends_with('+'),
                note: None,
                format: None,
                hidden: text.ends_with('!'),
                origin: Place::File(Arc::from("by hand")),
            }
        })
        .collect();
    for row in rows {
        assert_eq!(row.len(), columns.len());
    }
    Table {
        key: Arc::from(key),
        title: Arc::from(title),
        cells: Cells::of(columns.len(), rows.concat()),
        columns,
        rows: rows.len(),
    }
}

pub fn text(text: &str) -> Value {
    Value::text(text)
}

pub fn count(count: i64) -> Value {
    Value::Count(count)
}

pub fn number(number: f64) -> Value {
    Value::Number(number)
}
