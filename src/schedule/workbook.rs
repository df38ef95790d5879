//! Opening a schedule of any of the known formats and streaming its sheets' cells row by row.
//!
//! In: the bytes of a file, whatever its name says. Out: rows of plain cells, and the facts about
//! a sheet that its cells do not tell. A fault of a file reader becomes a sentence.

use std::borrow::Cow;
use std::io::Cursor;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::sync::Arc;
use std::time::{Duration, Instant};

use calamine::{
    Data, DataRef, Dimensions, Ods, Reader, Sheet, SheetType, SheetVisible, Xls, Xlsb, Xlsx,
    XlsxError, XlsxFormulaMetadata,
};
use jiff::civil::Date;

use super::archive::Archive;
use super::facts::{self, Facts, Merge};
use super::grid::{Cell, MOST_COLUMNS, MOST_ROWS, READ_COLUMNS};
use super::limits::{Limit, Limits, Refused};
use super::quiet::{ours, quietly};
use super::rear::{Cells, Rear};
use super::{Unreadable, compound, ods, shown, strange};
use crate::finding::{Finding, Place};

type Bytes = Cursor<Arc<[u8]>>;

/// Takes a row: its number from 0 and its cells at their columns.
pub type Take<'t> = &'t mut dyn FnMut(u32, &mut Vec<Cell<'_>>) -> ControlFlow<()>;

/// An open workbook.
pub struct Workbook {
    inner: Inner,
    pub sheets: Vec<SheetName>,
    limits: Limits,
    /// On how many a large sheet is read.
    threads: NonZeroUsize,
    used: Used,
    since: Instant,
}

/// What was read so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Used {
    rows: u64,
    cells: u64,
    text_bytes: u64,
}

enum Inner {
    Xlsx(Box<Xlsx<Archive>>, Archive, Option<shown::Styles>),
    Xlsb(Box<Xlsb<Archive>>, Archive),
    Xls(Box<Xls<Bytes>>, Vec<Facts>),
    Ods(Box<Ods<Archive>>, Vec<(String, Facts)>),
}

/// A worksheet of the workbook.
#[derive(Clone, Debug)]
pub struct SheetName {
    pub name: Arc<str>,
    pub is_hidden: bool,
}

/// Why a sheet is not read to its end.
#[derive(Debug)]
pub enum Stop {
    /// It is damaged behind this cell; the rest of the workbook is read.
    Damaged { after: Option<(u32, u32)>, message: String },
    /// It is over a limit: the workbook is refused.
    Over(Refused),
}

impl Workbook {
    /// Opens a workbook by its content. Refused: what is none, is encrypted or over a limit.
    pub fn open(
        bytes: Arc<[u8]>,
        file: &str,
        limits: &Limits,
        threads: NonZeroUsize,
    ) -> Result<Workbook, Unreadable> {
        let opened = open(bytes, limits);
        let (inner, metadata) = opened.map_err(|refused| refusal(file, &refused, limits))?;
        let sheets = metadata
            .into_iter()
            .filter(|sheet| sheet.typ == SheetType::WorkSheet)
            .map(|sheet| SheetName {
                name: Arc::from(sheet.name),
                is_hidden: sheet.visible != SheetVisible::Visible,
            })
            .collect();
        Ok(Workbook {
            inner,
            sheets,
            limits: *limits,
            threads,
            used: Used::default(),
            since: Instant::now(),
        })
    }

    /// Streams a sheet's rows, in order, to `take` until it breaks.
    pub fn read(&mut self, sheet: &str, take: Take<'_>) -> Result<Facts, Stop> {
        let mut counter = Counter {
            used: &mut self.used,
            limits: &self.limits,
            since: self.since,
            sheet,
            take,
            beyond: false,
        };
        match &mut self.inner {
            Inner::Xlsx(book, archive, styles) => {
                let styles = styles.as_ref();
                let threads = self.threads;
                let done = quietly(|| xlsx(book, archive, styles, sheet, threads, &mut counter));
                let done = done.unwrap_or_else(|| Err(broke_down()));
                if let Some(why) = archive.refused() {
                    return Err(Stop::Over(why));
                }
                done.map(|()| Facts { beyond: counter.beyond, ..facts::of_xml(&archive.rest()) })
            }
            Inner::Xlsb(book, archive) => {
                let done = quietly(|| xlsb(book, sheet, &mut counter));
                let done = done.unwrap_or_else(|| Err(broke_down()));
                match archive.refused() {
                    Some(why) => Err(Stop::Over(why)),
                    None => done.map(|()| Facts { beyond: counter.beyond, ..Facts::default() }),
                }
            }
            Inner::Xls(book, facts) => {
                let index = book.sheet_names().iter().position(|known| known == sheet);
                let mut facts = index.and_then(|i| facts.get(i)).cloned().unwrap_or_default();
                let merges = quietly(|| book.merge_cells_by_sheet_name(sheet));
                facts.merges =
                    merges.and_then(Result::ok).unwrap_or_default().iter().map(merge).collect();
                let range = quietly(|| book.worksheet_range(sheet));
                rectangle(range.map(|r| r.map_err(|e| e.to_string())), &mut counter)?;
                Ok(Facts { beyond: counter.beyond, ..facts })
            }
            Inner::Ods(book, facts) => {
                let range = quietly(|| book.worksheet_range(sheet));
                rectangle(range.map(|r| r.map_err(|e| e.to_string())), &mut counter)?;
                let of = facts.iter().find(|(name, _)| name == sheet);
                let facts = of.map(|(_, facts)| facts.clone()).unwrap_or_default();
                Ok(Facts { beyond: counter.beyond, ..facts })
            }
        }
    }

    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// What was read so far.
    pub fn used(&self) -> Used {
        self.used
    }

