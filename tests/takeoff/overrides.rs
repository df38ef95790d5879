//! What a shop's one changed rule changes, and nothing else.

use super::super::support::report::{report, report_with, shop, table_of};
use super::super::support::schedule_builder::{Schedule, schedule, with_types};
use baytally::table::Report;

fn two_levels() -> Schedule {
    with_types(schedule().sheet("Job").row(["Start date", "2027-03-01"]))
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Pour"])
        .row(["2", "A", "D1", "3@10'-0\"", "62'-0\"", "P1"])
        .row(["3", "A", "D1", "4@9'-6\"", "45'-0\"", "P1"])
        .row(["Roof", "R", "RD1", "6@5'-0\"", "80'-0\"", ""])
}

/// Every column in which two reports differ: `takeoff.gross_yd3`.
fn changed_columns(a: &Report, b: &Report) -> Vec<String> {
    let mut changed = Vec::new();
    assert_eq!(a.tables.len(), b.tables.len());
    for table in &a.tables {
        let other = table_of(b, &table.key);
        for (at, column) in table.columns.iter().enumerate() {
            if column.hidden {
                continue;
            }
            let cells = |table: &baytally::table::Table| -> Vec<String> {
                (0..table.rows).map(|row| table.cell(row, at).to_string()).collect()
            };
            if cells(table) != cells(other) {
                changed.push(format!("{}.{}", table.key, column.key));
            }
        }
    }
    changed
}

/// Concrete waste goes into the gross volume, the waste, the order and what hangs on it. The list
/// was made by hand from the scripts.
#[test]
fn a_changed_waste_changes_these_columns() {
    let plain = report(&two_levels());
    let shop = shop(&[("rules.rhai", "fn concrete_waste(bay) { 0.055 }\n")]);
    let changed = report_with(&two_levels(), Some(&shop));
    assert_eq!(
        changed_columns(&plain, &changed),
        [
            "summary.value",
            "takeoff.gross_yd3",
            "concrete.waste_yd3",
            "concrete.total_yd3",
            "pours.waste_yd3",
            "pours.order_yd3",
            "pours.last",
            "pours.end",
            "trucks.load_yd3",
            "trucks.empty",
            "trucks.age_min",
            "weeks.order_yd3",
            "calendar.yd3",
        ]
        .into_iter()
        .filter(|name| *name != "pours.last")
        .collect::<Vec<_>>()
    );
    let rule = |report: &Report| {
        let entry = report.in_force.iter().find(|entry| entry.name == "concrete_waste(bay)");
        entry.map(|entry| (entry.from, entry.place.clone(), entry.text.clone()))
    };
    assert_eq!(
        rule(&changed),
        Some(("shop", "rules.rhai:1".to_owned(), "fn concrete_waste(bay) { 0.055 }".to_owned()))
    );
    assert_eq!(rule(&plain).map(|(from, ..)| from), Some("bundled"));
    let hashes = |report: &Report| -> Vec<String> {
        report.in_force.iter().map(|entry| entry.hash.clone()).collect()
    };
    let differing = hashes(&plain).iter().zip(hashes(&changed)).filter(|(a, b)| **a != *b).count();
    assert_eq!(differing, 1, "one hash on the Rules sheet differs");
}

/// `layout_choices` calls `end_lap_in`; overriding the helper reaches every bundled rule above it.
#[test]
fn an_overridden_helper_reaches_every_rule_that_uses_it() {
    let plain = report(&two_levels());
    let lap = shop(&[(
        "rules.rhai",
        "fn end_joint(bay) { \"lap\" }\nfn end_lap_in(bay) { 6 }\nfn longest_panel_ft(bay) { 21 }\n",
    )]);
    let changed = report_with(&two_levels(), Some(&lap));
    let lengths = |report: &Report| -> Vec<String> {
        let order = table_of(report, "order");
        let at = order.column("length").unwrap();
        (0..order.rows).map(|row| order.cell(row, at).to_string()).collect()
    };
    // By hand: 30 ft within 21 ft is 20 + 10, 38 ft is 19 + 19, each lapped end adds 3 in.
    assert_eq!(lengths(&plain), ["\"30'-0\\\"\"", "\"38'-0\\\"\"", "\"30'-0\\\"\""]);
    assert_eq!(
        lengths(&changed),
        ["\"20'-3\\\"\"", "\"10'-3\\\"\"", "\"19'-3\\\"\"", "\"15'-3\\\"\""]
    );
}

/// The example shop: its rules, column, replaced column and table are in force, and nothing errs.
#[test]
fn the_example_shop_changes_what_it_says() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let shop = baytally::rules::Shop::read(&root.join("examples/mossgate")).unwrap();
    let plain = report(&two_levels());
    let changed = report_with(&two_levels(), Some(&shop));
    assert!(!changed.is_incomplete());
    let from_shop: Vec<&str> = changed
        .in_force
        .iter()
        .filter(|entry| entry.from == "shop")
        .map(|entry| entry.name.as_str())
        .collect();
    assert_eq!(
        from_shop,
        [
            "end_lap_in(bay)",
            "order_key()",
            "concrete_waste(bay)",
            "takeoff.labor_h",
            "order.level",
            "order.squares",
            "labor",
            "labor.level",
            "labor.area_ft2",
            "labor.labor_h",
        ]
    );
    let takeoff = table_of(&changed, "takeoff");
    let keys: Vec<&str> = takeoff.columns.iter().map(|column| &*column.key).collect();
    let at = keys.iter().position(|key| *key == "labor_h").unwrap();
    assert_eq!(keys[at - 1], "deck_lb");
    // By hand: 30 x 62 + 38 x 45 = 3,570 ft2 of floor at 0.012 h, 30 x 80 = 2,400 ft2 of roof at 0.010.
    let hours = takeoff.total(at).unwrap();
    assert!((hours - (3_570.0 * 0.012 + 2_400.0 * 0.010)).abs() < 1e-9, "{hours}");
    // By hand: waste 4 % on level 2, 5 + 2 = 7 % on level 3.
    let gross = |report: &Report, row: usize| {
        let takeoff = table_of(report, "takeoff");
        let number = |key| takeoff.cell(row, takeoff.column(key).unwrap()).as_number().unwrap();
        number("gross_yd3") / number("placed_yd3")
    };
    assert!((gross(&changed, 0) - 1.04).abs() < 1e-12 && (gross(&changed, 1) - 1.07).abs() < 1e-12);
    assert!((gross(&plain, 0) - 1.05).abs() < 1e-12);
}
