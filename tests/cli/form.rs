//! `form`: the order's lines in forms, a file each value of a column.

use super::super::support::program::{Desk, plain};
use super::super::support::schedule_builder::{schedule, with_types};
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

/// The column may be a shop's own: the invented shop orders level by level; another has mills and
/// days of shipping.
#[test]
fn a_form_for_each_value_of_a_shops_own_column() {
    let desk = Desk::new();
    example(&desk);
    let shop = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/mossgate");
    let words = ["form", "schedule.xlsx", "-o", "levels", "--by", "level", "--quiet", "--shop"];
    let output = desk.command().args(words).arg(shop).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let names = |folder: &str| {
        let entries = std::fs::read_dir(desk.path(folder)).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    assert_eq!(names("levels"), ["2.xlsx", "3.xlsx", "4.xlsx", "5.xlsx", "6.xlsx", "Roof.xlsx"]);

    desk.shop(
        "order.rhai",
        "column(\"supplier\", \"Supplier\", \"text\", |line| if line.finish == \"painted\" { \"Mill: roof\" } \
         else { \"Mill/floor\" });\n\
         column(\"on_site\", \"On site\", \"date\", |line| calendar::date(\"2027-02-15\"));\n",
    );
    let outcome = desk.run("form schedule.xlsx -o mills --by supplier --shop shop --quiet");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    assert_eq!(names("mills"), ["Mill- roof.xlsx", "Mill-floor.xlsx"]);
    let outcome = desk.run("form schedule.xlsx -o days --by on_site --shop shop --quiet");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    assert_eq!(names("days"), ["2027-02-15.xlsx"]);
    let mut book = open_workbook_auto(desk.path("days/2027-02-15.xlsx")).unwrap();
    let sheet = book.worksheet_range("Order").unwrap();
    // The form's cell shows no dates, so the day is spelled.
    assert_eq!(sheet.get_value((6, 9)), Some(&Data::String("2027-02-15".to_owned())));
}

/// A form of a job with errors says so in its name and at its head, so that none is ordered from.
#[test]
fn forms_of_an_incomplete_job_say_so() {
    let desk = Desk::new();
    let whole = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "31'"]);
    desk.put("whole.xlsx", &whole);
    desk.put("lacks.xlsx", &whole.row(["2", "A2", "D1", "ten feet", "31'"]));
    for (schedule, code, name, head) in [
        ("whole", 0, "2.xlsx", ""),
        (
            "lacks",
            1,
            "INCOMPLETE 2.xlsx",
            "INCOMPLETE, not to be ordered from: 2 errors in the schedule",
        ),
    ] {
        let outcome = desk.run(&format!("form {schedule}.xlsx -o {schedule} --quiet"));
        assert_eq!(outcome.code, Some(code), "{outcome:?}");
        let files = std::fs::read_dir(desk.path(schedule)).unwrap();
        let files: Vec<_> = files.map(|file| file.unwrap().file_name()).collect();
        assert_eq!(files, [name]);
        let mut book = open_workbook_auto(desk.path(schedule).join(name)).unwrap();
        let sheet = book.worksheet_range("Order").unwrap();
        let said = sheet.get_value((1, 0)).map(ToString::to_string).unwrap_or_default();
        assert_eq!(said, head);
    }
}

/// A form of an earlier run beside those of a job that has errors now is said.
#[test]
fn an_earlier_form_beside_an_incomplete_one() {
    let desk = Desk::new();
    let whole = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "31'"]);
    desk.put("schedule.xlsx", &whole);
    assert_eq!(desk.run("form schedule.xlsx -o forms").code, Some(0));
    desk.put("schedule.xlsx", &whole.row(["2", "A2", "D1", "ten feet", "31'"]));
    let outcome = desk.run("form schedule.xlsx -o forms");
    assert_eq!(outcome.code, Some(1));
    assert!(outcome.err.contains("warning[earlier-form]: `forms/2.xlsx` is of"), "{outcome:?}");
}

/// What the Job sheet does not say stays blank; what no Job sheet can say is refused with its cell.
#[test]
fn entries_of_the_job_that_are_not_given_are_blank() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    let outcome = desk.run("form schedule.xlsx -o forms --quiet");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""), "{outcome:?}");
    let mut book = open_workbook_auto(desk.path("forms/2.xlsx")).unwrap();
    let sheet = book.worksheet_range("Order").unwrap();
    assert!(sheet.get_value((2, 2)).is_none_or(|cell| *cell == Data::Empty), "no job");

    let mut form = rust_xlsxwriter::Workbook::new();
    let sheet = form.add_worksheet();
    sheet.write_string(4, 1, "To {mill}").unwrap();
    sheet.write_string(6, 0, "{line.count}").unwrap();
    desk.write("form.xlsx", form.save_to_buffer().unwrap());
    desk.run("form schedule.xlsx -o others --form form.xlsx --quiet")
        .says(2, "Sheet1!B5: error[form-unknown-placeholder]: nothing is known as {mill}");
}

