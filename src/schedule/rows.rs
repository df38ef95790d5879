//! The rows of one sheet below its headings: taken, passed over or left out, and why.

use std::sync::Arc;

use super::cells::Read;
use super::columns::{BLANK, Column};
use super::counts;
use super::facts::{Facts, Merge};
use super::grid::Cell;
use super::headings::{Dictionary, HeadingRow, squeeze};
use super::levels::{self, Line, level_of, names_level};
use super::lines::Lines;
use super::log::{Log, cell};
use super::margin::Margin;
use super::quick::QuickMap;
use super::said::{self, Said};
use crate::finding::{Finding, Place, Severity};
use crate::job::schema::{self, DECK, Kind};
use crate::job::{Heading, Reading};
use crate::length::Unit;
use crate::value::Value;

const TOTAL: &str = "a total";
const FULL_TOTAL: &str = "a total, with all that a row needs";
const LEVEL: &str = "a level's name";
const NOTE: &str = "a note or title";

/// A row as read: a reading for each field of the schema, and the estimator's own columns.
#[derive(Clone, Debug)]
pub struct RawEntry {
    pub reading: u16,
    pub row: u32,
    pub reads: Vec<Read>,
    pub own: Vec<(Arc<str>, Value)>,
}

/// The rows of a sheet other than Bays.
#[derive(Clone, Debug, Default)]
pub struct RawSheet {
    pub entries: Vec<RawEntry>,
}

/// Takes the rows that are read.
pub trait Sink {
    /// A row whose required cells are there and whose cells are all readable; ids as
    /// [`Column::read`] gives them, one a column.
    fn take(&mut self, row: u32, ids: &[u32], columns: &[Column], log: &mut Log);

    /// The rows that follow are of this level, where the sheet has no such column.
    fn begin_level(&mut self, _level: &str) {}

    /// The level that the next row takes without such a column.
    fn level(&self) -> Option<Arc<str>> {
        None
    }
}

impl Sink for RawSheet {
    fn take(&mut self, row: u32, ids: &[u32], columns: &[Column], _log: &mut Log) {
        let fields = columns.iter().filter_map(|column| column.field).max().map_or(0, |m| m + 1);
        let mut reads = vec![Read::Blank; fields];
        let mut own = Vec::new();
        for (column, id) in columns.iter().zip(ids) {
            match column.field {
                Some(field) => reads[field] = column.of(*id).clone(),
                None => own.push((column.heading.clone(), column.of(*id).value())),
            }
        }
        self.entries.push(RawEntry { reading: 0, row, reads, own });
    }
}

/// A sheet whose headings are known, being read.
pub struct Table<'a> {
    pub reading: Reading,
    pub columns: Vec<Column>,
    required: Vec<usize>,
    /// Position among the columns of the one whose blank cells take the value above.
    carried: Option<usize>,
    last_carried: u32,
    /// It was a line of its own that named it.
    carried_from_line: bool,
    carried_rows: Vec<u32>,
    lines: Lines,
    margin: Margin,
    /// Positions among the columns of those by which a row says itself how it is counted.
    settling: Vec<usize>,
    /// That of the one by which it says how often.
    counting: Option<usize>,
    /// Rows that are named like totals and counted.
    like_totals: Vec<u32>,
    /// Rows that were taken or left out, in order.
    rows_read: Vec<u32>,
    /// Columns of a meaning that another one has.
    seconds: Vec<u32>,
    /// The heading rows' texts, to know them again on a later page.
    heading_texts: Vec<Vec<String>>,
    dictionary: &'a Dictionary,
    ids: Vec<u32>,
}

