//! The quote, worked by hand to the cent; what has no price is said and counts for nothing.

use super::support::report::{cell, report, report_with, said, shop, table_of};
use super::support::schedule_builder::{Cell, Schedule, schedule, with_types};
use crate::cells;
use baytally::rules::Shop;
use baytally::table::Report;
use baytally::value::Value;

/// Two levels of 30 ft by 30 ft in 3x12, the second 4 in wider, closures on the first, a canopy of
/// 20 ft by 15 ft as an alternate.
fn job() -> Schedule {
    schedule()
        .sheet("Job")
        .row(cells!["Quote date", Cell::Date(2026, 12, 1)])
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .row(["RD1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none", ""])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width", "Alternate", "Drawing"])
        .row(["2", "A", "D1", "3@10'", "30'", "", "S-2"])
        .row(["3", "A", "D1", "3@10'", "30'-4\"", "", "S-3"])
        .row(["Roof", "K", "RD1", "2@10'", "15'", "1", "S-9"])
        .sheet("Edges")
        .row(["Level", "Length", "Item", "Supplied by"])
        .row(["2", "40'", "cell closures", "ours"])
        .sheet("Stock")
        .row(["Type", "Length"])
        .row(["D1", "31'"])
        .row(["RD1", "20'"])
}

const PRICES: [[&str; 8]; 9] = [
    ["deck", "D1", "", "", "", "285.555", "square", ""],
    ["deck from stock", "", "3x12", "", "", "300", "square", ""],
    ["deck", "", "", "22", "", "96.25", "cwt", ""],
    ["filler strip", "", "", "", "", "2.15", "lf", ""],
    ["cell closures", "", "", "", "", "1.335", "lf", ""],
    ["freight", "", "", "", "", "1150", "load", ""],
    ["short truck", "", "", "", "", "275", "load", ""],
    ["mill minimum", "", "", "", "", "12.5", "cwt", ""],
    ["minimum order", "", "", "", "", "2500", "each", ""],
];

fn with_prices(schedule: Schedule, rows: &[[&str; 8]]) -> Schedule {
    let heading = ["Item", "Type", "Profile", "Gauge", "Finish", "Price", "Per", "Note"];
    rows.iter().fold(schedule.sheet("Prices").row(heading), |made, row| made.row(*row))
}

/// Deck of 2 lb a square foot, so that weights are worked in the head; 6.25 % tax, freight left out.
fn two_psf() -> Shop {
    shop(&[
        ("takeoff.rhai", "column(\"deck_psf\", \"Deck\", \"psf\", |bay| 2.0);\n"),
        ("rules.rhai", "fn tax_rate() { 0.0625 }\n"),
    ])
}

/// A cell as text, money with its cents.
fn text(value: &Value) -> String {
    match (value.as_text(), value.as_number()) {
        (Some(text), _) => text.to_owned(),
        (None, Some(number)) => format!("{number:.2}"),
        _ => value.to_string(),
    }
}

/// Part, level, item, amount in custom lengths and from stock of every line with one.
fn lines(report: &Report) -> Vec<String> {
    let quote = table_of(report, "quote");
    let keys = ["part", "level", "item", "amount", "stock_amount"];
    let at = keys.map(|key| quote.column(key).unwrap());
    (0..quote.rows)
        .map(|row| at.map(|at| text(&quote.cell(row, at))))
        .filter(|cells| cells[3] != "()")
        .map(|cells| cells.join(" | "))
        .collect()
}

fn terms(report: &Report, part: &str) -> Vec<String> {
    let quote = table_of(report, "quote");
    let (named, what) = (quote.column("part").unwrap(), quote.column("what").unwrap());
    let rows = (0..quote.rows).filter(|row| quote.row(*row).text(named) == Some(part));
    rows.map(|row| text(&quote.cell(row, what))).collect()
}

#[test]
fn without_prices_there_is_none() {
    assert!(report(&job()).table("quote").is_none());
}

