//! `watch`: runs again whenever the schedule or the shop's files are saved.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, SystemTime};

use clap::Args;
use notify::{RecursiveMode, Watcher};
use serde_json::json;
use sha2::{Digest, Sha256};

use super::run::{beside, takeoff};
use super::say::{Say, count_by_severity};
use super::{Common, End, interrupt};
use crate::finding::{Finding, Severity};
use crate::report;
use crate::table::Report;
use crate::workbook::{self, WriteOptions};

/// Runs again whenever the schedule or the shop's files are saved, until interrupted.
///
/// A line each time says what changed in the totals. The first run comes at once.
#[derive(Args)]
pub struct Watch {
    /// The schedule workbook: xlsx, xlsm, xlsb, xls or ods
    schedule: PathBuf,
    /// The workbook to write; the schedule's name with `-takeoff` beside it where not given
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// Write over a file that this program did not write
    #[arg(long)]
    replace: bool,
    /// End after so many runs
    #[arg(long, value_name = "N")]
    runs: Option<u64>,
}

/// Nothing more was saved for so long: the saving has ended.
const QUIET: Duration = Duration::from_millis(200);
/// Folders that tell nothing, such as those of other machines, are looked at so often.
const LOOK: Duration = Duration::from_secs(2);
/// A file that can not be read may be half saved: it is tried again so often, so much later.
const TRIES: u32 = 4;
const TRY_AGAIN: Duration = Duration::from_millis(250);

/// The state of the files that a run reads: path, size, time of change.
type Stamp = Vec<(PathBuf, Option<(u64, SystemTime)>)>;

impl Watch {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        interrupt::is_the_usual_end();
        let (sender, saved) = channel();
        // Where the machine gives no word of changes, looking now and then must do.
        let mut watcher = notify::recommended_watcher(move |_| {
            let _ = sender.send(());
        })
        .ok();
        for folder in folders(&self.schedule, common.shop.as_deref()) {
            if let Some(watcher) = &mut watcher {
                let _ = watcher.watch(&folder, RecursiveMode::NonRecursive);
            }
        }
        let mut runs = 0;
        let mut seen = Stamp::new();
        let mut done: Option<[u8; 32]> = None;
        let mut last: Option<Report> = None;
        let mut end = End::Done;
        while self.runs.is_none_or(|most| runs < most) {
            let stamp = self.stamp(common);
            if seen == stamp {
                wait(&saved, LOOK);
                continue;
            }
            seen = self.settled(stamp, &saved, common);
            if done == Some(content(&seen)) {
                continue;
            }
            let (report, content) = self.whole(&mut seen, common);
            if done.replace(content) == Some(content) {
                continue;
            }
            runs += 1;
            end = self.tell(report, say, &mut last);
        }
        end
    }

    /// Waits until nothing more is saved.
    fn settled(&self, mut stamp: Stamp, saved: &Receiver<()>, common: &Common) -> Stamp {
        loop {
            std::thread::sleep(QUIET);
            while saved.try_recv().is_ok() {}
            let now = self.stamp(common);
            if now == stamp {
                return now;
            }
            stamp = now;
        }
    }

    /// Writes what was computed and says what changed.
    fn tell(
        &self,
        report: Result<Report, Vec<Finding>>,
        say: &Say,
        last: &mut Option<Report>,
    ) -> End {
        let output = self.output.clone().unwrap_or_else(|| beside(&self.schedule));
        let written = report.and_then(|mut report| {
            let options = WriteOptions {
                inputs: vec![self.schedule.clone()],
                replace: self.replace,
                ..WriteOptions::default()
            };
            let written = workbook::write(&report, &output, &options);
            report.findings.extend(written.map_err(|not| vec![not.finding()])?.findings);
            Ok(report)
        });
        let name = self.schedule.file_name().unwrap_or_default().to_string_lossy();
        let report = match written {
            Ok(report) => report,
            Err(findings) => {
                say.failed("watch", &findings);
                say.line(&format!("{name}: nothing written"));
                return End::Failed;
            }
        };
        let errors: Vec<Finding> =
            report.findings.iter().filter(|f| f.severity == Severity::Error).cloned().collect();
        say.findings(&errors);
        let changes = last.as_ref().map(|last| report::summary_changes(last, &report));
        let changed = match &changes {
            None => String::new(),
            Some(changes) if changes.is_empty() => "; totals as before".to_owned(),
            Some(changes) => format!("; {}", changes.join(", ")),
        };
        let incomplete = if report.is_incomplete() { ", marked incomplete" } else { "" };
        let found = count_by_severity(&report.findings);
        say.line(&format!("{name}: wrote {}{incomplete}, {found}{changed}", output.display()));
        let fields = json!({
            "schedule": report.schedule,
            "output": output.display().to_string(),
            "changes": changes.unwrap_or_default(),
        });
        say.result("watch", &report.findings, || fields);
        let end = if report.is_incomplete() { End::Incomplete } else { End::Done };
        *last = Some(report);
        end
    }

    /// The report and the hash of what it was made of; tried again where a file may be half saved
    /// or was saved in the meantime.
    fn whole(&self, seen: &mut Stamp, common: &Common) -> (Result<Report, Vec<Finding>>, [u8; 32]) {
        let mut tries = 1;
        loop {
            let before = content(seen);
            let report = takeoff(&self.schedule, common);
            let is_last = tries == TRIES;
            if report.is_err() && !is_last {
                std::thread::sleep(TRY_AGAIN);
            }
            *seen = self.stamp(common);
            if is_last || (report.is_ok() && content(seen) == before) {
                return (report, before);
            }
            tries += 1;
        }
    }

    fn stamp(&self, common: &Common) -> Stamp {
        stamp(&self.schedule, common.shop.as_deref())
    }
}

/// The folders whose files a run reads.
fn folders(schedule: &Path, shop: Option<&Path>) -> Vec<PathBuf> {
    let beside = schedule.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut folders = vec![beside.unwrap_or(Path::new(".")).to_path_buf()];
    folders.extend(shop.map(Path::to_path_buf));
    folders
}

fn stamp(schedule: &Path, shop: Option<&Path>) -> Stamp {
    let mut paths = vec![schedule.to_path_buf()];
    if let Some(Ok(entries)) = shop.map(fs::read_dir) {
        let wanted = |path: &PathBuf| {
            path.extension().is_some_and(|ending| ending == "rhai" || ending == "toml")
        };
        paths.extend(entries.flatten().map(|entry| entry.path()).filter(wanted));
    }
    paths.sort();
    let state = |path: &PathBuf| {
        let data = fs::metadata(path).ok()?;
        Some((data.len(), data.modified().ok()?))
    };
    paths.into_iter().map(|path| (path.clone(), state(&path))).collect()
}

fn content(stamp: &Stamp) -> [u8; 32] {
    let mut hash = Sha256::new();
    for (path, _) in stamp {
        let bytes = fs::read(path).unwrap_or_default();
        hash.update(path.to_string_lossy().as_bytes());
        hash.update(bytes.len().to_le_bytes());
        hash.update(bytes);
    }
    hash.finalize().into()
}

/// Waits for a word of change, at most so long, and takes the words that came with it.
fn wait(saved: &Receiver<()>, longest: Duration) {
    if saved.recv_timeout(longest).is_err() {
        // No word came, or none will ever come.
        if let Err(std::sync::mpsc::TryRecvError::Disconnected) = saved.try_recv() {
            std::thread::sleep(longest);
        }
    }
    while saved.try_recv().is_ok() {}
}
