//! Typed reading: a cell by its column's kind, with the questions that an unusual value raises.

use std::sync::Arc;

use jiff::civil::Date;

use super::dates;
use super::grid::{Cell, clock, trim};
use super::said::{self, Said};
use crate::calendar::day::{FIRST, LAST};
use crate::concrete::share::pour_shares;
use crate::finding::Severity;
use crate::job::schema::Kind;
use crate::length::{self, Length, Typed, Unit};
use crate::value::Value;

/// What a cell says.
#[derive(Clone, Debug)]
pub enum Read {
    Blank,
    /// The word `none`: a value, which no default replaces.
    None,
    Value(Value),
    Lengths(Arc<[Typed]>),
    Widths(Arc<[Vec<Typed>]>),
}

impl Read {
    pub fn is_blank(&self) -> bool {
        matches!(self, Read::Blank)
    }

    /// As scripts read it.
    pub fn value(&self) -> Value {
        let feet = |lengths: &[Typed]| {
            Value::List(lengths.iter().map(|typed| Value::Number(typed.length.in_feet())).collect())
        };
        match self {
            Read::Blank | Read::None => Value::Blank,
            Read::Value(value) => value.clone(),
            Read::Lengths(lengths) => feet(lengths),
            Read::Widths(groups) => Value::List(groups.iter().map(|group| feet(group)).collect()),
        }
    }

    pub fn text(&self) -> Option<Arc<str>> {
        match self {
            Read::Value(Value::Text(text)) => Some(text.clone()),
            _ => None,
        }
    }

    pub fn whole(&self) -> Option<i64> {
        match self {
            Read::Value(Value::Count(count)) => Some(*count),
            _ => None,
        }
    }
}

/// What is wrong with a cell, or asked about it.
#[derive(Clone, Debug)]
pub struct Problem {
    pub severity: Severity,
    pub code: &'static str,
    pub message: String,
    pub hint: Option<String>,
}

impl Problem {
    fn error(code: &'static str, message: String) -> Problem {
        Problem { severity: Severity::Error, code, message, hint: None }
    }

    fn question(code: &'static str, message: String) -> Problem {
        Problem { severity: Severity::Warning, code, message, hint: None }
    }

    fn hint(mut self, hint: impl Into<String>) -> Problem {
        self.hint = Some(hint.into());
        self
    }
}

/// How a column is read.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// The heading, for messages.
    pub heading: &'a str,
    pub kind: Kind,
    /// The unit that the heading states, where it does.
    pub unit: Option<Unit>,
    /// `none` is a value here.
    pub takes_none: bool,
    /// Text that may hold a date without harm, such as a note.
    pub is_free_text: bool,
    /// It stands for the whole job: words are taken as they are alone.
    pub is_of_job: bool,
}

/// Reads a cell; an error comes with [`Read::Blank`], a question with the value.
pub fn read(cell: &Cell<'_>, wanted: Wanted<'_>) -> (Read, Option<Problem>) {
    match typed(cell, wanted) {
        Ok((read, question)) => (read, question),
        Err(problem) => (Read::Blank, Some(problem)),
    }
}

type Outcome = Result<(Read, Option<Problem>), Problem>;

#[allow(clippy::unnecessary_wraps, reason = "what each kind of reading ends with")]
fn plain(value: Value) -> Outcome {
    Ok((Read::Value(value), None))
}

