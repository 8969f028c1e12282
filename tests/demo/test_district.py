"""The invented district: reproducible, and played through the real commands it reconciles at every stage."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from demo.district import PROTOCOL_FILE, Visit, make_district
from demo.story import DistrictStory, play_district
from demo.story_page import page
from fieldapp.services.presets import load_protocol
from shared.hearing.station_watch import Suspect


@pytest.fixture(scope="module")
def scripts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("scripts")


@pytest.fixture(scope="module")
def visits(scripts: Path) -> list[Visit]:
    return make_district(scripts, load_protocol(str(PROTOCOL_FILE)))


def test_the_same_seed_gives_the_same_bytes(visits: list[Visit], scripts: Path, tmp_path: Path) -> None:
    make_district(tmp_path, load_protocol(str(PROTOCOL_FILE)))
    files = sorted(path.relative_to(scripts) for path in scripts.rglob("*") if path.is_file())
    audiograms = sum("audiogram" in note for visit in visits for note in visit.notes())
    assert audiograms >= 2
    # rosters, first days, later days, replies, and the examiners' audiograms among them
    assert len(files) == 2 + 4 + 6 + 2 * (2 + 1) + 2 + audiograms
    for file in files:
        assert (scripts / file).read_bytes() == (tmp_path / file).read_bytes(), file


def test_two_schools_of_nine_hundred(visits: list[Visit]) -> None:
    assert [len(visit.roster.listed) for visit in visits] == [420, 480]
    numbers = [pupil.number for visit in visits for pupil in visit.school.pupils]
    assert len(numbers) == len(set(numbers)) == 902
    assert all(len(visit.school.twins) >= 3 for visit in visits)


def test_the_watch_catches_the_dead_earphone_within_five_children(visits: list[Visit]) -> None:
    """Tablet C's left earphone dies at its 40th child; the alarm comes with the 44th at the latest."""
    alarms = {tablet.tablet: tablet.alarms for tablet in visits[0].first_day}
    (alarm,) = alarms["C"]
    assert (alarm.suspect, alarm.ear) == (Suspect.EARPHONE, "left")
    assert len(alarm.missed) <= 5
    assert [name for name, raised in alarms.items() if raised] == ["C"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("district")


@pytest.fixture(scope="module")
def story(folder: Path) -> DistrictStory:
    return play_district(folder, shown=False)


def test_the_story_finds_no_fault(story: DistrictStory) -> None:
    """Every stage against the recount, every child by name, and the answer to every mishap."""
    assert story.faults == []
    assert "every child stands where an" in page(story)
    assert all(len(line) <= 100 for line in page(story).splitlines())


def test_every_stage_adds_up(story: DistrictStory) -> None:
    for told in story.visits:
        children = len(told.visit.roster.listed) + 7 - len(told.visit.same)
        assert len(told.stages) == 4
        for stage in told.stages:
            assert stage["children"] == sum(stage["statuses"].values()) == children
        statuses = [stage["statuses"] for stage in told.stages]
        assert statuses[0]["rescreen"] > statuses[1]["rescreen"]
        assert statuses[1]["threshold"] > 0 and statuses[2]["threshold"] == 0
        assert statuses[2]["referred"] > 0 and statuses[3]["closed"] > 0


def test_what_went_wrong_was_noticed(story: DistrictStory) -> None:
    quillmarsh, tern_hollow = story.visits
    assert any("left earphone" in event for event in quillmarsh.events)
    assert any("handed in twice: 0 new" in event for event in quillmarsh.events)
    assert any("crashes in the middle" in event for event in tern_hollow.events)
    assert any("clock of tablet F" in doubt for doubt in tern_hollow.doubts)
    assert not any("clock of tablet" in doubt for doubt in quillmarsh.doubts)
    for told in story.visits:
        # Kept on the rescreen list; the planned rescreen three weeks later settled it, so no doubt is left.
        assert len(told.visit.rounds[-1].recount.disagreeing) == 1
        assert not any("disagree" in doubt for doubt in told.doubts)
        assert not any(words.endswith("one child") and "two" in words for words in told.settled)


def test_no_twins_were_joined(story: DistrictStory, folder: Path) -> None:
    """Every listed twin, and the twin who was new at the school, is a child of its own in the export."""
    for told in story.visits:
        table = folder / told.visit.key / "export" / "children.csv"
        rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
        numbers = {row["student_number"] for row in rows}
        twins = {number for pair in told.visit.school.twins for number in pair}
        assert twins - {p.number for p in told.visit.roster.broken} <= numbers
        assert told.visit.plan.walk_ins[-1].pupil.number in numbers
