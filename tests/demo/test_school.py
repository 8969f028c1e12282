"""The invented school and its roster file: reproducible, plausible, and messy as real ones are."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from demo.roster_file import write_new_system_roster, write_old_system_roster
from demo.school import GRADES, School, make_school

SEED = 5


@pytest.fixture(scope="module")
def school() -> School:
    return make_school(SEED, size=422)


def test_same_seed_same_school(school: School) -> None:
    assert make_school(SEED, size=422) == school
    assert make_school(SEED + 1, size=422) != school


def test_size_numbers_and_names(school: School) -> None:
    assert len(school.pupils) == 422
    assert len({pupil.number for pupil in school.pupils}) == 422
    assert all(pupil.number.startswith("S-1") and len(pupil.number) == 7 for pupil in school.pupils)
    assert len({pupil.name for pupil in school.pupils}) > 415, "names vary"
    assert sum(" " in pupil.family for pupil in school.pupils) > 40, "two family names are common"


def test_birth_dates_fit_the_grade(school: School) -> None:
    """A child is five (or has repeated a year and is six) at the cut-off before kindergarten, and so on."""
    for pupil in school.pupils:
        age = (date(2026, 9, 1) - pupil.born).days / 365.25 - GRADES.index(pupil.grade)
        assert 4.99 <= age < 7.01, pupil


def test_classes_are_of_a_school_size(school: School) -> None:
    sizes = [len(pupils) for pupils in school.classes().values()]
    assert len(sizes) >= 16
    assert all(18 <= size <= 27 for size in sizes)


def test_twins_share_all_but_the_given_name(school: School) -> None:
    assert len(school.twins) >= 3
    for first, second in ((school.pupil(a), school.pupil(b)) for a, b in school.twins):
        assert (first.family, first.born, first.address) == (second.family, second.born, second.address)
        assert first.given != second.given


def test_old_system_roster_is_messy(school: School, tmp_path: Path) -> None:
    facts = write_old_system_roster(tmp_path / "roster.csv", school, SEED)
    raw = facts.path.read_bytes()
    with pytest.raises(UnicodeDecodeError):
        raw.decode("utf-8")
    text = raw.decode("cp1252")
    title, printed, blank, header, *_ = text.split("\r\n")
    assert title.startswith(school.name) and printed.startswith("Printed") and not blank
    assert header.startswith("Stu #;Last Name")
    rows = list(csv.reader(text.splitlines(keepends=True)[4:], delimiter=";"))
    assert any("\n" in cell for row in rows for cell in row), "a line break within a cell"
    assert [] in rows
    grades = {row[4] for row in rows if len(row) > 4}
    assert {"K", "KG", "1", "01", "1st", "5th"} <= grades
    numbers = [row[0] for row in rows if row]
    assert sorted({n for n in numbers if numbers.count(n) == 2}) == [facts.repeated[0].number]
    assert len(facts.broken) == 2
    assert len(facts.listed) == 420
    assert set(facts.listed).isdisjoint(facts.broken)


def test_new_system_roster_keeps_every_letter(tmp_path: Path) -> None:
    school = make_school(SEED, name="Tern Hollow Elementary School", size=300, latin_1_only=False)
    facts = write_new_system_roster(tmp_path / "roster.csv", school, SEED)
    raw = facts.path.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    text = raw.decode("utf-8-sig")
    assert all(pupil.family in text and pupil.given in text for pupil in school.pupils)
    with pytest.raises(UnicodeEncodeError):
        text.encode("cp1252")
