//! What was understood of a schedule, as text: sheet by sheet the heading row, each heading's
//! field and unit, the rows taken and those passed over with the reason.

use std::fmt::Write as _;
use std::sync::Arc;

use crate::finding::column_letters;
use crate::job::Reading;

/// What was understood, sheet by sheet; `unread` are the sheets that are none of the schedule's.
#[must_use]
pub fn describe(readings: &[Reading], unread: &[Arc<str>]) -> String {
    let mut text = String::new();
    for reading in readings {
        let _: std::fmt::Result = one(&mut text, reading);
    }
    for sheet in unread {
        let _: std::fmt::Result = writeln!(text, "{sheet}: not read");
    }
    text
}

fn one(text: &mut String, reading: &Reading) -> std::fmt::Result {
    let is_head = reading.key == "head";
    write!(text, "{}: read as {}, found by {}", reading.sheet, reading.key, reading.found_by)?;
    if is_head {
        writeln!(text)?;
    } else {
        writeln!(text, ", headings in row {}", reading.heading_row + 1)?;
    }
    for heading in &reading.headings {
        let column = column_letters(heading.column);
        write!(text, "  {column:>3}  {}", heading.typed)?;
        if heading.is_known {
            write!(text, " -> {}", heading.key)?;
            if let Some(unit) = heading.unit {
                write!(text, ", bare numbers are {unit}")?;
            }
        } else {
            write!(text, " -> carried along under its heading")?;
        }
        writeln!(text)?;
    }
    writeln!(text, "  rows taken: {}", reading.taken)?;
    let mut whys: Vec<&'static str> = Vec::new();
    for (_, why) in &reading.passed {
        if !whys.contains(why) {
            whys.push(why);
        }
    }
    for why in whys {
        let rows = reading.passed.iter().filter(|(_, w)| *w == why).map(|(row, _)| *row);
        writeln!(text, "  passed over, {why}: rows {}", ranges(rows))?;
    }
    if !reading.left_out.is_empty() {
        let mut rows = reading.left_out.clone();
        rows.sort_unstable();
        writeln!(text, "  left out for an error: rows {}", ranges(rows.into_iter()))?;
    }
    for remark in &reading.remarks {
        writeln!(text, "  {remark}")?;
    }
    Ok(())
}

/// Rows from 0 as `3, 5-9` from 1.
fn ranges(rows: impl Iterator<Item = u32>) -> String {
    const SHOWN: usize = 20;
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for row in rows.map(|row| row + 1) {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == row => *last = row,
            _ => runs.push((row, row)),
        }
    }
    let mut parts: Vec<String> = runs
        .iter()
        .take(SHOWN)
        .map(|(a, b)| if a == b { a.to_string() } else { format!("{a}-{b}") })
        .collect();
    if runs.len() > SHOWN {
        parts.push("\u{2026}".to_owned());
    }
    parts.join(", ")
}
