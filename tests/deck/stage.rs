//! Deck under wet concrete against cases worked by hand.

use std::sync::Arc;

use baytally::deck::beam::{Filled, Line, Load};
use baytally::deck::stage::{
    CheckFigures, ConstructionFigures, added_concrete, construction, longest_span, ponding, shores,
};
use baytally::value::Record;
use proptest::prelude::*;

use super::given::{near, printed, record, with};

/// A deck of assumed properties, no geometry.
fn assumed(fy_ksi: f64, i_in4: f64, sp_in3: f64, sn_in3: f64) -> Arc<Record> {
    record! {
        fy_ksi: fy_ksi, published_ip_in4: i_in4, published_in_in4: i_in4,
        published_sp_in3: sp_in3, published_sn_in3: sn_in3,
    }
}

fn found<'a>(
    figures: &'a ConstructionFigures,
    check: &str,
    place: &str,
    loads: &str,
) -> &'a CheckFigures {
    figures
        .checks
        .iter()
        .find(|found| found.check == check && found.place == place && found.loads.contains(loads))
        .unwrap_or_else(|| panic!("no {check} of {place} under {loads}"))
}

struct Case {
    deck: Arc<Record>,
    run: Arc<Record>,
    sagging_point: [f64; 2],
    hogging: [f64; 2],
    caps: [[f64; 2]; 2],
    deflection: f64,
    limit: f64,
    support: Option<&'static str>,
}

/// Three decks with assumed properties, worked by hand with the coefficients as printed (0.203,
/// 0.096, 0.20, 0.094, 0.117, 0.0054, 0.0069) of ANSI/SDI C-2017 figure 1: the exact coefficients
/// lie up to 0.3 % below. ASD first, LRFD (1.6, 1.2, 1.4) second.
#[test]
fn three_decks_by_hand() {
    let cases = [
        Case {
            deck: assumed(50.0, 0.92, 0.58, 0.60),
            run: record! { spans_ft: [12, 12, 12], concrete_psf: 43.54, deck_psf: 2.0 },
            sagging_point: [976.4, 1479.5],
            hogging: [1104.2, 1685.9],
            caps: [[1447.1, 1497.0], [2175.0, 2250.0]],
            deflection: 0.415,
            limit: 0.750,
            support: Some("support 2"),
        },
        Case {
            deck: assumed(40.0, 0.33, 0.27, 0.28),
            run: record! { spans_ft: [7.5, 7.5], concrete_psf: 48.33, deck_psf: 1.5 },
            sagging_point: [497.5, 747.0],
            hogging: [491.0, 753.2],
            caps: [[538.9, 558.9], [810.0, 840.0]],
            deflection: 0.151,
            limit: 0.500,
            support: Some("support 2"),
        },
        Case {
            deck: assumed(50.0, 0.92, 0.58, 0.60),
            run: record! { spans_ft: [10], concrete_psf: 43.54, deck_psf: 2.0 },
            sagging_point: [944.3, 1425.8],
            hogging: [0.0, 0.0],
            caps: [[1447.1, 1497.0], [2175.0, 2250.0]],
            deflection: 0.378,
            limit: 0.667,
            support: None,
        },
    ];
    for case in &cases {
        for (index, method) in ["asd", "lrfd"].into_iter().enumerate() {
            let run = with(&case.run, &record! { method: method });
            let figures = construction(case.deck.clone(), run).unwrap();
            let sagging = found(&figures, "sagging moment", "span 1", "150 lb");
            near(sagging.demand, case.sagging_point[index], 0.002);
            printed(sagging.limit, case.caps[index][0], 1);
            if let Some(support) = case.support {
                let hogging = found(&figures, "hogging moment", support, "concrete and 20 psf");
                near(hogging.demand, case.hogging[index], 0.003);
                printed(hogging.limit, case.caps[index][1], 1);
            } else {
                assert!(figures.checks.iter().all(|check| check.check != "hogging moment"));
            }
            let deflection = found(&figures, "deflection", "span 1", "concrete and deck");
            printed(deflection.limit, case.limit, 3);
            near(deflection.demand, case.deflection, 0.004);
            // Flexure and deflection only: without geometry there is no shear, no bearing.
            assert!(figures.utilisation < 1.0);
            assert_eq!(
                figures.notes,
                ["shear and bearing left out: the profile's geometry is not given"]
            );
        }
    }
}

