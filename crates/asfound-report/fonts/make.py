#!/usr/bin/env python3
"""Makes the fonts beside this file. Needs fontTools (PyPI) and Debian's fonts-noto-core and fonts-noto-mono."""

from pathlib import Path
from tempfile import TemporaryDirectory

from fontTools import subset
from fontTools.merge import Merger
from fontTools.ttLib import TTFont

NOTO = Path("/usr/share/fonts/truetype/noto")
HERE = Path(__file__).parent
LETTERS = [
    (0x20, 0x7E), (0xA0, 0x24F), (0x259, 0x259), (0x2B9, 0x2DD), (0x300, 0x331), (0x370, 0x3FF), (0x400, 0x4FF),
    (0x1E00, 0x1EFF), (0x2010, 0x2027), (0x202F, 0x202F), (0x2030, 0x203A), (0x2044, 0x2044), (0x2070, 0x209F),
    (0x20A0, 0x20BF), (0x2116, 0x2116), (0x2122, 0x2122), (0xFFFD, 0xFFFD),
]
SIGNS = [(0x2190, 0x2193), (0x2212, 0x2212), (0x2248, 0x2248), (0x2260, 0x2260), (0x2264, 0x2265)]
SEALS = [(0x20, 0x7E), (0xA0, 0xFF), (0x2010, 0x2027)]


def part(name, ranges, out):
    options = subset.Options()
    options.hinting = False
    options.layout_features = []
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.drop_tables += ["MATH"]
    font = subset.load_font(str(NOTO / name), options)
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[code for first, last in ranges for code in range(first, last + 1)])
    subsetter.subset(font)
    font.save(str(out))


with TemporaryDirectory() as folder:
    folder = Path(folder)
    part("NotoSansMath-Regular.ttf", SIGNS, folder / "signs.ttf")
    for name in ["Regular", "Bold"]:
        part(f"NotoSans-{name}.ttf", LETTERS, folder / "letters.ttf")
        merged = Merger().merge([str(folder / "letters.ttf"), str(folder / "signs.ttf")])
        merged.save(str(HERE / f"sans-{name.lower()}.ttf"))
    part("NotoSansMono-Regular.ttf", SEALS, HERE / "mono-regular.ttf")

for file in sorted(HERE.glob("*.ttf")):
    print(file.name, file.stat().st_size, len(TTFont(file).getBestCmap()))
