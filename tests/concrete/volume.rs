//! Volumes and weights of slabs on deck.

use std::sync::Arc;

use baytally::concrete::volume::{
    average_in, cover_ft2, ft3, ft3_per_ft2, psf, thickness_in, wet_psf, yd3, yd3_per_square,
};
use baytally::value::{Record, Refusal, Value};
use proptest::prelude::*;

use super::{close, record};

/// Depth, pitch and average rib width of the generic profiles.
const P2X12: [f64; 3] = [2.0, 12.0, 6.0];
const P3X12: [f64; 3] = [3.0, 12.0, 6.0];
const P15X12: [f64; 3] = [1.5, 12.0, 6.0];
const P15X6: [f64; 3] = [1.5, 6.0, 2.125];
const P15X6_INVERTED: [f64; 3] = [1.5, 6.0, 3.875];

type Row = ([f64; 3], f64, f64, f64, [f64; 3]);

/// Profile, slab, ft3/ft2, yd3 per square, psf at 145, 150 and 110 pcf.
/// Computed by hand from slab - depth + depth x rib / pitch; the ft3/ft2 of 2x12 and 3x12 equal
/// the values handbooks print (from memory); the method is Peterson, Estimating Concrete Volumes
/// for Composite Decks, 2005.
const ROWS: [Row; 20] = [
    (P2X12, 4.0, 0.2500, 0.926, [36.2, 37.5, 27.5]),
    (P2X12, 4.5, 0.2917, 1.080, [42.3, 43.8, 32.1]),
    (P2X12, 5.0, 0.3333, 1.235, [48.3, 50.0, 36.7]),
    (P2X12, 5.25, 0.3542, 1.312, [51.4, 53.1, 39.0]),
    (P2X12, 5.5, 0.3750, 1.389, [54.4, 56.2, 41.2]),
    (P2X12, 6.0, 0.4167, 1.543, [60.4, 62.5, 45.8]),
    (P2X12, 6.5, 0.4583, 1.698, [66.5, 68.8, 50.4]),
    (P3X12, 5.0, 0.2917, 1.080, [42.3, 43.8, 32.1]),
    (P3X12, 5.5, 0.3333, 1.235, [48.3, 50.0, 36.7]),
    (P3X12, 6.0, 0.3750, 1.389, [54.4, 56.2, 41.2]),
    (P3X12, 6.25, 0.3958, 1.466, [57.4, 59.4, 43.5]),
    (P3X12, 6.5, 0.4167, 1.543, [60.4, 62.5, 45.8]),
    (P3X12, 7.0, 0.4583, 1.698, [66.5, 68.8, 50.4]),
    (P3X12, 7.5, 0.5000, 1.852, [72.5, 75.0, 55.0]),
    (P15X12, 3.5, 0.2292, 0.849, [33.2, 34.4, 25.2]),
    (P15X12, 4.0, 0.2708, 1.003, [39.3, 40.6, 29.8]),
    (P15X6, 3.5, 0.2109, 0.781, [30.6, 31.6, 23.2]),
    (P15X6, 4.0, 0.2526, 0.936, [36.6, 37.9, 27.8]),
    (P15X6, 5.0, 0.3359, 1.244, [48.7, 50.4, 37.0]),
    (P15X6_INVERTED, 4.0, 0.2891, 1.071, [41.9, 43.4, 31.8]),
];

fn deck([depth_in, pitch_in, rib_in]: [f64; 3], slab_in: f64, pcf: f64) -> Arc<Record> {
    record([
        ("use", Value::text("composite")),
        ("profile", Value::text("2x12")),
        ("depth_in", Value::Number(depth_in)),
        ("pitch_in", Value::Number(pitch_in)),
        ("rib_in", Value::Number(rib_in)),
        ("slab_in", Value::Number(slab_in)),
        ("unit_weight_pcf", Value::Number(pcf)),
    ])
}

#[test]
fn slabs_on_generic_profiles() {
    for (profile, slab_in, v, square, weights) in ROWS {
        let [depth_in, pitch_in, rib_in] = profile;
        let average = average_in(slab_in, depth_in, rib_in, pitch_in).unwrap();
        close(ft3_per_ft2(average).unwrap(), v, 4);
        close(yd3_per_square(average).unwrap(), square, 3);
        for (pcf, printed) in [145.0, 150.0, 110.0].into_iter().zip(weights) {
            close(psf(average, pcf).unwrap(), printed, 1);
            let record = deck(profile, slab_in, pcf);
            assert_eq!(thickness_in(record.clone()).unwrap(), average);
            assert_eq!(wet_psf(record).unwrap(), psf(average, pcf).unwrap());
        }
    }
}

/// A vibration example on the web prints 41 psf for 5 1/4 in on 2x12 at 115 pcf.
#[test]
fn lightweight_slab_of_a_published_example() {
    close(wet_psf(deck(P2X12, 5.25, 115.0)).unwrap(), 40.7, 1);
    close(wet_psf(deck(P2X12, 5.25, 115.0)).unwrap(), 41.0, 0);
}

