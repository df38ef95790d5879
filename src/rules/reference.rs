//! What scripts have and what is in force, as entries that can be printed: built-ins, words, the
//! fields of rows, rules, tables with their columns, checks; and as definition files for editors.

use std::sync::Arc;

use rhai::Module;

use super::engine::{packages_alone, register_documented};
use super::host::{Host, HostOptions};
use super::source::{From, Scripts};
use super::syntax::is_reserved;
use super::{on_large_stack, signs, words};
use crate::finding::{Finding, Place};
use crate::job::{fields, schema};

/// A part of the reference.
#[derive(Clone, Debug, Default)]
pub struct Section {
    pub title: String,
    pub about: String,
    pub entries: Vec<Entry>,
}

/// Something that scripts can name.
#[derive(Clone, Debug, Default)]
pub struct Entry {
    /// As it is written: `deck::panels_across(width_ft, cover_in)`.
    pub form: String,
    /// What it is, in lines; the parts of a built-in's comment are a line each.
    pub lines: Vec<String>,
    /// The expression or body, of rules, columns and checks.
    pub text: String,
    /// Where it is defined, of rules, columns and checks.
    pub place: Option<Place>,
    /// Whether a shop or the schedule gave it.
    pub own: bool,
}

/// The reference of the scripts.
pub fn reference(scripts: &Arc<Scripts>) -> Result<Vec<Section>, Vec<Finding>> {
    on_large_stack(|| {
        let host = Host::load(&Arc::default(), scripts, HostOptions::default())?;
        let mut sections = builtins();
        sections.extend(of_words());
        sections.extend(of_fields());
        sections.push(of_rules(&host));
        sections.extend(of_tables(&host));
        sections.push(of_checks(&host));
        Ok(sections)
    })
    .unwrap_or_else(|not| Err(vec![not.finding()]))
}

fn builtins() -> Vec<Section> {
    let section = |room: &crate::builtin::Room| Section {
        title: format!("Built-in functions: {}", room.name),
        about: room.about.to_owned(),
        entries: room
            .builtins()
            .map(|builtin| Entry {
                form: format!("{}::{}({})", room.name, builtin.name, builtin.parameters.join(", ")),
                lines: paragraphs(&builtin.doc()),
                ..Entry::default()
            })
            .collect(),
    };
    super::rooms().iter().map(section).collect()
}

/// A comment's lines, those that go on joined to the ones they belong to.
fn paragraphs(doc: &[&str]) -> Vec<String> {
    let begins = |line: &str| {
        line.starts_with("- ")
            || ["Gives:", "Source:", "Example:"].iter().any(|part| line.starts_with(part))
    };
    let mut lines: Vec<String> = Vec::new();
    let mut new = true;
    for line in doc {
        match lines.last_mut() {
            _ if line.is_empty() => new = true,
            Some(last) if !new && !begins(line) => {
                last.push(' ');
                last.push_str(line.trim());
            }
            _ => {
                lines.push((*line).to_owned());
                new = false;
            }
        }
    }
    lines
}

fn of_words() -> Vec<Section> {
    let section = |group: &words::Group| Section {
        title: group.title.to_owned(),
        about: String::new(),
        entries: group
            .words
            .iter()
            .map(|word| Entry {
                form: word.form.to_owned(),
                lines: vec![word.about.to_owned()],
                ..Entry::default()
            })
            .collect(),
    };
    words::GROUPS.iter().map(section).collect()
}

fn of_fields() -> Vec<Section> {
    let entry = |form: &str, about: &str| Entry {
        form: form.to_owned(),
        lines: vec![about.to_owned()],
        ..Entry::default()
    };
    let mut sections = vec![Section {
        title: "Fields of a bay".to_owned(),
        about:
            "What a row of the takeoff and of `job.bays` has, beside its deck's fields, the rest \
                of its row in Bays and its own headings as `bay[\"Heading\"]`."
                .to_owned(),
        entries: fields::BAY.iter().map(|field| entry(field.name, field.about)).collect(),
    }];
    for sheet in schema::SHEETS {
        let name = match sheet.key {
            "head" => "job.value(…)".to_owned(),
            key => format!("job.{key}"),
        };
        sections.push(Section {
            title: format!("Fields of the sheet {}", sheet.name),
            about: format!("`{name}`"),
            entries: sheet
                .fields
                .iter()
                .map(|field| entry(field.key, &format!("{}: {}", field.heading, field.about)))
                .collect(),
        });
    }
    sections.push(Section {
        title: "Fields of a deck".to_owned(),
        about: "`job.decks`, `bay.deck`; every bay has them as well. `use` is read as `deck_use`."
            .to_owned(),
        entries: schema::DECK
            .iter()
            .map(|field| entry(field.key, &format!("{}: {}", field.heading, field.about)))
            .collect(),
    });
    sections
}

