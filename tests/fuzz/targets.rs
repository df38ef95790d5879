//! What is run on any bytes, by libFuzzer and by the mutator of `cargo test` alike: each target
//! stops where the answer is neither a result nor a reason, or where the result contradicts itself.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use std::num::NonZeroUsize;
use std::sync::{Arc, OnceLock};

use baytally::deck::layout::shape_record::plan_outline;
use baytally::finding::Finding;
use baytally::job::Job;
use baytally::length::{Length, Unit, parse, parse_list, parse_widths};
use baytally::rules::{self, Bounds, Ended, RunOptions, Shop};
use baytally::schedule::{Limits, ReadOptions, describe, read_bytes};
use baytally::value::{Record, Value};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// A target by its name; the folder of its seeds has the same.
pub type Target = (&'static str, fn(&[u8]));

pub const TARGETS: [Target; 6] = [
    ("schedule", schedule),
    ("sheet", sheet),
    ("takeoff", takeoff),
    ("length", length),
    ("script", script),
    ("outline", outline),
];

/// The bytes of a schedule, as they lie on disk.
pub fn schedule(bytes: &[u8]) {
    match read_bytes(bytes.to_vec(), "fuzz.xlsx", options()) {
        Ok((job, findings)) => {
            let said = texts(&findings);
            let shown = describe(&job.readings, &job.unread);
            assert!(said.len() < 1 << 22 && shown.len() < 1 << 22, "more text than one reads");
        }
        Err(unreadable) => assert!(!unreadable.findings.is_empty(), "refused without a reason"),
    }
}

/// The XML of a worksheet in a workbook that is whole otherwise.
pub fn sheet(bytes: &[u8]) {
    schedule(&book(bytes));
}

/// The same, and what comes of it goes through the tables: a hundred times slower.
pub fn takeoff(bytes: &[u8]) {
    const MOST_BAYS: usize = 60;
    if let Ok((job, _)) = read_bytes(book(bytes), "fuzz.xlsx", options())
        && job.bays.len() <= MOST_BAYS
    {
        run(job, None);
    }
}

/// Text where a length, a list of lengths or widths belong.
pub fn length(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for bare in [Unit::Foot, Unit::Inch, Unit::Millimetre, Unit::Metre] {
        if let Ok(typed) = parse(text, bare) {
            assert!(typed.length.abs() <= Length::LONGEST, "{text:?} is {}", typed.length);
            let shown = typed.length.to_string();
            let again = parse(&shown, Unit::Foot);
            let again = again.unwrap_or_else(|e| panic!("{text:?} is shown as {shown:?}: {e}"));
            assert_eq!(again.length.to_string(), shown, "{text:?}");
        }
        let list = parse_list(text, bare).map(|list| list.len()).unwrap_or_default();
        let widths = parse_widths(text, bare).unwrap_or_default();
        assert!(list < 1 << 20 && widths.iter().map(Vec::len).sum::<usize>() < 1 << 20);
    }
}

/// Text of a shop's script, run on a small job; text of one line is for the calculator.
pub fn script(bytes: &[u8]) {
    let line = std::str::from_utf8(bytes).ok().filter(|text| !text.contains('\n'));
    let (Some(line), Ok(scripts)) = (line, rules::scripts(None)) else {
        return run(job().clone(), Some(bytes));
    };
    match rules::calculate(line, Arc::new(scripts), bounds()) {
        Ok(value) => drop(value.to_string()),
        Err(findings) => whole(&findings),
    }
}

/// An outline as text: `corners 0,0 30,0 30,12 0,12`, `spans 10 10 10`, `opening` like corners,
/// each on its line, feet.
pub fn outline(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let mut spec = Record::default();
    let mut openings = Vec::new();
    for line in text.lines().take(64) {
        let mut words = line.split_whitespace();
        let field = words.next().unwrap_or_default();
        let list: Vec<Value> = words.take(2_048).map(numbers).collect();
        match field {
            "corners" => drop(spec.insert("corners_ft".into(), Value::List(list.into()))),
            "spans" => drop(spec.insert("spans_ft".into(), Value::List(list.into()))),
            "breaks" => drop(spec.insert("breaks_ft".into(), Value::List(list.into()))),
            "opening" => openings.push(Value::Record(Arc::new(Record::from_iter([
                (Arc::from("corners_ft"), Value::List(list.into())),
                (Arc::from("framed"), Value::Bool(true)),
            ])))),
            _ => {}
        }
    }
    for (field, number) in [
        ("cover_in", 36),
        ("longest_ft", 40),
        ("shortest_ft", 6),
        ("most_spans", 4),
        ("opening_covers", 2),
        ("opening_long_ft", 6),
        ("deducted_above_ft2", 10),
    ] {
        spec.insert(field.into(), Value::Count(number));
    }
    spec.insert("openings".into(), Value::List(openings.into()));
    match plan_outline(Arc::new(spec)) {
        Err(refusal) => drop(refusal.to_string()),
        Ok(plan) => is_consistent(&plan),
    }
}

/// `30,12` as a list of two, `10` as a number.
fn numbers(word: &str) -> Value {
    let number = |text: &str| text.parse().map_or(Value::Blank, Value::Number);
    match word.split_once(',') {
        Some((along, across)) => Value::List(Arc::from([number(along), number(across)])),
        None => number(word),
    }
}

/// The pieces are the panels and their lengths the lineal feet; no area is below none.
fn is_consistent(plan: &Record) {
    let number = |record: &Record, field: &str| {
        let value = record.get(field).and_then(Value::as_number);
        value.unwrap_or_else(|| panic!("`{field}` is missing"))
    };
    let Some(Value::List(pieces)) = plan.get("pieces") else { panic!("no pieces") };
    let (mut panels, mut lineal_ft) = (0.0, 0.0);
    for piece in pieces.iter() {
        let Value::Record(piece) = piece else { panic!("{piece} is no piece") };
        let (count, length_ft) = (number(piece, "count"), number(piece, "length_ft"));
        assert!(count >= 1.0 && length_ft > 0.0, "{count} panels of {length_ft} ft");
        panels += count;
        lineal_ft += count * length_ft;
    }
    assert_eq!(panels, number(plan, "panels"));
    let stated_ft = number(plan, "lineal_ft");
    assert!((lineal_ft - stated_ft).abs() <= 1e-6 * (1.0 + stated_ft), "{lineal_ft} {stated_ft}");
    let slack_ft2 = 1e-6 * (1.0 + number(plan, "area_ft2").abs());
    for field in ["area_ft2", "concrete_area_ft2", "skew_waste_ft2"] {
        assert!(number(plan, field) >= -slack_ft2, "`{field}` is {}", number(plan, field));
    }
}

fn options() -> &'static ReadOptions {
    static OPTIONS: OnceLock<ReadOptions> = OnceLock::new();
    OPTIONS.get_or_init(|| {
        let limits = Limits { rows: 20_000, cells: 200_000, ..Limits::default() };
        ReadOptions { limits, ..ReadOptions::default() }
    })
}

