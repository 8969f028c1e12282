"""The yearly counts: they add up, and a few lines over the CSV export give the same ones."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import replace

import pypdf
import pytest

from fieldapp.exports import export_csv
from fieldapp.papers import PAPERS, make_papers
from fieldapp.papers.wording import words
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


def test_lists_counts_and_csv_agree_on_where_each_child_is_counted(followed, visit, out) -> None:
    """Every child of every list, by its own line and by the two CSVs, lies where the summary counts it."""
    declined = next(child for child in followed if child.status is Status.DECLINED)
    passed = next(child for child in followed if child.status is Status.PASSED)
    odd = [  # screened first, declined later; under care, and gone from the roster
        replace(passed, child="odd1@x", status=Status.DECLINED),
        replace(
            declined, child="odd2@x", status=Status.UNDER_CARE, person=replace(declined.person, left=True)
        ),
    ]
    children = [*followed, *odd]
    lists = [name for name, paper in PAPERS.items() if paper.table and name.endswith("-list")]
    made = make_papers(out, children, visit, [*lists, "yearly-summary"])
    export_csv(out, children, visit)
    in_export = {row["record"]: row["counted_as"] for row in read(out / "children.csv")}
    summary = next(row for row in read(out / "yearly-summary.csv") if row["grade"] == "all")
    assert Counter(in_export.values()) == {part: int(summary[part]) for part in PARTS if int(summary[part])}
    for name in lists:
        rows = read(out / f"{name}.csv")
        counted = Counter(row["counted_as"] for row in rows)
        assert counted == Counter(in_export[child] for child in made[name].children)
        text = " ".join("".join(p.extract_text() for p in pypdf.PdfReader(made[name].path).pages).split())
        said = " · ".join(f"{LABELS[part]}: {counted[part]}" for part in PARTS if counted[part])
        assert f"In the yearly summary: {said}" in text
    exempt = Counter(row["counted_as"] for row in read(out / "exempt-list.csv"))
    assert exempt == {"exempt": int(summary["exempt"]), "under_care": int(summary["under_care"])} | {
        "screened": 1,
        "left": 1,
    }


LABELS = {part: words("en")(f"count.{part}") for part in PARTS}