fn typed(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    let heading = wanted.heading;
    if wanted.kind == Kind::Any {
        return match any(cell) {
            Value::Blank => Ok((Read::Blank, None)),
            value => plain(value),
        };
    }
    match cell {
        Cell::Error(error) => {
            return Err(Problem::error(
                "error-cell",
                format!("`{heading}` holds the spreadsheet's error {error}"),
            )
            .hint("put the formula right, or type the value"));
        }
        Cell::NoResult(formula) => {
            let shown: String = formula.chars().take(60).collect();
            return Err(Problem::error(
                "formula-without-result",
                format!("`{heading}` holds the formula `={shown}` without a result"),
            )
            .hint("open the workbook in a spreadsheet program and save it once"));
        }
        Cell::Damaged(text) => {
            return Err(Problem::error(
                "damaged-cell",
                format!("`{heading}` holds what is no cell value: {text}"),
            )
            .hint("open the workbook in a spreadsheet program, look at the cell and save it"));
        }
        _ if cell.is_blank() => return Ok((Read::Blank, None)),
        _ => {}
    }
    if wanted.takes_none && cell.text().is_some_and(is_none_word) {
        return Ok((Read::None, None));
    }
    let most = match wanted.kind {
        Kind::Text if wanted.is_free_text => usize::MAX,
        Kind::Text => 255,
        _ => 2_000,
    };
    if let Some(text) = cell.text().filter(|text| text.len() > most) {
        return Err(Problem::error(
            "long-text",
            format!("`{heading}` holds {} characters, wanted at most {most}", text.chars().count()),
        ));
    }
    match wanted.kind {
        Kind::Text => text(cell, wanted),
        Kind::Choice(words) => choice(cell, wanted, words),
        Kind::Whole(least) => whole(cell, wanted, least),
        Kind::Number | Kind::Positive | Kind::Price => number(cell, wanted),
        Kind::Slope => slope(cell, wanted),
        Kind::Date => date(cell, wanted),
        Kind::YesNo => yes_no(cell, wanted),
        Kind::Length { bare, usual } | Kind::LengthOrNone { bare, usual } => {
            one_length(cell, wanted, bare, usual)
        }
        Kind::Lengths { bare, usual } => {
            let groups = groups(cell, wanted, bare)?;
            let lengths: Vec<Typed> = groups.into_iter().flatten().collect();
            let question = positive_and_usual(cell, wanted, &lengths, bare, usual)?;
            Ok((Read::Lengths(lengths.into()), question))
        }
        Kind::Widths { bare, usual } => {
            let groups = groups(cell, wanted, bare)?;
            let flat: Vec<Typed> = groups.iter().flatten().copied().collect();
            let question = positive_and_usual(cell, wanted, &flat, bare, usual)?;
            Ok((Read::Widths(groups.into()), question))
        }
        Kind::Any => plain(any(cell)),
    }
}

