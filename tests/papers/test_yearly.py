"""The yearly counts: they add up, and a few lines over the CSV export give the same ones."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import replace

import pytest

from fieldapp.exports import export_csv
from fieldapp.papers import make_papers
from fieldapp.papers.yearly import COLUMNS, PARTS, count_by_grade, total
from shared.records.standing import Followup, Status


def read(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def followed(school):
    """The school a year on: referrals seen, lost, closed; a child who left unseen."""
    steps = iter(["seen", "no-loss", "lost", "findings", "moved", "closed", "reminded"])
    year = []
    for child in school:
        if child.status is Status.REFERRED:
            step = Followup(next(steps), "2026-11-20", "", "LW")
            child = replace(child, followups=(*child.followups, step))
            closing = step.step in ("no-loss", "lost", "moved", "closed")
            child = replace(child, status=Status.CLOSED) if closing else child
        year.append(child)
    first = next(child for child in year if child.status is Status.NOT_SEEN)
    year[year.index(first)] = replace(first, person=replace(first.person, left=True))
    return year


def test_every_child_is_in_exactly_one_part(followed) -> None:
    everyone = total(count_by_grade(followed))
    assert everyone["enrolled"] == len(followed) == sum(everyone[part] for part in PARTS)
    assert everyone["eligible"] == everyone["enrolled"] - everyone["left"]


def test_the_counts_are_those_recounted_from_the_csv_export(followed, visit, out) -> None:
    export_csv(out, followed, visit)
    make_papers(out, followed, visit, ["yearly-summary"])
    children, screenings = read(out / "children.csv"), read(out / "screenings.csv")
    stages: dict[str, dict[str, bool]] = {}
    for row in screenings:
        if row["stage"]:
            of_child = stages.setdefault(row["record"], {})
            of_child[row["stage"]] = of_child.get(row["stage"], True) and row["result"] == "pass"
    tested = {row["record"] for row in read(out / "thresholds.csv")}
    steps: dict[str, set[str]] = {}
    for row in read(out / "followups.csv"):
        steps.setdefault(row["record"], set()).add(row["step"])
    names = {"declined": "exempt", "not-seen": "not_seen", "under-care": "under_care"}
    names |= {"could-not-test": "could_not_test", "ear-problem": "ear_problem"}
    counts: dict[str, Counter[str]] = {}
    for row in children:
        here, who = counts.setdefault(row["grade"], Counter()), row["record"]
        results = [passed for _, passed in sorted(stages.get(who, {}).items())]
        if results:
            here["screened"] += 1
        elif row["left"] == "yes":
            here["left"] += 1
        else:
            here[names.get(row["status"], row["status"])] += 1
        here["enrolled"] += 1
        here["missed_first"] += results[:1] == [False]
        here["rescreened"] += results[:1] == [False] and len(results) > 1
        here["missed_second"] += results[:2] == [False, False]
        here["threshold_tested"] += who in tested
        noted = steps.get(who, set())
        here["referred"] += row["status"] == "referred" or "sent" in noted
        here["seen"] += bool(noted & {"seen", "findings", "no-loss"})
        here["no_loss"] += "no-loss" in noted
        here["lost"] += bool(noted & {"lost", "moved"})
    printed = {row["grade"]: row for row in read(out / "yearly-summary.csv")}
    for grade, here in counts.items():
        for column in COLUMNS:
            expected = here["enrolled"] - here["left"] if column == "eligible" else here[column]
            assert int(printed[grade][column]) == expected, (grade, column)
    assert int(printed["all"]["enrolled"]) == len(followed)
    assert {int(printed["all"][column]) > 0 for column in ("seen", "no_loss", "lost", "left")} == {True}
