//! The composite slab against cases worked by hand.

use std::sync::Arc;

use baytally::deck::slab::composite::{composite_beam, composite_slab};
use baytally::deck::slab::point_load::point_load;
use baytally::value::Record;

use super::given::{near, printed, record, with};

fn slab() -> Arc<Record> {
    record! {
        slab_in: 6.25, depth_in: 3, pitch_in: 12, rib_in: 6, bottom_flat_in: 4.75, n: 14, fy_ksi: 50,
        fc_psi: 3000, as_in2: 0.80, ysb_in: 1.5, isf_in4: 0.92,
    }
}

/// 3x12 deck, 6.25 in slab, n 14, Fy 50, worked by hand from the formulas of ANSI/SDI C-2017, which
/// reproduce a published average inertia and full moment; from memory.
#[test]
fn composite_slab_by_hand() {
    let found = composite_slab(slab()).unwrap();
    printed(found.steel_ratio, 0.014035, 6);
    printed(found.cracked_axis_in, 2.1872, 4);
    printed(found.cracked_i_in4, 9.1638, 4);
    printed(found.yield_moment_in_kip, 112.778, 3);
    printed(found.yield_design_lrfd_in_kip, 95.861, 3);
    printed(found.yield_design_asd_in_kip, 64.444, 3);
    assert!(found.k_is_upper_bound);
    printed(found.uncracked_axis_in, 2.9630, 4);
    printed(found.uncracked_i_in4, 15.9839, 4);
    printed(found.average_i_in4, 12.5739, 4);
    printed(found.full_block_in, 1.3072, 4);
    printed(found.full_moment_in_kip, 163.856, 3);
}

/// Deck of more than 60 ksi counts as of 60: 60 x 9.1638 / (6.25 - 2.1872) / 1.75 = 77.33 in-kip.
#[test]
fn strong_deck_counts_to_its_cap() {
    let of = |fy_ksi: f64| {
        composite_slab(with(&slab(), &record! { fy_ksi: fy_ksi })).unwrap().yield_design_asd_in_kip
    };
    printed(of(80.0), 77.333, 3);
    assert_eq!(of(80.0), of(60.0));
}

#[test]
fn k_lowers_the_yield_moment() {
    let found = composite_slab(with(&slab(), &record! { k: 0.85 })).unwrap();
    near(found.yield_design_lrfd_in_kip, 0.85 * 0.85 * 112.778, 1e-5);
    assert!(!found.k_is_upper_bound);
}

/// Shear by hand: rib bottom 4.75, webs run out 1.25 in each over 3 in, so 6.25 * (4.75 + 6.25 * 1.25 /
/// 3) = 45.96 in2 in a 12 in pitch; 0.75 * 2 * sqrt(3000) * 45.96 lb, and the cap of twice that.
#[test]
fn shear_by_hand() {
    let found = composite_slab(slab()).unwrap();
    printed(found.shear_area_in2, 45.96, 2);
    near(found.shear_lrfd_lb, 0.75 * 2.0 * 3000_f64.sqrt() * 45.9635, 1e-4);
    near(found.shear_asd_lb, 3000_f64.sqrt() * 45.9635, 1e-4);
    let capped = composite_slab(with(&slab(), &record! { deck_shear_lb: 20_000 })).unwrap();
    near(capped.shear_lrfd_lb, 0.75 * 4.0 * 3000_f64.sqrt() * 45.9635, 1e-4);
    // 1.5x6: the webs meet the pitch inside the slab, above it the whole pitch counts.
    let narrow = record! {
        depth_in: 1.5, pitch_in: 6, rib_in: 3.875, bottom_flat_in: 3.5, slab_in: 6, ysb_in: 0.75,
    };
    let found = composite_slab(with(&slab(), &narrow)).unwrap();
    near(found.shear_area_in2, 2.0 * (5.0 * 4.75 + 1.0 * 6.0), 1e-12);
}

/// 2,000 lb on 6 by 6 in, 6.25 in slab on 3 in deck, span 10 ft, by hand from ANSI/SDI C-2017 2.4.B.
#[test]
fn point_load_by_hand() {
    let load = record! {
        load_lb: 2000, across_in: 6, along_in: 6, slab_in: 6.25, depth_in: 3, span_ft: 10,
    };
    let found = point_load(load.clone()).unwrap();
    printed(found.footprint_in, 12.5, 9);
    printed(found.flexure_spread_in, 72.5, 9);
    printed(found.cap_in, 55.536, 3);
    printed(found.flexure_width_in, 55.536, 3);
    printed(found.shear_width_in, 18.424, 3);
    printed(found.weak_width_in, 66.0, 9);
    printed(found.weak_moment_in_lb_ft, 1346.3, 1);
    let continuous = point_load(with(&load, &record! { continuous: true })).unwrap();
    printed(continuous.flexure_width_in, 52.5, 9);
}

/// A public slide on floor vibration: slab 5.25 in of 115 pcf weighing 41 psf, W21x44 (A 13.0, I 843,
/// d 20.66), width 10 ft; every digit.
#[test]
fn composite_beam_of_a_public_slide() {
    let ec = 115_f64.powf(1.5) * 3_f64.sqrt();
    printed(ec, 2136.0, 0);
    let n = 29_000.0 / ec;
    printed(n, 13.58, 2);
    printed(41.0 / 115.0 * 12.0, 4.278, 3);
    // The slide goes on with 13.6 and 4.3.
    let beam = |n: f64| {
        record! {
            slab_in: 5.25, concrete_in: 4.3, width_in: 120, n: n, steel_area_in2: 13.0,
            steel_i_in4: 843, steel_depth_in: 20.66,
        }
    };
    let found = composite_beam(beam(13.6)).unwrap();
    printed(found.axis_in, 5.577, 3);
    printed(found.i_in4, 2648.0, 0);
    // Its terms as printed, about the axis rounded to 5.6: they add up to 2,647.9.
    let width = 120.0 / 13.6;
    let terms = [
        width * 4.3_f64.powi(3) / 12.0,
        width * 4.3 * (5.6_f64 - 2.15).powi(2),
        843.0,
        13.0 * (15.58_f64 - 5.6).powi(2),
    ];
    for (term, wanted) in terms.into_iter().zip([58.5, 451.6, 843.0, 1294.8]) {
        printed(term, wanted, 1);
    }
    near(found.i_in4, terms.iter().sum(), 1e-4);
}

#[test]
fn refusals() {
    let message = |more| composite_slab(with(&slab(), &more)).unwrap_err().to_string();
    assert_eq!(
        message(record! { slab_in: 2.5 }),
        "`slab.slab_in` is 2.5, wanted a slab thicker than the deck's 3 in"
    );
    assert_eq!(
        message(record! { fy_ksi: 0 }),
        "`slab.fy_ksi` is 0, wanted a yield stress above 0 and up to 150 ksi"
    );
    assert_eq!(
        message(record! { n: 100 }),
        "`slab.n` is 100, wanted a ratio of moduli from 3 to 50"
    );
    let thin = record! {
        load_lb: 2000, across_in: 6, along_in: 6, slab_in: 3, depth_in: 3, span_ft: 10,
    };
    assert_eq!(
        point_load(thin).unwrap_err().to_string(),
        "`load.slab_in` is 3, wanted a slab thicker than the deck's 3 in"
    );
}
