//! Webs under shear and over bearings.
//!
//! In: an outline, yield stress, bearing length. Out: nominal strengths of one web in kips, with the
//! resistance factors that belong to them.

use super::shape::Outline;

/// What divides a nominal strength (allowable strength) or multiplies it (load and resistance
/// factors).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    pub omega: f64,
    pub phi: f64,
}

/// AISI S100-16 F, flexure; earlier editions 0.95 for stiffened flanges.
pub const FLEXURE: Factors = Factors { omega: 1.67, phi: 0.90 };
/// AISI S100-16 G2, shear; from memory.
pub const SHEAR: Factors = Factors { omega: 1.60, phi: 0.95 };

/// The nominal shear strength of one web across the deck (its slope counted), kips; AISI S100-16
/// G2.1 for webs without stiffeners, from memory.
#[must_use]
pub fn shear_kip(outline: &Outline, fy_ksi: f64, e_ksi: f64) -> f64 {
    const K_SHEAR: f64 = 5.34;
    let ratio = outline.web_flat / outline.thickness;
    let limit = (e_ksi * K_SHEAR / fy_ksi).sqrt();
    let stress = if ratio <= limit {
        0.60 * fy_ksi
    } else if ratio <= 1.51 * limit {
        0.60 * (e_ksi * K_SHEAR * fy_ksi).sqrt() / ratio
    } else {
        0.904 * e_ksi * K_SHEAR / (ratio * ratio)
    };
    stress * outline.web_flat * outline.thickness * outline.angle.sin()
}

/// How a bearing loads the web.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bearing {
    /// Fastened to the support.
    pub fastened: bool,
    /// At an inner support, not at an end.
    pub interior: bool,
    /// Loads on both flanges closer than 1.5 web depths.
    pub two_flange: bool,
}

/// Coefficients of one row of the web crippling table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crippling {
    pub c: f64,
    pub c_r: f64,
    pub c_n: f64,
    pub c_h: f64,
    pub factors: Factors,
    /// Greatest inside radius, in thicknesses.
    pub most_r_t: f64,
}

/// AISI S100-16 Table G5-5 (S100-12 Table C3.4.1-5), decks of several webs; from memory.
#[must_use]
pub const fn crippling(bearing: Bearing) -> Crippling {
    match (bearing.fastened, bearing.two_flange, bearing.interior) {
        (true, false, false) => row(4.0, 0.04, 0.25, 0.025, 1.70, 0.90, 20.0),
        (true, true, false) => row(9.0, 0.12, 0.14, 0.040, 1.80, 0.85, 10.0),
        (true, true, true) => row(10.0, 0.11, 0.21, 0.020, 1.75, 0.85, 10.0),
        (false, false, false) => row(3.0, 0.04, 0.29, 0.028, 2.45, 0.60, 20.0),
        (_, false, true) => row(8.0, 0.10, 0.17, 0.004, 1.75, 0.85, 10.0),
        (false, true, false) => row(6.0, 0.16, 0.15, 0.050, 1.65, 0.90, 5.0),
        (false, true, true) => row(17.0, 0.10, 0.10, 0.046, 1.65, 0.90, 5.0),
    }
}

const fn row(
    c: f64,
    c_r: f64,
    c_n: f64,
    c_h: f64,
    omega: f64,
    phi: f64,
    most_r_t: f64,
) -> Crippling {
    Crippling { c, c_r, c_n, c_h, factors: Factors { omega, phi }, most_r_t }
}

impl Crippling {
    /// The nominal strength of one web over a bearing, kips.
    #[must_use]
    pub fn strength_kip(
        &self,
        outline: &Outline,
        radius_in: f64,
        fy_ksi: f64,
        bearing_in: f64,
    ) -> f64 {
        let t = outline.thickness;
        let root = |length: f64| (length / t).sqrt();
        self.c
            * t
            * t
            * fy_ksi
            * outline.angle.sin()
            * (1.0 - self.c_r * root(radius_in))
            * (1.0 + self.c_n * root(bearing_in))
            * (1.0 - self.c_h * root(outline.web_flat))
    }

    /// What of the shape or bearing lies beyond the tested range of the table.
    #[must_use]
    pub fn beyond(&self, outline: &Outline, radius_in: f64, bearing_in: f64) -> Vec<String> {
        let t = outline.thickness;
        let degrees = outline.angle.to_degrees();
        let h = outline.web_flat;
        let mut beyond = Vec::new();
        let mut over = |name: &str, value: f64, limit: f64| {
            if value > limit {
                beyond.push(format!("{name} {value:.2} is over {limit}"));
            }
        };
        over("R/t", radius_in / t, self.most_r_t);
        over("h/t", h / t, 200.0);
        over("N/t", bearing_in / t, 210.0);
        over("N/h", bearing_in / h, 3.0);
        if !(45.0..=90.0).contains(&degrees) {
            beyond.push(format!("web angle {degrees:.1} is not from 45 to 90 degrees"));
        }
        beyond
    }
}
