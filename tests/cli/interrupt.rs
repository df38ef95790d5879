//! Runs that are interrupted, and runs that meet on one output.
#![cfg(unix)]

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::support::mutate::Numbers;
use crate::support::program::{Desk, PROGRAM, generated};

fn start(desk: &Desk, words: &str) -> std::process::Child {
    let mut command = Command::new(PROGRAM);
    command.current_dir(desk.folder()).args(words.split(' '));
    command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// The folder's files, hidden ones included, but for the schedules.
fn left(desk: &Desk) -> Vec<String> {
    desk.files().into_iter().filter(|name| !name.starts_with("schedule")).collect()
}

#[test]
fn an_interrupt_leaves_nothing_or_all() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(60, 3));
    let since = Instant::now();
    assert_eq!(desk.run("run schedule.xlsx -o whole.xlsx --quiet").code, Some(0));
    let run = usize::try_from(since.elapsed().as_micros()).unwrap();
    let whole = desk.read("whole.xlsx");
    std::fs::remove_file(desk.path("whole.xlsx")).unwrap();

    let mut stopped = 0;
    for step in 0..60 {
        let mut child = start(&desk, "run schedule.xlsx -o out.xlsx");
        let moment = Numbers::of_round(step).below(run);
        std::thread::sleep(Duration::from_micros(u64::try_from(moment).unwrap()));
        let signal = if step % 2 == 0 { "-INT" } else { "-TERM" };
        let mut kill = Command::new("kill");
        kill.args([signal, &child.id().to_string()]).stderr(Stdio::null()).status().unwrap();
        let code = child.wait().unwrap().code();
        match code {
            Some(2) => stopped += 1,
            Some(0) => {}
            // Before the program listens the signal itself ends it.
            None if left(&desk).is_empty() => continue,
            other => panic!("ended with {other:?}"),
        }
        let files = left(&desk);
        assert!(files.is_empty() || files == ["out.xlsx"], "{files:?}");
        if files.is_empty() {
            assert_eq!(code, Some(2));
        } else {
            assert!(desk.read("out.xlsx") == whole, "half an output after {moment} us");
            std::fs::remove_file(desk.path("out.xlsx")).unwrap();
        }
    }
    assert!(stopped > 0, "no run was interrupted: are the moments too late?");
}

#[test]
fn two_runs_on_one_output_do_not_mix() {
    let desk = Desk::new();
    desk.put("schedule-a.xlsx", &generated(60, 4));
    desk.put("schedule-b.xlsx", &generated(90, 5));
    let whole = ["a", "b"].map(|name| {
        let words = format!("run schedule-{name}.xlsx -o whole.xlsx --quiet");
        assert_eq!(desk.run(&words).code, Some(0));
        desk.read("whole.xlsx")
    });
    std::fs::remove_file(desk.path("whole.xlsx")).unwrap();
    assert!(whole[0] != whole[1]);
    for round in 0..12 {
        let runs: Vec<_> = (0..4)
            .map(|at| {
                start(&desk, &format!("run schedule-{}.xlsx -o out.xlsx", ["a", "b"][at % 2]))
            })
            .collect();
        for mut run in runs {
            assert_eq!(run.wait().unwrap().code(), Some(0));
        }
        let out = desk.read("out.xlsx");
        assert!(whole.contains(&out), "round {round}: the output is neither's");
        assert_eq!(left(&desk), ["out.xlsx"]);
    }
}
