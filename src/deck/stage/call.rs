//! The construction stage as scripts call it.

use std::sync::Arc;

use super::checks::{Check, Run, checks, exempt};
use super::loads::{FIELDS, Stage};
use super::shore::{governing, longest_span as longest, shore};
use crate::builtin::Builtin;
use crate::deck::beam::{Filled, checked_spans, stiffness_lb_ft2};
use crate::deck::section::{DECK_FIELDS, Steel};
use crate::fields::{Fields, Range};
use crate::value::{Record, Refusal};

pub const BUILTINS: &[Builtin] = &[
    builtin!(construction(deck, run)),
    builtin!(longest_span(deck, run, spans)),
    builtin!(shores(deck, run)),
    builtin!(ponding(deck, run)),
    builtin!(added_concrete(added)),
];

const OVERHANG: Range = Range::above("an overhang", 0.0, 50.0, "ft");
const SHORE_BEARING: Range = Range::above("a bearing length", 0.0, 48.0, "in");
const UNIT_WEIGHT: Range = Range::above("a unit weight", 0.0, 500.0, "pcf");
const AREA: Range = Range::from("an area", 0.0, 1e9, "ft2");
const VOLUME: Range = Range::from("a volume", 0.0, 1e8, "yd3");
const MEAN: Range = Range::from("a mean deflection", -100.0, 100.0, "in");
const GREATEST: Range = Range::from("a deflection", 0.0, 100.0, "in");
const PART: Range = Range::from("a part", 0.0, 1.0, "");

const RUN_FIELDS: &[&str] = &[
    "spans_ft",
    "start_overhang_ft",
    "end_overhang_ft",
    "shore_bearing_in",
    "most_shores",
    "unit_weight_pcf",
];

/// One check in words and numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckFigures {
    pub check: String,
    pub place: String,
    pub loads: String,
    pub demand: f64,
    pub limit: f64,
    pub unit: String,
    pub utilisation: f64,
}

into_record!(CheckFigures { check, place, loads, demand, limit, unit, utilisation });

/// A run of deck under the loads of the construction stage.
#[derive(Clone, Debug, PartialEq)]
pub struct ConstructionFigures {
    /// Demand over limit of what governs; above 1 is over the limit.
    pub utilisation: f64,
    /// What governs, where, under what.
    pub governs: String,
    pub checks: Vec<CheckFigures>,
    /// Section properties taken from publication, with a comma between.
    pub published: String,
    /// What was left out or lies beyond a rule's range.
    pub notes: Vec<String>,
}

into_record!(ConstructionFigures { utilisation, governs, checks, published, notes });

/// The longest equal spans without shores.
#[derive(Clone, Debug, PartialEq)]
pub struct LongestFigures {
    pub span_ft: f64,
    pub governs: String,
}

into_record!(LongestFigures { span_ft, governs });

/// The shores a run needs.
#[derive(Clone, Debug, PartialEq)]
pub struct ShoreFigures {
    /// Shore lines in each span.
    pub shores: Vec<i64>,
    /// Shore lines of the whole run.
    pub lines: i64,
    pub spans_between_ft: Vec<f64>,
    pub utilisation: f64,
    pub governs: String,
    pub unshored_utilisation: f64,
    pub unshored_governs: String,
}

into_record!(ShoreFigures {
    shores,
    lines,
    spans_between_ft,
    utilisation,
    governs,
    unshored_utilisation,
    unshored_governs,
});

/// Mean deflection of deck under concrete struck level.
#[derive(Clone, Debug, PartialEq)]
pub struct PondingFigures {
    /// Under the concrete of the plan thickness and the deck, over the whole run.
    pub deck_in: f64,
    /// What filling the deflection level adds, round after round.
    pub ponding_in: f64,
    pub spans_deck_in: Vec<f64>,
    pub spans_ponding_in: Vec<f64>,
    /// Weight of the filling, spread over the run.
    pub extra_concrete_psf: f64,
}

into_record!(PondingFigures {
    deck_in,
    ponding_in,
    spans_deck_in,
    spans_ponding_in,
    extra_concrete_psf,
});

/// Concrete that deflections add, each part apart.
#[derive(Clone, Debug, PartialEq)]
pub struct AddedFigures {
    pub deck_yd3: f64,
    pub ponding_yd3: f64,
    pub beam_yd3: f64,
    pub girder_yd3: f64,
    pub fraction_yd3: f64,
    pub total_yd3: f64,
}

into_record!(AddedFigures { deck_yd3, ponding_yd3, beam_yd3, girder_yd3, fraction_yd3, total_yd3 });

