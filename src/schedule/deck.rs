//! Making decks: what a bay's row, its type, the Job sheet, the Mixes sheet and the catalogue say
//! of a deck, in one record with the origin of each field.

use std::collections::HashMap;
use std::sync::Arc;

use indexmap::IndexMap;

use super::cells::Read;
use super::head::Head;
use super::log::Log;
use super::marks;
use super::resolve::{cell_origin, text_of};
use super::rows::{DeckAsk, RawEntry};
use crate::catalogue::{Catalogue, Miss, Mix, Use};
use crate::finding::{Finding, Place};
use crate::job::schema::{DECK, Sheet, sheet};
use crate::job::{Deck, Entry, Origin, Reading};
use crate::value::{Record, Value};

/// The fields of a deck in their order; the type's own headings follow.
pub const FIELDS: [&str; 42] = [
    "type",
    "use",
    "profile",
    "depth_in",
    "pitch_in",
    "top_flat_in",
    "bottom_flat_in",
    "rib_in",
    "radius_in",
    "top_stiffeners",
    "bottom_stiffeners",
    "stiffener_depth_in",
    "stiffener_width_in",
    "inverted",
    "assumed",
    "cover_in",
    "gauge",
    "thickness_in",
    "least_thickness_in",
    "grade",
    "fy_ksi",
    "fu_ksi",
    "finish",
    "coating_oz_ft2",
    "published_psf",
    "published_ip_in4",
    "published_in_in4",
    "published_sp_in3",
    "published_sn_in3",
    "unshored",
    "slab_in",
    "mix",
    "unit_weight_pcf",
    "strength_psi",
    "mix_kind",
    "mesh",
    "shored",
    "fastening",
    "side_lap",
    "options",
    "stud_in",
    "note",
];

/// What an ask comes to.
#[derive(Clone, Copy, Debug)]
pub enum Typed {
    Deck {
        deck: u32,
        is_roof: bool,
    },
    /// The type is not known.
    Unknown,
}

/// A row of Types.
struct TypeRow<'a> {
    mark: Arc<str>,
    entry: &'a RawEntry,
}

/// A stated value and where it stands.
#[derive(Clone)]
struct Stated {
    read: Read,
    origin: Origin,
    /// Every cell where it stands: more than one for a value typed into rows of Bays.
    places: Vec<Place>,
    heading: &'static str,
}

pub struct DeckMaker<'a> {
    readings: &'a [Reading],
    types: Vec<TypeRow<'a>>,
    by_mark: HashMap<String, usize>,
    type_schema: Option<&'static Sheet>,
    mixes: Vec<&'a Entry>,
    head: &'a Head,
    catalogue: &'a Catalogue,
    log: &'a mut Log,
    decks: Vec<Deck>,
    /// Asks that state nothing but the type share its deck.
    plain: HashMap<Option<usize>, Typed>,
}

