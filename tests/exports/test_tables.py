"""CSV, JSON and statistics: documented columns, safe cells, and no more than they may say."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import fieldapp.exports
from fieldapp.exports import EXPORTS, export_csv, export_json, export_statistics
from fieldapp.exports.spreadsheet import csv_text, safe
from fieldapp.exports.tables_csv import COLUMNS
from shared.records.standing import Status

FORMATS = Path(fieldapp.exports.__file__).parent / "FORMATS.md"


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


# The OWASP page on CSV injection names these beginnings (from memory).
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " =", "'=", "\n=", "＝"])
def test_no_text_cell_begins_as_a_formula(start: str) -> None:
    assert safe(start + "1+1").startswith("'")


@given(st.text())
def test_a_safe_cell_gives_its_text_back_through_a_csv_reader(text: str) -> None:
    text = text.replace("\r", "").replace("\0", "")
    _, (cell,) = csv.reader(io.StringIO(csv_text(["c"], [[text + "x"]]), newline=""))
    assert cell in (text + "x", f"'{text}x")
    assert not cell.startswith(("=", "+", "-", "@", "\t"))


def test_numbers_stay_numbers() -> None:
    assert [safe(-5), safe(20), safe(None), safe(True)] == ["-5", "20", "", "yes"]


def test_the_tables_have_the_documented_columns_and_every_child(school, visit, out) -> None:
    files = {file.stem: read(file) for file in export_csv(out, school, visit)}
    page = FORMATS.read_text(encoding="utf-8")
    for name, columns in COLUMNS.items():
        assert tuple(files[name][0] if files[name] else columns) == columns
        row = next(line for line in page.split("\n") if line.startswith(f"| `{name}.csv`"))
        documented = re.sub(r"\([^)]*\)", "", row.split("|")[3])
        assert tuple(word.strip() for word in documented.split(",")) == columns
    assert [row["record"] for row in files["children"]] == [child.child for child in school]
    answered = sum(len(s.answers) for child in school for s in child.screenings)
    assert len(files["answers"]) == answered
    assert all((out / f"{name}.csv").read_bytes().startswith(b"\xef\xbb\xbf") for name in COLUMNS)


def test_children_json_has_what_is_promised(school, visit, out) -> None:
    (file,) = export_json(out, school, visit)
    assert file.name == "children.json"
    children = json.loads(file.read_text(encoding="utf-8"))
    assert len(children) == len(school)
    for document, child in zip(children, school, strict=True):
        assert {"student_number", "given", "family", "born", "grade", "class", "status"} <= set(document)
        assert document["status"] in set(Status)
        assert document["class"] == child.person.class_name
        for answer in document["answers"]:
            assert {"ear", "hz", "level_db_hl", "heard", "at", "device"} <= set(answer)


def test_the_statistics_name_nobody(school, visit, out) -> None:
    files = export_statistics(out, school, visit, random=lambda size: b"k" * size)
    text = "\n".join(file.read_text(encoding="utf-8-sig") for file in files)
    for child in school:
        person = child.person
        for told in (person.student_number, person.family, person.born, child.child, *person.address):
            assert told not in text
    rows = read(files[0])
    assert len({row["code"] for row in rows}) == len(school)
    years = [(row["grade"], row["birth_year"]) for row in rows if row["birth_year"]]
    assert all(years.count(year) >= 5 for year in set(years))


def test_every_format_is_made_and_documented(school, visit, out) -> None:
    page = FORMATS.read_text(encoding="utf-8")
    for name, export in EXPORTS.items():
        assert f"--format {name}" in page
        assert all(file.is_file() for file in export(out / name, school, visit))


def test_the_json_says_what_was_seen_at_the_ears_and_which_test_is_not_reliable(school, visit, out) -> None:
    tested = next(child for child in school if child.thresholds)
    (test, *others) = tested.thresholds
    unsure = replace(test, disagreed=(("right", 1000),))
    told = replace(tested, thresholds=(unsure, *others), signs=("drainage",), ears=("left",))
    (file,) = export_json(out, [told], visit)
    (document,) = json.loads(file.read_text(encoding="utf-8"))
    assert (document["ear_signs"], document["ear_signs_at"]) == (["drainage"], ["left"])
    assert document["threshold_tests"][0]["not_reliable"] == [{"ear": "right", "hz": 1000}]
