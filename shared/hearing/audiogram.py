"""The audiogram's figures: averages, degrees, air-bone gaps, cross-hearing. Reading them is the audiologist's.

Only arithmetic on thresholds and published scales may live here; no drawing, no cause, no type, no treatment.
Levels in dB HL, frequencies in Hz; None is "no response at the limit".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import floor

from shared.hearing.examination import Reading
from shared.hearing.fields import EARS

Thresholds = Mapping[int, int | None]

# Which frequencies each average takes (from memory).
PTA3 = (500, 1000, 2000)
PTA4_WHO = (500, 1000, 2000, 4000)


@dataclass(frozen=True, slots=True)
class Average:
    """A pure-tone average. ``db_hl`` None: not to be had, for want of the tones named."""

    frequencies: tuple[int, ...]
    db_hl: float | None
    not_tested: tuple[int, ...] = ()
    no_response: tuple[int, ...] = ()


def average(thresholds: Thresholds, frequencies: tuple[int, ...] = PTA3) -> Average:
    """The pure-tone average. A missing tone or one without response gives none: NR is never averaged."""
    missing = tuple(hz for hz in frequencies if hz not in thresholds)
    silent = tuple(hz for hz in frequencies if hz in thresholds and thresholds[hz] is None)
    levels = [level for hz in frequencies if (level := thresholds.get(hz)) is not None]
    mean = sum(levels) / len(levels) if len(levels) == len(frequencies) else None
    return Average(frequencies, mean, missing, silent)


@dataclass(frozen=True, slots=True)
class Band:
    """One degree: from ``low`` (included) up to the next band's, dB HL."""

    low: float
    name: str
    mark: str  # how the row is known: "read", "second-hand", "from memory"


@dataclass(frozen=True, slots=True)
class Scale:
    """A published scale of degrees, lowest band first. ``whole``: it is written in whole decibels."""

    name: str
    source: str
    bands: tuple[Band, ...]
    whole: bool

    def degree(self, level: float) -> Band:
        """The band of an average, dB HL.

        Where the scale has gaps between whole decibels, an average between them is rounded to the nearest,
        halves up. A level below the lowest band belongs to it.
        """
        if self.whole:
            level = floor(level + 0.5)
        return [band for band in self.bands if level >= band.low or band is self.bands[0]][-1]


CLARK_1981 = Scale(
    "Clark 1981",
    "Clark 1981, as used by ASHA: -10 to 15 normal, 16 to 25 slight, ...; "
    "rows up to 40 from memory, from 41 second-hand",
    (
        Band(-10, "normal", "from memory"),
        Band(16, "slight", "from memory"),
        Band(26, "mild", "from memory"),
        Band(41, "moderate", "second-hand"),
        Band(56, "moderately severe", "second-hand"),
        Band(71, "severe", "second-hand"),
        Band(91, "profound", "second-hand"),
    ),
    whole=True,
)
WHO_2021 = Scale(
    "WHO 2021",
    "WHO, World report on hearing 2021, Table 1.3, better ear, mean of 500, 1000, 2000 and 4000 Hz; "
    "second-hand from a reprint of the table, the last row and unilateral from memory",
    (
        Band(-10, "normal", "second-hand"),
        Band(20, "mild", "second-hand"),
        Band(35, "moderate", "second-hand"),
        Band(50, "moderately severe", "second-hand"),
        Band(65, "severe", "second-hand"),
        Band(80, "profound", "second-hand"),
        Band(95, "complete", "from memory"),
    ),
    whole=False,
)


@dataclass(frozen=True, slots=True)
class DegreeRead:
    """What a scale calls an average: ``word`` empty where there is none; ``level`` is the average it is read from.

    ``mark`` is how the row of the scale is known.
    """

    scale: Scale
    word: str
    level: float | None
    mark: str = ""


def degree_clark(thresholds: Thresholds) -> DegreeRead:
    """The degree of one ear by Clark 1981 on the three-frequency average."""
    return _read(CLARK_1981, average(thresholds, PTA3).db_hl)


def _read(scale: Scale, level: float | None) -> DegreeRead:
    if level is None:
        return DegreeRead(scale, "", None)
    band = scale.degree(level)
    return DegreeRead(scale, band.name, level, band.mark)


def degree_who(right: Thresholds, left: Thresholds) -> DegreeRead:
    """The degree of the person by WHO 2021: the better ear's four-frequency average decides.

    Unilateral (from memory): the better ear below 20 and the worse at 35 dB HL or more. Without both averages
    there is none: which ear is the better one is not known.
    """
    means = [average(ear, PTA4_WHO).db_hl for ear in (right, left)]
    levels = sorted(mean for mean in means if mean is not None)
    if len(levels) < 2:
        return _read(WHO_2021, None)
    better, worse = levels
    if better < 20 and worse >= 35:
        return DegreeRead(WHO_2021, "unilateral", better, "from memory")
    return _read(WHO_2021, better)


