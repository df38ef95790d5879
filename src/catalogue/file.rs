//! Reading a catalogue file and laying it over a catalogue: entry by entry, by key, with every
//! entry at fault named.

use std::fmt;
use std::sync::Arc;

use toml::{Table, Value};

use super::entries::{
    Finish, Gauge, Grade, Mix, Profile, Published, Section, Unshored, Use, depth_text,
};
use super::{Catalogue, lookup};

/// An entry as its files state it.
#[derive(Clone, Debug)]
pub struct Stated {
    kind: Kind,
    used_as: Option<Use>,
    fields: Table,
    origin: Arc<str>,
}

/// An entry of a catalogue file that can not be read: which file, which entry, why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadEntry {
    pub file: String,
    /// `profile 3x12`, `gauge, third entry`; empty where the file as a whole is at fault.
    pub entry: String,
    pub message: String,
    pub hint: Option<String>,
}

impl fmt::Display for BadEntry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.file)?;
        if !self.entry.is_empty() {
            write!(f, "{}: ", self.entry)?;
        }
        f.write_str(&self.message)
    }
}

impl std::error::Error for BadEntry {}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Profile,
    Gauge,
    Finish,
    Grade,
    Mix,
}

const KINDS: [(&str, Kind, &[&str]); 5] = [
    (
        "profile",
        Kind::Profile,
        &[
            "depth_in",
            "pitch_in",
            "uses",
            "inverted",
            "rib",
            "top_flat_in",
            "bottom_flat_in",
            "radius_in",
            "top_grooves",
            "bottom_grooves",
            "groove_depth_in",
            "groove_width_in",
            "cover_in",
            "assumed",
            "also",
            "source",
            "published",
            "section",
            "unshored",
        ],
    ),
    ("gauge", Kind::Gauge, &["name", "thickness_in", "least_in"]),
    ("finish", Kind::Finish, &["name", "coating_oz_ft2", "steel", "also"]),
    ("grade", Kind::Grade, &["name", "steel", "fy_ksi", "fu_ksi", "also"]),
    ("mix", Kind::Mix, &["name", "unit_weight_pcf", "strength_psi", "kind", "also"]),
];

impl Kind {
    fn word(self) -> &'static str {
        KINDS.iter().find(|(_, kind, _)| *kind == self).map_or("", |(word, _, _)| word)
    }
}

/// The catalogue with a file laid over it.
pub fn lay_over(base: &Catalogue, text: &str, file: &str) -> Result<Catalogue, Vec<BadEntry>> {
    let whole = |message: String| BadEntry {
        file: file.to_owned(),
        entry: String::new(),
        message,
        hint: None,
    };
    let text = text.trim_start_matches('\u{feff}');
    let table: Table = text.parse().map_err(|e: toml::de::Error| {
        let line = e.span().map_or(0, |span| 1 + text[..span.start].matches('\n').count());
        vec![whole(format!("line {line}: {}", e.message().trim()))]
    })?;
    let mut catalogue = Catalogue { stated: base.stated.clone(), ..Catalogue::default() };
    let mut bad = Vec::new();
    for (word, value) in &table {
        let known = KINDS.iter().find(|(known, _, _)| known == word);
        if let (Some((_, kind, fields)), Value::Array(entries)) = (known, value) {
            for (index, entry) in entries.iter().enumerate() {
                let reader = EntryReader { file, kind: *kind, index, fields };
                if let Err(e) = reader.state(entry, &mut catalogue) {
                    bad.push(e);
                }
            }
        } else {
            let words = KINDS.iter().map(|(word, _, _)| *word);
            let mut error = whole(format!(
                "`{word}` is no list of entries; known are [[profile]], [[gauge]], \
                 [[finish]], [[grade]] and [[mix]]"
            ));
            error.hint = lookup::near(word, words).first().map(|n| format!("[[{n}]]?"));
            bad.push(error);
        }
    }
    for (key, stated) in &catalogue.stated.clone() {
        if let Err(e) = build(stated, &mut catalogue) {
            bad.push(BadEntry { file: file.to_owned(), entry: key.clone(), ..e });
        }
    }
    if bad.is_empty() { Ok(catalogue) } else { Err(bad) }
}

