"""Type for the papers: which font draws which letters, how wide a text is, and drawing it in any script.

Only measuring and drawing of one line of text may live here. Plain Noto Sans text takes the fast way; other
scripts are shaped by HarfBuzz (through ReportLab), ordered by the Unicode bidirectional algorithm (UAX #9, python-bidi)
and carry their logical text as ActualText, so that it can be searched and read aloud.
A letter that no bundled font has is drawn as ``MISSING`` and reported by ``unprintable``: never a silent box.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from typing import Any, NamedTuple
from weakref import WeakKeyDictionary

from bidi import algorithm as bidi_algorithm
from reportlab.lib.abag import ABag
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont, shapeFragWord

import assets

MISSING = "[?]"
BASE = "NotoSans"
HAN = "QuietbellHan"  # Chinese, Japanese, Korean: one weight, whose bold is drawn with an edge
HAN_EDGE = 0.03  # of the size

# Unicode block ranges (Blocks.txt of the Unicode Character Database) and the font that covers them.
_RANGES: tuple[tuple[int, int, str], ...] = (
    (0x0530, 0x058F, "QuietbellSans"),  # Armenian
    (0x0590, 0x05FF, "NotoSansHebrew"),
    (0x0600, 0x06FF, "NotoSansArabic"),
    (0x0750, 0x077F, "NotoSansArabic"),
    (0x08A0, 0x08FF, "NotoSansArabic"),
    (0x0900, 0x097F, "NotoSansDevanagari"),
    (0x0980, 0x09FF, "NotoSansBengali"),
    (0x0A00, 0x0A7F, "NotoSansGurmukhi"),
    (0x0A80, 0x0AFF, "NotoSansGujarati"),
    (0x0B80, 0x0BFF, "NotoSansTamil"),
    (0x0C00, 0x0C7F, "NotoSansTelugu"),
    (0x0E00, 0x0E7F, "NotoSansThai"),
    (0x0E80, 0x0EFF, "NotoSansLao"),
    (0x1000, 0x109F, "NotoSansMyanmar"),
    (0x10A0, 0x10FF, "QuietbellSans"),  # Georgian
    (0x1200, 0x139F, "QuietbellSans"),  # Ethiopic
    (0x13A0, 0x13FF, "QuietbellSans"),  # Cherokee
    (0x1780, 0x17FF, "NotoSansKhmer"),
    (0x3001, 0x31FF, HAN),  # signs, kana, bopomofo, Korean letters
    (0x3400, 0x4DBF, HAN),
    (0x4E00, 0x9FFF, HAN),
    (0xAC00, 0xD7A3, HAN),
    (0xF900, 0xFAFF, HAN),
    (0xFF01, 0xFFEE, HAN),
    (0xFB1D, 0xFB4F, "NotoSansHebrew"),
    (0xFB50, 0xFDFF, "NotoSansArabic"),
    (0xFE70, 0xFEFE, "NotoSansArabic"),
    (0x2190, 0x27BF, "QuietbellSans"),  # arrows, signs, boxes
)
_HYPHENED = re.compile("[^-]*-+|[^-]+")
_JOIN = "\x02"  # ends a part of a word that the next part follows without a space
_FEATURES = {"kern": True, "liga": True}
_INVISIBLE = re.compile("[\u00ad\u200b\u200e\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f\ufeff]")
_PRIVATE = re.compile("[\ue000-\uf8ff]")
_RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefe]")


class Run(NamedTuple):
    """Letters of one font and one direction, in the order in which runs are drawn."""

    font: str
    text: str
    right_to_left: bool


@cache
def _font(name: str, bold: bool) -> TTFont:
    """The bundled font, registered with ReportLab on first use."""
    weight = "Bold" if bold and name != HAN else "Regular"
    font = TTFont(f"{name}-{weight}", str(assets.path("fonts", f"{name}-{weight}.ttf")))
    pdfmetrics.registerFont(font)
    return font


@cache
def _letters(name: str, bold: bool) -> frozenset[int]:
    """The code points a font has. Taken before shaping adds private ones."""
    return frozenset(_font(name, bold).face.charToGlyph)


def base_font(bold: bool = False) -> str:
    """ReportLab's name of the plain font, registered."""
    return str(_font(BASE, bold).fontName)


@lru_cache(maxsize=65536)
def is_plain(text: str, bold: bool = False) -> bool:
    """Whether the text needs neither another font nor shaping."""
    if text.isascii() and text.isprintable():
        return True
    letters = _letters(BASE, bold)
    return (
        all(ord(char) in letters and not unicodedata.combining(char) for char in text)
        and unicodedata.is_normalized("NFC", text)
        and not _INVISIBLE.search(text)
    )


def _font_of(char: str, bold: bool, before: str) -> str | None:
    """The font for one letter; neutral letters stay with the font before them where it has them."""
    code = ord(char)
    if before and not char.isalnum() and code in _letters(before, bold):
        return before
    if code in _letters(BASE, bold):
        return BASE
    for first, last, name in _RANGES:
        if first <= code <= last:
            return name if code in _letters(name, bold) else None
    return None


