"""Workbooks written by openpyxl, the reference for .xlsx here, and files that only claim to be one."""

from __future__ import annotations

import io
import struct
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from fieldapp.roster import NotARoster, read_roster
from fieldapp.roster.archive import MOST_MEMBERS
from shared.records.standing import Person

TODAY = date(2026, 10, 12)
HEADER = ["Student ID", "Last Name", "First Name", "DOB", "Grade", "Zip"]


def workbook(path: Path, sheets: dict[str, list[list[Any]]], hidden: tuple[str, ...] = ()) -> Path:
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
        if title in hidden:
            sheet.sheet_state = "hidden"
    book.save(path)
    return path


def test_cells_of_every_type(tmp_path: Path) -> None:
    file = workbook(
        tmp_path / "list.xlsx",
        {
            "Sheet1": [
                ["Quillmarsh School"],
                [],
                HEADER,
                [712, "Brook", "Ann", date(2017, 5, 23), 1, 1234],
                [713.0, "Hill", "Bob", datetime(2016, 1, 2, 0, 0), "K", None],
                ["00714", "Moor", "Di", "2017-03-04", "2nd", "01234"],
                [],
                [715, "Reed", None, date(2017, 5, 23), 1, 1234],
                [],
                [],
            ]
        },
    )
    book = load_workbook(file)
    book.active["A4"].number_format = "00000"
    book.active["F4"].number_format = "00000"
    book.save(file)
    reading = read_roster(file, today=TODAY)
    assert [(row.line, row.person) for row in reading.rows] == [
        (4, Person("Ann", "Brook", "2017-05-23", "00712", "1", address=("01234",))),
        (5, Person("Bob", "Hill", "2016-01-02", "713", "K")),
        (6, Person("Di", "Moor", "2017-03-04", "00714", "2", address=("01234",))),
    ]
    assert [str(problem) for problem in reading.problems] == [
        "Line 8: The given name is missing (column 'First Name')."
    ]
    assert (reading.blank_lines, reading.data_lines) == (1, 5)


def test_a_sheet_for_each_class_is_one_roster(tmp_path: Path) -> None:
    file = workbook(
        tmp_path / "list.xlsx",
        {
            "3A": [HEADER, [1, "Brook", "Ann", date(2017, 5, 23), 3]],
            "3B": [
                HEADER,
                [2, "Hill", "Bob", date(2017, 1, 2), 3],
                [1, "Brook", "Ann", date(2017, 5, 23), 3],
            ],
            "Bus lines": [["Line", "Driver"], [1, "x"]],
            "Old": [HEADER, [9, "Gone", "Guy", date(2017, 5, 23), 3]],
        },
        hidden=("Old",),
    )
    reading = read_roster(file, today=TODAY)
    assert [(row.sheet, row.line, row.person.student_number) for row in reading.rows] == [
        ("3A", 2, "1"),
        ("3B", 2, "2"),
    ]
    assert [str(problem) for problem in reading.problems] == [
        "Sheet 3B, line 3: The same row as line 2 of sheet 3A; kept once."
    ]
    assert any("Sheets without a class list, left out: Bus lines." in note for note in reading.notes)


def test_a_name_that_looks_like_a_workbook_does_not_matter(tmp_path: Path) -> None:
    file = workbook(tmp_path / "list.xlsx", {"S": [HEADER, [1, "Brook", "Ann", date(2017, 5, 23), 3]]})
    renamed = file.rename(tmp_path / "list.csv")
    assert len(read_roster(renamed, today=TODAY).rows) == 1


def test_a_renamed_picture(tmp_path: Path) -> None:
    file = tmp_path / "list.xlsx"
    file.write_bytes(b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + bytes(200))
    with pytest.raises(NotARoster, match=r"This file is a picture \(PNG\), not a class list"):
        read_roster(file, today=TODAY)


def packed(members: dict[str, bytes], path: Path) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def test_zip_bombs_are_refused_by_size_ratio_and_count(tmp_path: Path) -> None:
    bombs = {
        "far more than a class list": packed(
            {"xl/workbook.xml": b"<x/>", "xl/worksheets/sheet1.xml": bytes(60_000_000)},
            tmp_path / "ratio.xlsx",
        ),
        "files inside": packed(
            {"xl/workbook.xml": b"<x/>"} | {f"xl/{n}.xml": b"" for n in range(MOST_MEMBERS)},
            tmp_path / "count.xlsx",
        ),
    }
    for words, file in bombs.items():
        with pytest.raises(NotARoster, match=words):
            read_roster(file, today=TODAY)


