//! `form`: order forms filled from the order's lines, one a supplier, level, ship date or whatever
//! column they are parted by.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use indexmap::IndexMap;
use serde_json::json;

use super::say::Say;
use super::{Common, End, run};
use crate::batch;
use crate::finding::{Finding, Place};
use crate::job::schema;
use crate::table::{Report, Table};
use crate::value::{Record, Value};
use crate::workbook::{
    self,
    form::{self, FormError},
};

/// The form that is filled where none is named.
const FORM: &[u8] = include_bytes!("../../templates/order-form.xlsx");
/// What the names of forms begin with whose job has errors: none goes out unnoticed.
const INCOMPLETE: &str = "INCOMPLETE ";
/// The column by which lines are parted where none is named.
pub const BY: &str = "sequence";

/// What may stand in a form.
const PLACEHOLDERS: &str = "\
In a form's cells, alone or among words:
  {job} {customer} {order_number} {ship_to} …  what the Job sheet says under that key, whatever key
  {schedule} {schedule_sha256}  the schedule's file, and its hash: two issues can be told apart
  {incomplete}      blank, or that the schedule has errors and is not to be ordered from
  {on_site}         the day on site of the lines, or of each sequence where they differ
  {accessories}     what is ours of Accessories with that sequence (or KEY): item, size, count, length
  {sequence}        or the KEY of --by: what the form's lines share
  {line.mark} {line.type} {line.gauge} {line.count} {line.length} {line.deck_lb} {line.options} …
                    any column of the Order, in the one row that is repeated for each line
Keys of the Job sheet and of the Order: `baytally reference`.";

/// Fills order forms from the lines of the order.
#[derive(Args)]
#[command(after_long_help = PLACEHOLDERS)]
pub struct Form {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// The shop's own form, with {job} and {line.count} and the like in its cells
    #[arg(long, value_name = "F")]
    form: Option<PathBuf>,
    /// The column of the order by which the lines are parted, a file each
    #[arg(long, value_name = "KEY", default_value = BY)]
    by: String,
    /// The folder to write the forms into, made where it is missing
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// Write over files of the same names
    #[arg(long)]
    replace: bool,
}

impl Form {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        match self.fill(common) {
            Err(findings) => {
                say.failed("form", &findings);
                End::Failed
            }
            Ok((report, written)) => {
                say.findings(&report.findings);
                for path in &written {
                    say.line(&format!("wrote {}", path.display()));
                }
                let paths: Vec<String> =
                    written.iter().map(|path| path.display().to_string()).collect();
                say.result("form", &report.findings, || json!({ "outputs": paths }));
                if report.is_incomplete() { End::Incomplete } else { End::Done }
            }
        }
    }

    fn fill(&self, common: &Common) -> Result<(Report, Vec<PathBuf>), Vec<Finding>> {
        let forms = Forms::open(self.form.as_deref(), &self.by)?;
        let mut report = run::evaluate(&self.schedule, common)?;
        let (filled, findings) = forms.fill(&report)?;
        let written = write(&filled, &self.output, &|_| self.replace)?;
        report.findings.extend(findings);
        report.findings.extend(earlier(&filled, &self.output));
        Ok((report, written))
    }
}

/// A form to fill, and the column by which lines are parted.
pub struct Forms {
    form: form::Form,
    by: String,
}

/// A filled form: its file's name and bytes.
pub struct Filled {
    pub name: String,
    pub bytes: Vec<u8>,
}

impl Forms {
    /// Opens the shop's form, or the bundled one where none is named.
    pub fn open(path: Option<&Path>, by: &str) -> Result<Forms, Vec<Finding>> {
        let form = form::Form::open(bytes(path)?).map_err(|error| vec![error.finding()])?;
        Ok(Forms { form, by: by.to_owned() })
    }

