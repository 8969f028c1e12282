"""Which font draws a text, and what has to be done to it first. No window needed.

Kivy draws a text with exactly one font, from left to right, without shaping. So a text is one of:
plain (the wide font has every character), right-to-left (Arabic letters are joined and the order turned by
well-known libraries first, then the wide font draws it), or shaped (Devanagari and its kin: drawn as a picture by
Pillow with Raqm, where the platform has it). A character that no bundled font has stays and shows as a box.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent.parent.parent / "assets" / "fonts"

#: Unicode blocks whose letters need shaping, with the font that has them.
SHAPED = {
    "Devanagari": (0x0900, 0x097F),
    "Bengali": (0x0980, 0x09FF),
    "Gurmukhi": (0x0A00, 0x0A7F),
    "Gujarati": (0x0A80, 0x0AFF),
    "Tamil": (0x0B80, 0x0BFF),
    "Telugu": (0x0C00, 0x0C7F),
    "Myanmar": (0x1000, 0x109F),
    "Khmer": (0x1780, 0x17FF),
}
_RIGHT_TO_LEFT = ((0x0590, 0x08FF), (0xFB1D, 0xFDFF), (0xFE70, 0xFEFF))


class Drawn(StrEnum):
    """How a text is drawn."""

    PLAIN = "plain"
    TURNED = "turned"
    SHAPED = "shaped"


def script_of(character: str) -> str | None:
    """The name of the shaped script a character belongs to, or None."""
    point = ord(character)
    if point < 0x0900 or point > 0x17FF:
        return None
    return next((name for name, (first, last) in SHAPED.items() if first <= point <= last), None)


def drawn(text: str) -> Drawn:
    """How to draw a text; Latin, Greek, Cyrillic and the like, which is nearly every text, is decided fast."""
    if text.isascii() or all(character < "\u0590" or "\u1e00" <= character < "\ufb1d" for character in text):
        return Drawn.PLAIN
    if any(script_of(character) for character in text):
        return Drawn.SHAPED
    if any(first <= ord(c) <= last for c in text for first, last in _RIGHT_TO_LEFT):
        return Drawn.TURNED
    return Drawn.PLAIN


@lru_cache(maxsize=512)
def turned(text: str) -> str:
    """A text with right-to-left words, joined and put in the order in which it is drawn from the left."""
    from arabic_reshaper import reshape
    from bidi.algorithm import get_display

    return str(get_display(reshape(text)))


def runs(text: str) -> list[tuple[str, str]]:
    """(script or empty, text): the pieces of a shaped text that one font each can draw.

    Spaces and signs go with the piece before them where that script's font has them.
    """
    pieces: list[tuple[str, str]] = []
    for character in text:
        script = script_of(character) or ""
        joins = character in "\u200c\u200d \u0964"
        if pieces and (pieces[-1][0] == script or (joins and not script)):
            pieces[-1] = (pieces[-1][0], pieces[-1][1] + character)
        else:
            pieces.append((script, character))
    return pieces


def font_file(script: str, bold: bool) -> Path:
    """The file that draws a script; the wide font for the empty one."""
    weight = "Bold" if bold else "Regular"
    return FOLDER / (f"NotoSans{script}-{weight}.ttf" if script else f"QuietbellSans-{weight}.ttf")


@lru_cache(maxsize=64)
def _font(script: str, bold: bool, size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(script, bold)), size)


@lru_cache(maxsize=512)
def picture(text: str, bold: bool, size: int) -> tuple[int, int, bytes]:
    """(width, height, alpha bytes) of a shaped text on one line; pixel rows from the top."""
    from PIL import Image, ImageDraw

    ascent = max(_font(script, bold, size).getmetrics()[0] for script, _ in runs(text))
    descent = max(_font(script, bold, size).getmetrics()[1] for script, _ in runs(text))
    width = sum(_font(script, bold, size).getlength(piece) for script, piece in runs(text))
    image = Image.new("L", (max(1, int(width) + 2), ascent + descent), 0)
    pen, at = ImageDraw.Draw(image), 0.0
    for script, piece in runs(text):
        font = _font(script, bold, size)
        pen.text((at, ascent), piece, fill=255, font=font, anchor="ls")
        at += font.getlength(piece)
    return image.width, image.height, image.tobytes()
