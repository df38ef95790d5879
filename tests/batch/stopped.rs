//! Batches that are interrupted or killed, and workers that end.

use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, Stdio};

use serde_json::Value;

use crate::support::program::{Desk, PROGRAM, generated};

const SMALL: usize = 12;

/// The later the larger, so that a signal after the first comes before the last.
fn jobs() -> Desk {
    let desk = Desk::new();
    for at in 0..SMALL {
        desk.write(&format!("jobs/{at:02}.xlsx"), generated(20 + 10 * at, at).bytes());
    }
    desk
}

/// A batch in a process group of its own.
fn start(desk: &Desk, words: &str) -> Child {
    let mut command = Command::new(PROGRAM);
    command.current_dir(desk.folder()).args(words.split(' ')).process_group(0);
    command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap()
}

/// Waits until so many schedules are told of; gives what is still to be read.
fn wait_for(child: &mut Child, lines: usize) -> impl Iterator<Item = String> + use<> {
    let mut read = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
    for _ in 0..lines {
        read.next().unwrap();
    }
    read
}

fn kill(words: &[&str]) {
    assert!(Command::new("kill").args(words).status().unwrap().success(), "kill {words:?}");
}

fn summary(desk: &Desk) -> Value {
    serde_json::from_slice(&desk.read("out/batch-summary.json")).unwrap()
}

fn outputs(desk: &Desk) -> Vec<String> {
    let entries = fs::read_dir(desk.path("out")).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.filter(|name| !name.starts_with("batch-")).collect();
    names.sort();
    names
}

/// The summary of a batch that nothing stopped.
fn whole(desk: &Desk) -> Value {
    assert_eq!(desk.run("batch jobs -o whole --quiet").code, Some(0));
    serde_json::from_slice(&desk.read("whole/batch-summary.json")).unwrap()
}

#[test]
fn an_interrupt_finishes_what_is_in_hand_and_the_rest_goes_on() {
    let desk = jobs();
    for signal in ["-INT", "-TERM"] {
        let mut child = start(&desk, "batch jobs -o out --threads 2");
        let rest = wait_for(&mut child, 2);
        // As a terminal does: the batch and its workers together.
        kill(&[signal, "--", &format!("-{}", child.id())]);
        let rest: Vec<String> = rest.collect();
        assert_eq!(child.wait().unwrap().code(), Some(1), "{rest:?}");
        let summary = summary(&desk);
        let left = usize::try_from(summary["left"].as_u64().unwrap()).unwrap();
        let files = summary["files"].as_array().unwrap();
        assert!(left > 0, "the interrupt came too late: {rest:?}");
        assert_eq!(files.len() + left, SMALL);
        assert!(files.iter().all(|row| row["status"] == "done"), "{files:?}");
        assert_eq!(outputs(&desk).len(), files.len(), "{:?}", outputs(&desk));
        assert!(rest.iter().any(|line| line.contains("left undone: go on with `--changed`")));
        if signal == "-INT" {
            fs::remove_dir_all(desk.path("out")).unwrap();
        }
    }
    let done = summary(&desk)["files"].as_array().unwrap().len();
    let rest = desk.run("batch jobs -o out --threads 2 --changed");
    assert_eq!(rest.code, Some(0), "{rest:?}");
    assert!(
        rest.out.starts_with(&format!("{done} of {SMALL} schedules are up to date\n")),
        "{}",
        rest.out
    );
    assert_eq!(summary(&desk), whole(&desk));
}

#[test]
fn a_killed_batch_goes_on() {
    let desk = jobs();
    let mut child = start(&desk, "batch jobs -o out --threads 2");
    let rest = wait_for(&mut child, 4);
    kill(&["-KILL", "--", &format!("-{}", child.id())]);
    drop(rest);
    child.wait().unwrap();
    let rest = desk.run("batch jobs -o out --threads 2 --changed");
    assert_eq!(rest.code, Some(0), "{rest:?}");
    let (kept, _) = rest.out.split_once(" of 12 schedules are up to date\n").unwrap();
    assert!((4..SMALL).contains(&kept.parse::<usize>().unwrap()), "{kept}");
    assert_eq!(summary(&desk), whole(&desk));
}

/// The processes that a process started.
fn children(of: u32) -> Vec<String> {
    let threads = fs::read_dir(format!("/proc/{of}/task")).unwrap();
    let lists = threads
        .filter_map(|thread| fs::read_to_string(thread.unwrap().path().join("children")).ok());
    lists.flat_map(|list| list.split_whitespace().map(str::to_owned).collect::<Vec<_>>()).collect()
}

#[cfg(target_os = "linux")]
#[test]
fn what_ends_a_worker_costs_one_line() {
    let desk = Desk::new();
    desk.write("jobs/a.xlsx", generated(5, 1).bytes());
    desk.write("jobs/large.xlsx", generated(3_000, 2).bytes());
    desk.write("jobs/z.xlsx", generated(5, 3).bytes());
    let mut child = start(&desk, "batch jobs -o out --threads 1");
    let rest = wait_for(&mut child, 1);
    std::thread::sleep(std::time::Duration::from_millis(300));
    let workers = children(child.id());
    assert_eq!(workers.len(), 1);
    kill(&["-KILL", &workers[0]]);
    let lines: Vec<String> = rest.collect();
    assert_eq!(child.wait().unwrap().code(), Some(1));
    assert!(
        lines[0].starts_with(
            "2/3 jobs/large.xlsx: failed: error[ended]: computing it ended the process: signal 9 ("
        ),
        "{lines:?}"
    );
    assert!(lines[1].starts_with("3/3 jobs/z.xlsx: "), "{lines:?}");
    assert_eq!(lines[2], "2 done, 1 failed");
    assert_eq!(outputs(&desk), ["a-takeoff.xlsx", "z-takeoff.xlsx"]);
}
