"""The audiogram's figures: averages, degrees, air-bone gaps. Reading them is the audiologist's.

Only arithmetic on thresholds and published scales may live here; no drawing, no cause, no type, no treatment.
Levels in dB HL, frequencies in Hz; None is "no response at the limit".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor

from shared.hearing.fields import EARS

#: Printed with every degree or average: the figures are handed over, not interpreted.
HANDOVER = (
    "Thresholds found at school, air conduction only, for the audiologist. "
    "This is not a diagnosis: it says nothing of cause, type or treatment."
)

Thresholds = Mapping[int, int | None]

# Which frequencies each average takes (from memory).
PTA3 = (500, 1000, 2000)
PTA4_WHO = (500, 1000, 2000, 4000)
PTA4_AAO_HNS = (500, 1000, 2000, 3000)


@dataclass(frozen=True, slots=True)
class Average:
    """A pure-tone average. ``db_hl`` None: not to be had, ``why_not`` says why in words."""

    frequencies: tuple[int, ...]
    db_hl: float | None
    why_not: str = ""

    def words(self) -> str:
        """The average as printed, to one decimal, or why there is none."""
        return self.why_not if self.db_hl is None else f"{self.db_hl:.1f} dB HL"


def average(thresholds: Thresholds, frequencies: tuple[int, ...] = PTA3) -> Average:
    """The pure-tone average. A missing tone or one without response gives none: NR is never averaged."""
    missing = [hz for hz in frequencies if hz not in thresholds]
    if missing:
        return Average(frequencies, None, f"not tested at {_hertz(missing)}")
    silent = [hz for hz in frequencies if thresholds[hz] is None]
    if silent:
        return Average(frequencies, None, f"no response at {_hertz(silent)}, so no average")
    levels = [level for hz in frequencies if (level := thresholds[hz]) is not None]
    return Average(frequencies, sum(levels) / len(levels))


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
    """A degree as printed: the scale it is from, the word (empty: none to be had), and why."""

    scale: Scale
    word: str
    why: str


def degree_clark(thresholds: Thresholds) -> DegreeRead:
    """The degree of one ear by Clark 1981 on the three-frequency average."""
    mean = average(thresholds, PTA3)
    if mean.db_hl is None:
        return DegreeRead(CLARK_1981, "", mean.why_not)
    return DegreeRead(CLARK_1981, CLARK_1981.degree(mean.db_hl).name, f"average {mean.words()}")


def degree_who(right: Thresholds, left: Thresholds) -> DegreeRead:
    """The degree of the person by WHO 2021: the better ear's four-frequency average decides.

    Unilateral (from memory): the better ear below 20 and the worse at 35 dB HL or more.
    """
    means = [average(right, PTA4_WHO), average(left, PTA4_WHO)]
    levels = [mean.db_hl for mean in means if mean.db_hl is not None]
    if len(levels) < 2:
        why = next(mean.why_not for mean in means if mean.db_hl is None)
        return DegreeRead(WHO_2021, "", why)
    better, worse = sorted(levels)
    if better < 20 and worse >= 35:
        return DegreeRead(WHO_2021, "unilateral", f"averages {better:.1f} and {worse:.1f} dB HL")
    return DegreeRead(WHO_2021, WHO_2021.degree(better).name, f"better ear's average {better:.1f} dB HL")


def air_bone_gaps(air: Thresholds, bone: Thresholds) -> dict[int, int | None]:
    """Air minus bone at each frequency that has both, dB; None where either has no response.

    Arithmetic only, for writing an audiologist's audiogram into the child's record.
    """
    gaps: dict[int, int | None] = {}
    for hz in sorted(set(air) & set(bone)):
        by_air, by_bone = air[hz], bone[hz]
        gaps[hz] = None if by_air is None or by_bone is None else by_air - by_bone
    return gaps


#: Least interaural attenuation, dB; from there on a tone may be heard by the other ear (second-hand).
CROSSING = {"supra-aural": 40, "insert": 50}


def may_be_cross_heard(
    thresholds: Mapping[str, Thresholds], earphones: str = "supra-aural"
) -> dict[int, str]:
    """Frequencies whose poorer ear may have been answered by the better one: {Hz: the poorer ear}.

    Without bone conduction the two air thresholds are compared; a tone without response was heard by neither
    ear. Masking is the audiologist's.
    """
    right, left = (thresholds.get(ear, {}) for ear in EARS)
    flagged: dict[int, str] = {}
    for hz in sorted(set(right) & set(left)):
        one, other = right[hz], left[hz]
        if one is None or other is None:
            continue
        if abs(one - other) >= CROSSING[earphones]:
            flagged[hz] = EARS[0] if one > other else EARS[1]
    return flagged


def _hertz(frequencies: list[int]) -> str:
    return ", ".join(map(str, frequencies)) + " Hz"
