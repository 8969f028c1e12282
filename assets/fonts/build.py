"""Builds the interface's two font files from the Noto fonts of the machine. Run by hand, never by the app.

The window toolkit draws a text with exactly one font and has no fallback to another, so the app carries one wide
font a weight: Noto Sans with the signs the screens use and the scripts whose letters need no shaping, or
are shaped beforehand (Arabic letters come in their joined forms). Layout tables are dropped; the toolkit does
not read them. Scripts that need real shaping keep their own files (see README.md beside this file).

    python assets/fonts/build.py /usr/share/fonts/truetype/noto
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from fontTools import merge, subset
from fontTools.ttLib import TTFont

HERE = Path(__file__).parent
SIGNS = {"NotoSansSymbols2-Regular": "✓✗◇◆○●▸▾▴◂⌫□■△▲☐☑✎", "NotoSansMath-Regular": "↶↷←→↑↓"}
SCRIPTS = ("Arabic", "Hebrew", "Armenian", "Georgian", "Ethiopic", "Thai", "Lao", "Cherokee")
WHOLE = ("Khmer", "Devanagari", "Bengali", "Gurmukhi", "Gujarati", "Tamil", "Telugu", "Myanmar")


def plain(source: Path, into: Path, characters: set[int] | None = None) -> Path:
    """The font with outlines and character map only."""
    options = subset.Options(layout_features=[], hinting=False, notdef_outline=True, glyph_names=False)
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "BASE", "STAT", "kern", "MATH"]
    font = TTFont(source)
    wanted = set(font.getBestCmap()) if characters is None else characters
    worker = subset.Subsetter(options)
    worker.populate(unicodes=wanted)
    worker.subset(font)
    font.save(into)
    return into


def build(folder: Path, weight: str) -> None:
    """Merge one weight; a character is taken from the first font that has it."""
    with tempfile.TemporaryDirectory() as scratch:
        parts: list[str] = []
        have: set[int] = set()
        sources: list[tuple[Path, set[int] | None]] = [(folder / f"NotoSans-{weight}.ttf", None)]
        sources += [(folder / f"{name}.ttf", set(map(ord, signs))) for name, signs in SIGNS.items()]
        sources += [(folder / f"NotoSans{script}-{weight}.ttf", None) for script in SCRIPTS]
        for number, (source, characters) in enumerate(sources):
            wanted = (characters or set(TTFont(source).getBestCmap())) - have
            have |= wanted
            parts.append(str(plain(source, Path(scratch) / f"{number}.ttf", wanted)))
        font = merge.Merger().merge(parts)
    for record in font["name"].names:
        if record.nameID in (1, 4, 6, 16):
            words = "QuietbellSans" if record.nameID == 6 else "Quietbell Sans"
            record.string = f"{words}{'-' if record.nameID == 6 else ' '}{weight}"
    base = TTFont(folder / f"NotoSans-{weight}.ttf")
    for table, fields in {
        "hhea": ("ascent", "descent", "lineGap"),
        "OS/2": ("usWinAscent", "usWinDescent"),
    }.items():
        for name in fields:
            setattr(font[table], name, getattr(base[table], name))
    font.save(HERE / f"QuietbellSans-{weight}.ttf")


if __name__ == "__main__":
    noto = Path(sys.argv[1])
    for weight in ("Regular", "Bold"):
        build(noto, weight)
        for script in WHOLE:
            (HERE / f"NotoSans{script}-{weight}.ttf").write_bytes(
                (noto / f"NotoSans{script}-{weight}.ttf").read_bytes()
            )
