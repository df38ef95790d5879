//! Lengths as people type them: `24'-6 1/2"`, `24-6.5`, `24ft 6.5in`, `6½"`, `7480 mm`, and lists
//! of them with repeats (`3@10'-0"`) and breaks (`2@31' | 2@31'`).

use std::borrow::Cow;
use std::fmt;

use super::{Length, Unit};

/// The most lengths one cell may list, repeats counted.
pub const LONGEST_LIST: usize = 10_000;

/// A length as typed: the exact value and, for a decimal, how far the true length may lie from it.
///
/// A decimal stands for everything within half its last digit, whole millimetres for everything
/// within half a millimetre; fractions and whole numbers of other units stand for themselves.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct Typed {
    pub length: Length,
    pub half_digit: Length,
}

impl Typed {
    /// A length that stands for itself.
    #[must_use]
    pub const fn exact(length: Length) -> Typed {
        Typed { length, half_digit: Length::ZERO }
    }
}

/// Widths across, in groups between `|`, where a panel edge must break.
pub type Widths = Vec<Vec<Typed>>;

/// Text that is no length: what is wrong with it and, where we can tell, what to type instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseError {
    pub message: String,
    pub hint: Option<String>,
}

impl ParseError {
    fn new(message: impl Into<String>) -> ParseError {
        ParseError { message: message.into(), hint: None }
    }

    fn hint(mut self, hint: impl Into<String>) -> ParseError {
        self.hint = Some(hint.into());
        self
    }
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for ParseError {}

/// Reads one length; a bare number is in the unit given.
///
/// Refused: text that is no length, inches of 12 and more behind feet, fractions that are not
/// proper halves to sixty-fourths, thousand separators, decimal commas, anything ambiguous.
pub fn parse(text: &str, bare: Unit) -> Result<Typed, ParseError> {
    let tokens = tokens(text)?;
    Reader { text: text.trim(), tokens: &tokens, next: 0 }.length(bare)
}

/// Reads a list of lengths, separated by commas, semicolons, plus signs or line breaks, with repeats:
/// `10', 3@9'-6"`, `(3) 10' + 9'-6"`. Behind `=` may stand what they come to: `3@10' = 30'`.
pub fn parse_list(text: &str, bare: Unit) -> Result<Vec<Typed>, ParseError> {
    if let Some((list, total)) = text.split_once('=') {
        let (lengths, total) = (parse_list(list, bare)?, parse(total, bare)?);
        let sum: Length = lengths.iter().map(|typed| typed.length).sum();
        // A total is often rounded.
        if (sum - total.length).abs() > Length::inches(1) {
            let text = text.trim();
            return Err(ParseError::new(format!("the lengths of `{text}` come to {sum}")));
        }
        return Ok(lengths);
    }
    let mut lengths = Vec::new();
    if let Some(at) = comma_between_digits(text) {
        return Err(ParseError::new(format!("the comma in `{at}` may separate or be decimal"))
            .hint("put a space behind a comma that separates; write decimals with a point"));
    }
    for item in lines_joined(text).split([',', ';', '+']) {
        if item.trim().is_empty() {
            return Err(ParseError::new(format!(
                "`{}` has an empty place in its list",
                text.trim()
            ))
            .hint("separate lengths by one comma: `10', 9'-6\"`"));
        }
        let in_brackets = item.trim_start().strip_prefix('(').and_then(|rest| rest.split_once(')'));
        let (count, length) = match item.split_once('@').or(in_brackets) {
            None => (1, parse(item, bare).map_err(|error| times_hint(error, item))?),
            Some((count, length)) => (repeats(count)?, parse(length, bare)?),
        };
        if lengths.len() + count > LONGEST_LIST {
            return Err(ParseError::new(format!("more than {LONGEST_LIST} lengths in one cell")));
        }
        lengths.extend(std::iter::repeat_n(length, count));
    }
    Ok(lengths)
}

/// The lines of a cell as one: a line break separates where no other sign does.
fn lines_joined(text: &str) -> Cow<'_, str> {
    let text = text.trim();
    if !text.contains(['\n', '\r']) {
        return Cow::Borrowed(text);
    }
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    let mut joined = String::with_capacity(text.len());
    for line in lines {
        // A length may be broken: behind its dash or `@`, or before its inches.
        let is_inches = joined.ends_with(['\'', '’', '′'])
            && line.ends_with(['"', '”', '″'])
            && !line.contains(['\'', '’', '′', '@']);
        let goes_on = joined.is_empty() || joined.ends_with([',', ';', '+', '-', '@']) || is_inches;
        joined.push(if goes_on || line.starts_with([',', ';', '+']) { ' ' } else { ',' });
        joined.push_str(line);
    }
    Cow::Owned(joined)
}

