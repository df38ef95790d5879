//! The blank schedule: a sheet a schema sheet, its headings with what belongs under them, lists to
//! choose from, lengths kept as text, and a sheet that says how it is read.
//!
//! Help stands above the headings with an empty row between, and on the Job sheet in notes alone,
//! so that nothing of it can be taken for a heading or a value.

use std::path::Path;

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DataValidationRule, DocProperties, ExcelDateTime,
    Format, FormatBorder, IgnoreError, Note, Workbook, Worksheet, XlsxError,
};

use crate::job::schema::{Kind, READ_ME, Sheet};
use crate::table::CAUTION;

use super::page::{LETTER, TABLOID};
use super::style::{self, Stand};
use super::target::Target;
use super::{NotWritten, WriteOptions, Written, measure, unit};

const HELP_ROW: u32 = 2;
const HEADING_ROW: u32 = 4;
const LAST_ROW: u32 = 1_048_575;
const WIDTH: f64 = 11.0;
/// Beyond this width a sheet is printed on the larger paper.
const LETTER_TAKES: f64 = 200.0;

/// How the schedule is read, a heading and its paragraph each.
const HOW: [(&str, &str); 7] = [
    (
        "What is needed",
        "Only Bays, with the deck spelled out in its columns or as a type of the sheet Types. Every \
         other sheet may stay empty or be deleted. Job, Types and Levels are read for all bays.",
    ),
    (
        "Columns",
        "They may stand in any order; those not needed may be deleted; columns of your own may be \
         added and are passed on under their heading. Rows above the headings are not read.",
    ),
    (
        "Lengths",
        "Feet and inches as on the drawings: 10'-6\", 10'-6 1/2\", 126\", 3.2 m. A bare number is \
         feet or inches as the column's help says. A list has commas: 10', 9'-6\"; repeats have @: \
         3@10'-0\"; under Width a panel edge that must break is |: 2@31' | 2@31'. The columns are \
         formatted as text, so that 10-6 is not turned into a date: leave them so.",
    ),
    (
        "Blank and none",
        "Blank takes the value of the type, then that of the Job sheet. Under Slab, Mix and Mesh, none is a \
         value of its own: no slab, whatever the default.",
    ),
    (
        "Colour and strike-through",
        "They are not read, and neither are cell notes. A row that no longer counts has void under \
         Status; one that must wait has hold.",
    ),
    (
        "Copies and Like",
        "Copies counts identical twins inside one level and sequence. A level that has the same \
         bays as another names it under Like on the sheet Levels; their bays are typed once.",
    ),
    ("Caution", CAUTION),
];

/// Writes a blank schedule with these sheets.
///
/// Refused: what [`write`](super::write) refuses; an existing file is never written over.
pub fn blank_schedule(path: &Path, sheets: &[Sheet]) -> Result<Written, NotWritten> {
    let target = Target::check(path, &WriteOptions::default())?;
    let bytes = target.put(|sink| {
        let book = build(sheets).and_then(|mut book| book.save_to_writer(sink));
        book.map_err(|error| error.to_string())
    })?;
    target.sync_folder();
    let names = std::iter::once(READ_ME).chain(sheets.iter().map(|sheet| sheet.name));
    Ok(Written {
        path: path.to_path_buf(),
        bytes,
        sheets: names.map(str::to_string).collect(),
        findings: Vec::new(),
    })
}

fn build(sheets: &[Sheet]) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(
        &DocProperties::new()
            .set_title("Bay schedule")
            .set_comment(CAUTION)
            .set_creation_datetime(&created),
    );
    read_me(book.add_worksheet().set_name(READ_ME)?, sheets)?;
    for sheet in sheets {
        let page = book.add_worksheet().set_name(sheet.name)?;
        title(page, sheet)?;
        page.set_paper_size(LETTER);
        if sheet.key == "head" {
            paint_keys(page, sheet)?;
        } else {
            paint_columns(page, sheet)?;
        }
        page.set_landscape()
            .set_print_fit_to_pages(1, 0)
            .set_margins(0.45, 0.45, 0.6, 0.6, 0.3, 0.3)
            .set_footer("&C&9&A&R&9Page &P of &N");
        if sheet.fields.iter().any(|field| field.required) && sheet.key == "bays" {
            page.set_tab_color(style::ACCENT);
        }
    }
    Ok(book)
}

