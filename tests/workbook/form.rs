//! Forms filled: what may change and what must not, feature by feature.

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;
use std::sync::Arc;

use baytally::value::{Record, Value};
use baytally::workbook::form::{Filled, Form, FormError};
use calamine::{Data, Reader, Xlsx};
use jiff::civil::date;
use proptest::prelude::*;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::demo::text;
use super::samples;

pub fn shop() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbook/forms/shop.xlsx");
    fs::read(path).unwrap()
}

pub fn record<const N: usize>(entries: [(&str, Value); N]) -> Record {
    entries.into_iter().map(|(key, value)| (Arc::from(key), value)).collect()
}

pub fn values() -> Record {
    record([
        ("incomplete", Value::Blank),
        ("schedule", text("schedule.xlsx")),
        ("order_number", text("PO 1 (invented)")),
        ("ship_to", Value::Blank),
        ("contact", Value::Blank),
        ("job", text("Invented Tower <demo> & more")),
        ("number", text("007")),
        ("date", Value::Date(date(2026, 3, 2))),
        ("customer", text("Example Erectors")),
        ("place", text("Nowhere")),
        ("ship_by", Value::Date(date(2026, 3, 9))),
        ("estimator", text("A. Example")),
        ("order", text("1")),
        ("on_site", Value::Blank),
        ("accessories", text("edge form: 7 pieces, 70.0 ft\nfiller strip: 30.0 ft")),
    ])
}

pub fn lines(count: u32) -> Vec<Record> {
    (0..count)
        .map(|line| {
            let pieces = 10 + line % 40;
            record([
                ("mark", text(format!("A{}", 101 + line))),
                ("sequence", text("S1")),
                ("type", text("D1")),
                ("profile", text("3x12")),
                ("deck_use", text("composite")),
                ("cover_in", Value::Number(36.0)),
                ("gauge", text("20")),
                ("grade", text("SS 40")),
                ("options", Value::Blank),
                ("finish", text("G60")),
                ("side_lap", text("nested")),
                ("count", Value::Count(i64::from(pieces))),
                ("length", text("30'-6\"")),
                ("length_ft", Value::Number(30.5)),
                ("lineal_ft", Value::Number(f64::from(pieces) * 30.5)),
                ("deck_lb", Value::Number(f64::from(pieces) * 182.93)),
            ])
        })
        .collect()
}

fn counted(count: u32) -> f64 {
    (0..count).map(|line| f64::from(10 + line % 40)).sum()
}

/// Every part's bytes, packed as they are in the archive.
fn parts(bytes: &[u8]) -> BTreeMap<String, (Vec<u8>, Vec<u8>)> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..archive.len())
        .map(|at| {
            let mut packed = Vec::new();
            archive.by_index_raw(at).unwrap().read_to_end(&mut packed).unwrap();
            let mut part = archive.by_index(at).unwrap();
            let mut plain = Vec::new();
            part.read_to_end(&mut plain).unwrap();
            (part.name().unwrap().into_owned(), (packed, plain))
        })
        .collect()
}

pub fn part(bytes: &[u8], name: &str) -> String {
    String::from_utf8(parts(bytes).remove(name).unwrap().1).unwrap()
}

/// The parts that differ, in either archive.
pub fn changed(old: &[u8], new: &[u8]) -> Vec<String> {
    let (old, new) = (parts(old), parts(new));
    let mut names: Vec<String> = old.keys().chain(new.keys()).cloned().collect();
    names.sort();
    names.dedup();
    names.retain(|name| old.get(name) != new.get(name));
    names
}

fn order(bytes: &[u8]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(bytes.to_vec())).unwrap()
}

fn filled(count: u32) -> Vec<u8> {
    let bytes = Form::open(shop()).unwrap().fill(&values(), &lines(count)).unwrap().bytes;
    fs::write(samples::folder().join(format!("shop-{count}.xlsx")), &bytes).unwrap();
    bytes
}

#[test]
fn placeholders_are_found_with_their_cells() {
    let form = Form::open(shop()).unwrap();
    let found: Vec<String> =
        form.placeholders().map(|(cell, name)| format!("{cell} {name}")).collect();
    assert_eq!(
        found,
        [
            "Order!E1 job",
            "Order!B5 number",
            "Order!F5 date",
            "Order!B6 customer",
            "Order!B6 place",
            "Order!F6 ship_by",
            "Order!A10 line.mark",
            "Order!B10 line.type",
            "Order!C10 line.profile",
            "Order!E10 line.count",
            "Order!F10 line.length",
            "Order!G10 line.length_ft",
            "Order!I10 line.deck_lb",
            "Order!J10 line.finish",
            "Order!A23 place",
            "Order!A26 estimator",
            "Lists!D2 estimator",
        ]
    );
    assert_eq!(form.room(), Some(10));
}

