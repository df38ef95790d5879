//! What stands in a written workbook, read back with another library.

use std::fs;
use std::path::Path;

use baytally::finding::{Finding, Severity};
use baytally::table::{CAUTION, Chart, Report};
use baytally::value::Value;
use baytally::workbook::{WriteOptions, Written, write};
use calamine::{Data, Range, Reader, Xlsx, open_workbook};
use jiff::civil::date;

use super::demo::{self, at, column, table, text};

fn written(report: &Report, folder: &Path) -> (Written, Xlsx<std::io::BufReader<fs::File>>) {
    let path = folder.join("takeoff.xlsx");
    let written = write(report, &path, &WriteOptions::default()).unwrap();
    assert_eq!(written.bytes, fs::metadata(&path).unwrap().len());
    (written, open_workbook(&path).unwrap())
}

fn at_cell(range: &Range<Data>, cell: &str) -> Data {
    let letters = cell.trim_end_matches(|letter: char| letter.is_ascii_digit());
    let column =
        letters.bytes().fold(0_u32, |sum, letter| sum * 26 + u32::from(letter - b'A') + 1) - 1;
    let row: u32 = cell[letters.len()..].parse().unwrap();
    range.get_value((row - 1, column)).cloned().unwrap_or_default()
}

fn string(text: &str) -> Data {
    Data::String(text.to_string())
}

fn part(path: &Path, name: &str) -> String {
    let mut archive = zip::ZipArchive::new(fs::File::open(path).unwrap()).unwrap();
    std::io::read_to_string(archive.by_name(name).unwrap()).unwrap()
}

#[test]
fn sheets_stand_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let (written, book) = written(&demo::full(), folder.path());
    let names =
        ["Summary", "Charts", "Takeoff", "Order lines", "Pours", "Loads", "Checks", "Rules"];
    assert_eq!(book.sheet_names(), names);
    assert_eq!(written.sheets, names);
    assert_eq!(written.findings, []);
}

#[test]
fn a_table_stands_with_totals_above_its_heading() {
    let folder = tempfile::tempdir().unwrap();
    let report = demo::full();
    let (_, mut book) = written(&report, folder.path());
    let sheet = book.worksheet_range("Order lines").unwrap();
    assert_eq!(at_cell(&sheet, "A1"), string("Order lines"));
    assert_eq!(at_cell(&sheet, "A3"), string("Total"));
    assert_eq!(at_cell(&sheet, "A4"), string("Sequence"));
    assert_eq!(at_cell(&sheet, "E4"), string("Count"));
    assert_eq!(at_cell(&sheet, "F4"), string("Length\nft-in"));
    assert_eq!(at_cell(&sheet, "H4"), string("Weight\nlb"));
    assert_eq!(at_cell(&sheet, "E5"), Data::Float(14.0));
    assert_eq!(at_cell(&sheet, "D13"), string("A109"));
    // 14 + 17 + … + 38, nine terms.
    assert_eq!(at_cell(&sheet, "E3"), Data::Float(234.0));
    let order = report.table("order").unwrap();
    assert_eq!(at_cell(&sheet, "H3"), Data::Float(order.total(7).unwrap()));
    let formulas = book.worksheet_formula("Order lines").unwrap();
    assert_eq!(formulas.get_value((2, 4)).unwrap(), "SUBTOTAL(109,E5:E13)");
}

#[test]
fn hidden_columns_stay_out_and_dates_are_dates() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = written(&demo::full(), folder.path());
    let sheet = book.worksheet_range("Takeoff").unwrap();
    assert_eq!(at_cell(&sheet, "T4"), string("Wet slab\npsf"));
    assert_eq!(at_cell(&sheet, "U4"), string("On site"));
    let Data::DateTime(day) = at_cell(&sheet, "U5") else { panic!("a date") };
    assert_eq!(day.as_f64(), 46_083.0, "2026-03-02");
    assert_eq!(
        at_cell(&sheet, "V12"),
        string(
            "=not a formula, and a remark long enough to be \
        wrapped over more than one line of its cell on the sheet"
        )
    );
    assert!(
        !part(&folder.path().join("takeoff.xlsx"), "xl/worksheets/sheet2.xml").contains("<f>not")
    );
}

