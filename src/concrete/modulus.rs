//! Modulus of elasticity of concrete and the modular ratio.
//!
//! In: unit weight and strength. Out: moduli by the form that the name says; the forms differ by
//! about 4 %, so what is printed says which was used.

use crate::arguments::within;
use crate::builtin::Builtin;
use crate::value::Refusal;

pub const BUILTINS: &[Builtin] = &[
    builtin!(modulus_ksi(unit_weight_pcf, strength_psi)),
    builtin!(modulus_normal_ksi(strength_psi)),
    builtin!(modulus_aisc_ksi(unit_weight_pcf, strength_psi)),
    builtin!(modular_ratio(steel_ksi, concrete_ksi)),
];

const PSI_PER_KSI: f64 = 1_000.0;

fn checked_weight(unit_weight_pcf: f64) -> Result<f64, Refusal> {
    let wanted = "a unit weight from 90 to 160 pcf";
    within("unit_weight_pcf", unit_weight_pcf, wanted, |pcf| (90.0..=160.0).contains(&pcf))
}

fn checked_strength(strength_psi: f64) -> Result<f64, Refusal> {
    let wanted = "a strength from 1,000 to 20,000 psi";
    within("strength_psi", strength_psi, wanted, |psi| (1_000.0..=20_000.0).contains(&psi))
}

/// Modulus of elasticity of concrete of any unit weight, 33 w^1.5 sqrt(f'c).
///
/// - unit_weight_pcf: unit weight w, pcf, 90 to 160
/// - strength_psi: specified strength f'c, psi, 1,000 to 20,000
///
/// Gives: modulus, ksi.
/// Source: ACI 318-19 19.2.2.1(a).
/// Example: `concrete::modulus_ksi(145, 3000)` = 3155.9
pub fn modulus_ksi(unit_weight_pcf: f64, strength_psi: f64) -> Result<f64, Refusal> {
    let unit_weight_pcf = checked_weight(unit_weight_pcf)?;
    Ok(33.0 * unit_weight_pcf.powf(1.5) * checked_strength(strength_psi)?.sqrt() / PSI_PER_KSI)
}

/// Modulus of elasticity of normal-weight concrete, 57,000 sqrt(f'c).
///
/// - strength_psi: specified strength f'c, psi, 1,000 to 20,000
///
/// Gives: modulus, ksi.
/// Source: ACI 318-19 19.2.2.1(b).
/// Example: `concrete::modulus_normal_ksi(4000)` = 3605.0
pub fn modulus_normal_ksi(strength_psi: f64) -> Result<f64, Refusal> {
    Ok(57_000.0 * checked_strength(strength_psi)?.sqrt() / PSI_PER_KSI)
}

/// Modulus of elasticity of concrete of any unit weight, w^1.5 sqrt(f'c in ksi).
///
/// - unit_weight_pcf: unit weight w, pcf, 90 to 160
/// - strength_psi: specified strength f'c, psi, 1,000 to 20,000
///
/// Gives: modulus, ksi.
/// Source: AISC 360 chapter I; AISC Design Guide 11.
/// Example: `concrete::modulus_aisc_ksi(115, 3000)` = 2136
pub fn modulus_aisc_ksi(unit_weight_pcf: f64, strength_psi: f64) -> Result<f64, Refusal> {
    let unit_weight_pcf = checked_weight(unit_weight_pcf)?;
    Ok(unit_weight_pcf.powf(1.5) * (checked_strength(strength_psi)? / PSI_PER_KSI).sqrt())
}

/// Modular ratio, the modulus of steel over that of concrete.
///
/// - steel_ksi: modulus of steel, ksi, 20,000 to 35,000 (AISI and SDI 29,500, AISC 29,000)
/// - concrete_ksi: modulus of concrete, ksi, 500 to 10,000
///
/// Gives: ratio n.
/// Source: definition.
/// Example: `concrete::modular_ratio(29500, concrete::modulus_ksi(145, 3000))` = 9.35
pub fn modular_ratio(steel_ksi: f64, concrete_ksi: f64) -> Result<f64, Refusal> {
    let steel = "a modulus of steel from 20,000 to 35,000 ksi";
    within("steel_ksi", steel_ksi, steel, |ksi| (20_000.0..=35_000.0).contains(&ksi))?;
    let concrete = "a modulus of concrete from 500 to 10,000 ksi";
    within("concrete_ksi", concrete_ksi, concrete, |ksi| (500.0..=10_000.0).contains(&ksi))?;
    Ok(steel_ksi / concrete_ksi)
}
