//! The program itself, run in a folder of its own.
#![allow(dead_code, reason = "each test module uses its part")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::TempDir;

use super::schedule_builder::{Schedule, schedule, with_types};

/// The built program.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_baytally");

/// The example job.
pub fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/larkmere/schedule.xlsx")
}

/// A folder in which the program runs.
pub struct Desk {
    folder: TempDir,
}

/// How a run ended.
#[derive(Debug)]
pub struct Outcome {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Desk {
    pub fn new() -> Desk {
        Desk { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: impl AsRef<Path>) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Writes a schedule.
    pub fn put(&self, name: &str, made: &Schedule) {
        self.write(name, made.bytes());
    }

    /// Writes a file, its folders made where they are missing.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// A shop with one script file.
    pub fn shop(&self, script: &str, text: &str) {
        self.write("shop/shop.toml", "name = \"Test shop\"\nwritten_for = \"1.0\"\n");
        self.write(&format!("shop/{script}"), text);
    }

    /// The files of the folder by name, folders left out.
    pub fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder())
            .unwrap()
            .map(|entry| entry.unwrap())
            .filter(|entry| entry.path().is_file())
            .map(|entry| entry.file_name().to_str().unwrap().to_owned())
            .collect();
        names.sort();
        names
    }

    /// The program, ready to run in the folder.
    pub fn command(&self) -> assert_cmd::Command {
        let mut command = assert_cmd::Command::new(PROGRAM);
        command.current_dir(self.folder()).timeout(Duration::from_mins(5));
        command
    }

    /// Runs the program with these words, split at spaces.
    pub fn run(&self, words: &str) -> Outcome {
        let output = self.command().args(words.split(' ')).output().unwrap();
        Outcome {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

impl Outcome {
    /// That the run ended with this code and said exactly this on standard error.
    #[track_caller]
    pub fn says(&self, code: i32, err: &str) {
        assert_eq!(self.err.trim_end(), err.trim_end(), "standard output:\n{}", self.out);
        assert_eq!(self.code, Some(code), "{self:?}");
    }

    /// Standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }
}

/// A schedule with nothing to find: types with their cover stated, two bays.
pub fn plain() -> Schedule {
    with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A1", "D1", "3@10'-0\"", "62'"])
        .row(["2", "A2", "RD1", "2@10'-0\"", "31'"])
}

/// A schedule of many bays, whole and copied, over levels, types and pours; the same for the same
/// number and seed.
pub fn generated(bays: usize, seed: usize) -> Schedule {
    let mut made = schedule()
        .sheet("Job")
        .row(["Key", "Value"])
        .row(["Job", "Generated (invented)"])
        .row(["Grade", "SS 50"])
        .row(["Side lap", "interlocking"])
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "18", "G60", "6 1/4", "LW 110"])
        .row(["D2", "composite", "2x12", "36", "18", "G60", "5", "NW 145"])
        .row(["F1", "form", "1.5x6", "36", "22", "G60", "4", "NW 145"])
        .row(["RD1", "roof", "1.5x6", "36", "22", "painted", "none", ""])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies", "Pour"]);
    for bay in 0..bays {
        let mixed = (bay + seed).wrapping_mul(2_654_435_761) >> 7;
        let level = bay / 250 + 2;
        let pick = |many: usize, shift: usize| (mixed >> shift) % many;
        let (kind, shortest_ft) = [("D1", 7), ("D2", 6), ("F1", 3), ("RD1", 4)][pick(4, 8)];
        let spans = format!("{}@{}'-{}\"", 2 + pick(4, 0), shortest_ft + pick(2, 3), pick(12, 6));
        let width = format!("{}'-{} {}/16\"", 15 + pick(70, 2), pick(12, 5), 1 + pick(15, 4));
        made = made.row([
            level.to_string(),
            format!("B{bay}"),
            kind.to_owned(),
            spans,
            width,
            if pick(9, 3) == 0 { "2".to_owned() } else { String::new() },
            format!("P{}", 1 + bay % 3),
        ]);
    }
    made
}