#: From how many dB on an air-bone gap is told (a teaching convention, from memory; some take more than 10).
GAP_TOLD = 15


def air_bone_gaps(air: Thresholds, bone: Thresholds) -> dict[int, int]:
    """Air minus bone, dB, at each frequency that has a threshold by both: plain subtraction, told from GAP_TOLD on."""
    both = ((hz, air[hz], bone[hz]) for hz in sorted(set(air) & set(bone)))
    gaps = {hz: a - b for hz, a, b in both if a is not None and b is not None}
    return {hz: gap for hz, gap in gaps.items() if gap >= GAP_TOLD}


#: Least interaural attenuation of earphones, dB; from there on a tone may be heard by the other ear (second-hand).
#: A bone vibrator is heard by both ears alike: its attenuation is taken as 0 (from memory).
CROSSING = {"supra-aural": 40, "insert": 50}
#: An unmasked bone threshold more than this better than the ear's air threshold may be the other ear's (from memory).
BONE_BETTER = 10


@dataclass(frozen=True, slots=True)
class EarFound:
    """One ear's thresholds (dB HL by Hz; None: no response) by air and bone, and at which Hz they were masked."""

    air: Thresholds = field(default_factory=dict)
    bone: Thresholds = field(default_factory=dict)
    masked_air: frozenset[int] = frozenset()
    masked_bone: frozenset[int] = frozenset()

    @classmethod
    def of(cls, readings: Iterable[Reading], ear: str) -> EarFound:
        """What readings tell of one ear."""
        own = [each for each in readings if each.ear == ear]
        air, bone = ({r.hz: r for r in own if r.conduction == way} for way in ("air", "bone"))
        return cls(
            {hz: each.threshold for hz, each in air.items()},
            {hz: each.threshold for hz, each in bone.items()},
            frozenset(hz for hz, each in air.items() if each.masked),
            frozenset(hz for hz, each in bone.items() if each.masked),
        )

    def reach(self, hz: int) -> int | None:
        """The level (dB HL) from which this ear may hear a tone that crosses over: its bone threshold, else by air.

        None where neither is known, or the ear did not respond.
        """
        bone = self.bone.get(hz)
        return self.air.get(hz) if bone is None else bone


def may_be_cross_heard(ear: EarFound, other: EarFound, earphones: str = "") -> tuple[int, ...]:
    """Frequencies whose unmasked air threshold in ``ear`` may have been answered by the ``other`` one.

    A tone without response was heard by neither. Earphones not told are taken for those that cross over sooner.
    """
    attenuation = CROSSING.get(earphones, min(CROSSING.values()))
    return tuple(
        hz
        for hz, level in sorted(ear.air.items())
        if hz not in ear.masked_air
        and level is not None
        and (reached := other.reach(hz)) is not None
        and level - reached >= attenuation
    )


def bone_may_be_the_others(ear: EarFound) -> tuple[int, ...]:
    """Frequencies whose unmasked bone threshold may be the other ear's, since it is much better than the air one."""
    return tuple(
        hz
        for hz, bone in sorted(ear.bone.items())
        if hz not in ear.masked_bone
        and bone is not None
        and (air := ear.air.get(hz)) is not None
        and air - bone > BONE_BETTER
    )


@dataclass(frozen=True, slots=True)
class EarFigures:
    """What one ear's thresholds come to."""

    three: Average
    four: Average
    clark: DegreeRead
    gaps: Mapping[int, int]
    air_crossed: tuple[int, ...]
    bone_crossed: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """What an audiogram comes to: each ear's figures, and the scale that judges both together."""

    ears: Mapping[str, EarFigures]
    who: DegreeRead


def figures(readings: Iterable[Reading], earphones: str = "") -> Figures:
    """Everything that is worked out of an audiogram's thresholds."""
    readings = tuple(readings)
    found = {ear: EarFound.of(readings, ear) for ear in EARS}
    worked: dict[str, EarFigures] = {}
    for ear, other in zip(EARS, reversed(EARS), strict=True):
        own = found[ear]
        worked[ear] = EarFigures(
            average(own.air, PTA3),
            average(own.air, PTA4_WHO),
            degree_clark(own.air),
            air_bone_gaps(own.air, own.bone),
            may_be_cross_heard(own, found[other], earphones),
            bone_may_be_the_others(own),
        )
    return Figures(worked, degree_who(*(found[ear].air for ear in EARS)))
