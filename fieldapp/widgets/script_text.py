"""Which font draws a text, and what has to be done to it first. No window needed.

Kivy draws a text with exactly one font, from left to right, without shaping. So a text is one of:
plain (the wide font has every character), right-to-left (Arabic letters are joined and the order turned by
well-known libraries first, then the wide font draws it), or shaped (Devanagari and its kin: drawn as a picture by
Pillow with Raqm, where the platform has it). Chinese, Japanese and Korean letters go the same way: their font is
too large to be part of the wide one. A character that no bundled font has stays and shows as a box.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from enum import StrEnum
from functools import lru_cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent.parent.parent / "assets" / "fonts"

HAN = "Han"
HAN_FIRST = 0x2E80  # the first of its letters; from here on nothing is plain before the ligatures at U+FB00
HAN_BLOCKS = (
    *((0x1100, 0x11FF), (0x2E80, 0x9FFF), (0xA960, 0xA97F)),
    *((0xAC00, 0xD7FF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF)),
)

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
    if point < 0x0900 or 0x17FF < point < HAN_FIRST:
        return None
    if point >= HAN_FIRST or 0x1100 <= point <= 0x11FF:
        return HAN if any(first <= point <= last for first, last in HAN_BLOCKS) else None
    return next((name for name, (first, last) in SHAPED.items() if first <= point <= last), None)


def drawn(text: str) -> Drawn:
    """How to draw a text; Latin, Greek, Cyrillic and the like, which is nearly every text, is decided fast."""
    if text.isascii() or all(character < "\u0590" or "\u1e00" <= character < "\u2e80" for character in text):
        return Drawn.PLAIN
    if any(script_of(character) for character in text):
        return Drawn.SHAPED
    if any(first <= ord(c) <= last for c in text for first, last in _RIGHT_TO_LEFT):
        return Drawn.TURNED
    return Drawn.PLAIN


_UNITS = re.compile(
    r"(?m)(?<=\d) (?=(?:Hz|dB|am|pm|min)\b)|(?<=\bdB) (?=(?:HL|SPL)\b)"
    r"|(?<=\d) (?=[a-zA-Z]{3} \d{4}\b)|(?<=\d [a-zA-Z]{3}) (?=\d{4}\b)"
    r"|(?<=\w:) (?=\d+(?:[.;)]?(?:$| [·…])|\. ))"  # a count at its end, and what is counted
    r"|(?<=\d) (?=\+ \d)|(?<=\d \+) (?=\d)"  # a pair of frequencies
    r"|(?:(?<=\b(?:der|izq)\.)|(?<=\bleft)|(?<=\bright)) (?=\d)"  # a short word for an ear, and its tone
    r"|(?<=\S) (?=[·…](?: |$))"  # a sign that ends a part begins no line
)
_LEVEL = re.compile(r"(?<!Hz: )(?<!\d)((?:\d+, )*)(\d+ Hz:) (?=\d)")


@lru_cache(maxsize=512)
def together(text: str) -> str:
    """A text in which no line ends within a date, between a number and its unit, or between a frequency and its
    level; several frequencies that share one are better parted from it than from each other."""
    text = _LEVEL.sub(lambda found: found[0] if found[1] else f"{found[2]}\u00a0", text)
    return _UNITS.sub("\u00a0", text)


@lru_cache(maxsize=512)
def turned(text: str) -> str:
    """A text with right-to-left words, joined and put in the order in which it is drawn from the left."""
    from arabic_reshaper import reshape
    from bidi.algorithm import get_display

    # a code point without a letter has no direction, which the library does not take
    text = "".join(character if unicodedata.bidirectional(character) else "\ufffd" for character in text)
    return str(get_display(reshape(text)))


def runs(text: str) -> list[tuple[str, str]]:
    """(script or empty, text): the pieces of a shaped text that one font each can draw.

    Spaces and signs go with the piece before them where that script's font has them. Korean syllables that were
    written in parts are put together first.
    """
    pieces: list[tuple[str, str]] = []
    for character in unicodedata.normalize("NFC", text):
        script = script_of(character) or ""
        joins = character in "\u200c\u200d \u0964"
        if pieces and (pieces[-1][0] == script or (joins and not script and pieces[-1][0] != HAN)):
            pieces[-1] = (pieces[-1][0], pieces[-1][1] + character)
        else:
            pieces.append((script, character))
    return pieces


def font_file(script: str, bold: bool) -> Path:
    """The file that draws a script; the wide font for the empty one."""
    weight = "Bold" if bold else "Regular"
    if script == HAN:
        return FOLDER / "QuietbellHan-Regular.ttf"
    return FOLDER / (f"NotoSans{script}-{weight}.ttf" if script else f"QuietbellSans-{weight}.ttf")


@lru_cache(maxsize=64)
def _font(script: str, bold: bool, size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(script, bold)), size)


@lru_cache(maxsize=4096)
def _width(text: str, bold: bool, size: int) -> float:
    return float(sum(_font(script, bold, size).getlength(piece) for script, piece in runs(text)))


def lines(text: str, bold: bool, size: int, room: float) -> list[str]:
    """The text in lines no wider than ``room`` pixels (0: no bound): broken at spaces, in Chinese anywhere."""
    found: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for part in (piece for word in _parts(paragraph) for piece in _pieces(word, bold, size, room)):
            if room and line and _width((line + part).rstrip(), bold, size) > room:
                found.append(line.rstrip())
                line = part.lstrip()
            else:
                line += part
        found.append(line.rstrip())
    return found


def broken(text: str, reach: Callable[[str], float], room: float) -> list[tuple[int, str]]:
    """(index of its first letter, line): a plain text broken at its spaces, or within a word wider than ``room``.

    ``reach`` says how wide a text is drawn.
    """
    found, first = [], 0
    while first < len(text):
        end = len(text)
        while end > first + 1 and reach(text[first:end].rstrip(" ")) > room:
            space = text.rfind(" ", first + 1, end - 1)
            end = space + 1 if space > 0 else end - 1
        found.append((first, text[first:end].rstrip(" ")))
        first = end
    return found or [(0, "")]


def _parts(paragraph: str) -> list[str]:
    """What a line may be broken between: words with the spaces after them, and East Asian letters."""
    parts: list[str] = []
    for character in unicodedata.normalize("NFC", paragraph):
        before = parts[-1][-1] if parts else " "
        begins = (before == " " or script_of(character) == HAN) and character != " "
        if begins or not parts:
            parts.append("")
        parts[-1] += character
    return parts


def _pieces(part: str, bold: bool, size: int, room: float) -> list[str]:
    """A word as it is, or in pieces where it alone is wider than a line: after the last folder of a path that fits,
    else after the last hyphen or low line or before the last dot, else after any letter."""
    word = part.rstrip()
    if not room or _width(word, bold, size) <= room:
        return [part]
    joints = [at for at in range(2, len(word)) if word[at - 1] in "-_/\\" or word[at] == "."]
    fit = [at for at in joints if _width(word[:at], bold, size) <= room]
    at = max((at for at in fit if word[at - 1] in "/\\"), default=max(fit, default=0))
    if not at:
        at = len(word) - 1
        while at > 1 and (_width(word[:at], bold, size) > room or unicodedata.combining(word[at])):
            at -= 1
        if at < 1:
            return [part]
    return [*_pieces(part[:at], bold, size, room), *_pieces(part[at:], bold, size, room)]


def cut(text: str, bold: bool, size: int, room: float) -> str:
    """The text on one line, ended with an ellipsis where it is wider than ``room`` pixels."""
    if _width(text, bold, size) <= room:
        return text
    while text and _width(text.rstrip() + "…", bold, size) > room:
        text = text[:-1]
        while text and unicodedata.combining(text[-1]):
            text = text[:-1]
    return text.rstrip() + "…"


DOT = " · "  # between the parts of a line
DRAWN_WIDER = (
    1.04  # how much wider Kivy may draw a plain text than Pillow measures it: hinting, at small sizes
)
LEAST_OF_FAMILY = 4  # letters of a family name that stay, however little room there is


def fits(text: str, bold: bool, size: float, room: float) -> bool:
    """Whether a text fits without a line being broken."""
    return all(_width(line, bold, int(size)) * DRAWN_WIDER <= room for line in text.split("\n"))


def size_of(text: str, bold: bool, room: float, sizes: Sequence[float]) -> float:
    """The first of these sizes at which a text fits; the last where it fits at none."""
    return next((size for size in sizes if fits(text, bold, size, room)), sizes[-1])


@lru_cache(maxsize=1024)
def listed(name: str, bold: bool, size: float, room: float, most: int = 1) -> str:
    """A name as lists have it, ``Family, Given``, in at most so many lines no wider than ``room`` pixels: where it is
    longer, the family name is shortened, so that the given name stays in sight."""
    pixels, room = int(size), room / DRAWN_WIDER
    if room < pixels * 3:  # not laid out yet
        return name
    if drawn(name) is Drawn.TURNED:
        most = 1
    family, comma, given = name.partition(", ")
    ends = [at for at in range(LEAST_OF_FAMILY, len(family)) if not unicodedata.combining(family[at])]
    tries = [f"{family[:end].rstrip(' -')}…{comma}{given}" for end in reversed(ends)] if comma else []
    for text in (name, *tries):
        found = lines(text, bold, pixels, room)
        if len(found) <= most:
            return "\n".join(found)
    *whole, _ = found[:most]
    return "\n".join([*whole, cut(" ".join(found[most - 1 :]), bold, pixels, room)])


@lru_cache(maxsize=512)
def wrapped(text: str, bold: bool, size: float, room: float) -> str:
    """A text as it is, or with its lines broken here where a word alone is wider than ``room``: a file's name or a
    path breaks where it reads best, and Kivy would break it after any letter."""
    pixels, room = int(size), room / DRAWN_WIDER
    if room < pixels * 3 or drawn(text) is not Drawn.PLAIN:
        return text
    if all(_width(word, bold, pixels) <= room for word in text.split()):
        return text
    return "\n".join(lines(text, bold, pixels, room))


def beside(born: str, status: str, size: float, room: float) -> str:
    """The class, birth date and standing of a child on one line. Where they do not fit, the details of the standing
    go first, then the class: each part is shown whole or not at all."""
    day, short = born.split(DOT)[-1], status.split(DOT)[0]
    tries = [parts for parts in ((born, status), (born, short), (day, short), (short,)) if all(parts)]
    said = [DOT.join(parts) for parts in tries] or [""]
    return next((each for each in said if fits(each, False, size, room)), said[-1])


@lru_cache(maxsize=512)
def picture(text: str, bold: bool, size: int, room: int = 0, middle: bool = False) -> tuple[int, int, bytes]:
    """(width, height, alpha bytes) of a shaped text, broken into lines at ``room`` pixels; rows from the top."""
    from PIL import Image, ImageDraw

    shown = lines(text, bold, size, room)
    fonts = [_font(script, bold, size).getmetrics() for script in {"", *(s for s, _ in runs(text))}]
    ascent, descent = (max(each[side] for each in fonts) for side in (0, 1))
    widths = [_width(line, bold, size) for line in shown]
    wide = max(1, int(max(widths)) + 2)
    image = Image.new("L", (wide, (ascent + descent) * len(shown)), 0)
    pen = ImageDraw.Draw(image)
    for row, (line, width) in enumerate(zip(shown, widths, strict=True)):
        at, y = ((wide - width) / 2 if middle else 0.0), ascent + row * (ascent + descent)
        for script, piece in runs(line):
            font = _font(script, bold, size)
            pen.text((at, y), piece, fill=255, font=font, anchor="ls")
            if bold and script == HAN:  # its font has one weight
                pen.text((at + max(1, round(size / 30)), y), piece, fill=255, font=font, anchor="ls")
            at += font.getlength(piece)
    return image.width, image.height, image.tobytes()
