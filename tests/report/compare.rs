//! Differences worked by hand.

use std::sync::Arc;

use baytally::report::{Difference, Revision, Subject, What, compare, lines, revision_json};
use baytally::table::Table;
use baytally::value::Value;

use super::tables::{count, number, table, text};

const COLUMNS: &[&str] = &[
    "line|Line|count",
    "sequence|Sequence|text",
    "type|Type|text",
    "mark|Mark|text",
    "count|Panels|count+",
    "length_ft|Length|ft",
    "lineal_ft|Lineal feet|ft+",
    "weight_lb|Weight|lb+",
];

fn order(rows: &[(&str, &str, &str, i64, f64, f64)]) -> Table {
    let rows: Vec<Vec<Value>> = (1..)
        .zip(rows)
        .map(|(line, &(sequence, kind, mark, panels, length, pounds))| {
            #[allow(clippy::cast_precision_loss)]
            let lineal = panels as f64 * length;
            vec![
                count(line),
                text(sequence),
                text(kind),
                text(mark),
                count(panels),
                number(length),
                number(lineal),
                number(pounds),
            ]
        })
        .collect();
    table("order", "Order", COLUMNS, &rows.iter().map(Vec::as_slice).collect::<Vec<_>>())
}

fn usual(key: &str) -> Subject {
    Subject::usual().into_iter().find(|subject| &*subject.table == key).unwrap()
}

fn shown(difference: Difference) -> Vec<String> {
    lines(&Revision { old: "a".to_owned(), new: "b".to_owned(), differences: vec![difference] })
}

/// 42 panels become 40, one line is new, one is gone, one stays though its mark and place change.
fn revised() -> Difference {
    let old = order(&[
        ("2", "D1", "D1-1", 42, 30.0, 7_557.0),
        ("2", "D1", "D1-2", 10, 20.0, 1_200.0),
        ("3", "RD1", "RD1-1", 4, 10.5, 80.0),
    ]);
    let new = order(&[
        ("2", "D1", "D1-1", 40, 30.0, 7_197.0),
        ("2", "D2", "D2-1", 6, 20.0, 700.0),
        ("3", "RD1", "RD1-9", 4, 10.5, 80.0),
    ]);
    compare(&usual("order"), &old, &new).unwrap()
}

#[test]
fn lines_are_added_removed_and_changed() {
    let difference = revised();
    assert_eq!((difference.same, difference.lines.len()), (1, 3));
    let whats: Vec<What> = difference.lines.iter().map(|line| line.what).collect();
    assert_eq!(whats, [What::Changed, What::Added, What::Removed]);
    assert_eq!(difference.lines[0].figures[0].by(), Some(-2.0));
    // 40 x 30 - 42 x 30
    assert_eq!(difference.lines[0].figures[1].by(), Some(-60.0));
    assert_eq!(difference.lines[0].figures[2].by(), Some(-360.0));
    // 56 panels before, 50 after; 1,502 lf before, 1,362 after; 8,837 lb before, 7,977 after.
    let by: Vec<Option<f64>> = difference.totals.iter().map(baytally::report::Change::by).collect();
    assert_eq!(by, [Some(-6.0), Some(-140.0), Some(-860.0)]);
}

#[test]
fn the_lines_read_so() {
    assert_eq!(
        shown(revised()),
        [
            "Order: 1 added, 1 removed, 1 changed, 1 the same",
            "  ~ 2 D1 30 ft: Panels 42 -> 40 (-2), Lineal feet 1,260.0 -> 1,200.0 ft (-60.0), Weight \
             7,557 -> 7,197 lb (-360)",
            "  + 2 D2 20 ft: Panels 6, Lineal feet 120.0 ft, Weight 700 lb",
            "  - 2 D1 20 ft: Panels -10, Lineal feet -200.0 ft, Weight -1,200 lb",
            "  total Panels 56 -> 50 (-6), Lineal feet 1,502.0 -> 1,362.0 ft (-140.0), Weight 8,837 -> \
             7,977 lb (-860)",
        ]
    );
}

#[test]
fn json_gives_old_new_and_difference() {
    let revision = Revision {
        old: "a.xlsx".to_owned(),
        new: "b.xlsx".to_owned(),
        differences: vec![revised()],
    };
    let json = revision_json(&revision);
    let order = &json["tables"][0];
    assert_eq!(json["old"], "a.xlsx");
    assert_eq!(order["same"], 1);
    assert_eq!(order["lines"][0]["what"], "changed");
    assert_eq!(order["lines"][0]["key"]["length_ft"], 30.0);
    assert_eq!(
        order["lines"][0]["figures"]["count"],
        serde_json::json!({ "old": 42, "new": 40, "by": -2 })
    );
    assert_eq!(order["lines"][1]["figures"]["count"]["old"], Value::Blank.to_json());
    assert_eq!(order["totals"]["weight_lb"]["by"], -860.0);
}

trait ToJson {
    fn to_json(&self) -> serde_json::Value;
}

impl ToJson for Value {
    fn to_json(&self) -> serde_json::Value {
        serde_json::to_value(self).unwrap()
    }
}

#[test]
fn a_revision_against_itself_changes_nothing() {
    let order = order(&[("2", "D1", "D1-1", 42, 30.0, 7_557.0), ("2", "D1", "D1-2", 3, 9.0, 1.0)]);
    let difference = compare(&usual("order"), &order, &order).unwrap();
    assert_eq!((difference.same, difference.lines.len()), (2, 0));
    assert!(shown(difference)[0].ends_with("nothing changed, 2 the same"));
}