fn read_me(page: &mut Worksheet, sheets: &[Sheet]) -> Result<(), XlsxError> {
    const LABEL: f64 = 26.0;
    const TEXT: f64 = 96.0;
    page.set_column_width(0, LABEL)?.set_column_width(1, TEXT)?;
    page.write_string_with_format(0, 0, "How to fill in this schedule", &style::title())?;
    page.set_row_height(0, 24)?;
    let (words, wrapped) = (style::quiet(Stand::WORDS), style::quiet(Stand::WRAPPED));
    let bold = words.clone().set_bold();
    let about = sheets.iter().map(|sheet| (sheet.name, sheet.about));
    let rows = HOW.into_iter().chain([("Sheets", "A row of each sheet is:")]).chain(about);
    for (line, (label, text)) in (2..).zip(rows) {
        let is_sheet = line > 2 + u32::try_from(HOW.len()).unwrap_or(0);
        let format = if is_sheet { &words } else { &bold };
        page.write_string_with_format(line, 0, label, format)?;
        page.write_string_with_format(line, 1, text, &wrapped)?;
        let height = measure::row_height([(text, TEXT)].into_iter()).unwrap_or(15.0);
        page.set_row_height(line, if is_sheet { height } else { height + 6.0 })?;
    }
    page.set_screen_gridlines(false)
        .set_landscape()
        .set_paper_size(LETTER)
        .set_print_fit_to_pages(1, 1)
        .set_footer("&C&9&A&R&9Page &P of &N");
    Ok(())
}

/// The first row below the keys of the Job sheet.
fn page_rows(sheet: &Sheet) -> u32 {
    HEADING_ROW + u32::try_from(sheet.all_fields().count()).unwrap_or(1).max(1)
}

fn title(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    page.write_string_with_format(0, 0, sheet.name, &style::title())?;
    page.set_row_height(0, 22)?;
    page.write_string_with_format(1, 0, sheet.about, &style::faint())?;
    Ok(())
}

/// The Job sheet: keys down the first column, their values beside them.
fn paint_keys(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    page.set_column_width(0, 18)?.set_column_width(1, 40)?;
    let key = style::quiet(Stand::WORDS).set_bold();
    for (line, field) in (HEADING_ROW..).zip(sheet.all_fields()) {
        page.write_string_with_format(line, 0, field.heading, &key)?;
        page.insert_note(line, 0, &Note::new(field.about).add_author_prefix(false))?;
        let value = entry(field.kind)
            .set_border_bottom(FormatBorder::Thin)
            .set_border_bottom_color(style::LINE);
        page.write_blank(line, 1, &value)?;
        let rule = allowed(field.kind)?;
        let rule = rule.unwrap_or_else(|| DataValidation::new().allow_any_value());
        page.add_data_validation(line, 1, line, 1, &rule.set_input_message(field.about)?)?;
    }
    let last = page_rows(sheet) - 1;
    page.ignore_error_range(HEADING_ROW, 1, last, 1, IgnoreError::NumberStoredAsText)?;
    page.set_freeze_panes(HEADING_ROW, 0)?;
    Ok(())
}

