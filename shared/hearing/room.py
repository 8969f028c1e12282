"""The room: whether it is quiet enough, by a listener's thresholds or by octave-band readings.

Only the rules that turn what was heard or measured in the room into a permitted screening level may live
here. Levels of tones in dB HL, of noise in dB SPL per octave band, frequencies in Hz.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shared.hearing.fields import EARS
from shared.hearing.protocol import Protocol

#: The listener must reach this many dB below the screening level at every frequency: 10 for 20, 15 for 25
#: (Minnesota Department of Health, page on noise level, read; the same as common practice's 10 and 15).
MARGIN = 10


@dataclass(frozen=True, slots=True)
class LevelRuling:
    """The lowest screening level that the room permits, dB HL; None: not fit. ``rule`` in words.

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
    found = [(ear, hz, thresholds[ear][hz]) for ear in EARS for hz in protocol.frequencies]
    own = _own_levels(protocol)
    too_high = [(ear, hz, level) for ear, hz, level in found if level > own[hz] - MARGIN]
    lowest = min(own.values())
    if not too_high:
        return LevelRuling(
            lowest,
            f"Every threshold is {MARGIN} dB or more below the screening level: {lowest} dB HL will do.",
        )
    named = ", ".join(f"{level} dB HL at {ear} {hz} Hz" for ear, hz, level in too_high)
    raised = protocol.raised_level
    if raised is not None and all(level <= raised - MARGIN for _, _, level in found):
        return LevelRuling(
            raised, f"A threshold of {named} asks for {raised} dB HL, which the protocol allows."
        )
    if protocol.drop_500_if_noisy and {hz for _, hz, _ in too_high} == {500}:
        return LevelRuling(lowest, f"A threshold of {named}: 500 Hz is left out in this room.", drop=(500,))
    return LevelRuling(
        None,
        f"A threshold of {named} is too high to screen at {_span(own)} dB HL, and the protocol allows no "
        f"higher level: the room or the equipment is not fit.",
    )


# Octave-band levels permitted for thresholds down to 0 dB HL, dB SPL, by the lowest frequency tested.
# ANSI S3.1-1999, supra-aural and insert earphones. The insert row of 500 to 8000 Hz was read (the same
# figures stand in 49 CFR 227 App. D Table D-1); all other rows are from memory.
_ANSI: dict[str, dict[int, dict[int, float]]] = {
    "supra-aural": {
        125: {125: 35, 250: 25, 500: 21, 1000: 26, 2000: 34, 4000: 37, 8000: 37},
        250: {125: 39, 250: 25, 500: 21, 1000: 26, 2000: 34, 4000: 37, 8000: 37},
        500: {125: 49, 250: 35, 500: 21, 1000: 26, 2000: 34, 4000: 37, 8000: 37},
    },
    "insert": {
        125: {125: 59, 250: 53, 500: 50, 1000: 47, 2000: 49, 4000: 50, 8000: 56},
        250: {125: 67, 250: 53, 500: 50, 1000: 47, 2000: 49, 4000: 50, 8000: 56},
        500: {125: 78, 250: 64, 500: 50, 1000: 47, 2000: 49, 4000: 50, 8000: 56},
    },
}
# ASHA 1997, for screening at 20 dB HL (built on ANSI S3.1-1991); 500 Hz from the 1985 text. From memory.
_ASHA: dict[int, float] = {500: 41.5, 1000: 49.5, 2000: 54.5, 4000: 62}

EARPHONE_TYPES = tuple(_ANSI)


@dataclass(frozen=True, slots=True)
class NoiseSet:
    """One published set of permitted noise levels.

    ``mark`` says how far its figures can be trusted; ``earphones`` are the types that it has figures for.
    """

    name: str
    title: str
    mark: str
    earphones: tuple[str, ...]

    def limits(self, earphones: str, lowest_hz: int, level_by_band: Mapping[int, int]) -> dict[int, float]:
        """Permitted dB SPL by octave band: the level permitted for 0 dB HL plus the screening level (dB HL by band).

        ``lowest_hz``: the lowest frequency tested; the lower it is, the less noise is permitted in low bands.
        ``earphones`` must be one of the set's own.
        """
        if self.name == ASHA_1997.name:
            return {band: _ASHA[band] + _level_at(band, level_by_band) - 20 for band in _ASHA}
        low = max((hz for hz in _ANSI[earphones] if hz <= lowest_hz), default=125)
        table = _ANSI[earphones][low]
        return {band: table[band] + _level_at(band, level_by_band) for band in table}


