"""The whole demo day through the real commands: every number reconciles, every child stands where it must."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from demo.one_day import DayResult, play_day, summary
from demo.recount import STATUSES


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("day")


@pytest.fixture(scope="module")
def result(folder: Path) -> DayResult:
    return play_day(folder, shown=False)


def test_the_demo_finds_no_fault(result: DayResult) -> None:
    assert result.faults == []
    assert "every child stands where the recount has it" in summary(result)


def test_listed_plus_added_is_the_sum_over_statuses(result: DayResult) -> None:
    gathered, status = result.gathered, result.status
    assert gathered["listed"] == len(result.day.roster.listed) == 420
    assert gathered["added"] == 7
    assert gathered["listed"] + gathered["added"] - gathered["joined"] == sum(gathered["statuses"].values())
    assert sum(status["statuses"].values()) == status["children"] == 420 + 7 - result.recount.joined


def test_every_kind_of_day_happens(result: DayResult) -> None:
    """The day is no walkover: each of these statuses has children, and reseats and repeats occur."""
    for status in STATUSES[:8]:
        assert result.status["statuses"][status] > 0, status
    assert result.recount.reseated > 0
    assert len(result.recount.screened_twice) == 2
    assert len(result.recount.disagreeing) == 1
    assert any("disagree" in doubt for doubt in result.open_doubts)


def test_no_entry_is_missing(result: DayResult) -> None:
    devices = result.status["devices"]
    assert set(devices) == {"A", "B", "C", "D"}
    assert all(device["missing"] == [] and device["entries"] > 0 for device in devices.values())


def test_answers_exported_are_the_answers_played(result: DayResult) -> None:
    """For every listed child walked once: the export's answers are its script's signs, one by one."""
    played: dict[str, list[str]] = {}
    for script in result.day.scripts.values():
        for text in script.read_text("utf-8").splitlines():
            line = json.loads(text)
            if line["do"] == "screen":
                played.setdefault(line["child"], []).append(line["answers"].replace("/", ""))
    exported = {child["student_number"]: child["answers"] for child in result.children}
    compared = 0
    for number, walks in played.items():
        if number in exported and len(walks) == 1:
            signs = "".join("+" if answer["heard"] else "-" for answer in exported[number])
            assert signs == walks[0], number
            compared += 1
    assert compared > 350


def test_papers_and_tables_name_the_same_children(result: DayResult, folder: Path) -> None:
    """The rescreen list beside the export: as many rows as the status counts."""
    tables = {path.name: path for path in (folder / "papers").glob("*.csv")}
    assert result.papers and all((folder / paper["file"]).stat().st_size > 800 for paper in result.papers)
    if "rescreen-list.csv" in tables:
        rows = list(csv.reader(tables["rescreen-list.csv"].read_text("utf-8-sig").splitlines()))
        assert len(rows) - 1 == result.status["statuses"]["rescreen"]


def test_stores_show_no_name_in_clear(result: DayResult, folder: Path) -> None:
    """Invariant: nothing readable at rest. Long family names of the day, searched in every store and file carried."""
    names = {p.family.encode() for p in result.day.school.pupils if len(p.family) >= 8}
    files = [folder / "lead.book", *folder.glob("tablets/*"), *folder.glob("carried/*")]
    assert len(files) >= 13
    for file in files:
        raw = file.read_bytes()
        assert not any(name in raw for name in names), file
