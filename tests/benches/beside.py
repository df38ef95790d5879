"""Reads a schedule and writes as many cells as a run of the program does, in Python.

    beside.py openpyxl|calamine SCHEDULE SHAPES OUTPUT

SHAPES is what the bench `floor` says of the program's output: a list of sheets with rows, numbers,
texts and characters. Nothing but one multiplication is computed for a number. Compression is that of
the program's large workbooks. `whole.py` calls it.
"""

import json
import sys
import zipfile


class Light(zipfile.ZipFile):
    """Archives of level 1, as the program writes large workbooks."""

    def __init__(self, *words, **named):
        named.setdefault("compresslevel", 1)
        super().__init__(*words, **named)


zipfile.ZipFile = Light


def rows(shape, read):
    """The cells of a sheet, row by row: its numbers first, then its texts."""
    height = max(shape["rows"], 1)
    numbers, texts = shape["numbers"], shape["texts"]
    length = shape["characters"] // max(texts, 1)
    for row in range(height):
        across = numbers * (row + 1) // height - numbers * row // height
        beside = texts * (row + 1) // height - texts * row // height
        source = read[row % len(read)]
        factor = float(len(source) + row)
        words = [str(word) for word in source if word]
        text = " ".join(words)[:length].ljust(length, "x")
        yield [factor * 1.05 * (column + 1) for column in range(across)], [text] * beside


def with_openpyxl(schedule, shapes, output):
    import openpyxl

    book = openpyxl.load_workbook(schedule, read_only=True)
    read = [row for sheet in book.worksheets for row in sheet.iter_rows(values_only=True)]
    made = openpyxl.Workbook(write_only=True)
    for at, shape in enumerate(shapes):
        sheet = made.create_sheet(f"Sheet {at}")
        for numbers, texts in rows(shape, read):
            sheet.append(numbers + texts)
    made.save(output)


def with_calamine(schedule, shapes, output):
    import python_calamine
    import xlsxwriter

    book = python_calamine.CalamineWorkbook.from_path(schedule)
    read = [row for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python()]
    made = xlsxwriter.Workbook(output, {"constant_memory": True})
    for at, shape in enumerate(shapes):
        sheet = made.add_worksheet(f"Sheet {at}")
        for row, (numbers, texts) in enumerate(rows(shape, read)):
            for column, number in enumerate(numbers):
                sheet.write_number(row, column, number)
            for column, text in enumerate(texts, len(numbers)):
                sheet.write_string(row, column, text)
    made.close()


def main():
    name, schedule, shapes, output = sys.argv[1:]
    with open(shapes) as file:
        shapes = json.load(file)
    {"openpyxl": with_openpyxl, "calamine": with_calamine}[name](schedule, shapes, output)


if __name__ == "__main__":
    main()
