//! How long the plans of an example take: drawing, SVG text, image.
//!
//! `cargo bench --bench plans -- examples/larkmere/schedule.xlsx`

#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench may fail")]

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use baytally::{drawing, plans, rules, schedule};

fn main() {
    let given = std::env::args().skip(1).find(|argument| !argument.starts_with('-'));
    let path = given.unwrap_or_else(|| "examples/larkmere/schedule.xlsx".into());
    let (job, findings) =
        schedule::read(Path::new(&path), &schedule::ReadOptions::default()).unwrap();
    let (job, scripts) = (Arc::new(job), Arc::new(rules::scripts(None).unwrap()));
    let report = rules::run(job.clone(), scripts, findings, rules::RunOptions::default()).unwrap();
    let drawn = plans::of(&job, &report);
    time("draw all levels", || plans::of(&job, &report).len());
    for plan in &drawn {
        let title = plan.title();
        time(&format!("{title}: SVG"), || drawing::svg(&plan.picture, &[]).len());
        #[cfg(feature = "plans")]
        time(&format!("{title}: image"), || drawing::png(&plan.picture, 220).unwrap().len());
    }
}

/// The least of some runs, which other work on the machine disturbs least.
fn time(what: &str, work: impl Fn() -> usize) {
    let mut least = f64::MAX;
    let mut size = 0;
    for _ in 0..9 {
        let start = Instant::now();
        size = work();
        least = least.min(start.elapsed().as_secs_f64() * 1e3);
    }
    println!("{what:<32} {least:8.2} ms  {size} bytes or levels");
}
