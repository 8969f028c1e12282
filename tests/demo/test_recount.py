"""The recount on a day of five lines whose tally is worked out by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from demo.recount import recount_day


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
