//! The same inputs give the same bytes, whenever, wherever and on however many threads.

use std::fs;

use crate::support::program::{Desk, example, generated};

const TOKYO: [(&str, &str); 3] =
    [("TZ", "Asia/Tokyo"), ("LANG", "ja_JP.UTF-8"), ("LC_ALL", "ja_JP.UTF-8")];
const LIMA: [(&str, &str); 3] =
    [("TZ", "America/Lima"), ("LANG", "de_DE.UTF-8"), ("LC_ALL", "de_DE.UTF-8")];

/// One way to run: words for the command line, the environment, from the schedule's folder or from
/// another.
type Setting<'a> = (&'a str, &'a [(&'a str, &'a str)], bool);

/// Runs in each setting and holds the outputs against the first.
#[track_caller]
fn same_bytes(desk: &Desk, settings: &[Setting<'_>]) {
    let mut first: Option<Vec<u8>> = None;
    for (words, environment, elsewhere) in settings {
        let other = Desk::new();
        let from = if *elsewhere { &other } else { desk };
        let mut command = from.command();
        command.args(["run", "--quiet"]).args(words.split_whitespace());
        command.envs(environment.iter().copied());
        if *elsewhere {
            command.arg(desk.path("schedule.xlsx")).arg("-o").arg(other.path("out.xlsx"));
        } else {
            command.args(["schedule.xlsx", "-o", "out.xlsx"]);
        }
        let done = command.output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        let bytes = from.read("out.xlsx");
        assert!(bytes.len() > 10_000, "{} bytes are no takeoff", bytes.len());
        match &first {
            None => first = Some(bytes),
            Some(first) => {
                assert!(bytes == *first, "{words:?} {environment:?} {elsewhere} differs");
            }
        }
    }
}

#[test]
fn on_the_example() {
    let desk = Desk::new();
    fs::copy(example(), desk.path("schedule.xlsx")).unwrap();
    same_bytes(
        &desk,
        &[
            ("", &[], false),
            ("", &[], false),
            ("--threads 1", &[], false),
            ("--threads 2", &[], false),
            ("--threads 5", &[], false),
            ("", &TOKYO, false),
            ("", &LIMA, false),
            ("", &[], true),
        ],
    );
}

/// Enough rows that tables are shared among threads.
#[test]
fn on_five_thousand_bays() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(5_000, 1));
    same_bytes(
        &desk,
        &[
            ("--threads 1", &[], false),
            ("--threads 2", &TOKYO, true),
            ("--threads 5", &LIMA, false),
            ("--threads 5", &[], false),
        ],
    );
}

#[test]
fn json_too() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(2_500, 2));
    let one = desk.run("run schedule.xlsx -o out.xlsx --json --threads 1");
    let five = desk.run("run schedule.xlsx -o out.xlsx --json --threads 5");
    assert_eq!(one.code, Some(0));
    assert!(one.out == five.out, "the JSON of one thread differs from that of five");
}