    /// Sets the count back before a sheet is read again.
    pub fn set_used(&mut self, used: Used) {
        self.used = used;
    }

    /// Names that the workbook gives to ranges: the name, the sheet.
    pub fn defined_names(&self) -> Vec<(String, String)> {
        let names = match &self.inner {
            Inner::Xlsx(book, ..) => book.defined_names(),
            Inner::Xlsb(book, _) => book.defined_names(),
            Inner::Xls(book, _) => book.defined_names(),
            Inner::Ods(book, _) => book.defined_names(),
        };
        let sheet_of = |range: &str| {
            let (sheet, _) = range.trim_start_matches(['=', '$']).rsplit_once(['!', '.'])?;
            Some(sheet.trim_matches('\'').replace("''", "'"))
        };
        names.iter().filter_map(|(name, range)| Some((name.clone(), sheet_of(range)?))).collect()
    }

    /// Names of the workbook's tables: the name, the sheet.
    pub fn table_names(&mut self) -> Vec<(String, String)> {
        let Inner::Xlsx(book, archive, _) = &mut self.inner else { return Vec::new() };
        if !archive.names().iter().any(|name| name.to_lowercase().contains("/tables/")) {
            return Vec::new();
        }
        let loaded = quietly(|| book.load_tables().is_ok()).unwrap_or(false);
        if !loaded {
            return Vec::new();
        }
        let mut tables = Vec::new();
        for sheet in &self.sheets {
            let names = quietly(|| {
                book.table_names_in_sheet(&sheet.name).into_iter().cloned().collect::<Vec<_>>()
            });
            let sheet = sheet.name.to_string();
            tables.extend(names.unwrap_or_default().into_iter().map(|n| (n, sheet.clone())));
        }
        tables
    }
}

/// A file that is refused, as a finding.
pub fn refusal(file: &str, refused: &Refused, limits: &Limits) -> Unreadable {
    let (code, hint) = refused.code_and_hint(limits);
    let finding = Finding::error(code, format!("`{file}` {}", refused.why));
    Unreadable::one(finding.at(Place::File(Arc::from(file))).hint(hint))
}

