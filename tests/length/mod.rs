//! Exact lengths: every notation, the traps, the printing and the counting.

use baytally::length::{Length, Typed, Unit, parse, parse_list, parse_widths};
use proptest::prelude::*;

/// Feet-inch notations seen in the trade, from memory; expected inches by arithmetic.
const NOTATIONS: &[(&str, Unit, f64)] = &[
    ("24'-6 1/2\"", Unit::Foot, 294.5),
    ("24' 6 1/2\"", Unit::Foot, 294.5),
    ("24'-6-1/2\"", Unit::Foot, 294.5),
    ("24\u{2032}-6 \u{bd}\u{2033}", Unit::Foot, 294.5),
    ("24'", Unit::Foot, 288.0),
    ("6\"", Unit::Foot, 6.0),
    ("1'-0 1/4\"", Unit::Foot, 12.25),
    ("24-6 (two numbers)", Unit::Foot, 294.0),
    ("3' 4\"", Unit::Foot, 40.0),
    ("24-6.5", Unit::Foot, 294.5),
    ("24'6\u{bd}\"", Unit::Foot, 294.5),
    ("24ft 6.5in", Unit::Foot, 294.5),
    ("24.5417'", Unit::Foot, 294.5004),
    ("24'-0\"", Unit::Foot, 288.0),
    ("0'-6\"", Unit::Foot, 6.0),
    ("294 1/2", Unit::Inch, 294.5),
    ("6'-8 3/8\"", Unit::Foot, 80.375),
    ("-1'-2\"", Unit::Foot, -14.0),
];

#[test]
fn reads_every_notation_of_the_trade() {
    for (text, bare, inches) in NOTATIONS {
        let text = text.trim_end_matches(" (two numbers)");
        let typed = parse(text, *bare).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert!((typed.length.in_inches() - inches).abs() < 1e-5, "{text}: {}", typed.length);
    }
    assert_eq!(NOTATIONS.len(), 18);
}

#[test]
fn reads_other_ways_of_typing() {
    for (text, bare, exact) in [
        ("5-1/2", Unit::Inch, Length::sixty_fourths(352)),
        ("5 1/2", Unit::Inch, Length::sixty_fourths(352)),
        ("24''", Unit::Foot, Length::inches(24)),
        ("31", Unit::Foot, Length::feet(31)),
        ("24\u{2019}\u{a0}6\u{201d}", Unit::Foot, Length::inches(294)),
        ("24 1/2'", Unit::Foot, Length::inches(294)),
        ("7480 mm", Unit::Foot, Length::from_exact(7480 * 8000)),
        ("7.48 m", Unit::Foot, Length::from_exact(7480 * 8000)),
        ("748 cm", Unit::Foot, Length::from_exact(7480 * 8000)),
        ("24 FT. 6 IN.", Unit::Foot, Length::inches(294)),
        ("24'-6", Unit::Foot, Length::inches(294)),
    ] {
        assert_eq!(parse(text, bare).map(|typed| typed.length), Ok(exact), "{text}");
    }
}