def unprintable(text: str) -> str:
    """The letters of a text that no bundled font can print, each once, in order."""
    if is_plain(text):
        return ""
    return "".join(dict.fromkeys(char for char in cleaned(text) if _font_of(char, False, "") is None))


def cleaned(text: str) -> str:
    """Composed (NFC), without invisible direction marks and control characters, spaces made plain."""
    text = unicodedata.normalize("NFC", _INVISIBLE.sub("", text))
    return "".join(
        " " if char.isspace() else char
        for char in text
        if char.isspace() or unicodedata.category(char) not in ("Cc", "Cs")
    )


def _levels(text: str) -> list[int]:
    """The embedding level of every letter in a left-to-right line (UAX #9, by python-bidi)."""
    if not _RIGHT_TO_LEFT.search(text):
        return [0] * len(text)
    # a code point without a letter has no direction, which the library does not take
    text = "".join(char if unicodedata.bidirectional(char) else "\ufffd" for char in text)
    storage = bidi_algorithm.get_empty_storage()
    storage["base_level"], storage["base_dir"] = 0, "L"
    bidi_algorithm.get_embedding_levels(text, storage)
    bidi_algorithm.explicit_embed_and_overrides(storage)
    bidi_algorithm.resolve_weak_types(storage)
    bidi_algorithm.resolve_neutral_types(storage, False)
    bidi_algorithm.resolve_implicit_levels(storage, False)
    found = iter(storage["chars"])
    pending = next(found, None)
    levels: list[int] = []
    for char in text:  # the algorithm leaves joiners out (rule X9): they stay with the letter before them
        if pending is not None and pending["ch"] == char:
            levels.append(int(pending["level"]))
            pending = next(found, None)
        else:
            levels.append(levels[-1] if levels else 0)
    return levels


@lru_cache(maxsize=8192)
def runs(text: str, bold: bool = False) -> tuple[Run, ...]:
    """The text as runs in drawing order, left to right; a right-to-left run is a word or what is between words."""
    pieces: list[tuple[int, str, str]] = []  # level, font, letters
    before = ""
    text = cleaned(text)
    for char, level in zip(text, _levels(text), strict=True):
        name = _font_of(char, bold, before)
        shown, name = (char, name) if name else (MISSING, BASE)
        if pieces and pieces[-1][:2] == (level, name) and _together(level, pieces[-1][2][-1], char):
            pieces[-1] = (level, name, pieces[-1][2] + shown)
        else:
            pieces.append((level, name, shown))
        before = name
    for level in range(max((piece[0] for piece in pieces), default=0), 0, -1):  # rule L2
        pieces = _reversed_from(pieces, level)
    return tuple(
        Run(str(_font(name, bold).fontName), letters, level % 2 == 1) for level, name, letters in pieces
    )


def _together(level: int, before: str, char: str) -> bool:
    """Whether two letters of one font belong to one run: always, but right to left only within a word."""
    return level % 2 == 0 or (before.isspace() == char.isspace() and (before in ",." or char not in ",."))


def _reversed_from(pieces: list[tuple[int, str, str]], level: int) -> list[tuple[int, str, str]]:
    """Every stretch of pieces at this level or above, reversed."""
    ordered: list[tuple[int, str, str]] = []
    stretch: list[tuple[int, str, str]] = []
    for piece in pieces:
        if piece[0] >= level:
            stretch.append(piece)
            continue
        ordered += stretch[::-1]
        stretch = []
        ordered.append(piece)
    return ordered + stretch[::-1]


@lru_cache(maxsize=8192)
def _shaped(run: Run, size: float) -> tuple[Any, float]:
    """A run's glyphs with their positions, and its width in points."""
    fragment = ABag(fontName=run.font, fontSize=size)
    glyphs = shapeFragWord([0, (fragment, run.text)], features=_FEATURES, force=True)[1][1]
    return glyphs, sum(each.x_advance for each in glyphs.__shapeData__) * size / 1000


@lru_cache(maxsize=131072)
def _width_per_point(text: str, bold: bool) -> float:
    if is_plain(text, bold):
        return float(_font(BASE, bold).stringWidth(text, 1))
    return sum(_shaped(run, 10.0)[1] for run in runs(text, bold)) / 10


def width(text: str, size: float, bold: bool = False) -> float:
    """The width of one line in points."""
    return _width_per_point(text, bold) * size