/// `3 x 10'` may be a count or the sides of a bay: it is asked for as a count is written.
fn times_hint(error: ParseError, item: &str) -> ParseError {
    let is_times = item.split_once(['x', 'X', '×']).is_some_and(|(count, length)| {
        count.trim().parse::<usize>().is_ok() && length.contains(|sign: char| sign.is_ascii_digit())
    });
    if is_times { error.hint("write how many and then the length: `3@10'-0\"`") } else { error }
}

/// Reads widths: lists with `|` where a panel edge must break.
pub fn parse_widths(text: &str, bare: Unit) -> Result<Widths, ParseError> {
    text.split('|').map(|group| parse_list(group, bare)).collect()
}

/// The count before an `@`.
fn repeats(count: &str) -> Result<usize, ParseError> {
    match count.trim().parse::<usize>() {
        Ok(number) if (1..=LONGEST_LIST).contains(&number) => Ok(number),
        Ok(number) if number > LONGEST_LIST => {
            Err(ParseError::new(format!("more than {LONGEST_LIST} lengths in one cell")))
        }
        _ => Err(ParseError::new(format!("`{}` before `@` is no count", count.trim()))
            .hint("write how many and then the length: `3@10'-0\"`")),
    }
}

/// The first `1,5` in the text: a comma with digits close on both sides.
fn comma_between_digits(text: &str) -> Option<String> {
    const SHOWN: usize = 40;
    let is_between = |word: &&str| {
        word.as_bytes().windows(3).any(|around| {
            matches!(around, [left, b',', right] if left.is_ascii_digit() && right.is_ascii_digit())
        })
    };
    let word = text.split(|c: char| c.is_whitespace() || c == ';').find(is_between)?;
    Some(word.chars().take(SHOWN).collect())
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Token {
    /// Digits without the point, and how many of them stand behind it.
    Number {
        digits: i128,
        decimals: u32,
    },
    Slash,
    Dash,
    Unit(Unit),
}

/// A number read: `digits / (10^decimals)`, or a mixed number with `bottom` of a fraction.
#[derive(Clone, Copy)]
struct Amount {
    top: i128,
    bottom: i128,
    decimals: u32,
    /// Whole and fraction were joined by a dash: `5-1/2`.
    dashed: bool,
}

fn tokens(text: &str) -> Result<Vec<Token>, ParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ParseError::new("nothing where a length belongs"));
    }
    let plain = plain_signs(text);
    let mut rest = plain.as_str();
    let mut tokens = Vec::new();
    while let Some(first) = rest.chars().next() {
        if first.is_whitespace() {
            rest = rest.trim_start();
        } else if first.is_ascii_digit() || first == '.' {
            let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
            tokens.push(number(&rest[..end], text)?);
            rest = &rest[end..];
        } else if first.is_alphabetic() {
            let end = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
            tokens.push(Token::Unit(unit_word(&rest[..end], text)?));
            rest = rest[end..].trim_start_matches('.');
        } else {
            tokens.push(match first {
                '/' => Token::Slash,
                '-' => Token::Dash,
                '\'' if rest.starts_with("''") => {
                    rest = &rest[1..];
                    Token::Unit(Unit::Inch)
                }
                '\'' => Token::Unit(Unit::Foot),
                '"' => Token::Unit(Unit::Inch),
                ',' => {
                    return Err(ParseError::new(format!("`{text}` has a comma"))
                        .hint("write decimals with a point and thousands without a comma"));
                }
                other => {
                    return Err(not_a_length(text, &format!("`{other}` has no place in a length")));
                }
            });
            rest = &rest[first.len_utf8()..];
        }
    }
    Ok(tokens)
}