/// Uniform load on three spans of 12 ft, worked by hand as 0.101 (43.54 + 2 + 20) 12^2, alternate
/// spans wet, and 0.094 of it, one span wet.
#[test]
fn one_span_wet_and_alternate_spans_wet() {
    let deck = assumed(50.0, 0.92, 0.58, 0.60);
    let run = record! { spans_ft: [12, 12, 12], concrete_psf: 43.54, deck_psf: 2.0 };
    let sagging = |pattern: &str| {
        let figures =
            construction(deck.clone(), with(&run, &record! { pattern: pattern })).unwrap();
        found(&figures, "sagging moment", "span 1", "concrete and 20 psf").demand
    };
    near(sagging("worst"), 953.2, 0.003);
    near(sagging("one span"), 0.094 * 65.54 * 144.0, 0.0013);
    near(sagging("together"), 0.08 * 65.54 * 144.0, 1e-9);
}

/// Light form deck with 17 psf of concrete, two spans of 7 ft, by hand: the bare deck under 50 psf
/// bends the inner support by 51 * 7^2 / 8 = 312.4 ft-lb/ft, more than 0.203 * 150 * 7 + 0.0957 * 18 *
/// 7^2 = 297.6 in the span, of 0.12 * 60,000 / 12 / 1.67 = 359.3.
#[test]
fn bare_platform_governs_light_form_deck() {
    let deck = assumed(80.0, 0.10, 0.12, 0.12);
    let run = record! { spans_ft: [7, 7], concrete_psf: 17.0, deck_psf: 1.0 };
    let figures = construction(deck, run).unwrap();
    assert_eq!(figures.governs, "hogging moment, support 2, bare deck and 50 psf");
    near(figures.utilisation, 312.375 / 359.281, 1e-5);
    near(found(&figures, "sagging moment", "span 1", "150 lb").demand, 297.6, 0.001);
}

fn composite(depth_in: f64, thickness_in: f64) -> Arc<Record> {
    let (top, bottom) = if depth_in == 3.0 { (4.75, 4.75) } else { (5.0, 5.0) };
    record! {
        depth_in: depth_in, pitch_in: 12, top_flat_in: top, bottom_flat_in: bottom,
        thickness_in: thickness_in, fy_ksi: 40,
    }
}

/// AISI S100-16 H2 by hand at the inner support of two spans: the root of the sum of squares of
/// moment and shear, each over its own limit, both methods.
#[test]
fn hogging_with_shear() {
    for method in ["asd", "lrfd"] {
        let run = record! { spans_ft: [8, 8], concrete_psf: 48.33, deck_psf: 1.5, method: method };
        let figures = construction(composite(2.0, 0.0358), run).unwrap();
        let of = |check| found(&figures, check, "support 2", "concrete and 20 psf").utilisation;
        let shear = found(&figures, "shear", "span 1", "concrete and 20 psf").utilisation;
        near(of("hogging moment with shear"), of("hogging moment").hypot(shear), 1e-12);
        assert!(shear > 0.05);
    }
}

