//! The section that carries load after thin parts have buckled locally, by AISI S100.
//!
//! In: an outline, modulus of elasticity, the stress at the farthest fibre. Out: effective widths of
//! the compressed (top) flange and of the webs, and the section they leave, with its neutral axis
//! found by iteration. A hogging section is the flipped shape.

use super::shape::{Outline, Part, sum};

/// The root of 12 (1 - 0.3^2) / pi^2 as the standard prints it.
const PLATE: f64 = 1.052;
/// Plate buckling coefficient of a flat held along both edges.
const K_STIFFENED: f64 = 4.0;

/// Slenderness of a flat and the part of its width that stays effective.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Buckling {
    pub k: f64,
    pub lambda: f64,
    pub rho: f64,
}

/// AISI S100-16 Appendix 1.1: slenderness and effective part of a flat.
#[must_use]
pub fn buckling(k: f64, width: f64, thickness: f64, stress: f64, e: f64) -> Buckling {
    let lambda = PLATE / k.sqrt() * (width / thickness) * (stress.max(0.0) / e).sqrt();
    let rho = if lambda <= 0.673 { 1.0 } else { (1.0 - 0.22 / lambda) / lambda };
    Buckling { k, lambda, rho }
}

/// A web under a stress gradient.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Web {
    pub buckling: Buckling,
    /// Stress at the compressed and at the other end of the flat, compression positive.
    pub f1: f64,
    pub f2: f64,
    pub psi: f64,
    /// Effective lengths beside the compressed corner and beside the neutral axis.
    pub b1: f64,
    pub b2: f64,
    /// Compressed length of the flat.
    pub compressed: f64,
}

impl Web {
    /// The part of the compressed length that has buckled away: from and to, from the corner.
    #[must_use]
    pub fn gap(&self) -> Option<(f64, f64)> {
        (self.b1 + self.b2 < self.compressed).then_some((self.b1, self.compressed - self.b2))
    }
}

/// An effective section, per pitch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effective {
    pub area: f64,
    /// Height of the neutral axis from the tension face.
    pub centroid: f64,
    pub inertia: f64,
    /// Inertia over the distance of the farthest fibre.
    pub modulus: f64,
    pub flange: Buckling,
    pub web: Web,
    pub rounds: u32,
}

/// The effective section with `stress` at the farthest fibre, top compressed.
#[must_use]
pub fn effective(outline: &Outline, e: f64, stress: f64) -> Effective {
    let mut section = section_of(outline, outline.top.length, None);
    let mut found = Effective::default();
    for round in 1..=100 {
        let before = section.height;
        let step = round_of(outline, e, stress, before);
        section = step.1;
        found = step.0;
        found.rounds = round;
        let change = section.height - before;
        if change.abs() <= 1e-12 * outline.depth {
            break;
        }
        if round > 30 {
            section.height = before + change / 2.0;
        }
    }
    found
}

/// One round: widths from the stresses about an assumed neutral axis, and the section they leave.
#[must_use]
pub fn round_of(outline: &Outline, e: f64, stress: f64, axis: f64) -> (Effective, Part) {
    let t = outline.thickness;
    let top = outline.depth - axis;
    let farthest = top.max(axis);
    let flange = flange_buckling(outline, stress * top / farthest, e);
    let web = web_widths(outline, e, axis, stress / farthest);
    let section = section_of(outline, flange.rho * outline.top.length, web.gap());
    let reach = section.height.max(outline.depth - section.height);
    let effective = Effective {
        area: section.length * t,
        centroid: section.height,
        inertia: section.inertia * t,
        modulus: section.inertia * t / reach,
        flange,
        web,
        rounds: 1,
    };
    (effective, section)
}

fn section_of(outline: &Outline, flange: f64, gap: Option<(f64, f64)>) -> Part {
    let mut parts = outline.parts().to_vec();
    let part = flange / outline.top.length;
    parts[0].length *= part;
    parts[0].inertia *= part;
    if let Some((from, to)) = gap {
        let sine = outline.angle.sin();
        let length = to - from;
        let height = outline.web_top() - sine * f64::midpoint(from, to);
        let off = Part { length: -length, height, inertia: -(length.powi(3) * sine * sine / 12.0) };
        parts.extend([off, off]);
    }
    sum(parts.iter().copied())
}

/// Flat flanges by the plain coefficient; flanges with grooves by AISI S100-12 B5.1 (S100-16
/// Appendix 1.4.1), from memory.
fn flange_buckling(outline: &Outline, stress: f64, e: f64) -> Buckling {
    let grooves = outline.top_stiffeners;
    let (t, width) = (outline.thickness, outline.top_flat);
    if grooves.count == 0 {
        return buckling(K_STIFFENED, width, t, stress, e);
    }
    let n = f64::from(grooves.count);
    let leg = grooves.depth_in.hypot(grooves.width_in / 2.0);
    let area = 2.0 * leg * t;
    let inertia = 2.0 * leg * t * grooves.depth_in.powi(2) / 3.0;
    let gamma = 10.92 * inertia / (width * t.powi(3));
    let delta = area / (width * t);
    let beta_2 = (1.0 + gamma * (n + 1.0)).sqrt();
    let plain = (width - n * grooves.width_in) / (n + 1.0);
    let local = K_STIFFENED * (width / plain).powi(2);
    let overall =
        ((1.0 + beta_2).powi(2) + gamma * (1.0 + n)) / (beta_2 * (1.0 + delta * (n + 1.0)));
    let slender = width / outline.depth;
    let r = if slender < 1.0 { 2.0 } else { ((11.0 - slender) / 5.0).max(0.5) };
    buckling((r * overall).min(local), width, t, stress, e)
}

/// AISI S100-16 Appendix 1.1.2: widths of a web whose stress runs from compression at the top.
fn web_widths(outline: &Outline, e: f64, axis: f64, stress_per_height: f64) -> Web {
    let f1 = stress_per_height * (outline.web_top() - axis);
    let f2 = stress_per_height * (outline.web_bottom() - axis);
    let flat = outline.web_flat;
    if f1 <= 0.0 {
        return Web { f1, f2, ..Web::default() };
    }
    let psi = (f2 / f1).abs();
    let part = if f2 < 0.0 { 1.0 + psi } else { 1.0 - psi };
    let buckling = buckling(4.0 + 2.0 * part.powi(3) + 2.0 * part, flat, outline.thickness, f1, e);
    let be = buckling.rho * flat;
    let b1 = be / (2.0 + part);
    let deep = outline.depth > 4.0 * outline.top.length;
    let b2 = if f2 >= 0.0 {
        be - b1
    } else if deep {
        be / (1.0 + psi) - b1
    } else if psi > 0.236 {
        be / 2.0
    } else {
        be - b1
    };
    let compressed = ((outline.web_top() - axis) / outline.angle.sin()).min(flat);
    Web { buckling, f1, f2, psi, b1, b2, compressed }
}
