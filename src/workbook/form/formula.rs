//! References inside formulas: found without being fooled by text, names, functions and other
//! sheets, and changed in place.

use std::fmt::Write;

use super::refs::{Reference, Shift};

/// What stands before a reference: nothing, a sheet of this workbook, or something that is not to
/// be changed (another workbook, several sheets).
#[derive(Clone, Debug, PartialEq, Eq)]
enum Before {
    Own,
    Sheet(String),
    Foreign,
}

/// Changes every reference of a formula: `change` is given the sheet it names (none: the
/// formula's own), its first and, of a range, its last end, and gives both anew, or none where
/// the reference has left the sheet.
fn each(
    formula: &str,
    mut change: impl FnMut(
        Option<&str>,
        Reference,
        Option<Reference>,
    ) -> Option<(Reference, Option<Reference>)>,
) -> String {
    each_in_place(formula, |named, first, last, _| change(named, first, last))
}

/// The same; `change` is also told whether it is all that a sum or the like adds up.
fn each_in_place(
    formula: &str,
    mut change: impl FnMut(
        Option<&str>,
        Reference,
        Option<Reference>,
        bool,
    ) -> Option<(Reference, Option<Reference>)>,
) -> String {
    let mut out = String::with_capacity(formula.len() + 16);
    let mut rest = formula;
    let mut before = Before::Own;
    while let Some(first) = rest.chars().next() {
        let taken = match first {
            '"' => quoted(rest, '"'),
            '\'' => {
                let length = quoted(rest, '\'');
                let name = rest.get(1..length.saturating_sub(1)).unwrap_or_default();
                if rest.get(length..).is_some_and(|after| after.starts_with('!')) {
                    before = sheet(&name.replace("''", "'"));
                    let length = length + 1;
                    out.push_str(rest.get(..length).unwrap_or_default());
                    rest = rest.get(length..).unwrap_or_default();
                    continue;
                }
                length
            }
            '[' => {
                before = Before::Foreign;
                let length = bracketed(rest);
                out.push_str(rest.get(..length).unwrap_or_default());
                rest = rest.get(length..).unwrap_or_default();
                continue;
            }
            letter if is_word(letter) => {
                let length = rest.find(|letter| !is_word(letter)).unwrap_or(rest.len());
                let (word, after) = rest.split_at(length);
                if after.starts_with('!') {
                    // Behind a workbook in brackets it is that workbook's sheet.
                    if before != Before::Foreign {
                        before = sheet(word);
                    }
                    out.push_str(word);
                    out.push('!');
                    rest = after.get(1..).unwrap_or_default();
                    continue;
                }
                let was = std::mem::replace(&mut before, Before::Own);
                let named = match &was {
                    Before::Own => Some(None),
                    Before::Sheet(name) => Some(Some(name.as_str())),
                    Before::Foreign => None,
                };
                let found = named.and_then(|named| Some((named, reference(word, after)?)));
                let Some((named, (first, last, length))) = found else {
                    out.push_str(word);
                    rest = after;
                    continue;
                };
                let summed = is_summed(&out, rest.get(length..).unwrap_or_default());
                match change(named, first, last, summed) {
                    Some((first, None)) => {
                        let _ = write!(out, "{first}");
                    }
                    Some((first, Some(last))) => {
                        let _ = write!(out, "{first}:{last}");
                    }
                    None => out.push_str("#REF!"),
                }
                rest = rest.get(length..).unwrap_or_default();
                continue;
            }
            other => other.len_utf8(),
        };
        before = Before::Own;
        out.push_str(rest.get(..taken).unwrap_or_default());
        rest = rest.get(taken..).unwrap_or_default();
    }
    out
}

/// Whether what stands between is all that a function adds up or looks over: `SUM(` and `)`.
fn is_summed(before: &str, after: &str) -> bool {
    const OVER: [&str; 10] = [
        "SUM(",
        "SUBTOTAL(9,",
        "SUBTOTAL(109,",
        "COUNT(",
        "COUNTA(",
        "AVERAGE(",
        "MIN(",
        "MAX(",
        "SUBTOTAL(3,",
        "SUBTOTAL(103,",
    ];
    // A sheet before the reference belongs to it.
    let before = match before.strip_suffix('!') {
        Some(before) => before.rfind(['(', ',']).map_or("", |at| &before[..=at]),
        None => before,
    };
    let squeezed: String = before.chars().filter(|sign| *sign != ' ').collect();
    let squeezed = squeezed.to_uppercase();
    let is_whole = |name: &str| {
        let rest = squeezed.strip_suffix(name);
        rest.is_some_and(|rest| !rest.ends_with(|sign: char| is_word(sign)))
    };
    after.trim_start().starts_with(')') && OVER.into_iter().any(is_whole)
}

