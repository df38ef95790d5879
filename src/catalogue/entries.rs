//! The entries of the catalogue as plain data.

use std::fmt;
use std::sync::Arc;

use serde::Serialize;

/// What a deck is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Use {
    Composite,
    Form,
    Roof,
}

impl Use {
    pub const ALL: [Use; 3] = [Use::Composite, Use::Form, Use::Roof];

    /// The word of the schedule.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Use::Composite => "composite",
            Use::Form => "form",
            Use::Roof => "roof",
        }
    }

    /// The use of that word.
    #[must_use]
    pub fn of(word: &str) -> Option<Use> {
        Use::ALL.into_iter().find(|known| known.word().eq_ignore_ascii_case(word.trim()))
    }
}

impl fmt::Display for Use {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// A deck shape for one use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Profile {
    /// `3x12`, `1.5x6 inverted`, `1.5x6 narrow`.
    pub name: Arc<str>,
    pub used_as: Use,
    pub depth_in: f64,
    pub pitch_in: f64,
    pub inverted: bool,
    /// `narrow` or `intermediate`; empty else.
    pub rib: Arc<str>,
    pub top_flat_in: f64,
    pub bottom_flat_in: f64,
    /// Inside radius of the corners.
    pub radius_in: f64,
    /// Grooves that stiffen the flats: how many in each top and bottom flat, their size.
    pub top_grooves: f64,
    pub bottom_grooves: f64,
    pub groove_depth_in: f64,
    pub groove_width_in: f64,
    pub cover_in: f64,
    /// No published geometry: every use asks for the supplier's.
    pub assumed: bool,
    pub also: Vec<String>,
    pub source: Arc<str>,
    pub published: Vec<Published>,
    pub sections: Vec<Section>,
    pub unshored: Vec<Unshored>,
    /// The file that stated it last, and the entry.
    pub origin: Arc<str>,
}

/// A supplier's published weight, psf of cover.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Published {
    pub gauge: String,
    pub finish: String,
    pub psf: f64,
}

/// A supplier's published section properties for a foot of width.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Section {
    pub gauge: String,
    pub fy_ksi: f64,
    pub i_pos_in4_ft: f64,
    pub i_neg_in4_ft: f64,
    pub s_pos_in3_ft: f64,
    pub s_neg_in3_ft: f64,
}

/// A supplier's published longest unshored span.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unshored {
    pub gauge: String,
    /// The yield stress it was made for; it is not used for deck of less. None where it states none.
    pub fy_ksi: Option<f64>,
    pub slab_in: f64,
    pub unit_weight_pcf: f64,
    /// Number of spans, 1 to 3.
    pub spans: i64,
    pub span_ft: f64,
}

impl Profile {
    /// Average width of the rib that the concrete fills, in: half the sum of its clear opening at
    /// the top and its flat at the bottom.
    #[must_use]
    pub fn rib_in(&self) -> f64 {
        f64::midpoint(self.pitch_in - self.top_flat_in, self.bottom_flat_in)
    }

    /// The published weight, where the catalogue states one.
    #[must_use]
    pub fn published_psf(&self, gauge: &str, finish: &str) -> Option<f64> {
        let of = |row: &&Published| row.gauge == gauge && row.finish.eq_ignore_ascii_case(finish);
        self.published.iter().find(of).map(|row| row.psf)
    }
}

/// A gauge of sheet steel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gauge {
    pub name: Arc<str>,
    /// Design thickness of the bare steel.
    pub thickness_in: f64,
    /// Least thickness that may be delivered.
    pub least_in: f64,
    pub origin: Arc<str>,
}

/// A coating.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finish {
    pub name: Arc<str>,
    /// Zinc on both sides together.
    pub coating_oz_ft2: f64,
    /// The standard whose grades go with it: `A653`, `A1008`.
    pub steel: Arc<str>,
    pub also: Vec<String>,
    pub origin: Arc<str>,
}

/// A steel grade of one standard.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Grade {
    pub name: Arc<str>,
    pub steel: Arc<str>,
    pub fy_ksi: f64,
    pub fu_ksi: f64,
    pub also: Vec<String>,
    pub origin: Arc<str>,
}

/// A concrete.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mix {
    pub name: Arc<str>,
    pub unit_weight_pcf: f64,
    /// Blank where the mark alone does not say it.
    pub strength_psi: Option<f64>,
    /// `normal` or `lightweight`.
    pub kind: Arc<str>,
    pub also: Vec<String>,
    pub origin: Arc<str>,
}

/// A depth or pitch as the trade writes it: `3`, `1.5`, `9/16`, `1-5/16`.
#[must_use]
pub fn depth_text(inches: f64) -> String {
    let sixteenths = (inches * 16.0).round();
    let is_sixteenths = (sixteenths - inches * 16.0).abs() < 1e-9 && sixteenths.abs() < 1e6;
    let decimals = inches * 4.0;
    if !is_sixteenths || (decimals - decimals.round()).abs() < 1e-9 {
        return format!("{inches}");
    }
    #[allow(clippy::cast_possible_truncation, reason = "a small whole number, checked above")]
    let (whole, mut top, mut bottom) =
        ((sixteenths as i64) / 16, (sixteenths as i64).rem_euclid(16), 16);
    while top % 2 == 0 && bottom > 1 {
        top /= 2;
        bottom /= 2;
    }
    if whole == 0 { format!("{top}/{bottom}") } else { format!("{whole}-{top}/{bottom}") }
}
