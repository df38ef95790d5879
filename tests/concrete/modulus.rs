//! Moduli of concrete.

use baytally::concrete::modulus::{
    modular_ratio, modulus_aisc_ksi, modulus_ksi, modulus_normal_ksi,
};

use super::close;

/// Unit weight, strength, 33-form, n at 29,500 and 29,000, AISC form: ACI 318-19 19.2.2.1(a) and
/// AISC 360 chapter I, by hand.
const ROWS: [[f64; 6]; 6] = [
    [145.0, 3000.0, 3155.9, 9.35, 9.19, 3024.0],
    [145.0, 4000.0, 3644.1, 8.10, 7.96, 3492.0],
    [150.0, 3000.0, 3320.6, 8.88, 8.73, 3182.0],
    [110.0, 3000.0, 2085.3, 14.15, 13.91, 1998.0],
    [110.0, 4000.0, 2407.9, 12.25, 12.04, 2307.0],
    [115.0, 3000.0, 2229.1, 13.23, 13.01, 2136.0],
];

#[test]
fn moduli_and_ratios() {
    for [pcf, psi, ksi, n_29500, n_29000, aisc_ksi] in ROWS {
        let modulus = modulus_ksi(pcf, psi).unwrap();
        close(modulus, ksi, 1);
        close(modular_ratio(29_500.0, modulus).unwrap(), n_29500, 2);
        close(modular_ratio(29_000.0, modulus).unwrap(), n_29000, 2);
        close(modulus_aisc_ksi(pcf, psi).unwrap(), aisc_ksi, 0);
    }
    close(modulus_normal_ksi(3_000.0).unwrap(), 3_122.0, 1);
    close(modulus_normal_ksi(4_000.0).unwrap(), 3_605.0, 1);
    // The ratio of the two forms is 33 / sqrt(1000).
    close(modulus_ksi(145.0, 3e3).unwrap() / modulus_aisc_ksi(145.0, 3e3).unwrap(), 1.0436, 4);
}

/// A published vibration example prints n = 13.6 for 115 pcf and 3 ksi at 29,000 ksi.
#[test]
fn ratio_of_a_published_example() {
    let modulus = modulus_aisc_ksi(115.0, 3_000.0).unwrap();
    close(modular_ratio(29_000.0, modulus).unwrap(), 13.58, 2);
}

#[test]
fn refusals_say_what_is_wrong() {
    assert_eq!(
        modulus_ksi(80.0, 3_000.0).unwrap_err().to_string(),
        "`unit_weight_pcf` is 80, wanted a unit weight from 90 to 160 pcf"
    );
    assert_eq!(
        modulus_ksi(145.0, 3.0).unwrap_err().to_string(),
        "`strength_psi` is 3, wanted a strength from 1,000 to 20,000 psi"
    );
    assert_eq!(
        modular_ratio(29_500.0, f64::INFINITY).unwrap_err().to_string(),
        "`concrete_ksi` is inf, wanted a modulus of concrete from 500 to 10,000 ksi"
    );
}
