//! Texts longer than the cells of a form: none is cut off, and no column changes.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use baytally::value::{Record, Value};
use baytally::workbook::form::Form;
use rust_xlsxwriter::{Format, FormatAlign as Align, Workbook};

use super::demo::text;
use super::form::{changed, lines, part, shop, values};

const SHEET: &str = "xl/worksheets/sheet1.xml";

fn bundled() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/order-form.xlsx");
    fs::read(path).unwrap()
}

fn with(mut record: Record, key: &str, value: &str) -> Record {
    record.insert(Arc::from(key), text(value));
    record
}

/// Lines whose marks tell themselves apart at their ends alone.
fn marked(marks: &[&str]) -> Vec<Record> {
    let all = lines(u32::try_from(marks.len()).unwrap());
    all.into_iter().zip(marks).map(|(line, mark)| with(line, "mark", mark)).collect()
}

fn filled(form: Vec<u8>, values: &Record, lines: &[Record]) -> Vec<u8> {
    Form::open(form).unwrap().fill(values, lines).unwrap().bytes
}

/// The start tag of a row or cell: `row r="10"`, `c r="A10"`.
fn tag(xml: &str, start: &str) -> String {
    let from = xml.find(&format!("<{start}")).unwrap_or_else(|| panic!("no {start}"));
    xml[from..from + xml[from..].find('>').unwrap()].to_owned()
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    Some(rest.split_once('"')?.0.to_owned())
}

/// A row's height, where it has one of its own.
fn height(book: &[u8], row: u32) -> Option<f64> {
    let tag = tag(&part(book, SHEET), &format!("row r=\"{row}\""));
    attribute(&tag, "customHeight").filter(|own| own == "1")?;
    attribute(&tag, "ht").map(|height| height.parse().unwrap())
}

/// Whether a cell's format wraps its text.
fn wraps(book: &[u8], cell: &str) -> bool {
    let tag = tag(&part(book, SHEET), &format!("c r=\"{cell}\""));
    let style: usize = attribute(&tag, "s").map_or(0, |style| style.parse().unwrap());
    let styles = part(book, "xl/styles.xml");
    let (_, formats) = styles.split_once("<cellXfs").unwrap();
    let (formats, _) = formats.split_once("</cellXfs>").unwrap();
    let count: usize =
        attribute(formats.split_once('>').unwrap().0, "count").unwrap().parse().unwrap();
    let all: Vec<&str> = formats.split("<xf ").skip(1).collect();
    assert_eq!(all.len(), count, "formats are miscounted");
    all[style].contains("wrapText=\"1\"")
}

fn columns(book: &[u8]) -> String {
    let sheet = part(book, SHEET);
    let (_, rest) = sheet.split_once("<cols>").unwrap();
    rest.split_once("</cols>").unwrap().0.to_owned()
}

#[test]
fn the_bundled_form_shows_long_marks_whole() {
    let marks = ["D1-1", "COMP-3-20-G60-11", "NORTH-EAST-QUADRANT-COMP-3-20-G60-111"];
    let book = filled(bundled(), &values(), &marked(&marks));
    assert!((10..=12).all(|row| wraps(&book, &format!("A{row}"))));
    assert_eq!([10, 11].map(|row| height(&book, row)), [None, None]);
    // 41 widths of a digit in a column of 18: three lines, however programs break them.
    assert_eq!(height(&book, 12), Some(45.0));
    assert_eq!(columns(&book), columns(&bundled()));
}

#[test]
fn a_long_address_goes_on_below_in_the_bundled_form() {
    let address = "Laydown yard behind the invented creamery, Gate 7, 1180 Old Quarry Turnpike \
                   South, Nowhere Falls; no deliveries on market days; trailers of 53 ft at most";
    let short = filled(bundled(), &values(), &lines(1));
    assert_eq!(height(&short, 5), None);
    let book = filled(bundled(), &with(values(), "ship_to", address), &lines(1));
    assert!(wraps(&book, "J5"));
    assert_eq!(height(&book, 5), Some(30.0));
    assert!(part(&book, SHEET).contains("<mergeCell ref=\"J5:O5\"/>"));
}

