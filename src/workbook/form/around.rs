//! What must move with the rows outside the cells: ranges of the sheet, names, notes, drawings,
//! tables, charts and the formulas of other sheets.

use super::refs::Shift;
use super::xml::{self, Change};

fn last(path: &[String]) -> &str {
    path.last().map_or("", String::as_str)
}

fn within(path: &[String], name: &str) -> bool {
    path.iter().any(|element| element == name)
}

/// The lined sheet itself, around its cells.
pub(super) struct OnSheet<'a>(pub &'a Shift);

impl Change for OnSheet<'_> {
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let shift = self.0;
        match (last(path), name) {
            ("selection", "activeCell")
            | ("pane" | "sheetView", "topLeftCell")
            | ("cellWatch" | "inputCells", "r") => shift.cell(value),
            // A merged range never grows with the lines: each of them has its own.
            ("mergeCell", "ref") => {
                let ends =
                    value.split(':').map(|end| shift.cell(end).unwrap_or_else(|| end.to_owned()));
                Some(ends.collect::<Vec<String>>().join(":"))
            }
            ("autoFilter" | "sortState" | "sortCondition" | "hyperlink" | "dimension", "ref") => {
                shift.area(value)
            }
            (
                "selection"
                | "protectedRange"
                | "conditionalFormatting"
                | "dataValidation"
                | "ignoredError",
                "sqref",
            ) => Some(shift.areas(value)),
            ("hyperlink", "location") => Some(shift.formula(value, &shift.sheet, false)),
            // A break stands below the row it names.
            ("brk", "id") if within(path, "rowBreaks") => {
                value.parse().ok().map(|row| shift.row(row).to_string())
            }
            ("controlPr", "linkedCell" | "listFillRange") => {
                Some(shift.formula(value, &shift.sheet, false))
            }
            _ => None,
        }
    }

    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        match last(path) {
            "formula" | "formula1" | "formula2" | "f" => {
                Some(self.0.formula(text, &self.0.sheet, true))
            }
            "sqref" => Some(self.0.areas(text)),
            // The place of a control.
            "row" if within(path, "anchor") => counted_from_0(self.0, text),
            _ => None,
        }
    }
}

fn counted_from_0(shift: &Shift, text: &str) -> Option<String> {
    let row: u32 = text.trim().parse().ok()?;
    Some((shift.row(row.checked_add(1)?) - 1).to_string())
}

/// Another sheet, whose formulas may look at the lined one.
pub(super) struct OnOther<'a> {
    pub shift: &'a Shift,
    pub name: &'a str,
    /// The formula of the cell at hand changed, and what it last gave is stale.
    pub is_stale: bool,
}

impl Change for OnOther<'_> {
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let is_link = (last(path), name) == ("hyperlink", "location");
        is_link.then(|| self.shift.formula(value, self.name, false))
    }

    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        if !matches!(last(path), "f" | "formula" | "formula1" | "formula2") {
            return None;
        }
        let new = self.shift.formula(text, self.name, false);
        self.is_stale = new != text;
        Some(new)
    }

    fn drops(&mut self, path: &[String], _: &[(String, String)]) -> bool {
        match last(path) {
            "c" => {
                self.is_stale = false;
                false
            }
            "v" => self.is_stale,
            _ => false,
        }
    }
}

/// Links of the lined sheet that are written as relations: `#Order!A25`.
pub(super) struct OnLinks<'a>(pub &'a Shift);

impl Change for OnLinks<'_> {
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let is_target = (last(path), name) == ("Relationship", "Target");
        let place = value.strip_prefix('#').filter(|_| is_target)?;
        Some(format!("#{}", self.0.formula(place, &self.0.sheet, false)))
    }
}

/// Tables of the lined sheet.
pub(super) struct OnTable<'a>(pub &'a Shift);

impl Change for OnTable<'_> {
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let has_range =
            matches!(last(path), "table" | "autoFilter" | "sortState" | "sortCondition");
        if has_range && name == "ref" { self.0.area(value) } else { None }
    }

    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        let is_formula = matches!(last(path), "calculatedColumnFormula" | "totalsRowFormula");
        is_formula.then(|| self.0.formula(text, &self.0.sheet, true))
    }
}

