"""The referral rule: which thresholds, in which pattern, on how many tests, mean a referral.

Only the rule and its arithmetic may live here. A rule is data of a protocol; it says nothing of causes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from shared.hearing.fields import EARS, Fields


@dataclass(frozen=True, slots=True)
class ThresholdOutcome:
    """One finished threshold test: by ear and frequency (Hz) the threshold in dB HL, None for no response."""

    day: date
    thresholds: Mapping[str, Mapping[int, int | None]]
    disagreed: tuple[tuple[str, int], ...] = ()  # (ear, hz) whose retests did not agree: not reliable


@dataclass(frozen=True, slots=True)
class ReferralRule:
    """When thresholds mean a referral. Every line is "on or beyond", dB HL; no response is beyond any line.

    In one ear: ``count`` of the ``count_of`` frequencies on or beyond their ``lines`` (``count`` 0: not
    used); or both frequencies of any of the ``pairs`` on or beyond their lines; or any one frequency at
    ``single_line`` or beyond. It must be so on ``tests`` tests, each at least ``days_apart`` days after the
    one counted before it.
    """

    lines: Mapping[int, int]
    count: int = 0
    count_of: tuple[int, ...] = ()
    pairs: tuple[tuple[int, int], ...] = ()
    single_line: int | None = None
    tests: int = 1
    days_apart: int = 0

    @classmethod
    def read(cls, fields: Fields) -> ReferralRule:
        """The rule out of a protocol's data; refuses with the field named."""
        fields.only(("lines", "count", "count_of", "pairs", "single_line", "tests", "days_apart"))
        lines = fields.levels_by_hz("lines", {})
        count = fields.whole("count", 0, low=0, high=8)
        count_of = fields.frequencies("count_of", tuple(sorted(lines)) if count else ())
        pairs = _read_pairs(fields, lines)
        single_line = fields.maybe_level("single_line")
        if not (count or pairs or single_line is not None):
            raise fields.refused("count", "or 'pairs' or 'single_line' must say what refers")
        if count and (len(count_of) < count or not set(count_of) <= set(lines)):
            raise fields.refused("count_of", "must name at least 'count' frequencies, each with a line")
        tests = fields.whole("tests", 1, low=1, high=4)
        days_apart = fields.whole("days_apart", 0, low=0, high=366)
        return cls(lines, count, count_of, pairs, single_line, tests, days_apart)

    def to_dict(self) -> dict[str, Any]:
        """The rule as JSON-ready data."""
        return {
            "lines": {str(hz): level for hz, level in self.lines.items()},
            "count": self.count,
            "count_of": list(self.count_of),
            "pairs": [list(pair) for pair in self.pairs],
            "single_line": self.single_line,
            "tests": self.tests,
            "days_apart": self.days_apart,
        }

    def met_by(self, thresholds: Mapping[str, Mapping[int, int | None]]) -> tuple[str, ...]:
        """In words, what of one test's thresholds meets the rule; empty where nothing does."""
        found: list[str] = []
        for ear in EARS:
            found += self._met_in_ear(ear, thresholds.get(ear, {}))
        return tuple(found)

    def lacking(self, thresholds: Mapping[str, Mapping[int, int | None]]) -> tuple[str, ...]:
        """The ears and frequencies without which a test that meets nothing proves nothing, in words."""
        gaps = []
        for ear in EARS:
            missing = [hz for hz in sorted(self.lines) if hz not in thresholds.get(ear, {})]
            if missing:
                gaps.append(f"{ear} ear {_hertz(missing)}")
        return tuple(gaps)

    def judge(self, outcomes: Sequence[ThresholdOutcome]) -> Verdict:
        """What the rule says to all threshold tests of one child.

        Tests of one day count as one, the worse threshold standing where one was found twice; one whose tries did
        not agree gives way to one that can be relied upon (a child is then instructed anew and tested again: ASHA
        2005, from memory), and to nothing else. A test too soon after the one before neither counts nor clears. A
        test that meets the rule stays counted: a later one that does not meet it leaves no repeat due, and only a
        person takes back a referral.
        """
        counted: list[tuple[date, tuple[str, ...]]] = []
        last = Verdict(Ruling.UNTESTED, (), None)
        for day, thresholds in _by_day(outcomes):
            met = self.met_by(thresholds)
            too_soon = bool(counted) and (day - counted[-1][0]).days < self.days_apart
            if met and not too_soon:
                counted.append((day, met))
                repeat_from = day + timedelta(days=self.days_apart)
                last = Verdict(Ruling.REPEAT, met, repeat_from)
            elif not met and not too_soon:
                gaps = self.lacking(thresholds)
                last = Verdict(Ruling.INCOMPLETE, gaps, None) if gaps else Verdict(Ruling.CLEAR, (), None)
            if len(counted) == self.tests:
                return Verdict(Ruling.REFER, counted[-1][1], None)
        return last

    def _met_in_ear(self, ear: str, found: Mapping[int, int | None]) -> list[str]:
        words: list[str] = []
        beyond = [hz for hz in self.count_of if hz in found and _on_or_beyond(found[hz], self.lines[hz])]
        if self.count and len(beyond) >= self.count:
            words.append(f"{ear} ear on or beyond the line at {_hertz(beyond)}")
        for low, high in self.pairs:
            if all(hz in found and _on_or_beyond(found[hz], self.lines[hz]) for hz in (low, high)):
                words.append(f"{ear} ear on or beyond the line at both {low} and {high} Hz")
        if self.single_line is not None:
            alone = [hz for hz in sorted(found) if _on_or_beyond(found[hz], self.single_line)]
            if alone:
                words.append(f"{ear} ear at {self.single_line} dB HL or beyond at {_hertz(alone)}")
        return words


