//! The limits of reading: each is stated in the help, is said with the place where a workbook is
//! over it and the flag that raises it, and is raised by that flag.

use std::fmt::Write as _;

use baytally::schedule::{Limit, Limits, ReadOptions, Setting, read, read_bytes};

use super::hostile::{book, sheet};
use crate::support::program::Desk;
use crate::support::schedule_builder::{Schedule, schedule, with_types};

/// 70 bays, one of them with a note of 3,000 signs.
fn made() -> Schedule {
    let note = "a long note ".repeat(250);
    let mut made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Note"]);
    for bay in 0..70 {
        let note = if bay == 0 { note.as_str() } else { "" };
        made = made.row(["2", &format!("A{bay}"), "D1", "3@10'", "31'", note]);
    }
    made
}

fn setting(text: &str) -> Setting {
    text.parse().unwrap_or_else(|why| panic!("{text}: {why}"))
}

/// What is said of the workbook under limits that are made smaller.
fn said(bytes: Vec<u8>, name: &str, smaller: impl Fn(&mut Limits)) -> String {
    let mut limits = Limits::default();
    smaller(&mut limits);
    let options = ReadOptions { limits, ..ReadOptions::default() };
    match read_bytes(bytes, name, &options) {
        Ok((job, _)) => format!("{} bays", job.bays.len()),
        Err(unreadable) => unreadable.to_string(),
    }
}

#[test]
fn a_workbook_over_a_limit_is_told_which_and_where_and_what_raises_it() {
    // What makes a limit smaller, what is said, what raises it.
    type Case<'a> = (&'a dyn Fn(&mut Limits), &'a str, &'a str);
    let delete = "\n  hint: delete what does not belong into the workbook, or raise the limit: ";
    let cases: [Case<'_>; 7] = [
        (
            &|limits| limits.rows = 40,
            "Bays: error[over-limit]: the workbook has more than 40 rows with content: the limit is \
             reached in row 38 of `Bays`, at most so much is read",
            "rows=80",
        ),
        (
            &|limits| limits.cells = 100,
            "Bays: error[over-limit]: the workbook has more than 100 cells with content: the limit \
             is reached in row 15 of `Bays`, at most so much is read",
            "cells=200",
        ),
        (
            &|limits| limits.seconds = 0,
            "Bays: error[over-limit]: the workbook has more than can be read in 0 seconds: the \
             limit is reached in row 61 of `Bays`, at most so much is read",
            "seconds=1",
        ),
        (
            &|limits| limits.text_bytes = 1 << 12,
            "schedule.xlsx: error[over-limit]: `schedule.xlsx` has a part `xl/sharedStrings.xml` of \
             * bytes unpacked, at most 4096 are read",
            "text-mb=1",
        ),
        (
            &|limits| limits.sheet_bytes = 1 << 12,
            "schedule.xlsx: error[over-limit]: `schedule.xlsx` has a part `xl/worksheets/sheet2.xml` \
             of * bytes unpacked, at most 4096 are read",
            "sheet-mb=1",
        ),
        (
            &|limits| limits.part_bytes = 1 << 10,
            "schedule.xlsx: error[over-limit]: `schedule.xlsx` has a part `[Content_Types].xml` of \
             * bytes unpacked, at most 1024 are read",
            "part-mb=1",
        ),
        (
            &|limits| limits.parts = 7,
            "schedule.xlsx: error[over-limit]: `schedule.xlsx` has 11 parts, at most 7 are read",
            "parts=14",
        ),
    ];
    for (smaller, why, flag) in cases {
        let found = said(made().bytes(), "schedule.xlsx", smaller);
        // Where a `*` stands the size is the writing library's matter.
        let (begin, end) = why.split_once('*').unwrap_or((why, ""));
        assert!(found.starts_with(begin), "{found}\nwanted {begin}");
        assert!(found.ends_with(&format!("{end}{delete}`--limit {flag}`")), "{found}");
        let raised = said(made().bytes(), "schedule.xlsx", |limits| limits.set(setting(flag)));
        let few = ["rows=80", "cells=200", "text-mb=1", "parts=14"].contains(&flag);
        assert!(raised == "70 bays" || few && raised.contains("over-limit"), "{flag}: {raised}");
    }
}