/// Bearings: reactions 0.375 and 1.25 w L of two spans, one-flange coefficients, hand factors.
#[test]
fn bearing_reactions() {
    let run = record! {
        spans_ft: [8, 8], concrete_psf: 48.33, deck_psf: 1.67, pattern: "together",
        interior_bearing_in: 4,
    };
    let figures = construction(composite(2.0, 0.0358), run.clone()).unwrap();
    let bearing = |place| found(&figures, "bearing", place, "concrete and 20 psf");
    near(bearing("support 1").demand, 0.375 * 70.0 * 8.0, 1e-12);
    near(bearing("support 2").demand, 1.25 * 70.0 * 8.0, 1e-12);
    let strength = |bearing_in: f64, interior: bool| {
        let bearing = record! { bearing_in: bearing_in, interior: interior };
        baytally::deck::section::web_crippling_lb_ft(composite(2.0, 0.0358), bearing)
            .unwrap()
            .strength_lb_ft
    };
    near(bearing("support 1").limit, strength(1.5, false) / 1.70, 1e-12);
    near(bearing("support 2").limit, strength(4.0, true) / 1.75, 1e-12);
    let long = with(&run, &record! { interior_bearing_in: 8 });
    let figures = construction(composite(2.0, 0.0358), long).unwrap();
    assert_eq!(
        figures.notes,
        [
            "bearing beyond the table's range: N/t 223.46 is over 210",
            "bearing beyond the table's range: N/h 3.94 is over 3",
            "hogging moment with bearing left out: webs 10 in apart at most",
        ]
    );
}

/// Cantilever of 3 ft by hand: (50 + 20) 3^2 / 2 = 315 and 50 * 3^2 / 2 + 150 * 3 = 675 ft-lb/ft; tip
/// held fast w a^4 / 8EI, limit 36 / 90 = 0.4 in.
#[test]
fn cantilever() {
    let deck = assumed(40.0, 0.4, 0.3, 0.3);
    let run = record! {
        spans_ft: [7, 7], end_overhang_ft: 3, concrete_psf: 48.0, deck_psf: 2.0,
    };
    let figures = construction(deck, run).unwrap();
    let hogging = |loads| found(&figures, "hogging moment", "end overhang", loads);
    near(hogging("20 psf").demand, 315.0, 1e-12);
    near(hogging("150 lb").demand, 675.0, 1e-12);
    let tip = found(&figures, "tip deflection", "end overhang", "concrete and deck");
    printed(tip.limit, 0.4, 9);
    let held = 12.0 * 50.0 * 81.0 / (8.0 * 29.5e6 * 0.4 / 144.0);
    assert!(tip.demand >= held * (1.0 - 1e-12), "{} {held}", tip.demand);
    assert_eq!(figures.governs, "hogging moment, end overhang, wet concrete and 150 lb");
}

/// A panel of two spans and one of a single span in the same bay differ.
#[test]
fn run_as_laid_out() {
    let utilisation = |spans: Vec<i32>| {
        let run = record! { spans_ft: spans, concrete_psf: 48.33, deck_psf: 1.8 };
        construction(composite(2.0, 0.0358), run).unwrap().utilisation
    };
    let (one, two) = (utilisation(vec![8]), utilisation(vec![8, 8]));
    assert!(one > two, "{one} {two}");
}

/// The longest span found is within its limits, and a hair longer is over.
#[test]
fn longest_span_is_the_limit() {
    for spans in 1..=3 {
        let load = record! { concrete_psf: 48.33, deck_psf: 1.8 };
        let longest = longest_span(composite(2.0, 0.0358), load.clone(), spans).unwrap();
        let utilisation = |span_ft: f64| {
            let run = with(&load, &record! { spans_ft: vec![span_ft; spans as usize] });
            construction(composite(2.0, 0.0358), run).unwrap().utilisation
        };
        assert!(utilisation(longest.span_ft) <= 1.0);
        assert!(utilisation(longest.span_ft + 1e-3) > 1.0, "{longest:?}");
    }
}

