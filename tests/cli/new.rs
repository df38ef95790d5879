//! The starter folder: made once, filled, run.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;

use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::support::program::Desk;

/// Types into cells of a sheet of a workbook as inline text, in place of what stands there: sheet
/// name, then cell and text.
fn type_into(path: &Path, sheet: &str, cells: &[(String, &str)]) {
    let bytes = fs::read(path).unwrap();
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let part = |archive: &mut ZipArchive<_>, name: &str| {
        let mut text = String::new();
        archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    };
    let book = part(&mut archive, "xl/workbook.xml");
    let number = book
        .split("<sheet ")
        .skip(1)
        .position(|s| s.contains(&format!("name=\"{sheet}\"")))
        .unwrap()
        + 1;
    let name = format!("xl/worksheets/sheet{number}.xml");
    let mut text = part(&mut archive, &name);
    let row: String = cells[0].0.chars().filter(char::is_ascii_digit).collect();
    let mut typed = format!("<row r=\"{row}\">");
    for (cell, said) in cells {
        let said = said.replace('"', "&quot;");
        typed += &format!("<c r=\"{cell}\" t=\"inlineStr\"><is><t>{said}</t></is></c>");
    }
    typed += "</row>";
    assert!(!text.contains(&format!("<row r=\"{row}\"")), "row {row} is not free");
    text = text.replace("</sheetData>", &format!("{typed}</sheetData>"));
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..archive.len() {
        let file = archive.by_index_raw(at).unwrap();
        if file.name().is_ok_and(|part| part == name) {
            drop(file);
            out.start_file(&*name, SimpleFileOptions::default()).unwrap();
            out.write_all(text.as_bytes()).unwrap();
        } else {
            out.raw_copy_file(file).unwrap();
        }
    }
    fs::write(path, out.finish().unwrap().into_inner()).unwrap();
}

#[test]
fn a_bay_typed_into_a_new_folder_is_taken_off() {
    let desk = Desk::new();
    let made = desk.run("new job");
    assert_eq!((made.code, made.err.as_str()), (Some(0), ""), "{made:?}");
    for name in
        ["schedule.xlsx", "shop/shop.toml", "shop/rules.rhai", "bundled/rules.rhai", "READ ME.txt"]
    {
        assert!(made.out.contains(&format!("wrote job/{name}\n")), "{name}: {}", made.out);
        assert!(!desk.read(&format!("job/{name}")).is_empty());
    }

    // Headings stand in row 5; the first row under them is filled by heading.
    let heading = |text: &str| {
        let field = baytally::job::schema::SHEETS
            .iter()
            .find(|sheet| sheet.name == "Bays")
            .and_then(|sheet| sheet.all_fields().position(|field| field.heading == text));
        let column = u32::try_from(field.unwrap_or_else(|| panic!("no heading {text}"))).unwrap();
        format!("{}6", baytally::finding::column_letters(column))
    };
    let mut cells: Vec<(String, &str)> = [
        ("Level", "2"),
        ("Bay", "A1"),
        ("Spans", "3@10'-0\""),
        ("Width", "4@31'-0\""),
        ("Use", "composite"),
        ("Profile", "3x12"),
        ("Cover", "36"),
        ("Gauge", "20"),
        ("Finish", "G60"),
        ("Slab", "6 1/4"),
        ("Mix", "LW 110"),
    ]
    .map(|(name, said)| (heading(name), said))
    .to_vec();
    cells.sort_by_key(|(cell, _)| (cell.len(), cell.clone()));
    type_into(&desk.path("job/schedule.xlsx"), "Bays", &cells);
    let run = desk.run("run job/schedule.xlsx --shop job/shop --json");
    let json = run.json();
    let takeoff =
        json["tables"].as_array().unwrap().iter().find(|t| t["key"] == "takeoff").unwrap();
    // 124 ft at 36 in cover: 42 panels of 30 ft.
    assert_eq!(takeoff["totals"]["panels"], 42.0, "{run:?}");
    assert_eq!(takeoff["totals"]["lineal_ft"], 1260.0);
    assert!(desk.path("job/schedule-takeoff.xlsx").exists());
}

#[test]
fn the_commented_rules_work_when_taken_in() {
    let desk = Desk::new();
    desk.run("new job");
    let text = String::from_utf8(desk.read("job/shop/rules.rhai")).unwrap();
    assert!(text.matches("\n// fn ").count() >= 4);
    desk.write("job/shop/rules.rhai", text.replace("\n// fn ", "\nfn "));
    let outcome = desk.run("calc concrete_waste(#{deck_use:\"composite\"}) --shop job/shop");
    assert_eq!((outcome.code, outcome.out.as_str()), (Some(0), "0.07\n"), "{outcome:?}");
    let rules = desk.run("calc truck_yd3() --shop job/shop");
    assert_eq!(rules.out, "9\n");
    let bundled = desk.run("calc truck_yd3()");
    assert_eq!(bundled.out, "10\n");
}

#[test]
fn what_stands_in_a_folder_is_left_alone() {
    let desk = Desk::new();
    desk.write("job/letter.txt", "a letter");
    desk.run("new job").says(
        2,
        "job: error[folder-not-empty]: the folder holds files already, wanted a new or an empty one\n  \
         hint: name another folder",
    );
    assert_eq!(fs::read_dir(desk.path("job")).unwrap().count(), 1);
    assert_eq!(desk.read("job/letter.txt"), b"a letter");
    // A file where the folder should be.
    let outcome = desk.run("new job/letter.txt");
    assert_eq!(outcome.code, Some(2));
    assert!(outcome.err.starts_with("job/letter.txt: error[not-written]: "), "{}", outcome.err);
    assert_eq!(desk.read("job/letter.txt"), b"a letter");
    // An empty folder will do.
    fs::create_dir(desk.path("empty")).unwrap();
    assert_eq!(desk.run("new empty").code, Some(0));
    // And twice the same is refused.
    assert_eq!(desk.run("new empty").code, Some(2));
}