fn bounds() -> Bounds {
    Bounds { steps_a_cell: 100_000, seconds: 5, memory_mb: 64, ..Bounds::default() }
}

/// Runs the tables, with a shop's script where there is one.
fn run(job: Job, script: Option<&[u8]>) {
    let shop = script.map(|text| Shop {
        name: "fuzz".to_owned(),
        scripts: vec![("fuzz.rhai".to_owned(), text.to_vec())],
        ..Shop::default()
    });
    let mut scripts = match rules::scripts(shop.as_ref()) {
        Ok(scripts) => scripts,
        Err(findings) => return whole(&findings),
    };
    whole(&scripts.add_schedule_lines(&job));
    let options =
        RunOptions { threads: NonZeroUsize::MIN, bounds: bounds(), ..RunOptions::default() };
    match rules::run(Arc::new(job), Arc::new(scripts), Vec::new(), options) {
        Ok(report) => whole(&report.findings),
        Err(Ended::Findings(findings)) => {
            assert!(!findings.is_empty(), "ended without a reason");
            whole(&findings);
        }
        Err(ended @ Ended::UsedUp(_)) => whole(&ended.findings(&bounds())),
    }
}

/// That no finding is the program's own failure.
fn whole(findings: &[Finding]) {
    let failed = findings.iter().find(|finding| &*finding.code == "program-failed");
    assert!(failed.is_none(), "{}", failed.map(ToString::to_string).unwrap_or_default());
    let _ = texts(findings);
}

fn texts(findings: &[Finding]) -> String {
    findings.iter().fold(String::new(), |mut text, finding| {
        let _ = write!(text, "{finding}");
        text
    })
}

/// A small job: two bays, one of them with an outline.
fn job() -> &'static Job {
    static JOB: OnceLock<Job> = OnceLock::new();
    JOB.get_or_init(|| {
        let row = |cells: &[(&str, &str)]| -> Record {
            cells.iter().map(|(heading, text)| (Arc::from(*heading), Value::text(text))).collect()
        };
        let bay = |bay: &str, spans: &str, width: &str| {
            row(&[
                ("Level", "2"),
                ("Bay", bay),
                ("Profile", "3x12"),
                ("Gauge", "20"),
                ("Spans", spans),
                ("Width", width),
            ])
        };
        let corner = |x: &str, y: &str| row(&[("Level", "2"), ("Bay", "A2"), ("X", x), ("Y", y)]);
        let sheets = [
            ("Bays".to_owned(), vec![bay("A1", "3@10'", "31'"), bay("A2", "2@12'", "24'")]),
            (
                "Outlines".to_owned(),
                vec![corner("0'", "0'"), corner("24'", "0'"), corner("0'", "24'")],
            ),
        ];
        let bytes = baytally::schedule::made_bytes(&sheets).expect("a workbook in memory");
        let read = read_bytes(bytes, "small.xlsx", options());
        read.unwrap_or_else(|unreadable| panic!("{unreadable}")).0
    })
}

/// A workbook whose sheet Bays is this XML; nothing in it is compressed.
fn book(sheet: &[u8]) -> Vec<u8> {
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let relation = |kind: &str, target: &str| {
        format!(
            "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"r\" Type=\"{OFFICE}/{kind}\" \
             Target=\"{target}\"/></Relationships>"
        )
    };
    let workbook = format!(
        "<workbook xmlns:r=\"{OFFICE}\"><sheets><sheet name=\"Bays\" sheetId=\"1\" r:id=\"r\"/>\
         </sheets></workbook>"
    );
    let parts = [
        ("_rels/.rels", relation("officeDocument", "xl/workbook.xml").into_bytes()),
        ("xl/workbook.xml", workbook.into_bytes()),
        ("xl/_rels/workbook.xml.rels", relation("worksheet", "worksheets/1.xml").into_bytes()),
        ("xl/worksheets/1.xml", sheet.to_vec()),
    ];
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, content) in parts {
        zip.start_file(name, plain).expect("an archive in memory");
        zip.write_all(&content).expect("an archive in memory");
    }
    zip.finish().expect("an archive in memory").into_inner()
}
