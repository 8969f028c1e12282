"""The CSV export: children, answers and thresholds, one table a file. Columns: ``FORMATS.md`` beside this file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from fieldapp.exports.spreadsheet import Cell, write_csv
from fieldapp.papers.context import PaperContext
from shared.records.standing import Standing

CHILD_COLUMNS = [
    "student_number",
    "family",
    "given",
    "born",
    "grade",
    "class",
    "language",
    "status",
    "since",
    "why",
    "note",
    "first_screening",
    "second_screening",
    "could_not_test",
    "threshold_test",
    "no_response_hz",
    "due_from",
    "due_to",
    "last_followup",
    "last_followup_day",
    "added",
    "left",
    "record",
]
ANSWER_COLUMNS = [
    "record",
    "student_number",
    "screening",
    "ear",
    "hz",
    "level_db_hl",
    "heard",
    "walk",
    "at",
    "tablet",
    "screener",
]
THRESHOLD_COLUMNS = [
    "record",
    "student_number",
    "test",
    "ear",
    "hz",
    "threshold_db_hl",
    "no_response_at_db_hl",
    "at",
    "tablet",
    "screener",
]


def export_csv(folder: Path, standings: Sequence[Standing], context: PaperContext) -> list[Path]:
    """Write ``children.csv``, ``answers.csv`` and ``thresholds.csv``; raises ``WriteRefused``."""
    return [
        write_csv(folder / "children.csv", CHILD_COLUMNS, (_child(standing) for standing in standings)),
        write_csv(folder / "answers.csv", ANSWER_COLUMNS, _answers(standings, context)),
        write_csv(folder / "thresholds.csv", THRESHOLD_COLUMNS, _thresholds(standings, context)),
    ]


def _child(standing: Standing) -> list[Cell]:
    person, last = standing.person, standing.followups[-1] if standing.followups else None
    results = [
        "pass" if each.passed else "no pass" for each in standing.screenings if each.passed is not None
    ]
    missed = standing.governing.missed if standing.governing else ()
    tested = any(test.finished_at for test in standing.thresholds)
    return [
        person.student_number,
        person.family,
        person.given,
        person.born,
        person.grade,
        person.class_name,
        person.language,
        standing.status.value,
        standing.since,
        standing.why,
        standing.note,
        results[0] if results else "",
        results[1] if len(results) > 1 else "",
        standing.status.value == "could-not-test",
        tested,
        " ".join(f"{ear}:{hz}" for ear, hz in missed),
        *(standing.window or ("", "")),
        last.step if last else "",
        last.day if last else "",
        person.added,
        person.left,
        standing.child,
    ]


def _answers(standings: Sequence[Standing], context: PaperContext) -> Iterator[list[Cell]]:
    for standing in standings:
        for screening in standing.screenings:
            for each in screening.answers:
                yield [
                    standing.child,
                    standing.person.student_number,
                    screening.id,
                    each.ear,
                    each.hz,
                    each.level_db_hl,
                    each.heard,
                    each.walk,
                    each.at,
                    context.tablet(each.device),
                    screening.author,
                ]


def _thresholds(standings: Sequence[Standing], context: PaperContext) -> Iterator[list[Cell]]:
    for standing in standings:
        for test in standing.thresholds:
            for each in test.thresholds:
                silent = each.threshold_db_hl is None
                yield [
                    standing.child,
                    standing.person.student_number,
                    test.id,
                    each.ear,
                    each.hz,
                    each.threshold_db_hl,
                    each.limit_db_hl if silent else None,
                    test.finished_at or test.begun_at,
                    context.tablet(test.device),
                    test.author,
                ]