/// Opens by content; the reason for a refusal follows the file's name.
fn open(bytes: Arc<[u8]>, limits: &Limits) -> Result<(Inner, Vec<Sheet>), Refused> {
    if bytes.starts_with(b"PK") {
        let archive = Archive::open(bytes, limits)?;
        let why = |fault: Option<String>| {
            archive.refused().unwrap_or_else(|| match fault {
                Some(fault) if fault.contains("assword") => Refused::from("is encrypted"),
                Some(fault) => Refused::from(format!("can not be read: {fault}")),
                None => Refused::from("is damaged"),
            })
        };
        if archive.has("xl/workbook.bin") {
            let book = quietly(|| Xlsb::new(archive.clone()));
            let book = book.ok_or_else(|| why(None))?.map_err(|e| why(Some(e.to_string())))?;
            let sheets = book.sheets_metadata().to_vec();
            return Ok((Inner::Xlsb(Box::new(book), archive), sheets));
        }
        if archive.has("content.xml") {
            let content = archive.part("content.xml").ok_or_else(|| why(None))?;
            let facts = ods::check(content, limits)?;
            let book = quietly(|| Ods::new(archive.clone()));
            let book = book.ok_or_else(|| why(None))?.map_err(|e| why(Some(e.to_string())))?;
            let sheets = book.sheets_metadata().to_vec();
            return Ok((Inner::Ods(Box::new(book), facts), sheets));
        }
        if !archive.names().iter().any(|name| name.to_lowercase().ends_with("workbook.xml")) {
            return Err(Refused::from("is an archive, but no workbook"));
        }
        let book = quietly(|| Xlsx::new(archive.clone()));
        let book = book.ok_or_else(|| why(None))?.map_err(|e| why(Some(e.to_string())))?;
        let sheets = book.sheets_metadata().to_vec();
        let styles = quietly(|| shown::Styles::of(&archive)).flatten();
        return Ok((Inner::Xlsx(Box::new(book), archive, styles), sheets));
    }
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        let facts = compound::check(&bytes, limits)?;
        let damaged = || Refused::from("is damaged");
        let book = quietly(|| Xls::new(Cursor::new(bytes))).ok_or_else(damaged)?;
        let book = book.map_err(|e| format!("can not be read: {e}"))?;
        let sheets = book.sheets_metadata().to_vec();
        return Ok((Inner::Xls(Box::new(book), facts), sheets));
    }
    Err(Refused::from(match bytes.iter().take(512).find(|byte| !byte.is_ascii_whitespace()) {
        None => "is empty",
        Some(b'<') => "is a page or XML, no workbook",
        Some(_) if bytes.iter().take(512).all(|byte| *byte >= 9) => "is text, no workbook",
        Some(_) => "is no workbook",
    }))
}

fn broke_down() -> Stop {
    Stop::Damaged { after: None, message: "its reader broke down".to_owned() }
}

/// Hands rows on and counts what they hold.
struct Counter<'a, 't> {
    used: &'a mut Used,
    limits: &'a Limits,
    since: Instant,
    sheet: &'a str,
    take: Take<'t>,
    /// There were cells beyond the columns that are read.
    beyond: bool,
}

impl Counter<'_, '_> {
    fn row(&mut self, row: u32, cells: &mut Vec<Cell<'_>>) -> Result<ControlFlow<()>, Stop> {
        let limits = self.limits;
        self.used.rows += 1;
        for cell in cells.iter() {
            self.used.cells += u64::from(*cell != Cell::Blank);
            if let Cell::Text(Cow::Owned(text)) = cell {
                self.used.text_bytes += text.len() as u64;
            }
        }
        let over = if self.used.rows > limits.rows {
            Some((Limit::Rows, format!("{} rows with content", limits.rows)))
        } else if self.used.cells > limits.cells {
            Some((Limit::Cells, format!("{} cells with content", limits.cells)))
        } else if self.used.text_bytes > limits.text_bytes {
            Some((Limit::Text, format!("{} bytes of text", limits.text_bytes)))
        } else if self.used.rows.is_multiple_of(64)
            && self.since.elapsed() >= Duration::from_secs(limits.seconds)
        {
            Some((Limit::Seconds, format!("can be read in {} seconds", limits.seconds)))
        } else {
            None
        };
        match over {
            Some((limit, much)) => {
                let (row, sheet) = (row + 1, self.sheet);
                let why = format!(
                    "has more than {much}: the limit is reached in row {row} of `{sheet}`, at most \
                     so much is read"
                );
                Err(Stop::Over(Refused::over(limit, why)))
            }
            None => Ok(ours(|| (self.take)(row, cells))),
        }
    }
}

fn xlsx(
    book: &mut Xlsx<Archive>,
    archive: &Archive,
    styles: Option<&shown::Styles>,
    sheet: &str,
    threads: NonZeroUsize,
    counter: &mut Counter<'_, '_>,
) -> Result<(), Stop> {
    const MOST_FAULTS: usize = 10_000;
    /// Who only looks what a sheet is has stopped before so many cells.
    const LOOKED_AT: usize = 4_000;
    let damaged = |after, e: &str| Stop::Damaged { after, message: e.to_owned() };
    let mut cells =
        book.worksheet_cells_reader(sheet).map_err(|e| damaged(None, &e.to_string()))?;
    let shown = styles.map(|styles| styles.cells(archive)).unwrap_or_default();
    let mut row = Row { shown, ..Row::default() };
    let mut strange: Option<strange::Cells> = None;
    let mut faults = 0;
    let mut met = 0;
    let mut rear = None;
    let fault = loop {
        let record = match cells.next_cell_with_formula_metadata() {
            Ok(Some(record)) => record,
            Ok(None) => break None,
            Err(e) => {
                faults += 1;
                if faults > MOST_FAULTS || is_end(&e) {
                    break Some(e.to_string());
                }
                // The reader does not say which cell it is: a pass of our own finds it.
                if strange.is_none() {
                    strange = Some(strange::find(archive, row.last));
                }
                continue;
            }
        };
        met += 1;
        if met == LOOKED_AT {
            rear = Rear::begin(archive, sheet, counter.limits, threads);
        }
        let cell = cell_of(record.value, record.formula);
        if row.put(record.pos, cell, &mut strange, counter)?.is_break() {
            return Ok(());
        }
    };
    let Cells { cells, texts } = rear.map(|rear| rear.cells()).unwrap_or_default();
    for (at, cell) in cells {
        if row.put(at, Some(cell.with(&texts)), &mut strange, counter)?.is_break() {
            return Ok(());
        }
    }
    let last = row.last;
    row.finish(&mut strange, counter)?;
    fault.map_or(Ok(()), |fault| Err(damaged(last, &fault)))
}

