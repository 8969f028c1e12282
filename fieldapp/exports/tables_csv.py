"""The CSV export: six tables, children first. Their columns are described in ``FORMATS.md`` beside this file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from fieldapp.exports.spreadsheet import Cell, write_csv
from fieldapp.papers.context import PaperContext
from fieldapp.papers.yearly import part_of
from shared.records.standing import Standing

_COLUMNS = {
    "children": "record student_number family given born grade class language added left status since why note "
    "no_response_hz due_from due_to observations papers counted_as",
    "screenings": "record student_number screening begun_at finished_at tablet screener reseated result governs "
    "stage no_response_hz",
    "answers": "record student_number screening ear hz level_db_hl heard walk at tablet screener",
    "thresholds": "record student_number test ear hz threshold_db_hl no_response_at_db_hl at tablet screener",
    "examiner-thresholds": "record student_number examination examined examiner earphones ear conduction hz "
    "threshold_db_hl no_response_at_db_hl masked came_back author",
    "followups": "record student_number step day note author",
}
#: file name (without ``.csv``) -> its columns
COLUMNS = {name: tuple(columns.split()) for name, columns in _COLUMNS.items()}


def export_csv(folder: Path, standings: Sequence[Standing], context: PaperContext) -> list[Path]:
    """Write the six tables; raises ``WriteRefused``."""
    tables = {
        "children": (_child(standing) for standing in standings),
        "screenings": _screenings(standings, context),
        "answers": _answers(standings, context),
        "thresholds": _thresholds(standings, context),
        "examiner-thresholds": _examinations(standings),
        "followups": _followups(standings),
    }
    return [write_csv(folder / f"{name}.csv", COLUMNS[name], rows) for name, rows in tables.items()]


def _child(standing: Standing) -> list[Cell]:
    person = standing.person
    return [
        standing.child,
        person.student_number,
        person.family,
        person.given,
        person.born,
        person.grade,
        person.class_name,
        person.language,
        person.added,
        person.left,
        standing.status.value,
        standing.since,
        standing.why,
        standing.note,
        _tones(standing.governing.missed if standing.governing else ()),
        *(standing.window or ("", "")),
        "; ".join(standing.observations),
        " ".join(standing.papers),
        part_of(standing),
    ]


def _tones(missed: Sequence[tuple[str, int]]) -> str:
    return " ".join(f"{ear}:{hz}" for ear, hz in missed)


def _screenings(standings: Sequence[Standing], context: PaperContext) -> Iterator[list[Cell]]:
    for standing in standings:
        for each in standing.screenings:
            unfinished = "stopped" if each.stopped else "unfinished"
            yield [
                standing.child,
                standing.person.student_number,
                each.id,
                each.begun_at,
                each.finished_at,
                context.tablet(each.device),
                each.author,
                each.reseated,
                unfinished if each.passed is None else "pass" if each.passed else "no pass",
                standing.governing is not None and each.id == standing.governing.id,
                "" if each.stage is None else each.stage + 1,
                _tones(each.missed),
            ]


def _followups(standings: Sequence[Standing]) -> Iterator[list[Cell]]:
    for standing in standings:
        for each in standing.followups:
            number = standing.person.student_number
            yield [standing.child, number, each.step, each.day, each.note, each.author]


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


def _examinations(standings: Sequence[Standing]) -> Iterator[list[Cell]]:
    for standing in standings:
        for noted in standing.examinations:
            found = noted.examination
            for each in found.readings:
                yield [
                    standing.child,
                    standing.person.student_number,
                    noted.id,
                    found.examined.isoformat(),
                    found.examiner,
                    found.earphones,
                    each.ear,
                    each.conduction,
                    each.hz,
                    each.threshold,
                    each.level_db_hl if each.no_response else None,
                    each.masked,
                    noted.day,
                    noted.author,
                ]
