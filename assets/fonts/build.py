"""Builds the font files that are made of several, from the fonts of the machine. Run by hand, never by the app.

The window toolkit draws a text with exactly one font and has no fallback to another, so the app carries one wide
font a weight: Noto Sans with the signs the screens use and the scripts whose letters need no shaping, or
are shaped beforehand (Arabic letters come in their joined forms). Layout tables are dropped; the toolkit does
not read them. Scripts that need real shaping keep their own files (see README.md beside this file).

Chinese, Japanese and Korean letters are one file for both weights: the two Droid fallback fonts (one has the rarer
Chinese letters, the other the Korean syllables), their letters only, without hinting and layout tables, and Latin
letters from Roboto (which comes with Kivy) for a line that is typed in both. All three are under one licence.

    python assets/fonts/build.py /usr/share/fonts/truetype/noto
    python assets/fonts/build.py --han Roboto-Regular.ttf DroidSansFallbackFull.ttf DroidSansFallback.ttf
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from fontTools import merge, subset
from fontTools.ttLib import TTFont
from fontTools.ttLib.scaleUpem import scale_upem

HERE = Path(__file__).parent
SIGNS = {"NotoSansSymbols2-Regular": "✓✗◇◆○●▸▾▴◂⌫□■△▲☐☑✎", "NotoSansMath-Regular": "↶↷←→↑↓"}
SCRIPTS = ("Arabic", "Hebrew", "Armenian", "Georgian", "Ethiopic", "Thai", "Lao", "Cherokee")
HAN = "QuietbellHan"
#: Unicode blocks: Latin with its signs; signs, kana, bopomofo, Korean letters, strokes; Han and its extension A;
#: Korean syllables; wide forms.
HAN_BLOCKS = (
    *((0x0020, 0x017F), (0x2010, 0x2026)),
    *((0x3001, 0x303F), (0x3040, 0x312F), (0x3130, 0x318F), (0x31A0, 0x31FF)),
    *((0x3400, 0x4DBF), (0x4E00, 0x9FFF), (0xAC00, 0xD7A3), (0xF900, 0xFAFF), (0xFF01, 0xFFEE)),
)
WHOLE = ("Khmer", "Devanagari", "Bengali", "Gurmukhi", "Gujarati", "Tamil", "Telugu", "Myanmar")


def plain(source: Path, into: Path, characters: set[int] | None = None) -> Path:
    """The font with outlines and character map only."""
    options = subset.Options(layout_features=[], hinting=False, notdef_outline=True, glyph_names=False)
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "BASE", "STAT", "kern", "MATH", "vhea", "vmtx", "gasp"]
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
    named(font, "Quietbell Sans", weight)
    measured(font, TTFont(folder / f"NotoSans-{weight}.ttf"))
    font.save(HERE / f"QuietbellSans-{weight}.ttf")


def build_han(*sources: Path) -> None:
    """One file, as the last font measures; a letter is taken from the first font that has it."""
    base = TTFont(sources[-1])
    with tempfile.TemporaryDirectory() as scratch:
        parts: list[str] = []
        have: set[int] = set()
        for number, source in enumerate(sources):
            letters = set(TTFont(source).getBestCmap()) - have
            wanted = {code for code in letters if any(first <= code <= last for first, last in HAN_BLOCKS)}
            have |= wanted
            part = plain(source, Path(scratch) / f"{number}.ttf", wanted)
            scaled = TTFont(part)
            scale_upem(scaled, base["head"].unitsPerEm)
            scaled.save(part)
            parts.append(str(part))
        font = merge.Merger().merge(parts)
    measured(font, base)
    named(font, "Quietbell Han", "Regular")
    font.save(HERE / f"{HAN}-Regular.ttf")


def measured(font: TTFont, base: TTFont) -> None:
    """Give a merged font the line height of another."""
    for table, fields in {
        "hhea": ("ascent", "descent", "lineGap"),
        "OS/2": ("usWinAscent", "usWinDescent"),
    }.items():
        for name in fields:
            setattr(font[table], name, getattr(base[table], name))


def named(font: TTFont, family: str, weight: str) -> None:
    """Give a changed font a name of its own."""
    for record in font["name"].names:
        if record.nameID in (1, 3, 4, 6, 16):
            plainly = f"{family.replace(' ', '')}-{weight}"
            record.string = plainly if record.nameID in (3, 6) else f"{family} {weight}"


if __name__ == "__main__":
    if sys.argv[1] == "--han":
        build_han(*map(Path, sys.argv[2:]))
        sys.exit()
    noto = Path(sys.argv[1])
    for weight in ("Regular", "Bold"):
        build(noto, weight)
        for script in WHOLE:
            (HERE / f"NotoSans{script}-{weight}.ttf").write_bytes(
                (noto / f"NotoSans{script}-{weight}.ttf").read_bytes()
            )
