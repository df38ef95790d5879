//! The blank schedule against the schema it is made from.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;

use baytally::finding::column_letters;
use baytally::job::schema::{Kind, SHEETS};
use baytally::schedule;
use baytally::table::CAUTION;
use baytally::workbook::{NotWritten, blank_schedule};
use calamine::{Data, Reader, Xlsx, open_workbook};

use super::samples;

#[test]
fn every_sheet_has_its_headings_in_the_fifth_row_and_nothing_below() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    let written = blank_schedule(&path, SHEETS).unwrap();
    let mut book: Xlsx<_> = open_workbook(&path).unwrap();
    assert_eq!(written.sheets, book.sheet_names());
    assert_eq!(written.sheets[0], "Read me");
    assert_eq!(written.sheets.len(), SHEETS.len() + 1);
    let mut columns = 0;
    for sheet in SHEETS.iter().filter(|sheet| sheet.key != "head") {
        let range = book.worksheet_range(sheet.name).unwrap();
        for (at, field) in (0..).zip(sheet.all_fields()) {
            let heading = range.get_value((4, at));
            assert_eq!(heading, Some(&Data::String(field.heading.to_string())), "{}", sheet.name);
            let help = range.get_value((2, at)).unwrap().to_string();
            assert!(help.ends_with(field.about), "{help}");
            assert_eq!(help.starts_with("Needed. "), field.required, "{help}");
            columns += 1;
        }
        assert_eq!(range.get_value((3, 0)).unwrap_or(&Data::Empty), &Data::Empty, "keeps help off");
        assert_eq!(range.end().unwrap().0, 4, "{}: no rows", sheet.name);
    }
    assert!(columns > 100, "{columns}");
}

/// A value is the next filled cell beside its key, so nothing may stand there.
#[test]
fn the_job_sheet_has_keys_and_no_values() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    blank_schedule(&path, SHEETS).unwrap();
    let mut book: Xlsx<_> = open_workbook(&path).unwrap();
    let range = book.worksheet_range("Job").unwrap();
    let filled: Vec<(usize, usize)> =
        range.used_cells().map(|(row, column, _)| (row, column)).collect();
    assert!(filled.iter().all(|(_, column)| *column == 0), "{filled:?}");
    let keys: Vec<String> = range.used_cells().skip(2).map(|(_, _, key)| key.to_string()).collect();
    let wanted: Vec<&str> = SHEETS[0].all_fields().map(|field| field.heading).collect();
    assert_eq!(keys, wanted);
}

#[test]
fn choices_are_lists_and_lengths_are_text() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    blank_schedule(&path, SHEETS).unwrap();
    let mut archive = zip::ZipArchive::new(fs::File::open(&path).unwrap()).unwrap();
    let mut part = |name: &str| std::io::read_to_string(archive.by_name(name).unwrap()).unwrap();
    let styles = part("xl/styles.xml");
    let formats = styles.split("<cellXfs").nth(1).unwrap();
    let formats: Vec<&str> = formats.split("<xf ").skip(1).collect();
    let mut lists = 0;
    for (number, sheet) in (2..).zip(SHEETS) {
        if sheet.key == "head" {
            continue;
        }
        let xml = part(&format!("xl/worksheets/sheet{number}.xml"));
        for (at, field) in (1..).zip(sheet.all_fields()) {
            let column = xml.split("<col ").skip(1).find(|column| {
                let edge = |name: &str| {
                    let start = column.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
                    let digits = &column[start..];
                    digits[..digits.find('"').unwrap()].parse::<u32>().unwrap()
                };
                (edge("min")..=edge("max")).contains(&at)
            });
            let style = column.unwrap().split("style=\"").nth(1).unwrap();
            let style: usize = style[..style.find('"').unwrap()].parse().unwrap();
            let is_text = formats[style].contains("numFmtId=\"49\"");
            let length = matches!(
                field.kind,
                Kind::Length { .. }
                    | Kind::Lengths { .. }
                    | Kind::Widths { .. }
                    | Kind::LengthOrNone { .. }
            );
            assert!(is_text || !length, "{}: {}", sheet.name, field.heading);
            if let Kind::Choice(words) = field.kind {
                assert!(xml.contains(&format!("\"{}\"", words.join(","))), "{}", field.heading);
                lists += 1;
            }
        }
    }
    assert!(lists >= 7, "{lists}");
}

