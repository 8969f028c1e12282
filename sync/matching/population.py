"""How common each value is among the people at hand: agreeing on a rare name says more than on a frequent one.

The chance that two different children share a value is its share of the population, shrunk towards a shipped
rarity where the population is small. No decisions here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection

from sync.matching import weights
from sync.matching.record import Record


class Population:
    """Counts of values over ``records``; with none, everything has the shipped rarity."""

    def __init__(self, records: Collection[Record] = ()) -> None:
        self.size = len(records)
        self.given = Counter(each.given.whole for each in records)
        self.family = Counter(each.family.whole for each in records)
        self.born = Counter(each.born.digits for each in records)
        self.class_name = Counter(each.class_name for each in records)
        self.grade = Counter(each.grade for each in records)
        self.postcode = Counter(each.postcode for each in records)

    def rarity(self, counts: Counter[str], value: str, shipped: float) -> float:
        """The chance that a third record has this value: the two that are compared do not count themselves."""
        others = max(counts[value] - 2, 0)
        known = max(self.size - 2, 0)
        return (others + shipped * weights.PSEUDO_RECORDS) / (known + weights.PSEUDO_RECORDS)

    @property
    def prior_bits(self) -> float:
        """Log odds, in bits, that two records met at random are one child."""
        size = max(self.size, 400)
        chance = weights.DUPLICATES * size / (size * (size - 1) / 2)
        return weights.bits(chance, 1 - chance)