/// Prime and curly quotation marks, dashes, no-break spaces and fraction characters as plain signs.
fn plain_signs(text: &str) -> String {
    let mut plain = String::with_capacity(text.len() + 4);
    for sign in text.chars() {
        match sign {
            '′' | '’' | '‘' | '´' | '`' | 'ʹ' => plain.push('\''),
            '″' | '”' | '“' | 'ʺ' => plain.push('"'),
            '–' | '—' | '−' | '‐' | '‑' => plain.push('-'),
            '⁄' | '∕' => plain.push('/'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            other => plain.push(other),
        }
    }
    plain
}

fn number(digits: &str, text: &str) -> Result<Token, ParseError> {
    const MOST_DIGITS: usize = 18;
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    if decimals.contains('.') || (whole.is_empty() && decimals.is_empty()) {
        return Err(not_a_length(text, &format!("`{digits}` is no number")));
    }
    if whole.trim_start_matches('0').len() + decimals.len() > MOST_DIGITS {
        return Err(not_a_length(text, &format!("`{digits}` has more than {MOST_DIGITS} digits")));
    }
    let mut value: i128 = 0;
    for digit in whole.bytes().chain(decimals.bytes()) {
        value = value * 10 + i128::from(digit - b'0');
    }
    let decimals = u32::try_from(decimals.len()).unwrap_or(0);
    Ok(Token::Number { digits: value, decimals })
}

fn unit_word(word: &str, text: &str) -> Result<Unit, ParseError> {
    unit_of(word).ok_or_else(|| not_a_length(text, &format!("`{word}` is no unit of length")))
}

/// The unit that a word or sign stands for: `in`, `feet`, `"`.
#[must_use]
pub fn unit_of(word: &str) -> Option<Unit> {
    match plain_signs(word).to_ascii_lowercase().as_str() {
        "ft" | "feet" | "foot" | "'" => Some(Unit::Foot),
        "in" | "inch" | "inches" | "ins" | "\"" | "''" => Some(Unit::Inch),
        "m" => Some(Unit::Metre),
        "cm" => Some(Unit::Centimetre),
        "mm" => Some(Unit::Millimetre),
        _ => None,
    }
}

fn not_a_length(text: &str, why: &str) -> ParseError {
    ParseError::new(format!("`{text}` is no length: {why}"))
        .hint("write feet and inches as 24'-6 1/2\", 24-6 1/2 or 24.5', metric as 7480 mm")
}

struct Reader<'a> {
    text: &'a str,
    tokens: &'a [Token],
    next: usize,
}