/// Reads one entry of one file.
struct EntryReader<'a> {
    file: &'a str,
    kind: Kind,
    index: usize,
    fields: &'a [&'a str],
}

impl EntryReader<'_> {
    fn bad(&self, message: String, hint: Option<String>) -> BadEntry {
        let entry = format!("{}, entry {}", self.kind.word(), self.index + 1);
        BadEntry { file: self.file.to_owned(), entry, message, hint }
    }

    /// Notes what the entry states, over what stands under its key.
    fn state(&self, entry: &Value, catalogue: &mut Catalogue) -> Result<(), BadEntry> {
        let Value::Table(entry) = entry else {
            return Err(self.bad("is no entry with fields".to_owned(), None));
        };
        for field in entry.keys() {
            if !self.fields.contains(&field.as_str()) {
                let near = lookup::near(field, self.fields.iter().copied());
                return Err(self.bad(
                    format!("`{field}` is no field of a {}", self.kind.word()),
                    Some(match near.first() {
                        Some(near) => format!("`{near}`?"),
                        None => format!("known are {}", self.fields.join(", ")),
                    }),
                ));
            }
        }
        let fields = Fields { table: entry };
        let key = self.key(&fields).map_err(|e| self.bad(e.message, e.hint))?;
        let origin: Arc<str> = Arc::from(format!("{}: {key}", self.file));
        for used_as in self.uses(entry, &key, catalogue)? {
            let key = match used_as {
                Some(used_as) => format!("{key} {used_as}"),
                None => key.clone(),
            };
            let stated = catalogue.stated.entry(key).or_insert_with(|| Stated {
                kind: self.kind,
                used_as,
                fields: Table::new(),
                origin: origin.clone(),
            });
            stated.origin = origin.clone();
            for (field, value) in entry {
                stated.fields.insert(field.clone(), value.clone());
            }
        }
        Ok(())
    }

    /// `profile 1.5x6 inverted`, `gauge 20`, `grade SS 40 A653`.
    fn key(&self, fields: &Fields<'_>) -> Result<String, BadEntry> {
        let word = self.kind.word();
        Ok(match self.kind {
            Kind::Profile => format!("{word} {}", fields.profile_name()?),
            Kind::Grade => format!("{word} {} {}", fields.text("name")?, fields.text("steel")?),
            _ => format!("{word} {}", fields.text("name")?),
        })
    }

    /// The uses that a profile's entry concerns; one `None` for other entries.
    fn uses(
        &self,
        entry: &Table,
        key: &str,
        catalogue: &Catalogue,
    ) -> Result<Vec<Option<Use>>, BadEntry> {
        if self.kind != Kind::Profile {
            return Ok(vec![None]);
        }
        let wrong = || {
            self.bad(
                "`uses` is no list of uses, wanted any of \"composite\", \"form\", \"roof\""
                    .to_owned(),
                None,
            )
        };
        let uses: Vec<Option<Use>> = match entry.get("uses") {
            Some(Value::Array(uses)) => uses
                .iter()
                .map(|used_as| used_as.as_str().and_then(Use::of).map(Some).ok_or_else(wrong))
                .collect::<Result<_, _>>()?,
            Some(_) => return Err(wrong()),
            None => Use::ALL
                .into_iter()
                .filter(|used_as| catalogue.stated.contains_key(&format!("{key} {used_as}")))
                .map(Some)
                .collect(),
        };
        if uses.is_empty() {
            return Err(self.bad(
                format!("{key} is new and states no `uses`"),
                Some("uses = [\"composite\"]".to_owned()),
            ));
        }
        Ok(uses)
    }
}

/// The fields of an entry, read by name with their ranges.
struct Fields<'a> {
    table: &'a Table,
}

fn bad(message: String) -> BadEntry {
    BadEntry { file: String::new(), entry: String::new(), message, hint: None }
}

