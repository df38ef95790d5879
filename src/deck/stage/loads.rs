//! Loads, combinations, factors and limits of the construction stage, each a choice with a default.
//!
//! In: the record of a run. Out: plain numbers and the combinations to look at.

use crate::deck::beam::{Pattern, Standing};
use crate::deck::section::{FLEXURE, Factors, SHEAR};
use crate::fields::{Fields, Range};
use crate::value::Refusal;

const PSF: Range = Range::from("a load", 0.0, 10_000.0, "psf");
const POUNDS: Range = Range::from("a load", 0.0, 10_000.0, "lb");
const FACTOR: Range = Range::from("a load factor", 0.0, 10.0, "");
const OMEGA: Range = Range::from("a factor omega", 1.0, 10.0, "");
const PHI: Range = Range::above("a resistance factor", 0.0, 1.0, "");
const RATIO: Range = Range::from("a span over deflection", 1.0, 10_000.0, "");
const INCHES: Range = Range::above("a deflection", 0.0, 100.0, "in");
const BEARING: Range = Range::above("a bearing length", 0.0, 48.0, "in");

/// The fields of a run that say what it carries and how it is judged.
pub(super) const FIELDS: &[&str] = &[
    "concrete_psf",
    "extra_concrete_psf",
    "deck_psf",
    "construction_psf",
    "construction_lb",
    "platform_psf",
    "method",
    "concrete_factor",
    "deck_factor",
    "construction_factor",
    "platform_factor",
    "pattern",
    "point_stands",
    "deck_weight_on",
    "flexure_omega",
    "flexure_phi",
    "shear_omega",
    "shear_phi",
    "deflection_pattern",
    "deflection_ratio",
    "deflection_most_in",
    "tip_ratio",
    "tip_most_in",
    "end_bearing_in",
    "interior_bearing_in",
    "fastened",
];

/// Allowable strength, or load and resistance factors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    Asd,
    Lrfd,
}

impl Method {
    /// What a nominal strength is good for.
    #[must_use]
    pub fn resistance(self, nominal: f64, factors: Factors) -> f64 {
        match self {
            Method::Asd => nominal / factors.omega,
            Method::Lrfd => nominal * factors.phi,
        }
    }
}

/// The construction stage of a deck: what it carries, how it is judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    pub method: Method,
    pub concrete_psf: f64,
    pub extra_concrete_psf: f64,
    pub deck_psf: f64,
    pub construction_psf: f64,
    pub construction_lb: f64,
    pub platform_psf: f64,
    /// Load factors on concrete, deck, construction load and platform load; all 1 under ASD.
    pub factors: [f64; 4],
    pub pattern: Pattern,
    pub standing: Standing,
    /// The deck's own weight stands on every span, not only on those of the pattern.
    pub deck_everywhere: bool,
    pub flexure: Factors,
    pub shear: Factors,
    pub deflection_pattern: Pattern,
    pub deflection_ratio: f64,
    pub deflection_most_in: f64,
    pub tip_ratio: f64,
    pub tip_most_in: f64,
    pub end_bearing_in: f64,
    pub interior_bearing_in: f64,
    pub fastened: bool,
}

/// Loads that act together, factored.
#[derive(Clone, Debug, PartialEq)]
pub struct Combination {
    pub name: String,
    pub deck_psf: f64,
    pub patterned_psf: f64,
    /// On a strip 1 ft wide.
    pub point_lb: f64,
    /// Bearings are looked at under uniform loads alone.
    pub bearing: bool,
}