fn of_rules(host: &Host) -> Section {
    let entries = host.loaded.rules.iter().map(|rule| Entry {
        form: format!("{}({})", rule.name, rule.parameters.join(", ")),
        lines: vec![rule.about.clone()],
        text: host.scripts.statement(rule.line),
        place: host.scripts.place(rule.line, 0),
        own: rule.from != From::Bundled,
    });
    Section {
        title: "Rules".to_owned(),
        about: "What shops differ on. A function of the same name and number of parameters in a \
                shop's folder replaces a rule everywhere; `bundled::name(…)` still reaches the \
                bundled one."
            .to_owned(),
        entries: entries.collect(),
    }
}

fn of_tables(host: &Host) -> Vec<Section> {
    let section = |table: &super::define::TableDraft| {
        let columns = table.columns.values().map(|column| {
            let unit =
                if column.unit.is_empty() { String::new() } else { format!(", {}", column.unit) };
            let mut lines = vec![format!("{}{unit}", column.heading)];
            let marks = [
                (column.total, "summed"),
                (column.running, "running sum"),
                (column.hidden, "hidden"),
            ];
            let marks: Vec<&str> = marks.iter().filter(|mark| mark.0).map(|mark| mark.1).collect();
            if !marks.is_empty() {
                lines[0] += &format!(" ({})", marks.join(", "));
            }
            lines.extend(column.note.iter().map(ToString::to_string));
            Entry {
                form: format!("{}.{}", table.key, column.key),
                lines,
                text: host.scripts.argument_text(&column.function),
                place: host.scripts.place(column.function.line, 0),
                own: column.function.from != From::Bundled,
            }
        });
        Section {
            title: format!("Table {}: {}", table.key, table.title),
            about: table.note.as_deref().unwrap_or("").to_owned(),
            entries: columns.collect(),
        }
    };
    host.loaded.drafts.tables.values().map(section).collect()
}

fn of_checks(host: &Host) -> Section {
    let entries = host.loaded.drafts.checks.values().map(|check| Entry {
        form: format!("check {}", check.code),
        lines: std::iter::once(check.severity.to_string())
            .chain(check.hints.iter().cloned())
            .collect(),
        text: host.scripts.argument_text(&check.test),
        place: host.scripts.place(check.test.line, 0),
        own: check.test.from != From::Bundled,
    });
    Section { title: "Checks".to_owned(), about: String::new(), entries: entries.collect() }
}

/// Definition files by which an editor's language server for Rhai completes and explains what
/// scripts have, and its settings: file name and content.
pub fn definitions(scripts: &Arc<Scripts>) -> Result<Vec<(String, String)>, Vec<Finding>> {
    let sections = reference(scripts)?;
    let mut engine = packages_alone();
    for room in super::rooms() {
        let mut module = Module::new();
        for builtin in room.builtins() {
            register_documented(&mut module, builtin);
        }
        engine.register_static_module(room.name, module.into());
    }
    let mut files: Vec<(String, String)> = engine
        .definitions()
        .iter_files()
        .map(|(name, text)| (format!("definitions/{name}"), text))
        .collect();
    let rules = rule_definitions(&sections);
    files.push(("definitions/rules.d.rhai".to_owned(), format!("module static;\n{rules}")));
    files.push(("definitions/bundled.d.rhai".to_owned(), format!("module bundled;\n{rules}")));
    files.push(("definitions/words.d.rhai".to_owned(), word_definitions()));
    files.push(("Rhai.toml".to_owned(), SETTINGS.to_owned()));
    files.sort();
    Ok(files)
}

