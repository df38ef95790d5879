//! Cases for the outside checks under tests/reference, written where the variable
//! BAYTALLY_REFERENCE_DIR names a folder; without it they are only made.

use std::path::PathBuf;

use baytally::deck::beam::{Line, Load, Member, Run};
use baytally::deck::section::{Shape, Stiffeners, sum};
use serde_json::{Value, json};

/// A fixed sequence of numbers from 0 up to 1.
struct Sequence(u64);

impl Sequence {
    fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from((self.0 >> 33) as u32) / f64::from(1_u32 << 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn chance(&mut self, part: f64) -> bool {
        self.next() < part
    }
}

fn write(name: &str, cases: &[Value]) {
    if let Some(folder) = std::env::var_os("BAYTALLY_REFERENCE_DIR") {
        let path = PathBuf::from(folder).join(name);
        std::fs::write(&path, serde_json::to_string_pretty(cases).unwrap()).unwrap();
    }
}

fn load_json(load: &Load) -> Value {
    match *load {
        Load::Uniform(w) => json!({ "w": w }),
        Load::Partial { from, to, w } => json!({ "from": from, "to": to, "w": w }),
        Load::Point { at, p } => json!({ "at": at, "p": p }),
    }
}

/// 200 lines of 1 to 7 unequal spans of unequal stiffness, some with overhangs, under uniform,
/// partial and point loads.
#[test]
fn beams() {
    let mut numbers = Sequence(20_260_302);
    let mut cases = Vec::new();
    for _ in 0..200 {
        let count = 1 + (numbers.next() * 7.0) as usize;
        let lengths: Vec<f64> = (0..count).map(|_| numbers.between(2.0, 20.0)).collect();
        let mut line = Line::new(&lengths, 1.0);
        for span in &mut line.spans {
            span.ei = numbers.between(2e4, 4e5);
            if numbers.chance(0.7) {
                span.loads.push(Load::Uniform(numbers.between(-10.0, 90.0)));
            }
            if numbers.chance(0.4) {
                let from = numbers.between(0.0, span.length);
                let to = numbers.between(from, span.length);
                span.loads.push(Load::Partial { from, to, w: numbers.between(5.0, 80.0) });
            }
            if numbers.chance(0.4) {
                let at = numbers.between(0.0, span.length);
                span.loads.push(Load::Point { at, p: numbers.between(20.0, 400.0) });
            }
        }
        for arm in [&mut line.start_arm, &mut line.end_arm] {
            if numbers.chance(0.3) {
                let length = numbers.between(0.5, 4.0);
                let mut member = Member::new(length, 1e5);
                member.loads.push(Load::Uniform(numbers.between(10.0, 70.0)));
                member.loads.push(Load::Point { at: 0.4 * length, p: 150.0 });
                *arm = Some(member);
            }
        }
        let solved = line.solve().unwrap();
        let member = |member: &Member, run: &Run| {
            let places: Vec<f64> =
                (0..=10).map(|step| member.length * f64::from(step) / 10.0).collect();
            json!({
                "length": member.length,
                "ei": member.ei,
                "loads": member.loads.iter().map(load_json).collect::<Vec<_>>(),
                "greatest_moment": run.greatest_moment().value,
                "least_moment": run.least_moment().value,
                "greatest_deflection": run.greatest_deflection().value,
                "least_deflection": run.least_deflection().value,
                "places": places,
                "moments": places.iter().map(|x| run.moment_at(*x)).collect::<Vec<_>>(),
                "deflections": places.iter().map(|x| run.deflection_at(*x)).collect::<Vec<_>>(),
            })
        };
        cases.push(json!({
            "start_arm": line.start_arm.as_ref().zip(solved.start_arm.as_ref())
                .map(|(arm, run)| member(arm, run)),
            "spans": line.spans.iter().zip(&solved.spans)
                .map(|(span, run)| member(span, run)).collect::<Vec<_>>(),
            "end_arm": line.end_arm.as_ref().zip(solved.end_arm.as_ref())
                .map(|(arm, run)| member(arm, run)),
            "reactions": solved.reactions,
        }));
        let loads: f64 = line
            .spans
            .iter()
            .chain(&line.start_arm)
            .chain(&line.end_arm)
            .flat_map(|member| {
                member.loads.iter().map(|load| match *load {
                    Load::Uniform(w) => w * member.length,
                    Load::Partial { from, to, w } => w * (to - from),
                    Load::Point { p, .. } => p,
                })
            })
            .sum();
        assert!((solved.reactions.iter().sum::<f64>() - loads).abs() < 1e-7);
    }
    assert_eq!(cases.len(), 200);
    write("beams.json", &cases);
}

/// Generic profiles (standards-body dimensions) in four thicknesses and two corner radii: depth,
/// pitch, flats between sharp corners.
const PROFILES: [(&str, [f64; 4]); 9] = [
    ("1.5x6 narrow rib", [1.5, 6.0, 5.0, 0.375]),
    ("1.5x6 intermediate rib", [1.5, 6.0, 4.25, 0.5]),
    ("1.5x6 wide rib", [1.5, 6.0, 3.5, 1.75]),
    ("1.5x6 inverted", [1.5, 6.0, 1.75, 3.5]),
    ("3x8 deep rib", [3.0, 8.0, 5.375, 1.5]),
    ("1.5x12", [1.5, 12.0, 5.0, 5.0]),
    ("2x12", [2.0, 12.0, 5.0, 5.0]),
    ("3x12", [3.0, 12.0, 4.75, 4.75]),
    ("1x4.5 form", [1.0, 4.5, 2.0, 1.0]),
];

#[test]
fn sections() {
    let mut cases = Vec::new();
    for (name, [depth_in, pitch_in, top_flat_in, bottom_flat_in]) in PROFILES {
        for thickness_in in [0.0295, 0.0358, 0.0474, 0.0598] {
            for radius_in in [0.125, 0.09375] {
                let shape = Shape {
                    depth_in,
                    pitch_in,
                    top_flat_in,
                    bottom_flat_in,
                    radius_in,
                    thickness_in,
                    top_stiffeners: Stiffeners::default(),
                    bottom_stiffeners: Stiffeners::default(),
                };
                let gross = sum(shape.outline().unwrap().parts().iter().copied());
                assert!(gross.height > 0.2 * depth_in && gross.height < 0.9 * depth_in);
                cases.push(json!({
                    "name": name, "depth": depth_in, "pitch": pitch_in, "top": top_flat_in,
                    "bottom": bottom_flat_in, "radius": radius_in, "thickness": thickness_in,
                    "area": gross.length * thickness_in,
                    "centroid": gross.height,
                    "inertia": gross.inertia * thickness_in,
                }));
            }
        }
    }
    assert_eq!(cases.len(), 72);
    write("sections.json", &cases);
}
