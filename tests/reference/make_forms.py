"""Makes the form that the tests fill, with openpyxl: another library than the one that fills it.

    make_forms.py ROOT

Writes ROOT/tests/workbook/forms/shop.xlsx. The shop in it is invented. Dates are fixed, so that
the same file comes out each time.
"""

import datetime
import io
import sys
import zipfile
from pathlib import Path

from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.drawing.image import Image
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.xdr import XDRPositiveSize2D
from openpyxl.formatting.rule import CellIsRule, FormulaRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils.units import pixels_to_EMU
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.table import Table
from PIL import Image as Picture
from PIL import ImageDraw

THIN = Side(style="thin", color="9AA5A0")
BOX = Border(left=THIN, right=THIN, top=THIN, bottom=THIN)
HEAD = PatternFill("solid", fgColor="DFE6E1")
WHEN = datetime.datetime(2000, 1, 1)


def picture(text, size, colour):
    image = Picture.new("RGB", size, "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((1, 1, size[0] - 2, size[1] - 2), outline=colour, width=3)
    draw.text((10, size[1] // 2 - 6), text, fill=colour)
    data = io.BytesIO()
    image.save(data, "PNG")
    data.seek(0)
    return data


def place(image, column, row, size):
    marker = AnchorMarker(col=column, row=row, colOff=0, rowOff=0)
    extent = XDRPositiveSize2D(pixels_to_EMU(size[0]), pixels_to_EMU(size[1]))
    image.anchor = OneCellAnchor(_from=marker, ext=extent)
    return image


def save(book, path):
    """Saves with the same bytes each time."""
    book.properties.creator = "invented"
    book.properties.created = book.properties.modified = WHEN
    data = io.BytesIO()
    book.save(data)
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(data) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "docProps/core.xml":
                end = text.index(b"</dcterms:modified>")
                start = text.rindex(b">", 0, end) + 1
                text = text[:start] + b"2000-01-01T00:00:00Z" + text[end:]
            new.writestr(zipfile.ZipInfo(name, (2000, 1, 1, 0, 0, 0)), text,
                         compress_type=zipfile.ZIP_DEFLATED)


def cell(sheet, at, value=None, bold=False, number=None, box=True, right=False):
    target = sheet[at]
    if value is not None:
        target.value = value
    target.font = Font(name="Calibri", bold=bold)
    if number:
        target.number_format = number
    if box:
        target.border = BOX
    target.alignment = Alignment(horizontal="right" if right else None, vertical="top")
    return target


def shop_form():
    """A form with all that a shop's may have: rows 10 to 19 are kept for lines."""
    book = Workbook()
    order = book.active
    order.title = "Order"
    sums = book.create_sheet("Sums")
    lists = book.create_sheet("Lists")
    for letter, width in zip("ABCDEFGHIJ", (10, 8, 9, 9, 8, 13, 9, 11, 12, 10)):
        order.column_dimensions[letter].width = width
    order.add_image(place(Image(picture("EXAMPLE DECK SUPPLY (invented)", (220, 48), "#2F5D62")),
                          0, 0, (220, 48)))
    order.merge_cells("E1:J1")
    cell(order, "E1", "Deck order for {job}", bold=True, box=False)
    cell(order, "A5", "Job no.", box=False)
    cell(order, "B5", "{number}", box=False)
    cell(order, "E5", "Date", box=False)
    cell(order, "F5", "{date}", number="yyyy-mm-dd", box=False)
    cell(order, "A6", "For", box=False)
    cell(order, "B6", "{Customer}, {place}", box=False)
    cell(order, "E6", "Ship by", box=False)
    cell(order, "F6", "{ship_by}", box=False)
    cell(order, "A7", "Weight, lb", box=False)
    cell(order, "B7", "=I20", number="#,##0", box=False)
    heads = ["Mark", "Type", "Profile", None, "Count", "Length", "ft", "Lineal ft", "Weight lb",
             "Finish"]
    for letter, head in zip("ABCDEFGHIJ", heads):
        cell(order, f"{letter}9", head, bold=True).fill = HEAD
    order.merge_cells("C9:D9")
    fields = {"A": "{line.mark}", "B": "{line.type}", "C": "{line.profile}", "E": "{line.count}",
              "F": "{line.length}", "G": "{line.length_ft}", "I": "{line.deck_lb}",
              "J": "{line.finish}"}
    formats = {"E": "#,##0", "G": "0.00", "H": "#,##0.00", "I": "#,##0.0"}
    for row in range(10, 20):
        order.row_dimensions[row].height = 16
        order.merge_cells(f"C{row}:D{row}")
        for letter in "ABCDEFGHIJ":
            value = fields.get(letter) if row == 10 else None
            if letter == "H":
                value = f"=E{row}*G{row}"
            cell(order, f"{letter}{row}", value, number=formats.get(letter), right=letter in "FG")
    for letter, formula in (("E", "=SUM(E10:E19)"), ("H", "=SUM(H10:H19)"), ("I", "=SUM(I10:I19)")):
        cell(order, f"{letter}20", formula, bold=True, number="#,##0.0")
    cell(order, "A20", "Total", bold=True)
    cell(order, "H21", "Tons", box=False)
    cell(order, "I21", "=I20/2000", number="0.00", box=False)
    order.merge_cells("A23:J24")
    cell(order, "A23", "Deliver to {place}. Braces around {other things!} stay.", box=False)
    cell(order, "A26", "Ordered by {estimator}", box=False)
    order["A26"].comment = Comment("Sign here.", "invented", width=160, height=60)
    order["A5"].comment = Comment("The job's number.", "invented", width=160, height=60)
    order["A27"].value = "back to the job"
    order["A27"].hyperlink = Hyperlink(ref="A27", location="Order!A5")
    order["E27"].value = "to the total"
    order["E27"].hyperlink = Hyperlink(ref="E27", location="Order!I20")
    order["G27"].value = "to the note"
    order["G27"].hyperlink = "#Order!A26"
    order.add_image(place(Image(picture("STAMP", (90, 60), "#8C1C13")), 7, 24, (90, 60)))

    finish = DataValidation(type="list", formula1="Lists!$A$1:$A$4", allow_blank=True)
    finish.add("J10:J19")
    count = DataValidation(type="whole", operator="greaterThanOrEqual", formula1="1")
    count.add("E10:E19")
    limit = DataValidation(type="decimal", operator="lessThanOrEqual", formula1="$I$20")
    limit.add("I22")
    for rule in (finish, count, limit):
        order.add_data_validation(rule)
    red = PatternFill("solid", bgColor="F6DFDA")
    order.conditional_formatting.add("E10:E19", CellIsRule(operator="greaterThan", formula=["40"],
                                                           fill=red))
    order.conditional_formatting.add("I20", FormulaRule(formula=["I20>48000"], fill=red))
    order.freeze_panes = "A10"
    order.print_title_rows = "9:9"
    order.print_area = "A1:J27"
    order.page_setup.orientation = "landscape"
    order.page_setup.fitToHeight = 0
    order.sheet_properties.pageSetUpPr.fitToPage = True
    order.oddHeader.right.text = "Example Deck Supply (invented)"
    order.oddFooter.center.text = "Page &P of &N"
    order.row_breaks.append(Break(id=22))
    order.auto_filter.ref = "A9:J19"
    book.defined_names["order_weight"] = DefinedName("order_weight", attr_text="Order!$I$20")
    book.defined_names["line_weights"] = DefinedName("line_weights", attr_text="Order!$I$10:$I$19")
    book.defined_names["finishes"] = DefinedName("finishes", attr_text="Lists!$A$1:$A$4")

    sums["A1"], sums["B1"] = "Weight, lb", "=Order!I20"
    sums["A2"], sums["B2"] = "Counted again", "=SUM(Order!E10:E19)"
    sums["A3"], sums["B3"] = "Own", "=SUM(B1:B2)"
    chart = BarChart()
    chart.add_data(Reference(order, min_col=9, min_row=10, max_row=19))
    chart.title = "Weight by line"
    sums.add_chart(chart, "D2")
    for row, name in enumerate(("G60", "G90", "painted", "uncoated"), 1):
        lists[f"A{row}"] = name
    lists["C1"], lists["D1"] = "Finish", "Note"
    lists["C2"], lists["D2"] = "G60", "{estimator}"
    lists.add_table(Table(displayName="Notes", ref="C1:D2"))
    return book


def main():
    root = Path(sys.argv[1])
    save(shop_form(), root / "tests" / "workbook" / "forms" / "shop.xlsx")


if __name__ == "__main__":
    main()
