//! Temperature and shrinkage steel, mesh, fibres.

use std::sync::Arc;

use baytally::concrete::steel::{
    fibre_lb, least_fibre_lb_yd3, least_steel_in2_ft, mesh, mesh_area_in2_ft, mesh_cover_factor,
    mesh_lap_in, mesh_named, mesh_order, mesh_styles, meshes_for,
};
use baytally::value::Value;
use proptest::prelude::*;

use super::{close, record};

/// max(0.028, 0.009 x concrete over the deck), SDI C-2017, by hand.
#[test]
fn least_steel_over_the_deck() {
    for (topping_in, wanted) in [
        (2.0, 0.028),
        (2.5, 0.028),
        (3.0, 0.028),
        (3.11, 0.028),
        (3.25, 0.029_25),
        (3.5, 0.0315),
        (4.0, 0.0360),
        (4.5, 0.0405),
        (5.0, 0.0450),
    ] {
        close(least_steel_in2_ft(topping_in).unwrap(), wanted, 5);
    }
}

/// The most concrete over the deck that a mesh serves is its area over 0.009.
#[test]
fn the_lightest_mesh_that_serves() {
    let lightest = |topping_in: f64| {
        meshes_for(least_steel_in2_ft(topping_in).unwrap()).unwrap().first().map(|mesh| mesh.style)
    };
    for (topping_in, style, next) in [
        (3.111, "6x6-W1.4xW1.4", "6x6-W2.0xW2.0"),
        (4.444, "6x6-W2.0xW2.0", "6x6-W2.1xW2.1"),
        (4.666, "6x6-W2.1xW2.1", "6x6-W2.9xW2.9"),
        (6.444, "6x6-W2.9xW2.9", "4x4-W2.0xW2.0"),
    ] {
        assert_eq!(lightest(topping_in), Some(style), "{topping_in} in");
        assert_eq!(lightest(topping_in + 0.002), Some(next), "over {topping_in} in");
    }
    assert_eq!(lightest(8.888), Some("6x6-W4.0xW4.0"));
    assert_eq!(lightest(8.890), Some("4x4-W2.9xW2.9"));
    assert_eq!(lightest(20.0), None);
}

/// Area each way, wire diameter, published weight, and the weight of the wires alone; wire steel
/// weighs 3.4 lb a foot and square inch. Weights: published table of a course on slabs on grade
/// (6x6-W2.1 from memory).
#[test]
fn styles_as_published() {
    let table = [
        ("6x6-W1.4xW1.4", 0.028, 0.1335, 21.0, 19.0),
        ("6x6-W2.0xW2.0", 0.040, 0.1596, 29.0, 27.2),
        ("6x6-W2.1xW2.1", 0.042, 0.1635, 30.0, 28.6),
        ("6x6-W2.9xW2.9", 0.058, 0.1922, 42.0, 39.4),
        ("6x6-W4.0xW4.0", 0.080, 0.2257, 58.0, 54.4),
        ("6x6-W5.5xW5.5", 0.110, 0.2646, 80.0, 74.8),
        ("4x4-W1.4xW1.4", 0.042, 0.1335, 31.0, 28.6),
        ("4x4-W2.0xW2.0", 0.060, 0.1596, 43.0, 40.8),
        ("4x4-W2.9xW2.9", 0.087, 0.1922, 62.0, 59.2),
        ("4x4-W4.0xW4.0", 0.120, 0.2257, 85.0, 81.6),
    ];
    assert_eq!(mesh_styles().len(), table.len());
    assert!(mesh_styles().is_sorted_by(|a, b| a.lb_per_square <= b.lb_per_square));
    for (style, area, wire_in, weight, bare) in table {
        let mesh = mesh(Arc::from(style)).unwrap();
        close(mesh.area_in2_ft(), area, 3);
        assert_eq!(mesh_area_in2_ft(mesh.wire, mesh.spacing_in).unwrap(), mesh.area_in2_ft());
        close(mesh.wire_in(), wire_in, 4);
        close(mesh.lb_per_square, weight, 0);
        close(2.0 * mesh.area_in2_ft() * 3.4 * 100.0, bare, 1);
        assert!((1.04..1.11).contains(&(weight / bare)), "{style}");
        assert!(!mesh.source.is_empty());
    }
}

/// Laps of one mesh and 2 in: 4.333 x 149.333 / 750 and 4.5 x 149.5 / 750, by hand.
#[test]
fn laps_and_cover_factors() {
    assert_eq!((mesh_lap_in(6.0).unwrap(), mesh_lap_in(4.0).unwrap()), (8.0, 6.0));
    assert_eq!(mesh_lap_in(2.0).unwrap(), 6.0);
    let factor = |lap_in| mesh_cover_factor(5.0, 150.0, lap_in, lap_in).unwrap();
    close(factor(8.0), 0.8628, 4);
    close(1.0 / factor(8.0), 1.159, 3);
    close(factor(6.0), 0.897, 3);
    close(1.0 / factor(6.0), 1.115, 3);
    assert_eq!(factor(0.0), 1.0);
}

