//! The names that scripts may read off a row: fields of the job's sheets, headings of its own,
//! columns of the tables. Each has a number, by which a row finds its column without a look-up.

use std::sync::Arc;

use indexmap::IndexSet;

use super::source::Scripts;
use super::world::Names;
use crate::job::{Job, fields, schema};

/// Every name that scripts may read off a row.
pub fn names(job: &Job, scripts: &Scripts) -> Names {
    let mut names: IndexSet<Arc<str>> = IndexSet::new();
    names.extend(fields::BAY.iter().map(|field| Arc::from(field.name)));
    for sheet in schema::SHEETS {
        names.extend(sheet.all_fields().map(|field| Arc::from(field.key)));
    }
    for deck in &job.decks {
        names.extend(deck.fields.keys().cloned());
    }
    names.extend(["deck", "deck_use", "rows", "row", "bays"].map(Arc::from));
    for reading in &job.readings {
        names.extend(reading.own.keys().cloned());
    }
    for script in scripts.files() {
        column_names(&script.text, &mut names);
    }
    names.into_iter().enumerate().map(|(number, name)| (name, number)).collect()
}

/// The keys of `column("key", …)` calls in a script's text.
fn column_names(text: &str, names: &mut IndexSet<Arc<str>>) {
    for part in text.split("column(").skip(1) {
        if let Some(key) =
            part.trim_start().strip_prefix('"').and_then(|rest| rest.split('"').next())
        {
            names.insert(Arc::from(key));
        }
    }
}