#[test]
fn refuses_with_the_reason_and_what_to_type() {
    const TAIL: &str = "write feet and inches as 24'-6 1/2\", 24-6 1/2 or 24.5', metric as 7480 mm";
    for (text, message, hint) in [
        (
            "24'-13\"",
            "`24'-13\"` has 13\" behind the feet, wanted less than 12\"",
            "if it is meant so, write 25'-1\"",
        ),
        ("abc", "`abc` is no length: `abc` is no unit of length", TAIL),
        ("24'-6 17/16\"", "`24'-6 17/16\"` is no length: 17/16 is no proper fraction", TAIL),
        ("1/3\"", "`1/3\"` is no length: 1/3 is no fraction in halves to sixty-fourths", TAIL),
        (
            "1,200'",
            "`1,200'` has a comma",
            "write decimals with a point and thousands without a comma",
        ),
        (
            "24-1/2",
            "`24-1/2` may be feet with inches or feet with a fraction",
            "write 24'-0 1/2\" or 24.5'",
        ),
        ("24 6", "`24 6` is no length: its parts do not make one length", TAIL),
        ("24.5'-6\"", "`24.5'-6\"` is no length: feet before inches are a whole number", TAIL),
        ("12'-", "`12'-` is no length: a number is missing", TAIL),
        ("1.2.3", "`1.2.3` is no length: `1.2.3` is no number", TAIL),
        ("3 $", "`3 $` is no length: `$` has no place in a length", TAIL),
    ] {
        let error = parse(text, Unit::Foot).expect_err(text);
        assert_eq!((error.message.as_str(), error.hint.as_deref()), (message, Some(hint)));
    }
    let far = parse("999999999999'", Unit::Foot).expect_err("too long");
    assert_eq!(far.message, "`999999999999'` is longer than 100,000 ft");
    let blank = parse("  ", Unit::Foot).expect_err("blank");
    assert_eq!(blank.message, "nothing where a length belongs");
}

#[test]
fn reads_lists_repeats_and_breaks() {
    let feet = |list: &[i64]| -> Vec<Typed> {
        list.iter().map(|&feet| Typed::exact(Length::feet(feet))).collect()
    };
    assert_eq!(parse_list("3@10'-0\"", Unit::Foot), Ok(feet(&[10, 10, 10])));
    assert_eq!(parse_list("10', 2@9; 8", Unit::Foot), Ok(feet(&[10, 9, 9, 8])));
    assert_eq!(parse_list("(3) 10'-0\" + 9'", Unit::Foot), Ok(feet(&[10, 10, 10, 9])));
    assert_eq!(parse_list("10'-0\"\r\n9'\n", Unit::Foot), Ok(feet(&[10, 9])));
    assert_eq!(parse_list("10',\n9'", Unit::Foot), Ok(feet(&[10, 9])));
    assert_eq!(parse_list("3@10'-0\" = 30'-0\"", Unit::Foot), Ok(feet(&[10, 10, 10])));
    assert_eq!(parse_list("3@10' = 29'-11 1/2\"", Unit::Foot), Ok(feet(&[10, 10, 10])));
    let wrong = parse_list("3@10' = 31'", Unit::Foot).expect_err("it is no sum");
    assert_eq!(wrong.message, "the lengths of `3@10' = 31'` come to 30'-0\"");
    for broken in ["10'-\n0\"", "10'\n0\"", "1@\n10'-0\""] {
        assert_eq!(parse_list(broken, Unit::Foot), Ok(feet(&[10])), "{broken}");
    }
    for text in ["3 x 10'-0\"", "3x10'", "30 × 31"] {
        let hint = parse_list(text, Unit::Foot).expect_err(text).hint.unwrap();
        assert_eq!(hint, "write how many and then the length: `3@10'-0\"`", "{text}");
    }
    assert_eq!(
        parse_widths("2@31'-0\" | 2@31'-0\"", Unit::Foot),
        Ok(vec![feet(&[31, 31]), feet(&[31, 31])])
    );
    for (text, message) in [
        ("10,10,10", "the comma in `10,10,10` may separate or be decimal"),
        ("10,5", "the comma in `10,5` may separate or be decimal"),
        ("10', ,9'", "`10', ,9'` has an empty place in its list"),
        ("x@9'", "`x` before `@` is no count"),
        ("0@9'", "`0` before `@` is no count"),
        ("9999@9', 9999@9'", "more than 10000 lengths in one cell"),
    ] {
        assert_eq!(parse_list(text, Unit::Foot).expect_err(text).message, message);
    }
}