#[test]
fn an_error_costs_its_cell_and_makes_its_total_unknown() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = written(&demo::full(), folder.path());
    let sheet = book.worksheet_range("Takeoff").unwrap();
    assert_eq!(at_cell(&sheet, "N17"), string("#error"));
    assert_eq!(at_cell(&sheet, "N3"), string("#error"));
    assert!(matches!(at_cell(&sheet, "S3"), Data::Float(sum) if sum > 0.0), "no error in Concrete");
    assert_eq!(at_cell(&sheet, "W17"), string("error"));
}

#[test]
fn findings_are_marked_in_their_rows_and_linked_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = written(&demo::full(), folder.path());
    let takeoff = book.worksheet_range("Takeoff").unwrap();
    assert_eq!(at_cell(&takeoff, "W4"), string("Checks"));
    assert_eq!(at_cell(&takeoff, "W5"), string("note"));
    assert_eq!(at_cell(&takeoff, "W6"), Data::Empty);
    assert_eq!(at_cell(&takeoff, "W9"), string("warning"));
    assert_eq!(at_cell(&takeoff, "W13"), string("warning"));
    let pours = book.worksheet_range("Pours").unwrap();
    assert_eq!(at_cell(&pours, "G4"), Data::Empty, "nothing to look at");

    let checks = book.worksheet_range("Checks").unwrap();
    let row: Vec<Data> = ["A6", "B6", "C6", "D6", "F6"].map(|cell| at_cell(&checks, cell)).to_vec();
    assert_eq!(
        row,
        [
            "warning",
            "span-over-unshored-limit",
            "Bays!E6, Bays!E10",
            "Takeoff!J9, Takeoff!J13",
            "ask the engineer of record whether the deck is shored"
        ]
        .map(string)
    );
    let path = folder.path().join("takeoff.xlsx");
    assert!(part(&path, "xl/worksheets/sheet7.xml").contains("location=\"'Takeoff'!J9\""));
    assert!(part(&path, "xl/worksheets/sheet3.xml").contains("location=\"'Checks'!A6\""));
}

/// What is longer than the sheet is wide would make the printed page smaller.
#[test]
fn long_entries_go_on_below_in_the_summary() {
    let folder = tempfile::tempdir().unwrap();
    let job = "The very long invented name of a hospital extension, phase two, block C east, north";
    let address = "Laydown yard behind the invented creamery, Gate 7, 1180 Old Quarry Turnpike \
                   South, Nowhere Falls; no deliveries on market days; trailers of 53 ft at most";
    let mut report = demo::full();
    report.head.insert("Job".into(), text(job));
    report.head.insert("Ship to".into(), text(address));
    let (written, mut book) = written(&report, folder.path());
    let sheet = book.worksheet_range("Summary").unwrap();
    let (row, ..) = sheet.used_cells().find(|(.., cell)| **cell == string(address)).unwrap();
    let xml = part(&written.path, "xl/worksheets/sheet1.xml");
    let line = row + 1;
    assert!(xml.contains(&format!("<mergeCell ref=\"B{line}:F{line}\"/>")), "{xml}");
    assert!(xml.contains(&format!("<row r=\"{line}\" spans=\"1:6\" ht=\"30\"")), "{xml}");
    // The job's name fits.
    assert!(!xml.contains("<mergeCell ref=\"B4:"), "{xml}");
    // In the footer it would be printed over the sheet's name.
    let cut: String = job.chars().take(50).collect();
    assert!(xml.contains(&format!("&amp;L&amp;9 {cut}…&amp;C")), "{xml}");
}