const SETTINGS: &str =
    "# Settings of the language server for Rhai: where scripts and definitions stand.
[source]
include = [\"**/*.rhai\"]
";

/// The words that scripts are written with: functions, and fields as getters.
fn word_definitions() -> String {
    let mut text = "module static;\n".to_owned();
    for word in words::GROUPS.iter().flat_map(|group| group.words) {
        let receiver = receiver_of(word.form, word.name);
        let parameters: Vec<String> = receiver
            .into_iter()
            .chain(parameters_of(word.form, word.name))
            .map(|name| format!("{name}: ?"))
            .collect();
        let get = if word.form.contains(&format!("{}(", word.name)) { "" } else { "get " };
        text += &format!(
            "\n/// `{}`: {}\nfn {get}{}({}) -> ?;\n",
            word.form,
            word.about,
            word.name,
            parameters.join(", ")
        );
    }
    text
}

/// What stands before the dot: `rows` of `rows.sum("field")`.
fn receiver_of(form: &str, name: &str) -> Option<String> {
    let (before, _) = form.rsplit_once(&format!(".{name}"))?;
    let name = before.split('(').next().unwrap_or(before);
    Some(name.rsplit('.').next().unwrap_or(name).to_owned())
}

/// The arguments in the brackets behind a name, as names: `key, heading, unit, function`.
fn parameters_of(form: &str, name: &str) -> Vec<String> {
    let Some(at) = form.rfind(&format!("{name}(")) else { return Vec::new() };
    let mut parameters = Vec::new();
    for number in 0.. {
        let Some(argument) = signs::argument_text(form, 1, form[..at].chars().count() + 1, number)
        else {
            break;
        };
        let plain: String = argument
            .chars()
            .filter(|sign| sign.is_ascii_alphanumeric() || matches!(sign, ' ' | '_'))
            .collect();
        let plain = plain.trim().to_lowercase().replace(' ', "_");
        parameters.push(match argument.chars().next() {
            Some('|') => "function".to_owned(),
            Some('[') => "list".to_owned(),
            Some('#') => "map".to_owned(),
            _ if plain.starts_with(|sign: char| sign.is_ascii_alphabetic())
                && !is_reserved(&plain) =>
            {
                plain
            }
            _ => format!("value_{number}"),
        });
    }
    parameters
}

/// The rules of the reference as functions.
fn rule_definitions(sections: &[Section]) -> String {
    let mut text = String::new();
    let rules = sections.iter().filter(|section| section.title == "Rules");
    for entry in rules.flat_map(|section| &section.entries).filter(|entry| !entry.own) {
        let (name, parameters) = entry.form.split_once('(').unwrap_or((&entry.form, ")"));
        let parameters: Vec<String> = parameters
            .trim_end_matches(')')
            .split(", ")
            .filter(|parameter| !parameter.is_empty())
            .map(|parameter| format!("{parameter}: ?"))
            .collect();
        text.push('\n');
        for line in entry.lines.iter().filter(|line| !line.is_empty()) {
            text += &format!("/// {line}\n");
        }
        text += &format!("fn {name}({}) -> ?;\n", parameters.join(", "));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::{parameters_of, receiver_of, word_definitions};

    #[test]
    fn words_become_functions() {
        let form = "column(\"key\", \"Heading\", \"unit\", |row| value)";
        assert_eq!(parameters_of(form, "column"), ["key", "heading", "unit", "function"]);
        assert_eq!(receiver_of(form, "column"), None);
        assert_eq!(receiver_of("rows.sum(\"field\")", "sum").as_deref(), Some("rows"));
        assert_eq!(receiver_of("column(…).total()", "total").as_deref(), Some("column"));
        let all = word_definitions();
        assert!(all.contains("\nfn sum(rows: ?, field: ?) -> ?;\n"), "{all}");
        assert!(all.contains("\nfn get len(rows: ?) -> ?;\n"), "{all}");
        assert!(all.contains("\nfn total(column: ?) -> ?;\n"), "{all}");
    }
}
