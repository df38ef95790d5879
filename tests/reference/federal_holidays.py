"""Compares the working days from 2024 to 2035 with the PyPI package `holidays` (US federal, observed).

Reads working_days.csv, which the tests write into the folder named by BAYTALLY_REFERENCE_DIR.
"""

import csv
import datetime
import os
import pathlib
import sys

import holidays

FIRST, LAST = datetime.date(2024, 1, 1), datetime.date(2035, 12, 31)
# The observed New Year's Day of a following year lies in the year before it.
CLOSED = holidays.country_holidays("US", years=range(FIRST.year, LAST.year + 2), observed=True)

path = pathlib.Path(os.environ["BAYTALLY_REFERENCE_DIR"]) / "working_days.csv"
with path.open(newline="") as file:
    rows = {datetime.date.fromisoformat(row["date"]): row["worked"] == "1" for row in csv.DictReader(file)}

days = [FIRST + datetime.timedelta(n) for n in range((LAST - FIRST).days + 1)]
if sorted(rows) != days:
    sys.exit(f"{path}: {len(rows)} days, wanted {len(days)} from {FIRST} to {LAST}")
wrong = [day for day in days if rows[day] != (day.weekday() < 5 and day not in CLOSED)]
for day in wrong:
    print(f"{day} {day:%A}: ours {'worked' if rows[day] else 'closed'}, theirs {CLOSED.get(day, 'no holiday')}")
print(f"{len(days)} days, {sum(rows.values())} worked, {len(wrong)} differ (holidays {holidays.__version__})")
sys.exit(bool(wrong))