#[test]
fn the_summary_says_whose_job_whether_complete_and_the_caution() {
    let folder = tempfile::tempdir().unwrap();
    let mut report = demo::full();
    let (_, mut book) = written(&report, folder.path());
    let cells = words(&book.worksheet_range("Summary").unwrap());
    for wanted in [
        "Invented Tower (demo)",
        "D-1001",
        "Figures",
        "Deck area",
        "errors",
        "Order lines",
        CAUTION,
    ] {
        assert!(cells.iter().any(|cell| cell == wanted), "{wanted}");
    }
    let banner =
        "INCOMPLETE: 1 error. Figures that rest on them are missing or partial. See Checks.";
    assert!(cells.iter().any(|cell| cell == banner));
    drop(book);

    report.findings.retain(|finding| finding.severity != Severity::Error);
    let (_, mut book) = written(&report, folder.path());
    let cells = words(&book.worksheet_range("Summary").unwrap());
    assert!(!cells.iter().any(|cell| cell.contains("INCOMPLETE")));
}

fn words(range: &Range<Data>) -> Vec<String> {
    range.used_cells().map(|(_, _, cell)| cell.to_string()).collect()
}

#[test]
fn rules_are_listed_with_their_origin() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = written(&demo::full(), folder.path());
    let rules = book.worksheet_range("Rules").unwrap();
    let row: Vec<String> =
        ["A6", "B6", "C6", "D6", "E6", "F6"].map(|cell| at_cell(&rules, cell).to_string()).to_vec();
    assert_eq!(row, ["rule", "concrete_waste(pour)", "1.05", "shop", "rules.rhai:3", "0badcafe"]);
}

#[test]
fn the_same_report_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("takeoff.xlsx");
    let bytes = || {
        write(&demo::full(), &path, &WriteOptions::default()).unwrap();
        fs::read(&path).unwrap()
    };
    let first = bytes();
    assert_eq!(first, bytes());
    let other = folder.path().join("other name.xlsx");
    write(&demo::full(), &other, &WriteOptions::default()).unwrap();
    assert_eq!(first, fs::read(other).unwrap());
    let core = part(&path, "docProps/core.xml");
    assert!(core.contains("2000-01-01T00:00:00Z"), "{core}");
}

#[test]
fn what_the_format_can_not_hold_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let mut odd = column("x", "X", "lb");
    odd.format = Some("0.00 lb".into());
    let report = demo::report(vec![
        table("a", "History", vec![odd], vec![vec![Value::Number(f64::NAN)]]),
        table(
            "b",
            "Level 1/2",
            vec![column("x", "X", "text")],
            vec![vec![text("y".repeat(40_000))]],
        ),
        table("c", "rules", vec![], vec![]),
        table("checks", "Checks", vec![column("x", "X", "text")], vec![vec![text("ignored")]]),
    ]);
    let (written, mut book) = written(&report, folder.path());
    let said: Vec<String> = written.findings.iter().map(Finding::to_string).collect();
    assert_eq!(
        said,
        [
            "a row 1 x: error[no-number]: found NaN, wanted a finite number",
            "takeoff.rhai:12:1: warning[bad-number-format]: `0.00 lb` is no number format; the \
             unit's is used\n  hint: put words in quotes: 0.00\" lb\"",
            "b row 1 x: warning[text-cut]: text beyond 32767 characters is cut",
            "note[sheet-renamed]: the table `History` stands on the sheet `History table`\n  hint: \
             a sheet's name has at most 31 characters, none of [ ] : * ? / \\, and is unique",
            "note[sheet-renamed]: the table `Level 1/2` stands on the sheet `Level 1-2`\n  hint: a \
             sheet's name has at most 31 characters, none of [ ] : * ? / \\, and is unique",
            "note[sheet-renamed]: the table `rules` stands on the sheet `rules (2)`\n  hint: a \
             sheet's name has at most 31 characters, none of [ ] : * ? / \\, and is unique",
        ]
    );
    assert_eq!(
        book.sheet_names(),
        ["Summary", "History table", "Level 1-2", "rules (2)", "Checks", "Rules"]
    );
    let checks = words(&book.worksheet_range("Checks").unwrap());
    assert!(checks.contains(&"text-cut".to_string()), "stands on the sheet too");
    let cut = at_cell(&book.worksheet_range("Level 1-2").unwrap(), "A5").to_string();
    assert!(cut.len() < 40_000 && cut.ends_with("… (cut)"));
    assert_eq!(at_cell(&book.worksheet_range("History table").unwrap(), "A5"), string("#error"));
}