/// Flat slabs: a ready-mix table prints 162, 108, 81, 65 and 54 ft2 a yd3 at 2 to 6 in.
#[test]
fn flat_slabs() {
    for (slab_in, v, square, weight, covers) in
        [(4.0, 0.3333, 1.235, 50.0, 81.0), (6.0, 0.5, 1.852, 75.0, 54.0)]
    {
        let flat = record([
            ("use", Value::text("form")),
            ("slab_in", Value::Number(slab_in)),
            ("unit_weight_pcf", Value::Count(150)),
        ]);
        assert_eq!(thickness_in(flat.clone()).unwrap(), slab_in);
        close(ft3_per_ft2(slab_in).unwrap(), v, 4);
        close(yd3_per_square(slab_in).unwrap(), square, 3);
        close(wet_psf(flat).unwrap(), weight, 1);
        close(cover_ft2(slab_in).unwrap(), covers, 0);
    }
    for (slab_in, covers) in [(2.0, 162.0), (3.0, 108.0), (5.0, 65.0)] {
        close(cover_ft2(slab_in).unwrap(), covers, 0);
    }
}

#[test]
fn roof_deck_takes_no_concrete() {
    let roof = record([("use", Value::text("roof")), ("depth_in", Value::Number(1.5))]);
    assert_eq!(thickness_in(roof.clone()).unwrap(), 0.0);
    assert_eq!(wet_psf(roof).unwrap(), 0.0);
}

/// A 30 by 30 ft bay of 5 1/4 in on 2x12: 11.806 yd3, by hand.
#[test]
fn a_bay_in_cubic_yards() {
    let average = average_in(5.25, 2.0, 6.0, 12.0).unwrap();
    close(yd3(ft3(900.0, average).unwrap()).unwrap(), 11.806, 3);
}

/// The same bay sags under a level pour: deck 0.25, beams 0.80, girders 0.50 in at most, each 0.64
/// of that on average (simple span under uniform load, 16/25). By hand 0.444 + 1.422 + 0.889 yd3.
#[test]
fn concrete_that_a_sagging_bay_takes() {
    let part = |most_in: f64| yd3(ft3(900.0, 0.64 * most_in).unwrap()).unwrap();
    let parts = [0.25, 0.80, 0.50].map(part);
    for (found, printed) in parts.into_iter().zip([0.444, 1.422, 0.889]) {
        close(found, printed, 3);
    }
    let flat = yd3(ft3(900.0, 4.25).unwrap()).unwrap();
    close(parts.iter().sum(), 2.756, 3);
    close(flat + parts.iter().sum::<f64>(), 14.561, 3);
}

#[test]
fn refusals_say_what_is_wrong() {
    let say = |result: Result<f64, Refusal>| result.unwrap_err().to_string();
    assert_eq!(
        say(average_in(1.5, 2.0, 6.0, 12.0)),
        "`slab_in` is 1.5, wanted a slab thickness from the deck depth to 120 in, total from the \
         bottom of the flutes"
    );
    assert_eq!(
        say(average_in(5.0, 2.0, 13.0, 12.0)),
        "`rib_in` is 13, wanted an average rib width from 0 in to the pitch"
    );
    assert_eq!(
        say(average_in(5.0, 2.0, 6.0, 0.0)),
        "`pitch_in` is 0, wanted a pitch above 0, up to 120 in"
    );
    assert_eq!(
        say(ft3(f64::NAN, 4.0)),
        "`area_ft2` is NaN, wanted an area from 0 to 100,000,000 ft2"
    );
    assert_eq!(
        say(thickness_in(record([("use", Value::text("compsite"))]))),
        "`deck.use` is \"compsite\", wanted \"composite\", \"form\" or \"roof\" (perhaps \
         \"composite\")"
    );
    assert_eq!(
        say(thickness_in(record([("use", Value::text("form")), ("slab", Value::Count(4)),]))),
        "`deck.slab_in` is missing, wanted a slab thickness from the deck depth to 120 in, total \
         from the bottom of the flutes (the record has `slab`)"
    );
}

proptest! {
    /// Between the topping alone and the full thickness, and never a panic.
    #[test]
    fn average_lies_between_topping_and_slab(
        slab in any::<f64>(), depth in any::<f64>(), rib in any::<f64>(), pitch in any::<f64>(),
        topping in 0.0..20.0f64, d in 0.1..8.0f64, p in 1.0..24.0f64, share in 0.0..1.0f64,
    ) {
        let _ = average_in(slab, depth, rib, pitch);
        let found = average_in(topping + d, d, share * p, p).unwrap();
        prop_assert!(found >= topping - 1e-9 && found <= topping + d + 1e-9);
    }
}
