//! Text that means harm, and disks that are full: through the program, under a memory limit and a
//! time limit.
#![cfg(unix)]

use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::time::Duration;

use crate::support::program::{Desk, Outcome, PROGRAM, generated, plain};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

const MOST_KILOBYTES: u64 = 800_000;
const MOST: Duration = Duration::from_mins(1);

/// Runs the program under the limits, after these words of the shell.
fn limited(desk: &Desk, before: &str, words: &str) -> Outcome {
    let line =
        format!("ulimit -v {MOST_KILOBYTES}; {before} exec \"$0\" {words} --threads 1 --quiet");
    let mut command = assert_cmd::Command::new("sh");
    command.current_dir(desk.folder()).timeout(MOST).args(["-c", &line, PROGRAM]);
    let output = command.output().unwrap();
    Outcome {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// The parts of a workbook as text, by name.
fn parts(workbook: &Path) -> Vec<(String, String)> {
    let mut archive = zip::ZipArchive::new(fs::File::open(workbook).unwrap()).unwrap();
    let mut parts = Vec::new();
    for index in 0..archive.len() {
        let mut part = archive.by_index(index).unwrap();
        let (name, mut content) = (part.name().unwrap().into_owned(), Vec::new());
        part.read_to_end(&mut content).unwrap();
        parts.push((name, String::from_utf8_lossy(&content).into_owned()));
    }
    parts
}

/// What stands in each of these elements.
fn within<'a>(xml: &'a str, element: &str) -> Vec<&'a str> {
    let (begin, end) = (format!("<{element}"), format!("</{element}>"));
    let each = xml.split(begin.as_str()).skip(1).filter(|rest| rest.starts_with(['>', ' ']));
    each.filter_map(|rest| rest.split_once(end.as_str())).map(|(inside, _)| inside).collect()
}

/// A schedule whose texts look like formulas, header codes and addresses.
fn harmful() -> Schedule {
    with_types(schedule().sheet("Job").row(["Key", "Value"]).row(["Job", "&P&\"Zapf\"=EVIL()"]))
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "=EVIL(5)", "Note"])
        .row([
            "=EVIL(1)",
            "+EVIL(2)",
            "D1",
            "3@10'",
            "62'",
            "-EVIL(3)",
            "@EVIL(4)",
            "=EVIL|'/C x'!A0",
        ])
        .row(["@EVIL(6)", "file:///EVIL", "D1", "3@10'", "62'", "http://EVIL", "'=EVIL()", "&Z&F"])
}

#[test]
fn text_of_a_schedule_becomes_no_formula_link_or_header_code() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &harmful());
    let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx");
    assert!(outcome.code < Some(2), "{outcome:?}");
    let (mut seen, mut formulas, mut headers) = (0, 0, 0);
    for (name, text) in parts(&desk.path("out.xlsx")) {
        seen += text.matches("EVIL").count();
        for formula in within(&text, "f").into_iter().chain(within(&text, "definedName")) {
            formulas += 1;
            assert!(!formula.contains("EVIL"), "{name}: {formula}");
        }
        for kind in ["oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader"] {
            for header in within(&text, kind) {
                headers += 1;
                assert!(!header.contains("Zapf") || header.contains("&amp;&amp;P"), "{header}");
                assert!(!header.contains("EVIL") || header.contains("&amp;&amp;"), "{header}");
            }
        }
        for link in text.split("<hyperlink ").skip(1) {
            let tag = link.split('>').next().unwrap();
            let location = tag.split("location=\"").nth(1).and_then(|rest| rest.split('"').next());
            assert!(location.is_some_and(|at| !at.contains("EVIL")), "{name}: {tag}");
        }
        assert!(!text.contains("TargetMode=\"External\""), "{name} leads outside");
        assert!(!name.contains("EVIL"), "{name}");
    }
    assert!(seen > 10 && formulas > 10 && headers > 3, "{seen} {formulas} {headers}");
}

