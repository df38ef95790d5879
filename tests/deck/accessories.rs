//! Edge form, fasteners, welds, studs against tables and counts.

use baytally::deck::accessories::edge_form::{
    edge_form_criterion, edge_form_gauge, edge_form_girth_in, stock_pieces,
};
use baytally::deck::accessories::fasteners::{
    arc_spot_weld, side_lap_fasteners, support_fasteners,
};
use baytally::deck::accessories::studs::{cell_closures, headed_stud};
use baytally::length::{Length, Unit};
use baytally::value::{Feet, Inches};

use super::given::{printed, record, with};

/// Design thicknesses of edge form, 20 to 10 ga; ANSI/SDI C-2017 Table UN-1.1 to 16 ga, then from
/// memory.
const GAUGES: [(i64, f64); 6] =
    [(20, 0.0358), (18, 0.0474), (16, 0.0598), (14, 0.0747), (12, 0.1046), (10, 0.1345)];

fn feet(feet: f64) -> Feet {
    Feet(Length::from_number(feet, Unit::Foot).unwrap())
}

fn inches(inches: f64) -> Inches {
    Inches(Length::from_number(inches, Unit::Inch).unwrap())
}

/// Place in [`GAUGES`] of the lightest gauge within the criterion.
fn criterion(slab_in: f64, overhang_in: f64) -> Option<usize> {
    GAUGES.iter().position(|(_, thickness_in)| {
        let edge = record! {
            slab_in: slab_in, overhang_in: overhang_in, thickness_in: *thickness_in,
        };
        edge_form_criterion(edge).unwrap().utilisation <= 1.0
    })
}

fn table(slab_in: f64, overhang_in: f64) -> Option<usize> {
    let gauge = edge_form_gauge(inches(slab_in), inches(overhang_in)).unwrap()?;
    GAUGES.iter().position(|(known, _)| *known == gauge)
}

/// The recalled selection table against its criterion (Modern Steel Construction, August 2012), over
/// all 429 cells: never lighter, at most one step heavier, where bent plate is the step after 10 ga.
/// Both say bent plate in 121 cells, both the same gauge in 214.
#[test]
fn edge_form_table_against_its_criterion() {
    let (mut plate, mut equal, mut heavier) = (0, 0, 0);
    for row in 0..33 {
        for column in 0..13 {
            let (slab_in, overhang_in) = (4.0 + 0.25 * f64::from(row), f64::from(column));
            let bent_plate = GAUGES.len();
            let table = table(slab_in, overhang_in).unwrap_or(bent_plate);
            let criterion = criterion(slab_in, overhang_in).unwrap_or(bent_plate);
            match table.checked_sub(criterion) {
                Some(0) if table == bent_plate => plate += 1,
                Some(0) => equal += 1,
                Some(1) => heavier += 1,
                _ => panic!("{slab_in} in, {overhang_in} in: {table} against {criterion}"),
            }
        }
    }
    assert_eq!((plate, equal, heavier), (121, 214, 94));
}

/// Spot values of the criterion, and the table where it differs; worked by hand.
#[test]
fn edge_form_spot_values() {
    let gauge = |found: Option<usize>| found.map(|place| GAUGES[place].0);
    assert_eq!(gauge(criterion(4.0, 6.0)), Some(16));
    assert_eq!(gauge(criterion(5.5, 3.0)), Some(16));
    assert_eq!(gauge(criterion(6.0, 6.0)), Some(14));
    assert_eq!(gauge(table(6.0, 6.0)), Some(12));
    assert_eq!(gauge(criterion(10.0, 4.0)), Some(10));
    // Between rows and columns the next one counts; thin slabs take the first row.
    assert_eq!(table(5.9, 5.5), table(6.0, 6.0));
    assert_eq!(table(3.5, 6.0), table(4.0, 6.0));
    assert_eq!(table(12.25, 0.0), None);
    assert_eq!(table(4.0, 12.5), None);
}

/// Geometry: legs, lap on the support and lip.
#[test]
fn girth() {
    printed(edge_form_girth_in(6.0, 4.0, 2.0, 0.75).unwrap(), 12.75, 9);
}