/// Each level has 10 panels of 30'-0": 300 lf, 900 ft2, 9 squares, 1,800 lb. 9 x 285.555 = 2,569.995,
/// half a cent over 2,569.99, is 2,570.00. From stock of 31 ft: 9 x 31/30 = 9.3 squares at 300. The
/// filler strip of the second level is 30 lf at 2.15, the closures 40 lf at 1.335 = 53.40. One load,
/// short. 3,600 lb of 20 ga are 6,400 lb under the mill's 10,000: 64 cwt at 12.50 = 800.00.
/// Custom lengths: 2,570.00 + 53.40 = 2,623.40; 2,570.00 + 64.50 = 2,634.50; with 800.00 it is
/// 6,057.90, taxed 6.25 % = 378.61875, so 378.62; with 1,150 and 275 of freight 7,861.52.
/// From stock: 2,790.00 + 53.40, 2,790.00 + 64.50: 5,697.90, taxed 356.11875, so 356.12; 7,479.02.
/// The alternate: 5 panels of 20'-0", 300 ft2, 600 lb, 6 cwt at 96.25 = 577.50, tax 36.09375.
#[test]
fn worked_by_hand_to_the_cent() {
    let report = report_with(&with_prices(job(), &PRICES), Some(&two_psf()));
    assert!(!report.is_incomplete(), "{:?}", report.findings.first());
    assert_eq!(
        lines(&report),
        [
            "Base bid | 2 | deck | 2570.00 | 2790.00",
            "Base bid | 2 | cell closures | 53.40 | 53.40",
            "Base bid | 2 | subtotal | 2623.40 | 2843.40",
            "Base bid | 3 | deck | 2570.00 | 2790.00",
            "Base bid | 3 | filler strip | 64.50 | 64.50",
            "Base bid | 3 | subtotal | 2634.50 | 2854.50",
            "Base bid | () | freight | 1150.00 | 1150.00",
            "Base bid | () | short truck | 275.00 | 275.00",
            "Base bid | () | mill minimum | 800.00 | ()",
            "Base bid | () | tax | 378.62 | 356.12",
            "Base bid | () | total | 7861.52 | 7479.02",
            "Alternate 1, to be added | Roof | deck | 577.50 | 577.50",
            "Alternate 1, to be added | Roof | subtotal | 577.50 | 577.50",
            "Alternate 1, to be added | () | freight | 1150.00 | 1150.00",
            "Alternate 1, to be added | () | tax | 36.09 | 36.09",
            "Alternate 1, to be added | () | total | 1763.59 | 1763.59",
        ]
    );
    assert!(said(&report, "not-quoted").is_empty());
    assert!(said(&report, "price-not-used").is_empty());
    assert_eq!(terms(&report, "Validity"), ["15 days from 2026-12-01, until 2026-12-16"]);
    assert_eq!(terms(&report, "Taken from"), ["S-2, S-3 and S-9"]);
    assert!(terms(&report, "No approval")[0].contains("It is no design and no approval"));
}

/// A blank price, and an item without a row: not quoted, in no total, and said.
#[test]
fn a_blank_price_is_not_zero() {
    let mut prices = PRICES[..5].to_vec();
    prices[3][5] = "";
    let report = report_with(&with_prices(job(), &prices), Some(&two_psf()));
    let lines = lines(&report);
    assert!(
        lines.contains(&"Base bid | 3 | filler strip | not quoted | not quoted".to_owned()),
        "{lines:?}"
    );
    assert!(lines.contains(&"Base bid | () | freight | not quoted | not quoted".to_owned()));
    assert!(lines.contains(&"Base bid | 3 | subtotal | 2570.00 | 2790.00".to_owned()));
    // 2,570.00 + 53.40 + 2,570.00 = 5,193.40, tax 324.5875; 5,633.40 and 352.0875 from stock.
    assert!(lines.contains(&"Base bid | () | total | 5517.99 | 5985.49".to_owned()), "{lines:?}");
    let quote = table_of(&report, "quote");
    let total = (0..quote.rows)
        .find(|&row| cell(&report, "quote", row, "item") == Value::text("total"))
        .unwrap();
    assert_eq!(
        cell(&report, "quote", total, "remark"),
        Value::text(
            "without 4 lines not quoted in custom lengths and 3 lines not quoted from stock"
        )
    );
    let said = said(&report, "not-quoted").join("\n");
    for item in [
        "filler strip up to 6\" wide, 20 ga G60 as the deck: not quoted",
        "freight deck to the site: not quoted",
    ] {
        assert!(said.contains(item), "{said}");
    }
    assert_eq!(
        terms(&report, "Not included").last().unwrap(),
        "not quoted, no price: filler strip, freight, short truck and mill minimum"
    );
}

