//! Compares a table of two revisions, line by line, by stated key columns.

use std::sync::Arc;

use indexmap::{IndexMap, IndexSet};

use super::difference::{Change, Difference, Line, What};
use crate::finding::Finding;
use crate::table::{Column, Table};
use crate::value::Value;

/// What is compared in a table, columns by their keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Subject {
    pub table: Arc<str>,
    /// What makes a line the same line in both; lines equal in these are added up.
    pub keys: Vec<Arc<str>>,
    /// What is counted and summed.
    pub figures: Vec<Arc<str>>,
    /// What else may change about a line.
    pub words: Vec<Arc<str>>,
}

/// Table, keys, figures, words.
type Usual =
    (&'static str, &'static [&'static str], &'static [&'static str], &'static [&'static str]);

/// Marks are numbered anew with each revision and so are no part of an order line's key.
const USUAL: [Usual; 4] = [
    (
        "order",
        &[
            "sequence",
            "type",
            "profile",
            "deck_use",
            "cover_in",
            "gauge",
            "grade",
            "finish",
            "side_lap",
            "options",
            "length_ft",
        ],
        &["count", "lineal_ft", "squares", "weight_lb"],
        &["on_site", "missing"],
    ),
    (
        "takeoff",
        &["level", "bay"],
        &["area_ft2", "panels", "lineal_ft", "deck_lb", "net_yd3"],
        &[
            "sequence",
            "type",
            "profile",
            "gauge",
            "copies",
            "length_ft",
            "width_ft",
            "slab_in",
            "pour",
            "apart",
        ],
    ),
    (
        "pours",
        &["level", "pour"],
        &["area_ft2", "net_yd3", "order_yd3", "trucks"],
        &["mix", "date"],
    ),
    ("accessories", &["level", "item", "size"], &["count", "length_ft", "weight_lb"], &["by"]),
];

/// Key columns that takeoffs written by earlier versions do not bear: compared where both do.
const LATE: [&str; 1] = ["deck_use"];

impl Subject {
    /// Order lines, bays, pours and accessories.
    #[must_use]
    pub fn usual() -> Vec<Subject> {
        let keys = |keys: &[&str]| keys.iter().map(|&key| Arc::from(key)).collect();
        USUAL
            .iter()
            .map(|(table, key, figures, words)| Subject {
                table: Arc::from(*table),
                keys: keys(key),
                figures: keys(figures),
                words: keys(words),
            })
            .collect()
    }

    /// A table by key columns of one's own: every totalled column is a figure, all others are words.
    #[must_use]
    pub fn by(table: &Table, keys: Vec<Arc<str>>) -> Subject {
        let columns = || table.columns.iter().filter(|column| !column.hidden);
        Subject {
            table: table.key.clone(),
            figures: columns()
                .filter(|column| column.total)
                .map(|column| column.key.clone())
                .collect(),
            words: columns()
                .filter(|column| !column.total && !keys.contains(&column.key))
                .map(|column| column.key.clone())
                .collect(),
            keys,
        }
    }
}

/// A rule, column or check by its kind and name, and the hash of its text.
pub type RuleHash = (String, String);

/// Marks of the order that stand for another length or type than they did: what was made or drawn by them
/// would be taken for something else.
#[must_use]
pub fn moved_marks(old: &Table, new: &Table) -> Option<Finding> {
    const LISTED: usize = 8;
    let (before, now) = (marks(old), marks(new));
    let moved: Vec<String> = now
        .iter()
        .filter_map(|(mark, panel)| {
            let was = before.get(mark).filter(|was| *was != panel)?;
            Some(format!("`{mark}` was {was}, is {panel}"))
        })
        .collect();
    if moved.is_empty() {
        return None;
    }
    let more = moved.len().saturating_sub(LISTED);
    let mut listed: Vec<String> = moved.into_iter().take(LISTED).collect();
    if more > 0 {
        listed.push(format!("{more} more"));
    }
    let message = format!("marks of the order changed hands: {}", listed.join("; "));
    Some(
        Finding::warning("mark-moved", message)
            .hint("list what was ordered by them on Releases: released lengths keep their marks"),
    )
}

/// Rules, columns and checks, by kind and name, that are not the same on both sides: part of what differs
/// is theirs. None where a side does not bear its rules.
#[must_use]
pub fn changed_rules(old: &[RuleHash], new: &[RuleHash]) -> Option<Finding> {
    const LISTED: usize = 8;
    if old.is_empty() || new.is_empty() {
        return None;
    }
    let hashes = |side: &[RuleHash]| -> IndexMap<String, String> { side.iter().cloned().collect() };
    let (before, now) = (hashes(old), hashes(new));
    let names: IndexSet<&String> = now.keys().chain(before.keys()).collect();
    let mut changed: Vec<&str> = names
        .into_iter()
        .filter(|name| before.get(*name) != now.get(*name))
        .map(String::as_str)
        .collect();
    if changed.is_empty() {
        return None;
    }
    let more = changed.len().saturating_sub(LISTED);
    changed.truncate(LISTED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let message =
        format!("the two were not computed by the same rules: {}{more}", changed.join(", "));
    Some(
        Finding::warning("rules-differ", message)
            .hint("part of what differs comes from the rules, not from the schedule"),
    )
}

/// By mark: type and length of its panels.
fn marks(order: &Table) -> IndexMap<String, String> {
    let at = |key| order.column(key);
    let (Some(mark), Some(kind), Some(length)) = (at("mark"), at("type"), at("length")) else {
        return IndexMap::new();
    };
    (0..order.rows)
        .filter_map(|row| {
            let cells = order.row(row);
            let text = |at| cells.text(at).map(str::to_owned);
            let panel = [text(kind), text(length)].into_iter().flatten().collect::<Vec<_>>();
            Some((text(mark)?, panel.join(" ")))
        })
        .collect()
}

/// Compares a table's lines. Columns that neither table shows are left out; refused where a key
/// column stands in one table only, or in none.
pub fn compare(subject: &Subject, old: &Table, new: &Table) -> Result<Difference, Finding> {
    let keys = Columns::of(&subject.keys, old, new);
    let refused = |message: String| {
        Err(Finding::error("not-comparable", format!("table `{}`: {message}", subject.table)))
    };
    if let Some(column) = keys.in_one.iter().find(|key| !LATE.contains(&&***key)) {
        return refused(format!("only one of the two has the column `{column}`"));
    }
    if keys.both.is_empty() {
        return refused(format!("neither has a column `{}`", subject.keys.join("` or `")));
    }
    let figures = Columns::of(&subject.figures, old, new);
    let words = Columns::of(&subject.words, old, new);
    let side = |table: &Table, at: fn(&Both) -> usize| {
        let places = |columns: &Columns| columns.both.iter().map(at).collect::<Vec<_>>();
        added_up(table, &places(&keys), &places(&figures), &places(&words))
    };
    let before = side(old, |both| both.old);
    let after = side(new, |both| both.new);

    let mut lines = Vec::new();
    let mut same = 0;
    let none = Sums::default();
    for (key, sums) in &after {
        let was = before.get(key);
        let line = line_of(was, Some(sums), &none, figures.both.len());
        match line.what {
            What::Changed if line.words.is_empty() && line.figures.iter().all(Change::is_none) => {
                same += 1;
            }
            _ => lines.push(line),
        }
    }
    for (key, sums) in &before {
        if !after.contains_key(key) {
            lines.push(line_of(Some(sums), None, &none, figures.both.len()));
        }
    }
    let total = |sides: &IndexMap<Vec<String>, Sums>, at: usize| {
        sides.values().fold(Value::Blank, |sum, sums| add(sum, sums.figure(at)))
    };
    let totals = (0..figures.both.len())
        .map(|at| Change { old: total(&before, at), new: total(&after, at) })
        .collect();
    Ok(Difference {
        table: new.key.clone(),
        title: new.title.clone(),
        keys: keys.columns(new),
        figures: figures.columns(new),
        words: words.columns(new),
        lines,
        same,
        totals,
    })
}

/// Where a column stands in both tables.
struct Both {
    old: usize,
    new: usize,
}

#[derive(Default)]
struct Columns {
    both: Vec<Both>,
    in_one: Vec<Arc<str>>,
}

impl Columns {
    fn of(keys: &[Arc<str>], old: &Table, new: &Table) -> Columns {
        let shown = |table: &Table, key: &str| {
            table
                .column(key)
                .filter(|&at| table.columns.get(at).is_some_and(|column| !column.hidden))
        };
        let mut columns = Columns::default();
        for key in keys {
            match (shown(old, key), shown(new, key)) {
                (Some(old), Some(new)) => columns.both.push(Both { old, new }),
                (None, None) => {}
                _ => columns.in_one.push(key.clone()),
            }
        }
        columns
    }

    fn columns(&self, new: &Table) -> Vec<Column> {
        self.both.iter().filter_map(|both| new.columns.get(both.new).cloned()).collect()
    }
}

/// The lines of one key, added up.
#[derive(Clone, Debug, Default)]
struct Sums {
    key: Vec<Value>,
    figures: Vec<Value>,
    words: Vec<Value>,
}

impl Sums {
    fn figure(&self, at: usize) -> &Value {
        self.figures.get(at).unwrap_or(&Value::Blank)
    }
}

fn added_up(
    table: &Table,
    keys: &[usize],
    figures: &[usize],
    words: &[usize],
) -> IndexMap<Vec<String>, Sums> {
    let mut lines: IndexMap<Vec<String>, Sums> = IndexMap::new();
    for row in 0..table.rows {
        let cells = table.row(row);
        let cell = |at: usize| cells.get(at).unwrap_or_default().into_owned();
        let key: Vec<Value> = keys.iter().map(|&at| cell(at)).collect();
        let name = key.iter().map(word).collect();
        let sums = lines.entry(name).or_insert_with(|| Sums {
            key,
            figures: vec![Value::Blank; figures.len()],
            words: words.iter().map(|&at| cell(at)).collect(),
        });
        for (sum, &at) in sums.figures.iter_mut().zip(figures) {
            *sum = add(std::mem::take(sum), &cell(at));
        }
        for (said, &at) in sums.words.iter_mut().zip(words) {
            join(said, &cell(at));
        }
    }
    lines
}

fn line_of(old: Option<&Sums>, new: Option<&Sums>, none: &Sums, figures: usize) -> Line {
    let what = match (old, new) {
        (None, _) => What::Added,
        (_, None) => What::Removed,
        _ => What::Changed,
    };
    let (before, after) = (old.unwrap_or(none), new.unwrap_or(none));
    let figures = (0..figures)
        .map(|at| Change { old: before.figure(at).clone(), new: after.figure(at).clone() })
        .collect();
    let words = before
        .words
        .iter()
        .zip(&after.words)
        .enumerate()
        .filter(|(_, (old, new))| word(old) != word(new))
        .map(|(at, (old, new))| (at, Change { old: old.clone(), new: new.clone() }))
        // Numbers that are no figures differ as figures do: not by their last digits.
        .filter(|(_, change)| {
            let are_numbers = [&change.old, &change.new].iter().all(|it| it.as_number().is_some());
            !are_numbers || !change.is_none()
        })
        .collect();
    Line { what, key: new.or(old).unwrap_or(none).key.clone(), figures, words }
}

/// A value as a word by which lines are matched: 36 typed as a number or as text is the same.
fn word(value: &Value) -> String {
    match value {
        Value::Text(text) => text.to_string(),
        Value::Blank => String::new(),
        other => other.to_string(),
    }
}

/// Counts stay counts; what could not be computed stays so.
fn add(sum: Value, value: &Value) -> Value {
    match (&sum, value) {
        (Value::Error(_), _) => sum,
        (_, Value::Error(_)) | (Value::Blank, Value::Count(_) | Value::Number(_)) => value.clone(),
        (Value::Count(one), Value::Count(other)) => match one.checked_add(*other) {
            Some(sum) => Value::Count(sum),
            None => Value::Error(Arc::from("the sum is beyond what is counted here")),
        },
        _ => match (sum.as_number(), value.as_number()) {
            (Some(one), Some(other)) => Value::Number(one + other),
            _ => sum,
        },
    }
}

/// Joins what lines of one key say differently.
fn join(said: &mut Value, other: &Value) {
    let (one, more) = (word(said), word(other));
    if one != more && !more.is_empty() && !one.split(" / ").any(|part| part == more) {
        *said = if one.is_empty() { other.clone() } else { Value::text(format!("{one} / {more}")) };
    }
}
