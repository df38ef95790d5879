//! Good workbooks with bytes flipped, parts cut and pieces doubled, from a fixed seed: whatever
//! comes in, a job or a reason comes out, soon. `MUTATIONS=10000 cargo test mutated` runs longer.

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

#[test]
fn mutated_workbooks_end_in_a_job_or_a_reason() {
    let rounds: u64 =
        std::env::var("MUTATIONS").ok().and_then(|text| text.parse().ok()).unwrap_or(400);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedule/people");
    let good: Vec<Vec<u8>> =
        FILES.iter().map(|file| std::fs::read(folder.join(file)).unwrap()).collect();
    let options = ReadOptions::default();
    let (mut jobs, mut reasons) = (0, 0);
    for round in 0..rounds {
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
        let since = Instant::now();
        match read_bytes(bytes, FILES[which], &options) {
            Ok((job, findings)) => {
                jobs += 1;
                let said = findings.iter().map(ToString::to_string).collect::<String>();
                assert!(
                    said.len() < 1 << 20 && describe(&job.readings, &job.unread).len() < 1 << 20,
                    "round {round}"
                );
            }
            Err(unreadable) => {
                reasons += 1;
                assert!(!unreadable.findings.is_empty(), "round {round}");
            }
        }
        assert!(since.elapsed() < MOST, "round {round} of {} took too long", FILES[which]);
    }
    assert!(jobs > rounds / 10 && reasons > rounds / 10, "{jobs} jobs, {reasons} reasons");
}