impl Reader<'_> {
    fn peek(&self, ahead: usize) -> Option<Token> {
        self.tokens.get(self.next + ahead).copied()
    }

    fn take(&mut self) -> Option<Token> {
        let token = self.peek(0);
        self.next += 1;
        token
    }

    fn length(mut self, bare: Unit) -> Result<Typed, ParseError> {
        let negative = self.peek(0) == Some(Token::Dash);
        if negative {
            self.next += 1;
        }
        let first = self.amount()?;
        let typed = match self.take() {
            Some(Token::Unit(Unit::Foot)) => self.feet_and_inches(first)?,
            Some(Token::Unit(unit)) => self.whole(first, unit)?,
            Some(Token::Dash) => {
                if !matches!(bare, Unit::Foot | Unit::Inch) {
                    return Err(not_a_length(
                        self.text,
                        "two numbers with a dash are feet and inches",
                    ));
                }
                self.next -= 1;
                self.feet_and_inches(first)?
            }
            None if first.dashed && bare != Unit::Inch => {
                return Err(ParseError::new(format!(
                    "`{}` may be feet with inches or feet with a fraction",
                    self.text
                ))
                .hint("write 24'-0 1/2\" or 24.5'"));
            }
            None => self.whole(first, bare)?,
            Some(_) => return Err(self.unexpected()),
        };
        let length = if negative { -typed.length } else { typed.length };
        Ok(Typed { length, ..typed })
    }

    /// The rest after a number of feet: nothing, or inches with or without a dash and a mark.
    fn feet_and_inches(&mut self, feet: Amount) -> Result<Typed, ParseError> {
        let feet_typed = self.typed(feet, Unit::Foot)?;
        if self.peek(0) == Some(Token::Dash) {
            self.next += 1;
        } else if self.peek(0).is_none() {
            return Ok(feet_typed);
        }
        if feet.bottom != 1 || feet.decimals > 0 {
            return Err(not_a_length(self.text, "feet before inches are a whole number"));
        }
        let inches = self.amount()?;
        if self.peek(0) == Some(Token::Unit(Unit::Inch)) {
            self.next += 1;
        }
        let inches_typed = self.whole(inches, Unit::Inch)?;
        if inches_typed.length >= Length::inches(12) {
            return Err(ParseError::new(format!(
                "`{}` has {} behind the feet, wanted less than 12\"",
                self.text,
                inches_typed.length.as_inches_text()
            ))
            .hint(format!(
                "if it is meant so, write {}",
                feet_typed.length + inches_typed.length
            )));
        }
        Ok(Typed { length: feet_typed.length + inches_typed.length, ..inches_typed })
    }

    /// A number in its unit with nothing behind it.
    fn whole(&mut self, amount: Amount, unit: Unit) -> Result<Typed, ParseError> {
        if self.peek(0).is_some() {
            return Err(self.unexpected());
        }
        self.typed(amount, unit)
    }

    fn unexpected(&self) -> ParseError {
        not_a_length(self.text, "its parts do not make one length")
    }

    /// `6`, `6.5`, `1/2`, `6 1/2`, `6-1/2`.
    fn amount(&mut self) -> Result<Amount, ParseError> {
        let Some(Token::Number { digits, decimals }) = self.take() else {
            return Err(not_a_length(self.text, "a number is missing"));
        };
        let plain = Amount { top: digits, bottom: 1, decimals, dashed: false };
        match (self.peek(0), self.peek(1), self.peek(2)) {
            (Some(Token::Slash), _, _) => {
                self.next += 1;
                self.fraction(0, plain, false)
            }
            (Some(top @ Token::Number { .. }), Some(Token::Slash), _) => {
                self.next += 2;
                self.mixed(plain, top, false)
            }
            (Some(Token::Dash), Some(top @ Token::Number { .. }), Some(Token::Slash)) => {
                self.next += 3;
                self.mixed(plain, top, true)
            }
            _ => Ok(plain),
        }
    }

    fn mixed(&mut self, whole: Amount, top: Token, dashed: bool) -> Result<Amount, ParseError> {
        let Token::Number { digits, decimals } = top else { return Err(self.unexpected()) };
        if whole.decimals > 0 {
            return Err(not_a_length(self.text, "a decimal has no fraction behind it"));
        }
        self.fraction(whole.top, Amount { top: digits, bottom: 1, decimals, dashed: false }, dashed)
    }

    fn fraction(&mut self, whole: i128, top: Amount, dashed: bool) -> Result<Amount, ParseError> {
        let bottom = self.take();
        let (Some(Token::Number { digits: bottom, decimals: 0 }), 0) = (bottom, top.decimals)
        else {
            return Err(not_a_length(self.text, "a fraction has whole numbers above and below"));
        };
        let top = top.top;
        if !matches!(bottom, 2 | 4 | 8 | 16 | 32 | 64) {
            return Err(not_a_length(
                self.text,
                &format!("{top}/{bottom} is no fraction in halves to sixty-fourths"),
            ));
        }
        if top <= 0 || top >= bottom {
            return Err(not_a_length(self.text, &format!("{top}/{bottom} is no proper fraction")));
        }
        Ok(Amount { top: whole * bottom + top, bottom, decimals: 0, dashed })
    }

    /// The exact length of an amount in a unit, and the half of its last digit.
    fn typed(&self, amount: Amount, unit: Unit) -> Result<Typed, ParseError> {
        let scale = i128::from(unit.exact());
        let bottom = amount.bottom * 10_i128.pow(amount.decimals);
        let units = (amount.top.saturating_mul(scale) * 2 + bottom) / (bottom * 2);
        let half_digit = if amount.decimals > 0 || unit == Unit::Millimetre {
            (scale + bottom * 2 - 1) / (bottom * 2)
        } else {
            0
        };
        match (i64::try_from(units), i64::try_from(half_digit)) {
            (Ok(units), Ok(half_digit)) if units <= Length::LONGEST.exact() => Ok(Typed {
                length: Length::from_exact(units),
                half_digit: Length::from_exact(half_digit),
            }),
            _ => Err(ParseError::new(format!("`{}` is longer than 100,000 ft", self.text))),
        }
    }
}
