//! One spelling for each name: `north` of Bays is the `NORTH` of the Sequences sheet.
//!
//! Scripts and tables compare names letter by letter, so names that are the same but for case,
//! spaces and accents get one spelling here: that of the sheet that lists them, else the first one
//! met.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::log::Log;
use super::marks::{self, Mark};
use super::quick::QuickMap;
use super::resolve::text_of;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Entry, Job};
use crate::value::Value;

/// What is named, the sheet that lists it, and the fields of sheets other than Bays that name it,
/// by the order in which their spelling counts.
struct Kind {
    what: &'static str,
    fields: &'static [(&'static str, &'static str)],
}

const LEVEL: Kind = Kind {
    what: "level",
    fields: &[
        ("levels", "level"),
        ("levels", "like"),
        ("outlines", "level"),
        ("openings", "level"),
        ("edges", "level"),
        ("extra_concrete", "level"),
        ("pieces", "level"),
        ("pours", "level"),
    ],
};
const SEQUENCE: Kind = Kind {
    what: "sequence",
    fields: &[
        ("sequences", "sequence"),
        ("levels", "sequence"),
        ("edges", "sequence"),
        ("pieces", "sequence"),
        ("releases", "sequence"),
    ],
};
const POUR: Kind = Kind {
    what: "pour",
    fields: &[("pours", "pour"), ("pours", "after"), ("edges", "pour"), ("extra_concrete", "pour")],
};
const TYPE: Kind = Kind {
    what: "type",
    fields: &[
        ("types", "type"),
        ("pieces", "type"),
        ("stock", "type"),
        ("releases", "type"),
        ("prices", "type"),
    ],
};
const MIX: Kind =
    Kind { what: "mix", fields: &[("mixes", "mix"), ("pours", "mix"), ("extra_concrete", "mix")] };
const RELEASE: Kind = Kind { what: "release", fields: &[("releases", "release")] };

/// Gives every name of the job its one spelling and says which were spelled otherwise.
pub fn spell(job: &mut Job, log: &mut Log) {
    let mut bays = std::mem::take(&mut job.bays);
    let mut spelling = Spelling::new(&LEVEL, job);
    for bay in &mut bays {
        let is_changed = spelling.set(&mut bay.level, job, (bay.reading, bay.row), log);
        // A sequence that is not stated is named as the level.
        if is_changed && Mark(&bay.sequence) == Mark(&bay.level) {
            bay.sequence = bay.level.clone();
        }
    }
    spelling.sheets(job, log);

    let mut spelling = Spelling::new(&SEQUENCE, job);
    for bay in &mut bays {
        spelling.set(&mut bay.sequence, job, (bay.reading, bay.row), log);
    }
    spelling.sheets(job, log);

    let mut spelling = Spelling::new(&POUR, job);
    for bay in &mut bays {
        if let Some(pour) = &mut bay.pour {
            spelling.set(pour, job, (bay.reading, bay.row), log);
        }
    }
    spelling.sheets(job, log);

    let mut strips = Spelling::of("strip");
    let mut alternates = Spelling::of("alternate");
    for bay in &mut bays {
        let at = (bay.reading, bay.row);
        if let Some((strip, _, _)) = &mut bay.strip {
            strips.set(strip, job, at, log);
        }
        if let Some(alternate) = &mut bay.alternate {
            alternates.set(alternate, job, at, log);
        }
    }
    marks_of_bays(job, &bays, log);
    job.bays = bays;

    for kind in [&TYPE, &MIX] {
        let mut spelling = Spelling::new(kind, job);
        let mut decks = std::mem::take(&mut job.decks);
        for deck in &mut decks {
            let Some(mut name) = text_of(&deck.fields, kind.what) else { continue };
            let place = deck.origins.get(kind.what).and_then(|origin| job.place(origin));
            if spelling.change(&mut name, |_| place, log) {
                let mut fields = (*deck.fields).clone();
                fields.insert(Arc::from(kind.what), Value::Text(name));
                deck.fields = Arc::new(fields);
            }
        }
        job.decks = decks;
        spelling.sheets(job, log);
    }
    Spelling::new(&RELEASE, job).sheets(job, log);
}

/// The spellings of one kind of name.
struct Spelling {
    what: &'static str,
    fields: &'static [(&'static str, &'static str)],
    known: HashMap<String, Arc<str>>,
    /// Texts seen, by where they are kept: equal cells of a column share their memory, and the
    /// text itself is held here, so that no other takes its place.
    seen: QuickMap<*const u8, (Arc<str>, Arc<str>)>,
    said: HashSet<String>,
}

impl Spelling {
    fn of(what: &'static str) -> Spelling {
        Spelling {
            what,
            fields: &[],
            known: HashMap::new(),
            seen: QuickMap::default(),
            said: HashSet::new(),
        }
    }

