//! A script's text as signs: every character of its code with its place; a text in quotes is one
//! sign, comments are none. Good enough to find brackets, arguments and fields for messages; the
//! engine's own parser decides what a script means.

/// One sign of a script's code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sign {
    /// The character; `"` for a whole text in quotes, `*` for a comment that is not closed.
    pub sign: char,
    /// Its line and column, from 1.
    pub line: usize,
    pub column: usize,
    /// A text or comment that is not closed.
    pub open: bool,
}

/// The signs of a text.
pub fn signs(text: &str) -> Vec<Sign> {
    let mut reader = Reader { rest: text.chars().peekable(), line: 1, column: 1 };
    let mut signs = Vec::new();
    while let Some((sign, line, column)) = reader.next() {
        let at = |sign, open| Sign { sign, line, column, open };
        match sign {
            '/' if reader.peek() == Some('/') => reader.skip_line(),
            '/' if reader.peek() == Some('*') => {
                if !reader.skip_block() {
                    signs.push(at('*', true));
                }
            }
            '"' => signs.push(at('"', !reader.skip_text('"'))),
            '`' => signs.push(at('"', !reader.skip_text('`'))),
            '\'' => signs.push(at('"', !reader.skip_text('\''))),
            other => signs.push(at(other, false)),
        }
    }
    signs
}

struct Reader<'a> {
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    line: usize,
    column: usize,
}

impl Reader<'_> {
    fn next(&mut self) -> Option<(char, usize, usize)> {
        let sign = self.rest.next()?;
        let place = (sign, self.line, self.column);
        if sign == '\n' {
            self.line += 1;
            self.column = 1;
        } else {
            self.column += 1;
        }
        Some(place)
    }

    fn peek(&mut self) -> Option<char> {
        self.rest.peek().copied()
    }

    fn skip_line(&mut self) {
        while self.peek().is_some_and(|sign| sign != '\n') {
            self.next();
        }
    }

    /// Block comments nest; false where one is not closed.
    fn skip_block(&mut self) -> bool {
        let (mut depth, mut last) = (1, ' ');
        self.next();
        while let Some((sign, ..)) = self.next() {
            match (last, sign) {
                ('/', '*') => depth += 1,
                ('*', '/') => depth -= 1,
                _ => {}
            }
            if depth == 0 {
                return true;
            }
            last =
                if (last, sign) == ('*', '/') || (last, sign) == ('/', '*') { ' ' } else { sign };
        }
        false
    }

    /// Reads to the quote that closes a text; false where its line or the script ends before.
    fn skip_text(&mut self, quote: char) -> bool {
        while let Some(sign) = self.peek() {
            if sign == '\n' && quote != '`' {
                return false;
            }
            self.next();
            match sign {
                '\\' if quote != '`' => {
                    self.next();
                }
                '$' if quote == '`' && self.peek() == Some('{') => self.skip_braces(),
                _ if sign == quote => return true,
                _ => {}
            }
        }
        false
    }

    /// An expression within a text: `${ … }`.
    fn skip_braces(&mut self) {
        let mut depth = 0_usize;
        while let Some((sign, ..)) = self.next() {
            match sign {
                '{' => depth += 1,
                '}' => depth = depth.saturating_sub(1),
                '"' | '`' => {
                    self.skip_text(sign);
                }
                _ => {}
            }
            if depth == 0 {
                return;
            }
        }
    }
}

/// What is amiss with a script's brackets and quotes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amiss {
    /// A text without its closing quote.
    Text(Sign),
    /// An opening bracket without its closing one; the bracket of another kind that came instead.
    Open(Sign, Option<Sign>),
    /// A closing bracket without its opening one.
    Close(Sign),
}

/// The first thing amiss with brackets and quotes.
pub fn amiss(text: &str) -> Option<Amiss> {
    let mut open: Vec<Sign> = Vec::new();
    for sign in signs(text) {
        match sign.sign {
            '"' if sign.open => return Some(Amiss::Text(sign)),
            '(' | '[' | '{' => open.push(sign),
            ')' | ']' | '}' => match open.pop() {
                None => return Some(Amiss::Close(sign)),
                Some(opener) if closing(opener.sign) != sign.sign => {
                    return Some(Amiss::Open(opener, Some(sign)));
                }
                Some(_) => {}
            },
            _ => {}
        }
    }
    open.last().map(|sign| Amiss::Open(*sign, None))
}

/// The bracket that closes an opening one.
pub const fn closing(open: char) -> char {
    match open {
        '(' => ')',
        '[' => ']',
        _ => '}',
    }
}

/// Where in the text of a call, that begins at a line and column, one of its arguments begins; a
/// field of a map given there, if it is named.
pub fn argument(
    text: &str,
    line: usize,
    column: usize,
    number: usize,
    field: Option<&str>,
) -> Option<(usize, usize)> {
    let all = signs(text);
    let argument = nth_argument(arguments(&all, line, column)?, number)?;
    let begin = argument.iter().find(|sign| !sign.sign.is_whitespace())?;
    let found = field.and_then(|field| field_of(argument, field));
    let found = found.unwrap_or(*begin);
    Some((found.line, found.column))
}

