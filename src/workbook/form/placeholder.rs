//! The notation of forms: `{job}` is a single value, `{line.count}` a value of each line; a cell
//! may hold several among other words. Names are read without regard to case, and spaces and
//! hyphens in them as underlines: `{Job name}` is `{job_name}`. Braces around anything else are
//! left as they are.

/// A piece of a cell's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Piece {
    Words(String),
    /// A single value.
    Single(String),
    /// A value of the line.
    Line(String),
}

/// A cell's text in pieces; none where it holds no placeholder.
pub(super) fn pieces(text: &str) -> Option<Vec<Piece>> {
    let mut pieces = Vec::new();
    let mut words = String::new();
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let after = rest.get(open + 1..).unwrap_or_default();
        let close = after.find(['{', '}']).filter(|at| after.get(*at..=*at) == Some("}"));
        let found = close.and_then(|close| Some((placeholder(after.get(..close)?)?, close)));
        let Some((piece, close)) = found else {
            words.push_str(rest.get(..=open).unwrap_or_default());
            rest = after;
            continue;
        };
        words.push_str(rest.get(..open).unwrap_or_default());
        if !words.is_empty() {
            pieces.push(Piece::Words(std::mem::take(&mut words)));
        }
        pieces.push(piece);
        rest = after.get(close + 1..).unwrap_or_default();
    }
    if pieces.is_empty() {
        return None;
    }
    words.push_str(rest);
    if !words.is_empty() {
        pieces.push(Piece::Words(words));
    }
    Some(pieces)
}

fn placeholder(inner: &str) -> Option<Piece> {
    let (prefix, name) = match inner.split_once('.') {
        Some((prefix, name)) => (Some(prefix.trim()), name),
        None => (None, inner),
    };
    let name = name_of(name);
    let is_name = name.starts_with(|first: char| first.is_alphabetic())
        && name.chars().all(|letter| letter.is_alphanumeric() || letter == '_');
    match (is_name, prefix) {
        (true, None) => Some(Piece::Single(name)),
        (true, Some(prefix)) if prefix.eq_ignore_ascii_case("line") => Some(Piece::Line(name)),
        _ => None,
    }
}

/// A name as it is compared.
pub(super) fn name_of(text: &str) -> String {
    let letters = text.trim().chars();
    letters
        .map(|letter| match letter {
            ' ' | '-' | '\u{a0}' => '_',
            letter => letter.to_ascii_lowercase(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn single(name: &str) -> Piece {
        Piece::Single(name.to_string())
    }

    fn words(text: &str) -> Piece {
        Piece::Words(text.to_string())
    }

    #[test]
    fn placeholders_are_found_among_words() {
        assert_eq!(pieces("{job}"), Some(vec![single("job")]));
        assert_eq!(pieces("{Line.Length ft}"), Some(vec![Piece::Line("length_ft".to_string())]));
        assert_eq!(
            pieces("Job {number}: {Job name}!"),
            Some(vec![
                words("Job "),
                single("number"),
                words(": "),
                single("job_name"),
                words("!")
            ])
        );
        assert_eq!(pieces("{a{b}"), Some(vec![words("{a"), single("b")]));
    }

    #[test]
    fn other_braces_are_words() {
        for text in ["", "plain", "{}", "{1}", "{see note!}", "{open", "}", "{{", "{page.x}", "{.}"]
        {
            assert_eq!(pieces(text), None, "{text}");
        }
    }
}