#[test]
fn a_shops_form_wraps_what_the_next_cell_would_cut() {
    let marks = ["D1-1", "FD-20G60-1", "FD-20G60-10"];
    let short = filled(shop(), &values(), &lines(3));
    assert!(!changed(&shop(), &short).contains(&"xl/styles.xml".to_owned()), "all fits");
    let book =
        filled(shop(), &with(values(), "customer", "Example Erectors of Nowhere"), &marked(&marks));
    let wrapped = ["A10", "A11", "A12"].map(|cell| wraps(&book, cell));
    assert_eq!(wrapped, [false, true, true]);
    // The rows were 16 points high.
    assert_eq!(height(&book, 12), Some(30.0));
    assert_eq!(columns(&book), columns(&shop()));
    // The customer with the place would run into `Ship by`; the job's name is free to run on.
    assert!(wraps(&book, "B6") && !wraps(&book, "B5"));
    // It takes the blank cells up to there.
    assert_eq!(height(&book, 6), Some(30.0));
    let sheet = part(&book, SHEET);
    assert!(sheet.contains("<mergeCell ref=\"B6:D6\"/></mergeCells>"), "{sheet}");
    let (_, merged) = sheet.split_once("<mergeCells").unwrap();
    let count = merged.matches("<mergeCell ").count();
    assert_eq!(attribute(&format!("<mergeCells{merged}"), "count"), Some(count.to_string()));
}

#[test]
fn rows_that_come_on_top_are_fitted_too() {
    let marks: Vec<String> = (1..=12).map(|at| format!("FD-20G60-{at}")).collect();
    let marks: Vec<&str> = marks.iter().map(String::as_str).collect();
    let book = filled(shop(), &values(), &marked(&marks));
    for row in 10..=21 {
        assert!(wraps(&book, &format!("A{row}")) && height(&book, row) == Some(30.0), "row {row}");
    }
}

#[test]
fn numbers_are_left_as_they_are() {
    let mut line = lines(1).remove(0);
    line.insert(Arc::from("deck_lb"), Value::Number(123_456_789_012.0));
    let book = filled(shop(), &values(), &[line]);
    assert!(!wraps(&book, "I10"));
}

/// A title in the middle of blank cells runs on over them on both sides, and is no tower of words.
#[test]
fn titles_beside_blank_cells_stay_on_one_line() {
    let mut form = Workbook::new();
    let sheet = form.add_worksheet();
    sheet.write_string(30, 9, "edge").unwrap();
    let side = |align| Format::new().set_align(align);
    let sides = [Align::Left, Align::Center, Align::Right, Align::CenterAcross];
    for (row, align) in (0..).zip(sides) {
        // Free on both sides, then between words.
        sheet.write_string_with_format(row, 4, "{job}", &side(align)).unwrap();
        sheet.write_string(row + 10, 3, "before").unwrap();
        sheet.write_string_with_format(row + 10, 4, "{job}", &side(align)).unwrap();
        sheet.write_string(row + 10, 5, "behind").unwrap();
    }
    let book = filled(form.save_to_buffer().unwrap(), &values(), &[]);
    let wrapped = |row: u32| wraps(&book, &format!("E{row}"));
    assert_eq!([1, 2, 3, 4].map(wrapped), [false; 4]);
    assert_eq!([11, 12, 13, 14].map(wrapped), [true, true, true, false]);
    assert!(!part(&book, SHEET).contains("<mergeCell "), "there is no free cell between the words");
}

/// An entry longer than the form is wide takes the blank cells to the form's edge, in the middle of
/// inserted rows too; in a table none may be merged.
#[test]
fn a_long_entry_takes_the_blank_cells_beside_it() {
    let address =
        "Gate 3, 18 Millrace Road, Nowhere Falls; deliveries from 6:30 to 14:00, call before";
    let form = |with_table: bool| {
        let mut form = Workbook::new();
        let sheet = form.add_worksheet();
        sheet.write_string(0, 0, "{ship_to}").unwrap();
        let line = Format::new().set_bold();
        for (column, field) in (0..).zip(["mark", "count", "type", "length"]) {
            sheet.write_string_with_format(2, column, format!("{{line.{field}}}"), &line).unwrap();
        }
        sheet.write_string(4, 0, "To {ship_to}").unwrap();
        if with_table {
            sheet.add_table(8, 0, 9, 1, &rust_xlsxwriter::Table::new()).unwrap();
        }
        form.save_to_buffer().unwrap()
    };
    let values = with(values(), "ship_to", address);
    let book = filled(form(false), &values, &lines(3));
    let sheet = part(&book, SHEET);
    let merged =
        "<mergeCells count=\"2\"><mergeCell ref=\"A1:D1\"/><mergeCell ref=\"A7:D7\"/></mergeCells>";
    assert!(sheet.contains(&format!("</sheetData>{merged}<pageMargins")), "{sheet}");
    assert_eq!([1, 7].map(|row| height(&book, row)), [Some(30.0); 2]);
    let book = filled(form(true), &values, &lines(3));
    assert!(!part(&book, SHEET).contains("<mergeCell "));
}
