//! Finding entries by what people type: `3"x12"`, `20 ga`, `Galv G60`, `Fy 40`, `NWC 145 pcf`.

use std::fmt;
use std::sync::Arc;

use super::Catalogue;
use super::entries::{Finish, Gauge, Grade, Mix, Profile, Use};
use crate::length::{self, Unit};

/// Text that names no entry: why, and what it may have meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Miss {
    /// What is wrong: ``no profile `3x13` in the catalogue``.
    pub message: String,
    /// Near misses or, where there are none, what is known.
    pub near: Vec<String>,
    /// Whether `near` are near misses and not just everything known.
    pub is_near: bool,
}

impl Miss {
    /// The advice: `` `3x12`? `` or `known are …`.
    #[must_use]
    pub fn hint(&self) -> String {
        let names: Vec<String> = self.near.iter().map(|name| format!("`{name}`")).collect();
        if self.is_near {
            format!("did you mean {}?", names.join(" or "))
        } else {
            format!("known are {}", names.join(", "))
        }
    }
}

impl fmt::Display for Miss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

/// The up to three of the names that are nearest to a text, nearest first.
pub fn near<'a>(text: &str, names: impl Iterator<Item = &'a str>) -> Vec<String> {
    const LEAST_LIKENESS: f64 = 0.7;
    const SHOWN: usize = 3;
    let text = squeeze(text);
    let mut likeness: Vec<(f64, &str)> = Vec::new();
    for name in names {
        let score = strsim::normalized_damerau_levenshtein(&text, &squeeze(name));
        if score >= LEAST_LIKENESS && !likeness.iter().any(|(_, known)| *known == name) {
            likeness.push((score, name));
        }
    }
    likeness.sort_by(|a, b| b.0.total_cmp(&a.0));
    likeness.into_iter().take(SHOWN).map(|(_, name)| name.to_owned()).collect()
}

/// A miss with the near ones of these names, or all of them.
fn miss<'a>(what: &str, text: &str, names: impl Iterator<Item = &'a str> + Clone) -> Miss {
    let close = near(text, names.clone());
    let is_near = !close.is_empty();
    let mut all: Vec<String> = Vec::new();
    if !is_near {
        for name in names {
            if !all.iter().any(|known| known == name) {
                all.push(name.to_owned());
            }
        }
    }
    Miss {
        message: format!("no {what} `{}` in the catalogue", text.trim()),
        near: if is_near { close } else { all },
        is_near,
    }
}

/// Lower case without spaces and punctuation.
fn squeeze(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The words of a text in lower case, cut at everything that is no letter, digit or point, and
/// between letters and digits.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut last = ' ';
    for c in text.chars().flat_map(char::to_lowercase) {
        let part = c.is_alphanumeric() || (c == '.' && last.is_ascii_digit());
        let joined = part
            && (last.is_alphanumeric() || last == '.')
            && (last.is_alphabetic() == c.is_alphabetic());
        match words.last_mut() {
            Some(word) if joined => word.push(c),
            _ if part => words.push(c.to_string()),
            _ => {}
        }
        last = c;
    }
    words.iter().map(|word| word.trim_end_matches('.').to_owned()).collect()
}

/// Words around the number of a gauge.
const AROUND_GAUGE: &[&str] = &["ga", "gage", "gauge", "no", "in", "t", "min", "minimum"];

/// A thickness to three decimals differs by this from one to four, and a little more.
const ROUNDED_IN: f64 = 0.000_501;

/// A gauge and the thickness in inches that stands in brackets behind it: `20 ga (0.0358")`.
fn with_thickness(text: &str) -> Option<(&str, f64)> {
    let (gauge, thickness) = text.trim().strip_suffix(')')?.split_once('(')?;
    let thickness = decimal(thickness).filter(|thickness| *thickness < 1.0)?;
    (!gauge.trim().is_empty()).then_some((gauge, thickness))
}

/// The decimal number in a text: `.0358"`.
fn decimal(text: &str) -> Option<f64> {
    let from = text.trim().trim_start_matches(|c: char| !c.is_ascii_digit() && c != '.');
    from.trim_end_matches(|c: char| !c.is_ascii_digit()).parse().ok()
}

/// What shops shorten a word of a finish to.
fn in_full(word: String) -> String {
    match word.as_str() {
        "ptd" => "painted".to_owned(),
        "phos" => "phosphatized".to_owned(),
        _ => word,
    }
}

