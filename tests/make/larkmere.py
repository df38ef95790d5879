"""Makes examples/larkmere/schedule.xlsx: an invented job, as an estimator would keep it; and beside it
priced.xlsx: the same job later, with prices, stock, scope, a release, pieces, an alternate and a bay on
hold. All of it is invented, prices too.

Run with openpyxl at hand:
python3 tests/make/larkmere.py examples/larkmere/schedule.xlsx examples/larkmere/priced.xlsx
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
    ["Job", "Larkmere Library (invented)"],
    ["Number", "EX-014"],
    ["Place", "Larkmere, an invented town"],
    ["Estimator", "deck desk"],
    ["Customer", "an invented builder"],
    ["Start date", datetime.date(2027, 3, 1)],
    ["Mix", "NW 145"],
    ["Grade", "SS 50"],
    ["Finish", "G60"],
    ["Side lap", "interlocking"],
])

sheet(book, "Types", ["Type", "Use", "Profile", "Gauge", "Slab", "Mix", "Finish", "Mesh", "Note"], [
    ["D1", "composite", "3x12", 20, '6 1/4"', "LW 110", None, "6x6-W1.4xW1.4", "typical floors"],
    ["D2", "composite", "2x12", 20, '5"', "NW 145", None, "6x6-W2.0xW2.0", "plant room and level 2 hall"],
    ["D3", "form", "1.5x6", 22, '4"', "NW 145", None, "4x4-W2.9xW2.9", "stair landings and walkways"],
    ["RD1", "roof", "1.5x6", 22, "none", None, "painted", None, "roof"],
])

sheet(book, "Levels", ["Level", "Like", "Elevation", "Runs", "On site"], [
    ["2", None, "14'-0\"", "E-W", datetime.date(2027, 2, 15)],
    ["3", None, "28'-0\"", "E-W", datetime.date(2027, 3, 8)],
    ["4", "3", "41'-0\"", "E-W", datetime.date(2027, 3, 22)],
    ["5", "3", "54'-0\"", "E-W", datetime.date(2027, 4, 5)],
    ["6", "3", "67'-0\"", "E-W", datetime.date(2027, 4, 19)],
    ["Roof", None, "81'-0\"", "N-S", datetime.date(2027, 5, 3)],
])

BAYS = ["Level", "Bay", "Type", "Spans", "Width", "Copies", "Pour", "Strip", "Along", "Across", "Drawing", "X", "Y",
        "Support"]
bays = []
# Level 2: three strips along the building, one a pour; a hall in 2 in deck; two stair landings.
for n in range(4):
    bays.append(["2", f"A{n + 1}", "D1", "3@10'-0\"", "31'-0\"", None, f"P{n // 2 + 1}", "A", 1, n + 1, "S-202", 0, 31 * n, "W16"])
for n in range(4):
    bays.append(["2", f"B{n + 1}", "D1", "2@10'-0\", 9'-6\"", "31'-0\"", None, f"P{n // 3 + 2}", "B", 1, n + 1, "S-202", 30, 31 * n, "W16"])
bays += [
    ["2", "H1", "D2", "4@7'-6\"", "62'-0\"", None, "P4", None, None, None, "S-202", 59.5, 0, "W14"],
    ["2", "H2", "D2", "4@7'-6\"", "60'-4\"", None, "P4", None, None, None, "S-202", 59.5, 62, "W14"],
    ["2", "L1", "D3", "2@5'-0\"", "8'-0 1/2\"", 2, "P4", None, None, None, "S-203", None, None, "C12"],
]
# Level 3 and those like it: nine bays of one strip, a plant room, landings.
for along in range(3):
    for across in range(3):
        bays.append(["3", f"C{along * 3 + across + 1}", "D1", "3@10'-0\"", "30'-6\"", None, f"P{across + 1}", "C",
                     along + 1, across + 1, "S-203", 30 * along, 30.5 * across, "W16"])
bays += [
    ["3", "M1", "D2", "5@7'-6\"", "30'-0\"", None, "P4", None, None, None, "S-203", 0, 91.5, "W14"],
    ["3", "M2", "D2", "3@7'-6\"", "30'-0\"", None, "P4", None, None, None, "S-203", 37.5, 91.5, "W14"],
    ["3", "L1", "D3", "2@5'-0\"", "8'-0 1/2\"", 2, "P4", None, None, None, "S-203", None, None, "C12"],
]
# The roof: joists at 6 ft.
for n, (spans, width) in enumerate([("5@6'-0\"", "91'-6\""), ("5@6'-0\"", "91'-6\""), ("5@6'-0\"", "91'-6\""),
                                    ("2@6'-0\", 5'-4\"", "40'-2\"")]):
    bays.append(["Roof", f"R{n + 1}", "RD1", spans, width, None, None, None, None, None, "S-207", None, None, "joists"])
ws = sheet(book, "Bays", BAYS, bays)
for row in ws.iter_rows(min_row=2, min_col=4, max_col=5):
    for cell in row:
        cell.number_format = "@"

sheet(book, "Sequences", ["Sequence", "Order", "On site", "Crane limit", "Drop point"], [
    [level, n + 1, None, 6000, "north bay"] for n, level in enumerate(["2", "3", "4", "5", "6", "Roof"])
])

sheet(book, "Pours", ["Pour", "Order", "Note"], [[f"P{n}", n, None] for n in range(1, 5)])

sheet(book, "Mixes", ["Mix", "Unit weight", "Strength", "Kind"], [
    ["LW 110", 110, 4000, "lightweight"],
    ["NW 145", 145, 4000, "normal"],
])

sheet(book, "Drawings", ["Drawing", "Title", "Revision", "Date"], [
    ["S-202", "Level 2 framing", "1", datetime.date(2026, 11, 2)],
    ["S-203", "Typical framing", "1", datetime.date(2026, 11, 2)],
    ["S-207", "Roof framing", "0", datetime.date(2026, 10, 12)],
])

def save(book, path):
    stamp = datetime.datetime(2026, 11, 25)
    book.properties.creator = "an invented estimator"
    book.properties.created = stamp
    book.properties.modified = stamp
    book.save(path)


save(book, sys.argv[1])
if len(sys.argv) < 3:
    sys.exit()

# The same job later: level 2 has gone, a canopy is an alternate, a bay of the roof is on hold.
book["Job"].append(["Quote date", datetime.date(2026, 12, 1)])
ws = book["Bays"]
status, alternate = len(BAYS) + 1, len(BAYS) + 2
for column, heading in ((status, "Status"), (alternate, "Alternate")):
    cell = ws.cell(1, column, heading)
    cell.font = Font(bold=True)
    cell.fill = HEAD
ws.cell(ws.max_row, status, "hold")
ws.append(["Roof", "K1", "RD1", "3@6'-0\"", "30'-0\"", None, None, None, None, None, "S-208", None, None, "joists",
           None, "1"])
for cell in ws[ws.max_row][3:5]:
    cell.number_format = "@"
book["Drawings"].append(["S-208", "Canopy framing", "0", datetime.date(2026, 11, 20)])
book["Drawings"]["E1"] = "Addendum"
book["Drawings"].append(["S-209", "Screen wall", "0", datetime.date(2026, 11, 24), "1"])

sheet(book, "Pieces", ["Level", "Type", "Count", "Length", "Mark", "Note"], [
    ["2", "D1", 4, "12'-6\"", "D1-X1", "infill at the lift pit, field measured"],
    ["Roof", "RD1", 6, "30'-0\"", None, "for the hatch curbs"],
])

sheet(book, "Stock", ["Type", "Length", "Available", "Ready"], [
    ["D1", "30'-0\"", 480, datetime.date(2027, 1, 11)],
    ["D1", "40'-0\"", 120, datetime.date(2027, 1, 11)],
    ["D2", "38'-0\"", None, datetime.date(2027, 1, 18)],
    ["D2", "30'-0\"", 60, datetime.date(2027, 1, 18)],
    ["RD1", "35'-0\"", None, None],
])

sheet(book, "Releases", ["Release", "Date", "Sequence", "Type", "Mark", "Count", "Length", "Profile", "Gauge", "Finish",
                         "Note"], [
    ["R1", datetime.date(2026, 12, 14), "2", "D1", "D1-1", 46, "30'-0\"", "3x12", "20", "G60", None],
    ["R1", datetime.date(2026, 12, 14), "2", "D1", "D1-2", 42, "29'-6\"", "3x12", "20", "G60", None],
    ["R1", datetime.date(2026, 12, 14), "2", "D2", "D2-1", 41, "30'-0\"", "2x12", "20", "G60", None],
])

sheet(book, "Prices", ["Item", "Type", "Profile", "Gauge", "Finish", "Price", "Per", "Note"], [
    ["deck", None, "3x12", None, None, 285, "square", "custom lengths"],
    ["deck from stock", None, "3x12", None, None, 298.5, "square", None],
    ["deck", None, "2x12", "20", None, 0.9475, "lb", None],
    ["deck", "RD1", None, None, None, 96.25, "cwt", "painted"],
    ["deck", None, None, None, None, None, "lb", "to be priced"],
    ["filler strip", None, None, None, None, 2.15, "lf", None],
    ["freight", None, None, None, None, 1150, "load", None],
    ["short truck", None, None, None, None, 275, "load", None],
    ["minimum order", None, None, None, None, 2500, "each", None],
])

sheet(book, "Scope", ["Item", "Supplied by", "Note"], [
    ["deck", "ours", "in bundles on trucks, unloading by others"],
    ["filler strip", "ours", None],
    ["support fasteners", "others", None],
    ["side-lap fasteners", "others", None],
    ["mesh", "others", None],
    ["headed studs", "others", None],
    ["shores", "others", "none are shown"],
    ["field cutting", "others", None],
])

save(book, sys.argv[2])
