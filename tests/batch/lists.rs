//! Which schedules a batch takes, and what their outputs are called.

use std::collections::HashSet;
use std::fs;
use std::path::PathBuf;

use baytally::batch::{Names, Shard, expand, output_names, safe_names};
use proptest::prelude::*;
use unicode_normalization::UnicodeNormalization;

use crate::support::program::Desk;

fn names(files: &[&str]) -> Vec<String> {
    output_names(files).into_iter().map(|names| names.takeoff).collect()
}

/// A name as a file system without cases and with one way of accents takes it.
fn compared(name: &str) -> String {
    name.nfc().collect::<String>().to_lowercase()
}

#[test]
fn names_say_whose_output_it_is() {
    assert_eq!(names(&["jobs/north.xlsx"]), ["north-takeoff.xlsx"]);
    assert_eq!(
        names(&["jobs/north/schedule.xlsx", "jobs/south/schedule.xlsx", "jobs/other.ods"]),
        ["north-schedule-takeoff.xlsx", "south-schedule-takeoff.xlsx", "other-takeoff.xlsx"]
    );
    // The nearest folders are alike too.
    assert_eq!(names(&["a/x/s.xlsx", "b/x/s.xlsx"]), ["a-x-s-takeoff.xlsx", "b-x-s-takeoff.xlsx"]);
}

#[test]
fn names_are_safe() {
    assert_eq!(names(&["a<b>:\"c|d?e*.xlsx"]), ["a-b---c-d-e-takeoff.xlsx"]);
    assert_eq!(names(&["../.. .xlsx"]), ["schedule-takeoff.xlsx"]);
    assert_eq!(names(&["-o.xlsx"]), ["o-takeoff.xlsx"]);
    assert_eq!(names(&["con.xlsx"]), ["con-takeoff.xlsx"]);
    assert_eq!(names(&["nul.a.xlsx"]), ["nul_.a-takeoff.xlsx"]);
    let long = "ä".repeat(200) + ".xlsx";
    assert_eq!(names(&[&long])[0].len(), 120 + "-takeoff.xlsx".len());
}

#[test]
fn names_of_forms_are_safe() {
    let keys = ["S1", "s1", "a/b", "a:b", "../x", "", "con", "Aux.1", "COM\u{b9}", "console"];
    assert_eq!(
        safe_names(keys.into_iter()),
        ["S1", "s1-2", "a-b", "a-b-2", "x", "form", "con_", "Aux_.1", "COM\u{b9}_", "console"]
    );
}

#[test]
fn names_that_a_file_system_takes_for_one_are_kept_apart() {
    let made = names(&["Job.xlsx", "JOB.xlsx", "job.ods"]);
    let distinct: HashSet<String> = made.iter().map(|name| name.to_lowercase()).collect();
    assert_eq!(distinct.len(), 3, "{made:?}");
    // One letter with its accent, and a letter and an accent.
    let made = names(&["\u{e9}.xlsx", "e\u{301}.xlsx"]);
    assert_ne!(made[0].trim_start_matches('\u{e9}'), made[1].trim_start_matches("e\u{301}"));
}

proptest! {
    #[test]
    fn names_are_never_alike(files in proptest::collection::vec("([aA./é*-]{1,4}/){0,3}[aAbé. *]{0,5}\\.xlsx", 1..30)) {
        let made = output_names(&files);
        let distinct: HashSet<String> = made.iter().map(|names| compared(&names.takeoff)).collect();
        prop_assert_eq!(distinct.len(), files.len());
        for Names { takeoff, forms } in made {
            prop_assert!(takeoff.ends_with("-takeoff.xlsx") && !takeoff.starts_with(['.', '-']));
            prop_assert!(!takeoff.contains(['/', '\\', '*', ':']));
            prop_assert_eq!(
                takeoff.strip_suffix("-takeoff.xlsx"),
                forms.strip_suffix("-forms")
            );
        }
    }

    #[test]
    fn names_of_forms_are_never_alike(
        keys in proptest::collection::hash_set(
            "[sS1/:é]{1,3}|e\u{301}|s-2|S-3|con|CON\\.x|lpt1|\\.\\.|[ .-]{1,3}", 1..30)
    ) {
        let made = safe_names(keys.iter().map(String::as_str));
        let distinct: HashSet<String> = made.iter().map(|name| compared(name)).collect();
        prop_assert_eq!(distinct.len(), keys.len(), "{:?}", made);
        for name in made {
            prop_assert!(!name.is_empty() && !name.starts_with(['.', '-']), "{}", name);
            prop_assert!(!name.contains(['/', '\\', '*', ':']), "{}", name);
            prop_assert!(!["con", "con.x", "lpt1"].contains(&&*name.to_lowercase()), "{}", name);
        }
    }

    #[test]
    fn each_schedule_is_one_shards(of in 1_usize..20, at in 0_usize..1000) {
        let takers = (1..=of).filter(|&part| Shard::new(part, of).unwrap().takes(at)).count();
        prop_assert_eq!(takers, 1);
    }
}

#[test]
fn shards_are_read_as_typed_and_as_files_are_named() {
    let shard: Shard = "3/10".parse().unwrap();
    assert_eq!(shard.to_string(), "3-of-10");
    assert_eq!(Shard::of_name("batch-summary-3-of-10"), Some(shard));
    assert_eq!(Shard::of_name("batch-summary"), None);
    for wrong in ["0/3", "4/3", "3", "a/b", "1/0", ""] {
        assert_eq!(
            wrong.parse::<Shard>(),
            Err("wanted a part and the number of parts, 1/10 to 10/10".to_owned()),
            "{wrong}"
        );
    }
}

#[test]
fn folders_and_patterns_give_schedules_once() {
    let desk = Desk::new();
    for name in [
        "jobs/b.xlsx",
        "jobs/a.XLSX",
        "jobs/deep/c.ods",
        "jobs/notes.txt",
        "jobs/~$b.xlsx",
        "jobs/.hidden.xlsx",
        "jobs/.git/d.xlsx",
        "jobs/out/e.xlsx",
        "more/f.xls",
    ] {
        desk.write(name, "x");
    }
    let found = expand(
        &[
            desk.path("jobs"),
            desk.path("more/*.xls"),
            desk.path("jobs/b.xlsx"),
            desk.path("none/*.ods"),
        ],
        &desk.path("jobs/out"),
    );
    let shown: Vec<PathBuf> = found
        .files
        .iter()
        .map(|file| file.strip_prefix(desk.folder()).unwrap().to_path_buf())
        .collect();
    let wanted = ["jobs/a.XLSX", "jobs/b.xlsx", "jobs/deep/c.ods", "more/f.xls"].map(PathBuf::from);
    assert_eq!(shown, wanted);
    let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
    let pattern = desk.path("none/*.ods").display().to_string();
    assert_eq!(said, [format!("{pattern}: warning[no-schedules]: `{pattern}` names no schedules")]);
}

#[cfg(unix)]
#[test]
fn links_that_lead_back_come_to_an_end() {
    let desk = Desk::new();
    desk.write("jobs/a.xlsx", "x");
    fs::create_dir(desk.path("jobs/deep")).unwrap();
    std::os::unix::fs::symlink(desk.path("jobs"), desk.path("jobs/deep/back")).unwrap();
    std::os::unix::fs::symlink(desk.path("jobs/a.xlsx"), desk.path("jobs/z.xlsx")).unwrap();
    let found = expand(&[desk.path("jobs")], &desk.path("out"));
    assert_eq!(found.files, [desk.path("jobs/a.xlsx")]);
}