#[test]
fn it_says_how_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    blank_schedule(&path, SHEETS).unwrap();
    let mut book: Xlsx<_> = open_workbook(&path).unwrap();
    let range = book.worksheet_range("Read me").unwrap();
    let words: Vec<String> = range.used_cells().map(|(_, _, cell)| cell.to_string()).collect();
    assert!(words.iter().any(|text| text == CAUTION));
    assert!(words.iter().any(|text| text == "Colour and strike-through"));
    assert!(words.iter().any(|text| text.starts_with("They are not read")));
}

/// A schedule that someone has filled in is never lost, and a blank one is no output to be
/// written over.
#[test]
fn an_existing_file_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    blank_schedule(&path, SHEETS).unwrap();
    let refused = blank_schedule(&path, SHEETS).unwrap_err();
    assert_eq!(refused, NotWritten::NotOurs { path });
}

/// The one under templates/ is this one; `ACCEPT=1 cargo test blank` writes it anew.
#[test]
fn the_template_is_fresh() {
    let path = samples::folder().join("schedule.xlsx");
    let _ = fs::remove_file(&path);
    blank_schedule(&path, SHEETS).unwrap();
    let template = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/schedule.xlsx");
    if std::env::var_os("ACCEPT").is_some() {
        fs::create_dir_all(template.parent().unwrap()).unwrap();
        fs::copy(&path, &template).unwrap();
    }
    assert!(fs::read(&path).unwrap() == fs::read(&template).unwrap(), "the template is stale");
}

/// Puts a row below the headings of a sheet of the schedule.
fn typed(schedule: &[u8], sheet: &str, row: u32, entries: &[(&str, &str)]) -> Vec<u8> {
    let at = SHEETS.iter().position(|known| known.name == sheet).unwrap();
    let part = format!("xl/worksheets/sheet{}.xml", at + 2);
    let mut cells: Vec<(usize, &str)> = entries
        .iter()
        .map(|(heading, text)| {
            let column = SHEETS[at].all_fields().position(|field| field.heading == *heading);
            (column.unwrap(), *text)
        })
        .collect();
    cells.sort_unstable();
    let cells: Vec<String> = cells
        .iter()
        .map(|(column, text)| {
            let letters = column_letters(u32::try_from(*column).unwrap());
            format!("<c r=\"{letters}{row}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
        })
        .collect();
    let row = format!("<row r=\"{row}\">{}</row></sheetData>", cells.concat());
    let mut old = zip::ZipArchive::new(Cursor::new(schedule)).unwrap();
    let mut new = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..old.len() {
        let mut file = old.by_index(at).unwrap();
        let mut text = Vec::new();
        file.read_to_end(&mut text).unwrap();
        if file.name().unwrap() == part {
            text = String::from_utf8(text).unwrap().replace("</sheetData>", &row).into_bytes();
        }
        let options = zip::write::SimpleFileOptions::default();
        new.start_file(file.name().unwrap(), options).unwrap();
        new.write_all(&text).unwrap();
    }
    new.finish().unwrap().into_inner()
}

#[test]
fn a_filled_one_reads_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    blank_schedule(&path, SHEETS).unwrap();
    let mut bytes = fs::read(&path).unwrap();
    let deck = [
        ("Type", "D1"),
        ("Use", "composite"),
        ("Profile", "3x12"),
        ("Cover", "36"),
        ("Gauge", "20"),
        ("Grade", "SS 50"),
        ("Finish", "G60"),
        ("Slab", "6 1/4"),
        ("Mix", "NW 145"),
    ];
    bytes = typed(&bytes, "Types", 6, &deck);
    let bay = [
        ("Level", "2"),
        ("Bay", "A"),
        ("Type", "D1"),
        ("Spans", "3@10'-0\""),
        ("Width", "2@31'-0\" | 2@31'-0\""),
    ];
    bytes = typed(&bytes, "Bays", 6, &bay);
    fs::write(&path, bytes).unwrap();
    let (job, findings) = schedule::read(&path, &schedule::ReadOptions::default()).unwrap();
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    assert_eq!(said, [""; 0], "nothing but what was typed is read");
    assert_eq!(job.bays.len(), 1);
    assert_eq!(job.bays[0].length().in_feet(), 30.0);
    assert_eq!(job.bays[0].width().in_feet(), 124.0);
    assert_eq!(job.bays[0].widths.len(), 2, "a panel edge breaks in the middle");
    assert_eq!(job.readings.len(), SHEETS.len(), "every sheet is known by its name");
}
