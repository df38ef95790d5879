//! The catalogue: its figures, what people type for its entries, a shop's file over it.

use baytally::catalogue::{Catalogue, Use, depth_text};

/// Average rib widths: geometry of the flats; check values of the composite deck standard's
/// profiles, from memory.
#[test]
fn ribs_covers_and_flats_of_the_generic_profiles() {
    let catalogue = Catalogue::bundled();
    for (text, used_as, rib_in, cover_in, assumed) in [
        ("1.5x6", Use::Composite, 2.125, 36.0, false),
        ("1.5x6", Use::Roof, 2.125, 36.0, false),
        ("1.5x6 inverted", Use::Composite, 3.875, 36.0, false),
        ("1.5x6 intermediate", Use::Roof, 1.125, 36.0, false),
        ("1.5x6 narrow", Use::Roof, 0.6875, 36.0, false),
        ("1.5x12", Use::Composite, 6.0, 36.0, false),
        ("2x12", Use::Composite, 6.0, 36.0, false),
        ("3x12", Use::Composite, 6.0, 36.0, false),
        ("3x8", Use::Roof, 2.0625, 24.0, false),
        ("4.5x12", Use::Composite, 6.0, 24.0, true),
        ("6x12", Use::Composite, 6.0, 24.0, true),
        ("7.5x12", Use::Roof, 6.0, 24.0, true),
        ("9/16", Use::Form, 1.25, 30.0, true),
        ("1", Use::Form, 2.25, 27.0, true),
    ] {
        let profile = catalogue.profile(text, Some(used_as)).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(profile.rib_in(), rib_in, "{text}");
        assert_eq!(profile.cover_in, cover_in, "{text}");
        assert_eq!(profile.assumed, assumed, "{text}");
        assert!(profile.radius_in > 0.0, "{text}");
    }
}

/// Developed width over pitch, sharp corners: (flats + 2 sqrt(run^2 + depth^2)) / pitch, to the
/// printed digits.
#[test]
fn flats_give_the_developed_ratios() {
    let catalogue = Catalogue::bundled();
    for (text, used_as, ratio) in [
        ("1.5x6", Use::Roof, 1.390),
        ("1.5x12", Use::Composite, 1.134),
        ("2x12", Use::Composite, 1.206),
        ("3x12", Use::Composite, 1.333),
        ("3x8", Use::Roof, 1.622),
    ] {
        let p = catalogue.profile(text, Some(used_as)).unwrap();
        let run = (p.pitch_in - p.top_flat_in - p.bottom_flat_in) / 2.0;
        let developed = p.top_flat_in + p.bottom_flat_in + 2.0 * run.hypot(p.depth_in);
        assert!((developed / p.pitch_in - ratio).abs() < 0.000_51, "{text}");
    }
}

/// Deck standards of 2006 and 2017, thickness tables: least is 0.95 of design, three decimals.
#[test]
fn gauges_have_design_and_least_thickness() {
    let catalogue = Catalogue::bundled();
    for (name, thickness_in, least_in) in [
        ("28", 0.0149, 0.014),
        ("26", 0.0179, 0.017),
        ("24", 0.0238, 0.023),
        ("22", 0.0295, 0.028),
        ("21", 0.0329, 0.031),
        ("20", 0.0358, 0.034),
        ("19", 0.0418, 0.040),
        ("18", 0.0474, 0.045),
        ("17", 0.0538, 0.051),
        ("16", 0.0598, 0.057),
        ("14", 0.0747, 0.071),
        ("12", 0.1046, 0.099),
        ("10", 0.1345, 0.128),
    ] {
        let gauge = catalogue.gauge(name).unwrap();
        assert_eq!((gauge.thickness_in, gauge.least_in), (thickness_in, least_in), "{name}");
        assert!((gauge.thickness_in * 0.95 - gauge.least_in).abs() < 0.000_6, "{name}");
    }
}