/// What a cell holds; `None` for one of which only the look is kept.
pub fn cell_of(value: DataRef<'_>, formula: Option<XlsxFormulaMetadata>) -> Option<Cell<'_>> {
    match (value, formula) {
        (DataRef::Empty, None) => None,
        (DataRef::Empty, Some(formula)) => Some(Cell::NoResult(formula_text(&formula))),
        (value, _) => Some(from_ref(value)),
    }
}

/// Whether nothing can be read behind an error.
fn is_end(error: &XlsxError) -> bool {
    matches!(error, XlsxError::Xml(_) | XlsxError::XmlEof(_) | XlsxError::Io(_) | XlsxError::Zip(_))
}

/// The row being filled.
#[derive(Default)]
struct Row<'a> {
    index: u32,
    cells: Vec<Cell<'a>>,
    shown: shown::Cells,
    /// The cell that came last.
    last: Option<(u32, u32)>,
}

impl<'a> Row<'a> {
    /// Takes the next cell, which may begin another row; `None` for one of which only the look is kept.
    fn put(
        &mut self,
        (row, column): (u32, u32),
        cell: Option<Cell<'a>>,
        strange: &mut Option<strange::Cells>,
        counter: &mut Counter<'_, '_>,
    ) -> Result<ControlFlow<()>, Stop> {
        if row >= MOST_ROWS || column >= MOST_COLUMNS {
            let message = format!(
                "a cell in row {} and column {} lies off the sheet",
                u64::from(row) + 1,
                u64::from(column) + 1
            );
            self.turn(MOST_ROWS, strange, counter).map(drop)?;
            return Err(Stop::Damaged { after: self.last, message });
        }
        let Some(cell) = cell else { return Ok(ControlFlow::Continue(())) };
        if column >= READ_COLUMNS {
            counter.beyond = true;
            return Ok(ControlFlow::Continue(()));
        }
        if row != self.index && self.turn(row, strange, counter)?.is_break() {
            return Ok(ControlFlow::Break(()));
        }
        self.set(column, cell);
        self.last = Some((row, column));
        Ok(ControlFlow::Continue(()))
    }

    fn set(&mut self, column: u32, cell: Cell<'a>) {
        let column = column as usize;
        if column > self.cells.len() {
            self.cells.resize(column, Cell::Blank);
        }
        match self.cells.get_mut(column) {
            Some(place) => *place = cell,
            None => self.cells.push(cell),
        }
    }

    /// Hands the row on and begins another; strange cells of the rows up to it are put in.
    fn turn(
        &mut self,
        next: u32,
        strange: &mut Option<strange::Cells>,
        counter: &mut Counter<'_, '_>,
    ) -> Result<ControlFlow<()>, Stop> {
        if let Some(strange) = strange {
            loop {
                for (column, cell) in strange.of_row(self.index) {
                    if column < READ_COLUMNS {
                        self.set(column, cell);
                    }
                }
                if self.hand_on(counter)?.is_break() {
                    return Ok(ControlFlow::Break(()));
                }
                match strange.next_row() {
                    Some(row) if row < next => self.index = row,
                    _ => break,
                }
            }
        } else if self.hand_on(counter)?.is_break() {
            return Ok(ControlFlow::Break(()));
        }
        self.index = next;
        Ok(ControlFlow::Continue(()))
    }

    fn hand_on(&mut self, counter: &mut Counter<'_, '_>) -> Result<ControlFlow<()>, Stop> {
        if self.cells.is_empty() {
            return Ok(ControlFlow::Continue(()));
        }
        self.shown.put_into(self.index, &mut self.cells);
        let flow = counter.row(self.index, &mut self.cells)?;
        self.cells.clear();
        Ok(flow)
    }

