"""The shipped weights: for every level of agreement, how often it is met among records of one child, and of two.

``m`` is the probability of the level where both records are the same child, ``u`` where they are two children.
What agreement is worth is log2(m / u), in bits (Fellegi and Sunter 1969). How the figures were estimated, and which
were set by judgement, is in WEIGHTS.md; ``python tests/benchmarks/linkage.py estimate`` prints them anew.
"""

from __future__ import annotations

from math import log2

from sync.matching.dates import Birth
from sync.matching.names import Level

# Filled below: level -> (m, u).
GIVEN: dict[Level, tuple[float, float]] = {
    Level.SAME: (0.66, 0.006),
    Level.FORM: (0.03, 0.0012),
    Level.PART: (0.02, 0.0008),
    Level.ONE_OFF: (0.16, 0.0015),
    Level.CLOSE: (0.05, 0.006),
    Level.INITIAL: (0.01, 0.002),
    Level.ALIKE: (0.01, 0.008),
    Level.SHARED: (0.005, 0.001),
    Level.DIFFERENT: (0.07, 0.98),
}
FAMILY: dict[Level, tuple[float, float]] = {
    Level.SAME: (0.70, 0.003),
    Level.PART: (0.02, 0.0005),
    Level.ONE_OFF: (0.16, 0.0005),
    Level.CLOSE: (0.05, 0.003),
    Level.INITIAL: (0.01, 0.001),
    Level.ALIKE: (0.01, 0.006),
    Level.SHARED: (0.01, 0.002),
    Level.DIFFERENT: (0.06, 0.985),
}
BIRTH: dict[Birth, tuple[float, float]] = {
    Birth.SAME: (0.90, 0.00035),
    Birth.SWAPPED: (0.01, 0.00012),
    Birth.ONE_DIGIT: (0.03, 0.006),
    Birth.DAY_MONTH: (0.01, 0.0015),
    Birth.YEAR_MONTH: (0.01, 0.009),
    Birth.YEAR_DAY: (0.01, 0.003),
    Birth.YEAR: (0.01, 0.11),
    Birth.DIFFERENT: (0.02, 0.87),
}
SWAPPED_NAMES = 0.01
RARITY = 0.004
PSEUDO_RECORDS = 200
DUPLICATES = 0.03
AUTOMATIC_BITS = 9.97  # probability 0.999
DOUBT_BITS = -3.0


def bits(m: float, u: float) -> float:
    """What a level is worth, in bits; more than nought speaks for one child."""
    return log2(m / u)
