"""What a screener found at the readiness check, as values; read from and written to plain data.

Only the facts and their reading may live here; what they amount to is ``readiness``'s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from shared.hearing.fields import EARS, Fields
from shared.hearing.room import ANSI_1999, EARPHONE_TYPES, NOISE_SETS

ByEar = Mapping[str, Mapping[int, int]]


@dataclass(frozen=True, slots=True)
class ReadinessFacts:
    """What the screener found. Empty or None: not given."""

    audiometer: str = ""
    earphones: str = ""
    calibrated: date | None = None  # the last calibration of audiometer and earphones together
    listening: Mapping[str, tuple[int, ...]] = field(
        default_factory=dict
    )  # ear -> Hz heard clean at 50 dB HL
    not_clean: Mapping[str, tuple[int, ...]] = field(
        default_factory=dict
    )  # ear -> Hz heard, but crackling, weak or in the other ear too, or not heard at all
    own_thresholds: ByEar = field(default_factory=dict)  # the listener's, dB HL by ear and Hz
    listener: str = ""  # who listened, where it was not the screener: a known-normal listener
    inspection: Mapping[str, bool] = field(default_factory=dict)  # item -> in order
    tone_normally_off: bool | None = None
    same_ear: ByEar = field(default_factory=dict)  # one ear's thresholds through each earphone, dB HL
    noise: Mapping[int, float] = field(default_factory=dict)  # octave band Hz -> dB SPL
    noise_set: str = ANSI_1999.name
    earphone_type: str = EARPHONE_TYPES[0]
    room: str = ""

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> ReadinessFacts:
        """Facts out of a script line or a stored body; raises ``FieldRefused`` naming the field."""
        fields = Fields(data)
        listening = Fields(fields.by_ear("listening"), within="listening")
        not_clean = Fields(fields.by_ear("not_clean"), within="not_clean")
        inspection = fields.raw("inspection", {})
        if not isinstance(inspection, Mapping) or not all(
            isinstance(each, bool) for each in inspection.values()
        ):
            raise fields.refused("inspection", "must say true or false for each item")
        return cls(
            audiometer=fields.text("audiometer", "").strip(),
            earphones=fields.text("earphones", "").strip(),
            calibrated=fields.day("calibrated"),
            listening={ear: listening.frequencies(ear) for ear in EARS if listening.has(ear)},
            not_clean={ear: not_clean.frequencies(ear) for ear in EARS if not_clean.has(ear)},
            own_thresholds=_levels_by_ear(fields, "own_thresholds"),
            listener=fields.text("listener", "").strip(),
            inspection={str(item): found for item, found in inspection.items()},
            tone_normally_off=fields.flag("tone_normally_off") if fields.has("tone_normally_off") else None,
            same_ear=_levels_by_ear(fields, "same_ear"),
            noise=fields.numbers_by_hz("noise"),
            noise_set=fields.choice("noise_set", tuple(NOISE_SETS), ANSI_1999.name),
            earphone_type=fields.choice("earphone_type", EARPHONE_TYPES, EARPHONE_TYPES[0]),
            room=fields.text("room", "").strip(),
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, with only what was given; ``from_dict`` gives it back equal."""
        given: dict[str, Any] = {
            "audiometer": self.audiometer,
            "earphones": self.earphones,
            "calibrated": self.calibrated.isoformat() if self.calibrated else None,
            "listening": {ear: list(heard) for ear, heard in self.listening.items()},
            "not_clean": {ear: list(heard) for ear, heard in self.not_clean.items() if heard},
            "own_thresholds": _plain(self.own_thresholds),
            "listener": self.listener,
            "inspection": dict(self.inspection),
            "tone_normally_off": self.tone_normally_off,
            "same_ear": _plain(self.same_ear),
            "noise": {str(band): level for band, level in self.noise.items()},
            "room": self.room,
        }
        if self.noise:
            given |= {"noise_set": self.noise_set, "earphone_type": self.earphone_type}
        elif self.earphone_type != EARPHONE_TYPES[0]:
            given["earphone_type"] = self.earphone_type
        return {name: value for name, value in given.items() if value not in ("", None, {})}


def _levels_by_ear(fields: Fields, name: str) -> dict[str, dict[int, int]]:
    by_ear = Fields(fields.by_ear(name), within=name)
    return {ear: by_ear.levels_by_hz(ear) for ear in EARS if by_ear.has(ear)}


def _plain(by_ear: ByEar) -> dict[str, dict[str, int]]:
    return {ear: {str(hz): level for hz, level in found.items()} for ear, found in by_ear.items()}