/// A pour, or pours with their shares as scripts read them: `P1 (60%) & P2 (40%)` is `P1 60%, P2 40%`.
pub fn pour(heading: &str, text: &str) -> Result<Arc<str>, Problem> {
    const OF_NONE: [&str; 3] = ["no pour", "no concrete", "no slab"];
    if OF_NONE.iter().any(|word| text.eq_ignore_ascii_case(word)) {
        let message = format!(
            "`{text}` under `{heading}`: the bay's concrete is counted, and goes with that of its level"
        );
        let problem = Problem::question("pour-of-none", message);
        return Err(problem.hint("where none is placed, Slab is `none`"));
    }
    let has_shares = text.contains('%');
    let lists =
        || text.split([',', ';']).all(|part| part.trim().ends_with(|c: char| c.is_ascii_digit()));
    let plain = if has_shares {
        plain_shares(text)
    } else if text.contains([',', ';']) && !lists() {
        // `Pour 1, east` is a name.
        text.replace([',', ';'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
    } else {
        text.to_owned()
    };
    // Names are the same whatever their case.
    let shares = pour_shares(Some(Arc::from(plain.to_lowercase())));
    if shares.is_ok() || !has_shares && !plain.contains([',', ';']) {
        return Ok(Arc::from(plain));
    }
    let message = format!(
        "`{text}` under `{heading}`, wanted one pour, or pours with shares of 100 % in all"
    );
    Err(Problem::error("bad-pour", message).hint("write them as `P1 60%, P2 40%`"))
}

fn plain_shares(text: &str) -> String {
    let signs =
        text.replace(['(', '@', '='], " ").replace(')', "").replace([';', '&', '/', '+'], ",");
    let parts = signs.split(',').map(|part| {
        let words = part.split_whitespace().collect::<Vec<_>>().join(" ");
        words.replace(" %", "%")
    });
    parts.collect::<Vec<_>>().join(", ")
}

/// The answer to lists that would fill the memory.
pub fn too_many_lengths(heading: &str, most: usize) -> Problem {
    Problem::error(
        "too-many-lengths",
        format!("more than {most} lengths are listed under `{heading}`"),
    )
}

/// A value of whatever type the cell has.
pub fn any(cell: &Cell<'_>) -> Value {
    match cell {
        Cell::Blank => Value::Blank,
        Cell::Text(text) if trim(text).is_empty() => Value::Blank,
        Cell::Text(text) => Value::text(trim(text)),
        #[allow(clippy::cast_possible_truncation, reason = "whole and within 2^53")]
        Cell::Number(number)
        | Cell::InUnit(number, _)
        | Cell::Percent(number)
        | Cell::FeetAndInches(number) => {
            if number.fract() == 0.0 && number.abs() < 9e15 {
                Value::Count(*number as i64)
            } else {
                Value::Number(*number)
            }
        }
        Cell::Bool(flag) => Value::Bool(*flag),
        Cell::Date(date) => Value::Date(*date),
        Cell::Time(days) => Value::text(clock(*days)),
        Cell::Error(error) => Value::Error(Arc::from(&**error)),
        Cell::NoResult(formula) => {
            Value::Error(Arc::from(format!("the formula `={formula}` has no result")))
        }
        Cell::Damaged(text) => Value::Error(Arc::from(&**text)),
    }
}

/// `none`, and other ways of writing that something is not there.
pub fn is_none_word(text: &str) -> bool {
    const WORDS: [&str; 7] = ["none", "n/a", "na", "-", "--", "\u{2013}", "\u{2014}"];
    WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
}

fn text(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    match cell {
        Cell::Text(text) => plain(Value::text(trim(text))),
        Cell::Date(date) if !wanted.is_free_text => Err(Problem::error(
            "date-for-text",
            format!("`{}` holds the date {date}, wanted text", wanted.heading),
        )
        .hint(format!(
            "the spreadsheet turns what looks like a date ({}) into one: format the column as \
             text and type it again",
            date_like(*date)
        ))),
        _ => plain(Value::text(match cell.number() {
            Some(number) => number.to_string(),
            None => cell.shown(),
        })),
    }
}

/// What may have been typed where the spreadsheet made a date of it: `10-6`.
fn date_like(date: Date) -> String {
    format!("{}-{}", date.month(), date.day())
}

fn choice(cell: &Cell<'_>, wanted: Wanted<'_>, words: &'static [&'static str]) -> Outcome {
    let typed = cell.shown();
    let key = letters(&typed);
    let named = words.iter().find(|word| letters(word) == key).or_else(|| {
        let (_, word) =
            OTHER_WORDS.iter().find(|(other, word)| *other == key && words.contains(word))?;
        words.iter().find(|known| *known == word)
    });
    if let Some(word) = named {
        return plain(Value::text(word));
    }
    if words.contains(&"take-off") {
        if is_none_word(&typed) {
            return Ok((Read::Blank, None));
        }
        if let Some((word, is_asked)) = said::status(&typed).filter(|_| !wanted.is_of_job) {
            let message = format!("`{typed}` under `{}` is read as `{word}`", wanted.heading);
            let hint = format!("write `{word}` where the bay is not to be counted");
            let question = Problem::question("status-in-other-words", message).hint(hint);
            return Ok((Read::Value(Value::text(word)), is_asked.then_some(question)));
        }
    }
    let message = format!("`{typed}` under `{}`, wanted {}", wanted.heading, listed(words));
    let problem = Problem::error("unknown-word", message);
    if words.contains(&"take-off") && said::note(&typed) == Some(Said::Alternate) {
        return Err(problem.hint(Said::Alternate.hint()));
    }
    let first = letters(typed.split(|c: char| !c.is_alphanumeric()).next().unwrap_or(""));
    Err(if words.iter().any(|word| letters(word) == first) {
        problem.hint("write the word alone, and what goes with it under Note")
    } else {
        problem
    })
}

/// Other ways of writing the words of a choice.
const OTHER_WORDS: &[(&str, &str)] = &[
    ("eastwest", "E-W"),
    ("we", "E-W"),
    ("westeast", "E-W"),
    ("northsouth", "N-S"),
    ("sn", "N-S"),
    ("southnorth", "N-S"),
    ("comp", "composite"),
    ("compositedeck", "composite"),
    ("compositefloor", "composite"),
    ("compositefloordeck", "composite"),
    ("formdeck", "form"),
    ("noncomposite", "form"),
    ("roofdeck", "roof"),
    ("onhold", "hold"),
    ("open", "take-off"),
    ("ship", "shipped"),
    ("voided", "void"),
    ("deleted", "void"),
    ("cancelled", "void"),
    ("canceled", "void"),
    ("omitted", "void"),
    ("new", "take-off"),
    ("revised", "take-off"),
    ("nw", "normal"),
    ("nwc", "normal"),
    ("normalweight", "normal"),
    ("lw", "lightweight"),
    ("lwc", "lightweight"),
    ("light", "lightweight"),
    ("parallel", "along"),
    ("perpendicular", "across"),
    ("perp", "across"),
    ("skewed", "skew"),
];

/// The letters and digits of a text in lower case.
fn letters(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => format!("`{one}`"),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(|word| format!("`{word}`")).collect();
            format!("{} or `{last}`", first.join(", "))
        }
    }
}

