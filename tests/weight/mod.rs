//! Weights of sheet and deck against printed tables.

use std::sync::Arc;

use baytally::value::{Record, Value};
use baytally::weight::{
    coating_mil, coating_psf, coating_um, deck_psf, developed_ratio, flat_psf, least_thickness_in,
};

fn within(found: f64, wanted: f64, half_digit: f64) {
    assert!((found - wanted).abs() <= half_digit + 1e-12, "{found} is not {wanted}");
}

fn record(fields: &[(&str, f64)]) -> Arc<Record> {
    Arc::new(
        fields.iter().map(|(name, number)| (Arc::from(*name), Value::Number(*number))).collect(),
    )
}

/// Thickness: ANSI/SDI C-2017 Table UN-1.1 and RD1.0-2006 Table 2.2.1 (22 to 16 ga), SDI form deck
/// paper 2003 (28, 10 ga), else from memory. Delivered minimum: the same tables. Weight: 490 lb/ft3.
#[test]
fn thickness_minimum_and_flat_weight() {
    let rows = [
        (28, 0.0149, 0.014, 0.608),
        (26, 0.0179, 0.017, 0.731),
        (24, 0.0238, 0.023, 0.972),
        (24, 0.0239, 0.023, 0.976),
        (22, 0.0295, 0.028, 1.205),
        (21, 0.0329, 0.031, 1.343),
        (20, 0.0358, 0.034, 1.462),
        (19, 0.0418, 0.040, 1.707),
        (18, 0.0474, 0.045, 1.935),
        (17, 0.0538, 0.051, 2.197),
        (16, 0.0598, 0.057, 2.442),
        (14, 0.0747, 0.071, 3.050),
        (12, 0.1046, 0.099, 4.271),
        (10, 0.1345, 0.128, 5.492),
    ];
    for (gauge, thickness_in, least_in, psf) in rows {
        let least = least_thickness_in(thickness_in).unwrap();
        assert_eq!((least * 1000.0).round() / 1000.0, least_in, "{gauge} ga");
        within(flat_psf(thickness_in).unwrap(), psf, 0.0005);
    }
}

/// ASTM A653 Table 1 designations; thickness by 1.68 mil an oz/ft2 (section 8.1).
#[test]
fn coatings() {
    let rows = [
        ("G30", 0.30, 0.504, 6.4, 0.0188),
        ("G40", 0.40, 0.672, 8.5, 0.0250),
        ("G60", 0.60, 1.008, 12.8, 0.0375),
        ("G90", 0.90, 1.512, 19.2, 0.0563),
    ];
    for (name, oz_ft2, mil, um_a_side, psf) in rows {
        within(coating_mil(oz_ft2).unwrap(), mil, 0.0005);
        within(coating_um(oz_ft2).unwrap() / 2.0, um_a_side, 0.05);
        within(coating_psf(oz_ft2).unwrap(), psf, 0.00005);
        assert!(!name.is_empty());
    }
    within(coating_psf(0.9).unwrap() / coating_psf(0.6).unwrap(), 1.5, 1e-12);
}

/// Geometry of the generic profiles (sharp corners), design thickness 22, 20, 18, 16 ga.
#[test]
#[allow(clippy::approx_constant, reason = "3.14 is a weight")]
fn profiled_weight() {
    let gauges = [0.0295, 0.0358, 0.0474, 0.0598];
    let rows = [
        ("1.5x6 wide rib", [1.5, 6.0, 3.5, 1.75], 1.390, [1.67, 2.03, 2.69, 3.40], 0.052),
        ("1.5x12", [1.5, 12.0, 5.0, 5.0], 1.134, [1.37, 1.66, 2.19, 2.77], 0.043),
        ("2x12", [2.0, 12.0, 5.0, 5.0], 1.206, [1.45, 1.76, 2.33, 2.94], 0.045),
        ("3x12", [3.0, 12.0, 4.75, 4.75], 1.333, [1.61, 1.95, 2.58, 3.26], 0.050),
        ("3x8 deep rib", [3.0, 8.0, 5.375, 1.5], 1.622, [1.95, 2.37, 3.14, 3.96], 0.061),
    ];
    for (name, [depth, pitch, top, bottom], ratio, weights, g60) in rows {
        within(developed_ratio(depth, pitch, top, bottom).unwrap(), ratio, 0.0005);
        for (thickness, psf) in gauges.into_iter().zip(weights) {
            let bare = [
                ("thickness_in", thickness),
                ("depth_in", depth),
                ("pitch_in", pitch),
                ("top_flat_in", top),
                ("bottom_flat_in", bottom),
            ];
            let found = deck_psf(record(&bare)).unwrap();
            assert!((found - psf).abs() <= 0.00501, "{name}: {found} is not {psf}");
            let mut coated = bare.to_vec();
            coated.push(("coating_oz_ft2", 0.6));
            within(deck_psf(record(&coated)).unwrap() - found, g60, 0.0005);
        }
    }
}

/// Handbook weights of painted 1.5x6 wide rib, 22 to 16 ga, from memory: the sharp-corner formula
/// stays within the 5 % that corner radii and rounding to 0.1 psf explain.
#[test]
fn handbook_weights_are_near() {
    for (thickness, handbook) in [(0.0295, 1.6), (0.0358, 2.0), (0.0474, 2.6), (0.0598, 3.3)] {
        let formula = flat_psf(thickness).unwrap() * developed_ratio(1.5, 6.0, 3.5, 1.75).unwrap();
        assert!((formula / handbook - 1.0).abs() < 0.05, "{formula} against {handbook}");
    }
}

#[test]
fn published_weight_takes_precedence() {
    let deck = record(&[("published_psf", 1.9), ("thickness_in", 0.0358)]);
    assert_eq!(deck_psf(deck).unwrap(), 1.9);
}

#[test]
fn a_flat_sheet_with_its_liner_weighs_both() {
    let cellular = record(&[
        ("thickness_in", 0.0358),
        ("liner_thickness_in", 0.0358),
        ("depth_in", 3.0),
        ("pitch_in", 8.0),
        ("top_flat_in", 5.375),
        ("bottom_flat_in", 1.5),
    ]);
    within(deck_psf(cellular).unwrap(), 2.371 + 1.462, 0.001);
}

#[test]
fn refusals() {
    let message = |refused: Result<f64, baytally::value::Refusal>| refused.unwrap_err().to_string();
    assert_eq!(
        message(flat_psf(0.0)),
        "`thickness_in` is 0, wanted a steel thickness above 0 and up to 1 in"
    );
    assert_eq!(
        message(coating_psf(f64::NAN)),
        "`coating_oz_ft2` is NaN, wanted a coating, both sides together, from 0 to 5 oz/ft2"
    );
    assert_eq!(
        message(developed_ratio(2.0, 12.0, 12.0, 5.0)),
        "`top_flat_in` is 12, wanted a flat width below the pitch of 12 in"
    );
    assert_eq!(
        message(deck_psf(record(&[("thickness_in", 0.0358), ("depth_in", 2.0)]))),
        "`deck.pitch_in` is missing, wanted a pitch above 0 and up to 48 in"
    );
    assert_eq!(
        message(deck_psf(record(&[("thicknes_in", 0.0358)]))),
        "`deck.thicknes_in` is 0.0358, wanted no such field (did you mean `thickness_in`?)"
    );
}