#[test]
fn in_place_only_the_sheets_with_placeholders_and_the_workbook_part_change() {
    for count in [0, 1, 10] {
        assert_eq!(
            changed(&shop(), &filled(count)),
            ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/worksheets/sheet3.xml"],
            "{count} lines"
        );
    }
}

/// In those parts too, all but the rows and the wish for fresh results stands byte for byte.
#[test]
fn in_place_all_around_the_rows_is_byte_equal() {
    let around = |bytes: &[u8]| {
        let sheet = part(bytes, "xl/worksheets/sheet1.xml");
        let (before, rows) = sheet.split_once("<sheetData>").unwrap();
        let (_, after) = rows.split_once("</sheetData>").unwrap();
        let book = part(bytes, "xl/workbook.xml");
        let (start, calculation) = book.split_once("<calcPr").unwrap();
        let (_, end) = calculation.split_once("/>").unwrap();
        [before, after, start, end].map(str::to_owned)
    };
    let empty = around(&shop());
    assert!(empty[1].contains("<mergeCell ") && empty[1].contains("<conditionalFormatting "));
    for count in [0, 1, 10] {
        assert_eq!(around(&filled(count)), empty, "{count} lines");
    }
}

#[test]
fn with_rows_inserted_what_moves_changes_and_nothing_else() {
    assert_eq!(
        changed(&shop(), &filled(500)),
        [
            "xl/charts/chart1.xml",
            "xl/comments/comment1.xml",
            "xl/drawings/commentsDrawing1.vml",
            "xl/drawings/drawing1.xml",
            "xl/workbook.xml",
            "xl/worksheets/_rels/sheet1.xml.rels",
            "xl/worksheets/sheet1.xml",
            "xl/worksheets/sheet2.xml",
            "xl/worksheets/sheet3.xml",
        ]
    );
}

#[test]
fn values_keep_their_types_and_cells_their_formats() {
    for count in [1, 10, 500] {
        let bytes = filled(count);
        let sheet = order(&bytes).worksheet_range("Order").unwrap();
        let cell = |row: u32, column: u32| sheet.get_value((row - 1, column)).cloned().unwrap();
        assert_eq!(cell(1, 4), Data::String("Deck order for Invented Tower <demo> & more".into()));
        assert_eq!(cell(5, 1), Data::String("007".into()), "text stays text");
        assert!(matches!(cell(5, 5), Data::DateTime(day) if day.as_f64() == 46_083.0));
        assert_eq!(cell(6, 5), Data::String("2026-03-09".into()), "no date format, so in words");
        assert_eq!(cell(6, 1), Data::String("Example Erectors, Nowhere".into()));
        for line in [0, count - 1] {
            let row = 10 + line;
            assert_eq!(cell(row, 0), Data::String(format!("A{}", 101 + line)));
            assert_eq!(cell(row, 4), Data::Float(f64::from(10 + line % 40)));
            assert_eq!(cell(row, 5), Data::String("30'-6\"".into()));
        }
        let below = 13 + count.max(10);
        assert_eq!(
            cell(below, 0),
            Data::String("Deliver to Nowhere. Braces around {other things!} stay.".into())
        );
        assert_eq!(cell(below + 3, 0), Data::String("Ordered by A. Example".into()));
        let xml = part(&bytes, "xl/worksheets/sheet1.xml");
        let style = |cell: &str| {
            let tag = &xml[xml.find(&format!("<c r=\"{cell}\"")).unwrap()..];
            let tag = &tag[..tag.find('>').unwrap()];
            let style = &tag[tag.find("s=\"").unwrap() + 3..];
            style[..style.find('"').unwrap()].to_string()
        };
        for letter in "ABCDEFGHIJ".chars() {
            let last = format!("{letter}{}", 9 + count.max(10));
            assert_eq!(style(&format!("{letter}10")), style(&last), "{last}");
        }
    }
}