/// A reference at a word, its other end where it is a range, and its length in all.
fn reference(word: &str, after: &str) -> Option<(Reference, Option<Reference>, usize)> {
    // A function, a table, or a name that goes on.
    if after.starts_with(['(', '[']) {
        return None;
    }
    let first = Reference::parse(word)?;
    let is_cell = first.row.is_some() && first.column.is_some();
    let other = after.strip_prefix(':').and_then(|other| {
        let length = other.find(|letter| !is_word(letter)).unwrap_or(other.len());
        let (word, after) = other.split_at(length);
        let last = Reference::parse(word)?;
        let alike = last.row.is_some() == first.row.is_some()
            && last.column.is_some() == first.column.is_some();
        (alike && !after.starts_with(['(', '[', '!'])).then_some((last, length))
    });
    match other {
        Some((last, length)) => Some((first, Some(last), word.len() + 1 + length)),
        None if is_cell => Some((first, None, word.len())),
        None => None,
    }
}

fn sheet(name: &str) -> Before {
    if name.contains(['[', ':']) { Before::Foreign } else { Before::Sheet(name.to_string()) }
}

fn is_word(letter: char) -> bool {
    letter.is_alphanumeric() || matches!(letter, '_' | '.' | '$' | '\\' | '?') || letter > '\u{7F}'
}

/// The length of a quoted text, doubled quotes inside it included.
fn quoted(text: &str, quote: char) -> usize {
    let mut letters = text.char_indices().skip(1).peekable();
    while let Some((at, letter)) = letters.next() {
        if letter == quote && letters.next_if(|(_, next)| *next == quote).is_none() {
            return at + letter.len_utf8();
        }
    }
    text.len()
}

/// The length of a bracket with those inside it.
fn bracketed(text: &str) -> usize {
    let mut depth = 0_usize;
    for (at, letter) in text.char_indices() {
        match letter {
            '[' => depth += 1,
            ']' if depth <= 1 => return at + 1,
            ']' => depth -= 1,
            _ => {}
        }
    }
    text.len()
}

impl Shift {
    /// The formula after rows were inserted. `home` is the sheet it stands on; `in_line` says that
    /// it stands in a row of the lines, whose own row does not grow under it.
    pub(super) fn formula(&self, formula: &str, home: &str, in_line: bool) -> String {
        each_in_place(formula, |named, first, last, summed| {
            let sheet = named.unwrap_or(home);
            if !sheet.eq_ignore_ascii_case(&self.sheet)
                && sheet.to_lowercase() != self.sheet.to_lowercase()
            {
                return Some((first, last));
            }
            // The one line of the form, all that a total adds up, becomes all lines.
            let grows = |row: u32| {
                let (top, bottom) = self.rows(row, row, true);
                top != bottom
            };
            let alone = first.row.filter(|(_, row)| summed && !in_line && grows(*row));
            let last = last.or(alone.map(|_| first));
            let Some(last) = last else {
                return Some((first.with_row(|_, row| Some(self.row(row)))?, None));
            };
            let (Some((_, top)), Some((_, bottom))) = (first.row, last.row) else {
                return Some((first, Some(last)));
            };
            let (top, bottom) = (top.min(bottom), top.max(bottom));
            let (new_top, new_bottom) = self.rows(top, bottom, !in_line);
            let to = |row| Some(if row == top { new_top } else { new_bottom });
            if top == bottom {
                let first = first.with_row(|_, _| Some(new_top))?;
                return Some((first, Some(last.with_row(|_, _| Some(new_bottom))?)));
            }
            Some((first.with_row(|_, row| to(row))?, Some(last.with_row(|_, row| to(row))?)))
        })
    }
}

/// The formula as it reads so many rows further down: relative rows move along.
pub(super) fn filled_down(formula: &str, rows: i64) -> String {
    let moved = |reference: Reference| {
        reference.with_row(|fixed, row| {
            if fixed { Some(row) } else { u32::try_from(i64::from(row) + rows).ok() }
        })
    };
    each(formula, |_, first, last| match last {
        None => Some((moved(first)?, None)),
        Some(last) => Some((moved(first)?, Some(moved(last)?))),
    })
}