fn run_fields(run: &Record) -> Result<Fields<'_>, Refusal> {
    let known: Vec<&str> = RUN_FIELDS.iter().chain(FIELDS).copied().collect();
    Fields::exactly("run", run, &known)
}

fn run_of(fields: Fields, stage: &Stage) -> Result<Run, Refusal> {
    let spans_ft: Vec<f64> = fields.required("spans_ft", "a list of spans in ft")?;
    checked_spans(&fields.path("spans_ft"), &spans_ft)?;
    Ok(Run {
        spans_ft,
        start_overhang_ft: fields.optional_number("start_overhang_ft", OVERHANG)?,
        end_overhang_ft: fields.optional_number("end_overhang_ft", OVERHANG)?,
        shores: Vec::new(),
        shore_bearing_in: fields.number_or(
            "shore_bearing_in",
            stage.interior_bearing_in,
            SHORE_BEARING,
        )?,
    })
}

fn words(check: &Check, stage: &Stage) -> CheckFigures {
    let loads =
        match check.combination.and_then(|index| stage.combinations().into_iter().nth(index)) {
            Some(combination) => combination.name,
            None => "concrete and deck".to_string(),
        };
    CheckFigures {
        check: check.what.name().to_string(),
        place: check.place.name(),
        loads,
        demand: check.demand,
        limit: check.limit,
        unit: check.what.unit().to_string(),
        utilisation: check.utilisation,
    }
}

fn sentence(check: Option<Check>, stage: &Stage) -> (f64, String) {
    check.map_or((0.0, String::new()), |check| {
        let words = words(&check, stage);
        let text = format!("{}, {}, {}", words.check, words.place, words.loads);
        (words.utilisation, text)
    })
}

fn notes(steel: &Steel, stage: &Stage) -> Vec<String> {
    let Some(outline) = &steel.outline else {
        return vec!["shear and bearing left out: the profile's geometry is not given".to_string()];
    };
    let mut notes = Vec::new();
    for (interior, bearing_in) in [(false, stage.end_bearing_in), (true, stage.interior_bearing_in)]
    {
        let bearing =
            crate::deck::section::Bearing { fastened: stage.fastened, interior, two_flange: false };
        let row = crate::deck::section::crippling(bearing);
        for beyond in row.beyond(outline, steel.radius_in, bearing_in) {
            notes.push(format!("bearing beyond the table's range: {beyond}"));
        }
    }
    if exempt(steel) {
        notes.push("hogging moment with bearing left out: webs 10 in apart at most".to_string());
    }
    notes
}

/// The checks of a run of deck while it carries wet concrete, crew and equipment.
///
/// - deck: record as `section` takes it
/// - run: record with spans_ft (list; clear or centre to centre, as the shop decides), concrete_psf
///   (0 for none), deck_psf; as wanted start_overhang_ft, end_overhang_ft, extra_concrete_psf (0),
///   construction_psf (20), construction_lb (150, on a strip 1 ft wide), platform_psf (50, bare deck),
///   method (`"asd"` or `"lrfd"`), concrete_factor (1.6), deck_factor (1.2), construction_factor
///   and platform_factor (1.4), used by LRFD alone; pattern (`"one span"`: 0.094 of three equal
///   spans; `"worst"`: 0.101; `"together"`), point_stands (`"mid span"`, added to the greatest of the
///   rest, or `"anywhere"`), deck_weight_on (`"pattern"` or `"all spans"`), flexure_omega (1.67),
///   flexure_phi (0.90; 0.95 in older editions), shear_omega (1.60), shear_phi (0.95),
///   deflection_pattern (`"together"`), deflection_ratio (180), deflection_most_in (0.75), tip_ratio
///   (90), tip_most_in (0.75), end_bearing_in (1.5), interior_bearing_in (3), fastened (true)
///
/// Gives: record utilisation (demand over limit of what governs), governs (check, place, loads),
/// checks (list of records check, place, loads, demand, limit, unit, utilisation), published
/// (section properties that are), notes (list).
/// Source: ANSI/SDI C-2017 2.4.A loads, combinations and limits, AISI S100-16 F, G2, G5, H2, H3; from
/// memory.
/// Example: `deck::construction(#{fy_ksi: 50, published_ip_in4: 0.92, published_in_in4: 0.92, published_sp_in3: 0.58, published_sn_in3: 0.60}, #{spans_ft: [12, 12, 12], concrete_psf: 43.54, deck_psf: 2}).utilisation` = 0.736
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn construction(deck: Arc<Record>, run: Arc<Record>) -> Result<ConstructionFigures, Refusal> {
    let steel = Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?;
    let fields = run_fields(&run)?;
    let stage = Stage::of_run(fields)?;
    let found = checks(&steel, &stage, &run_of(fields, &stage)?)?;
    let (utilisation, governs) = sentence(governing(&found), &stage);
    Ok(ConstructionFigures {
        utilisation,
        governs,
        checks: found.iter().map(|check| words(check, &stage)).collect(),
        published: steel.figures.published.clone(),
        notes: notes(&steel, &stage),
    })
}

