//! Whatever is typed in a schedule, the SVG stays one.

use baytally::drawing::svg;
use baytally::picture::{Ink, Mark, Picture, Side, Spot, Words};
use proptest::prelude::*;
use quick_xml::Reader;
use quick_xml::events::Event;

use super::levels::{drawn, floor};

/// The texts of a well-formed SVG; fails where it is none.
pub fn texts(svg: &str) -> Vec<String> {
    let mut reader = Reader::from_str(svg);
    let (mut texts, mut depth) = (Vec::new(), 0_i64);
    loop {
        match reader.read_event().unwrap_or_else(|error| panic!("{error} in {svg}")) {
            Event::Eof => break,
            Event::Start(start) => {
                for attribute in start.attributes() {
                    attribute.unwrap();
                }
                depth += 1;
                if matches!(start.name().as_ref(), "text" | "title") {
                    texts.push(String::new());
                }
            }
            Event::End(_) => depth -= 1,
            Event::Text(text) => {
                let text: &str = &text;
                if let Some(last) = texts.last_mut().filter(|_| !text.trim().is_empty()) {
                    last.push_str(text);
                }
            }
            Event::GeneralRef(name) => {
                let letter = match &*name {
                    "amp" => '&',
                    "lt" => '<',
                    "gt" => '>',
                    "quot" => '"',
                    "apos" => '\'',
                    other => panic!("{other} is no entity of XML"),
                };
                texts.last_mut().unwrap().push(letter);
            }
            _ => {}
        }
    }
    assert_eq!(depth, 0);
    texts
}

#[test]
fn marks_that_look_like_markup() {
    let mut level = floor();
    level.bays[0].mark = "<b>&\"'".into();
    level.bays[0].pours = vec!["</svg><script>".into()];
    level.bays[2].openings[0].note = "a]]>b".into();
    level.edges = vec!["<!-- edge -->".into()];
    let svg = drawn(&level);
    let texts = texts(&svg);
    for text in ["<b>&\"'", "pour </svg><script>", "a]]>b", "Edges sheet: <!-- edge -->"] {
        assert!(texts.iter().any(|other| other == text), "{text} is not in {texts:?}");
    }
    assert!(!svg.contains("<script") && !svg.contains("<b>"));
}

#[test]
fn letters_that_xml_does_not_allow() {
    let words = Words {
        spot: Spot { x: f64::NAN, y: f64::INFINITY },
        text: "a\u{0}b\u{1B}c\u{FFFE}d\ne\tf".into(),
        size: 8.0,
        bold: false,
        ink: Ink(0, 0, 0),
        side: Side::Start,
        upward: true,
    };
    let picture = Picture { width: 100.0, height: 100.0, marks: vec![Mark::Words(words)] };
    let svg = svg(&picture, &["head\u{8}ing".into()]);
    let texts = texts(&svg);
    assert_eq!(texts[2], "a\u{FFFD}b\u{FFFD}c\u{FFFD}d e f", "{texts:?}");
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
}

proptest! {
    #[test]
    fn any_text_is_kept_or_cut(mark in ".{0,40}", note in ".{0,400}", fact in any::<String>()) {
        let mut level = floor();
        level.bays[0].mark = mark;
        level.bays[0].facts = vec![fact];
        level.notes = vec![note];
        let svg = drawn(&level);
        texts(&svg);
        prop_assert!(svg.len() < 100_000);
    }
}
