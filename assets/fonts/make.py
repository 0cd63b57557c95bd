"""Makes the two font files beside this script from the release of Inter in the npm package inter-ui 4.1.1.

    npm pack inter-ui@4.1.1 && tar xzf inter-ui-4.1.1.tgz
    pip install fonttools==4.68.0 brotli==1.2.1
    python make.py package/web

What it changes, and why (the licence, SIL OFL 1.1 without a reserved name, allows it):
- digits and the signs of arithmetic become the face's own tabular forms, so that columns of readings line up in
  programs that do not apply OpenType features (the hyphen stays narrow: words use it);
- only the characters that a site's words and figures need stay: Latin, Greek, Cyrillic, punctuation, arrows, mathematics;
- the diameter sign and the light cross, which the face lacks, are drawn as its Ø and ×;
- layout tables go (no feature is applied by the window or the report), outlines become plain TrueType.
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

KEEP = [
    (0x20, 0x7E), (0xA0, 0x17F), (0x192, 0x192), (0x218, 0x21B), (0x2B0, 0x2DD), (0x300, 0x338), (0x37E, 0x3FF),
    (0x400, 0x45F), (0x1E00, 0x1EFF), (0x2000, 0x206F), (0x2070, 0x209C), (0x20A0, 0x20C0), (0x2100, 0x214F),
    (0x2150, 0x218B), (0x2190, 0x21FF), (0x2200, 0x22FF), (0x2300, 0x23FF), (0x2460, 0x2473), (0x25A0, 0x25FF),
    (0x2600, 0x2660), (0x2700, 0x27BF),
]
TABULAR = "0123456789+−±=×÷<>≤≥≈"
NEEDED = "0123456789+-−±×÷=<>≤≥≈≠√·–—…→←↑↓⌀Ø²³°ΣΔµ½¼¾✓✗✕•‘’“”€£©"


def make(source: Path, target: Path) -> None:
    font = TTFont(source)
    cmap = font.getBestCmap()
    lookups = font["GSUB"].table
    tabular = {}
    for record in lookups.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for table in lookups.LookupList.Lookup[index].SubTable:
                    tabular.update(getattr(table, "ExtSubTable", table).mapping)
    for table in font["cmap"].tables:
        if table.isUnicode():
            for code, glyph in list(table.cmap.items()):
                if chr(code) in TABULAR:
                    table.cmap[code] = tabular.get(glyph, glyph)
            for code, drawn_as in {0x2300: 0xD8, 0x2715: 0xD7}.items():
                table.cmap.setdefault(code, table.cmap[drawn_as])
    options = subset.Options()
    options.layout_features = []
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "STAT"]
    options.name_IDs = ["*"]
    options.hinting = False
    options.notdef_outline = True
    options.glyph_names = False
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[c for a, b in KEEP for c in range(a, b + 1) if c in font.getBestCmap()])
    subsetter.subset(font)
    font.flavor = None
    font.recalcTimestamp = False
    font.save(target)
    done = TTFont(target)
    cmap, widths = done.getBestCmap(), done["hmtx"].metrics
    missing = [c for c in NEEDED if ord(c) not in cmap]
    figures = {widths[cmap[ord(c)]][0] for c in "0123456789"}
    print(target, target.stat().st_size, "bytes,", len(cmap), "characters; missing:", missing or "none", "; digit widths:", figures)


if __name__ == "__main__":
    here = Path(__file__).parent
    for weight in ("Regular", "SemiBold"):
        make(Path(sys.argv[1]) / f"Inter-{weight}.woff2", here / f"Inter-{weight}.ttf")