#[test]
fn profiles_are_found_as_people_type_them() {
    let catalogue = Catalogue::bundled();
    for (text, used_as, name) in [
        ("3x12", Some(Use::Composite), "3x12"),
        ("3 x 12", Some(Use::Composite), "3x12"),
        ("3\"x12\"", Some(Use::Composite), "3x12"),
        ("3\" X 12\"", Some(Use::Composite), "3x12"),
        ("3 \u{d7} 12", Some(Use::Form), "3x12"),
        ("3 in x 12 in", Some(Use::Composite), "3x12"),
        ("3x12 composite", None, "3x12"),
        ("1.5x6 inverted", Some(Use::Composite), "1.5x6 inverted"),
        ("1 1/2 x 6 inv.", Some(Use::Composite), "1.5x6 inverted"),
        ("1-1/2\"x6\" WR", Some(Use::Roof), "1.5x6"),
        ("1\u{bd}x6", Some(Use::Roof), "1.5x6"),
        ("1.5 x 6 NR", Some(Use::Roof), "1.5x6 narrow"),
        ("3 deep rib", Some(Use::Roof), "3x8"),
        ("3x8", None, "3x8"),
        ("9/16", Some(Use::Form), "9/16x2.5"),
        ("9/16 x 2-1/2 form", None, "9/16x2.5"),
        ("2", Some(Use::Composite), "2x12"),
        ("2x12", None, "2x12"),
    ] {
        let found = catalogue.profile(text, used_as).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(&*found.name, name, "{text}");
    }
}