/// The longest equal spans that deck carries wet concrete over without shores.
///
/// - deck: record as `section` takes it
/// - run: record as `construction` takes it; spans_ft and overhangs are left alone
/// - spans: count of equal spans, 1 to 10
///
/// Gives: record span_ft (0 where no span is within the limits, 60 at most) and governs.
/// Source: the checks of `construction`.
/// Example: `deck::longest_span(#{depth_in: 2, pitch_in: 12, top_flat_in: 5, bottom_flat_in: 5, thickness_in: 0.0358, fy_ksi: 40}, #{concrete_psf: 48.33, deck_psf: 1.8}, 3).span_ft` = 6.56
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn longest_span(
    deck: Arc<Record>,
    run: Arc<Record>,
    spans: i64,
) -> Result<LongestFigures, Refusal> {
    let count = usize::try_from(spans)
        .ok()
        .filter(|count| (1..=10).contains(count))
        .ok_or_else(|| Refusal::new("spans", spans, "a count of spans from 1 to 10"))?;
    let steel = Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?;
    let stage = Stage::of_run(run_fields(&run)?)?;
    let (span_ft, check) = longest(&steel, &stage, count)?;
    Ok(LongestFigures { span_ft, governs: sentence(check, &stage).1 })
}

/// The shore lines a run of deck needs, and the checks of the spans they leave.
///
/// - deck: record as `section` takes it
/// - run: record as `construction` takes it; as wanted shore_bearing_in (interior_bearing_in where
///   absent) and most_shores (4 a span)
///
/// Gives: record shores (list, shore lines in each span, evenly spaced), lines (their sum),
/// spans_between_ft (list), utilisation and governs with the shores, unshored_utilisation and
/// unshored_governs without; a utilisation above 1 is over the limit even so.
/// Source: the checks of `construction` on the deck run on over its shores.
/// Example: `deck::shores(#{depth_in: 2, pitch_in: 12, top_flat_in: 5, bottom_flat_in: 5, thickness_in: 0.0358, fy_ksi: 40}, #{spans_ft: [12, 12], concrete_psf: 48.33, deck_psf: 1.8}).lines` = 2
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn shores(deck: Arc<Record>, run: Arc<Record>) -> Result<ShoreFigures, Refusal> {
    let steel = Steel::of_deck(Fields::among("deck", &deck, DECK_FIELDS)?)?;
    let fields = run_fields(&run)?;
    let stage = Stage::of_run(fields)?;
    let whole = run_of(fields, &stage)?;
    let most = fields.optional::<i64>("most_shores")?.unwrap_or(4);
    let most = usize::try_from(most).ok().filter(|most| *most <= 20).ok_or_else(|| {
        Refusal::new(fields.path("most_shores"), most, "a count of shores a span from 0 to 20")
    })?;
    let unshored = sentence(governing(&checks(&steel, &stage, &whole)?), &stage);
    let shored = shore(&steel, &stage, &whole, most)?;
    let with = sentence(governing(&shored.checks), &stage);
    let counts: Vec<i64> =
        shored.shores.iter().map(|count| i64::try_from(*count).unwrap_or(0)).collect();
    Ok(ShoreFigures {
        lines: counts.iter().sum(),
        shores: counts,
        spans_between_ft: shored.run.spans_ft,
        utilisation: with.0,
        governs: with.1,
        unshored_utilisation: unshored.0,
        unshored_governs: unshored.1,
    })
}