    /// The forms of a job, one for each value of the column, and what is amiss with them; none where nothing
    /// is to be ordered.
    pub fn fill(&self, report: &Report) -> Result<(Vec<Filled>, Vec<Finding>), Vec<Finding>> {
        let order = report
            .table("order")
            .ok_or_else(|| vec![Finding::error("no-order", "the report has no order")])?;
        let groups = parted(order, &self.by)?;
        let called = |key: &Option<String>| match key.as_deref() {
            None => format!("{} not known", self.by),
            Some("") => format!("no {}", self.by),
            Some(key) => key.to_owned(),
        };
        let called: Vec<String> = groups.keys().map(called).collect();
        let names = batch::safe_names(called.iter().map(String::as_str));
        let mut head = head(report);
        let is_lacking = groups.values().any(|(_, lines)| lines.iter().any(lacks_a_value));
        let (mark, status) = match report.errors().max(usize::from(is_lacking)) {
            0 => ("", Value::Blank),
            errors => {
                let plural = if errors == 1 { "" } else { "s" };
                let status = format!(
                    "INCOMPLETE, not to be ordered from: {errors} error{plural} in the schedule"
                );
                (INCOMPLETE, Value::text(status))
            }
        };
        head.insert(Arc::from("incomplete"), status);
        head.insert(Arc::from("schedule"), Value::text(&report.schedule));
        head.insert(Arc::from("schedule_sha256"), Value::text(&report.schedule_hash));
        let mut accessories = accessories(report, &self.by);
        let is_alone = groups.len() == 1;
        let takes_accessories =
            self.form.placeholders().any(|(_, name)| name.eq_ignore_ascii_case("accessories"));
        let may_have_gone = has_releases(order);
        let mut findings = Vec::new();
        let mut all = Vec::with_capacity(groups.len());
        for ((value, lines), name) in groups.into_values().zip(names) {
            let mut values = head.clone();
            values.insert(Arc::from("on_site"), on_site(&lines));
            let key = Some(shown(&value)).filter(|key| !key.is_empty());
            let mut own: Vec<String> = Vec::new();
            if takes_accessories {
                let goes = |it: &mut Accessory| it.goes_with(key.as_deref(), is_alone);
                own.extend(accessories.extract_if(.., goes).map(|accessory| accessory.text));
            }
            if may_have_gone && !own.is_empty() {
                own.push(
                    "Counted whole: what went with releases before is not taken off.".to_owned(),
                );
            }
            let own = if own.is_empty() { Value::Blank } else { Value::text(own.join("\n")) };
            values.insert(Arc::from("accessories"), own);
            values.insert(Arc::from(self.by.as_str()), value);
            let name = format!("{mark}{name}.xlsx");
            let filled = self.form.fill(&values, &lines).map_err(|error| vec![error.finding()])?;
            findings.extend(not_computed(&filled.not_computed, &name));
            all.push(Filled { name, bytes: filled.bytes });
        }
        if let Some(mut left) = on_no_form(&accessories, &self.by) {
            if may_have_gone {
                left =
                    left.hint("some of the order was released before: they may have gone with it");
            }
            findings.push(left);
        }
        Ok((all, findings))
    }
}

/// What of a form could not be computed, once for each cell of the shop's form.
fn not_computed(errors: &[FormError], name: &str) -> Vec<Finding> {
    let mut cells: IndexMap<String, (Finding, usize)> = IndexMap::new();
    for finding in errors.iter().map(FormError::finding) {
        let place = finding.places.first().map(ToString::to_string).unwrap_or_default();
        cells.entry(place).or_insert((finding, 0)).1 += 1;
    }
    let said = |(finding, count): (Finding, usize)| {
        let times = if count == 1 { String::new() } else { format!(", and {} more so", count - 1) };
        let message = format!("`{name}` says #N/A: {}{times}", finding.message);
        Finding { message, ..finding }
    };
    cells.into_values().map(said).collect()
}

/// The form's bytes.
pub fn bytes(path: Option<&Path>) -> Result<Vec<u8>, Vec<Finding>> {
    match path {
        None => Ok(FORM.to_vec()),
        Some(path) => std::fs::read(path)
            .map_err(|error| vec![unwritten(path, &format!("it can not be read: {error}"))]),
    }
}

