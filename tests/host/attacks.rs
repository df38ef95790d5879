//! Scripts that try to hang the program, eat its memory, break it or reach outside: each through the
//! binary, with its memory and time watched.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value as Json;

use crate::cells;
use crate::support::schedule_builder::{Cell, schedule, with_types};

const MOST_MB: u64 = 500;
const MOST_SECONDS: u64 = 240;

/// How a run ended.
struct Ended {
    exit: Option<i32>,
    out: String,
    err: String,
    peak_mb: u64,
}

/// A schedule of so many bays.
fn bays(count: usize) -> Vec<u8> {
    let mut built =
        with_types(schedule().sheet("Job").row(cells!["Start date", Cell::Date(2027, 3, 1)]))
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"]);
    for at in 1..=count {
        let (bay, width) = (format!("A{at}"), format!("{}'", 10 + at % 50));
        built = built.row(["2", &bay, "D1", "3@10'", &width]);
    }
    built.bytes()
}

/// Runs the program in a folder, watching it.
fn run(folder: &Path, arguments: &[&str]) -> Ended {
    let out = fs::File::create(folder.join("out.txt")).unwrap();
    let err = fs::File::create(folder.join("err.txt")).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_baytally"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(out)
        .stderr(err)
        .spawn()
        .unwrap();
    let begun = Instant::now();
    let mut peak_mb = 0;
    let status = loop {
        peak_mb = peak_mb.max(high_water_mb(child.id()));
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > Duration::from_secs(MOST_SECONDS) {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("{arguments:?} hangs");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    Ended {
        exit: status.code(),
        out: fs::read_to_string(folder.join("out.txt")).unwrap(),
        err: fs::read_to_string(folder.join("err.txt")).unwrap(),
        peak_mb,
    }
}

/// What a process took of the memory at most so far.
fn high_water_mb(id: u32) -> u64 {
    let status = fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().split(' ').next()?.parse::<u64>().ok()).unwrap_or(0) / 1024
}

/// A folder with a schedule and a shop of these files.
fn folder(files: &[(&str, Vec<u8>)], count: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("schedule.xlsx"), bays(count)).unwrap();
    fs::create_dir(folder.path().join("shop")).unwrap();
    fs::write(folder.path().join("shop/shop.toml"), "written_for = \"1.0\"\n").unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join("shop").join(name), bytes).unwrap();
    }
    folder
}

fn attacked(files: &[(&str, Vec<u8>)], more: &[&str]) -> Ended {
    let folder = folder(files, 2);
    let mut arguments =
        vec!["run", "schedule.xlsx", "--shop", "shop", "-o", "out.xlsx", "--threads", "2"];
    arguments.extend(more);
    let ended = run(folder.path(), &arguments);
    assert!(!ended.err.contains("panicked"), "{}", ended.err);
    assert!(!ended.err.contains("program-failed"), "{}", ended.err);
    assert!(ended.peak_mb > 0, "nothing was measured");
    assert!(ended.peak_mb < MOST_MB, "{} MB: {}", ended.peak_mb, ended.err);
    assert_eq!(ended.exit == Some(2), !folder.path().join("out.xlsx").exists());
    ended
}

/// A column of a table of its own.
fn column(expression: &str) -> Vec<(&'static str, Vec<u8>)> {
    let script = format!(
        "table(\"labour\", \"Labour\", |job| job.bays);\ncolumn(\"hours\", \"Hours\", \"h\", |bay| {expression});\n"
    );
    vec![("labour.rhai", script.into_bytes())]
}

/// The attack ends with that exit code and that error.
fn ends(what: &str, files: &[(&str, Vec<u8>)], exit: i32, code: &str) {
    let ended = attacked(files, &[]);
    assert_eq!(ended.exit, Some(exit), "{what}: {}", ended.err);
    assert!(ended.err.contains(&format!("error[{code}]")), "{what}: {}", ended.err);
}

#[test]
fn endless_loops_and_recursions() {
    ends("loop", &column("{ loop { } }"), 1, "too-many-steps");
    ends("while", &column("{ let a = 1; while a > 0 { a += 1; } a }"), 1, "too-many-steps");
    ends(
        "for",
        &column("{ let a = 0; for i in 0..9_000_000_000 { a += i; } a }"),
        1,
        "too-many-steps",
    );
    let rules = |text: &str| vec![("rules.rhai", text.as_bytes().to_vec())];
    ends("recursion", &rules("fn concrete_waste(bay) { concrete_waste(bay) + 1 }"), 1, "too-deep");
    ends(
        "two recursions",
        &rules("fn concrete_waste(bay) { more(bay) }\nfn more(bay) { 1 + concrete_waste(bay) }"),
        1,
        "too-deep",
    );
    ends(
        "closure recursion",
        &column("{ let f = |f, n| f.call(f, n + 1); f.call(f, 0) }"),
        1,
        "too-deep",
    );
    ends(
        "filter in filter",
        &rules(
            "fn concrete_waste(bay) { deep([1, 2]) }\nfn deep(list) { list.map(|x| deep([x])) }",
        ),
        1,
        "too-deep",
    );
    ends("loop while defining", &[("labour.rhai", b"loop { }".to_vec())], 2, "too-many-steps");
}

