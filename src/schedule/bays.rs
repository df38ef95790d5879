//! Rows of Bays as bays whose deck is asked for, but not resolved yet.

use std::sync::Arc;

use super::cells::Read;
use super::columns::{BLANK, Column};
use super::head::Head;
use super::headings::{Dictionary, squeeze};
use super::log::{Log, cell};
use super::quick::QuickMap;
use super::rows::{DeckAsk, DeckColumns, Sink};
use super::said::Said;
use crate::finding::Finding;
use crate::job::{Bay, Runs, Status};
use crate::value::{Record, Value};

/// What of a row scripts read from the rest record, whether there is such a column or not.
const REST: [&str; 10] = [
    "drawing",
    "support",
    "camber_in",
    "slope",
    "beam_deflection_in",
    "girder_deflection_in",
    "studs",
    "x_ft",
    "y_ft",
    "note",
];

/// Takes rows of one Bays sheet.
pub struct BaySink<'a> {
    reading: u16,
    sheet: Arc<str>,
    head: &'a Head,
    /// The level of every row, where the sheet has no such column.
    level: Option<Arc<str>>,
    /// The level is still the one that the sheet's name says, and rows took it.
    pub sheet_level: Option<Arc<str>>,
    no_section_yet: bool,
    slots: Slots,
    deck: DeckColumns,
    rest: Vec<(Arc<str>, Option<usize>, Value)>,
    rests: QuickMap<Box<[u32]>, Arc<Record>>,
    scratch: Vec<u32>,
    pub asks: Vec<DeckAsk>,
    pub bays: Vec<Bay>,
}

/// Positions among the columns.
struct Slots {
    level: Option<usize>,
    bay: Option<usize>,
    sequence: Option<usize>,
    runs: Option<usize>,
    spans: Option<usize>,
    widths: Option<usize>,
    copies: Option<usize>,
    strip: Option<usize>,
    along: Option<usize>,
    across: Option<usize>,
    pour: Option<usize>,
    cut: Option<usize>,
    start_end: Option<usize>,
    far_end: Option<usize>,
    status: Option<usize>,
    alternate: Option<usize>,
}

impl<'a> BaySink<'a> {
    pub fn new(
        reading: u16,
        sheet: &Arc<str>,
        columns: &[Column],
        dictionary: &Dictionary,
        head: &'a Head,
        level: Option<Arc<str>>,
    ) -> BaySink<'a> {
        let at = |key: &str| {
            let field = dictionary.field(key)?;
            columns.iter().position(|column| column.field == Some(field))
        };
        let mut rest: Vec<(Arc<str>, Option<usize>, Value)> =
            REST.iter().map(|key| (Arc::from(*key), at(key), head.value(key))).collect();
        for (index, column) in columns.iter().enumerate() {
            if column.field.is_none() {
                rest.push((column.heading.clone(), Some(index), Value::Blank));
            }
        }
        BaySink {
            reading,
            sheet: sheet.clone(),
            head,
            level,
            sheet_level: None,
            no_section_yet: true,
            slots: Slots {
                level: at("level"),
                bay: at("bay"),
                sequence: at("sequence"),
                runs: at("runs"),
                spans: at("spans_ft"),
                widths: at("widths_ft"),
                copies: at("copies"),
                strip: at("strip"),
                along: at("along"),
                across: at("across"),
                pour: at("pour"),
                cut: at("cut"),
                start_end: at("start_end"),
                far_end: at("far_end"),
                status: at("status"),
                alternate: at("alternate"),
            },
            deck: DeckColumns::new(columns, dictionary),
            rest,
            rests: QuickMap::default(),
            scratch: Vec::new(),
            asks: Vec::new(),
            bays: Vec::new(),
        }
    }

    fn rest(&mut self, ids: &[u32], columns: &[Column]) -> Arc<Record> {
        self.scratch.clear();
        self.scratch.extend(self.rest.iter().map(|(_, at, _)| at.map_or(BLANK, |at| ids[at])));
        if let Some(rest) = self.rests.get(&*self.scratch) {
            return rest.clone();
        }
        let fields = self.rest.iter().zip(&self.scratch).map(|((key, at, default), id)| {
            let value = match at {
                Some(at) if *id != BLANK => columns[*at].of(*id).value(),
                _ => default.clone(),
            };
            (key.clone(), value)
        });
        let record = Arc::new(fields.collect::<Record>());
        self.rests.insert(self.scratch.as_slice().into(), record.clone());
        record
    }
}

