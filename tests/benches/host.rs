//! What the script host costs: columns of plain arithmetic beside bare calls of an equal function,
//! and one thread beside two.
//!
//! `cargo bench --bench host`. Ratios are taken in one run, the least of several rounds each.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::cast_precision_loss,
    reason = "what can not go on here stops loudly"
)]

use std::fmt::Write as _;
use std::num::NonZeroUsize;
use std::sync::Arc;
use std::time::Instant;

use baytally::job::Job;
use baytally::rules::{self, RunOptions, Scripts, Shop};
use baytally::schedule::{ReadOptions, read_bytes};
use rust_xlsxwriter::Workbook;

const BAYS: usize = 20_000;
const COLUMNS: usize = 40;
const ROUNDS: usize = 5;

fn main() {
    let job = Arc::new(read_bytes(schedule(), "made.xlsx", &ReadOptions::default()).unwrap().0);
    let few = scripts(1);
    let many = scripts(COLUMNS + 1);
    let ours = |scripts: &Arc<Scripts>, threads| least(|| run(&job, scripts, threads));
    let one = ours(&many, 1);
    let cells = BAYS * COLUMNS;
    let a_cell = (one - ours(&few, 1)) / cells as f64;
    let bare = least(bare) / cells as f64;
    println!(
        "a column's cell {:.0} ns, a bare call {:.0} ns: {:.2} times (at most 1.5)",
        a_cell * 1e9,
        bare * 1e9,
        a_cell / bare
    );
    let two = ours(&many, 2);
    println!(
        "one thread {:.0} ms, two {:.0} ms: {:.2} times as fast (at least 1.7)",
        one * 1e3,
        two * 1e3,
        one / two
    );
}

fn least(mut run: impl FnMut()) -> f64 {
    let timed = |_| {
        let start = Instant::now();
        run();
        start.elapsed().as_secs_f64()
    };
    (0..ROUNDS).map(timed).fold(f64::INFINITY, f64::min)
}

/// The bundled tables are hidden from this: only the shop's own table is computed on top.
fn scripts(columns: usize) -> Arc<Scripts> {
    let mut text = "table(\"figures\", \"Figures\", |job| job.bays);\n".to_owned();
    for at in 0..columns {
        writeln!(
            text,
            "column(\"c{at}\", \"C\", \"ft2\", |bay| bay.length_ft * bay.width_ft * 1.0{at} + bay.copies);"
        )
        .unwrap();
    }
    let shop = Shop {
        name: "bench".to_owned(),
        scripts: vec![("figures.rhai".to_owned(), text.into_bytes())],
        ..Shop::default()
    };
    Arc::new(rules::scripts(Some(&shop)).unwrap())
}

fn run(job: &Arc<Job>, scripts: &Arc<Scripts>, threads: usize) {
    let threads = NonZeroUsize::new(threads).unwrap();
    let options = RunOptions { threads, ..RunOptions::default() };
    assert!(rules::run(job.clone(), scripts.clone(), Vec::new(), options).is_ok());
}

/// The same arithmetic by the engine's own calls, without rows, tables or bounds.
fn bare() {
    let engine = rhai::Engine::new();
    let ast = engine.compile("fn cell(l, w, c) { l * w * 1.05 + c }").unwrap();
    let mut scope = rhai::Scope::new();
    let mut sum = 0.0;
    for at in 0..BAYS * COLUMNS {
        let width_ft = (at % 60) as f64;
        sum += engine.call_fn::<f64>(&mut scope, &ast, "cell", (30.0, width_ft, 1_i64)).unwrap();
    }
    assert!(sum > 0.0);
}

/// Bays of a few sorts, so that the layouts of the bundled tables cost little.
fn schedule() -> Vec<u8> {
    let mut book = Workbook::new();
    let types = book.add_worksheet().set_name("Types").unwrap();
    for (row, cells) in
        (0..).zip([["Type", "Use", "Profile", "Gauge"], ["R", "roof", "1.5x6", "22"]])
    {
        for (column, cell) in (0..).zip(cells) {
            types.write_string(row, column, cell).unwrap();
        }
    }
    let sheet = book.add_worksheet().set_name("Bays").unwrap();
    for (column, heading) in (0..).zip(["Level", "Bay", "Type", "Spans", "Width"]) {
        sheet.write_string(0, column, heading).unwrap();
    }
    for bay in 0..BAYS {
        let row = u32::try_from(bay + 1).unwrap();
        let width = format!("{}'-0\"", 20 + bay % 7);
        let cells =
            ["1".to_owned(), format!("B{bay}"), "R".to_owned(), "3@6'-0\"".to_owned(), width];
        for (column, cell) in (0..).zip(cells) {
            sheet.write_string(row, column, cell).unwrap();
        }
    }
    book.save_to_buffer().unwrap()
}
