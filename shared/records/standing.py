"""Where a child stands: the values that the fold gives to screens, papers and exports. Values only.

All times are ISO 8601 strings as the writing device saw them; levels in dB HL, frequencies in Hz.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from shared.hearing.examination import Examination, Reading


class Status(StrEnum):
    """Exactly one of these for every child."""

    NOT_SEEN = "not-seen"
    ABSENT = "absent"
    DECLINED = "declined"
    UNDER_CARE = "under-care"
    COULD_NOT_TEST = "could-not-test"
    EAR_PROBLEM = "ear-problem"
    PASSED = "passed"
    RESCREEN = "rescreen"
    THRESHOLD = "threshold"
    REFERRED = "referred"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Person:
    """Who the child is, after corrections. ``born`` is an ISO date or empty; empty strings: unknown."""

    given: str
    family: str
    born: str = ""
    student_number: str = ""
    grade: str = ""
    class_name: str = ""
    language: str = ""  # home language, a BCP 47 tag such as "en" or "es"
    guardian: str = ""
    address: tuple[str, ...] = ()  # lines
    due_reasons: tuple[str, ...] = ()  # "new", "concern", "absent-last-time", "grade"
    added: bool = False  # added on the day, not on the roster
    left: bool = False  # no longer on the newest roster
    exemptions: tuple[str, ...] = ()  # on file by the roster: "under-care 2026-03-01", "declined" (no date)


class Answer(NamedTuple):  # quicker made than a frozen dataclass, and every child has many
    """One tone answered and not withdrawn."""

    entry: str
    ear: str
    hz: int
    level_db_hl: int
    heard: bool
    at: str
    device: str
    walk: int = 1  # 1 the first walk, 2 after reseating
    presentations: int = 0  # 0: not counted


@dataclass(frozen=True, slots=True)
class Screening:
    """One walk of one child on one device, with its same-session retest where there was one."""

    id: str
    device: str
    author: str
    begun_at: str
    finished_at: str  # empty while it runs, or where it was broken off
    answers: tuple[Answer, ...]  # of every walk, in order
    reseated: bool
    passed: bool | None  # None while unfinished
    missed: tuple[tuple[str, int], ...]  # (ear, hz) of the deciding walk
    stopped: bool = False
    stage: int | None = (
        None  # 0 first screening, 1 its rescreen ...; None: no result, or replaced by another walk
    )


@dataclass(frozen=True, slots=True)
class Threshold:
    """One threshold found. ``threshold_db_hl`` None: no response at ``limit_db_hl``."""

    ear: str
    hz: int
    threshold_db_hl: int | None
    limit_db_hl: int

    @property
    def reading(self) -> Reading:
        """The same as a point of an audiogram: air conduction, not masked."""
        silent = self.threshold_db_hl is None
        level = self.limit_db_hl if self.threshold_db_hl is None else self.threshold_db_hl
        return Reading(self.ear, "air", self.hz, level, no_response=silent)


@dataclass(frozen=True, slots=True)
class ThresholdTest:
    """One threshold test; ``steps`` are (ear, hz, level, heard) in order."""

    id: str
    device: str
    author: str
    begun_at: str
    finished_at: str
    thresholds: tuple[Threshold, ...]
    steps: tuple[tuple[str, int, int, bool], ...] = ()
    disagreed: tuple[tuple[str, int], ...] = ()  # (ear, hz) whose retests did not agree: not reliable

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The thresholds as points of an audiogram."""
        return tuple(each.reading for each in self.thresholds)


@dataclass(frozen=True, slots=True)
class ExaminationNoted:
    """An examiner's audiogram as the office wrote it down; ``day`` is the day it came back."""

    id: str
    at: str
    author: str
    day: str
    examination: Examination


@dataclass(frozen=True, slots=True)
class Followup:
    """One noted step of a referral or rescreen's follow-up."""

    step: str  # sent reminded seen findings; closed for: no-loss under-care moved declined lost closed
    day: str
    note: str
    author: str


@dataclass(frozen=True, slots=True)
class Standing:
    """Everything known of one child (which may be several joined records), and its one status."""

    child: str  # the leading record's id
    records: tuple[str, ...]  # all joined record ids, leading one first
    person: Person
    status: Status
    since: str = ""  # when the entry that decided the status was written
    why: str = ""  # the rule that decided, in words for the screener
    screenings: tuple[Screening, ...] = ()
    governing: Screening | None = None  # the screening whose result stands
    thresholds: tuple[ThresholdTest, ...] = ()
    note: str = ""  # of the not-tested entry that stands
    signs: tuple[str, ...] = ()  # of a visible ear problem: keys of ``hearing.not_tested.EAR_SIGNS``
    ears: tuple[str, ...] = ()  # the ears that show them, where it was said
    observations: tuple[str, ...] = ()
    examinations: tuple[ExaminationNoted, ...] = ()  # by the day of the examination
    followups: tuple[Followup, ...] = ()
    window: tuple[str, str] | None = None  # first and last day (ISO) of the rescreen or next step
    disagreeing: tuple[str, ...] = ()  # entry ids of independent results that disagree
    ruled: bool = False
    papers: tuple[str, ...] = field(default=())  # numbers of papers issued about the child
    # Entry ids of every result, and of every reason for not testing that speaks beside a result.
    found: tuple[str, ...] = ()
    also: tuple[tuple[str, str], ...] = ()  # (given, family) as joined records spell the name otherwise

    @property
    def first_results(self) -> tuple[Screening, ...]:
        """The finished screenings before which no tone had been missed: those that stations are compared by."""
        return tuple(
            each for each in self.screenings if each.passed is not None and not self.missed_before(each)
        )

    def missed_before(self, screening: Screening) -> bool:
        """Whether the child missed a tone at a screening that was finished before this one was begun."""
        return any(
            each.passed is False and each.id != screening.id and each.begun_at < screening.begun_at
            for each in self.screenings
        )