impl Stage {
    pub(super) fn of_run(run: Fields) -> Result<Stage, Refusal> {
        let method = [Method::Asd, Method::Lrfd][run.word_or("method", 0, &["asd", "lrfd"])?];
        let factor = |name: &str, default: f64| -> Result<f64, Refusal> {
            let factor = run.number_or(name, default, FACTOR)?;
            Ok(if method == Method::Lrfd { factor } else { 1.0 })
        };
        let pair = |name: &str, default: Factors| -> Result<Factors, Refusal> {
            Ok(Factors {
                omega: run.number_or(&format!("{name}_omega"), default.omega, OMEGA)?,
                phi: run.number_or(&format!("{name}_phi"), default.phi, PHI)?,
            })
        };
        let pattern = |name: &str, default: usize| -> Result<Pattern, Refusal> {
            let word = run.word_or(name, default, &["together", "one span", "worst"])?;
            Ok([Pattern::Together, Pattern::OneSpan, Pattern::Worst][word])
        };
        let standing = run.word_or("point_stands", 0, &["mid span", "anywhere"])?;
        Ok(Stage {
            method,
            concrete_psf: run.number("concrete_psf", PSF)?,
            extra_concrete_psf: run.number_or("extra_concrete_psf", 0.0, PSF)?,
            deck_psf: run.number("deck_psf", PSF)?,
            construction_psf: run.number_or("construction_psf", 20.0, PSF)?,
            construction_lb: run.number_or("construction_lb", 150.0, POUNDS)?,
            platform_psf: run.number_or("platform_psf", 50.0, PSF)?,
            factors: [
                factor("concrete_factor", 1.6)?,
                factor("deck_factor", 1.2)?,
                factor("construction_factor", 1.4)?,
                factor("platform_factor", 1.4)?,
            ],
            pattern: pattern("pattern", 1)?,
            standing: [Standing::MidSpan, Standing::Anywhere][standing],
            deck_everywhere: run.word_or("deck_weight_on", 0, &["pattern", "all spans"])? == 1,
            flexure: pair("flexure", FLEXURE)?,
            shear: pair("shear", SHEAR)?,
            deflection_pattern: pattern("deflection_pattern", 0)?,
            deflection_ratio: run.number_or("deflection_ratio", 180.0, RATIO)?,
            deflection_most_in: run.number_or("deflection_most_in", 0.75, INCHES)?,
            tip_ratio: run.number_or("tip_ratio", 90.0, RATIO)?,
            tip_most_in: run.number_or("tip_most_in", 0.75, INCHES)?,
            end_bearing_in: run.number_or("end_bearing_in", 1.5, BEARING)?,
            interior_bearing_in: run.number_or("interior_bearing_in", 3.0, BEARING)?,
            fastened: run.flag_or("fastened", true)?,
        })
    }

    /// Concrete in place, the construction load's counterpart.
    #[must_use]
    pub fn wet_psf(&self) -> f64 {
        self.concrete_psf + self.extra_concrete_psf
    }

    /// The combinations: two with wet concrete where there is any, else the bare deck under the
    /// concentrated load, and the bare deck as platform.
    #[must_use]
    pub fn combinations(&self) -> Vec<Combination> {
        let [concrete, deck, live, platform] = self.factors;
        let wet_psf = concrete * self.wet_psf();
        let deck_psf = deck * self.deck_psf;
        let mut combinations = Vec::with_capacity(3);
        if self.wet_psf() > 0.0 {
            combinations.push(Combination {
                name: format!("wet concrete and {} psf", self.construction_psf),
                deck_psf,
                patterned_psf: wet_psf + live * self.construction_psf,
                point_lb: 0.0,
                bearing: true,
            });
            combinations.push(Combination {
                name: format!("wet concrete and {} lb", self.construction_lb),
                deck_psf,
                patterned_psf: wet_psf,
                point_lb: live * self.construction_lb,
                bearing: false,
            });
        } else {
            combinations.push(Combination {
                name: format!("bare deck and {} lb", self.construction_lb),
                deck_psf,
                patterned_psf: 0.0,
                point_lb: live * self.construction_lb,
                bearing: false,
            });
        }
        combinations.push(Combination {
            name: format!("bare deck and {} psf", self.platform_psf),
            deck_psf,
            patterned_psf: platform * self.platform_psf,
            point_lb: 0.0,
            bearing: true,
        });
        combinations
    }

    /// The deflection a span may have, in.
    #[must_use]
    pub fn deflection_limit_in(&self, span_ft: f64) -> f64 {
        (12.0 * span_ft / self.deflection_ratio).min(self.deflection_most_in)
    }

    /// The deflection an overhang's tip may have, in.
    #[must_use]
    pub fn tip_limit_in(&self, overhang_ft: f64) -> f64 {
        (12.0 * overhang_ft / self.tip_ratio).min(self.tip_most_in)
    }
}
