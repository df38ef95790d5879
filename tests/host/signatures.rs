//! Every function that scripts can call, against a committed list: a new one is seen in review.

use std::fs;
use std::path::PathBuf;

use baytally::rules;

/// `ACCEPT=1 cargo test signatures` writes the list anew.
#[test]
fn no_function_appears_unnoticed() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/host/signatures.txt");
    let found = rules::signatures().join("\n") + "\n";
    if std::env::var_os("ACCEPT").is_some() {
        fs::write(&path, &found).unwrap();
    }
    let listed = fs::read_to_string(&path).unwrap();
    let (found, listed): (Vec<&str>, Vec<&str>) =
        (found.lines().collect(), listed.lines().collect());
    let new: Vec<&&str> = found.iter().filter(|line| !listed.contains(line)).collect();
    let gone: Vec<&&str> = listed.iter().filter(|line| !found.contains(line)).collect();
    assert!(new.is_empty() && gone.is_empty(), "new: {new:#?}\ngone: {gone:#?}");
    assert!(found.len() > 300, "{} functions", found.len());
}

/// Names that would let a script see or change something beyond its figures.
#[test]
fn nothing_reaches_beyond_the_figures() {
    const NEVER: &[&str] = &[
        "eval",
        "sleep",
        "timestamp",
        "open",
        "file",
        "read",
        "write",
        "exec",
        "spawn",
        "exit",
        "env",
        "rand",
        "now",
        "today",
        "http",
        "import",
        "include",
        "save",
        "parse_json",
        "command",
    ];
    for signature in rules::signatures() {
        let name = signature.split('(').next().unwrap();
        let name = name.rsplit("::").next().unwrap();
        let words: Vec<&str> = name.split('_').collect();
        for never in NEVER {
            assert!(!words.contains(never), "{signature}");
        }
    }
}
