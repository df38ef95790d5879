//! Units that stand in a cell's number format alone: 144 shown as `144"`, 0.25 as `25%`.
//!
//! In: the parts of an xlsx workbook. Out: for the cells of a sheet that are so formatted, what their
//! format shows. Most workbooks have no such format, and their sheets are not gone over for it.

use std::io::BufReader;

use quick_xml::escape::unescape;

use super::archive::Archive;
use super::facts::{attribute, cell, each_tag};
use super::grid::Cell;
use crate::length::{Unit, unit_of};

/// What a number format shows beside the number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    Unit(Unit),
    /// Hundredths: 0.25 as `25%`.
    Percent,
    /// Digits of the number on both sides of a foot mark: 1206 as `12'-06"`.
    FeetAndInches,
}

/// The styles of a workbook whose number format shows a unit, by their place in it.
pub struct Styles(Vec<Option<Shows>>);

/// Cells so formatted, in the order of rows.
#[derive(Default)]
pub struct Cells {
    cells: Vec<((u32, u32), Shows)>,
    next: usize,
}

impl Styles {
    /// None where no style shows a unit.
    pub fn of(archive: &Archive) -> Option<Styles> {
        const MOST: usize = 65_536;
        let part = archive.part("xl/styles.xml")?;
        let mut formats: Vec<(String, Shows)> = Vec::new();
        let mut styles = Vec::new();
        let mut in_cells = false;
        each_tag(BufReader::new(part), |tag| {
            if styles.len() >= MOST || formats.len() >= MOST {
                return;
            }
            match tag.local_name().as_ref() {
                "numFmt" => {
                    let code = attribute(tag, "formatCode").unwrap_or_default();
                    let shows = unescape(&code).ok().and_then(|code| shows(&code));
                    formats.extend(attribute(tag, "numFmtId").zip(shows));
                }
                // Those of named styles come before; none behind.
                "cellXfs" => in_cells = true,
                "xf" if in_cells => {
                    let id = attribute(tag, "numFmtId");
                    let format = formats.iter().find(|(known, _)| Some(known) == id.as_ref());
                    let own = matches!(id.as_deref(), Some("9" | "10")).then_some(Shows::Percent);
                    styles.push(format.map(|(_, shows)| *shows).or(own));
                }
                _ => {}
            }
        });
        styles.iter().any(Option::is_some).then_some(Styles(styles))
    }

    /// The cells so formatted in the sheet that is being read.
    pub fn cells(&self, archive: &Archive) -> Cells {
        let mut found = Cells::default();
        let Some(part) = archive.another() else { return found };
        each_tag(BufReader::new(part), |tag| {
            if tag.local_name().as_ref() == "c"
                && let Some(style) = attribute(tag, "s").and_then(|text| text.parse::<usize>().ok())
                && let Some(Some(shows)) = self.0.get(style)
                && let Some(at) = attribute(tag, "r").as_deref().and_then(cell)
            {
                found.cells.push((at, *shows));
            }
        });
        found.cells.sort_by_key(|(at, _)| *at);
        found
    }
}

impl Cells {
    /// Gives the numbers of a row the units that they are shown in; rows come in order.
    pub fn put_into(&mut self, row: u32, cells: &mut [Cell<'_>]) {
        while let Some(&((at_row, column), shows)) = self.cells.get(self.next)
            && at_row <= row
        {
            self.next += 1;
            if at_row == row
                && let Some(cell) = cells.get_mut(column as usize)
                && let Cell::Number(number) = cell
            {
                *cell = match shows {
                    Shows::Unit(unit) => Cell::InUnit(*number, unit),
                    Shows::Percent => Cell::Percent(*number),
                    Shows::FeetAndInches => Cell::FeetAndInches(*number),
                };
            }
        }
    }
}

/// What a number format's first section shows beside the number.
fn shows(code: &str) -> Option<Shows> {
    const GENERAL: &str = "general";
    let is_general = code.get(..GENERAL.len()).is_some_and(|it| it.eq_ignore_ascii_case(GENERAL));
    let mut signs = code.chars();
    if is_general {
        signs.nth(GENERAL.len() - 1);
    }
    let (mut words, mut has_digits, mut is_parted) = (String::new(), is_general, false);
    let mut is_percent = false;
    while let Some(sign) = signs.next() {
        match sign {
            '"' => {
                // A quotation mark inside is written in ways that differ from program to program.
                while let Some(inside) = signs.next().filter(|inside| *inside != '"') {
                    words.extend(if inside == '\\' { signs.next() } else { Some(inside) });
                }
            }
            '\\' => words.extend(signs.next()),
            // Room as wide as a sign, or filled with it.
            '_' | '*' => drop(signs.next()),
            '[' => drop(signs.by_ref().find(|inside| *inside == ']')),
            ';' => break,
            '%' => is_percent = true,
            '0' | '#' | '?' => {
                is_parted |= has_digits && words.contains(['\'', '\u{2032}', '\u{2019}']);
                has_digits = true;
                words.clear();
            }
            // Dates, times and texts.
            'y' | 'm' | 'd' | 'h' | 's' | 'Y' | 'M' | 'D' | 'H' | 'S' | '@' => return None,
            other => words.push(other),
        }
    }
    if is_parted {
        return Some(Shows::FeetAndInches);
    }
    if is_percent && has_digits {
        return Some(Shows::Percent);
    }
    let words = words.trim().trim_start_matches('-').trim_end_matches('.').trim();
    unit_of(words).filter(|_| has_digits).map(Shows::Unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_number_formats() {
        let unit = |unit| Some(Shows::Unit(unit));
        for (code, expected) in [
            (r#"0"\"""#, unit(Unit::Inch)),
            (r#"0\""#, unit(Unit::Inch)),
            (r#"0.00\";[Red]-0.00\""#, unit(Unit::Inch)),
            (r#"0" in""#, unit(Unit::Inch)),
            (r#"#,##0.0" IN.""#, unit(Unit::Inch)),
            (r#"# ?/?\""#, unit(Unit::Inch)),
            (r"0'", unit(Unit::Foot)),
            (r#"0.00" ft""#, unit(Unit::Foot)),
            (r#"0" mm"_)"#, unit(Unit::Millimetre)),
            (r#"[Blue]0.0" m""#, unit(Unit::Metre)),
            (r#"0"'-"00\""#, Some(Shows::FeetAndInches)),
            ("0.00", None),
            ("General", None),
            (r#"General" in""#, unit(Unit::Inch)),
            (r#"General\""#, unit(Unit::Inch)),
            ("# ?/?", None),
            ("0%", Some(Shows::Percent)),
            ("0.0 %", Some(Shows::Percent)),
            (r#"0" ea""#, None),
            (r#"0" sf""#, None),
            (r#"_("$"* #,##0.00_)"#, None),
            ("mm/dd/yyyy", None),
            (r#"h:mm" m""#, None),
            ("", None),
            (r#"""#, None),
            (r"\", None),
        ] {
            assert_eq!(shows(code), expected, "{code}");
        }
    }
}