/// Names as Windows takes them: no such signs, no device, no dot or space at the end.
fn is_name_anywhere(name: &str) -> bool {
    let stem = name.split('.').next().unwrap().trim_end().to_uppercase();
    let digit = |rest: &str| rest.len() == 1 && rest.chars().all(|sign| sign.is_ascii_digit());
    let device = ["CON", "PRN", "AUX", "NUL"].contains(&stem.as_str())
        || ["COM", "LPT"].iter().any(|kind| stem.strip_prefix(kind).is_some_and(digit));
    let forbidden = |sign: char| sign.is_control() || "<>:\"/\\|?*".contains(sign);
    !(device
        || name.contains(forbidden)
        || name.ends_with(['.', ' '])
        || name.starts_with(['.', '-']))
}

#[test]
fn names_of_files_are_names_on_any_system() {
    let levels =
        ["CON", "nul", "LPT1", "com1.b", "../../up", "a:b*c?", "-o", "\u{1}x\"<>|", "end. "];
    // All that the bundled form asks for.
    let head = ["Job", "Number", "Place", "Estimator", "Customer"]
        .iter()
        .fold(schedule().sheet("Job"), |made, key| made.row([*key, "invented"]));
    let made = levels.iter().enumerate().fold(
        with_types(head)
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "X", "Y", "Runs"]),
        |made, (at, level)| {
            let x = format!("{}'", at * 100);
            made.row([*level, "A1", "D1", "3@10'", "62'", &x, "0'", "E-W"])
        },
    );
    let desk = Desk::new();
    desk.put("schedule.xlsx", &made);
    let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx --plans plans");
    assert!(outcome.code < Some(2), "{outcome:?}");
    let outcome = limited(&desk, "", "form schedule.xlsx --by sequence -o forms");
    assert!(outcome.code < Some(2), "{outcome:?}");
    for folder in ["plans", "forms"] {
        let names: Vec<String> = fs::read_dir(desk.path(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        assert_eq!(names.len(), levels.len(), "{names:?}");
        for name in &names {
            assert!(is_name_anywhere(name), "{folder}/{name}");
        }
    }
    assert_eq!(desk.files(), ["out.xlsx", "schedule.xlsx"], "nothing went elsewhere");
}

/// Line ends and the mark at the beginning are the editor's matter: the same workbook comes out, and
/// messages name the same line.
#[test]
fn scripts_from_any_editor_are_the_same_scripts() {
    let script = "/// Waste (invented).\nfn concrete_waste(bay) {\n    0.07\n}\n";
    let mut outputs = Vec::new();
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    for text in [script.to_owned(), format!("\u{feff}{}", script.replace('\n', "\r\n"))] {
        desk.shop("rules.rhai", &text);
        let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx --shop shop");
        assert_eq!(outcome.code, Some(0), "{outcome:?}");
        outputs.push(desk.read("out.xlsx"));
        desk.shop("rules.rhai", &text.replace("0.07", "0.07 +* 1"));
        let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx --shop shop");
        assert_eq!(outcome.code, Some(2));
        assert!(outcome.err.starts_with("rules.rhai:3:11: error"), "{}", outcome.err);
        assert!(!outcome.err.contains('\r'), "{:?}", outcome.err);
    }
    assert!(outputs[0] == outputs[1], "the editor's line ends change the workbook");
    let wide: Vec<u8> = script.encode_utf16().flat_map(u16::to_le_bytes).collect();
    desk.write("shop/rules.rhai", [&[0xff, 0xfe][..], &wide].concat());
    let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx --shop shop");
    assert_eq!(outcome.code, Some(2), "{outcome:?}");
    assert!(outcome.err.starts_with("rules.rhai"), "{}", outcome.err);
}

/// One letter with its accent on Types, a letter and an accent on Bays: one mark. The type is shown
/// as Types has it, the level and its sequence as the first bay has them, a bay's mark as typed.
#[test]
fn marks_composed_or_not_are_the_same() {
    let (composed, apart) = ("D\u{e9}1", "D\u{65}\u{301}1");
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row([composed, "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row([apart, apart, apart, "3@10'", "62'"])
        .row([composed, "A2", composed, "3@10'", "62'"]);
    let desk = Desk::new();
    desk.put("schedule.xlsx", &made);
    let outcome = limited(&desk, "", "run schedule.xlsx -o out.xlsx --csv tables");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    let takeoff = String::from_utf8(desk.read("tables/takeoff.csv")).unwrap();
    let [_, first, second, ..] = takeoff.lines().collect::<Vec<_>>()[..] else {
        panic!("{takeoff}")
    };
    assert_eq!((first.matches(apart).count(), first.matches(composed).count()), (3, 1), "{first}");
    assert_eq!((second.matches(apart).count(), second.matches(composed).count()), (2, 1));
    assert!(first.contains("3x12"), "the type was found: {first}");
}

/// What another program holds on Windows is, here, a file of someone else in a folder of all.
#[test]
fn an_output_that_may_not_be_replaced_is_said_and_kept() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;

    const NOBODY: u32 = 65_534;
    let desk = Desk::new();
    desk.put("schedule.xlsx", &plain());
    fs::set_permissions(desk.folder(), PermissionsExt::from_mode(0o755)).unwrap();
    fs::create_dir(desk.path("all")).unwrap();
    assert_eq!(desk.run("run schedule.xlsx -o all/out.xlsx --quiet").code, Some(0));
    let before = desk.read("all/out.xlsx");
    fs::set_permissions(desk.path("all"), PermissionsExt::from_mode(0o1777)).unwrap();
    let mut command = std::process::Command::new(PROGRAM);
    command.current_dir(desk.folder()).args(["run", "schedule.xlsx", "-o", "all/out.xlsx", "-q"]);
    let output = match command.uid(NOBODY).gid(NOBODY).output() {
        Ok(output) => output,
        Err(error) => {
            eprintln!("SKIPPED: only the superuser can run as someone else: {error}");
            return;
        }
    };
    assert_eq!(
        String::from_utf8(output.stderr).unwrap(),
        "all/out.xlsx: error[not-written]: `all/out.xlsx` was not written: the file may not be \
         replaced; another program may have it open\n  hint: close it and run again\n"
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(desk.read("all/out.xlsx") == before, "the old output is unchanged");
    assert_eq!(fs::read_dir(desk.path("all")).unwrap().count(), 1, "no temporary file is left");
}

/// The largest file that the shell lets a program write stands for a full disk.
#[test]
fn a_disk_that_fills_up_is_said_and_nothing_is_left() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(60, 4));
    assert_eq!(desk.run("run schedule.xlsx -o old.xlsx --quiet").code, Some(0));
    let old = desk.read("old.xlsx");
    for blocks in [0, 1, 8, 24] {
        let before = format!("trap '' XFSZ; ulimit -f {blocks};");
        for output in ["new.xlsx", "old.xlsx"] {
            let outcome = limited(&desk, &before, &format!("run schedule.xlsx -o {output}"));
            outcome.says(
                2,
                &format!(
                    "{output}: error[not-written]: `{output}` was not written: the disk is full\n  \
                     hint: free some room and run again; what stood there is unchanged"
                ),
            );
        }
        assert_eq!(desk.files(), ["old.xlsx", "schedule.xlsx"]);
        assert!(desk.read("old.xlsx") == old, "the old output is unchanged");
    }
}

/// A file system of a few kilobytes, where one may be mounted.
#[cfg(target_os = "linux")]
#[test]
fn a_full_file_system_is_said_and_nothing_is_left() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(60, 4));
    fs::create_dir(desk.path("small")).unwrap();
    let line = "mount -t tmpfs -o size=16k tmpfs small || exit 99
        \"$0\" run schedule.xlsx -o small/out.xlsx --quiet
        code=$?; ls -A small >left; exit $code";
    let mut command = assert_cmd::Command::new("unshare");
    command.current_dir(desk.folder()).timeout(MOST);
    let output = command.args(["--user", "--map-root-user", "--mount", "sh", "-c", line, PROGRAM]);
    let output = match output.output() {
        Ok(output) if output.status.code() != Some(99) && desk.path("left").exists() => output,
        other => {
            eprintln!("SKIPPED: no small file system can be mounted here: {other:?}");
            return;
        }
    };
    assert_eq!(
        String::from_utf8_lossy(&output.stderr).trim_end(),
        "small/out.xlsx: error[not-written]: `small/out.xlsx` was not written: the disk is full\n  \
         hint: free some room and run again; what stood there is unchanged"
    );
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(desk.read("left"), b"", "the temporary file is gone");
}
