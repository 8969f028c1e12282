"""From a file's bytes to its text: byte order marks, UTF-8, UTF-16, Windows-1252. Nothing about tables.

Labels and the Windows-1252 table follow the WHATWG Encoding Standard, in which all 256 bytes have a meaning
(Python's own codec refuses five of them).
"""

from __future__ import annotations

from dataclasses import dataclass

from fieldapp.roster.reading import NotARoster, listed

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
_SAMPLE = 64 * 1024
_PLAIN_CONTROLS = {0x09, 0x0A, 0x0B, 0x0C, 0x0D, 0x1A, 0x1B, 0x1D, 0x1E, 0x1F}

# What a file that is no text begins with, in words for the person at the screen.
_FOREIGN = (
    (b"\x89PNG\r\n", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"BM", "a picture (BMP)"),
    (b"II*\x00", "a picture (TIFF)"),
    (b"MM\x00*", "a picture (TIFF)"),
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a word processor file (RTF)"),
    (b"\xd0\xcf\x11\xe0", "an old-style Office file (.xls or .doc)"),
    (b"\x1f\x8b", "a compressed file (gzip)"),
    (b"7z\xbc\xaf", "a compressed file (7z)"),
    (b"Rar!", "a compressed file (RAR)"),
    (b"SQLite format 3\x00", "a database"),
)


@dataclass(frozen=True, slots=True)
class Characters:
    """A file's text, the encoding it was read in, and remarks for the person who imports it."""

    text: str
    encoding: str
    notes: tuple[str, ...] = ()


def foreign_kind(head: bytes) -> str:
    """What else the file is, judged by its first bytes; empty where nothing is recognised."""
    for magic, kind in _FOREIGN:
        # Two letters alone could begin a table; a bitmap has zero bytes soon after.
        if head.startswith(magic) and (magic != b"BM" or b"\x00" in head[2:32]):
            return kind
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<html", b"<!doctype html", b"<table", b"<meta", b"<?xml")):
        return "a web page or XML file"
    return ""


def read_characters(data: bytes) -> Characters:
    """The text of ``data``. Raises ``NotARoster`` where it is no text at all."""
    kind = foreign_kind(data[:512])
    if kind:
        raise NotARoster(f"This file is {kind}, not a class list.")
    characters = _decoded(data)
    if not characters.text.strip():
        raise NotARoster("This file is empty.")
    return characters


def _decoded(data: bytes) -> Characters:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _marked(data[len(mark) :], encoding)
    encoding = _utf_16_without_mark(data[:_SAMPLE])
    if encoding:
        return _marked(data, encoding)
    _refuse_binary(data[:_SAMPLE])
    try:
        return Characters(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return _unmarked(data)


def windows_1252(data: bytes) -> str:
    """Decode by the WHATWG table: the five bytes that Python refuses become control characters."""
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        return "".join(_WINDOWS_1252[byte] for byte in data)


_WINDOWS_1252 = [bytes((byte,)).decode("cp1252", "ignore") or chr(byte) for byte in range(256)]


def _marked(data: bytes, encoding: str) -> Characters:
    text = data.decode(encoding, "replace")
    if text.count("\x00") > len(text) // 100:
        raise NotARoster("This file is no text; it may be damaged.")
    damaged = text.count("\ufffd")
    notes = (f"{damaged} characters are damaged in the file.",) if damaged else ()
    return Characters(text, encoding, notes)


def _utf_16_without_mark(sample: bytes) -> str:
    """Plain letters in UTF-16 leave a zero in every second byte."""
    pairs = len(sample) // 2
    if pairs < 2:
        return ""
    even, odd = sample[0 : 2 * pairs : 2].count(0), sample[1 : 2 * pairs : 2].count(0)
    if odd > 0.6 * pairs and even < 0.05 * pairs:
        return "utf-16-le"
    if even > 0.6 * pairs and odd < 0.05 * pairs:
        return "utf-16-be"
    return ""


def _refuse_binary(sample: bytes) -> None:
    controls = sum(byte < 0x20 and byte not in _PLAIN_CONTROLS for byte in sample)
    if controls > len(sample) // 100:
        raise NotARoster("This file is no text and no spreadsheet that can be read here.")


def _unmarked(data: bytes) -> Characters:
    """Not UTF-8 from end to end: Windows-1252, or UTF-8 with lines pasted in from elsewhere."""
    lines = data.split(b"\n")
    decoded: list[str | None] = []
    for line in lines:
        try:
            decoded.append(line.decode("utf-8"))
        except UnicodeDecodeError:
            decoded.append(None)
    accented = sum(text is not None and not text.isascii() for text in decoded)
    stray = [number for number, text in enumerate(decoded, start=1) if text is None]
    if accented < len(stray):
        return Characters(windows_1252(data), "windows-1252", ("The file was read as Windows-1252.",))
    whole = [windows_1252(line) if text is None else text for line, text in zip(lines, decoded, strict=True)]
    note = f"{len(stray)} lines are not UTF-8 like the rest and were read as Windows-1252: {listed(stray)}."
    return Characters("\n".join(whole), "utf-8", (note,))