class Ruling(StrEnum):
    """What a referral rule can say to a child's threshold tests."""

    UNTESTED = "no threshold test"
    INCOMPLETE = "meets nothing so far, but tones are missing"
    CLEAR = "meets nothing"
    REPEAT = "met, to be met again on another test"
    REFER = "met on as many tests as it asks for"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rule says; ``why`` in words; ``repeat_from`` the first day of the repeated test, if any."""

    ruling: Ruling
    why: tuple[str, ...]
    repeat_from: date | None


def _by_day(
    outcomes: Sequence[ThresholdOutcome],
) -> list[tuple[date, dict[str, dict[int, int | None]]]]:
    days: dict[date, list[ThresholdOutcome]] = {}
    for outcome in outcomes:
        days.setdefault(outcome.day, []).append(outcome)
    return [(day, _merged(of_day)) for day, of_day in sorted(days.items())]


def not_reliable(outcomes: Sequence[ThresholdOutcome]) -> tuple[tuple[str, int], ...]:
    """The (ear, hz) whose tries did not agree, and which no other test of the same day found in a way to rely upon."""
    sound = {
        (outcome.day, ear, hz)
        for outcome in outcomes
        for ear, found in outcome.thresholds.items()
        for hz in found
        if (ear, hz) not in outcome.disagreed
    }
    tones = ((outcome.day, ear, hz) for outcome in outcomes for ear, hz in outcome.disagreed)
    return tuple(dict.fromkeys((ear, hz) for day, ear, hz in tones if (day, ear, hz) not in sound))


def _merged(outcomes: Sequence[ThresholdOutcome]) -> dict[str, dict[int, int | None]]:
    """The thresholds of one day, by ear and frequency."""
    reliable: dict[str, dict[int, int | None]] = {}
    doubtful: dict[str, dict[int, int | None]] = {}
    for outcome in outcomes:
        for ear, found in outcome.thresholds.items():
            for hz, level in found.items():
                of_ear = (doubtful if (ear, hz) in outcome.disagreed else reliable).setdefault(ear, {})
                of_ear[hz] = _worse(of_ear[hz], level) if hz in of_ear else level
    return {ear: doubtful.get(ear, {}) | reliable.get(ear, {}) for ear in (*reliable, *doubtful)}


def _worse(one: int | None, other: int | None) -> int | None:
    return None if one is None or other is None else max(one, other)


def _on_or_beyond(threshold: int | None, line: int) -> bool:
    return threshold is None or threshold >= line


def _hertz(frequencies: Sequence[int]) -> str:
    return ", ".join(map(str, frequencies)) + " Hz"


def _read_pairs(fields: Fields, lines: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    pairs = fields.raw("pairs", ())
    if not isinstance(pairs, list | tuple):
        raise fields.refused("pairs", "must be a list of pairs of frequencies")
    read: list[tuple[int, int]] = []
    for pair in pairs:
        if not isinstance(pair, list | tuple) or len(pair) != 2 or not all(hz in lines for hz in pair):
            raise fields.refused("pairs", "must be pairs of frequencies, each with a line")
        read.append((pair[0], pair[1]))
    return tuple(read)