/// The price with most columns that fit is taken; two that fit alike are none.
#[test]
fn the_most_specific_price_wins() {
    let mut prices = PRICES.to_vec();
    prices.push(["deck", "D1", "3 x 12", "20", "g60", "3", "lf", ""]);
    let report_narrow = report_with(&with_prices(job(), &prices), Some(&two_psf()));
    assert!(lines(&report_narrow).contains(&"Base bid | 2 | deck | 900.00 | 2790.00".to_owned()));
    assert_eq!(
        said(&report_narrow, "price-not-used"),
        ["Prices!A2: note[price-not-used]: the price of deck is used by no line\n  \
             hint: items are deck, deck custom lengths, deck from stock, freight, short truck, mill minimum, \
             minimum order, concrete, and those of Accessories"]
    );
    let mut prices = PRICES.to_vec();
    prices.push(["deck", "", "3x12", "", "", "290", "square", ""]);
    let alike = report_with(&with_prices(job(), &prices), Some(&two_psf()));
    let lines = lines(&alike);
    assert!(
        lines
            .contains(&"Base bid | 2 | deck | not quoted: 2 prices fit alike | 2790.00".to_owned()),
        "{lines:?}"
    );
    assert_eq!(
        said(&alike, "prices-fit-alike"),
        [
            "Prices!F2: warning[prices-fit-alike]: prices of deck fit the same line alike: none is taken\n  \
             also at Prices!F11\n  hint: narrow one of them by type, profile, gauge or finish"
        ]
    );
}

/// Every unit, on 9 squares, 900 ft2, 1,800 lb, 300 lf, 10 panels.
#[test]
fn every_unit() {
    for (per, price, amount) in [
        ("lb", "0.5", "900.00"),
        ("LBS", "0.0001", "0.18"),
        ("cwt", "50", "900.00"),
        ("ton", "1000", "900.00"),
        ("squares", "100", "900.00"),
        ("ft2", "1", "900.00"),
        ("SF", "1.25", "1125.00"),
        ("panel", "90", "900.00"),
        ("lf", "3", "900.00"),
        ("load", "3", "not quoted: it is not counted by load"),
        ("furlong", "3", "not quoted: the price has no known unit"),
        ("lb", "-0.5", "-900.00"),
    ] {
        let report = report_with(
            &with_prices(job(), &[["deck", "", "", "", "", price, per, ""]]),
            Some(&two_psf()),
        );
        assert!(!report.is_incomplete(), "{:?}", report.findings.first());
        let first = lines(&report)[0].clone();
        assert!(first.starts_with(&format!("Base bid | 2 | deck | {amount} | ")), "{per}: {first}");
        assert_eq!(said(&report, "price-unit").len(), usize::from(per == "furlong"));
    }
}