/// Notes of the lined sheet, old and threaded.
pub(super) struct OnNotes<'a>(pub &'a Shift);

impl Change for OnNotes<'_> {
    fn attribute(&mut self, path: &[String], name: &str, value: &str) -> Option<String> {
        let is_place = matches!(last(path), "comment" | "threadedComment") && name == "ref";
        if is_place { self.0.cell(value) } else { None }
    }
}

/// The drawn boxes of notes.
pub(super) struct OnBoxes<'a>(pub &'a Shift);

impl Change for OnBoxes<'_> {
    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        match last(path) {
            "Row" => counted_from_0(self.0, text),
            // Column, offset, row, offset of one corner, then of the other; it keeps its size.
            "Anchor" => {
                let mut numbers: Vec<u32> = text
                    .split(',')
                    .map(|number| number.trim().parse())
                    .collect::<Result<_, _>>()
                    .ok()?;
                let top = *numbers.get(2)?;
                let by = self.0.row(top.checked_add(1)?) - 1 - top;
                for at in [2, 6] {
                    let row = numbers.get_mut(at)?;
                    *row = row.saturating_add(by);
                }
                let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
                Some(numbers.join(", "))
            }
            "FmlaLink" | "FmlaRange" | "FmlaGroup" => {
                Some(self.0.formula(text, &self.0.sheet, false))
            }
            _ => None,
        }
    }
}

/// Pictures, charts and shapes of the lined sheet.
pub(super) struct OnDrawing<'a> {
    pub shift: &'a Shift,
    /// How the anchor at hand moves: it stays, moves whole, or each corner with its cell.
    pub mode: Mode,
    /// Rows that its first corner moved by.
    pub by: u32,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mode {
    Stays,
    Moves,
    Stretches,
}

impl Change for OnDrawing<'_> {
    fn drops(&mut self, path: &[String], attributes: &[(String, String)]) -> bool {
        match last(path) {
            "twoCellAnchor" => {
                self.by = 0;
                self.mode = match xml::get(attributes, "editAs") {
                    Some("absolute") => Mode::Stays,
                    Some("oneCell") => Mode::Moves,
                    _ => Mode::Stretches,
                };
            }
            "oneCellAnchor" => {
                self.by = 0;
                self.mode = Mode::Moves;
            }
            _ => {}
        }
        false
    }

    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        let [.., corner, element] = path else { return None };
        if element != "row" || self.mode == Mode::Stays {
            return None;
        }
        let row: u32 = text.trim().parse().ok()?;
        match (corner.as_str(), self.mode) {
            ("from", _) => {
                let new = self.shift.row(row.checked_add(1)?) - 1;
                self.by = new - row;
                Some(new.to_string())
            }
            ("to", Mode::Moves) => Some(row.saturating_add(self.by).to_string()),
            ("to", _) => counted_from_0(self.shift, text),
            _ => None,
        }
    }
}

/// Charts of any sheet.
pub(super) struct OnChart<'a>(pub &'a Shift);

impl Change for OnChart<'_> {
    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        (last(path) == "f").then(|| self.0.formula(text, "", false))
    }
}

/// Controls of the lined sheet.
pub(super) struct OnControl<'a>(pub &'a Shift);

impl Change for OnControl<'_> {
    fn attribute(&mut self, _: &[String], name: &str, value: &str) -> Option<String> {
        let is_formula = matches!(name, "fmlaLink" | "fmlaRange" | "fmlaGroup" | "fmlaTxbx");
        is_formula.then(|| self.0.formula(value, &self.0.sheet, false))
    }
}

/// The workbook part: print areas, print titles and other names.
pub(super) struct OnNames<'a>(pub &'a Shift);