fn whole(cell: &Cell<'_>, wanted: Wanted<'_>, least: i64) -> Outcome {
    const BELOW: f64 = 1e12;
    let number = match cell {
        Cell::Text(text) => counted(trim(text)),
        other => other.number(),
    };
    #[allow(clippy::cast_possible_truncation, reason = "whole and far within 2^53")]
    match number {
        Some(number) if number.fract() == 0.0 && number.abs() < BELOW && number as i64 >= least => {
            plain(Value::Count(number as i64))
        }
        _ => {
            let is_large = number.is_some_and(|number| number >= BELOW);
            let most = if is_large { "or more, below 1,000,000,000,000" } else { "or more" };
            let found = format!("`{}` under `{}`", shown(cell), wanted.heading);
            let message = format!("{found}, wanted a whole number of {least} {most}");
            Err(Problem::error("bad-count", message))
        }
    }
}

/// A whole number as people type a count: `x4`.
pub fn count_of(text: &str) -> Option<i64> {
    const BELOW: f64 = 1e12;
    let number = counted(trim(text))?;
    #[allow(clippy::cast_possible_truncation, reason = "whole and far within 2^53")]
    (number.fract() == 0.0 && number.abs() < BELOW).then_some(number as i64)
}

/// A count as it is typed: `2`, `x2`, `(2)`, `2 ea`.
fn counted(text: &str) -> Option<f64> {
    const BEHIND: [&str; 6] = ["ea", "each", "pcs", "pc", "no", "x"];
    let text = text.trim_matches(|sign: char| "()".contains(sign) || sign.is_whitespace());
    let bare = text.trim_end_matches('.').to_lowercase();
    let bare = bare.strip_prefix('x').unwrap_or(&bare);
    let bare = BEHIND.iter().find_map(|word| bare.strip_suffix(word)).unwrap_or(bare);
    bare.trim().parse::<f64>().ok()
}

fn number(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    let number = match cell {
        Cell::Text(text) => plain_number(trim(text)),
        other => other.number(),
    };
    let is_above_zero = wanted.kind == Kind::Positive;
    let what = if is_above_zero { "a number above 0" } else { "a number" };
    let found = || format!("`{}` under `{}`", shown(cell), wanted.heading);
    match number.filter(|number| *number > 0.0 || !is_above_zero) {
        Some(number) if number <= 0.0 && wanted.kind == Kind::Price => {
            let asked = if number < 0.0 { "is it a credit?" } else { "is it given for nothing?" };
            let question = Problem::question("unusual-price", format!("{}: {asked}", found()))
                .hint("leave Price blank for what is not quoted");
            Ok((Read::Value(Value::Number(number)), Some(question)))
        }
        Some(number) => plain(Value::Number(number)),
        None => Err(Problem::error("bad-number", format!("{}, wanted {what}", found()))),
    }
}

/// A number as text, with an unambiguous thousands comma (`4,000`) and a unit word behind it.
fn plain_number(text: &str) -> Option<f64> {
    const UNITS: &[&str] = &["pcf", "psi", "lb", "lbs", "yd3/h", "cy/hr", "ft", "in", "$", "/ft"];
    let lower = text.to_lowercase();
    let bare = UNITS.iter().fold(lower.trim(), |text, unit| text.trim_end_matches(unit).trim_end());
    let bare = bare.trim_start_matches('$').trim_start();
    let groups: Vec<&str> = bare.split(',').collect();
    let is_grouped = groups.len() > 1
        && groups[0].len() <= 3
        && groups[1..]
            .iter()
            .all(|group| group.split('.').next().is_some_and(|digits| digits.len() == 3))
        && !groups[0].starts_with('0');
    let digits = if is_grouped { groups.concat() } else { bare.to_owned() };
    let starts_right = digits.starts_with(|c: char| c.is_ascii_digit() || "-.+".contains(c));
    digits.parse::<f64>().ok().filter(|number| number.is_finite() && starts_right)
}

