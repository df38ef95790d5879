//! `form`: the order's lines in forms, a file each value of a column.

use super::super::support::program::Desk;
use calamine::{Data, Reader, open_workbook_auto};

fn example(desk: &Desk) {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/larkmere/schedule.xlsx");
    std::fs::copy(path, desk.path("schedule.xlsx")).unwrap();
}

/// Every number in a filled form's cells.
fn numbers(path: &std::path::Path) -> Vec<f64> {
    let mut book = open_workbook_auto(path).unwrap();
    let name = book.sheet_names()[0].clone();
    let range = book.worksheet_range(&name).unwrap();
    range
        .cells()
        .filter_map(|(_, _, cell)| match cell {
            Data::Float(number) => Some(*number),
            Data::Int(number) => Some(f64::from(i32::try_from(*number).unwrap())),
            _ => None,
        })
        .collect()
}

/// Level 2 of the example has 42 panels of 30'-0" and 42 of 29'-6" on D1 (see the takeoff's tests).
#[test]
fn a_form_for_each_sequence() {
    let desk = Desk::new();
    example(&desk);
    let outcome = desk.run("form schedule.xlsx -o forms --quiet");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""), "{outcome:?}");
    let mut names: Vec<String> = std::fs::read_dir(desk.path("forms"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["2.xlsx", "3.xlsx", "4.xlsx", "5.xlsx", "6.xlsx", "Roof.xlsx"]);
    let found = numbers(&desk.path("forms/2.xlsx"));
    assert_eq!(found.iter().filter(|number| **number == 42.0).count(), 2, "{found:?}");
    assert!(found.contains(&1_260.0) && found.contains(&1_239.0), "{found:?}");
}

#[test]
fn an_unknown_column_and_a_form_that_is_none() {
    let desk = Desk::new();
    example(&desk);
    let outcome = desk.run("form schedule.xlsx -o forms --by mill --quiet");
    assert_eq!(outcome.code, Some(2));
    assert!(
        outcome.err.starts_with("error[unknown-column]: the order has no column `mill`\n"),
        "{}",
        outcome.err
    );
    let outcome = desk.run("form schedule.xlsx -o forms --form absent.xlsx --quiet");
    assert_eq!(outcome.code, Some(2));
    assert!(outcome.err.contains("`absent.xlsx`: it can not be read"), "{}", outcome.err);
    assert!(!desk.path("forms").exists());
}
