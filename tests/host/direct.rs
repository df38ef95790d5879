//! Functions computed without the engine give what the engine gives, cell by cell.

use std::sync::Arc;

use baytally::length::Length;
use baytally::rules::{self, Bounds, RunOptions};
use baytally::schedule::{self, ReadOptions};
use baytally::table::Report;
use baytally::value::Value;
use proptest::prelude::*;

use crate::support::program::example;
use crate::support::report::{cell, shop, try_report_within};
use crate::support::schedule_builder::{Schedule, schedule, with_types};

fn within(direct_rows: usize) -> RunOptions {
    let bounds = Bounds { direct_rows, ..Bounds::default() };
    RunOptions { bounds, ..RunOptions::default() }
}

/// All tables and findings of both; a number is the same to its last bit.
fn compare(direct: &Report, engine: &Report) -> Result<usize, String> {
    let mut cells = 0;
    for (one, other) in direct.tables.iter().zip(&engine.tables) {
        if (one.rows, one.columns.len()) != (other.rows, other.columns.len()) {
            return Err(format!("{}: {} rows, {} by the engine", one.key, one.rows, other.rows));
        }
        for row in 0..one.rows {
            for (at, column) in one.columns.iter().enumerate() {
                let (a, b) = (one.cell(row, at), other.cell(row, at));
                cells += 1;
                if a != b {
                    let (table, column) = (&one.key, &column.key);
                    return Err(format!("{table} row {row} {column}: {a:?}, by the engine {b:?}"));
                }
            }
        }
    }
    for (one, other) in direct.findings.iter().zip(&engine.findings) {
        if one != other {
            return Err(format!("{one:#?}\nby the engine {other:#?}"));
        }
    }
    if direct.findings.len() != engine.findings.len() {
        let (one, other) = (direct.findings.len(), engine.findings.len());
        return Err(format!("{one} findings, {other} by the engine"));
    }
    Ok(cells)
}

#[test]
fn every_cell_of_the_example_is_the_engines() {
    for book in ["schedule.xlsx", "priced.xlsx"] {
        let path = example().with_file_name(book);
        let (job, findings) = schedule::read(&path, &ReadOptions::default()).unwrap();
        let (job, scripts) = (Arc::new(job), Arc::new(rules::scripts(None).unwrap()));
        let run = |rows| {
            rules::run(job.clone(), scripts.clone(), findings.clone(), within(rows)).unwrap()
        };
        let cells = compare(&run(0), &run(usize::MAX)).unwrap();
        assert!(cells > 5_000, "{cells}");
    }
}