fn slope(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    let rise_in = match cell {
        Cell::Text(text) => rise_in_12(trim(text)),
        Cell::Percent(part) => Some(part * 12.0),
        other => other.number(),
    };
    if let Some(rise_in) = rise_in.filter(|rise_in| rise_in.is_finite()) {
        return plain(Value::Number(rise_in));
    }
    let found = format!("`{}` under `{}`", shown(cell), wanted.heading);
    let problem = Problem::error(
        "bad-slope",
        format!("{found}, wanted a rise in inches per foot: 0.25, 1/4, 3:12 or 2 %"),
    );
    Err(match cell {
        Cell::Date(_) => {
            problem.hint("a spreadsheet makes a date of 3/12: format the cell as text")
        }
        _ => problem,
    })
}

/// The rise in inches on 12 in of run: `1/4`, `1/4"`, `3:12`, `3/12`, `3 in 12`, `1/4 in/ft`, `2 %`.
fn rise_in_12(text: &str) -> Option<f64> {
    const RUNS: &[&str] = &[":12", "/12", "in 12", "on 12", "/ft", "per ft", "/foot", "per foot"];
    let lower = text.to_lowercase();
    if let Some(percent) = lower.strip_suffix('%') {
        return plain_number(percent).map(|percent| percent * 12.0 / 100.0);
    }
    let joined = lower.replace(": 12", ":12").replace("/ 12", "/12");
    let rise = RUNS.iter().find_map(|run| joined.strip_suffix(run)).unwrap_or(&joined).trim();
    plain_number(rise)
        .or_else(|| length::parse(rise, Unit::Inch).ok().map(|typed| typed.length.in_inches()))
}

fn yes_no(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    let flag = match cell {
        Cell::Bool(flag) => Some(*flag),
        Cell::Number(number) if *number == 1.0 => Some(true),
        Cell::Number(number) if *number == 0.0 => Some(false),
        Cell::Text(text) => match letters(text).as_str() {
            "yes" | "y" | "true" | "t" | "x" | "1" | "shored" | "framed" => Some(true),
            "no" | "n" | "false" | "f" | "0" | "none" | "unshored" | "unframed" => Some(false),
            "" if text.contains(['\u{2713}', '\u{2714}']) => Some(true),
            "" if text.contains('-') => Some(false),
            _ => None,
        },
        _ => None,
    };
    match flag {
        Some(flag) => plain(Value::Bool(flag)),
        None => Err(Problem::error(
            "unknown-word",
            format!("`{}` under `{}`, wanted `yes` or `no`", shown(cell), wanted.heading),
        )),
    }
}

fn date(cell: &Cell<'_>, wanted: Wanted<'_>) -> Outcome {
    let heading = wanted.heading;
    let bad = |message: String| {
        Problem::error("bad-date", message)
            .hint("write the date as 2026-03-14, or format the cell as a date")
    };
    let date = match cell {
        Cell::Date(date) => *date,
        Cell::Text(text) => match dates::parse(trim(text)) {
            Ok(date) => date,
            Err(why) => return Err(bad(format!("`{}` under `{heading}` {why}", trim(text)))),
        },
        _ => return Err(bad(format!("`{}` under `{heading}`, wanted a date", shown(cell)))),
    };
    if (FIRST..=LAST).contains(&date) {
        return plain(Value::Date(date));
    }
    Err(bad(format!("`{date}` under `{heading}`, wanted a date from {FIRST} to {LAST}")))
}

fn shown(cell: &Cell<'_>) -> String {
    let text = cell.shown();
    match text.char_indices().nth(60) {
        Some((cut, _)) => format!("{}\u{2026}", &text[..cut]),
        None => text,
    }
}

