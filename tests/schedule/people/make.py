"""Makes the schedules of this folder: ten invented bays, kept in as many ways as people keep them.

Needs openpyxl, XlsxWriter, xlwt and odfpy; run it in this folder, with the
names of the files to make or without. The files are committed, so the
tests do not need Python.
"""

import struct
import sys
import zipfile
from datetime import datetime

import openpyxl
import xlsxwriter
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import P
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.table import Table as XlTable

FIXED = datetime(2026, 1, 5)

TYPES_HEAD = ["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab", "Mix"]
TYPES = [
    ["D1", "composite", "3x12", "36", "20", "SS 40", "G60", '6 1/4"', "LW 110"],
    ["D2", "composite", "2x12", "36", "18", "SS 50", "G60", '5"', "NW 145"],
    ["RD1", "roof", "1.5x6", "36", "22", "SS 33", "painted", "none", ""],
]

BAYS_HEAD = ["Level", "Bay", "Type", "Runs", "Spans", "Width", "Copies", "Pour"]
BAYS = [
    ["2", "A1", "D1", "E-W", "3@10'-0\"", "31'-0\"", "1", "P1"],
    ["2", "A2", "D1", "E-W", "3@10'-0\"", "31'-0\"", "1", "P1"],
    ["2", "A3", "D1", "E-W", "2@9'-6\"", "24'-6\"", "2", "P2"],
    ["2", "A4", "D2", "N-S", "10'-0\"", "62'-0\"", "1", "P2"],
    ["3", "A1", "D1", "E-W", "3@10'-0\"", "31'-0\"", "1", "P1"],
    ["3", "A2", "D1", "E-W", "3@10'-0\"", "31'-0\"", "1", "P1"],
    ["3", "A3", "D2", "N-S", "8'-3 1/2\"", "27'-0\"", "3", "P1"],
    ["3", "A4", "D2", "N-S", "10'-0\"", "62'-0\"", "1", "P2"],
    ["Roof", "R1", "RD1", "N-S", "4@6'-0\"", "45'-0\"", "1", ""],
    ["Roof", "R2", "RD1", "N-S", "4@6'-0\"", "45'-0\"", "1", ""],
]

# The same lengths in feet and millimetres.
FEET = {
    "3@10'-0\"": "10, 10, 10", "31'-0\"": 31, "2@9'-6\"": "9.5, 9.5", "24'-6\"": 24.5,
    "10'-0\"": 10, "62'-0\"": 62, "8'-3 1/2\"": "8'-3.5\"", "27'-0\"": 27,
    "4@6'-0\"": "6, 6, 6, 6", "45'-0\"": 45,
}
MILLIMETRES = {
    "3@10'-0\"": "3@3048", "31'-0\"": 9448.8, "2@9'-6\"": "2@2895.6", "24'-6\"": 7467.6,
    "10'-0\"": 3048, "62'-0\"": 18897.6, "8'-3 1/2\"": 2527.3, "27'-0\"": 8229.6,
    "4@6'-0\"": "4@1828.8", "45'-0\"": 13716,
}


def openpyxl_book():
    book = openpyxl.Workbook()
    book.remove(book.active)
    book.properties.created = FIXED
    book.properties.modified = FIXED
    return book


def put(sheet, rows, first=1):
    for index, row in enumerate(rows):
        for column, value in enumerate(row):
            if value != "":
                sheet.cell(first + index, column + 1, value)


def types_sheet(book, name="Types"):
    sheet = book.create_sheet(name)
    put(sheet, [TYPES_HEAD] + TYPES)
    return sheet


def plain():
    book = openpyxl_book()
    types_sheet(book)
    put(book.create_sheet("Bays"), [BAYS_HEAD] + BAYS)
    book.save("plain.xlsx")


def titles():
    """Headings under a title block; printed pages with the headings again; totals and notes."""
    book = openpyxl_book()
    types_sheet(book)
    sheet = book.create_sheet("Bays")
    put(sheet, [["DECK TAKEOFF"], ["Invented Tower, an example"], [""], ["Estimator:", "N. N."]])
    sheet.merge_cells("A1:H1")
    sheet.merge_cells("A2:H2")
    put(sheet, [BAYS_HEAD], 9)
    put(sheet, BAYS[:4], 10)
    put(sheet, [["", "", "", "", "Subtotal", 148.5]], 14)
    put(sheet, [BAYS_HEAD], 17)
    put(sheet, BAYS[4:8], 18)
    put(sheet, [["Subtotal level 3", "", "", "", "", 151]], 22)
    put(sheet, BAYS[8:], 24)
    put(sheet, [["Grand total", "", "", "", "", "", 14]], 26)
    put(sheet, [["All widths to the centre line of the edge beam."]], 29)
    book.save("titles.xlsx")


