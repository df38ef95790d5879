//! The rear of a large sheet, read on a thread of its own while the front is.
//!
//! In: the archive in which a sheet is being read. Out: the cells of its rows from about the middle on.
//! They count only where the reader stumbled over none of them and was ready in time, and then the sheet
//! ends for the other reader before them; else that one reads on to the end, as in small sheets.

use std::borrow::Cow;
use std::cell::RefCell;
use std::num::NonZeroUsize;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::thread;
use std::time::{Duration, Instant};

use ahash::AHashMap;
use calamine::{DataRef, Reader, Xlsx};

use super::archive::{Archive, Early};
use super::grid::{Cell, MOST_COLUMNS, MOST_ROWS};
use super::limits::Limits;
use super::quiet::quietly;
use super::workbook::cell_of;

/// Smaller sheets, unpacked, are read by one reader.
const LARGE: u64 = 1 << 20;

/// Cells with their rows and columns.
#[derive(Default)]
pub struct Cells {
    pub cells: Vec<((u32, u32), Held)>,
    /// Texts that cells share.
    pub texts: Vec<String>,
}

/// A cell as it is handed from thread to thread.
pub enum Held {
    Own(Cell<'static>),
    /// The position of its text.
    Text(u32),
}

impl Held {
    /// The cell, given the texts that cells share.
    pub fn with(self, texts: &[String]) -> Cell<'_> {
        match self {
            Held::Own(cell) => cell,
            Held::Text(at) => Cell::Text(Cow::Borrowed(&texts[at as usize])),
        }
    }
}

/// The reading of the rear, which ends when this goes.
pub struct Rear {
    read: Rc<RefCell<Option<Cells>>>,
    is_over: Arc<AtomicBool>,
}

impl Drop for Rear {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::Relaxed);
    }
}

impl Rear {
    /// Begins to read the rear of the sheet being read, where that is a large one and there may be
    /// another thread.
    pub fn begin(
        archive: &Archive,
        sheet: &str,
        limits: &Limits,
        threads: NonZeroUsize,
    ) -> Option<Rear> {
        let (bytes, number, size) = archive.being_read()?;
        if threads.get() < 2 || size < LARGE {
            return None;
        }
        let at = Arc::new(OnceLock::new());
        let is_over = Arc::new(AtomicBool::new(false));
        let work = Work {
            bytes,
            number,
            // The front's rows are made something of while this reads.
            from: size / 100 * 46,
            sheet: sheet.to_owned(),
            limits: *limits,
            at: at.clone(),
            is_over: is_over.clone(),
        };
        let read = move || quietly(|| work.read()).flatten();
        let thread = thread::Builder::new().spawn(read).ok()?;
        let read = Rc::new(RefCell::new(None));
        let place = read.clone();
        let are_read = Box::new(move || {
            let cells = thread.join().ok().flatten();
            let are_read = cells.is_some();
            *place.borrow_mut() = cells;
            are_read
        });
        archive.may_end(Early { at, are_read });
        Some(Rear { read, is_over })
    }

    /// The cells behind those that the other reader met.
    pub fn cells(&self) -> Cells {
        self.read.take().unwrap_or_default()
    }
}

struct Work {
    bytes: Arc<[u8]>,
    /// The sheet's part.
    number: usize,
    /// Bytes of it that are left to the other reader, at least.
    from: u64,
    sheet: String,
    limits: Limits,
    at: Arc<OnceLock<u64>>,
    is_over: Arc<AtomicBool>,
}

impl Work {
    fn read(self) -> Option<Cells> {
        let begun = Instant::now();
        let archive = Archive::open(self.bytes.clone(), &self.limits).ok()?;
        let mut book = Xlsx::new(archive.clone()).ok()?;
        self.at.set(archive.leave_out_rows(self.number, self.from)?).ok()?;
        let mut reader = book.worksheet_cells_reader(&self.sheet).ok()?;
        let mut found = Cells::default();
        let mut known: AHashMap<*const u8, u32> = AHashMap::new();
        let mut text_bytes = 0;
        while let Some(record) = reader.next_cell_with_formula_metadata().ok()? {
            let (row, column) = record.pos;
            if row >= MOST_ROWS || column >= MOST_COLUMNS {
                return None;
            }
            let held = match record.value {
                DataRef::SharedString(text) => {
                    let next = found.texts.len();
                    let index = *known.entry(text.as_ptr()).or_insert(u32::try_from(next).ok()?);
                    if index as usize == next {
                        text_bytes += text.len() as u64;
                        found.texts.push(text.to_owned());
                    }
                    Held::Text(index)
                }
                value => {
                    let Some(cell) = cell_of(value, record.formula) else { continue };
                    if let Cell::Text(text) = &cell {
                        text_bytes += text.len() as u64;
                    }
                    Held::Own(cell.into_own())
                }
            };
            found.cells.push(((row, column), held));
            let over = |limits: &Limits| {
                found.cells.len() as u64 > limits.cells
                    || text_bytes > limits.text_bytes
                    || begun.elapsed() > Duration::from_secs(limits.seconds)
            };
            if found.cells.len().is_multiple_of(1024)
                && (self.is_over.load(Ordering::Relaxed) || over(&self.limits))
            {
                return None;
            }
        }
        Some(found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::made_bytes;
    use crate::value::{Record, Value};

    type Places = Vec<(u32, u32)>;

    /// Cells that the front's reader meets, and those of the rear.
    fn read(rows: u32, threads: usize) -> (Places, Places) {
        let row = |at: u32| {
            let mark = Value::text(format!("a mark that is a long one, {at}"));
            let copies = Value::Count(i64::from(at));
            [("Bay".into(), mark), ("Copies".into(), copies)].into_iter().collect()
        };
        let rows: Vec<Record> = (0..rows).map(row).collect();
        let bytes = Arc::from(made_bytes(&[("Bays".to_owned(), rows)]).unwrap());
        let limits = Limits::default();
        let archive = Archive::open(bytes, &limits).unwrap();
        let mut book = Xlsx::new(archive.clone()).unwrap();
        let mut reader = book.worksheet_cells_reader("Bays").unwrap();
        let mut front = vec![reader.next_cell().unwrap().unwrap().get_position()];
        let threads = NonZeroUsize::new(threads).unwrap();
        let rear = Rear::begin(&archive, "Bays", &limits, threads);
        // In time, whatever else the machine does.
        while rear.is_some() && !archive.ends_early() {
            thread::yield_now();
        }
        while let Some(cell) = reader.next_cell().unwrap() {
            front.push(cell.get_position());
        }
        let rear = rear.map(|rear| rear.cells()).unwrap_or_default();
        (front, rear.cells.into_iter().map(|(at, _)| at).collect())
    }

    #[test]
    fn two_readers_meet_each_cell_once() {
        let (whole, none) = read(12_000, 1);
        assert_eq!((whole.len(), none.len()), (24_002, 0));
        let (front, rear) = read(12_000, 2);
        assert!(front.len().abs_diff(rear.len()) < 4_000, "{} and {}", front.len(), rear.len());
        assert_eq!([front, rear].concat(), whole);
        assert_eq!(read(100, 2).1, []);
    }
}