#[test]
fn a_table_longer_than_a_sheet_goes_on_with_its_totals_on_the_first() {
    let rows = 1_048_576 - 4 + 3;
    let report = demo::report(vec![table(
        "long",
        "Long",
        vec![column("n", "N", "+count")],
        vec![vec![Value::Count(1)]; rows],
    )]);
    let folder = tempfile::tempdir().unwrap();
    let (written, mut book) = written(&report, folder.path());
    assert_eq!(written.sheets, ["Summary", "Long", "Long (2)", "Checks", "Rules"]);
    assert_eq!(
        written.findings[0].message,
        "the table `Long` has 1048575 rows and goes on from sheet `Long` to `Long (2)`; the totals \
         on `Long` count all of it"
    );
    let rest = book.worksheet_range("Long (2)").unwrap();
    assert_eq!(rest.end(), Some((6, 0)));
    assert_eq!(at_cell(&rest, "A3"), Data::Empty, "totals stand once");
    let path = folder.path().join("takeoff.xlsx");
    let head: String = part(&path, "xl/worksheets/sheet2.xml").chars().take(4_000).collect();
    let formula = "<f>SUBTOTAL(109,'Long'!A5:A1048576)+SUBTOTAL(109,'Long (2)'!A5:A7)</f>\
        <v>1048575</v>";
    assert!(head.contains(formula), "{head}");
}

#[test]
fn nothing_at_all_still_makes_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let report = Report {
        tables: vec![table("t", "", vec![column("x", "", "+lb")], vec![]).into()],
        findings: vec![Finding::note("n", "m").at(at("t", 9, "x")).at(at("gone", 0, "x"))],
        ..Report::default()
    };
    let (_, book) = written(&report, folder.path());
    assert_eq!(book.sheet_names(), ["Summary", "Table", "Checks", "Rules"]);
}

#[test]
fn charts_add_up_by_category() {
    let folder = tempfile::tempdir().unwrap();
    let mut report = demo::full();
    report.charts.push(Chart {
        title: "Astray".into(),
        table: "pours".into(),
        category: "day".into(),
        value: "nothing".into(),
    });
    let (written, mut book) = written(&report, folder.path());
    assert_eq!(
        written.findings.iter().map(Finding::to_string).collect::<Vec<_>>(),
        ["warning[chart-left-out]: the chart `Astray` asks for a column `nothing` of the table \
          `pours`"]
    );
    let sheet = book.worksheet_range("Charts").unwrap();
    assert_eq!(at_cell(&sheet, "A4"), string("Concrete a day"));
    assert_eq!(at_cell(&sheet, "B5"), string("To order, yd3"));
    // P1 and P2 on the first of four days: 106.25 + 111.25.
    assert_eq!(at_cell(&sheet, "B6"), Data::Float(217.5));
    assert_eq!(at_cell(&sheet, "A10"), Data::Empty);
    let formulas = book.worksheet_formula("Charts").unwrap();
    assert_eq!(
        formulas.get_value((5, 1)).unwrap(),
        "SUMPRODUCT(--('Pours'!$B$5:$B$12=A6),'Pours'!$D$5:$D$12)"
    );
    // Level 3 holds the bay whose weight is an error.
    let levels: Vec<Data> = (29..31).map(|row| at_cell(&sheet, &format!("B{row}"))).collect();
    assert!(matches!(levels[0], Data::Float(_)), "{levels:?}");
    assert_eq!(levels[1], string("#error"));
    assert!(part(&folder.path().join("takeoff.xlsx"), "xl/charts/chart3.xml").contains("Fill of"));
}

