//! Section properties of a deck per foot of width, computed and published.
//!
//! In: a deck record. Out: gross and effective properties; a published property takes precedence
//! over the computed one, which stays as the cross-check.

use std::sync::Arc;

use super::effective::{Effective, effective};
use super::shape::{Outline, Shape, sum};
use super::web::{Bearing, Crippling, crippling, shear_kip};
use crate::builtin::Builtin;
use crate::deck::beam::E_KSI;
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(section(deck)),
    builtin!(web_shear_lb_ft(deck)),
    builtin!(web_crippling_lb_ft(deck, bearing)),
    builtin!(design_fy_ksi(fy_ksi)),
];

pub(crate) const YIELD: Range = Range::above("a yield stress", 0.0, 150.0, "ksi");
const MODULUS: Range = Range::above("a modulus of elasticity", 0.0, 1e6, "ksi");
const SERVICE: Range = Range::above("a part of the yield stress", 0.0, 1.0, "");
const INERTIA: Range = Range::above("a moment of inertia", 0.0, 1000.0, "in4/ft");
const SECTION: Range = Range::above("a section modulus", 0.0, 1000.0, "in3/ft");
const BEARING: Range = Range::above("a bearing length", 0.0, 48.0, "in");

/// Stress under service loads, as a part of yield, at which stiffness is taken; common practice,
/// no source.
const SERVICE_PART: f64 = 0.6;

/// The fields of a deck record that this file reads.
pub(crate) const DECK_FIELDS: &[&str] = &[
    "profile",
    "depth_in",
    "pitch_in",
    "top_flat_in",
    "bottom_flat_in",
    "radius_in",
    "top_stiffeners",
    "bottom_stiffeners",
    "stiffener_depth_in",
    "stiffener_width_in",
    "thickness_in",
    "fy_ksi",
    "fu_ksi",
    "e_ksi",
    "service_part",
    "published_ip_in4",
    "published_in_in4",
    "published_sp_in3",
    "published_sn_in3",
];

/// What a deck record says about its steel and section.
#[derive(Clone, Debug)]
pub(crate) struct Steel {
    pub fy_ksi: f64,
    pub e_ksi: f64,
    pub radius_in: f64,
    pub pitch_in: f64,
    pub outline: Option<Outline>,
    pub figures: SectionFigures,
}

/// Section properties per foot of width; blank where neither geometry nor a published value says.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionFigures {
    /// Effective, sagging and hogging, at the service stress: for deflection.
    pub ip_in4: Option<f64>,
    pub in_in4: Option<f64>,
    /// Effective, sagging and hogging, at yield: for strength.
    pub sp_in3: Option<f64>,
    pub sn_in3: Option<f64>,
    /// The properties that are published ones, with a comma between.
    pub published: String,
    pub computed_ip_in4: Option<f64>,
    pub computed_in_in4: Option<f64>,
    pub computed_sp_in3: Option<f64>,
    pub computed_sn_in3: Option<f64>,
    pub gross_area_in2: Option<f64>,
    pub gross_i_in4: Option<f64>,
    /// Height of the gross centroid from the outer bottom face.
    pub gross_centroid_in: Option<f64>,
    /// Slenderness and effective part of the top flange at yield.
    pub top_lambda: Option<f64>,
    pub top_rho: Option<f64>,
    pub bottom_lambda: Option<f64>,
    pub bottom_rho: Option<f64>,
}

into_record!(SectionFigures {
    ip_in4,
    in_in4,
    sp_in3,
    sn_in3,
    published,
    computed_ip_in4,
    computed_in_in4,
    computed_sp_in3,
    computed_sn_in3,
    gross_area_in2,
    gross_i_in4,
    gross_centroid_in,
    top_lambda,
    top_rho,
    bottom_lambda,
    bottom_rho,
});

impl Steel {
    /// Reads a deck record; geometry may be absent where all properties are published.
    pub(crate) fn of_deck(deck: Fields) -> Result<Steel, Refusal> {
        let fy_ksi = design_fy_ksi(deck.number("fy_ksi", YIELD)?)?;
        let e_ksi = deck.number_or("e_ksi", E_KSI, MODULUS)?;
        let service_ksi = fy_ksi * deck.number_or("service_part", SERVICE_PART, SERVICE)?;
        let published = [
            deck.optional_number("published_ip_in4", INERTIA)?,
            deck.optional_number("published_in_in4", INERTIA)?,
            deck.optional_number("published_sp_in3", SECTION)?,
            deck.optional_number("published_sn_in3", SECTION)?,
        ];
        let all_published = published.iter().all(Option::is_some);
        let shape = if all_published && !deck.has("top_flat_in") {
            None
        } else {
            Some(Shape::of_deck(deck)?)
        };
        let computed = match shape {
            Some(shape) => Some(Computed::new(&shape, e_ksi, fy_ksi, service_ksi)?),
            None => None,
        };
        Ok(Steel {
            fy_ksi,
            e_ksi,
            radius_in: shape.map_or(0.0, |shape| shape.radius_in),
            pitch_in: shape.map_or(12.0, |shape| shape.pitch_in),
            outline: computed.as_ref().map(|computed| computed.outline),
            figures: figures(published, computed.as_ref()),
        })
    }