/// 10,000 ft2: a roll covers 647.1 ft2 net, so 15.45 rolls; a sheet of 8 by 20 ft 7.333 x 19.333
/// = 141.8 ft2, so 70.5 sheets.
#[test]
fn rolls_and_sheets_to_order() {
    let need = |width_ft, length_ft, area_ft2| {
        record([
            ("area_ft2", Value::Number(area_ft2)),
            ("style", Value::text("6x6-W2.9xW2.9")),
            ("width_ft", Value::Number(width_ft)),
            ("length_ft", Value::Number(length_ft)),
        ])
    };
    let rolls = mesh_order(need(5.0, 150.0, 10_000.0)).unwrap();
    assert_eq!((rolls.pieces, rolls.ordered_ft2, rolls.weight_lb), (16, 12_000.0, 5_040.0));
    assert_eq!((rolls.side_lap_in, rolls.end_lap_in), (8.0, 8.0));
    let sheets = mesh_order(need(8.0, 20.0, 10_000.0)).unwrap();
    assert_eq!((sheets.pieces, sheets.ordered_ft2, sheets.weight_lb), (71, 11_360.0, 4_771.2));
    assert_eq!(mesh_order(need(5.0, 150.0, 0.0)).unwrap().pieces, 0);
    // Three rolls' net cover takes three rolls.
    let net = 3.0 * 750.0 * mesh_cover_factor(5.0, 150.0, 8.0, 8.0).unwrap();
    assert_eq!(mesh_order(need(5.0, 150.0, net)).unwrap().pieces, 3);
}

/// 25 lb/yd3 of steel or 4 lb/yd3 of macro-synthetic fibres, SDI C-2017, from memory.
#[test]
fn fibres_in_place_of_mesh() {
    let least = |kind: &str| least_fibre_lb_yd3(Arc::from(kind)).unwrap();
    assert_eq!(fibre_lb(15.75, least("steel")).unwrap(), 393.75);
    assert_eq!(fibre_lb(15.75, least("macro")).unwrap(), 63.0);
}

/// Gauges of steel wire, from memory: 10 is 0.135 in (0.0143 in2), 8 is 0.162 in (0.0206), 6 is 0.192 in
/// (0.0290), 4 is 0.2253 in (0.0399): W1.4, W2.1, W2.9 and W4.0.
#[test]
fn mesh_as_drawings_write_it() {
    let named = |text: &str| mesh_named(Arc::from(text)).map(|mesh| mesh.style);
    for text in [
        "6x6-W2.9xW2.9",
        " 6X6-W2.9XW2.9",
        "6x6 w2.9/w2.9",
        "WWF 6x6-W2.9xW2.9",
        "WWR6\" x 6\" - W2.9 x W2.9",
        "6×6-6/6",
        "6x6-6x6",
    ] {
        assert_eq!(named(text), Some("6x6-W2.9xW2.9"), "{text}");
    }
    for (gauges, style, dia_in) in [
        ("6x6-10/10", "6x6-W1.4xW1.4", 0.135),
        ("6x6-8/8", "6x6-W2.1xW2.1", 0.162),
        ("6x6-6/6", "6x6-W2.9xW2.9", 0.192),
        ("4x4-4/4", "4x4-W4.0xW4.0", 0.225_3),
    ] {
        assert_eq!(named(gauges), Some(style), "{gauges}");
        let wire_in = mesh(Arc::from(style)).unwrap().wire_in();
        assert!((wire_in - dia_in).abs() < 0.002, "{gauges}: {wire_in}");
    }
    for text in [
        "",
        "fibers",
        "#4@12 EW",
        "6x6-D4xD4",
        "6x4-W2.9xW2.9",
        "6x6-W2.9",
        "6x6-W2.9xW1.4",
        "6x6-9/9",
    ] {
        assert_eq!(named(text), None, "{text}");
    }
}

#[test]
fn refusals_say_what_is_wrong() {
    assert_eq!(
        mesh(Arc::from("6x6-W2.9")).unwrap_err().to_string(),
        "`style` is \"6x6-W2.9\", wanted a style of mesh_styles, as \"6x6-W1.4xW1.4\" (perhaps \
         \"6x6-W2.9xW2.9\")"
    );
    assert_eq!(
        mesh_cover_factor(5.0, 150.0, 60.0, 8.0).unwrap_err().to_string(),
        "`side_lap_in` is 60, wanted a lap from 0 in to below 5 ft"
    );
    assert_eq!(
        least_steel_in2_ft(-0.5).unwrap_err().to_string(),
        "`topping_in` is -0.5, wanted concrete over the deck from 0 to 60 in"
    );
    assert_eq!(
        least_fibre_lb_yd3(Arc::from("glass")).unwrap_err().to_string(),
        "`kind` is \"glass\", wanted \"steel\" or \"macro\""
    );
}

proptest! {
    #[test]
    fn the_order_covers_the_area_with_less_than_a_piece_to_spare(
        area in 1.0..200_000.0f64, width in 4.0..9.0f64, length in 9.0..200.0f64,
    ) {
        let need = record([
            ("area_ft2", Value::Number(area)),
            ("style", Value::text("4x4-W1.4xW1.4")),
            ("width_ft", Value::Number(width)),
            ("length_ft", Value::Number(length)),
        ]);
        let order = mesh_order(need).unwrap();
        let covered = order.ordered_ft2 * order.cover_factor;
        prop_assert!(covered >= area * (1.0 - 1e-8));
        prop_assert!(covered < area + width * length);
    }

    #[test]
    fn nothing_panics(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>()) {
        let _ = mesh_cover_factor(a, b, c, d);
        let _ = (least_steel_in2_ft(a), meshes_for(b), mesh_area_in2_ft(c, d), mesh_lap_in(a));
    }
}