/// Where stock does not yield a type, the part has no total from stock.
#[test]
fn what_stock_does_not_yield_has_no_total() {
    let made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
        .row(["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["2", "A", "D1", "3@10'", "30'"])
        .sheet("Stock")
        .row(["Type", "Length"])
        .row(["D1", "25'"]);
    let report = report_with(&with_prices(made, &PRICES), Some(&two_psf()));
    let lines = lines(&report);
    assert_eq!(lines[0], "Base bid | 2 | deck | 2570.00 | not from stock");
    assert!(lines.last().unwrap().ends_with(" | not from stock"), "{lines:?}");
}

/// Scope says what is ours; what is others' has no line. A least order is made up.
#[test]
fn scope_and_least_order() {
    let mut prices = PRICES.to_vec();
    prices[8][5] = "10000";
    let made = with_prices(job(), &prices)
        .sheet("Scope")
        .row(["Item", "Supplied by", "Note"])
        .row(["filler strip", "others", ""])
        .row(["deck", "ours", "in bundles"])
        .row(["shores", "the erector", "none shown"]);
    let report = report_with(&made, Some(&two_psf()));
    let lines = lines(&report);
    assert!(!lines.iter().any(|line| line.contains("filler strip")));
    // 2,623.40 + 2,570.00 + 1,150 + 275 + 800 = 7,418.40, so 2,581.60 are lacking; from stock
    // 2,843.40 + 2,790.00 + 1,425 = 7,058.40 and 2,941.60.
    assert!(
        lines.contains(&"Base bid | () | minimum order | 2581.60 | 2941.60".to_owned()),
        "{lines:?}"
    );
    assert_eq!(terms(&report, "Included"), ["deck: in bundles", "cell closures"]);
    assert_eq!(
        terms(&report, "Not included"),
        [
            "support fasteners, usually by others",
            "side-lap fasteners, usually by others",
            "filler strip (others)",
            "shores: none shown (the erector)"
        ]
    );
}

/// Pour stop is edge form, on Edges as on Prices and Scope: 60 ft take 7 pieces of 10 ft, 70 lf at 4.
#[test]
fn an_item_by_the_trades_other_names() {
    let made = |item: &str, price: &str, scope: &str| {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A", "D1", "3@10'", "30'"])
            .sheet("Edges")
            .row(["Level", "Length", "Item", "Gauge"])
            .row(["2", "60", item, "14 ga"])
            .sheet("Prices")
            .row(["Item", "Price", "Per"])
            .row([price, "4", "lf"]);
        if scope.is_empty() {
            return report(&made);
        }
        report(&made.sheet("Scope").row(["Item", "Supplied by"]).row([scope, "ours"]))
    };
    for (item, price, scope) in [
        ("", "edge form", ""),
        ("Pour Stop", "edge form", ""),
        ("gauge pour stops", "pour stop", "Pour stop"),
        ("Edge forms", "Pourstop", "edge form"),
    ] {
        let report = made(item, price, scope);
        assert!(
            lines(&report).contains(&"Base bid | 2 | edge form | 280.00 | 280.00".to_owned()),
            "{item}, {price}: {:?}",
            lines(&report)
        );
        assert_eq!(said(&report, "price-not-used"), [""; 0]);
    }
}

/// The quote prices Panels. A shop that counts otherwise in Order, or alternates in the base bid, is told;
/// an alternate that stands in the base bid is not priced again.
#[test]
fn what_a_shop_orders_otherwise() {
    let priced = with_prices(job(), &PRICES);
    let with = |file: &str, text: &str| report_with(&priced, Some(&shop(&[(file, text)])));
    let five = "column(\"count\", \"To order\", \"count\", |line| (line.required / 15.0).ceiling().to_int() * 15);\n";
    let found = said(&with("order.rhai", five), "quote-beside-order");
    assert_eq!(found.len(), 1);
    assert!(found[0].contains("30.00 panels to order, 20.00 quoted"), "{found:?}");
    assert_eq!(said(&report(&priced), "quote-beside-order"), [""; 0]);
    let all = with(
        "rules.rhai",
        "fn is_ordered(bay) { bay.status != \"void\" && bay.status != \"hold\" }\n",
    );
    assert!(!lines(&all).iter().any(|line| line.starts_with("Alternate")), "{:?}", lines(&all));
    assert!(lines(&all).iter().any(|line| line.starts_with("Base bid | Roof | deck")));
}

/// Edges and Scope that differ are asked about, and the terms say both; so is edge form of an alternate,
/// which neither bid prices. Words with something behind them are ours.
#[test]
fn edges_beside_scope() {
    let made = |by: &str, scope: &str, alternate: &str| {
        let made = with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width", "Pour", "Alternate"])
            .row(["2", "A", "D1", "3@10'", "30'", "P1", ""])
            .row(["2", "B", "D1", "3@10'", "30'", "P2", alternate])
            .sheet("Edges")
            .row(["Level", "Length", "Gauge", "By", "Pour"])
            .row(["2", "60", "14", by, "P2"])
            .sheet("Prices")
            .row(["Item", "Price", "Per"])
            .row(["pour stop", "4", "lf"])
            .sheet("Scope")
            .row(["Item", "Supplied by"])
            .row(["Pour stop", scope]);
        report(&made)
    };
    let ours = made("us (furnish only)", "GC", "");
    let found = said(&ours, "scope-differs");
    assert!(found[0].contains("Scope says GC, this edge says us (furnish only)"), "{found:?}");
    let included = terms(&ours, "Included");
    assert!(
        included.contains(&"edge form, where Edges says it is ours".to_owned()),
        "{included:?}"
    );
    assert!(lines(&ours).iter().any(|line| line.starts_with("Base bid | 2 | edge form | 280.00")));
    let theirs = made("by GC", "Ours, delivered", "");
    assert_eq!(said(&theirs, "scope-differs").len(), 1);
    assert!(terms(&theirs, "Not included").contains(&"edge form by GC".to_owned()));
    for (by, scope) in [("ours", "ours"), ("by GC", "the erector"), ("", "GC")] {
        assert_eq!(said(&made(by, scope, ""), "scope-differs"), [""; 0], "{by} {scope}");
    }
    let alternate = made("ours", "ours", "1");
    assert_eq!(said(&alternate, "edge-of-alternate").len(), 1);
    assert!(!lines(&alternate).iter().any(|line| line.contains("edge form")));
}

/// What is ours and has no price stands once: under what is not included.
#[test]
fn what_has_no_price_is_not_included() {
    let made = job()
        .sheet("Prices")
        .row(["Item", "Price", "Per"])
        .row(["deck", "100", "square"])
        .sheet("Scope")
        .row(["Item", "Supplied by"])
        .row(["deck", "ours"])
        .row(["cell closures", "ours"]);
    let report = report(&made);
    assert_eq!(terms(&report, "Included"), ["deck"]);
    assert!(terms(&report, "Not included")[2].contains("no price: cell closures"));
}

/// Rounding, tax, extras and validity are rules.
/// A price for one level is one whatever the heading's letters: level 2 alone is quoted by it.
#[test]
fn a_price_for_one_level() {
    for heading in ["Level", "level", "LEVEL"] {
        let made = job()
            .sheet("Prices")
            .row(["Item", "Type", heading, "Price", "Per"])
            .row(["deck", "D1", "2", "100", "square"]);
        let lines = lines(&report(&made));
        assert!(
            lines[0].starts_with("Base bid | 2 | deck") && lines[0].contains("900.00"),
            "{lines:#?}"
        );
        let third = lines.iter().find(|line| line.starts_with("Base bid | 3 | deck")).unwrap();
        assert!(third.contains("not quoted"), "{heading}: {third}");
    }
}

/// What others supply is not charged, and us is ours; of an alternate the rest that is ours is asked for.
#[test]
fn scope_says_what_is_charged() {
    let made = |rows: &[[&str; 2]]| {
        let made = with_prices(job(), &PRICES).sheet("Scope").row(["Item", "Supplied by"]);
        rows.iter().fold(made, |made, row| made.row(*row))
    };
    let items = |report: &Report| {
        let items = lines(report).into_iter().filter_map(|line| {
            let item = line.split(" | ").nth(2)?.trim().to_owned();
            (!item.is_empty()).then_some(item)
        });
        items.collect::<Vec<_>>()
    };
    let ours = report(&made(&[["deck", "us"], ["freight", "By us"], ["concrete", "ours"]]));
    for item in ["deck", "freight", "concrete"] {
        assert!(items(&ours).iter().any(|known| known == item), "{item}");
    }
    let alternate = said(&ours, "alternate-without-all");
    assert_eq!(alternate.len(), 1, "{alternate:?}");
    assert!(alternate[0].contains("not concrete, which Scope says are ours"), "{alternate:?}");
    let others = report(&made(&[["freight", "others"], ["filler strip", "the erector"]]));
    for item in ["freight", "short truck", "filler strip"] {
        assert!(items(&others).iter().all(|known| known != item), "{item}");
    }
}

#[test]
fn a_tax_beyond_all_bounds_is_refused() {
    let shop = shop(&[("rules.rhai", "fn tax_rate() { 8.375 }\n")]);
    let report = report_with(&with_prices(job(), &PRICES), Some(&shop));
    assert!(
        said(&report, "thrown")[0]
            .contains("the rule tax_rate gives 8.375 as a share, wanted 0 to 1"),
        "{:?}",
        report.findings.first()
    );
}

/// A date of the quote is one, however it is typed: 15 days from the first of December.
#[test]
fn the_day_of_a_quote() {
    let terms_of = |day: &str| {
        let made = schedule()
            .sheet("Job")
            .row(["quote Date", day])
            .sheet("Types")
            .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"])
            .row(["D1", "composite", "3x12", "36", "20", "SS 40", "G60", "6 1/4", "LW 110"])
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A", "D1", "3@10'", "30'"]);
        terms(&report(&with_prices(made, &PRICES)), "Validity")
    };
    assert_eq!(terms_of("2026-12-01"), ["15 days from 2026-12-01, until 2026-12-16"]);
    assert_eq!(terms_of("1 Dec 2026"), ["15 days from 2026-12-01, until 2026-12-16"]);
    assert_eq!(terms_of("TBD"), ["15 days from its date"]);
}

#[test]
fn extras_by_rule() {
    let shop = shop(&[(
        "rules.rhai",
        "fn quote_extras(part) { if part == \"Base bid\" { [#{ item: \"shop drawings\", amount: 1500.005 }] } else { [] } }\n\
         fn quote_valid_days() { 30 }\n",
    )]);
    let report = report_with(&with_prices(job(), &PRICES), Some(&shop));
    assert!(
        lines(&report).contains(&"Base bid | () | shop drawings | 1500.01 | 1500.01".to_owned())
    );
    assert_eq!(terms(&report, "Validity"), ["30 days from 2026-12-01, until 2026-12-31"]);
    assert_eq!(terms(&report, "Taxes"), ["not included"]);
}

/// The report of the example with prices.
fn example() -> Report {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/larkmere");
    let path = folder.join("priced.xlsx");
    let read = baytally::schedule::read(&path, &baytally::schedule::ReadOptions::default());
    let (job, findings) = read.unwrap_or_else(|unreadable| panic!("{unreadable}"));
    let scripts = baytally::rules::scripts(None).unwrap();
    let options = baytally::rules::RunOptions::default();
    baytally::rules::run(std::sync::Arc::new(job), std::sync::Arc::new(scripts), findings, options)
        .unwrap_or_else(|ended| panic!("{ended:?}"))
}

/// Custom lengths of the example with prices, by hand. A quantity is rounded to hundredths, then an
/// amount to the cent.
///
/// Level 2: D1 is 42 panels of 30'-0", 42 of 29'-6" and 4 of 12'-6" by hand, 2,549 ft at 3 ft cover,
/// 76.47 squares at 285 = 21,793.95. D2 is 41 of 30'-0", 3,690 ft2 at the catalogue's 1.80821 psf,
/// 6,672.31 lb at 0.9475 = 6,322.01. D3's price is blank. 30 ft of filler strip at 2.15 = 64.50.
/// 28,180.46 together.
/// Levels 3 to 6: 93 panels of 30'-0", 83.70 squares = 23,854.50; 10 of 37'-6" and 10 of 22'-6",
/// 1,800 ft2, 3,254.78 lb = 3,083.90; 26,938.40 each, 107,753.60 the four.
/// Roof: 99 panels of 30'-0", 149.23 cwt at 96.25 = 14,363.39.
/// Six loads at 1,150 = 6,900; two of them under 20,000 lb at 275 = 550; the mill's minimum has no
/// price. 28,180.46 + 107,753.60 + 14,363.39 + 6,900 + 550 = 157,747.45.
/// The alternate: 10 panels of 18'-0", 9.04 cwt = 870.10; a load, 1,150; 2,020.10.
///
/// From stock the roof's 30'-0" come of 35'-0": 149.23 x 35 / 30 = 174.10 cwt = 16,757.13; and
/// 30,131.36 + 4 x 28,557.57 + 16,757.13 + 6,900 + 550 = 168,568.77.
#[test]
fn the_example_worked_by_hand_to_the_cent() {
    let report = example();
    let upper = |level: u32| {
        [
            format!("Base bid | {level} | deck | 23854.50 | 25059.08"),
            format!("Base bid | {level} | deck | 3083.90 | 3498.49"),
            format!("Base bid | {level} | deck | not quoted | not quoted"),
            format!("Base bid | {level} | subtotal | 26938.40 | 28557.57"),
        ]
    };
    let second = [
        "Base bid | 2 | deck | 21793.95 | 22894.95",
        "Base bid | 2 | deck | 6322.01 | 7171.91",
        "Base bid | 2 | deck | not quoted | not quoted",
        "Base bid | 2 | filler strip | 64.50 | 64.50",
        "Base bid | 2 | subtotal | 28180.46 | 30131.36",
    ];
    let rest = [
        "Base bid | Roof | deck | 14363.39 | 16757.13",
        "Base bid | Roof | subtotal | 14363.39 | 16757.13",
        "Base bid | () | freight | 6900.00 | 6900.00",
        "Base bid | () | short truck | 550.00 | 550.00",
        "Base bid | () | mill minimum | not quoted | ()",
        "Base bid | () | total | 157747.45 | 168568.77",
        "Alternate 1, to be added | Roof | deck | 870.10 | 1693.04",
        "Alternate 1, to be added | Roof | subtotal | 870.10 | 1693.04",
        "Alternate 1, to be added | () | freight | 1150.00 | 1150.00",
        "Alternate 1, to be added | () | total | 2020.10 | 2843.04",
    ];
    let wanted: Vec<String> = second
        .map(str::to_owned)
        .into_iter()
        .chain((3..=6).flat_map(upper))
        .chain(rest.map(str::to_owned))
        .collect();
    assert_eq!(lines(&report), wanted);
    assert_eq!(terms(&report, "Validity"), ["15 days from 2026-12-01, until 2026-12-16"]);
}

/// Lines of the example add up to subtotals and totals, in custom lengths and from stock.
#[test]
fn the_example_adds_up() {
    let report = example();
    let lines = lines(&report);
    assert!(
        lines.iter().any(|line| line.starts_with("Base bid | 3 | deck | 23854.50 | ")),
        "{lines:?}"
    );
    assert!(lines.contains(&"Base bid | () | freight | 6900.00 | 6900.00".to_owned()));
    assert!(lines.contains(&"Base bid | 2 | deck | not quoted | not quoted".to_owned()));
    // Whole cents without a number between: `870.10` is 87010.
    let cents = |text: &str| text.replace('.', "").parse::<i64>().unwrap_or(0);
    for amount in [3, 4] {
        let (mut level, mut part) = (0, 0);
        let mut sums = 0;
        for line in &lines {
            let cells: Vec<&str> = line.split(" | ").collect();
            match cells[2] {
                "subtotal" => {
                    assert_eq!(cents(cells[amount]), level, "{line}");
                    level = 0;
                    sums += 1;
                }
                "total" => {
                    assert_eq!(cents(cells[amount]), part, "{line}");
                    (level, part) = (0, 0);
                    sums += 1;
                }
                _ => {
                    level += cents(cells[amount]);
                    part += cents(cells[amount]);
                }
            }
        }
        assert_eq!(sums, 9, "six levels, the alternate's one, two totals");
    }
}