def two_rows():
    """Headings in two rows, the upper one merged over its group, units in the lower one."""
    book = openpyxl_book()
    sheet = book.create_sheet("Types")
    put(sheet, [
        ["Deck", "", "", "Steel", "", "", "", "Total slab", "Mix"],
        ["Type", "Use", "Profile", "Gauge", "Grade", "Finish", "", "(in)", ""],
    ])
    put(sheet, [[t[0], t[1], t[2], t[4], t[5], t[6], "", 6.25 if t[0] == "D1" else
                 5 if t[0] == "D2" else "none", t[8]] for t in TYPES], 3)
    sheet.merge_cells("A1:C1")
    sheet.merge_cells("D1:G1")
    sheet = book.create_sheet("Bays")
    put(sheet, [
        ["Level", "Bay", "Deck", "", "Spans", "Width", "No of", "Pour"],
        ["", "", "Type", "Direction", "(ft)", "(ft)", "", ""],
    ], 3)
    sheet.merge_cells("A3:A4")
    sheet.merge_cells("B3:B4")
    sheet.merge_cells("C3:D3")
    put(sheet, [[b[0], b[1], b[2], b[3], FEET[b[4]], FEET[b[5]], int(b[6]), b[7]] for b in BAYS], 5)
    book.save("two_rows.xlsx")


def units():
    """Units in the headings, metric ones too."""
    book = openpyxl_book()
    sheet = book.create_sheet("Types")
    put(sheet, [["Type", "Use", "Profile", "Cover, in", "Gauge", "Grade", "Finish", "Slab mm", "Mix"]])
    slabs = {"D1": 158.75, "D2": 127, "RD1": "none"}
    put(sheet, [t[:3] + [36] + t[4:7] + [slabs[t[0]], t[8]] for t in TYPES], 2)
    sheet = book.create_sheet("Bays")
    put(sheet, [["Level", "Bay", "Type", "Runs", "Spans [mm]", "Width (mm)", "Copies", "Pour"]])
    put(sheet, [b[:4] + [MILLIMETRES[b[4]], MILLIMETRES[b[5]], int(b[6]), b[7]] for b in BAYS], 2)
    book.save("units.xlsx")


def synonyms():
    """Other words for the headings, other columns between them, another order."""
    book = openpyxl_book()
    sheet = book.create_sheet("Deck schedule")
    put(sheet, [["Deck mark", "Deck use", "Section", "Coverage", "Ga", "Fy", "Coating",
                 "Slab thickness", "Concrete", "Checked by"]])
    put(sheet, [t + ["N. N."] for t in TYPES], 2)
    sheet = book.create_sheet("Bay schedule")
    put(sheet, [["Placement", "Qty", "Beam spacing", "Grid", "Width across", "Deck direction",
                 "Deck Type", "MARK", "Story"]])
    put(sheet, [[b[7], int(b[6]), b[4], f"G{i}", b[5], {"E-W": "East-West", "N-S": "north/south"}[b[3]],
                 b[2].lower(), b[1], b[0]] for i, b in enumerate(BAYS)], 2)
    book.save("synonyms.xlsx")


def by_level():
    """One sheet a level, its name says which."""
    book = openpyxl_book()
    types_sheet(book)
    for name, level in [("Level 2", "2"), ("Level 3", "3"), ("Roof", "Roof")]:
        put(book.create_sheet(name), [BAYS_HEAD[1:]] + [b[1:] for b in BAYS if b[0] == level])
    put(book.create_sheet("Sketch"), [["nothing of the schedule"]])
    book.save("by_level.xlsx")