#[test]
fn growing_values() {
    ends("text", &column("{ let t = \"x\"; loop { t += t; } }"), 1, "too-large");
    ends("text in text", &column("{ let t = \"x\"; loop { t = `${t}${t}`; } }"), 1, "too-large");
    ends(
        "padded text",
        &column("{ let t = \"x\"; t.pad(2_000_000_000, \"y\"); t }"),
        1,
        "too-large",
    );
    ends(
        "repeated list",
        &column("{ let l = []; l.pad(2_000_000_000, 1); l.len }"),
        1,
        "too-large",
    );
    ends("list", &column("{ let l = [1]; loop { l += l; } }"), 1, "too-large");
    ends("list in list", &column("{ let l = [1]; loop { l = [l, l]; } }"), 1, "too-large");
    ends(
        "map",
        &column("{ let m = #{}; let i = 0; loop { m[`k${i}`] = m; i += 1; } }"),
        1,
        "too-large",
    );
    ends(
        "list of texts",
        &column("{ let t = \"x\"; t.pad(10_000, \"y\"); let l = []; loop { l.push(t); } }"),
        1,
        "too-large",
    );
    ends(
        "enormous text",
        &column("{ let t = \"x\"; for i in 0..19 { t += t; } t }"),
        1,
        "no-cell-value",
    );
}

/// Many values of the greatest size at once: the run is ended.
#[test]
fn many_large_values() {
    let deep = "fn concrete_waste(bay) { let l = []; l.pad(199_000, 1); keep(l, 0) }\n\
                fn keep(l, n) { let a = l; let b = l; let c = l; let d = l; if n > 45 { 0 } else { keep(l, n + 1) } }";
    ends("copies down a recursion", &[("rules.rhai", deep.as_bytes().to_vec())], 2, "memory-is-up");
    let mut wide = "{ let l = []; l.pad(199_000, 1);".to_owned();
    for at in 0..200 {
        let _ = write!(wide, " let l{at} = l;");
    }
    ends("many variables", &column(&(wide + " 1 }")), 2, "memory-is-up");
}

#[test]
fn deep_and_long_expressions() {
    let deep = |open: &str, inner: &str, close: &str, times: usize| {
        column(&format!("{}{inner}{}", open.repeat(times), close.repeat(times)))
    };
    for times in [100, 20_000] {
        for (what, open, inner, close) in [
            ("brackets", "(", "1", ")"),
            ("lists", "[", "1", "]"),
            ("maps", "#{a:", "1", "}"),
            ("blocks", "{", "1", "}"),
            ("ifs", "if true {", "1", "}"),
            ("minus", "- ", "1", ""),
            ("not", "!", "true", ""),
            ("calls", "abs(", "1", ")"),
            ("closures", "|x| ", "1", ""),
            ("texts", "`${", "1", "}`"),
            ("items", "[1][", "0", "]"),
            ("loops", "loop {", "break", "}"),
            ("power", "2 ** ", "1", ""),
        ] {
            ends(what, &deep(open, inner, close, times), 2, "too-deep");
        }
    }
    for (what, expression) in [
        ("sum", format!("1{}", " + 1".repeat(100_000))),
        ("sum of fields", format!("bay.copies{}", " + bay.copies".repeat(20_000))),
        ("and", format!("true{}", " && bay.copies > 0".repeat(20_000))),
        ("or", format!("false{}", " || bay.copies < 0".repeat(20_000))),
        ("default", format!("(){}", " ?? bay.camber_in".repeat(20_000))),
        ("fields", format!("bay{}", ".deck".repeat(50_000))),
        ("methods", format!("[]{}", ".filter(|x| x)".repeat(20_000))),
        ("items", format!("bay.spans_ft{}", "[0]".repeat(50_000))),
        ("else ifs", format!("if false {{ 1 }}{}", " else if false { 1 }".repeat(20_000))),
    ] {
        let ended = attacked(&column(&expression), &[]);
        assert!(matches!(ended.exit, Some(0..=2)), "{what}: {:?} {}", ended.exit, ended.err);
    }
}

#[test]
fn reaching_outside() {
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("other.rhai"), "fn waste() { 0.5 }").unwrap();
    let absolute = outside.path().join("other");
    for import in [
        "import \"other\" as other;".to_owned(),
        "import \"../other\" as other;".to_owned(),
        format!("import {:?} as other;", absolute.display().to_string()),
        "export let a = 1;".to_owned(),
    ] {
        let rules = format!("{import}\nfn concrete_waste(bay) {{ other::waste() }}\n");
        ends(&import, &[("rules.rhai", rules.into_bytes())], 2, "reserved-word");
    }
    for call in ["eval(\"1 + 1\")", "print(1)", "debug(1)"] {
        ends(call, &column(call), 2, "reserved-word");
    }
    for call in [
        "timestamp()",
        "sleep(1)",
        "open_file(\"x\")",
        "exit(3)",
        "rand()",
        "env(\"HOME\")",
        "blob(5)",
        "parse_json(\"1\")",
    ] {
        ends(call, &column(call), 2, "unknown-function");
    }
}

