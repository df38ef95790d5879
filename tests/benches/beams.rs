//! Microseconds for a line of three unequal spans: solved, with every extreme; and its worst
//! patterns with a moving point load.

use std::hint::black_box;
use std::time::Instant;

use baytally::deck::beam::{Influence, Line, Load, Loading, Pattern, Standing};

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
}