def merged():
    """Level and type merged down."""
    book = openpyxl_book()
    types_sheet(book)
    sheet = book.create_sheet("Bays")
    put(sheet, [BAYS_HEAD] + BAYS)
    for cells in ["A2:A5", "A6:A9", "A10:A13", "C2:C4", "C6:C7", "C8:C9", "C10:C11", "H10:H11"]:
        sheet.merge_cells(cells)
    book.save("merged.xlsx")


def typed():
    """Numbers as text, no-break spaces, curly quotes, primes, fractions as characters."""
    book = openpyxl_book()
    sheet = types_sheet(book)
    sheet["H2"] = "6\u00bc\u201d"
    sheet["H3"] = "5\u2033"
    sheet["C2"] = "3\u00a0x\u00a012"
    sheet["G2"] = "\u00a0G60 "
    sheet = book.create_sheet("Bays")
    rows = [list(b) for b in BAYS]
    for row in rows:
        row[0] = row[0] + "\u00a0"
        row[4] = row[4].replace("'", "\u2019").replace('"', "\u201d")
        row[5] = row[5].replace("'", "\u2032").replace('"', "\u2033").replace("-", "\u2013")
    rows[6][4] = "8\u2032-3\u00bd\u2033"
    rows[3][5] = "62 ft"
    rows[2][6] = " 2 "
    put(sheet, [BAYS_HEAD] + rows)
    book.save("typed.xlsx")


def formulas():
    """Lengths and counts that formulas gave."""
    book = xlsxwriter.Workbook("formulas.xlsx")
    book.set_properties({"created": FIXED})
    types = book.add_worksheet("Types")
    for row, cells in enumerate([TYPES_HEAD] + TYPES):
        for column, cell in enumerate(cells):
            types.write_string(row, column, cell) if cell else None
    bays = book.add_worksheet("Bays")
    for column, cell in enumerate(BAYS_HEAD + ["Area"]):
        bays.write_string(0, column, cell)
    for row, b in enumerate(BAYS, 1):
        for column, cell in enumerate(b):
            if column == 5:
                feet = FEET[cell]
                bays.write_formula(row, column, f"={feet}*2/2", None, feet)
            elif column == 6:
                bays.write_formula(row, column, f"=1*{cell}", None, int(cell))
            elif column == 3:
                bays.write_formula(row, column, f'=IF(TRUE,"{cell}","")', None, cell)
            elif cell:
                bays.write_string(row, column, cell)
        bays.write_formula(row, 8, "=1/0", None, "#DIV/0!")
    book.close()


def hidden():
    """Hidden rows and columns, a hidden sheet of the schedule and one that is not its."""
    book = openpyxl_book()
    types_sheet(book).sheet_state = "hidden"
    sheet = book.create_sheet("Bays")
    put(sheet, [BAYS_HEAD] + BAYS)
    sheet.row_dimensions[4].hidden = True
    sheet.row_dimensions[9].hidden = True
    sheet.column_dimensions["H"].hidden = True
    book.create_sheet("Scratch").sheet_state = "hidden"
    book.save("hidden.xlsx")


def tables():
    """A workbook table and a named range say what the sheets do not."""
    book = openpyxl_book()
    sheet = book.create_sheet("Lookup")
    put(sheet, [["From the drawings"], [""], TYPES_HEAD] + TYPES)
    book.defined_names["Deck_Types"] = DefinedName("Deck_Types", attr_text="Lookup!$A$3:$I$6")
    sheet = book.create_sheet("Data")
    put(sheet, [["Areas as taken off"], [""]] + [BAYS_HEAD] + BAYS)
    sheet.add_table(XlTable(displayName="Bays", ref="A3:H13"))
    book.save("tables.xlsx")


def spelled_out():
    """No Types sheet: the deck stands in every row, with a subtotal between the levels."""
    book = openpyxl_book()
    sheet = book.create_sheet("Takeoff")
    decks = {t[0]: t for t in TYPES}
    head = ["Floor", "Bay no", "Deck Type", "Direction", "Span", "Width", "Qty", "Pour no", "Use",
            "Deck profile", "Cover width", "Gage", "Steel grade", "Galv", "Total slab", "Concrete mix"]
    rows = [[b[0], b[1], b[2], b[3], b[4], b[5], int(b[6]), b[7]] + decks[b[2]][1:] for b in BAYS]
    put(sheet, [["Deck takeoff"], head] + rows[:4] + [["Total", "", "", "", "", 148.5]] + rows[4:])
    book.save("spelled_out.xlsx")