/// Formats are numbered as they are met, and threads write large sheets in whatever order.
#[test]
fn threads_change_no_byte() {
    const ROWS: u32 = 4_000;
    let units =
        ["text", "+lb", "date", "", "any", "ft", "psf", "text", "count", "%", "in", "yd3", "ft2"];
    let tables = ["a", "b", "c"].map(|key| {
        let columns = units
            .iter()
            .enumerate()
            .map(|(at, unit)| column(&format!("c{at}"), &format!("Column {at} of {key}"), unit));
        let of_row = |row: u32| -> Vec<Value> {
            (0..)
                .zip(units)
                .map(|(at, _)| match (row + at) % 11 {
                    0 => Value::Blank,
                    1 => Value::Error("none".into()),
                    2 => Value::Date(date(2026, 3, 2)),
                    3 => text("=1+1"),
                    4 => text("-4"),
                    5 => Value::Bool(true),
                    6 => text("plain"),
                    _ => Value::Number(f64::from(row) / 7.0),
                })
                .collect()
        };
        table(key, &format!("Table {key}"), columns.collect(), (0..ROWS).map(of_row).collect())
    });
    let mut report = demo::report(tables.into());
    for (at, key) in (0..).zip(["c", "b", "a", "b"]) {
        let find = [Finding::error, Finding::warning, Finding::note, Finding::warning][at as usize];
        report.findings.push(find("look", format!("ask {at}")).at(self::at(key, 30 + at, "c4")));
    }
    let folder = tempfile::tempdir().unwrap();
    let bytes = |threads: usize| {
        let path = folder.path().join("takeoff.xlsx");
        let threads = std::num::NonZeroUsize::new(threads);
        let options = WriteOptions { replace: true, threads, ..WriteOptions::default() };
        write(&report, &path, &options).unwrap();
        fs::read(path).unwrap()
    };
    let alone = bytes(1);
    for threads in [2, 3, 2, 7] {
        assert!(bytes(threads) == alone, "{threads} threads");
    }
}

/// Large tables are written another way; what stands in them is the same.
#[test]
fn a_large_table_holds_what_a_small_one_does() {
    const ROWS: u32 = 7_000;
    let units = ["text", "count", "+lb", "ft", "ft-in", "date", "text", "psf"];
    let columns: Vec<_> = units.iter().map(|unit| column(unit, unit, unit)).collect();
    let rows = (0..ROWS).map(|row| {
        vec![
            text(format!("B{row}")),
            Value::Count(i64::from(row)),
            Value::Number(f64::from(row) * 1.7),
            if row % 5 == 0 { Value::Blank } else { Value::Number(f64::from(row) / 16.0) },
            text("30'-6\""),
            Value::Date(date(2026, 3, 2)),
            text(["=1+1", "-4\"", "plain"][row as usize % 3]),
            if row == 6_543 { Value::Error("no depth".into()) } else { Value::Bool(row % 2 == 0) },
        ]
    });
    let mut report = demo::report(vec![table("t", "Large", columns, rows.collect())]);
    report.findings = vec![Finding::warning("look", "ask").at(at("t", 6_000, "ft"))];
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = written(&report, folder.path());
    let sheet = book.worksheet_range("Large").unwrap();
    let large = &report.tables[0];
    for row in 0..ROWS {
        for (at, value) in (0..).zip(large.row(row as usize).iter()) {
            let found = sheet.get_value((row + 4, at)).cloned().unwrap_or_default();
            match (&*value, found) {
                (Value::Blank, Data::Empty) => {}
                (Value::Text(text), Data::String(found)) => assert_eq!(**text, found),
                (Value::Bool(flag), Data::String(found)) => assert_eq!(*flag, found == "yes"),
                (Value::Error(_), Data::String(found)) => assert_eq!(found, "#error"),
                (Value::Date(_), Data::DateTime(day)) => assert_eq!(day.as_f64(), 46_083.0),
                (number, Data::Float(found)) => assert_eq!(number.as_number(), Some(found)),
                (value, found) => panic!("{value} in row {row} was read as {found:?}"),
            }
        }
    }
    assert_eq!(at_cell(&sheet, "C3"), Data::Float(large.total(2).unwrap()));
    assert_eq!(at_cell(&sheet, "I6005"), string("warning"));
    assert_eq!(at_cell(&sheet, "I6548"), string("error"));
    let path = folder.path().join("takeoff.xlsx");
    assert!(!part(&path, "xl/worksheets/sheet2.xml").contains("<f>1+1"));
}