#[test]
fn rows_that_no_line_came_for_stay_blank() {
    let sheet = order(&filled(1)).worksheet_range("Order").unwrap();
    for row in 10..19 {
        let blank = |column: u32| sheet.get_value((row, column)).is_none_or(|c| *c == Data::Empty);
        assert!((0..7).all(blank), "row {}", row + 1);
    }
    let sheet = order(&filled(0)).worksheet_range("Order").unwrap();
    assert_eq!(sheet.get_value((9, 0)).unwrap_or(&Data::Empty), &Data::Empty);
}

#[test]
fn formulas_go_on_to_count_all_lines() {
    for (count, last) in [(1, 19), (10, 19), (500, 509)] {
        let bytes = filled(count);
        let mut book = order(&bytes);
        let formulas = book.worksheet_formula("Order").unwrap();
        let formula =
            |row: u32, column: u32| formulas.get_value((row - 1, column)).unwrap().clone();
        assert_eq!(formula(last + 1, 4), format!("SUM(E10:E{last})"));
        assert_eq!(formula(last + 1, 8), format!("SUM(I10:I{last})"));
        assert_eq!(formula(last + 2, 8), format!("I{}/2000", last + 1));
        assert_eq!(formula(7, 1), format!("I{}", last + 1));
        for row in [10, 11, 15, last] {
            assert_eq!(formula(row, 7), format!("E{row}*G{row}"));
        }
        let sums = book.worksheet_formula("Sums").unwrap();
        let sum = |row: u32| sums.get_value((row - 1, 1)).unwrap().clone();
        assert_eq!(sum(1), format!("Order!I{}", last + 1));
        assert_eq!(sum(2), format!("SUM(Order!E10:E{last})"));
        assert_eq!(sum(3), "SUM(B1:B2)");
        assert!(part(&bytes, "xl/workbook.xml").contains("fullCalcOnLoad=\"1\""));
        // No result is stale: those of sums over the lines are known, the others are left out.
        let sheet = part(&bytes, "xl/worksheets/sheet1.xml");
        let sum = format!("<f>SUM(E10:E{last})</f><v>{}</v>", counted(count));
        assert!(sheet.contains(&sum), "{sum}");
        let known: Vec<&str> = sheet.split("</f><v>").collect();
        let of_sum = |before: &&str| before.rsplit("<f>").next().unwrap().starts_with("SUM(");
        assert!(known[..known.len() - 1].iter().all(of_sum), "{known:?}");
    }
    assert_eq!(counted(10), 145.0, "the sum that the outside check must find");
}

#[test]
fn everything_below_the_lines_moves_with_them() {
    let bytes = filled(500);
    let sheet = part(&bytes, "xl/worksheets/sheet1.xml");
    for wanted in [
        // Merged ranges: the title's, those of lines old and new, the one below.
        "<mergeCell ref=\"E1:J1\"/>",
        "<mergeCell ref=\"C18:D18\"/>",
        "<mergeCell ref=\"C19:D19\"/>",
        "<mergeCell ref=\"C300:D300\"/>",
        "<mergeCell ref=\"C509:D509\"/>",
        "<mergeCell ref=\"A513:J514\"/>",
        "<mergeCells count=\"503\">",
        // Validation and conditional formats over all lines, and of the total.
        "sqref=\"J10:J509\"",
        "Lists!$A$1:$A$4",
        "sqref=\"E10:E509\"",
        "sqref=\"I512\"",
        "<formula1>$I$510</formula1>",
        "<conditionalFormatting sqref=\"E10:E509\">",
        "<conditionalFormatting sqref=\"I510\">",
        "<formula>I510&gt;48000</formula>",
        // Filter, break, links.
        "<autoFilter ref=\"A9:J509\"",
        "<brk id=\"512\"",
        "ref=\"A517\"",
        "location=\"Order!I510\"",
        "location=\"Order!A5\"",
        // Header and footer as they were.
        "<oddHeader>&amp;RExample Deck Supply (invented)</oddHeader>",
    ] {
        assert!(sheet.contains(wanted), "{wanted}");
    }
    let heights = sheet.matches("ht=\"16\"").count();
    assert_eq!(heights, 500, "each row of a line is as high as the first");
    let book = part(&bytes, "xl/workbook.xml");
    for wanted in [
        "'Order'!$9:$9",
        "'Order'!$A$1:$J$517",
        ">Order!$I$510<",
        ">Order!$I$10:$I$509<",
        ">Lists!$A$1:$A$4<",
        "'Order'!$A$9:$J$509",
    ] {
        assert!(book.contains(wanted), "{wanted} in {book}");
    }
    let notes = part(&bytes, "xl/comments/comment1.xml");
    assert!(notes.contains("ref=\"A516\"") && notes.contains("ref=\"A5\""), "{notes}");
    let boxes = part(&bytes, "xl/drawings/commentsDrawing1.vml");
    assert!(boxes.contains("Row>515<") && boxes.contains("Row>4<"), "{boxes}");
    let links = part(&bytes, "xl/worksheets/_rels/sheet1.xml.rels");
    assert!(links.contains("\"#Order!A516\""), "{links}");
    let drawing = part(&bytes, "xl/drawings/drawing1.xml");
    let rows: Vec<&str> = drawing
        .split("row>")
        .skip(1)
        .step_by(2)
        .map(|row| row.split('<').next().unwrap())
        .collect();
    assert_eq!(rows, ["0", "514"], "the logo stays, the stamp moves");
    assert!(part(&bytes, "xl/charts/chart1.xml").contains("'Order'!$I$10:$I$509"));
}

