//! Opening a schedule of any of the known formats and streaming its sheets' cells row by row.

use std::borrow::Cow;
use std::io::Cursor;
use std::ops::ControlFlow;
use std::sync::Arc;

use calamine::{Data, DataRef, Reader, SheetType, SheetVisible, Xls, Xlsb, Xlsx, XlsxError};
use jiff::civil::Date;

use super::grid::{Cell, MOST_COLUMNS, MOST_ROWS};
use super::{Limits, Unreadable};
use crate::finding::{Finding, Place};

type Bytes = Cursor<Arc<[u8]>>;

/// An open workbook.
pub struct Workbook {
    inner: Inner,
    pub sheets: Vec<SheetName>,
}

enum Inner {
    Xlsx(Box<Xlsx<Bytes>>),
    Xlsb(Box<Xlsb<Bytes>>),
    Xls(Box<Xls<Bytes>>),
    Ods(Box<calamine::Ods<Bytes>>),
}

/// A worksheet of the workbook.
#[derive(Clone, Debug)]
pub struct SheetName {
    pub name: Arc<str>,
    pub is_hidden: bool,
}

/// What may go wrong inside a sheet once it is open: said, and the rest is read.
#[derive(Debug)]
pub struct Damage {
    /// The last cell read before it.
    pub after: Option<(u32, u32)>,
    pub message: String,
    /// Nothing behind it can be read.
    pub is_end: bool,
}

impl Workbook {
    /// Opens a workbook by its content, whatever its name says.
    pub fn open(bytes: Arc<[u8]>, file: &str, _limits: &Limits) -> Result<Workbook, Unreadable> {
        let refuse = |why: String| {
            Unreadable::one(
                Finding::error("no-workbook", format!("`{file}` {why}"))
                    .at(Place::File(Arc::from(file)))
                    .hint("save it as an Excel workbook (.xlsx) and try again"),
            )
        };
        let cursor = Cursor::new(bytes.clone());
        let inner = match format(&bytes) {
            Some(Format::Xlsx) => Inner::Xlsx(Box::new(
                Xlsx::new(cursor).map_err(|e| refuse(format!("can not be read: {e}")))?,
            )),
            Some(Format::Xlsb) => Inner::Xlsb(Box::new(
                Xlsb::new(cursor).map_err(|e| refuse(format!("can not be read: {e}")))?,
            )),
            Some(Format::Xls) => Inner::Xls(Box::new(
                Xls::new(cursor).map_err(|e| refuse(format!("can not be read: {e}")))?,
            )),
            Some(Format::Ods) => Inner::Ods(Box::new(
                calamine::Ods::new(cursor).map_err(|e| refuse(format!("can not be read: {e}")))?,
            )),
            None => return Err(refuse("is no workbook".to_owned())),
        };
        let metadata = match &inner {
            Inner::Xlsx(book) => book.sheets_metadata(),
            Inner::Xlsb(book) => book.sheets_metadata(),
            Inner::Xls(book) => book.sheets_metadata(),
            Inner::Ods(book) => book.sheets_metadata(),
        };
        let sheets = metadata
            .iter()
            .filter(|sheet| sheet.typ == SheetType::WorkSheet)
            .map(|sheet| SheetName {
                name: Arc::from(&*sheet.name),
                is_hidden: sheet.visible != SheetVisible::Visible,
            })
            .collect();
        Ok(Workbook { inner, sheets })
    }

    /// Streams a sheet's rows, in order, to `take` until it breaks; cells stand at their column.
    pub fn read(
        &mut self,
        sheet: &str,
        take: &mut dyn FnMut(u32, &mut Vec<Cell<'_>>) -> ControlFlow<()>,
    ) -> Result<(), Damage> {
        match &mut self.inner {
            Inner::Xlsx(book) => read_xlsx(book, sheet, take),
            Inner::Xlsb(book) => read_range(book.worksheet_range(sheet), take),
            Inner::Xls(book) => read_range(book.worksheet_range(sheet), take),
            Inner::Ods(book) => read_range(book.worksheet_range(sheet), take),
        }
    }
}

enum Format {
    Xlsx,
    Xlsb,
    Xls,
    Ods,
}

/// The format by content.
fn format(bytes: &[u8]) -> Option<Format> {
    if bytes.starts_with(b"PK") {
        let has = |name: &[u8]| bytes.windows(name.len()).any(|part| part == name);
        if has(b"xl/workbook.bin") {
            return Some(Format::Xlsb);
        }
        if has(b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet") || has(b"content.xml") {
            return Some(Format::Ods);
        }
        return Some(Format::Xlsx);
    }
    bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]).then_some(Format::Xls)
}