/// 20 ga deck of assumed properties, one span, by hand: 0.125 w L^2 + 0.25 P L = cap gives
/// L = (-37.5 + sqrt(37.5^2 + 4 * 5.6925 * 1447.1)) / (2 * 5.6925) = 12.99 ft; the deflection limit
/// L/180 (or 0.75 in) is met first: 0.013021 * 45.54 * L^4 * 1728 / (29.5e6 * 0.92) = 0.75 in at
/// 11.87 ft.
#[test]
fn longest_single_span_by_hand() {
    let load = record! { concrete_psf: 43.54, deck_psf: 2.0 };
    let deck = assumed(50.0, 0.92, 0.58, 0.60);
    let longest = longest_span(deck.clone(), load.clone(), 1).unwrap();
    let by_hand: f64 = 0.75 * 29.5e6 * 0.92 / 1728.0 / (5.0 / 384.0 * 45.54);
    let by_hand = by_hand.powf(0.25);
    printed(by_hand, 11.87, 2);
    near(longest.span_ft, by_hand, 1e-6);
    assert_eq!(longest.governs, "deflection, span 1, concrete and deck");
    let loose = with(&load, &record! { deflection_ratio: 1, deflection_most_in: 100 });
    let flexure = longest_span(deck, loose, 1).unwrap();
    let by_hand = (-37.5 + (37.5_f64.powi(2) + 4.0 * 5.6925 * 1447.1).sqrt()) / (2.0 * 5.6925);
    printed(by_hand, 12.99, 2);
    near(flexure.span_ft, by_hand, 1e-4);
}

/// Shores stand where a span is over its limit, and what they leave is within.
#[test]
fn shores_leave_spans_within_limits() {
    let run = record! { spans_ft: [6, 10, 6], concrete_psf: 48.33, deck_psf: 1.8 };
    let found = shores(composite(2.0, 0.0358), run.clone()).unwrap();
    assert_eq!(found.shores, [0, 1, 0]);
    assert_eq!((found.lines, found.spans_between_ft.clone()), (1, vec![6.0, 5.0, 5.0, 6.0]));
    assert!(found.unshored_utilisation > 1.0 && found.utilisation <= 1.0);
    let none = shores(composite(2.0, 0.0358), with(&run, &record! { most_shores: 0 })).unwrap();
    assert_eq!((none.lines, none.utilisation), (0, none.unshored_utilisation));
    // An overhang over its limit asks for no shore.
    let overhang = with(&run, &record! { spans_ft: [5, 5], end_overhang_ft: 3.5 });
    let overhang = shores(composite(2.0, 0.0358), overhang).unwrap();
    assert!(overhang.lines == 0 && overhang.utilisation > 1.0);
}

/// The sum that a sine series gives for the mean deflection of a filled simple span.
fn series(span_ft: f64, ei: f64, w: f64, gamma: f64) -> f64 {
    (0..400)
        .map(|index| {
            let n = f64::from(2 * index + 1);
            let k = n * std::f64::consts::PI;
            let amplitude = 4.0 * w / k / (ei * (k / span_ft).powi(4) - gamma);
            amplitude * 2.0 / k
        })
        .sum()
}

/// Simple spans of 10 and 12 ft, 110 pcf: alpha 0.138 and 0.124; the exact answer is a sine series,
/// near the mean without filling over 1 - alpha.
#[test]
fn ponding_of_a_simple_span() {
    for (span_ft, i_in4, alpha) in [(10.0, 0.40, 0.138), (12.0, 0.92, 0.124)] {
        let deck = with(&assumed(40.0, i_in4, 0.3, 0.3), &record! { unit_weight_pcf: 110 });
        let run = record! { spans_ft: [span_ft], concrete_psf: 40, deck_psf: 2 };
        let found = ponding(deck, run).unwrap();
        let ei = 29.5e6 * i_in4 / 144.0;
        near(found.deck_in, 12.0 * 42.0 * span_ft.powi(4) / (120.0 * ei), 1e-12);
        let whole = found.deck_in + found.ponding_in;
        near(whole, 12.0 * series(span_ft, ei, 42.0, 110.0), 1e-9);
        let exact_alpha = 110.0 * span_ft.powi(4) / (std::f64::consts::PI.powi(4) * ei);
        printed(exact_alpha, alpha, 3);
        near(whole, found.deck_in / (1.0 - exact_alpha), 0.001);
        near(found.extra_concrete_psf, 110.0 * whole / 12.0, 1e-12);
    }
}