#[test]
fn the_default_form_takes_any_number_of_lines() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/order-form.xlsx");
    let form = Form::open(fs::read(path).unwrap()).unwrap();
    for (count, last) in [(0, 10), (1, 10), (2, 11), (60, 69)] {
        let bytes = form.fill(&values(), &lines(count)).unwrap().bytes;
        fs::write(samples::folder().join(format!("order-{count}.xlsx")), &bytes).unwrap();
        let formulas = order(&bytes).worksheet_formula("Order").unwrap();
        assert_eq!(formulas.get_value((last, 11)).unwrap(), &format!("SUM(L10:L{last})"));
        let sheet = part(&bytes, "xl/worksheets/sheet1.xml");
        assert!(sheet.contains(&format!("<mergeCell ref=\"A{0}:O{0}\"/>", last + 5)));
    }
}

// ---------------------------------------------------------------------------------------------
// Forms put together by hand, for what that library does not write.

const START: [(&str, &str); 4] = [
    (
        "[Content_Types].xml",
        "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">\
         <Default Extension=\"xml\" ContentType=\"application/xml\"/>\
         <Override PartName=\"/xl/calcChain.xml\" ContentType=\"chain\"/></Types>",
    ),
    (
        "_rels/.rels",
        "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\
         <Relationship Id=\"r1\" Type=\"http://x/officeDocument\" Target=\"xl/workbook.xml\"/>\
         </Relationships>",
    ),
    (
        "xl/workbook.xml",
        "<workbook xmlns=\"m\" xmlns:r=\"r\"><sheets><sheet name=\"Form\" sheetId=\"1\" \
         r:id=\"r1\"/></sheets></workbook>",
    ),
    (
        "xl/_rels/workbook.xml.rels",
        "<Relationships><Relationship Id=\"r1\" Type=\"x/worksheet\" \
         Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"r2\" Type=\"x/calcChain\" \
         Target=\"calcChain.xml\"/><Relationship Id=\"r3\" Type=\"x/sharedStrings\" \
         Target=\"strings.xml\"/></Relationships>",
    ),
];

