"""An invented school for the papers' tests: every status, several scripts, built without a store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fieldapp.papers import Office, PaperContext, ReadinessRecord, WatchRecord
from fieldapp.services.presets import load_protocol
from shared.hearing.examination import Examination
from shared.records.standing import (
    Answer,
    ExaminationNoted,
    Followup,
    Person,
    Screening,
    Standing,
    Status,
    Threshold,
    ThresholdTest,
)
from tests.facts import READY

_GIVEN = "Ada Bruno Célia Dario Elif Farid Greta Hugo Ines Jonas Kaia Lior Mira Noam Odile Pavel"
_FAMILY = "Abara Brandt Castillo Đặng Eriksen Fofana Gruber Hämäläinen Ibáñez Joshi Kowal Łuczak Mbeki"
GIVEN, FAMILY = _GIVEN.split(), _FAMILY.split()
TONES = [("right", 1000), ("right", 2000), ("right", 4000), ("left", 4000), ("left", 2000), ("left", 1000)]
MISSES = [(("right", 4000),), (("left", 1000), ("left", 2000)), (("right", 1000), ("left", 4000))]
CYCLE = [Status.PASSED] * 7 + [
    Status.RESCREEN,
    Status.ABSENT,
    Status.PASSED,
    Status.NOT_SEEN,
    Status.REFERRED,
]
CYCLE += [Status.COULD_NOT_TEST, Status.EAR_PROBLEM, Status.DECLINED, Status.UNDER_CARE, Status.THRESHOLD]
TABLETS = {"d1": "Tablet A", "d2": "Tablet B"}


def screening(
    number: int, *, passed: bool, missed=(), device: str = "d1", day: str = "2026-09-14"
) -> Screening:
    """One walk, and a second after reseating where the first failed."""
    answers = []
    for walk in (1,) if passed else (1, 2):
        for index, (ear, hz) in enumerate(TONES):
            at = f"{day}T09:{number % 50:02d}:{index + 6 * walk - 6:02d}-06:00"
            heard = (ear, hz) not in missed
            answers.append(
                Answer(f"{number * 20 + index + 6 * walk}@{device}", ear, hz, 20, heard, at, device, walk)
            )
    at = answers[-1].at
    return Screening(
        f"{number * 20 + 1}@{device}",
        device,
        "MK",
        answers[0].at,
        at,
        tuple(answers),
        not passed,
        passed,
        tuple(missed),
        stage=0 if day == "2026-09-14" else 1,
    )


def threshold_test(
    number: int, levels: dict[str, dict[int, int | None]], day: str = "2026-10-20"
) -> ThresholdTest:
    """A finished threshold test; None is no response at 100 dB HL."""
    found = tuple(
        Threshold(ear, hz, level, 100) for ear, by_hz in levels.items() for hz, level in by_hz.items()
    )
    at = f"{day}T10:00:00-05:00"
    return ThresholdTest(f"{number * 20 + 15}@d2", "d2", "JR", at, at, found)


#: Masked and not, bone and air, gaps, a tone without response: every symbol there is.
REPLY = {
    "examined": "2026-11-09",
    "examiner": "R. Oduya, audiologist, Pine Hollow hearing clinic",
    "earphones": "insert",
    "right": {
        "air": {"250": 35, "500": 35, "1000": 40, "2000": 40, "4000": 50, "8000": 55},
        "bone": {"500": 10, "1000": {"level_db_hl": 15, "masked": True}, "2000": 35, "4000": 50},
    },
    "left": {
        "air": {
            "500": {"level_db_hl": 75, "masked": True},
            "1000": {"level_db_hl": 80, "masked": True},
            "2000": 90,
            "4000": {"no_response_at_db_hl": 110},
        },
        "bone": {"1000": {"no_response_at_db_hl": 70, "masked": True}, "2000": 40},
    },
    "note": "Seat near the front, right ear towards the teacher; next visit in May.",
}


def examination(number: int) -> ExaminationNoted:
    """An examiner's audiogram as the office wrote it down."""
    at = "2026-11-16T09:00:00-06:00"
    return ExaminationNoted(f"{number * 20 + 19}@d2", at, "LW", "2026-11-16", Examination.from_dict(REPLY))


