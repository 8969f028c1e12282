"""The JSON export: ``children.json``, every child with its status and every tone answered.

The fields are described in ``FORMATS.md`` beside this file.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fieldapp.papers.context import PaperContext
from fieldapp.papers.yearly import part_of
from fieldapp.platform.files import write_whole
from shared.records.standing import Answer, Screening, Standing, ThresholdTest


def child_document(standing: Standing, context: PaperContext) -> dict[str, Any]:
    """One child as JSON-ready data."""
    person = standing.person
    return {
        "id": standing.child,
        "student_number": person.student_number,
        "given": person.given,
        "family": person.family,
        "born": person.born,
        "grade": person.grade,
        "class": person.class_name,
        "language": person.language,
        "added": person.added,
        "left": person.left,
        "status": standing.status.value,
        "since": standing.since,
        "why": standing.why,
        "note": standing.note,
        "ear_signs": list(standing.signs),  # what was seen, where the status is an ear problem
        "ear_signs_at": list(standing.ears),
        "window": list(standing.window) if standing.window else None,
        "answers": [
            _answer(answer, context) for screening in standing.screenings for answer in screening.answers
        ],
        "screenings": [_screening(screening, context) for screening in standing.screenings],
        "governing": standing.governing.id if standing.governing else None,
        "threshold_tests": [_test(test, context) for test in standing.thresholds],
        "examinations": [
            {"id": each.id, "came_back": each.day, "author": each.author, **each.examination.to_dict()}
            for each in standing.examinations
        ],
        "observations": list(standing.observations),
        "followups": [
            {"step": each.step, "day": each.day, "note": each.note, "author": each.author}
            for each in standing.followups
        ],
        "papers": list(standing.papers),
        "counted_as": part_of(standing),
    }


def _answer(answer: Answer, context: PaperContext) -> dict[str, Any]:
    return {
        "ear": answer.ear,
        "hz": answer.hz,
        "level_db_hl": answer.level_db_hl,
        "heard": answer.heard,
        "at": answer.at,
        "device": context.tablet(answer.device),
        "walk": answer.walk,
    }


def _screening(screening: Screening, context: PaperContext) -> dict[str, Any]:
    return {
        "id": screening.id,
        "device": context.tablet(screening.device),
        "screener": screening.author,
        "begun_at": screening.begun_at,
        "finished_at": screening.finished_at,
        "reseated": screening.reseated,
        "passed": screening.passed,
        "stopped": screening.stopped,
        "missed": [{"ear": ear, "hz": hz} for ear, hz in screening.missed],
    }


def _test(test: ThresholdTest, context: PaperContext) -> dict[str, Any]:
    return {
        "id": test.id,
        "device": context.tablet(test.device),
        "screener": test.author,
        "begun_at": test.begun_at,
        "finished_at": test.finished_at,
        "not_reliable": [{"ear": ear, "hz": hz} for ear, hz in test.disagreed],  # its retests did not agree
        "thresholds": [
            {
                "ear": each.ear,
                "hz": each.hz,
                "threshold_db_hl": each.threshold_db_hl,
                "no_response_at_db_hl": each.limit_db_hl if each.threshold_db_hl is None else None,
            }
            for each in test.thresholds
        ],
    }


def export_json(folder: Path, standings: Sequence[Standing], context: PaperContext) -> list[Path]:
    """Write ``children.json``; raises ``WriteRefused``."""
    children = [child_document(standing, context) for standing in standings]
    file = folder / "children.json"
    write_whole(file, json.dumps(children, ensure_ascii=False, indent=1).encode())
    return [file]