/// The formula as it reads in a cell so many rows and columns away, for followers of a shared one.
pub(super) fn moved(formula: &str, rows: i64, columns: i64) -> String {
    let shifted = |reference: Reference| {
        let reference = reference.with_row(|fixed, row| {
            if fixed { Some(row) } else { u32::try_from(i64::from(row) + rows).ok() }
        })?;
        let column = match reference.column {
            Some((false, column)) => {
                Some((false, u32::try_from(i64::from(column) + columns).ok().filter(|c| *c > 0)?))
            }
            other => other,
        };
        Some(Reference { column, ..reference })
    };
    each(formula, |_, first, last| match last {
        None => Some((shifted(first)?, None)),
        Some(last) => Some((shifted(first)?, Some(shifted(last)?))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shifted(formula: &str) -> String {
        let shift = Shift { sheet: "Order".to_string(), from: 19, by: 5, lone: None };
        shift.formula(formula, "Order", false)
    }

    #[test]
    fn references_below_move() {
        assert_eq!(shifted("SUM(E10:E19)*E21"), "SUM(E10:E24)*E26");
        assert_eq!(shifted("$E$19+E$18+F7"), "$E$24+E$18+F7");
        assert_eq!(shifted("SUM(A:A)+SUM(5:30)+SUM($2:$3)"), "SUM(A:A)+SUM(5:35)+SUM($2:$3)");
        assert_eq!(shifted("SUM(E19:E10)"), "SUM(E24:E10)");
        assert_eq!(shifted("E20:E22 E21"), "E25:E27 E26");
    }

    #[test]
    fn other_sheets_and_workbooks_stay() {
        assert_eq!(shifted("Other!E20+'My sheet'!E20"), "Other!E20+'My sheet'!E20");
        assert_eq!(shifted("Order!E20+'ORDER'!E20:E21"), "Order!E25+'ORDER'!E25:E26");
        assert_eq!(
            shifted("[1]Order!E20+'[book.xlsx]Order'!E20"),
            "[1]Order!E20+'[book.xlsx]Order'!E20"
        );
        assert_eq!(shifted("SUM(A1:Order!E20)"), "SUM(A1:Order!E25)");
        assert_eq!(shifted("SUM(Order:Last!E20)"), "SUM(Order:Last!E20)");
        let shift = Shift { sheet: "It's".to_string(), from: 2, by: 1, lone: None };
        assert_eq!(shift.formula("'It''s'!A2+A2", "Other", false), "'It''s'!A3+A2");
    }

    #[test]
    fn text_names_functions_and_tables_stay() {
        for formula in [
            "\"E20\"&\"say \"\"E20\"\"\"",
            "LOG10(2)",
            "tax_E20+E20_rate+E20.x",
            "Lines[[#This Row],[E20]]*Lines[E20]",
            "1E20+#REF!",
            "Größe20",
            "TRUE",
        ] {
            assert_eq!(shifted(formula), formula);
        }
        assert_eq!(shifted("IF(E20>1,\"E20\",E20)"), "IF(E25>1,\"E20\",E25)");
        // Broken formulas end nothing but themselves.
        for formula in ["\"open", "'open", "[open", "'a'!", "!", "E20:", ":", "$"] {
            let _ = shifted(formula);
        }
    }

    #[test]
    fn a_sum_over_the_one_line_grows_outside_it_alone() {
        let shift = Shift { sheet: "Order".to_string(), from: 11, by: 4, lone: Some(10) };
        assert_eq!(shift.formula("SUM(E10:E10)", "Order", false), "SUM(E10:E14)");
        assert_eq!(shift.formula("SUM(E9:E10)", "Order", false), "SUM(E9:E14)");
        assert_eq!(shift.formula("SUM(A10:D10)*E10", "Order", true), "SUM(A10:D10)*E10");
        assert_eq!(shift.formula("SUM(E$9:E10)", "Order", true), "SUM(E$9:E10)");
        assert_eq!(shift.formula("E10+E11", "Order", false), "E10+E15");
        // The one line is all that they add up.
        assert_eq!(shift.formula("SUM(E10)", "Order", false), "SUM(E10:E14)");
        assert_eq!(shift.formula("sum( $E$10 )*2", "Order", false), "sum( $E$10:$E$14 )*2");
        assert_eq!(
            shift.formula("SUBTOTAL(109, Order!E10)", "Sums", false),
            "SUBTOTAL(109, Order!E10:E14)"
        );
        assert_eq!(shift.formula("SUM(E10)", "Order", true), "SUM(E10)");
        assert_eq!(
            shift.formula("SUM(E9)+MYSUM(E10)+ROUND(E10,2)", "Order", false),
            "SUM(E9)+MYSUM(E10)+ROUND(E10,2)"
        );
    }

    #[test]
    fn formulas_are_filled_down() {
        assert_eq!(filled_down("B10*$C$3+SUM($A10:D10)", 2), "B12*$C$3+SUM($A12:D12)");
        assert_eq!(filled_down("A1", -1), "#REF!");
        assert_eq!(moved("A1+$B2", 1, 2), "C2+$B3");
    }
}
