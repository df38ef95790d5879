//! Sample workbooks for the outside checks under tests/reference, written to
//! `target/tmp/workbook`.

use std::fs;
use std::path::{Path, PathBuf};

use baytally::workbook::{WriteOptions, write};

use super::demo;

pub fn folder() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("workbook");
    fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn samples_are_written() {
    let options = WriteOptions { replace: true, ..WriteOptions::default() };
    for (name, report) in [("full", demo::full()), ("bare", demo::report(Vec::new()))] {
        let path = folder().join(name).with_extension("xlsx");
        let written = write(&report, &path, &options).unwrap();
        assert!(written.bytes > 5_000, "{name}");
    }
}
