//! Every target on its seeds and on changes of them, without tools beyond the compiler: short, from
//! fixed numbers. `FUZZ_TIMES=100 cargo test fuzz` runs longer; `tests/fuzz/run` uses libFuzzer.

mod targets;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::support::mutate::{Numbers, mutate};
use targets::TARGETS;

const MOST: Duration = Duration::from_secs(10);
/// Where people's schedules lie; they are seeds of the first target.
const PEOPLE: &str = "tests/schedule/people";

/// The seeds of a target, in the order of their names.
fn seeds(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let of = if target == "takeoff" { "sheet" } else { target };
    let mut folders = vec![root.join("tests/fuzz/seeds").join(of)];
    if target == "schedule" {
        folders.push(root.join(PEOPLE));
    }
    let mut seeds = Vec::new();
    for folder in folders {
        for entry in fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
            let path = entry.unwrap().path();
            let is_seed = path.extension().is_none_or(|ending| ending != "txt" && ending != "py");
            if target != "schedule" || is_seed {
                let bytes = fs::read(&path).unwrap();
                seeds.push((path, bytes));
            }
        }
    }
    seeds.sort();
    seeds
}

/// Runs a target on its seeds, and on as many changes of them.
fn held(name: &str, rounds: u64) {
    let (_, target) = TARGETS.iter().find(|(known, _)| *known == name).unwrap();
    let times = std::env::var("FUZZ_TIMES").ok().and_then(|text| text.parse().ok()).unwrap_or(1);
    let rounds = rounds * times;
    let seeds = seeds(name);
    assert!(seeds.len() >= 4, "{} seeds of {name}", seeds.len());
    for (path, seed) in &seeds {
        println!("{}", path.display());
        target(seed);
    }
    for round in 0..rounds {
        let mut numbers = Numbers::of_round(round);
        let (path, seed) = &seeds[numbers.below(seeds.len())];
        let mut bytes = seed.clone();
        for _ in 0..=numbers.below(3) {
            mutate(&mut bytes, &mut numbers);
        }
        // Shown where the target stops.
        println!("round {round}, {}", path.display());
        let since = Instant::now();
        target(&bytes);
        assert!(since.elapsed() < MOST, "round {round} of {} took too long", path.display());
    }
}

#[test]
fn any_bytes_as_a_schedule() {
    held("schedule", 300);
}

#[test]
fn any_xml_as_a_sheet() {
    held("sheet", 1_000);
}

#[test]
fn any_xml_through_the_tables() {
    held("takeoff", 120);
}

#[test]
fn any_text_as_a_length() {
    held("length", 20_000);
}

#[test]
fn any_text_as_a_script() {
    held("script", 60);
}

#[test]
fn any_corners_as_an_outline() {
    held("outline", 3_000);
}

/// What libFuzzer runs is what is run here: a program a target, and seeds for each.
#[test]
fn every_target_has_its_program() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
    let runner = fs::read_to_string(folder.join("run")).unwrap();
    for (name, _) in TARGETS {
        let program = fs::read_to_string(folder.join(format!("libfuzzer/{name}.rs"))).unwrap();
        assert!(program.contains(&format!("targets::{name}(bytes)")), "{name}");
        assert!(manifest.contains(&format!("name = \"{name}\"")), "{name}");
        assert!(runner.contains(name), "{name} is not run");
    }
}