/// A length where only one may stand.
fn one_length(cell: &Cell<'_>, wanted: Wanted<'_>, bare: Unit, usual: (f64, f64)) -> Outcome {
    let unit = wanted.unit.unwrap_or(bare);
    let typed = match cell {
        Cell::Number(number) => from_number(*number, unit, wanted)?,
        Cell::InUnit(number, shown) => from_number(*number, *shown, wanted)?,
        Cell::Text(text) if is_slab(wanted) => {
            length::parse(without_total(trim(text)), unit).map_err(|e| bad_slab(wanted, e, text))?
        }
        Cell::Text(text) => length::parse(trim(text), unit).map_err(|e| bad_length(wanted, e))?,
        _ => return Err(no_length(cell, wanted)),
    };
    let least = usual.0;
    let takes_zero = least <= 0.0 || matches!(wanted.kind, Kind::LengthOrNone { .. });
    let is_below = typed.length < Length::ZERO || typed.length == Length::ZERO && !takes_zero;
    if is_below && least >= 0.0 {
        return Err(below_zero(cell, wanted, typed.length, bare));
    }
    if typed.length == Length::ZERO && matches!(wanted.kind, Kind::LengthOrNone { .. }) {
        return Err(Problem::error(
            "bad-length",
            format!("`{}` is 0, wanted a thickness or `none`", wanted.heading),
        ));
    }
    let value = Value::Number(typed.length.in_unit(bare));
    Ok((Read::Value(value), unusual(cell, wanted, &[typed], bare, usual)))
}

fn groups(cell: &Cell<'_>, wanted: Wanted<'_>, bare: Unit) -> Result<Vec<Vec<Typed>>, Problem> {
    let unit = wanted.unit.unwrap_or(bare);
    match cell {
        Cell::Number(number) => Ok(vec![vec![from_number(*number, unit, wanted)?]]),
        Cell::InUnit(number, shown) => Ok(vec![vec![from_number(*number, *shown, wanted)?]]),
        Cell::Text(text) => {
            let text = trim(text);
            if matches!(wanted.kind, Kind::Widths { .. }) {
                length::parse_widths(text, unit)
            } else {
                length::parse_list(text, unit).map(|list| vec![list])
            }
            .map_err(|e| bad_length(wanted, e))
        }
        _ => Err(no_length(cell, wanted)),
    }
}

/// A spreadsheet number: a few decimals stand for what lies within half the last one, as in text;
/// more come from a calculation and stand for themselves, as do whole sixty-fourths of an inch.
fn from_number(number: f64, unit: Unit, wanted: Wanted<'_>) -> Result<Typed, Problem> {
    const TYPED_DECIMALS: usize = 6;
    let too_long = || {
        Problem::error(
            "bad-length",
            format!("`{}` is {number}, wanted a length up to 100,000 ft", wanted.heading),
        )
    };
    let length = Length::from_number(number, unit).ok_or_else(too_long)?;
    let (_, rest) = length.abs().div_rem(Length::SIXTY_FOURTH).unwrap_or_default();
    let is_metric = !matches!(unit, Unit::Foot | Unit::Inch);
    if rest == Length::ZERO && !is_metric {
        return Ok(Typed::exact(length));
    }
    let digits = number.to_string();
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    if decimals > TYPED_DECIMALS {
        return Ok(Typed::exact(length));
    }
    length::parse(&digits, unit).map_err(|e| bad_length(wanted, e))
}

fn bad_length(wanted: Wanted<'_>, error: length::ParseError) -> Problem {
    let problem = Problem::error("bad-length", format!("`{}`: {}", wanted.heading, error.message));
    match error.hint {
        Some(hint) => problem.hint(hint),
        None => problem,
    }
}

/// Whether a column wants a total thickness of slab.
fn is_slab(wanted: Wanted<'_>) -> bool {
    matches!(wanted.kind, Kind::LengthOrNone { .. }) || letters(wanted.heading).starts_with("slab")
}

/// A slab without the word that says it is the total: `6 1/4" total`.
fn without_total(text: &str) -> &str {
    const WORDS: [&str; 7] = ["total slab", "total", "tot", "overall", "thick", "thk", "slab"];
    let bare = text.trim_end_matches('.');
    let said = WORDS.iter().find_map(|word| {
        let (number, behind) = bare.split_at_checked(bare.len().checked_sub(word.len())?)?;
        behind.eq_ignore_ascii_case(word).then(|| number.trim_end())
    });
    said.unwrap_or(text)
}

fn bad_slab(wanted: Wanted<'_>, error: length::ParseError, text: &str) -> Problem {
    const OVER: [&str; 6] = ["over", "cover", "topping", "above", "tod", "+"];
    let problem = bad_length(wanted, error);
    let lower = text.to_lowercase().replace('.', "");
    if !OVER.iter().any(|word| lower.contains(word)) {
        return problem;
    }
    Problem { hint: None, ..problem }.hint(
        "it is the total that is wanted, from the bottom of the flutes: the deck's depth and the \
         concrete over it together",
    )
}