#[test]
fn there_and_back_are_opposite() {
    let old = order(&[("2", "D1", "D1-1", 42, 30.0, 7_557.0), ("2", "D9", "D9-1", 5, 8.0, 90.0)]);
    let new = order(&[("2", "D1", "D1-1", 40, 30.0, 7_197.0), ("3", "D1", "D1-1", 2, 30.0, 360.0)]);
    let there = compare(&usual("order"), &old, &new).unwrap();
    let back = compare(&usual("order"), &new, &old).unwrap();
    for (one, other) in there.totals.iter().zip(&back.totals) {
        assert_eq!(one.by().unwrap(), -other.by().unwrap());
    }
    assert_eq!(there.count(What::Added), back.count(What::Removed));
    assert_eq!(there.count(What::Removed), back.count(What::Added));
    assert_eq!(there.count(What::Changed), back.count(What::Changed));
}

const BAYS: &[&str] = &[
    "level|Level|text",
    "bay|Bay|text",
    "type|Type|text",
    "gauge|Gauge|text",
    "panels|Panels|count+",
    "net_yd3|Concrete net|yd3+",
];

#[test]
fn what_is_said_of_a_bay_changes_without_its_figures() {
    let bay = |gauge| vec![text("2"), text("A1"), text("D1"), gauge, count(12), number(10.0)];
    let old = table("takeoff", "Takeoff", BAYS, &[&bay(text("20"))]);
    let new = table("takeoff", "Takeoff", BAYS, &[&bay(text("18"))]);
    let said = shown(compare(&usual("takeoff"), &old, &new).unwrap());
    assert_eq!(said[1], "  ~ 2 A1: Gauge 20 -> 18");
    // Read back from a workbook a gauge may be a number: the same word.
    let reread = table("takeoff", "Takeoff", BAYS, &[&bay(count(20))]);
    assert_eq!(compare(&usual("takeoff"), &old, &reread).unwrap().same, 1);
}

#[test]
fn rows_of_one_key_are_added_up() {
    let row = |kind: &str, panels, yd3| {
        vec![text("2"), text("A1"), text(kind), text("20"), count(panels), number(yd3)]
    };
    let old = table("takeoff", "Takeoff", BAYS, &[&row("D1", 12, 5.0), &row("D2", 3, 0.5)]);
    let new = table("takeoff", "Takeoff", BAYS, &[&row("D1", 16, 5.5)]);
    let difference = compare(&usual("takeoff"), &old, &new).unwrap();
    assert_eq!(
        shown(difference)[1],
        "  ~ 2 A1: Panels 15 -> 16 (+1), Type D1 / D2 -> D1",
        "15 = 12 + 3; the 5.5 yd3 are those of before"
    );
}

/// Sums in another order differ in their last digits; that is no change.
#[test]
fn last_digits_are_no_change() {
    let row = |yd3| vec![text("2"), text("A1"), text("D1"), text("20"), count(1), number(yd3)];
    let old = table("takeoff", "Takeoff", BAYS, &[&row(0.1 + 0.2)]);
    let new = table("takeoff", "Takeoff", BAYS, &[&row(0.3)]);
    assert_ne!(0.1 + 0.2, 0.3);
    assert_eq!(compare(&usual("takeoff"), &old, &new).unwrap().same, 1);
}

#[test]
fn what_could_not_be_computed_is_shown() {
    let row = |panels| vec![text("2"), text("A1"), text("D1"), text("20"), panels, number(1.0)];
    let old = table("takeoff", "Takeoff", BAYS, &[&row(count(12))]);
    let new = table("takeoff", "Takeoff", BAYS, &[&row(Value::Error(Arc::from("no width")))]);
    let difference = compare(&usual("takeoff"), &old, &new).unwrap();
    assert_eq!(difference.totals[0].by(), None);
    assert_eq!(shown(difference)[1], "  ~ 2 A1: Panels 12 -> #error (#error)");
}

/// A takeoff of before has no Use in its order: its lines are compared without.
#[test]
fn a_key_that_came_later() {
    let old = order(&[("2", "D1", "D1-1", 42, 30.0, 7_557.0)]);
    let mut columns = COLUMNS.to_vec();
    columns.push("deck_use|Use|text");
    let row: Vec<Value> = (0..old.columns.len())
        .map(|at| old.cell(0, at).into_owned())
        .chain([text("composite")])
        .collect();
    let new = table("order", "Order", &columns, &[&row]);
    let difference = compare(&usual("order"), &old, &new).unwrap();
    assert_eq!((difference.lines.len(), difference.same), (0, 1));
}

#[test]
fn tables_that_do_not_match_are_refused() {
    let both = table("takeoff", "Takeoff", &["level|Level|text", "bay|Bay|text"], &[]);
    let one = table("takeoff", "Takeoff", &["level|Level|text", "bay|Bay|text!"], &[]);
    let none = table("takeoff", "Takeoff", &["area|Area|text"], &[]);
    let said = |old, new| compare(&usual("takeoff"), old, new).unwrap_err().to_string();
    assert_eq!(
        said(&both, &one),
        "error[not-comparable]: table `takeoff`: only one of the two has the column `bay`"
    );
    assert_eq!(
        said(&none, &none),
        "error[not-comparable]: table `takeoff`: neither has a column `level` or `bay`"
    );
}
