"""Makes templates/fonts/plan-*.ttf: subsets of Liberation Sans 2.1.5, renamed as its licence asks.

Run with fonttools at hand, on the folder of Debian's package fonts-liberation2:
python3 tests/make/fonts.py /usr/share/fonts/truetype/liberation2 templates/fonts
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

# Latin with its accents, Greek, Cyrillic, and what drawings need: dashes, quotes, primes, arrows.
LETTERS = [
    *range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x386, 0x3CF), *range(0x400, 0x460),
    *range(0x2010, 0x2016), *range(0x2018, 0x201F), 0x2022, 0x2026, 0x2032, 0x2033, 0x2044,
    0x20AC, 0x2190, 0x2191, 0x2192, 0x2193, 0x2212, 0x2260, 0x2264, 0x2265, 0xFFFD,
]
STAMP = 3_786_912_000  # 2024-01-01 in seconds since 1904: no clock in a file under version control

source, target = Path(sys.argv[1]), Path(sys.argv[2])
for weight in ["Regular", "Bold"]:
    font = TTFont(source / f"LiberationSans-{weight}.ttf", recalcTimestamp=False)
    options = subset.Options()
    options.hinting = False
    options.layout_features = []
    options.notdef_outline = True
    options.glyph_names = False
    options.name_IDs = [0, 1, 2, 4, 6, 13, 14]
    options.drop_tables += ["GPOS", "GSUB", "GDEF", "kern", "FFTM", "DSIG", "PCLT"]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=LETTERS)
    cutter.subset(font)
    for record in font["name"].names:
        text = {1: "Plan Sans", 2: weight, 4: f"Plan Sans {weight}", 6: f"PlanSans-{weight}"}.get(record.nameID)
        if text:
            font["name"].setName(text, record.nameID, record.platformID, record.platEncID, record.langID)
    font["head"].created = font["head"].modified = STAMP
    path = target / f"plan-{weight.lower()}.ttf"
    font.save(path)
    print(path, path.stat().st_size, len(font.getGlyphOrder()))
