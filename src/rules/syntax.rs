//! What a syntax error says. The engine's parser tells where it stopped; where brackets or quotes
//! do not pair, the place that began it is told instead.

use rhai::{LexError, ParseError, ParseErrorType, Position};

use super::fault::Fault;
use super::signs::{Amiss, Sign, amiss, closing, signs};

/// Words that scripts can not use as names, and what to do instead.
pub const RESERVED: &[(&str, &str)] = &[
    ("use", "a deck's Use is read as `deck_use`"),
    ("eval", "scripts have no `eval`: what they compute stands in them"),
    (
        "try",
        "scripts can not catch errors: an error stays in its one cell, and the rest is computed",
    ),
    (
        "catch",
        "scripts can not catch errors: an error stays in its one cell, and the rest is computed",
    ),
    (
        "import",
        "scripts read no other files: all functions of the shop's rule files are in force everywhere",
    ),
    ("export", "all functions of the shop's rule files are in force everywhere"),
    ("print", "show a figure in a column, or try it with `baytally calc`"),
    ("debug", "show a figure in a column, or try it with `baytally calc`"),
    ("const", "write a rule without parameters: `fn longest_panel_ft(bay) { 40 }`"),
];

/// Other words of the language that can not be names.
const KEYWORDS: &[&str] = &[
    "as",
    "async",
    "await",
    "break",
    "call",
    "case",
    "continue",
    "curry",
    "default",
    "do",
    "else",
    "false",
    "fn",
    "Fn",
    "for",
    "global",
    "go",
    "goto",
    "if",
    "in",
    "is",
    "is_def_fn",
    "is_def_var",
    "is_shared",
    "let",
    "loop",
    "match",
    "module",
    "new",
    "nil",
    "null",
    "package",
    "private",
    "protected",
    "public",
    "return",
    "shared",
    "spawn",
    "static",
    "super",
    "switch",
    "sync",
    "this",
    "thread",
    "throw",
    "true",
    "type_of",
    "undef",
    "undefined",
    "until",
    "var",
    "void",
    "while",
    "with",
    "yield",
];

/// Whether a word is one of the language's own.
pub fn is_reserved(word: &str) -> bool {
    KEYWORDS.contains(&word) || RESERVED.iter().any(|(reserved, _)| *reserved == word)
}

/// A name that is a word of the language, as a fault.
pub fn reserved(word: &str) -> Fault {
    match RESERVED.iter().find(|(reserved, _)| *reserved == word) {
        Some((_, hint)) => {
            Fault::new("reserved-word", format!("`{word}` is a word that scripts can not use"))
                .hint(*hint)
        }
        None => Fault::new(
            "reserved-word",
            format!("`{word}` is a word of the script language, it can not be a name"),
        )
        .hint(format!("a field of that name is read as `row[\"{word}\"]`")),
    }
}

/// What a syntax error in a script's text says.
///
/// `offset` lines of the common numbering stand before the text.
pub fn syntax_fault(error: &ParseError, text: &str, offset: usize) -> Fault {
    let ParseError(kind, position) = error;
    let told_itself = matches!(
        &**kind,
        ParseErrorType::FnDuplicatedDefinition(..)
            | ParseErrorType::VariableUndefined(..)
            | ParseErrorType::ExprTooDeep
    );
    if let (Some(amiss), false) = (amiss(text), told_itself) {
        let fault = of_brackets(amiss);
        return Fault { line: fault.line + offset, ..fault };
    }
    let fault = parse_fault(kind).at(*position);
    match &**kind {
        ParseErrorType::VariableUndefined(name) => {
            let names = names(text);
            fault.near(name, names.iter().map(String::as_str))
        }
        _ => fault,
    }
}

/// The names that a script gives: parameters and variables.
fn names(text: &str) -> Vec<String> {
    let mut words: Vec<String> = vec![String::new()];
    for Sign { sign, .. } in signs(text) {
        let last = words.last_mut().filter(|_| sign.is_alphanumeric() || sign == '_');
        match last {
            Some(word) => word.push(sign),
            None => words.extend([sign.to_string(), String::new()]),
        }
    }
    words.retain(|word| !word.trim().is_empty());
    let begins = |word: &str| matches!(word, "let" | "for" | "|" | "(" | ",");
    let given = words
        .windows(2)
        .filter(|pair| begins(&pair[0]) && pair[1].starts_with(char::is_alphabetic));
    given.map(|pair| pair[1].clone()).filter(|word| !is_reserved(word)).collect()
}

fn of_brackets(amiss: Amiss) -> Fault {
    let (fault, Sign { line, column, .. }) = match amiss {
        Amiss::Text(sign) => (
            Fault::new("syntax", "a text is not closed on its line")
                .hint("the quotes of this line do not pair: one is missing here or further left"),
            sign,
        ),
        Amiss::Open(sign, None) => (
            Fault::new("syntax", format!("`{}` is not closed", sign.sign))
                .hint(format!("add the `{}` that belongs to it", closing(sign.sign))),
            sign,
        ),
        Amiss::Open(sign, Some(by)) => (
            Fault::new(
                "syntax",
                format!("`{}` is not closed before the `{}` {}", sign.sign, by.sign, far(sign, by)),
            )
            .hint(format!("add the `{}` that belongs to it", closing(sign.sign))),
            sign,
        ),
        Amiss::Close(sign) => (
            Fault::new("syntax", format!("`{}` closes nothing", sign.sign))
                .hint("remove it, or add the bracket that it closes"),
            sign,
        ),
    };
    fault.on(line, column)
}

