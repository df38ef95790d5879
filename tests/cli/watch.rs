//! Runs again by real changes of real files.

use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use crate::support::program::{Desk, PROGRAM};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

const LONG: Duration = Duration::from_mins(1);

fn wide(width: &str) -> Schedule {
    with_types(schedule()).sheet("Bays").row(["Level", "Bay", "Type", "Spans", "Width"]).row([
        "2",
        "A1",
        "D1",
        "3@10'-0\"",
        width,
    ])
}

/// The program watching, its lines as they come.
struct Watched {
    child: Child,
    out: Receiver<String>,
    err: Receiver<String>,
}

fn lines(stream: impl std::io::Read + Send + 'static) -> Receiver<String> {
    let (sender, receiver) = channel();
    std::thread::spawn(move || {
        for line in BufReader::new(stream).lines().map_while(Result::ok) {
            if sender.send(line).is_err() {
                break;
            }
        }
    });
    receiver
}

fn watch(desk: &Desk, words: &str) -> Watched {
    let mut child = Command::new(PROGRAM)
        .current_dir(desk.folder())
        .args(words.split(' '))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (out, err) = (lines(child.stdout.take().unwrap()), lines(child.stderr.take().unwrap()));
    Watched { child, out, err }
}

impl Watched {
    /// The next line, without the number of notes.
    #[track_caller]
    fn line(&self) -> String {
        let line = self.out.recv_timeout(LONG).unwrap_or_else(|error| {
            panic!("{error}: {:?}", self.err.try_iter().collect::<Vec<_>>());
        });
        let Some((before, rest)) = line.split_once(", ") else { return line };
        let rest = rest.split_once("; ").map(|(_, rest)| format!("; {rest}")).unwrap_or_default();
        format!("{before}{rest}")
    }

    #[cfg(unix)]
    fn interrupt(mut self) -> (Option<i32>, Vec<String>) {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args(["-INT", &id]).status().unwrap().success());
        let status = self.child.wait().unwrap();
        (status.code(), self.out.iter().collect())
    }
}

impl Drop for Watched {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(unix)]
#[test]
fn each_saving_gives_a_line() {
    let desk = Desk::new();
    desk.shop("rules.rhai", "");
    desk.put("schedule.xlsx", &wide("60'"));
    let watched = watch(&desk, "watch schedule.xlsx --shop shop -o out.xlsx");
    assert_eq!(watched.line(), "schedule.xlsx: wrote out.xlsx");

    // Saved whole under another name and moved into place, as spreadsheet programs do.
    desk.put("saving.tmp", &wide("66'"));
    fs::rename(desk.path("saving.tmp"), desk.path("schedule.xlsx")).unwrap();
    let line = watched.line();
    assert!(
        line.starts_with(
            "schedule.xlsx: wrote out.xlsx; Deck area 1,800.0 -> 1,980.0 ft2 (+180.0), "
        ) && line.contains(", Panels 20 -> 22 (+2), Lineal feet 600.0 -> 660.0 ft (+60.0), "),
        "{line}"
    );

    // A rule of the shop.
    desk.write("shop/rules.rhai", "fn longest_panel_ft(bay) { 20 }\n");
    let line = watched.line();
    assert!(line.contains("; Panels 22 -> 44 (+22)"), "{line}");

    // Half a file, whole a little later: the half is never spoken of.
    let whole = wide("69'").bytes();
    desk.write("schedule.xlsx", &whole[..whole.len() / 2]);
    std::thread::sleep(Duration::from_millis(450));
    desk.write("schedule.xlsx", &whole);
    let line = watched.line();
    assert!(line.contains("; Deck area 1,980.0 -> 2,070.0 ft2 (+90.0), "), "{line}");

    // Saved again unchanged: no line. Then a line for what is really new.
    desk.write("schedule.xlsx", &whole);
    std::thread::sleep(Duration::from_millis(800));
    desk.put("schedule.xlsx", &wide("72'"));
    let line = watched.line();
    assert!(line.contains("; Deck area 2,070.0 -> 2,160.0 ft2 (+90.0), "), "{line}");

    let (code, rest) = watched.interrupt();
    assert_eq!(code, Some(0), "an interrupt is the usual end");
    assert_eq!(rest, Vec::<String>::new());
    assert_eq!(desk.files(), ["out.xlsx", "schedule.xlsx"]);
}

#[test]
fn what_can_not_be_read_is_said_and_watched_on() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &wide("60'"));
    let watched = watch(&desk, "watch schedule.xlsx -o out.xlsx --runs 3");
    assert_eq!(watched.line(), "schedule.xlsx: wrote out.xlsx");
    desk.write("schedule.xlsx", "no workbook at all");
    assert_eq!(watched.line(), "schedule.xlsx: nothing written");
    let said = watched.err.recv_timeout(LONG).unwrap();
    assert!(said.starts_with("schedule.xlsx: error[no-workbook]: "), "{said}");
    desk.put("schedule.xlsx", &wide("60'"));
    assert_eq!(watched.line(), "schedule.xlsx: wrote out.xlsx; totals as before");
}