fn no_length(cell: &Cell<'_>, wanted: Wanted<'_>) -> Problem {
    let heading = wanted.heading;
    match cell {
        Cell::Date(date) => Problem::error(
            "date-for-length",
            format!("`{heading}` holds the date {date}, wanted a length"),
        )
        .hint(format!(
            "the spreadsheet turns what looks like a date (`{}`) into one: format the column as \
             text and type {}'-{}\" again",
            date_like(*date),
            date.month(),
            date.day()
        )),
        Cell::FeetAndInches(number) => Problem::error(
            "shown-as-length",
            format!(
                "`{heading}` holds the number {number}, which only its number format shows as feet \
                 and inches"
            ),
        )
        .hint("format the column as text and type the length: 12'-6\""),
        _ => Problem::error(
            "bad-length",
            format!("`{heading}` holds `{}`, wanted a length", shown(cell)),
        ),
    }
}

fn below_zero(cell: &Cell<'_>, wanted: Wanted<'_>, length: Length, bare: Unit) -> Problem {
    Problem::error(
        "negative-length",
        format!(
            "`{}` is {} ({}), wanted a length above 0 {}",
            wanted.heading,
            shown(cell),
            in_words(length, bare),
            bare.sign()
        ),
    )
}

fn in_words(length: Length, bare: Unit) -> String {
    if bare == Unit::Inch { length.as_inches_text() } else { length.to_string() }
}

/// Spans and widths are above zero; outside the usual range they are asked about.
fn positive_and_usual(
    cell: &Cell<'_>,
    wanted: Wanted<'_>,
    lengths: &[Typed],
    bare: Unit,
    usual: (f64, f64),
) -> Result<Option<Problem>, Problem> {
    match lengths.iter().find(|typed| !typed.length.is_positive()) {
        Some(typed) => Err(below_zero(cell, wanted, typed.length, bare)),
        None => Ok(unusual(cell, wanted, lengths, bare, usual)),
    }
}

/// The question that an unusual length raises.
fn unusual(
    cell: &Cell<'_>,
    wanted: Wanted<'_>,
    lengths: &[Typed],
    bare: Unit,
    usual: (f64, f64),
) -> Option<Problem> {
    let (least, most) = usual;
    let is_usual = |typed: &&Typed| (least..=most).contains(&typed.length.in_unit(bare));
    let heading = wanted.heading;
    let typed = cell.text().unwrap_or_default();
    if let Some(odd) = lengths.iter().find(|typed| !is_usual(typed)) {
        let found = in_words(odd.length, bare);
        return Some(
            Problem::question(
                "unusual-length",
                format!(
                    "`{heading}` is {found}, usually {least} to {most} {}: is it meant so?",
                    bare.sign()
                ),
            )
            .hint("write the unit with the number: 10'-6\", 6 1/4 in, 3200 mm"),
        );
    }
    if let Cell::InUnit(number, shown) = cell
        && let Some(stated) = wanted.unit.filter(|stated| stated != shown)
    {
        let (shown, stated) = (shown.sign(), stated.sign());
        let message = format!(
            "`{heading}` is {number} {shown} by its number format, and its heading says {stated}: \
             read as {number} {shown}"
        );
        let hint = "let heading and number format say the same";
        return Some(Problem::question("unit-stated-twice", message).hint(hint));
    }
    let is_bare = !typed.contains(['\'', '"', '\u{2032}', '\u{2033}', '\u{2019}', '\u{201d}'])
        && !typed.chars().any(char::is_alphabetic);
    let has_fraction = typed.contains(['/', '\u{bd}', '\u{bc}', '\u{be}', '\u{2044}']);
    if bare == Unit::Foot
        && wanted.unit.is_none()
        && is_bare
        && has_fraction
        && !typed.contains('-')
    {
        let lengths: Vec<String> = lengths.iter().map(|t| t.length.to_string()).collect();
        return Some(
            Problem::question(
                "unit-not-stated",
                format!("`{heading}` is `{typed}`, read as {}", lengths.join(", ")),
            )
            .hint("a fraction is seldom of a foot: write 24'-6\" or 24 1/2\""),
        );
    }
    None
}
