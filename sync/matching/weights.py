"""The shipped weights: how often each level of agreement is met among two records of one child, and of two children.

``m`` is the probability of the level where both records are the same child, ``u`` where they are two children. What
a level is worth is log2(m / u), in bits (Fellegi and Sunter 1969); the bits of all fields add up. The ``u`` figures
are starting points: ``population`` draws them towards the people at hand. How the figures were estimated, and which
were set by judgement (marked "judged"), is in WEIGHTS.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import log2
from typing import TypeVar

from sync.matching.dates import Birth
from sync.matching.names import Level

L = TypeVar("L")
Table = Mapping[L, tuple[float, float]]  # level -> (m, u)

GIVEN: Table[Level] = {
    Level.SAME: (0.730, 0.0031),
    Level.FORM: (0.030, 0.0013),  # m judged
    Level.PART: (0.020, 0.0006),  # judged
    Level.SLIP: (0.113, 0.0004),
    Level.ONE_OFF: (0.006, 0.0009),
    Level.CLOSE: (0.006, 0.0021),  # m rounded up: heard names
    Level.INITIAL: (0.005, 0.0002),  # m judged
    Level.ALIKE: (0.001, 0.0020),
    Level.SHARED: (0.003, 0.0010),  # judged
    Level.DIFFERENT: (0.086, 0.9884),
}
FAMILY: Table[Level] = {
    Level.SAME: (0.712, 0.0027),
    Level.PART: (0.030, 0.0010),  # judged
    Level.SLIP: (0.169, 0.0004),
    Level.ONE_OFF: (0.009, 0.0005),
    Level.CLOSE: (0.013, 0.0013),
    Level.INITIAL: (0.002, 0.0002),  # m judged
    Level.ALIKE: (0.003, 0.0007),
    Level.SHARED: (0.006, 0.0020),  # judged
    Level.DIFFERENT: (0.056, 0.9912),
}
EXCHANGED = 0.077
"""How often given and family name stand in each other's place, among two records of one child."""

BIRTH: Table[Birth] = {
    Birth.SAME: (0.913, 0.00034),
    Birth.SWAPPED: (0.010, 0.00012),  # m judged
    Birth.ONE_DIGIT: (0.018, 0.0083),
    Birth.DAY_MONTH: (0.003, 0.0005),  # m judged
    Birth.YEAR_MONTH: (0.005, 0.0064),  # m judged
    Birth.YEAR_DAY: (0.003, 0.0014),  # m judged
    Birth.YEAR: (0.003, 0.1107),  # m judged
    Birth.DIFFERENT: (0.045, 0.8722),
}
OTHER_YEAR_BITS = -1.0
"""One date is a placeholder, and even the years differ (judged); with the same year it says nothing."""

POSTCODE: Table[str] = {"same": (0.832, 0.2), "one off": (0.151, 0.01), "different": (0.017, 0.79)}
CLASS: Table[bool] = {
    True: (0.90, 0.30),
    False: (0.10, 0.70),
}  # judged; u among children of nearly the same age
GRADE: Table[bool] = {True: (0.95, 0.80), False: (0.05, 0.20)}  # judged; only where a class is missing
STREET: Table[bool] = {True: (0.80, 0.20), False: (0.20, 0.80)}  # judged; u among children of one family name
GUARDIAN: Table[bool] = {True: (0.60, 0.15), False: (0.40, 0.85)}  # judged, likewise

SAME_NUMBER_BITS = 12.0  # judged: the roster's own number
TWO_NUMBERS_BITS = -8.0  # judged: a roster seldom lists a child under two numbers
MISWRITTEN_NUMBER_BITS = -3.0  # judged: one number was written down on the day, or is one digit off

# How common a value is of which nothing is known, and how many people or pairs that guess is worth. Judged.
SHARED_NAME = 0.004
SHARED_YEAR = 1 / 8
SHARED_DAY = 1 / 365
SHARED_PLACEHOLDER = 0.01
PSEUDO_RECORDS = 100
PSEUDO_PAIRS = 4000

# Before any evidence: 3 duplicates to 100 records, in an ordinary school; worth five pairs where pairs say otherwise.
DUPLICATES = 0.03
ORDINARY_SIZE = 600
EXPECTED_WORTH = 5.0
LISTED_AGAIN = 0.2  # judged: of the children listed twice, the share listed a third time
PSEUDO_CHILDREN = 20  # judged: how many children that guess is worth

# How many records a child has may move the prior so far, in bits, where a single record may belong to others.
LISTED_LESS, LISTED_MORE = -1.0, 5.0
LISTED_JOINS = 2.5  # what is joined without a person leans less on it

# The lines, in bits of log odds, prior odds included: 5 is a probability of 0.97, 4 of 0.94, -2 of 0.2, -4 of 0.06.
AUTOMATIC = 5.0
AUTOMATIC_FAMILY = 4.0  # given name and birth date agree, the family name does not
AUTOMATIC_AGAINST = (
    6.0  # another birth date, no name that both have, or another family name and the rest unsure
)
DOUBT = -4.0  # one of the two was added on the day
DOUBT_LISTED = -2.0  # both come from a list
MARGIN = 5.0  # a rival this much lighter is none
SURELY_NOT = -10.0  # two records that may not come together in one group

# Two groups of records; both counted on FEBRL 1 to 3.
HEARD = 0.67  # how much all the other members count, beside the pair that is most alike
REPEATED = 5.0  # bits against one child where both sides have two records that agree among themselves


def bits(m: float, u: float) -> float:
    """What a level is worth, in bits; more than nought speaks for one child."""
    return log2(m / u)