ANSI_1999 = NoiseSet(
    "ansi-s3.1-1999",
    "ANSI S3.1-1999 permissible levels plus the screening level",
    "insert 500 to 8000 Hz read, all else from memory",
    EARPHONE_TYPES,
)
ASHA_1997 = NoiseSet(
    "asha-1997", "ASHA 1997, permitted levels for screening at 20 dB HL", "from memory", ("supra-aural",)
)
NOISE_SETS = {each.name: each for each in (ANSI_1999, ASHA_1997)}


@dataclass(frozen=True, slots=True)
class BandReading:
    """One octave band measured against its limit, dB SPL."""

    band: int
    measured: float
    limit: float

    @property
    def passed(self) -> bool:
        """A reading at the limit is within it."""
        return self.measured <= self.limit


def noise_limits(
    protocol: Protocol, noise_set: NoiseSet, earphones: str, *, permitted: int = 0
) -> dict[int, float]:
    """Permitted dB SPL by octave band for this protocol's tones (at ``permitted`` dB HL at least)."""
    by_band: dict[int, int] = {}
    for hz in protocol.frequencies:
        level = max(protocol.strictest_level(hz), permitted)
        band = octave_band(hz)
        by_band[band] = min(by_band.get(band, level), level)
    return noise_set.limits(earphones, min(protocol.frequencies), by_band)


def octave_band(hz: int) -> int:
    """The octave band whose edges (centre times or over the root of 2) hold a frequency."""
    return min((125, 250, 500, 1000, 2000, 4000, 8000), key=lambda band: max(band / hz, hz / band))


def noise_readings(measured: Mapping[int, float], limits: Mapping[int, float]) -> tuple[BandReading, ...]:
    """Each measured band that has a limit, beside it, low to high."""
    return tuple(
        BandReading(band, measured[band], limits[band]) for band in sorted(measured) if band in limits
    )


def noise_ruling(
    measured: Mapping[int, float], protocol: Protocol, noise_set: NoiseSet, earphones: str
) -> LevelRuling:
    """The level that octave-band readings permit. Bands without a limit in the set are not judged."""
    if earphones not in noise_set.earphones:
        return LevelRuling(None, f"{noise_set.title} has no limits for {earphones} earphones.")
    own = _own_levels(protocol)
    loud = _beyond(measured, noise_limits(protocol, noise_set, earphones))
    if not loud:
        return LevelRuling(min(own.values()), f"Every band is within {noise_set.title}.")
    named = ", ".join(f"{each.measured:g} dB SPL at {each.band} Hz (limit {each.limit:g})" for each in loud)
    raised = protocol.raised_level
    if raised is not None and not _beyond(
        measured, noise_limits(protocol, noise_set, earphones, permitted=raised)
    ):
        return LevelRuling(raised, f"Noise of {named} asks for {raised} dB HL by {noise_set.title}.")
    if protocol.drop_500_if_noisy and 500 in protocol.frequencies and {each.band for each in loud} == {500}:
        return LevelRuling(min(own.values()), f"Noise of {named}: 500 Hz is left out.", drop=(500,))
    return LevelRuling(None, f"Noise of {named} is beyond {noise_set.title}: the room is not fit.")


def _beyond(measured: Mapping[int, float], limits: Mapping[int, float]) -> list[BandReading]:
    return [reading for reading in noise_readings(measured, limits) if not reading.passed]


def _own_levels(protocol: Protocol) -> dict[int, int]:
    return {hz: protocol.strictest_level(hz) for hz in protocol.frequencies}


def _level_at(band: int, level_by_band: Mapping[int, int]) -> int:
    """A band without a tone of its own is held to the lowest level screened at."""
    return level_by_band.get(band, min(level_by_band.values()))


def _span(levels: Mapping[int, int]) -> str:
    low, high = min(levels.values()), max(levels.values())
    return str(low) if low == high else f"{low} to {high}"
