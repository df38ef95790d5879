//! `reference`: what scripts have and what is in force, for people, as Markdown and for editors.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::{Args, ValueEnum};
use serde_json::{Value as Json, json};

use super::say::Say;
use super::{Common, End, load, spans};
use crate::finding::{Finding, Place};
use crate::rules::{self, Entry, Scripts, Section};

/// Prints the built-in functions, words, fields, rules, tables and checks in force.
#[derive(Args)]
pub struct Reference {
    /// Print what has this in its name only: `panels`, `deck::`, `takeoff.`; `spans` prints the longest
    /// unshored spans of the catalogue's composite profiles
    name: Option<String>,
    /// As text for the terminal or as Markdown
    #[arg(long, value_enum, default_value_t = Format::Text, value_name = "FORMAT")]
    format: Format,
    /// Write definition files into this folder, by which an editor's Rhai language server completes
    /// built-ins and rules, and its settings
    #[arg(long, value_name = "DIR", conflicts_with_all = ["name", "format"])]
    editor: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    Text,
    Markdown,
}

impl Reference {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        match self.told(common, say) {
            Ok(()) => End::Done,
            Err(findings) => {
                say.failed("reference", &findings);
                End::Failed
            }
        }
    }

    fn told(&self, common: &Common, say: &Say) -> Result<(), Vec<Finding>> {
        if self.name.as_deref() == Some("spans") {
            let lines = spans::lines(common)?;
            if !say.json {
                say.always(&spans::text(&lines));
            }
            say.result("reference", &[], || json!({ "spans": lines }));
            return Ok(());
        }
        let scripts = Arc::new(rules::scripts(load::shop(common)?.as_ref())?);
        if let Some(folder) = &self.editor {
            return write_definitions(folder, &scripts, say);
        }
        let mut sections = rules::reference(&scripts)?;
        if let Some(name) = &self.name {
            for section in &mut sections {
                section.entries.retain(|entry| entry.form.contains(name.as_str()));
            }
        }
        sections.retain(|section| !section.entries.is_empty());
        if sections.is_empty() {
            let name = self.name.as_deref().unwrap_or("");
            return Err(vec![Finding::error(
                "unknown-name",
                format!("nothing has `{name}` in its name"),
            )]);
        }
        if !say.json {
            say.always(
                match self.format {
                    Format::Text => text(&sections),
                    Format::Markdown => markdown(&sections),
                }
                .trim_end(),
            );
        }
        say.result("reference", &[], || json!({ "sections": as_json(&sections) }));
        Ok(())
    }
}

fn write_definitions(folder: &Path, scripts: &Arc<Scripts>, say: &Say) -> Result<(), Vec<Finding>> {
    let files = rules::definitions(scripts)?;
    let mut written = Vec::new();
    for (name, text) in &files {
        let path = folder.join(name);
        let write = || {
            if let Some(parent) = path.parent() {
                std::fs::create_dir_all(parent)?;
            }
            std::fs::write(&path, text)
        };
        write().map_err(|error| {
            let finding = Finding::error("not-written", format!("it can not be written: {error}"));
            vec![finding.at(Place::File(Arc::from(path.display().to_string())))]
        })?;
        written.push(path.display().to_string());
    }
    say.line(&format!("wrote {} files to {}", files.len(), folder.display()));
    say.result("reference", &[], || json!({ "written": written }));
    Ok(())
}

/// As text for the terminal.
fn text(sections: &[Section]) -> String {
    let mut text = String::new();
    for section in sections {
        let _ = writeln!(text, "{}\n{}", section.title, "-".repeat(section.title.chars().count()));
        if !section.about.is_empty() {
            let _ = writeln!(text, "{}", section.about);
        }
        text.push('\n');
        for entry in &section.entries {
            let place =
                entry.place.as_ref().map(|place| format!("  [{place}]")).unwrap_or_default();
            let _ = writeln!(text, "{}{place}", entry.form);
            for line in entry.lines.iter().filter(|line| !line.is_empty()) {
                let _ = writeln!(text, "    {line}");
            }
            if !entry.text.is_empty() {
                let _ = writeln!(text, "    : {}", entry.text);
            }
            text.push('\n');
        }
    }
    text
}

/// As Markdown; bundled places without their lines, which move with every edit.
pub fn markdown(sections: &[Section]) -> String {
    let mut text =
        "# Reference\n\nPrinted by `baytally reference --format markdown`. What scripts have and \
                    what is in force.\n"
            .to_owned();
    for section in sections {
        let _ = writeln!(text, "\n## {}\n", section.title);
        if !section.about.is_empty() {
            let _ = writeln!(text, "{}\n", section.about);
        }
        if section.entries.iter().any(|entry| entry.lines.len() > 3) {
            for entry in &section.entries {
                let _ = writeln!(text, "### `{}`\n", entry.form);
                for line in &entry.lines {
                    let in_list = line.starts_with("- ");
                    if !in_list && !text.ends_with("\n\n") {
                        text.push('\n');
                    }
                    let _ = write!(text, "{line}\n{}", if in_list { "" } else { "\n" });
                }
                text.push('\n');
            }
        } else {
            table(&mut text, &section.entries);
        }
    }
    while text.contains("\n\n\n") {
        text = text.replace("\n\n\n", "\n\n");
    }
    text
}

fn table(text: &mut String, entries: &[Entry]) {
    let has_text = entries.iter().any(|entry| !entry.text.is_empty());
    text.push_str(if has_text {
        "| name | what | by |\n|---|---|---|\n"
    } else {
        "| name | what |\n|---|---|\n"
    });
    for entry in entries {
        let cell = |text: &str| text.replace('|', "\\|");
        let what = cell(&entry.lines.join(" "));
        let _ = write!(text, "| `{}` | {what} |", cell(&entry.form));
        if has_text {
            let from = match &entry.place {
                Some(place) if entry.own => format!(" ({place})"),
                _ => String::new(),
            };
            let by = entry.text.replace('`', "'");
            let _ = write!(text, " `{}`{from} |", cell(&by));
        }
        text.push('\n');
    }
}

fn as_json(sections: &[Section]) -> Vec<Json> {
    let entry = |entry: &Entry| {
        json!({
            "form": entry.form, "lines": entry.lines, "text": entry.text, "place": entry.place,
            "own": entry.own,
        })
    };
    sections
        .iter()
        .map(|section| {
            let entries: Vec<Json> = section.entries.iter().map(entry).collect();
            json!({ "title": section.title, "about": section.about, "entries": entries })
        })
        .collect()
}
