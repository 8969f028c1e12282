"""The recount on days of few lines whose tally is worked out by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from demo.recount import after_replies, recount_day, refers, threshold


def script(folder: Path, tablet: str, *lines: dict[str, Any]) -> Path:
    path = folder / f"{tablet}.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in lines), "utf-8")
    return path


def test_by_hand(tmp_path: Path) -> None:
    scripts = {
        "A": script(
            tmp_path,
            "A",
            {"do": "sign-in", "screener": "MK"},
            {"do": "screen", "child": "S-1", "answers": "++++++"},
            {"do": "screen", "child": "S-2", "answers": "+++--+/++++++"},
            {"do": "screen", "child": "S-3", "answers": "++++++"},
            {"do": "absent", "child": "S-4"},
            {"do": "could-not-test", "child": "S-5"},
            {"do": "add", "ref": "w1", "given": "Ida", "family": "Moss", "born": "2018-01-02"},
            {"do": "screen", "child": "w1", "answers": "-+++++/-+++++"},
        ),
        "B": script(
            tmp_path,
            "B",
            {"do": "screen", "child": "S-3", "answers": "-+++++/-+++++"},
            {"do": "screen", "child": "S-4", "answers": "++++++"},
            {"do": "absent", "child": "S-5"},
            {"do": "add", "ref": "w1", "given": "Bo", "family": "Reed", "born": "2018-03-04"},
            {"do": "screen", "child": "w1", "answers": "++++++"},
        ),
    }
    counted = recount_day(["S-1", "S-2", "S-3", "S-4", "S-5", "S-6", "S-7"], scripts, same={"B:w1": "S-7"})
    assert counted.statuses == {
        "S-1": "passed",
        "S-2": "passed",
        "S-3": "rescreen",  # two tablets disagree: the cautious list
        "S-4": "passed",  # came later
        "S-5": "could-not-test",
        "S-6": "not-seen",
        "S-7": "passed",  # walked as an added child
        "A:w1": "rescreen",
    }
    assert (counted.added, counted.joined, counted.walks, counted.reseated) == (2, 1, 7, 3)
    assert counted.screened_twice == counted.disagreeing == ("S-3",)
    assert sum(counted.counts().values()) == 7 + 2 - 1


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ("30+ 20+ 10+ 0- 5+ -5- 0- 5+", 5),
        ("30+ 20+ 10- 15+ 5- 10- 15+", 15),
        ("30- 50+ 40+ 30- 35+ 25- 30- 35+", 35),
        ("30- 50+ 40+ 30- 35- 40+ 30- 35- 40+", 40),
        ("30+ 20+ 10+ 0+ -10- -5- 0+ -10- -5- 0+", 0),
        ("40+ 30+ 20- 25+ 15- 20+ 10- 15- 20+", 20),
        ("30- 50- 60- 70- 80- 90- 100-", 999),  # no response at the limit
    ],
)
def test_thresholds_of_worked_staircases(steps: str, expected: int) -> None:
    """Staircases worked by hand from the published rule: down 10 after a response, up 5 after none, the lowest
    level answered on at least half of the ascending presentations, two at least (ASHA 2005, from memory).
    """
    assert threshold(steps) == expected


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({("right", 500): [30], ("right", 1000): [30]}, True),
        ({("right", 500): [30], ("left", 1000): [30]}, False),  # one in each ear
        ({("right", 500): [25], ("right", 1000): [35]}, False),
        ({("left", 2000): [30], ("left", 4000): [40]}, True),
        ({("left", 4000): [35]}, False),
        ({("left", 8000): [40]}, True),
        ({("left", 250): [999]}, True),  # no response is beyond every line
        ({("right", 1000): [40, 35]}, False),  # the better of two tries that agree
        ({("right", 1000): [40, 20]}, True),  # two that do not agree: the worse
    ],
)
def test_referral_edges(found: dict[tuple[str, int], list[int]], expected: bool) -> None:
    """The invented district's own rule at its very edges, by hand."""
    assert refers(found) is expected


def test_stages_by_hand(tmp_path: Path) -> None:
    """A miss, a miss three weeks later, a threshold test; a station at fault; a day's absence made good."""
    first = script(
        tmp_path,
        "A",
        {"at": "2026-10-14T09:00:00-05:00", "do": "screen", "child": "S-1", "answers": "-+++++/-+++++"},
        {"at": "2026-10-14T09:01:00-05:00", "do": "screen", "child": "S-2", "answers": "+++---/+++---"},
        {
            "at": "2026-10-14T09:05:00-05:00",
            "do": "screen",
            "child": "S-2",
            "answers": "++++++",
            "again": "x",
        },
        {"at": "2026-10-14T09:09:00-05:00", "do": "screen", "child": "S-3", "answers": "-+++++/-+++++"},
        {"at": "2026-10-14T09:10:00-05:00", "do": "absent", "child": "S-4"},
    )
    second = script(
        tmp_path,
        "R",
        {"at": "2026-11-04T09:00:00-06:00", "do": "screen", "child": "S-1", "answers": "-+++++/-+++++"},
        {"at": "2026-11-04T09:01:00-06:00", "do": "screen", "child": "S-3", "answers": "++++++"},
        {"at": "2026-11-04T09:02:00-06:00", "do": "screen", "child": "S-4", "answers": "-+++++/-+++++"},
    )
    third = script(
        tmp_path,
        "T",
        {
            "at": "2026-11-11T09:00:00-06:00",
            "do": "threshold",
            "child": "S-1",
            "ear": "right",
            "hz": 1000,
            "steps": "30- 50+ 40+ 30- 35- 40+ 30- 35- 40+",
        },
    )
    listed = ["S-1", "S-2", "S-3", "S-4"]

    def stands(**scripts: Path) -> list[str]:
        return list(recount_day(listed, scripts).statuses.values())

    assert stands(A=first) == ["rescreen", "passed", "rescreen", "absent"]
    assert stands(A=first, R=second) == ["threshold", "passed", "passed", "rescreen"]
    assert stands(A=first, R=second, T=third) == ["referred", "passed", "passed", "rescreen"]
    counted = recount_day(listed, {"A": first, "R": second, "T": third})
    assert after_replies(counted, [{"child": "S-1", "step": "seen"}]).statuses["S-1"] == "referred"
    assert after_replies(counted, [{"child": "S-1", "step": "no-loss"}]).statuses["S-1"] == "closed"
