"""Prints workbooks to PDF with LibreOffice and looks at the pages.

    print_pages.py FILE... [--keep DIR]

Every sheet must come out one page wide, with every heading's text on a page of its own sheet and
nothing shown as ###. A sheet is two pages wide when a page of it lacks the first column's heading
and brings another. Exit 1 where one does not hold.
"""

import argparse
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import openpyxl


def pages(path, folder):
    """The text of each page in order."""
    profile = Path(folder) / "profile"
    subprocess.run(["soffice", f"-env:UserInstallation=file://{profile}", "--headless",
                    "--convert-to", "pdf", "--outdir", str(folder), str(path)],
                   check=True, timeout=600, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    pdf = Path(folder) / path.with_suffix(".pdf").name
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], check=True,
                          capture_output=True, text=True).stdout
    return pdf, text.split("\f")[:-1]


def letters(text):
    """Text without spaces: cells may be wrapped and columns squeezed."""
    return re.sub(r"\s+", "", text)


def headings(sheet):
    """The heading row: the one that the sheet repeats in print."""
    if not sheet.print_title_rows:
        return []
    row = int(re.search(r"\d+", sheet.print_title_rows).group())
    return [str(cell.value) for cell in sheet[row] if cell.value not in (None, "")]


def look(path, folder):
    """What is wrong, a line each."""
    wrong = []
    book = openpyxl.load_workbook(path)
    pdf, texts = pages(path, folder)
    by_sheet = {}
    for text in texts:
        # The footer's middle is the sheet's name.
        footer = [line for line in text.splitlines() if re.search(r"Page \d+ of \d+", line)]
        words = re.split(r"\s{2,}", footer[-1].strip()) if footer else []
        if len(words) < 2:
            wrong.append(f"{path}: a page has no sheet's name in its footer")
            continue
        name = words[-2]
        by_sheet.setdefault(name, []).append(text)
        if "###" in text:
            wrong.append(f"{path}: {name}: a number does not fit its column")
    for sheet in book:
        wanted = headings(sheet)
        found = by_sheet.get(sheet.title, [])
        if not found:
            wrong.append(f"{path}: {sheet.title}: not printed")
        for number, text in enumerate(found, 1):
            plain = letters(text)
            for heading in wanted:
                # Words of wrapped headings, and halves of hyphened ones, stand on lines of their
                # own between other columns'.
                words = re.split(r"[\s-]+", heading)
                missing = [word for word in words if letters(word) not in plain]
                if missing:
                    wrong.append(f"{path}: {sheet.title}: page {number} lacks the heading "
                                 f"{heading!r}")
        print(f"{path}: {sheet.title}: {len(found)} pages, {len(wanted)} headings")
    return pdf, wrong


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", type=Path, help="keep the PDFs in this folder")
    parser.add_argument("files", nargs="+", type=Path)
    arguments = parser.parse_args()
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        for path in arguments.files:
            pdf, wrong = look(path, folder)
            for line in wrong:
                print(line)
            failed |= bool(wrong)
            if arguments.keep:
                arguments.keep.mkdir(parents=True, exist_ok=True)
                shutil.copy(pdf, arguments.keep)
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