impl Fields<'_> {
    fn number_or(&self, name: &str, least: f64, most: f64) -> Result<Option<f64>, BadEntry> {
        #[allow(clippy::cast_precision_loss, reason = "checked against small ranges below")]
        let number = match self.table.get(name) {
            None => return Ok(None),
            Some(Value::Integer(whole)) => *whole as f64,
            Some(Value::Float(number)) => *number,
            Some(other) => {
                return Err(bad(format!("`{name}` is {other}, wanted a number")));
            }
        };
        if (least..=most).contains(&number) {
            Ok(Some(number))
        } else {
            Err(bad(format!("`{name}` is {number}, wanted {least} to {most}")))
        }
    }

    fn number(&self, name: &str, least: f64, most: f64) -> Result<f64, BadEntry> {
        self.number_or(name, least, most)?.ok_or_else(|| bad(format!("`{name}` is missing")))
    }

    fn text_or(&self, name: &str) -> Result<Option<&str>, BadEntry> {
        match self.table.get(name) {
            None => Ok(None),
            Some(Value::String(text)) if !text.trim().is_empty() => Ok(Some(text.trim())),
            Some(other) => Err(bad(format!("`{name}` is {other}, wanted text in quotes"))),
        }
    }

    fn text(&self, name: &str) -> Result<&str, BadEntry> {
        self.text_or(name)?.ok_or_else(|| bad(format!("`{name}` is missing")))
    }

    fn flag(&self, name: &str) -> Result<bool, BadEntry> {
        match self.table.get(name) {
            None => Ok(false),
            Some(Value::Boolean(flag)) => Ok(*flag),
            Some(other) => Err(bad(format!("`{name}` is {other}, wanted true or false"))),
        }
    }

    fn also(&self) -> Result<Vec<String>, BadEntry> {
        match self.table.get("also") {
            None => Ok(Vec::new()),
            Some(Value::Array(names)) => names
                .iter()
                .map(|name| name.as_str().map(str::to_owned))
                .collect::<Option<_>>()
                .ok_or_else(|| bad("`also` is no list of names".to_owned())),
            Some(_) => Err(bad("`also` is no list of names".to_owned())),
        }
    }

    /// The rows of a table that a profile carries.
    fn rows<T>(
        &self,
        name: &str,
        read: impl Fn(&Fields<'_>) -> Result<T, BadEntry>,
    ) -> Result<Vec<T>, BadEntry> {
        let rows = match self.table.get(name) {
            None => return Ok(Vec::new()),
            Some(Value::Array(rows)) => rows,
            Some(_) => return Err(bad(format!("`{name}` is no list of rows"))),
        };
        rows.iter()
            .enumerate()
            .map(|(index, row)| {
                let at = |e: BadEntry| BadEntry {
                    message: format!("{name} row {}: {}", index + 1, e.message),
                    ..e
                };
                let table = row.as_table().ok_or_else(|| at(bad("is no row".to_owned())))?;
                read(&Fields { table }).map_err(at)
            })
            .collect()
    }

    /// `1.5x6 inverted`, `1.5x6 narrow`, `9/16x2.5`.
    fn profile_name(&self) -> Result<String, BadEntry> {
        let depth = depth_text(self.number("depth_in", 0.25, 12.0)?);
        let pitch = self.number("pitch_in", 1.0, 36.0)?;
        let mut name = format!("{depth}x{pitch}");
        if let Some(rib) = self.text_or("rib")? {
            name = format!("{name} {rib}");
        }
        if self.flag("inverted")? {
            name.push_str(" inverted");
        }
        Ok(name)
    }
}

/// Builds the entry that its files state.
fn build(stated: &Stated, catalogue: &mut Catalogue) -> Result<(), BadEntry> {
    let fields = Fields { table: &stated.fields };
    let origin = stated.origin.clone();
    match stated.kind {
        Kind::Profile => {
            let used_as = stated.used_as.unwrap_or(Use::Composite);
            catalogue.profiles.push(profile(&fields, used_as, origin)?);
        }
        Kind::Gauge => catalogue.gauges.push(Gauge {
            name: Arc::from(fields.text("name")?),
            thickness_in: fields.number("thickness_in", 0.005, 0.5)?,
            least_in: fields.number("least_in", 0.005, 0.5)?,
            origin,
        }),
        Kind::Finish => catalogue.finishes.push(Finish {
            name: Arc::from(fields.text("name")?),
            coating_oz_ft2: fields.number("coating_oz_ft2", 0.0, 4.0)?,
            steel: Arc::from(fields.text("steel")?),
            also: fields.also()?,
            origin,
        }),
        Kind::Grade => catalogue.grades.push(Grade {
            name: Arc::from(fields.text("name")?),
            steel: Arc::from(fields.text("steel")?),
            fy_ksi: fields.number("fy_ksi", 20.0, 120.0)?,
            fu_ksi: fields.number("fu_ksi", 20.0, 150.0)?,
            also: fields.also()?,
            origin,
        }),
        Kind::Mix => catalogue.mixes.push(Mix {
            name: Arc::from(fields.text("name")?),
            unit_weight_pcf: fields.number("unit_weight_pcf", 50.0, 250.0)?,
            strength_psi: fields.number_or("strength_psi", 500.0, 20_000.0)?,
            kind: match fields.text("kind")? {
                kind @ ("normal" | "lightweight") => Arc::from(kind),
                other => {
                    return Err(bad(format!(
                        "`kind` is \"{other}\", wanted \"normal\" or \"lightweight\""
                    )));
                }
            },
            also: fields.also()?,
            origin,
        }),
    }
    Ok(())
}

