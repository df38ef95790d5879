//! Good workbooks with bytes flipped, parts cut and pieces doubled, from a fixed seed: whatever
//! comes in, a job or a reason comes out, soon. `MUTATIONS=10000 cargo test mutated` runs longer,
//! in process and through the program.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests stop where they fail")]

use std::io::{Cursor, Read, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use baytally::schedule::{ReadOptions, describe, read_bytes};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::support::mutate::{Numbers, mutate};

const FILES: [&str; 8] = [
    "titles.xlsx",
    "tables.xlsx",
    "merged.xlsx",
    "formulas.xlsx",
    "units.xlsx",
    "old.xls",
    "open.ods",
    "binary.xlsb",
];
const MOST: Duration = Duration::from_secs(10);

/// One part of the archive changed and packed again; the archive as it is where it is none.
fn mutate_part(bytes: &[u8], numbers: &mut Numbers) -> Vec<u8> {
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else { return bytes.to_vec() };
    let chosen = numbers.below(archive.len());
    let mut made = ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..archive.len() {
        let mut part = archive.by_index(index).unwrap();
        let mut content = Vec::new();
        part.read_to_end(&mut content).unwrap();
        if index == chosen {
            mutate(&mut content, numbers);
        }
        made.start_file(part.name().unwrap(), SimpleFileOptions::default()).unwrap();
        made.write_all(&content).unwrap();
    }
    made.finish().unwrap().into_inner()
}

/// A round's file: which it was and what became of it.
fn mutated(round: u64, good: &[Vec<u8>]) -> (&'static str, Vec<u8>) {
    let mut numbers = Numbers::of_round(round);
    let which = numbers.below(FILES.len());
    let mut bytes = if numbers.below(3) == 0 {
        good[which].clone()
    } else {
        mutate_part(&good[which], &mut numbers)
    };
    if numbers.below(3) == 0 {
        mutate(&mut bytes, &mut numbers);
    }
    (FILES[which], bytes)
}

fn good() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people");
    FILES.iter().map(|file| std::fs::read(folder.join(file)).unwrap()).collect()
}

fn rounds(usual: u64) -> u64 {
    std::env::var("MUTATIONS").ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

#[test]
fn mutated_workbooks_end_in_a_job_or_a_reason() {
    let (rounds, good) = (rounds(400), good());
    let options = ReadOptions::default();
    let (mut jobs, mut reasons) = (0, 0);
    for round in 0..rounds {
        let (file, bytes) = mutated(round, &good);
        let since = Instant::now();
        match read_bytes(bytes, file, &options) {
            Ok((job, findings)) => {
                jobs += 1;
                let said = findings.iter().map(ToString::to_string).collect::<String>();
                let shown = describe(&job.readings, &job.unread);
                assert!(said.len() < 1 << 20 && shown.len() < 1 << 20, "round {round}");
            }
            Err(unreadable) => {
                reasons += 1;
                assert!(!unreadable.findings.is_empty(), "round {round}");
            }
        }
        assert!(since.elapsed() < MOST, "round {round} of {file} took too long");
    }
    assert!(jobs > rounds / 10 && reasons > rounds / 10, "{jobs} jobs, {reasons} reasons");
}

/// How runs of the program ended: by exit code, and the most of memory and time that one took.
#[cfg(target_os = "linux")]
#[derive(Debug, Default)]
struct Ends {
    codes: [u64; 3],
    most_kilobytes: u64,
    longest: Duration,
}

/// The program itself, from start to end: it exits with 0, 1 or 2 and leaves an output or none.
#[cfg(target_os = "linux")]
#[test]
fn mutated_workbooks_through_the_program() {
    use std::sync::Mutex;
    use std::sync::atomic::{AtomicU64, Ordering};

    let (rounds, good) = (rounds(300), good());
    let (next, ends) = (AtomicU64::new(0), Mutex::new(Ends::default()));
    let threads = std::thread::available_parallelism().unwrap().get();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let round = next.fetch_add(1, Ordering::SeqCst);
                    if round >= rounds {
                        return;
                    }
                    let (file, bytes) = mutated(round, &good);
                    run(round, file, &bytes, &ends);
                }
            });
        }
    });
    let ends = ends.into_inner().unwrap();
    println!("{rounds} files: {ends:?}");
    assert_eq!(ends.codes.iter().sum::<u64>(), rounds);
    assert!(ends.codes.iter().all(|count| *count > 0), "{ends:?}");
}

#[cfg(target_os = "linux")]
fn run(round: u64, file: &str, bytes: &[u8], ends: &std::sync::Mutex<Ends>) {
    use std::process::{Command, Stdio};

    const MOST_KILOBYTES: u64 = 300_000;
    // The stack that scripts run on and the program itself are mapped whole, though little of them
    // is used.
    const MAPPED_KILOBYTES: u64 = 230_000;

    let desk = tempfile::tempdir().unwrap();
    std::fs::write(desk.path().join(file), bytes).unwrap();
    let said = std::fs::File::create(desk.path().join("said")).unwrap();
    let limited = format!(
        "ulimit -v {}; exec \"$0\" run {file} -o out.xlsx --threads 1 --quiet",
        MOST_KILOBYTES + MAPPED_KILOBYTES
    );
    let since = Instant::now();
    let mut process = Command::new("sh")
        .args(["-c", &limited])
        .arg(crate::support::program::PROGRAM)
        // Else each thread reserves 64 MB of addresses that it may never use.
        .env("MALLOC_ARENA_MAX", "1")
        .current_dir(desk.path())
        .stdout(Stdio::null())
        .stderr(said)
        .spawn()
        .unwrap();
    let mut most_kilobytes = 0;
    let status = loop {
        most_kilobytes = most_kilobytes.max(high_water_kilobytes(process.id()));
        if let Some(status) = process.try_wait().unwrap() {
            break status;
        }
        if since.elapsed() > MOST {
            process.kill().unwrap();
            process.wait().unwrap();
            panic!("round {round} of {file}: still running after {MOST:?}");
        }
        std::thread::sleep(Duration::from_millis(3));
    };
    let said = std::fs::read_to_string(desk.path().join("said")).unwrap();
    let code = status.code().and_then(|code| usize::try_from(code).ok()).filter(|code| *code < 3);
    let Some(code) = code else {
        panic!("round {round} of {file}: {status:?}, {most_kilobytes} kB\n{said}")
    };
    assert!(most_kilobytes < MOST_KILOBYTES, "round {round} of {file}: {most_kilobytes} kB");
    assert!(code == 0 || said.contains("error["), "round {round} of {file} says no reason: {said}");
    assert!(!said.contains("[program-failed]"), "round {round} of {file}: {said}");
    let mut left: Vec<String> = std::fs::read_dir(desk.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name != file && name != "said")
        .collect();
    left.sort();
    let expected: &[&str] = if code == 2 { &[] } else { &["out.xlsx"] };
    assert_eq!(left, expected, "round {round} of {file}");
    let mut ends = ends.lock().unwrap();
    ends.codes[code] += 1;
    ends.most_kilobytes = ends.most_kilobytes.max(most_kilobytes);
    ends.longest = ends.longest.max(since.elapsed());
}

/// The most memory that a process had so far.
#[cfg(target_os = "linux")]
fn high_water_kilobytes(process: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let number = line.and_then(|line| line.split_whitespace().next());
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}
