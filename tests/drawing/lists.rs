//! The panels that a plan sheet lists beside the drawing, and how the drawing hangs there.

use std::io::{Cursor, Read};

use calamine::{Data, Reader, Xlsx, open_workbook};
use zip::ZipArchive;

use crate::support::program::Desk;
use crate::support::schedule_builder::{Schedule, schedule, with_types};

/// A bay that comes, one on hold, one of an alternate, all of one mark, and panels by hand.
fn parted() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Status", "Alternate"])
        .row(["2", "A1", "D1", "3@10'-0\"", "60'", "", ""])
        .row(["2", "A2", "D1", "3@10'-0\"", "45'", "hold", ""])
        .row(["2", "A3", "D1", "3@10'-0\"", "30'", "", "1"])
        .sheet("Pieces")
        .row(["Level", "Type", "Count", "Length", "Mark"])
        .row(["2", "D1", "4", "12'-6\"", "X1"])
}

fn drawn(made: &Schedule) -> Desk {
    let desk = Desk::new();
    desk.put("schedule.xlsx", made);
    let ran = desk.run("run schedule.xlsx -o out.xlsx --plans plans --quiet");
    assert_eq!(ran.code, Some(0), "{ran:?}");
    desk
}

/// The lists of the sheet of level 2, the words and numbers of a row joined.
fn listed(desk: &Desk) -> Vec<String> {
    let mut book: Xlsx<_> = open_workbook(desk.path("out.xlsx")).unwrap();
    let sheet = book.worksheet_range("Plan 2").unwrap();
    let rows = sheet.rows().skip(3).map(|row| {
        let cells = row.iter().filter(|cell| **cell != Data::Empty);
        cells.map(ToString::to_string).collect::<Vec<String>>().join(" ")
    });
    rows.filter(|row| !row.is_empty()).collect()
}

fn part(desk: &Desk, wanted: &str) -> Vec<String> {
    let mut archive = ZipArchive::new(Cursor::new(desk.read("out.xlsx"))).unwrap();
    let names: Vec<String> = (0..archive.len())
        .map(|at| archive.by_index(at).unwrap().name().unwrap().into_owned())
        .collect();
    let named = names.iter().filter(|name| name.starts_with(wanted));
    named
        .map(|name| {
            let mut text = String::new();
            archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
            text
        })
        .collect()
}

#[test]
fn what_is_on_hold_or_of_an_alternate_is_listed_apart() {
    let desk = drawn(&parted());
    let rows = listed(&desk);
    // All but the weight.
    let counts = |row: &String| row.rsplit_once(' ').map_or(row.clone(), |(row, _)| row.to_owned());
    let rows: Vec<String> = rows.iter().map(counts).collect();
    assert_eq!(
        rows,
        [
            "Panels of the level by",
            "Type Mark Length Panels Weight,",
            "D1 D1-1 30'-0\" 20",
            "D1 X1 12'-6\" 4",
            "Total 24",
            "By",
            "Bay Mark Length Panels Weight,",
            "A1 D1-1 30'-0\" 20",
            "X1 12'-6\" 4",
            "Total 24",
            "On hold, not counted",
            "Bay Mark Length Panels Weight,",
            "A2 D1-1 30'-0\" 15",
            "Total 15",
            "Alternate 1, not counted",
            "Bay Mark Length Panels Weight,",
            "A3 D1-1 30'-0\" 10",
            "Total 10",
        ]
    );
}

#[test]
fn columns_are_as_wide_as_their_marks() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["COMP-3-20-G60", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "Bay between lines 10 and 11", "COMP-3-20-G60", "3@10'-0\"", "60'"]);
    let desk = drawn(&made);
    let sheets = part(&desk, "xl/worksheets/sheet");
    // The charts' sheet has a drawing too, and comes before.
    let sheet = sheets.iter().rfind(|sheet| sheet.contains("<drawing "));
    let widths: Vec<f64> = sheet
        .unwrap()
        .split("<col ")
        .filter_map(|column| column.split_once(" width=\"")?.1.split_once('"')?.0.parse().ok())
        .collect();
    // Of the last five: bay, mark, length, panels, weight. `Bay between lines 10 and 11` is 24 digits
    // wide, `COMP-3-20-G60-1` 15.
    let list = &widths[widths.len() - 5..];
    assert!(list[0] > 24.0 && list[1] > 15.0, "{widths:?}");
}

#[test]
fn the_drawing_names_the_bays_that_are_not_in_the_base_bid() {
    let desk = drawn(&parted());
    let svg = String::from_utf8(desk.read("plans/plan-2.svg")).unwrap();
    for words in ["order, on hold: A2.", "order, alternate 1: A3."] {
        assert!(svg.contains(&format!("Not in the base bid&apos;s {words}")), "{svg}");
    }
    let all = drawn(&crate::support::program::plain());
    let svg = String::from_utf8(all.read("plans/plan-2.svg")).unwrap();
    assert!(!svg.contains("Not in the base bid"), "{svg}");
}

/// Hung between two cells it would be stretched by programs whose rows and columns come out
/// otherwise, and its scale be wrong one way.
#[cfg(feature = "plans")]
#[test]
fn the_drawing_keeps_its_size() {
    let desk = drawn(&parted());
    let drawings = part(&desk, "xl/drawings/drawing");
    let pictures: Vec<&String> =
        drawings.iter().filter(|part| part.contains("<xdr:pic>")).collect();
    let [picture] = pictures[..] else { panic!("{} pictures", pictures.len()) };
    assert!(!picture.contains("twoCellAnchor"), "{picture}");
    let size = |tag: &str| -> [f64; 2] {
        let (_, rest) = picture.split_once(tag).unwrap();
        ["cx", "cy"].map(|side| {
            let (_, rest) = rest.split_once(&format!("{side}=\"")).unwrap();
            rest.split_once('"').unwrap().0.parse().unwrap()
        })
    };
    assert_eq!(size("<xdr:ext "), size("<a:ext "));
    // Of the drawing under its line with the job's name: points are 12,700 of the format's units.
    let svg = String::from_utf8(desk.read("plans/plan-2.svg")).unwrap();
    let (_, rest) = svg.split_once("<svg ").unwrap().1.split_once("viewBox=\"0 0 ").unwrap();
    let (wide, high) = rest.split_once('"').unwrap().0.split_once(' ').unwrap();
    let wanted = [wide.parse().unwrap(), high.parse::<f64>().unwrap() - 35.0];
    for (size, wanted) in size("<xdr:ext ").into_iter().zip(wanted) {
        assert!((size / 12_700.0 - wanted).abs() < 1.0, "{size} instead of {wanted} pt");
    }
}