/// A large sheet is packed apart from the book: what the book's other parts say of it fits it.
#[test]
fn the_parts_of_a_book_fit_its_large_sheets() {
    let columns = ["text", "count", "+lb", "ft", "date", "any", "psf", "in"].map(|unit| {
        let mut column = column(unit, unit, unit);
        column.note = (unit == "ft").then(|| "measured along the flutes".into());
        column
    });
    let row = |row: u32| {
        let mut values = vec![Value::Number(f64::from(row)); columns.len()];
        values[0] = text(format!("B{row}"));
        if row == 6_500 {
            values[5] = Value::Error("no depth".into());
        }
        values
    };
    let rows = |rows: u32| (0..rows).map(row).collect::<Vec<_>>();
    let small = table("s", "2", columns.to_vec(), rows(9));
    let mut report = demo::report(vec![small, table("t", "1", columns.to_vec(), rows(7_000))]);
    report.findings = vec![Finding::warning("look", "ask").at(at("t", 6_000, "ft"))];
    let folder = tempfile::tempdir().unwrap();
    written(&report, folder.path());
    let part = |name: &str| part(&folder.path().join("takeoff.xlsx"), name);
    let between = |text: &str, from: &str, to: &str| -> Vec<String> {
        let ends = text.split(from).skip(1).filter_map(|rest| rest.split(to).next());
        ends.map(str::to_owned).collect()
    };

    let sheet = part("xl/worksheets/sheet3.xml");
    assert_eq!(between(&sheet, "<row r=\"", "\"").len(), 7_004);
    assert!(sheet.contains("B6999") && !sheet.contains("tabSelected"));
    assert!(part("xl/worksheets/sheet1.xml").contains("tabSelected"));
    let relations = part("xl/worksheets/_rels/sheet3.xml.rels");
    let ids = between(&sheet, "<legacyDrawing r:id=\"", "\"");
    let drawing = relations.split("<Relationship ").find(|it| it.contains("vmlDrawing")).unwrap();
    assert_eq!(ids, between(drawing, "Id=\"", "\""));
    let comments = between(&relations, "Target=\"../comments", "\"").concat();
    let comments = part(&format!("xl/comments{comments}"));
    assert_eq!(between(&comments, "<comment ref=\"", "\""), ["D4", "F6505"]);
    let book = part("xl/workbook.xml");
    assert!(book.contains("'1'!$A$4:$I$7004"), "{book}");
    assert!(book.contains("'1'!$4:$4"), "{book}");
    let styles = between(&part("xl/styles.xml"), "<cellXfs count=\"", "\"").concat();
    let styles: usize = styles.parse().unwrap();
    let used = between(&sheet, " s=\"", "\"");
    assert!(used.iter().all(|style| style.parse::<usize>().unwrap() < styles));
    assert!(used.len() > 8, "{used:?}");
}
