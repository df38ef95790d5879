"""Validates workbooks against the file format's schema and rules with `openxml-audit`.

    validate_xlsx.py FILE...                     every error counts
    validate_xlsx.py --form FORM FILLED...       errors that the empty form has too do not count

Before anything else the validator must find an error that is put into a copy of the first file, so
that a validator that sees nothing is noticed. Exit 1 where an error is found.
"""

import argparse
import collections
import re
import sys
import tempfile
import zipfile
from pathlib import Path

from openxml_audit import FileFormat, OpenXmlValidator


def errors(path):
    """The errors of a file, each as part, kind and description without positions."""
    validator = OpenXmlValidator(file_format=FileFormat.OFFICE_2019, max_errors=0)
    found = collections.Counter()
    for error in validator.validate(str(path)).errors:
        words = re.sub(r"\d+", "#", error.description)
        found[(error.part_uri or "", error.error_type.value, words)] += 1
    return found


def spoil(path, folder):
    """A copy of a workbook whose sheets hold an element that no schema knows."""
    spoilt = Path(folder) / "spoilt.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(spoilt, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", name):
                data = data.replace(b"<sheetData", b"<noSuchThing/><sheetData", 1)
            new.writestr(name, data)
    return spoilt


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--form", type=Path, help="the empty form")
    parser.add_argument("files", nargs="+", type=Path)
    arguments = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        if not errors(spoil(arguments.files[0], folder)):
            sys.exit("the validator finds nothing in a spoilt workbook")
    known = errors(arguments.form) if arguments.form else collections.Counter()

    bad = 0
    for path in arguments.files:
        new = [error for error in errors(path) if error not in known]
        for part, kind, words in new:
            print(f"{path}: {part}: {kind}: {words}")
        bad += len(new)
    print(f"{len(arguments.files)} workbooks validated, {bad} errors")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