/// The text of one of the arguments of a call that begins at a line and column.
pub fn argument_text(text: &str, line: usize, column: usize, number: usize) -> Option<String> {
    let all = signs(text);
    let argument = nth_argument(arguments(&all, line, column)?, number)?;
    let begin = argument.iter().find(|sign| !sign.sign.is_whitespace())?;
    let end = argument.last()?;
    let at = |line: usize, column: usize| -> usize {
        let before: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
        let own = text[before..].chars().take(column - 1).map(char::len_utf8).sum::<usize>();
        before + own
    };
    // The argument ends before the sign behind its last one: a text is one sign, however long.
    let next = all.iter().find(|sign| (sign.line, sign.column) > (end.line, end.column));
    let until = next.map_or(text.len(), |sign| at(sign.line, sign.column));
    Some(text.get(at(begin.line, begin.column)..until)?.trim_end().to_owned())
}

/// The signs behind the opening bracket of a call that begins at a line and column.
fn arguments(all: &[Sign], line: usize, column: usize) -> Option<&[Sign]> {
    let call = all.iter().position(|sign| (sign.line, sign.column) >= (line, column))?;
    let is_name = |sign: &Sign| sign.sign.is_alphanumeric() || matches!(sign.sign, '_' | ':');
    let name = all[call..].iter().position(|sign| !is_name(sign))?;
    let open = call + name;
    (all.get(open)?.sign == '(').then(|| &all[open + 1..])
}

/// The signs of the n-th argument, up to the comma or bracket that ends it.
fn nth_argument(inside: &[Sign], number: usize) -> Option<&[Sign]> {
    let (mut depth, mut at, mut from, mut parameters) = (0_usize, 0, 0, false);
    for (position, sign) in inside.iter().enumerate() {
        match sign.sign {
            '|' if depth == 0 => {
                let first = inside[from..position].iter().all(|sign| sign.sign.is_whitespace());
                parameters = first && !parameters;
            }
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => {
                return (at == number && position > from).then(|| &inside[from..position]);
            }
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 && !parameters => {
                if at == number {
                    return Some(&inside[from..position]);
                }
                at += 1;
                from = position + 1;
            }
            _ => {}
        }
    }
    None
}

/// Where a field of a map literal stands: its name before a colon.
fn field_of(argument: &[Sign], field: &str) -> Option<Sign> {
    let text: String = argument.iter().map(|sign| sign.sign).collect();
    let mut from = 0;
    while let Some(found) = text[from..].find(field) {
        let at = from + found;
        let before = text[..at].chars().next_back();
        let after = text[at + field.len()..].trim_start().chars().next();
        let begins = before.is_none_or(|sign| !sign.is_alphanumeric() && sign != '_');
        if begins && after == Some(':') {
            return argument.get(text[..at].chars().count()).copied();
        }
        from = at + field.len();
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(text: &str, number: usize, field: Option<&str>) -> Option<(usize, usize)> {
        argument(text, 1, 1, number, field)
    }

    #[test]
    fn arguments_are_found() {
        assert_eq!(place("f(a, b)", 1, None), Some((1, 6)));
        assert_eq!(place("deck::f(g(1, 2), [3, 4], b)", 2, None), Some((1, 26)));
        assert_eq!(place("f(\"a, b\", // c, d\n  e)", 1, None), Some((2, 3)));
        assert_eq!(place("column(\"k\", |a, b| a + b, c)", 2, None), Some((1, 27)));
        assert_eq!(place("f(#{ a_in: 1, in: 2 })", 0, Some("in")), Some((1, 15)));
        assert_eq!(place("f(#{ a_in: 1 })", 0, Some("b")), Some((1, 3)));
        assert_eq!(place("f(a)", 1, None), None);
        assert_eq!(place("f()", 0, None), None);
        assert_eq!(place("f(`${g(\"x\", 1)}, y`, b)", 1, None), Some((1, 22)));
    }

    #[test]
    fn brackets_and_quotes() {
        let said = |text| match amiss(text) {
            None => "nothing".to_owned(),
            Some(Amiss::Text(at)) => format!("text {}", at.column),
            Some(Amiss::Open(at, None)) => format!("open {}", at.column),
            Some(Amiss::Open(at, Some(by))) => format!("open {} by {}", at.column, by.column),
            Some(Amiss::Close(at)) => format!("close {}", at.column),
        };
        assert_eq!(said("f(\"a\", [1], #{ b: `${c(1)}` }); // ("), "nothing");
        assert_eq!(said("f(\"a, b)"), "text 3");
        assert_eq!(said("f(\"a\" \"b)"), "text 7");
        assert_eq!(said("f((a)"), "open 2");
        assert_eq!(said("f({ a )"), "open 3 by 7");
        assert_eq!(said("f(a))"), "close 5");
        assert_eq!(said("/* ( /* { */ [ */ f(\"\\\"(\")"), "nothing");
    }
}
