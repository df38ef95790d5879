//! `run --plans`, and the plan sheets of the workbook.

use std::fs;
use std::path::Path;

use calamine::{Reader, Xlsx, open_workbook};

use crate::support::program::{Desk, plain};

fn placed() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/quillbank/schedule.xlsx")
}

fn plan_sheets(desk: &Desk) -> Vec<String> {
    let book: Xlsx<_> = open_workbook(desk.path("out.xlsx")).unwrap();
    book.sheet_names().into_iter().filter(|name| name.starts_with("Plan ")).collect()
}

#[test]
fn a_job_with_places_has_plan_sheets() {
    let desk = Desk::new();
    fs::copy(placed(), desk.path("schedule.xlsx")).unwrap();
    let ran = desk.run("run schedule.xlsx -o out.xlsx --quiet");
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(plan_sheets(&desk), ["Plan 2", "Plan 3", "Plan Roof"]);
    let mut book: Xlsx<_> = open_workbook(desk.path("out.xlsx")).unwrap();
    let sheet = book.worksheet_range("Plan 2").unwrap();
    let texts: Vec<String> = sheet.used_cells().map(|(_, _, cell)| cell.to_string()).collect();
    for text in ["Plan of level 2", "Panels of the level by mark", "By bay", "D1-1", "A1"] {
        assert!(texts.iter().any(|other| other == text), "{text} is not in {texts:?}");
    }
}

/// Drawing takes time: a job that says nothing of places has none unless asked.
#[test]
fn a_job_without_places_is_drawn_when_asked() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    assert_eq!(desk.run("run schedule.xlsx -o out.xlsx --quiet").code, Some(0));
    assert_eq!(plan_sheets(&desk), Vec::<String>::new());
    let ran = desk.run("run schedule.xlsx -o out.xlsx --plans drawn/deep");
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(ran.out.ends_with("wrote 1 plan into drawn/deep\n"), "{}", ran.out);
    assert_eq!(plan_sheets(&desk), ["Plan 2"]);
    let svg = String::from_utf8(desk.read("drawn/deep/plan-2.svg")).unwrap();
    assert!(svg.contains("D1-1</text>") && svg.contains("A1</text>"), "{svg}");
}

#[test]
fn drawings_are_the_same_and_are_written_over() {
    let desk = Desk::new();
    fs::copy(placed(), desk.path("schedule.xlsx")).unwrap();
    let run = |words: &str| {
        let ran = desk.run(words);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let svg = ["plan-2.svg", "plan-3.svg", "plan-Roof.svg"]
            .map(|name| desk.read(&format!("p/{name}")));
        (svg, desk.read("out.xlsx"))
    };
    let first = run("run schedule.xlsx -o out.xlsx --quiet --plans p --threads 1");
    assert!(first == run("run schedule.xlsx -o out.xlsx --quiet --plans p"));
}

#[test]
fn a_file_of_someone_else_is_kept() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    desk.write("p/plan-2.svg", "<svg/>");
    let ran = desk.run("run schedule.xlsx -o out.xlsx --plans p");
    let path = Path::new("p").join("plan-2.svg").display().to_string();
    ran.says(
        2,
        &format!(
            "{path}: error[not-written]: `{path}` was not written: a file of that name is there \
             already and is no plan of this program\n  hint: `--replace` writes over it"
        ),
    );
    assert_eq!(desk.read("p/plan-2.svg"), b"<svg/>");
    assert!(!desk.files().contains(&"out.xlsx".to_owned()));
    assert_eq!(desk.run("run schedule.xlsx -o out.xlsx --plans p --replace --quiet").code, Some(0));
    assert!(desk.read("p/plan-2.svg").starts_with(b"<?xml"));
}