/// Words of the language in one function each, with what makes them give up.
const WORDS: &str = r#"
table("words", "Words", |job| job.bays);
column("a", "A", "", |bay| { let x = 1; for n in [1, 2, 3] { x += n; } x * bay.copies });
column("b", "B", "", |bay| { if bay.width_ft > 30 { return "wide"; } "narrow" });
column("c", "C", "", |bay| bay.pour ?? bay.status ?? 0);
column("d", "D", "", |bay| -bay.width_ft / 3 - -bay.copies);
column("e", "E", "", |bay| { let m = #{ z: 1, b: bay.width_ft }; m.a = m.b * 2; m.a + m["z"] });
column("f", "F", "", |bay| `${bay.bay}-${bay.copies}`);
column("g", "G", "", |bay| bay.widths_ft[0][0] + bay.spans_ft.len());
column("h", "H", "", |bay| bay.copies == 2 && (bay.width_ft != 20.0 || !(bay.level < "L3")));
column("i", "I", "", |bay| { let x = 5; { let x = 6; } x });
column("j", "J", "", |bay| { if bay.copies == 1 { } });
column("k", "K", "", |bay, job| job.value("grade"));
column("l", "L", "", |bay| bay.copies / 2);
column("m", "M", "", |bay| twice(bay.width_ft) + twice(bay.copies));
column("n", "N", "", |bay| bay.width_ft / (bay.copies - 2));
column("o", "O", "", |bay| bay.nothing_of_the_kind);
column("p", "P", "", |bay| bay.copies * 9223372036854775807);
column("q", "Q", "", |bay| length::text(bay.width_ft - 25));
column("r", "R", "", |bay| { 42; });
column("s", "S", "", |bay| { let x = 1; x = x + 1; });
column("t", "T", "", |bay| bay.r == () && bay.n > 0);
column("u", "U", "", |bay| bay.has("deck") && !bay.has("nothing"));
column("v", "V", "", |bay| if bay.copies > 1 { "many" } else if bay.width_ft > 30 { "wide" });
column("w", "W", "", |bay| { let list = [bay.copies, 7]; list[1] - list[0] });
column("x", "X", "", |bay| bay.x_of_none ?? 1);
column("y", "Y", "", |bay| bay.width_ft + bay.copies + 0.1);
column("aa", "AA", "", |bay| 0.1 + 0.2 == 0.3 && !(0.1 + 0.2 > 0.3) && bay.copies * 0.1 >= bay.copies * 0.3 / 3);
column("ab", "AB", "", |bay| bay.width_ft / 3 * 3 <= bay.width_ft && !(bay.width_ft / 7 * 7 < bay.width_ft));
column("ac", "AC", "", |bay| { let m = #{ deck_use: "own" }; m.deck_use + bay.deck_use });
column("ad", "AD", "", |bay| { let m = #{ "use": "own" }; m.deck_use });
column("ae", "AE", "", |bay| bay.level.to_lower() + bay.bay.sub_string(1) + bay.bay.to_upper().sub_string(9));
column("af", "AF", "", |bay| `${bay.width_ft}|${bay.pour}|${bay.width_ft / 3}|${bay.copies * 1e15}|${-bay.width_ft * 1e-9}`);
column("z", "Z", "list", |bay| [bay.copies, "a", ()]).hidden();
fn twice(x) { if x == () { return; } x * 2 }
"#;

/// Tables made of rows as a whole, and columns that go over lists.
const LISTS: &str = r#"
table("grouped", "Grouped", |job| {
    let bays = job.bays;
    let factor = 3;
    let wide = bays.filter(|bay| bay.width_ft > 25);
    let pairs = bays.flat_map(|bay| [1, 2].map(|n| #{ row: bay, n: n, size: bay.width_ft * factor })
        .filter(|part| part.n < bay.copies + 1));
    let by_size = pairs.group(["n", "level"]).map(|part| #{ row: part.rows[0], n: part.n, what: "pair",
        sum: part.rows.sum("size"), most: part.rows.max("size"), least: part.rows.min("width_ft") });
    let rest = wide.where("copies", 2).map(|bay| #{ row: bay, n: 0, what: "wide", sum: bay.copies, most: (), least: () });
    let marks = [];
    for bay in wide { if bay.copies > 1 { marks.push(#{ row: bay, n: marks.len(), what: "pushed", sum: 1.5, most: (), least: () }); } }
    by_size + rest + marks
});
column("n", "N", "count", |part| part.n);
column("what", "What", "text", |part| part.what);
column("sum", "Sum", "", |part| part.sum);
column("most", "Most", "", |part| part.most);
column("least", "Least", "", |part| part.least);
column("named", "Named", "text", |part| part["bay"] + "/" + part["what"]);
column("spans", "Spans", "ft", |part| part.spans_ft.reduce(|sum, span_ft| sum + span_ft, 0.0) * part.n);
column("counted", "Counted", "count", |part| {
    let at = 0;
    let count = 0;
    while at < 9 { at += 1; if at == 2 { continue; } if at > part.n + 4 { break; } count += at; }
    for n in 1..part.copies + 1 { count -= n; }
    for n in 5..2 { count *= 9; }
    count
});
column("listed", "Listed", "text", |part| {
    let list = [part.n];
    list.push(7);
    let other = list;
    other.push(8);
    text::list(list + other)
});
column("within", "Within", "", |part| part.n in [0, 1] && part.bay.contains("B") && !("x" in part.what) && "a" in #{ a: 1 });
column("starts", "Starts", "", |part| part.what.starts_with("pa") || part.what.ends_with("ed"));
column("past", "Past", "", |part| [1, 2][part.n]);
column("odd", "Odd", "", |part| part.nothing + 1);

table("used", "Used", |job| job.bays.group(["deck_use"]).map(|use_of| #{ row: use_of.rows[0], rows: use_of.rows,
    deck_use: use_of.deck_use }));
column("used", "Used", "text", |line| line.deck_use);
column("bays", "Bays", "count", |line| line.rows.len);

table("sorted", "Sorted", |job| job.table("grouped").sort(["-sum", "n"]).numbered("no", ["what"], ["n"])
    .without_errors("past"));
column("no", "No.", "count", |line| line.no);
column("first_bay", "First", "text", |line, job| job.table("grouped").find("what", line.what).bay);
column("alike", "Alike", "count", |line, job| job.table("grouped").where("n", line.n).len);
column("errors", "Errors", "", |line, job| job.table("grouped").has_error("past") && !line.has_error("n"));
column("kinds", "Kinds", "list", |line, job| job.table("grouped").unique("what")).hidden();

check("odd-sum", "warning", |job| job.table("sorted").filter(|line| line.sum > 40).map(|line| #{ row: line, of: [line] }),
    |line| if line.of[0].no in [1, 3] { `sum of ${line.row.bay}` });
"#;

/// Branches that some rows take and others do not, and what fails in some rows alone.
const BRANCHES: &str = r#"
table("branches", "Branches", |job| job.bays.map(|bay| #{
    row: bay, n: bay.copies, sort_of: if bay.copies > 1 { 1 } else if bay.width_ft > 30 { 1.0 } else { "1" },
}).as_rows());
column("told", "Told", "", |bay| { let text = ""; for at in 0..2 { text += `${bay.sort_of};`; } text });
column("n_more", "More", "", |bay| { let sum = 0; for at in 0..3 { sum += more(bay, at); } sum });
fn more(row, by) { if by == 2 { row.n + by } else if row.n > 1 { row.width_ft * by } else { row.missing_of_one ?? by } }
column("sort_of", "Sort of", "", |bay| { let text = ""; for at in 0..2 { text += `${bay.sort_of}-`; } text });
column("put", "Put", "", |bay| { let x = 1; if bay.n > 1 { x = bay.width_ft; } x * 2 });
column("put_field", "Put field", "", |bay| {
    let m = #{ k: bay.n, w: bay.width_ft };
    if bay.n > 1 { m.k = bay.pour; m.l = "x"; }
    m.k ?? m.w
});
column("parts", "Parts", "", |bay| part(bay) + part(bay.row) * bay.n);
fn part(bay) {
    let w = bay.width_ft;
    if w > 30 { return 1; }
    let half = w / 2;
    if half > 10 { return half; } else if half > 9 { } else { return w - half; }
    0
}
column("late", "Late", "", |bay| if bay.n > 2 { bay.fails } else { bay.width_ft });
column("fails", "Fails", "", |bay| bay.width_ft / (bay.n - 3.0));
column("reads", "Reads", "", |bay| bay.n == 3 || bay.fails > 0);
column("both", "Both", "", |bay| bay.n != 3 && bay.fails < 0 && bay.fails > -9);
column("ring_a", "Ring", "", |bay| if bay.n > 1 { bay.ring_b } else { 1 });
column("ring_b", "Ring", "", |bay| if bay.n > 2 { bay.ring_a } else { 2 });
column("mixed", "Mixed", "any", |bay| if bay.n == 1 { "one" } else if bay.n == 2 { 2 } else { () });
column("kinds", "Kinds", "any", |bay| bay.mixed ?? bay.pour ?? bay.width_ft > 20);
column("constant", "Constant", "", |bay| if 1 < 2 { 5 } else { bay.nothing });
column("sum", "Sum", "", |bay| bay.n).running();
column("sums", "Sums", "", |bay| if bay.n == 2 { bay.width_ft } else { () }).running();
column("width_ft", "Width", "ft", |bay| bay.width_ft + 1);
column("wide", "Wide", "", |bay| bay.width_ft > 20 == (bay.row.width_ft > 20));
column("text", "Text", "text", |bay| if bay.pour == "P1" { `${bay.bay}/${bay.n}` } else { bay.pour });
column("rest", "Rest", "", |bay| bay.row.spans_ft[0] * -bay.n - bay.spans_ft.len());
column("list", "List", "list", |bay| if bay.n > 1 { [bay.n, bay.pour] } else { [] }).hidden();
column("odd", "Odd", "", |bay| if bay.n > 2 { [1] } else { 1 });
column("head", "Head", "text", |bay, job| if bay.n > 1 { job.value("grade") } else { job.value("none") });

check("wide-bay", "note", |job| job.table("branches").filter(|bay| bay.n > 1), |bay| {
    if bay.width_ft > 20 { `${bay.bay} is ${bay.width_ft} wide, ${bay.kinds}` }
});
column("known", "Known", "", |bay| bay.width_ft >= 0).hidden();
column("alike", "Alike", "record", |bay| #{ kind: "bay", of: [1, 2] }).hidden();

table("alike", "Alike", |job| job.table("branches").filter(|bay| bay.known && bay.alike.kind == "bay").sort(["known"]));
column("kind", "Kind", "text", |bay| if bay.known { bay.alike.kind } else { bay.bay });
column("of", "Of", "", |bay| bay.alike.of[1] + bay.constant);
column("not", "Not", "", |bay| !bay.known || bay.constant == 6 || bay.constant < bay.n);

table("parted", "Parted", |job| job.table("branches").without_errors("late"))
    .split(|bay| if bay.n > 1 { [#{ row: bay, part: 1 }, #{ row: bay, part: bay.n }] } else { [] });
column("part", "Part", "", |bay| bay.part * bay.put);
"#;

/// Functions that change what they captured: each row sees what the rows before it left.
const COUNTED: &str = r#"
table("counted", "Counted", |job| {
    let n = 0;
    let last = #{ bay: "none" };
    let bays = job.bays;
    let rows = bays.map(|bay| {
        n += bay.copies;
        let before = last.bay;
        last.bay = bay.bay;
        #{ row: bay, n: n, before: before }
    });
    let seen = 0;
    let third = bays.filter(|bay| { seen += 1; seen == 3 });
    let marks = [];
    let odd = 0;
    let listed = bays.map(|bay| {
        if bay.copies > 1 { marks.push(bay.bay); while odd < 9 { odd += 2; } }
        marks.len() * 100 + odd
    });
    let at = -1;
    rows.map(|row| {
        at += 1;
        #{ row: row.row, n: row.n, before: row.before, third: third.len, listed: listed[at] }
    })
});
column("listed", "Listed", "count", |row| row.listed);
column("n", "N", "count", |row| row.n);
column("before", "Before", "text", |row| row.before);
column("third", "Third", "count", |row| row.third);
"#;

fn generated(rows: &[(u8, i64, i64, i64, u8)]) -> Schedule {
    let mut made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Copies", "Pour"]);
    for (at, &(spans, span_64, width_64, copies, kind)) in rows.iter().enumerate() {
        made = made.row([
            format!("L{}", at % 4),
            format!("B{at}"),
            if kind == 0 { "RD1" } else { "D1" }.to_owned(),
            format!("{spans}@{}", Length::sixty_fourths(span_64)),
            Length::sixty_fourths(width_64).to_string(),
            copies.to_string(),
            if kind == 2 { "P1" } else { "" }.to_owned(),
        ]);
    }
    made
}

/// Computed without the engine as far as that goes, and by the engine alone.
fn both_ways(schedule: &Schedule) -> Result<usize, String> {
    let shop = shop(&[
        ("words.rhai", WORDS),
        ("lists.rhai", LISTS),
        ("counted.rhai", COUNTED),
        ("branches.rhai", BRANCHES),
    ]);
    let run = |rows| try_report_within(schedule, Some(&shop), within(rows)).unwrap();
    compare(&run(0), &run(usize::MAX))
}

/// The order in which the engine reads the parts of an expression, functions that want more than they
/// are given or use what they are called on, one name in two files, maps and lists handed to the
/// engine, branches that only some rows take.
const ODD: &str = r#"
table("odd", "Odd", |job| job.bays);
fn two(a, b) { a * 100 + b }
column("a1", "A1", "", |bay| { let x = 1; x += { x = 5; 1 }; x });
column("a2", "A2", "", |bay| { let x = 3; x += if x > 2 { x = 0; 1 } else { 2 }; x });
column("a3", "A3", "", |bay| { let x = 1; two(x, { x = 9; x }) });
column("a4", "A4", "", |bay| { let x = 1; x / { x = 2; x } });
column("a5", "A5", "", |bay| { let l = [1, 2]; l[{ l = [7]; 0 }] });
column("a6", "A6", "", |bay| { let t = "abc"; t.sub_string({ t = "xyz12"; 1 }) });
column("a7", "A7", "", |bay, job| { let r = job.bays; r.sum({ r = job.bays.filter(|b| b.copies > 1); "copies" }) });
column("a8", "A8", "", |bay| { let x = 1; let m = #{ z: x, a: { x = 2; x }, m: x }; `${m.z}${m.a}${m.m}` });
column("a9", "A9", "", |bay| { let x = [1]; let n = [x.len(), { x.push(2); x.len() }, x.len()]; `${n[0]}${n[1]}${n[2]}` });
column("b1", "B1", "", |bay, job| job.bays.filter(|b| job.bays.where("copies", b.copies).len > 0).len);
column("b2", "B2", "", |bay| { let l = [1, 2]; l.map(|x| l.len() + x).len() });
column("b3", "B3", "", |bay, job| job.bays.filter(|b, j| j.bays.len > 0).len);
column("b4", "B4", "", |bay, job| job.bays.as_rows().len);
column("b5", "B5", "", |bay| { let m = #{ a: [bay, bay] }; m.a.sum("copies") });
column("b5b", "B5b", "", |bay, job| { let m = job.bays.map(|b| #{ a: [b, b] }); m[0].a.sum("copies") });
column("b5c", "B5c", "", |bay, job| { let m = job.bays.map(|b| #{ a: [b, b] }); m[0].a.len() });
column("b6", "B6", "", |bay, job| 5 in job.bays.filter(|b| false));
column("b7", "B7", "", |bay, job| { let l = switch bay.copies { 1 => 1, _ => 2 }; let made = job.bays.map(|b| #{ n: #{ b: 1 } }); made[0].n.b = 7; made[0].n.b + l });
column("b8", "B8", "", |bay, job| { let l = switch bay.copies { 1 => 1, _ => 2 }; let made = job.bays.map(|b| #{ n: [b] }); made[0].n.len() + l });
column("b9", "B9", "", |bay, job| { let l = switch bay.copies { 1 => 1, _ => 2 }; let made = job.bays.map(|b| #{ n: #{ b: b.copies } }); type_of(made[0].n) + l });
column("c1", "C1", "", |bay| { let all = [#{ a: 1 }, #{ a: 2, b: 3 }]; all[1].c = 4; all[1].c + all[0].a });
column("c2", "C2", "", |bay| { let m = #{ a: #{ b: 1 } }; m.a.b = 2; m.a.b });
column("lo", "Lo", "", |row| if row.level == "L2" { row.hi + 1 } else { row.copies });
column("hi", "Hi", "", |row| if row.level == "L2" { row.copies } else { row.lo + 1 });
column("x", "X", "", |row| if row.level == "L1" { row.y + 1 } else { 1 });
column("y", "Y", "", |row| { let l = switch row.copies { 1 => 1, _ => 2 }; if row.level == "L2" { row.x + l } else { row.z } });
column("z", "Z", "", |row| if row.level == "L3" { row.x } else { row.copies });
"#;

/// A chain of columns of which each row goes over a few.
fn long_chain() -> String {
    let mut text = "table(\"chain\", \"Chain\", |job| job.bays);\n".to_owned();
    for at in 0..90 {
        let next = (at + 1) % 90;
        text += &format!(
            "column(\"k{at}\", \"K{at}\", \"\", |row| if (row.copies * 30 + {at}) % 30 < 25 {{ row.copies + {at} }} \
             else if {at} % 30 == 29 {{ 0 }} else {{ row.k{next} }});\n"
        );
    }
    text
}

#[test]
fn odd_functions_are_the_engines() {
    let helper = |file: &str, value: i64| {
        format!(
            "table(\"{file}\", \"{file}\", |job| job.bays);\nfn helper(bay) {{ {value} }}\n\
             column(\"y\", \"Y\", \"\", Fn(\"helper\"));\ncolumn(\"z\", \"Z\", \"\", |bay| helper(bay) + 1);\n"
        )
    };
    let (one, two, chain) = (helper("one", 1), helper("two", 2), long_chain());
    let shop =
        shop(&[("odd.rhai", ODD), ("one.rhai", &one), ("two.rhai", &two), ("chain.rhai", &chain)]);
    let rows: Vec<_> =
        (0..40).map(|at| (2, 64 * 12 * 8, 64 * 12 * (3 + at), at % 3 + 1, 1)).collect();
    let run = |rows_wanted| {
        try_report_within(&generated(&rows), Some(&shop), within(rows_wanted)).unwrap()
    };
    let (direct, engine) = (run(0), run(usize::MAX));
    compare(&direct, &engine).unwrap();
    let values = |table: &str, column: &str| {
        let table = direct.table(table).unwrap();
        let at = table.column(column).unwrap();
        table.cell(5, at).to_string()
    };
    assert_eq!((values("one", "y"), values("two", "y")), ("1".to_owned(), "2".to_owned()));
    let rings =
        |finding: &&baytally::finding::Finding| ["cycle", "too-deep"].contains(&&*finding.code);
    assert_eq!(direct.findings.iter().filter(rings).count(), 0);
}

/// Texts, lists and maps that grow, calls that double and lists in lists are bounded as by the engine.
#[test]
fn bounds_are_the_engines() {
    let mut calls = "fn f0(x) { x }\n".to_owned();
    for at in 1..40 {
        calls += &format!("fn f{at}(x) {{ f{}(x) + f{}(x) }}\n", at - 1, at - 1);
    }
    let grows = r#"
table("grows", "Grows", |job| job.bays);
column("calls", "Calls", "", |bay| f39(bay.copies));
column("few", "Few", "", |bay| f5(bay.copies));
column("text", "Text", "", |bay| { let a = bay.level + "xxxxxxxx"; for n in 0..40 { a = a + a; } a.len() });
column("straight", "Straight", "", |bay| { let a = bay.level + "xxxxxxxx"; let b = a + a + a + a; let c = b + b + b + b;
    let d = c + c + c + c; let e = d + d + d + d; let f = e + e + e + e; let g = f + f + f + f; g == a });
column("list", "List", "", |bay| { let l = [bay.copies]; for n in 0..40 { l = l + l; } l.len() });
column("twofold", "Twofold", "", |bay| { let l = [bay.copies]; for n in 0..40 { l = [l, l]; } l.len() });
column("mapped", "Mapped", "", |bay| { let m = #{ a: bay.copies }; for n in 0..40 { m = #{ a: m, b: m }; } 1 });
column("nested", "Nested", "", |bay| { let l = []; for n in 0..200 { l = [l]; } l.len() });
column("each", "Each", "", |bay| [bay.level + "xxxxxxxx"].map(|a| a + a + a + a).map(|a| a + a + a + a)
    .map(|a| a + a + a + a).map(|a| a + a + a + a).map(|a| a + a + a + a).map(|a| a + a + a + a).len());
column("h0", "H0", "list", |bay| [bay.copies, 1]).hidden();
for at in 0..20 { column(`h${at + 1}`, `H${at + 1}`, "list", |bay| [bay[`h${at}`], bay[`h${at}`]]).hidden(); }
column("last", "Last", "", |bay| bay.h20.len());
"#;
    let text = format!("{calls}{grows}");
    let shop = shop(&[("grows.rhai", &text)]);
    let rows: Vec<_> =
        (0..40).map(|at| (2, 64 * 12 * 8, 64 * 12 * (3 + at), at % 3 + 1, 1)).collect();
    let run = |direct_rows| {
        let bounds = Bounds {
            direct_rows,
            steps_a_cell: 40_000,
            text: 40_000,
            list: 4_000,
            map: 4_000,
            ..Bounds::default()
        };
        let options = RunOptions { bounds, ..RunOptions::default() };
        try_report_within(&generated(&rows), Some(&shop), options).unwrap()
    };
    let (direct, engine) = (run(0), run(usize::MAX));
    compare(&direct, &engine).unwrap();
    let table = direct.table("grows").unwrap();
    let is_error = |column: &str| {
        matches!(*table.cell(3, table.column(column).unwrap()), baytally::value::Value::Error(_))
    };
    for column in ["calls", "text", "straight", "list", "twofold", "mapped", "each", "h20"] {
        assert!(is_error(column), "{column}");
    }
    assert!(!is_error("few"));
}

/// What is given to filter, map and flat_map takes from the steps of its cell, for however many rows.
#[test]
fn loops_in_what_is_given_take_the_steps_of_their_cell() {
    const LOOPS: &str = r#"
table("loops", "Loops", |job| [#{}]);
column("few", "Few", "count", |row, job| job.bays.filter(|bay| { let n = 0; while n < 99 { n += 1; } n > 9 }).len);
column("many", "Many", "count", |row, job| job.bays.filter(|bay| { let n = 0; while n < 200000 { n += 1; } n > 9 }).len);
"#;
    let rows: Vec<_> = (0..40).map(|at| (2, 64 * 12 * 8, 64 * 12 * (3 + at), 1, 1)).collect();
    let (schedule, shop) = (generated(&rows), shop(&[("loops.rhai", LOOPS)]));
    let run = |rows| try_report_within(&schedule, Some(&shop), within(rows)).unwrap();
    let direct = run(0);
    assert!(direct.findings.iter().any(|finding| &*finding.code == "too-many-steps"));
    compare(&direct, &run(usize::MAX)).unwrap();
}

/// More rows than are computed at a time, and errors in the first of them, in the middle, or in none.
#[test]
fn every_cell_of_many_rows_is_the_engines() {
    for most in [2, 3] {
        let row = |at: i64| {
            let copies = if (600..1_030).contains(&at) { at % most + 1 } else { 1 };
            (2, 64 * 12 * 8, 64 * 12 * (3 + at % 40), copies, u8::try_from(at % 3).unwrap())
        };
        let rows: Vec<_> = (0..1_100).map(row).collect();
        let cells = both_ways(&generated(&rows)).unwrap();
        assert!(cells > 100_000, "{cells}");
    }
}

/// One field is the same down a block and another changes, and the other way round in the next: rows are
/// not alike for having the same values in other fields.
#[test]
fn rows_alike_are_so_field_by_field() {
    const SWAPPED: &str = r#"
table("first", "First", |job| job.bays);
column("one", "One", "", |bay| bay.level);
column("other", "Other", "", |bay| bay.bay);
table("then", "Then", |job| job.table("first").map(|bay| #{ row: bay }).as_rows());
column("both", "Both", "", |bay| { let text = ""; for at in 0..1 { text += `${bay.one}<${bay.other}`; } text });
"#;
    let mut made =
        with_types(schedule()).sheet("Bays").row(["Level", "Bay", "Type", "Spans", "Width"]);
    for at in 0..1_024 {
        let (same, changing) = ("X", ["X", "Y"][at % 2]);
        let (level, bay) = if at < 512 { (same, changing) } else { (changing, same) };
        made = made.row([level, bay, "D1", "2@8'-0\"", "30'-0\""]);
    }
    let shop = shop(&[("swapped.rhai", SWAPPED)]);
    let run = |rows| try_report_within(&made, Some(&shop), within(rows)).unwrap();
    let direct = run(0);
    assert_eq!(cell(&direct, "then", 1, "both"), Value::text("X<Y"));
    assert_eq!(cell(&direct, "then", 513, "both"), Value::text("Y<X"));
    compare(&direct, &run(usize::MAX)).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn every_cell_of_generated_jobs_is_the_engines(
        rows in prop::collection::vec(
            (1_u8..6, 64 * 12 * 4_i64..64 * 12 * 12, 64 * 12 * 3_i64..64 * 12 * 60, 1_i64..4, 0_u8..3),
            1..16,
        )
    ) {
        let schedule = generated(&rows);
        let compared = both_ways(&schedule);
        prop_assert!(compared.is_ok(), "{}", compared.unwrap_err());
    }
}