fn paint_columns(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    const OVERRIDES: &str = "Only where it differs from the type:";
    let wrapped = Stand::WRAPPED;
    let help = style::quiet(wrapped).set_font_size(9).set_font_color(style::FAINT);
    let (mut tallest, mut wide) = (1.0_f64, 0.0);
    let own = u16::try_from(sheet.fields.len()).unwrap_or(u16::MAX);
    let overrides = sheet.takes_deck && own > 3;
    for (at, field) in (0_u16..).zip(sheet.all_fields()) {
        let word = measure::text_width(field.heading) * 1.1 + 2.5;
        let width = match field.kind {
            Kind::Lengths { .. } | Kind::Widths { .. } => 22.0,
            Kind::Text if field.key == "note" => 30.0,
            Kind::Any => 30.0,
            Kind::Text if field.key == "expression" => 48.0,
            _ => WIDTH.max(word),
        };
        wide += width;
        page.set_column_width(at, width)?;
        page.set_column_format(at, &entry(field.kind))?;
        let needed = if field.required { "Needed. " } else { "" };
        let text = format!("{needed}{}", field.about);
        // Nine points are narrower than eleven.
        tallest = tallest.max(measure::lines(&text, width * 1.15));
        page.write_string_with_format(HELP_ROW, at, &text, &help)?;
        let heading = style::heading(Stand { wrap: true, ..Stand::WORDS });
        let heading = match (field.required, at >= own) {
            (true, _) => heading.set_background_color(style::ACCENT).set_font_color(style::PAPER),
            (false, true) if overrides => heading.set_background_color(style::PAPER),
            _ => heading,
        };
        page.write_string_with_format(HEADING_ROW, at, field.heading, &heading)?;
        if let Some(rule) = allowed(field.kind)? {
            page.add_data_validation(HEADING_ROW + 1, at, LAST_ROW, at, &rule)?;
        }
        if is_text(field.kind) {
            let ignored = IgnoreError::NumberStoredAsText;
            page.ignore_error_range(HEADING_ROW + 1, at, LAST_ROW, at, ignored)?;
        }
    }
    if wide > LETTER_TAKES {
        page.set_paper_size(TABLOID);
    }
    if overrides {
        page.write_string_with_format(1, own, OVERRIDES, &style::faint())?;
    }
    page.set_row_height(HELP_ROW, tallest * 12.5 + 2.0)?;
    page.set_row_height(HELP_ROW + 1, 4)?;
    page.set_row_height(HEADING_ROW, 20)?;
    page.set_repeat_rows(HEADING_ROW, HEADING_ROW)?;
    let named = sheet.fields.iter().take_while(|field| field.required).count().min(2);
    page.set_freeze_panes(HEADING_ROW + 1, u16::try_from(named).unwrap_or(0))?;
    Ok(())
}

/// Whether what is typed must stay as typed: a spreadsheet would turn 10-6 into a date and 1-2
/// too.
fn is_text(kind: Kind) -> bool {
    !matches!(
        kind,
        Kind::Whole(_) | Kind::Number | Kind::Positive | Kind::Price | Kind::Date | Kind::Any
    )
}

fn entry(kind: Kind) -> Format {
    let format = style::quiet(Stand::WORDS);
    match kind {
        Kind::Date => format.set_num_format(unit::DATE),
        // The format 49 is @, text.
        kind if is_text(kind) => format.set_num_format_index(49),
        _ => format,
    }
}

/// What a cell may hold; a spreadsheet asks back about anything else and takes it where told to.
fn allowed(kind: Kind) -> Result<Option<DataValidation>, XlsxError> {
    let rule = DataValidation::new();
    let (rule, wanted) = match kind {
        Kind::Choice(words) => (rule.allow_list_strings(words)?, words.join(", ")),
        Kind::YesNo => (rule.allow_list_strings(&["yes", "no"])?, "yes or no".to_string()),
        Kind::Whole(least) => {
            let least = i32::try_from(least).unwrap_or(0);
            let wanted = format!("a whole number of at least {least}");
            let least = DataValidationRule::GreaterThanOrEqualTo(least);
            (rule.allow_whole_number(least), wanted)
        }
        Kind::Date => {
            let earliest = ExcelDateTime::from_ymd(2000, 1, 1)?;
            let rule = rule.allow_date(DataValidationRule::GreaterThanOrEqualTo(earliest));
            (rule, "a date".to_string())
        }
        _ => return Ok(None),
    };
    let rule = rule
        .set_error_style(DataValidationErrorStyle::Warning)
        .set_error_title("Is this meant?")?
        .set_error_message(format!("Wanted {wanted}."))?;
    Ok(Some(rule))
}
