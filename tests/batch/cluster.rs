//! The cluster examples that `batch --help` shows: their own commands are run as a cluster runs
//! them, each part by itself, and what merges is what one machine gives. Three parts stand for the
//! ten that are shown.

use std::path::Path;
use std::process::Command;

use super::summary;
use crate::support::program::{Desk, PROGRAM, generated};

const SHOWN: usize = 10;
const PARTS: usize = 3;

fn help() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/batch.md");
    std::fs::read_to_string(path).unwrap()
}

/// The lines of the example that begins with this line, without their indent.
fn example(begin: &str) -> Vec<String> {
    let text = help();
    let lines = text.lines().skip_while(|line| !line.trim_start().starts_with(begin));
    let lines: Vec<String> = lines
        .take_while(|line| line.is_empty() || line.starts_with("    "))
        .map(|line| line.strip_prefix("    ").unwrap_or_default().to_owned())
        .collect();
    assert!(!lines.is_empty(), "no example begins with {begin}");
    lines
}

/// A folder with schedules, one of them no workbook, and the program called by its name.
fn desk() -> Desk {
    let desk = Desk::new();
    for at in 0..5 {
        desk.write(&format!("jobs/{at:02}.xlsx"), generated(3 + at, at).bytes());
    }
    desk.write("jobs/04.xlsx", "no workbook");
    desk
}

/// Runs a shell's lines with `baytally` on the path and these variables.
fn shell(desk: &Desk, script: &str, variables: &[(&str, String)]) -> std::process::Output {
    let folder = Path::new(PROGRAM).parent().unwrap();
    let path = format!("{}:{}", folder.display(), std::env::var("PATH").unwrap());
    let mut command = Command::new("sh");
    command.args(["-c", script]).current_dir(desk.folder()).env("PATH", path);
    for (name, value) in variables {
        command.env(name, value);
    }
    command.output().unwrap()
}

fn is_the_whole(desk: &Desk) {
    assert_eq!(desk.run("batch jobs -o whole --quiet").code, Some(1));
    let [parts, mut whole] = ["takeoffs", "whole"].map(|folder| summary(desk, folder));
    // What stands for the folder in the files' names is the cluster's.
    for (row, part) in
        whole["files"].as_array_mut().unwrap().iter_mut().zip(parts["files"].as_array().unwrap())
    {
        let (file, named) = (row["file"].as_str().unwrap(), part["file"].as_str().unwrap());
        assert!(named.ends_with(file.trim_start_matches("jobs/")), "{named}");
        row["file"] = part["file"].clone();
        row["message"] = part["message"].clone();
    }
    assert_eq!(parts["files"], whole["files"]);
    assert_eq!(parts["totals"], whole["totals"]);
    assert_eq!(parts["totals"]["done"], 4);
}

#[test]
fn the_slurm_array_does_the_whole() {
    let desk = desk();
    let script = example("#!/bin/bash");
    let (own, after) = script.split_at(script.iter().position(String::is_empty).unwrap());
    let array = own.iter().find_map(|line| line.strip_prefix("#SBATCH --array=")).unwrap();
    assert_eq!(array, format!("1-{SHOWN}"));
    for part in 1..=PARTS {
        let variables = [
            ("SLURM_ARRAY_TASK_ID", part.to_string()),
            ("SLURM_ARRAY_TASK_COUNT", PARTS.to_string()),
        ];
        let output = shell(&desk, &own.join("\n"), &variables);
        assert_eq!(output.status.code(), Some(i32::from(part == 2)), "{part}: {output:?}");
    }
    let after = after.join("\n");
    let merge = after.split("--wrap \"").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
    let output = shell(&desk, merge, &[]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    is_the_whole(&desk);
}

#[test]
fn the_indexed_job_does_the_whole() {
    let desk = desk();
    let manifest = example("apiVersion: batch/v1");
    for line in [
        format!("  completions: {SHOWN}"),
        format!("  parallelism: {SHOWN}"),
        "  completionMode: Indexed".to_owned(),
    ] {
        assert!(manifest.contains(&line), "{line}");
    }
    let at = manifest.iter().position(|line| line.trim() == "- >-").unwrap();
    let indent = |line: &str| line.len() - line.trim_start().len();
    let folded: Vec<&str> = manifest[at + 1..]
        .iter()
        .take_while(|line| indent(line) > indent(&manifest[at]))
        .map(|line| line.trim())
        .collect();
    // As the volume is mounted.
    let mounted = |script: &str| script.replace("/work/", &format!("{}/", desk.folder().display()));
    let script = mounted(&folded.join(" "));
    let of = format!("--shard \"$((JOB_COMPLETION_INDEX + 1))/{SHOWN}\"");
    assert!(script.contains(&of), "{script}");
    let script = script.replace(&of, &of.replace(&SHOWN.to_string(), &PARTS.to_string()));
    for part in 0..PARTS {
        let variables = [("JOB_COMPLETION_INDEX", part.to_string())];
        let output = shell(&desk, &script, &variables);
        assert_eq!(output.status.code(), Some(0), "{part}: {output:?}");
    }
    let text = help();
    let merge = text.split("Merge when all have ended: `").nth(1).unwrap();
    let output = shell(&desk, &mounted(merge.split('`').next().unwrap()), &[]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    is_the_whole(&desk);
}
