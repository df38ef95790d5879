//! The workbook part, told to have everything computed anew when the form is opened.

use std::fmt::Write;

use quick_xml::events::Event;

use super::xml::{self, Broken};

/// The workbook part with the order to compute everything anew on opening.
pub(super) fn recalculated(text: &str) -> Result<String, Broken> {
    /// Elements that stand before it, whatever else there is.
    const BEFORE: [&str; 4] = ["sheets", "functionGroups", "externalReferences", "definedNames"];
    let mut reader = xml::open(text);
    let (mut depth, mut place, mut prefix) = (0_usize, None, String::new());
    loop {
        let from = xml::position(&reader);
        let event = xml::read(&mut reader)?;
        match event {
            Event::Eof => break,
            Event::Start(ref start) | Event::Empty(ref start) => {
                let local = xml::local(start);
                let name = start.name().as_ref().to_string();
                let is_empty = matches!(event, Event::Empty(_));
                if depth == 0 {
                    prefix = name.strip_suffix(local.as_str()).unwrap_or_default().to_string();
                }
                if depth == 1 && local == "calcPr" {
                    let mut tag = format!("<{name}");
                    for (key, value) in xml::attributes(start)? {
                        if key != "fullCalcOnLoad" {
                            let value = quick_xml::escape::escape(value.as_str()).into_owned();
                            let _ = write!(tag, " {key}=\"{value}\"");
                        }
                    }
                    tag.push_str(" fullCalcOnLoad=\"1\"");
                    tag.push_str(if is_empty { "/>" } else { ">" });
                    let to = xml::position(&reader);
                    let (before, after) =
                        (xml::piece(text, 0, from), xml::piece(text, to, text.len()));
                    return Ok(format!("{before}{tag}{after}"));
                }
                if is_empty {
                    if depth == 1 && BEFORE.contains(&local.as_str()) {
                        place = Some(xml::position(&reader));
                    }
                } else {
                    depth += 1;
                }
            }
            Event::End(end) => {
                depth = depth.saturating_sub(1);
                if depth == 1 && BEFORE.contains(&end.local_name().as_ref()) {
                    place = Some(xml::position(&reader));
                }
            }
            _ => {}
        }
    }
    let place = place.ok_or("it has no sheets")?;
    let (before, after) = (xml::piece(text, 0, place), xml::piece(text, place, text.len()));
    Ok(format!("{before}<{prefix}calcPr fullCalcOnLoad=\"1\"/>{after}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_is_computed_anew() {
        assert_eq!(
            recalculated("<w><sheets><sheet/></sheets><definedNames/><oleSize/></w>").unwrap(),
            "<w><sheets><sheet/></sheets><definedNames/><calcPr fullCalcOnLoad=\"1\"/><oleSize/></w>"
        );
        assert_eq!(
            recalculated("<x:w><x:sheets/><x:calcPr calcId='9' fullCalcOnLoad='0'/></x:w>")
                .unwrap(),
            "<x:w><x:sheets/><x:calcPr calcId=\"9\" fullCalcOnLoad=\"1\"/></x:w>"
        );
    }
}
