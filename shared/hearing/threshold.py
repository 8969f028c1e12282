"""The threshold search at one frequency of one ear: which level is next, and when the threshold is found.

Only the bracketing procedure of a single tone may live here; the order of tones is ``threshold_plan``'s. The
search is immutable and a pure function of its presentations (level, heard), so that it replays from a record.

The rule (ASHA Guidelines for Manual Pure-Tone Threshold Audiometry 2005 and ANSI S3.21-2004, second-hand and
from memory): down 10 dB after a response, up 5 after none; the threshold is the lowest level answered on at
least half of its ascending presentations, with at least two answers. Answers on the way down do not count;
the miss that ends a descent is the first presentation of the ascent. Two misses at the limit are no response
there: two answers out of three can no longer be had.

What to expect of it (exact arithmetic in tests/hearing/test_threshold_listeners.py): with 5 dB steps the found
threshold lies 2.2 to 2.9 dB above the level that the listener answers half of the time, averaged over where
that falls between two steps; its spread is at most 3.3 dB (3.6 where one tone in twenty is guessed).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from shared.errors import Refused
from shared.hearing.fields import on_grid

STEP_DOWN, STEP_UP = 10, 5
#: From here on the screener is warned before the tone is given, dB HL (a working rule from memory).
LOUD = 70


class SearchRefused(Refused):
    """The presentation has no place in the search; the search is unchanged."""


class Result(StrEnum):
    """How a search stands."""

    OPEN = "open"
    FOUND = "found"
    NO_RESPONSE = "no response at the limit"
    UNSETTLED = "too many presentations without a threshold"


@dataclass(frozen=True, slots=True)
class Procedure:
    """The figures of one published way to search, dB HL.

    ``answers`` at one level end it; ``floor_is_enough``: one response at the floor is the result.
    """

    name: str
    source: str
    start: int = 30
    after_first_miss: int = 50
    floor: int = -10
    answers: int = 2
    floor_is_enough: bool = False
    misses_at_limit: int = 2
    presentations: int = 40  # more than that: the child is re-instructed, no threshold is written down
    retest_hz: int | None = 1000
    between_octaves: bool = True


BRACKETING = Procedure(
    "bracketing",
    "ASHA Guidelines for Manual Pure-Tone Threshold Audiometry, 2005 (second-hand and from memory)",
)
EXTENDED_RECHECK = Procedure(
    "extended-recheck",
    "25 TAC 37.24(h): 40 dB HL first, none is recorded as >40, down in steps of 10 to 20 (read); "
    "up 5 after a miss (from memory)",
    start=40,
    after_first_miss=40,
    floor=20,
    answers=1,
    floor_is_enough=True,
    misses_at_limit=1,
    retest_hz=None,
    between_octaves=False,
)
PROCEDURES = {procedure.name: procedure for procedure in (BRACKETING, EXTENDED_RECHECK)}


@dataclass(frozen=True, slots=True)
class Presentation:
    """One tone given. ``counts``: it belongs to an ascent."""

    level_db_hl: int
    heard: bool
    counts: bool


@dataclass(frozen=True, slots=True)
class ThresholdSearch:
    """The search at one frequency of one ear so far. Make it with ``begin``, move it with ``take``."""

    ear: str
    hz: int
    limit: int = 100  # the highest level that may be given, dB HL
    procedure: Procedure = BRACKETING
    presentations: tuple[Presentation, ...] = ()

    @classmethod
    def begin(
        cls, ear: str, hz: int, *, limit: int = 100, procedure: Procedure = BRACKETING
    ) -> ThresholdSearch:
        """A fresh search; ``limit`` is the highest level that the screener may give, dB HL."""
        if not on_grid(limit) or limit < procedure.floor:
            raise SearchRefused("The limit is not a level that this search can use.")
        return cls(ear, hz, limit, procedure)

    @classmethod
    def replay(
        cls,
        ear: str,
        hz: int,
        steps: Iterable[tuple[int, bool]],
        *,
        limit: int = 100,
        procedure: Procedure = BRACKETING,
    ) -> ThresholdSearch:
        """The search after these (level, heard) presentations; raises ``SearchRefused``."""
        search = cls.begin(ear, hz, limit=limit, procedure=procedure)
        for level, heard in steps:
            search = search.take(heard, level=level)
        return search

    def take(self, heard: bool, *, level: int | None = None) -> ThresholdSearch:
        """The search after one more presentation, at the proposed level or at the one really given.

        A screener may depart from the proposal (a later start, a level repeated); what counts is worked out
        from the levels given. Raises ``SearchRefused`` for a level off the grid, above the limit or below the
        floor, and once the search is over.
        """
        proposed = self.level
        if proposed is None:
            raise SearchRefused("The search at this frequency is over.", kept="Its result is kept.")
        given = proposed if level is None else level
        if not on_grid(given) or not self.procedure.floor <= given <= self.limit:
            raise SearchRefused(
                f"{given} dB HL cannot be given here: levels go in steps of 5 "
                f"from {self.procedure.floor} to {self.limit} dB HL."
            )
        step = Presentation(given, heard, self._counts(given, heard))
        return ThresholdSearch(self.ear, self.hz, self.limit, self.procedure, (*self.presentations, step))

    def undo(self) -> ThresholdSearch:
        """The search without its last presentation; raises ``SearchRefused`` where there is none."""
        if not self.presentations:
            raise SearchRefused("There is nothing to take back.")
        return ThresholdSearch(self.ear, self.hz, self.limit, self.procedure, self.presentations[:-1])

    @property
    def level(self) -> int | None:
        """The level to give next, dB HL; None once the search is over."""
        if self.result is not Result.OPEN:
            return None
        if not self.presentations:
            return min(self.procedure.start, self.limit)
        last = self.presentations[-1]
        if last.heard:
            return max(last.level_db_hl - STEP_DOWN, self.procedure.floor)
        if self._familiar:
            return min(last.level_db_hl + STEP_UP, self.limit)
        if len(self.presentations) == 1:
            return min(max(self.procedure.after_first_miss, last.level_db_hl + STEP_UP), self.limit)
        return min(last.level_db_hl + STEP_DOWN, self.limit)

    @property
    def loud(self) -> bool:
        """Whether the next level asks for a warning first."""
        return self.level is not None and self.level >= LOUD

    @property
    def result(self) -> Result:
        """How the search stands."""
        if self.threshold is not None:
            return Result.FOUND
        if self._silent_at_limit:
            return Result.NO_RESPONSE
        if len(self.presentations) >= self.procedure.presentations:
            return Result.UNSETTLED
        return Result.OPEN

    @property
    def threshold(self) -> int | None:
        """The threshold in dB HL; None while open, unsettled, or with no response at the limit."""
        if self.procedure.floor_is_enough and any(
            step.heard and step.level_db_hl == self.procedure.floor for step in self.presentations
        ):
            return self.procedure.floor
        for level in sorted({step.level_db_hl for step in self.presentations if step.counts}):
            heard, given = self.tally(level)
            if heard >= self.procedure.answers and 2 * heard >= given:
                return level
        return None

    def tally(self, level: int) -> tuple[int, int]:
        """(answered, given) over the ascending presentations at a level, dB HL."""
        counted = [step.heard for step in self.presentations if step.counts and step.level_db_hl == level]
        return sum(counted), len(counted)

    @property
    def _familiar(self) -> bool:
        """Whether the child has answered once: before that no presentation counts."""
        return any(step.heard for step in self.presentations)

    def _counts(self, level: int, heard: bool) -> bool:
        if not self._familiar:
            return False
        return not heard or level >= self.presentations[-1].level_db_hl

    @property
    def _silent_at_limit(self) -> bool:
        at_limit = [step for step in self.presentations if step.level_db_hl == self.limit and not step.heard]
        if not self._familiar:
            return bool(at_limit)
        counted = sum(step.counts for step in at_limit)
        return counted >= self.procedure.misses_at_limit and not self.presentations[-1].heard


_STEP = re.compile(r"(-?\d{1,3})([+-])")


def parse_steps(text: str) -> tuple[tuple[int, bool], ...]:
    """(level, heard) out of a script's "30+ 20+ 10-"; raises ``SearchRefused`` where it reads otherwise."""
    steps: list[tuple[int, bool]] = []
    for word in text.split():
        match = _STEP.fullmatch(word)
        if match is None:
            raise SearchRefused("A threshold step must read like 30+ (heard) or 30- (not heard).")
        steps.append((int(match[1]), match[2] == "+"))
    return tuple(steps)