#[test]
fn prints_reduced_fractions() {
    for (sixty_fourths, text) in [
        (23_040, "30'-0\""),
        (18_848, "24'-6 1/2\""),
        (1, "0'-0 1/64\""),
        (-16, "-0'-0 1/4\""),
        (64 * 12 + 48, "1'-0 3/4\""),
    ] {
        assert_eq!(Length::sixty_fourths(sixty_fourths).to_string(), text);
    }
    assert_eq!(Length::from_exact(8_000_000).to_string(), "3'-3.370079\"");
    assert_eq!(Length::sixty_fourths(400).as_inches_text(), "6 1/4\"");
}

#[test]
fn panel_counts_of_the_trade() {
    // Arithmetic: 31 ft over 36 in is 10.33, over 24 in 15.5.
    let width = Length::feet(31);
    assert_eq!(width.count_to_cover(Length::inches(36)), Some(11));
    assert_eq!(width.count_to_cover(Length::inches(24)), Some(16));
    assert_eq!(width.count_to_cover(Length::ZERO), None);
}

proptest! {
    /// n covers, however typed, count n; a sixty-fourth more counts n + 1.
    #[test]
    fn whole_covers_count_exactly(count in 1_i64..3_000, cover_64 in 64_i64..64 * 48) {
        let cover = Length::sixty_fourths(cover_64);
        let width = cover * count;
        let (feet, rest) = (width.exact() / 2_438_400, width.exact() % 2_438_400);
        let (inches, sixty_fourths) = (rest / 203_200, rest % 203_200 / 3_175);
        let fraction = if sixty_fourths > 0 { format!(" {sixty_fourths}/64") } else { String::new() };
        let typed = parse(&format!("{feet}'-{inches}{fraction}\""), Unit::Foot).unwrap();
        prop_assert_eq!(typed, Typed::exact(width));
        prop_assert_eq!(typed.length.count_to_cover(cover), Some(count));
        prop_assert_eq!((typed.length + Length::SIXTY_FOURTH).count_to_cover(cover), Some(count + 1));
        let number = width.in_feet();
        prop_assert_eq!(Length::from_number(number, Unit::Foot), Some(width));
    }

    /// Metric covers and widths to a millimetre count exactly; an inch cover typed to the nearest
    /// millimetre lies within what the text stands for.
    #[test]
    fn millimetres_count_exactly(count in 1_i64..3_000, cover_mm in 100_i64..1_200) {
        let cover = Length::from_exact(cover_mm * 8_000);
        let typed = parse(&format!("{} mm", cover_mm * count), Unit::Foot).unwrap();
        prop_assert_eq!(typed.length.count_to_cover(cover), Some(count));
        let inches = Length::inches(36) * count;
        let rounded = (inches.exact() + 4_000) / 8_000;
        let typed = parse(&format!("{rounded} mm"), Unit::Foot).unwrap();
        prop_assert!((typed.length - inches).abs() <= typed.half_digit);
    }

    /// Decimal text stands for everything within half its last digit.
    #[test]
    fn decimals_carry_half_their_last_digit(count in 1_i64..3_000, cover_64 in 64_i64..64 * 48, digits in 1_usize..6) {
        let width = Length::sixty_fourths(cover_64) * count;
        let typed = parse(&format!("{:.*}'", digits, width.in_feet()), Unit::Foot).unwrap();
        prop_assert!((typed.length - width).abs() <= typed.half_digit + Length::from_exact(1));
    }

    /// Whatever is printed reads back as the same length.
    #[test]
    fn printed_lengths_read_back(sixty_fourths in -10_000_000_i64..10_000_000) {
        let length = Length::sixty_fourths(sixty_fourths);
        prop_assert_eq!(parse(&length.to_string(), Unit::Foot), Ok(Typed::exact(length)));
    }

    /// No text makes the reader panic.
    #[test]
    fn any_text_is_answered(text in "\\PC{0,40}", digits in "[0-9'\"/@|,. ½-]{0,24}") {
        for text in [&text, &digits] {
            let _ = parse_widths(text, Unit::Foot);
            let _ = parse(text, Unit::Inch);
        }
    }
}
