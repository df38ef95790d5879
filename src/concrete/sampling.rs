//! Strength tests: how often concrete is sampled.
//!
//! In: what a class of concrete places in one day, and how many batches the job takes of it. Out:
//! counts of tests. A test is the average of at least two 6 by 12 in or three 4 by 8 in cylinders;
//! how many cylinders a set has is the shop's choice.

use crate::arguments::within;
use crate::builtin::Builtin;
use crate::value::Refusal;

pub const BUILTINS: &[Builtin] = &[
    builtin!(strength_tests(yd3, area_ft2, yd3_per_test, ft2_per_test)),
    builtin!(least_job_tests(batches)),
];

/// Strength tests of one class of concrete on one day: one, or one for each started volume or
/// area, whichever asks for more. For slabs under 9.72 in the area governs.
///
/// - yd3: volume placed that day, yd3, 0 to 1,000,000; 0 asks for no test
/// - area_ft2: surface of slab placed that day, one face, ft2, 0 to 100,000,000
/// - yd3_per_test: volume that one test stands for, yd3, 1 to 10,000 (ACI 318: 150)
/// - ft2_per_test: area that one test stands for, ft2, 1 to 1,000,000 (ACI 318: 5000)
///
/// Gives: count of tests.
/// Source: ACI 318-19 26.12.2.1(a); ACI 301 asks for one a 100 yd3.
/// Example: `concrete::strength_tests(310, 26000, 150, 5000)` = 6
pub fn strength_tests(
    yd3: f64,
    area_ft2: f64,
    yd3_per_test: f64,
    ft2_per_test: f64,
) -> Result<i64, Refusal> {
    within("yd3", yd3, "a volume from 0 to 1,000,000 yd3", |v| (0.0..=1e6).contains(&v))?;
    let area = "an area from 0 to 100,000,000 ft2";
    within("area_ft2", area_ft2, area, |a| (0.0..=1e8).contains(&a))?;
    let volume = "a volume from 1 to 10,000 yd3";
    within("yd3_per_test", yd3_per_test, volume, |v| (1.0..=1e4).contains(&v))?;
    let area = "an area from 1 to 1,000,000 ft2";
    within("ft2_per_test", ft2_per_test, area, |a| (1.0..=1e6).contains(&a))?;
    if yd3 == 0.0 {
        return Ok(0);
    }
    let started = (yd3 / yd3_per_test).ceil().max((area_ft2 / ft2_per_test).ceil()).max(1.0);
    #[allow(clippy::cast_possible_truncation, reason = "whole, at most 100,000,000")]
    Ok(started as i64)
}

/// Least tests of one class of concrete over the whole job: five batches, or every batch where
/// there are fewer. Under 50 yd3 in all the building official may waive tests on evidence.
///
/// - batches: batches of the class on the job, a truck each, 0 or more
///
/// Gives: count of tests.
/// Source: ACI 318-19 26.12.2.1(b) (clause letter from memory).
/// Example: `concrete::least_job_tests(3)` = 3
pub fn least_job_tests(batches: i64) -> Result<i64, Refusal> {
    if batches < 0 {
        return Err(Refusal::new("batches", batches, "a count of 0 or more"));
    }
    Ok(batches.min(5))
}
