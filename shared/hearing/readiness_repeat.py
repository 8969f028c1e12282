"""The short way of a readiness check: what the station watch asks about is done again, the rest is carried over.

Only which steps an alarm asks for, and the facts without them, may live here. That the watch's question is answered
by these steps is common practice, no source: an earphone or one tone by listening, a room by thresholds found in it,
a drifting level by both.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace

from shared.hearing.readiness_facts import ReadinessFacts
from shared.hearing.station_watch import Suspect

ASKED: dict[str, tuple[str, ...]] = {
    Suspect.TONE: ("listening",),
    Suspect.EARPHONE: ("listening",),
    Suspect.ROOM: ("level",),
    Suspect.LEVEL: ("listening", "level"),
}

#: The facts that each step of the check asks for; a step that is done again gives all of its own anew.
FACTS_OF: dict[str, tuple[str, ...]] = {
    "equipment": ("audiometer", "earphones"),
    "calibration": ("calibrated",),
    "inspection": ("inspection",),
    "tone-off": ("tone_normally_off",),
    "listening": ("listening", "not_clean"),
    "same-ear": ("same_ear",),
    "level": ("own_thresholds", "listener"),
    "noise": ("noise", "noise_set"),
}


def asked_steps(suspect: str) -> tuple[str, ...]:
    """The steps that an alarm asks for, in the order of the check; all of them for a suspect that is not known."""
    return ASKED.get(suspect, tuple(FACTS_OF))


def without(facts: ReadinessFacts, steps: Iterable[str]) -> ReadinessFacts:
    """The facts of a passed check with those of ``steps`` (keys of ``FACTS_OF``) taken out."""
    empty = ReadinessFacts()
    dropped = {name for step in steps for name in FACTS_OF[step]}
    return replace(facts, **{f.name: getattr(empty, f.name) for f in fields(facts) if f.name in dropped})
