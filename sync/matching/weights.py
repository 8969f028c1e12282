"""The shipped weights: for every level of agreement, how often it is met among records of one child, and of two.

``m`` is the probability of the level where both records are the same child, ``u`` where they are two children.
What agreement is worth is log2(m / u), in bits (Fellegi and Sunter 1969). How the figures were estimated, and which
were set by judgement, is in WEIGHTS.md; ``python tests/benchmarks/linkage.py estimate`` prints them anew.
"""

from __future__ import annotations

from math import log2

from sync.matching.dates import Birth
from sync.matching.names import Level

GIVEN: dict[Level, tuple[float, float]] = {
    Level.SAME: (0.730, 0.0031),
    Level.FORM: (0.030, 0.0013),  # m by judgement
    Level.PART: (0.020, 0.0006),  # by judgement
    Level.SLIP: (0.112, 0.0004),
    Level.ONE_OFF: (0.007, 0.0009),
    Level.CLOSE: (0.006, 0.0021),
    Level.INITIAL: (0.005, 0.0002),  # m by judgement
    Level.ALIKE: (0.001, 0.0020),
    Level.SHARED: (0.003, 0.0010),  # by judgement
    Level.DIFFERENT: (0.086, 0.9884),
}
FAMILY: dict[Level, tuple[float, float]] = {
    Level.SAME: (0.712, 0.0027),
    Level.PART: (0.030, 0.0010),  # by judgement
    Level.SLIP: (0.163, 0.0004),
    Level.ONE_OFF: (0.015, 0.0005),
    Level.CLOSE: (0.013, 0.0013),
    Level.INITIAL: (0.002, 0.0002),  # m by judgement
    Level.ALIKE: (0.003, 0.0007),
    Level.SHARED: (0.006, 0.0020),  # by judgement
    Level.DIFFERENT: (0.056, 0.9912),
}
BIRTH: dict[Birth, tuple[float, float]] = {
    Birth.SAME: (0.913, 0.00034),
    Birth.SWAPPED: (0.010, 0.00012),  # m by judgement
    Birth.ONE_DIGIT: (0.018, 0.0057),
    Birth.DAY_MONTH: (0.003, 0.0015),  # m by judgement
    Birth.YEAR_MONTH: (0.005, 0.0090),  # m by judgement
    Birth.YEAR_DAY: (0.003, 0.0030),  # m by judgement
    Birth.YEAR: (0.003, 0.1080),  # m by judgement
    Birth.DIFFERENT: (0.045, 0.8723),
}
EXCHANGED = 0.077  # given and family name written in each other's place
POSTCODE = {"same": 0.832, "one off": 0.151, "different": 0.017}
POSTCODE_U = {"one off": 0.01, "different": 0.9}
CLASS = {True: (0.9, 0.3), False: (0.1, 0.7)}
GRADE = {True: (0.95, 0.8), False: (0.05, 0.2)}

SHARED_NAME = 0.004  # how often another child bears a name of which nothing is known
SHARED_YEAR = 1 / 8
SHARED_DAY = 1 / 365
SHARED_PLACEHOLDER = 0.01
SHARED_POSTCODE = 0.2
PSEUDO_RECORDS = 200
PSEUDO_PAIRS = 4000

DUPLICATES = 0.03  # duplicate pairs to expect, per record
ORDINARY_SIZE = 600
EXPECTED_WEIGHT = 5.0
AUTOMATIC = 4.5
AUTOMATIC_AGAINST = 6.0
DOUBT = -3.5
MARGIN = 6.0
UNLIKE = -4.0
OUTSHONE = -5.0
SURELY_NOT = -10.0


def bits(m: float, u: float) -> float:
    """What a level is worth, in bits; more than nought speaks for one child."""
    return log2(m / u)