#[test]
fn a_value_over_its_limit_is_told_so() {
    let note = "x".repeat(300 << 10);
    let cell = format!("<row r=\"3\"><c r=\"F3\" t=\"str\"><v>{note}</v></c></row>");
    let bytes = book(&sheet(&cell, ""), &[]);
    assert_eq!(
        said(bytes.clone(), "value.xlsx", |_| ()),
        "Bays: error[over-limit]: the workbook has a part `xl/worksheets/sheet1.xml` with one value \
         of more than 262144 bytes\n  hint: delete what does not belong into the workbook, or raise \
         the limit: `--limit value-kb=512`"
    );
    assert_eq!(said(bytes, "value.xlsx", |limits| limits.set(setting("value-kb=512"))), "1 bays");
}

/// The formats that are read as a rectangle.
#[test]
fn a_rectangle_over_its_limit_is_told_so() {
    for (file, bytes) in [
        ("old.xls", include_bytes!("people/old.xls").to_vec()),
        ("open.ods", include_bytes!("people/open.ods").to_vec()),
    ] {
        let found = said(bytes.clone(), file, |limits| limits.rectangle_cells = 20);
        assert!(found.starts_with(&format!("{file}: error[over-limit]: `{file}` has a sheet")));
        assert!(found.contains("at most 20 cells are read"), "{found}");
        assert!(found.ends_with("raise the limit: `--limit rectangle-cells=40`"), "{found}");
        let flag = setting("rectangle-cells=4000");
        assert_eq!(said(bytes, file, |limits| limits.set(flag)), "10 bays");
    }
}

#[test]
fn a_file_over_its_limit_is_not_even_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.xlsx");
    std::fs::File::create(&path).unwrap().set_len(101 << 20).unwrap();
    assert_eq!(
        read(&path, &ReadOptions::default()).unwrap_err().to_string(),
        "large.xlsx: error[over-limit]: `large.xlsx` has 105906176 bytes, at most 104857600 are \
         read\n  hint: delete what does not belong into the workbook, or raise the limit: `--limit \
         file-mb=200`"
    );
    let mut options = ReadOptions::default();
    options.limits.set(setting("file-mb=200"));
    let said = read(&path, &options).unwrap_err().to_string();
    assert!(said.starts_with("large.xlsx: error[no-workbook]: `large.xlsx` is no workbook"));
}

/// A limit at its most is not said to be raisable.
#[test]
fn the_most_of_a_limit_is_said() {
    let mut limits = Limits::default();
    limits.set(setting("parts=60000"));
    let sheet = made().bytes();
    assert_eq!(said(sheet, "schedule.xlsx", |l| *l = limits), "70 bays");
    assert_eq!(
        "parts=60001".parse::<Setting>().unwrap_err(),
        "`60001` is no number of `parts`, wanted one from 1 to 60000"
    );
    assert_eq!("rows".parse::<Setting>().unwrap_err(), "wanted NAME=N, such as rows=1000000");
    assert!("lines=2".parse::<Setting>().unwrap_err().starts_with(
        "no limit has the name `lines`; known are file-mb, sheet-mb, text-mb, part-mb, parts"
    ));
}

#[test]
fn the_command_line_states_and_raises_them() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &made());
    let help = desk.run("check --help").out.split_whitespace().collect::<Vec<_>>().join(" ");
    for limit in Limit::ALL {
        assert!(help.contains(&format!("{} ", limit.name())), "{} in {help}", limit.name());
    }
    assert!(help.contains("rows 500000 (rows with content)"), "{help}");
    let over = desk.run("run schedule.xlsx --limit rows=40");
    assert_eq!(over.code, Some(2), "{over:?}");
    assert!(over.err.ends_with("raise the limit: `--limit rows=80`\n"), "{}", over.err);
    assert_eq!(desk.files(), ["schedule.xlsx"]);
    let raised = desk.run("check schedule.xlsx --limit rows=40 --limit rows=80");
    assert_eq!(raised.code, Some(0), "{raised:?}");
    let wrong = desk.run("check schedule.xlsx --limit rows=many");
    assert_eq!(wrong.code, Some(2));
    assert!(wrong.err.contains("`many` is no number of `rows`"), "{}", wrong.err);
    let mut all = String::from("check schedule.xlsx");
    for limit in Limit::ALL {
        write!(all, " --limit {}=1000", limit.name()).unwrap();
    }
    assert_eq!(desk.run(&all).code, Some(0));
}