#[test]
fn gauges_finishes_grades_and_mixes_are_found_as_people_type_them() {
    let catalogue = Catalogue::bundled();
    for text in ["20", "20 ga", "ga 20", "20ga.", "#20", "20 gauge", "0.0358", ".0358\""] {
        assert_eq!(&*catalogue.gauge(text).unwrap().name, "20", "{text}");
    }
    for text in
        ["20 (0.0358)", "20 ga. (.0358\")", "20 (0.036)", "20 Ga. min", "20 ga (min.)", "(20 ga)"]
    {
        assert_eq!(&*catalogue.gauge(text).unwrap().name, "20", "{text}");
    }
    for text in ["20 (0.0295)", "20ga / 18ga", "20/20"] {
        assert!(catalogue.gauge(text).is_err(), "{text}");
    }
    let own = catalogue.gauge("0.0336 in").unwrap();
    assert_eq!((&*own.name, own.thickness_in, own.least_in), ("0.0336 in", 0.0336, 0.032));
    for (text, name) in [
        ("G60", "G60"),
        ("g-60", "G60"),
        ("Galv G60", "G60"),
        ("G 90 galvanized", "G90"),
        ("Z180", "G60"),
        ("Painted", "painted"),
        ("prime-painted", "painted"),
        ("Phosphatized/Painted", "painted"),
        ("phos/ptd", "painted"),
        ("PTD", "painted"),
        ("prime ptd.", "painted"),
        ("black", "uncoated"),
        ("A60 galvannealed", "A60"),
    ] {
        assert_eq!(&*catalogue.finish(text).unwrap().name, name, "{text}");
    }
    assert!(catalogue.finish("G60/PTD").is_err());
    for (text, steel, name, fu_ksi) in [
        ("SS 40", Some("A653"), "SS 40", 55.0),
        ("40", Some("A653"), "SS 40", 55.0),
        ("Fy 40", Some("A653"), "SS 40", 55.0),
        ("Fy = 40 ksi", Some("A1008"), "SS 40", 52.0),
        ("Gr. 40", None, "SS 40", 55.0),
        ("A653 SS 50 Class 1", Some("A1008"), "SS 50", 65.0),
        ("ASTM A1008 SS Grade 33", None, "SS 33", 48.0),
        ("80", Some("A653"), "SS 80", 82.0),
    ] {
        let grade = catalogue.grade(text, steel).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!((&*grade.name, grade.fu_ksi), (name, fu_ksi), "{text}");
    }
    for (text, name, strength_psi) in [
        ("NW 145", "NW 145", None),
        ("NWC145", "NW 145", None),
        ("145 pcf", "NW 145", None),
        ("normal weight 150 pcf", "NW 150", None),
        ("LW 110", "LW 110", None),
        ("LWC 110 pcf 3,000 psi", "LW 110", Some(3000.0)),
        ("NW 145 4 ksi", "NW 145", Some(4000.0)),
    ] {
        let mix = catalogue.mix(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!((&*mix.name, mix.strength_psi), (name, strength_psi), "{text}");
    }
}

#[test]
fn misses_say_what_is_near() {
    let catalogue = Catalogue::bundled();
    let miss = catalogue.profile("3x8", Some(Use::Composite)).unwrap_err();
    assert_eq!(miss.message, "no composite profile `3x8` in the catalogue; `3x8` is there as roof");
    let miss = catalogue.profile("3x13", Some(Use::Composite)).unwrap_err();
    assert_eq!(miss.message, "no composite profile `3x13` in the catalogue");
    assert_eq!(miss.hint(), "did you mean `3x12`?");
    let miss = catalogue.profile("3", Some(Use::Roof)).unwrap_err();
    assert_eq!(miss.message, "`3` may be several profiles");
    assert_eq!(miss.hint(), "did you mean `3x12` or `3x8`?");
    let miss = catalogue.gauge("23").unwrap_err();
    assert_eq!(miss.message, "no gauge `23` in the catalogue");
    let miss = catalogue.finish("G80").unwrap_err();
    assert_eq!(miss.message, "no finish `G80` in the catalogue");
    let miss = catalogue.finish("galvanized").unwrap_err();
    assert_eq!(miss.message, "`galvanized` does not say how much zinc");
    assert_eq!(miss.hint(), "did you mean `G30` or `G40` or `G60` or `G90`?");
    let miss = catalogue.grade("SS 37", Some("A1008")).unwrap_err();
    assert_eq!(miss.message, "no A1008 grade `SS 37` in the catalogue");
    let miss = catalogue.mix("NW").unwrap_err();
    assert_eq!(miss.message, "`NW` may be several mixes");
}

#[test]
fn a_shop_changes_fields_and_adds_entries() {
    let shop = r#"
[[profile]]
depth_in = 3
pitch_in = 12
cover_in = 24

[[profile]]
depth_in = 2
pitch_in = 12
uses = ["form"]
cover_in = 32

[[profile]]
depth_in = 2.5
pitch_in = 10
uses = ["composite"]
top_flat_in = 4
bottom_flat_in = 4
cover_in = 30
also = ["our 2.5"]

[[profile.published]]
gauge = "20"
finish = "G60"
psf = 1.9

[[mix]]
name = "M1"
unit_weight_pcf = 148
strength_psi = 4000
kind = "normal"
"#;
    let catalogue = Catalogue::bundled().with_shop(shop, "shop/catalogue.toml").unwrap();
    let profile = |text, used_as| catalogue.profile(text, Some(used_as)).unwrap();
    assert_eq!(profile("3x12", Use::Composite).cover_in, 24.0);
    assert_eq!(profile("3x12", Use::Roof).cover_in, 24.0);
    assert_eq!(profile("3x12", Use::Roof).top_flat_in, 4.75);
    assert_eq!(&*profile("3x12", Use::Roof).origin, "shop/catalogue.toml: profile 3x12");
    assert_eq!(profile("2x12", Use::Form).cover_in, 32.0);
    assert_eq!(profile("2x12", Use::Composite).cover_in, 36.0);
    let own = profile("our 2.5", Use::Composite);
    assert_eq!(own.rib_in(), 5.0);
    assert_eq!(own.published_psf("20", "g60"), Some(1.9));
    assert_eq!(own.published_psf("18", "G60"), None);
    assert_eq!(catalogue.mix("m1").unwrap().strength_psi, Some(4000.0));
    assert_eq!(catalogue.gauges().len(), Catalogue::bundled().gauges().len());
}

#[test]
fn a_shop_file_at_fault_names_file_and_entry() {
    for (text, message, hint) in [
        (
            "[[profile]]\ndepth_in = 3\npitch_in = 12\ncover_in = -3\n",
            "own.toml: profile 3x12 composite: `cover_in` is -3, wanted 6 to 60",
            None,
        ),
        (
            "[[profile]]\ndepth_in = 3\npitch_in = 12\ncovr_in = 24\n",
            "own.toml: profile, entry 1: `covr_in` is no field of a profile",
            Some("`cover_in`?"),
        ),
        (
            "[[profile]]\ndepth_in = 3\npitch_in = 13\ncover_in = 24\n",
            "own.toml: profile, entry 1: profile 3x13 is new and states no `uses`",
            Some("uses = [\"composite\"]"),
        ),
        (
            "[[gauges]]\nname = \"9\"\n",
            "own.toml: `gauges` is no list of entries; known are [[profile]], [[gauge]], \
             [[finish]], [[grade]] and [[mix]]",
            Some("[[gauge]]?"),
        ),
        ("[[gauge]\n", "own.toml: line 1: unclosed array table, expected `]`", None),
        (
            "[[gauge]]\nname = \"9\"\nthickness_in = 0.15\n",
            "own.toml: gauge 9: `least_in` is missing",
            None,
        ),
    ] {
        let bad = Catalogue::bundled().with_shop(text, "own.toml").unwrap_err();
        assert_eq!(bad[0].to_string(), message);
        assert_eq!(bad[0].hint.as_deref(), hint, "{message}");
    }
}

#[test]
fn depths_are_written_as_the_trade_does() {
    for (inches, text) in [(3.0, "3"), (1.5, "1.5"), (0.5625, "9/16"), (1.3125, "1-5/16")] {
        assert_eq!(depth_text(inches), text);
    }
}