def sections():
    """The level stands in a line of its own above its bays."""
    book = openpyxl_book()
    types_sheet(book)
    sheet = book.create_sheet("Decking")
    rows = [["Bay mark", "Deck", "Direction", "Spans along", "Widths", "Quantity", "Pour mark"]]
    for title, level in [("LEVEL 2", "2"), ("Level 3", "3"), ("Roof", "Roof")]:
        rows += [[""], [title]] + [b[1:] for b in BAYS if b[0] == level]
    put(sheet, rows)
    book.save("sections.xlsx")


def first_only():
    """The level is written in its first row only."""
    book = openpyxl_book()
    types_sheet(book)
    rows, last = [], ""
    for b in BAYS:
        rows.append([b[0] if b[0] != last else ""] + b[1:])
        last = b[0]
    put(book.create_sheet("Bays"), [BAYS_HEAD] + rows)
    book.save("first_only.xlsx")


def stacked():
    """Types above the bays on one sheet."""
    book = openpyxl_book()
    sheet = book.create_sheet("Invented Tower")
    put(sheet, [["INVENTED TOWER"], [""], ["Deck types"], TYPES_HEAD] + TYPES
        + [[""], ["Bay schedule, all levels"], BAYS_HEAD] + BAYS)
    book.save("stacked.xlsx")


def level_lines():
    """The level in lines of its own, under the heading Level."""
    book = openpyxl_book()
    types_sheet(book)
    rows = []
    for title, level in [("Level 2", "2"), ("3", "3"), ("Roof", "Roof")]:
        rows += [[title]] + [[""] + b[1:] for b in BAYS if b[0] == level]
    put(book.create_sheet("Bays"), [BAYS_HEAD] + rows)
    book.save("level_lines.xlsx")


