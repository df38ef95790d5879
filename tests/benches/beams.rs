//! Microseconds for a line of three unequal spans: solved, with every extreme; and its worst
//! patterns with a moving point load; and every check of a run of deck under wet concrete.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly"
)]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use baytally::deck::beam::{Influence, Line, Load, Loading, Pattern, Standing};
use baytally::deck::stage::{construction, longest_span};
use baytally::value::{Record, Value};

fn record(fields: &[(&str, f64)]) -> Record {
    fields.iter().map(|(name, number)| (Arc::from(*name), Value::Number(*number))).collect()
}

fn micros(name: &str, rounds: u32, mut work: impl FnMut()) {
    let mut best = f64::MAX;
    for _ in 0..5 {
        let start = Instant::now();
        for _ in 0..rounds {
            work();
        }
        best = best.min(start.elapsed().as_secs_f64() * 1e6 / f64::from(rounds));
    }
    println!("{name}: {best:.2} us");
}

fn main() {
    let lengths = [9.5, 10.0, 8.25];
    let loading = Loading {
        always: 2.0,
        patterned: 63.0,
        pattern: Pattern::Worst,
        point: 150.0,
        standing: Standing::Anywhere,
    };
    micros("three spans, uniform load, solved with all extremes", 20_000, || {
        let mut line = Line::new(black_box(&lengths), 1.0e5);
        for span in &mut line.spans {
            span.loads.push(Load::Uniform(45.0));
        }
        let Ok(solved) = line.solve() else { return };
        for run in &solved.spans {
            black_box((run.greatest_moment(), run.greatest_shear(), run.greatest_deflection()));
            black_box(run.mean_deflection());
        }
    });
    micros("three spans, worst patterns and moving point load", 20_000, || {
        let Ok(influence) = Influence::new(&Line::new(black_box(&lengths), 1.0e5)) else { return };
        black_box(influence.envelope(&loading));
    });
    let deck = Arc::new(record(&[
        ("depth_in", 2.0),
        ("pitch_in", 12.0),
        ("top_flat_in", 5.0),
        ("bottom_flat_in", 5.0),
        ("thickness_in", 0.0358),
        ("fy_ksi", 40.0),
    ]));
    let loads = record(&[("concrete_psf", 48.3), ("deck_psf", 1.8)]);
    let mut run = loads.clone();
    run.insert("spans_ft".into(), Value::List(lengths.map(Value::Number).into()));
    let (loads, run) = (Arc::new(loads), Arc::new(run));
    micros("every check of a run of three spans, section included", 2_000, || {
        let _ = black_box(construction(deck.clone(), run.clone()));
    });
    micros("longest of three equal spans", 50, || {
        let _ = black_box(longest_span(deck.clone(), loads.clone(), 3));
    });
}
