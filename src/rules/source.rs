//! The scripts of a run: bundled ones, the shop's, and the lines typed in the schedule, each with
//! the lines it takes in the common numbering, so that a line number alone tells file and line.

use std::sync::Arc;

use sha2::{Digest, Sha256};

use super::define::Function;
use super::fault::Aim;
use super::signs;
use crate::finding::{Finding, Place};

/// The engine counts lines to 65,535; all scripts of a run share that numbering.
const MOST_LINES: usize = 65_535;
/// No single script is larger.
const LARGEST_SCRIPT: usize = 512 * 1024;

/// Whose script it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum From {
    Bundled,
    Shop,
    Schedule,
}

impl From {
    pub const fn word(self) -> &'static str {
        match self {
            From::Bundled => "bundled",
            From::Shop => "shop",
            From::Schedule => "schedule",
        }
    }
}

/// A script.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// `takeoff.rhai`, for a line of the schedule its cell: `Rules!B3`.
    pub name: Arc<str>,
    pub text: Arc<str>,
    pub from: From,
    /// Lines of the common numbering before its first.
    pub offset: usize,
    /// The schedule cell it was typed in.
    pub cell: Option<Place>,
    /// The part of the text that was typed, for a line of the schedule.
    pub typed: Option<Arc<str>>,
}

impl Script {
    /// The name without its ending: the table that the script speaks of.
    pub fn stem(&self) -> &str {
        self.name
            .rsplit('/')
            .next()
            .and_then(|name| name.strip_suffix(".rhai"))
            .unwrap_or(&self.name)
    }
}

/// The name under which an expression stands among the scripts.
pub const EXPRESSION: &str = "expression";

/// All scripts of a run, bundled first, then the shop's by name, then the schedule's.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scripts {
    files: Vec<Script>,
    lines: usize,
}

/// The bundled scripts in the order in which their tables stand in the workbook.
pub const BUNDLED: &[(&str, &str)] = &[
    ("rules.rhai", include_str!("../../scripts/rules.rhai")),
    ("summary.rhai", include_str!("../../scripts/summary.rhai")),
    ("takeoff.rhai", include_str!("../../scripts/takeoff.rhai")),
    ("laid.rhai", include_str!("../../scripts/laid.rhai")),
    ("marks.rhai", include_str!("../../scripts/marks.rhai")),
    ("spares.rhai", include_str!("../../scripts/spares.rhai")),
    ("panels.rhai", include_str!("../../scripts/panels.rhai")),
    ("order.rhai", include_str!("../../scripts/order.rhai")),
    ("releases.rhai", include_str!("../../scripts/releases.rhai")),
    ("supply.rhai", include_str!("../../scripts/supply.rhai")),
    ("cuts.rhai", include_str!("../../scripts/cuts.rhai")),
    ("bundles.rhai", include_str!("../../scripts/bundles.rhai")),
    ("tags.rhai", include_str!("../../scripts/tags.rhai")),
    ("loads.rhai", include_str!("../../scripts/loads.rhai")),
    ("spans.rhai", include_str!("../../scripts/spans.rhai")),
    ("concrete.rhai", include_str!("../../scripts/concrete.rhai")),
    ("pours.rhai", include_str!("../../scripts/pours.rhai")),
    ("trucks.rhai", include_str!("../../scripts/trucks.rhai")),
    ("weeks.rhai", include_str!("../../scripts/weeks.rhai")),
    ("calendar.rhai", include_str!("../../scripts/calendar.rhai")),
    ("accessories.rhai", include_str!("../../scripts/accessories.rhai")),
    ("quote.rhai", include_str!("../../scripts/quote.rhai")),
    ("checks.rhai", include_str!("../../scripts/checks.rhai")),
];

impl Scripts {
    /// The bundled scripts.
    #[must_use]
    pub fn bundled() -> Scripts {
        let mut scripts = Scripts::default();
        for (name, text) in BUNDLED {
            scripts.push(name, text, From::Bundled, None, None);
        }
        scripts
    }

    /// The bundled scripts with the tests of their own.
    #[must_use]
    pub fn bundled_with_tests() -> Scripts {
        let mut scripts = Scripts::bundled();
        scripts.push(
            "tests.rhai",
            include_str!("../../scripts/tests.rhai"),
            From::Bundled,
            None,
            None,
        );
        scripts
    }