    /// Webs in a foot of width.
    pub(crate) fn webs(&self) -> f64 {
        24.0 / self.pitch_in
    }

    /// Nominal shear strength per foot of width, lb.
    pub(crate) fn shear_lb_ft(&self) -> Option<f64> {
        let outline = self.outline.as_ref()?;
        Some(1000.0 * self.webs() * shear_kip(outline, self.fy_ksi, self.e_ksi))
    }

    /// Nominal bearing strength per foot of width, lb.
    pub(crate) fn crippling_lb_ft(&self, row: &Crippling, bearing_in: f64) -> Option<f64> {
        let outline = self.outline.as_ref()?;
        let one = row.strength_kip(outline, self.radius_in, self.fy_ksi, bearing_in);
        Some(1000.0 * self.webs() * one.max(0.0))
    }
}

struct Computed {
    outline: Outline,
    per_foot: f64,
    sagging: Effective,
    hogging: Effective,
    sagging_service: Effective,
    hogging_service: Effective,
}

impl Computed {
    fn new(shape: &Shape, e: f64, fy: f64, service: f64) -> Result<Computed, Refusal> {
        let outline = shape.outline()?;
        let flipped = shape.flipped().outline()?;
        Ok(Computed {
            outline,
            per_foot: 12.0 / shape.pitch_in,
            sagging: effective(&outline, e, fy),
            hogging: effective(&flipped, e, fy),
            sagging_service: effective(&outline, e, service),
            hogging_service: effective(&flipped, e, service),
        })
    }
}

fn figures(published: [Option<f64>; 4], computed: Option<&Computed>) -> SectionFigures {
    let [p_ip, p_in, p_sp, p_sn] = published;
    let per_foot =
        |of: fn(&Computed) -> f64| computed.map(|computed| computed.per_foot * of(computed));
    let plain = |of: fn(&Computed) -> f64| computed.map(of);
    let gross = computed.map(|computed| {
        let part = sum(computed.outline.parts().iter().copied());
        (part, computed.per_foot * computed.outline.thickness)
    });
    let computed_ip_in4 = per_foot(|c| c.sagging_service.inertia);
    let computed_in_in4 = per_foot(|c| c.hogging_service.inertia);
    let computed_sp_in3 = per_foot(|c| c.sagging.modulus);
    let computed_sn_in3 = per_foot(|c| c.hogging.modulus);
    let names = ["ip_in4", "in_in4", "sp_in3", "sn_in3"];
    let named: Vec<&str> =
        names.into_iter().zip(published).filter_map(|(name, value)| value.map(|_| name)).collect();
    SectionFigures {
        ip_in4: p_ip.or(computed_ip_in4),
        in_in4: p_in.or(computed_in_in4),
        sp_in3: p_sp.or(computed_sp_in3),
        sn_in3: p_sn.or(computed_sn_in3),
        published: named.join(", "),
        computed_ip_in4,
        computed_in_in4,
        computed_sp_in3,
        computed_sn_in3,
        gross_area_in2: gross.map(|(part, scale)| part.length * scale),
        gross_i_in4: gross.map(|(part, scale)| part.inertia * scale),
        gross_centroid_in: gross.map(|(part, _)| part.height),
        top_lambda: plain(|c| c.sagging.flange.lambda),
        top_rho: plain(|c| c.sagging.flange.rho),
        bottom_lambda: plain(|c| c.hogging.flange.lambda),
        bottom_rho: plain(|c| c.hogging.flange.rho),
    }
}

