"""The threshold test of a child: which ear and frequency is next, the retest, the between-octaves.

Only the order of tones and the checks between them may live here; the search at one tone is ``threshold``'s.
The plan is a pure function of the tones found so far.

Order (ASHA 2005, from memory): the better ear first where known, else the right; 1000 Hz, then upwards,
1000 Hz again, then downwards. The retest agrees within 5 dB, else re-instruct and test once more; the better
of two that agree stands (from memory). Between-octaves are tested where neighbouring octaves differ by 20 dB
or more (ANSI S3.21-2004, read in its abstract).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise

from shared.errors import Refused
from shared.hearing.fields import EARS
from shared.hearing.protocol import Protocol
from shared.hearing.referral import ThresholdOutcome
from shared.hearing.threshold import PROCEDURES, Procedure, Result, ThresholdSearch

AGREEMENT = 5  # dB between test and retest
OCTAVE_DIFFERENCE = 20  # dB between neighbouring octaves
BETWEEN = {(500, 1000): 750, (1000, 2000): 1500, (2000, 4000): 3000, (4000, 8000): 6000}


class Purpose(StrEnum):
    """Why a tone is tested."""

    ROUTINE = "routine"
    RETEST = "retest"  # the same tone again: do the answers agree?
    REDO = "redo"  # they did not: re-instruct and test once more
    BETWEEN_OCTAVES = "between octaves"


@dataclass(frozen=True, slots=True)
class Tone:
    """The tone that is due."""

    ear: str
    hz: int
    purpose: Purpose


@dataclass(frozen=True, slots=True)
class Found:
    """One tone found. ``threshold_db_hl`` None: no response at ``limit_db_hl``."""

    ear: str
    hz: int
    threshold_db_hl: int | None
    limit_db_hl: int

    @property
    def at_least(self) -> int:
        """The threshold as a number that may be compared, never averaged: beyond the limit counts as +5."""
        return self.limit_db_hl + 5 if self.threshold_db_hl is None else self.threshold_db_hl


@dataclass(frozen=True, slots=True)
class ThresholdPlan:
    """A child's threshold test so far. Begin with ``for_protocol``; ``take`` adds a finished search."""

    frequencies: tuple[int, ...]
    procedure: Procedure
    limit: int
    first_ear: str = EARS[0]
    found: tuple[Found, ...] = ()  # in order of testing, retests included

    @classmethod
    def for_protocol(cls, protocol: Protocol, *, first_ear: str = EARS[0]) -> ThresholdPlan:
        """The plan that a protocol asks for; ``first_ear`` the better ear where it is known.

        Raises ``Refused`` for an ear that is neither "right" nor "left".
        """
        if first_ear not in EARS:
            raise Refused("The first ear must be right or left.")
        procedure = PROCEDURES[protocol.threshold_procedure]
        return cls(protocol.threshold_frequencies, procedure, protocol.threshold_limit, first_ear)

    def search(self) -> ThresholdSearch | None:
        """A fresh search for the tone that is due, or None where the test is complete."""
        tone = self.next
        if tone is None:
            return None
        return ThresholdSearch.begin(tone.ear, tone.hz, limit=self.limit, procedure=self.procedure)

    def take(self, search: ThresholdSearch) -> ThresholdPlan:
        """The plan with one finished search; raises ``Refused`` while the search is open.

        A search that stayed unsettled adds nothing: its tone stays due, after instructing the child again.
        """
        if search.result is Result.OPEN:
            raise Refused("The search at this frequency is not finished.", kept="Its steps are kept.")
        if search.result is Result.UNSETTLED:
            return self
        one = Found(search.ear, search.hz, search.threshold, search.limit)
        return ThresholdPlan(self.frequencies, self.procedure, self.limit, self.first_ear, (*self.found, one))

    @property
    def next(self) -> Tone | None:
        """The tone that is due, or None where the test is complete."""
        for ear in self._ears():
            due = self._due_in(ear)
            if due is not None:
                return due
        return None

    @property
    def complete(self) -> bool:
        """Whether nothing is due."""
        return self.next is None

    @property
    def disagreed(self) -> tuple[tuple[str, int], ...]:
        """The tones (ear, hz) tested more than once of which no two tries agreed within 5 dB, in order of testing."""
        tones = dict.fromkeys((one.ear, one.hz) for one in self.found)
        return tuple((ear, hz) for ear, hz in tones if self._agreed(self._tries(ear, hz)) is None)

    def thresholds(self) -> dict[str, dict[int, Found]]:
        """The result that stands for every tone found, by ear and frequency in ascending order."""
        standing: dict[str, dict[int, Found]] = {}
        for ear in EARS:
            hertz = sorted({one.hz for one in self.found if one.ear == ear})
            if hertz:
                standing[ear] = {hz: self._standing(self._tries(ear, hz)) for hz in hertz}
        return standing

    def outcome(self, day: date) -> ThresholdOutcome:
        """What the referral rule is asked with."""
        plain: Mapping[str, Mapping[int, int | None]] = {
            ear: {hz: one.threshold_db_hl for hz, one in found.items()}
            for ear, found in self.thresholds().items()
        }
        return ThresholdOutcome(day, plain)

    def _ears(self) -> tuple[str, str]:
        return (self.first_ear, EARS[1] if self.first_ear == EARS[0] else EARS[0])

    def _due_in(self, ear: str) -> Tone | None:
        retest = self.procedure.retest_hz if ear == self.first_ear else None
        for hz in self._high_then_low():
            if hz == "retest":
                due = self._retest_due(ear, retest)
                if due is not None:
                    return due
            elif not self._tries(ear, int(hz)):
                return Tone(ear, int(hz), Purpose.ROUTINE)
        if self.procedure.between_octaves:
            return self._between_due(ear)
        return None

    def _high_then_low(self) -> list[int | str]:
        """The frequencies in the protocol's order, the retest before the first one below 1000 Hz."""
        pivot = self.procedure.retest_hz or 1000
        low = [hz for hz in self.frequencies if hz < pivot]
        return [*(hz for hz in self.frequencies if hz >= pivot), "retest", *low]

    def _retest_due(self, ear: str, hz: int | None) -> Tone | None:
        if hz is None or hz not in self.frequencies:
            return None
        tries = self._tries(ear, hz)
        if len(tries) == 1:
            return Tone(ear, hz, Purpose.RETEST)
        if len(tries) == 2 and self._agreed(tries) is None:
            return Tone(ear, hz, Purpose.REDO)
        return None

    def _between_due(self, ear: str) -> Tone | None:
        for (low, high), between in BETWEEN.items():
            below, above = self._tries(ear, low), self._tries(ear, high)
            if not below or not above or self._tries(ear, between):
                continue
            one, other = self._standing(below), self._standing(above)
            if _differ(one, other):
                return Tone(ear, between, Purpose.BETWEEN_OCTAVES)
        return None

    def _tries(self, ear: str, hz: int) -> tuple[Found, ...]:
        return tuple(one for one in self.found if one.ear == ear and one.hz == hz)

    @staticmethod
    def _agreed(tries: tuple[Found, ...]) -> Found | None:
        """The better of the two best tries that agree; the only one where there is one; else None."""
        if len(tries) == 1:
            return tries[0]
        ordered = sorted(tries, key=lambda one: one.at_least)
        for better, worse in pairwise(ordered):
            if worse.at_least - better.at_least <= AGREEMENT:
                return better
        return None

    @classmethod
    def _standing(cls, tries: tuple[Found, ...]) -> Found:
        """What stands of several tries: the better of those that agree, else the worst, for safety."""
        return cls._agreed(tries) or max(tries, key=lambda one: one.at_least)


def _differ(one: Found, other: Found) -> bool:
    """Whether neighbouring octaves differ enough; no response counts as the limit itself."""
    if one.threshold_db_hl is None and other.threshold_db_hl is None:
        return False
    low = one.limit_db_hl if one.threshold_db_hl is None else one.threshold_db_hl
    high = other.limit_db_hl if other.threshold_db_hl is None else other.threshold_db_hl
    return abs(low - high) >= OCTAVE_DIFFERENCE
