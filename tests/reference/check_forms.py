"""Compares filled forms with the empty one, feature by feature, as openpyxl reads them.

    check_forms.py FORM FIRST LAST FILLED=COUNT...

FORM has rows FIRST to LAST of its first sheet kept for lines; FILLED holds COUNT lines. What stands
below LAST has moved by the rows that were inserted, ranges that ended at LAST end at the new last
row, and all else is as it was. Exit 1 where a feature differs.
"""

import re
import sys
from pathlib import Path

import openpyxl
from openpyxl.utils import get_column_letter


class Moved:
    """Where rows of the empty form stand in the filled one."""

    def __init__(self, last, added):
        self.last, self.added = last, added

    def row(self, row):
        return row + self.added if row > self.last else row

    def reference(self, text):
        """Every row in a reference or formula; the end of a range over the lines grows with it."""
        def one(found):
            column, row = found[1], int(found[2])
            is_end = found.string[:found.start()].endswith(":")
            grows = is_end and row == self.last
            return f"{column}{row + self.added if grows else self.row(row)}"
        return re.sub(r"(\$?[A-Z]{1,2}\$?)(\d+)", one, str(text))


def features(sheet, book, moved=None):
    """Each feature of the sheet, its references moved where `moved` says so."""
    ref = moved.reference if moved else str
    row = moved.row if moved else int
    return {
        "images": [(ref(f"A{image.anchor._from.row + 1}"), image.anchor._from.col,
                    image.anchor.ext.width, image.anchor.ext.height, image._data())
                   for image in sheet._images],
        "merged": merged(sheet, moved),
        "widths": {letter: size.width for letter, size in sheet.column_dimensions.items()},
        "validation": [(sorted(ref(area) for area in str(rule.sqref).split()), rule.type,
                        rule.operator, foreign(rule.formula1, ref))
                       for rule in sheet.data_validations.dataValidation],
        "conditional formats": [(ref(area.sqref), rule.type, rule.operator,
                                 [ref(text) for text in rule.formula], rule.dxf.fill.bgColor.rgb)
                                for area in sheet.conditional_formatting for rule in area.rules],
        "header and footer": [(part.left.text, part.center.text, part.right.text)
                              for part in (sheet.oddHeader, sheet.oddFooter)],
        "print titles": sheet.print_title_rows,
        "print area": ref(sheet.print_area),
        "page": (sheet.page_setup.orientation, sheet.page_setup.fitToHeight,
                 sheet.sheet_properties.pageSetUpPr.fitToPage),
        "breaks": [row(item.id) for item in sheet.row_breaks.brk],
        "panes": sheet.freeze_panes,
        "filter": ref(sheet.auto_filter.ref),
        "names": {name: foreign(entry.attr_text, ref)
                  for name, entry in book.defined_names.items()},
        "notes": sorted((ref(cell.coordinate), cell.comment.text)
                        for line in sheet.iter_rows() for cell in line if cell.comment),
        "links": sorted((ref(link.ref), ref(link.location or link.target))
                        for line in sheet.iter_rows() for cell in line
                        if (link := cell.hyperlink)),
    }


def merged(sheet, moved):
    """Merged ranges; inserted rows are merged as the last one kept for lines is."""
    areas = set()
    for area in sheet.merged_cells.ranges:
        columns = area.min_col, area.max_col
        if not moved:
            areas.add((*columns, area.min_row, area.max_row))
            continue
        areas.add((*columns, moved.row(area.min_row), moved.row(area.max_row)))
        if area.min_row == area.max_row == moved.last:
            inserted = range(moved.last + 1, moved.last + moved.added + 1)
            areas |= {(*columns, row, row) for row in inserted}
    return sorted(areas)


def foreign(text, ref):
    """A formula; rows of other sheets stay."""
    return text if text is None or str(text).startswith("Lists!") else ref(text)


def style(cell):
    return (cell.number_format, cell.font.b, cell.font.name, cell.fill.fgColor.rgb,
            cell.border.left.style, cell.border.bottom.style, cell.border.bottom.color
            and cell.border.bottom.color.rgb, cell.alignment.horizontal, cell.alignment.vertical)


def compare(form, filled, first, last, count):
    old_book, new_book = openpyxl.load_workbook(form), openpyxl.load_workbook(filled)
    old, new = old_book.worksheets[0], new_book.worksheets[0]
    kept = last - first + 1
    added = max(count - kept, 0)
    moved = Moved(last, added)
    wrong = []
    wanted, found = features(old, old_book, moved), features(new, new_book)
    for feature, value in wanted.items():
        if found[feature] != value:
            wrong.append(f"{filled}: {feature}: {found[feature]!r}, wanted {value!r}")
    formulas = 0
    for line in old.iter_rows():
        for cell in line:
            at = f"{get_column_letter(cell.column)}{moved.row(cell.row)}"
            if style(new[at]) != style(cell):
                wrong.append(f"{filled}: the format of {at} is not that of {cell.coordinate}")
            if cell.data_type == "f" and not first <= cell.row <= last:
                formulas += 1
                if new[at].value != moved.reference(cell.value):
                    wrong.append(f"{filled}: {at} is {new[at].value}, of {cell.value}")
    for row in range(first, last + added + 1):
        if new.row_dimensions[row].height != old.row_dimensions[first].height:
            wrong.append(f"{filled}: row {row} is {new.row_dimensions[row].height} high")
        for letter in old.column_dimensions:
            if style(new[f"{letter}{row}"]) != style(old[f"{letter}{first}"]):
                wrong.append(f"{filled}: the format of {letter}{row} is not that of the first line")
    print(f"{filled}: {len(wanted)} features, {formulas} formulas, {len(wrong)} differ")
    return wrong


def main():
    form, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    pairs = [pair.rsplit("=", 1) for pair in sys.argv[4:]]
    wrong = []
    for filled, count in pairs:
        wrong += compare(Path(form), Path(filled), first, last, int(count))
    most = max(pairs, key=lambda pair: int(pair[1]))
    if not compare(Path(form), Path(most[0]), first, last, int(most[1]) - 1):
        sys.exit("a row too many was not noticed")
    for line in wrong:
        print(line)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
