//! Tables as JSON.

use serde_json::{Map, Value as Json, json};

use crate::table::{Report, Table};

/// The version of the JSON that `--json` prints.
pub const SCHEMA_VERSION: u32 = 1;

/// Every table: key, title, columns, rows as objects by column key, totals.
#[must_use]
pub fn tables_json(report: &Report) -> Json {
    report.tables.iter().map(|table| table_json(table)).collect()
}

fn table_json(table: &Table) -> Json {
    let shown: Vec<usize> =
        (0..table.columns.len()).filter(|&at| !table.columns[at].hidden).collect();
    let columns: Vec<Json> = shown
        .iter()
        .map(|&at| {
            let column = &table.columns[at];
            json!({ "key": &*column.key, "heading": &*column.heading, "unit": &*column.unit })
        })
        .collect();
    let rows: Vec<Json> = (0..table.rows)
        .map(|row| {
            let cells = table.row(row);
            shown
                .iter()
                .map(|&at| (table.columns[at].key.to_string(), json!(cells.get(at).as_deref())))
                .collect::<Map<String, Json>>()
                .into()
        })
        .collect();
    let totals: Map<String, Json> = shown
        .iter()
        .filter(|&&at| table.columns[at].total)
        .map(|&at| (table.columns[at].key.to_string(), json!(table.total(at))))
        .collect();
    json!({
        "key": &*table.key,
        "title": &*table.title,
        "columns": columns,
        "rows": rows,
        "totals": totals,
    })
}