fn profile(fields: &Fields<'_>, used_as: Use, origin: Arc<str>) -> Result<Profile, BadEntry> {
    let pitch_in = fields.number("pitch_in", 1.0, 36.0)?;
    let top_flat_in = fields.number("top_flat_in", 0.1, pitch_in)?;
    let bottom_flat_in = fields.number("bottom_flat_in", 0.1, pitch_in)?;
    if top_flat_in + bottom_flat_in > pitch_in {
        return Err(bad(format!(
            "`top_flat_in` and `bottom_flat_in` are {} together, wanted at most the pitch of \
             {pitch_in}",
            top_flat_in + bottom_flat_in
        )));
    }
    Ok(Profile {
        name: Arc::from(fields.profile_name()?),
        used_as,
        depth_in: fields.number("depth_in", 0.25, 12.0)?,
        pitch_in,
        inverted: fields.flag("inverted")?,
        rib: Arc::from(fields.text_or("rib")?.unwrap_or_default()),
        top_flat_in,
        bottom_flat_in,
        radius_in: fields.number_or("radius_in", 0.0, 2.0)?.unwrap_or(0.0),
        top_grooves: fields.number_or("top_grooves", 0.0, 5.0)?.unwrap_or(0.0),
        bottom_grooves: fields.number_or("bottom_grooves", 0.0, 5.0)?.unwrap_or(0.0),
        groove_depth_in: fields.number_or("groove_depth_in", 0.0, 1.0)?.unwrap_or(0.0),
        groove_width_in: fields.number_or("groove_width_in", 0.0, 3.0)?.unwrap_or(0.0),
        cover_in: fields.number("cover_in", 6.0, 60.0)?,
        assumed: fields.flag("assumed")?,
        also: fields.also()?,
        source: Arc::from(fields.text_or("source")?.unwrap_or_default()),
        published: fields.rows("published", |row| {
            Ok(Published {
                gauge: row.text("gauge")?.to_owned(),
                finish: row.text("finish")?.to_owned(),
                psf: row.number("psf", 0.2, 40.0)?,
            })
        })?,
        sections: fields.rows("section", |row| {
            Ok(Section {
                gauge: row.text("gauge")?.to_owned(),
                fy_ksi: row.number("fy_ksi", 20.0, 120.0)?,
                i_pos_in4_ft: row.number("i_pos_in4_ft", 0.001, 100.0)?,
                i_neg_in4_ft: row.number("i_neg_in4_ft", 0.001, 100.0)?,
                s_pos_in3_ft: row.number("s_pos_in3_ft", 0.001, 100.0)?,
                s_neg_in3_ft: row.number("s_neg_in3_ft", 0.001, 100.0)?,
            })
        })?,
        unshored: fields.rows("unshored", |row| {
            let spans = row.number("spans", 1.0, 3.0)?;
            #[allow(clippy::cast_possible_truncation, reason = "1 to 3")]
            let spans = spans.round() as i64;
            Ok(Unshored {
                gauge: row.text("gauge")?.to_owned(),
                fy_ksi: row.number_or("fy_ksi", 20.0, 120.0)?,
                slab_in: row.number("slab_in", 1.0, 24.0)?,
                unit_weight_pcf: row.number("unit_weight_pcf", 50.0, 250.0)?,
                spans,
                span_ft: row.number("span_ft", 1.0, 60.0)?,
            })
        })?,
        origin,
    })
}