fn read_xlsx(
    book: &mut Xlsx<Bytes>,
    sheet: &str,
    take: &mut dyn FnMut(u32, &mut Vec<Cell<'_>>) -> ControlFlow<()>,
) -> Result<(), Damage> {
    let damage = |after, e: &XlsxError, is_end| Damage { after, message: e.to_string(), is_end };
    let mut cells = book.worksheet_cells_reader(sheet).map_err(|e| damage(None, &e, true))?;
    let mut row: Vec<Cell<'_>> = Vec::new();
    let mut row_index = 0;
    let mut last = None;
    loop {
        let record = match cells.next_cell_with_formula_metadata() {
            Ok(Some(record)) => record,
            Ok(None) => break,
            Err(e) => return Err(damage(last, &e, true)),
        };
        let (at_row, at_column) = record.pos;
        if at_row >= MOST_ROWS || at_column >= MOST_COLUMNS {
            continue;
        }
        if at_row != row_index {
            if !row.is_empty() && take(row_index, &mut row).is_break() {
                return Ok(());
            }
            row.clear();
            row_index = at_row;
        }
        let cell = match (record.value, record.formula) {
            (DataRef::Empty, None) => continue,
            (DataRef::Empty, Some(formula)) => Cell::NoResult(formula_text(&formula)),
            (value, _) => from_ref(value),
        };
        let column = at_column as usize;
        if row.len() <= column {
            row.resize(column + 1, Cell::Blank);
        }
        row[column] = cell;
        last = Some((at_row, at_column));
    }
    if !row.is_empty() {
        let _: ControlFlow<()> = take(row_index, &mut row);
    }
    Ok(())
}

fn formula_text(formula: &calamine::XlsxFormulaMetadata) -> Box<str> {
    match formula {
        calamine::XlsxFormulaMetadata::Normal { formula }
        | calamine::XlsxFormulaMetadata::Shared { formula, .. } => formula.as_str().into(),
        _ => "\u{2026}".into(),
    }
}

fn read_range<E: std::fmt::Display>(
    range: Result<calamine::Range<Data>, E>,
    take: &mut dyn FnMut(u32, &mut Vec<Cell<'_>>) -> ControlFlow<()>,
) -> Result<(), Damage> {
    let range = range.map_err(|e| Damage { after: None, message: e.to_string(), is_end: true })?;
    let Some((first_row, first_column)) = range.start() else { return Ok(()) };
    let mut row: Vec<Cell<'_>> = Vec::new();
    for (index, cells) in range.rows().enumerate() {
        row.clear();
        row.resize(first_column as usize, Cell::Blank);
        row.extend(cells.iter().map(from_data));
        let at = first_row.saturating_add(u32::try_from(index).unwrap_or(u32::MAX));
        if row.iter().any(|cell| *cell != Cell::Blank) && take(at, &mut row).is_break() {
            return Ok(());
        }
    }
    Ok(())
}

fn from_data(value: &Data) -> Cell<'_> {
    match value {
        Data::String(text) => Cell::Text(Cow::Borrowed(text)),
        Data::Empty => Cell::Blank,
        Data::Float(number) => from_ref(DataRef::Float(*number)),
        Data::Int(number) => from_ref(DataRef::Int(*number)),
        Data::Bool(flag) => Cell::Bool(*flag),
        Data::DateTime(moment) => from_ref(DataRef::DateTime(*moment)),
        Data::DateTimeIso(text) => from_ref(DataRef::DateTimeIso(text.clone())),
        Data::DurationIso(text) => from_ref(DataRef::DurationIso(text.clone())),
        Data::Error(error) => from_ref(DataRef::Error(error.clone())),
    }
}

fn from_ref(value: DataRef<'_>) -> Cell<'_> {
    match value {
        DataRef::Empty => Cell::Blank,
        DataRef::SharedString(text) => Cell::Text(Cow::Borrowed(text)),
        DataRef::String(text) => Cell::Text(Cow::Owned(text)),
        DataRef::Float(number) if number.is_finite() => Cell::Number(number),
        DataRef::Float(number) => Cell::Damaged(number.to_string().into()),
        #[allow(clippy::cast_precision_loss, reason = "spreadsheet integers are small")]
        DataRef::Int(number) => Cell::Number(number as f64),
        DataRef::Bool(flag) => Cell::Bool(flag),
        DataRef::Error(error) => Cell::Error(Cow::Owned(error.to_string())),
        DataRef::DateTime(moment) => {
            let (year, month, day, ..) = moment.to_ymd_hms_milli();
            let days = moment.as_f64();
            if !days.is_finite() {
                return Cell::Damaged(days.to_string().into());
            }
            if moment.is_duration() || days.abs() < 1.0 {
                return Cell::Time(days);
            }
            let parts = (i16::try_from(year), i8::try_from(month), i8::try_from(day));
            match parts {
                (Ok(year), Ok(month), Ok(day)) => {
                    Date::new(year, month, day).map_or(Cell::Number(days), Cell::Date)
                }
                _ => Cell::Number(days),
            }
        }
        DataRef::DateTimeIso(text) => match text.split('T').next().map(str::parse::<Date>) {
            Some(Ok(date)) => Cell::Date(date),
            _ => Cell::Text(Cow::Owned(text)),
        },
        DataRef::DurationIso(text) => Cell::Text(Cow::Owned(text)),
    }
}