    /// Names and texts of the bundled scripts.
    #[must_use]
    pub fn bundled_files() -> &'static [(&'static str, &'static str)] {
        BUNDLED
    }

    /// These scripts and an expression typed on the command line, and the line of the common
    /// numbering before it.
    #[must_use]
    pub fn with_expression(&self, expression: &str) -> (Scripts, usize) {
        let mut scripts = self.clone();
        scripts.push(EXPRESSION, expression, From::Schedule, None, None);
        (scripts, self.lines)
    }

    /// Adds a script of the shop. Refused: text that is no UTF-8, too large or with too many lines.
    pub fn add_shop(&mut self, name: &str, bytes: &[u8]) -> Result<(), Finding> {
        let place = || Place::File(Arc::from(name));
        if bytes.len() > LARGEST_SCRIPT {
            return Err(Finding::error(
                "script-too-large",
                format!("the script has {} bytes, wanted at most {LARGEST_SCRIPT}", bytes.len()),
            )
            .at(place())
            .hint("split it, or move data into the catalogue"));
        }
        let Ok(text) = std::str::from_utf8(bytes) else {
            return Err(Finding::error("script-not-text", "the script is not UTF-8 text")
                .at(place())
                .hint("save it as UTF-8 in your editor"));
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n");
        if self.lines + text.lines().count() + 2 > MOST_LINES {
            return Err(Finding::error(
                "too-many-script-lines",
                format!("all scripts together have more than {MOST_LINES} lines"),
            )
            .at(place())
            .hint("shorten the shop's scripts"));
        }
        self.push(name, &text, From::Shop, None, None);
        Ok(())
    }

    /// Adds a line typed in the schedule: the script made of it, and the part that was typed.
    pub fn add_schedule(
        &mut self,
        stem: &str,
        text: &str,
        typed: &str,
        cell: Place,
    ) -> Result<(), Finding> {
        if self.lines + text.lines().count() + 2 > MOST_LINES {
            return Err(Finding::error(
                "too-many-script-lines",
                format!("all scripts together have more than {MOST_LINES} lines"),
            )
            .at(cell));
        }
        self.push(stem, text, From::Schedule, Some(cell), Some(Arc::from(typed)));
        Ok(())
    }

    fn push(
        &mut self,
        name: &str,
        text: &str,
        from: From,
        cell: Option<Place>,
        typed: Option<Arc<str>>,
    ) {
        let offset = self.lines;
        self.lines += text.lines().count() + 2;
        self.files.push(Script {
            name: Arc::from(name),
            text: Arc::from(text),
            from,
            offset,
            cell,
            typed,
        });
    }

    #[must_use]
    pub fn files(&self) -> &[Script] {
        &self.files
    }

    /// The script and its own line (from 1) of a line of the common numbering.
    #[must_use]
    pub fn locate(&self, line: usize) -> Option<(&Script, usize)> {
        let after = self.files.partition_point(|script| script.offset < line);
        let script = self.files.get(after.checked_sub(1)?)?;
        Some((script, line - script.offset))
    }

    /// The place of a line and column of the common numbering.
    #[must_use]
    pub fn place(&self, line: usize, column: usize) -> Option<Place> {
        let (script, line) = self.locate(line)?;
        if let Some(cell) = &script.cell {
            return Some(cell.clone());
        }
        Some(Place::Script {
            file: script.name.clone(),
            line: u32::try_from(line).unwrap_or(0),
            column: u32::try_from(column).unwrap_or(0),
        })
    }

    /// Line and column of what a mark points at, given where the engine saw a fault.
    #[must_use]
    pub fn aim(&self, line: usize, column: usize, aim: &Aim) -> (usize, usize) {
        let Some((script, own)) = self.locate(line) else { return (line, column) };
        if column == 0 {
            return (line, column);
        }
        match aim {
            Aim::Argument(number, field) => {
                let found = signs::argument(&script.text, own, column, *number, field.as_deref());
                found.map_or((line, column), |(own, column)| (script.offset + own, column))
            }
            // The engine marks the dot or bracket before a field's name.
            Aim::Place => {
                let text = script.text.lines().nth(own - 1).unwrap_or("");
                let after = |dots: &str| {
                    text.chars().skip(column - 1).collect::<String>().starts_with(dots)
                };
                let on = if after("?.") || after("?[") {
                    2
                } else {
                    usize::from((after(".") && !after("..")) || after("["))
                };
                (line, column + on)
            }
        }
    }

    /// The text of a function that was given to `column` and the like, on one line, without its
    /// parameters.
    #[must_use]
    pub fn argument_text(&self, function: &Function) -> String {
        let Some((script, line)) = self.locate(function.line) else { return String::new() };
        if let Some(typed) = &script.typed {
            return typed.to_string();
        }
        let text = signs::argument_text(&script.text, line, function.column, function.argument);
        let text = text.unwrap_or_default();
        let body = text
            .strip_prefix('|')
            .and_then(|rest| rest.split_once('|'))
            .map_or(&*text, |(_, body)| body);
        body.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The source line with a mark under the place.
    #[must_use]
    pub fn excerpt(&self, line: usize, column: usize) -> Option<String> {
        let (script, line) = self.locate(line)?;
        let text = script.text.lines().nth(line - 1)?;
        let (text, line, column) = match &script.typed {
            Some(typed) => {
                let lead = text.find(&**typed).map_or(0, |at| text[..at].chars().count());
                (&**typed, 1, column.saturating_sub(lead))
            }
            None => (text, line, column),
        };
        let (text, column) = window(text, column);
        let gutter = line.to_string();
        let pad = " ".repeat(gutter.len());
        let under = |sign: char| if sign == '\t' { '\t' } else { ' ' };
        let mark: String = text
            .chars()
            .map(under)
            .chain(std::iter::repeat(' '))
            .take(column.saturating_sub(1))
            .collect();
        let mark = if column == 0 { String::new() } else { format!(" {mark}^") };
        Some(format!("{pad} |\n{gutter} | {}\n{pad} |{mark}", text.trim_end()))
    }

    /// The statement or function that begins at a line of the common numbering, on one line: up to
    /// the `;` or the closing brace that ends it.
    #[must_use]
    pub fn statement(&self, line: usize) -> String {
        const LONGEST: usize = 4_000;
        let Some((script, line)) = self.locate(line) else { return String::new() };
        if let Some(typed) = &script.typed {
            return typed.to_string();
        }
        let ends = memchr::memchr_iter(b'\n', script.text.as_bytes());
        let start = match line.checked_sub(2) {
            Some(before) => ends.map(|end| end + 1).nth(before).unwrap_or(script.text.len()),
            None => 0,
        };
        let rest = &script.text[start..];
        let is_function = {
            let head = rest.trim_start();
            head.starts_with("fn ") || head.starts_with("private fn ")
        };
        // What stands between comments, and its bytes before the part at hand.
        let (mut parts, mut bytes, mut from) = (Vec::new(), 0, Some(0));
        let (mut depth, mut quote, mut previous, mut end) = (0_i32, None, b' ', rest.len());
        for (at, byte) in rest.bytes().enumerate() {
            let Some(begun) = from else {
                if byte == b'\n' {
                    from = Some(at);
                }
                continue;
            };
            match (quote, byte) {
                (Some(open), _) if byte == open && previous != b'\\' => quote = None,
                (Some(_), _) => {}
                (None, b'"' | b'`') => quote = Some(byte),
                (None, b'/') if previous == b'/' => {
                    parts.push(&rest[begun..at - 1]);
                    bytes += at - 1 - begun;
                    (from, previous) = (None, b' ');
                    continue;
                }
                (None, b'(' | b'[' | b'{') => depth += 1,
                (None, b')' | b']' | b'}') => depth -= 1,
                (None, _) => {}
            }
            previous = byte;
            let done = quote.is_none() && depth == 0;
            let is_last = done && byte == if is_function { b'}' } else { b';' };
            if is_last || (bytes + at - begun >= LONGEST && rest.is_char_boundary(at + 1)) {
                end = at + 1;
                break;
            }
        }
        parts.extend(from.map(|begun| &rest[begun..end]));
        let mut words = parts.iter().flat_map(|part| part.split_whitespace());
        let mut text = words.next().unwrap_or_default().to_owned();
        for word in words {
            text.push(' ');
            text.push_str(word);
        }
        text
    }
}

/// The part of a long line around a column, and the column in it.
fn window(text: &str, column: usize) -> (String, usize) {
    const WIDE: usize = 140;
    const BEFORE: usize = 80;
    let length = text.chars().count();
    if length <= WIDE {
        return (text.to_owned(), column);
    }
    let from = column.saturating_sub(BEFORE);
    let mut shown: String = text.chars().skip(from).take(WIDE).collect();
    if from + WIDE < length {
        shown.push('…');
    }
    if from == 0 { (shown, column) } else { (format!("…{shown}"), column - from + 1) }
}

/// The first eight hexadecimal digits of a text's SHA-256.
pub fn short_hash(text: &str) -> String {
    let digest = Sha256::digest(text.as_bytes());
    let [a, b, c, d] = [0, 1, 2, 3].map(|at| digest.get(at).copied().unwrap_or(0));
    format!("{a:02x}{b:02x}{c:02x}{d:02x}")
}
