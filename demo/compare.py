"""The app's numbers beside the recount's: every way in which they differ, in words. None in a sound demo."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from typing import Any

from demo.recount import STATUSES, Recount
from demo.roster_file import RosterFacts


def roster_faults(roster: RosterFacts, prepared: Mapping[str, Any]) -> list[str]:
    """Whether every row of the roster file was imported or named with its reason (``prepare --json``)."""
    return [
        *_differs("children imported", prepared["children"], len(roster.listed)),
        *_differs("rows not taken", len(prepared["problems"]), len(roster.broken) + len(roster.repeated)),
    ]


def status_faults(listed: int, recount: Recount, status: Mapping[str, Any]) -> list[str]:
    """Whether ``status --json`` counts as the recount does and adds up to the roster."""
    children = listed + recount.added - recount.joined
    faults = [
        *_differs("children", status["children"], children),
        *_differs("sum over statuses", sum(status["statuses"].values()), children),
    ]
    for name, count in recount.counts().items():
        faults += _differs(name, status["statuses"][name], count)
    for name, device in status["devices"].items():
        faults += _differs(f"entries missing from tablet {name}", device["missing"], [])
    return faults


def child_faults(recount: Recount, children: Sequence[Mapping[str, Any]]) -> list[str]:
    """Whether every child of ``children.json`` stands where the recount puts it."""
    by_number = {child["student_number"]: child for child in children if child["student_number"]}
    by_name = {(c["given"], c["family"], c["born"]): c for c in children if not c["student_number"]}
    faults = _differs("children exported", len(children), len(recount.statuses))
    for name, expected in recount.statuses.items():
        found = by_number.get(name) or by_name.get(recount.typed.get(name, ("", "", "")))
        faults += _differs(f"child {name}", found and found["status"], expected)
    return faults


def audiogram_faults(
    replies: Mapping[str, Mapping[str, Any]], children: Sequence[Mapping[str, Any]]
) -> list[str]:
    """Whether every examiner's audiogram stands in ``children.json`` as the reply says it, and no other does."""
    faults: list[str] = []
    for child in children:
        number = child["student_number"]
        found = [
            {name: value for name, value in each.items() if name not in ("id", "came_back", "author")}
            for each in child["examinations"]
        ]
        faults += _differs(f"audiogram of {number}", found, [replies[number]] if number in replies else [])
    return faults


def yearly_faults(counts: Mapping[str, int], summary: str) -> list[str]:
    """Whether the yearly summary's table (CSV) counts for all grades as the recount does."""
    rows = {row["grade"]: row for row in csv.DictReader(summary.lstrip("\ufeff").splitlines())}
    return [
        fault for name, count in counts.items() for fault in _differs(name, int(rows["all"][name]), count)
    ]


def table(status: Mapping[str, Any]) -> list[str]:
    """The counts by status as lines, with their sum."""
    counted = {name: status["statuses"][name] for name in STATUSES}
    return [
        *(f"  {name:37}{count:5}" for name, count in counted.items() if count),
        f"  {'sum':37}{sum(counted.values()):5}",
    ]


def _differs(what: str, app: object, expected: object) -> list[str]:
    return [] if app == expected else [f"{what}: the app says {app}, the recount {expected}"]
