"""The pseudonymous export for statistics: results without names, numbers, classes, notes or birth dates.

A child is a code that nobody can turn back: a keyed hash whose random key is thrown away with the export. The birth
date is coarsened to its year, and left out, like the grade, where fewer than ``FEWEST`` children share it. Small
schools can still be guessed at: the page beside this file says so.
"""

from __future__ import annotations

import hashlib
import hmac
import os
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from fieldapp.exports.spreadsheet import Cell, write_csv
from fieldapp.papers.context import PaperContext
from shared.hearing.protocol import plain_grade
from shared.records.standing import Standing

FEWEST = 5
CHILDREN = (
    "code",
    "grade",
    "birth_year",
    "status",
    "screenings",
    "first_result",
    "threshold_tested",
    "followups",
)
TONES = ("code", "screening", "walk", "ear", "hz", "level_db_hl", "heard")
THRESHOLDS = ("code", "test", "ear", "hz", "threshold_db_hl", "no_response_at_db_hl")


def export_statistics(
    folder: Path,
    standings: Sequence[Standing],
    context: PaperContext,
    *,
    random: Callable[[int], bytes] = os.urandom,
) -> list[Path]:
    """Write ``statistics-children.csv``, ``-tones.csv`` and ``-thresholds.csv``; raises ``WriteRefused``."""
    key = random(32)

    def code(standing: Standing) -> str:
        return hmac.new(key, standing.child.encode(), hashlib.sha256).hexdigest()[:16]

    coded = sorted(((code(each), each) for each in standings), key=lambda pair: pair[0])
    return [
        write_csv(folder / "statistics-children.csv", CHILDREN, _children(coded)),
        write_csv(folder / "statistics-tones.csv", TONES, _tones(coded)),
        write_csv(folder / "statistics-thresholds.csv", THRESHOLDS, _thresholds(coded)),
    ]


Coded = Sequence[tuple[str, Standing]]


def _children(coded: Coded) -> Iterator[list[Cell]]:
    grades = Counter(_grade(child) for _, child in coded)
    years = Counter((_grade(child), child.person.born[:4]) for _, child in coded)
    for code, child in coded:
        grade, year = _grade(child), child.person.born[:4]
        results = [each.passed for each in child.screenings if each.passed is not None]
        yield [
            code,
            grade if grades[grade] >= FEWEST else "",
            year if years[grade, year] >= FEWEST else "",
            child.status.value,
            len(results),
            "" if not results else "pass" if results[0] else "no pass",
            any(test.finished_at for test in child.thresholds),
            " ".join(each.step for each in child.followups),
        ]


def _grade(child: Standing) -> str:
    return plain_grade(child.person.grade)


def _tones(coded: Coded) -> Iterator[list[Cell]]:
    for code, child in coded:
        for number, screening in enumerate(child.screenings, start=1):
            for each in screening.answers:
                yield [code, number, each.walk, each.ear, each.hz, each.level_db_hl, each.heard]


def _thresholds(coded: Coded) -> Iterator[list[Cell]]:
    for code, child in coded:
        for number, test in enumerate(child.thresholds, start=1):
            for each in test.thresholds:
                silent = each.threshold_db_hl is None
                yield [
                    code,
                    number,
                    each.ear,
                    each.hz,
                    each.threshold_db_hl,
                    each.limit_db_hl if silent else None,
                ]