/// The mean deflection of a run of deck under concrete, and what striking it level adds.
///
/// - deck: record as `section` takes it, with unit_weight_pcf where the run has none
/// - run: record as `construction` takes it, with unit_weight_pcf of the wet concrete
///
/// Gives: record deck_in (mean over the run under concrete and deck), ponding_in (mean that filling
/// the deflection adds, every round counted), spans_deck_in, spans_ponding_in (lists), and
/// extra_concrete_psf (weight of both).
/// Source: elastic line with a load that grows with its own deflection, exact.
/// Example: `deck::ponding(#{fy_ksi: 40, published_ip_in4: 0.40, published_in_in4: 0.40, published_sp_in3: 0.3, published_sn_in3: 0.3, unit_weight_pcf: 110}, #{spans_ft: [10], concrete_psf: 40, deck_psf: 2}).deck_in` = 0.513
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn ponding(deck: Arc<Record>, run: Arc<Record>) -> Result<PondingFigures, Refusal> {
    let deck_known: Vec<&str> = DECK_FIELDS.iter().chain(&["unit_weight_pcf"]).copied().collect();
    let deck = Fields::among("deck", &deck, &deck_known)?;
    let steel = Steel::of_deck(deck)?;
    let fields = run_fields(&run)?;
    let stage = Stage::of_run(fields)?;
    let run = run_of(fields, &stage)?;
    let gamma = match fields.optional_number("unit_weight_pcf", UNIT_WEIGHT)? {
        Some(gamma) => gamma,
        None => deck.number("unit_weight_pcf", UNIT_WEIGHT)?,
    };
    let i_in4 = steel
        .figures
        .ip_in4
        .ok_or_else(|| Refusal::new("deck.ip_in4", "missing", "a property or the geometry"))?;
    let w = stage.concrete_psf + stage.deck_psf;
    let arm = |length_ft: Option<f64>| length_ft.map_or(0.0, |a| -w * a * a / 2.0);
    let mut line = Filled {
        lengths: run.spans_ft.clone(),
        ei: stiffness_lb_ft2(steel.e_ksi, i_in4),
        w,
        gamma: 0.0,
        end_moments: (arm(run.start_overhang_ft), arm(run.end_overhang_ft)),
    };
    let dry: Vec<f64> = line.mean_deflections()?.iter().map(|mean| 12.0 * mean).collect();
    line.gamma = gamma;
    let filled = line.mean_deflections()?;
    let added: Vec<f64> =
        filled.iter().zip(&dry).map(|(filled, dry)| 12.0 * filled - dry).collect();
    let whole_ft: f64 = run.spans_ft.iter().sum();
    let mean = |means: &[f64]| -> f64 {
        means.iter().zip(&run.spans_ft).map(|(mean, span)| mean * span).sum::<f64>() / whole_ft
    };
    let (deck_in, ponding_in) = (mean(&dry), mean(&added));
    Ok(PondingFigures {
        deck_in,
        ponding_in,
        spans_deck_in: dry,
        spans_ponding_in: added,
        extra_concrete_psf: gamma * (deck_in + ponding_in) / 12.0,
    })
}

/// The concrete that a level pour takes beyond the plan thickness, each part apart.
///
/// - added: record with area_ft2; as wanted deck_in and ponding_in (mean deflections, as `ponding`
///   gives them), beam_in and girder_in (greatest deflections), mean_ratio (mean over greatest of
///   beam and girder, 0.64), and frame_fraction of base_yd3 for a frame taken as a fraction
///
/// Gives: record deck_yd3, ponding_yd3, beam_yd3, girder_yd3, fraction_yd3 and total_yd3, yd3.
/// Source: geometry; 0.64 is 16/25, a simple span under uniform load.
/// Example: `deck::added_concrete(#{area_ft2: 900, deck_in: 0.16, beam_in: 0.8, girder_in: 0.5}).total_yd3` = 2.756
#[allow(clippy::needless_pass_by_value, reason = "built-ins take their arguments by value")]
pub fn added_concrete(added: Arc<Record>) -> Result<AddedFigures, Refusal> {
    const KNOWN: &[&str] = &[
        "area_ft2",
        "deck_in",
        "ponding_in",
        "beam_in",
        "girder_in",
        "mean_ratio",
        "frame_fraction",
        "base_yd3",
    ];
    let fields = Fields::exactly("added", &added, KNOWN)?;
    let area_ft2 = fields.number("area_ft2", AREA)?;
    let ratio = fields.number_or("mean_ratio", 0.64, PART)?;
    let volume = |mean_in: f64| area_ft2 * mean_in / 12.0 / 27.0;
    let fraction = fields.number_or("frame_fraction", 0.0, PART)?;
    let base_yd3 = if fraction > 0.0 { fields.number("base_yd3", VOLUME)? } else { 0.0 };
    let deck_yd3 = volume(fields.number_or("deck_in", 0.0, MEAN)?);
    let ponding_yd3 = volume(fields.number_or("ponding_in", 0.0, MEAN)?);
    let beam_yd3 = volume(ratio * fields.number_or("beam_in", 0.0, GREATEST)?);
    let girder_yd3 = volume(ratio * fields.number_or("girder_in", 0.0, GREATEST)?);
    let fraction_yd3 = fraction * base_yd3;
    Ok(AddedFigures {
        deck_yd3,
        ponding_yd3,
        beam_yd3,
        girder_yd3,
        fraction_yd3,
        total_yd3: deck_yd3 + ponding_yd3 + beam_yd3 + girder_yd3 + fraction_yd3,
    })
}
