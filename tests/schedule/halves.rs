//! Large sheets are read by two threads, from the top and from the middle: what comes of them is what
//! one thread reads, whatever stands in them.

use std::fmt::Write as _;
use std::num::NonZeroUsize;

use baytally::schedule::{Limits, ReadOptions, read_bytes};

use super::hostile::{book, sheet};

const ROWS: usize = 3_000;

/// Rows of bays; `cell` writes a cell that names its column, its row and its text.
fn rows(cell: impl Fn(char, usize, &str) -> String) -> Vec<String> {
    let row = |at: usize| {
        let bay = ["2", &format!("bay {at}"), "3x12", "3@10'", &format!("{}'", 20 + at % 40)];
        let cells: String = ('A'..).zip(bay).map(|(column, text)| cell(column, at, text)).collect();
        format!("<row r=\"{at}\" spans=\"1:5\">{cells}</row>")
    };
    (3..ROWS + 3).map(row).collect()
}

fn inline(column: char, row: usize, text: &str) -> String {
    let place = "style of a cell written at length, so that the sheet is a large one";
    format!("<c r=\"{column}{row}\" t=\"inlineStr\" x=\"{place}\"><is><t>{text}</t></is></c>")
}

/// What is read of a workbook.
#[derive(PartialEq)]
struct Read {
    bays: Vec<String>,
    findings: String,
    /// All that is known of the job.
    job: Vec<u8>,
}

fn read(bytes: &[u8], threads: usize) -> Read {
    let threads = NonZeroUsize::new(threads).unwrap();
    let options = ReadOptions { threads, ..ReadOptions::default() };
    match read_bytes(bytes.to_vec(), "large.xlsx", &options) {
        Ok((job, findings)) => {
            let bays = job.bays.iter().map(|bay| bay.mark.to_string()).collect();
            let findings = findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
            Read { bays, findings, job: serde_json::to_vec(&job).unwrap() }
        }
        Err(why) => Read { bays: Vec::new(), findings: why.to_string(), job: Vec::new() },
    }
}

/// The same on one thread and two; gives it.
#[track_caller]
fn alike(bytes: &[u8]) -> Read {
    let one = read(bytes, 1);
    for _ in 0..3 {
        let two = read(bytes, 2);
        assert_eq!(two.findings, one.findings);
        assert_eq!(two.bays.len(), one.bays.len());
        assert!(two == one, "two threads read something else");
    }
    one
}

#[track_caller]
fn alike_rows(rows: &[String], others: &[(&str, &[u8])]) -> Read {
    let sheet = sheet(&rows.concat(), "<mergeCells><mergeCell ref=\"A1:A2\"/></mergeCells>");
    assert!(sheet.len() > 1 << 20, "{} bytes", sheet.len());
    alike(&book(&sheet, others))
}

/// Bays are read down to the last.
#[track_caller]
fn to_the_last(read: &Read) {
    let last = format!("bay {}", ROWS + 2);
    assert_eq!(read.bays.last(), Some(&last), "{}", read.findings);
}

#[test]
fn plain_rows() {
    to_the_last(&alike_rows(&rows(inline), &[]));
}

#[test]
fn shared_texts() {
    let mut texts = String::from("<sst>");
    for row in 3..ROWS + 3 {
        for text in ["2", &format!("bay {row}"), "3x12", "3@10'", "30'"] {
            write!(texts, "<si><t>{text}</t></si>").unwrap();
        }
    }
    texts.push_str("</sst>");
    let shared = |column: char, row: usize, _: &str| {
        let at = (row - 3) * 5 + (column as usize - 'A' as usize);
        let place = "style of a cell written at length, so that the sheet is a large one";
        format!("<c r=\"{column}{row}\" t=\"s\" x=\"{place}\"><v>{at}</v></c>")
    };
    to_the_last(&alike_rows(&rows(shared), &[("xl/sharedStrings.xml", texts.as_bytes())]));
}

#[test]
fn rows_that_begin_in_no_order() {
    let mut all = rows(inline);
    all.swap(100, ROWS - 100);
    all.swap(ROWS / 2, ROWS / 2 - 300);
    alike_rows(&all, &[]);
    // Twice the same number, on both sides of the middle.
    let all = rows(inline);
    let twice = [&all[..ROWS / 2], &all[ROWS / 2 - 200..]].concat();
    alike_rows(&twice, &[]);
}