fn far(from: Sign, to: Sign) -> String {
    match to.line - from.line {
        0 => format!("in column {}", to.column),
        1 => "on the next line".to_owned(),
        lines => format!("{lines} lines below"),
    }
}

/// What a syntax error says, without its place.
pub fn parse_fault(kind: &ParseErrorType) -> Fault {
    use ParseErrorType as E;
    let syntax = |message: String| Fault::new("syntax", message);
    match kind {
        E::UnexpectedEOF => syntax("the script ends in the middle of something".to_owned()),
        E::BadInput(input) => of_input(input),
        E::VariableUndefined(name) => {
            Fault::new("unknown-name", format!("nothing is called `{name}`"))
        }
        E::Reserved(word) => of_word(word),
        E::MissingToken(token, why) => {
            let why = quotes(&why.replace("parameters list", "parameters"));
            let fault = syntax(format!("wanted `{token}` {why}"));
            if token == ";" {
                fault.hint("an operator, a comma or a `;` is missing before this place")
            } else {
                fault
            }
        }
        E::FnDuplicatedDefinition(name, _) => Fault::new(
            "rule-given-twice",
            format!("the function `{name}` is given twice in this file"),
        ),
        E::ExprTooDeep => Fault::new("too-deep", "an expression is nested too deep")
            .hint("compute a part of it first, in a `let` or in a rule of its own"),
        E::TooManyFunctions => {
            Fault::new("too-many-functions", "the script has too many functions")
        }
        E::LiteralTooLarge(..) => {
            Fault::new("too-large", "a text or list written in the script is too large")
        }
        E::WrongFnDefinition => syntax("a function stands inside another one".to_owned())
            .hint("functions stand on their own, not within braces"),
        E::WrongDocComment => {
            syntax("a `///` comment stands before something that is no function".to_owned())
                .hint("write `//`")
        }
        E::PropertyExpected => syntax("the name of a field is missing behind the dot".to_owned()),
        E::VariableExpected => syntax("the name of a variable is missing".to_owned()),
        E::AssignmentToInvalidLHS(_) => syntax("this can not be given a value".to_owned())
            .hint("`==` compares, `=` gives a value"),
        E::AssignmentToConstant(name) => syntax(format!("`{name}` can not be changed")),
        E::ExprExpected(what) => syntax(format!("wanted {} here", quotes(&what.to_lowercase()))),
        E::DuplicatedProperty(name) => syntax(format!("the field `{name}` is given twice")),
        other => {
            let text = other.to_string();
            let mut signs = text.chars();
            let lower: String =
                signs.next().into_iter().flat_map(char::to_lowercase).chain(signs).collect();
            syntax(quotes(&lower))
        }
    }
}

fn of_input(input: &LexError) -> Fault {
    let syntax = |message: String| Fault::new("syntax", message);
    match input {
        LexError::UnterminatedString => {
            syntax("a text is not closed".to_owned()).hint("end it with the quote it began with")
        }
        LexError::ImproperSymbol(word, _) => of_word(word),
        LexError::MalformedNumber(number) => syntax(format!("`{number}` is no number"))
            .hint("names begin with a letter; thousands are written `1_000`"),
        LexError::MalformedEscapeSequence(sequence) => {
            syntax(format!("`{sequence}` is no sign that a text can hold"))
                .hint("in a text, `\\` is written `\\\\` and a quote `\\\"`")
        }
        LexError::UnexpectedInput(sign) => syntax(format!("`{sign}` may not stand here")).hint(
            "names are made of a to z, digits and _; other headings are read as `row[\"Größe\"]`",
        ),
        LexError::MalformedIdentifier(name) => syntax(format!("`{name}` is no name")),
        other => syntax(quotes(&other.to_string())),
    }
}

/// A word or symbol that may not stand where it does.
fn of_word(word: &str) -> Fault {
    if is_reserved(word) {
        return reserved(word);
    }
    match word {
        "*)" | "+)" | "-)" | "/)" => {
            Fault::new("syntax", format!("a value is missing behind `{}`", &word[..1]))
        }
        "===" | "!==" => Fault::new("syntax", format!("there is no `{word}`"))
            .hint(format!("write `{}`", &word[..word.len() - 1])),
        "++" | "--" => Fault::new("syntax", format!("there is no `{word}`"))
            .hint(format!("write `{}= 1`", &word[..1])),
        _ => Fault::new("syntax", format!("`{word}` may not stand here")),
    }
}

/// Back quotes in place of the parser's straight ones.
fn quotes(text: &str) -> String {
    text.replace('\'', "`")
}

/// A parse error that comes without its text.
pub fn bare_parse_fault(kind: &ParseErrorType, position: Position) -> Fault {
    parse_fault(kind).at(position)
}