    fn finish(
        mut self,
        strange: &mut Option<strange::Cells>,
        counter: &mut Counter<'_, '_>,
    ) -> Result<(), Stop> {
        self.turn(MOST_ROWS, strange, counter).map(|_| ())
    }
}

fn xlsb(book: &mut Xlsb<Archive>, sheet: &str, counter: &mut Counter<'_, '_>) -> Result<(), Stop> {
    let damaged = |after, e: &str| Stop::Damaged { after, message: e.to_owned() };
    let mut cells =
        book.worksheet_cells_reader(sheet).map_err(|e| damaged(None, &e.to_string()))?;
    let mut row = Row::default();
    let mut last = None;
    loop {
        let cell = match cells.next_cell() {
            Ok(Some(cell)) => cell,
            Ok(None) => break,
            Err(e) => {
                row.finish(&mut None, counter)?;
                return Err(damaged(last, &e.to_string()));
            }
        };
        let (at_row, at_column) = cell.get_position();
        if at_row >= MOST_ROWS || at_column >= READ_COLUMNS {
            counter.beyond = true;
            continue;
        }
        if at_row != row.index && row.turn(at_row, &mut None, counter)?.is_break() {
            return Ok(());
        }
        row.set(at_column, from_ref(cell.get_value().clone()));
        last = Some((at_row, at_column));
    }
    row.finish(&mut None, counter)
}

fn formula_text(formula: &XlsxFormulaMetadata) -> Box<str> {
    match formula {
        XlsxFormulaMetadata::Normal { formula } | XlsxFormulaMetadata::Shared { formula, .. } => {
            formula.as_str().into()
        }
        _ => "\u{2026}".into(),
    }
}

fn merge(dimensions: &Dimensions) -> Merge {
    Merge {
        top: dimensions.start.0,
        left: dimensions.start.1,
        bottom: dimensions.end.0,
        right: dimensions.end.1,
    }
}

fn rectangle(
    range: Option<Result<calamine::Range<Data>, String>>,
    counter: &mut Counter<'_, '_>,
) -> Result<(), Stop> {
    let damaged = |message: &str| Stop::Damaged { after: None, message: message.to_owned() };
    let range = range.ok_or_else(broke_down)?.map_err(|e| damaged(&e))?;
    let Some((first_row, first_column)) = range.start() else { return Ok(()) };
    let mut row: Vec<Cell<'_>> = Vec::new();
    for (index, cells) in range.rows().enumerate() {
        row.clear();
        row.resize(first_column.min(READ_COLUMNS) as usize, Cell::Blank);
        row.extend(cells.iter().map(from_data));
        counter.beyond |= row.len() > READ_COLUMNS as usize;
        row.truncate(READ_COLUMNS as usize);
        let at = first_row.saturating_add(u32::try_from(index).unwrap_or(u32::MAX));
        if row.iter().any(|cell| *cell != Cell::Blank) && counter.row(at, &mut row)?.is_break() {
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
        DataRef::String(text) | DataRef::DurationIso(text) => Cell::Text(Cow::Owned(text)),
        DataRef::Float(number) if number.is_finite() => Cell::Number(number),
        DataRef::Float(number) => Cell::Damaged(number.to_string().into()),
        #[allow(clippy::cast_precision_loss, reason = "spreadsheet integers are small")]
        DataRef::Int(number) => Cell::Number(number as f64),
        DataRef::Bool(flag) => Cell::Bool(flag),
        DataRef::Error(error) => Cell::Error(Cow::Owned(error.to_string())),
        DataRef::DateTime(moment) => from_moment(&moment),
        DataRef::DateTimeIso(text) => match text.split('T').next().map(str::parse::<Date>) {
            Some(Ok(date)) => Cell::Date(date),
            _ => Cell::Text(Cow::Owned(text)),
        },
    }
}

fn from_moment(moment: &calamine::ExcelDateTime) -> Cell<'static> {
    const LAST_DAY: f64 = 2_958_466.0;
    let days = moment.as_f64();
    if !days.is_finite() {
        return Cell::Damaged(days.to_string().into());
    }
    if moment.is_duration() || (0.0..1.0).contains(&days) {
        return Cell::Time(days);
    }
    if !(0.0..LAST_DAY).contains(&days) {
        return Cell::Damaged(format!("{days} shown as a date").into());
    }
    let (year, month, day, ..) = moment.to_ymd_hms_milli();
    let parts = (i16::try_from(year), i8::try_from(month), i8::try_from(day));
    match parts {
        (Ok(year), Ok(month), Ok(day)) => {
            Date::new(year, month, day).map_or(Cell::Number(days), Cell::Date)
        }
        _ => Cell::Number(days),
    }
}
