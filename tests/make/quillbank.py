"""Makes examples/quillbank/schedule.xlsx: an invented job whose bays lie on plan by X and Y.

Run with openpyxl at hand: python3 tests/make/quillbank.py examples/quillbank/schedule.xlsx
"""

import datetime
import sys

from openpyxl import Workbook
from openpyxl.styles import Font, PatternFill

HEAD = PatternFill("solid", fgColor="DDE3E6")


def sheet(book, name, headings, rows):
    ws = book.create_sheet(name)
    ws.append(headings)
    for cell in ws[1]:
        cell.font = Font(bold=True)
        cell.fill = HEAD
    for row in rows:
        ws.append(row)
    for column in ws.columns:
        longest = max(len(str(cell.value or "")) for cell in column)
        ws.column_dimensions[column[0].column_letter].width = max(10, longest + 2)
    ws.freeze_panes = "A2"
    return ws


book = Workbook()
book.remove(book.active)

sheet(book, "Job", ["Key", "Value"], [
    ["Job", "Quillbank Clinic (invented)"],
    ["Number", "EX-022"],
    ["Place", "Quillbank, an invented town"],
    ["Estimator", "deck desk"],
    ["Customer", "an invented builder"],
    ["Start date", datetime.date(2027, 5, 3)],
    ["Mix", "NW 145"],
    ["Grade", "SS 50"],
    ["Finish", "G60"],
    ["Side lap", "interlocking"],
])

sheet(book, "Types", ["Type", "Use", "Profile", "Cover", "Gauge", "Slab", "Mix", "Finish", "Mesh", "Note"], [
    ["D1", "composite", "3x12", 36, 20, '6 1/4"', "LW 110", None, "6x6-W1.4xW1.4", "typical floors"],
    ["D2", "composite", "2x12", 36, 20, '5"', "NW 145", None, "6x6-W2.0xW2.0", "entrance wing"],
    ["D3", "form", "1.5x6", 36, 22, '4"', "NW 145", None, "4x4-W2.9xW2.9", "stair landings"],
    ["RD1", "roof", "1.5x6", 36, 22, "none", None, "painted", None, "roof"],
])

sheet(book, "Levels", ["Level", "Like", "Elevation", "Runs", "On site"], [
    ["2", None, "14'-0\"", "E-W", datetime.date(2027, 4, 12)],
    ["3", "2", "28'-0\"", "E-W", datetime.date(2027, 4, 26)],
    ["Roof", None, "42'-0\"", "N-S", datetime.date(2027, 5, 17)],
])

BAYS = ["Level", "Bay", "Type", "Spans", "Width", "Copies", "Pour", "Strip", "Along", "Across", "Status", "Drawing",
        "X", "Y", "Support"]
bays = [
    # Two by two bays of one strip: panels run on over the lines between.
    ["2", "A1", "D1", "3@10'-0\"", "31'-6\"", None, "P1", "A", 1, 1, None, "S-202", 0, 0, "W16"],
    ["2", "A2", "D1", "3@10'-0\"", "31'-6\"", None, "P1", "A", 1, 2, None, "S-202", 0, 31.5, "W16"],
    ["2", "A3", "D1", "2@10'-0\", 9'-6\"", "31'-6\"", None, "P2", "A", 2, 1, None, "S-202", 30, 0, "W16"],
    ["2", "A4", "D1", "2@10'-0\", 9'-6\"", "31'-6\"", None, "P2", "A", 2, 2, None, "S-202", 30, 31.5, "W16"],
    # An entrance wing in the shape of an L, with a stair and a duct.
    ["2", "C1", "D2", "5@8'-0\"", "63'-0\"", None, "P3", None, None, None, None, "S-202", 59.5, 0, "W14"],
    # A bay with a slanted end.
    ["2", "W1", "D2", "5@8'-0\", 7'-0\"", "18'-0\"", None, "P3", None, None, None, None, "S-202", 0, 63, "W14"],
    # Two landings that no one placed.
    ["2", "L1", "D3", "2@5'-0\"", "8'-0 1/2\"", 2, "P3", None, None, None, None, "S-203", None, None, "C12"],
    # The roof runs north to south over joists at 6 ft.
    ["Roof", "R1", "RD1", "5@6'-0\", 1'-6\"", "59'-6\"", None, None, "R", 1, 1, None, "S-205", 0, 0, "joists"],
    ["Roof", "R2", "RD1", "5@6'-0\", 1'-6\"", "59'-6\"", None, None, "R", 2, 1, None, "S-205", 0, 31.5, "joists"],
    ["Roof", "R3", "RD1", "6@6'-0\", 4'-0\"", "40'-0\"", None, None, None, None, None, "hold", "S-205", 59.5, 0, "joists"],
]
ws = sheet(book, "Bays", BAYS, bays)
for row in ws.iter_rows(min_row=2, min_col=4, max_col=5):
    for cell in row:
        cell.number_format = "@"

sheet(book, "Outlines", ["Level", "Bay", "X", "Y"], [
    ["2", "C1", x, y]
    for x, y in [(59.5, 0), (99.5, 0), (99.5, 39), (79.5, 39), (79.5, 63), (59.5, 63)]
] + [
    ["2", "W1", x, y] for x, y in [(0, 63), (47, 63), (38, 81), (0, 81)]
])

sheet(book, "Openings", ["Level", "Bay", "X", "Y", "Length", "Width", "Framed", "Note"], [
    ["2", "C1", 83.5, 9, 12, 21, "yes", "stair"],
    ["2", "C1", 64, 48, 4, 3, "no", "duct"],
])

sheet(book, "Edges", ["Level", "Length", "Runs", "Overhang", "Slab", "Item", "Gauge", "Supplied by", "Corners"], [
    ["2", "132'-0\"", "along", 4, '6 1/4"', "edge form", 16, "ours", 2],
    ["2", "102'-0\"", "across", 4, '5"', "edge form", 18, "ours", 3],
])

sheet(book, "Pours", ["Pour", "Order", "Note"], [[f"P{n}", n, None] for n in range(1, 4)])

sheet(book, "Mixes", ["Mix", "Unit weight", "Strength", "Kind"], [
    ["LW 110", 110, 4000, "lightweight"],
    ["NW 145", 145, 4000, "normal"],
])

sheet(book, "Drawings", ["Drawing", "Title", "Revision", "Date"], [
    ["S-202", "Typical framing", "1", datetime.date(2027, 1, 11)],
    ["S-203", "Stair framing", "0", datetime.date(2026, 12, 7)],
    ["S-205", "Roof framing", "0", datetime.date(2026, 12, 7)],
])

stamp = datetime.datetime(2027, 1, 20)
book.properties.creator = "an invented estimator"
book.properties.created = stamp
book.properties.modified = stamp
book.save(sys.argv[1])