/// Filling round after round, with each span's deflection laid on it in strips, comes to the same.
#[test]
fn ponding_round_after_round() {
    const STRIPS: u32 = 60;
    let (lengths, ei, w, gamma) = ([9.0, 12.0, 7.0], 29.5e6 * 0.5 / 144.0, 42.0, 110.0);
    let exact = Filled { lengths: lengths.to_vec(), ei, w, gamma, end_moments: (0.0, 0.0) }
        .mean_deflections()
        .unwrap();
    let strip = |span: usize, index: u32| lengths[span] * f64::from(index) / f64::from(STRIPS);
    let mut drops = vec![vec![0.0; STRIPS as usize]; 3];
    let mut means = [0.0; 3];
    for _ in 0..40 {
        let mut line = Line::new(&lengths, ei);
        for span in 0..3 {
            line.spans[span].loads.push(Load::Uniform(w));
            for index in 0..STRIPS {
                let load = gamma * drops[span][index as usize];
                let (from, to) = (strip(span, index), strip(span, index + 1));
                line.spans[span].loads.push(Load::Partial { from, to, w: load });
            }
        }
        let solved = line.solve().unwrap();
        for span in 0..3 {
            means[span] = solved.spans[span].mean_deflection();
            for index in 0..STRIPS {
                let middle = 0.5 * (strip(span, index) + strip(span, index + 1));
                drops[span][index as usize] = solved.spans[span].deflection_at(middle);
            }
        }
    }
    for span in 0..3 {
        near(means[span], exact[span], 2e-3);
    }
}

/// 30 x 30 ft bay, 2x12 deck, 5.25 in slab, base 11.806 yd3: greatest deflections 0.25 in deck, 0.80
/// beam, 0.50 girder, each mean 0.64 of it, add 0.444 + 1.422 + 0.889 = 2.756 yd3 (23.3 %).
#[test]
fn extra_concrete_by_hand() {
    let added = record! { area_ft2: 900, deck_in: 0.16, beam_in: 0.80, girder_in: 0.50 };
    let found = added_concrete(added).unwrap();
    printed(found.deck_yd3, 0.444, 3);
    printed(found.beam_yd3, 1.422, 3);
    printed(found.girder_yd3, 0.889, 3);
    printed(found.total_yd3, 2.756, 3);
    let base = 0.354_167 * 900.0 / 27.0;
    printed(base, 11.806, 3);
    printed(100.0 * found.total_yd3 / base, 23.3, 1);
    let fraction = record! { area_ft2: 900, frame_fraction: 0.1, base_yd3: 11.806 };
    printed(added_concrete(fraction).unwrap().fraction_yd3, 1.1806, 9);
}

