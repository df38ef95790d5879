//! A picture as SVG text.
//!
//! Words stand as text in a common sans-serif whose letters are as wide as the built-in font's;
//! each says how long it is, so that another font does not burst its place.

use std::fmt::Write;

use super::font;
use crate::picture::{Ink, Mark, Picture, Side, Spot, Stroke, Words};

/// The comment at the head of every file, by which the program knows its own.
pub const MADE_BY: &str = "<!-- baytally deck plan -->";
const FONTS: &str = "Arial, &apos;Liberation Sans&apos;, Helvetica, sans-serif";
const HEAD_LINE: f64 = 13.0;

/// Writes a picture under a heading of some lines, the first of them large.
#[must_use]
pub fn svg(picture: &Picture, heading: &[String]) -> String {
    let lines = u32::try_from(heading.len()).unwrap_or(u32::MAX);
    let head = if heading.is_empty() { 0.0 } else { f64::from(lines) * HEAD_LINE + 9.0 };
    let (width, height) = (picture.width, picture.height + head);
    let mut out = String::with_capacity(16_384);
    let _ = writeln!(
        out,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{MADE_BY}\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         width=\"{w}pt\" height=\"{h}pt\" viewBox=\"0 0 {w} {h}\" role=\"img\" font-family=\"{FONTS}\">",
        w = number(width),
        h = number(height),
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&heading.join(" · ")));
    if !heading.is_empty() {
        let _ = writeln!(
            out,
            "<path fill=\"#ffffff\" d=\"M0 0H{}V{}H0Z\"/>",
            number(width),
            number(head)
        );
    }
    for (at, line) in (0_u32..).zip(heading) {
        let size = if at == 0 { 12.0 } else { 7.5 };
        let spot = Spot { x: 8.0, y: 15.0 + f64::from(at) * HEAD_LINE };
        let words = super::pen::plain(line, size);
        write_words(&mut out, &Words { spot, bold: at == 0, ..words });
    }
    if head > 0.0 {
        let _ = writeln!(out, "<g transform=\"translate(0 {})\">", number(head));
    }
    for mark in &picture.marks {
        match mark {
            Mark::Area { outlines, fill } => {
                let _ = writeln!(
                    out,
                    "<path fill=\"{}\" fill-rule=\"evenodd\" d=\"{}\"/>",
                    ink(*fill),
                    path(outlines, true)
                );
            }
            Mark::Lines { lines, stroke, closed } => {
                let _ = writeln!(
                    out,
                    "<path fill=\"none\" {} d=\"{}\"/>",
                    stroked(stroke),
                    path(lines, *closed)
                );
            }
            Mark::Words(words) => write_words(&mut out, words),
        }
    }
    if head > 0.0 {
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    out
}

fn write_words(out: &mut String, words: &Words) {
    let Words { spot, text, size, bold, ink: color, side, upward } = words;
    let (x, y) = (number(spot.x), number(spot.y));
    let turn = if *upward { format!(" transform=\"rotate(-90 {x} {y})\"") } else { String::new() };
    let anchor = match side {
        Side::Start => "",
        Side::Middle => " text-anchor=\"middle\"",
        Side::End => " text-anchor=\"end\"",
    };
    let weight = if *bold { " font-weight=\"bold\"" } else { "" };
    let long = number(font::width(text, *size, *bold));
    let _ = writeln!(
        out,
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"{weight}{anchor}{turn} \
         textLength=\"{long}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">{}</text>",
        number(*size),
        ink(*color),
        escaped(text)
    );
}

fn stroked(stroke: &Stroke) -> String {
    let mut text =
        format!("stroke=\"{}\" stroke-width=\"{}\"", ink(stroke.ink), number(stroke.width));
    if !stroke.dashes.is_empty() {
        let dashes: Vec<String> = stroke.dashes.iter().map(|dash| number(*dash)).collect();
        let _ = write!(text, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    text
}

fn path(lines: &[Vec<Spot>], closed: bool) -> String {
    let mut text = String::new();
    for line in lines {
        for (at, spot) in line.iter().enumerate() {
            let step = if at == 0 { 'M' } else { 'L' };
            let _ = write!(text, "{step}{} {}", number(spot.x), number(spot.y));
        }
        if closed {
            text.push('Z');
        }
    }
    text
}

/// Hundredths of a point, without zeros at the end.
fn number(number: f64) -> String {
    if !number.is_finite() {
        return "0".into();
    }
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

fn ink(Ink(red, green, blue): Ink) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Text between tags; what XML does not allow is shown as a letter that is not known.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\0'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}' => out.push('\u{FFFD}'),
            other => out.push(other),
        }
    }
    out
}
