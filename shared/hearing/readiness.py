"""Readiness: the steps that prove a station fit to test, and what they amount to.

Only the steps of the readiness check as data, their order and their sum may live here. How each is judged is
``readiness_judges``', whether the room is quiet enough is ``room``'s, and when a passed check runs out is
``readiness_validity``'s. A station that has not passed offers no child.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from shared.hearing import readiness_judges as judges
from shared.hearing.fields import EARS
from shared.hearing.protocol import Protocol
from shared.hearing.readiness_facts import ReadinessFacts
from shared.hearing.readiness_judges import (
    INSPECTION,
    Case,
    Pairing,
    StepReport,
    StepState,
    calibration_ends,
)
from shared.hearing.room import LevelRuling, permitted_level

#: Common practice, no source: the listening check is walked at this level, dB HL.
LISTENING_LEVEL = 50


@dataclass(frozen=True, slots=True)
class ReadinessStep:
    """One step of the guided check. ``needed``: without it the station does not open."""

    key: str
    title: str
    instruction: str
    source: str
    needed: bool
    judge: Callable[[Case], StepReport]


@dataclass(frozen=True, slots=True)
class ReadinessResult:
    """Whether the station may test, at which level (dB HL), and in words why not or what to watch.

    ``rule`` says which rule gave the level; ``drop`` names frequencies left out today; ``steps`` has one
    report a step, in order.
    """

    passed: bool
    level_db_hl: int | None
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    rule: str = ""
    drop: tuple[int, ...] = ()
    steps: tuple[StepReport, ...] = ()

    @property
    def next_step(self) -> str:
        """The key of the first step that is open or failed, or empty."""
        waiting = (StepState.OPEN, StepState.FAILED)
        return next((report.key for report in self.steps if report.state in waiting), "")


def check(
    facts: ReadinessFacts, protocol: Protocol, today: date, *, pairs: Sequence[Pairing] = ()
) -> ReadinessResult:
    """The outcome of a readiness check on ``today``; every reason against it is named, not only the first.

    ``pairs``: which earphones are known to belong to which audiometer, oldest first.
    """
    case = Case(facts, protocol, today, pairs)
    reports = tuple(step.judge(case) for step in STEPS)
    reasons = tuple(reason for report in reports for reason in report.reasons)
    warnings = tuple(warning for report in reports for warning in report.warnings)
    rulings = [report.ruling for report in reports if report.ruling is not None]
    levels = [ruling.level_db_hl for ruling in rulings if ruling.level_db_hl is not None]
    drop = tuple(sorted({hz for ruling in rulings for hz in ruling.drop}))
    rule = " ".join(ruling.rule for ruling in rulings)
    passed = not reasons
    return ReadinessResult(passed, max(levels) if passed else None, reasons, warnings, rule, drop, reports)


def listening_tones(protocol: Protocol) -> tuple[tuple[str, int, int], ...]:
    """(ear, hz, level) of the listening check, in the order to tap them through: right earphone first."""
    return tuple((ear, hz, LISTENING_LEVEL) for ear in EARS for hz in protocol.frequencies)


STEPS: tuple[ReadinessStep, ...] = (
    ReadinessStep(
        "equipment",
        "Audiometer and earphones",
        "Enter the number of the audiometer and of its own earphones.",
        "Minnesota Department of Health, audiometer page (read): matched to one audiometer, not exchangeable",
        True,
        judges.judge_equipment,
    ),
    ReadinessStep(
        "calibration",
        "Calibration",
        "Enter the date on the calibration label.",
        "Minnesota Department of Health, calibration page (read): electro-acoustic calibration yearly",
        True,
        judges.judge_calibration,
    ),
    ReadinessStep(
        "inspection",
        "Cords and cushions",
        "Flex the cords while a tone is on, look at cushions, headband, plugs, dial and lamps.",
        "Minnesota Department of Health, calibration page (second-hand in part, rest from memory)",
        False,
        judges.judge_inspection,
    ),
    ReadinessStep(
        "tone-off",
        "Tone normally off",
        "Make sure that no tone is on until the presenting key is pressed.",
        "common practice, no source",
        False,
        judges.judge_tone_off,
    ),
    ReadinessStep(
        "listening",
        "Listening check",
        f"Listen to every test frequency at {LISTENING_LEVEL} dB HL, right earphone first, then left.",
        "common practice, no source",
        True,
        judges.judge_listening,
    ),
    ReadinessStep(
        "same-ear",
        "One ear, both earphones",
        "If wanted: find one ear's thresholds through the right, then through the left earphone.",
        "Minnesota Department of Health, biological calibration check (read)",
        False,
        judges.judge_same_ear,
    ),
    ReadinessStep(
        "level",
        "Own thresholds",
        "Find your own thresholds here, or a known-normal listener's, at every test frequency.",
        "Minnesota Department of Health, noise level page (read): 10 dB below the screening level; "
        "10 permits 20 and 15 asks for 25: common practice, no source",
        True,
        judges.judge_level,
    ),
    ReadinessStep(
        "noise",
        "Noise readings",
        "With a sound level meter: enter the octave-band levels, and which published limits to use.",
        "ANSI S3.1-1999 or ASHA 1997, see the set's own mark",
        False,
        judges.judge_noise,
    ),
)


class Reminder(NamedTuple):
    """Something to keep in mind, not judged, with where it is from."""

    words: str
    source: str


REMINDERS: tuple[Reminder, ...] = (
    Reminder(
        "Seat the child turned about a right angle away, face visible, panel out of sight.",
        "common practice, no source",
    ),
    Reminder(
        "Red on the child's right ear, blue on the left; put on by you, not by the child; hair behind the ears.",
        "common practice, no source",
    ),
    Reminder("Hold both earphones while tightening the band.", "common practice, no source"),
    Reminder(
        "Look first: no earphones on a sore or draining ear.",
        "Minnesota Department of Health, web course (read)",
    ),
    Reminder(
        "No alcohol on the cushions; only on plugs and jacks.",
        "Minnesota Department of Health, audiometer page (read)",
    ),
    Reminder("Wipe or cover the cushions between children, as their maker allows.", "from memory"),
    Reminder("Never leave the dial high; check the level before each tone.", "from memory"),
)

__all__ = [
    "INSPECTION",
    "LISTENING_LEVEL",
    "REMINDERS",
    "STEPS",
    "LevelRuling",
    "Pairing",
    "ReadinessFacts",
    "ReadinessResult",
    "ReadinessStep",
    "Reminder",
    "StepReport",
    "StepState",
    "calibration_ends",
    "check",
    "listening_tones",
    "permitted_level",
]