/// Pieces counted by hand: a side of 31 ft in 10 ft pieces lapped 4 in takes 10 + 3 * 9'-8" = 39 ft, so
/// 4; of 10 ft exactly, 1; a sixty-fourth more, 2.
#[test]
fn stock_pieces_by_hand() {
    let stock = record! { stock_ft: 10, lap_in: 4 };
    let pieces = |side| stock_pieces(vec![side], stock.clone()).unwrap().pieces;
    assert_eq!(pieces(feet(31.0)), 4);
    assert_eq!(pieces(feet(10.0)), 1);
    assert_eq!(pieces(Feet(Length::feet(10) + Length::SIXTY_FOURTH)), 2);
    let edge = stock_pieces(
        vec![feet(31.0), feet(20.0), feet(31.0), feet(20.0)],
        with(&stock, &record! { corners: 4, corner_in: 12 }),
    )
    .unwrap();
    assert_eq!(edge.pieces, 4 + 3 + 4 + 3 + 1);
    assert_eq!(edge.edge_ft, feet(106.0));
    assert_eq!(edge.ordered_ft, feet(150.0));
    assert_eq!(edge.excess_ft, feet(44.0));
}

/// Patterns: fasteners new with each further panel are one fewer where the edge is shared; common
/// practice, no source.
#[test]
fn support_patterns() {
    let rows = [
        ("36/4", 4, 3),
        ("36/5", 5, 4),
        ("36/7", 7, 6),
        ("36/9", 9, 8),
        ("36/11", 11, 10),
        ("30/4", 4, 3),
        ("30/6", 6, 5),
        ("24/3", 3, 2),
        ("24/4", 4, 3),
        ("24/5", 5, 4),
    ];
    for (pattern, first, next) in rows {
        let count = |panels, shared| support_fasteners(pattern.into(), panels, shared).unwrap();
        assert_eq!(count(1, true), first);
        assert_eq!(count(2, true), first + next);
        assert_eq!(count(2, false), 2 * first);
        assert_eq!(count(0, true), 0);
    }
    assert_eq!(support_fasteners("36/4".into(), 10, true).unwrap(), 31);
    assert_eq!(support_fasteners("36/4".into(), 10, false).unwrap(), 40);
    assert_eq!(support_fasteners("36/7".into(), 10, true).unwrap(), 61);
}

/// Spacing up to 36 in, supports not counted, none up to 5 ft; counted by hand.
#[test]
fn side_laps() {
    for (span_ft, count) in [(5.0, 0), (6.0, 1), (9.0, 2), (10.0, 3), (5.01, 1), (3.0, 0)] {
        let found = side_lap_fasteners(feet(span_ft), inches(36.0), feet(5.0)).unwrap();
        assert_eq!(found, count, "{span_ft} ft");
    }
}

/// AISI S100-16 J2.2, Fu 45, Fxx 60, one sheet, worked from the formulas; from memory.
#[test]
fn arc_spot_welds() {
    let rows = [
        (22, 0.0295, 0.625, 0.5955, 0.3438, 20.2, 1.739, 4.176, false),
        (22, 0.0295, 0.75, 0.7205, 0.4125, 24.4, 1.837, 6.014, true),
        (20, 0.0358, 0.625, 0.5892, 0.3438, 16.5, 2.088, 4.176, false),
        (20, 0.0358, 0.75, 0.7142, 0.4125, 19.9, 2.531, 6.014, true),
        (18, 0.0474, 0.75, 0.7026, 0.4125, 14.8, 3.297, 6.014, true),
        (16, 0.0598, 0.75, 0.6902, 0.4125, 11.5, 4.086, 6.014, true),
    ];
    for (gauge, t, visible_in, da, de, slender, sheet, weld, wide) in rows {
        println!("{gauge} ga, {visible_in} in");
        let found =
            arc_spot_weld(record! { visible_in: visible_in, thickness_in: t, fu_ksi: 45 }).unwrap();
        printed(found.average_in, da, 4);
        printed(found.effective_in, de, 4);
        printed(found.average_in / t, slender, 1);
        printed(found.sheet_kip, sheet, 3);
        printed(found.weld_kip, weld, 3);
        assert_eq!(found.note.is_empty(), wide);
        assert!(found.lrfd_kip < found.sheet_kip && found.asd_kip < found.lrfd_kip);
    }
    let five_eighths =
        arc_spot_weld(record! { visible_in: 0.625, thickness_in: 0.0295, fu_ksi: 45 }).unwrap();
    assert_eq!(five_eighths.note, "effective diameter 0.344 in is under the least of 0.375 in");
    // Under 0.815 root(E/Fu) = 20.87 thicknesses 0.70 and 2.20 apply; 3/4 in lies above, 0.55 and 2.80.
    printed(five_eighths.lrfd_kip, 0.70 * 1.739, 3);
    printed(five_eighths.asd_kip, 1.739 / 2.20, 3);
    let three_quarters =
        arc_spot_weld(record! { visible_in: 0.75, thickness_in: 0.0295, fu_ksi: 45 }).unwrap();
    printed(three_quarters.lrfd_kip, 0.55 * 1.837, 3);
    printed(three_quarters.asd_kip, 1.837 / 2.80, 3);
}

