//! The default order form: made here, kept under templates/, filled as any other.

use std::fs;
use std::path::Path;

use baytally::workbook::form::Form;
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Formula, Workbook,
    XlsxError,
};

use super::samples;

const ACCENT: Color = Color::RGB(0x2F_5D_62);
const FAINT: Color = Color::RGB(0x5D_6B_72);
const ALARM: Color = Color::RGB(0xB0_1E_1E);
const HEADING: Color = Color::RGB(0xDF_E6_E1);
const NOTE: &str = "Lengths are ordered lengths. Deck type, gauge, spans and attachment are the \
    engineer of record's; check counts and lengths against the drawings before the order is placed.";

/// Heading, placeholder, number format where it is a number, whether it is summed, width.
const COLUMNS: [(&str, &str, Option<&str>, bool, f64); 15] = [
    ("Mark", "mark", None, false, 18.0),
    ("Sequence", "sequence", None, false, 13.0),
    ("Type", "type", None, false, 11.0),
    ("Profile", "profile", None, false, 12.0),
    ("Use", "deck_use", None, false, 11.0),
    ("Cover, in", "cover_in", None, false, 9.0),
    ("Gauge", "gauge", None, false, 7.0),
    ("Grade", "grade", None, false, 9.0),
    ("Finish", "finish", None, false, 9.0),
    ("Side lap", "side_lap", None, false, 14.0),
    ("Options", "options", None, false, 19.0),
    ("Count", "count", Some("#,##0"), true, 8.0),
    ("Length\nft-in", "length", Some("@"), false, 13.0),
    ("Lineal\nft", "lineal_ft", Some("#,##0.00"), true, 11.0),
    ("Weight\nlb", "deck_lb", Some("#,##0"), true, 11.0),
];

/// The last column, from 0.
const LAST: u16 = 14;

fn make(path: &Path) -> Result<(), XlsxError> {
    let mut book = Workbook::new();
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(
        &DocProperties::new().set_title("Deck order").set_creation_datetime(&created),
    );
    let sheet = book.add_worksheet().set_name("Order")?;
    let title = Format::new().set_bold().set_font_size(16).set_font_color(ACCENT);
    sheet.write_with_format(0, 0, "Deck order", &title)?;
    let alarm = Format::new().set_bold().set_font_color(ALARM);
    sheet.write_with_format(1, 0, "{incomplete}", &alarm)?;
    let faint = Format::new().set_font_color(FAINT).set_align(FormatAlign::Top);
    let left =
        Format::new().set_align(FormatAlign::Left).set_align(FormatAlign::Top).set_text_wrap();
    for (row, column, label, field) in [
        (2, 0, "Job", "{job}"),
        (3, 0, "Job number", "{number}"),
        (4, 0, "Place", "{place}"),
        (5, 0, "Taken off by", "{estimator}"),
        (6, 0, "From", "{schedule}"),
        (2, 7, "Customer", "{customer}"),
        (3, 7, "Order number", "{order_number}"),
        (4, 7, "Ship to", "{ship_to}"),
        (5, 7, "Contact", "{contact}"),
        (6, 7, "On site", "{on_site}"),
    ] {
        sheet.write_with_format(row, column, label, &faint)?;
        // As far as the middle of the sheet, or its edge: a long address goes on below, not beside.
        let last = if column == 0 { 5 } else { LAST };
        sheet.merge_range(row, column + 2, row, last, field, &left)?;
    }
    let total = Format::new().set_bold().set_font_color(ACCENT);
    for (at, (heading, field, number, is_summed, width)) in (0_u16..).zip(COLUMNS) {
        let side = if number.is_some() { FormatAlign::Right } else { FormatAlign::Left };
        let head = Format::new()
            .set_bold()
            .set_text_wrap()
            .set_background_color(HEADING)
            .set_border_bottom(FormatBorder::Thin)
            .set_border_bottom_color(ACCENT)
            .set_align(FormatAlign::Top)
            .set_align(side);
        sheet.write_with_format(8, at, heading, &head)?;
        let line = Format::new()
            .set_num_format(number.unwrap_or("General"))
            .set_border_bottom(FormatBorder::Hair)
            .set_border_bottom_color(FAINT)
            .set_align(FormatAlign::Top)
            .set_align(side);
        let line = if number.is_none() { line.set_text_wrap() } else { line };
        sheet.write_with_format(9, at, format!("{{line.{field}}}"), &line)?;
        if is_summed {
            let letter = char::from(b'A' + u8::try_from(at).unwrap());
            let sum = Formula::new(format!("=SUM({letter}10:{letter}10)"));
            let format = total.clone().set_num_format(number.unwrap_or("General"));
            sheet.write_formula_with_format(10, at, sum, &format)?;
        }
        sheet.set_column_width(at, width)?;
    }
    sheet.write_with_format(10, 0, "Total", &total)?;
    sheet.set_row_height(8, 32)?;
    let note =
        Format::new().set_text_wrap().set_align(FormatAlign::Top).set_align(FormatAlign::Left);
    sheet.write_with_format(12, 0, "Accessories", &faint)?;
    sheet.merge_range(12, 2, 12, LAST, "{accessories}", &left)?;
    sheet.merge_range(14, 0, 14, LAST, NOTE, &note)?;
    sheet.set_row_height(14, 32)?;
    sheet.write_with_format(16, 0, "Ordered by", &faint)?;
    sheet.write_with_format(16, 7, "Date", &faint)?;
    let line = Format::new().set_border_bottom(FormatBorder::Thin).set_border_bottom_color(FAINT);
    for column in (2..=5).chain(9..=LAST) {
        sheet.write_blank(16, column, &line)?;
    }
    sheet
        .set_freeze_panes(9, 0)?
        .set_repeat_rows(8, 8)?
        .set_landscape()
        .set_paper_size(1)
        .set_print_fit_to_pages(1, 0)
        .set_margins(0.4, 0.4, 0.6, 0.6, 0.3, 0.3)
        .set_screen_gridlines(false)
        .set_footer("&C&9&A&R&9Page &P of &N");
    book.save(path)?;
    Ok(())
}

/// The one under templates/ is this one; `ACCEPT=1 cargo test default_form` writes it anew.
#[test]
fn the_template_is_fresh() {
    let path = samples::folder().join("order-form.xlsx");
    make(&path).unwrap();
    let template = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/order-form.xlsx");
    if std::env::var_os("ACCEPT").is_some() {
        fs::copy(&path, &template).unwrap();
    }
    assert!(fs::read(&path).unwrap() == fs::read(&template).unwrap(), "the template is stale");
}

#[test]
fn its_placeholders_are_those_of_an_order_line() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/order-form.xlsx");
    let form = Form::open(fs::read(path).unwrap()).unwrap();
    let found: Vec<String> = form.placeholders().map(|(_, name)| name).collect();
    let lines: Vec<String> = COLUMNS.iter().map(|column| format!("line.{}", column.1)).collect();
    let head = [
        "incomplete",
        "job",
        "customer",
        "number",
        "order_number",
        "place",
        "ship_to",
        "estimator",
        "contact",
        "schedule",
        "on_site",
    ];
    assert_eq!(found[..head.len()], head);
    let lined = head.len() + lines.len();
    assert_eq!(found[head.len()..lined], lines);
    assert_eq!(found[lined..], ["accessories"]);
    assert_eq!(form.room(), Some(1));
}