/// Writes forms into a folder: all, or none where a file of another stands in the way. `may_replace`
/// says of a file's name whether it may be written over.
pub fn write(
    filled: &[Filled],
    folder: &Path,
    may_replace: &dyn Fn(&str) -> bool,
) -> Result<Vec<PathBuf>, Vec<Finding>> {
    for form in filled {
        let path = folder.join(&form.name);
        if path.exists() && !may_replace(&form.name) {
            return Err(vec![
                unwritten(&path, "a file of that name is there already")
                    .hint("`--replace` writes over it"),
            ]);
        }
    }
    if !filled.is_empty() {
        super::make_folder(folder).map_err(|error| vec![unwritten(folder, &error.to_string())])?;
    }
    let mut written = Vec::with_capacity(filled.len());
    for form in filled {
        let path = folder.join(&form.name);
        workbook::put(&path, &form.bytes)
            .map_err(|error| vec![unwritten(&path, &error.to_string())])?;
        written.push(path);
    }
    Ok(written)
}

/// Forms of an earlier, complete run that stand beside those of an incomplete job.
fn earlier(filled: &[Filled], folder: &Path) -> Vec<Finding> {
    let name = |form: &Filled| form.name.strip_prefix(INCOMPLETE).map(|name| folder.join(name));
    let stands = filled.iter().filter_map(name).filter(|path| path.exists());
    stands
        .map(|path| {
            let message =
                format!("`{}` is of an earlier run, not of this schedule", path.display());
            Finding::warning("earlier-form", message)
                .at(Place::File(Arc::from(path.display().to_string())))
                .hint("delete it before somebody orders from it")
        })
        .collect()
}

fn unwritten(path: &Path, why: &str) -> Finding {
    Finding::error("no-form", format!("`{}`: {why}", path.display()))
        .at(Place::File(Arc::from(path.display().to_string())))
}

/// The Job sheet's entries, and blanks for those that it may have and has not: a form may name them.
fn head(report: &Report) -> Record {
    let mut head = report.head.clone();
    for field in schema::sheet("head").into_iter().flat_map(schema::Sheet::all_fields) {
        if !head.keys().any(|key| key.eq_ignore_ascii_case(field.heading)) {
            head.insert(Arc::from(field.heading), Value::Blank);
        }
    }
    head
}

/// The value of a group, and its lines.
type Group = (Value, Vec<Record>);
/// Groups by their values in words; none where the value could not be computed.
type Groups = IndexMap<Option<String>, Group>;

/// Whether a line has a value that could not be computed.
fn lacks_a_value(line: &Record) -> bool {
    line.values().any(|value| match value {
        Value::Error(_) => true,
        Value::Number(number) => !number.is_finite(),
        _ => false,
    })
}

/// The order's lines by the value of a column, in the order in which they first come. Lines with
/// nothing to order are left out.
fn parted(order: &Table, by: &str) -> Result<Groups, Vec<Finding>> {
    let Some(at) = order.column(by) else {
        let keys: Vec<&str> = order.columns.iter().filter(|c| !c.hidden).map(|c| &*c.key).collect();
        return Err(vec![
            Finding::error("unknown-column", format!("the order has no column `{by}`"))
                .hint(format!("it has {}", keys.join(", "))),
        ]);
    };
    let count = order.column("count");
    let mut groups = Groups::new();
    for row in 0..order.rows {
        let cells = order.row(row);
        if count.is_some_and(|count| order.cell(row, count).as_number() == Some(0.0)) {
            continue;
        }
        let mut line: Record = order
            .columns
            .iter()
            .zip(cells.iter())
            .map(|(column, value)| (column.key.clone(), value.into_owned()))
            .collect();
        if let Some(weight) = line.get("weight_lb").cloned() {
            line.insert(Arc::from("deck_lb"), weight);
        }
        let value = order.cell(row, at);
        let key = match &*value {
            Value::Error(_) => None,
            value => Some(shown(value)),
        };
        let group = groups.entry(key).or_insert_with(|| (value.into_owned(), Vec::new()));
        group.1.push(line);
    }
    Ok(groups)
}

