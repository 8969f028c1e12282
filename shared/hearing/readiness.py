"""Readiness: whether a station is fit to test, and at which level.

Only the rules of the readiness check may live here. A station that has not passed offers no child.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from shared.hearing.fields import EARS, Fields
from shared.hearing.protocol import Protocol

#: Common practice, no source: the listening check is walked at this level, dB HL.
LISTENING_LEVEL = 50
#: A known-normal listener must reach this many dB below the screening level at every frequency (a state
#: health department's training page on room noise: 10 for 20, 15 for 25).
ROOM_MARGIN = 10


@dataclass(frozen=True, slots=True)
class LevelRuling:
    """The lowest screening level that the listener's thresholds permit; None: not fit. ``rule`` in words.

    ``drop`` names a frequency to be left out of the day's walk (a noisy 500 Hz where the protocol allows it).
    """

    level_db_hl: int | None
    rule: str
    drop: tuple[int, ...] = ()


def permitted_level(thresholds: Mapping[str, Mapping[int, int]], protocol: Protocol) -> LevelRuling:
    """The level that the listener's own thresholds (dB HL by ear and Hz) permit in this room.

    Common practice, no source: all at or below 10 dB HL permits 20; any at 15 asks for 25, where the protocol
    allows it; anything above means that the room or the equipment is not fit. Only the protocol's own
    frequencies are asked for and judged; a missing one permits nothing.
    """
    missing = [
        f"{ear} {hz}" for ear in EARS for hz in protocol.frequencies if hz not in thresholds.get(ear, {})
    ]
    if missing:
        return LevelRuling(None, f"Own thresholds are missing: {', '.join(missing)} Hz.")
    too_high = _beyond(
        thresholds, protocol, {hz: protocol.strictest_level(hz) for hz in protocol.frequencies}
    )
    lowest = min(protocol.strictest_level(hz) for hz in protocol.frequencies)
    if not too_high:
        return LevelRuling(
            lowest,
            f"Every threshold is {ROOM_MARGIN} dB or more below the screening level: {lowest} dB HL will do.",
        )
    raised = protocol.raised_level
    if raised is not None and not _beyond(thresholds, protocol, dict.fromkeys(protocol.frequencies, raised)):
        return LevelRuling(
            raised, f"{_named(too_high)} asks for {raised} dB HL, which {protocol.title} allows."
        )
    if protocol.drop_500_if_noisy and {hz for _, hz, _ in too_high} == {500}:
        return LevelRuling(lowest, f"{_named(too_high)}: 500 Hz is left out in this room.", drop=(500,))
    return LevelRuling(
        None,
        f"{_named(too_high)} is too high for this protocol's level: the room or the equipment is not fit.",
    )


def _beyond(
    thresholds: Mapping[str, Mapping[int, int]], protocol: Protocol, levels: Mapping[int, int]
) -> list[tuple[str, int, int]]:
    return [
        (ear, hz, thresholds[ear][hz])
        for ear in EARS
        for hz in protocol.frequencies
        if thresholds[ear][hz] > levels[hz] - ROOM_MARGIN
    ]


def _named(found: list[tuple[str, int, int]]) -> str:
    return "A threshold of " + ", ".join(f"{level} dB HL at {ear} {hz} Hz" for ear, hz, level in found)


@dataclass(frozen=True, slots=True)
class ReadinessFacts:
    """What the screener found. Empty or None: not given."""

    audiometer: str = ""
    earphones: str = ""
    calibrated: date | None = None
    listening: Mapping[str, tuple[int, ...]] = field(default_factory=dict)  # ear -> Hz heard clean
    own_thresholds: Mapping[str, Mapping[int, int]] = field(default_factory=dict)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> ReadinessFacts:
        """Facts out of plain data (a script line, a stored body); refuses with the field named."""
        fields = Fields(data)
        listening = Fields(fields.by_ear("listening"))
        own = Fields(fields.by_ear("own_thresholds"))
        return cls(
            audiometer=fields.text("audiometer", ""),
            earphones=fields.text("earphones", ""),
            calibrated=fields.day("calibrated"),
            listening={ear: listening.frequencies(ear) for ear in EARS if listening.has(ear)},
            own_thresholds={ear: own.levels_by_hz(ear) for ear in EARS if own.has(ear)},
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready; ``from_dict`` gives it back equal."""
        return {
            "audiometer": self.audiometer,
            "earphones": self.earphones,
            "calibrated": self.calibrated.isoformat() if self.calibrated else None,
            "listening": {ear: list(heard) for ear, heard in self.listening.items()},
            "own_thresholds": {
                ear: {str(hz): level for hz, level in found.items()}
                for ear, found in self.own_thresholds.items()
            },
        }


@dataclass(frozen=True, slots=True)
class ReadinessResult:
    """Whether the station may test, at which level, and in words why not or what to watch."""

    passed: bool
    level_db_hl: int | None
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    rule: str = ""
    drop: tuple[int, ...] = ()


def check(facts: ReadinessFacts, protocol: Protocol, today: date) -> ReadinessResult:
    """The outcome of a readiness check on ``today``; every reason against it is named, not only the first."""
    reasons: list[str] = []
    warnings: list[str] = []
    if not facts.audiometer.strip():
        reasons.append("The audiometer is not named.")
    if not facts.earphones.strip():
        reasons.append("The earphones are not named.")
    if facts.calibrated is None:
        reasons.append("The calibration date is missing.")
    elif facts.calibrated > today:
        reasons.append("The calibration date lies in the future.")
    elif _year_after(facts.calibrated) < today:
        reasons.append("The yearly calibration has expired.")
    for ear in EARS:
        unheard = [hz for hz in protocol.frequencies if hz not in facts.listening.get(ear, ())]
        if unheard:
            named = ", ".join(map(str, unheard))
            reasons.append(f"The listening check is incomplete: {ear} earphone, {named} Hz.")
    ruling = permitted_level(facts.own_thresholds, protocol)
    if ruling.level_db_hl is None:
        reasons.append(ruling.rule)
    passed = not reasons
    return ReadinessResult(
        passed,
        ruling.level_db_hl if passed else None,
        tuple(reasons),
        tuple(warnings),
        ruling.rule,
        ruling.drop,
    )


def _year_after(day: date) -> date:
    try:
        return day.replace(year=day.year + 1)
    except ValueError:  # 29 February
        return day.replace(year=day.year + 1, day=28)
