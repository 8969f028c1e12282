"""Encodings against the WHATWG Encoding Standard and Python's own codecs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.roster.characters import foreign_kind, read_characters, windows_1252
from fieldapp.roster.reading import NotARoster

# WHATWG Encoding Standard, index windows-1252, rows for 0x80 to 0x9F (from memory; 0xA0 to 0xFF are Latin-1).
WHATWG_WINDOWS_1252 = (
    "20AC 0081 201A 0192 201E 2026 2020 2021 02C6 2030 0160 2039 0152 008D 017D 008F "
    "0090 2018 2019 201C 201D 2022 2013 2014 02DC 2122 0161 203A 0153 009D 017E 0178"
)


def test_windows_1252_is_the_whatwg_table() -> None:
    high = [int(code, 16) for code in WHATWG_WINDOWS_1252.split()]
    expected = [*range(0x80), *high, *range(0xA0, 0x100)]
    assert [ord(character) for character in windows_1252(bytes(range(256)))] == expected


SENTENCE = "Apellidos;Nombre\r\nGarcía Núñez;José – «Pepe»\r\n"


@pytest.mark.parametrize(
    ("codec", "mark", "said"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", b"\xef\xbb\xbf", "utf-8"),
        ("utf-16-le", b"\xff\xfe", "utf-16-le"),
        ("utf-16-be", b"\xfe\xff", "utf-16-be"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-16-be", b"", "utf-16-be"),
        ("utf-32-le", b"\xff\xfe\x00\x00", "utf-32-le"),
        ("cp1252", b"", "windows-1252"),
    ],
)
def test_every_encoding_that_schools_send(codec: str, mark: bytes, said: str) -> None:
    read = read_characters(mark + SENTENCE.encode(codec))
    assert (read.text, read.encoding) == (SENTENCE, said)


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1).filter(str.strip))
def test_utf_8_text_is_never_taken_for_something_else(text: str) -> None:
    data = ("Name\n" + text).encode()
    if not foreign_kind(data):
        assert read_characters(data).text == "Name\n" + text


def test_a_line_pasted_in_from_elsewhere_is_read_and_named() -> None:
    read = read_characters("Núñez\nPeña\n".encode() + "Muñoz\n".encode("cp1252") + "José\n".encode())
    assert read.text == "Núñez\nPeña\nMuñoz\nJosé\n"
    assert "line 3" in read.notes[0]


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"\x89PNG\r\n\x1a\n" + bytes(40), "picture"),
        (b"\xff\xd8\xff\xe0" + bytes(40), "picture"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old-style Office"),
        (b"<!DOCTYPE html><html><table>", "web page"),
        (b"SQLite format 3\x00" + bytes(84), "database"),
        (bytes(range(32)) * 40, "no text"),
        (b"", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b" \r\n\t\r\n", "empty"),
    ],
)
def test_what_is_no_text_is_called_by_its_kind(data: bytes, word: str) -> None:
    with pytest.raises(NotARoster, match=word):
        read_characters(data)


@given(st.binary(max_size=400))
def test_any_bytes_are_text_or_refused(data: bytes) -> None:
    try:
        read_characters(data)
    except NotARoster as refusal:
        assert refusal.kept == "Nothing was imported."
