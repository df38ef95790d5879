"""Recalculates workbooks with LibreOffice and compares every formula's stored result with it.

    recalculate.py FILE... [--formulas N] [--expect SHEET!CELL=NUMBER]...

A formula without a stored result, as filled forms have them, is compared with nothing; `--expect`
says what a cell of every named file must come out as.

Numbers agree within 1e-9, relative where they are large. A wrong result put into a copy of the
first file with formulas must be noticed, or else nothing was recalculated. Exit 1 where a result
disagrees, or where a file has fewer formulas than `--formulas N` asks for.
"""

import argparse
import re
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import openpyxl

# Recalculate on load whatever program wrote the file.
SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"
 xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def convert(paths, folder):
    """Opens the files in LibreOffice, recalculates them and saves them into the folder."""
    profile = Path(folder) / "profile"
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(SETTINGS)
    out = Path(folder) / "out"
    command = ["soffice", f"-env:UserInstallation=file://{profile}", "--headless",
               "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out)]
    subprocess.run(command + [str(path) for path in paths], check=True, timeout=600,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return out


def agree(stored, fresh):
    if isinstance(stored, (int, float)) and isinstance(fresh, (int, float)):
        return abs(stored - fresh) <= 1e-9 * max(1.0, abs(stored))
    return stored == fresh


def compare(path, recalculated, expected=()):
    """The number of formulas, of those with a stored number, and what disagrees."""
    formulas = openpyxl.load_workbook(path)
    stored = openpyxl.load_workbook(path, data_only=True)
    fresh = openpyxl.load_workbook(recalculated, data_only=True)
    count, numbers, wrong = 0, 0, []
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type != "f":
                    continue
                count += 1
                old = stored[sheet.title][cell.coordinate].value
                new = fresh[sheet.title][cell.coordinate].value
                numbers += isinstance(old, (int, float))
                if old is not None and not agree(old, new):
                    wrong.append(f"{path}: {sheet.title}!{cell.coordinate}: {cell.value} is "
                                 f"stored as {old!r} and recalculated as {new!r}")
    for place, number in expected:
        name, coordinate = place.split("!")
        found = fresh[name][coordinate].value
        if not agree(number, found):
            wrong.append(f"{path}: {place} comes out as {found!r}, wanted {number}")
    return count, numbers, wrong


def spoil(path, folder):
    """A copy of a workbook whose stored results are all off by a thousand."""
    spoilt = Path(folder) / "spoilt.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(spoilt, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", name):
                data = re.sub(rb"</f><v>([0-9.]+)</v>",
                              lambda found: b"</f><v>%f</v>" % (float(found[1]) + 1000), data)
            new.writestr(name, data)
    return spoilt


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--formulas", type=int, default=0, help="at least so many a file")
    parser.add_argument("--expect", action="append", default=[], help="Sheet!Cell=number")
    parser.add_argument("files", nargs="+", type=Path)
    arguments = parser.parse_args()
    pairs = (expectation.split("=") for expectation in arguments.expect)
    expected = [(place, float(number)) for place, number in pairs]
    failed, spoilt = False, None
    with tempfile.TemporaryDirectory() as folder:
        out = convert(arguments.files, folder)
        for path in arguments.files:
            count, numbers, wrong = compare(path, out / path.name, expected)
            print(f"{path}: {count} formulas, {len(wrong)} disagree")
            for line in wrong:
                print(line)
            failed |= bool(wrong) or count < arguments.formulas
            if numbers and not spoilt:
                spoilt = spoil(path, folder)
        if spoilt:
            with tempfile.TemporaryDirectory() as again:
                *_, wrong = compare(spoilt, convert([spoilt], again) / spoilt.name)
            if not wrong:
                sys.exit("wrong stored results were not noticed: nothing was recalculated")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