impl Catalogue {
    /// The profile of a text, for a use where it is known. Words in the text may say use and
    /// orientation: `1.5x6 inverted`, `3" x 12" composite`.
    pub fn profile(&self, text: &str, used_as: Option<Use>) -> Result<&Profile, Miss> {
        let typed = TypedProfile::read(text);
        let used_as = used_as.or(typed.used_as);
        let squeezed = squeeze(text);
        let named = |profile: &&Profile| {
            let also = profile.also.iter().map(String::as_str);
            let mut names = std::iter::once(&*profile.name).chain(also);
            !typed.negative && names.any(|name| squeeze(name) == squeezed)
        };
        let fits = |profile: &&Profile| used_as.is_none_or(|used_as| profile.used_as == used_as);
        if let Some(found) = self.profiles.iter().filter(named).find(fits) {
            return Ok(found);
        }
        let of_shape = |profile: &&Profile| typed.is(profile);
        let mut found: Vec<&Profile> = self.profiles.iter().filter(of_shape).filter(fits).collect();
        found.dedup_by(|a, b| a.name == b.name);
        match found.as_slice() {
            [one] => return Ok(one),
            [] => {}
            several => {
                return Err(Miss {
                    message: format!("`{}` may be several profiles", text.trim()),
                    near: several.iter().map(|profile| profile.name.to_string()).collect(),
                    is_near: true,
                });
            }
        }
        let other_uses: Vec<&Profile> =
            self.profiles.iter().filter(|p| named(p) || typed.is(p)).collect();
        if let (Some(used_as), [first, ..]) = (used_as, other_uses.as_slice()) {
            let uses: Vec<&str> = other_uses.iter().map(|p| p.used_as.word()).collect();
            let what = format!("{used_as} profile");
            let names = self.profiles.iter().filter(fits).map(|p| &*p.name);
            let mut miss = miss(&what, text, names);
            miss.message =
                format!("{}; `{}` is there as {}", miss.message, first.name, uses.join(" and "));
            return Err(miss);
        }
        let what = match used_as {
            Some(used_as) => format!("{used_as} profile"),
            None => "profile".to_owned(),
        };
        Err(miss(&what, text, self.profiles.iter().filter(fits).map(|p| &*p.name)))
    }

    /// The gauge of a text: `20`, `20 ga`, `ga. 20`, `#20`, or a design thickness in inches; behind the
    /// gauge its own thickness may stand in brackets.
    pub fn gauge(&self, text: &str) -> Result<Gauge, Miss> {
        if let Some((number, thickness)) = with_thickness(text) {
            let names = self.gauges.iter().map(|gauge| &*gauge.name);
            let gauge = self.gauge(number)?;
            let is_same = (gauge.thickness_in - thickness).abs() <= ROUNDED_IN;
            return if is_same { Ok(gauge) } else { Err(miss("gauge", text, names)) };
        }
        let names = self.gauges.iter().map(|gauge| &*gauge.name);
        let words = words(text);
        let numbers: Vec<&String> =
            words.iter().filter(|word| !AROUND_GAUGE.contains(&word.as_str())).collect();
        let is_negative = text.trim_start().starts_with(['-', '\u{2212}', '\u{2013}']);
        let ([number], false) = (numbers.as_slice(), is_negative) else {
            return Err(miss("gauge", text, names));
        };
        if let Some(gauge) = self.gauges.iter().find(|gauge| squeeze(&gauge.name) == **number) {
            return Ok(gauge.clone());
        }
        match decimal(text) {
            Some(thickness) if (0.01..0.3).contains(&thickness) => Ok(self.of_thickness(thickness)),
            _ => Err(miss("gauge", text, names)),
        }
    }

    /// The gauge of a design thickness, or a thickness of its own where no gauge has it.
    fn of_thickness(&self, thickness_in: f64) -> Gauge {
        const SAME_IN: f64 = 0.000_05;
        let of = |gauge: &&Gauge| (gauge.thickness_in - thickness_in).abs() < SAME_IN;
        self.gauges.iter().find(of).cloned().unwrap_or_else(|| Gauge {
            name: Arc::from(format!("{thickness_in} in")),
            thickness_in,
            least_in: (thickness_in * 950.0).round() / 1000.0,
            origin: Arc::from("the thickness stated; least is 0.95 of it"),
        })
    }