def test_a_bomb_that_declares_little_is_refused_by_its_checksum(tmp_path: Path) -> None:
    file = packed(
        {"xl/workbook.xml": b"<x/>", "xl/worksheets/sheet1.xml": bytes(30_000_000)}, tmp_path / "b.xlsx"
    )
    data = bytearray(file.read_bytes())
    entry = data.rfind(b"PK\x01\x02")  # the last member's place in the central directory
    data[entry + 24 : entry + 28] = struct.pack("<I", 1000)  # its uncompressed size
    file.write_bytes(data)
    with pytest.raises(NotARoster, match="damaged"):
        read_roster(file, today=TODAY)


def test_declared_entities_are_refused(tmp_path: Path) -> None:
    laughs = (
        b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><x>&b;</x>'
    )
    for content in (laughs, laughs.decode().encode("utf-16")):
        file = packed({"xl/workbook.xml": b"<x/>", "xl/sharedStrings.xml": content}, tmp_path / "b.xlsx")
        with pytest.raises(NotARoster, match="built to do harm"):
            read_roster(file, today=TODAY)


@pytest.mark.parametrize(
    ("members", "words"),
    [
        ({"word/document.xml": b"<x/>"}, "word processor"),
        ({"content.xml": b"<x/>", "mimetype": b"x"}, "OpenDocument"),
        ({"xl/workbook.bin": b"x"}, "binary workbook"),
        ({"list.csv": b"x"}, "unpack it"),
        ({"a.txt": b"x"}, "zip without a class list"),
        ({"xl/workbook.xml": b"<x/>"}, "damaged"),
        ({"xl/workbook.xml": b"not xml", "[Content_Types].xml": b"<"}, "damaged"),
    ],
)
def test_other_zips_are_called_by_their_kind(tmp_path: Path, members: dict[str, bytes], words: str) -> None:
    with pytest.raises(NotARoster, match=words):
        read_roster(packed(members, tmp_path / "list.xlsx"), today=TODAY)


def test_a_workbook_cut_anywhere_is_refused(tmp_path: Path) -> None:
    whole = workbook(
        tmp_path / "list.xlsx", {"S": [HEADER, [1, "Brook", "Ann", date(2017, 5, 23), 3]]}
    ).read_bytes()
    for length in range(4, len(whole) - 1, 97):
        (tmp_path / "cut.xlsx").write_bytes(whole[:length])
        with pytest.raises(NotARoster):
            read_roster(tmp_path / "cut.xlsx", today=TODAY)


def test_a_workbook_with_a_flipped_byte_is_read_or_refused(tmp_path: Path) -> None:
    whole = workbook(
        tmp_path / "list.xlsx", {"S": [HEADER, [1, "Brook", "Ann", date(2017, 5, 23), 3]]}
    ).read_bytes()
    for place in range(0, len(whole), 61):
        damaged = bytearray(whole)
        damaged[place] ^= 0x55
        (tmp_path / "bad.xlsx").write_bytes(damaged)
        try:
            read_roster(tmp_path / "bad.xlsx", today=TODAY)
        except NotARoster as refusal:
            assert refusal.exit_status == 3


def test_a_sheet_that_lies_about_its_size(tmp_path: Path) -> None:
    file = workbook(tmp_path / "list.xlsx", {"S": [HEADER, [1, "Brook", "Ann", date(2017, 5, 23), 3]]})
    members = {}
    with zipfile.ZipFile(io.BytesIO(file.read_bytes())) as archive:
        for name in archive.namelist():
            content = archive.read(name)
            if name.endswith("sheet1.xml"):
                assert b'<dimension ref="A1:F2"' in content
                content = content.replace(b'<dimension ref="A1:F2"', b'<dimension ref="A1:XFD1048576"')
            members[name] = content
    reading = read_roster(packed(members, file), today=TODAY)
    assert (len(reading.rows), reading.data_lines) == (1, 1)


def test_a_workbook_without_a_class_list(tmp_path: Path) -> None:
    file = workbook(tmp_path / "list.xlsx", {"A": [["Line", "Driver"], [1, "x"]], "B": [[1, 2]]})
    with pytest.raises(NotARoster, match="any sheet of this workbook"):
        read_roster(file, today=TODAY)
