"""The station watch: the statistics that notice a failing earphone, a noisy room or a drifting level.

Only the sequential test and its attribution may live here. The watch is immutable: one child's first walk
after the other is taken in, and it is begun anew by every passed readiness check.

The test is the Bernoulli CUSUM (Page 1954; for proportions Reynolds and Stoumbos 1999, both from memory): a
stream's score rises by ``up`` on a miss, falls by 1 otherwise, never below 0, and raises at ``alarm``. With
whole numbers the score is a finite Markov chain, so that run lengths are exact; the tests compute them. What
the defaults give, in children ("apart": mean number of children between false alarms):

| stream | counts | expected | up / alarm | apart | mean delay |
| --- | --- | --- | --- | --- | --- |
| each ear and frequency | a miss | 5 % | 6 / 30 | 66,269 | dead 5; rate 25 %: 37.0; 50 %: 12.5 |
| the room | lowest frequency missed in both ears | 2 % | 8 / 24 | 31,574 | rate 20 %: 26.8; 30 %: 14.4 |
| the level | any miss of a child | 15 % | 3 / 28 | 56,144 | rate 40 %: 44.2; 50 %: 27.6 |

All streams together: at least 2,000 children between false alarms for up to five frequencies an ear, however
the misses of one child hang together (a union bound over the exact run-length distributions). The expected
rates are planning figures from memory (first-screen fail 5 to 15 % of children). Where the children really miss
more, false alarms come sooner: a tone at 7 %: 7,708 children apart, at 8 %: 3,374; the level at 20 %: 1,962.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, log

from shared.hearing.fields import EARS


@dataclass(frozen=True, slots=True)
class Stream:
    """The design of one stream: expected share of misses, rise on a miss, score that raises."""

    expected: float
    up: int
    alarm: int


TONE = Stream(expected=0.05, up=6, alarm=30)
ROOM = Stream(expected=0.02, up=8, alarm=24)
LEVEL = Stream(expected=0.15, up=3, alarm=28)


#: A fault of several parts must show in each: at least this times the pooled share of misses.
EVEN = 0.7


class Suspect(StrEnum):
    """What an alarm asks to look at."""

    TONE = "tone"  # one ear and frequency
    EARPHONE = "earphone"  # a whole ear
    ROOM = "room"
    LEVEL = "level"


@dataclass(frozen=True, slots=True)
class FirstWalk:
    """One child's first walk: (ear, hz) -> heard. A walk after reseating is not taken in."""

    child: str
    heard: Mapping[tuple[str, int], bool]


@dataclass(frozen=True, slots=True)
class Alarm:
    """What was noticed. ``children``: all screened since the change most likely began, oldest first."""

    suspect: Suspect
    ear: str  # empty for room and level
    hz: int | None  # None for a whole earphone and the level
    children: tuple[str, ...]
    missed: tuple[str, ...]  # those of the children who missed a suspect tone: to be walked again first

    @property
    def since(self) -> str:
        """The first child screened since the change most likely began."""
        return self.children[0]

    def words(self) -> str:
        """What to do, for the screener."""
        if self.suspect is Suspect.TONE:
            return f"Repeat the listening check: {self.ear}, {self.hz} Hz."
        if self.suspect is Suspect.EARPHONE:
            return f"Repeat the listening check: {self.ear} earphone, all frequencies."
        if self.suspect is Suspect.ROOM:
            return f"Check the room: {self.hz} Hz is missed in both ears."
        return "Check the level: misses are rising at every frequency."


@dataclass(frozen=True, slots=True)
class _Score:
    """One stream's present score and the number of the child that it last rose from zero with."""

    design: Stream
    score: int = 0
    began: int = 0

    def take(self, missed: bool, number: int) -> _Score:
        if missed:
            return _Score(self.design, self.score + self.design.up, self.began if self.score else number)
        return _Score(self.design, max(0, self.score - 1), self.began)

    @property
    def raised(self) -> bool:
        return self.score >= self.design.alarm


Tone = tuple[str, int]
_ROOM_KEY, _LEVEL_KEY = ("room", 0), ("level", 0)


