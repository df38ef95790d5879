//! What the program prints: findings and results as text for people or JSON for programs.

use std::io::{IsTerminal, Write};

use clap::ValueEnum;
use serde_json::{Value, json};

use crate::finding::{Finding, Severity};
use crate::report::SCHEMA_VERSION;

/// When to color.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Color {
    Auto,
    Always,
    Never,
}

/// Where and how to print.
#[derive(Clone, Copy, Debug)]
pub struct Say {
    pub json: bool,
    quiet: bool,
    color: bool,
}

impl Say {
    pub fn new(json: bool, quiet: bool, color: Color) -> Say {
        let color = match color {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => {
                std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none()
            }
        };
        Say { json, quiet, color }
    }

    /// Findings, errors first, on standard error; nothing where JSON is printed.
    pub fn findings(&self, findings: &[Finding]) {
        if self.json {
            return;
        }
        let mut out = std::io::stderr().lock();
        for finding in findings {
            if self.quiet && finding.severity != Severity::Error {
                continue;
            }
            let _ = writeln!(out, "{}", self.finding(finding));
        }
    }

    fn finding(&self, finding: &Finding) -> String {
        let text = finding.to_string();
        if !self.color {
            return text;
        }
        let word = format!("{}[{}]", finding.severity, finding.code);
        let color = match finding.severity {
            Severity::Error => "\u{1b}[1;31m",
            Severity::Warning => "\u{1b}[1;33m",
            Severity::Note => "\u{1b}[1;36m",
        };
        text.replacen(&word, &format!("{color}{word}\u{1b}[0m"), 1)
    }

    /// Whether progress is shown: not to programs, nor when quiet.
    pub fn shows_progress(&self) -> bool {
        !self.json && !self.quiet
    }

    /// A line of the result on standard output.
    pub fn line(&self, line: &str) {
        if !self.json && !self.quiet {
            self.always(line);
        }
    }

    /// A line of the result, said even when quiet.
    #[allow(clippy::unused_self, reason = "said like the other lines")]
    pub fn always(&self, line: &str) {
        let _ = writeln!(std::io::stdout().lock(), "{line}");
    }

    /// The result as JSON: its own fields, made only where they are wanted, behind those that every
    /// result has.
    pub fn result(&self, command: &str, findings: &[Finding], fields: impl FnOnce() -> Value) {
        if !self.json {
            return;
        }
        let incomplete = findings.iter().any(|finding| finding.severity == Severity::Error);
        let mut result = head(command);
        append(&mut result, json!({ "incomplete": incomplete, "findings": findings }));
        append(&mut result, fields());
        self.always(&serde_json::to_string_pretty(&result).unwrap_or_default());
    }

    /// Why nothing could be done.
    pub fn failed(&self, command: &str, findings: &[Finding]) {
        self.findings(findings);
        self.result(command, findings, || json!({ "failed": true }));
    }
}

/// What every JSON of this program begins with.
pub fn head(command: &str) -> Value {
    json!({
        "schema": SCHEMA_VERSION,
        "program": concat!("baytally ", env!("CARGO_PKG_VERSION")),
        "command": command,
    })
}

/// Puts an object's fields behind another's.
pub fn append(object: &mut Value, mut fields: Value) {
    if let (Some(object), Some(fields)) = (object.as_object_mut(), fields.as_object_mut()) {
        object.append(fields);
    }
}

/// `3 errors, 1 warning, 12 notes`, without those that are none.
pub fn count_by_severity(findings: &[Finding]) -> String {
    let parts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .filter_map(|severity| {
            let count = findings.iter().filter(|finding| finding.severity == severity).count();
            let plural = if count == 1 { "" } else { "s" };
            (count > 0).then(|| format!("{count} {severity}{plural}"))
        })
        .collect();
    if parts.is_empty() { "no findings".to_owned() } else { parts.join(", ") }
}