/// A deck spelled out in Bays is ordered under a mark of its profile and gauge.
#[test]
fn an_order_line_of_a_deck_without_a_type() {
    let desk = Desk::new();
    let made = schedule()
        .sheet("Bays")
        .row([
            "Level", "Bay", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Spans",
            "Width",
        ])
        .row(["2", "A1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none", "2@10'", "31'"]);
    desk.put("schedule.xlsx", &made);
    let outcome = desk.run("form schedule.xlsx -o forms");
    assert_eq!(outcome.code, Some(0), "{}", outcome.err);
    assert!(
        outcome.err.contains(
            "note[type-made]: no type is stated; the deck is taken and ordered as type `1.5x6-22`"
        ),
        "{}",
        outcome.err
    );
    let mut book = open_workbook_auto(desk.path("forms/2.xlsx")).unwrap();
    let sheet = book.worksheet_range("Order").unwrap();
    let mut cells = sheet.used_cells().map(|(_, _, cell)| cell.to_string());
    assert!(cells.any(|cell| cell == "1.5x6-22"), "the form names the deck");
}

/// A type without a gauge has no weight: its line says so, and all forms are written.
#[test]
fn a_line_in_error_costs_no_form() {
    let desk = Desk::new();
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "", "SS 40", "G60", "6 1/4", "LW 110"])
        .row(["D2", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'", "31'"])
        .row(["2", "A2", "D2", "3@10'", "31'"])
        .row(["3", "A1", "D2", "3@10'", "31'"]);
    desk.put("schedule.xlsx", &made);
    let names = |folder: &str| {
        let files = std::fs::read_dir(desk.path(folder)).unwrap();
        let mut names: Vec<String> =
            files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    let outcome = desk.run("form schedule.xlsx -o forms --quiet");
    assert_eq!(outcome.code, Some(1), "{outcome:?}");
    assert_eq!(names("forms"), ["INCOMPLETE 2.xlsx", "INCOMPLETE 3.xlsx"]);
    let said =
        "error[form-error-value]: `INCOMPLETE 2.xlsx` says #N/A: {deck_lb} could not be computed: ";
    assert!(outcome.err.contains(said), "{}", outcome.err);
    assert!(!outcome.err.contains("`INCOMPLETE 3.xlsx` says"), "{}", outcome.err);
    let mut book = open_workbook_auto(desk.path("forms/INCOMPLETE 2.xlsx")).unwrap();
    let sheet = book.worksheet_range("Order").unwrap();
    let cell = |row: u32, column: u32| sheet.get_value((row, column)).cloned().unwrap();
    assert_eq!(cell(9, 14), Data::Error(calamine::CellErrorType::NA));
    assert!(matches!(cell(10, 14), Data::Float(weight) if weight > 1_000.0), "{:?}", cell(10, 14));

    // Lines that are parted by what could not be computed have a form of their own.
    let outcome = desk.run("form schedule.xlsx -o weights --by weight_lb --quiet");
    assert_eq!(outcome.code, Some(1), "{outcome:?}");
    let weights = names("weights");
    assert!(weights.contains(&"INCOMPLETE weight_lb not known.xlsx".to_owned()), "{weights:?}");
    assert!(weights.len() > 1, "{weights:?}");
}

/// Sequences of one type come on different days, which the head of its form says.
#[test]
fn the_day_on_site_where_lines_differ() {
    let made = |days: &[(&str, &str)]| {
        let levels = with_types(schedule()).sheet("Sequences").row(["Sequence", "On site"]);
        let levels = days.iter().fold(levels, |made, (sequence, day)| made.row([*sequence, *day]));
        let bays = levels.sheet("Bays").row(["Level", "Sequence", "Bay", "Type", "Spans", "Width"]);
        days.iter().enumerate().fold(bays, |made, (at, (sequence, _))| {
            made.row(["2", sequence, &format!("A{at}"), "D1", &format!("3@1{at}'"), "31'"])
        })
    };
    let desk = Desk::new();
    let one = [("S1", "2027-02-15"), ("S2", "2027-02-15")];
    let two = [("S1", "2027-02-15"), ("S2", "2027-03-01")];
    let some = [("S1", "2027-02-15"), ("S2", "")];
    let many = [
        ("S1", "2027-02-15"),
        ("S2", "2027-03-01"),
        ("S3", ""),
        ("S4", "2027-02-01"),
        ("S5", "2027-03-08"),
    ];
    for (days, wanted) in [
        (one.as_slice(), "2027-02-15"),
        (&two, "S1: 2027-02-15; S2: 2027-03-01"),
        (&some, "S1: 2027-02-15; S2: not given"),
        (&many, "varies by sequence, 2027-02-01 to 2027-03-08"),
    ] {
        desk.put("schedule.xlsx", &made(days));
        let outcome = desk.run("form schedule.xlsx -o forms --by type --quiet --replace");
        assert_eq!(outcome.code, Some(0), "{outcome:?}");
        let mut book = open_workbook_auto(desk.path("forms/D1.xlsx")).unwrap();
        let sheet = book.worksheet_range("Order").unwrap();
        assert_eq!(sheet.get_value((6, 9)), Some(&Data::String(wanted.to_owned())));
    }
    // Parted by sequence, each form has its own day.
    let outcome = desk.run("form schedule.xlsx -o own --quiet");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    let mut book = open_workbook_auto(desk.path("own/S4.xlsx")).unwrap();
    let sheet = book.worksheet_range("Order").unwrap();
    assert_eq!(sheet.get_value((6, 9)), Some(&Data::String("2027-02-01".to_owned())));
}

/// Accessories that are ours go out with the deck of their sequence; those of no form are said, as are all
/// where the form has no place for them.
#[test]
fn accessories_go_out_with_the_deck() {
    let desk = Desk::new();
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Sequence", "Bay", "Type", "Spans", "Width"])
        .row(["2", "S1", "A", "D1", "3@10'", "30'"])
        .row(["2", "S2", "B", "D1", "3@10'", "30'-4\""])
        .sheet("Edges")
        .row(["Level", "Sequence", "Length", "Slab", "Gauge", "By"])
        .row(["2", "S1", "60", "6 1/4", "14", ""])
        .row(["2", "S2", "60", "6 1/4", "14", "others"])
        .row(["2", "", "20", "6 1/4", "14", ""]);
    desk.put("schedule.xlsx", &made);
    // Below the lines and their total.
    let of = |path: &str, lines: u32| {
        let mut book = open_workbook_auto(desk.path(path)).unwrap();
        let sheet = book.worksheet_range("Order").unwrap();
        sheet.get_value((11 + lines, 2)).cloned().unwrap_or_default()
    };
    let outcome = desk.run("form schedule.xlsx -o forms");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    let edge = "level 2: edge form, 14 ga, 6 1/4\" slab, 0\" overhang";
    assert_eq!(of("forms/S1.xlsx", 1), Data::String(format!("{edge}: 7 pieces, 70.0 ft")));
    let filler = "level 2: filler strip, up to 6\" wide, 20 ga G60 as the deck: 30.0 ft";
    assert_eq!(of("forms/S2.xlsx", 1), Data::String(filler.to_owned()));
    let left = format!("stand on no form by sequence: {edge}: 3 pieces, 30.0 ft\n");
    assert!(outcome.err.contains(&left), "{outcome:?}");

    // One form takes them all.
    let outcome = desk.run("form schedule.xlsx -o one --by type");
    assert!(!outcome.err.contains("on no form"), "{outcome:?}");
    let Data::String(all) = of("one/D1.xlsx", 2) else { panic!("no accessories") };
    assert_eq!(all.lines().count(), 3, "{all}");

    // The only form left takes what is of no sequence, not what is of another; what may have gone is said.
    let released = made
        .sheet("Releases")
        .row(["Release", "Sequence", "Type", "Count", "Length"])
        .row(["R1", "S1", "D1", "10", "30'"])
        .row(["R1", "S2", "D1", "4", "30'"]);
    desk.put("released.xlsx", &released);
    let outcome = desk.run("form released.xlsx -o rest");
    assert_eq!(std::fs::read_dir(desk.path("rest")).unwrap().count(), 1);
    let whole = "Counted whole: what went with releases before is not taken off.";
    let wanted = format!("{filler}\n{edge}: 3 pieces, 30.0 ft\n{whole}");
    let Data::String(found) = of("rest/S2.xlsx", 1) else { panic!("no accessories") };
    let sorted = |text: &str| {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(sorted(&found), sorted(&wanted));
    let left = format!("stand on no form by sequence: {edge}: 7 pieces, 70.0 ft\n");
    assert!(outcome.err.contains(&left), "{outcome:?}");
}