    /// The finish of a text: `G60`, `g-60`, `Galv. G60`, `painted`.
    pub fn finish(&self, text: &str) -> Result<&Finish, Miss> {
        const AROUND: &[&str] =
            &["galv", "galvanized", "galvanised", "galvannealed", "zinc", "coating", "coated"];
        let whole = squeeze(text);
        let core: String = words(text)
            .into_iter()
            .filter(|word| !AROUND.contains(&word.as_str()))
            .map(in_full)
            .collect::<Vec<_>>()
            .concat();
        let names = self.finishes.iter().map(|finish| &*finish.name);
        let is = |finish: &&Finish| {
            let mut known = std::iter::once(&*finish.name).chain(finish.also.iter().map(|a| &**a));
            known.any(|name| {
                let name = squeeze(name);
                name == whole || name == core
            })
        };
        if let Some(finish) = self.finishes.iter().find(is) {
            return Ok(finish);
        }
        if core.is_empty() && !whole.is_empty() {
            let near = names.filter(|name| name.starts_with('G')).map(str::to_owned).collect();
            return Err(Miss {
                message: format!("`{}` does not say how much zinc", text.trim()),
                near,
                is_near: true,
            });
        }
        Err(miss("finish", text, names))
    }

    /// The grade of a text (`SS 40`, `40`, `Fy 40`, `Gr. 40 ksi`) in the steel of a finish, or in
    /// any where the finish is not known.
    pub fn grade(&self, text: &str, steel: Option<&str>) -> Result<&Grade, Miss> {
        const AROUND: &[&str] =
            &["ss", "fy", "gr", "grade", "ksi", "min", "class", "type", "astm", "a", "cs"];
        let in_text =
            ["A653", "A1008"].into_iter().find(|steel| squeeze(text).contains(&squeeze(steel)));
        let steel = in_text.or(steel);
        let fits = |grade: &&Grade| steel.is_none_or(|steel| &*grade.steel == steel);
        let names = self.grades.iter().filter(fits).map(|grade| &*grade.name);
        let whole = squeeze(text);
        let named = |grade: &&Grade| {
            let mut known = std::iter::once(&*grade.name).chain(grade.also.iter().map(|a| &**a));
            known.any(|name| squeeze(name) == whole)
        };
        if let Some(grade) = self.grades.iter().filter(fits).find(named) {
            return Ok(grade);
        }
        let words = words(text);
        let words: Vec<&str> = words
            .iter()
            .map(String::as_str)
            .filter(|word| !AROUND.contains(word) && !matches!(*word, "653" | "1008" | "m"))
            .collect();
        let yield_ksi = match words.as_slice() {
            [fy] | [fy, "1"] => fy.parse::<f64>().ok(),
            _ => None,
        };
        let of_yield = |grade: &&Grade| Some(grade.fy_ksi) == yield_ksi;
        if let Some(grade) = self.grades.iter().filter(fits).find(of_yield) {
            Ok(grade)
        } else {
            let what = match steel {
                Some(steel) => format!("{steel} grade"),
                None => "grade".to_owned(),
            };
            Err(miss(&what, text, names))
        }
    }

    /// The mix of a text: `NW 145`, `LWC 110 pcf`, `145`, `NW 145 4000 psi`.
    pub fn mix(&self, text: &str) -> Result<Mix, Miss> {
        let names = self.mixes.iter().map(|mix| &*mix.name);
        let whole = squeeze(text);
        let named = |mix: &&Mix| {
            let mut known = std::iter::once(&*mix.name).chain(mix.also.iter().map(|a| &**a));
            known.any(|name| squeeze(name) == whole)
        };
        if let Some(mix) = self.mixes.iter().find(named) {
            return Ok(mix.clone());
        }
        let Some(typed) = TypedMix::read(text) else { return Err(miss("mix", text, names)) };
        let fits: Vec<&Mix> = self.mixes.iter().filter(|mix| typed.is(mix)).collect();
        match fits.as_slice() {
            [mix] => {
                Ok(Mix { strength_psi: typed.strength_psi.or(mix.strength_psi), ..(*mix).clone() })
            }
            [] => Err(miss("mix", text, names)),
            several => Err(Miss {
                message: format!("`{}` may be several mixes", text.trim()),
                near: several.iter().map(|mix| mix.name.to_string()).collect(),
                is_near: true,
            }),
        }
    }
}

