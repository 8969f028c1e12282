"""The command ``findings``: an examiner's audiogram into a child's record, and what is there already. No rules here."""

from __future__ import annotations

import argparse
import json
from contextlib import closing
from pathlib import Path
from typing import Any

from fieldapp.cli.say import passphrase, say_json
from fieldapp.platform.files import read_whole
from fieldapp.services.desk import Desk
from shared.errors import Refused, WrongUse
from shared.hearing.audiogram import CLARK_1981, WHO_2021, DegreeRead, Figures, figures
from shared.hearing.examination import CONDUCTIONS, Examination, Reading
from shared.hearing.fields import EARS
from shared.records.standing import ExaminationNoted

MOST_BYTES = 100_000
CAUTION = (
    "The thresholds are the examiner's. Degrees are the words of the named scales for the averages beside them, "
    "gaps are subtractions: not a diagnosis."
)


def findings(options: argparse.Namespace) -> int:
    """Enter, correct or take out an examiner's audiogram; then show those that stand."""
    if options.take_out and (options.file or options.correct):
        raise WrongUse("--take-out stands alone.", todo="Give no file and no --correct with it.")
    if (options.correct or options.day) and not options.file:
        raise WrongUse("--correct and --day belong to an audiogram.", todo="Give its file, too.")
    examination = read_examination(options.file) if options.file else None
    with closing(Desk.open(options.book, passphrase())) as desk:
        child = desk.office.find(options.child)
        if examination is not None:
            desk.office.note_examination(child, examination, day=options.day, replaces=options.correct or "")
        elif options.take_out:
            desk.office.withdraw_examination(child, options.take_out)
        noted = desk.ledger.register.standing(child).examinations
    if options.json:
        say_json({"child": options.child, "examinations": [_document(each) for each in noted]})
        return 0
    for each in noted:
        _show(each)
    print(CAUTION if noted else f"{options.child}: no examiner's audiogram.")
    return 0


def read_examination(file: Path) -> Examination:
    """An examination from a JSON file; raises ``Refused`` naming what is wrong with it."""
    try:
        return Examination.from_dict(json.loads(read_whole(file, MOST_BYTES).decode("utf-8-sig")))
    except (ValueError, RecursionError):
        raise Refused(
            "The audiogram is not a JSON file.",
            kept="Nothing was changed.",
            todo="Write it as README.md shows.",
        ) from None


def _document(noted: ExaminationNoted) -> dict[str, Any]:
    worked = figures(noted.examination.readings, noted.examination.earphones)
    return {
        "id": noted.id,
        "came_back": noted.day,
        "author": noted.author,
        **noted.examination.to_dict(),
        "worked_out": {ear: _of_ear(worked, ear) for ear in EARS} | {"who_2021": _degree(worked.who)},
    }


def _of_ear(worked: Figures, ear: str) -> dict[str, Any]:
    own = worked.ears[ear]
    return {
        "mean_500_1000_2000": own.three.db_hl,
        "mean_500_1000_2000_4000": own.four.db_hl,
        "clark_1981": _degree(own.clark),
        "air_minus_bone": {str(hz): gap for hz, gap in own.gaps.items()},
        "may_be_cross_heard": {"air": list(own.air_crossed), "bone": list(own.bone_crossed)},
    }


def _degree(read: DegreeRead) -> dict[str, Any] | None:
    return None if read.level is None else {"word": read.word, "row": read.mark, "source": read.scale.source}


def _show(noted: ExaminationNoted) -> None:
    """One audiogram in lines."""
    found = noted.examination
    by = ", ".join(filter(None, (found.examiner, found.earphones and f"{found.earphones} earphones")))
    print(f"{noted.id}  examined {found.examined}, came back {noted.day}" + (f": {by}" if by else ""))
    for ear in EARS:
        for conduction in CONDUCTIONS:
            if readings := found.of(ear, conduction):
                print(f"    {ear} {conduction}, dB HL: {', '.join(map(_reading, readings))}")
    worked = figures(found.readings, found.earphones)
    for ear in EARS:
        own = worked.ears[ear]
        print(f"    {ear} ear by the scale of {CLARK_1981.name}: {_degree_words(own.clark)}")
        if own.gaps:
            told = ", ".join(f"{hz} Hz {gap} dB" for hz, gap in own.gaps.items())
            print(f"    {ear} ear, air minus bone: {told}")
        for conduction, tones in (("air", own.air_crossed), ("bone", own.bone_crossed)):
            if tones:
                hertz = ", ".join(map(str, tones))
                print(f"    {ear} {conduction} {hertz} Hz not masked: the other ear may have answered")
    print(f"    better ear by the scale of {WHO_2021.name}: {_degree_words(worked.who)}")
    if found.note:
        print(f"    note: {found.note}")


def _reading(each: Reading) -> str:
    level = f"no response at {each.level_db_hl}" if each.no_response else str(each.level_db_hl)
    return f"{each.hz} Hz {level}" + (" masked" if each.masked else "")


def _degree_words(read: DegreeRead) -> str:
    if read.level is None:
        return "no mean, so no degree"
    return f"{read.word} ({read.level:.1f} dB HL; row {read.mark})"
