//! A batch of many generated schedules: seconds in all and a schedule, how busy the cores were, the
//! largest process, and spot figures against `run`.
//!
//! `cargo bench --bench batch -- 1000 200` takes 1,000 schedules of 200 bays.

#![allow(
    dead_code,
    clippy::cast_precision_loss,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "what can not go on here stops loudly; the bench uses a part of what tests share"
)]

#[path = "../support/mod.rs"]
mod support;

use std::time::Instant;

use support::program::{Desk, generated};

fn main() {
    let numbers: Vec<usize> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let schedules = numbers.first().copied().unwrap_or(100);
    let bays = numbers.get(1).copied().unwrap_or(200);
    let desk = Desk::new();
    let begun = Instant::now();
    let mut bytes = 0;
    for at in 0..schedules {
        let made = generated(bays, at * 7919).bytes();
        bytes += made.len();
        desk.write(&format!("jobs/{:02}/job-{at:04}.xlsx", at / 100), made);
    }
    println!(
        "{schedules} schedules of {bays} bays, {} KB, made in {:.1} s",
        bytes / 1000,
        seconds(begun)
    );

    for threads in [1, 2] {
        let name = format!("out-{threads}");
        let begun = Instant::now();
        let outcome = desk.run(&format!("batch jobs -o {name} --quiet --threads {threads}"));
        let took = seconds(begun);
        assert_eq!(outcome.code, Some(0), "{}", outcome.err);
        let each = took * 1e3 / schedules as f64;
        println!("batch, {threads} worker(s): {took:.1} s, {each:.1} ms a schedule");
    }
    let one = desk.read("out-1/batch-summary.json");
    assert!(one == desk.read("out-2/batch-summary.json"), "one worker differs from two");

    let begun = Instant::now();
    let again = desk.run("batch jobs -o out-2 --quiet --changed");
    assert_eq!(again.code, Some(0));
    println!("batch --changed, nothing changed: {:.1} s", seconds(begun));

    let summary: serde_json::Value = serde_json::from_slice(&one).unwrap();
    println!("totals: {}", summary["totals"]);
    let files = summary["files"].as_array().unwrap();
    let mut spots = 0;
    let mut alone = 0.0;
    for row in files.iter().step_by((schedules / 25).max(1)) {
        let file = row["file"].as_str().unwrap();
        let begun = Instant::now();
        let run = desk.run(&format!("run {file} -o spot.xlsx --json --threads 1"));
        alone += seconds(begun);
        let output = format!("out-2/{}", row["output"].as_str().unwrap());
        assert!(desk.read(&output) == desk.read("spot.xlsx"), "{file}: the outputs differ");
        let json = run.json();
        let takeoff =
            json["tables"].as_array().unwrap().iter().find(|t| t["key"] == "takeoff").unwrap();
        assert_eq!(takeoff["totals"]["panels"].as_f64(), row["panels"].as_f64(), "{file}");
        assert_eq!(takeoff["totals"]["deck_lb"], row["deck_lb"], "{file}");
        spots += 1;
    }
    println!(
        "{spots} spots equal `run`, which alone takes {:.1} ms each",
        alone * 1e3 / f64::from(spots)
    );
}

fn seconds(begun: Instant) -> f64 {
    begun.elapsed().as_secs_f64()
}