impl<'a> Table<'a> {
    /// A table under the headings found among a sheet's first rows.
    pub fn new(
        sheet: &Arc<str>,
        dictionary: &'a Dictionary,
        found: &HeadingRow,
        rows: &[(u32, Vec<Cell<'static>>)],
        log: &mut Log,
    ) -> Table<'a> {
        let own_row = rows.get(found.first + found.rows - 1).map_or(0, |(row, _)| *row);
        let mut reading = Reading {
            sheet: sheet.clone(),
            key: dictionary.schema.key,
            heading_row: own_row,
            ..Reading::default()
        };
        let mut columns: Vec<Column> = Vec::new();
        let mut seconds = Vec::new();
        say_beside(sheet, dictionary, found, own_row, log);
        for heading in found.headings.iter().take(found.beside.unwrap_or(usize::MAX)) {
            let field = heading.field.map(|field| dictionary.fields[field]);
            let mut column = Column::new(heading, field);
            column.takes_shares =
                dictionary.schema.key == "bays" && field.is_some_and(|field| field.key == "pour");
            let key: Arc<str> = if let Some(field) = field {
                Arc::from(field.key)
            } else {
                let mut key = heading.typed.clone();
                let mut count = 1;
                while reading.own.contains_key(&*key) {
                    count += 1;
                    key = format!("{} ({count})", heading.typed);
                }
                column.heading = Arc::from(&*key);
                column.heading.clone()
            };
            if heading.is_second {
                seconds.push(heading.column);
                log.push(second_column(&heading.typed).at(cell(sheet, own_row, heading.column)));
            }
            let unit = field.and_then(|field| match field.kind {
                Kind::Length { bare, .. }
                | Kind::Lengths { bare, .. }
                | Kind::Widths { bare, .. }
                | Kind::LengthOrNone { bare, .. } => Some(heading.unit.unwrap_or(bare)),
                _ => None,
            });
            match field {
                Some(_) => reading.columns.insert(key.clone(), heading.column),
                None => reading.own.insert(key.clone(), heading.column),
            };
            reading.headings.push(Heading {
                column: heading.column,
                typed: Arc::from(&*heading.typed),
                key,
                is_known: field.is_some(),
                unit: unit.map(Unit::sign),
            });
            columns.push(column);
        }
        let position = |field: usize| columns.iter().position(|c| c.field == Some(field));
        let required = (0..dictionary.fields.len())
            .filter(|field| dictionary.fields[*field].required)
            .filter_map(position)
            .collect();
        let carried = match dictionary.schema.key {
            "bays" => dictionary.field("level").and_then(position),
            _ => None,
        };
        let stated = |key: &&str| position(dictionary.field(key)?);
        let settling = ["status", "alternate"].iter().filter_map(stated).collect();
        let counting = ["copies", "count"].iter().find_map(stated);
        let beside = found.beside.and_then(|at| found.headings.get(at));
        let margin = Margin::new(
            dictionary.schema.key,
            columns.iter().map(|column| column.index),
            beside.map(|heading| heading.column),
        );
        let heading_texts = rows[found.first..(found.first + found.rows).min(rows.len())]
            .iter()
            .map(|(_, cells)| cells.iter().map(|cell| squeeze(&cell.shown())).collect())
            .collect();
        Table {
            reading,
            ids: vec![BLANK; columns.len()],
            columns,
            required,
            carried,
            last_carried: BLANK,
            carried_from_line: false,
            carried_rows: Vec::new(),
            lines: Lines::default(),
            margin,
            settling,
            counting,
            like_totals: Vec::new(),
            rows_read: Vec::new(),
            seconds,
            heading_texts,
            dictionary,
        }
    }

    /// The required fields that no heading names.
    pub fn missing(&self) -> Vec<usize> {
        let is_there = |field: usize| self.columns.iter().any(|c| c.field == Some(field));
        let fields = self.dictionary.fields.iter().enumerate();
        fields.filter(|(i, field)| field.required && !is_there(*i)).map(|(i, _)| i).collect()
    }

    /// Reads one row. A row that can not be read as one of this table may be the heading row of
    /// another: then `is_other` says so, and nothing is done with it.
    pub fn row(
        &mut self,
        row: u32,
        cells: &[Cell<'_>],
        sink: &mut dyn Sink,
        is_other: &mut dyn FnMut(&[Cell<'_>]) -> bool,
        log: &mut Log,
    ) {
        let mut blanks = 0;
        for (column, id) in self.columns.iter_mut().zip(&mut self.ids) {
            *id = cells.get(column.index as usize).map_or(BLANK, |cell| column.read(cell));
            blanks += usize::from(*id == BLANK);
        }
        if blanks == self.columns.len() {
            return;
        }
        let total = total_of(cells);
        let others_blank = || {
            let others = self.required.iter().filter(|at| Some(**at) != self.carried);
            others.into_iter().any(|at| self.ids[*at] == BLANK)
        };
        let is_total = total.is_some_and(|total| total == Total::Alone || others_blank());
        let mut is_carried = false;
        let states_level = self.carried.is_some_and(|carried| self.ids[carried] != BLANK);
        if let Some(carried) = self.carried {
            if self.ids[carried] == BLANK {
                is_carried = self.last_carried != BLANK && !self.carried_from_line;
                self.ids[carried] = self.last_carried;
            } else if blanks + 1 < self.columns.len() && !is_total {
                self.last_carried = self.ids[carried];
                self.carried_from_line = false;
            }
        }
        let lacks = self.required.iter().any(|at| self.ids[*at] == BLANK);
        if total == Some(Total::Alone) && !lacks {
            self.reading.passed.push((row, FULL_TOTAL));
            return;
        }
        if total == Some(Total::Among) && !lacks {
            self.like_totals.push(row);
        }
        let has_problem = self
            .columns
            .iter()
            .zip(&self.ids)
            .any(|(column, id)| *id != BLANK && column.problem(*id).is_some());
        let is_title = blanks + 1 == self.columns.len() && self.reading.key == "types";
        if is_title && cells.iter().any(|cell| cell.text().is_some_and(|t| t.contains(' '))) {
            self.reading.passed.push((row, NOTE));
            return;
        }
        if lacks || has_problem {
            if self.is_heading_again(cells) {
                self.reading.passed.push((row, "headings again"));
                return;
            }
            if total.is_none() && self.names_level(row, cells, sink) {
                self.reading.passed.push((row, LEVEL));
                return;
            }
            if is_other(cells) {
                return;
            }
            if let Some((why, text)) = self.passed_over(cells, lacks, total.is_some()) {
                if let Some(text) = text {
                    self.lines.take(row, &text);
                }
                self.reading.passed.push((row, why));
                return;
            }
            self.rows_read.push(row);
            if self.report(row, log) {
                self.reading.left_out.push(row);
                return;
            }
        }
        if self.rows_read.last() != Some(&row) {
            self.rows_read.push(row);
        }
        if is_carried {
            self.carried_rows.push(row);
        }
        self.below_line(states_level, sink);
        let is_stated = |at: &usize| self.ids[*at] != BLANK;
        let is_settled = |said| match said {
            Said::Several => self.counting.as_ref().is_some_and(is_stated),
            _ => self.settling.iter().any(is_stated),
        };
        self.margin.row(&self.reading.sheet, row, cells, is_settled, log);
        self.reading.taken += 1;
        sink.take(row, &self.ids, &self.columns, log);
    }

    /// Tells the line above a row what the row made of it.
    fn below_line(&mut self, states_level: bool, sink: &dyn Sink) {
        let level = || match self.carried {
            _ if states_level => None,
            Some(carried) => self.columns[carried].of(self.ids[carried]).text(),
            None => sink.level(),
        };
        let is_settled = || self.settling.iter().any(|at| self.ids[*at] != BLANK);
        self.lines.row(level, is_settled);
    }

    /// Takes a line that stands right above the headings; one above the first of a sheet's tables may
    /// be a title.
    pub fn line_above(&mut self, row: u32, text: &str, is_first: bool, sink: &mut dyn Sink) {
        match level_of(text) {
            Some(level) if self.carried.is_none() => {
                sink.begin_level(&level);
                self.lines.level(row, text, level);
            }
            Some(_) => {}
            None if is_first && matches!(levels::line(text), Line::Unknown | Line::Height) => {}
            None => self.lines.take(row, text),
        }
    }

    /// Whether a row is a line that holds nothing but a level; then the rows below it that say none are
    /// on it.
    fn names_level(&mut self, row: u32, cells: &[Cell<'_>], sink: &mut dyn Sink) -> bool {
        if self.reading.key != "bays" {
            return false;
        }
        let mut filled = cells.iter().enumerate().filter(|(_, cell)| !cell.is_blank());
        let (Some((column, cell)), None) = (filled.next(), filled.next()) else { return false };
        let text = cell.shown();
        if levels::line(&text) == Line::Height && self.lines.is_named() {
            return true;
        }
        let Some(level) = level_of(&text) else { return false };
        let under = self.carried.map(|carried| self.columns[carried].index as usize);
        let is_line = match under {
            Some(under) => under == column || column < under && names_level(&text),
            None => cell.text().is_some(),
        };
        if !is_line {
            return false;
        }
        match self.carried {
            Some(carried) => {
                self.last_carried = self.columns[carried].add(Read::Value(Value::text(&level)));
                self.carried_from_line = true;
            }
            None => sink.begin_level(&level),
        }
        self.lines.level(row, &text, level);
        true
    }

    /// The merged ranges that carry a value down into these columns.
    pub fn merges_of_concern(&self, merges: &[Merge]) -> Vec<Merge> {
        let concerns = |merge: &&Merge| {
            merge.bottom > merge.top
                && merge.bottom > self.reading.heading_row
                && self.columns.iter().any(|column| column.index == merge.left)
        };
        merges.iter().filter(concerns).copied().collect()
    }

    /// Whether a row repeats the headings, as on a printed page.
    fn is_heading_again(&self, cells: &[Cell<'_>]) -> bool {
        const LONGEST: usize = 200;
        if cells.iter().any(|cell| cell.text().is_some_and(|text| text.len() > LONGEST)) {
            return false;
        }
        let shown: Vec<String> = cells.iter().map(|cell| squeeze(&cell.shown())).collect();
        self.heading_texts.iter().any(|heading| is_same_row(heading, &shown))
    }

    /// Why a row that lacks something is no data, where it is none.
    fn passed_over(
        &self,
        cells: &[Cell<'_>],
        lacks: bool,
        is_total: bool,
    ) -> Option<(&'static str, Option<String>)> {
        if !lacks {
            return None;
        }
        if is_total {
            return Some((TOTAL, None));
        }
        let mut filled = cells.iter().enumerate().filter(|(_, cell)| !cell.is_blank());
        let (column, first) = filled.next()?;
        let first = first.text()?;
        let level = self.carried.map(|carried| self.columns[carried].index as usize);
        let is_words = first.chars().any(char::is_whitespace)
            || level.is_none_or(|level| column <= level)
            || said::note(first).is_some();
        (filled.next().is_none() && is_words).then(|| (NOTE, Some(first.to_owned())))
    }

    /// Says what is wrong in a row; whether it has to be left out.
    fn report(&self, row: u32, log: &mut Log) -> bool {
        let sheet = &self.reading.sheet;
        let mut is_out = false;
        for (column, id) in self.columns.iter().zip(&self.ids) {
            if let Some(problem) = column.problem(*id) {
                is_out |= problem.severity == Severity::Error && column.field.is_some();
                log.problem(problem, cell(sheet, row, column.index));
            }
        }
        for at in &self.required {
            let column = &self.columns[*at];
            if self.ids[*at] == BLANK {
                is_out = true;
                let about = column.field.map_or("", |field| self.dictionary.fields[field].about);
                log.push(
                    Finding::error("missing-value", format!("`{}` is blank", column.heading))
                        .at(cell(sheet, row, column.index))
                        .hint(about.to_owned()),
                );
            }
        }
        is_out
    }

    /// Closes the sheet: says what was left out or carried, and gives what was understood.
    pub fn finish(mut self, facts: &Facts, log: &mut Log) -> Reading {
        let sheet = self.reading.sheet.clone();
        let places = |rows: &[u32]| -> Vec<Place> {
            rows.iter().map(|row| Place::Row { sheet: sheet.clone(), row: *row }).collect()
        };
        // Rows of Bays may yet be left out for want of a deck and are said together then.
        if !self.reading.left_out.is_empty() && self.reading.key != "bays" {
            let mut finding = Finding::error(
                "row-left-out",
                format!("rows of {sheet} are left out until what is wrong in them is put right"),
            );
            finding.places = places(&self.reading.left_out);
            log.push(finding);
        }
        if !self.carried_rows.is_empty() {
            let mut finding = Finding::warning(
                "level-from-above",
                "`Level` is blank: the level of the row above is taken",
            );
            finding.places = places(&self.carried_rows);
            log.push(finding.hint("write the level into every row"));
            self.reading.remarks.push(format!(
                "rows that take their level from the row above: {}",
                self.carried_rows.len()
            ));
        }
        self.lines.say(&sheet, log);
        self.margin.say(&sheet, log);
        self.passed(log);
        self.counted_totals(log);
        self.hidden(facts, log);
        self.half_a_place(log);
        self.not_read(log);
        self.reading
    }

    /// Rows that are no data are passed over, and that is said; asked about where one holds all that a
    /// row needs.
    fn passed(&self, log: &mut Log) {
        let note = |message| Finding::note("row-passed-over", message);
        let full = Finding::warning(
            "total-with-values",
            "rows are passed over as totals, full as they are",
        );
        for (why, mut finding) in [
            (TOTAL, note("rows are passed over as totals")),
            (NOTE, note("rows are passed over as notes or titles")),
            (
                FULL_TOTAL,
                full.hint("where one is to be counted, give it another name than `Total`"),
            ),
        ] {
            let rows = self.reading.passed.iter().filter(|(_, reason)| *reason == why);
            finding.places = rows
                .map(|(row, _)| Place::Row { sheet: self.reading.sheet.clone(), row: *row })
                .collect();
            if !finding.places.is_empty() {
                log.push(finding);
            }
        }
    }

    /// Rows whose name speaks of a total among other words are counted, and asked about.
    fn counted_totals(&self, log: &mut Log) {
        if self.like_totals.is_empty() {
            return;
        }
        let mut finding =
            Finding::warning("total-counted", "a row that is named like a total is counted");
        let sheet = &self.reading.sheet;
        let place = |row: &u32| Place::Row { sheet: sheet.clone(), row: *row };
        finding.places = self.like_totals.iter().map(place).collect();
        log.push(finding.hint("leave its spans and widths blank where it is one, or rename it"));
    }

    /// A place on plan has an X and a Y: a lone `x` may be meant as a number of twins.
    fn half_a_place(&self, log: &mut Log) {
        const PLACE: [(&str, &str); 2] = [("x_ft", "Y"), ("y_ft", "X")];
        if !["bays", "openings"].contains(&self.reading.key) {
            return;
        }
        let of = |key: &str| {
            let field = self.dictionary.field(key)?;
            self.columns.iter().find(|column| column.field == Some(field))
        };
        let mut stated = PLACE.iter().filter_map(|(key, other)| Some((of(key)?, *other)));
        let (Some((column, other)), None) = (stated.next(), stated.next()) else { return };
        if !column.is_used() {
            return;
        }
        let message = format!(
            "`{}` is read as a place on plan in feet, which needs `{other}` too: is it one?",
            column.heading
        );
        let at = cell(&self.reading.sheet, self.reading.heading_row, column.index);
        log.push(
            Finding::warning("half-a-place", message)
                .at(at)
                .hint("state both, or none; how many bays a row stands for is under `Copies`"),
        );
    }

    /// Columns under headings that no one knows are carried along for scripts, and that is said.
    fn not_read(&self, log: &mut Log) {
        const LISTED: usize = 12;
        // A second column of the same meaning is said already.
        let unknown: Vec<_> =
            self.reading.own.iter().filter(|(_, column)| !self.seconds.contains(column)).collect();
        if unknown.is_empty() {
            return;
        }
        let mut names: Vec<String> =
            unknown.iter().take(LISTED).map(|(name, _)| format!("`{name}`")).collect();
        if unknown.len() > LISTED {
            names.push(format!("{} more", unknown.len() - LISTED));
        }
        let mut finding = Finding::note(
            "columns-not-read",
            format!(
                "columns of {} that nothing but scripts reads: {}",
                self.reading.sheet,
                names.join(", ")
            ),
        )
        .hint(
            "scripts read them by these names; rename one where a column of the schedule is meant",
        );
        let row = self.reading.heading_row;
        let places = unknown.iter().map(|(_, column)| cell(&self.reading.sheet, row, **column));
        finding.places = places.collect();
        log.push(finding);
        for (name, column) in unknown {
            let at = cell(&self.reading.sheet, row, *column);
            if let Some(heading) = self.meant(name) {
                let message =
                    format!("nothing is read under `{name}`, which looks like `{heading}`");
                let finding = Finding::warning("heading-misspelt", message).at(at);
                log.push(finding.hint("write it so, or give it a name less alike"));
            } else if let Some(hint) = self.would_count(name) {
                let message =
                    format!("nothing is read under `{name}`, which may change what its rows count");
                log.push(Finding::warning("count-not-read", message).at(at).hint(hint));
            }
        }
    }

    /// What to do with a heading that no one knows and that says how often, or how far apart.
    fn would_count(&self, typed: &str) -> Option<&'static str> {
        let key = self.reading.key;
        let is_often = || {
            let mut columns = self.columns.iter().filter(|column| *column.heading == *typed);
            columns.any(|column| {
                let numbers = column.whole_numbers();
                counts::is_often(typed) && numbers != [1]
                    || counts::may_be_often(typed)
                        && counts::are_counts(&numbers, self.reading.taken)
            })
        };
        match key {
            "openings" | "edges" => return is_often().then_some("give each a row of its own"),
            "extra_concrete" => return is_often().then_some("call it `Count`"),
            "bays" => {}
            _ => return None,
        }
        if counts::is_spacing(typed) {
            // Where several spans are listed already, it says something else.
            let field = self.dictionary.field("spans_ft");
            let spans = self.columns.iter().find(|column| column.field == field);
            let is_full = spans.is_some_and(|column| column.longest_list() > 1);
            return (!is_full).then_some("Spans takes number and length together: `3@10'-0\"`");
        }
        if ["length", "panellength", "sheetlength"].contains(&squeeze(typed).as_str()) {
            let copies = self.reading.headings.iter().find(|heading| &*heading.key == "copies");
            return copies.filter(|heading| squeeze(&heading.typed) != "copies").map(|_| {
                "a count beside it is read as copies of the whole bay; panels counted by hand \
                 stand on the sheet Pieces"
            });
        }
        is_often().then_some("call it `Copies` where the row stands for so many bays")
    }

    /// The heading of a column that is missing, which another may be meant for.
    fn meant(&self, typed: &str) -> Option<&'static str> {
        // `Slab (total)` may be the slab; `Slab (cy)` is not.
        const SAID: [&str; 14] = [
            "total",
            "overall",
            "nominal",
            "thickness",
            "thk",
            "ft",
            "feet",
            "in",
            "inches",
            "mm",
            "ga",
            "tons",
            "kips",
            "lb",
        ];
        // Quantities of the estimator's own.
        const OWN: [&str; 8] = ["sq", "sqs", "sf", "lf", "cy", "cf", "sy", "lb"];
        const MOST_WRONG: usize = 2;
        if OWN.contains(&squeeze(typed).as_str()) {
            return None;
        }
        let typed = typed.trim().to_lowercase();
        let bare = match typed.split_once(['(', '[']) {
            Some((bare, said)) if SAID.contains(&squeeze(said).as_str()) => squeeze(bare),
            _ => String::new(),
        };
        let fields = schema::sheet(self.reading.key)?.all_fields();
        let missing = fields.filter(|field| !self.reading.columns.contains_key(field.key));
        let mut names = missing.flat_map(|field| {
            std::iter::once(&field.heading).chain(field.synonyms).map(move |name| (field, name))
        });
        let found = names.find(|(_, name)| {
            let name = name.to_lowercase();
            let most = (typed.chars().count().max(name.chars().count()) / 3).min(MOST_WRONG);
            (!bare.is_empty() && squeeze(&name) == bare)
                || typed.chars().next() == name.chars().next()
                    && strsim::damerau_levenshtein(&typed, &name) <= most
        });
        found.map(|(field, _)| field.heading)
    }

    /// Hidden rows and columns are read, and that is said.
    fn hidden(&mut self, facts: &Facts, log: &mut Log) {
        let sheet = self.reading.sheet.clone();
        let rows: Vec<u32> = facts
            .hidden_rows
            .iter()
            .copied()
            .filter(|row| self.rows_read.binary_search(row).is_ok())
            .collect();
        if !rows.is_empty() {
            let mut finding = Finding::note("hidden-row", "hidden rows are read like any other");
            finding.places =
                rows.iter().map(|row| Place::Row { sheet: sheet.clone(), row: *row }).collect();
            log.push(finding.hint("void rows by Status, or delete them"));
            self.reading.remarks.push(format!("hidden rows that are read: {}", rows.len()));
        }
        for column in &self.columns {
            let is_hidden = |(first, last): &(u32, u32)| (*first..=*last).contains(&column.index);
            if facts.hidden_columns.iter().any(is_hidden) {
                let message = format!("column `{}` is hidden and is read", column.heading);
                self.reading.remarks.push(message.clone());
                log.push(Finding::note("hidden-column", message).at(cell(
                    &sheet,
                    self.reading.heading_row,
                    column.index,
                )));
            }
        }
    }
}

fn second_column(typed: &str) -> Finding {
    let message = format!("`{typed}` is a second column of the same meaning and is not read as it");
    Finding::warning("second-column", message)
        .hint("scripts can read it under its heading; rename the one that is meant")
}

/// Says of tables that stand beside the one at hand that they are not read.
fn say_beside(
    sheet: &Arc<str>,
    dictionary: &Dictionary,
    found: &HeadingRow,
    own_row: u32,
    log: &mut Log,
) {
    if let Some(first) = found.beside.and_then(|at| found.headings.get(at)) {
        let message = format!(
            "what stands beside the bays from `{}` on is a table of its own and is not read",
            first.typed
        );
        log.push(
            Finding::warning("table-beside", message)
                .at(cell(sheet, own_row, first.column))
                .hint("put it on a sheet of its own, `Types`; or leave no column blank before it"),
        );
    }
    let is_again = |key: &&str| {
        let names = |typed: &str| dictionary.find(typed).map(|(field, ..)| field);
        let field = dictionary.field(key);
        found.headings.iter().any(|it| it.is_second && field.is_some() && names(&it.typed) == field)
    };
    if dictionary.schema.key == "bays" && ["bay", "spans_ft", "widths_ft"].iter().all(is_again) {
        let message = "a second table of bays stands beside the first and is not read";
        log.push(
            Finding::error("bays-beside", message)
                .at(Place::Row { sheet: sheet.clone(), row: own_row })
                .hint("put it below the first, or on a sheet of its own"),
        );
    }
}

/// How a row is named as a total.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Total {
    /// By nothing but the word.
    Alone,
    /// By the word among others: `Subtotal level 3`.
    Among,
}

/// Whether the first of a row's cells name it as a total.
fn total_of(cells: &[Cell<'_>]) -> Option<Total> {
    const ALONE: [&str; 6] = ["total", "totals", "subtotal", "grandtotal", "sum", "jobtotal"];
    let mut first = cells.iter().filter(|cell| !cell.is_blank()).take(2).filter_map(Cell::text);
    first.find(|text| is_total_word(text)).map(|text| {
        if ALONE.contains(&squeeze(text).as_str()) { Total::Alone } else { Total::Among }
    })
}

/// `Total`, `Subtotal level 3`, `Level 3 total`.
fn is_total_word(text: &str) -> bool {
    const LONGEST: usize = 60;
    let may_be = text.starts_with(['s', 'S']) || text.contains("tal") || text.contains("TAL");
    if text.len() > LONGEST || !may_be {
        return false;
    }
    let word = text.to_lowercase();
    ["total", "subtotal", "sub-total", "sub total", "grand total", "sum "]
        .iter()
        .any(|total| word.starts_with(total))
        || word == "sum"
        || word.ends_with(" total")
        || word.ends_with(" subtotal")
}

/// Whether a row repeats a heading row: at least two cells, and no other text.
fn is_same_row(heading: &[String], row: &[String]) -> bool {
    let mut same = 0;
    for (column, text) in row.iter().enumerate() {
        if text.is_empty() {
            continue;
        }
        if heading.get(column) != Some(text) {
            return false;
        }
        same += 1;
    }
    same >= 2
}

/// The key and the columns that two rows with the same deck share.
#[derive(Clone, Debug)]
pub struct DeckAsk {
    pub reading: u16,
    /// `type`, then the fields of [`DECK`], where the row states them: key, column, reading.
    pub stated: Vec<(&'static str, u32, Read)>,
    /// The rows that ask for it.
    pub rows: Vec<u32>,
}

impl DeckAsk {
    pub fn get(&self, key: &str) -> Option<(u32, &Read)> {
        let of = self.stated.iter().find(|(known, _, _)| *known == key);
        of.map(|(_, column, read)| (*column, read))
    }
}

/// Columns of a sheet by what is done with them.
pub struct DeckColumns {
    /// Positions among the columns: type first, then the deck's.
    pub positions: Vec<(usize, &'static str)>,
    asks: QuickMap<Box<[u32]>, u32>,
    scratch: Vec<u32>,
}

impl DeckColumns {
    pub fn new(columns: &[Column], dictionary: &Dictionary) -> DeckColumns {
        let keys = std::iter::once("type").chain(DECK.iter().map(|field| field.key));
        let positions = keys
            .filter_map(|key| {
                let field = dictionary.field(key)?;
                let at = columns.iter().position(|column| column.field == Some(field))?;
                Some((at, key))
            })
            .collect();
        DeckColumns { positions, asks: QuickMap::default(), scratch: Vec::new() }
    }

    /// The number of the ask that a row makes among all asks; a new one is appended.
    pub fn ask(
        &mut self,
        reading: u16,
        row: u32,
        ids: &[u32],
        columns: &[Column],
        asks: &mut Vec<DeckAsk>,
    ) -> u32 {
        self.scratch.clear();
        self.scratch.extend(self.positions.iter().map(|(at, _)| ids[*at]));
        let ask = if let Some(ask) = self.asks.get(&*self.scratch) {
            *ask
        } else {
            let stated = self
                .positions
                .iter()
                .filter(|(at, _)| ids[*at] != BLANK)
                .map(|(at, key)| (*key, columns[*at].index, columns[*at].of(ids[*at]).clone()))
                .collect();
            asks.push(DeckAsk { reading, stated, rows: Vec::new() });
            let ask = u32::try_from(asks.len() - 1).unwrap_or(u32::MAX);
            self.asks.insert(self.scratch.as_slice().into(), ask);
            ask
        };
        if let Some(ask) = asks.get_mut(ask as usize) {
            ask.rows.push(row);
        }
        ask
    }
}