/// AISC 360-16 I3.2c: least slab 4 in on 2 in deck, 5 in on 3 in deck, by hand; a case quoted in a trade
/// magazine (Modern Steel Interchange, May 2013): 3 in deck, 5-1/2 in stud after welding, slab locally
/// 5-3/4 in, cover 1/4 in.
#[test]
fn headed_studs() {
    let stud = |ordered_in: f64, slab_in: f64, depth_in: f64| {
        headed_stud(record! { ordered_in: ordered_in, slab_in: slab_in, depth_in: depth_in })
            .unwrap()
    };
    let two = stud(3.875, 4.0, 2.0);
    printed(two.least_slab_in, 4.0, 9);
    printed(two.least_length_in, 3.5, 9);
    printed(two.least_ordered_in, 2.0 + 1.5 + 0.375, 9);
    assert!(two.over.is_empty(), "{:?}", two.over);
    let three = stud(4.875, 5.0, 3.0);
    printed(three.least_length_in, 4.5, 9);
    printed(three.least_slab_in, 5.0, 9);
    assert!(three.over.is_empty(), "{:?}", three.over);
    let field = stud(5.875, 5.75, 3.0);
    printed(field.cover_in, 0.25, 9);
    assert_eq!(field.over, ["cover over the stud 0.25 in is under 0.5 in"]);
    let wrong = headed_stud(record! {
        ordered_in: 4.875, slab_in: 5, depth_in: 3.5, diameter_in: 0.875, rib_in: 1.5,
    })
    .unwrap();
    assert_eq!(
        wrong.over,
        [
            "stud over the deck 1 in is under 1.5 in",
            "slab over the deck 1.5 in is under 2 in",
            "average rib width 1.5 in is under 2 in",
            "stud diameter 0.875 in is over 0.75 in",
            "deck depth 3.5 in is over 3 in",
        ]
    );
}

/// Geometry: a cell every pitch, a begun one counts.
#[test]
fn closures() {
    assert_eq!(cell_closures(feet(30.0), inches(12.0)).unwrap(), 30);
    assert_eq!(cell_closures(feet(30.5), inches(12.0)).unwrap(), 31);
    assert_eq!(cell_closures(feet(0.0), inches(6.0)).unwrap(), 0);
}

#[test]
fn refusals() {
    assert_eq!(
        support_fasteners("36-4".into(), 10, true).unwrap_err().to_string(),
        "`pattern` is \"36-4\", wanted a cover in inches and a count from 2 to 99, as in \"36/4\""
    );
    assert_eq!(
        support_fasteners("36/4".into(), -1, true).unwrap_err().to_string(),
        "`panels` is -1, wanted a count of panels from 0 to 1,000,000,000"
    );
    assert_eq!(
        side_lap_fasteners(feet(-3.0), inches(36.0), feet(5.0)).unwrap_err().to_string(),
        "`span_ft` is -3, wanted a span above 0 ft"
    );
    assert_eq!(
        side_lap_fasteners(feet(3.0), inches(0.0), feet(5.0)).unwrap_err().to_string(),
        "`spacing_in` is 0, wanted a spacing above 0 in"
    );
    assert_eq!(
        stock_pieces(vec![feet(3.0), feet(-1.0)], record! { stock_ft: 10 })
            .unwrap_err()
            .to_string(),
        "`sides_ft[1]` is -1, wanted a length above 0 ft"
    );
    assert_eq!(
        stock_pieces(vec![feet(3.0)], record! { stock_ft: 1, lap_in: 12 }).unwrap_err().to_string(),
        "`stock.lap_in` is 12, wanted a lap from 0 in, shorter than the piece"
    );
    assert_eq!(
        headed_stud(record! { ordered_in: 4.875, slab_in: 2, depth_in: 3 })
            .unwrap_err()
            .to_string(),
        "`stud.slab_in` is 2, wanted a slab thicker than the deck's 3 in"
    );
    assert_eq!(
        arc_spot_weld(record! { visible_in: 0.1, thickness_in: 0.1, fu_ksi: 45 })
            .unwrap_err()
            .to_string(),
        "`weld.visible_in` is 0.1, wanted a visible diameter that melts through 0.1 in of steel"
    );
    assert_eq!(
        edge_form_gauge(inches(0.0), inches(3.0)).unwrap_err().to_string(),
        "`slab_in` is 0, wanted a slab depth above 0 and up to 60 in"
    );
}