/// The day on site of a form's lines; where they differ, which sequence comes when.
fn on_site(lines: &[Record]) -> Value {
    /// More are said by the first and the last.
    const MOST: usize = 4;
    let mut days: Vec<(String, Value)> = Vec::new();
    for line in lines {
        let sequence = line.get("sequence").map(shown).unwrap_or_default();
        let day = line.get("on_site").cloned().unwrap_or_default();
        if !days.iter().any(|known| known.0 == sequence && known.1 == day) {
            days.push((sequence, day));
        }
    }
    let Some((_, first)) = days.first() else { return Value::Blank };
    if days.iter().all(|(_, day)| day == first) {
        return first.clone();
    }
    let said = |day: &Value| match day {
        Value::Blank => "not given".to_owned(),
        Value::Error(_) => "not known".to_owned(),
        day => shown(day),
    };
    if days.len() <= MOST {
        let each = days.iter().map(|(sequence, day)| format!("{sequence}: {}", said(day)));
        return Value::text(each.collect::<Vec<String>>().join("; "));
    }
    // Days are spelled so that they sort.
    let known = days.iter().filter(|(_, day)| !matches!(day, Value::Blank | Value::Error(_)));
    let mut known: Vec<String> = known.map(|(_, day)| shown(day)).collect();
    known.sort();
    let between = known.first().zip(known.last()).map(|(from, to)| format!(", {from} to {to}"));
    Value::text(format!("varies by sequence{}", between.unwrap_or_default()))
}

/// Accessories that are ours: what each is, and its value in the column by which lines are parted.
fn accessories(report: &Report, by: &str) -> Vec<Accessory> {
    let Some(table) = report.table("accessories") else { return Vec::new() };
    let row = |row: usize| {
        let value = |key: &str| table.column(key).map(|at| table.cell(row, at).into_owned());
        let words = |key: &str| value(key).map(|value| shown(&value)).filter(|it| !it.is_empty());
        let number = |key: &str| value(key).and_then(|value| value.as_number());
        if value("ours") != Some(Value::Bool(true)) {
            return None;
        }
        let what: Vec<String> = ["item", "size"].iter().filter_map(|key| words(key)).collect();
        let pieces = number("count").map(|count| {
            format!("{count} piece{}", if (count - 1.0).abs() < 0.5 { "" } else { "s" })
        });
        let length = number("length_ft").map(|length_ft| format!("{length_ft:.1} ft"));
        let much: Vec<String> = pieces.into_iter().chain(length).collect();
        let much = if much.is_empty() { "#N/A".to_owned() } else { much.join(", ") };
        let level = words("level").map(|level| format!("level {level}: ")).unwrap_or_default();
        Some(Accessory { of: words(by), text: format!("{level}{}: {much}", what.join(", ")) })
    };
    (0..table.rows).filter_map(row).collect()
}

/// What comes with deck and is no order line.
struct Accessory {
    /// None where it is of several or the table has no such column.
    of: Option<String>,
    text: String,
}

impl Accessory {
    /// Whether it goes out on the form of that value; what is of none goes on the only form there is.
    fn goes_with(&self, key: Option<&str>, is_alone: bool) -> bool {
        match self.of.as_deref() {
            Some(of) => key == Some(of),
            None => is_alone,
        }
    }
}

/// Whether some of the order has gone before.
fn has_releases(order: &Table) -> bool {
    let released = order.column("released");
    released.is_some_and(|at| (0..order.rows).any(|row| !order.cell(row, at).is_blank()))
}

/// Accessories that stand on no form: nobody would send them.
fn on_no_form(left: &[Accessory], by: &str) -> Option<Finding> {
    const LISTED: usize = 5;
    if left.is_empty() {
        return None;
    }
    let mut listed: Vec<&str> = left.iter().take(LISTED).map(|it| it.text.as_str()).collect();
    let more = format!("{} more", left.len().saturating_sub(LISTED));
    if left.len() > LISTED {
        listed.push(&more);
    }
    let message = format!("accessories of ours stand on no form by {by}: {}", listed.join("; "));
    let finding = Finding::warning("accessories-on-no-form", message)
        .hint("order them apart; a form of the shop's own names them as {accessories}");
    Some(if by == BY {
        finding.hint("state Sequence on Edges where a level has several")
    } else {
        finding
    })
}

/// A value in words; blank for none.
fn shown(value: &Value) -> String {
    match value {
        Value::Blank => String::new(),
        Value::Text(text) => text.to_string(),
        other => other.to_string(),
    }
}
