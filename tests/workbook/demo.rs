//! An invented job, put together by hand: no real building, firm or person.

use std::sync::Arc;

use baytally::cells::Cells;
use baytally::finding::{Finding, Place};
use baytally::table::{Chart, Column, InForce, Report, Table};
use baytally::value::{Record, Value};
use jiff::civil::date;

/// A column: key, heading, unit; a `+` before the unit asks for a total.
pub fn column(key: &str, heading: &str, unit: &str) -> Column {
    Column {
        key: key.into(),
        heading: heading.into(),
        unit: unit.trim_start_matches('+').into(),
        total: unit.starts_with('+'),
        note: None,
        format: None,
        hidden: false,
        origin: Place::Script { file: "takeoff.rhai".into(), line: 12, column: 1 },
    }
}

pub fn table(key: &str, title: &str, columns: Vec<Column>, rows: Vec<Vec<Value>>) -> Table {
    assert!(rows.iter().all(|row| row.len() == columns.len()), "{key}");
    Table {
        key: key.into(),
        title: title.into(),
        rows: rows.len(),
        cells: Cells::of(columns.len(), rows.into_iter().flatten()),
        columns,
    }
}

pub fn text(text: impl AsRef<str>) -> Value {
    Value::text(text)
}

pub fn at(table: &str, row: u32, column: &str) -> Place {
    Place::Table { table: table.into(), row, column: column.into(), about: "".into() }
}

pub fn report(tables: Vec<Table>) -> Report {
    let mut head = Record::default();
    for (key, value) in [
        ("Job", text("Invented Tower (demo)")),
        ("Number", text("D-1001")),
        ("Place", text("Nowhere")),
        ("Estimator", text("A. Example")),
        ("Customer", text("Example Erectors (invented)")),
        ("Start date", Value::Date(date(2026, 3, 2))),
    ] {
        head.insert(key.into(), value);
    }
    Report {
        head,
        schedule: "demo.xlsx".to_string(),
        schedule_hash: "3f2a".repeat(16),
        tables: tables.into_iter().map(Into::into).collect(),
        in_force: in_force().into(),
        ..Report::default()
    }
}

fn in_force() -> Vec<InForce> {
    let rule = |kind, name: &str, text: &str, from, place: &str, about: &str| InForce {
        kind,
        name: name.to_string(),
        text: text.to_string(),
        from,
        place: place.to_string(),
        hash: "0badcafe".to_string(),
        about: about.to_string(),
    };
    vec![
        rule(
            "rule",
            "end_lap_in(deck)",
            "if deck.use == \"roof\" { 2.0 } else { 0.0 }",
            "bundled",
            "rules.rhai:12",
            "End lap of panels over a support, in; floor deck is butted, roof deck lapped.",
        ),
        rule(
            "rule",
            "concrete_waste(pour)",
            "1.05",
            "shop",
            "rules.rhai:3",
            "What is ordered beyond the net volume, as a factor.",
        ),
        rule(
            "column",
            "takeoff.deck_lb",
            "|bay| bay.panel_area_ft2 * weight::deck_psf(bay.deck)",
            "bundled",
            "takeoff.rhai:31",
            "Covered area at the catalogue weight; side laps are inside the cover width.",
        ),
        rule("rule", "longest_panel_ft()", "36", "schedule", "Rules!B3", ""),
    ]
}

