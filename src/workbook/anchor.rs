//! Pictures that keep their size. The writing library hangs each between two cells, and programs
//! whose columns and rows come out otherwise (another font is enough) then stretch it, and a drawing
//! to scale with it: here it hangs on its first cell alone.

use super::form::{Changes, Package};

/// The workbook with its pictures hung so.
pub(super) fn hung_on_one_cell(bytes: Vec<u8>) -> Result<Vec<u8>, String> {
    let package = Package::open(bytes).map_err(|error| error.to_string())?;
    let mut changes = Changes::new();
    for name in package.names().iter().filter(|name| name.starts_with("xl/drawings/drawing")) {
        let part = package.needed(name).map_err(|error| error.to_string())?;
        let new = drawing(&part);
        if new != part {
            changes.insert(name.clone(), Some(new));
        }
    }
    package.write(&changes).map_err(|error| error.to_string())
}

/// A drawing part; charts stay as they are.
fn drawing(part: &str) -> String {
    const END: &str = "</xdr:twoCellAnchor>";
    part.split_inclusive(END)
        .map(|piece| one_cell(piece).unwrap_or_else(|| piece.to_owned()))
        .collect()
}

/// What ends with a picture's anchor, the anchor made one of one cell; none where it is no picture.
fn one_cell(piece: &str) -> Option<String> {
    if !piece.contains("<xdr:pic>") {
        return None;
    }
    let (before, anchor) = piece.split_once("<xdr:twoCellAnchor")?;
    let (from, rest) = anchor.split_once("<xdr:to>")?;
    let (_, from) = from.split_once('>')?;
    let (_, picture) = rest.split_once("</xdr:to>")?;
    let (_, size) = picture.split_once("<a:ext ")?;
    let (size, _) = size.split_once("/>")?;
    let picture = picture.replace("</xdr:twoCellAnchor>", "</xdr:oneCellAnchor>");
    Some(format!("{before}<xdr:oneCellAnchor>{from}<xdr:ext {size}/>{picture}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_hang_on_one_cell_and_charts_on_two() {
        let place = "<xdr:from><xdr:col>0</xdr:col></xdr:from>";
        let to = "<xdr:to><xdr:col>9</xdr:col></xdr:to>";
        let chart =
            format!("<xdr:twoCellAnchor>{place}{to}<xdr:graphicFrame/></xdr:twoCellAnchor>");
        let picture =
            "<xdr:pic><a:xfrm><a:off x=\"0\"/><a:ext cx=\"7\" cy=\"5\"/></a:xfrm></xdr:pic>";
        let old = format!(
            "<xdr:wsDr>{chart}<xdr:twoCellAnchor editAs=\"oneCell\">{place}{to}{picture}\
             </xdr:twoCellAnchor></xdr:wsDr>"
        );
        let new = format!(
            "<xdr:wsDr>{chart}<xdr:oneCellAnchor>{place}<xdr:ext cx=\"7\" cy=\"5\"/>{picture}\
             </xdr:oneCellAnchor></xdr:wsDr>"
        );
        assert_eq!(drawing(&old), new);
    }
}