def draw(canvas: Any, x: float, y: float, text: str, size: float, bold: bool = False) -> None:
    """Draw one line with its left end at ``x`` and its baseline at ``y`` (points from the lower left)."""
    if not text:
        return
    if is_plain(text, bold):
        _draw_plain(canvas, x, y, text, size, bold)
        return
    pieces = runs(text, bold)
    whole = not any(run.right_to_left for run in pieces)
    if whole:
        canvas.addLiteral(_actual_text(cleaned(text)))
    for run in pieces:
        glyphs, advance = _shaped(run, size)
        _set_font(canvas, run.font, size)
        # Readers put right-to-left letters into reading order themselves, and would turn a replacement text
        # around too: it is given only for a word with a glyph that stands for no letter.
        spelled = run.right_to_left and _PRIVATE.search(glyphs)
        if spelled:
            canvas.addLiteral(_actual_text(run.text))
        if bold and run.font.startswith(HAN):
            _draw_edged(canvas, x, y, glyphs, size)
        else:
            canvas.drawString(x, y, glyphs)
        if spelled:
            canvas.addLiteral("EMC")
        x += advance
    if whole:
        canvas.addLiteral("EMC")


def _draw_edged(canvas: Any, x: float, y: float, glyphs: Any, size: float) -> None:
    """Letters filled and drawn round in the colour of their filling, for a font without a bold one."""
    canvas.saveState()
    canvas.setStrokeColor(canvas._fillColorObj)
    canvas.setLineWidth(size * HAN_EDGE)
    canvas.setDash([])
    canvas.setLineJoin(1)
    canvas.drawString(x, y, glyphs, mode=2)
    canvas.restoreState()


# canvas -> (text, bold) -> (font resource, escaped bytes): a document spells a text the same way each time.
_SPELLED: WeakKeyDictionary[Any, dict[tuple[str, bool], tuple[tuple[str, str], ...]]] = WeakKeyDictionary()


def _draw_plain(canvas: Any, x: float, y: float, text: str, size: float, bold: bool) -> None:
    """One line of plain text as PDF operators. ``drawString`` takes three times as long, for options unused here."""
    spelled = _SPELLED.get(canvas)
    if spelled is None:
        spelled = _SPELLED[canvas] = {}
    pieces = spelled.get((text, bold))
    if pieces is None:
        font, document = _font(BASE, bold), canvas._doc
        pieces = spelled[text, bold] = tuple(
            (font.getSubsetInternalName(subset, document), canvas._escape(letters))
            for subset, letters in font.splitString(text, document)
        )
    shown = " ".join(f"{name} {size:g} Tf ({letters}) Tj" for name, letters in pieces)
    # The move to a next line changes nothing here, but some readers tell lines apart by it.
    canvas.addLiteral(f"BT 1 0 0 1 {x:.2f} {y:.2f} Tm {size * 1.2:.2f} TL {shown} T* ET")


def _set_font(canvas: Any, name: str, size: float) -> None:
    """Set the font where it is another than the one set; ReportLab writes it out every time."""
    if (canvas._fontname, canvas._fontsize) != (name, size):
        canvas.setFont(name, size)


def _actual_text(text: str) -> str:
    """Opens a span whose text, for searching and reading aloud, is this (ISO 32000-1, 14.9.4)."""
    return f"/Span <</ActualText <FEFF{text.encode('utf-16-be').hex().upper()}>>> BDC"


def wrap(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``room`` points. A word wider than that is cut between letters.

    Line breaks in the text are kept; an empty text is one empty line.
    """
    return list(_wrapped(text, round(room / size, 3), bold))


@lru_cache(maxsize=16384)
def _wrapped(text: str, room: float, bold: bool) -> tuple[str, ...]:
    if "\n" not in text and _width_per_point(text, bold) <= room:
        return (text,)
    lines: list[str] = []
    space = _width_per_point(" ", bold)
    for paragraph in text.split("\n"):
        line, used = "", 0.0
        for word in _words(paragraph, room, bold):
            wide = _width_per_point(word, bold)
            gap = 0.0 if line.endswith(_JOIN) else space
            if line and used + gap + wide <= room:
                line = f"{line.removesuffix(_JOIN)}{' ' if gap else ''}{word}"
                used += gap + wide
                continue
            if line:
                lines.append(line.removesuffix(_JOIN))
            *whole, line = _cut(word, room, bold) if wide > room else [word]
            lines += whole
            used = _width_per_point(line, bold)
        lines.append(line.removesuffix(_JOIN))
    return tuple(lines)


def _words(paragraph: str, room: float, bold: bool) -> list[str]:
    """The words of a paragraph; one wider than a line is parted after its hyphens first."""
    words: list[str] = []
    for word in paragraph.split():
        parts = _HYPHENED.findall(word) if _width_per_point(word, bold) > room else [word]
        words += [*(part + _JOIN for part in parts[:-1]), parts[-1]]
    return words


def _cut(word: str, room: float, bold: bool) -> list[str]:
    """A word too wide for a line, cut where it must be (never before a combining mark)."""
    parts = [""]
    for char in word:
        fits = _width_per_point(parts[-1] + char, bold) <= room
        if fits or not parts[-1] or unicodedata.category(char) in ("Mn", "Mc"):
            parts[-1] += char
        else:
            parts.append(char)
    return parts
