"""The door to the folder: a plain CSV comes out as persons."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from fieldapp.roster import read_roster
from shared.records.standing import Person


def test_a_plain_csv_is_read(tmp_path: Path) -> None:
    file = tmp_path / "roster.csv"
    file.write_text("Student ID,Last Name,First Name,DOB,Grade\n007,Doe,Ann,5/23/2017,01\n")
    reading = read_roster(file, today=date(2026, 10, 12))
    person = Person(given="Ann", family="Doe", born="2017-05-23", student_number="007", grade="1")
    assert [(row.line, row.person) for row in reading.rows] == [(2, person)]
    assert reading.problems == []