/// Longest spans never grow with a thinner gauge, a thicker slab or a shallower profile.
#[test]
fn longest_spans_are_monotone() {
    let gauges = [0.0295, 0.0358, 0.0474, 0.0598];
    let depths = [1.5, 2.0, 3.0];
    for spans in 1..=3 {
        let span = |depth_in: f64, thickness_in: f64, concrete_psf: f64| {
            let load = record! { concrete_psf: concrete_psf, deck_psf: 2.0 };
            longest_span(composite(depth_in, thickness_in), load, spans).unwrap().span_ft
        };
        for concrete_psf in [25.0, 40.0, 60.0] {
            for depth_in in depths {
                for pair in gauges.windows(2) {
                    let (thin, thick) = (
                        span(depth_in, pair[0], concrete_psf),
                        span(depth_in, pair[1], concrete_psf),
                    );
                    assert!(thin < thick, "{depth_in} in, {concrete_psf} psf: {thin} {thick}");
                }
            }
            for thickness_in in gauges {
                for pair in depths.windows(2) {
                    let (low, deep) = (
                        span(pair[0], thickness_in, concrete_psf),
                        span(pair[1], thickness_in, concrete_psf),
                    );
                    assert!(low < deep, "{thickness_in} in, {concrete_psf} psf: {low} {deep}");
                }
                let heavier = span(2.0, thickness_in, concrete_psf + 5.0);
                assert!(heavier <= span(2.0, thickness_in, concrete_psf));
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// More steel never shortens, more concrete never lengthens the longest span.
    #[test]
    fn more_steel_spans_farther(
        depth_in in 1.0..3.0_f64,
        thickness_in in 0.02..0.06_f64,
        thicker in 1.01..1.4_f64,
        concrete_psf in 10.0..90.0_f64,
        heavier in 1.01..1.5_f64,
        spans in 1..4_i64,
        lrfd in any::<bool>(),
    ) {
        let span = |thickness_in: f64, concrete_psf: f64| {
            let method = if lrfd { "lrfd" } else { "asd" };
            let load =
                record! { concrete_psf: concrete_psf, deck_psf: 2.0, method: method };
            longest_span(composite(depth_in, thickness_in), load, spans).unwrap().span_ft
        };
        let base = span(thickness_in, concrete_psf);
        prop_assert!(base <= span(thickness_in * thicker, concrete_psf) + 1e-6);
        prop_assert!(base + 1e-6 >= span(thickness_in, concrete_psf * heavier));
    }

    /// No record of numbers makes a panic, and every figure given is finite.
    #[test]
    fn any_numbers_are_answered_or_refused(
        spans in proptest::collection::vec(any::<f64>(), 0..4),
        load in any::<f64>(),
        depth_in in any::<f64>(),
        thickness_in in any::<f64>(),
        fy in any::<f64>(),
    ) {
        let deck = record! {
            depth_in: depth_in, pitch_in: 12.0, top_flat_in: 5.0, bottom_flat_in: 5.0,
            thickness_in: thickness_in, fy_ksi: fy,
        };
        let run = record! { spans_ft: spans, concrete_psf: load, deck_psf: 2.0 };
        if let Ok(figures) = construction(deck, run) {
            prop_assert!(figures.utilisation.is_finite());
        }
    }
}

#[test]
fn refusals() {
    let deck = composite(2.0, 0.0358);
    let run = record! { spans_ft: [8, 8], concrete_psf: 48.33, deck_psf: 1.8 };
    let message = |more| construction(deck.clone(), with(&run, &more)).unwrap_err().to_string();
    assert_eq!(
        message(record! { spans_ft: [8, -8] }),
        "`run.spans_ft[1]` is -8, wanted a span above 0 and up to 1000 ft"
    );
    assert_eq!(
        message(record! { spans_ft: Vec::<f64>::new() }),
        "`run.spans_ft` is [], wanted a list of 1 to 50 spans in ft"
    );
    assert_eq!(
        message(record! { method: "plastic" }),
        "`run.method` is \"plastic\", wanted one of \"asd\", \"lrfd\""
    );
    assert_eq!(
        message(record! { end_bearing_in: 0 }),
        "`run.end_bearing_in` is 0, wanted a bearing length above 0 and up to 48 in"
    );
    assert_eq!(
        message(record! { platfrom_psf: 50 }),
        "`run.platfrom_psf` is 50, wanted no such field (did you mean `platform_psf`?)"
    );
    assert_eq!(
        construction(with(&deck, &record! { fy_ksi: 0 }), run.clone()).unwrap_err().to_string(),
        "`deck.fy_ksi` is 0, wanted a yield stress above 0 and up to 150 ksi"
    );
    assert_eq!(
        longest_span(deck.clone(), run.clone(), 0).unwrap_err().to_string(),
        "`spans` is 0, wanted a count of spans from 1 to 10"
    );
    let soft = with(&deck, &record! { unit_weight_pcf: 145 });
    assert_eq!(
        ponding(soft, with(&run, &record! { spans_ft: [40] })).unwrap_err().to_string(),
        "`spans` is [40.0], wanted spans stiff enough that filling the deflection with concrete comes to an end"
    );
}