/// A shop's scripts are plain files of its folder; a link that leads out of it is not read.
#[cfg(unix)]
#[test]
fn links_out_of_the_shop() {
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("rules.rhai");
    fs::write(&secret, "fn concrete_waste(bay) { 0.9 }\n").unwrap();
    let folder = folder(&[], 2);
    std::os::unix::fs::symlink(&secret, folder.path().join("shop/rules.rhai")).unwrap();
    let ended = run(folder.path(), &["check", "schedule.xlsx", "--shop", "shop"]);
    assert_eq!(ended.exit, Some(2), "{}", ended.err);
    assert_eq!(
        ended.err,
        "shop/rules.rhai: error[script-outside]: it is a link that leads out of the shop's folder\n  \
         hint: put the script itself into the folder\n"
    );
}

#[test]
fn files_that_are_no_scripts() {
    ends("large", &[("rules.rhai", vec![b' '; 1 << 20])], 2, "script-too-large");
    let mut functions = String::new();
    for at in 0..20_000 {
        let _ = writeln!(functions, "fn f{at}(a) {{ a + {at} }}");
    }
    assert!(functions.len() < 512 << 10);
    ends("many functions", &[("rules.rhai", functions.into_bytes())], 2, "too-many-functions");
    ends("lines", &[("rules.rhai", b"\n".repeat(70_000))], 2, "too-many-script-lines");
    ends("bytes", &[("rules.rhai", vec![0xff, 0xfe, 0x00, 0x80])], 2, "script-not-text");
    ends(
        "half a letter",
        &[("rules.rhai", b"fn concrete_waste(bay) { \"\xc3\" }".to_vec())],
        2,
        "script-not-text",
    );
    let two =
        [("rules.rhai", b"\xff".to_vec()), ("waste.rhai", b"fn concrete_waste(bay) { 1 ".to_vec())];
    ends("the second is told too", &two, 2, "syntax");
    ends("zero", &[("rules.rhai", b"fn concrete_waste(bay) { \0 }".to_vec())], 2, "syntax");
}

#[test]
fn results_that_are_no_cells() {
    ends("closure", &column("|x| x"), 1, "no-cell-value");
    ends("closure in list", &column("[|x| x]"), 1, "no-cell-value");
    ends("infinite", &column("1e308 * 10.0"), 1, "no-cell-value");
    ends("not a number", &column("(0.0 / 1.0) * (1e308 * 10.0)"), 1, "no-cell-value");
    ends("job", &[("labour.rhai", b"table(\"labour\", \"Labour\", |job| job.bays);\ncolumn(\"hours\", \"H\", \"\", |bay, job| job);\n".to_vec())], 1, "no-cell-value");
    ends("overflow", &column("9_223_372_036_854_775_807 + bay.copies"), 1, "arithmetic");
    ends(
        "rows of rows",
        &[("labour.rhai", b"table(\"labour\", \"Labour\", |job| [[job.bays]]);\n".to_vec())],
        1,
        "no-rows",
    );
    ends("range", &column("(0..9_000_000_000).len()"), 1, "wrong-kind");
}

/// A rule that fails in one bay of a thousand costs that bay's cells and no others.
#[test]
fn one_bay_of_a_thousand() {
    let rules =
        b"fn concrete_waste(bay) { if bay.bay == \"A500\" { throw \"no waste for A500\"; } 0.05 }";
    let folder = folder(&[("rules.rhai", rules.to_vec())], 1_000);
    let arguments = ["run", "schedule.xlsx", "--shop", "shop", "-o", "out.xlsx", "--json"];
    let ended = run(folder.path(), &arguments);
    assert_eq!(ended.exit, Some(1), "{}", ended.err);
    assert!(ended.peak_mb < MOST_MB, "{} MB", ended.peak_mb);
    let plain = run(folder.path(), &["run", "schedule.xlsx", "-o", "plain.xlsx", "--json"]);
    assert_eq!(plain.exit, Some(0), "{}", plain.err);
    let (found, wanted) = (takeoff(&ended.out), takeoff(&plain.out));
    assert_eq!((found.len(), wanted.len()), (1_000, 1_000));
    for (at, (found, wanted)) in found.iter().zip(&wanted).enumerate() {
        let differs: Vec<&String> = found
            .as_object()
            .unwrap()
            .iter()
            .filter(|(key, value)| **value != wanted[key.as_str()])
            .map(|(key, _)| key)
            .collect();
        let expected: &[&str] = if at == 499 { &["gross_yd3"] } else { &[] };
        assert_eq!(differs, expected, "row {at}");
    }
    assert_eq!(found[499]["gross_yd3"], serde_json::json!({ "error": "no waste for A500" }));
}

fn takeoff(out: &str) -> Vec<Json> {
    let result: Json = serde_json::from_str(out).unwrap();
    let tables = result["tables"].as_array().unwrap();
    let takeoff = tables.iter().find(|table| table["key"] == "takeoff").unwrap();
    takeoff["rows"].as_array().unwrap().clone()
}
