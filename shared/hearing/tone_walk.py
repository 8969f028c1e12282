"""The tone walk of one child: which tone is next, and when the walk is over.

Only the walk's states, its transition table and what follows from a list of actions may live here; what the
outcome means for the child is ``followup``'s, what the tones are is ``protocol``'s. A walk is immutable and
always the replay of its actions: undo is a replay of all actions but the last.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from shared.errors import Refused
from shared.hearing.protocol import Protocol


class WalkRefused(Refused):
    """The action has no place in the walk's present state; the walk is unchanged."""


class Action(StrEnum):
    """What a screener can say; the values are the letters of a script line's ``answers``."""

    HEARD = "+"
    NO_RESPONSE = "-"
    RESEAT = "/"


class WalkState(StrEnum):
    """Where a walk is."""

    WALKING = "walking"  # first walk, a tone is due
    RESEAT_DUE = "reseat-due"  # first walk complete with a failing miss count: reseat and walk again
    WALKING_AGAIN = "walking-again"  # second walk, a tone is due
    DONE = "done"


class _Event(StrEnum):
    """What an action amounts to, seen with the misses so far."""

    TONE_LEFT = "answered, tones left"
    COMPLETE_PASSING = "last tone answered, too few misses to fail"
    COMPLETE_FAILING = "last tone answered, enough misses to fail"
    COMPLETE_FAILING_RETEST = "as before, and the protocol retests in the same session"
    RESEATED = "earphones reseated"


# The whole machine. A pair that is not in the table is refused.
_TRANSITIONS: dict[tuple[WalkState, _Event], WalkState] = {
    (WalkState.WALKING, _Event.TONE_LEFT): WalkState.WALKING,
    (WalkState.WALKING, _Event.COMPLETE_PASSING): WalkState.DONE,
    (WalkState.WALKING, _Event.COMPLETE_FAILING): WalkState.DONE,
    (WalkState.WALKING, _Event.COMPLETE_FAILING_RETEST): WalkState.RESEAT_DUE,
    (WalkState.WALKING, _Event.RESEATED): WalkState.WALKING_AGAIN,
    (WalkState.RESEAT_DUE, _Event.RESEATED): WalkState.WALKING_AGAIN,
    (WalkState.WALKING_AGAIN, _Event.TONE_LEFT): WalkState.WALKING_AGAIN,
    (WalkState.WALKING_AGAIN, _Event.COMPLETE_PASSING): WalkState.DONE,
    (WalkState.WALKING_AGAIN, _Event.COMPLETE_FAILING): WalkState.DONE,
}

_REFUSALS = {
    WalkState.RESEAT_DUE: "All tones are answered; reseat the earphones and walk again, or finish.",
    WalkState.WALKING_AGAIN: "The earphones were reseated once already in this session.",
    WalkState.DONE: "The walk is complete.",
}


@dataclass(frozen=True, slots=True)
class Step:
    """The tone that is due: ``index`` counts from 0 within ``walk`` (1 first, 2 after reseating)."""

    index: int
    ear: str
    hz: int
    level_db_hl: int
    walk: int


class ToneAnswer(NamedTuple):
    """One tone answered."""

    ear: str
    hz: int
    level_db_hl: int
    heard: bool
    walk: int