    /// The spellings of the sheet that lists the names.
    fn new(kind: &Kind, job: &Job) -> Spelling {
        let mut spelling = Spelling { fields: kind.fields, ..Spelling::of(kind.what) };
        if let Some((sheet, key)) = kind.fields.first() {
            for entry in job.sheet(sheet) {
                if let Some(name) = text_of(&entry.fields, key) {
                    spelling.known.entry(marks::key(&name).into_owned()).or_insert(name);
                }
            }
        }
        spelling
    }

    /// Sets a bay's name; whether it was another.
    fn set(
        &mut self,
        name: &mut Arc<str>,
        job: &Job,
        (reading, row): (u16, u32),
        log: &mut Log,
    ) -> bool {
        self.change(name, |what| job.cell(reading, row, what), log)
    }

    /// Sets a name to its one spelling; whether it was another.
    fn change(
        &mut self,
        name: &mut Arc<str>,
        place: impl FnOnce(&str) -> Option<Place>,
        log: &mut Log,
    ) -> bool {
        let spelled = if let Some((_, spelled)) = self.seen.get(&name.as_ptr()) {
            spelled.clone()
        } else {
            let spelled = self.spelled(name);
            self.seen.insert(name.as_ptr(), (name.clone(), spelled.clone()));
            spelled
        };
        if spelled == *name {
            return false;
        }
        if self.said.insert(name.to_string()) {
            let mut finding = Finding::note(
                "other-spelling",
                format!("{} `{name}` is read as `{spelled}`", self.what),
            )
            .hint("names are the same whatever their case and spaces; give another thing another name");
            finding.places = place(self.what).into_iter().collect();
            log.push(finding);
        }
        *name = spelled;
        true
    }

    fn spelled(&mut self, name: &Arc<str>) -> Arc<str> {
        if self.what != POUR.what {
            return self.known.entry(marks::key(name).into_owned()).or_insert(name.clone()).clone();
        }
        // `P1 60%, P2 40%` names two.
        let mut text = String::with_capacity(name.len());
        for share in name.split_inclusive([',', ';']) {
            let Some(pour) = marks::pours(share).into_iter().next() else {
                text.push_str(share);
                continue;
            };
            let of_key = self.known.entry(marks::key(&pour).into_owned());
            let spelled = of_key.or_insert_with(|| Arc::from(&*pour));
            text.push_str(&share.replacen(&pour, spelled, 1));
        }
        if *text == **name { name.clone() } else { Arc::from(text) }
    }

    /// Sets the names in the rows of the sheets.
    fn sheets(&mut self, job: &mut Job, log: &mut Log) {
        for (sheet, key) in self.fields {
            let Some(mut rows) = job.sheets.get_mut(sheet).map(std::mem::take) else { continue };
            for row in &mut rows {
                self.row(row, key, job, log);
            }
            if let Some(kept) = job.sheets.get_mut(sheet) {
                *kept = rows;
            }
        }
    }

    fn row(&mut self, row: &mut Entry, key: &'static str, job: &Job, log: &mut Log) {
        let Some(mut name) = text_of(&row.fields, key) else { return };
        let (reading, at) = (row.reading, row.row);
        if self.change(&mut name, |_| job.cell(reading, at, key), log) {
            set_field(row, key, name);
        }
    }
}

fn set_field(row: &mut Entry, key: &str, name: Arc<str>) {
    let mut fields = (*row.fields).clone();
    fields.insert(Arc::from(key), Value::Text(name));
    row.fields = Arc::new(fields);
}

/// Outlines and Openings name a bay as its own row does.
fn marks_of_bays(job: &mut Job, bays: &[Bay], log: &mut Log) {
    const SHEETS: [&str; 2] = ["outlines", "openings"];
    if SHEETS.iter().all(|sheet| job.sheet(sheet).is_empty()) {
        return;
    }
    let mut known: HashMap<(Mark<'_>, Mark<'_>), &Arc<str>> = HashMap::new();
    for bay in bays {
        known.entry((Mark(&bay.level), Mark(&bay.mark))).or_insert(&bay.mark);
    }
    let mut said: HashSet<(Arc<str>, Arc<str>)> = HashSet::new();
    for sheet in SHEETS {
        let Some(mut rows) = job.sheets.get_mut(sheet).map(std::mem::take) else { continue };
        for row in &mut rows {
            let (Some(level), Some(bay)) =
                (text_of(&row.fields, "level"), text_of(&row.fields, "bay"))
            else {
                continue;
            };
            let Some(mark) = known.get(&(Mark(&level), Mark(&bay))) else { continue };
            if **mark == bay {
                continue;
            }
            if said.insert((level.clone(), bay.clone())) {
                let mut finding =
                    Finding::note("other-spelling", format!("bay `{bay}` is read as `{mark}`"));
                finding.places = job.cell(row.reading, row.row, "bay").into_iter().collect();
                log.push(finding);
            }
            set_field(row, "bay", (*mark).clone());
        }
        if let Some(kept) = job.sheets.get_mut(sheet) {
            *kept = rows;
        }
    }
}