impl Sink for BaySink<'_> {
    fn take(&mut self, row: u32, ids: &[u32], columns: &[Column], log: &mut Log) {
        let read = |slot: Option<usize>| slot.map_or(&Read::Blank, |at| columns[at].of(ids[at]));
        let slots = &self.slots;
        let text = |slot: Option<usize>, key: &str| match read(slot) {
            Read::Blank => self.head.text(key),
            read => read.text(),
        };
        let (Read::Lengths(spans), Read::Widths(widths)) = (read(slots.spans), read(slots.widths))
        else {
            return;
        };
        let Some(level) = read(slots.level).text().or_else(|| self.level.clone()) else { return };
        if slots.level.is_none() && self.no_section_yet && self.sheet_level.is_none() {
            self.sheet_level = Some(level.clone());
        }
        let Some(mark) = read(slots.bay).text() else { return };
        let strip = read(slots.strip).text().map(|strip| {
            (strip, read(slots.along).whole().unwrap_or(1), read(slots.across).whole().unwrap_or(1))
        });
        let placed = [slots.along, slots.across].into_iter().flatten();
        if let (None, Some(at)) = (&strip, placed.into_iter().find(|at| ids[*at] != BLANK)) {
            log.push(
                Finding::warning(
                    "strip-missing",
                    "a place along or across is stated, but no strip: the row is a strip of its own",
                )
                .at(cell(&self.sheet, row, columns[at].index))
                .hint("state Strip in every row of the strip"),
            );
        }
        let mut bay = Bay {
            reading: self.reading,
            row,
            level,
            mark,
            deck: 0,
            sequence: read(slots.sequence).text().unwrap_or_default(),
            runs: read(slots.runs).text().and_then(|word| runs_of(&word)),
            spans: spans.clone(),
            widths: widths.clone(),
            // What is said of the whole job is no number of twins.
            copies: read(slots.copies).whole().unwrap_or(1),
            strip,
            pour: text(slots.pour, "pour"),
            cut: text(slots.cut, "cut"),
            start_end: text(slots.start_end, "start_end"),
            far_end: text(slots.far_end, "far_end"),
            status: text(slots.status, "status").map_or(Status::TakeOff, |word| status_of(&word)),
            alternate: text(slots.alternate, "alternate").filter(|word| !is_base_bid(word)),
            rest: Arc::default(),
        };
        bay.deck = self.deck.ask(self.reading, row, ids, columns, &mut self.asks);
        bay.rest = self.rest(ids, columns);
        for (column, id) in columns.iter().zip(ids) {
            if let Some(said) = column.said(*id).filter(|said| !is_settled(&bay, *said)) {
                log.push(said_of_bay(column, *id, said).at(cell(&self.sheet, row, column.index)));
            }
        }
        self.bays.push(bay);
    }

    fn begin_level(&mut self, level: &str) {
        self.level = Some(Arc::from(level));
        self.no_section_yet = false;
    }

    fn level(&self) -> Option<Arc<str>> {
        self.level.clone()
    }
}

/// Whether a bay's own columns say how it is counted.
fn is_settled(bay: &Bay, said: Said) -> bool {
    match said {
        Said::Out | Said::Hold => matches!(bay.status, Status::Void | Status::Hold),
        Said::Alternate => bay.alternate.is_some() || bay.status == Status::Void,
        Said::Several => bay.copies > 1 || bay.status == Status::Void,
    }
}

/// Asks about a short word in a column by which no bay is counted.
fn said_of_bay(column: &Column, id: u32, said: Said) -> Finding {
    let text = column.of(id).value();
    let text = text.as_text().map_or_else(|| text.to_string(), str::to_owned);
    let message = format!("`{}` says \"{text}\", and the bay is {}", column.heading, said.but());
    Finding::warning(said.code(), message).hint(said.hint())
}

/// Whether a word under Alternate says that a row is of none.
fn is_base_bid(word: &str) -> bool {
    let word = squeeze(word);
    ["", "base", "no", "n", "none", "na", "0", "false"].contains(&word.as_str())
        || word.starts_with("basebid")
}

/// The direction of a word.
pub fn runs_of(word: &str) -> Option<Runs> {
    match word {
        "E-W" => Some(Runs::EastWest),
        "N-S" => Some(Runs::NorthSouth),
        _ => None,
    }
}

fn status_of(word: &str) -> Status {
    [Status::Hold, Status::Released, Status::Shipped, Status::Void]
        .into_iter()
        .find(|status| status.word() == word)
        .unwrap_or(Status::TakeOff)
}