@dataclass(frozen=True, slots=True)
class StationWatch:
    """The watch over one station since its last passed readiness check."""

    tones: tuple[Tone, ...]
    scores: Mapping[Tone, _Score]
    recent: tuple[tuple[int, FirstWalk], ...] = ()  # since the oldest score that is not zero
    taken: int = 0
    alarm: Alarm | None = None

    @classmethod
    def begin(
        cls, tones: Iterable[Tone], *, tone: Stream = TONE, room: Stream = ROOM, level: Stream = LEVEL
    ) -> StationWatch:
        """A fresh watch over these (ear, hz) tones, usually ``protocol.steps()``."""
        watched = tuple(tones)
        scores = {each: _Score(tone) for each in watched}
        return cls(watched, {**scores, _ROOM_KEY: _Score(room), _LEVEL_KEY: _Score(level)})

    def take(self, walk: FirstWalk) -> StationWatch:
        """The watch after one more child. An alarm, once raised, stands until the watch is begun anew."""
        number = self.taken + 1
        scores = dict(self.scores)
        for key, missed in self._events(walk).items():
            scores[key] = scores[key].take(missed, number)
        oldest = min((score.began for score in scores.values() if score.score), default=number + 1)
        recent = tuple(each for each in (*self.recent, (number, walk)) if each[0] >= oldest)
        watch = replace(self, scores=scores, recent=recent, taken=number)
        if self.alarm is not None:
            return watch
        if not any(score.raised for score in scores.values()):
            return watch
        return replace(watch, alarm=watch._attributed())

    def score(self, ear: str, hz: int) -> int:
        """The present score of one tone."""
        return self.scores[(ear, hz)].score

    @property
    def lowest(self) -> int:
        """The lowest frequency walked, Hz: the first one that a noisy room takes away."""
        return min(hz for _, hz in self.tones)

    def _events(self, walk: FirstWalk) -> dict[Tone, bool]:
        """Which streams this child counts in, and whether it is a miss there."""
        events = {tone: not walk.heard[tone] for tone in self.tones if tone in walk.heard}
        lows = [events[tone] for tone in ((ear, self.lowest) for ear in EARS) if tone in events]
        if len(lows) == len(EARS):
            events[_ROOM_KEY] = all(lows)
        if any(events.values()) or len(walk.heard) >= len(self.tones):
            events[_LEVEL_KEY] = any(events.values())
        return events

    def _attributed(self) -> Alarm:
        """Name the suspect, and the child it began with, whose misses the expected rate explains worst."""
        expected = self.scores[self.tones[0]].design.expected
        walks = [walk for _, walk in self.recent]
        best_gain, first, best = -inf, 0, self._faults()[-1]
        for fault in self._faults():
            gain, start = _likeliest_start(walks, fault.parts, expected)
            if gain > best_gain:
                best_gain, first, best = gain, start, fault
        since = walks[first:]
        tones = [tone for part in best.parts for tone in part]
        missed = tuple(walk.child for walk in since if any(not walk.heard.get(tone, True) for tone in tones))
        return Alarm(best.suspect, best.ear, best.hz, tuple(walk.child for walk in since), missed)

    def _faults(self) -> tuple[_Fault, ...]:
        """Every fault that could be named, the narrowest first."""
        of_ear = {ear: tuple(tone for tone in self.tones if tone[0] == ear) for ear in EARS}
        tones = [_Fault(Suspect.TONE, ear, hz, (((ear, hz),),)) for ear, hz in self.tones]
        earphones = [
            _Fault(Suspect.EARPHONE, ear, None, tuple((tone,) for tone in of_ear[ear])) for ear in EARS
        ]
        lows = tuple((tone,) for tone in self.tones if tone[1] == self.lowest)
        room = _Fault(Suspect.ROOM, "", self.lowest, lows)
        level = _Fault(Suspect.LEVEL, "", None, tuple(of_ear.values()))
        return (*tones, *earphones, room, level)


@dataclass(frozen=True, slots=True)
class _Fault:
    """A fault and the parts in which its misses must all show: one loud part does not make a wide fault."""

    suspect: Suspect
    ear: str
    hz: int | None
    parts: tuple[tuple[Tone, ...], ...]


def _likeliest_start(
    walks: Sequence[FirstWalk], parts: Sequence[tuple[Tone, ...]], expected: float
) -> tuple[float, int]:
    """(gain, index of the first walk) where misses in all these parts most likely began to rise.

    A part's gain is the log-likelihood ratio of its misses from there on, at their own share against the
    expected one, and nothing where it misses no more than expected; the weakest part stands for all of them.
    """
    best, first = 0.0, 0
    misses, given = [0] * len(parts), [0] * len(parts)
    for index in range(len(walks) - 1, -1, -1):
        for number, tones in enumerate(parts):
            answers = [walks[index].heard[tone] for tone in tones if tone in walks[index].heard]
            misses[number] += answers.count(False)
            given[number] += len(answers)
        gain = _gain(sum(misses), sum(given), expected)
        if gain > best and _even(misses, given):
            best, first = gain, index
    return best, first


def _even(misses: Sequence[int], given: Sequence[int]) -> bool:
    """Whether every part misses at least ``EVEN`` times the pooled share."""
    share = sum(misses) / sum(given)
    return all(of_part >= EVEN * share * asked for of_part, asked in zip(misses, given, strict=True))


def _gain(misses: int, given: int, expected: float) -> float:
    if misses <= expected * given:
        return 0.0
    share = misses / given
    heard = given - misses
    return misses * log(share / expected) + (heard * log((1 - share) / (1 - expected)) if heard else 0.0)