fn form_of(sheet: &str, more: &[(&str, &str)]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let own = [("xl/worksheets/sheet1.xml", sheet), ("xl/calcChain.xml", "<calcChain/>")];
    for (name, text) in START.iter().chain(&own).chain(more) {
        writer.start_file(*name, SimpleFileOptions::default()).unwrap();
        writer.write_all(text.as_bytes()).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn sheet_of(bytes: &[u8], lines: u32) -> String {
    let lines: Vec<Record> =
        (0..lines).map(|line| record([("n", Value::Count(i64::from(line + 1)))])).collect();
    let filled = Form::open(bytes).unwrap().fill(&values(), &lines).unwrap().bytes;
    part(&filled, "xl/worksheets/sheet1.xml")
}

#[test]
fn the_calculation_chain_goes_with_its_relation_and_type() {
    let form = form_of(
        "<worksheet><sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>{job}</t>\
        </is></c></row></sheetData></worksheet>",
        &[("xl/strings.xml", "<sst/>")],
    );
    let filled = Form::open(form.as_slice()).unwrap().fill(&values(), &[]).unwrap().bytes;
    assert_eq!(
        changed(&form, &filled),
        [
            "[Content_Types].xml",
            "xl/_rels/workbook.xml.rels",
            "xl/calcChain.xml",
            "xl/workbook.xml",
            "xl/worksheets/sheet1.xml"
        ]
    );
    assert!(!parts(&filled).contains_key("xl/calcChain.xml"));
    assert!(!part(&filled, "[Content_Types].xml").contains("calcChain"));
    assert!(!part(&filled, "xl/_rels/workbook.xml.rels").contains("calcChain"));
}

/// Shared text with entities and runs, shared formulas, a prefix of its own, cells without
/// references, numbers typed ahead.
#[test]
fn other_ways_of_writing_a_sheet_are_understood() {
    let strings = "<sst><si><t>No. {line.n} &amp; co</t></si><si><r><rPr><b/></rPr><t>{jo</t></r><r>\
        <t>b}</t></r></si></sst>";
    let sheet = "<x:worksheet xmlns:x=\"m\"><x:sheetData><x:row><x:c t=\"s\"><x:v>1</x:v></x:c></x:row>\
        <x:row r=\"3\" spans=\"1:4\"><x:c r=\"A3\" s=\"1\"><x:v>1</x:v></x:c><x:c r=\"B3\" s=\"1\" t=\"s\">\
        <x:v>0</x:v></x:c><x:c r=\"C3\" s=\"1\"><x:f t=\"shared\" ref=\"C3:C5\" si=\"0\">A3*$A$6</x:f>\
        <x:v>9</x:v></x:c></x:row>\
        <x:row r=\"4\"><x:c r=\"A4\" s=\"1\"><x:v>2</x:v></x:c><x:c r=\"B4\" s=\"1\"/><x:c r=\"C4\" s=\"1\">\
        <x:f t=\"shared\" si=\"0\"/><x:v>9</x:v></x:c></x:row>\
        <x:row r=\"5\"><x:c r=\"A5\" s=\"1\"><x:v>3</x:v></x:c><x:c r=\"B5\" s=\"1\"/><x:c r=\"C5\" s=\"1\">\
        <x:f t=\"shared\" si=\"0\"/><x:v>9</x:v></x:c></x:row>\
        <x:row r=\"6\"><x:c r=\"A6\"><x:v>7</x:v></x:c></x:row></x:sheetData></x:worksheet>";
    let form = form_of(sheet, &[("xl/strings.xml", strings)]);
    assert_eq!(Form::open(form.as_slice()).unwrap().room(), Some(3));
    let text = |cell: &str, number: u32| {
        format!(
            "<x:c r=\"{cell}\" s=\"1\" t=\"inlineStr\"><x:is><x:t xml:space=\"preserve\">No. {number} \
             &amp; co</x:t></x:is></x:c>"
        )
    };
    let line = |row: u32, formula: &str| {
        format!(
            "<x:row r=\"{row}\"><x:c r=\"A{row}\" s=\"1\"><x:v>{0}</x:v></x:c>{1}<x:c r=\"C{row}\" \
             s=\"1\"><x:f{formula}</x:c></x:row>",
            row - 2,
            text(&format!("B{row}"), row - 2)
        )
    };
    let filled = sheet_of(&form, 2);
    assert!(
        filled.contains(
            "<x:c r=\"A1\" t=\"inlineStr\"><x:is><x:r><x:rPr><b/></x:rPr><x:t \
        xml:space=\"preserve\">Invented Tower"
        ),
        "{filled}"
    );
    assert!(
        filled.contains(&line(3, " t=\"shared\" ref=\"C3:C5\" si=\"0\">A3*$A$6</x:f>")),
        "{filled}"
    );
    assert!(filled.contains(&line(4, " t=\"shared\" si=\"0\"/>")), "{filled}");
    let filled = sheet_of(&form, 5);
    for row in 3..=7 {
        let wanted = line(row, &format!(">A{row}*$A$8</x:f>"));
        assert!(filled.contains(&wanted), "{wanted} in {filled}");
    }
    assert!(filled.contains("<x:row r=\"8\"><x:c r=\"A8\"><x:v>7</x:v></x:c></x:row>"), "{filled}");
}

fn inline(cell: &str, text: &str) -> String {
    format!("<c r=\"{cell}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
}

fn refused(rows: &str, after: &str, more: &[(&str, &str)], line: Value) -> FormError {
    let sheet = format!("<worksheet><sheetData>{rows}</sheetData>{after}</worksheet>");
    let form = form_of(&sheet, &[&[("xl/strings.xml", "<sst/>")], more].concat());
    match Form::open(form) {
        Err(error) => error,
        Ok(form) => form.fill(&values(), &[record([("count", line)])]).unwrap_err(),
    }
}

#[test]
fn what_can_not_be_filled_is_refused_with_its_cell() {
    let row =
        |cell: &str, text: &str| format!("<row r=\"{}\">{}</row>", &cell[1..], inline(cell, text));
    let one = Value::Count(1);
    let line = row("B4", "{line.count}");
    let cases = [
        (
            refused(&row("A1", "plain"), "", &[], one.clone()),
            "the form has no placeholder such as {job}",
        ),
        (
            refused(&format!("{line}{}", row("C6", "{line.count}")), "", &[], one.clone()),
            "the form has lines in two rows, at Form!B4 and at Form!C6; one row repeats",
        ),
        (
            refused(&row("A2", "Job {jbo}"), "", &[], one.clone()),
            "the form has no row with {line.…} for 1 lines",
        ),
        (
            refused(&format!("{}{line}", row("A2", "Job {plaice}")), "", &[], one.clone()),
            "Form!A2: nothing is known as {plaice}; is {place} meant?",
        ),
        (
            refused(&row("B4", "{line.cuont}"), "", &[], one.clone()),
            "Form!B4: nothing is known as {line.cuont}; is {line.count} meant?",
        ),
        (
            refused(&line, "", &[], Value::List([one.clone()].into())),
            "Form!B4: {count} is a list or a record, which no cell can hold",
        ),
        (
            refused(&line, "<mergeCells><mergeCell ref=\"B4:B5\"/></mergeCells>", &[], one.clone()),
            "the row of the lines at Form!B4 is merged with others in B4:B5",
        ),
        (
            refused(&line, "", &[("_xmlsignatures/origin.sigs", "")], one.clone()),
            "the form is signed, and filling it would break the signature",
        ),
        (
            refused(
                &line,
                "",
                &[(
                    "xl/pivotCache/pivotCacheDefinition1.xml",
                    "<p><worksheetSource ref=\"A1:B9\" sheet=\"Form\"/></p>",
                )],
                one.clone(),
            ),
            "the form's pivot table `xl/pivotCache/pivotCacheDefinition1.xml` would no longer fit the \
             lines",
        ),
        (
            refused("<row r=\"1\"><c r=\"A7\"/></row>", "", &[], one.clone()),
            "the form's part `xl/worksheets/sheet1.xml` is damaged: a cell of row 1 is called `A7`",
        ),
        (
            Form::open(*b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1...").err().unwrap(),
            "the form is behind a password or of the old xls format",
        ),
    ];
    for (error, wanted) in cases {
        assert_eq!(error.to_string(), wanted);
        let finding = error.finding();
        let place = finding.places.first().map(ToString::to_string).unwrap_or_default();
        let said = wanted.strip_prefix(&format!("{place}: ")).unwrap_or(wanted);
        assert_eq!(finding.message, said);
        assert!(error.code().starts_with("form-"));
    }
    assert!(matches!(Form::open(*b"text"), Err(FormError::NoWorkbook { .. })));
}

/// A line in error costs neither the other lines nor the form; its cell is an error that sums over it
/// give too.
#[test]
fn what_could_not_be_computed_is_an_error_in_its_cell() {
    let rows = format!(
        "<row r=\"4\">{}{}</row><row r=\"5\"><c r=\"B5\"><f>SUM(B4:B4)</f><v>0</v></c></row>",
        inline("B4", "{line.n}"),
        inline("C4", "{line.n} in all")
    );
    let sheet = format!("<worksheet><sheetData>{rows}</sheetData></worksheet>");
    let form = Form::open(form_of(&sheet, &[("xl/strings.xml", "<sst/>")])).unwrap();
    let line = |value| record([("n", value)]);
    let bad = [Value::Error("no length".into()), Value::Number(f64::NAN)];
    let lines = bad.into_iter().chain([Value::Count(7)]).map(line).collect::<Vec<Record>>();
    let filled = form.fill(&values(), &lines).unwrap();
    let said: Vec<String> = filled.not_computed.iter().map(ToString::to_string).collect();
    let wanted = [
        "Form!B4: {n} could not be computed: no length",
        "Form!C4: {n} could not be computed: no length",
        "Form!B4: {n} could not be computed: it is NaN",
        "Form!C4: {n} could not be computed: it is NaN",
    ];
    assert_eq!(said, wanted);
    let finding = filled.not_computed[0].finding();
    assert_eq!((&*finding.code, finding.message.as_str()), ("form-error-value", &wanted[0][9..]));
    let sheet = part(&filled.bytes, "xl/worksheets/sheet1.xml");
    for cell in [
        "<c r=\"B4\" t=\"e\"><v>#N/A</v></c>",
        "<c r=\"C4\" t=\"inlineStr\"><is><t xml:space=\"preserve\">#N/A in all</t></is></c>",
        "<c r=\"B6\"><v>7</v></c>",
        // No sum of what is left.
        "<c r=\"B7\"><f>SUM(B4:B6)</f></c>",
    ] {
        assert!(sheet.contains(cell), "{cell} is not in {sheet}");
    }
}

/// Cells merged within the row of the lines: each line has its own, and none overlaps another.
#[test]
fn merged_cells_beside_the_lines_are_each_lines_own() {
    let rows = format!("<row r=\"4\">{}</row>", inline("B4", "{line.n}"));
    let sheet = format!(
        "<worksheet><sheetData>{rows}\
         </sheetData><mergeCells count=\"2\"><mergeCell ref=\"C4:D4\"/><mergeCell ref=\"A9:B10\"/>\
         </mergeCells></worksheet>"
    );
    let filled = sheet_of(&form_of(&sheet, &[("xl/strings.xml", "<sst/>")]), 3);
    let (_, merged) = filled.split_once("<mergeCells").unwrap();
    let mut ranges: Vec<&str> = merged.split("ref=\"").skip(1).collect();
    for range in &mut ranges {
        *range = range.split('"').next().unwrap();
    }
    ranges.sort_unstable();
    assert_eq!(ranges, ["A11:B12", "C4:D4", "C5:D5", "C6:D6"], "{filled}");
}

#[test]
fn more_lines_than_rows_are_refused() {
    let row = format!("<row r=\"1048576\">{}</row>", inline("A1048576", "{line.n}"));
    let sheet = format!("<worksheet><sheetData>{row}</sheetData></worksheet>");
    let form = Form::open(form_of(&sheet, &[("xl/strings.xml", "<sst/>")])).unwrap();
    let lines = [record([("n", Value::Count(1))]), record([("n", Value::Count(2))])];
    assert_eq!(
        form.fill(&values(), &lines).unwrap_err().to_string(),
        "the sheet has no room for 2 lines from Form!A1048576 on"
    );
}

proptest! {
    /// Whatever stands in a sheet, it is filled or refused; and what is filled can be read.
    #[test]
    fn no_sheet_breaks_the_filling(
        cut in 0_usize..600,
        with in "[ -~]{0,6}|</row>|<c|\\{line\\.n\\}|<f>|</c>|&amp;|&|\"|A1:B2|<!--|<v/>|é",
        take in 0_usize..12,
        count in 0_u32..5,
    ) {
        let mut sheet = String::from(
            "<worksheet><dimension ref=\"A1:C9\"/><sheetData><row r=\"2\"><c r=\"A2\" t=\"inlineStr\">\
             <is><t>{job}</t></is></c></row><row r=\"4\" ht=\"15\"><c r=\"A4\" s=\"1\" \
             t=\"inlineStr\"><is><t>{line.n}</t></is></c><c r=\"B4\"><f>A4*$A$2</f><v>1</v></c></row>\
             <row r=\"5\"><c r=\"A5\" s=\"1\"/></row><row r=\"9\"><c r=\"A9\"><f>SUM(A4:A5)</f>\
             </c></row></sheetData><mergeCells count=\"1\"><mergeCell ref=\"B9:C9\"/></mergeCells>\
             </worksheet>",
        );
        let cut = cut.min(sheet.len());
        let end = (cut + take).min(sheet.len());
        sheet.replace_range(cut..end, &with);
        let Ok(form) = Form::open(form_of(&sheet, &[("xl/strings.xml", "<sst/>")])) else {
            return Ok(());
        };
        let lines: Vec<Record> =
            (0..count).map(|line| record([("n", Value::Count(i64::from(line)))])).collect();
        if let Ok(Filled { bytes, .. }) = form.fill(&values(), &lines) {
            prop_assert!(ZipArchive::new(Cursor::new(bytes)).is_ok());
        }
    }
}