/// Everything at once: wide and narrow tables, marks of each weight, errors, notes, hidden columns.
pub fn full() -> Report {
    let mut report = report(vec![summary(), takeoff(48), order(), pours(), loads()]);
    report.charts = [
        ("Concrete a day", "pours", "day", "order_yd3"),
        ("Deck weight by level", "takeoff", "level", "deck_lb"),
        ("Fill of trucks", "loads", "load", "fill"),
    ]
    .map(|(title, table, category, value)| Chart {
        title: title.into(),
        table: table.into(),
        category: category.into(),
        value: value.into(),
    })
    .to_vec();
    let cell = |row, column| Place::Cell { sheet: "Bays".into(), row, column };
    report.findings = vec![
        Finding::error(
            "bad-length",
            "found `10-Oct`, wanted a length such as 10'-6\"; the spreadsheet turned it into a date",
        )
        .at(cell(13, 4))
        .at(at("takeoff", 12, "panel_ft"))
        .hint("format the column as text and type the length again"),
        Finding::warning(
            "span-over-unshored-limit",
            "a span of 13'-6\" is over the limit of 12'-11\" of 3x12, 20 ga under a 6 1/2 in slab",
        )
        .at(cell(5, 4))
        .at(cell(9, 4))
        .at(at("takeoff", 4, "span_ft"))
        .at(at("takeoff", 8, "span_ft"))
        .hint("ask the engineer of record whether the deck is shored"),
        Finding::warning("not-orderable", "the line lacks its finish")
            .at(at("order", 2, "finish"))
            .hint("fill in Finish on the sheet Types"),
        Finding::note("cover-by-default", "no cover is given for D1; 36 in of the catalogue is used")
            .at(Place::Sheet("Types".into()))
            .at(at("takeoff", 0, "cover_in")),
        Finding::note("rule-replaced", "`concrete_waste` is the shop's")
            .at(Place::Script { file: "rules.rhai".into(), line: 3, column: 1 }),
    ];
    report
}

fn summary() -> Table {
    let row =
        |figure: &str, value: f64, unit: &str| vec![text(figure), Value::Number(value), text(unit)];
    table(
        "summary",
        "Figures",
        vec![
            column("figure", "Figure", "text"),
            column("value", "Value", "any"),
            column("unit", "Unit", "text"),
        ],
        vec![
            row("Deck area", 86_412.5, "ft2"),
            row("Panels", 1_934.0, "count"),
            row("Deck weight", 88.42, "tons"),
            row("Bundles", 96.0, "count"),
            row("Loads", 5.0, "count"),
            row("Concrete", 1_031.25, "yd3"),
            row("Pours", 8.0, "count"),
        ],
    )
}

fn takeoff(rows: u32) -> Table {
    let mut columns = vec![
        column("level", "Level", "text"),
        column("bay", "Bay", "text"),
        column("type", "Type", "text"),
        column("sequence", "Sequence", "text"),
        column("profile", "Profile", "text"),
        column("gauge", "Gauge", "text"),
        column("finish", "Finish", "text"),
        column("cover_in", "Cover", "in"),
        column("spans", "Spans", "text"),
        column("span_ft", "Longest span", "ft"),
        column("copies", "Copies", "count"),
        column("panel_ft", "Panel length", "ft"),
        column("panel", "Panel", "ft-in"),
        column("panels", "Panels", "+count"),
        column("lf", "Lineal feet", "+lf"),
        column("area_ft2", "Deck area", "+ft2"),
        column("deck_lb", "Deck weight", "+lb"),
        column("slab_in", "Slab", "in"),
        column("concrete_yd3", "Concrete, net", "+yd3"),
        column("slab_psf", "Wet slab", "psf"),
        column("deck_record", "Deck", "text"),
        column("on_site", "On site", "date"),
        column("note", "Note", "text"),
    ];
    columns[16].note =
        Some("Covered area at the catalogue weight; side laps are inside the cover width.".into());
    columns[20].hidden = true;
    let rows = (0..rows)
        .map(|row| {
            let panels = 12.0 + f64::from(row % 7);
            let length = 20.0 + f64::from(row % 5) * 2.5;
            let area = panels * length * 3.0;
            let broken = row == 12;
            let number = |value: f64| {
                if broken {
                    Value::Error("`panel_ft` has no length".into())
                } else {
                    Value::Number(value)
                }
            };
            vec![
                text(format!("Level {}", 2 + row / 8)),
                text(format!("B{}", row + 1)),
                text(if row % 3 == 0 { "D1" } else { "D2" }),
                text(format!("S{}", 1 + row / 16)),
                text("3x12"),
                text("20"),
                if row % 11 == 3 { Value::Blank } else { text("G60") },
                Value::Number(36.0),
                text("3@10'-0\""),
                Value::Number(10.0 + f64::from(row % 4)),
                Value::Count(i64::from(1 + row % 2)),
                number(length),
                text(if row % 2 == 0 { "30'-0\"" } else { "22'-6 1/2\"" }),
                if broken {
                    Value::Error("`panel_ft` has no length".into())
                } else {
                    Value::Number(panels)
                },
                number(panels * length),
                number(area),
                number(area * 1.999_2),
                Value::Number(6.5),
                Value::Number(area * 0.010_3),
                Value::Number(60.4),
                Value::List(Arc::from([Value::Count(1)])),
                Value::Date(
                    date(2026, 3, 2).saturating_add(jiff::Span::new().days(i64::from(row))),
                ),
                text(if row == 7 {
                    "=not a formula, and a remark long enough to be wrapped over \
                    more than one line of its cell on the sheet"
                } else {
                    ""
                }),
            ]
        })
        .collect();
    table("takeoff", "Takeoff", columns, rows)
}