/// A profile as typed.
#[derive(Default)]
struct TypedProfile {
    depth: Option<f64>,
    pitch: Option<f64>,
    used_as: Option<Use>,
    inverted: bool,
    rib: &'static str,
    /// A word that says nothing known.
    stray: bool,
    /// A number below zero.
    negative: bool,
}

impl TypedProfile {
    fn read(text: &str) -> TypedProfile {
        let mut typed = TypedProfile::default();
        let plain = text.to_lowercase().replace(['×', '✕', '*'], "x");
        let mut dimensions = String::new();
        for word in plain.split([' ', '\t', '\u{a0}', ',', '(', ')']) {
            let minus = word.strip_prefix(['-', '\u{2212}', '\u{2013}']);
            let is_digit = |c: char| c.is_ascii_digit() || c == '.';
            typed.negative |= minus.is_some_and(|number| number.starts_with(is_digit));
            match word.trim_matches(|c: char| c == '.' || c == '-') {
                "composite" | "comp" => typed.used_as = Some(Use::Composite),
                "form" => typed.used_as = Some(Use::Form),
                "roof" => typed.used_as = Some(Use::Roof),
                "inverted" | "inv" | "upside-down" => typed.inverted = true,
                "narrow" | "nr" => typed.rib = "narrow",
                "intermediate" | "ir" => typed.rib = "intermediate",
                "wide" | "wr" | "deep" | "rib" | "ribs" | "down" | "deck" | "normal" | "type"
                | "" => {}
                word if word.starts_with(|c: char| c.is_ascii_digit() || c == '.')
                    || matches!(word, "x" | "in" | "\"" | "by")
                    || (word.starts_with('x')
                        && word[1..].starts_with(|c: char| c.is_ascii_digit())) =>
                {
                    let word = if word == "by" { "x" } else { word };
                    dimensions.push(' ');
                    dimensions.push_str(word);
                }
                _ => typed.stray = true,
            }
        }
        let inches =
            |part: &str| length::parse(part, Unit::Inch).ok().map(|typed| typed.length.in_inches());
        match dimensions.split_once('x') {
            Some((depth, pitch)) => {
                typed.depth = inches(depth);
                typed.pitch = inches(pitch);
                typed.stray |= typed.pitch.is_none();
            }
            None => typed.depth = inches(&dimensions),
        }
        typed
    }

    /// Whether a profile has what was typed.
    fn is(&self, profile: &Profile) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < 0.001;
        !self.stray
            && !self.negative
            && self.depth.is_some_and(|depth| same(depth, profile.depth_in))
            && self.pitch.is_none_or(|pitch| same(pitch, profile.pitch_in))
            && self.inverted == profile.inverted
            && self.rib == &*profile.rib
    }
}

/// A mix as typed.
struct TypedMix {
    kind: Option<&'static str>,
    unit_weight_pcf: Option<f64>,
    strength_psi: Option<f64>,
}

impl TypedMix {
    fn read(text: &str) -> Option<TypedMix> {
        let mut typed = TypedMix { kind: None, unit_weight_pcf: None, strength_psi: None };
        let words = words(&text.replace(',', ""));
        for (index, word) in words.iter().enumerate() {
            match word.as_str() {
                "nw" | "nwc" | "normal" | "normalweight" | "nwt" => typed.kind = Some("normal"),
                "lw" | "lwc" | "light" | "lightweight" | "lwt" => {
                    typed.kind = Some("lightweight");
                }
                "weight" | "concrete" | "conc" | "pcf" | "psi" | "ksi" | "wt" | "fc" | "f"
                | "c" => {}
                number => {
                    let number = number.parse::<f64>().ok()?;
                    let is_ksi = words.get(index + 1).is_some_and(|next| next == "ksi");
                    let slot = if is_ksi || number > 1_000.0 {
                        &mut typed.strength_psi
                    } else {
                        &mut typed.unit_weight_pcf
                    };
                    let number = if is_ksi { number * 1_000.0 } else { number };
                    if slot.replace(number).is_some() {
                        return None;
                    }
                }
            }
        }
        (typed.kind.is_some() || typed.unit_weight_pcf.is_some()).then_some(typed)
    }

    fn is(&self, mix: &Mix) -> bool {
        self.kind.is_none_or(|kind| kind == &*mix.kind)
            && self.unit_weight_pcf.is_none_or(|weight| weight == mix.unit_weight_pcf)
            && (self.strength_psi.is_none()
                || mix.strength_psi.is_none()
                || self.strength_psi == mix.strength_psi)
    }
}