def macros():
    """A workbook with macros, under a name that says nothing."""
    plain()
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    with zipfile.ZipFile("plain.xlsx") as old, zipfile.ZipFile("macros.dat", "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            content = old.read(part)
            if part.filename == "[Content_Types].xml":
                content = content.replace(
                    kind.encode(), b"application/vnd.ms-excel.sheet.macroEnabled.main+xml")
            new.writestr(part.filename, content)
        new.writestr("xl/vbaProject.bin", b"not read")


def old():
    """The old binary format, with a merged level and a hidden row."""
    book = xlwt.Workbook()
    sheet = book.add_sheet("Types")
    for row, cells in enumerate([TYPES_HEAD] + TYPES):
        for column, cell in enumerate(cells):
            sheet.write(row, column, cell)
    sheet = book.add_sheet("Bays")
    for row, cells in enumerate([BAYS_HEAD] + BAYS):
        for column, cell in enumerate(cells):
            if row and column == 0:
                continue
            if row and column == 6:
                cell = int(cell)
            if row and column == 5:
                cell = FEET[cell]
            sheet.write(row, column, cell)
    for first, last, level in [(1, 4, "2"), (5, 8, "3"), (9, 10, "Roof")]:
        sheet.write_merge(first, last, 0, 0, level)
    sheet.row(3).hidden = True
    book.save("old.xls")


def open_document():
    """OpenDocument, with a merged level, typed numbers and a hidden row."""
    book = OpenDocumentSpreadsheet()

    def cell(value, **more):
        if value == "":
            return TableCell(**more)
        if isinstance(value, (int, float)):
            made = TableCell(valuetype="float", value=value, **more)
        else:
            made = TableCell(valuetype="string", **more)
        made.addElement(P(text=str(value)))
        return made

    def table(name, rows, merges=(), hidden=()):
        made = Table(name=name)
        made.addElement(TableColumn(numbercolumnsrepeated=len(rows[0])))
        for index, row in enumerate(rows):
            line = TableRow(visibility="collapse") if index in hidden else TableRow()
            for column, value in enumerate(row):
                spans = [m for m in merges if m[0] == index and column == 0]
                covered = [m for m in merges if m[0] < index <= m[1] and column == 0]
                if covered:
                    line.addElement(CoveredTableCell())
                elif spans:
                    line.addElement(cell(value, numberrowsspanned=spans[0][1] - spans[0][0] + 1,
                                         numbercolumnsspanned=1))
                else:
                    line.addElement(cell(value))
            made.addElement(line)
        book.spreadsheet.addElement(made)

    table("Types", [TYPES_HEAD] + TYPES)
    rows = [b[:5] + [FEET[b[5]], int(b[6]), b[7]] for b in BAYS]
    table("Bays", [BAYS_HEAD] + rows, merges=[(1, 4), (5, 8), (9, 10)], hidden=[3])
    book.save("open.ods")


def binary():
    """The binary zip format, written here record by record, since no library writes it."""

    def record(kind, data=b""):
        head = bytes([kind]) if kind < 0x80 else bytes([kind & 0x7F | 0x80, kind >> 7])
        length, size = len(data), b""
        while True:
            size += bytes([length & 0x7F | (0x80 if length > 0x7F else 0)])
            length >>= 7
            if not length:
                return head + size + data

    def text(string):
        return struct.pack("<I", len(string)) + string.encode("utf-16-le")

    strings = []

    def index(string):
        if string not in strings:
            strings.append(string)
        return strings.index(string)

    def sheet(rows):
        data = record(0x81) + record(0x94, struct.pack("<IIII", 0, len(rows), 0, 8)) + record(0x91)
        for row, cells in enumerate(rows):
            data += record(0x00, struct.pack("<IIHBBI", row, 0, 300, 0, 0, 0))
            for column, cell in enumerate(cells):
                head = struct.pack("<II", column, 0)
                if cell == "":
                    data += record(0x01, head)
                elif isinstance(cell, (int, float)):
                    data += record(0x05, head + struct.pack("<d", cell))
                elif column % 2:
                    data += record(0x06, head + text(cell))
                else:
                    data += record(0x07, head + struct.pack("<I", index(cell)))
        return data + record(0x92) + record(0x82)

    types = sheet([TYPES_HEAD] + TYPES)
    rows = [b[:5] + [FEET[b[5]], int(b[6]), b[7]] for b in BAYS]
    bays = sheet([BAYS_HEAD] + rows)
    book = record(0x83) + record(0x99, struct.pack("<III", 0, 0, 0)) + record(0x8F)
    for number, name in enumerate(["Types", "Bays"], 1):
        book += record(0x9C, struct.pack("<II", 0, number) + text(f"rId{number}") + text(name))
    book += record(0x90) + record(0x9D, b"\0" * 26) + record(0x84)
    shared = record(0x9F, struct.pack("<II", len(strings), len(strings)))
    shared += b"".join(record(0x13, b"\0" + text(string)) for string in strings) + record(0xA0)
    relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    sheets = "".join(
        f'<Relationship Id="rId{n}" Type="{relations}/worksheet" Target="worksheets/sheet{n}.bin"/>'
        for n in (1, 2))
    package = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    kinds = "application/vnd.ms-excel"
    parts = {
        "[Content_Types].xml":
            '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
            f'<Default Extension="bin" ContentType="{kinds}.sheet.binary.macroEnabled.main"/>'
            '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/worksheets/sheet1.bin" ContentType="{kinds}.worksheet"/>'
            f'<Override PartName="/xl/worksheets/sheet2.bin" ContentType="{kinds}.worksheet"/>'
            f'<Override PartName="/xl/sharedStrings.bin" ContentType="{kinds}.sharedStrings"/></Types>',
        "_rels/.rels":
            f'{package}<Relationship Id="rId1" Type="{relations}/officeDocument" Target="xl/workbook.bin"/></Relationships>',
        "xl/_rels/workbook.bin.rels":
            f'{package}{sheets}<Relationship Id="rId3" Type="{relations}/sharedStrings" Target="sharedStrings.bin"/></Relationships>',
        "xl/workbook.bin": book,
        "xl/worksheets/sheet1.bin": types,
        "xl/worksheets/sheet2.bin": bays,
        "xl/sharedStrings.bin": shared,
    }
    with zipfile.ZipFile("binary.xlsb", "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(zipfile.ZipInfo(name, (2026, 1, 5, 0, 0, 0)), content)


wanted = sys.argv[1:]
for make in [plain, titles, two_rows, units, synonyms, by_level, merged, typed, formulas, hidden,
             tables, spelled_out, sections, first_only, stacked, level_lines, macros, old, open_document, binary]:
    if not wanted or make.__name__ in wanted:
        make()