impl Change for OnNames<'_> {
    fn text(&mut self, path: &[String], text: &str) -> Option<String> {
        (last(path) == "definedName").then(|| self.0.formula(text, "", false))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shift() -> Shift {
        Shift { sheet: "Order".to_string(), from: 12, by: 3, lone: None }
    }

    fn changed(xml: &str, change: &mut dyn Change) -> String {
        xml::change(xml, change).unwrap().unwrap_or_else(|| "unchanged".to_string())
    }

    #[test]
    fn what_does_not_change_keeps_its_bytes() {
        let odd = "<a  x='1' ><!-- c --><b y = \"2\"/>&amp;<![CDATA[<]]></a >";
        assert_eq!(changed(odd, &mut OnTable(&shift())), "unchanged");
        assert_eq!(
            changed(
                "<w  x='1'><mergeCells count='2'><mergeCell  ref='A12:B12'/></mergeCells></w>",
                &mut OnSheet(&shift())
            ),
            "<w  x='1'><mergeCells count='2'><mergeCell ref=\"A15:B15\"/></mergeCells></w>"
        );
    }

    #[test]
    fn ranges_breaks_and_formulas_of_the_sheet_move() {
        let mut change = OnSheet(&shift());
        assert_eq!(
            changed(
                "<rowBreaks><brk id=\"11\" max=\"16383\"/><brk id=\"20\" max=\"16383\"/></rowBreaks>\
                 <colBreaks><brk id=\"20\"/></colBreaks><conditionalFormatting sqref=\"A5:A12 B1\">\
                 <cfRule><formula>A12&gt;$B$20</formula></cfRule></conditionalFormatting>\
                 <x14:dataValidation><xm:f>Lists!A20</xm:f><xm:sqref>A12</xm:sqref>\
                 </x14:dataValidation>",
                &mut change
            ),
            "<rowBreaks><brk id=\"11\" max=\"16383\"/><brk id=\"23\" max=\"16383\"/></rowBreaks>\
             <colBreaks><brk id=\"20\"/></colBreaks><conditionalFormatting sqref=\"A5:A15 B1\">\
             <cfRule><formula>A15&gt;$B$23</formula></cfRule></conditionalFormatting>\
             <x14:dataValidation><xm:f>Lists!A20</xm:f><xm:sqref>A15</xm:sqref>\
             </x14:dataValidation>"
        );
    }

    #[test]
    fn boxes_and_drawings_move() {
        assert_eq!(
            changed(
                "<d><x:Anchor>3, 15, 13, 2, 5, 15, 16, 4</x:Anchor><x:Row>14</x:Row></d>",
                &mut OnBoxes(&shift())
            ),
            "<d><x:Anchor>3, 15, 16, 2, 5, 15, 19, 4</x:Anchor><x:Row>17</x:Row></d>"
        );
        let anchor = |edit: &str, from: u32, to: u32| {
            format!(
                "<twoCellAnchor{edit}><from><row>{from}</row></from><to><row>{to}</row></to>\
                 </twoCellAnchor>"
            )
        };
        let mut change = OnDrawing { shift: &shift(), mode: Mode::Stays, by: 0 };
        let whole = " editAs=\"oneCell\"";
        let fixed = " editAs=\"absolute\"";
        let all = |rows: [(&str, u32, u32); 4]| -> String {
            rows.map(|(edit, from, to)| anchor(edit, from, to)).concat()
        };
        let old = all([("", 5, 14), (whole, 5, 14), (whole, 12, 14), (fixed, 12, 14)]);
        let new = all([("", 5, 17), (whole, 5, 14), (whole, 15, 17), (fixed, 12, 14)]);
        assert_eq!(changed(&old, &mut change), new);
    }

    #[test]
    fn other_sheets_lose_stale_results_alone() {
        let mut change = OnOther { shift: &shift(), name: "Sums", is_stale: false };
        assert_eq!(
            changed(
                "<c r=\"A1\"><f>Order!B20</f><v>7</v></c><c r=\"A2\"><f>B20</f><v>8</v></c>",
                &mut change
            ),
            "<c r=\"A1\"><f>Order!B23</f></c><c r=\"A2\"><f>B20</f><v>8</v></c>"
        );
    }
}