impl<'a> DeckMaker<'a> {
    pub fn new(
        readings: &'a [Reading],
        types: &'a [RawEntry],
        sheets: &'a IndexMap<&'static str, Vec<Entry>>,
        head: &'a Head,
        catalogue: &'a Catalogue,
        log: &'a mut Log,
    ) -> DeckMaker<'a> {
        let type_schema = sheet("types");
        let type_at = type_schema.and_then(|s| s.all_fields().position(|f| f.key == "type"));
        let mut rows: Vec<TypeRow<'_>> = Vec::new();
        let mut by_mark = HashMap::new();
        for entry in types {
            let Some(mark) = type_at.and_then(|at| entry.reads.get(at)).and_then(Read::text) else {
                continue;
            };
            let key = marks::key(&mark).into_owned();
            rows.push(TypeRow { mark, entry });
            by_mark.entry(key).or_insert(rows.len() - 1);
        }
        let mixes = sheets.get("mixes").into_iter().flatten().collect();
        DeckMaker {
            readings,
            types: rows,
            by_mark,
            type_schema,
            mixes,
            head,
            catalogue,
            log,
            decks: Vec::new(),
            plain: HashMap::new(),
        }
    }

    pub fn finish(self) -> Vec<Deck> {
        self.decks
    }

    /// The deck that some rows of Bays ask for.
    pub fn make(&mut self, ask: &DeckAsk) -> Typed {
        let mark = self.stated("type", Some(ask), None);
        let row = match &mark {
            None if ask.get("profile").is_none() && self.head.get("profile").is_none() => {
                self.no_type(ask);
                return Typed::Unknown;
            }
            None => None,
            Some(stated) => {
                let text = stated.read.text().unwrap_or_default();
                match self.by_mark.get(&*marks::key(&text)) {
                    Some(row) => Some(*row),
                    None if ask.get("profile").is_some() => None,
                    None if self.types.is_empty() && self.head.get("profile").is_some() => None,
                    None => {
                        self.unknown_type(&text, stated.places.clone());
                        return Typed::Unknown;
                    }
                }
            }
        };
        let is_plain = ask.stated.iter().all(|(key, _, _)| *key == "type");
        let is_shared = is_plain && (row.is_some() || mark.is_none());
        if is_shared && let Some(typed) = self.plain.get(&row) {
            return *typed;
        }
        let typed = self.build(ask, row, mark.as_ref());
        if is_shared {
            self.plain.insert(row, typed);
        }
        typed
    }

    fn no_type(&mut self, ask: &DeckAsk) {
        let mut finding =
            Finding::error("type-missing", "no type is stated, and no profile in the row");
        finding.places = self.places_of(ask, None);
        let known: Vec<String> = self.types.iter().map(|row| format!("`{}`", row.mark)).collect();
        self.log.push(finding.hint(if known.is_empty() {
            "state Type and describe it on a Types sheet, or state Use, Profile, Gauge and the rest \
             in the row"
                .to_owned()
        } else {
            format!("known are {}", known.join(", "))
        }));
    }

    /// The deck of a row of Pieces or Releases, whose type may be on no bay; `None` where the type
    /// is not known. A release keeps what it states: profile, gauge and finish as released.
    pub fn of_row(&mut self, key: &'static str, row: &RawEntry) -> Option<u32> {
        let schema = sheet(key)?;
        let mut stated: Vec<(&'static str, u32, Read)> = Vec::new();
        for (field, read) in schema.all_fields().zip(&row.reads) {
            let is_deck = field.key == "type" || DECK.iter().any(|known| known.key == field.key);
            if is_deck && !read.is_blank() {
                let columns = &self.readings.get(usize::from(row.reading))?.columns;
                let column = columns.get(field.key).copied().unwrap_or(0);
                stated.push((field.key, column, read.clone()));
            }
        }
        let mark = stated.iter().find(|(key, ..)| *key == "type").and_then(|(.., r)| r.text())?;
        let type_row = self.by_mark.get(&*marks::key(&mark)).copied();
        if stated.len() == 1
            && type_row.is_some()
            && let Some(Typed::Deck { deck, .. }) = self.plain.get(&type_row)
        {
            return Some(*deck);
        }
        let alike = self.decks.iter().position(|deck| {
            stated.iter().all(|(key, _, read)| match deck.fields.get(key) {
                Some(Value::Text(text)) => read.text().is_some_and(|read| {
                    marks::key(&self.catalogue_name(key, &read)) == marks::key(text)
                }),
                other => other == Some(&read.value()),
            })
        });
        let alike = alike.and_then(|deck| u32::try_from(deck).ok());
        let is_release = key == "releases";
        if type_row.is_none() || (is_release && alike.is_some()) {
            return alike;
        }
        let ask = DeckAsk { reading: row.reading, stated, rows: vec![row.row] };
        match self.make(&ask) {
            Typed::Deck { deck, .. } => Some(deck),
            Typed::Unknown => alike,
        }
    }

    /// The catalogue's name for what is stated, `20` for `20GA`; else the text itself.
    fn catalogue_name(&self, key: &str, text: &Arc<str>) -> Arc<str> {
        let found = match key {
            "gauge" => self.catalogue.gauge(text).ok().map(|gauge| gauge.name),
            "finish" => self.catalogue.finish(text).ok().map(|finish| finish.name.clone()),
            "profile" => self.catalogue.profile(text, None).ok().map(|found| found.name.clone()),
            "grade" => self.catalogue.grade(text, None).ok().map(|grade| grade.name.clone()),
            _ => None,
        };
        found.unwrap_or_else(|| text.clone())
    }

    fn unknown_type(&mut self, text: &str, places: Vec<Place>) {
        let known = self.types.iter().map(|row| &*row.mark);
        let mut finding = Finding::error(
            "unknown-type",
            format!("no type `{text}` on the Types sheet, and no profile in the row"),
        );
        finding.places = places;
        if let Some(hint) = marks::suggestion(text, known) {
            finding = finding.hint(hint);
        }
        let left_out = self.readings.iter().filter(|reading| reading.key == "types");
        for reading in left_out.filter(|reading| !reading.left_out.is_empty()) {
            let rows: Vec<String> = reading.left_out.iter().map(|r| (r + 1).to_string()).collect();
            let plural = if rows.len() == 1 { "row" } else { "rows" };
            finding = finding.hint(format!(
                "{plural} {} of `{}` can not be read: where the type is among them, mend that first",
                rows.join(", "),
                reading.sheet
            ));
        }
        self.log.push(finding.hint("the bays are left out until the type is known"));
    }

    /// What is stated of a field: by the row of Bays, else the type, else the Job sheet.
    fn stated(&self, key: &str, ask: Option<&DeckAsk>, row: Option<usize>) -> Option<Stated> {
        let heading =
            DECK.iter().find(|field| field.key == key).map_or("Type", |field| field.heading);
        let sheet_of =
            |reading: u16| self.readings.get(usize::from(reading)).map(|r| r.sheet.clone());
        if let Some(ask) = ask
            && let Some((column, read)) = ask.get(key)
        {
            let sheet = sheet_of(ask.reading).unwrap_or_default();
            let places =
                ask.rows.iter().map(|row| Place::Cell { sheet: sheet.clone(), row: *row, column });
            return Some(Stated {
                read: read.clone(),
                origin: cell_origin(ask.reading, *ask.rows.first()?, column),
                places: places.collect(),
                heading,
            });
        }
        if let Some(type_row) = row.and_then(|row| self.types.get(row)) {
            let at = self.type_schema?.all_fields().position(|field| field.key == key)?;
            let entry = type_row.entry;
            let read = entry.reads.get(at).unwrap_or(&Read::Blank);
            if !read.is_blank() {
                let reading = self.readings.get(usize::from(entry.reading))?;
                let column = reading.columns.get(key).copied().unwrap_or(0);
                return Some(Stated {
                    read: read.clone(),
                    origin: cell_origin(entry.reading, entry.row, column),
                    places: vec![Place::Cell {
                        sheet: reading.sheet.clone(),
                        row: entry.row,
                        column,
                    }],
                    heading,
                });
            }
        }
        let (read, origin) = self.head.get(key)?;
        let Origin::Cell { reading, row, column } = origin else { return None };
        let sheet = sheet_of(*reading)?;
        let places = vec![Place::Cell { sheet, row: *row, column: *column }];
        Some(Stated { read: read.clone(), origin: origin.clone(), places, heading })
    }

    fn build(&mut self, ask: &DeckAsk, row: Option<usize>, mark: Option<&Stated>) -> Typed {
        let mut deck = Building::default();
        if let Some(mark) = mark {
            let text = row.and_then(|row| self.types.get(row)).map(|row| row.mark.clone());
            let text = text.or_else(|| mark.read.text()).unwrap_or_default();
            deck.set("type", Value::Text(text), mark.origin.clone());
        }
        let get = |maker: &DeckMaker<'_>, key: &str| maker.stated(key, Some(ask), row);
        let here = self.places_of(ask, row);

        let used_as = get(self, "use").and_then(|stated| {
            let used_as = Use::of(&stated.read.text()?)?;
            Some((used_as, stated.origin))
        });
        let profile = get(self, "profile");
        let profile_text = profile.as_ref().and_then(|stated| stated.read.text());
        let mut found_use = used_as.as_ref().map(|(used_as, _)| *used_as);
        if let (Some(stated), Some(text)) = (&profile, &profile_text) {
            match self.catalogue.profile(text, found_use) {
                Ok(found) => {
                    let origin = Origin::Catalogue(found.origin.clone());
                    deck.set("profile", Value::Text(found.name.clone()), stated.origin.clone());
                    for (key, number) in [
                        ("depth_in", found.depth_in),
                        ("pitch_in", found.pitch_in),
                        ("top_flat_in", found.top_flat_in),
                        ("bottom_flat_in", found.bottom_flat_in),
                        ("rib_in", found.rib_in()),
                        ("radius_in", found.radius_in),
                        ("cover_in", found.cover_in),
                    ] {
                        deck.set(key, Value::Number(number), origin.clone());
                    }
                    if found.top_grooves + found.bottom_grooves > 0.0 {
                        for (key, number) in [
                            ("top_stiffeners", found.top_grooves),
                            ("bottom_stiffeners", found.bottom_grooves),
                            ("stiffener_depth_in", found.groove_depth_in),
                            ("stiffener_width_in", found.groove_width_in),
                        ] {
                            deck.set(key, Value::Number(number), origin.clone());
                        }
                    }
                    deck.set("inverted", Value::Bool(found.inverted), origin.clone());
                    deck.set("assumed", Value::Bool(found.assumed), origin.clone());
                    if found.assumed {
                        self.assumed(&found.name, &stated.places);
                    }
                    if get(self, "cover_in").is_none() {
                        self.default_cover(&found.name, found.cover_in, &stated.places);
                    }
                    let mut uses =
                        self.catalogue.profiles().iter().filter(|p| p.name == found.name);
                    if found_use.is_none() && uses.by_ref().count() == 1 {
                        found_use = Some(found.used_as);
                    }
                }
                Err(miss) => self.miss("unknown-profile", &miss, stated),
            }
        } else {
            self.lacks("profile-missing", "no profile", &here, "state Profile: `3x12`");
        }
        match (&used_as, found_use) {
            (Some((used_as, origin)), _) => {
                deck.set("use", Value::text(used_as.word()), origin.clone());
            }
            (None, Some(used_as)) => {
                deck.set("use", Value::text(used_as.word()), Origin::Default);
            }
            (None, None) => {
                self.lacks("use-missing", "no use", &here, "state Use: composite, form or roof");
            }
        }
        if let Some(cover) = get(self, "cover_in") {
            deck.set("cover_in", cover.read.value(), cover.origin);
        }
        self.steel(&mut deck, |maker, key| get(maker, key), &here);
        let is_roof = found_use == Some(Use::Roof);
        self.concrete(&mut deck, |maker, key| get(maker, key), is_roof, &here);
        for key in ["mesh", "shored", "fastening", "side_lap", "options", "stud_in"] {
            if let Some(stated) = get(self, key)
                && !(is_roof && key == "mesh")
            {
                deck.set(key, stated.read.value(), stated.origin);
            }
        }
        if let Some(type_row) = row.and_then(|row| self.types.get(row)) {
            self.own_fields(&mut deck, type_row.entry);
        }
        self.publish(&mut deck);
        if mark.is_none() {
            self.make_mark(&mut deck, ask);
        }
        self.decks.push(deck.finish());
        match u32::try_from(self.decks.len() - 1) {
            Ok(deck) => Typed::Deck { deck, is_roof },
            Err(_) => Typed::Unknown,
        }
    }

    /// A deck spelled out in rows of Bays is ordered under a mark of its profile and gauge.
    fn make_mark(&mut self, deck: &mut Building, ask: &DeckAsk) {
        let text = |key: &str| match deck.fields.get(key) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        };
        let Some(profile) = text("profile") else { return };
        let mark = match text("gauge") {
            Some(gauge) => format!("{profile}-{gauge}"),
            None => profile.to_string(),
        };
        let message = format!("no type is stated; the deck is taken and ordered as type `{mark}`");
        let mut finding = Finding::note("type-made", message)
            .hint("write a Type and describe it on the Types sheet where the drawings mark it");
        finding.places = self.places_of(ask, None);
        self.log.push(finding);
        deck.set("type", Value::text(&mark), Origin::Default);
    }

    /// Where to point when a deck lacks something: its type's row, else the rows that ask for it.
    fn places_of(&self, ask: &DeckAsk, row: Option<usize>) -> Vec<Place> {
        let place = |reading: u16, row: u32| {
            let sheet = self.readings.get(usize::from(reading)).map(|r| r.sheet.clone());
            Place::Row { sheet: sheet.unwrap_or_default(), row }
        };
        match row.and_then(|row| self.types.get(row)) {
            Some(type_row) => vec![place(type_row.entry.reading, type_row.entry.row)],
            None => ask.rows.iter().map(|row| place(ask.reading, *row)).collect(),
        }
    }

    fn steel(
        &mut self,
        deck: &mut Building,
        get: impl Fn(&DeckMaker<'a>, &str) -> Option<Stated>,
        here: &[Place],
    ) {
        match get(self, "gauge") {
            Some(stated) => match self.catalogue.gauge(&stated.read.text().unwrap_or_default()) {
                Ok(gauge) => {
                    let origin = Origin::Catalogue(gauge.origin);
                    deck.set("gauge", Value::Text(gauge.name), stated.origin);
                    deck.set("thickness_in", Value::Number(gauge.thickness_in), origin.clone());
                    deck.set("least_thickness_in", Value::Number(gauge.least_in), origin);
                }
                Err(miss) => self.miss("unknown-gauge", &miss, &stated),
            },
            None => self.lacks("gauge-missing", "no gauge", here, "state Gauge: `20`"),
        }
        let mut steel = None;
        match get(self, "finish") {
            Some(stated) => match self.catalogue.finish(&stated.read.text().unwrap_or_default()) {
                Ok(finish) => {
                    let origin = Origin::Catalogue(finish.origin.clone());
                    steel = Some(finish.steel.clone());
                    deck.set("finish", Value::Text(finish.name.clone()), stated.origin);
                    deck.set("coating_oz_ft2", Value::Number(finish.coating_oz_ft2), origin);
                }
                Err(miss) => self.miss("unknown-finish", &miss, &stated),
            },
            None => self.lacks("finish-missing", "no finish", here, "state Finish: `G60`"),
        }
        match get(self, "grade") {
            Some(stated) => {
                let text = stated.read.text().unwrap_or_default();
                match self.catalogue.grade(&text, steel.as_deref()) {
                    Ok(grade) => {
                        let origin = Origin::Catalogue(grade.origin.clone());
                        deck.set("grade", Value::Text(grade.name.clone()), stated.origin);
                        deck.set("fy_ksi", Value::Number(grade.fy_ksi), origin.clone());
                        deck.set("fu_ksi", Value::Number(grade.fu_ksi), origin);
                    }
                    Err(miss) => self.miss("unknown-grade", &miss, &stated),
                }
            }
            None => self.lacks("grade-missing", "no steel grade", here, "state Grade: `SS 40`"),
        }
    }

    /// Slab and mix; a roof takes neither, whatever the Job's default.
    fn concrete(
        &mut self,
        deck: &mut Building,
        get: impl Fn(&DeckMaker<'a>, &str) -> Option<Stated>,
        is_roof: bool,
        here: &[Place],
    ) {
        let slab = get(self, "slab_in");
        let is_default = |stated: &Stated| {
            matches!(&stated.origin, Origin::Cell { reading, .. }
                if self.readings.get(usize::from(*reading)).is_some_and(|r| r.key == "head"))
        };
        if is_roof {
            if let Some(stated) = slab.filter(|s| !matches!(s.read, Read::None) && !is_default(s)) {
                let mut finding = Finding::warning(
                    "roof-with-slab",
                    "roof deck with a slab: roof deck is not for a structural slab, and none is taken",
                );
                finding.places = stated.places;
                self.log.push(finding.hint(
                    "ask the engineer of record which deck is meant; write `none` under Slab for a \
                     roof",
                ));
            }
            return;
        }
        let mut has_slab = true;
        match slab {
            Some(stated) if matches!(stated.read, Read::None) => {
                has_slab = false;
                deck.origins.insert(Arc::from("slab_in"), stated.origin);
            }
            Some(stated) => deck.set("slab_in", stated.read.value(), stated.origin),
            None => self.lacks("slab-missing", "no slab", here, "state Slab in inches, or `none`"),
        }
        match get(self, "mix") {
            Some(stated) if matches!(stated.read, Read::None) => {
                deck.origins.insert(Arc::from("mix"), stated.origin);
            }
            Some(stated) if has_slab => {
                let text = stated.read.text().unwrap_or_default();
                match self.mix(&text) {
                    Ok((mix, row)) => {
                        let origin = |key| self.mix_origin(&mix, row, key);
                        let weight = Value::Number(mix.unit_weight_pcf);
                        deck.set("unit_weight_pcf", weight, origin("unit_weight_pcf"));
                        if let Some(strength) = mix.strength_psi {
                            let strength = Value::Number(strength);
                            deck.set("strength_psi", strength, origin("strength_psi"));
                        }
                        deck.set("mix_kind", Value::Text(mix.kind.clone()), origin("kind"));
                        deck.set("mix", Value::Text(mix.name), stated.origin);
                    }
                    Err(miss) => self.miss("unknown-mix", &miss, &stated),
                }
            }
            None if has_slab => {
                self.lacks("mix-missing", "no mix", here, "state Mix: `NW 145`");
            }
            _ => {}
        }
    }

    /// The mix of a mark: the Mixes sheet's with its row, filled up from the catalogue, else the
    /// catalogue's.
    fn mix(&self, text: &str) -> Result<(Mix, Option<&'a Entry>), Miss> {
        let key = marks::key(text);
        let of_mark = |entry: &&&Entry| {
            text_of(&entry.fields, "mix").is_some_and(|mark| marks::key(&mark) == key)
        };
        let Some(row) = self.mixes.iter().find(of_mark) else {
            let found = self.catalogue.mix(text).map_err(|miss| self.with_marks(text, miss))?;
            return Ok((found, None));
        };
        let number = |key: &str| row.fields.get(key).and_then(Value::as_number);
        let known = self.catalogue.mix(text).ok();
        let weight = number("unit_weight_pcf").or(known.as_ref().map(|mix| mix.unit_weight_pcf));
        let Some(unit_weight_pcf) = weight else {
            return Err(Miss {
                message: format!("mix `{text}` of the Mixes sheet has no unit weight"),
                near: vec!["145".to_owned(), "110".to_owned()],
                is_near: false,
            });
        };
        let kind = text_of(&row.fields, "kind")
            .or_else(|| known.as_ref().map(|mix| mix.kind.clone()))
            .unwrap_or_else(|| kind_of_weight(unit_weight_pcf));
        let mix = Mix {
            name: text_of(&row.fields, "mix").unwrap_or_default(),
            unit_weight_pcf,
            strength_psi: number("strength_psi")
                .or(known.as_ref().and_then(|mix| mix.strength_psi)),
            kind,
            also: Vec::new(),
            origin: known.map(|mix| mix.origin).unwrap_or_default(),
        };
        Ok((mix, Some(row)))
    }

    /// Where a mix's figure stands: in its row of the Mixes sheet, else in the catalogue.
    fn mix_origin(&self, mix: &Mix, row: Option<&Entry>, key: &str) -> Origin {
        let stated = row.filter(|row| {
            let value = row.fields.get(key);
            mix.origin.is_empty() || value.is_some_and(|value| *value != Value::Blank)
        });
        let Some(row) = stated else { return Origin::Catalogue(mix.origin.clone()) };
        let columns = self.readings.get(usize::from(row.reading)).map(|reading| &reading.columns);
        let column = columns.and_then(|columns| columns.get(key).or_else(|| columns.get("mix")));
        cell_origin(row.reading, row.row, column.copied().unwrap_or(0))
    }

    /// A miss that also offers the marks of the Mixes sheet.
    fn with_marks(&self, text: &str, miss: Miss) -> Miss {
        let names: Vec<Arc<str>> =
            self.mixes.iter().filter_map(|entry| text_of(&entry.fields, "mix")).collect();
        let near = marks::near(text, names.iter().map(|name| &**name));
        if near.is_empty() {
            return miss;
        }
        Miss { near: near.into_iter().map(str::to_owned).collect(), is_near: true, ..miss }
    }

    fn own_fields(&self, deck: &mut Building, entry: &RawEntry) {
        let Some(reading) = self.readings.get(usize::from(entry.reading)) else { return };
        let at = |column: u32| cell_origin(entry.reading, entry.row, column);
        let note = self
            .type_schema
            .and_then(|schema| schema.all_fields().position(|field| field.key == "note"))
            .and_then(|at| entry.reads.get(at));
        if let (Some(note), Some(column)) = (note, reading.columns.get("note"))
            && !note.is_blank()
        {
            deck.set("note", note.value(), at(*column));
        }
        for (heading, value) in &entry.own {
            if let Some(column) = reading.own.get(heading) {
                deck.own.push((heading.clone(), value.clone(), at(*column)));
            }
        }
    }

    /// The supplier's published weight, where the catalogue has one.
    fn publish(&self, deck: &mut Building) {
        let text = |key: &str| match deck.fields.get(key) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        };
        let (Some(profile), Some(gauge), Some(finish)) =
            (text("profile"), text("gauge"), text("finish"))
        else {
            return;
        };
        let used_as = text("use").and_then(|word| Use::of(&word));
        let Ok(found) = self.catalogue.profile(&profile, used_as) else { return };
        let origin = Origin::Catalogue(found.origin.clone());
        if let Some(psf) = found.published_psf(&gauge, &finish) {
            deck.set("published_psf", Value::Number(psf), origin.clone());
        }
        let fy = deck.fields.get("fy_ksi").and_then(Value::as_number);
        let section = found
            .sections
            .iter()
            .find(|s| *s.gauge == *gauge && fy.is_some_and(|fy| s.fy_ksi == fy));
        if let Some(section) = section {
            for (key, number) in [
                ("published_ip_in4", section.i_pos_in4_ft),
                ("published_in_in4", section.i_neg_in4_ft),
                ("published_sp_in3", section.s_pos_in3_ft),
                ("published_sn_in3", section.s_neg_in3_ft),
            ] {
                deck.set(key, Value::Number(number), origin.clone());
            }
        }
        let unshored: Vec<Value> = found
            .unshored
            .iter()
            .filter(|row| *row.gauge == *gauge)
            .filter(|row| row.fy_ksi.is_none_or(|of| fy.is_some_and(|fy| fy >= of)))
            .map(|row| {
                let fields = [
                    ("slab_in", Value::Number(row.slab_in)),
                    ("unit_weight_pcf", Value::Number(row.unit_weight_pcf)),
                    ("spans", Value::Count(row.spans)),
                    ("span_ft", Value::Number(row.span_ft)),
                ];
                let record: Record =
                    fields.into_iter().map(|(name, value)| (Arc::from(name), value)).collect();
                Value::Record(Arc::new(record))
            })
            .collect();
        if !unshored.is_empty() {
            deck.set("unshored", Value::List(unshored.into()), origin);
        }
    }

    fn miss(&mut self, code: &'static str, miss: &Miss, stated: &Stated) {
        let mut finding = Finding::error(code, format!("`{}`: {}", stated.heading, miss.message))
            .hint(miss.hint());
        finding.places.clone_from(&stated.places);
        self.log.push(finding);
    }

    fn lacks(&mut self, code: &'static str, what: &str, here: &[Place], hint: &str) {
        let mut finding =
            Finding::warning(code, format!("{what} is stated for the deck")).hint(hint);
        finding.places = here.to_vec();
        self.log.push(finding);
    }

    fn assumed(&mut self, name: &str, places: &[Place]) {
        let mut finding = Finding::warning(
            "assumed-profile",
            format!("the geometry of profile `{name}` is assumed: no published one is known"),
        )
        .hint("ask the supplier for its flats, ribs, cover and weight, and put them into the shop's catalogue");
        finding.places = places.to_vec();
        self.log.push(finding);
    }

    fn default_cover(&mut self, name: &str, cover_in: f64, places: &[Place]) {
        let mut finding = Finding::note(
            "default-cover",
            format!("cover of profile `{name}` is taken as {cover_in} in, the catalogue's"),
        )
        .hint("state Cover on Types where the supplier's differs");
        finding.places = places.to_vec();
        self.log.push(finding);
    }
}

fn kind_of_weight(unit_weight_pcf: f64) -> Arc<str> {
    Arc::from(if unit_weight_pcf < 130.0 { "lightweight" } else { "normal" })
}

/// A deck being made.
#[derive(Default)]
struct Building {
    fields: Record,
    origins: IndexMap<Arc<str>, Origin>,
    own: Vec<(Arc<str>, Value, Origin)>,
}

impl Building {
    fn set(&mut self, key: &str, value: Value, origin: Origin) {
        self.fields.insert(Arc::from(key), value);
        self.origins.insert(Arc::from(key), origin);
    }

    /// The record with every field in its order, blank where nothing is known.
    fn finish(mut self) -> Deck {
        let mut fields = Record::default();
        for key in FIELDS {
            let value = self.fields.get(key).cloned().unwrap_or_default();
            fields.insert(Arc::from(key), value);
        }
        for (heading, value, origin) in self.own {
            self.origins.insert(heading.clone(), origin);
            fields.insert(heading, value);
        }
        Deck { fields: Arc::new(fields), origins: self.origins, bays: Vec::new() }
    }
}