@dataclass(frozen=True, slots=True)
class ToneWalk:
    """One child's walk so far. Make it with ``begin`` or ``replay``, move it with ``take``."""

    protocol: Protocol
    tones: tuple[tuple[str, int, int], ...]  # (ear, hz, level) in walk order
    state: WalkState = WalkState.WALKING
    actions: tuple[Action, ...] = ()
    answers: tuple[ToneAnswer, ...] = ()  # of both walks, in order
    reseated: bool = False

    @classmethod
    def begin(
        cls, protocol: Protocol, *, grade: str = "", permitted: int = 20, drop: Iterable[int] = ()
    ) -> ToneWalk:
        """A fresh walk at the levels of this grade and of the readiness check's permitted level (dB HL).

        ``drop`` names frequencies that the readiness check ruled out for the day (a noisy 500 Hz).
        """
        dropped = frozenset(drop)
        tones = tuple(
            (ear, hz, protocol.level(hz, grade=grade, permitted=permitted))
            for ear, hz in protocol.steps()
            if hz not in dropped
        )
        return cls(protocol, tones)

    @classmethod
    def replay(
        cls,
        protocol: Protocol,
        actions: Iterable[Action],
        *,
        grade: str = "",
        permitted: int = 20,
        drop: Iterable[int] = (),
    ) -> ToneWalk:
        """The walk after these actions; raises ``WalkRefused`` at the first that has no place."""
        walk = cls.begin(protocol, grade=grade, permitted=permitted, drop=drop)
        for action in actions:
            walk = walk.take(action)
        return walk

    def take(self, action: Action) -> ToneWalk:
        """The walk after one more action; raises ``WalkRefused`` where the table has no row for it."""
        answers = self.answers
        step = self.step
        if action is not Action.RESEAT and step is not None:
            heard = action is Action.HEARD
            answers = (*answers, ToneAnswer(step.ear, step.hz, step.level_db_hl, heard, step.walk))
        state = _TRANSITIONS.get((self.state, self._event(action, answers)))
        if state is None:
            raise WalkRefused(
                _REFUSALS.get(self.state, "This answer has no place here."),
                kept="All answers so far are kept.",
            )
        reseated = self.reseated or action is Action.RESEAT
        return ToneWalk(self.protocol, self.tones, state, (*self.actions, action), answers, reseated)

    def undo(self) -> ToneWalk:
        """The walk without its last action; raises ``WalkRefused`` where there is none."""
        if not self.actions:
            raise WalkRefused("There is nothing to take back.")
        walk = ToneWalk(self.protocol, self.tones)
        for action in self.actions[:-1]:
            walk = walk.take(action)
        return walk

    @property
    def step(self) -> Step | None:
        """The tone that is due, or None where none is."""
        if self.state not in (WalkState.WALKING, WalkState.WALKING_AGAIN):
            return None
        index = len(self._of_walk(self.walk, self.answers))
        ear, hz, level = self.tones[index]
        return Step(index, ear, hz, level, self.walk)

    @property
    def walk(self) -> int:
        """1 for the first walk, 2 once the earphones were reseated."""
        return 2 if self.reseated else 1

    @property
    def missed(self) -> tuple[tuple[str, int], ...]:
        """(ear, hz) without response in the present walk, which is the deciding one once done."""
        return tuple((a.ear, a.hz) for a in self._of_walk(self.walk, self.answers) if not a.heard)

    @property
    def passed(self) -> bool | None:
        """Whether the deciding walk passed; None until the walk is done."""
        if self.state is not WalkState.DONE:
            return None
        return len(self.missed) < self.protocol.misses_to_fail

    @property
    def may_finish(self) -> bool:
        """Whether the screening may be closed: done, or a retest due and left out (which is no pass)."""
        return self.state in (WalkState.DONE, WalkState.RESEAT_DUE)

    def _event(self, action: Action, answers: tuple[ToneAnswer, ...]) -> _Event:
        if action is Action.RESEAT:
            return _Event.RESEATED
        of_walk = self._of_walk(self.walk, answers)
        if len(of_walk) < len(self.tones):
            return _Event.TONE_LEFT
        if sum(not answer.heard for answer in of_walk) < self.protocol.misses_to_fail:
            return _Event.COMPLETE_PASSING
        if self.protocol.retest_same_session and not self.reseated:
            return _Event.COMPLETE_FAILING_RETEST
        return _Event.COMPLETE_FAILING

    @staticmethod
    def _of_walk(walk: int, answers: tuple[ToneAnswer, ...]) -> tuple[ToneAnswer, ...]:
        return tuple(answer for answer in answers if answer.walk == walk)
