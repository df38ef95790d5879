//! Colours and cell formats. The palette is grey-green and slate with three calm tints, each of
//! another lightness, so that marks stay apart when printed in grey; a word always stands with a
//! colour.

use std::ops::RangeInclusive;

use rust_xlsxwriter::{
    Color, ConditionalFormatFormula, Format, FormatAlign, FormatBorder, Worksheet, XlsxError,
};

use crate::finding::Severity;

use super::unit::Side;

pub(super) const INK: Color = Color::RGB(0x26_32_3B);
pub(super) const FAINT: Color = Color::RGB(0x5D_6B_72);
pub(super) const LINE: Color = Color::RGB(0xD5_DA_D6);
pub(super) const HEADING: Color = Color::RGB(0xDF_E6_E1);
pub(super) const ACCENT: Color = Color::RGB(0x2F_5D_62);
pub(super) const PAPER: Color = Color::RGB(0xFF_FF_FF);

/// Text, light fill of the row, fill of the cell in question.
pub(super) const fn tint(severity: Severity) -> (Color, Color, Color) {
    match severity {
        Severity::Error => (Color::RGB(0x8C_1C_13), Color::RGB(0xF6_DF_DA), Color::RGB(0xEB_B8_AE)),
        Severity::Warning => {
            (Color::RGB(0x66_47_00), Color::RGB(0xFB_F1_D9), Color::RGB(0xF3_DA_9B))
        }
        Severity::Note => (Color::RGB(0x1F_44_67), Color::RGB(0xEC_F2_F7), Color::RGB(0xCB_DD_EC)),
    }
}

/// What stands behind a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ground {
    Plain,
    /// In a row that a finding points to.
    Row(Severity),
    /// The very cell that a finding points to.
    Cell(Severity),
}

/// How the cells of a column stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stand<'a> {
    pub number_format: &'a str,
    pub side: Side,
    /// Words to the left that follow on numbers to the right keep off them.
    pub indent: bool,
    pub wrap: bool,
}

impl Stand<'_> {
    pub(super) const WORDS: Stand<'static> =
        Stand { number_format: "General", side: Side::Left, indent: false, wrap: false };
    pub(super) const WRAPPED: Stand<'static> = Stand { wrap: true, ..Stand::WORDS };
}

/// A cell of a table.
pub(super) fn cell(stand: Stand<'_>, ground: Ground) -> Format {
    let format = quiet(stand).set_border_bottom(FormatBorder::Hair).set_border_bottom_color(LINE);
    match ground {
        Ground::Plain => format,
        Ground::Row(severity) => format.set_background_color(tint(severity).1),
        Ground::Cell(severity) => format
            .set_background_color(tint(severity).2)
            .set_font_color(tint(severity).0)
            .set_bold(),
    }
}

/// Draws the lines below rows whose cells have the formats of their columns, to the last of those.
pub(super) fn rule_off(
    sheet: &mut Worksheet,
    rows: RangeInclusive<u32>,
    last: u16,
) -> Result<(), XlsxError> {
    let line = Format::new().set_border_bottom(FormatBorder::Hair).set_border_bottom_color(LINE);
    let always = ConditionalFormatFormula::new().set_rule("=TRUE").set_format(line);
    sheet.add_conditional_format(*rows.start(), 0, *rows.end(), last, &always)?;
    Ok(())
}

/// A cell without lines, for the columns of tables.
pub(super) fn quiet(stand: Stand<'_>) -> Format {
    let mut format = aligned(Format::new().set_font_color(INK), stand);
    if stand.number_format != "General" {
        format = format.set_num_format(stand.number_format);
    }
    if stand.wrap { format.set_text_wrap() } else { format }
}

fn aligned(format: Format, stand: Stand<'_>) -> Format {
    let format = format.set_align(FormatAlign::Top).set_align(match stand.side {
        Side::Left => FormatAlign::Left,
        Side::Right => FormatAlign::Right,
        Side::Middle => FormatAlign::Center,
    });
    if stand.indent { format.set_indent(1) } else { format }
}

/// A heading; its lowest line is left free for the filter's button.
pub(super) fn heading(stand: Stand<'_>) -> Format {
    let format = Format::new()
        .set_bold()
        .set_font_color(INK)
        .set_background_color(HEADING)
        .set_border_bottom(FormatBorder::Thin)
        .set_border_bottom_color(ACCENT)
        .set_text_wrap();
    aligned(format, stand)
}

/// A total above its column.
pub(super) fn total(stand: Stand<'_>) -> Format {
    quiet(stand)
        .set_bold()
        .set_font_color(ACCENT)
        .set_border_top(FormatBorder::Thin)
        .set_border_top_color(ACCENT)
}

/// A total that is not known because a row has an error.
pub(super) fn total_unknown() -> Format {
    total(Stand { side: Side::Right, ..Stand::WORDS })
        .set_font_color(tint(Severity::Error).0)
        .set_background_color(tint(Severity::Error).2)
}

pub(super) fn title() -> Format {
    Format::new().set_bold().set_font_size(15).set_font_color(ACCENT)
}

pub(super) fn section() -> Format {
    Format::new().set_bold().set_font_size(12).set_font_color(ACCENT).set_align(FormatAlign::Top)
}

pub(super) fn faint() -> Format {
    Format::new().set_font_color(FAINT).set_align(FormatAlign::Top)
}

/// The line under the title of a sheet that is not to be relied on.
pub(super) fn alarm() -> Format {
    faint().set_bold().set_font_color(tint(Severity::Error).0)
}

/// The banner over an incomplete workbook: white on dark, in words.
pub(super) fn banner() -> Format {
    Format::new()
        .set_bold()
        .set_font_color(PAPER)
        .set_background_color(tint(Severity::Error).0)
        .set_text_wrap()
        .set_align(FormatAlign::VerticalCenter)
        .set_align(FormatAlign::Left)
        .set_indent(1)
}

/// A paragraph in merged cells.
pub(super) fn paragraph() -> Format {
    Format::new()
        .set_font_color(INK)
        .set_text_wrap()
        .set_align(FormatAlign::Top)
        .set_align(FormatAlign::Left)
}

/// A link in the palette rather than the usual blue, underlined.
pub(super) fn link(format: Format) -> Format {
    format.set_font_color(ACCENT).set_underline(rust_xlsxwriter::FormatUnderline::Single)
}