def child(number: int, status: Status, **person: object) -> Standing:
    """An invented child of that status."""
    grade = ("K", "1", "3", "5")[number % 4]
    someone = Person(
        given=GIVEN[number % len(GIVEN)],
        family=FAMILY[number * 5 % len(FAMILY)],
        born=f"{2021 - (number % 4) * 2}-{number % 12 + 1:02d}-{number % 28 + 1:02d}",
        student_number=f"S-{10400 + number}",
        grade=grade,
        class_name=f"{grade}{'AB'[number // 4 % 2]}",
        language="es" if number % 3 == 0 else "en",
        guardian="The parents of the child" if number % 5 == 0 else f"R. {FAMILY[number * 5 % len(FAMILY)]}",
        address=(f"{100 + number} Larch Street", "Pine Hollow, MN 55000"),
    )
    someone = replace(someone, **person)
    missed = MISSES[number % 3]
    once = screening(number, passed=False, missed=missed, device=("d1", "d2")[number % 2])
    again = screening(number + 500, passed=False, missed=missed, device="d2", day="2026-10-05")
    since = "2026-09-14T10:15:00-06:00"
    standing = Standing(f"{number + 1}@roster", (f"{number + 1}@roster",), someone, status, since=since)
    if status is Status.PASSED:
        walk = screening(number, passed=True, device=("d1", "d2")[number % 2])
        return replace(standing, screenings=(walk,), governing=walk)
    if status is Status.RESCREEN:
        window = ("2026-09-28", "2026-10-26")
        return replace(standing, screenings=(once,), governing=once, window=window)
    if status is Status.THRESHOLD:
        return replace(
            standing, screenings=(once, again), governing=again, window=("2026-10-12", "2026-10-30")
        )
    if status is Status.REFERRED:
        levels = {
            "right": {500: 25, 1000: 30, 2000: 35, 4000: 45},
            "left": {500: 10, 1000: 10, 2000: 15, 4000: None},
        }
        tests = (threshold_test(number, levels),)
        noted = (Followup("sent", "2026-10-22", "", "LW"),)
        came = (examination(number),)
        return replace(
            standing,
            screenings=(once, again),
            governing=again,
            thresholds=tests,
            examinations=came,
            followups=noted,
        )
    notes = {
        Status.COULD_NOT_TEST: "did not settle, three attempts, wants to try with the class aide beside",
        Status.EAR_PROBLEM: "left ear red and sore to the touch, earphone not put on",
        Status.ABSENT: "",
    }
    return replace(standing, note=notes.get(status, ""))


def children(count: int = 120) -> list[Standing]:
    """Children of every status, five of them with names in other scripts and one that cannot be printed."""
    made = [child(number, CYCLE[number % len(CYCLE)]) for number in range(count)]
    for number, (given, family) in enumerate(
        [("محمد", "الأحمد"), ("נועה", "לוי"), ("प्रिया", "शर्मा"), ("ณัฐพงศ์", "น้ำใจ"), ("小雨", "王")]
    ):
        made.append(
            child(count + number, Status.RESCREEN, given=given, family=family, grade="3", class_name="3A")
        )
    long = "Maximiliana Wilhelmina-Charlotte von und zu Hohenfels-Lichtenwald-Brandenstein"
    made.append(child(count + 5, Status.RESCREEN, given=long, grade="3", class_name="3A", left=True))
    made.append(
        child(count + 6, Status.NOT_SEEN, given="Walk", family="=HYPERLINK(1)", class_name="", added=True)
    )
    # U+20BB7, of Unicode's extension B: no bundled font has it
    made.append(child(count + 7, Status.RESCREEN, given="Ai", family="𠮷野", grade="3", class_name="3A"))
    return made


# Fixed here, so that the golden papers do not change with a preset's wording.
PROTOCOL = replace(
    load_protocol("aaa-2011"),
    title="AAA Childhood Hearing Screening Guidelines, 2011",
    source="American Academy of Audiology, September 2011, summary, pure tone screening, points 1 to 9",
    checked="2026-11-25",
    verified=False,
    cautions=(
        "The guideline names no later rescreen after failing tones: the rescreen window is set locally.",
    ),
)


def context(**changes: object) -> PaperContext:
    """The visit's context, with some of it changed."""
    noisy = {**READY, "own_thresholds": {"right": {"1000": 20, "2000": 5, "4000": 5}, "left": {"1000": 15}}}
    return replace(
        PaperContext(
            school="Larch Hill Elementary",
            protocol=PROTOCOL,
            issued=date(2026, 11, 25),
            visit_dates=(date(2026, 9, 14), date(2026, 9, 15)),
            number="LH-2026-1",
            office=Office(
                "Pine Hollow School Health Office",
                ("12 Depot Road", "Pine Hollow, MN 55000"),
                "555 0100",
                "L. Wren",
            ),
            tablets=TABLETS,
            readiness=(
                ReadinessRecord("2026-09-14T07:50:00-06:00", "Tablet A", "MK", READY, True, 20),
                ReadinessRecord(
                    "2026-09-14T07:58:00-06:00",
                    "Tablet B",
                    "JR",
                    noisy,
                    False,
                    None,
                    ("Your own threshold at 1000 Hz in the right ear is 20 dB HL: the room is too noisy.",),
                ),
                ReadinessRecord("2026-09-14T08:20:00-06:00", "Tablet B", "JR", READY, True, 20),
            ),
            watches=(
                WatchRecord(
                    "2026-09-14T10:31:00-06:00", "Tablet B", "left", 4000, "five of the last eight missed", ""
                ),
            ),
        ),
        **changes,
    )


def small_school() -> list[Standing]:
    """Two children of every kind, and the names in other scripts: for the golden papers."""
    return [*children(len(CYCLE)), *children(0)[:3]]


@pytest.fixture
def few() -> list[Standing]:
    return small_school()


@pytest.fixture
def school() -> list[Standing]:
    return children()


@pytest.fixture
def visit() -> PaperContext:
    return context()


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path