#[test]
fn rows_and_cells_without_numbers() {
    let plain = |column: char, row: usize, text: &str| {
        inline(column, row, text).replace(&format!(" r=\"{column}{row}\""), "")
    };
    to_the_last(&alike_rows(&rows(plain), &[]));
    let numbers = |at: usize, row: String| match at % 7 {
        0 => row,
        _ => row.replacen(&format!(" r=\"{}\"", at + 3), "", 1),
    };
    let some: Vec<String> =
        rows(plain).into_iter().enumerate().map(|(at, row)| numbers(at, row)).collect();
    to_the_last(&alike_rows(&some, &[]));
}

#[test]
fn strange_cells_before_and_behind_the_middle() {
    for at in [50, ROWS / 3, ROWS / 2, ROWS * 2 / 3, ROWS - 1] {
        let mut all = rows(inline);
        let row = at + 3;
        let strange = format!("<c r=\"E{row}\"><v>no number</v></c>");
        all[at] = all[at].replace(&inline('E', row, &format!("{}'", 20 + row % 40)), &strange);
        let read = alike_rows(&all, &[]);
        assert!(read.findings.contains("no number"), "row {row}");
        if row != ROWS + 2 {
            to_the_last(&read);
        }
    }
}

#[test]
fn comments_that_look_like_rows() {
    for at in [50, ROWS / 2, ROWS - 50] {
        let mut all = rows(inline);
        let ghost = format!("<!-- {} -->", all[at].replace("bay", "ghost"));
        all.insert(at, ghost);
        let read = alike_rows(&all, &[]);
        assert!(!read.bays.iter().any(|mark| mark.contains("ghost")));
        to_the_last(&read);
        let mut all = rows(inline);
        all[at] =
            all[at].replace(&format!("<t>bay {}</t>", at + 3), "<t><![CDATA[<row r=\"7\">]]></t>");
        to_the_last(&alike_rows(&all, &[]));
    }
}

#[test]
fn cells_off_the_sheet_and_sheets_that_break_off() {
    for at in [ROWS / 3, ROWS - 300] {
        let mut all = rows(inline);
        all[at] = all[at].replace(&format!("r=\"E{}\"", at + 3), "r=\"E4000000\"");
        alike_rows(&all, &[]);
        let mut all = rows(inline);
        all[at] = all[at].replace(&format!("r=\"E{}\"", at + 3), &format!("r=\"ZZ{}\"", at + 3));
        to_the_last(&alike_rows(&all, &[]));
        let mut all = rows(inline);
        all[at] = all[at].replace("</row>", "");
        alike_rows(&all, &[]);
        let mut all = rows(inline);
        all[at].push_str("</sheetData></worksheet>");
        alike_rows(&all, &[]);
        let whole = sheet(&rows(inline).concat(), "");
        alike(&book(&whole[..whole.len() / ROWS * at], &[]));
    }
    let bytes = book(&sheet(&rows(inline).concat(), ""), &[]);
    for share in [2, 5, 9] {
        alike(&bytes[..bytes.len() / 10 * share]);
    }
}

#[test]
fn limits_that_are_reached_behind_the_middle() {
    let bytes = book(&sheet(&rows(inline).concat(), ""), &[]);
    let read = |threads, smaller: fn(&mut Limits)| {
        let threads = NonZeroUsize::new(threads).unwrap();
        let mut options = ReadOptions { threads, ..ReadOptions::default() };
        smaller(&mut options.limits);
        let read = read_bytes(bytes.clone(), "large.xlsx", &options);
        read.map(|(job, _)| job.bays.len()).map_err(|unreadable| unreadable.to_string())
    };
    let smaller: [fn(&mut Limits); 3] = [
        |limits| limits.cells = 14_000,
        |limits| limits.text_bytes = 60_000,
        |limits| limits.rows = 2_900,
    ];
    for smaller in smaller {
        let one = read(1, smaller);
        assert!(one.as_ref().is_err_and(|why| why.contains("over-limit")), "{one:?}");
        assert_eq!(read(2, smaller), one);
    }
}