/// The section properties of deck per foot of width, gross and effective.
///
/// - deck: record with depth_in (overall), pitch_in, top_flat_in and bottom_flat_in (between sharp
///   corners), radius_in (inside corner, 0.125 where absent), thickness_in, fy_ksi; as wanted e_ksi
///   (29,500), service_part (stress under service loads over yield, 0.6), top_stiffeners and
///   bottom_stiffeners (counts of grooves in the flanges) with stiffener_depth_in and
///   stiffener_width_in, and published_ip_in4, published_in_in4, published_sp_in3, published_sn_in3,
///   which take precedence; other fields are left alone
///
/// Gives: record ip_in4, in_in4 (sagging, hogging, at service stress), sp_in3, sn_in3 (at yield),
/// published (which of these are), computed_ip_in4 … computed_sn_in3, gross_area_in2, gross_i_in4,
/// gross_centroid_in (from the bottom), top_lambda, top_rho, bottom_lambda, bottom_rho (slenderness
/// and effective part of the flanges at yield); all per ft of width. Flanges without their grooves
/// come out weaker than the deck is.
/// Source: AISI S100-16 Appendix 1.1 (S100-12 B2), from memory; geometry by lines and arcs.
/// Example: `deck::section(#{depth_in: 1.5, pitch_in: 6, top_flat_in: 3.5, bottom_flat_in: 1.75, thickness_in: 0.0295, fy_ksi: 33}).ip_in4` = 0.152
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn section(deck: Arc<Record>) -> Result<SectionFigures, Refusal> {
    Ok(Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?.figures)
}

/// The nominal shear strength of deck webs per foot of width.
///
/// - deck: record as `section` takes it, with geometry
///
/// Gives: nominal shear strength, lb per ft of width; over 1.60 (allowable) or times 0.95 (load and
/// resistance factors).
/// Source: AISI S100-16 G2.1 (S100-12 C3.2.1), webs without stiffeners, from memory.
/// Example: `deck::web_shear_lb_ft(#{depth_in: 2, pitch_in: 12, top_flat_in: 5, bottom_flat_in: 5, thickness_in: 0.0358, fy_ksi: 40})` = 3107
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn web_shear_lb_ft(deck: Arc<Record>) -> Result<f64, Refusal> {
    let steel = Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?;
    steel.shear_lb_ft().ok_or_else(|| missing_geometry("deck"))
}

/// The nominal strength of deck webs over a bearing per foot of width.
///
/// - deck: record as `section` takes it, with geometry
/// - bearing: record with bearing_in (length of the bearing along the span, above 0), interior (true
///   at an inner support), fastened (true where absent), two_flange (false where absent: loads on both
///   flanges closer than 1.5 web depths)
///
/// Gives: record strength_lb_ft (nominal, lb per ft of width), omega, phi, and beyond (what lies
/// outside the tested range of the table, empty where nothing does).
/// Source: AISI S100-16 Table G5-5 (S100-12 Table C3.4.1-5), from memory.
/// Example: `deck::web_crippling_lb_ft(#{depth_in: 1.5, pitch_in: 6, top_flat_in: 3.5, bottom_flat_in: 1.75, thickness_in: 0.0295, fy_ksi: 33}, #{bearing_in: 1.5, interior: false}).strength_lb_ft` = 948
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn web_crippling_lb_ft(
    deck: Arc<Record>,
    bearing: Arc<Record>,
) -> Result<BearingFigures, Refusal> {
    let steel = Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?;
    let fields = Fields::exactly(
        "bearing",
        &bearing,
        &["bearing_in", "interior", "fastened", "two_flange"],
    )?;
    let bearing_in = fields.number("bearing_in", BEARING)?;
    let row = crippling(Bearing {
        fastened: fields.flag_or("fastened", true)?,
        interior: fields.required("interior", "true or false")?,
        two_flange: fields.flag_or("two_flange", false)?,
    });
    let outline = steel.outline.as_ref().ok_or_else(|| missing_geometry("deck"))?;
    Ok(BearingFigures {
        strength_lb_ft: steel.crippling_lb_ft(&row, bearing_in).unwrap_or(0.0),
        omega: row.factors.omega,
        phi: row.factors.phi,
        beyond: row.beyond(outline, steel.radius_in, bearing_in).join("; "),
    })
}

/// Strength over a bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct BearingFigures {
    pub strength_lb_ft: f64,
    pub omega: f64,
    pub phi: f64,
    pub beyond: String,
}

into_record!(BearingFigures { strength_lb_ft, omega, phi, beyond });

fn missing_geometry(argument: &str) -> Refusal {
    Refusal::new(format!("{argument}.top_flat_in"), "missing", "the profile's geometry")
}

/// The yield stress that design may count on.
///
/// - fy_ksi: specified yield stress, ksi, above 0 up to 150
///
/// Gives: the yield stress itself below 80 ksi; from 80 ksi, steel of low ductility, the lesser of
/// 75 % of it and 60 ksi.
/// Source: AISI S100-16 A3.1.3 (S100-12 A2.3.3), from memory.
/// Example: `deck::design_fy_ksi(80)` = 60
pub fn design_fy_ksi(fy_ksi: f64) -> Result<f64, Refusal> {
    let fy_ksi = YIELD.check("fy_ksi", fy_ksi)?;
    Ok(if fy_ksi < 80.0 { fy_ksi } else { (0.75 * fy_ksi).min(60.0) })
}
