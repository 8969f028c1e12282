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

Children who missed a tone at an earlier screening miss more often: of 46 % who failed a first screening, 24 %
failed again (1,462 children of 3 and 4 years, a published abstract, second-hand); a tone is taken at 30 %. Counted
as all others, they would raise an alarm on an ordinary rescreen day. So a score rises and falls by other steps
where such a child is walked, as in a risk-adjusted CUSUM (from memory). A day of nothing but rescreens gives:

| stream | expected then | up / down | apart | mean delay |
| --- | --- | --- | --- | --- |
| each ear and frequency | 30 % | 3 / 3 | 20,900 | dead 10; rate 75 %: 19.0 |
| the room | 15 % | 4 / 2 | 12,559 | rate 60 %: 14.4 |
| the level | 50 % | 1 / 2 | over 4,000,000 | rate 80 %: 66.3; every child: 28 |

All streams together: at least 2,000 children between false alarms for up to five frequencies an ear (900 where all
are rescreened), however the misses of one child hang together (a union bound over the exact run-length
distributions). The expected rates are planning figures from memory (first-screen fail 5 to 15 % of children). Where
the children really miss more, false alarms come sooner: a tone at 7 %: 7,708 children apart, at 8 %: 3,374; the
level at 20 %: 1,962.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, log

from shared.hearing.fields import EARS


@dataclass(frozen=True, slots=True)
class Steps:
    """Of one group of children: the expected share of misses, the rise on a miss, the fall otherwise."""

    expected: float
    up: int
    down: int


@dataclass(frozen=True, slots=True)
class Stream:
    """The design of one stream: its steps for most children, for those who missed before, the score that raises."""

    most: Steps
    missed_before: Steps
    alarm: int

    def steps(self, missed_before: bool) -> Steps:
        """The steps for a child."""
        return self.missed_before if missed_before else self.most


TONE = Stream(Steps(0.05, 6, 1), Steps(0.30, 3, 3), alarm=30)
ROOM = Stream(Steps(0.02, 8, 1), Steps(0.15, 4, 2), alarm=24)
LEVEL = Stream(Steps(0.15, 3, 1), Steps(0.50, 1, 2), alarm=28)


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
    """One child's first walk: (ear, hz) -> heard. A walk after reseating is not taken in.

    ``missed_before``: the child missed a tone at an earlier screening.
    """

    child: str
    heard: Mapping[tuple[str, int], bool]
    missed_before: bool = False


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

    def take(self, missed: bool, number: int, missed_before: bool) -> _Score:
        steps = self.design.steps(missed_before)
        if missed:
            return _Score(self.design, self.score + steps.up, self.began if self.score else number)
        return _Score(self.design, max(0, self.score - steps.down), self.began)

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
            scores[key] = scores[key].take(missed, number, walk.missed_before)
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
        design = self.scores[self.tones[0]].design
        walks = [walk for _, walk in self.recent]
        best_gain, first, best = -inf, 0, self._faults()[-1]
        for fault in self._faults():
            gain, start = _likeliest_start(walks, fault.parts, design)
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
    walks: Sequence[FirstWalk], parts: Sequence[tuple[Tone, ...]], design: Stream
) -> tuple[float, int]:
    """(gain, index of the first walk) where misses in all these parts most likely began to rise.

    The gain is the log-likelihood ratio of the misses from there on, at their own share against the expected one,
    of each group of children by itself, and nothing where a group misses no more than expected. Every part must
    miss its share.
    """
    best, first = 0.0, 0
    misses, given = [0] * len(parts), [0] * len(parts)
    groups = {False: (0, 0), True: (0, 0)}  # missed before -> (misses, answers)
    for index in range(len(walks) - 1, -1, -1):
        walk = walks[index]
        for number, tones in enumerate(parts):
            answers = [walk.heard[tone] for tone in tones if tone in walk.heard]
            missed, asked = groups[walk.missed_before]
            groups[walk.missed_before] = (missed + answers.count(False), asked + len(answers))
            misses[number] += answers.count(False)
            given[number] += len(answers)
        gain = sum(_gain(*counts, design.steps(before).expected) for before, counts in groups.items())
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
