"""The yearly counts by grade: what is counted, and the proof that the counts add up to the roster. No drawing.

Every child is in exactly one of the columns of ``PARTS``: ``enrolled`` is their sum, in every grade and in all.
The other columns follow the screened children further; a child may be in several of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from itertools import chain

from fieldapp.papers.wording import grade_order
from shared.errors import Refused
from shared.hearing.protocol import plain_grade
from shared.records.standing import Standing, Status

_BY_STATUS = {
    Status.ABSENT: "absent",
    Status.DECLINED: "exempt",
    Status.UNDER_CARE: "under_care",
    Status.COULD_NOT_TEST: "could_not_test",
    Status.EAR_PROBLEM: "ear_problem",
    Status.NOT_SEEN: "not_seen",
}
#: Every child is in exactly one.
PARTS = ("screened", "absent", "exempt", "under_care", "could_not_test", "ear_problem", "not_seen", "left")
#: What became of the screened ones.
FURTHER = (
    *("missed_first", "rescreened", "missed_second", "threshold_tested", "referred"),
    *("seen", "no_loss", "lost"),
)
COLUMNS = ("enrolled", "eligible", *PARTS, *FURTHER)


def part_of(child: Standing) -> str:
    """Which of ``PARTS`` a child is in: screened where there is a result, else why there is none."""
    if any(screening.passed is not None for screening in child.screenings):
        return "screened"
    if child.person.left:
        return "left"
    return _BY_STATUS.get(child.status, "screened")  # a result ruled by a person counts as one


def _results(child: Standing) -> list[tuple[bool, ...]]:
    """The results of the child's stages in order; a walk that another replaced does not count."""
    stages: dict[int, list[bool]] = {}
    for each in child.screenings:
        if each.stage is not None:
            stages.setdefault(each.stage, []).append(bool(each.passed))
    return [tuple(stages[stage]) for stage in sorted(stages)]


def _missed_first(child: Standing) -> bool:
    return not all(chain(*_results(child)[:1]))


def _rescreened(child: Standing) -> bool:
    return _missed_first(child) and len(_results(child)) > 1


def _noted(*steps: str) -> Callable[[Standing], bool]:
    return lambda child: any(followup.step in steps for followup in child.followups)


#: column -> whether a child is counted there
RULES: Mapping[str, Callable[[Standing], bool]] = {
    "enrolled": lambda child: True,
    "eligible": lambda child: part_of(child) != "left",
    **{part: lambda child, part=part: part_of(child) == part for part in PARTS},  # type: ignore[misc]
    "missed_first": _missed_first,
    "rescreened": _rescreened,
    "missed_second": lambda child: _rescreened(child) and not all(_results(child)[1]),
    "threshold_tested": lambda child: any(test.finished_at for test in child.thresholds),
    "referred": lambda child: child.status is Status.REFERRED or _noted("sent")(child),
    "seen": _noted("seen", "findings", "no-loss", "under-care"),
    "no_loss": _noted("no-loss"),
    "lost": _noted("lost", "moved"),
}


def count_by_grade(standings: Sequence[Standing]) -> dict[str, dict[str, int]]:
    """The counts of every grade, in a school's order; grade "" holds the children without one.

    Raises ``Refused`` where they do not add up to the children given, which would be a fault of this program.
    """
    grades: dict[str, Counter[str]] = {}
    for child in sorted(standings, key=lambda each: grade_order(each.person.grade)):
        counts = grades.setdefault(plain_grade(child.person.grade), Counter())
        counts.update(column for column, counted in RULES.items() if counted(child))
    table = {grade: {column: counts[column] for column in COLUMNS} for grade, counts in grades.items()}
    if sum(counts[part] for counts in table.values() for part in PARTS) != len(standings):
        raise Refused(
            "The yearly counts do not add up to the children on the roster.",
            kept="Nothing was printed.",
            todo="Please report this as a fault of the program.",
        )
    return table


def total(table: Mapping[str, Mapping[str, int]]) -> dict[str, int]:
    """The counts of all grades together."""
    return {column: sum(counts[column] for counts in table.values()) for column in COLUMNS}