fn order() -> Table {
    table(
        "order",
        "Order lines",
        vec![
            column("sequence", "Sequence", "text"),
            column("type", "Type", "text"),
            column("finish", "Finish", "text"),
            column("mark", "Mark", "text"),
            column("count", "Count", "+count"),
            column("length", "Length", "ft-in"),
            column("length_ft", "Length", "ft"),
            column("deck_lb", "Weight", "+lb"),
        ],
        (0..9_u32)
            .map(|row| {
                let count = i64::from(14 + row * 3);
                vec![
                    text(format!("S{}", 1 + row / 4)),
                    text("D1"),
                    if row == 2 { Value::Blank } else { text("G60") },
                    text(format!("A{}", 101 + row)),
                    Value::Count(count),
                    text("30'-0\""),
                    Value::Number(30.0),
                    Value::Number(f64::from(14 + row * 3) * 179.93),
                ]
            })
            .collect(),
    )
}

fn pours() -> Table {
    let mut columns = vec![
        column("pour", "Pour", "text"),
        column("day", "Day", "date"),
        column("net_yd3", "Net", "+yd3"),
        column("order_yd3", "To order", "+yd3"),
        column("trucks", "Trucks", "+count"),
        column("rate", "Waste", "%"),
    ];
    columns[3].note = Some("Net with waste, rounded up to the quarter yard.".into());
    table(
        "pours",
        "Pours",
        columns,
        (0..8_u32)
            .map(|row| {
                let net = 101.13 + f64::from(row) * 4.7;
                let order = (net * 1.05 * 4.0).ceil() / 4.0;
                vec![
                    text(format!("P{}", row + 1)),
                    Value::Date(
                        date(2026, 3, 2).saturating_add(jiff::Span::new().days(i64::from(row / 2))),
                    ),
                    Value::Number(net),
                    Value::Number(order),
                    Value::Number((order / 10.0).ceil()),
                    Value::Number(0.05),
                ]
            })
            .collect(),
    )
}

fn loads() -> Table {
    table(
        "loads",
        "Loads",
        vec![
            column("load", "Load", "text"),
            column("level", "Level", "text"),
            column("bundles", "Bundles", "+count"),
            column("load_lb", "Weight", "+lb"),
            column("fill", "Fill of the truck", "%"),
        ],
        (0..5_u32)
            .map(|row| {
                let weight = 44_000.0 - f64::from(row * row) * 1_730.0;
                vec![
                    text(format!("T{}", row + 1)),
                    text(format!("Level {}", 2 + row)),
                    Value::Count(i64::from(20 - row)),
                    Value::Number(weight),
                    Value::Number(weight / 48_000.0),
                ]
            })
            .collect(),
    )
}
